// The checklist of the papers on a phone without a network: tick, read, come back, carry it to another phone.
import { readFileSync, writeFileSync } from "node:fs";
import { afterAll, beforeAll, expect, it } from "vitest";
import { PHONE, Papers, Person, closeBrowser } from "../person.ts";

let papers: Papers;
beforeAll(() => {
    papers = new Papers("heron");
});
afterAll(async () => {
    await closeBrowser();
    papers.remove();
});

const opened = async (scheme: "light" | "dark" = "light", viewport = PHONE) => {
    const person = await Person.at(papers, viewport, scheme);
    await person.goes("out/checklists.html");
    await person.page.getByRole("heading", { level: 1, name: /Heron/ }).waitFor();
    return person;
};
const firstTick = (person: Person) => person.page.locator("article input[type=checkbox]").first();
const firstReading = (person: Person) => person.page.getByRole("textbox").first();
const said = async (person: Person) => person.page.getByRole("status").innerText();
const exported = async (person: Person) => {
    const [download] = await Promise.all([
        person.page.waitForEvent("download"),
        person.page.getByRole("button", { name: "Export" }).click(),
    ]);
    expect(download.suggestedFilename()).toBe("Heron-ticks.json");
    return readFileSync(await download.path(), "utf8");
};

it("keeps ticks and readings, and carries them to another browser", async () => {
    const person = await opened();
    const { page } = person;
    await expect.poll(() => page.locator("#count").innerText()).toMatch(/^0 of \d+$/);
    await firstTick(person).click();
    await firstReading(person).fill("0.2 Ω");
    await page.reload();
    expect(await firstTick(person).isChecked()).toBe(true);
    expect(await firstReading(person).inputValue()).toBe("0.2 Ω");
    expect(await page.locator("#count").innerText()).toMatch(/^1 of /);
    const text = await exported(person);
    const state = JSON.parse(text) as { ticks: string[]; readings: Record<string, string> };
    expect(state.ticks).toHaveLength(1);
    expect(Object.values(state.readings)).toEqual(["0.2 Ω"]);
    await person.leaves();

    const other = await opened();
    expect(await firstTick(other).isChecked()).toBe(false);
    const file = papers.file("ticks.json");
    writeFileSync(file, text);
    await other.page.locator("input[type=file]").setInputFiles(file);
    await expect.poll(() => said(other)).toContain("1 tick and 1 reading added.");
    expect(await firstTick(other).isChecked()).toBe(true);
    expect(await firstReading(other).inputValue()).toBe("0.2 Ω");
    await other.leaves();
});

it("refuses what is no export, and says which ticks it does not know", async () => {
    const person = await opened();
    const file = papers.file("strange.json");
    const takes = async (text: string) => {
        writeFileSync(file, text);
        await person.page.locator("input[type=file]").setInputFiles(file);
    };
    const base = { format: "checklist 1", project: "Heron", list: "0", ticks: [], readings: {} };
    await takes("{");
    await expect.poll(() => said(person)).toContain("is no export of this page; nothing was changed.");
    await takes(JSON.stringify({ ...base, project: "<b>Teal</b>" }));
    await expect.poll(() => said(person)).toContain("belongs to <b>Teal</b>; nothing was changed.");
    await takes(JSON.stringify({ ...base, ticks: ["of no step"] }));
    await expect.poll(() => said(person)).toContain("1 not in this list and left out.");
    expect(await said(person)).toContain("another version of this list");
    expect(await person.page.locator("article input:checked").count()).toBe(0);
    await person.leaves();
});

it("leads to what is open, and takes everything away when asked twice", async () => {
    const person = await opened();
    const { page } = person;
    const ticks = page.locator("article input[type=checkbox]");
    await ticks.nth(0).click();
    await page.getByRole("button", { name: "Next to do" }).click();
    await expect
        .poll(() => page.evaluate(() => document.activeElement?.getAttribute("data-tick")))
        .toBe(await ticks.nth(1).getAttribute("data-tick"));
    page.once("dialog", (dialog) => void dialog.accept());
    await page.getByRole("button", { name: "Clear …" }).click();
    await expect.poll(() => page.locator("#count").innerText()).toMatch(/^0 of /);
    await person.leaves();
});

it("shows one list in two windows, and offers the ticks of an earlier list", async () => {
    const person = await opened();
    const { page } = person;
    const second = await page.context().newPage();
    await second.goto(page.url());
    await firstTick(person).click();
    await expect.poll(() => second.locator("article input:checked").count()).toBe(1);
    await second.close();

    // As after a change of the design: what was ticked stands under the digest of another list.
    await page.evaluate(() => {
        const key = localStorage.key(0) ?? "";
        localStorage.setItem(key.replace(/[^/]*$/, "earlier"), localStorage.getItem(key) ?? "");
        localStorage.removeItem(key);
    });
    await page.reload();
    expect(await firstTick(person).isChecked()).toBe(false);
    await page.getByRole("button", { name: "Take over ticks of an earlier list" }).click();
    expect(await firstTick(person).isChecked()).toBe(true);
    await expect.poll(() => said(person)).toContain("1 tick and 0 readings added.");
    await person.leaves();
});

it("has room for thumbs, on every screen and in both lights", async () => {
    for (const [name, scheme, viewport] of [
        ["phone", "light", PHONE],
        ["phone-dark", "dark", PHONE],
        ["desk", "light", { width: 1280, height: 800 }],
    ] as const) {
        const person = await opened(scheme, viewport);
        await person.findsNoOverflow();
        await person.findsNoBarrier();
        // 44 px is the size that WCAG 2.2 asks of targets (success criterion 2.5.5).
        const small = await person.page.evaluate(
            () =>
                [...document.querySelectorAll("button, .tick, .file, nav a, .reading input")]
                    .filter((target) => (target as HTMLElement).offsetParent !== null)
                    .map((target) => target.getBoundingClientRect())
                    .filter((box) => box.height < 44 || box.width < 44).length,
        );
        expect(small, name).toBe(0);
        await person.pictures(`checklists-${name}`);
        await firstTick(person).scrollIntoViewIfNeeded();
        await person.pictures(`checklists-${name}-steps`);
        await person.leaves();
    }
});
