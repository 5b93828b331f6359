import type { Action } from "./action.ts";

export const back: Action = {
    id: "back",
    label: "Take back",
    sign: "←",
    keys: ["Ctrl+Z"],
    // A change under way can be taken back too: it stands in line before this.
    isPossible: (desk) => desk.busy > 0 || (desk.view?.back ?? null) !== null,
    perform: (desk) => desk.go("back"),
};
