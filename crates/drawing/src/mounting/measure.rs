//! Measures, hole table, scale bar, keys and title block of the board drawing.
//! Never: rounds a place; the board is in whole millimetres.
//! Start at [`measures`] and [`furniture`].

use board::{HoleUse, Layout};
use model::{Craft, System};
use quantity::Written;

use super::{BELOW, Frame, STRIP};
use crate::free::Free;
use crate::plate::{ACCENT, INK, Layer, Look, PAPER, Plate, Shape, Words, ink};
use crate::scene::{Point, Rect, at};
use crate::sheet::SAFETY;
use crate::text::{self, wrap};

/// Height of a row of the hole table \[mm\].
const ROW: f64 = 4.4;
/// Widths of its columns: number, x, y, diameter; what for at least \[mm\].
const COLUMNS: [f64; 5] = [10.0, 14.0, 14.0, 13.0, 52.0];
/// Size of its text \[mm\].
const CELL: f64 = 2.8;
/// Length of the scale bar \[mm\].
pub const SCALE_BAR: f64 = 100.0;

fn rows_in(height: f64, print: f64) -> usize {
    (((height - 12.0) / ROW / print).floor() as usize).max(8)
}

/// What a hole is for.
fn purpose(hole: &board::Hole) -> String {
    match hole.is_for {
        HoleUse::Device => format!("screw of {}", hole.device),
        HoleUse::Cables => format!("grommet, cables of {}", hole.device),
        HoleUse::Board => "screw of the board".to_owned(),
    }
}

/// Widths of the columns of the hole table, so that nothing in it is cut.
fn columns(layout: &Layout) -> [f64; 5] {
    let [number, x, y, diameter, least] = COLUMNS;
    let wide = layout.holes.iter().map(|hole| text::width(&purpose(hole), CELL, false) + 2.5);
    [number, x, y, diameter, wide.fold(least, f64::max)]
}

/// Width that the hole table takes at the right of a board so high.
pub fn table_width(layout: &Layout, height: f64, print: f64) -> f64 {
    let blocks = layout.holes.len().div_ceil(rows_in(height, print)).max(1);
    blocks as f64 * (columns(layout).iter().sum::<f64>() + 5.0) * print
}

/// A number with one decimal at most.
pub fn tenth(value: f64) -> String {
    format!("{}", (value * 10.0).round() / 10.0 + 0.0)
}

/// Overall measures, and a chain along the lower and the left edge over every corner and every screw of the board.
pub fn measures(plate: &mut Plate, layout: &Layout, frame: &Frame, free: &mut Free) {
    let corners: Vec<(i32, i32)> = super::edge::edges(&layout.plan)
        .into_iter()
        .flatten()
        .chain(layout.plan.fixings_mm.iter().copied())
        .collect();
    let mut xs: Vec<i32> = corners.iter().map(|corner| corner.0).collect();
    let mut ys: Vec<i32> = corners.iter().map(|corner| corner.1).collect();
    for list in [&mut xs, &mut ys] {
        list.sort_unstable();
        list.dedup();
    }
    for (level, stops) in [(true, &xs), (false, &ys)] {
        let whole: Vec<i32> = stops.first().into_iter().chain(stops.last()).copied().collect();
        let chain = if stops.len() > 2 { stops.clone() } else { Vec::new() };
        for (stops, away) in [(chain, 9.0), (whole, 21.0)] {
            dimension(plate, frame, free, level, &stops, away);
        }
    }
}

/// One line of measures between stops, `away` from the edge.
fn dimension(plate: &mut Plate, frame: &Frame, free: &mut Free, is_level: bool, stops: &[i32], away: f64) {
    let spot = |along: i32, out: f64| -> Point {
        if is_level {
            at(frame.left + f64::from(along), frame.foot + out)
        } else {
            at(frame.left - out, frame.foot - f64::from(along))
        }
    };
    for pair in stops.windows(2) {
        let (a, b) = (spot(pair[0], away), spot(pair[1], away));
        plate.line(Layer::Dimensions, a, b, ink(0.25));
        free.mind_line(&[a, b], 0.6, 4.0);
        let middle = at((a.x + b.x) / 2.0, (a.y + b.y) / 2.0);
        let mut words = Words::new((pair[1] - pair[0]).to_string(), 3.2 * frame.print.min(1.5));
        if !is_level {
            words = words.turned();
        }
        // Over the line; where that is taken, further out, then further still.
        for out in [-3.2, 3.4, 8.0, -7.6] {
            let set = if is_level {
                words.clone().middle(middle.x, middle.y + out)
            } else {
                words.clone().middle(middle.x - out, middle.y)
            };
            if free.is_free(&set.rect()) {
                free.take(set.rect());
                plate.words(Layer::Dimensions, set);
                break;
            }
        }
    }
    for stop in stops {
        let (near, far, mark) = (spot(*stop, 1.5), spot(*stop, away + 2.0), spot(*stop, away));
        plate.line(Layer::Dimensions, near, far, ink(0.18));
        // Oblique ticks as in ISO 129-1.
        plate.line(
            Layer::Dimensions,
            at(mark.x - 1.1, mark.y + 1.1),
            at(mark.x + 1.1, mark.y - 1.1),
            ink(0.45),
        );
    }
}

/// Hole table, scale bar, keys, notes, title block, frame.
pub fn furniture(plate: &mut Plate, layout: &Layout, system: &System, frame: &Frame) {
    let border = Rect { x: 6.0, y: 6.0, w: plate.width - 12.0, h: plate.height - 12.0 };
    plate.rect(Layer::Sheet, border, ink(0.5));
    let head =
        Words::new("Front view, full size 1:1, millimetres from the lower left corner", 3.2 * frame.print);
    let half = head.extent().0 / 2.0;
    plate.words(Layer::Sheet, head.middle(frame.centre_x().max(half + 12.0), 14.0));
    scale_bar(plate, 14.0, frame.foot + BELOW - 6.0, frame.print);
    // Tables and words are made for a small board, then as large as print is here.
    let corner = at(frame.left + frame.width + 16.0, frame.foot - frame.height);
    let (low, right) = (plate.height - 6.0, plate.width - 6.0);
    for (about, part) in [(corner, 0), (at(6.0, low), 1), (at(right, low), 2)] {
        let first = plate.marks.len();
        match part {
            0 => hole_table(plate, layout, frame),
            1 => keys(plate, 14.0, low - 34.0),
            _ => title(plate, layout, system, low - STRIP),
        }
        plate.marks.iter_mut().skip(first).for_each(|mark| mark.scaled(frame.print, about));
    }
}

fn hole_table(plate: &mut Plate, layout: &Layout, frame: &Frame) {
    let rows = rows_in(frame.height, frame.print);
    let columns = columns(layout);
    let width: f64 = columns.iter().sum();
    for (block, holes) in layout.holes.chunks(rows).enumerate() {
        let x = frame.left + frame.width + 16.0 + block as f64 * (width + 5.0);
        let y = frame.foot - frame.height;
        let row = |plate: &mut Plate, at_row: usize, cells: [String; 5], is_head: bool| {
            let middle = y + (at_row as f64 + 0.5) * ROW;
            let mut left = x;
            for (ix, (cell, wide)) in cells.into_iter().zip(columns).enumerate() {
                let text = wrap(&cell, CELL, is_head, wide - 2.0, 1).into_iter().next().unwrap_or_default();
                let words = Words { is_bold: is_head, ..Words::new(text, CELL) };
                let set = if ix == 4 {
                    words.start(left + 1.0, middle)
                } else {
                    words.end(left + wide - 1.5, middle)
                };
                plate.words(Layer::Sheet, set);
                left += wide;
            }
            let line = y + (at_row as f64 + 1.0) * ROW;
            plate.line(Layer::Sheet, at(x, line), at(x + width, line), ink(if is_head { 0.4 } else { 0.12 }));
        };
        let head = ["Hole", "x", "y", "ø", "For"].map(str::to_owned);
        row(plate, 0, head, true);
        for (ix, hole) in holes.iter().enumerate() {
            plate.of = Some(("data-row", (block * rows + ix + 1).to_string()));
            let cells = [
                (block * rows + ix + 1).to_string(),
                hole.x_mm.to_string(),
                hole.y_mm.to_string(),
                tenth(hole.diameter.get() * 1000.0),
                purpose(hole),
            ];
            row(plate, ix + 1, cells, false);
        }
        plate.of = None;
    }
}

/// A bar of exactly 100 mm, to hold a ruler against.
fn scale_bar(plate: &mut Plate, x: f64, y: f64, print: f64) {
    plate.of = Some(("data-scale", tenth(SCALE_BAR)));
    for tenth in 0..10 {
        let fill = if tenth % 2 == 0 { INK } else { "#ffffff" };
        let rect = Rect { x: x + f64::from(tenth) * SCALE_BAR / 10.0, y, w: SCALE_BAR / 10.0, h: 3.0 };
        // Without a stroke the ends of the bar are exactly where they must be.
        plate.rect(Layer::Sheet, rect, Look { stroke: "", width: 0.0, dash: "", fill });
    }
    plate.of = None;
    let edge = Look { stroke: INK, width: 0.2, dash: "", fill: "" };
    for y in [y - 0.1, y + 3.1] {
        plate.line(Layer::Sheet, at(x, y), at(x + SCALE_BAR, y), edge);
    }
    plate.words(
        Layer::Sheet,
        Words::new("100 mm: measure this bar on the paper before drilling", 3.0 * print)
            .start(x + SCALE_BAR + 3.0, y + 1.5),
    );
}

fn keys(plate: &mut Plate, x: f64, y: f64) {
    let keys = [
        ("", "DC: direct current, full line"),
        ("7 3.5", "AC: alternating current, dashed"),
        ("7 2 1 2", "PE: bond or earth by itself, dash and dot"),
    ];
    for (ix, (dash, word)) in keys.into_iter().enumerate() {
        let y = y + 5.6 * ix as f64;
        let line = Shape::Line(vec![at(x, y), at(x + 24.0, y)], 0.0);
        plate.add(Layer::Sheet, line.clone(), Look { stroke: INK, width: 3.4, dash: "", fill: "" });
        plate.extra(Layer::Sheet, line.clone(), Look { stroke: PAPER, width: 2.7, dash: "", fill: "" });
        plate.extra(Layer::Sheet, line, Look { stroke: INK, width: 0.6, dash, fill: "" });
        plate.words(Layer::Sheet, Words::new(word, 2.8).start(x + 27.0, y));
    }
    let notes = [
        "A cable is drawn as thick as it is. The bold number is its run; + − L N PE are its poles.",
        "Cables on the same way are drawn beside each other; lengths are those of the cable schedule.",
        "Hole: number and diameter (ø) as in the table. The arrow on a device shows which way is up.",
    ];
    for (ix, note) in notes.into_iter().enumerate() {
        plate.words(Layer::Sheet, Words::new(note, 2.8).start(x, y + 17.4 + 4.4 * ix as f64));
    }
}

fn title(plate: &mut Plate, layout: &Layout, system: &System, top: f64) {
    const WIDE: f64 = 104.0;
    let x = plate.width - 6.0 - WIDE;
    plate.rect(Layer::Sheet, Rect { x, y: top, w: WIDE, h: STRIP }, ink(0.5));
    let craft = match system.craft {
        Craft::Van => "van",
        Craft::Boat => "boat",
        Craft::Trailer => "trailer",
        Craft::Workshop => "mobile workshop",
        Craft::Hut => "hut",
    };
    let plan = &layout.plan;
    let (width, height) = plan.outline.extent();
    let mut lines: Vec<Words> = wrap(&system.name, 5.0, true, WIDE - 8.0, 1)
        .into_iter()
        .map(|line| Words::new(line, 5.0).bold())
        .collect();
    lines.push(Words::new("Mounting board", 3.6).bold());
    lines.push(Words::new(format!("{craft}, {} DC, rule set {}", system.voltage, system.rules), 2.8));
    lines.push(Words::new(
        format!(
            "{width} × {height} mm, {} {}, {}",
            plan.thickness.show(),
            plan.material.word(),
            plan.orientation.word()
        ),
        2.8,
    ));
    lines.push(Words::new(
        format!("{} with everything on it, {} holes", layout.mass(), layout.holes.len()),
        2.8,
    ));
    if !layout.left_over.is_empty() {
        let names: Vec<&str> = layout.left_over.iter().map(|left| left.title.as_str()).collect();
        let text = format!("Without a place: {}", names.join(", "));
        lines.extend(
            wrap(&text, 2.8, true, WIDE - 8.0, 2)
                .into_iter()
                .map(|line| Words::new(line, 2.8).bold().accent()),
        );
    }
    lines.push(Words::new("Danger to life and property", 3.0).bold().accent());
    lines.extend(wrap(SAFETY, 2.6, false, WIDE - 8.0, 5).into_iter().map(|line| Words::new(line, 2.6)));
    plate.lines(Layer::Sheet, x + 4.0, top + 2.0, lines);
    plate.line(
        Layer::Sheet,
        at(x, top),
        at(x + WIDE, top),
        Look { stroke: ACCENT, width: 0.8, dash: "", fill: "" },
    );
}
