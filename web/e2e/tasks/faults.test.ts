// Task: choose a place, see what clears and what goes dark.
import { afterAll, beforeAll, expect, it } from "vitest";
import { DESKTOP, PHONE, Person, Service, closeBrowser } from "../person.ts";

let service: Service;
beforeAll(async () => {
    service = await Service.of(["heron"], true);
});
afterAll(async () => {
    await closeBrowser();
    await service.stop();
});

it("chooses a place from the list, and reads and sees what happens", async () => {
    for (const [size, scheme] of [
        [DESKTOP, "light"],
        [PHONE, "dark"],
    ] as const) {
        const person = await Person.at(service, size, scheme);
        const { page } = person;
        await person.goes("#/heron/faults");
        await page.getByLabel("Find a place").first().fill("busbar positive");
        await page.keyboard.press("ArrowDown");
        await page.keyboard.press("Enter");
        const story = page.getByRole("region", { name: "What happens" });
        await story.getByRole("heading", { name: /^Short circuit at/ }).waitFor();
        await story.getByText("Main fuse").first().waitFor();
        await story.getByRole("heading", { name: /^Goes dark/ }).waitFor();
        await page.locator("main svg .opens-ring").first().waitFor();
        await page.locator("main svg .way-line").first().waitFor({ state: "attached" });
        await person.findsNoBarrier();
        await person.findsNoOverflow();
        await person.pictures(`faults-${size.width}-${scheme}`);
        await story.getByRole("button", { name: "All places" }).click();
        await page.getByLabel("Find a place").first().waitFor();
        await person.leaves();
    }
});

it("chooses a place on the drawing", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/heron/faults");
    await page.getByLabel("Find a place").first().waitFor();
    const device = page.locator('main svg g[data-device="inverter"]').first();
    await device.waitFor();
    const box = await device.boundingBox();
    if (box) await page.mouse.click(box.x + box.width / 2, box.y + box.height / 2);
    await page.getByRole("heading", { name: /^Short circuit at/ }).waitFor();
    expect(page.url()).toContain("at=");
    await person.leaves();
});
