import { cleanup, fireEvent, render, screen, within } from "@testing-library/svelte";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { route } from "../state/route.svelte.ts";
import { finding, open, place, view } from "../testing/sample.ts";
import type { Change } from "../wire/api.d.ts";
import { service } from "../wire/client.ts";
import OneLine from "./OneLine.svelte";

beforeEach(async () => {
    route.read("#/hut/diagram");
    location.hash = "#/hut/diagram";
    vi.spyOn(service, "place").mockImplementation((_, id) => Promise.resolve(place(id)));
    await open(view());
});
afterEach(() => {
    cleanup();
    vi.restoreAllMocks();
});

const lines = () => within(screen.getByRole("list", { name: "Find a place" })).getAllByRole("button");
const walkTo = (id: string) => route.read(`#/hut/diagram?at=${id}`);

describe("the list beside the drawing", () => {
    it("is walked with the arrow keys; Tab reaches one line only", async () => {
        render(OneLine);
        const field = screen.getByRole("searchbox");
        field.focus();
        await fireEvent.keyDown(field, { key: "ArrowDown" });
        expect(document.activeElement).toBe(lines()[0]);
        await fireEvent.keyDown(document.activeElement as Element, { key: "End" });
        expect(document.activeElement).toBe(lines()[2]);
        await fireEvent.keyDown(document.activeElement as Element, { key: "Home" });
        await fireEvent.keyDown(document.activeElement as Element, { key: "ArrowUp" });
        expect(document.activeElement).toBe(field);
        expect(lines().map((line) => line.tabIndex)).toEqual([0, -1, -1]);
    });

    it("is narrowed by parts of names, and says how many are left", async () => {
        render(OneLine);
        await fireEvent.input(screen.getByRole("searchbox"), { target: { value: "fan POS" } });
        expect(lines()).toHaveLength(1);
        expect(screen.getByText("1 of 3")).toBeTruthy();
    });

    it("leads to an address, so that a link leads there and back", async () => {
        render(OneLine);
        await fireEvent.click(screen.getByRole("button", { name: /The panel/ }));
        expect(location.hash).toBe("#/hut/diagram?at=panel");
    });
});

describe("the note of a place", () => {
    it("tells facts by scene, findings and neighbours", async () => {
        vi.mocked(service.place).mockImplementation((_, id) => Promise.resolve(place(id, { findings: [0] })));
        await open(view({ findings: [finding()] }));
        walkTo("fan");
        render(OneLine);
        expect(await screen.findByRole("heading", { name: "The fan" })).toBeTruthy();
        expect(screen.getByRole("heading", { name: "bank low" })).toBeTruthy();
        const link = screen.getByRole("link", { name: /fan.fuse is 5 A/ });
        expect(link.getAttribute("href")).toContain("#/hut/findings?at=");
        await fireEvent.click(screen.getByRole("button", { name: /The panel/ }));
        expect(location.hash).toBe("#/hut/diagram?at=panel");
    });

    it("shows why as a tree down to the row of a table", async () => {
        vi.spyOn(service, "why").mockResolvedValue([
            {
                path: "fan.rating",
                value: "10 A",
                step: "the next size above 8 A",
                pinnedOver: null,
                pinnedLine: null,
                isTold: false,
                leadsBack: false,
                inputs: [
                    {
                        path: "",
                        line: null,
                        what: "sizes",
                        value: "10 A",
                        origin: "table",
                        source: "a standard, table 2",
                        provenance: "memory",
                        why: null,
                    },
                ],
            },
        ]);
        walkTo("fan");
        render(OneLine);
        const button = await screen.findByRole("button", { name: /^Why/ });
        await fireEvent.click(button);
        expect(await screen.findByText("the next size above 8 A")).toBeTruthy();
        expect(screen.getByText(/a standard, table 2.*from memory/)).toBeTruthy();
        expect(button.getAttribute("aria-expanded")).toBe("true");
    });

    it("shows what a pin would do before it is set", async () => {
        const asked = vi.spyOn(service, "effect").mockResolvedValue({
            price: "+3",
            mass: "+0.1 kg",
            goes: [],
            comes: [{ severity: "warning", rule: "a", place: "fan", message: "the fuse is large" }],
        });
        const made: Change[] = [];
        vi.spyOn(service, "change").mockImplementation((_, change) => {
            made.push(change);
            return Promise.resolve(view({ number: 2 }));
        });
        walkTo("fan");
        render(OneLine);
        await fireEvent.click(await screen.findByRole("button", { name: /^Pin…/ }));
        const choice = await screen.findByLabelText("Pin Rating to");
        expect(asked).not.toHaveBeenCalled();
        await fireEvent.change(choice, { target: { value: "15 A" } });
        expect(await screen.findByText(/the fuse is large/)).toBeTruthy();
        expect(made).toEqual([]);
        const edits = [{ path: ["pins", "fan.rating"], value: "15 A" }];
        expect(asked).toHaveBeenCalledWith("hut", edits);
        await fireEvent.click(screen.getByRole("button", { name: "Pin" }));
        await vi.waitFor(() => expect(made[0]?.edits).toEqual(edits));
    });

    it("says so where the drawing has no such place", async () => {
        walkTo("gone");
        render(OneLine);
        expect(await screen.findByText(/no “gone” now/)).toBeTruthy();
        expect(service.place).not.toHaveBeenCalled();
    });
});

describe("the drawing", () => {
    it("stands apart from the page, and moves by key", async () => {
        render(OneLine);
        const frame = screen.getByRole("application");
        const sheet = frame.querySelector(".sheet");
        expect(sheet?.shadowRoot?.querySelector("svg")).toBeTruthy();
        expect(sheet?.shadowRoot?.querySelector("script")).toBeNull();
        expect(await fireEvent.keyDown(frame, { key: "+" })).toBe(false);
        expect(await fireEvent.keyDown(frame, { key: "x" })).toBe(true);
    });
});
