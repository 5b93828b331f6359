//! What stands on a sheet and where: symbols, wires, labels, each with its box in millimetres.
//! Never: knows what a system is, or SVG. The tests prove that nothing overlaps from these boxes alone.
//! Start at [`Scene`].

use model::{ConductorIx, DeviceIx};

use crate::symbols::Glyph;
use crate::text;

/// A place on the sheet \[mm\], y downwards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

/// Shorthand for a [`Point`].
pub fn at(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// An upright rectangle \[mm\].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Rect {
    /// Right edge.
    pub fn right(&self) -> f64 {
        self.x + self.w
    }
    /// Lower edge.
    pub fn bottom(&self) -> f64 {
        self.y + self.h
    }
    /// Whether two rectangles share more than `slack` \[mm\] in both directions.
    pub fn overlaps(&self, other: &Rect, slack: f64) -> bool {
        self.x + slack < other.right()
            && other.x + slack < self.right()
            && self.y + slack < other.bottom()
            && other.y + slack < self.bottom()
    }
    /// The smallest rectangle round two.
    pub fn join(&self, other: &Rect) -> Rect {
        let (x, y) = (self.x.min(other.x), self.y.min(other.y));
        Rect { x, y, w: self.right().max(other.right()) - x, h: self.bottom().max(other.bottom()) - y }
    }
}

/// Which way a symbol faces: where its load side points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Facing {
    /// Source above, load below.
    Down,
    /// Source below, load above.
    Up,
    /// Source left, load right.
    Right,
}

/// A symbol at its place.
#[derive(Clone, Debug)]
pub struct Symbol {
    /// What it shows.
    pub glyph: Glyph,
    /// The box of its ink.
    pub rect: Rect,
    /// Which way it faces.
    pub facing: Facing,
    /// The device; `None` for a tag or in the legend.
    pub device: Option<DeviceIx>,
    /// A letter inside, for a tag.
    pub letter: String,
}

/// How a wire is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stroke {
    /// A run of direct current, both poles in one line.
    Direct,
    /// A run of alternating current, all cores in one line.
    Alternating,
    /// A return drawn on its own.
    Return,
    /// A bond.
    Bond,
    /// A busbar.
    Bar,
    /// A busbar of the return.
    ReturnBar,
    /// The bus of a panel.
    Bus,
    /// The bus of an alternating-current panel.
    AcBus,
}

/// A wire: upright and level segments only.
#[derive(Clone, Debug)]
pub struct Wire {
    /// Its corners.
    pub points: Vec<Point>,
    /// How it is drawn.
    pub stroke: Stroke,
    /// The conductors that it stands for.
    pub conductors: Vec<ConductorIx>,
    /// The device that it is, for a bus.
    pub device: Option<DeviceIx>,
}

/// A line of text.
#[derive(Clone, Debug, Default)]
pub struct Line {
    /// Set first, bold, in the accent colour: a run number.
    pub lead: String,
    /// The text.
    pub text: String,
    /// Size \[mm\].
    pub size: f64,
    /// Whether it is bold.
    pub is_bold: bool,
    /// Whether it is in the accent colour.
    pub is_accent: bool,
}

impl Line {
    /// Small print.
    pub fn small(text: impl Into<String>) -> Line {
        Line { text: text.into(), size: text::SMALL, ..Line::default() }
    }
    /// A title.
    pub fn title(text: impl Into<String>) -> Line {
        Line { text: text.into(), size: text::MAIN, is_bold: true, ..Line::default() }
    }
    /// Its width \[mm\].
    pub fn width(&self) -> f64 {
        let lead = text::width(&self.lead, self.size, true);
        lead + self.gap() + text::width(&self.text, self.size, self.is_bold)
    }
    /// Between lead and text \[mm\].
    pub fn gap(&self) -> f64 {
        if self.lead.is_empty() || self.text.is_empty() { 0.0 } else { 0.55 * self.size }
    }
}

/// Where the lines of a label are held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Left edges in line.
    Start,
    /// Centred.
    Middle,
    /// Right edges in line.
    End,
}

/// Lines of text that belong together.
#[derive(Clone, Debug)]
pub struct Label {
    /// The box round all lines.
    pub rect: Rect,
    /// Where lines are held.
    pub anchor: Anchor,
    /// The lines, top first.
    pub lines: Vec<Line>,
    /// The device that it names.
    pub device: Option<DeviceIx>,
    /// The conductor that it names.
    pub conductor: Option<ConductorIx>,
}

impl Label {
    /// A label at the origin.
    pub fn new(lines: Vec<Line>) -> Label {
        let (w, h) = size(&lines);
        Label {
            rect: Rect { x: 0.0, y: 0.0, w, h },
            anchor: Anchor::Start,
            lines,
            device: None,
            conductor: None,
        }
    }
    /// The label with its edge (left, middle or right after the anchor) at `x` and its middle line at `y`.
    pub fn beside(mut self, x: f64, y: f64, anchor: Anchor) -> Label {
        self.anchor = anchor;
        self.rect.x = match anchor {
            Anchor::Start => x,
            Anchor::Middle => x - self.rect.w / 2.0,
            Anchor::End => x - self.rect.w,
        };
        self.rect.y = y - self.rect.h / 2.0;
        self
    }
    /// The label with its left edge at `x` and its upper edge at `y`.
    pub fn below(mut self, x: f64, y: f64) -> Label {
        (self.rect.x, self.rect.y) = (x, y);
        self
    }
    /// The label with its left edge at `x` and its lower edge at `y`.
    pub fn above(mut self, x: f64, y: f64) -> Label {
        (self.rect.x, self.rect.y) = (x, y - self.rect.h);
        self
    }
    /// The label of a device.
    pub fn of_device(mut self, device: DeviceIx) -> Label {
        self.device = Some(device);
        self
    }
    /// The label of a conductor.
    pub fn of_conductor(mut self, conductor: ConductorIx) -> Label {
        self.conductor = Some(conductor);
        self
    }
}

/// Width and height of lines set below each other \[mm\].
pub fn size(lines: &[Line]) -> (f64, f64) {
    let w = lines.iter().map(Line::width).fold(0.0, f64::max);
    let h = lines.iter().map(|line| line.size * text::LINE).sum();
    (w, h)
}

/// Everything on a sheet, or on a part of it.
#[derive(Clone, Debug, Default)]
pub struct Scene {
    /// Symbols.
    pub symbols: Vec<Symbol>,
    /// Wires.
    pub wires: Vec<Wire>,
    /// Labels.
    pub labels: Vec<Label>,
    /// Points where wires join.
    pub dots: Vec<Point>,
    /// Enclosures of panels, behind everything else.
    pub enclosures: Vec<Rect>,
}

impl Scene {
    /// Adds a wire through corners.
    pub fn wire(&mut self, points: &[Point], stroke: Stroke, conductors: Vec<ConductorIx>) {
        self.wires.push(Wire { points: points.to_vec(), stroke, conductors, device: None });
    }
    /// Adds everything of another scene, moved.
    pub fn place(&mut self, mut other: Scene, dx: f64, dy: f64) {
        other.shift(dx, dy);
        self.symbols.append(&mut other.symbols);
        self.wires.append(&mut other.wires);
        self.labels.append(&mut other.labels);
        self.dots.append(&mut other.dots);
        self.enclosures.append(&mut other.enclosures);
    }
    /// Moves everything.
    pub fn shift(&mut self, dx: f64, dy: f64) {
        self.rects(|rect| {
            rect.x += dx;
            rect.y += dy;
        });
        self.points(|point| {
            point.x += dx;
            point.y += dy;
        });
    }
    /// Turns everything upside down about y = 0; text stays readable.
    pub fn mirror(&mut self) {
        self.rects(|rect| rect.y = -rect.y - rect.h);
        self.points(|point| point.y = -point.y);
        for symbol in &mut self.symbols {
            symbol.facing = match symbol.facing {
                Facing::Down => Facing::Up,
                Facing::Up => Facing::Down,
                Facing::Right => Facing::Right,
            };
        }
    }
    fn rects(&mut self, change: impl Fn(&mut Rect)) {
        self.symbols.iter_mut().for_each(|symbol| change(&mut symbol.rect));
        self.labels.iter_mut().for_each(|label| change(&mut label.rect));
        self.enclosures.iter_mut().for_each(change);
    }
    fn points(&mut self, change: impl Fn(&mut Point)) {
        self.wires.iter_mut().flat_map(|wire| &mut wire.points).for_each(&change);
        self.dots.iter_mut().for_each(change);
    }
    /// Every box: of symbols, labels, enclosures and wires.
    pub fn boxes(&self) -> impl Iterator<Item = Rect> + '_ {
        let wires = self.wires.iter().filter_map(|wire| {
            let mut points = wire.points.iter().map(|p| Rect { x: p.x, y: p.y, w: 0.0, h: 0.0 });
            let first = points.next()?;
            Some(points.fold(first, |all, rect| all.join(&rect)))
        });
        let symbols = self.symbols.iter().map(|symbol| symbol.rect);
        symbols
            .chain(self.labels.iter().map(|label| label.rect))
            .chain(self.enclosures.iter().copied())
            .chain(wires)
    }
    /// The box round everything; empty at the origin where there is nothing.
    pub fn bounds(&self) -> Rect {
        self.boxes().reduce(|all, rect| all.join(&rect)).unwrap_or(Rect { x: 0.0, y: 0.0, w: 0.0, h: 0.0 })
    }
}
