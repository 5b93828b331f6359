//! A label for each end of each conductor, and sheets of them as pages to print.
//! Never: knows a brand of labels; a grid is rows, columns, pitch and margins.
//! Start at [`labels`] and [`label_pages`].

use std::fmt::Write;

use qrcode::{Color, EcLevel, QrCode};
use reference::RuleSet;
use serde::Serialize;

use crate::cables::{CableEnd, CableRow};
use crate::markup::escaped;
use crate::shop::{LabelGrid, label_grids};

/// One label.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Label {
    /// Run number.
    pub run: u32,
    /// The conductor's id.
    pub conductor: String,
    /// Size and colour letter: `2/0 AWG R`.
    pub size: String,
    /// The end that it is put on: `bank-1.positive`.
    pub here: String,
    /// The other end.
    pub there: String,
    /// Fuses or breakers of its circuit; empty where there is none.
    pub fuse: String,
}

impl Label {
    /// Its lines, the run number first.
    pub fn lines(&self) -> [String; 3] {
        let fuse = if self.fuse.is_empty() { String::new() } else { format!(", {}", self.fuse) };
        [
            format!("{}  {}{fuse}", self.run, self.size),
            format!("here {}", self.here),
            format!("to {}", self.there),
        ]
    }

    /// What its square code says.
    pub fn code(&self) -> String {
        format!("run {} {}", self.run, self.conductor)
    }
}

/// Two labels a conductor, in the order of the cable schedule.
pub fn labels(rows: &[CableRow]) -> Vec<Label> {
    let end = |end: &CableEnd| format!("{}.{}", end.device, end.terminal);
    let label = |row: &CableRow, here: &CableEnd, there: &CableEnd| Label {
        run: row.number,
        conductor: row.id.clone(),
        size: format!("{} {}", row.gauge.brief(), row.colour.letter),
        here: end(here),
        there: end(there),
        fuse: row.protected_by.join(", "),
    };
    rows.iter().flat_map(|row| [label(row, &row.from, &row.to), label(row, &row.to, &row.from)]).collect()
}

/// How labels are printed.
#[derive(Clone, Debug, PartialEq)]
pub struct Labelling {
    /// The sheets of labels.
    pub grid: LabelGrid,
    /// Whether each has a square code beside its words.
    pub with_code: bool,
}

impl Labelling {
    /// Three labels across a sheet of the rule set's paper, with codes.
    pub fn usual(rules: RuleSet) -> Option<Self> {
        Self::on(match rules {
            RuleSet::Na => "letter",
            RuleSet::Iec => "a4",
        })
    }

    /// Three labels across a sheet of a paper, `a4` or `letter`, with codes.
    pub fn on(paper: &str) -> Option<Self> {
        let is_on = |grid: &LabelGrid| grid.name.split(' ').next() == Some(paper) && grid.columns == 3;
        let grid = label_grids().into_iter().find(is_on)?;
        Some(Self { grid, with_code: true })
    }

    /// Sheets that a number of labels takes.
    pub fn sheets(&self, labels: usize) -> usize {
        labels.div_ceil((self.grid.columns * self.grid.rows).max(1) as usize)
    }
}

/// Height of a line of text [mm], and of its letters.
const LINE: f64 = 2.7;
const LETTERS: f64 = 2.1;
/// Smallest letters that are still read [mm]; a longer text is cut with an ellipsis.
const SMALLEST: f64 = 1.3;
/// Width of a letter over its height; common practice for a sans-serif face, the widest letters in it.
const WIDE: f64 = 0.62;
/// Distance of text from the label's edge [mm].
const INSET: f64 = 1.5;
/// Largest side of the square code [mm].
const CODE: f64 = 14.0;

/// Pages of labels as SVG, in true size. The text is repeated down the label, so that it is read from every side of the cable.
pub fn label_pages(labels: &[Label], labelling: &Labelling) -> Vec<String> {
    let Labelling { grid, with_code } = labelling;
    let on_page = (grid.columns * grid.rows).max(1) as usize;
    labels.chunks(on_page).map(|chunk| page(chunk, grid, *with_code)).collect()
}

fn page(labels: &[Label], grid: &LabelGrid, with_code: bool) -> String {
    let mm = |length: quantity::Metres| length.get() * 1000.0;
    let (width, height) = (mm(grid.page.0), mm(grid.page.1));
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\" \
         font-family=\"Arial, Helvetica, sans-serif\" fill=\"#000\">\n<title>Labels, {}</title>\n\
         <rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n",
        escaped(&grid.name)
    );
    let columns = grid.columns.max(1) as usize;
    for (ix, label) in labels.iter().enumerate() {
        let left = mm(grid.margin.0) + mm(grid.pitch.0) * (ix % columns) as f64;
        let top = mm(grid.margin.1) + mm(grid.pitch.1) * (ix / columns) as f64;
        one(&mut svg, label, (left, top), (mm(grid.label.0), mm(grid.label.1)), with_code);
    }
    svg.push_str("</svg>\n");
    svg
}

// Writing into a String cannot fail.
fn one(
    svg: &mut String,
    label: &Label,
    (left, top): (f64, f64),
    (width, height): (f64, f64),
    with_code: bool,
) {
    let mut text_left = left + INSET;
    if with_code {
        let side = CODE.min(height - 2.0 * INSET);
        code(svg, &label.code(), (text_left, top + INSET), side);
        text_left += side + INSET;
    }
    let room = left + width - INSET - text_left;
    let lines = label.lines();
    let times = (((height - 2.0 * INSET) / LINE / lines.len() as f64).floor()).max(1.0) as usize;
    // A label lower than three lines gets what fits: the run number first.
    let fitting = (((height - 2.0 * INSET) / LINE).floor().max(1.0) as usize).min(lines.len() * times);
    for (row, line) in lines.iter().cycle().take(fitting).enumerate() {
        let (size, words) = fitted(line, room);
        let weight = if row % lines.len() == 0 { " font-weight=\"bold\"" } else { "" };
        let base = top + INSET + LINE * row as f64 + LETTERS;
        let _ = writeln!(
            svg,
            "<text x=\"{text_left:.2}\" y=\"{base:.2}\" font-size=\"{size:.2}\"{weight}>{}</text>",
            escaped(&words)
        );
    }
}

/// Letters small enough for the room, and the text, cut where the smallest are too large.
fn fitted(line: &str, room: f64) -> (f64, String) {
    let count = line.chars().count().max(1);
    let size = (room / (count as f64 * WIDE)).min(LETTERS);
    if size >= SMALLEST {
        return (size, line.to_owned());
    }
    let keep = ((room / (SMALLEST * WIDE)).floor().max(2.0) as usize).saturating_sub(1);
    (SMALLEST, line.chars().take(keep).chain(['…']).collect())
}

/// The square code as one path; left out where the text is too long for one.
fn code(svg: &mut String, text: &str, (left, top): (f64, f64), side: f64) {
    let Ok(code) = QrCode::with_error_correction_level(text.as_bytes(), EcLevel::M) else { return };
    let width = code.width();
    // Four modules of white on each side, as the standard wants (ISO/IEC 18004).
    let step = side / (width + 8) as f64;
    let mut path = String::new();
    // Dark modules side by side are one bar, so that the path is half as long.
    for (row, modules) in code.to_colors().chunks(width).enumerate() {
        let mut from = 0;
        for run in modules.chunk_by(|one, next| one == next) {
            if run.first() == Some(&Color::Dark) {
                let _ = write!(path, "M{from} {row}h{}v1h-{0}z", run.len());
            }
            from += run.len();
        }
    }
    let _ = writeln!(
        svg,
        "<path transform=\"translate({:.3} {:.3}) scale({step:.4})\" d=\"{path}\"/>",
        left + 4.0 * step,
        top + 4.0 * step
    );
}
