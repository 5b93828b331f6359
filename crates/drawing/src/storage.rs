//! The bank at the left of the sheet: its strings above the busbar, the way back of all current beside and below it.
//! Never: assumes that a bank is wired as derived; a link between any two strings that cannot be drawn is listed.
//! Start at [`Storage::of`]; the busbar is at y = 0, the line up to the bank at x = 0.

use model::{ConductorIx, DeviceIx, Pole, Spec, System};

use crate::graph::{Kid, Net, Strand};
use crate::scene::{Anchor, Facing, Label, Line, Scene, Stroke, Wire, at, size};
use crate::text::{MAIN, wrap};
use crate::tree::{Beside, GAP, Grower, Way};
use crate::words::{chemistry, rating};

/// From string to string \[mm\].
const PITCH: f64 = 14.5;
/// Room of a battery without its text \[mm\].
const CELL: f64 = 16.0;
/// From the lowest string to the end of the busbar that gathers them \[mm\].
const BAR_END: f64 = 3.0;
/// Half a battery symbol \[mm\].
const HALF: f64 = 4.0;

/// Widest name of the busbar \[mm\].
pub const BAR_NAME: f64 = 40.0;

/// The left part of the sheet.
pub struct Storage {
    /// What it shows.
    pub scene: Scene,
    /// The devices in it.
    pub devices: Vec<DeviceIx>,
    /// What else hangs on a device in it: device, conductor and what follows.
    pub taps: Vec<(DeviceIx, Kid)>,
    /// Links that could not be drawn.
    pub apart: Vec<ConductorIx>,
    /// Right edge of what stands above the busbar.
    pub right_above: f64,
}

/// The line from the busbar to the bank: conductors and devices, then the conductor at the battery.
fn feed(system: &System, net: &Net) -> Option<(Vec<(ConductorIx, DeviceIx)>, ConductorIx, DeviceIx)> {
    let root = net.root?;
    let is_battery = |ix: DeviceIx| matches!(system.devices[ix].spec, Spec::Battery(_));
    let way = |battery: DeviceIx| {
        let (last, mut device) = net.before[battery]?;
        let mut chain = Vec::new();
        while device != root {
            if is_battery(device) {
                return None;
            }
            let (conductor, before) = net.before[device]?;
            chain.push((conductor, device));
            device = before;
        }
        chain.reverse();
        Some((chain, last, battery))
    };
    let mut ways = (0..system.devices.len()).filter(|ix| is_battery(*ix)).filter_map(way);
    let first = ways.next()?;
    Some(ways.fold(first, |best, next| if next.0.len() < best.0.len() { next } else { best }))
}

/// Whether a device of the way back stands below the busbar.
fn is_low(spec: &Spec) -> bool {
    matches!(spec, Spec::Busbar(_) | Spec::Chassis)
}

impl Storage {
    /// The bank of a system and its way back; `None` where no battery is joined to the busbar.
    pub fn of(grower: &Grower<'_>) -> Option<Storage> {
        let (system, net) = (grower.system, grower.net);
        let (mut chain, mut last, first) = feed(system, net)?;
        let mut devices: Vec<DeviceIx> = chain.iter().map(|(_, device)| *device).collect();
        let mut strings = strings(system, net, first);
        // Strings that a busbar gathers: the line up ends at that busbar.
        let mut strands: Vec<Strand> = Vec::new();
        let bars = net.gathering.as_ref().and_then(|(bar, all)| {
            let cut = chain.iter().position(|(_, device)| device == bar)?;
            last = chain[cut].0;
            chain.truncate(cut);
            strands.clone_from(all);
            strings = all.iter().map(|strand| string_of(system, net, strand.battery, all)).collect();
            devices.extend(all.iter().flat_map(|strand| strand.inline.iter().map(|(_, device)| *device)));
            Some((*bar, net.gathering_back(system)))
        });
        let back_bar = bars.and_then(|(_, back)| back);
        let skip = usize::from(back_bar.is_some());
        devices.extend(strings.iter().flatten());
        devices.extend(net.way_back.iter().map(|(_, device)| *device));

        let mut scene = Scene::default();
        // The line up: drawn downwards, then turned over.
        let mut up = Scene::default();
        let mut y = 0.0;
        for (conductor, device) in &chain {
            let stroke = grower.stroke(*conductor);
            y = grower.lead(&mut up, *conductor, 0.0, y);
            let (ink, end) = grower.stand(&mut up, *device, (0.0, y), Beside::Right, stroke);
            if end > ink {
                up.wire(&[at(0.0, ink), at(0.0, end)], stroke, Vec::new());
            }
            y = end;
        }
        y = grower.lead(&mut up, last, 0.0, y);
        up.mirror();
        // The way back as far as it runs beside the line up ends above the busbar and its name.
        let beside = net.way_back.iter().skip(skip).take_while(|(_, device)| !is_low(&system.devices[*device].spec));
        let mut tall = 0.0;
        for (conductor, device) in beside {
            let mut measure = Scene::default();
            tall = grower.lead(&mut measure, *conductor, 0.0, tall);
            tall = grower.stand(&mut measure, *device, (0.0, tall), Beside::Right, Stroke::Return).1;
        }
        let bottom = f64::min(-y - 3.0, -(tall + HALF + 2.0 + 5.0));
        scene.place(up, 0.0, 0.0);
        let right_above = scene.bounds().right();

        let mut rows = Rows { grower, scene, apart: Vec::new(), strings, strands, has_back_bar: back_bar.is_some(), bottom, x_positive: 0.0, x_negative: 0.0, x_back: 0.0 };
        rows.draw(first);
        let level = |battery: DeviceIx| rows.strings.iter().position(|string| string.contains(&battery)).map(|row| rows.level(row));
        let top = level(first).unwrap_or(bottom);
        let (x_positive, x_negative, x_back) = (rows.x_positive, rows.x_negative, rows.x_back);
        let back_level = net.way_back_from.and_then(level);
        let rows_count = rows.strings.len();
        let Rows { mut scene, apart, .. } = rows;
        if let Some((bar, back)) = bars {
            let high = bottom - PITCH * (rows_count - 1) as f64 - 2.5;
            let low = bottom + BAR_END;
            upright_bar(grower, &mut scene, bar, (0.0, high, -y), Stroke::Bus);
            if let Some(back) = back {
                upright_bar(grower, &mut scene, back, (x_negative, high, low), Stroke::ReturnBar);
                way_back(grower, &mut scene, x_negative, low, skip);
            }
        } else {
            scene.wire(&[at(x_positive, top), at(0.0, top), at(0.0, -y)], grower.stroke(last), grower.all_of(last));
        }
        if let (Some(level), None) = (back_level, back_bar) {
            let start = bottom + HALF + 2.0;
            let first = net.way_back.first().map(|(conductor, _)| *conductor);
            let points = [at(x_negative, level), at(x_back, level), at(x_back, start)];
            scene.wire(&points, Stroke::Return, first.into_iter().collect());
            way_back(grower, &mut scene, x_back, start, 0);
        }

        let mut taps = Vec::new();
        for device in &devices {
            for kid in net.kids.get(*device).into_iter().flatten() {
                let is_inside = matches!(kid, Kid::Device(_, next) if devices.contains(next));
                let is_bond = net.way_back.iter().any(|(_, back)| back == device);
                if !is_inside && !is_bond {
                    taps.push((*device, kid.clone()));
                }
            }
        }
        let right_above = scene.boxes().filter(|rect| rect.y < -0.5).map(|rect| rect.right()).fold(right_above, f64::max);
        Some(Storage { scene, devices, taps, apart, right_above })
    }
}

/// Batteries that are linked with the first, string by string, each from its negative end.
fn strings(system: &System, net: &Net, first: DeviceIx) -> Vec<Vec<DeviceIx>> {
    let mut linked = vec![first];
    let mut at = 0;
    while at < linked.len() {
        for link in &net.links {
            let (a, b) = (system.conductors[*link].from.device, system.conductors[*link].to.device);
            for (here, there) in [(a, b), (b, a)] {
                if here == linked[at] && !linked.contains(&there) {
                    linked.push(there);
                }
            }
        }
        at += 1;
    }
    let key = |ix: &DeviceIx| match &system.devices[*ix].spec {
        Spec::Battery(battery) => (battery.string, battery.place),
        _ => (0, 0),
    };
    linked.sort_by_key(|ix| (key(ix), *ix));
    let mut strings: Vec<Vec<DeviceIx>> = Vec::new();
    for ix in linked {
        let same = strings.last().and_then(|string| string.first()).is_some_and(|head| key(head).0 == key(&ix).0);
        match strings.last_mut() {
            Some(string) if same => string.push(ix),
            _ => strings.push(vec![ix]),
        }
    }
    strings
}

struct Rows<'a> {
    grower: &'a Grower<'a>,
    scene: Scene,
    apart: Vec<ConductorIx>,
    strings: Vec<Vec<DeviceIx>>,
    strands: Vec<Strand>,
    has_back_bar: bool,
    bottom: f64,
    x_positive: f64,
    x_negative: f64,
    x_back: f64,
}

impl Rows<'_> {
    /// The height of a string's line; the first string stands lowest, nearest the busbar.
    fn level(&self, row: usize) -> f64 {
        self.bottom - row as f64 * PITCH
    }

    fn place(&self, battery: DeviceIx) -> Option<(usize, usize)> {
        self.strings.iter().enumerate().find_map(|(row, string)| {
            Some((row, string.iter().position(|ix| *ix == battery)?))
        })
    }

    fn draw(&mut self, first: DeviceIx) {
        let grower = self.grower;
        let system = grower.system;
        let widest = self.strings.iter().map(Vec::len).max().unwrap_or(1);
        let text = |device: DeviceIx, is_first: bool| {
            let device = &system.devices[device];
            let mut lines: Vec<Line> = wrap(&device.title, MAIN, true, 34.0, 1).into_iter().map(Line::title).collect();
            if !is_first && rating(device) != rating(&system.devices[first]) {
                lines.extend(rating(device).into_iter().map(Line::small));
            }
            lines
        };
        let cell = self.strings.iter().flatten().map(|ix| size(&text(*ix, *ix == first)).0 + 3.0).fold(CELL, f64::max);

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
            if is_railed && is_next && both(Pole::Positive) && is_last(row_a, place_a) && is_last(row_b, place_b) {
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
            let widths = rails.iter().filter(|(_, _, side)| *side == is_positive).map(|(link, ..)| run_width(*link));
            widths.fold(0.0, f64::max)
        };
        let gap = inner.iter().map(|(link, ..)| run_width(*link) + 3.0 - (cell - 2.0 * HALF)).fold(0.0, f64::max);
        let step = cell + gap;
        let margin = |width: f64| if width > 0.0 { width + GAP + 3.0 } else { 5.0 };
        let strand_room = self.strands.iter().map(|strand| strand_width(grower, strand)).fold(0.0, f64::max);
        self.x_positive = if self.strands.is_empty() { -margin(room(true)) } else { -strand_room };
        let x_start = self.x_positive - widest as f64 * step;
        self.x_negative = x_start - if self.strands.is_empty() { 0.0 } else { 3.0 };
        let back_right = way_back_width(grower);
        let bar_name = grower.net.root.map_or(0.0, |root| size(&grower.about(root, BAR_NAME)).0);
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
                    self.scene.labels.push(label.beside(middle - step / 2.0, y + 0.8 + h / 2.0, Anchor::Middle));
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

/// How far right of its line the text of the way back reaches, as far as the line runs beside the line up.
fn way_back_width(grower: &Grower<'_>) -> f64 {
    let mut scene = Scene::default();
    for (conductor, device) in &grower.net.way_back {
        grower.lead(&mut scene, *conductor, 0.0, 0.0);
        grower.stand(&mut scene, *device, (0.0, 0.0), Beside::Right, Stroke::Return);
    }
    scene.bounds().right()
}

/// The busbar of the strings, upright: at x, from y to y, with its name on the outer side.
fn upright_bar(grower: &Grower<'_>, scene: &mut Scene, bar: DeviceIx, (x, high, low): (f64, f64, f64), stroke: Stroke) {
    let points = vec![at(x, high), at(x, low)];
    scene.wires.push(Wire { points, stroke, conductors: Vec::new(), device: Some(bar) });
    let label = Label::new(grower.about(bar, BAR_NAME)).of_device(bar);
    let middle = high + label.rect.h / 2.0;
    scene.labels.push(match stroke {
        Stroke::ReturnBar => label.beside(x - 2.0, middle, Anchor::End),
        _ => label.beside(x + 2.0, middle, Anchor::Start),
    });
}

/// The string of a battery, from its negative end; batteries that hang from the busbar themselves are other strings.
fn string_of(system: &System, net: &Net, battery: DeviceIx, strands: &[Strand]) -> Vec<DeviceIx> {
    let is_head = |ix: DeviceIx| ix != battery && strands.iter().any(|strand| strand.battery == ix);
    let mut string = vec![battery];
    let mut at = 0;
    while at < string.len() {
        for link in &net.links {
            let (a, b) = (system.conductors[*link].from.device, system.conductors[*link].to.device);
            for (here, there) in [(a, b), (b, a)] {
                if here == string[at] && !string.contains(&there) && !is_head(there) {
                    string.push(there);
                }
            }
        }
        at += 1;
    }
    string.sort_by_key(|ix| match &system.devices[*ix].spec {
        Spec::Battery(battery) => (battery.place, *ix),
        _ => (0, *ix),
    });
    string
}

/// The way back from a point left of the bank down: shunt, negative busbar, bonds, chassis.
fn way_back(grower: &Grower<'_>, scene: &mut Scene, x: f64, from: f64, skip: usize) {
    let system = grower.system;
    let net = grower.net;
    let mut y = from;
    for (conductor, device) in net.way_back.iter().skip(skip) {
        let spec = &system.devices[*device].spec;
        let stroke = grower.stroke(*conductor);
        if is_low(spec) && y < 10.0 {
            scene.wire(&[at(x, y), at(x, 10.0)], stroke, Vec::new());
            y = 10.0;
        }
        y = grower.lead(scene, *conductor, x, y);
        if matches!(spec, Spec::Chassis) {
            let kids = grower.kids(*device);
            if !kids.is_empty() {
                let kids: Vec<&Kid> = kids.iter().collect();
                let whole = Grower { column: f64::MAX, is_placed: grower.is_placed.clone(), ..*grower };
                let comb = whole.comb(&kids, Stroke::Bond, None, Way::Down);
                let end = comb.scene.dots.iter().map(|dot| dot.y).fold(0.0, f64::max);
                let clear = comb.scene.bounds().bottom();
                scene.place(comb.scene, x, y);
                scene.wire(&[at(x, y + end), at(x, y + clear + 1.0)], Stroke::Bond, Vec::new());
                y += clear + 1.0;
            }
        }
        let (ink, end) = grower.stand(scene, *device, (x, y), Beside::Right, stroke);
        let is_last = net.way_back.last().is_some_and(|(_, last)| last == device);
        if !is_last && end > ink {
            let points = vec![at(x, ink), at(x, end)];
            scene.wires.push(Wire { points, stroke, conductors: Vec::new(), device: None });
        }
        y = end;
    }
}
