import { describe, expect, it } from "vitest";
import { fit, hold, onSheet, pan, pinch, reveal, zoom, type Look } from "./look.ts";

const sheet = { w: 420, h: 297 };
const frame = { w: 800, h: 600 };
const look: Look = { scale: 2, x: -30, y: 40 };

describe("the eye over a drawing", () => {
    it("fits the whole sheet in the middle of the frame", () => {
        const fitted = fit(sheet, frame, 0);
        expect(fitted.scale).toBeCloseTo(800 / 420);
        expect(fitted.x).toBeCloseTo(0);
        expect(fitted.y).toBeCloseTo((600 - (297 * 800) / 420) / 2);
    });

    it("keeps what is under the pointer when it enlarges", () => {
        const at = { x: 123, y: 456 };
        const before = onSheet(look, at);
        const after = onSheet(zoom(look, 1.7, at), at);
        expect(after.x).toBeCloseTo(before.x);
        expect(after.y).toBeCloseTo(before.y);
    });

    it("keeps what is under both fingers when they part without turning", () => {
        const was: [{ x: number; y: number }, { x: number; y: number }] = [
            { x: 100, y: 100 },
            { x: 200, y: 100 },
        ];
        const is: typeof was = [
            { x: 80, y: 150 },
            { x: 280, y: 150 },
        ];
        const next = pinch(look, was, is);
        expect(next.scale).toBeCloseTo(4);
        for (const finger of [0, 1] as const) {
            const under = onSheet(look, was[finger]);
            expect(onSheet(next, is[finger]).x).toBeCloseTo(under.x);
            expect(onSheet(next, is[finger]).y).toBeCloseTo(under.y);
        }
    });

    it("does not divide by nothing when both fingers meet", () => {
        const point = { x: 5, y: 5 };
        const next = pinch(look, [point, point], [point, point]);
        expect(next).toEqual(look);
    });

    it("never loses the sheet nor its scale", () => {
        const away = hold(pan(look, 1e6, -1e6), sheet, frame);
        expect(away.x).toBeLessThan(frame.w);
        expect(away.y + sheet.h * away.scale).toBeGreaterThan(0);
        const fitted = fit(sheet, frame).scale;
        expect(hold({ ...look, scale: 1e9 }, sheet, frame).scale).toBeCloseTo(fitted * 40);
        expect(hold({ ...look, scale: 0 }, sheet, frame).scale).toBeCloseTo(fitted / 2);
    });

    it("moves only when what is sought is out of sight or too small", () => {
        expect(reveal(look, { x: 100, y: 100, w: 20, h: 10 }, frame, 1)).toBe(look);
        const far = reveal(look, { x: 400, y: 280, w: 10, h: 10 }, frame, 1);
        expect(far.x + 405 * far.scale).toBeCloseTo(frame.w / 2);
        expect(far.y + 285 * far.scale).toBeCloseTo(frame.h / 2);
        expect(reveal(look, { x: 100, y: 100, w: 20, h: 10 }, frame, 5).scale).toBe(5);
        const wide = reveal(look, { x: 0, y: 0, w: 420, h: 10 }, frame, 5);
        expect(wide.x).toBeGreaterThanOrEqual(0);
        expect(wide.x + 420 * wide.scale).toBeLessThanOrEqual(frame.w);
    });
});
