// A small made-up project for component tests. Never: part of the page.
import { vi } from "vitest";
import { desk } from "../state/desk.svelte.ts";
import type { Finding, Place, PlaceLine, View } from "../wire/api.d.ts";
import { service } from "../wire/client.ts";

export const SVG = `<?xml version="1.0"?>
<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 100 50" role="img">
 <style>.w{stroke:#221f1b;font-family:&apos;DejaVu Sans&apos;}</style>
 <rect class="paper" x="0" y="0" width="100" height="50"/>
 <path class="w" d="M10 10L30 10L30 20" data-conductor="fan.positive fan.negative"/>
 <g data-device="fan"><use href="#sym"/></g>
 <script>globalThis.wasRun = true</script>
</svg>`;

export function line(id: string, more: Partial<PlaceLine> = {}): PlaceLine {
    return { id, kind: "device", title: `The ${id}`, about: "10 A", worst: null, isPinned: false, ...more };
}

export function finding(more: Partial<Finding> = {}): Finding {
    return {
        rule: "fuse-too-small-for-load",
        title: "a fuse is too small for its load",
        severity: "danger",
        message: "fan.fuse is 5 A; 8 A flows",
        place: "fan.fuse",
        onDiagram: "fan.fuse",
        intent: "loads.fan.power",
        line: 12,
        why: "It opens in use.",
        because: ["8 A = 96 W / 12 V"],
        sources: ["a table, row 3 (published)"],
        canTry: true,
        byHand: ["take a smaller fan"],
        answered: null,
        ...more,
    };
}

export function place(id: string, more: Partial<Place> = {}): Place {
    return {
        ...line(id),
        facts: [
            { what: "Amps", text: "8 A", scene: "bank low" },
            { what: "Poles", text: "1", scene: "" },
        ],
        derived: [
            {
                path: `${id}.rating`,
                what: "Rating",
                value: "10 A",
                derived: null,
                canPin: true,
                choices: ["10 A", "15 A"],
            },
        ],
        findings: [],
        neighbours: [line("panel")],
        line: 12,
        ...more,
    };
}

export function view(more: Partial<View> = {}): View {
    const findings = more.findings ?? [];
    const of = (severity: string) => findings.filter((one) => one.severity === severity).length;
    return {
        key: "hut",
        number: 1,
        isTrial: false,
        name: "Hut",
        about: "hut, 12 V",
        back: null,
        forward: null,
        problems: [],
        figures: [],
        counts: {
            danger: of("danger"),
            unanswered: findings.filter((one) => one.severity === "danger" && one.answered == null).length,
            warning: of("warning"),
            advice: of("advice"),
        },
        refusals: [],
        waysOut: [],
        findings,
        pins: [],
        loads: [],
        brief: null,
        circuits: null,
        diagram: {
            svg: SVG,
            places: [line("fan"), line("fan.positive", { kind: "conductor" }), line("panel")],
        },
        energy: null,
        tookMs: 1,
        ...more,
    };
}

/** Opens a made-up project as if the service had it. */
export async function open(shown: View): Promise<void> {
    vi.spyOn(service, "view").mockResolvedValue(shown);
    desk.close();
    await desk.open(shown.key, []);
}
