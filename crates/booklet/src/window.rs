//! A part of a picture: the same SVG with another view, without the elements that lie outside.
//! Never: leaves out what could show. An element whose extent is not known for sure stays.
//! Start at [`Panes::of`].

use std::ops::Range;

use kurbo::{Affine, BezPath, Point, Rect, Shape};
use roxmltree::{Document, Node};
use svgtypes::Transform;

use crate::BookletError;

/// Width of a letter, in sizes of type, that none of a text face exceeds in the mean of a line.
const WIDEST_LETTER: f64 = 1.2;

/// A picture made ready to be cut into windows.
#[derive(Debug)]
pub(crate) struct Panes<'s> {
    svg: &'s str,
    /// Behind the name of the root's start tag.
    named: usize,
    /// Where the root says its `viewBox`, `width` and `height`.
    sizes: Vec<Range<usize>>,
    /// Left, top, width and height of the whole in its own units.
    view: Rect,
    /// What may be left out: where it stands in the text, and what it covers.
    pieces: Vec<(Range<usize>, Rect)>,
}

impl<'s> Panes<'s> {
    /// Of an SVG with a `viewBox`.
    pub(crate) fn of(name: &str, svg: &'s str) -> Result<Self, BookletError> {
        let wrong = |reason: String| BookletError::Picture { name: name.to_owned(), reason };
        let read = Document::parse(svg).map_err(|error| wrong(format!("it is no XML: {error}")))?;
        let root = read.root_element();
        let view = root
            .attribute("viewBox")
            .and_then(|text| {
                let numbers: Vec<f64> =
                    text.split([' ', ',']).filter_map(|number| number.parse().ok()).collect();
                let [x, y, width, height] = numbers[..] else { return None };
                Some(Rect::new(x, y, x + width, y + height))
            })
            .filter(|view| view.width() > 0.0 && view.height() > 0.0)
            .ok_or_else(|| wrong("its root has no viewBox of four numbers".to_owned()))?;
        let start = root.range().start + 1;
        let is_end = |letter: char| letter.is_whitespace() || matches!(letter, '/' | '>');
        let named = svg.get(start..).and_then(|rest| rest.find(is_end)).map_or(svg.len(), |at| start + at);
        let sizes = root
            .attributes()
            .filter(|attribute| matches!(attribute.name(), "viewBox" | "width" | "height"))
            .map(|attribute| attribute.range())
            .collect();
        let mut pieces = Vec::new();
        let ink = Ink { pad: widest_stroke(svg), print: 0.0 };
        for child in root.children() {
            gather(child, Affine::IDENTITY, ink, &mut pieces);
        }
        Ok(Self { svg, named, sizes, view, pieces })
    }

    /// The part from `(x, y)` on, as large as said, each as a share of the whole picture from 0 to 1.
    pub(crate) fn window(&self, x: f64, y: f64, width: f64, height: f64) -> String {
        let (w, h) = (self.view.width(), self.view.height());
        let left = self.view.x0 + x * w;
        let top = self.view.y0 + y * h;
        let shown = Rect::new(left, top, left + width * w, top + height * h);
        let mut cut = String::with_capacity(self.svg.len() / 4);
        let mut from = 0;
        let mut copy = |until: usize, next: usize, cut: &mut String| {
            cut.push_str(self.svg.get(from..until).unwrap_or_default());
            from = next;
        };
        copy(self.named, self.named, &mut cut);
        // The size says nothing of millimetres, which the page knows.
        let (wide, high) = (shown.width(), shown.height());
        let view = format!(" viewBox=\"{left} {top} {wide} {high}\" width=\"{wide}\" height=\"{high}\"");
        cut.push_str(&view);
        for size in &self.sizes {
            copy(size.start, size.end, &mut cut);
        }
        for (place, covers) in &self.pieces {
            if !covers.overlaps(shown) {
                copy(place.start, place.end, &mut cut);
            }
        }
        copy(self.svg.len(), self.svg.len(), &mut cut);
        cut
    }
}

/// What an element inherits that widens it.
#[derive(Clone, Copy)]
struct Ink {
    /// How far ink goes beyond its line.
    pad: f64,
    /// Size of type.
    print: f64,
}

/// Adds every element whose extent is known, in the order of the text; a group is gone through.
fn gather(node: Node<'_, '_>, from: Affine, ink: Ink, pieces: &mut Vec<(Range<usize>, Rect)>) {
    if !node.is_element() {
        return;
    }
    let Some(to) = own_transform(node).map(|own| from * own) else { return };
    let print = number(node, "font-size").unwrap_or(ink.print);
    let ink = Ink { print, ..ink };
    if node.tag_name().name() == "g" {
        for child in node.children() {
            gather(child, to, ink, pieces);
        }
        return;
    }
    let Some(bare) = extent(node, ink) else { return };
    // A line without width covers nothing by the rules of rectangles; ink always has some.
    let covers = to.transform_rect_bbox(bare.inflate(ink.pad, ink.pad));
    if covers.is_finite() {
        pieces.push((node.range(), covers));
    }
}

fn own_transform(node: Node<'_, '_>) -> Option<Affine> {
    let Some(text) = node.attribute("transform") else { return Some(Affine::IDENTITY) };
    let own: Transform = text.parse().ok()?;
    Some(Affine::new([own.a, own.b, own.c, own.d, own.e, own.f]))
}

fn number(node: Node<'_, '_>, name: &str) -> Option<f64> {
    node.attribute(name)?.trim_end_matches("px").parse().ok()
}

/// What an element covers without its ink; `None` where that is not known.
fn extent(node: Node<'_, '_>, ink: Ink) -> Option<Rect> {
    let get = |name| number(node, name);
    let or_zero = |name| match node.attribute(name) {
        None => Some(0.0),
        Some(_) => get(name),
    };
    match node.tag_name().name() {
        "path" => Some(BezPath::from_svg(node.attribute("d")?).ok()?.bounding_box()),
        "rect" => {
            let (x, y) = (or_zero("x")?, or_zero("y")?);
            Some(Rect::new(x, y, x + get("width")?, y + get("height")?))
        }
        "circle" => {
            Some(Rect::from_center_size((or_zero("cx")?, or_zero("cy")?), (2.0 * get("r")?, 2.0 * get("r")?)))
        }
        "line" => Some(Rect::from_points((or_zero("x1")?, or_zero("y1")?), (or_zero("x2")?, or_zero("y2")?))),
        "polyline" | "polygon" => {
            let points = svgtypes::PointsParser::from(node.attribute("points")?).map(Point::from);
            points.map(|point| Rect::from_points(point, point)).reduce(|a, b| a.union(b))
        }
        "text" => {
            // A class may set the size of type: then it is not known here.
            let size = Some(ink.print).filter(|print| *print > 0.0)?;
            let plain = node.children().all(|child| child.is_text());
            let (x, y) = (or_zero("x")?, or_zero("y")?);
            let letters: usize =
                node.children().filter_map(|child| child.text()).map(|text| text.chars().count()).sum();
            let long = letters as f64 * size * WIDEST_LETTER;
            plain.then(|| Rect::new(x - long, y - size * 1.2, x + long, y + size * 0.5))
        }
        _ => None,
    }
}

/// How far the widest line that the picture names, as attribute or style, goes beyond its middle, with pointed corners.
fn widest_stroke(svg: &str) -> f64 {
    let widths = svg.split("stroke-width").skip(1).filter_map(|after| {
        let digits = after.trim_start_matches([' ', '=', ':', '"', '\'']);
        let end =
            digits.find(|letter: char| !letter.is_ascii_digit() && letter != '.').unwrap_or(digits.len());
        digits.get(..end)?.parse().ok()
    });
    // A line is 1 wide where nobody says so; a pointed corner reaches four half widths.
    2.0 * widths.fold(1.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    const PICTURE: &str = "<?xml version=\"1.0\"?><svg xmlns=\"http://www.w3.org/2000/svg\" width='200mm' viewBox=\"0 0 200 100\" height='100mm' role='img'>\
        <style>.a{stroke-width:3}</style><g transform='translate(100 0)'><rect x='50' y='10' width='5' height='5'/>\
        <path d='M-90 50h10'/></g><circle cx='150' cy='50' r='4'/><text font-size='3' x='160' y='20'>far</text>\
        <text x='1' y='1' class='unknown'>near</text></svg>";

    #[test]
    fn a_window_keeps_what_may_show() {
        let panes = Panes::of("a", PICTURE).unwrap();
        let left = panes.window(0.0, 0.0, 0.25, 1.0);
        assert!(left.contains("viewBox=\"0 0 50 100\"") && !left.contains("200mm"), "{left}");
        assert!(left.contains("M-90") && left.contains("near") && left.contains("<style>"), "{left}");
        assert!(!left.contains("<rect") && !left.contains("circle") && !left.contains("far"), "{left}");
        let right = panes.window(0.5, 0.0, 0.5, 1.0);
        assert!(right.contains("<rect") && right.contains("circle") && right.contains("far"), "{right}");
        assert!(!right.contains("M-90"), "{right}");
        assert!(right.contains("near"), "its size of type is not known, so it stays: {right}");
        for cut in [left, right] {
            Document::parse(&cut).unwrap();
        }
    }

    /// Every window of the long van's drawings, rendered by resvg, against the same place of the whole.
    #[test]
    fn windows_show_what_the_whole_shows() {
        let source = model::SourceText {
            name: "intent.toml".to_owned(),
            text: include_str!("../../../examples/heron/intent.toml").to_owned(),
        };
        let project = model::Project::read(source, model::library::builtin().clone()).unwrap();
        let derived = board::derived(&project);
        let layout = derived.proposed(&project).unwrap();
        let mut drawings = drawing::wiring(&derived.system);
        drawings.truncate(2);
        drawings.push(drawing::one_line(&derived.system));
        drawings.push(drawing::board(&layout, &derived.system));
        let (across, down) = (3, 2);
        for svg in drawings.iter().map(|svg| svg.replace(drawing::plate::PAPER, "#ffffff")) {
            let panes = Panes::of("a", &svg).unwrap();
            let whole = tree(&svg);
            let mut left_out = 0;
            for (column, row) in (0..across).flat_map(|column| (0..down).map(move |row| (column, row))) {
                let share = |at: i32, of: i32| f64::from(at) / f64::from(of);
                let cut =
                    panes.window(share(column, across), share(row, down), share(1, across), share(1, down));
                left_out += svg.len() - cut.len().min(svg.len());
                let part = tree(&cut);
                let scale = 400.0 / part.size().width();
                let size = (400, (part.size().height() * scale) as u32);
                let (x, y) = (column as f32 * part.size().width(), row as f32 * part.size().height());
                // The root of the whole may say millimetres: its own units are those of the window.
                let own = part.size().width() * across as f32 / whole.size().width();
                let shown = pixels(&part, scale, (0.0, 0.0), size);
                let wanted = pixels(&whole, scale * own, (x * scale, y * scale), size);
                let dark = |pixel: &resvg::tiny_skia::PremultipliedColorU8| 255 - u64::from(pixel.green());
                let ink: u64 = wanted.pixels().iter().map(dark).sum();
                let off: u64 =
                    wanted.pixels().iter().zip(shown.pixels()).map(|(a, b)| dark(a).abs_diff(dark(b))).sum();
                assert!(off * 100 <= ink, "{off} of {ink} of the window at {column}, {row} differs");
            }
            assert!(left_out > svg.len(), "windows are smaller than the whole");
        }
    }

    fn tree(svg: &str) -> resvg::usvg::Tree {
        let mut options =
            resvg::usvg::Options { font_family: "DejaVu Sans".to_owned(), ..Default::default() };
        options.fontdb_mut().load_font_data(dejavu::sans::regular().to_vec());
        options.fontdb_mut().load_font_data(dejavu::sans::bold().to_vec());
        resvg::usvg::Tree::from_str(svg, &options).unwrap()
    }

    fn pixels(
        tree: &resvg::usvg::Tree,
        scale: f32,
        (left, top): (f32, f32),
        (width, height): (u32, u32),
    ) -> resvg::tiny_skia::Pixmap {
        let mut picture = resvg::tiny_skia::Pixmap::new(width, height).unwrap();
        picture.fill(resvg::tiny_skia::Color::WHITE);
        let place = resvg::tiny_skia::Transform::from_scale(scale, scale).post_translate(-left, -top);
        resvg::render(tree, place, &mut picture.as_mut());
        picture
    }

    #[test]
    fn what_is_no_picture_is_refused() {
        for svg in ["", "<svg", "<svg/>", "<svg viewBox='0 0 0 1'/>", "<svg viewBox='a b c d'/>"] {
            assert!(matches!(Panes::of("a", svg), Err(BookletError::Picture { .. })), "{svg}");
        }
        let empty = Panes::of("a", "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 1 1'/>")
            .unwrap()
            .window(0.0, 0.0, 1.0, 1.0);
        Document::parse(&empty).unwrap();
    }
}
