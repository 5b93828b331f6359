//! The mounting board to scale: edge, holes, devices, terminals, cables with their run numbers, on one sheet in full size.
//! Never: places a device or lays a cable (see `board`); shrinks.
//! Start at [`plate`]; tables and measures stand in `measure.rs`, the edge to saw in `edge.rs`.

pub mod edge;
mod fan;
mod measure;

use board::{Current, Layout, Placed, Route};
use model::{Conductor, Pole, Side, System};

use crate::free::Free;
use crate::plate::{ACCENT, INK, Layer, Look, PAPER, Plate, Shape, Words, corners, ink};
use crate::scene::{Point, Rect, at};
use crate::text::{whole, wrap};

/// Left of the board: measures \[mm\].
const LEFT: f64 = 44.0;
/// Above the board \[mm\].
const TOP: f64 = 22.0;
/// Below the board: measures, scale bar, title block \[mm\].
const BELOW: f64 = 44.0;
/// Below that: keys and title block on a small board \[mm\].
const STRIP: f64 = 50.0;
/// Size of the names of devices \[mm\].
const NAME: f64 = 5.0;
/// Size of marks at terminals and holes \[mm\].
const SMALL: f64 = 3.4;
/// Paper around letters that may stand over a cable, as a share of their size.
const HALO: f64 = 0.3;
/// Wood.
const WOOD: &str = "#f3ecdd";

/// Where the board lies on its sheet.
#[derive(Clone, Copy)]
pub struct Frame {
    left: f64,
    foot: f64,
    width: f64,
    height: f64,
    /// Print on a large board is larger, so that it can be read where the whole board is seen at once.
    print: f64,
}

impl Frame {
    /// A point of the board on the sheet.
    fn at(&self, x: f64, y: f64) -> Point {
        at(self.left + x, self.foot - y)
    }
    fn point(&self, (x, y): (i32, i32)) -> Point {
        self.at(f64::from(x), f64::from(y))
    }
    fn rect(&self, rect: board::Rect) -> Rect {
        let corner = self.point((rect.x_mm, rect.top()));
        Rect { x: corner.x, y: corner.y, w: f64::from(rect.width_mm), h: f64::from(rect.height_mm) }
    }
    /// The board itself.
    fn whole(&self) -> Rect {
        Rect { x: self.left, y: self.foot - self.height, w: self.width, h: self.height }
    }
}

/// The board as a list of marks.
pub fn plate(layout: &Layout, system: &System) -> Plate {
    let (width, height) = layout.plan.outline.extent();
    let (width, height) = (f64::from(width.max(1)), f64::from(height.max(1)));
    let print = (width.max(height) / 600.0).clamp(1.0, 2.0);
    let tables = measure::table_width(layout, height, print);
    let mut plate = Plate::new(
        format!("Mounting board of {}", system.name),
        (LEFT + width + 16.0 + tables + 8.0).max(300.0 * print).ceil(),
        (TOP + height + BELOW + STRIP * print).ceil(),
    );
    let frame = Frame { left: LEFT, foot: TOP + height, width, height, print };
    let mut free = Free::default();
    wood(&mut plate, layout, &frame);
    let paths = cables(&mut plate, layout, &frame, &mut free);
    for placed in &layout.devices {
        device(&mut plate, placed, &frame, &mut free);
    }
    holes(&mut plate, layout, &frame, &mut free);
    measure::measures(&mut plate, layout, &frame, &mut free);
    poles(&mut plate, layout, &frame, &mut free);
    names(&mut plate, layout, &frame, &mut free);
    runs(&mut plate, layout, system, &frame, &paths, &mut free);
    hole_numbers(&mut plate, layout, &frame, &mut free);
    areas(&mut plate, layout, &frame, &mut free);
    measure::furniture(&mut plate, layout, system, &frame);
    plate
}

fn wood(plate: &mut Plate, layout: &Layout, frame: &Frame) {
    for (ix, line) in edge::edges(&layout.plan).into_iter().enumerate() {
        let points = line.into_iter().map(|corner| frame.point(corner)).collect();
        let fill = if ix == 0 { WOOD } else { PAPER };
        plate.of = Some(("data-edge", ix.to_string()));
        plate.add(Layer::Outline, Shape::Area(points), Look { fill, ..ink(0.7) });
    }
    plate.of = None;
    for area in &layout.plan.keep_out {
        let rect = frame.rect(*area);
        plate.add(
            Layer::KeepOut,
            Shape::Area(corners(rect)),
            Look { dash: "4 1.5", fill: PAPER, ..ink(0.4) },
        );
        for (a, b) in hatch(rect, 6.0) {
            plate.line(Layer::KeepOut, a, b, ink(0.25));
        }
    }
}

/// Lines at 45° across a rectangle.
fn hatch(rect: Rect, step: f64) -> Vec<(Point, Point)> {
    let mut lines = Vec::new();
    let mut along = step;
    while along < rect.w + rect.h {
        // From the left or lower edge to the upper or right one.
        let from = if along <= rect.h {
            at(rect.x, rect.y + along)
        } else {
            at(rect.x + along - rect.h, rect.bottom())
        };
        let to = if along <= rect.w {
            at(rect.x + along, rect.y)
        } else {
            at(rect.right(), rect.y + along - rect.w)
        };
        lines.push((from, to));
        along += step;
    }
    lines
}

/// Dashes along the middle of a cable: direct current full, alternating dashed, an earth dash and dot.
fn dash(current: Current) -> &'static str {
    match current {
        Current::Dc => "",
        Current::Ac => "7 3.5",
        Current::Both => "7 2 1 2",
    }
}

fn cables(plate: &mut Plate, layout: &Layout, frame: &Frame, free: &mut Free) -> Vec<Vec<Point>> {
    let paths: Vec<Vec<Point>> = fan::fan(layout)
        .into_iter()
        .map(|points| points.into_iter().map(|(x, y)| frame.at(x, y)).collect())
        .collect();
    // The thickest lie lowest.
    let mut order: Vec<usize> = (0..paths.len()).collect();
    order.sort_by(|a, b| layout.routes[*b].diameter.get().total_cmp(&layout.routes[*a].diameter.get()));
    for ix in order {
        let (route, points) = (&layout.routes[ix], &paths[ix]);
        let wide = (route.diameter.get() * 1000.0).max(1.6);
        let radius = route.bend_radius.get() * 1000.0 + wide / 2.0;
        plate.of = Some(("data-conductor", route.ids.join(" ")));
        let line = |stroke, width, dash| Look { stroke, width, dash, fill: "" };
        plate.extra(Layer::Cables, Shape::Line(points.clone(), radius), line(INK, wide, ""));
        plate.extra(Layer::Cables, Shape::Line(points.clone(), radius), line(PAPER, wide - 0.7, ""));
        let true_path: Vec<Point> = route.points_mm.iter().map(|point| frame.point(*point)).collect();
        let middle = (wide * 0.16).clamp(0.45, 1.8);
        plate.extra(
            Layer::Cables,
            Shape::Line(points.clone(), radius),
            line(INK, middle, dash(route.current)),
        );
        // A drawing program gets the middle as it was measured, not as it is spread here.
        plate.add(Layer::Cables, Shape::Line(true_path, 0.0), line("", 0.0, ""));
        free.mind_line(points, wide, 9.0);
    }
    plate.of = None;
    paths
}

fn device(plate: &mut Plate, placed: &Placed, frame: &Frame, free: &mut Free) {
    let rect = frame.rect(placed.rect);
    plate.of = Some(("data-device", placed.id.clone()));
    plate.add(Layer::Devices, Shape::Area(corners(rect)), Look { fill: PAPER, ..ink(0.5) });
    if placed.upright {
        // A small arrow in the corner: this way up.
        let (x, y) = (rect.right() - 4.0, rect.y + 3.0);
        let arrow = vec![at(x, y + 5.0), at(x, y), at(x - 1.4, y + 2.0), at(x, y), at(x + 1.4, y + 2.0)];
        plate.add(Layer::Devices, Shape::Line(arrow, 0.0), ink(0.35));
        free.mind(Rect { x: x - 2.0, y: y - 1.0, w: 4.0, h: 7.0 }, 20.0);
    }
    for terminal in &placed.terminals {
        let centre = frame.point(terminal.at_mm);
        plate.add(Layer::Devices, Shape::Circle(centre, 1.6), Look { fill: PAPER, ..ink(0.5) });
        // No words over a terminal.
        free.take(Rect { x: centre.x - 1.7, y: centre.y - 1.7, w: 3.4, h: 3.4 });
    }
    plate.of = None;
    // Words of others keep off the edge of a device.
    free.mind_line(&[at(rect.x, rect.y), at(rect.right(), rect.y)], 1.0, 6.0);
    free.mind_line(&[at(rect.x, rect.bottom()), at(rect.right(), rect.bottom())], 1.0, 6.0);
    free.mind_line(&[at(rect.x, rect.y), at(rect.x, rect.bottom())], 1.0, 6.0);
    free.mind_line(&[at(rect.right(), rect.y), at(rect.right(), rect.bottom())], 1.0, 6.0);
}

fn holes(plate: &mut Plate, layout: &Layout, frame: &Frame, free: &mut Free) {
    for (ix, hole) in layout.holes.iter().enumerate() {
        let centre = frame.point((hole.x_mm, hole.y_mm));
        let radius = hole.diameter.get() * 500.0;
        let arm = radius + 1.6;
        plate.of = Some(("data-hole", (ix + 1).to_string()));
        plate.add(Layer::Holes, Shape::Circle(centre, radius), Look { fill: "#ffffff", ..ink(0.4) });
        for (dx, dy) in [(arm, 0.0), (0.0, arm)] {
            plate.extra(
                Layer::Holes,
                Shape::Line(vec![at(centre.x - dx, centre.y - dy), at(centre.x + dx, centre.y + dy)], 0.0),
                ink(0.18),
            );
        }
        // No words over a hole.
        free.take(Rect { x: centre.x - arm, y: centre.y - arm, w: 2.0 * arm, h: 2.0 * arm });
    }
    plate.of = None;
}

/// The letter of a pole, as it is stamped beside a terminal.
pub fn pole_letter(pole: Pole) -> &'static str {
    match pole {
        Pole::Positive => "+",
        Pole::Negative => "−",
        Pole::Line => "L",
        Pole::Line2 => "L2",
        Pole::Neutral => "N",
        Pole::Earth => "PE",
    }
}

fn poles(plate: &mut Plate, layout: &Layout, frame: &Frame, free: &mut Free) {
    for placed in &layout.devices {
        plate.of = Some(("data-device", placed.id.clone()));
        for (ix, terminal) in placed.terminals.iter().enumerate() {
            let centre = frame.point(terminal.at_mm);
            // Where terminals stand close, letters are small enough to stand each at its own.
            let others = placed.terminals.iter().enumerate().filter(|(other, _)| *other != ix);
            let pitch = others
                .map(|(_, other)| frame.point(other.at_mm))
                .map(|other| (other.x - centre.x).abs().max((other.y - centre.y).abs()))
                .fold(f64::INFINITY, f64::min);
            let size = (4.2 * frame.print).min(0.62 * pitch).max(3.0);
            let off = 2.4 + 0.6 * size;
            let inwards = match terminal.side {
                Side::Top => (0.0, off),
                Side::Bottom => (0.0, -off),
                Side::Left => (off, 0.0),
                Side::Right => (-off, 0.0),
            };
            let words = Words::new(pole_letter(terminal.pole), size).bold().halo(HALO);
            let near = at(centre.x + inwards.0, centre.y + inwards.1);
            if let Some(set) = free.settle(&[words], near, room(plate)) {
                set.into_iter().for_each(|words| plate.words(Layer::Text, words));
            }
        }
    }
    plate.of = None;
}

fn room(plate: &Plate) -> Rect {
    Rect { x: 9.0, y: 9.0, w: plate.width - 18.0, h: plate.height - 18.0 }
}

/// Sizes of a name, as shares of the usual one, the best first.
const SHARES: [f64; 3] = [1.0, 0.84, 0.7];

/// The name of each device: on it, level or upwards, in as many lines and as small as it takes; where that is not enough, on
/// free wood beside it with a line to it.
fn names(plate: &mut Plate, layout: &Layout, frame: &Frame, free: &mut Free) {
    let rects: Vec<Rect> = layout.devices.iter().map(|placed| frame.rect(placed.rect)).collect();
    for (placed, rect) in layout.devices.iter().zip(&rects) {
        plate.of = Some(("data-device", placed.id.clone()));
        let middle = at(rect.x + rect.w / 2.0, rect.y + rect.h / 2.0);
        if let Some(set) = on_device(free, &placed.title, *rect, middle, frame) {
            set.into_iter().for_each(|words| plate.words(Layer::Text, words));
            continue;
        }
        let size = NAME * frame.print * SHARES[2];
        let lines = [34.0, 60.0, 110.0].into_iter().find_map(|most| {
            let lines = wrap(&placed.title, size, true, most * frame.print, 3);
            (!lines.iter().any(|line| line.contains('…'))).then_some(lines)
        });
        let lines = lines.unwrap_or_else(|| whole(&placed.title, size, true, 110.0 * frame.print));
        let lines: Vec<Words> =
            lines.into_iter().map(|line| Words::new(line, size).bold().halo(HALO)).collect();
        let mut outside = free.clone();
        outside.taken.extend(&rects);
        outside.air = 1.4 * frame.print;
        let set = outside
            .settle(&lines, middle, room(plate))
            .or_else(|| free.settle(&lines, middle, room(plate)))
            .unwrap_or_default();
        set.iter().for_each(|words| free.take(words.rect()));
        if let Some(last) = nearest(&set, middle) {
            leader(plate, last, *rect);
        }
        set.into_iter().for_each(|words| plate.words(Layer::Text, words));
    }
    plate.of = None;
}

/// A name within its device, where it fits there.
fn on_device(free: &mut Free, title: &str, rect: Rect, middle: Point, frame: &Frame) -> Option<Vec<Words>> {
    let inner = Rect { x: rect.x + 1.5, y: rect.y + 1.5, w: rect.w - 3.0, h: rect.h - 3.0 };
    SHARES.into_iter().find_map(|share| {
        let size = NAME * frame.print * share;
        [(false, inner.w), (true, inner.h)].into_iter().find_map(|(is_turned, most)| {
            let lines = wrap(title, size, true, most.max(1.0), 5);
            if lines.iter().any(|line| line.contains('…')) {
                return None;
            }
            let lines: Vec<Words> = lines
                .into_iter()
                .map(|line| Words { is_turned, ..Words::new(line, size).bold().halo(HALO) })
                .collect();
            free.settle(&lines, middle, inner)
        })
    })
}

/// The line of a name that stands nearest to a place.
fn nearest(set: &[Words], to: Point) -> Option<&Words> {
    let off = |words: &Words| {
        let rect = words.rect();
        let (x, y) = (rect.x + rect.w / 2.0 - to.x, rect.y + rect.h / 2.0 - to.y);
        x * x + y * y
    };
    set.iter().min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// A fine line with a dot from words that found no place on their device to the device.
fn leader(plate: &mut Plate, words: &Words, rect: Rect) {
    let own = words.rect();
    let (x, y) = (own.x + own.w / 2.0, own.y + own.h / 2.0);
    let inset = |low: f64, high: f64| 3.0_f64.min((high - low) / 3.0);
    let (dx, dy) = (inset(rect.x, rect.right()), inset(rect.y, rect.bottom()));
    let end = at(x.clamp(rect.x + dx, rect.right() - dx), y.clamp(rect.y + dy, rect.bottom() - dy));
    let start = at(end.x.clamp(own.x, own.right()), end.y.clamp(own.y, own.bottom()));
    plate.line(Layer::Text, end, start, Look { stroke: ACCENT, width: 0.4, dash: "", fill: "" });
    plate.add(Layer::Text, Shape::Circle(end, 0.9), Look { stroke: "", width: 0.0, dash: "", fill: ACCENT });
}

/// What a cable carries, in letters: `DC +`, `AC L N PE`.
fn letters(route: &Route, system: &System) -> String {
    let mut poles: Vec<Pole> = route
        .conductors
        .iter()
        .filter_map(|ix| system.conductors.get(*ix))
        .map(|conductor: &Conductor| conductor.pole)
        .collect();
    poles.sort_unstable();
    poles.dedup();
    let kind = match route.current {
        Current::Dc => "DC ",
        Current::Ac => "AC ",
        Current::Both => "",
    };
    let poles: Vec<&str> = poles.into_iter().map(pole_letter).collect();
    format!("{kind}{}", poles.join(" "))
}

/// The run number at both ends of every cable.
fn runs(
    plate: &mut Plate,
    layout: &Layout,
    system: &System,
    frame: &Frame,
    paths: &[Vec<Point>],
    free: &mut Free,
) {
    for (route, path) in layout.routes.iter().zip(paths) {
        plate.of = Some(("data-run", route.number.to_string()));
        let back: Vec<Point> = path.iter().rev().copied().collect();
        let ends = if route.leaves { vec![path.clone()] } else { vec![path.clone(), back] };
        for end in ends {
            let [from, to, ..] = end[..] else { continue };
            let long = ((to.x - from.x).abs() + (to.y - from.y).abs()).max(0.1);
            let way = 15.0_f64.min(long / 2.0) / long;
            let near = at(from.x + (to.x - from.x) * way, from.y + (to.y - from.y) * way);
            let words =
                Words::new(format!("{} {}", route.number, letters(route, system)), SMALL * frame.print);
            let words = words.bold().accent().halo(HALO);
            for words in free.settle(&[words], near, room(plate)).unwrap_or_default() {
                plate.words(Layer::Text, words);
            }
        }
    }
    plate.of = None;
}

fn hole_numbers(plate: &mut Plate, layout: &Layout, frame: &Frame, free: &mut Free) {
    for (ix, hole) in layout.holes.iter().enumerate() {
        let centre = frame.point((hole.x_mm, hole.y_mm));
        let radius = hole.diameter.get() * 500.0;
        let words = Words::new(
            format!("{} ø{}", ix + 1, measure::tenth(hole.diameter.get() * 1000.0)),
            0.76 * SMALL * frame.print,
        )
        .halo(HALO);
        let near = at(centre.x, centre.y - radius - 1.4 - 1.5 * frame.print);
        plate.of = Some(("data-hole", (ix + 1).to_string()));
        for words in free.settle(&[words], near, room(plate)).unwrap_or_default() {
            plate.words(Layer::Text, words);
        }
    }
    plate.of = None;
}

/// Words on keep-outs and cut-outs.
fn areas(plate: &mut Plate, layout: &Layout, frame: &Frame, free: &mut Free) {
    let plan = &layout.plan;
    let all = plan.keep_out.iter().map(|area| (area, "Keep out"));
    for (area, word) in all.chain(plan.notches.iter().map(|area| (area, "Cut out"))) {
        let rect = frame.rect(*area);
        let near = at(rect.x + rect.w / 2.0, rect.y + rect.h / 2.0);
        let words = Words::new(word, NAME * frame.print).bold();
        for words in free.settle(&[words], near, room(plate)).unwrap_or_default() {
            plate.words(Layer::Text, words);
        }
    }
}

/// Where the lower left corner of the board lies on the sheet.
pub fn origin(layout: &Layout) -> Point {
    at(LEFT, TOP + f64::from(layout.plan.outline.extent().1.max(1)))
}

impl Frame {
    /// Middle of the board on the sheet.
    fn centre_x(&self) -> f64 {
        self.whole().x + self.width / 2.0
    }
}
