// In the van, at 360 px: steps, cables, readings, findings; big targets, light and dark.
import { afterAll, beforeAll, expect, it } from "vitest";
import { PHONE, Person, SHEETS, Service, closeBrowser } from "../person.ts";

let service: Service;
beforeAll(async () => {
    service = await Service.of(["heron"], true);
});
afterAll(async () => {
    await closeBrowser();
    await service.stop();
});

/** Buttons, links and boxes that are smaller than a gloved finger wants (44 px, as WCAG 2.2, 2.5.5, target size enhanced). */
async function small(person: Person): Promise<string[]> {
    return person.page.evaluate(() => {
        const found: string[] = [];
        for (const element of document.querySelectorAll<HTMLElement>(
            "button, a[href], select, summary, input, label.tick",
        )) {
            // A box inside its label is pressed by the label.
            if (element.tagName === "INPUT" && element.closest("label")) continue;
            const place = element.getBoundingClientRect();
            if (place.width === 0 || place.bottom < 0 || getComputedStyle(element).visibility === "hidden")
                continue;
            if (element.closest(".skip, .unseen") || element.classList.contains("skip")) continue;
            // Links inside a sentence are exempt there too.
            if (element.tagName === "A" && getComputedStyle(element).display === "inline") continue;
            if (place.height < 43.5)
                found.push(
                    `${element.tagName} ${element.textContent?.trim().slice(0, 40)} ${Math.round(place.height)} px`,
                );
        }
        return found;
    });
}

for (const scheme of ["light", "dark"] as const) {
    it(`ticks steps and cables and enters readings, ${scheme}`, async () => {
        const person = await Person.at(service, PHONE, scheme);
        const { page } = person;
        await person.goes("#/heron/build");
        const first = page.locator(".step > .tick input").first();
        await first.waitFor();
        await first.check();
        await expect.poll(() => service.file("heron/ticks.toml")).toContain("true");
        await page.reload();
        await expect.poll(() => page.locator(".step > .tick input").first().isChecked()).toBe(true);
        await person.findsNoBarrier();
        await person.findsNoOverflow();
        expect(await small(person)).toEqual([]);
        await person.pictures(`build-${scheme}`);

        await page.getByRole("link", { name: "Cables" }).click();
        const cable = page.locator(".cables li").first();
        await cable.getByRole("checkbox", { name: /^cut/ }).check();
        await cable.getByRole("checkbox", { name: /^ends made/ }).check();
        await person.findsNoBarrier();
        await person.findsNoOverflow();
        expect(await small(person)).toEqual([]);
        await person.pictures(`cables-${scheme}`);

        await page.getByRole("link", { name: "Readings" }).click();
        const reading = page.locator(".reading").first();
        await reading.getByRole("textbox").first().fill("0");
        await page.keyboard.press("Tab");
        await expect.poll(() => service.file("heron/readings.toml")).toContain("value");
        await expect.poll(() => reading.locator(".verdict").innerText()).not.toContain("to take");
        await person.findsNoBarrier();
        await person.findsNoOverflow();
        expect(await small(person)).toEqual([]);
        await person.pictures(`readings-${scheme}`);

        await person.opens("Findings");
        await person.findsNoBarrier();
        await person.findsNoOverflow();
        expect(await small(person)).toEqual([]);
        await person.pictures(`findings-phone-${scheme}`);
        await first.uncheck().catch(() => undefined);
        await person.leaves();
    });
}

it("shows every sheet at 360 px without a barrier and without sticking out", async () => {
    const person = await Person.at(service, PHONE);
    for (const sheet of SHEETS) {
        await person.goes("#/heron/brief");
        await person.opens(sheet);
        await person.page.waitForTimeout(400);
        await person.findsNoBarrier();
        await person.findsNoOverflow();
        await person.pictures(`phone-${sheet}`);
    }
    await person.leaves();
});
