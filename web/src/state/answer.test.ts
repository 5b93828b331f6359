import { describe, expect, it } from "vitest";
import type { Field } from "../wire/api.d.ts";
import { addOwn, addPart, answer, freshId } from "./answer.ts";

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
