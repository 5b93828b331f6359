//! One wiring sheet as marks: boxes with symbol, title, rating and terminals; lines in the colour of their conductor, with letters.
//! Never: decides where anything stands.
//! Start at [`plate`].

use std::collections::BTreeSet;

use model::{Device, Pole, System};
use reference::RuleSet;

use super::lay::{BOX, HEAD, Item, Laid, ROW, Stand};
use super::{MARGIN, PAPER, STRIP, words};
use crate::plate::{self, ACCENT, INK, Layer, Look, Plate, Shape, Words, ink};
use crate::scene::{Point, Rect, at};
use crate::sheet::SAFETY;
use crate::text::wrap;

/// Size of a title \[mm\].
const TITLE: f64 = 2.4;
/// Size of names of terminals and of ratings \[mm\].
const NAME: f64 = 2.2;
/// Width of the title block \[mm\].
const BLOCK: f64 = 92.0;

/// One sheet.
pub fn plate(
    system: &System,
    laid: &Laid,
    title: &str,
    (page, count): (usize, usize),
    sheet_of: &[usize],
) -> Plate {
    let width = PAPER.0.max(laid.size.0 + 2.0 * MARGIN);
    let height = PAPER.1.max(laid.size.1 + 2.0 * MARGIN + STRIP);
    let mut plate = Plate::new(format!("Wiring diagram of {}, sheet {page}", system.name), width, height);
    let off = at(
        MARGIN + (width - 2.0 * MARGIN - laid.size.0) / 2.0,
        MARGIN + (height - 2.0 * MARGIN - STRIP - laid.size.1) / 2.0,
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
    furniture(&mut plate, system, title, page, count, laid);
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
        plate.words(Layer::Text, above.corner(label.x, label.y - 2.75));
        plate.words(Layer::Text, below.corner(label.x, label.y + 0.65));
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
        Shape::Symbol(glyph, at(corner.x + 4.8, corner.y + HEAD / 2.0), 0, scale),
        ink(0.35),
    );
    let mut lines: Vec<Words> = wrap(&device.title, TITLE, true, BOX - 10.4, 2)
        .into_iter()
        .map(|line| Words::new(line, TITLE).bold())
        .collect();
    let rating = crate::words::rating(device).into_iter().next().unwrap_or_default();
    lines.extend(wrap(&rating, NAME, false, BOX - 10.4, 1).into_iter().map(|line| Words::new(line, NAME)));
    plate.lines(Layer::Text, corner.x + 9.4, corner.y + 0.7, lines);
    let used: BTreeSet<usize> =
        stand.left.iter().chain(&stand.right).filter_map(|port| port.terminal).collect();
    for terminal in used {
        let Some(name) = device.terminals.get(terminal).map(|terminal| terminal.name.as_str()) else {
            continue;
        };
        let rows = |ports: &[super::lay::Port]| -> Vec<f64> {
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
        let words = Words::new(wrap(name, NAME, false, 20.8, 1).join(""), NAME);
        if let (Some(a), Some(_)) = (left.first(), right.first()) {
            // Through the box: the name stands over the line that joins both sides.
            plate.line(Layer::Devices, at(corner.x + 1.6, *a), at(corner.x + BOX - 1.6, *a), ink(0.6));
            plate.words(Layer::Text, words.middle(corner.x + BOX / 2.0, a - 1.9));
        } else if let Some(y) = left.first() {
            plate.words(Layer::Text, words.start(corner.x + 2.4, *y));
        } else if let Some(y) = right.first() {
            plate.words(Layer::Text, words.end(corner.x + BOX - 2.4, *y));
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
    let second = Words::new(wrap(terminal, NAME, false, BOX - 3.6, 1).join(""), NAME);
    for (words, y) in [(first, y - 1.5), (second, y + 1.5)] {
        let set = if is_left { words.start(corner.x + 3.0, y) } else { words.end(corner.x + BOX - 3.0, y) };
        plate.words(Layer::Text, set);
    }
}

fn furniture(plate: &mut Plate, system: &System, title: &str, page: usize, count: usize, laid: &Laid) {
    let (w, h) = (plate.width, plate.height);
    plate.rect(Layer::Sheet, Rect { x: 7.0, y: 7.0, w: w - 14.0, h: h - 14.0 }, ink(0.45));
    let top = h - 7.0 - STRIP + 1.0;
    plate.line(Layer::Sheet, at(7.0, top), at(w - 7.0, top), ink(0.45));
    let x = w - 7.0 - BLOCK;
    plate.line(Layer::Sheet, at(x, top), at(x, h - 7.0), ink(0.45));
    plate.line(
        Layer::Sheet,
        at(x, top),
        at(w - 7.0, top),
        Look { stroke: ACCENT, width: 0.8, dash: "", fill: "" },
    );
    let mut lines: Vec<Words> = wrap(&system.name, 4.0, true, BLOCK - 8.0, 1)
        .into_iter()
        .map(|line| Words::new(line, 4.0).bold())
        .collect();
    lines.push(Words::new(format!("Wiring diagram, sheet {page} of {count}"), 3.0).bold());
    lines.extend(wrap(title, 2.5, true, BLOCK - 8.0, 2).into_iter().map(|line| Words::new(line, 2.5)));
    let rules = match system.rules {
        RuleSet::Na => "na, North America",
        RuleSet::Iec => "iec, IEC",
    };
    let ac = system.ac_voltage.map_or_else(String::new, |voltage| format!(", {voltage} AC"));
    lines.push(Words::new(format!("{} DC{ac}; rule set {rules}; A3, full size", system.voltage), 2.3));
    lines.push(Words::new("Danger to life and property", 2.6).bold().accent());
    lines.extend(wrap(SAFETY, 2.3, false, BLOCK - 8.0, 4).into_iter().map(|line| Words::new(line, 2.3)));
    plate.lines(Layer::Sheet, x + 4.0, top + 1.2, lines);
    keys(plate, system, top, laid);
}

/// The colours on this sheet, and how to read a line.
fn keys(plate: &mut Plate, system: &System, top: f64, laid: &Laid) {
    let mut seen: BTreeSet<(&'static str, String, &'static str)> = BTreeSet::new();
    let mut samples = Vec::new();
    for line in &laid.lines {
        let Some(conductor) = system.conductors.get(line.wire).filter(|conductor| !conductor.is_internal)
        else {
            continue;
        };
        let name = words::colour(system, conductor).name;
        let code = words::code(&name);
        let of = if system.circuits.get(conductor.circuit).is_some_and(|c| c.kind == model::CircuitKind::Bond)
        {
            "bond"
        } else {
            conductor.pole.word()
        };
        if seen.insert((code, name.clone(), of)) {
            samples.push((line.wire, format!("{code}  {name}: {of}")));
        }
    }
    samples.sort_by(|a, b| a.1.cmp(&b.1));
    for (ix, (wire, word)) in samples.into_iter().enumerate() {
        let (x, y) = (13.0 + 62.0 * (ix / 5) as f64, top + 5.0 + 5.8 * (ix % 5) as f64);
        stroke(plate, system, wire, vec![at(x, y), at(x + 12.0, y)]);
        plate.words(Layer::Sheet, Words::new(word, NAME).start(x + 14.0, y));
    }
    let x = 13.0 + 62.0 * 2.0;
    let notes = [
        "Above a line: run number and colour; below: size and length one way.",
        "Colour letters as in IEC 60757. A thin line is a link inside an assembly.",
        "An arrow names the run, the sheet and the terminal where it goes on.",
        "Lines join only at terminals; lines that cross are not joined.",
    ];
    for (ix, note) in notes.into_iter().enumerate() {
        plate.words(Layer::Sheet, Words::new(note, NAME).start(x + 2.0, top + 5.0 + 5.8 * ix as f64));
    }
}
