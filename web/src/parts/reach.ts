// What a finger meant: the nearest device or line, so that a glove need not hit a hair. Never: touches the page.
import type { Box, Spot } from "./look.ts";

/** Something on the sheet that can be chosen. */
export interface Shape {
    /** Device or conductor ids; a line drawn once may stand for two conductors. */
    ids: string[];
    isLine: boolean;
    /** Its box, in units of the sheet. */
    box: Box;
    /** The corners of a line. */
    points: Spot[];
}

/** The corners of a path of straight strokes: `M1 2L3 4`. */
export function corners(d: string): Spot[] {
    const numbers = (d.match(/-?\d+(?:\.\d+)?/g) ?? []).map(Number);
    const points: Spot[] = [];
    for (let at = 0; at + 1 < numbers.length; at += 2) {
        points.push({ x: numbers[at] ?? 0, y: numbers[at + 1] ?? 0 });
    }
    return points;
}

/** The box around points. */
export function around(points: Spot[]): Box {
    const xs = points.map((point) => point.x);
    const ys = points.map((point) => point.y);
    const [x, y] = [Math.min(...xs), Math.min(...ys)];
    return { x, y, w: Math.max(...xs) - x, h: Math.max(...ys) - y };
}

/** The box around boxes; `null` of none. */
export function join(boxes: Box[]): Box | null {
    if (boxes.length === 0) return null;
    return around(
        boxes.flatMap((box) => [
            { x: box.x, y: box.y },
            { x: box.x + box.w, y: box.y + box.h },
        ]),
    );
}

/** How far a spot is from a shape, in units of the sheet; 0 inside. */
export function distance(shape: Shape, at: Spot): number {
    if (!shape.isLine) {
        const { x, y, w, h } = shape.box;
        return Math.hypot(Math.max(x - at.x, 0, at.x - x - w), Math.max(y - at.y, 0, at.y - y - h));
    }
    let least = Infinity;
    for (let index = 0; index + 1 < shape.points.length; index += 1) {
        const [a, b] = [shape.points[index], shape.points[index + 1]];
        if (a && b) least = Math.min(least, fromStroke(a, b, at));
    }
    return least;
}

function fromStroke(a: Spot, b: Spot, at: Spot): number {
    const [dx, dy] = [b.x - a.x, b.y - a.y];
    const long = dx * dx + dy * dy;
    const share = long === 0 ? 0 : Math.min(Math.max(((at.x - a.x) * dx + (at.y - a.y) * dy) / long, 0), 1);
    return Math.hypot(at.x - a.x - share * dx, at.y - a.y - share * dy);
}

/** The shape nearest to a spot within `reach`; of two as near, the smaller, since the larger is easy to hit elsewhere. */
export function nearest(shapes: Shape[], at: Spot, reach: number): Shape | null {
    let best: { shape: Shape; far: number; large: number } | null = null;
    for (const shape of shapes) {
        const far = distance(shape, at);
        if (far > reach) continue;
        const large = shape.box.w + shape.box.h;
        if (!best || far < best.far || (far === best.far && large < best.large)) best = { shape, far, large };
    }
    return best?.shape ?? null;
}

/** Slanting strokes over a box, as a path. */
export function hatch(box: Box, apart: number): string {
    const { x, y, w, h } = box;
    let d = "";
    for (let at = apart; at < w + h; at += apart) {
        const from = { x: x + Math.max(at - h, 0), y: y + Math.min(at, h) };
        const to = { x: x + Math.min(at, w), y: y + Math.max(at - w, 0) };
        d += `M${from.x.toFixed(2)} ${from.y.toFixed(2)}L${to.x.toFixed(2)} ${to.y.toFixed(2)}`;
    }
    return d;
}
