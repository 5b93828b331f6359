// From an answer to the change of the file that it means. Never: sends it.
import type { Edit, Field } from "../wire/api.d.ts";

/** A change with its name in the list of changes. */
export interface Answer {
    label: string;
    edits: Edit[];
}

/** The change that answers a question; `null` leaves it open. A bare number gets the question's unit. */
export function answer(field: Field, wanted: string | null): Answer {
    const value = wanted === null ? null : withUnit(field, wanted);
    const name = field.path.join(".");
    return {
        label: value === null ? `${name} left open` : `${name}: ${value}`,
        edits: [{ path: field.path, value }],
    };
}

/** Answers that wait for others, by path: of a place, say, latitude alone cannot be written. */
export type Held = Map<string, string>;

/**
 * The change that answers a question among those asked with it; `null` where the answer must wait for others of its table,
 * which are needed too and stand nowhere yet. `held` has the answers that wait, this one among them afterwards.
 */
export function answerAmong(
    field: Field,
    wanted: string | null,
    asked: readonly Field[],
    held: Held,
): { done: Answer | null; waitsFor: string[] } {
    const table = field.path.slice(0, -1).join(".");
    const lacking = asked.filter(
        (other) =>
            other.isNeeded &&
            (other.written ?? null) === null &&
            other.path.join(".") !== field.path.join(".") &&
            other.path.slice(0, -1).join(".") === table,
    );
    const own = answer(field, wanted);
    if (wanted === null || lacking.length === 0) return { done: own, waitsFor: [] };
    held.set(field.path.join("."), own.edits[0]?.value ?? "");
    const open = lacking.filter((other) => !held.has(other.path.join(".")));
    if (open.length > 0) return { done: null, waitsFor: open.map((other) => other.title) };
    const edits = [...lacking, field].map((one) => ({
        path: one.path,
        value: held.get(one.path.join(".")) ?? null,
    }));
    for (const one of [...lacking, field]) held.delete(one.path.join("."));
    return {
        done: { label: edits.map((edit) => `${edit.path.at(-1)}: ${edit.value}`).join(", "), edits },
        waitsFor: [],
    };
}

function withUnit(field: Field, wanted: string): string {
    const isBare = /^[+-]?\d+([.,]\d+)?$/.test(wanted);
    if (field.ask.kind !== "quantity" || !isBare || field.ask.unit === "") return wanted;
    return `${wanted.replace(",", ".")} ${field.ask.unit}`;
}

/** A name for a new load that no other has, from its part or title: `fridge-90l`, `fridge-90l-2`. */
export function freshId(words: string, known: readonly string[]): string {
    const plain = words
        .normalize("NFKD")
        .toLowerCase()
        .replace(/[^a-z0-9]+/g, "-")
        .replace(/^-+|-+$/g, "")
        .slice(0, 40);
    const base = plain === "" || /^\d/.test(plain) ? `load-${plain}`.replace(/-$/, "") : plain;
    if (!known.includes(base)) return base;
    for (let at = 2; ; at += 1) {
        const id = `${base}-${at}`;
        if (!known.includes(id)) return id;
    }
}

/** The change that adds a load of the library. */
export function addPart(part: { id: string; title: string }, known: readonly string[]): Answer {
    const id = freshId(part.id, known);
    return { label: `${part.title} added`, edits: [{ path: ["loads", id, "part"], value: part.id }] };
}

/** What a load of the person's own needs. */
export interface OwnLoad {
    title: string;
    power: string;
    isAc: boolean;
    hours: string;
}

/** The change that adds a load of the person's own. */
export function addOwn(load: OwnLoad, known: readonly string[]): Answer {
    const id = freshId(load.title, known);
    const set = (key: string, value: string): Edit => ({ path: ["loads", id, key], value });
    const bare = (text: string, unit: string) =>
        /^\d+([.,]\d+)?$/.test(text.trim()) ? `${text.trim().replace(",", ".")} ${unit}` : text.trim();
    return {
        label: `${load.title} added`,
        edits: [
            set("title", load.title.trim()),
            set("power", bare(load.power, "W")),
            ...(load.isAc ? [set("supply", "ac")] : []),
            ...(load.hours.trim() === "" ? [] : [set("hours", bare(load.hours, "h/day"))]),
        ],
    };
}
