// What a short circuit does, as roles of the places of the drawing. Never: decides what opens.
import type { FaultStory } from "../wire/api.d.ts";
import type { Role } from "./marks.ts";

/** The role of each place: what opens before the way that it stands in, the way before what goes dark. */
export function rolesOf(story: FaultStory | null): Map<string, Role> {
    const roles = new Map<string, Role>();
    if (!story) return roles;
    for (const dark of story.dark) roles.set(dark.id, "dark");
    for (const way of story.ways) for (const id of way.through) roles.set(id, "way");
    for (const way of story.ways) if (way.opens) roles.set(way.opens.id, "opens");
    return roles;
}
