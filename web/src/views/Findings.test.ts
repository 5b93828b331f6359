import { cleanup, fireEvent, render, screen, within } from "@testing-library/svelte";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { desk } from "../state/desk.svelte.ts";
import { route } from "../state/route.svelte.ts";
import { finding, open, view } from "../testing/sample.ts";
import type { Change } from "../wire/api.d.ts";
import { service } from "../wire/client.ts";
import Findings from "./Findings.svelte";

const warning = finding({
    rule: "w",
    severity: "warning",
    title: "a warning",
    message: "late",
    place: "fan",
});
const before = view({ findings: [finding(), warning] });

beforeEach(() => route.read("#/hut/findings"));
afterEach(() => {
    cleanup();
    vi.restoreAllMocks();
});

const card = (name: RegExp) => within(screen.getByRole("article", { name }));

/** Takes changes as the service would, and shows `after`. */
function taking(after = before) {
    const made: Change[] = [];
    vi.spyOn(service, "change").mockImplementation((_, change) => {
        made.push(change);
        return Promise.resolve({ ...after, number: 2 });
    });
    return made;
}

describe("findings", () => {
    it("stand in the order in which they came, with shape, word and links", async () => {
        await open(before);
        render(Findings);
        const names = screen.getAllByRole("article").map((one) => one.getAttribute("aria-label"));
        expect(names).toEqual(["Danger: a fuse is too small for its load", "Warning: a warning"]);
        const danger = card(/^Danger/);
        expect(danger.getByRole("img", { name: "danger" })).toBeTruthy();
        expect(danger.getByRole("link", { name: /On the drawing/ }).getAttribute("href")).toBe(
            "#/hut/diagram?at=fan.fuse",
        );
        expect(danger.getByText("8 A = 96 W / 12 V")).toBeTruthy();
        expect(screen.getByRole("status").textContent).toContain("1 danger stands open");
    });

    it("hide by severity, but never the one that an address seeks", async () => {
        await open(before);
        render(Findings);
        await fireEvent.click(screen.getByRole("button", { name: /Warning/ }));
        expect(screen.getAllByRole("article")).toHaveLength(1);
        route.read("#/hut/findings?at=w%40fan");
        await vi.waitFor(() => expect(screen.getAllByRole("article")).toHaveLength(2));
        expect(document.activeElement?.getAttribute("aria-label")).toBe("Warning: a warning");
    });

    it("show what a mend does before it is applied", async () => {
        await open(before);
        const edits = [{ path: ["pins", "fan.fuse.rating"], value: null }];
        vi.spyOn(service, "mends").mockResolvedValue({
            tried: {
                what: "take the pin away",
                edits,
                written: ['- "fan.fuse.rating" = "5 A"'],
                effect: {
                    price: "+2",
                    mass: "0 kg",
                    goes: [{ severity: "danger", rule: "a", place: "b", message: "fan.fuse is 5 A" }],
                    comes: [],
                },
            },
            byHand: [],
        });
        const made = taking(view({ findings: [warning] }));
        render(Findings);
        await fireEvent.click(card(/^Danger/).getByRole("button", { name: /Try a mend/ }));
        const offer = within(await screen.findByRole("group", { name: "A mend" }));
        expect(offer.getByText("+2")).toBeTruthy();
        expect(offer.getByText(/fan.fuse is 5 A/)).toBeTruthy();
        expect(made).toEqual([]);
        await fireEvent.click(offer.getByRole("button", { name: "Apply" }));
        await vi.waitFor(() => expect(screen.getAllByRole("article")).toHaveLength(1));
        expect(made[0]?.edits).toEqual(edits);
        expect(made[0]?.base).toBe(1);
        await vi.waitFor(() => expect(document.activeElement?.textContent).toBe("Findings"));
    });

    it("say so where no mend works", async () => {
        await open(before);
        vi.spyOn(service, "mends").mockResolvedValue({ tried: null, byHand: ["ask an electrician"] });
        render(Findings);
        await fireEvent.click(card(/^Danger/).getByRole("button", { name: /Try a mend/ }));
        expect(await screen.findByText(/None of the known changes/)).toBeTruthy();
        expect(screen.getByText("ask an electrician")).toBeTruthy();
    });

    it("let a danger be answered with a sentence only", async () => {
        await open(before);
        const made = taking(view({ findings: [finding({ answered: "It is only used ashore." }), warning] }));
        render(Findings);
        expect(card(/^Warning/).queryByRole("button", { name: /reason/ })).toBeNull();
        await fireEvent.click(card(/^Danger/).getByRole("button", { name: /Answer with a reason/ }));
        const reason = await screen.findByLabelText(/Why this danger is accepted/);
        expect(document.activeElement).toBe(reason);
        await fireEvent.input(reason, { target: { value: "fine" } });
        await fireEvent.submit(reason.closest("form") as HTMLFormElement);
        expect(screen.getByText(/whole sentence/)).toBeTruthy();
        expect(made).toEqual([]);
        await fireEvent.input(reason, { target: { value: "It is only used ashore." } });
        await fireEvent.submit(reason.closest("form") as HTMLFormElement);
        expect(await screen.findByText("It is only used ashore.")).toBeTruthy();
        expect(made[0]?.edits[0]?.path[0]).toBe(
            'answers[rule = "fuse-too-small-for-load", place = "fan.fuse"]',
        );
        expect(screen.getByRole("status").textContent).toContain("no danger stands open");
        expect(screen.getAllByRole("article")).toHaveLength(2);
    });

    it("let an answer be withdrawn", async () => {
        await open(view({ findings: [finding({ answered: "It is only used ashore." })] }));
        const made = taking(view({ findings: [finding()] }));
        render(Findings);
        await fireEvent.click(screen.getByRole("button", { name: "Withdraw the reason" }));
        await vi.waitFor(() => expect(screen.queryByText("It is only used ashore.")).toBeNull());
        expect(made[0]?.edits[0]?.value).toBeNull();
    });

    it("put refusals and ways out on top", async () => {
        const edits = [{ path: ["bank", "count"], value: "2" }];
        await open(
            view({
                refusals: [{ what: "The bank is too small", numbers: "2 kWh of 3 kWh", intent: "bank" }],
                waysOut: [{ title: "Two batteries", outcome: "nothing refused", edits }],
            }),
        );
        const made = taking();
        render(Findings);
        await fireEvent.click(screen.getByRole("button", { name: /Apply/ }));
        await vi.waitFor(() => expect(made[0]?.edits).toEqual(edits));
        await vi.waitFor(() => expect(desk.notice?.text).toContain("Two batteries"));
    });
});
