// Undo and redo of everything, comments kept, an editor beside the page, two windows, a clash.
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, it } from "vitest";
import { Person, Service, closeBrowser } from "../person.ts";

let service: Service;
beforeAll(async () => {
    service = await Service.of(["heron"], true);
});
afterAll(async () => {
    await closeBrowser();
    await service.stop();
});

const file = () => join(service.folder, "heron/intent.toml");
const original = () => readFileSync(join(import.meta.dirname, "../../../examples/heron/intent.toml"), "utf8");

it("takes back and does again, and the file is as it was to the letter", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/heron/loads");
    await page.getByRole("button", { name: "Take away Bedroom fan" }).click();
    await expect.poll(() => service.file("heron/intent.toml")).not.toContain("[loads.bedroom-fan]");
    expect(service.file("heron/intent.toml")).toContain("# Direct current, bedroom panel.");
    await page.keyboard.press("Control+z");
    await expect.poll(() => service.file("heron/intent.toml")).toBe(original());
    await page.keyboard.press("Control+y");
    await expect.poll(() => service.file("heron/intent.toml")).not.toContain("[loads.bedroom-fan]");
    await person.opens("Changes");
    await page.getByText("Bedroom fan taken away").first().waitFor();
    await person.findsNoBarrier();
    await person.pictures("changes");
    await page
        .getByRole("button", { name: /^Go there/ })
        .last()
        .click();
    await expect.poll(() => service.file("heron/intent.toml")).toBe(original());
    await person.leaves();
});

it("shows what an editor wrote, tells where it cannot be read, and takes the mended text", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/heron/brief");
    await page.locator("[data-figure]").first().waitFor();
    const before = await person.figure("daily-need");
    writeFileSync(
        file(),
        original()
            .replace("[loads.wheel]", '[loads.kettle]\npart = "kettle-ac"\n\n[loads.wheel]')
            .replace("kettle-ac", "laptop-ac"),
    );
    await expect.poll(() => person.figure("daily-need"), { timeout: 10_000 }).not.toBe(before);
    writeFileSync(file(), `${original()}\n[loads.broken\npart = `);
    await page.getByText("The file cannot be read as it stands").waitFor({ timeout: 10_000 });
    await person.pictures("broken");
    writeFileSync(file(), original());
    await expect
        .poll(() => page.getByText("The file cannot be read as it stands").count(), { timeout: 10_000 })
        .toBe(0);
    await expect.poll(() => person.figure("daily-need")).toBe(before);
    await person.leaves();
});

it("joins two windows' changes, and asks where both changed the same value", async () => {
    const one = await Person.at(service);
    const two = await Person.at(service);
    await one.goes("#/heron/loads");
    await two.goes("#/heron/loads");
    const less = (person: Person, load: string) =>
        person.page
            .getByRole("group", { name: `${load}: how many` })
            .getByRole("button", { name: "one more" });
    await less(one, "Studio lights").waitFor();
    await less(two, "Bedroom ceiling lights").waitFor();
    await Promise.all([less(one, "Studio lights").click(), less(two, "Bedroom ceiling lights").click()]);
    await expect.poll(() => service.file("heron/intent.toml").match(/count = 5/g)?.length).toBe(2);

    // A third window does not hear what the others do, as on a bad line, so that it changes what it saw.
    const three = await Person.at(service);
    await three.page.route("**/api/news", (route) => route.abort());
    await three.goes("#/heron/loads");
    const laptops = (person: Person, way: string) =>
        person.page.getByRole("group", { name: /^Laptop.*how many/ }).getByRole("button", { name: way });
    await laptops(three, "one less").waitFor();
    await laptops(one, "one more").click();
    await expect.poll(() => laptopCount()).toBe("3");
    await laptops(three, "one less").click();
    const dialog = three.page.getByRole("dialog", { name: "Changed on two sides" });
    await dialog.waitFor();
    expect(await dialog.getByRole("row").last().innerText()).toMatch(/count\s+2\s+3\s+1/);
    await three.findsNoBarrier();
    await three.pictures("clash");
    expect(laptopCount()).toBe("3");
    await dialog.getByRole("button", { name: "Take mine" }).click();
    await expect.poll(() => laptopCount()).toBe("1");
    await one.leaves();
    await two.leaves();
    await three.page.close();
});

const laptopCount = () => /\[loads\.laptop\][^[]*?count = (\d+)/.exec(service.file("heron/intent.toml"))?.[1];
