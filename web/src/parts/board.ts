// Places on the mounting board between screen and millimetres. Never: judges a place; the service does.
import type { BoardDevice } from "../wire/api.d.ts";

/** Where a device is tried: lower left corner as turned. */
export interface Spot {
    xMm: number;
    yMm: number;
    turn: number;
}

/** The nearest step of the grid; a place on the board is not left of it or below it. */
export function onGrid(millimetres: number, step: number): number {
    return Math.max(0, Math.round(millimetres / step) * step);
}

/** A quarter turn about the middle, so that a device does not jump away; the corner stays on whole millimetres. */
export function turned(device: BoardDevice, spot: Spot | null): Spot {
    const { xMm, yMm, widthMm, heightMm } = device.area;
    const from = spot ?? { xMm, yMm, turn: device.turn };
    // `device` may still be told as it was before the last try; its middle is taken from where it is told.
    const off = Math.trunc((widthMm - heightMm) / 2 / 5) * 5;
    return {
        xMm: Math.max(0, from.xMm + off),
        yMm: Math.max(0, from.yMm - off),
        turn: (from.turn + 90) % 360,
    };
}

/** Points of a line as SVG wants them, the y axis turned to point down. */
export function line(points: number[][], heightMm: number): string {
    return points.map(([x = 0, y = 0]) => `${x},${heightMm - y}`).join(" ");
}

/** What fits into a width, else the number: names are in the list too. */
export function nameIn(device: BoardDevice, number: number, letterMm: number): string {
    const own = `${number} ${device.id}`;
    return own.length * letterMm < device.area.widthMm ? own : String(number);
}
