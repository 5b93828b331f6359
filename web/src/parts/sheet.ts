// A drawing of the service made ready for the page: parsed, without its style element, with its places found.
// Never: trusts text as markup of the page; an image parser reads it, and the policy of the page forbids inline styles and scripts.
import { around, corners, type Shape } from "./reach.ts";
import type { Size } from "./look.ts";

export interface Sheet {
    node: SVGSVGElement;
    /** The drawing's own style, for a style sheet that only the drawing sees. */
    style: string;
    size: Size;
}

const FORBIDDEN = "script, foreignObject, style, a, iframe, image";

/** Reads a drawing; `null` where it is none. */
export function readSheet(text: string): Sheet | null {
    // Of nothing the parser would make a picture of its own error, with styles that the policy of the page forbids.
    if (text === "") return null;
    // Taken out before parsing: the parser would try to apply it, which the policy of the page forbids.
    let style = "";
    const bare = text.replace(/<style[^>]*>([\s\S]*?)<\/style>/g, (_, inner: string) => {
        style += inner;
        return "";
    });
    const parsed = new DOMParser().parseFromString(bare, "image/svg+xml");
    const root = parsed.documentElement;
    if (root.localName !== "svg") return null;
    for (const element of root.querySelectorAll(FORBIDDEN)) element.remove();
    const [, , w = 0, h = 0] = (root.getAttribute("viewBox") ?? "").split(/[ ,]+/).map(Number);
    if (!(w > 0 && h > 0)) return null;
    const node = document.importNode(root, true) as unknown as SVGSVGElement;
    node.setAttribute("width", String(w));
    node.setAttribute("height", String(h));
    return { node, style: style.replaceAll("&apos;", "'").replaceAll("&quot;", '"'), size: { w, h } };
}

/** The ids that an element stands for. */
export function idsOf(element: Element): string[] {
    const conductors = element.getAttribute("data-conductor");
    if (conductors) return conductors.split(" ");
    const device = element.getAttribute("data-device");
    return device === null ? [] : [device];
}

/** Every shape of a drawing that is in the page; before that, boxes cannot be measured. */
export function shapesOf(node: SVGSVGElement): Map<Element, Shape> {
    const shapes = new Map<Element, Shape>();
    for (const element of node.querySelectorAll<SVGGraphicsElement>("[data-device], [data-conductor]")) {
        const d = element.localName === "path" ? element.getAttribute("d") : null;
        const points = d === null ? [] : corners(d);
        const isLine = points.length > 1;
        const box = isLine ? around(points) : measured(element);
        if (box) shapes.set(element, { ids: idsOf(element), isLine, box, points });
    }
    return shapes;
}

function measured(element: SVGGraphicsElement) {
    const { x, y, width, height } = element.getBBox();
    return width > 0 || height > 0 ? { x, y, w: width, h: height } : null;
}
