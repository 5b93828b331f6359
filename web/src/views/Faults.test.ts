import { cleanup, fireEvent, render, screen, within } from "@testing-library/svelte";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { route } from "../state/route.svelte.ts";
import { open, view } from "../testing/sample.ts";
import type { FaultPlace, FaultStory } from "../wire/api.d.ts";
import { service } from "../wire/client.ts";
import Faults from "./Faults.svelte";

const fan: FaultPlace = { terminal: "fan.in", device: "fan", title: "Fan, in", most: "2 kA", least: "1 kA" };
const story: FaultStory = {
    place: fan,
    summary: "The fan's fuse opens within 4 ms; one load goes dark.",
    ways: [
        {
            source: { id: "bank", title: "Bank" },
            through: ["bank"],
            current: "2 kA",
            opens: { id: "fuse", title: "Fan fuse" },
            when: "within 4 ms",
            mayOpen: [{ id: "main", title: "Main fuse" }],
            isDanger: false,
        },
        {
            source: { id: "roof", title: "Roof" },
            through: ["roof"],
            current: "60 A",
            opens: null,
            when: "It flows as long as the sun shines.",
            mayOpen: [],
            isDanger: true,
        },
    ],
    dark: [{ id: "fan", title: "Fan" }],
    still: [{ id: "lamp", title: "Lamp" }],
    heated: [
        { conductor: { id: "lead", title: "Lead" }, text: "210 °C", withstands: false },
        { conductor: { id: "feed", title: "Feed" }, text: "70 °C", withstands: true },
    ],
    because: ["2 kA = 13 V / 6.5 mΩ"],
    sources: ["a standard, table 1"],
};

beforeEach(async () => {
    route.read("#/hut/faults");
    location.hash = "#/hut/faults";
    vi.spyOn(service, "faults").mockResolvedValue([fan]);
    vi.spyOn(service, "fault").mockResolvedValue(story);
    await open(view());
});
afterEach(() => {
    cleanup();
    vi.restoreAllMocks();
});

describe("short circuits", () => {
    it("are supposed at a place of the list", async () => {
        render(Faults);
        await fireEvent.click(await screen.findByRole("button", { name: /Fan, in/ }));
        expect(location.hash).toBe("#/hut/faults?at=fan.in");
    });

    it("tell who feeds them, what opens, and where nothing does", async () => {
        route.read("#/hut/faults?at=fan.in");
        render(Faults);
        expect(await screen.findByText(story.summary)).toBeTruthy();
        const [first, second] = within(
            screen.getByRole("heading", { name: "What feeds it, what opens" }).parentElement as HTMLElement,
        ).getAllByRole("listitem");
        expect(first?.textContent).toContain("Opens: Fan fuse, within 4 ms");
        expect(first?.textContent).toContain("May open too: Main fuse");
        expect(second?.textContent).toContain("Danger: nothing opens.");
    });

    it("list what goes dark, what goes on and what does not withstand them", async () => {
        route.read("#/hut/faults?at=fan.in");
        render(Faults);
        const dark = await screen.findByRole("link", { name: "Fan" });
        expect(dark.getAttribute("href")).toBe("#/hut/diagram?at=fan");
        expect(screen.getByRole("link", { name: "Lamp" })).toBeTruthy();
        expect(screen.getByText("Does not withstand it:").parentElement?.textContent).toContain(
            "Lead: 210 °C",
        );
        expect(screen.getAllByText("Does not withstand it:")).toHaveLength(1);
    });

    it("say so where the place is no more", async () => {
        route.read("#/hut/faults?at=gone");
        render(Faults);
        expect(await screen.findByText(/no place “gone” now/)).toBeTruthy();
    });
});
