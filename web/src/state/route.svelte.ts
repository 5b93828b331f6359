// Which sheet of which project is shown: the part of the address after `#`. Never: loads anything.
export const SHEETS = [
    "brief",
    "loads",
    "diagram",
    "findings",
    "energy",
    "faults",
    "board",
    "build",
    "papers",
    "compare",
    "states",
] as const;
export type SheetId = (typeof SHEETS)[number];

/** Where the page is: `#/heron/diagram?at=fridge`; without a project, the folder. */
export class Route {
    key = $state<string | null>(null);
    sheet = $state<SheetId>("brief");
    words = $state<Record<string, string>>({});

    read(hash: string): void {
        const [path = "", query = ""] = hash.replace(/^#\/?/, "").split("?");
        const [key, sheet] = path.split("/").map(decodeURIComponent);
        this.key = key ? key : null;
        this.sheet = SHEETS.find((known) => known === sheet) ?? "brief";
        this.words = Object.fromEntries(new URLSearchParams(query));
    }
}

/** The address of a sheet. */
export function address(key: string, sheet: SheetId, words: Record<string, string> = {}): string {
    const query = new URLSearchParams(words).toString();
    return `#/${encodeURIComponent(key)}/${sheet}${query ? `?${query}` : ""}`;
}

export const route = new Route();

/** Goes to a sheet. */
export function show(key: string, sheet: SheetId, words: Record<string, string> = {}): void {
    location.hash = address(key, sheet, words);
}
