// Draws on a drawing what the page has to say: what is chosen, where findings are, what a short circuit does.
// Never: decides any of it; changes the drawing's own elements but for one class.
import type { Severity } from "../wire/api.d.ts";
import { hatch, join, type Shape } from "./reach.ts";
import type { Box, Spot } from "./look.ts";

/** What a place does in a short circuit. */
export type Role = "way" | "opens" | "dark";

/** What to draw. */
export interface Said {
    chosen: string[];
    found: ReadonlyMap<string, Severity>;
    roles: ReadonlyMap<string, Role>;
}

const NS = "http://www.w3.org/2000/svg";
type Words = Record<string, string | number>;

function make(name: string, words: Words, inside: SVGElement[] = []): SVGElement {
    const element = document.createElementNS(NS, name);
    for (const [key, word] of Object.entries(words)) element.setAttribute(key, String(word));
    element.append(...inside);
    return element;
}

const path = (points: Spot[]) =>
    points.map((point, at) => `${at === 0 ? "M" : "L"}${point.x} ${point.y}`).join("");

const grown = (box: Box, by: number): Box => ({
    x: box.x - by,
    y: box.y - by,
    w: box.w + 2 * by,
    h: box.h + 2 * by,
});

/** Boxes and lines of an id, the lines apart. Words beside a symbol count as its box. */
function of(shapes: ReadonlyMap<Element, Shape>, id: string, withWords: boolean) {
    const mine = [...shapes].filter(([, shape]) => shape.ids.includes(id));
    const boxes = mine
        .filter(([element, shape]) => !shape.isLine && (withWords || element.localName !== "text"))
        .map(([, shape]) => shape.box);
    const lines = mine.filter(([, shape]) => shape.isLine).map(([, shape]) => shape);
    return { boxes, lines };
}

/** The box around everything that an id is drawn with; `null` where it is not drawn. */
export function boxOf(shapes: ReadonlyMap<Element, Shape>, id: string): Box | null {
    const { boxes, lines } = of(shapes, id, true);
    return join([...boxes, ...lines.map((line) => line.box)]);
}

/** Draws the marks anew. `px` is a pixel of the screen in units of the sheet. */
export function drawMarks(
    node: SVGSVGElement,
    shapes: ReadonlyMap<Element, Shape>,
    said: Said,
    px: number,
): void {
    for (const old of node.querySelectorAll(":scope > .marks, :scope > .under")) old.remove();
    const marks: SVGElement[] = [];
    const under: SVGElement[] = [];
    for (const [element, shape] of shapes) {
        element.classList.toggle(
            "is-dark",
            shape.ids.every((id) => said.roles.get(id) === "dark"),
        );
    }
    for (const [id, role] of said.roles) marks.push(...drawRole(shapes, id, role, px));
    for (const id of said.chosen) {
        const { halo, handles } = drawHalo(shapes, id, px);
        under.push(...halo);
        marks.push(...handles);
    }
    for (const [id, severity] of said.found) {
        const sign = drawSign(shapes, id, severity, px);
        if (sign) marks.push(sign);
    }
    node.append(make("g", { class: "marks" }, marks));
    // A halo lies on the paper, below the ink, so that what is chosen stays legible.
    const paper = node.querySelector(":scope > .paper");
    const below = make("g", { class: "under" }, under);
    if (paper) paper.after(below);
    else node.prepend(below);
}

/** A thick halo with handles: its shape tells, whatever its colour. */
function drawHalo(shapes: ReadonlyMap<Element, Shape>, id: string, px: number) {
    const { boxes, lines } = of(shapes, id, true);
    const halo: SVGElement[] = [];
    const corners: Spot[] = [];
    const rim = Math.max(0.8, 3 * px);
    for (const line of lines) {
        const wide = Math.max(3.2, 12 * px);
        const d = path(line.points);
        halo.push(make("path", { class: "line-rim", d, "stroke-width": wide + 2 * rim }));
        halo.push(make("path", { class: "line-halo", d, "stroke-width": wide }));
        corners.push(...[line.points[0], line.points.at(-1)].filter((spot) => spot !== undefined));
    }
    const around = join(boxes);
    if (around) {
        const box = grown(around, 1);
        halo.push(make("rect", { class: "halo", "stroke-width": rim, rx: 0.6, ...rect(around, 1) }));
        if (lines.length === 0) {
            const [right, low] = [box.x + box.w, box.y + box.h];
            corners.push(
                { x: box.x, y: box.y },
                { x: right, y: box.y },
                { x: box.x, y: low },
                { x: right, y: low },
            );
        }
    }
    const size = Math.max(1.6, 8 * px);
    const handles = corners.map(({ x, y }) =>
        make("rect", {
            class: "handle",
            "stroke-width": Math.max(0.4, 2 * px),
            ...rect({ x, y, w: 0, h: 0 }, size / 2),
        }),
    );
    return { halo, handles };
}

/** The shape of a severity beside what it is about, as `Mark` draws it in the text. */
function drawSign(
    shapes: ReadonlyMap<Element, Shape>,
    id: string,
    severity: Severity,
    px: number,
): SVGElement | null {
    const { boxes, lines } = of(shapes, id, false);
    const box = boxes[0];
    const middle = lines.map((line) => line.box).sort((a, b) => b.w + b.h - a.w - a.h)[0];
    const at = box
        ? { x: box.x - 0.8, y: box.y }
        : middle && { x: middle.x + middle.w / 2, y: middle.y + middle.h / 2 };
    if (!at) return null;
    const scale = Math.min(Math.max(2.8, 16 * px), 6.5) / 20;
    const place = `translate(${at.x} ${at.y}) scale(${scale}) translate(-10 -10)`;
    const outline =
        severity === "danger"
            ? make("path", { class: "danger", d: "M6 1h8l5 5v8l-5 5H6l-5-5V6z" })
            : severity === "warning"
              ? make("path", { class: "warning", d: "M10 2l9 16H1z", "stroke-width": 2 })
              : make("circle", { class: "advice", cx: 10, cy: 10, r: 8, "stroke-width": 2 });
    const sign =
        severity === "danger"
            ? "M10 5v6m0 2.5v1.5"
            : severity === "warning"
              ? "M10 8v4m0 2v1.5"
              : "M10 9v6m0-10v2";
    return make("g", { transform: place, class: `${severity}-sign`, "data-found": id }, [
        outline,
        make("path", { class: "sign", d: sign, "stroke-width": 2 }),
    ]);
}

function drawRole(shapes: ReadonlyMap<Element, Shape>, id: string, role: Role, px: number): SVGElement[] {
    const { boxes, lines } = of(shapes, id, false);
    const thick = Math.max(1.3, 4 * px);
    if (role === "way") {
        const dash = `${thick * 2.2} ${thick * 1.1}`;
        return [
            ...lines.map((line) =>
                make("path", {
                    class: "way-line",
                    d: path(line.points),
                    "stroke-width": thick,
                    "stroke-dasharray": dash,
                }),
            ),
            ...boxes.map((box) =>
                make("rect", {
                    class: "way-box",
                    "stroke-width": thick / 2,
                    "stroke-dasharray": dash,
                    ...rect(box, 0.6),
                }),
            ),
        ];
    }
    const box = join([...boxes, ...lines.map((line) => line.box)]);
    if (!box) return [];
    if (role === "dark") {
        const over = grown(box, 0.8);
        return [
            make("path", {
                class: "hatch",
                d: hatch(over, Math.max(1.6, 6 * px)),
                "stroke-width": Math.max(0.25, px),
            }),
        ];
    }
    const size = Math.max(2.6, 13 * px);
    const word = make("text", {
        class: "opens-word",
        x: box.x - 2.4,
        y: box.y + box.h / 2 + size / 3,
        "font-size": size,
        "stroke-width": size / 5,
    });
    word.textContent = "opens";
    return [make("rect", { class: "opens-ring", "stroke-width": thick * 0.8, ...rect(box, 1.4) }), word];
}

function rect(box: Box, by: number): Words {
    const { x, y, w, h } = grown(box, by);
    return { x, y, width: w, height: h };
}
