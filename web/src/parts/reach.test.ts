import { describe, expect, it } from "vitest";
import { around, corners, distance, hatch, join, nearest, type Shape } from "./reach.ts";
import { readSheet } from "./sheet.ts";
import { SVG } from "../testing/sample.ts";

const wire = (id: string, d: string): Shape => {
    const points = corners(d);
    return { ids: [id], isLine: true, points, box: around(points) };
};
const device = (id: string, x: number, y: number, w: number, h: number): Shape => ({
    ids: [id],
    isLine: false,
    points: [],
    box: { x, y, w, h },
});

describe("what a finger meant", () => {
    it("reads the corners of a line", () => {
        expect(corners("M10 10.5L30 10.5L30 -20")).toEqual([
            { x: 10, y: 10.5 },
            { x: 30, y: 10.5 },
            { x: 30, y: -20 },
        ]);
    });

    it("measures to a box and along strokes", () => {
        expect(distance(device("a", 0, 0, 10, 10), { x: 5, y: 5 })).toBe(0);
        expect(distance(device("a", 0, 0, 10, 10), { x: 13, y: 14 })).toBe(5);
        const bent = wire("w", "M0 0L10 0L10 10");
        expect(distance(bent, { x: 5, y: 2 })).toBe(2);
        expect(distance(bent, { x: 13, y: 5 })).toBe(3);
        expect(distance(bent, { x: 13, y: 14 })).toBe(5);
    });

    it("takes the nearest within reach, and the smaller of two that are hit", () => {
        const shapes = [
            device("panel", 0, 0, 40, 40),
            device("breaker", 10, 10, 4, 4),
            wire("w", "M50 0L50 40"),
        ];
        expect(nearest(shapes, { x: 12, y: 12 }, 5)?.ids).toEqual(["breaker"]);
        expect(nearest(shapes, { x: 47, y: 20 }, 5)?.ids).toEqual(["w"]);
        expect(nearest(shapes, { x: 80, y: 20 }, 5)).toBeNull();
    });

    it("joins boxes, and hatches within them", () => {
        const box = join([
            { x: 0, y: 0, w: 1, h: 1 },
            { x: 4, y: 2, w: 2, h: 2 },
        ]);
        expect(box).toEqual({ x: 0, y: 0, w: 6, h: 4 });
        expect(join([])).toBeNull();
        for (const point of corners(hatch({ x: 2, y: 3, w: 6, h: 4 }, 1.5))) {
            expect(point.x).toBeGreaterThanOrEqual(2);
            expect(point.x).toBeLessThanOrEqual(8);
            expect(point.y).toBeGreaterThanOrEqual(3);
            expect(point.y).toBeLessThanOrEqual(7);
        }
    });
});

describe("a drawing of the service", () => {
    it("comes without script and without a style of the page", () => {
        const sheet = readSheet(SVG);
        expect(sheet?.size).toEqual({ w: 100, h: 50 });
        expect(sheet?.style).toContain("'DejaVu Sans'");
        expect(sheet?.node.querySelector("style, script")).toBeNull();
    });

    it("is none where the text is none", () => {
        expect(readSheet("")).toBeNull();
        expect(readSheet("<p>no</p>")).toBeNull();
        expect(readSheet('<svg xmlns="http://www.w3.org/2000/svg"/>')).toBeNull();
    });
});
