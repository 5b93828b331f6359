import type { Action } from "./action.ts";

export const forward: Action = {
    id: "forward",
    label: "Do again",
    sign: "→",
    keys: ["Ctrl+Y", "Ctrl+Shift+Z"],
    isPossible: (desk) => (desk.view?.forward ?? null) !== null,
    perform: (desk) => desk.go("forward"),
};
