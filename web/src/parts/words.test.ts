import { describe, expect, it } from "vitest";
import { answerEdits, causeLink, reasonTrouble } from "./words.ts";
import { finding } from "../testing/sample.ts";

describe("answers to a danger", () => {
    it("names the entry by what it says, with quotes kept apart", () => {
        expect(answerEdits({ rule: "a", place: 'b "c"' }, "It is seen.")).toEqual([
            { path: ['answers[rule = "a", place = "b \\"c\\""]', "reason"], value: "It is seen." },
        ]);
        expect(answerEdits({ rule: "a", place: "b" }, null)).toEqual([
            { path: ['answers[rule = "a", place = "b"]'], value: null },
        ]);
    });

    it("asks for a sentence", () => {
        expect(reasonTrouble("   ")).not.toBe("");
        expect(reasonTrouble("too short")).not.toBe("");
        expect(reasonTrouble("12345678901")).not.toBe("");
        expect(reasonTrouble("It is only used ashore.")).toBe("");
    });
});

describe("the way from a finding to its cause", () => {
    it("leads to the load, to the brief, or to the file only", () => {
        expect(causeLink("hut", finding())?.href).toBe("#/hut/loads?load=fan");
        expect(causeLink("hut", finding({ intent: "bank.length" }))?.href).toContain("#/hut/brief");
        expect(causeLink("hut", finding({ intent: "pins.fan.fuse.rating" }))).toBeNull();
        expect(causeLink("hut", finding({ intent: "answers[0]" }))).toBeNull();
        expect(causeLink("hut", finding({ intent: "" }))).toBeNull();
    });
});
