//! The plan of the vehicle as a sheet: from above and from the right-hand side, to scale, with runs, holes and axles.
//! Never: finds a way or a place of a hole (see `board::vehicle`); sets a text over another.
//! Start at [`VehicleSheet::of`]; labels find their place in `free_label`.
//!
//! One unit is one millimetre of paper.

// long: two views of one scene, whose labels keep off each other

use board::Vehicle;
use board::vehicle::{Spot, VehicleCable};
use model::System;

use crate::scene::{Point, Rect};
use crate::sheet::SAFETY;
use crate::text;

/// Scales that a rule has, one to so many.
const SCALES: [f64; 9] = [5.0, 10.0, 15.0, 20.0, 25.0, 50.0, 100.0, 200.0, 500.0];
/// Size of a sheet A3, lying \[mm\].
const PAGE: (f64, f64) = (420.0, 297.0);
const MARGIN: f64 = 10.0;
/// Room for the views on it \[mm\].
const VIEW_WIDTH: f64 = 310.0;
const VIEW_HEIGHT: f64 = 119.0;
/// Width of a column of text beside the views \[mm\].
const COLUMN: f64 = 82.0;
/// Between the hull and the edge of its view \[mm\].
const PAD: f64 = 7.0;
/// The same above and below it, where the names of a crowded side find room \[mm\].
const PAD_TALL: f64 = 10.5;
const GAP: f64 = 8.0;
/// Size of print \[mm\]: so large that half the sheet fills an upright page of A4 in print of 6 pt.
const SMALL: f64 = 2.7;
/// Between names beside each other \[mm\].
const BESIDE: f64 = 1.2;
const ROW: f64 = SMALL * text::LINE;

/// Directions in which a name is tried, the best first; y upwards.
const AROUND: [(f64, f64); 16] = [
    (1.0, 0.0),
    (-1.0, 0.0),
    (0.0, 1.0),
    (0.0, -1.0),
    (0.7, 0.7),
    (0.7, -0.7),
    (-0.7, 0.7),
    (-0.7, -0.7),
    (0.9, 0.4),
    (0.9, -0.4),
    (-0.9, 0.4),
    (-0.9, -0.4),
    (0.4, 0.9),
    (0.4, -0.9),
    (-0.4, 0.9),
    (-0.4, -0.9),
];

/// A thing to draw.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// A line through points, of a class of the style sheet.
    Line(&'static str, Vec<Point>),
    /// A rectangle.
    Box(&'static str, Rect),
    /// A disc with its middle and radius.
    Disc(&'static str, Point, f64),
    /// A text in its box, with its size and whether it is bold.
    Text(String, Rect, f64, bool),
}

/// The sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct VehicleSheet {
    /// Width \[mm\].
    pub width: f64,
    /// Height \[mm\].
    pub height: f64,
    /// One to so many.
    pub scale: f64,
    /// What is drawn, in order.
    pub marks: Vec<Mark>,
    /// Points and holes whose name found no free place in a view; they stand in the lists all the same.
    pub unmarked: Vec<String>,
}

/// A view: which axis goes to the right and which upwards, and where its origin stands on paper.
struct View {
    across: usize,
    up: usize,
    origin: Point,
    frame: Rect,
    scale: f64,
}

impl View {
    fn at(&self, spot: Spot) -> Point {
        Point {
            x: self.origin.x + f64::from(spot[self.across]) / self.scale,
            y: self.origin.y - f64::from(spot[self.up]) / self.scale,
        }
    }
    fn between(&self, a: Spot, b: Spot) -> Rect {
        let (a, b) = (self.at(a), self.at(b));
        Rect { x: a.x.min(b.x), y: a.y.min(b.y), w: (a.x - b.x).abs(), h: (a.y - b.y).abs() }
    }
}

impl VehicleSheet {
    /// Every text with its box.
    pub fn texts(&self) -> impl Iterator<Item = (&str, Rect)> {
        self.marks.iter().filter_map(|mark| match mark {
            Mark::Text(text, rect, ..) => Some((text.as_str(), *rect)),
            _ => None,
        })
    }

    /// Lays it out.
    pub fn of(vehicle: &Vehicle, system: &System) -> Self {
        let [length, width, height] = vehicle.extent_mm.map(f64::from);
        let fits = |scale: &&f64| {
            length / **scale <= VIEW_WIDTH - 2.0 * PAD
                && width.max(height) / **scale <= VIEW_HEIGHT - 2.0 * PAD_TALL
        };
        let scale = SCALES.iter().find(fits).copied().unwrap_or(1000.0);
        let mut sheet =
            Self { width: PAGE.0, height: PAGE.1, scale, marks: Vec::new(), unmarked: Vec::new() };
        let title = format!("{}: plan of the vehicle, 1:{scale}", system.name);
        let mut y = MARGIN;
        y = sheet.line(MARGIN, y, &text::wrap(&title, 4.2, true, PAGE.0 - 2.0 * MARGIN, 1), 4.2, true);
        y = sheet.line(MARGIN, y, &text::wrap(SAFETY, SMALL, false, PAGE.0 - 2.0 * MARGIN, 3), SMALL, false);
        let top = y + 3.0;
        let mut low = top;
        for (words, across, up, tall) in
            [("From above, forwards to the right", 0, 1, width), ("From the right-hand side", 0, 2, height)]
        {
            low = sheet.line(MARGIN, low, &[words.to_owned()], text::MAIN, true);
            let frame = Rect { x: MARGIN, y: low + 1.0, w: VIEW_WIDTH, h: tall / scale + 2.0 * PAD_TALL };
            let origin = Point { x: MARGIN + PAD, y: frame.y + PAD_TALL + tall / scale };
            let view = View { across, up, origin, frame, scale };
            sheet.view(vehicle, &view);
            low = frame.bottom() + 3.0;
        }
        low = sheet.axles(vehicle, low);
        low = sheet.ruler(low);
        let bottom = sheet.lists(vehicle, top).max(low);
        sheet.height = sheet.height.max(bottom + MARGIN);
        sheet
    }

    fn text(&mut self, x: f64, y: f64, words: &str, size: f64, is_bold: bool) {
        let rect = Rect { x, y, w: text::width(words, size, is_bold), h: size * text::LINE };
        self.marks.push(Mark::Text(words.to_owned(), rect, size, is_bold));
    }

    /// Lines of text from a place downwards; gives where the next one begins.
    fn line(&mut self, x: f64, mut y: f64, lines: &[String], size: f64, is_bold: bool) -> f64 {
        for words in lines {
            self.text(x, y, words, size, is_bold);
            y += size * text::LINE;
        }
        y
    }

    fn view(&mut self, vehicle: &Vehicle, view: &View) {
        let begin = self.marks.len();
        for zone in &vehicle.zones {
            self.marks.push(Mark::Box("zone", view.between(zone.low_mm, zone.high_mm)));
        }
        self.marks.push(Mark::Box("hull", view.between([0; 3], vehicle.extent_mm)));
        for channel in &vehicle.channels {
            let points = channel.corners_mm.iter().map(|corner| view.at(*corner)).collect();
            self.marks.push(Mark::Line("channel", points));
        }
        for wall in vehicle.walls.iter().filter(|wall| wall.axis == view.across || wall.axis == view.up) {
            let (low, high) = (view.at(wall.low_mm), view.at(wall.high_mm));
            self.marks.push(Mark::Line(if wall.is_outside { "wall out" } else { "wall" }, vec![low, high]));
        }
        let mut drawn: Vec<(bool, Vec<Point>)> = Vec::new();
        for cable in &vehicle.cables {
            let mut points: Vec<Point> = Vec::new();
            for stretch in &cable.way.stretches {
                for spot in [stretch.from_mm, stretch.to_mm] {
                    let at = view.at(spot);
                    if points.last() != Some(&at) {
                        points.push(at);
                    }
                }
            }
            if points.len() > 1 && !drawn.contains(&(cable.is_ac, points.clone())) {
                self.marks.push(Mark::Line(if cable.is_ac { "run mains" } else { "run" }, points.clone()));
                drawn.push((cable.is_ac, points));
            }
        }
        let mut taken = Taken::default();
        for mark in &self.marks[begin..] {
            let (corners, cost) = match mark {
                Mark::Line("run" | "run mains", points) => (points.clone(), 3.0),
                Mark::Line("wall" | "wall out", points) => (points.clone(), WALL),
                Mark::Box("hull", rect) => (edge(*rect), WALL),
                Mark::Box("zone", rect) => (edge(*rect), 1.5),
                _ => continue,
            };
            taken.lines.extend(corners.windows(2).map(|pair| (around(pair[0], pair[1]), cost)));
        }
        let points: Vec<(Point, f64)> = vehicle
            .points
            .iter()
            .map(|point| (view.at(point.at_mm), 0.9))
            .chain(vehicle.holes.iter().map(|hole| (view.at(hole.at_mm), 1.2)))
            .collect();
        // No name over a point or a hole.
        taken.boxes.extend(points.iter().map(|(at, r)| Rect {
            x: at.x - r,
            y: at.y - r,
            w: 2.0 * r,
            h: 2.0 * r,
        }));
        let numbers = numbers_at(vehicle);
        for (point, own) in vehicle.points.iter().zip(&numbers) {
            let at = view.at(point.at_mm);
            self.marks.push(Mark::Disc("point", at, 0.9));
            let words = if own.is_empty() { point.name.clone() } else { format!("{} {own}", point.name) };
            self.name(view, at, &words, false, &mut taken);
        }
        for hole in &vehicle.holes {
            let at = view.at(hole.at_mm);
            let seen = vehicle
                .walls
                .iter()
                .any(|wall| wall.name == hole.wall && (wall.axis == view.across || wall.axis == view.up));
            if seen {
                self.marks.push(Mark::Disc("hole", at, 1.2));
                self.name(view, at, &format!("H{}", hole.number), true, &mut taken);
            }
        }
        self.zone_names(vehicle, view, &mut taken);
    }

    /// The names of the zones, each near the upper left corner of its box.
    fn zone_names(&mut self, vehicle: &Vehicle, view: &View, taken: &mut Taken) {
        for zone in &vehicle.zones {
            // A zone is wide: its name rather goes further than over a run.
            let mut careful = taken.clone();
            careful.lines.iter_mut().for_each(|(_, cost)| *cost *= 5.0);
            let space = view.between(zone.low_mm, zone.high_mm);
            let corner = Point { x: space.x, y: space.y + 2.0 };
            let (w, h) = (text::width(&zone.name, SMALL, false), ROW);
            // Within its zone, where it can.
            let place = free_label(corner, w, h, space, &careful);
            if let Some(rect) = place.or_else(|| free_label(corner, w, h, view.frame, taken)) {
                taken.boxes.push(rect);
                self.marks.push(Mark::Text(zone.name.clone(), rect, SMALL, false));
            }
        }
    }

    /// Sets a name at the nearest free place, with a thin line to its point where it stands off.
    fn name(&mut self, view: &View, at: Point, words: &str, is_bold: bool, taken: &mut Taken) {
        let (w, h) = (text::width(words, SMALL, is_bold), ROW);
        match free_label(at, w, h, view.frame, taken) {
            Some(rect) => {
                // To the nearest place of its box.
                let end = Point { x: at.x.clamp(rect.x, rect.right()), y: at.y.clamp(rect.y, rect.bottom()) };
                let (dx, dy) = (end.x - at.x, end.y - at.y);
                if (dx * dx + dy * dy).sqrt() > 2.8 {
                    self.marks.push(Mark::Line("lead", vec![at, end]));
                    taken.leads.push((at, end));
                }
                taken.boxes.push(rect);
                self.marks.push(Mark::Text(words.to_owned(), rect, SMALL, is_bold));
            }
            None => self.unmarked.push(words.to_owned()),
        }
    }

    fn axles(&mut self, vehicle: &Vehicle, y: f64) -> f64 {
        let Some(loads) = &vehicle.axles else { return y };
        let mut y = self.line(MARGIN, y, &["Axles".to_owned()], text::MAIN, true);
        for axle in &loads.axles {
            let kg = |mass: quantity::Kilograms| format!("{:.0} kg", mass.get());
            let mut words = format!("{} at x {} mm: ", axle.name, axle.x_mm);
            words.push_str(&match (axle.empty, axle.load()) {
                (Some(empty), Some(load)) => {
                    format!("{} empty + {} placed = {}", kg(empty), kg(axle.added), kg(load))
                }
                _ => format!("{} placed", kg(axle.added)),
            });
            if let Some(most) = axle.most {
                words.push_str(&format!(", at most {}", kg(most)));
            }
            let x = MARGIN + PAD + f64::from(axle.x_mm) / self.scale;
            // Under the side view, which stands just above.
            let floor = self.floor();
            self.marks.push(Mark::Line(
                "axle",
                vec![
                    Point { x, y: floor },
                    Point { x: x - 2.0, y: floor + 3.4 },
                    Point { x: x + 2.0, y: floor + 3.4 },
                    Point { x, y: floor },
                ],
            ));
            y = self.line(MARGIN, y, &text::wrap(&words, SMALL, false, VIEW_WIDTH, 2), SMALL, false);
        }
        y + 3.0
    }

    /// The floor of the last view.
    fn floor(&self) -> f64 {
        self.marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Box("hull", rect) => Some(rect.bottom()),
                _ => None,
            })
            .next_back()
            .unwrap_or(0.0)
    }

    /// A ruler of one metre, so that a copy of another size is seen.
    fn ruler(&mut self, y: f64) -> f64 {
        let metre = 1000.0 / self.scale;
        self.marks.push(Mark::Line(
            "rule",
            vec![
                Point { x: MARGIN, y },
                Point { x: MARGIN, y: y + 2.0 },
                Point { x: MARGIN + metre, y: y + 2.0 },
                Point { x: MARGIN + metre, y },
            ],
        ));
        self.text(MARGIN + metre + 2.0, y, "1 m", SMALL, false);
        y + 2.0 + ROW
    }

    /// Runs, holes and what the lines mean, in columns beside the views; gives where the longest ends.
    fn lists(&mut self, vehicle: &Vehicle, top: f64) -> f64 {
        let mut rows: Vec<(String, bool)> = vec![("Runs, by way".to_owned(), true)];
        rows.extend(runs(vehicle).into_iter().flat_map(|words| wrapped(&words)).map(|words| (words, false)));
        if !vehicle.holes.is_empty() {
            rows.push((String::new(), false));
            rows.push(("Holes through walls".to_owned(), true));
            for hole in &vehicle.holes {
                let [x, y, z] = hole.at_mm;
                let numbers: Vec<String> = hole.numbers.iter().map(u32::to_string).collect();
                let words = format!(
                    "H{} {}: {:.1} mm, {}; x {x} y {y} z {z}; runs {}; {}",
                    hole.number,
                    hole.wall,
                    hole.diameter.get() * 1000.0,
                    hole.fitting(),
                    numbers.join(", "),
                    hole.treatment
                );
                rows.extend(wrapped(&words).into_iter().map(|words| (words, false)));
            }
        }
        rows.push((String::new(), false));
        rows.push(("Lines".to_owned(), true));
        for words in [
            "broad: channel; thin: run; broken thin: mains run",
            "heavy: wall; heavy with a fine edge: outside wall",
            "broken box: zone; ring: hole H, by its number",
        ] {
            rows.extend(wrapped(words).into_iter().map(|words| (words, false)));
        }
        let (mut x, mut y, mut lowest) = (MARGIN + VIEW_WIDTH + GAP, top, top);
        for (words, is_bold) in rows {
            if y + ROW > self.height - MARGIN {
                x += COLUMN + GAP;
                y = top;
            }
            if !words.is_empty() {
                self.text(x, y, &words, SMALL, is_bold);
            }
            y += ROW;
            lowest = lowest.max(y);
        }
        self.width = self.width.max(x + COLUMN + MARGIN);
        lowest
    }
}

/// Lines of a column, the later ones set in.
fn wrapped(words: &str) -> Vec<String> {
    let mut lines = text::whole(words, SMALL, false, COLUMN - 4.0);
    for line in lines.iter_mut().skip(1) {
        line.insert_str(0, "  ");
    }
    lines
}

/// The numbers that stand beside each point: of the cables that end there, where fewer end than at the other end.
fn numbers_at(vehicle: &Vehicle) -> Vec<String> {
    let count =
        |name: &str| vehicle.cables.iter().filter(|cable| cable.from == name || cable.to == name).count();
    let far = |cable: &VehicleCable| {
        if count(&cable.from) < count(&cable.to) { cable.from.clone() } else { cable.to.clone() }
    };
    let fars: Vec<(String, u32)> = vehicle.cables.iter().map(|cable| (far(cable), cable.number)).collect();
    let own = |name: &str| {
        let mut numbers: Vec<u32> =
            fars.iter().filter(|(far, _)| far == name).map(|(_, number)| *number).collect();
        numbers.sort_unstable();
        numbers.dedup();
        spans(&numbers)
    };
    vehicle.points.iter().map(|point| own(&point.name)).collect()
}

/// Numbers in order, those in a row as a span: `3, 7–9`.
fn spans(numbers: &[u32]) -> String {
    let rows = numbers.chunk_by(|a, b| a + 1 == *b);
    let words = rows.filter_map(|row| {
        let (first, last) = (row.first()?, row.last()?);
        Some(match row.len() {
            1 => first.to_string(),
            2 => format!("{first}, {last}"),
            _ => format!("{first}–{last}"),
        })
    });
    words.collect::<Vec<_>>().join(", ")
}

/// Cables with the same ends as one row: numbers, ends, length, channels.
fn runs(vehicle: &Vehicle) -> Vec<String> {
    let mut rows: Vec<(Vec<u32>, &VehicleCable)> = Vec::new();
    for cable in &vehicle.cables {
        let same = rows.iter_mut().find(|(_, first)| {
            (first.from == cable.from && first.to == cable.to)
                || (first.from == cable.to && first.to == cable.from)
        });
        match same {
            Some((numbers, _)) => numbers.push(cable.number),
            None => rows.push((vec![cable.number], cable)),
        }
    }
    rows.into_iter()
        .map(|(mut numbers, cable)| {
            numbers.sort_unstable();
            numbers.dedup();
            format!(
                "{} {} – {}: {}, {}",
                spans(&numbers),
                cable.from,
                cable.to,
                cable.length_plan,
                cable.way.words()
            )
        })
        .collect()
}

/// What a name keeps off: boxes at all, lines where it can, each with what crossing it costs.
#[derive(Clone, Default)]
struct Taken {
    boxes: Vec<Rect>,
    lines: Vec<(Rect, f64)>,
    /// Thin lines from points to their names.
    leads: Vec<(Point, Point)>,
}

/// What a name over a wall costs: more than any way to a place beside it.
const WALL: f64 = 80.0;
/// What a thin line through a name costs.
const CROSSED: f64 = 25.0;

/// The corners of a rectangle and the first again.
fn edge(rect: Rect) -> Vec<Point> {
    let mut corners = crate::plate::corners(rect);
    corners.extend(corners.first().copied());
    corners
}

/// Whether a straight line comes into a box.
fn comes_into(a: Point, b: Point, rect: &Rect) -> bool {
    let long = ((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y)).sqrt();
    let steps = (long / 0.25).ceil().max(1.0) as usize;
    (0..=steps).any(|step| {
        let share = step as f64 / steps as f64;
        let (x, y) = (a.x + (b.x - a.x) * share, a.y + (b.y - a.y) * share);
        x > rect.x && x < rect.right() && y > rect.y && y < rect.bottom()
    })
}

/// The box around a stretch of line, never without width.
fn around(a: Point, b: Point) -> Rect {
    let (x, y) = (a.x.min(b.x) - 0.3, a.y.min(b.y) - 0.3);
    Rect { x, y, w: (a.x - b.x).abs() + 0.6, h: (a.y - b.y).abs() + 0.6 }
}

/// The free place for a box of text nearest to a point, inside a frame; `None` where the frame is full.
fn free_label(at: Point, w: f64, h: f64, frame: Rect, taken: &Taken) -> Option<Rect> {
    let mut best: Option<(f64, Rect)> = None;
    let offer = |best: &mut Option<(f64, Rect)>, x: f64, y: f64, cost: f64| {
        let rect = Rect { x, y, w, h };
        let is_in =
            x >= frame.x && y >= frame.y && rect.right() <= frame.right() && rect.bottom() <= frame.bottom();
        let is_free = || {
            taken.boxes.iter().all(|other| {
                // Names beside each other must not read as one.
                rect.x >= other.right() + BESIDE
                    || other.x >= rect.right() + BESIDE
                    || rect.y >= other.bottom()
                    || other.y >= rect.bottom()
            })
        };
        if !is_in || best.as_ref().is_some_and(|(known, _)| cost >= *known) || !is_free() {
            return;
        }
        let crossed = taken.lines.iter().filter(|(line, _)| line.overlaps(&rect, 0.1));
        let mut cost = cost + crossed.map(|(_, cost)| cost).sum::<f64>();
        // Thin lines of others through this name, and its own through names and points of others.
        cost += taken.leads.iter().filter(|(a, b)| comes_into(*a, *b, &rect)).count() as f64 * CROSSED;
        let end = Point { x: at.x.clamp(rect.x, rect.right()), y: at.y.clamp(rect.y, rect.bottom()) };
        let is_own = |other: &Rect| {
            at.x >= other.x && at.x <= other.right() && at.y >= other.y && at.y <= other.bottom()
        };
        let hidden = taken.boxes.iter().filter(|other| !is_own(other) && comes_into(at, end, other)).count();
        cost += hidden as f64 * CROSSED;
        if best.as_ref().is_none_or(|(known, _)| cost < *known) {
            *best = Some((cost, rect));
        }
    };
    // Right, left, above and below first; then rings outwards.
    for (ring, step) in (0..40).map(|ring| (f64::from(ring), 1.6)) {
        let off = 2.2 + ring * step;
        for (turn, &(cos, sin)) in AROUND.iter().enumerate() {
            let (x, y) = (at.x + off * cos, at.y - off * sin);
            let left = if cos > 0.3 {
                x
            } else if cos < -0.3 {
                x - w
            } else {
                x - w / 2.0
            };
            let top = if sin > 0.3 {
                y - h
            } else if sin < -0.3 {
                y
            } else {
                y - h / 2.0
            };
            offer(&mut best, left, top, off + turn as f64 * 0.01);
        }
        // Further out nothing is better.
        if best.as_ref().is_some_and(|(cost, _)| *cost <= off + step) {
            break;
        }
    }
    best.map(|(_, rect)| rect)
}
