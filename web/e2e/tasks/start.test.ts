// From nothing to a checked system, with no electrical knowledge asked.
import { afterAll, beforeAll, expect, it } from "vitest";
import { PHONE, Person, Service, closeBrowser } from "../person.ts";

let service: Service;
beforeAll(async () => {
    service = await Service.of(["wren"]);
});
afterAll(async () => {
    await closeBrowser();
    await service.stop();
});

const TEN = ["fr", "wa", "li", "fa", "us", "la", "he", "al", "re", "ta"];

it("begins a boat, adds ten loads by two letters each, says where and how long, and is checked", async () => {
    const person = await Person.at(service);
    const { page } = person;
    const started = performance.now();
    await person.goes("");
    await person.findsNoBarrier();
    await page.getByLabel("What is it called?").fill("Tern");
    await page.getByRole("radio", { name: /^Boat/ }).check();
    await page.getByRole("radio", { name: /^24 V/ }).check();
    await page.getByRole("radio", { name: /mm²|IEC/ }).check();
    await page.getByRole("checkbox", { name: /usual loads/ }).uncheck();
    await person.pictures("start");
    await page.getByRole("button", { name: "Begin" }).click();
    await page.getByRole("heading", { level: 1, name: "Brief" }).waitFor();

    // Every question has help in plain words, and what stands without an answer says so with its because.
    const questions = page.locator(".question");
    await questions.first().waitFor();
    const main = page.locator("section .question");
    const count = await main.count();
    expect(count).toBeGreaterThan(5);
    for (let at = 0; at < count; at += 1) {
        await expect(
            main.nth(at).getByText("What is this?").count(),
            await main.nth(at).innerText(),
        ).resolves.toBe(1);
    }
    expect(await page.getByText(/^Taken: /).count()).toBeGreaterThan(0);
    await person.findsNoBarrier();
    await person.pictures("brief");

    const answers: [string, string][] = [
        ["How far north or south?", "54.3 N"],
        ["How far east or west?", "10.1 E"],
        ["How long must it last without sun, driving or shore power?", "48"],
    ];
    for (const [question, said] of answers) {
        await page.getByRole("textbox", { name: question }).fill(said);
        await page.keyboard.press("Tab");
    }
    await expect.poll(() => service.file("tern/intent.toml")).toContain('autonomy = "48 h"');

    await person.opens("Loads");
    for (const letters of TEN) {
        await page.getByLabel("Add a load: type two letters").fill(letters);
        const before = await page.locator(".loads > li").count();
        await page.locator(".hits button").first().click();
        await expect.poll(() => page.locator(".loads > li").count()).toBe(before + 1);
    }
    await person.findsNoBarrier();
    await person.pictures("loads");
    const took = performance.now() - started;
    console.log(`from nothing to ten loads, checked: ${(took / 1000).toFixed(1)} s of clicking by machine`);

    expect(await person.figure("bank")).not.toBe("");
    expect(await page.locator(".counts").innerText()).toMatch(/\d/);
    const text = service.file("tern/intent.toml");
    expect(text).toContain('craft = "boat"');
    expect(text).toContain("54.3 N");
    expect(text.match(/^\[loads\./gm)?.length).toBe(10);
    await person.leaves();
});

it("says what is wrong with a name that is taken or empty", async () => {
    const person = await Person.at(service, PHONE);
    const { page } = person;
    await person.goes("");
    await page.getByLabel("What is it called?").fill("   ");
    await page.getByRole("button", { name: "Begin" }).click();
    await page.getByRole("alert").filter({ hasText: /name/i }).first().waitFor();
    await person.findsNoOverflow();
    // The refusal is told by the service with its status; the browser's own word on it is no fault of the page.
    person.complaints.splice(
        0,
        person.complaints.length,
        ...person.complaints.filter((text) => !/status of 4\d\d/.test(text)),
    );
    await person.leaves();
});
