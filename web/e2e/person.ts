// A person before the page: starts the program on a copy of the examples, opens a browser, and acts by what is to be seen.
// Never: reaches into the page's code; everything goes by role, label and text, as for somebody who looks or listens.
import { type ChildProcess, execFileSync, spawn } from "node:child_process";
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import axe from "axe-core";
import { type Browser, type BrowserContext, type Page, chromium } from "playwright-core";
import { expect, onTestFailed } from "vitest";

const ROOT = resolve(import.meta.dirname, "../..");
/** The sheets of a project, in the order of the index. */
export const SHEETS = [
    "Brief",
    "Loads",
    "One-line",
    "Findings",
    "Energy",
    "Short circuits",
    "Board",
    "Build",
    "Papers",
    "Variants",
    "Changes",
];
export const DESKTOP = { width: 1280, height: 860 };
export const PHONE = { width: 360, height: 740 };

/** The program to try: `WATTWAIN`, else the release build, else the debug build. */
function program(): string {
    const target = process.env["CARGO_TARGET_DIR"] ?? join(ROOT, "target");
    const found = [
        process.env["WATTWAIN"] ?? "",
        join(target, "release/wattwain"),
        join(target, "debug/wattwain"),
    ].find((path) => path !== "" && existsSync(path));
    if (!found) throw new Error("no program: build it with `cargo build --release` first");
    return found;
}

/** The papers of an example in a folder of their own, as somebody carries them away. */
export class Papers {
    readonly folder: string;
    readonly address: string;

    constructor(example: string) {
        this.folder = mkdtempSync(join(tmpdir(), "wattwain-papers-"));
        this.address = pathToFileURL(this.folder).href;
        execFileSync(program(), ["pack", join(ROOT, "examples", example), "--out", join(this.folder, "out")]);
    }

    file(name: string): string {
        return join(this.folder, "out", name);
    }

    remove(): void {
        rmSync(this.folder, { recursive: true, force: true });
    }
}

/** Where a person goes: an address, with what lies below it. */
type Place = { readonly address: string };

/** The program on a folder of its own. */
export class Service {
    readonly folder: string;
    readonly address: string;
    readonly startedMs: number;
    #process: ChildProcess;

    private constructor(folder: string, address: string, startedMs: number, process: ChildProcess) {
        this.folder = folder;
        this.address = address;
        this.startedMs = startedMs;
        this.#process = process;
    }

    /** Starts it on a copy of some examples; of one, as that project; of several, as a folder. */
    static async of(examples: string[], single = false): Promise<Service> {
        const folder = mkdtempSync(join(tmpdir(), "wattwain-page-"));
        for (const name of examples)
            cpSync(join(ROOT, "examples", name), join(folder, name), { recursive: true });
        return Service.at(folder, single ? join(folder, examples[0] ?? "") : folder);
    }

    static async at(folder: string, opened: string): Promise<Service> {
        const started = performance.now();
        const child = spawn(program(), ["open", opened, "--no-browser"], {
            stdio: ["ignore", "pipe", "pipe"],
        });
        let said = "";
        const address = await new Promise<string>((found, failed) => {
            const timer = setTimeout(() => failed(new Error(`no address after 20 s: ${said}`)), 20_000);
            const hear = (bytes: Buffer) => {
                said += bytes.toString();
                const match = /http:\/\/(127\.0\.0\.1|localhost):\d+/.exec(said);
                if (match) {
                    clearTimeout(timer);
                    found(match[0]);
                }
            };
            child.stdout.on("data", hear);
            child.stderr.on("data", hear);
            child.on("exit", (code) => failed(new Error(`ended with ${code}: ${said}`)));
        });
        return new Service(folder, address, performance.now() - started, child);
    }

    file(path: string): string {
        return readFileSync(join(this.folder, path), "utf8");
    }

    async stop(): Promise<void> {
        const ended = new Promise<void>((done) => this.#process.once("exit", () => done()));
        this.#process.kill("SIGTERM");
        await Promise.race([ended, new Promise<void>((done) => setTimeout(done, 3000))]);
        this.#process.kill("SIGKILL");
        rmSync(this.folder, { recursive: true, force: true });
    }
}

let browser: Browser | null = null;

async function launched(): Promise<Browser> {
    browser ??= await chromium.launch({
        executablePath: process.env["CHROMIUM"] ?? "/usr/bin/chromium",
        args: [
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ],
    });
    return browser;
}

export async function closeBrowser(): Promise<void> {
    await browser?.close();
    browser = null;
}

/** Somebody with a browser window. Whatever the page asks elsewhere or complains about is kept. */
export class Person {
    readonly page: Page;
    readonly service: Place;
    readonly complaints: string[] = [];
    readonly strangers: string[] = [];
    #context: BrowserContext;

    private constructor(page: Page, service: Place, context: BrowserContext) {
        this.page = page;
        this.service = service;
        this.#context = context;
    }

    static async at(service: Place, viewport = DESKTOP, scheme: "light" | "dark" = "light"): Promise<Person> {
        const context = await (
            await launched()
        ).newContext({
            viewport,
            colorScheme: scheme,
            hasTouch: viewport.width < 600,
            acceptDownloads: true,
        });
        const page = await context.newPage();
        const person = new Person(page, service, context);
        page.setDefaultTimeout(10_000);
        onTestFailed(async ({ task }) => {
            await person.pictures(`failed-${task.name.slice(0, 40)}`).catch(() => undefined);
        });
        page.on("console", (message) => {
            if (message.type() === "error" || message.type() === "warning")
                person.complaints.push(
                    `${message.text()} [${message.location().url}:${message.location().lineNumber}:${message.location().columnNumber}] at ${page.url()}`,
                );
        });
        page.on("pageerror", (error) => person.complaints.push(String(error)));
        page.on("request", (request) => {
            if (!request.url().startsWith(service.address) && !/^(data|blob|about):/.test(request.url()))
                person.strangers.push(request.url());
        });
        return person;
    }

    async goes(hash: string): Promise<void> {
        await this.page.goto(`${this.service.address}/${hash}`);
    }

    /** Opens a sheet by the index, as with a mouse or a thumb. */
    async opens(sheet: string): Promise<void> {
        const opener = this.page.getByRole("button", { name: /^\S* ?Sheets:/ });
        if (await opener.isVisible()) await opener.click();
        await this.page
            .getByRole("navigation", { name: "Sheets" })
            .getByRole("link", { name: new RegExp(sheet) })
            .click();
        await this.page.getByRole("heading", { level: 1, name: new RegExp(sheet) }).waitFor();
    }

    /** A figure of the title block. */
    async figure(id: string): Promise<string> {
        return (await this.page.locator(`[data-figure="${id}"] dd`).first().innerText()).trim();
    }

    /** Nothing that axe-core knows is wrong with what is on show. */
    async findsNoBarrier(): Promise<void> {
        // The tool is put in through the developer's door, which the page's own policy does not govern.
        await this.page.evaluate(axe.source);
        const found = await this.page.evaluate(async () => {
            const tool = (globalThis as unknown as { axe: typeof axe }).axe;
            const results = await tool.run(document, {
                resultTypes: ["violations"],
            });
            return results.violations.map(
                (violation) =>
                    `${violation.id}: ${violation.help}: ${violation.nodes
                        .slice(0, 4)
                        .map((node) => node.html)
                        .join(" | ")}`,
            );
        });
        expect(found).toEqual([]);
    }

    /** Nothing sticks out sideways; what does is told by its tag, class and right edge. */
    async findsNoOverflow(): Promise<void> {
        const wide = await this.page.evaluate(() => {
            const most = document.documentElement.clientWidth;
            const sheet = document.getElementById("sheet");
            const places = [
                document.documentElement.scrollWidth > most ? "page" : "",
                sheet && sheet.scrollWidth > sheet.clientWidth + 1 ? "sheet" : "",
            ].filter(Boolean);
            const culprits = [...document.querySelectorAll("body *")]
                .filter((element) => element.getBoundingClientRect().right > most + 1)
                .map(
                    (element) =>
                        `${element.tagName}.${element.getAttribute("class") ?? ""} to ${Math.round(element.getBoundingClientRect().right)} of ${most}`,
                );
            // Words for screen readers only are placed absolutely: what scrolls has to hold them, or they widen the page.
            const loose = [...document.querySelectorAll("body *")].filter((element) => {
                const style = getComputedStyle(element);
                const scrolls = [style.overflowX, style.overflowY].some(
                    (way) => way === "auto" || way === "scroll",
                );
                return scrolls && style.position === "static";
            });
            return [
                ...(places.length ? [...places, ...culprits.slice(0, 8)] : []),
                ...loose.map(
                    (element) => `${element.tagName}.${element.className} scrolls and is not positioned`,
                ),
            ];
        });
        expect(wide).toEqual([]);
    }

    async pictures(name: string): Promise<void> {
        const folder = process.env["PICTURES"];
        if (folder) await this.page.screenshot({ path: join(folder, `${name}.png`), caret: "initial" });
    }

    async leaves(): Promise<void> {
        const { complaints, strangers } = this;
        await this.#context.close();
        expect(complaints).toEqual([]);
        expect(strangers).toEqual([]);
    }
}
