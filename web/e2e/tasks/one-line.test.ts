// Task: see and walk the one-line diagram; numbers, reasons and findings on the spot; pin and unpin; the same without the picture.
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

it("taps a device on the drawing, reads why, pins a value and unpins it", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/heron/diagram");
    const fuse = page.locator('main svg g[data-device="main.fuse"]');
    await fuse.waitFor();
    const box = await fuse.boundingBox();
    expect(box).not.toBeNull();
    // With a glove: beside it, not on it.
    if (box) await page.mouse.click(box.x - 8, box.y + box.height / 2);
    const note = page.getByRole("region", { name: "Note" });
    await note.getByRole("heading", { name: "Main fuse" }).waitFor();
    expect(page.url()).toContain("at=main.fuse");

    await note.getByRole("button", { name: /^Why/ }).first().click();
    await note.locator(".why p").first().waitFor();
    await person.findsNoBarrier();
    await person.pictures("one-line-note");

    await note.getByRole("button", { name: /^Pin…/ }).first().click();
    const field = note.locator("form select, form input").first();
    if ((await field.evaluate((element) => element.localName)) === "select") {
        // Another family that holds the current too, so that the fuse still stands on the drawing.
        const others = (await field.locator("option").allTextContents()).map((text) => text.trim());
        expect(others).toContain("class-j");
        await field.selectOption("class-j");
    } else {
        await field.fill("600 A");
    }
    await note.getByText("Findings that come").waitFor();
    expect(service.file("heron/intent.toml")).not.toMatch(/"main\.fuse\./);
    await note.getByRole("button", { name: "Pin", exact: true }).click();
    await expect.poll(() => service.file("heron/intent.toml")).toMatch(/"main\.fuse\./);
    await person.findsNoBarrier();
    await note
        .getByRole("button", { name: /^Unpin…/ })
        .first()
        .click();
    await note.getByText("Findings that come").waitFor();
    await note.getByRole("button", { name: "Unpin", exact: true }).click();
    await expect.poll(() => service.file("heron/intent.toml")).not.toMatch(/"main\.fuse\./);
    await person.leaves();
});

it("walks by keyboard from the list, and the way back is the browser's", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/heron/diagram");
    await page.getByLabel("Find a place").first().fill("main fuse");
    await page.keyboard.press("ArrowDown");
    await page.keyboard.press("Enter");
    const note = page.getByRole("region", { name: "Note" });
    const heading = note.getByRole("heading", { level: 2 });
    await expect.poll(() => heading.evaluate((element) => element === document.activeElement)).toBe(true);
    const first = await heading.innerText();
    await note
        .getByRole("heading", { name: "Joined to" })
        .locator("xpath=following-sibling::ul")
        .getByRole("button")
        .first()
        .press("Enter");
    await expect.poll(() => heading.innerText()).not.toBe(first);
    await page.goBack();
    await expect.poll(() => heading.innerText()).toBe(first);
    await note.getByRole("button", { name: "All places" }).press("Enter");
    await page.getByLabel("Find a place").first().waitFor();
    await person.leaves();
});

it("zooms and pans with keys, wheel and buttons", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/heron/diagram");
    const drawing = page.getByRole("application");
    const svg = page
        .locator("main svg[viewBox]")
        .filter({ has: page.locator("[data-device]") })
        .first();
    await svg.waitFor();
    const width = async () => (await svg.boundingBox())?.width ?? 0;
    const whole = await width();
    await drawing.focus();
    await page.keyboard.press("+");
    await expect.poll(width).toBeGreaterThan(whole * 1.2);
    await page.keyboard.press("0");
    await expect.poll(width).toBeCloseTo(whole, 0);
    const at = await drawing.boundingBox();
    await page.mouse.move((at?.x ?? 0) + 100, (at?.y ?? 0) + 100);
    await page.mouse.wheel(0, -300);
    await expect.poll(width).toBeGreaterThan(whole * 1.5);
    await page.getByRole("button", { name: "Whole" }).click();
    await expect.poll(width).toBeCloseTo(whole, 0);
    await person.leaves();
});

it("stands on a phone, light and dark, without barrier or overflow", async () => {
    for (const [size, scheme] of [
        [PHONE, "light"],
        [PHONE, "dark"],
        [DESKTOP, "dark"],
    ] as const) {
        const person = await Person.at(service, size, scheme);
        for (const place of ["", "?at=main.fuse"]) {
            await person.goes(`#/heron/diagram${place}`);
            await person.page.locator("main svg [data-device]").first().waitFor({ state: "attached" });
            if (place !== "") await person.page.getByRole("heading", { name: "Main fuse" }).waitFor();
            await person.findsNoBarrier();
            await person.findsNoOverflow();
            await person.pictures(`one-line-${size.width}-${scheme}${place === "" ? "" : "-note"}`);
        }
        await person.leaves();
    }
});
