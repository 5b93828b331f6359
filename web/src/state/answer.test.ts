import { describe, expect, it } from "vitest";
import type { Field } from "../wire/api.d.ts";
import { addOwn, addPart, answer, answerAmong, freshId, type Held } from "./answer.ts";

const hours: Field = {
    path: ["loads", "fan", "hours"],
    title: "How long does it run?",
    help: "",
    ask: { kind: "quantity", unit: "h/day", example: "3 h/day", slider: [0, 24, 0.5] },
    written: null,
    taken: "6 h/day",
    because: null,
    plausible: null,
    mustAnswer: false,
    isNeeded: false,
};

describe("answers", () => {
    it("gives a bare number the unit of its question", () => {
        expect(answer(hours, "2,5").edits).toEqual([{ path: ["loads", "fan", "hours"], value: "2.5 h/day" }]);
        expect(answer(hours, "30 min/day").edits[0]?.value).toBe("30 min/day");
    });

    it("leaves a question open by taking the value away", () => {
        expect(answer(hours, null)).toEqual({
            label: "loads.fan.hours left open",
            edits: [{ path: ["loads", "fan", "hours"], value: null }],
        });
    });
});

describe("answers that need each other", () => {
    const of = (name: string): Field => ({
        ...hours,
        path: ["brief", "place", name],
        title: name,
        ask: { kind: "text", example: "" },
        isNeeded: true,
    });
    const asked = [of("latitude"), of("longitude"), { ...of("altitude"), isNeeded: false }];

    it("wait until all are there, and are then written together", () => {
        const held: Held = new Map();
        const [latitude, longitude] = [of("latitude"), of("longitude")];
        expect(answerAmong(latitude, "54.3 N", asked, held)).toEqual({ done: null, waitsFor: ["longitude"] });
        const { done } = answerAmong(longitude, "10.1 E", asked, held);
        expect(done?.edits).toEqual([
            { path: ["brief", "place", "latitude"], value: "54.3 N" },
            { path: ["brief", "place", "longitude"], value: "10.1 E" },
        ]);
        expect(held.size).toBe(0);
    });

    it("are written at once where the others stand", () => {
        const written = asked.map((field) => ({ ...field, written: "1 N" }));
        expect(answerAmong(of("latitude"), "2 N", written, new Map()).done?.edits.length).toBe(1);
    });
});

describe("new loads", () => {
    it("finds a name that no other load has", () => {
        expect(freshId("Kühlbox für vorn", [])).toBe("ku-hlbox-fu-r-vorn");
        expect(freshId("fan", ["fan", "fan-2"])).toBe("fan-3");
        expect(freshId("12 V outlet", [])).toBe("load-12-v-outlet");
        expect(freshId("***", [])).toBe("load");
    });

    it("adds a part by its id, and one of the person's own by its power", () => {
        expect(addPart({ id: "led-spot", title: "LED spot" }, ["led-spot"]).edits).toEqual([
            { path: ["loads", "led-spot-2", "part"], value: "led-spot" },
        ]);
        const own = addOwn({ title: "Glue pot", power: "120", isAc: true, hours: "" }, []);
        expect(own.edits.map((edit) => [edit.path[2], edit.value])).toEqual([
            ["title", "Glue pot"],
            ["power", "120 W"],
            ["supply", "ac"],
        ]);
    });
});
