// Where the eye stands over a drawing: scale and offset, as numbers. Never: touches the page; all lengths are pixels of the frame
// or units of the sheet, as the name says.

/** A point of the sheet at `u` stands at `x + u * scale` of the frame. */
export interface Look {
    /** Pixels of the frame for a unit of the sheet. */
    scale: number;
    /** The sheet's left edge in the frame [px]. */
    x: number;
    /** The sheet's upper edge in the frame [px]. */
    y: number;
}

export interface Size {
    w: number;
    h: number;
}

export interface Spot {
    x: number;
    y: number;
}

export interface Box extends Spot, Size {}

/** How much larger than fitted the sheet may get, and how much smaller. */
const MOST = 40;
const LEAST = 0.5;
/** Pixels of the sheet that stay in the frame, so that it is never lost. */
const HELD = 48;
/** A step of a key or a button. */
export const STEP = 1.3;

/** The whole sheet in the middle of the frame. */
export function fit(sheet: Size, frame: Size, margin = 8): Look {
    const room = { w: Math.max(frame.w - 2 * margin, 1), h: Math.max(frame.h - 2 * margin, 1) };
    const scale = Math.min(room.w / sheet.w, room.h / sheet.h);
    return { scale, x: (frame.w - sheet.w * scale) / 2, y: (frame.h - sheet.h * scale) / 2 };
}

/** Keeps the scale within reason and a piece of the sheet in the frame. */
export function hold(look: Look, sheet: Size, frame: Size): Look {
    const fitted = fit(sheet, frame).scale;
    const scale = Math.min(Math.max(look.scale, fitted * LEAST), fitted * MOST);
    const within = (at: number, long: number, room: number) =>
        Math.min(Math.max(at, HELD - long * scale), room - HELD);
    return { scale, x: within(look.x, sheet.w, frame.w), y: within(look.y, sheet.h, frame.h) };
}

/** Enlarges by `factor`; the point of the sheet under `at` [px of the frame] stays there. */
export function zoom(look: Look, factor: number, at: Spot): Look {
    return {
        scale: look.scale * factor,
        x: at.x - (at.x - look.x) * factor,
        y: at.y - (at.y - look.y) * factor,
    };
}

/** Moves the sheet [px]. */
export function pan(look: Look, dx: number, dy: number): Look {
    return { ...look, x: look.x + dx, y: look.y + dy };
}

/** Two fingers moved: what was under each stays under it, as far as that can be without turning. */
export function pinch(look: Look, was: [Spot, Spot], is: [Spot, Spot]): Look {
    const apart = ([a, b]: [Spot, Spot]) => Math.max(Math.hypot(a.x - b.x, a.y - b.y), 1);
    const middle = ([a, b]: [Spot, Spot]): Spot => ({ x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 });
    const from = middle(was);
    const to = middle(is);
    return pan(zoom(look, apart(is) / apart(was), from), to.x - from.x, to.y - from.y);
}

/** The point of the sheet under a point of the frame. */
export function onSheet(look: Look, at: Spot): Spot {
    return { x: (at.x - look.x) / look.scale, y: (at.y - look.y) / look.scale };
}

/**
 * Brings a box of the sheet into the frame: not at all where it is seen well already, else its middle to the frame's, at least
 * `legible` pixels a unit, but no larger than the whole box can be seen.
 */
export function reveal(look: Look, box: Box, frame: Size, legible: number): Look {
    const margin = 16;
    const most = Math.min(
        (frame.w - 2 * margin) / Math.max(box.w, 1),
        (frame.h - 2 * margin) / Math.max(box.h, 1),
    );
    const scale = Math.min(Math.max(look.scale, legible), Math.max(most, 0.01));
    const left = look.x + box.x * look.scale;
    const top = look.y + box.y * look.scale;
    const isSeen =
        left >= margin &&
        top >= margin &&
        left + box.w * look.scale <= frame.w - margin &&
        top + box.h * look.scale <= frame.h - margin;
    if (isSeen && scale <= look.scale) return look;
    return {
        scale,
        x: frame.w / 2 - (box.x + box.w / 2) * scale,
        y: frame.h / 2 - (box.y + box.h / 2) * scale,
    };
}
