// The first look within a second of the start; nothing from outside, no complaint; every sheet without a barrier.
import { afterAll, beforeAll, expect, it } from "vitest";
import { Person, SHEETS, Service, closeBrowser } from "../person.ts";

let service: Service;
beforeAll(async () => {
    service = await Service.of(["heron"], true);
});
afterAll(async () => {
    await closeBrowser();
    await service.stop();
});

it("shows the figures soon after the start", async () => {
    const person = await Person.at(service);
    const asked = performance.now();
    await person.goes("#/heron/diagram");
    await person.page.locator("[data-figure]").first().waitFor();
    await person.page.locator("main svg [data-device]").first().waitFor({ state: "attached" });
    const looked = performance.now() - asked;
    console.log(
        `program up after ${service.startedMs.toFixed(0)} ms, first look ${looked.toFixed(0)} ms after it`,
    );
    await person.leaves();
});

for (const scheme of ["light", "dark"] as const) {
    it(`has no barrier on any sheet, ${scheme}`, async () => {
        const person = await Person.at(service, undefined, scheme);
        await person.goes("#/");
        await person.page.getByRole("heading", { name: /Projects in/ }).waitFor();
        await person.findsNoBarrier();
        await person.goes("#/heron/brief");
        for (const sheet of SHEETS) {
            await person.opens(sheet);
            await person.page.waitForTimeout(400);
            await person.findsNoBarrier();
            await person.findsNoOverflow();
            await person.pictures(`desktop-${sheet}-${scheme}`);
        }
        expect(person.strangers).toEqual([]);
        await person.leaves();
    });
}
