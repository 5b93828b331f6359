import { expect, it } from "vitest";
import type { FaultStory } from "../wire/api.d.ts";
import { rolesOf } from "./fault.ts";

const named = (id: string) => ({ id, title: id });
const story: FaultStory = {
    place: { terminal: "fan.in", device: "fan", title: "fan", most: "1 kA", least: "1 kA" },
    summary: "",
    ways: [
        {
            source: named("bank"),
            through: ["bank", "fuse", "lead"],
            current: "1 kA",
            opens: named("fuse"),
            when: "",
            mayOpen: [],
            isDanger: false,
        },
    ],
    dark: [named("fan"), named("lead")],
    still: [named("lamp")],
    heated: [],
    because: [],
    sources: [],
};

it("shows what opens before the way, and the way before the dark", () => {
    expect([...rolesOf(story)].sort()).toEqual([
        ["bank", "way"],
        ["fan", "dark"],
        ["fuse", "opens"],
        ["lead", "way"],
    ]);
    expect(rolesOf(null).size).toBe(0);
});
