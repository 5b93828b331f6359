// Every action, one list.
import type { Action } from "./action.ts";
import { back } from "./back.ts";
import { forward } from "./forward.ts";

export const actions: Action[] = [back, forward];
