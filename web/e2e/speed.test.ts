// How long from an edit to every figure on show, and how smoothly the diagram pans. Printed, never asserted: machines differ.
import { mkdirSync, mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, it } from "vitest";
import { Person, Service, closeBrowser } from "./person.ts";

afterAll(closeBrowser);

const EDITS = 60;

/** Makes edits with the keyboard as a person slides, and times in the browser from the key to the frame in which every figure is new. */
async function edits(person: Person, sheet: string, slider: string): Promise<number[]> {
    const { page } = person;
    await page.locator(slider).first().waitFor();
    return page.evaluate(
        async ({ slider, count }) => {
            const input = document.querySelector<HTMLInputElement>(slider);
            if (!input) throw new Error("no slider");
            const times: number[] = [];
            const number = () => document.querySelector("[data-state]")?.getAttribute("data-state");
            for (let at = 0; at < count; at += 1) {
                const before = number();
                const started = performance.now();
                const step = at % 2 === 0 ? 1 : -1;
                input.value = String(Number(input.value) + step * Number(input.step || 1));
                input.dispatchEvent(new Event("change", { bubbles: true }));
                while (number() === before) await new Promise((done) => requestAnimationFrame(done));
                // This frame is painted after its callbacks; a message sent from one of them is taken once that is done.
                await new Promise<void>((done) => {
                    const { port1, port2 } = new MessageChannel();
                    port1.onmessage = () => done();
                    port2.postMessage(null);
                });
                times.push(performance.now() - started);
                await new Promise((done) => setTimeout(done, 40));
            }
            return times;
        },
        { slider, count: EDITS, sheet },
    );
}

function tell(what: string, times: number[]): void {
    const sorted = [...times].sort((a, b) => a - b);
    const at = (share: number) => sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))] ?? 0;
    console.log(
        `${what}: median ${at(0.5).toFixed(0)} ms, 95 % ${at(0.95).toFixed(0)} ms of ${times.length} edits`,
    );
}

/** A hut with so many circuits. */
function many(count: number): string {
    const loads = Array.from(
        { length: count },
        (_, at) =>
            `[loads.lamp-${at}]\ntitle = "Lamp ${at}"\npower = "${5 + (at % 20)} W"\nhours = "${1 + (at % 5)} h/day"\nlength = "${2 + (at % 9)} m"\n`,
    );
    return `[brief]\nname = "Many"\ncraft = "hut"\nrules = "iec"\nvoltage = "24 V"\npeople = 2\nseason = "all-year"\nautonomy = "24 h"\n\n[zones.living]\nkind = "living"\n\n[solar.roof]\nmodule = "module-200w"\ncount = 8\n\n${loads.join("\n")}`;
}

it("prints how long an edit of heron takes on the sheets", async () => {
    const service = await Service.of(["heron"], true);
    const person = await Person.at(service);
    for (const [sheet, slider] of [
        ["loads", ".loads input[type=range]"],
        ["energy", ".slider input[type=range]"],
    ] as const) {
        await person.goes(`#/heron/${sheet}`);
        const times = await edits(person, sheet, slider);
        expect(times.length).toBe(EDITS);
        tell(`heron, ${sheet}`, times);
    }
    await service.stop();
});

it("prints the same for 300 circuits, and how the diagram pans", async () => {
    const folder = mkdtempSync(join(tmpdir(), "wattwain-many-"));
    mkdirSync(join(folder, "many"));
    writeFileSync(join(folder, "many/intent.toml"), many(300));
    const service = await Service.at(folder, join(folder, "many"));
    const person = await Person.at(service);
    await person.goes("#/many/loads");
    tell("300 circuits, loads", await edits(person, "loads", ".loads input[type=range]"));

    await person.goes("#/many/diagram");
    await person.page.locator("main svg [data-device]").first().waitFor({ state: "attached" });
    const box = await person.page.locator("main svg").first().boundingBox();
    expect(box).not.toBeNull();
    if (!box) return;
    await person.page.mouse.move(box.x + box.width / 2, box.y + Math.min(200, box.height / 2));
    await person.page.mouse.down();
    const frames = person.page.evaluate(
        () =>
            new Promise<number[]>((done) => {
                const times: number[] = [];
                let last = performance.now();
                const began = last;
                const frame = () => {
                    const now = performance.now();
                    times.push(now - last);
                    last = now;
                    if (now - began < 2000) requestAnimationFrame(frame);
                    else done(times);
                };
                requestAnimationFrame(frame);
            }),
    );
    for (let at = 0; at < 100; at += 1) {
        await person.page.mouse.move(
            box.x + box.width / 2 + Math.sin(at / 8) * 120,
            box.y + 150 + Math.cos(at / 8) * 80,
        );
    }
    await person.page.mouse.up();
    const times = await frames;
    const mean = times.reduce((sum, time) => sum + time, 0) / times.length;
    console.log(
        `panning 300 circuits: ${(1000 / mean).toFixed(0)} frames a second in the mean of 2 s, longest frame ${Math.max(...times).toFixed(0)} ms`,
    );
    await service.stop();
});
