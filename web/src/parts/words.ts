// Words and paths that several parts of the page share. Never: computes a number.
import { address } from "../state/route.svelte.ts";
import type { Edit, Finding, Severity, WhyInput } from "../wire/api.d.ts";

export const severityWord: Record<Severity, string> = {
    danger: "Danger",
    warning: "Warning",
    advice: "Advice",
};
export const severities: Severity[] = ["danger", "warning", "advice"];

const origins: Record<string, string> = {
    written: "written in the file",
    derived: "derived",
    table: "table",
    part: "part",
    assumed: "assumed",
    practice: "practice of the trade",
};
/** Where an input comes from, in words. */
export const originWord = (input: WhyInput) => origins[input.origin] ?? input.origin;

const known: Record<string, string> = {
    published: "published, checked against the source",
    computed: "computed from a published formula",
    memory: "from memory, not checked against the source",
};
/** How well a row of a table is known, in words. */
export const provenanceWord = (provenance: string) => known[provenance] ?? provenance;

/** The path of the written answer to a danger. Named by what it says, not by number: two windows may each add one. */
export const answerSegment = (rule: string, place: string) =>
    `answers[rule = ${JSON.stringify(rule)}, place = ${JSON.stringify(place)}]`;

/** Answers a danger, or takes the answer away. */
export function answerEdits(finding: Pick<Finding, "rule" | "place">, reason: string | null): Edit[] {
    const entry = answerSegment(finding.rule, finding.place);
    return reason === null ? [{ path: [entry], value: null }] : [{ path: [entry, "reason"], value: reason }];
}

/** The fewest characters of a reason: shorter is no sentence. */
export const REASON_LEAST = 10;

/** What is missing of a reason; empty where it can stand. */
export function reasonTrouble(reason: string): string {
    const long = [...reason.trim()].length;
    if (long === 0) return "Please write why it is accepted; the documents print it";
    if (long < REASON_LEAST || !/\p{L}/u.test(reason))
        return "Please write a whole sentence; somebody else must understand it in two years";
    return "";
}

/** The sheet on which the cause of a finding can be changed, with its address; `null` where only the file has it. */
export function causeLink(key: string, finding: Finding): { href: string; words: string } | null {
    const [head = "", name = ""] = finding.intent.split(".");
    if (head === "loads" && name !== "")
        return { href: address(key, "loads", { load: name }), words: `To the load ${name}` };
    if (head === "" || head.startsWith("answers") || head === "pins" || head.startsWith("built")) return null;
    return { href: address(key, "brief", { at: finding.intent }), words: "To the question in the brief" };
}

/** The id of a finding in an address. */
export const findingAt = (finding: Pick<Finding, "rule" | "place">) => `${finding.rule}@${finding.place}`;
