import type { Action } from "./action.ts";

export const forward: Action = {
    id: "forward",
    label: "Do again",
    sign: "→",
    keys: ["Ctrl+Y", "Ctrl+Shift+Z"],
    // As with `back`: what is under way may be a step back.
    isPossible: (desk) => desk.busy > 0 || (desk.view?.forward ?? null) !== null,
    perform: (desk) => desk.go("forward"),
};
