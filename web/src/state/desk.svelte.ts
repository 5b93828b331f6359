// The project that is open: what it looks like now, and changes in their order. Never: computes a number.
import type { ClashValue, Edit, Fault, Figure, Folder, News, Part, View } from "../wire/api.d.ts";
import { Clashed, Refused, listen, service } from "../wire/client.ts";

/** A change that met another one. */
export interface Meeting {
    message: string;
    values: ClashValue[];
    label: string;
    edits: Edit[];
}

/** A word at the foot of the page. */
export interface Notice {
    text: string;
    mend: string;
    grave: boolean;
}

export class Desk {
    folder = $state.raw<Folder | null>(null);
    view = $state.raw<View | null>(null);
    /** Figures before the last change, by id, so that the page can show which way they moved. */
    before = $state.raw<Record<string, Figure>>({});
    meeting = $state.raw<Meeting | null>(null);
    notice = $state.raw<Notice | null>(null);
    isLinked = $state(true);
    /** Changes under way. */
    busy = $state(0);
    /** Parts that the sheets on show need. */
    #parts: Part[] = [];
    #key: string | null = null;
    /** Requests that change something, one after the other. */
    #line: Promise<unknown> = Promise.resolve();
    /** Grows with every change that is saved, so that the answer of a trial before it is dropped. */
    #trial = 0;
    #next: { label: string; edits: Edit[] } | null = null;
    #isTrying = false;

    /** Loads the folder. */
    async openFolder(): Promise<void> {
        await this.#told(async () => {
            this.folder = await service.folder();
        });
    }

    /** Opens a project, or asks for more of it. */
    async open(key: string, parts: Part[]): Promise<void> {
        if (key !== this.#key) {
            this.view = null;
            this.before = {};
            this.meeting = null;
        }
        this.#key = key;
        this.#parts = parts;
        await this.#told(async () => this.#take(await service.view(key, parts), false));
    }

    close(): void {
        this.#key = null;
        this.view = null;
    }

    /** Makes a change, after those before it. Resolves to whether it was made. */
    change(label: string, edits: Edit[], over = false): Promise<boolean> {
        this.#trial += 1;
        this.#next = null;
        return this.#queue(async (key) => {
            const base = this.view?.number ?? 0;
            try {
                this.#take(
                    await service.change(key, { base, label, edits, with: this.#parts, over, dry: false }),
                    true,
                );
                return true;
            } catch (error) {
                if (!(error instanceof Clashed)) throw error;
                this.meeting = { message: error.clash.message, values: error.clash.values, label, edits };
                this.#take(error.clash.view, false);
                return false;
            }
        });
    }

    /** Shows what a change would do, for a slider while it moves. Nothing is saved; the newest wins, and only one is under way. */
    async attempt(label: string, edits: Edit[]): Promise<void> {
        this.#next = { label, edits };
        if (this.#isTrying) return;
        this.#isTrying = true;
        while (this.#next) {
            const { label, edits }: { label: string; edits: Edit[] } = this.#next;
            this.#next = null;
            const key = this.#key;
            if (key === null) break;
            const trial = this.#trial;
            const base = this.view?.number ?? 0;
            await this.#told(async () => {
                const view = await service.change(key, {
                    base,
                    label,
                    edits,
                    with: this.#parts,
                    over: false,
                    dry: true,
                });
                if (trial === this.#trial && key === this.#key) this.#take(view, true);
            });
        }
        this.#isTrying = false;
    }

    /** Back, forward, or to a state. */
    go(to: "back" | "forward" | "state", number?: number): Promise<boolean> {
        return this.#queue(async (key) => {
            this.#take(await service.go(key, { to, number: number ?? null, with: this.#parts }), true);
            return true;
        });
    }

    /** Settles a meeting: the person's own value, or what stands. */
    async settle(own: boolean): Promise<void> {
        const meeting = this.meeting;
        this.meeting = null;
        if (meeting && own) await this.change(meeting.label, meeting.edits, true);
    }

    /** Asks something of the project that is open; `null` where it was refused, which is then said. */
    async ask<T>(act: (key: string) => Promise<T>): Promise<T | null> {
        const key = this.#key;
        let answer: T | null = null;
        if (key !== null) {
            await this.#told(async () => {
                answer = await act(key);
            });
        }
        return answer;
    }

    say(text: string, mend = "", grave = false): void {
        this.notice = { text, mend, grave };
    }

    /** Listens to what changes elsewhere; the result stops it. */
    listen(): () => void {
        return listen(
            (news) => void this.#heard(news),
            (is) => {
                const again = is && !this.isLinked;
                this.isLinked = is;
                if (again && this.#key !== null) void this.open(this.#key, this.#parts);
            },
        );
    }

    async #heard(news: News): Promise<void> {
        // A state that is shown already needs no asking; but parts or weather changed in an editor leave the number as it is.
        const isShown = news.number === this.view?.number && news.by === "page";
        if (news.key !== this.#key || this.busy > 0 || isShown) return;
        if (news.by === "editor") this.say(news.label);
        await this.open(news.key, this.#parts);
    }

    #queue(act: (key: string) => Promise<boolean>): Promise<boolean> {
        const key = this.#key;
        if (key === null) return Promise.resolve(false);
        this.busy += 1;
        const mine = this.#line.then(async () => {
            let done = false;
            await this.#told(async () => {
                done = await act(key);
            });
            this.busy -= 1;
            return done;
        });
        this.#line = mine;
        return mine;
    }

    #take(view: View, keepsBefore: boolean): void {
        if (view.key !== this.#key) return;
        // While a slider moves, what is compared with is the state that was saved last.
        if (keepsBefore && this.view && !this.view.isTrial) {
            this.before = Object.fromEntries(this.view.figures.map((figure) => [figure.id, figure]));
        }
        this.view = view;
    }

    async #told(act: () => Promise<void>): Promise<void> {
        try {
            await act();
        } catch (error) {
            if (!(error instanceof Refused)) throw error;
            const fault: Fault = error.fault;
            const where = fault.problems.map(
                (problem) => `${problem.file}:${problem.line}: ${problem.message}`,
            );
            this.say([fault.message, ...where].join("\n"), fault.mend, true);
        }
    }
}

export const desk = new Desk();
