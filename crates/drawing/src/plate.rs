//! A drawing in true millimetres as a list of marks: lines, areas, circles, texts with their boxes; for SVG and DXF alike.
//! Never: knows what a system is; scales anything. One unit is one millimetre of the thing and of the paper.
//! Start at [`Plate`]; [`Plate::svg`] writes it, `dxf.rs` writes the same marks for a drawing program.

use crate::scene::{Point, Rect, at};
use crate::svg::{clean, number};
use crate::symbols::{Glyph, Prim};
use crate::text;

/// The layer of a mark in a DXF file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Layer {
    /// The edge to saw.
    Outline,
    /// Holes to drill.
    Holes,
    /// Where nothing goes.
    KeepOut,
    /// What is screwed on.
    Devices,
    /// Cables and conductors.
    Cables,
    /// Measures.
    Dimensions,
    /// Words.
    Text,
    /// Frame, title block, tables and keys of the sheet; not part of the thing.
    Sheet,
}

impl Layer {
    /// Every layer.
    pub const ALL: [Layer; 8] = [
        Layer::Outline,
        Layer::Holes,
        Layer::KeepOut,
        Layer::Devices,
        Layer::Cables,
        Layer::Dimensions,
        Layer::Text,
        Layer::Sheet,
    ];
    /// Its name in a file.
    pub fn name(self) -> &'static str {
        match self {
            Layer::Outline => "OUTLINE",
            Layer::Holes => "HOLES",
            Layer::KeepOut => "KEEP-OUT",
            Layer::Devices => "DEVICES",
            Layer::Cables => "CABLES",
            Layer::Dimensions => "DIMENSIONS",
            Layer::Text => "TEXT",
            Layer::Sheet => "SHEET",
        }
    }
}

/// A line of text where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Words {
    /// What it says.
    pub text: String,
    /// Left end of the baseline; of a turned text its lower end.
    pub at: Point,
    /// Size \[mm\].
    pub size: f64,
    /// Whether it is bold.
    pub is_bold: bool,
    /// Whether it is in the accent colour.
    pub is_accent: bool,
    /// Whether it reads upwards.
    pub is_turned: bool,
    /// Paper around its letters, as a share of its size, so that they can be read where a line passes.
    pub halo: f64,
}

impl Words {
    /// Words of a size at the origin.
    pub fn new(text: impl Into<String>, size: f64) -> Words {
        Words {
            text: text.into(),
            at: at(0.0, 0.0),
            size,
            is_bold: false,
            is_accent: false,
            is_turned: false,
            halo: 0.14,
        }
    }
    /// The same with more or less paper around its letters.
    pub fn halo(self, halo: f64) -> Words {
        Words { halo, ..self }
    }
    /// The same in bold.
    pub fn bold(self) -> Words {
        Words { is_bold: true, ..self }
    }
    /// The same in the accent colour.
    pub fn accent(self) -> Words {
        Words { is_accent: true, ..self }
    }
    /// The same reading upwards.
    pub fn turned(self) -> Words {
        Words { is_turned: true, ..self }
    }
    /// Width and height of the box of its letters \[mm\], as it stands.
    pub fn extent(&self) -> (f64, f64) {
        let (w, h) = (text::width(&self.text, self.size, self.is_bold), self.size);
        if self.is_turned { (h, w) } else { (w, h) }
    }
    /// The same with the upper left corner of its box at a place.
    pub fn corner(mut self, x: f64, y: f64) -> Words {
        self.at = if self.is_turned {
            at(x + ASCENT * self.size, y + self.extent().1)
        } else {
            at(x, y + ASCENT * self.size)
        };
        self
    }
    /// The same with the middle of its box at a place.
    pub fn middle(self, x: f64, y: f64) -> Words {
        let (w, h) = self.extent();
        self.corner(x - w / 2.0, y - h / 2.0)
    }
    /// The same with the middle of its left edge at a place.
    pub fn start(self, x: f64, y: f64) -> Words {
        let (_, h) = self.extent();
        self.corner(x, y - h / 2.0)
    }
    /// The same with the middle of its right edge at a place.
    pub fn end(self, x: f64, y: f64) -> Words {
        let (w, h) = self.extent();
        self.corner(x - w, y - h / 2.0)
    }
    /// The box of its letters.
    pub fn rect(&self) -> Rect {
        let (w, h) = self.extent();
        if self.is_turned {
            Rect { x: self.at.x - ASCENT * self.size, y: self.at.y - h, w, h }
        } else {
            Rect { x: self.at.x, y: self.at.y - ASCENT * self.size, w, h }
        }
    }
}

/// Letters stand from this share of their size above the baseline to the rest below it.
const ASCENT: f64 = 0.76;

/// What a mark is.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Line through corners, its bends rounded with a radius.
    Line(Vec<Point>, f64),
    /// Closed area.
    Area(Vec<Point>),
    /// Circle: centre, radius.
    Circle(Point, f64),
    /// Text.
    Text(Words),
    /// A symbol: what, centre, quarter turns anticlockwise, scale.
    Symbol(Glyph, Point, i32, f64),
}

/// How a mark looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Colour of the stroke; empty for none.
    pub stroke: &'static str,
    /// Its width \[mm\].
    pub width: f64,
    /// Dashes; empty for a full line.
    pub dash: &'static str,
    /// Colour inside; empty for none.
    pub fill: &'static str,
}

/// Ink.
pub const INK: &str = "#221f1b";
/// Paper.
pub const PAPER: &str = "#fbf8f1";
/// The accent.
pub const ACCENT: &str = "#a63c17";

/// A plain line of ink.
pub fn ink(width: f64) -> Look {
    Look { stroke: INK, width, dash: "", fill: "" }
}

/// A mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What it is.
    pub shape: Shape,
    /// How it looks.
    pub look: Look,
    /// Its layer.
    pub layer: Layer,
    /// Attribute and value of what it belongs to, such as `data-device`; marks of one thing that follow each other are a group.
    pub of: Option<(&'static str, String)>,
    /// Whether it is only decoration of another mark, which a DXF file does without.
    pub is_extra: bool,
}

/// A drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    /// What it is called.
    pub title: String,
    /// Width \[mm\].
    pub width: f64,
    /// Height \[mm\].
    pub height: f64,
    /// Its marks, the hindmost first.
    pub marks: Vec<Mark>,
    /// What the next marks belong to.
    pub of: Option<(&'static str, String)>,
}

impl Plate {
    /// An empty sheet.
    pub fn new(title: impl Into<String>, width: f64, height: f64) -> Plate {
        Plate { title: title.into(), width, height, marks: Vec::new(), of: None }
    }
    /// Adds a mark to what is drawn just now.
    pub fn add(&mut self, layer: Layer, shape: Shape, look: Look) {
        self.marks.push(Mark { shape, look, layer, of: self.of.clone(), is_extra: false });
    }
    /// Adds decoration.
    pub fn extra(&mut self, layer: Layer, shape: Shape, look: Look) {
        self.marks.push(Mark { shape, look, layer, of: self.of.clone(), is_extra: true });
    }
    /// Adds a straight line.
    pub fn line(&mut self, layer: Layer, a: Point, b: Point, look: Look) {
        self.add(layer, Shape::Line(vec![a, b], 0.0), look);
    }
    /// Adds a rectangle.
    pub fn rect(&mut self, layer: Layer, rect: Rect, look: Look) {
        self.add(layer, Shape::Area(corners(rect)), look);
    }
    /// Adds words.
    pub fn words(&mut self, layer: Layer, words: Words) {
        if !words.text.is_empty() {
            self.add(layer, Shape::Text(words), Look { stroke: "", width: 0.0, dash: "", fill: INK });
        }
    }
    /// Adds lines of text below each other from an upper left corner; gives the lower edge.
    pub fn lines(&mut self, layer: Layer, x: f64, y: f64, lines: Vec<Words>) -> f64 {
        let mut top = y;
        for line in lines {
            let size = line.size;
            self.words(layer, line.corner(x, top + size * (text::LINE - 1.0) / 2.0));
            top += size * text::LINE;
        }
        top
    }
    /// Every text with its box.
    pub fn texts(&self) -> impl Iterator<Item = (&Words, Rect)> + '_ {
        self.marks.iter().filter_map(|mark| match &mark.shape {
            Shape::Text(words) => Some((words, words.rect())),
            _ => None,
        })
    }
    /// Texts that lie over each other: must be none.
    pub fn texts_over_texts(&self) -> Vec<(String, String)> {
        let all: Vec<(&Words, Rect)> = self.texts().collect();
        let mut found = Vec::new();
        for (at, (words, rect)) in all.iter().enumerate() {
            for (other, over) in all.iter().skip(at + 1) {
                if rect.overlaps(over, 0.02) {
                    found.push((words.text.clone(), other.text.clone()));
                }
            }
        }
        found
    }
    /// The drawing as SVG text, one unit a millimetre.
    pub fn svg(&self, safety: &str) -> String {
        let (w, h) = (number(self.width), number(self.height));
        let title = escape(&self.title);
        let mut out = format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" \
             height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" role=\"img\" aria-label=\"{title}\" \
             font-family=\"'DejaVu Sans',Verdana,'Liberation Sans',Arial,sans-serif\">\n<title>{title}</title>\n\
             <desc>{}</desc>\n<rect width=\"{w}\" height=\"{h}\" fill=\"{PAPER}\"/>\n",
            escape(safety)
        );
        let mut of: &Option<(&'static str, String)> = &None;
        for mark in &self.marks {
            if *of != mark.of {
                if of.is_some() {
                    out.push_str("</g>\n");
                }
                if let Some((key, value)) = &mark.of {
                    out.push_str(&format!("<g {key}=\"{}\">\n", escape(value)));
                }
                of = &mark.of;
            }
            mark.svg(&mut out);
        }
        if of.is_some() {
            out.push_str("</g>\n");
        }
        out.push_str("</svg>\n");
        out
    }
}

/// The corners of a rectangle.
pub fn corners(rect: Rect) -> Vec<Point> {
    vec![
        at(rect.x, rect.y),
        at(rect.right(), rect.y),
        at(rect.right(), rect.bottom()),
        at(rect.x, rect.bottom()),
    ]
}

fn escape(text: &str) -> String {
    quick_xml::escape::escape(clean(text)).into_owned()
}

fn place(point: Point) -> String {
    format!("{} {}", number(point.x), number(point.y))
}

/// A path through corners, each bend rounded as far as its two legs allow.
fn rounded(points: &[Point], radius: f64) -> String {
    let mut d = String::new();
    for (ix, point) in points.iter().enumerate() {
        let around = ix.checked_sub(1).and_then(|before| points.get(before)).zip(points.get(ix + 1));
        match around {
            None => d.push_str(&format!("{}{}", if ix == 0 { "M" } else { "L" }, place(*point))),
            Some((before, after)) => {
                let (a, b) = (length(*before, *point), length(*point, *after));
                let cut = radius.min(a / 2.0).min(b / 2.0);
                if cut < 0.05 {
                    d.push_str(&format!("L{}", place(*point)));
                } else {
                    let (from, to) = (toward(*point, *before, cut / a), toward(*point, *after, cut / b));
                    d.push_str(&format!("L{}Q{} {}", place(from), place(*point), place(to)));
                }
            }
        }
    }
    d
}

fn length(a: Point, b: Point) -> f64 {
    ((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y)).sqrt()
}

fn toward(a: Point, b: Point, share: f64) -> Point {
    at(a.x + (b.x - a.x) * share, a.y + (b.y - a.y) * share)
}

impl Look {
    fn svg(&self) -> String {
        let mut out = format!(" fill=\"{}\"", if self.fill.is_empty() { "none" } else { self.fill });
        if !self.stroke.is_empty() {
            out.push_str(&format!(" stroke=\"{}\" stroke-width=\"{}\"", self.stroke, number(self.width)));
        }
        if !self.dash.is_empty() {
            out.push_str(&format!(" stroke-dasharray=\"{}\"", self.dash));
        }
        out
    }
}

impl Mark {
    /// The same `by` times as large about a point; strokes keep their width.
    pub fn scaled(&mut self, by: f64, about: Point) {
        let place = |point: &mut Point| {
            *point = at(about.x + (point.x - about.x) * by, about.y + (point.y - about.y) * by);
        };
        match &mut self.shape {
            Shape::Line(points, _) | Shape::Area(points) => points.iter_mut().for_each(place),
            Shape::Circle(centre, radius) => {
                place(centre);
                *radius *= by;
            }
            Shape::Symbol(_, centre, _, scale) => {
                place(centre);
                *scale *= by;
            }
            Shape::Text(words) => {
                place(&mut words.at);
                words.size *= by;
            }
        }
    }
    /// The same further to the right.
    pub fn moved(mut self, across: f64) -> Mark {
        match &mut self.shape {
            Shape::Line(points, _) | Shape::Area(points) => {
                points.iter_mut().for_each(|point| point.x += across)
            }
            Shape::Circle(centre, _) | Shape::Symbol(_, centre, ..) => centre.x += across,
            Shape::Text(words) => words.at.x += across,
        }
        self
    }
    fn svg(&self, out: &mut String) {
        if self.look.stroke.is_empty() && self.look.fill.is_empty() {
            return;
        }
        let look = self.look.svg();
        match &self.shape {
            Shape::Line(points, radius) => {
                out.push_str(&format!("<path d=\"{}\"{look}/>\n", rounded(points, *radius)));
            }
            Shape::Area(points) => {
                out.push_str(&format!("<path d=\"{}Z\"{look}/>\n", rounded(points, 0.0)));
            }
            Shape::Circle(centre, radius) => out.push_str(&format!(
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{look}/>\n",
                number(centre.x),
                number(centre.y),
                number(*radius)
            )),
            Shape::Text(words) => {
                let place = if words.is_turned {
                    format!("transform=\"translate({}) rotate(-90)\"", place(words.at))
                } else {
                    format!("x=\"{}\" y=\"{}\"", number(words.at.x), number(words.at.y))
                };
                let weight = if words.is_bold { " font-weight=\"bold\"" } else { "" };
                let colour = if words.is_accent { ACCENT } else { INK };
                let halo = number(words.size * 2.0 * words.halo);
                out.push_str(&format!(
                    "<text {place} font-size=\"{}\"{weight} fill=\"{colour}\" stroke=\"{PAPER}\" \
                     stroke-width=\"{halo}\" stroke-linejoin=\"round\" paint-order=\"stroke\">{}</text>\n",
                    number(words.size),
                    escape(&words.text)
                ));
            }
            Shape::Symbol(glyph, centre, turns, scale) => {
                out.push_str(&format!(
                    "<g transform=\"translate({}) rotate({}) scale({})\" stroke=\"{INK}\" stroke-width=\".35\" fill=\"none\">",
                    place(*centre),
                    -90 * turns,
                    number(*scale)
                ));
                for prim in glyph.prims() {
                    out.push_str(&match prim {
                        Prim::Line(d) => format!("<path d=\"{d}\"/>"),
                        Prim::Heavy(d) => format!("<path d=\"{d}\" stroke-width=\"1\"/>"),
                        Prim::Solid(d) => format!("<path d=\"{d}\" fill=\"{INK}\"/>"),
                        Prim::Shape(d) => format!("<path d=\"{d}\" fill=\"{PAPER}\"/>"),
                        Prim::Circle(r) => format!("<circle r=\"{}\" fill=\"{PAPER}\"/>", number(*r)),
                        Prim::Letter(x, y, size, letter) => format!(
                            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"middle\" fill=\"{INK}\" stroke=\"none\">{letter}</text>",
                            number(*x), number(*y), number(*size)
                        ),
                    });
                }
                out.push_str("</g>\n");
            }
        }
    }
}
