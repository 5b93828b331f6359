// Keeps what is ticked and read in this browser, and takes it out and in as a small file.
// Never: asks anything of a network; puts a text into the page as markup.
"use strict";
(() => {
    const list = document.querySelector("main");
    const project = list.dataset.project;
    const digest = list.dataset.list;
    const ours = `checklist/${project}/`;
    const key = ours + digest;
    const FORMAT = "checklist 1";
    const MOST_BYTES = 1_000_000;
    const MOST_LETTERS = 60;
    const ticks = [...document.querySelectorAll("input[data-tick]")];
    const readings = [...document.querySelectorAll("input[data-reading]")];
    const said = document.getElementById("said");
    const plural = (count, noun) => `${count} ${noun}${count === 1 ? "" : "s"}`;

    const say = (text) => {
        said.textContent = text;
    };

    const state = () => ({
        format: FORMAT,
        project,
        list: digest,
        ticks: ticks.filter((box) => box.checked).map((box) => box.dataset.tick),
        readings: Object.fromEntries(
            readings.filter((field) => field.value !== "").map((field) => [field.dataset.reading, field.value]),
        ),
    });

    const isState = (found) =>
        typeof found === "object" &&
        found !== null &&
        found.format === FORMAT &&
        typeof found.project === "string" &&
        Array.isArray(found.ticks) &&
        found.ticks.every((id) => typeof id === "string") &&
        typeof found.readings === "object" &&
        found.readings !== null &&
        Object.values(found.readings).every((text) => typeof text === "string");

    /** Reads a text; null where it is none of ours. */
    const parsed = (text) => {
        try {
            const found = JSON.parse(text);
            return isState(found) ? found : null;
        } catch {
            return null;
        }
    };

    const count = () => {
        const done = ticks.filter((box) => box.checked).length;
        document.getElementById("count").textContent = `${done} of ${ticks.length}`;
        const progress = document.getElementById("progress");
        progress.max = Math.max(1, ticks.length);
        progress.value = done;
        for (const step of document.querySelectorAll(".step")) {
            const boxes = [...step.querySelectorAll("input[data-tick]")];
            step.classList.toggle("is-done", boxes.every((box) => box.checked));
        }
        for (const stage of document.querySelectorAll("section[id]")) {
            const boxes = [...stage.querySelectorAll("input[data-tick]")];
            const at = document.querySelector(`[data-stage="${stage.id}"]`);
            if (at) at.textContent = `${boxes.filter((box) => box.checked).length} of ${boxes.length}`;
        }
    };

    const keep = () => {
        count();
        try {
            localStorage.setItem(key, JSON.stringify(state()));
        } catch {
            say("This browser keeps nothing: export before you close the page.");
        }
    };

    const stored = (name) => {
        try {
            return parsed(localStorage.getItem(name) ?? "");
        } catch {
            return null;
        }
    };

    /** Adds what a state holds: nothing is unticked, and a reading here stands against one from there. */
    const add = (found) => {
        const marked = new Set(found.ticks);
        const texts = new Map(Object.entries(found.readings));
        let strange = marked.size + texts.size;
        let differing = 0;
        for (const box of ticks) {
            if (!marked.has(box.dataset.tick)) continue;
            strange -= 1;
            box.checked = true;
        }
        for (const field of readings) {
            const text = texts.get(field.dataset.reading);
            if (text === undefined) continue;
            strange -= 1;
            if (field.value === "") field.value = text.slice(0, MOST_LETTERS);
            else if (field.value !== text) differing += 1;
        }
        return { strange, differing };
    };

    const told = (found, { strange, differing }) => {
        const parts = [`${plural(found.ticks.length, "tick")} and ${plural(Object.keys(found.readings).length, "reading")} added.`];
        if (found.list !== digest) parts.push("They are from another version of this list: look at each step again.");
        if (strange > 0) parts.push(`${strange} not in this list and left out.`);
        if (differing > 0) parts.push(`${plural(differing, "reading")} here kept, though the file says otherwise.`);
        say(parts.join(" "));
    };

    /** What this browser keeps now is shown, whichever window wrote it. */
    const show = () => {
        const found = stored(key);
        if (!found) return;
        const marked = new Set(found.ticks);
        for (const box of ticks) box.checked = marked.has(box.dataset.tick);
        for (const field of readings) field.value = Object.hasOwn(found.readings, field.dataset.reading) ? found.readings[field.dataset.reading] : "";
        count();
    };

    /** Another version of this list that was ticked here. */
    const earlier = () => {
        try {
            for (let at = 0; at < localStorage.length; at += 1) {
                const name = localStorage.key(at);
                if (name === key || !name.startsWith(ours)) continue;
                const found = stored(name);
                if (found && found.project === project && found.ticks.length > 0) return found;
            }
        } catch {
            // No storage, so nothing earlier.
        }
        return null;
    };

    document.addEventListener("change", (event) => {
        if (event.target.matches("input[data-tick], input[data-reading]")) keep();
        if (event.target.matches("input[name=show]")) document.body.dataset.show = event.target.value;
    });
    document.addEventListener("input", (event) => {
        if (event.target.matches("input[data-reading]")) keep();
    });
    addEventListener("storage", (event) => {
        if (event.key === key) show();
    });

    document.getElementById("next").addEventListener("click", () => {
        const open = ticks.find((box) => !box.checked);
        if (!open) return say("Everything is ticked.");
        if (open.closest(".step").offsetParent === null) {
            document.getElementById("show-all").checked = true;
            document.body.dataset.show = "all";
        }
        open.closest(".step").scrollIntoView({ block: "start" });
        open.focus({ preventScroll: true });
    });

    document.getElementById("export").addEventListener("click", () => {
        const address = URL.createObjectURL(new Blob([`${JSON.stringify(state(), null, 1)}\n`], { type: "application/json" }));
        const link = document.createElement("a");
        link.href = address;
        link.download = `${project.replace(/[^\p{L}\p{N}]+/gu, "-") || "checklist"}-ticks.json`;
        link.click();
        setTimeout(() => URL.revokeObjectURL(address), 10_000);
        say(`Exported as ${link.download}.`);
    });

    document.getElementById("import").addEventListener("change", async (event) => {
        const file = event.target.files[0];
        event.target.value = "";
        if (!file) return;
        if (file.size > MOST_BYTES) return say(`${file.name} is too large to be an export of this page; nothing was changed.`);
        const found = parsed(await file.text());
        if (!found) return say(`${file.name} is no export of this page; nothing was changed.`);
        if (found.project !== project) return say(`${file.name} belongs to ${found.project}; nothing was changed.`);
        const outcome = add(found);
        keep();
        told(found, outcome);
    });

    document.getElementById("clear").addEventListener("click", () => {
        if (!confirm("Take away every tick and reading? Export first if they may be wanted again.")) return;
        for (const box of ticks) box.checked = false;
        for (const field of readings) field.value = "";
        keep();
        say("Every tick and reading was taken away.");
    });

    document.getElementById("print").addEventListener("click", () => print());

    show();
    count();
    if (!stored(key)) {
        const before = earlier();
        const take = document.getElementById("take");
        take.hidden = !before;
        take.addEventListener("click", () => {
            const outcome = add(before);
            keep();
            told(before, outcome);
            take.hidden = true;
        });
    }
})();
