// Task: see the board, move a device by hand and by keyboard, hear what is wrong there, and take it back.
import { afterAll, beforeAll, expect, it } from "vitest";
import { DESKTOP, PHONE, Person, Service, closeBrowser } from "../person.ts";

let service: Service;
beforeAll(async () => {
    service = await Service.of(["wren"], true);
});
afterAll(async () => {
    await closeBrowser();
    await service.stop();
});

const text = () => service.file("wren/intent.toml");

it("drags a device, is told what is wrong, and takes it back", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/wren/board");
    const devices = page.locator("main svg g[data-device]");
    await devices.first().waitFor();
    const before = text();
    // The second onto the first: they overlap.
    const [first, second] = [await devices.nth(0).boundingBox(), await devices.nth(1).boundingBox()];
    const id = await devices.nth(1).getAttribute("data-device");
    if (!first || !second) throw new Error("two devices are seen");
    await page.mouse.move(second.x + second.width / 2, second.y + second.height / 2);
    await page.mouse.down();
    await page.mouse.move(first.x + first.width / 2, first.y + first.height / 2, { steps: 8 });
    const move = page.getByRole("region", { name: /^Move / });
    await move.getByText(/overlap by/).waitFor();
    await person.pictures("board-drag");
    expect(text()).toBe(before);
    await page.mouse.up();
    await expect.poll(text).toContain(`[board.places.${id?.includes(".") ? `"${id}"` : id}]`);
    await page
        .getByRole("region", { name: "Findings" })
        .getByText(/overlap by/)
        .first()
        .waitFor();
    await person.findsNoBarrier();
    await page
        .getByRole("button", { name: /Take back/ })
        .first()
        .click();
    await expect.poll(text).toBe(before);
    await person.leaves();
});

for (const [size, scheme] of [
    [DESKTOP, "dark"],
    [PHONE, "light"],
] as const) {
    it(`moves a device by keyboard and unpins it, ${size.width} px`, async () => {
        const person = await Person.at(service, size, scheme);
        const { page } = person;
        await person.goes("#/wren/board");
        const list = page.getByRole("region", { name: "Devices", exact: true });
        const device = list.getByRole("listitem").first().getByRole("button");
        await device.focus();
        await page.keyboard.press("Enter");
        const before = text();
        await page.keyboard.press("Shift+ArrowRight");
        const move = page.getByRole("region", { name: /^Move / });
        await move.getByRole("button", { name: "Keep here" }).waitFor();
        await person.findsNoBarrier();
        await person.findsNoOverflow();
        await person.pictures(`board-${size.width}-${scheme}`);
        await device.focus();
        await page.keyboard.press("Escape");
        await move.getByRole("button", { name: "Keep here" }).waitFor({ state: "detached" });
        expect(text()).toBe(before);
        await page.keyboard.press("ArrowRight");
        await move.getByRole("button", { name: "Keep here" }).click();
        await expect.poll(text).toContain("[board.places.");
        await move.getByRole("button", { name: "Unpin" }).click();
        await expect.poll(() => list.getByText(/, pinned/).count()).toBeGreaterThan(0);
        await list.getByRole("button", { name: "Place all anew" }).click();
        await expect.poll(text).not.toContain("[board.places.");
        await person.findsNoBarrier();
        await person.findsNoOverflow();
        await person.leaves();
    });
}
