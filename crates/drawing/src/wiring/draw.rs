//! One wiring sheet as marks: boxes with symbol, title, rating and terminals; lines in the colour of their conductor, with letters.
//! Never: decides where anything stands.
//! Start at [`plate`].

use std::collections::{BTreeMap, BTreeSet};

use model::{Device, Pole, System};
use reference::RuleSet;

use super::lay::{BOX, Item, Laid, Port, ROW, Stand};
use super::{EDGE, MARGIN, PAPER, words};
use crate::plate::{self, ACCENT, INK, Layer, Look, Plate, Shape, Words, ink};
use crate::scene::{Point, Rect, at};
use crate::sheet::SAFETY;
use crate::text::{LINE, whole};

/// Size of names of terminals and of notes \[mm\].
const NAME: f64 = words::SIZE;
/// Size of the heading of the sheet \[mm\].
const HEADING: f64 = 2.8;
/// Height of a row of the key \[mm\].
const KEY: f64 = 3.8;
/// Frame to the words at the foot \[mm\].
const INSET: f64 = 3.0;

/// One sheet.
pub fn plate(
    system: &System,
    laid: &Laid,
    title: &str,
    (page, count): (usize, usize),
    sheet_of: &[usize],
) -> Plate {
    let strip = strip(system);
    let width = PAPER.0.max(laid.size.0 + 2.0 * MARGIN);
    let height = PAPER.1.max(laid.size.1 + 2.0 * MARGIN + strip);
    let mut plate = Plate::new(format!("Wiring diagram of {}, sheet {page}", system.name), width, height);
    let off = at(
        MARGIN + (width - 2.0 * MARGIN - laid.size.0) / 2.0,
        MARGIN + (height - 2.0 * MARGIN - strip - laid.size.1) / 2.0,
    );
    let moved = |point: Point| at(point.x + off.x, point.y + off.y);
    for line in &laid.lines {
        let points: Vec<Point> = line.points.iter().map(|point| moved(*point)).collect();
        wire(&mut plate, system, line.wire, points, moved(line.label));
    }
    for stand in &laid.stands {
        let corner = moved(at(stand.x, stand.y));
        match stand.item {
            Item::Device(ix) => {
                if let Some(device) = system.devices.get(ix) {
                    plate.of = Some(("data-device", device.id.clone()));
                    device_box(&mut plate, system, device, stand, corner);
                }
            }
            Item::Tag(wire, end) => {
                let run = system.conductors.get(wire).map_or(0, |conductor| conductor.number);
                plate.of = Some(("data-tag", system.terminal_name(end)));
                tag(
                    &mut plate,
                    stand,
                    corner,
                    run,
                    &system.terminal_name(end),
                    sheet_of.get(end.device).copied(),
                );
            }
            Item::Pass(wire) => {
                plate.of = system.conductors.get(wire).map(|conductor| ("data-pass", conductor.id.clone()));
                let y = corner.y + ROW / 2.0;
                stroke(&mut plate, system, wire, vec![at(corner.x, y), at(corner.x + BOX, y)]);
            }
        }
    }
    plate.of = None;
    foot(&mut plate, system, &heading(system, title, page, count), laid);
    plate
}

fn wire(plate: &mut Plate, system: &System, ix: usize, points: Vec<Point>, label: Point) {
    let Some(conductor) = system.conductors.get(ix) else { return };
    // A conductor that passes columns comes in pieces: box to box, and through the columns in their rows.
    plate.of = Some(("data-conductor", conductor.id.clone()));
    let mut piece: Vec<Point> = Vec::new();
    let mut pieces: Vec<Vec<Point>> = Vec::new();
    for point in points {
        if let Some(last) = piece.last()
            && (point.x - last.x - BOX).abs() < 1e-6
            && piece.len() > 1
            && (point.y - last.y).abs() < 1e-6
        {
            pieces.push(std::mem::take(&mut piece));
        }
        piece.push(point);
    }
    pieces.push(piece);
    for piece in pieces {
        stroke(plate, system, ix, piece);
    }
    if let Some((above, below)) = words::label(system, ix) {
        // Close to their own line, from which the paper around the letters must not take the edge.
        plate.words(Layer::Text, above.halo(0.08).corner(label.x, label.y - 2.75));
        plate.words(Layer::Text, below.halo(0.08).corner(label.x, label.y + 0.8));
    }
    plate.of = None;
}

/// A line of ink with the colour of the conductor inside, so that white and yellow show too. The return is dashed with ink,
/// green-and-yellow with yellow.
fn stroke(plate: &mut Plate, system: &System, ix: usize, points: Vec<Point>) {
    let Some(conductor) = system.conductors.get(ix) else { return };
    let colour = words::colour(system, conductor);
    if conductor.is_internal {
        plate.add(Layer::Cables, Shape::Line(points, 0.0), ink(0.3));
        return;
    }
    let line = |stroke, width, dash| Look { stroke, width, dash, fill: "" };
    plate.add(Layer::Cables, Shape::Line(points.clone(), 0.0), line(INK, 0.95, ""));
    plate.extra(Layer::Cables, Shape::Line(points.clone(), 0.0), line(words::paint(&colour.name), 0.6, ""));
    let over = match conductor.pole {
        _ if colour.name == "green-and-yellow" => Some(("#f2c81e", "2 2")),
        Pole::Negative if colour.name != "black" => Some((INK, "0.5 3")),
        _ => None,
    };
    if let Some((colour, dash)) = over {
        plate.extra(Layer::Cables, Shape::Line(points, 0.0), line(colour, 0.6, dash));
    }
}

fn device_box(plate: &mut Plate, system: &System, device: &Device, stand: &Stand, corner: Point) {
    let rect = Rect { x: corner.x, y: corner.y, w: BOX, h: stand.h };
    plate.rect(Layer::Devices, rect, Look { fill: "#f6f0e3", ..ink(0.45) });
    let glyph = crate::words::glyph(system, device);
    let (w, h) = glyph.size();
    let scale = f64::min(1.0, f64::min(7.0 / w, 7.4 / h));
    plate.add(
        Layer::Devices,
        Shape::Symbol(glyph, at(corner.x + 4.8, corner.y + stand.head / 2.0), 0, scale),
        ink(0.35),
    );
    plate.lines(Layer::Text, corner.x + 9.4, corner.y + 0.7, words::head(device));
    let used: BTreeSet<usize> =
        stand.left.iter().chain(&stand.right).filter_map(|port| port.terminal).collect();
    for terminal in used {
        let Some(name) = device.terminals.get(terminal).map(|terminal| terminal.name.as_str()) else {
            continue;
        };
        let rows = |ports: &[Port]| -> Vec<f64> {
            ports
                .iter()
                .filter(|port| port.terminal == Some(terminal))
                .map(|port| corner.y + port.down)
                .collect()
        };
        let (left, right) = (rows(&stand.left), rows(&stand.right));
        let heavy = Look { stroke: INK, width: 1.1, dash: "", fill: "" };
        for (rows, x) in [(&left, corner.x), (&right, corner.x + BOX)] {
            for y in rows {
                plate.add(
                    Layer::Devices,
                    Shape::Circle(at(x, *y), 0.75),
                    Look { fill: plate::PAPER, ..ink(0.4) },
                );
            }
            if let (Some(first), Some(last)) = (rows.first(), rows.last())
                && rows.len() > 1
            {
                let inner = if x > corner.x { x - 1.6 } else { x + 1.6 };
                plate.line(Layer::Devices, at(inner, *first), at(inner, *last), heavy);
            }
        }
        let words = Words::new(name, NAME);
        if let (Some(a), Some(_)) = (left.first(), right.first()) {
            // Through the box: the name stands over the line that joins both sides.
            plate.line(Layer::Devices, at(corner.x + 1.6, *a), at(corner.x + BOX - 1.6, *a), ink(0.6));
            plate.words(Layer::Text, words.middle(corner.x + BOX / 2.0, a - 1.9));
        } else {
            // Where another name stands across, both share the width, in two lines where need be.
            for (rows, others, is_left) in [(&left, &stand.right, true), (&right, &stand.left, false)] {
                let Some(y) = rows.first() else { continue };
                let is_alone = others.iter().all(|port| (corner.y + port.down - y).abs() > ROW / 2.0);
                let most = if is_alone { BOX - 4.8 } else { BOX / 2.0 - 2.8 };
                let lines = whole(name, NAME, false, most);
                for (ix, line) in lines.iter().enumerate() {
                    let y = y + (ix as f64 - (lines.len() as f64 - 1.0) / 2.0) * NAME * LINE;
                    let words = Words::new(line.as_str(), NAME);
                    plate.words(
                        Layer::Text,
                        if is_left {
                            words.start(corner.x + 2.4, y)
                        } else {
                            words.end(corner.x + BOX - 2.4, y)
                        },
                    );
                }
            }
        }
    }
}

fn tag(plate: &mut Plate, stand: &Stand, corner: Point, run: u32, terminal: &str, sheet: Option<usize>) {
    let y = corner.y + ROW / 2.0;
    let is_left = !stand.left.is_empty();
    let (tip, back) =
        if is_left { (corner.x, corner.x + 2.0) } else { (corner.x + BOX, corner.x + BOX - 2.0) };
    let arrow = if is_left {
        vec![at(tip, y - 1.2), at(back, y), at(tip, y + 1.2)]
    } else {
        vec![at(back, y - 1.2), at(tip, y), at(back, y + 1.2)]
    };
    plate.add(Layer::Cables, Shape::Area(arrow), Look { stroke: "", width: 0.0, dash: "", fill: INK });
    let run = if run > 0 { format!("run {run}, ") } else { String::new() };
    let first = Words::new(format!("{run}sheet {}", sheet.unwrap_or(0)), NAME).bold().accent();
    let lines = std::iter::once(first).chain(words::tag(terminal));
    for (ix, words) in lines.enumerate() {
        let y = if ix == 0 { y - 1.5 } else { y + 1.5 + (ix - 1) as f64 * NAME * LINE };
        let set = if is_left { words.start(corner.x + 3.0, y) } else { words.end(corner.x + BOX - 3.0, y) };
        plate.words(Layer::Text, set);
    }
}

/// The heading of a sheet.
fn heading(system: &System, title: &str, page: usize, count: usize) -> String {
    format!("{}: wiring diagram, sheet {page} of {count}: {title}", system.name)
}

/// How to read a sheet, and what it is of.
fn notes(system: &System) -> Vec<String> {
    let rules = match system.rules {
        RuleSet::Na => "na, North America",
        RuleSet::Iec => "iec, IEC",
    };
    let ac = system.ac_voltage.map_or_else(String::new, |voltage| format!(", {voltage} AC"));
    let notes = format!(
        "{} DC{ac}; rule set {rules}. Above a line: run number and colour (letters of IEC 60757); below: size and length one way. \
         An arrow names run, sheet and terminal where it goes on. Lines join only at terminals; a thin line is a link inside an \
         assembly.",
        system.voltage
    );
    whole(&notes, NAME, false, width_of_foot(PAPER.0))
}

fn safety() -> Vec<String> {
    whole(&format!("Danger to life and property. {SAFETY}"), NAME, true, width_of_foot(PAPER.0))
}

fn width_of_foot(width: f64) -> f64 {
    width - 2.0 * (EDGE + INSET)
}

/// Height of the strip at the foot of every sheet of a system: heading in at most two lines, key, notes, safety \[mm\].
pub fn strip(system: &System) -> f64 {
    let all: Vec<usize> = (0..system.conductors.len()).collect();
    let rows = samples(system, &all).iter().map(|sample| sample.row + 1).max().unwrap_or(0);
    let lines = notes(system).len() + safety().len();
    2.0 * HEADING * LINE + rows as f64 * KEY + lines as f64 * NAME * LINE + 2.0
}

fn foot(plate: &mut Plate, system: &System, heading: &str, laid: &Laid) {
    let (w, h) = (plate.width, plate.height);
    let frame = Rect { x: EDGE, y: EDGE, w: w - 2.0 * EDGE, h: h - 2.0 * EDGE };
    plate.rect(Layer::Sheet, frame, ink(0.45));
    let top = h - EDGE - strip(system);
    plate.line(Layer::Sheet, at(EDGE, top), at(w - EDGE, top), Look { stroke: ACCENT, ..ink(0.8) });
    let x = EDGE + INSET;
    let bold = |line: String, size| Words::new(line, size).bold();
    let lines = whole(heading, HEADING, true, width_of_foot(w)).into_iter().take(2);
    let y = plate.lines(Layer::Sheet, x, top + 0.8, lines.map(|line| bold(line, HEADING)).collect());
    let wires: Vec<usize> = laid.lines.iter().map(|line| line.wire).collect();
    let samples = samples(system, &wires);
    let rows = samples.iter().map(|sample| sample.row + 1).max().unwrap_or(0);
    for sample in samples {
        let (x, y) = (x + sample.x, y + (sample.row as f64 + 0.5) * KEY);
        stroke(plate, system, sample.wire, vec![at(x, y), at(x + SAMPLE, y)]);
        plate.words(Layer::Sheet, Words::new(sample.word, NAME).start(x + SAMPLE + 1.5, y));
    }
    let notes = notes(system).into_iter().map(|line| Words::new(line, NAME));
    let safety = safety().into_iter().map(|line| bold(line, NAME).accent());
    plate.lines(Layer::Sheet, x, y + rows as f64 * KEY, notes.chain(safety).collect());
}

/// Length of a line in the key \[mm\].
const SAMPLE: f64 = 10.0;

/// A colour in the key: a conductor that has it, what to say, and where it stands.
struct Sample {
    wire: usize,
    word: String,
    x: f64,
    row: usize,
}

/// The colours of some conductors, in rows as wide as the sheet.
fn samples(system: &System, wires: &[usize]) -> Vec<Sample> {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for wire in wires {
        let Some(conductor) = system.conductors.get(*wire).filter(|conductor| !conductor.is_internal) else {
            continue;
        };
        let name = words::colour(system, conductor).name;
        let is_bond = system
            .circuits
            .get(conductor.circuit)
            .is_some_and(|circuit| circuit.kind == model::CircuitKind::Bond);
        let of = if is_bond { "bond" } else { conductor.pole.word() };
        seen.entry(format!("{} {name}: {of}", words::code(&name))).or_insert(*wire);
    }
    let (mut x, mut row) = (0.0, 0);
    let mut all = Vec::new();
    for (word, wire) in seen {
        let wide = SAMPLE + 1.5 + Words::new(word.as_str(), NAME).extent().0;
        if x > 0.0 && x + wide > width_of_foot(PAPER.0) {
            (x, row) = (0.0, row + 1);
        }
        all.push(Sample { wire, word, x, row });
        x += wide + 4.0;
    }
    all
}
