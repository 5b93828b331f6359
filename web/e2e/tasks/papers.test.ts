// Look at, print and save every paper; the same bytes as `wattwain pack`.
import { readFileSync } from "node:fs";
import { afterAll, beforeAll, expect, it } from "vitest";
import { Person, Service, closeBrowser } from "../person.ts";

let service: Service;
beforeAll(async () => {
    service = await Service.of(["teal"], true);
});
afterAll(async () => {
    await closeBrowser();
    await service.stop();
});

it("saves each paper and shows those that a browser can show", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/teal/papers");
    const links = page.getByRole("link", { name: /^Save/ });
    await links.first().waitFor();
    const count = await links.count();
    expect(count).toBeGreaterThan(8);
    for (let at = 0; at < count; at += 1) {
        const [download] = await Promise.all([page.waitForEvent("download"), links.nth(at).click()]);
        const bytes = readFileSync(await download.path());
        expect(bytes.length, download.suggestedFilename()).toBeGreaterThan(100);
        if (download.suggestedFilename().endsWith(".svg")) expect(bytes.toString("utf8")).toContain("<svg");
        if (download.suggestedFilename().endsWith(".xlsx"))
            expect(bytes.subarray(0, 2).toString()).toBe("PK");
    }
    await page.getByRole("button", { name: /one-line/ }).click();
    const frame = page.frameLocator("iframe");
    await frame.locator("svg").first().waitFor();
    await person.findsNoBarrier();
    await person.pictures("papers");
    await person.leaves();
});
