// Talks to the service. Never: keeps state, decides what a fault means.
import type {
    Board,
    BoardMove,
    Build,
    Change,
    Clash,
    Comparison,
    Edit,
    Effect,
    Fault,
    FaultPlace,
    FaultStory,
    FieldGroup,
    Folder,
    Go,
    Mends,
    NewProject,
    NewVariant,
    NewWork,
    News,
    Paper,
    Part,
    PartHit,
    Place,
    ProjectCard,
    Question,
    ReadingTaken,
    State,
    Tick,
    View,
    Why,
    Work,
    WorkEvent,
} from "./api.d.ts";

/** The service refused, or could not be reached. */
export class Refused extends Error {
    readonly status: number;
    readonly fault: Fault;
    constructor(status: number, fault: Fault) {
        super(fault.message);
        this.status = status;
        this.fault = fault;
    }
}

/** The same value was changed on two sides. */
export class Clashed extends Error {
    readonly clash: Clash;
    constructor(clash: Clash) {
        super(clash.message);
        this.clash = clash;
    }
}

const unreachable: Fault = {
    message: "The program does not answer",
    mend: "See whether `wattwain open` still runs; nothing that was saved is lost",
    problems: [],
};

async function call<T>(method: "GET" | "POST" | "DELETE", path: string, body?: unknown): Promise<T> {
    let response: Response;
    try {
        response = await fetch(path, {
            method,
            ...(body === undefined
                ? {}
                : { headers: { "content-type": "application/json" }, body: JSON.stringify(body) }),
        });
    } catch {
        throw new Refused(0, unreachable);
    }
    if (response.ok) return (response.status === 204 ? undefined : await response.json()) as T;
    const said: unknown = await response.json().catch(() => null);
    if (response.status === 409) throw new Clashed(said as Clash);
    throw new Refused(
        response.status,
        isFault(said) ? said : { ...unreachable, message: `The program answered ${response.status}` },
    );
}

function isFault(said: unknown): said is Fault {
    return typeof said === "object" && said !== null && "message" in said && "mend" in said;
}

const query = (words: Record<string, string>) => new URLSearchParams(words).toString();
const project = (key: string) => `/api/projects/${encodeURIComponent(key)}`;

export const service = {
    folder: () => call<Folder>("GET", "/api/folder"),
    begin: (body: NewProject) => call<ProjectCard>("POST", "/api/projects", body),
    copy: (key: string, body: NewVariant) => call<ProjectCard>("POST", `${project(key)}/copy`, body),
    view: (key: string, parts: Part[]) =>
        call<View>("GET", `${project(key)}/view?${query({ with: parts.join(",") })}`),
    change: (key: string, body: Change) => call<View>("POST", `${project(key)}/changes`, body),
    go: (key: string, body: Go) => call<View>("POST", `${project(key)}/go`, body),
    states: (key: string) => call<State[]>("GET", `${project(key)}/states`),
    place: (key: string, id: string) => call<Place>("GET", `${project(key)}/place?${query({ id })}`),
    why: (key: string, path: string) => call<Why[]>("GET", `${project(key)}/why?${query({ path })}`),
    mends: (key: string, rule: string, place: string) =>
        call<Mends>("GET", `${project(key)}/mends?${query({ rule, place })}`),
    effect: (key: string, edits: Edit[]) => call<Effect>("POST", `${project(key)}/effect`, edits),
    questions: (key: string) => call<Question[]>("GET", `${project(key)}/questions`),
    faults: (key: string) => call<FaultPlace[]>("GET", `${project(key)}/faults`),
    fault: (key: string, at: string) => call<FaultStory>("GET", `${project(key)}/fault?${query({ at })}`),
    fields: (key: string, group: string) =>
        call<FieldGroup[]>("GET", `${project(key)}/fields?${query({ group })}`),
    board: (key: string) => call<Board>("GET", `${project(key)}/board`),
    boardMoved: (key: string, body: BoardMove) => call<Board>("POST", `${project(key)}/board/moved`, body),
    build: (key: string) => call<Build>("GET", `${project(key)}/build`),
    tick: (key: string, body: Tick) => call<Build>("POST", `${project(key)}/ticks`, body),
    reading: (key: string, body: ReadingTaken) => call<Build>("POST", `${project(key)}/readings`, body),
    papers: (key: string) => call<Paper[]>("GET", `${project(key)}/papers`),
    paper: (key: string, name: string) => `${project(key)}/papers/${encodeURIComponent(name)}`,
    compare: (left: string, right: string) =>
        call<Comparison>("GET", `/api/compare?${query({ left, right })}`),
    parts: (kind: string, words: string) => call<PartHit[]>("GET", `/api/parts?${query({ kind, words })}`),
    work: (key: string, body: NewWork) => call<Work>("POST", `${project(key)}/work`, body),
    stop: (id: number) => call<undefined>("DELETE", `/api/work/${id}`),
};

/** Follows work until it ends; the result stops listening. */
export function follow(id: number, told: (event: WorkEvent) => void): () => void {
    const source = new EventSource(`/api/work/${id}/events`);
    source.onmessage = (message: MessageEvent<string>) => {
        const event = JSON.parse(message.data) as WorkEvent;
        if (event.kind !== "progress") source.close();
        told(event);
    };
    return () => source.close();
}

/** Listens for what changes elsewhere. `linked` tells whether the program can be heard. */
export function listen(told: (news: News) => void, linked: (is: boolean) => void): () => void {
    const source = new EventSource("/api/news");
    source.onopen = () => linked(true);
    source.onerror = () => linked(false);
    source.onmessage = (message: MessageEvent<string>) => told(JSON.parse(message.data) as News);
    return () => source.close();
}
