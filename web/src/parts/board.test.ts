// Places on the board: worked out by hand.
import { expect, it } from "vitest";
import type { BoardDevice } from "../wire/api.d.ts";
import { line, nameIn, onGrid, turned } from "./board.ts";

const device: BoardDevice = {
    id: "house",
    title: "House panel",
    area: { xMm: 100, yMm: 200, widthMm: 80, heightMm: 40 },
    clear: { xMm: 90, yMm: 190, widthMm: 100, heightMm: 60 },
    turn: 270,
    isPinned: false,
    wrong: [],
};

it("keeps to the grid", () => {
    expect([onGrid(12.4, 5), onGrid(12.6, 5), onGrid(-3, 5)]).toEqual([10, 15, 0]);
});

it("turns about the middle", () => {
    // Middle 140, 220; turned it is 40 wide and 80 high, so its corner is 120, 180.
    expect(turned(device, null)).toEqual({ xMm: 120, yMm: 180, turn: 0 });
    expect(turned(device, { xMm: 0, yMm: 0, turn: 90 })).toEqual({ xMm: 20, yMm: 0, turn: 180 });
});

it("draws upwards", () => {
    expect(
        line(
            [
                [0, 0],
                [10, 30],
            ],
            100,
        ),
    ).toBe("0,100 10,70");
});

it("writes a name where it fits", () => {
    expect(nameIn(device, 3, 5)).toBe("3 house");
    expect(nameIn(device, 3, 20)).toBe("3");
});
