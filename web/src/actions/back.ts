import type { Action } from "./action.ts";

export const back: Action = {
    id: "back",
    label: "Take back",
    keys: ["Ctrl+Z"],
    isPossible: (desk) => (desk.view?.back ?? null) !== null,
    perform: (desk) => desk.go("back"),
};
