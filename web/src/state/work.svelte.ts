// Long work: started, followed, stopped. Never: outlives the sheet that started it.
import type { NewWork, SizesOutcome, WorkEvent, YearsOutcome } from "../wire/api.d.ts";
import { Refused, follow, service } from "../wire/client.ts";

export class LongWork {
    isRunning = $state(false);
    done = $state(0);
    of = $state(0);
    what = $state("");
    leftS = $state<number | null>(null);
    fault = $state("");
    years = $state.raw<YearsOutcome | null>(null);
    sizes = $state.raw<SizesOutcome | null>(null);
    /** State of the project that the outcome belongs to. */
    number = $state(0);
    #id: number | null = null;
    #unfollow: (() => void) | null = null;

    async start(key: string, work: NewWork): Promise<void> {
        await this.stop();
        this.isRunning = true;
        this.done = 0;
        this.of = 0;
        this.fault = "";
        try {
            const started = await service.work(key, work);
            this.#id = started.id;
            this.number = started.number;
            this.#unfollow = follow(started.id, (event) => this.#told(event));
        } catch (error) {
            this.isRunning = false;
            if (!(error instanceof Refused)) throw error;
            this.fault = `${error.fault.message}. ${error.fault.mend}`;
        }
    }

    async stop(): Promise<void> {
        this.#unfollow?.();
        this.#unfollow = null;
        const id = this.#id;
        this.#id = null;
        this.isRunning = false;
        // Work that has just ended cannot be stopped; that is as good.
        if (id !== null) await service.stop(id).catch(() => undefined);
    }

    #told(event: WorkEvent): void {
        if (event.kind === "progress") {
            this.done = event.done;
            this.of = event.of;
            this.what = event.what;
            this.leftS = event.leftS ?? null;
            return;
        }
        this.#id = null;
        this.isRunning = false;
        if (event.kind === "years") this.years = event.outcome;
        if (event.kind === "sizes") this.sizes = event.outcome;
        if (event.kind === "failed") this.fault = `${event.fault.message}. ${event.fault.mend}`;
    }
}
