//! A bus with what it feeds: level rows to the right, in one or more columns, then whole blocks beside them.
//! Never: lets a row touch the next; each row knows its height from its own text.
//! Start at [`Grower::comb`].

use model::{ConductorIx, DeviceIx, Spec};

use crate::graph::{Kid, is_inline};
use crate::scene::{Anchor, Facing, Label, Line, Rect, Scene, Stroke, Symbol, Wire, at};
use crate::symbols::Glyph;
use crate::text::{SMALL, wrap};
use crate::tree::{Block, Grower, Way};
use crate::words::NAME;

/// Least half of a row \[mm\].
const HALF: f64 = 3.6;
/// From a line to the text above or below it \[mm\].
const OFF: f64 = 0.7;
/// Between a column's text and the next column \[mm\].
const BETWEEN: f64 = 6.0;
/// From a load back to where the next load of its circuit branches off \[mm\].
const TAP: f64 = 2.6;

/// Where a row begins.
#[derive(Clone, Copy)]
enum Start {
    /// At the bus.
    Bus,
    /// Behind a device in the line of an earlier row.
    Split(usize, usize),
    /// Before the last device of an earlier row.
    Tap(usize),
}

/// What a row ends in.
enum End {
    /// Nothing.
    Open,
    /// A device, with its text to the right.
    Device(ConductorIx, DeviceIx),
    /// A letter.
    Tag(ConductorIx, String, DeviceIx),
    /// A device drawn elsewhere.
    Named(ConductorIx, DeviceIx),
}

impl End {
    fn conductor(&self) -> Option<ConductorIx> {
        match self {
            End::Open => None,
            End::Device(conductor, _) | End::Tag(conductor, ..) | End::Named(conductor, _) => {
                Some(*conductor)
            }
        }
    }
}

/// A level row.
struct Row {
    start: Start,
    inline: Vec<(ConductorIx, DeviceIx)>,
    end: End,
    /// Where each device in the line ends, and where the line may end at the earliest; from the bus \[mm\].
    ends: Vec<f64>,
    least: f64,
    up: f64,
    down: f64,
    label: Vec<Line>,
}

impl Grower<'_> {
    /// A bus at the origin, running down, with all that it feeds.
    pub fn comb(&self, kids: &[&Kid], stroke: Stroke, owner: Option<DeviceIx>, way: Way) -> Block {
        let is_row = |kid: &&&Kid| match kid {
            Kid::Device(_, device) => way != Way::Up && self.net.is_row(self.system, *device),
            Kid::Tag(..) | Kid::Named(..) => true,
        };
        let (rows, blocks): (Vec<&Kid>, Vec<&Kid>) = kids.iter().partition(is_row);
        let mut units: Vec<Vec<Row>> = rows.iter().map(|kid| self.rows(kid)).collect();
        let load = units.iter().flatten().map(|row| row.least).fold(0.0, f64::max);
        let heights: Vec<f64> =
            units.iter().map(|unit| unit.iter().map(|row| row.up + row.down).sum()).collect();
        let columns = columns(&heights, self.column);
        let count = columns.last().map_or(0, |last| last + 1);
        // One line on, with rows that branch off it, goes straight on below them.
        let is_straight = owner.is_none() && blocks.len() == 1 && count <= 1;
        let is_shared = !is_straight && count + blocks.len() > 1;
        let top = if is_shared { 1.6 } else { 0.0 };
        let bus =
            |points: Vec<crate::scene::Point>| Wire { points, stroke, conductors: Vec::new(), device: owner };

        let mut block = Block::default();
        let mut x = 0.0;
        let mut tees = Vec::new();
        for column in 0..count {
            let mut scene = Scene::default();
            let mut y = top + 1.4;
            let mut last = top;
            let is_own = |row: &Row| {
                let first = row.inline.first().and_then(|(_, device)| self.system.devices.get(*device));
                owner.is_some()
                    && match first.map(|device| &device.spec) {
                        Some(Spec::Fuse(fuse)) => fuse.panel == owner,
                        Some(Spec::Breaker(breaker)) => breaker.panel == owner,
                        _ => false,
                    }
            };
            let mut case: Option<Rect> = None;
            for (unit, _) in units.iter_mut().zip(&columns).filter(|(_, at)| **at == column) {
                if let Some(row) = unit.first().filter(|row| is_own(row)) {
                    let own = Rect {
                        x: -2.0,
                        y,
                        w: row.ends.first().copied().unwrap_or(0.0) + 2.4,
                        h: row.up + 3.2,
                    };
                    case = Some(case.map_or(own, |case| case.join(&own)));
                }
                last = y + unit.first().map_or(0.0, |row| row.up);
                self.draw(&mut scene, unit, load, &mut y, stroke);
            }
            if let Some(mut case) = case {
                case.h = case.bottom() - top - 0.3;
                case.y = top + 0.3;
                scene.enclosures.push(case);
            }
            scene.wires.push(bus(vec![at(0.0, top), at(0.0, last)]));
            let bounds = scene.bounds();
            block.scene.place(scene, x, 0.0);
            tees.push(x);
            x += bounds.right() + BETWEEN;
        }
        let last = blocks.len().saturating_sub(1);
        for (index, kid) in blocks.into_iter().enumerate() {
            if let Kid::Device(conductor, device) = kid {
                // A line to the right from any but the last would pass through its neighbours.
                let way = if way == Way::DownWithRisers && index < last { Way::Down } else { way };
                let child = self.grow(Some(*conductor), *device, way);
                if is_straight {
                    let (from, to) =
                        (block.scene.dots.last().map_or(0.0, |dot| dot.y), block.scene.bounds().bottom());
                    block.scene.wires.push(bus(vec![at(0.0, from), at(0.0, to)]));
                    block.place(child, 0.0, to);
                    continue;
                }
                let bounds = child.scene.bounds();
                if !tees.is_empty() {
                    x += (-bounds.x).max(0.0);
                }
                tees.push(x);
                block.place(child, x, top);
                x += bounds.right() + BETWEEN;
            }
        }
        if let (true, Some(far)) = (is_shared, tees.last()) {
            block.scene.wires.push(bus(vec![at(0.0, 0.0), at(0.0, top), at(*far, top)]));
            if owner.is_none() {
                let inner = tees.iter().take(tees.len() - 1);
                block.scene.dots.extend(inner.map(|x| at(*x, top)));
            }
        }
        block
    }

    /// The rows of one way of a bus.
    fn rows(&self, kid: &Kid) -> Vec<Row> {
        let mut rows = Vec::new();
        self.flatten(kid, Start::Bus, &mut rows);
        for index in 0..rows.len() {
            self.measure(&mut rows, index);
        }
        rows
    }

    fn flatten(&self, kid: &Kid, start: Start, rows: &mut Vec<Row>) {
        let me = rows.len();
        let mut inline = Vec::new();
        let mut end = End::Open;
        let (mut taps, mut splits) = (Vec::new(), Vec::new());
        let mut next = Some(kid);
        while let Some(kid) = next.take() {
            match kid {
                Kid::Tag(conductor, letter, other) => end = End::Tag(*conductor, letter.clone(), *other),
                Kid::Named(conductor, device) => end = End::Named(*conductor, *device),
                Kid::Device(conductor, device) => {
                    let kids: &[Kid] = self.net.kids.get(*device).map_or(&[], Vec::as_slice);
                    let is_inline =
                        self.system.devices.get(*device).is_some_and(|device| is_inline(&device.spec));
                    if is_inline && !matches!(start, Start::Tap(_)) {
                        inline.push((*conductor, *device));
                        next = kids.first();
                        splits
                            .extend(kids.iter().skip(1).map(|kid| (Start::Split(me, inline.len() - 1), kid)));
                    } else {
                        end = End::Device(*conductor, *device);
                        taps.extend(kids.iter().map(|kid| (Start::Tap(me), kid)));
                    }
                }
            }
        }
        rows.push(Row {
            start,
            inline,
            end,
            ends: Vec::new(),
            least: 0.0,
            up: HALF,
            down: HALF,
            label: Vec::new(),
        });
        // Those that branch off furthest right come first, so that no line down passes a row that begins left of it.
        for (start, kid) in taps.into_iter().chain(splits.into_iter().rev()) {
            self.flatten(kid, start, rows);
        }
    }

    fn measure(&self, rows: &mut [Row], index: usize) {
        let behind = match rows[index].start {
            Start::Bus => 0.0,
            Start::Split(row, place) => rows[row].ends.get(place).copied().unwrap_or(0.0),
            Start::Tap(row) => rows[row].ends.last().copied().unwrap_or(0.0),
        };
        let is_tap = matches!(rows[index].start, Start::Tap(_));
        let row = &mut rows[index];
        let mut x = behind;
        let mut text = 0.0;
        for (conductor, device) in &row.inline {
            let run = Label::new(self.run(*conductor));
            row.down = row.down.max(run.rect.h + OFF + 0.3);
            x += f64::max(text, if run.lines.is_empty() { 3.0 } else { run.rect.w + 3.0 });
            x += self.symbol(*device, 0.0, 0.0, Facing::Right).rect.w;
            row.ends.push(x);
            let above = Label::new(self.rating(*device));
            row.up = row.up.max(above.rect.h + OFF + 0.2);
            text = above.rect.w + 2.4;
        }
        if let Some(conductor) = row.end.conductor() {
            let run = Label::new(self.run(conductor));
            let room = if run.lines.is_empty() { 3.0 } else { run.rect.w + 3.0 };
            row.least = x + f64::max(text, room) + if is_tap { TAP + 2.0 } else { TAP };
            let half = run.rect.h + OFF + 0.3;
            row.down = row.down.max(if is_tap { run.rect.h / 2.0 + 0.3 } else { half });
        }
        row.label = match &row.end {
            End::Open => Vec::new(),
            End::Device(_, device) => self.about(*device),
            End::Tag(_, _, device) | End::Named(_, device) => self.named(*device, "to"),
        };
        let half = crate::scene::size(&row.label).1 / 2.0 + 0.5;
        row.up = row.up.max(half);
        row.down = row.down.max(half);
    }

    /// A device named at the end of a line.
    pub fn named(&self, device: DeviceIx, word: &str) -> Vec<Line> {
        let Some(device) = self.system.devices.get(device) else { return Vec::new() };
        wrap(&format!("{word} {}", device.title), SMALL, false, NAME, 2)
            .into_iter()
            .map(Line::small)
            .collect()
    }

    /// Draws the rows of one way, from `top` down; the loads stand at `load`.
    fn draw(&self, scene: &mut Scene, rows: &[Row], load: f64, top: &mut f64, bus: Stroke) {
        let mut levels: Vec<f64> = Vec::new();
        let is_heavy = matches!(bus, Stroke::Bus | Stroke::AcBus | Stroke::Bar | Stroke::ReturnBar);
        for row in rows {
            let y = *top + row.up;
            *top = y + row.down;
            levels.push(y);
            let (mut x, from) = match row.start {
                Start::Bus => (0.0, None),
                Start::Split(at, place) => {
                    (rows[at].ends.get(place).copied().unwrap_or(0.0), levels.get(at).copied())
                }
                Start::Tap(at) => (load - TAP, levels.get(at).copied()),
            };
            let first = row.inline.first().map(|(conductor, _)| *conductor).or(row.end.conductor());
            let mut corner = None;
            if let (Some(level), Some(_)) = (from, first) {
                scene.dots.push(at(x, level));
                corner = Some(at(x, level));
            } else if !is_heavy {
                scene.dots.push(at(0.0, y));
            }
            let mut wire = |scene: &mut Scene, from: f64, to: f64, conductor: ConductorIx| {
                let mut points: Vec<_> = corner.take().into_iter().collect();
                points.extend([at(from, y), at(to, y)]);
                scene.wire(&points, self.stroke(conductor), self.all_of(conductor));
            };
            for ((conductor, device), end) in row.inline.iter().zip(&row.ends) {
                let symbol = self.symbol(*device, 0.0, y, Facing::Right);
                let start = end - symbol.rect.w;
                wire(scene, x, start, *conductor);
                let run = Label::new(self.run(*conductor)).of_conductor(*conductor);
                if !run.lines.is_empty() {
                    scene.labels.push(run.below(x + 1.4, y + OFF));
                }
                scene.symbols.push(self.symbol(*device, start, y, Facing::Right));
                scene.labels.push(
                    Label::new(self.rating(*device)).of_device(*device).above(end + 0.9, y - OFF + 0.2),
                );
                x = *end;
            }
            let Some(conductor) = row.end.conductor() else { continue };
            wire(scene, x, load, conductor);
            let run = Label::new(self.run(conductor)).of_conductor(conductor);
            if !run.lines.is_empty() {
                scene.labels.push(match row.start {
                    Start::Tap(_) => run.beside(x - 1.2, y, Anchor::End),
                    _ => run.below(x + 1.4, y + OFF),
                });
            }
            let symbol = match &row.end {
                End::Device(_, device) => self.symbol(*device, load, y, Facing::Right),
                End::Tag(_, letter, _) => mark(Glyph::Tag, load, y, letter),
                _ => mark(Glyph::Arrow, load, y, ""),
            };
            let mut label = Label::new(row.label.clone());
            label.device = symbol.device;
            label.conductor = if symbol.device.is_none() { Some(conductor) } else { None };
            scene.labels.push(label.beside(symbol.rect.right() + 1.3, y, Anchor::Start));
            scene.symbols.push(symbol);
        }
    }
}

/// A tag or arrow with its left edge at a point.
pub fn mark(glyph: Glyph, x: f64, y: f64, letter: &str) -> Symbol {
    let (w, h) = glyph.size();
    let rect = Rect { x, y: y - h / 2.0, w, h };
    Symbol { glyph, rect, facing: Facing::Right, device: None, letter: letter.to_owned() }
}

/// Spreads units over columns no taller than `most` \[mm\] where possible, evenly filled; gives each unit's column.
fn columns(heights: &[f64], most: f64) -> Vec<usize> {
    let total: f64 = heights.iter().sum();
    let count = (total / most.max(1.0)).ceil().max(1.0);
    let target = total / count;
    let mut sum = 0.0;
    let (mut column, mut wanted) = (0, 0);
    heights
        .iter()
        .enumerate()
        .map(|(index, height)| {
            let middle = sum + height / 2.0;
            sum += height;
            let next = ((middle / target.max(0.1)) as usize).min(count as usize - 1);
            // A unit taller than a column leaves no empty column behind.
            if next > wanted && index > 0 {
                column += 1;
            }
            wanted = next;
            column
        })
        .collect()
}
