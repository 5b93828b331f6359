//! Where the boxes and the lines of one wiring sheet stand: columns of boxes from source to load, channels between them.
//! Never: draws; lets two lines share a stretch, or a line run through a box or a label: rows and tracks are each wire's own.
//! Start at [`lay`].

use std::collections::BTreeMap;

use model::{ConductorIx, DeviceIx, System, TerminalRef};

use super::words;
use crate::scene::{Point, at};

/// Width of a box \[mm\].
pub const BOX: f64 = 38.0;
/// From row to row \[mm\]: a line with its label above and below.
pub const ROW: f64 = 6.6;
/// A box with more rows than this is worth balancing; a fuse keeps its way in at the left.
const MANY: usize = 5;
/// From track to track \[mm\].
const TRACK: f64 = 1.8;
/// Below a box \[mm\].
const GAP: f64 = 4.0;
/// Rows of different wires on the two sides of a channel are this far apart \[mm\].
const APART: f64 = 0.9;

/// What stands in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Item {
    /// A device.
    Device(DeviceIx),
    /// The end of a conductor that goes on on another sheet.
    Tag(ConductorIx, TerminalRef),
    /// A row for a conductor that passes the column.
    Pass(ConductorIx),
}

/// A row at the edge of a box: which conductor, which terminal, and how far below the top \[mm\].
#[derive(Clone, Debug)]
pub struct Port {
    /// The conductor.
    pub wire: ConductorIx,
    /// Its terminal; `None` at a tag or where it passes.
    pub terminal: Option<usize>,
    /// Below the upper edge of the item.
    pub down: f64,
}

/// An item at its place.
#[derive(Clone, Debug)]
pub struct Stand {
    /// What stands.
    pub item: Item,
    /// Its column.
    pub column: usize,
    /// Left edge \[mm\].
    pub x: f64,
    /// Upper edge \[mm\].
    pub y: f64,
    /// Height \[mm\].
    pub h: f64,
    /// Head of a box, above its rows: symbol, title, rating \[mm\].
    pub head: f64,
    /// Rows at its left edge.
    pub left: Vec<Port>,
    /// Rows at its right edge.
    pub right: Vec<Port>,
}

/// A conductor, or the part of it on this sheet.
#[derive(Clone, Debug)]
pub struct Line {
    /// Which.
    pub wire: ConductorIx,
    /// Its corners.
    pub points: Vec<Point>,
    /// Where its label begins, on its line.
    pub label: Point,
}

/// A sheet laid out.
#[derive(Clone, Debug, Default)]
pub struct Laid {
    /// Boxes, tags and passes.
    pub stands: Vec<Stand>,
    /// Conductors.
    pub lines: Vec<Line>,
    /// Width and height taken \[mm\].
    pub size: (f64, f64),
}

/// What is wanted of a layout.
#[derive(Clone, Copy, Debug)]
pub struct Wish {
    /// Columns at most.
    pub columns: usize,
    /// Whether boxes stand where their first line comes in straight; else as high up as there is room.
    pub is_aligned: bool,
    /// Whether a return passes a column beside the fuse of its circuit; else where its way is short.
    pub is_paired: bool,
    /// Whether what goes on on another sheet leaves at the side where a box of many rows has fewer; else what feeds stands before and
    /// the rest behind.
    pub is_balanced: bool,
}

/// Lays out some devices with every conductor that ends at one of them.
pub fn lay(system: &System, devices: &[DeviceIx], wish: Wish) -> Laid {
    let mut net = Net::of(system, devices, wish);
    net.place(system, wish);
    net.finish()
}

struct Wire {
    ix: ConductorIx,
    ends: [Item; 2],
    terminals: [Option<usize>; 2],
}

struct Net {
    wires: Vec<Wire>,
    columns: Vec<Vec<Item>>,
    column_of: BTreeMap<Item, usize>,
    stands: BTreeMap<(usize, Item), Stand>,
    labels: BTreeMap<ConductorIx, f64>,
}

impl Net {
    fn of(system: &System, devices: &[DeviceIx], wish: Wish) -> Net {
        let is_here = |at: TerminalRef| devices.contains(&at.device);
        let mut wires = Vec::new();
        for (ix, conductor) in system.conductors.iter().enumerate() {
            let ends = [conductor.from, conductor.to];
            if !ends.iter().any(|end| is_here(*end)) {
                continue;
            }
            let item =
                |end: TerminalRef| if is_here(end) { Item::Device(end.device) } else { Item::Tag(ix, end) };
            let terminal = |end: TerminalRef| is_here(end).then_some(end.terminal);
            wires.push(Wire { ix, ends: ends.map(item), terminals: ends.map(terminal) });
        }
        let mut column_of = columns(system, devices, &wires, wish);
        // Columns without anything are left out.
        let mut used: Vec<usize> = column_of.values().copied().collect();
        used.sort_unstable();
        used.dedup();
        for column in column_of.values_mut() {
            *column = used.iter().position(|at| at == column).unwrap_or(0);
        }
        let mut columns: Vec<Vec<Item>> = vec![Vec::new(); used.len().max(1)];
        for (item, column) in &column_of {
            columns[*column].push(*item);
        }
        for wire in &wires {
            let (a, b) = (column_of[&wire.ends[0]], column_of[&wire.ends[1]]);
            for column in columns.iter_mut().take(a.max(b)).skip(a.min(b) + 1) {
                column.push(Item::Pass(wire.ix));
            }
        }
        let labels = wires.iter().map(|wire| (wire.ix, words::label_width(system, wire.ix))).collect();
        Net { wires, columns, column_of, stands: BTreeMap::new(), labels }
    }

    /// Rows of an item, left and right, and its height.
    fn rows(&self, system: &System, item: Item, column: usize) -> Stand {
        let mut stand =
            Stand { item, column, x: 0.0, y: 0.0, h: ROW, head: 0.0, left: Vec::new(), right: Vec::new() };
        let middle = |wire| Port { wire, terminal: None, down: ROW / 2.0 };
        match item {
            Item::Pass(wire) => {
                stand.left.push(middle(wire));
                stand.right.push(middle(wire));
            }
            Item::Tag(wire, end) => {
                stand.h = words::tag_height(&system.terminal_name(end));
                let own = self.wires.iter().find(|other| other.ix == wire);
                let other = own.and_then(|own| own.ends.iter().find(|end| **end != item));
                let is_left = other.is_some_and(|other| self.column_of[other] < column);
                if is_left { stand.left.push(middle(wire)) } else { stand.right.push(middle(wire)) }
            }
            Item::Device(ix) => self.ports(system, ix, column, &mut stand),
        }
        stand
    }

    fn ports(&self, system: &System, ix: DeviceIx, column: usize, stand: &mut Stand) {
        let count = system.devices.get(ix).map_or(0, |device| device.terminals.len());
        stand.head = system.devices.get(ix).map_or(0.0, words::head_height);
        let mut cursors = [0usize; 2];
        for terminal in 0..count {
            let mut sides: [Vec<(Item, ConductorIx)>; 2] = [Vec::new(), Vec::new()];
            for wire in &self.wires {
                for end in 0..2 {
                    if wire.ends[end] == Item::Device(ix) && wire.terminals[end] == Some(terminal) {
                        let other = wire.ends[1 - end];
                        let side = usize::from(self.column_of[&other] >= column);
                        sides[side].push((other, wire.ix));
                    }
                }
            }
            sides.iter_mut().for_each(|side| side.sort());
            let is_both = sides.iter().all(|side| !side.is_empty());
            let start = if is_both { [cursors[0].max(cursors[1]); 2] } else { cursors };
            for (side, wires) in sides.iter().enumerate() {
                let ports = if side == 0 { &mut stand.left } else { &mut stand.right };
                for (at, (_, wire)) in wires.iter().enumerate() {
                    let down = stand.head + ((start[side] + at) as f64 + 0.5) * ROW;
                    ports.push(Port { wire: *wire, terminal: Some(terminal), down });
                }
                if !wires.is_empty() {
                    cursors[side] = start[side] + wires.len();
                }
            }
            if is_both {
                cursors = [cursors[0].max(cursors[1]); 2];
            }
        }
        stand.h = stand.head + cursors[0].max(cursors[1]) as f64 * ROW + 0.8;
    }

    fn place(&mut self, system: &System, want: Wish) {
        // Rows that arrive from the column before: wire and height.
        let mut arriving: BTreeMap<ConductorIx, f64> = BTreeMap::new();
        let mut paired: Vec<Item> = Vec::new();
        for column in 0..self.columns.len() {
            let mut stands: Vec<Stand> =
                self.columns[column].iter().map(|item| self.rows(system, *item, column)).collect();
            let mean = |stand: &Stand| -> Option<f64> {
                let rows: Vec<f64> = stand
                    .left
                    .iter()
                    .filter_map(|port| Some(arriving.get(&port.wire)? - port.down))
                    .collect();
                (!rows.is_empty()).then(|| rows.iter().sum::<f64>() / rows.len() as f64)
            };
            if column > 0 {
                // What nothing arrives at stays behind what stands before it in the order of the system.
                let mut keyed: Vec<(f64, Stand)> = Vec::new();
                let mut last = 0.0;
                let mut of_circuit: BTreeMap<usize, f64> = BTreeMap::new();
                paired.clear();
                let circuit =
                    |wire: ConductorIx| system.conductors.get(wire).map_or(0, |conductor| conductor.circuit);
                for stand in stands {
                    let is_device = matches!(stand.item, Item::Device(_));
                    // A return passes just below the fuse of its own circuit.
                    let own = stand.left.first().and_then(|port| of_circuit.get(&circuit(port.wire)));
                    let key = match own {
                        Some(key) if !is_device && want.is_paired => {
                            paired.push(stand.item);
                            key + 0.01
                        }
                        _ => mean(&stand).unwrap_or(last),
                    };
                    last = key;
                    if is_device {
                        of_circuit.extend(stand.right.iter().map(|port| (circuit(port.wire), key)));
                    }
                    keyed.push((key, stand));
                }
                keyed.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.item.cmp(&b.1.item)));
                stands = keyed.into_iter().map(|(_, stand)| stand).collect();
            }
            let mut cursor = 0.0_f64;
            let mut leaving = BTreeMap::new();
            for mut stand in stands {
                let first = stand.left.iter().find_map(|port| Some(arriving.get(&port.wire)? - port.down));
                stand.y = match first {
                    // Beside its fuse, not where it arrives.
                    Some(wish) if want.is_aligned && !paired.contains(&stand.item) => cursor.max(wish),
                    _ => cursor,
                };
                for _ in 0..40 {
                    let clashes = stand.left.iter().any(|port| {
                        arriving.iter().any(|(wire, y)| {
                            let off = (stand.y + port.down - y).abs();
                            *wire != port.wire && off < APART
                        })
                    });
                    if !clashes {
                        break;
                    }
                    stand.y += APART / 2.0;
                }
                let gap = if matches!(stand.item, Item::Device(_)) { GAP } else { 0.0 };
                cursor = stand.y + stand.h + gap;
                leaving.extend(stand.right.iter().map(|port| (port.wire, stand.y + port.down)));
                self.stands.insert((column, stand.item), stand);
            }
            arriving = leaving;
        }
    }

    /// The row of a wire at the left or right edge of a column; of two at the same edge the one asked for.
    fn row(&self, wire: ConductorIx, column: usize, is_right: bool, of: Option<Item>) -> Option<f64> {
        self.stands
            .iter()
            .filter(|((at, item), _)| *at == column && of.is_none_or(|of| of == *item))
            .find_map(|(_, stand)| {
                let ports = if is_right { &stand.right } else { &stand.left };
                ports.iter().find(|port| port.wire == wire).map(|port| stand.y + port.down)
            })
    }

    fn finish(mut self) -> Laid {
        // In each channel: what leaves at the left, where it goes to, and its track.
        struct Cross {
            wire: ConductorIx,
            from: f64,
            to: f64,
            returns: bool,
            track: Option<usize>,
        }
        let count = self.columns.len();
        let mut channels: Vec<Vec<Cross>> = Vec::new();
        for column in 0..count {
            let mut own = Vec::new();
            for wire in &self.wires {
                let (a, b) = (self.column_of[&wire.ends[0]], self.column_of[&wire.ends[1]]);
                let rows = if a == b && a == column {
                    let both: Vec<f64> = if wire.ends[0] == wire.ends[1] {
                        self.stands[&(column, wire.ends[0])]
                            .right
                            .iter()
                            .filter(|port| port.wire == wire.ix)
                            .map(|port| self.stands[&(column, wire.ends[0])].y + port.down)
                            .collect()
                    } else {
                        wire.ends
                            .iter()
                            .filter_map(|end| self.row(wire.ix, column, true, Some(*end)))
                            .collect()
                    };
                    both.first().zip(both.get(1)).map(|(from, to)| (*from, *to, true))
                } else if a.min(b) <= column && column < a.max(b) {
                    self.row(wire.ix, column, true, None)
                        .zip(self.row(wire.ix, column + 1, false, None))
                        .map(|(from, to)| (from, to, false))
                } else {
                    None
                };
                if let Some((from, to, returns)) = rows {
                    own.push(Cross { wire: wire.ix, from, to, returns, track: None });
                }
            }
            own.sort_by(|a, b| a.from.min(a.to).total_cmp(&b.from.min(b.to)).then(a.wire.cmp(&b.wire)));
            let mut ends: Vec<f64> = Vec::new();
            for cross in own.iter_mut().filter(|cross| cross.returns || (cross.from - cross.to).abs() > 0.05)
            {
                let (low, high) = (cross.from.min(cross.to), cross.from.max(cross.to));
                let track = ends.iter().position(|end| *end + 1.2 < low).unwrap_or(ends.len());
                if track == ends.len() {
                    ends.push(high);
                } else {
                    ends[track] = high;
                }
                cross.track = Some(track);
            }
            channels.push(own);
        }
        // Widths: label zone, tracks, stub.
        let mut x = 0.0;
        let mut lines: BTreeMap<ConductorIx, Line> = BTreeMap::new();
        for (column, own) in channels.iter().enumerate() {
            for stand in self.stands.iter_mut().filter(|((at, _), _)| *at == column).map(|(_, stand)| stand) {
                stand.x = x;
            }
            let edge = x + BOX;
            let zone = own
                .iter()
                .filter(|cross| !lines.contains_key(&cross.wire))
                .map(|cross| self.labels.get(&cross.wire).copied().unwrap_or(0.0))
                .fold(3.0, f64::max)
                + 2.0;
            let tracks = own.iter().filter_map(|cross| cross.track).max().map_or(0, |most| most + 1);
            let wide = zone + tracks as f64 * TRACK + 3.0;
            let is_last = column + 1 == count;
            let next = if is_last && own.is_empty() { edge } else { edge + wide };
            for cross in own {
                let line = lines.entry(cross.wire).or_insert_with(|| Line {
                    wire: cross.wire,
                    points: Vec::new(),
                    label: at(edge + 1.2, cross.from),
                });
                line.points.push(at(edge, cross.from));
                if let Some(track) = cross.track {
                    let track = edge + zone + (track as f64 + 0.5) * TRACK;
                    line.points.extend([at(track, cross.from), at(track, cross.to)]);
                }
                line.points.push(at(if cross.returns { edge } else { next }, cross.to));
            }
            x = next;
        }
        let h = self.stands.values().map(|stand| stand.y + stand.h).fold(0.0, f64::max);
        Laid {
            stands: self.stands.into_values().collect(),
            lines: lines.into_values().collect(),
            size: (x, h),
        }
    }
}

/// The column of each item: along the ungrounded conductors from source to load; what has none beside what it joins.
fn columns(system: &System, devices: &[DeviceIx], wires: &[Wire], wish: Wish) -> BTreeMap<Item, usize> {
    let most = wish.columns;
    let mut level: BTreeMap<DeviceIx, usize> = BTreeMap::new();
    let live: Vec<(DeviceIx, DeviceIx)> = wires
        .iter()
        .filter(|wire| system.conductors[wire.ix].pole.is_ungrounded())
        .filter_map(|wire| match wire.ends {
            [Item::Device(from), Item::Device(to)] if from != to => Some((from, to)),
            _ => None,
        })
        .collect();
    for wire in wires.iter().filter(|wire| system.conductors[wire.ix].pole.is_ungrounded()) {
        for end in wire.ends {
            if let Item::Device(device) = end {
                level.insert(device, 0);
            }
        }
    }
    // Longest way from a source; a ring ends after as many rounds as there are devices.
    for _ in 0..devices.len().min(most) {
        for (from, to) in &live {
            let next = (level.get(from).copied().unwrap_or(0) + 1).min(most.saturating_sub(1));
            let own = level.entry(*to).or_insert(0);
            *own = (*own).max(next);
        }
    }
    // A source that nothing feeds stands just before what it feeds.
    for device in devices {
        let is_fed = live.iter().any(|(_, to)| to == device);
        let next = live.iter().filter(|(from, _)| from == device).filter_map(|(_, to)| level.get(to)).min();
        if let (false, Some(next)) = (is_fed, next) {
            let before = next.saturating_sub(1);
            level.insert(*device, before);
        }
    }
    // What carries no live pole: one further than the nearest that it joins.
    for _ in 0..devices.len() {
        let mut is_changed = false;
        for device in devices {
            if level.contains_key(device) {
                continue;
            }
            let beside = wires.iter().filter_map(|wire| match wire.ends {
                [Item::Device(a), Item::Device(b)] if a == *device => level.get(&b),
                [Item::Device(a), Item::Device(b)] if b == *device => level.get(&a),
                _ => None,
            });
            if let Some(least) = beside.min().copied() {
                level.insert(*device, (least + 1).min(most.saturating_sub(1)));
                is_changed = true;
            }
        }
        if !is_changed {
            break;
        }
    }
    let mut column_of: BTreeMap<Item, usize> = BTreeMap::new();
    for device in devices {
        column_of.insert(Item::Device(*device), level.get(device).copied().unwrap_or(0) + 1);
    }
    let mut ends: BTreeMap<Item, usize> = BTreeMap::new();
    for end in wires.iter().flat_map(|wire| wire.ends) {
        *ends.entry(end).or_default() += 1;
    }
    // Rows of each device at its left and at its right.
    let mut rows: BTreeMap<Item, [usize; 2]> = BTreeMap::new();
    for wire in wires {
        if let [Some(a), Some(b)] = wire.ends.map(|end| column_of.get(&end).copied()) {
            rows.entry(wire.ends[0]).or_default()[usize::from(b >= a)] += 1;
            rows.entry(wire.ends[1]).or_default()[usize::from(a >= b)] += 1;
        }
    }
    for wire in wires {
        for end in 0..2 {
            if let Item::Tag(..) = wire.ends[end] {
                let device = wire.ends[1 - end];
                let own = column_of.get(&device).copied().unwrap_or(1);
                let rows = rows.entry(device).or_default();
                // What feeds stands before; a return goes on behind what it comes from.
                let is_before = if wish.is_balanced && ends.get(&device).is_some_and(|ends| *ends > MANY) {
                    rows[0] < rows[1]
                } else {
                    end == 0 && system.conductors[wire.ix].pole.is_ungrounded()
                };
                rows[usize::from(!is_before)] += 1;
                column_of.insert(wire.ends[end], if is_before { own - 1 } else { own + 1 });
            }
        }
    }
    column_of
}
