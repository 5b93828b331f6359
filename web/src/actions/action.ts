// What an action is. Button, key and list of actions read the same record. Never: draws.
import type { Desk } from "../state/desk.svelte.ts";

export interface Action {
    /** Its name in code: the file's. */
    id: string;
    /** What a button says. */
    label: string;
    /** What stands on a button where there is no room for words; the label is then its name. */
    sign: string;
    /** Keys, as shown: `Ctrl+Z`. */
    keys: string[];
    /** Whether it can be done now. */
    isPossible: (desk: Desk) => boolean;
    perform: (desk: Desk) => Promise<unknown>;
}

/** Whether a key press is one of an action's keys. */
export function isPressed(action: Action, event: KeyboardEvent): boolean {
    const pressed = [
        event.ctrlKey || event.metaKey ? "Ctrl" : "",
        event.altKey ? "Alt" : "",
        event.shiftKey ? "Shift" : "",
        event.key.length === 1 ? event.key.toUpperCase() : event.key,
    ]
        .filter((word) => word !== "")
        .join("+");
    return action.keys.includes(pressed);
}
