// Ticks and readings of the build, as they stand in the project's files. Never: judges a reading.
import type { Build } from "../wire/api.d.ts";
import { Refused, service } from "../wire/client.ts";
import { desk } from "./desk.svelte.ts";

export class Bench {
    build = $state.raw<Build | null>(null);
    #key = "";
    #line: Promise<unknown> = Promise.resolve();
    /** Ticks on their way, so that a box answers at once. */
    waiting = $state.raw<Record<string, boolean>>({});

    async open(key: string): Promise<void> {
        this.#key = key;
        await this.#told(async () => {
            const build = await service.build(key);
            if (key === this.#key) this.build = build;
        });
    }

    isTicked(id: string): boolean {
        return this.waiting[id] ?? this.build?.ticked.includes(id) ?? false;
    }

    tick(id: string, done: boolean): Promise<void> {
        this.waiting = { ...this.waiting, [id]: done };
        return this.#queue(async () => {
            try {
                this.build = await service.tick(this.#key, { id, done });
            } finally {
                this.waiting = Object.fromEntries(
                    Object.entries(this.waiting).filter(([known]) => known !== id),
                );
            }
        });
    }

    read(id: string, value: string | null, note: string | null): Promise<void> {
        return this.#queue(async () => {
            this.build = await service.reading(this.#key, { id, value, note });
        });
    }

    #queue(act: () => Promise<void>): Promise<void> {
        const mine = this.#line.then(() => this.#told(act));
        this.#line = mine;
        return mine;
    }

    async #told(act: () => Promise<void>): Promise<void> {
        try {
            await act();
        } catch (error) {
            if (!(error instanceof Refused)) throw error;
            const where = error.fault.problems.map(
                (problem) => `${problem.file}:${problem.line}: ${problem.message}`,
            );
            desk.say([error.fault.message, ...where].join("\n"), error.fault.mend, true);
        }
    }
}
