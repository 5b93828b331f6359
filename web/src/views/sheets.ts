// The sheets of a project: title, what of the view each needs, and where its code is. Never: draws.
import type { Component } from "svelte";
import type { SheetId } from "../state/route.svelte.ts";
import type { Part } from "../wire/api.d.ts";

export interface SheetAbout {
    title: string;
    /** One line for the index on a large screen. */
    about: string;
    parts: Part[];
    load: () => Promise<Component>;
}

const of = (module: Promise<{ default: Component }>) => module.then((found) => found.default);

export const sheets: Record<SheetId, SheetAbout> = {
    brief: {
        title: "Brief",
        about: "What it is for",
        parts: ["brief"],
        load: () => of(import("./Brief.svelte")),
    },
    loads: {
        title: "Loads",
        about: "What it must power",
        parts: [],
        load: () => of(import("./Loads.svelte")),
    },
    diagram: {
        title: "One-line",
        about: "Every device and conductor",
        parts: ["diagram"],
        load: () => of(import("./OneLine.svelte")),
    },
    findings: {
        title: "Findings",
        about: "What is wrong, and its mend",
        parts: [],
        load: () => of(import("./Findings.svelte")),
    },
    energy: {
        title: "Energy",
        about: "Whether it lasts",
        parts: ["energy"],
        load: () => of(import("./Energy.svelte")),
    },
    faults: {
        title: "Short circuits",
        about: "What opens, what goes dark",
        parts: ["diagram"],
        load: () => of(import("./Faults.svelte")),
    },
    board: {
        title: "Board",
        about: "Where each device stands",
        parts: [],
        load: () => of(import("./Board.svelte")),
    },
    build: {
        title: "Build",
        about: "Steps, cables, readings",
        parts: [],
        load: () => of(import("./Build.svelte")),
    },
    papers: {
        title: "Papers",
        about: "To print and keep",
        parts: [],
        load: () => of(import("./Papers.svelte")),
    },
    compare: {
        title: "Variants",
        about: "Two side by side",
        parts: [],
        load: () => of(import("./Variants.svelte")),
    },
    states: {
        title: "Changes",
        about: "Back to any of them",
        parts: [],
        load: () => of(import("./Changes.svelte")),
    },
};
