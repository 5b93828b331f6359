// Whether it lasts: the year, the hardest week, many years, the best sizes; a slider, and the figures that follow it.
import { afterAll, beforeAll, expect, it } from "vitest";
import { PHONE, Person, Service, closeBrowser } from "../person.ts";

let service: Service;
beforeAll(async () => {
    service = await Service.of(["heron"], true);
});
afterAll(async () => {
    await closeBrowser();
    await service.stop();
});

it("slides a load's hours and watches the figures, which are saved when it is let go", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/heron/energy");
    await page.locator("figure canvas").first().waitFor();
    expect(await page.locator("figure canvas").count()).toBe(3);
    await person.findsNoBarrier();
    await person.pictures("energy");

    const before = await person.figure("daily-need");
    const slider = page.getByLabel(/^Throwing wheel/);
    await slider.focus();
    for (let at = 0; at < 4; at += 1) await page.keyboard.press("ArrowRight");
    await expect.poll(() => person.figure("daily-need")).not.toBe(before);
    await expect.poll(() => service.file("heron/intent.toml")).toContain('hours = "5 h/day"');
    expect(service.file("heron/intent.toml")).toContain("# The markets run from spring to autumn.");
    await page.getByRole("button", { name: "Take back" }).click();
    await person.leaves();
});

it("draws many years with progress, can stop them, and edits go on meanwhile", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/heron/energy");
    await page.getByRole("spinbutton", { name: "Years" }).fill("100000");
    await page.getByRole("button", { name: "Draw them" }).click();
    await page.getByRole("progressbar").waitFor();
    const slider = page.getByLabel(/^Throwing wheel/);
    const before = await person.figure("daily-need");
    await slider.focus();
    await page.keyboard.press("ArrowLeft");
    await expect.poll(() => person.figure("daily-need")).not.toBe(before);
    expect(await page.getByRole("progressbar").count()).toBe(1);
    await page.getByRole("button", { name: "Stop" }).click();
    await expect.poll(() => page.getByRole("progressbar").count()).toBe(0);

    await page.getByRole("spinbutton", { name: "Years" }).fill("400");
    await page.getByRole("button", { name: "Draw them" }).click();
    await page.getByText(/Of 400 drawn years/).waitFor();
    await person.leaves();
});

it("shows the best sizes with the current system among them", async () => {
    const person = await Person.at(service, PHONE);
    const { page } = person;
    await person.goes("#/heron/energy");
    await page.getByRole("button", { name: "Search" }).click();
    await page.getByText("as it stands").first().waitFor({ timeout: 90_000 });
    await page.getByText("the search would take it").first().waitFor();
    await person.findsNoBarrier();
    await person.findsNoOverflow();
    await person.pictures("energy-phone");
    await person.leaves();
});
