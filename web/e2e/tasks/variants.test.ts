// Several projects in a folder, a copy as a variant, two side by side.
import { afterAll, beforeAll, expect, it } from "vitest";
import { Person, Service, closeBrowser } from "../person.ts";

let service: Service;
beforeAll(async () => {
    service = await Service.of(["wren", "teal"]);
});
afterAll(async () => {
    await closeBrowser();
    await service.stop();
});

it("copies a project, changes the copy, and sees what differs", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("");
    await expect.poll(() => page.locator("section ul li").count()).toBe(2);
    await page.getByRole("link", { name: /^Wren/ }).click();
    await page.getByRole("heading", { level: 1, name: "Brief" }).waitFor();
    const original = service.file("wren/intent.toml");
    await person.opens("Variants");
    await page.getByLabel("Copy this project as a variant called").fill("Lighter");
    await page.getByRole("button", { name: "Copy" }).click();
    await page.getByText("Lighter is there as a variant").waitFor();
    await person.opens("Loads");
    await page
        .getByRole("button", { name: /^Take away/ })
        .first()
        .click();
    await page
        .getByText(/taken away/)
        .first()
        .waitFor({ state: "attached" })
        .catch(() => undefined);
    await person.opens("Variants");
    await page.getByLabel("Compare with").selectOption({ label: "Wren" });
    await page.getByRole("heading", { name: "Figures" }).waitFor();
    await expect.poll(() => page.locator("tr.differs").count()).toBeGreaterThan(1);
    await person.findsNoBarrier();
    await person.pictures("variants");
    expect(service.file("wren/intent.toml")).toBe(original);
    await person.leaves();
});
