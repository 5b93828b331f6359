//! The strings of a bank, one above the other, with the links or the gathering busbar at their ends.
//! Never: draws a link that does not run between neighbours; such a link is handed back to be listed.
//! Start at [`Rows::draw`].

use model::{ConductorIx, DeviceIx, Pole};

use crate::graph::Strand;
use crate::scene::{Anchor, Facing, Label, Line, Scene, Stroke, at, size};
use crate::storage::way_back_width;
use crate::text::{MAIN, wrap};
use crate::tree::{GAP, Grower};
use crate::words::{chemistry, rating};

/// From string to string \[mm\].
pub const PITCH: f64 = 14.5;
/// Room of a battery without its text \[mm\].
const CELL: f64 = 16.0;
/// Half a battery symbol \[mm\].
pub const HALF: f64 = 4.0;

/// The strings while they are drawn.
pub struct Rows<'a> {
    /// What draws.
    pub grower: &'a Grower<'a>,
    /// What is drawn so far.
    pub scene: Scene,
    /// Links that could not be drawn.
    pub apart: Vec<ConductorIx>,
    /// The batteries of each string, from its negative end.
    pub strings: Vec<Vec<DeviceIx>>,
    /// The line of each string to the busbar that gathers them; empty where links join them.
    pub strands: Vec<Strand>,
    /// Whether a busbar gathers the negative ends.
    pub has_back_bar: bool,
    /// Height of the lowest string.
    pub bottom: f64,
    /// Where the positive ends meet.
    pub x_positive: f64,
    /// Where the negative ends meet.
    pub x_negative: f64,
    /// Where the way back runs down.
    pub x_back: f64,
}

impl Rows<'_> {
    /// The height of a string's line; the first string stands lowest, nearest the busbar.
    pub fn level(&self, row: usize) -> f64 {
        self.bottom - row as f64 * PITCH
    }

    fn place(&self, battery: DeviceIx) -> Option<(usize, usize)> {
        self.strings
            .iter()
            .enumerate()
            .find_map(|(row, string)| Some((row, string.iter().position(|ix| *ix == battery)?)))
    }

    /// Draws all strings; the first battery is that at the end of the line up.
    pub fn draw(&mut self, first: DeviceIx) {
        let grower = self.grower;
        let system = grower.system;
        let widest = self.strings.iter().map(Vec::len).max().unwrap_or(1);
        let text = |device: DeviceIx, is_first: bool| {
            let device = &system.devices[device];
            let mut lines: Vec<Line> =
                wrap(&device.title, MAIN, true, 34.0, 1).into_iter().map(Line::title).collect();
            if !is_first && rating(device) != rating(&system.devices[first]) {
                lines.extend(rating(device).into_iter().map(Line::small));
            }
            lines
        };
        let cell = self
            .strings
            .iter()
            .flatten()
            .map(|ix| size(&text(*ix, *ix == first)).0 + 3.0)
            .fold(CELL, f64::max);

        // Which links run along a rail, and how wide their text is.
        let mut rails: Vec<(ConductorIx, usize, bool)> = Vec::new();
        let mut inner: Vec<(ConductorIx, usize, usize)> = Vec::new();
        for link in &grower.net.links {
            let conductor = &system.conductors[*link];
            let pole = |end: model::TerminalRef| system.terminal(end).map(|terminal| terminal.pole);
            let ends = (self.place(conductor.from.device), self.place(conductor.to.device));
            let (Some((row_a, place_a)), Some((row_b, place_b))) = ends else {
                self.apart.push(*link);
                continue;
            };
            let poles = (pole(conductor.from), pole(conductor.to));
            let is_last = |row: usize, place: usize| self.strings[row].len() == place + 1;
            let row = row_a.min(row_b);
            let is_next = row_a.abs_diff(row_b) == 1;
            let both = |pole: Pole| poles == (Some(pole), Some(pole));
            let is_railed = self.strands.is_empty();
            if is_railed
                && is_next
                && both(Pole::Positive)
                && is_last(row_a, place_a)
                && is_last(row_b, place_b)
            {
                rails.push((*link, row, true));
            } else if is_railed && is_next && both(Pole::Negative) && place_a == 0 && place_b == 0 {
                rails.push((*link, row, false));
            } else if row_a == row_b && place_a.abs_diff(place_b) == 1 && poles.0 != poles.1 {
                inner.push((*link, row_a, place_a.min(place_b)));
            } else {
                self.apart.push(*link);
            }
        }
        // A second conductor along the same place is listed, not drawn over the first.
        let mut used = Vec::new();
        rails.retain(|(link, row, is_positive)| {
            let is_new = !used.contains(&(*row, *is_positive));
            used.push((*row, *is_positive));
            if !is_new {
                self.apart.push(*link);
            }
            is_new
        });
        let run_width = |link: ConductorIx| size(&grower.run(link)).0;
        let room = |is_positive: bool| {
            let widths =
                rails.iter().filter(|(_, _, side)| *side == is_positive).map(|(link, ..)| run_width(*link));
            widths.fold(0.0, f64::max)
        };
        let gap =
            inner.iter().map(|(link, ..)| run_width(*link) + 3.0 - (cell - 2.0 * HALF)).fold(0.0, f64::max);
        let step = cell + gap;
        let margin = |width: f64| if width > 0.0 { width + GAP + 3.0 } else { 5.0 };
        let strand_room = self.strands.iter().map(|strand| strand_width(grower, strand)).fold(0.0, f64::max);
        self.x_positive = if self.strands.is_empty() { -margin(room(true)) } else { -strand_room };
        let x_start = self.x_positive - widest as f64 * step;
        self.x_negative = x_start - if self.strands.is_empty() { 0.0 } else { 3.0 };
        let back_right = way_back_width(grower);
        let bar_name = grower.net.root.map_or(0.0, |root| size(&grower.about(root)).0);
        // The way back and its text stand left of the line up.
        self.x_back = (self.x_negative - margin(room(false))).min(-back_right - 10.0).min(-bar_name - 13.0);

        if self.has_back_bar {
            self.x_negative = self.x_negative.min(self.x_back);
            self.x_back = self.x_negative;
        }

        for row in 0..self.strings.len() {
            let y = self.level(row);
            let string = self.strings[row].clone();
            let mut x = self.x_negative;
            for (place, device) in string.iter().enumerate() {
                let middle = x_start + (place as f64 + 0.5) * step;
                let wires = inner.iter().filter(|(_, at, between)| *at == row && *between + 1 == place);
                let links: Vec<ConductorIx> = wires.map(|(link, ..)| *link).collect();
                self.scene.wire(&[at(x, y), at(middle - HALF, y)], Stroke::Direct, links.clone());
                if let (Some(link), true) = (links.first(), place > 0) {
                    let label = Label::new(grower.run(*link)).of_conductor(*link);
                    let h = label.rect.h;
                    self.scene.labels.push(label.beside(
                        middle - step / 2.0,
                        y + 0.8 + h / 2.0,
                        Anchor::Middle,
                    ));
                }
                let symbol = grower.symbol(*device, middle - HALF, y, Facing::Right);
                let label = Label::new(text(*device, *device == first)).of_device(*device);
                let h = label.rect.h;
                self.scene.labels.push(label.beside(middle, symbol.rect.y - 0.6 - h / 2.0, Anchor::Middle));
                x = symbol.rect.right();
                self.scene.symbols.push(symbol);
            }
            match self.strands.get(row).cloned() {
                Some(strand) => self.strand(&strand, x, y),
                None => self.scene.wire(&[at(x, y), at(self.x_positive, y)], Stroke::Direct, Vec::new()),
            }
        }
        for (link, row, is_positive) in &rails {
            let (low, high) = (self.level(*row), self.level(row + 1));
            let (x, edge, side, stroke) = if *is_positive {
                (self.x_positive, self.x_positive + GAP, Anchor::Start, Stroke::Direct)
            } else {
                (self.x_negative, self.x_negative - GAP, Anchor::End, Stroke::Return)
            };
            self.scene.wire(&[at(x, low), at(x, high)], stroke, vec![*link]);
            let label = Label::new(grower.run(*link)).of_conductor(*link);
            self.scene.labels.push(label.beside(edge, (low + high) / 2.0, side));
            self.scene.dots.extend([at(x, low), at(x, high)]);
        }
        self.heading(first);
    }

    /// The line from a string to the busbar at x = 0 that gathers the strings.
    fn strand(&mut self, strand: &Strand, from: f64, y: f64) {
        let grower = self.grower;
        let mut x = 0.0;
        // From the busbar back to the battery.
        for (conductor, device) in &strand.inline {
            let symbol = grower.symbol(*device, 0.0, y, Facing::Right);
            let end = x - run_room(grower, *conductor, Some(*device));
            self.scene.wire(&[at(end, y), at(x, y)], grower.stroke(*conductor), grower.all_of(*conductor));
            self.run(*conductor, end, y);
            let device_text = self.grower.system.devices.get(*device).map(rating).unwrap_or_default();
            let lines = device_text.into_iter().map(Line::small).collect();
            self.scene.labels.push(Label::new(lines).of_device(*device).above(end + 0.9, y - 0.5));
            x = end - symbol.rect.w;
            self.scene.symbols.push(grower.symbol(*device, x, y, Facing::Right));
        }
        self.scene.wire(&[at(from, y), at(x, y)], grower.stroke(strand.last), grower.all_of(strand.last));
        self.run(strand.last, x - run_room(grower, strand.last, None), y);
    }

    fn run(&mut self, conductor: ConductorIx, x: f64, y: f64) {
        let label = Label::new(self.grower.run(conductor)).of_conductor(conductor);
        if !label.lines.is_empty() {
            self.scene.labels.push(label.below(x + 1.4, y + 0.7));
        }
    }

    /// What the bank is as a whole, above it.
    fn heading(&mut self, first: DeviceIx) {
        let system = self.grower.system;
        let count: usize = self.strings.iter().map(Vec::len).sum();
        let mut lines: Vec<Line> = Vec::new();
        let of = rating(&system.devices[first]).join(" ");
        let text = match (count, &system.bank) {
            (1, _) => vec![of],
            (_, Some(bank)) => vec![
                format!("{count} × {of}"),
                format!("{} in series, {} in parallel", bank.series, bank.parallel),
                format!("{} {}, {}", bank.capacity, chemistry(bank.chemistry), bank.energy),
            ],
            (_, None) => vec![format!("{count} × {of}")],
        };
        lines.extend(text.into_iter().map(Line::small));
        let label = Label::new(lines).of_device(first);
        let top = self.level(self.strings.len().saturating_sub(1)) - HALF - 5.2;
        let middle = (self.x_positive + self.x_negative) / 2.0;
        let h = label.rect.h;
        self.scene.labels.push(label.beside(middle, top - h / 2.0, Anchor::Middle));
    }
}

/// Length that the text of a conductor, and that of the device at its left end, take \[mm\].
fn run_room(grower: &Grower<'_>, conductor: ConductorIx, device: Option<DeviceIx>) -> f64 {
    let run = size(&grower.run(conductor)).0;
    let text = device.and_then(|device| grower.system.devices.get(device)).map(rating).unwrap_or_default();
    let text = size(&text.into_iter().map(Line::small).collect::<Vec<_>>()).0;
    f64::max(run, text) + 3.0
}

/// Length of the line from the busbar that gathers the strings to a battery's cell \[mm\].
fn strand_width(grower: &Grower<'_>, strand: &Strand) -> f64 {
    let inline = strand.inline.iter().map(|(conductor, device)| {
        run_room(grower, *conductor, Some(*device)) + grower.symbol(*device, 0.0, 0.0, Facing::Right).rect.w
    });
    inline.sum::<f64>() + run_room(grower, strand.last, None)
}
