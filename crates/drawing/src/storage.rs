//! The bank at the left of the sheet: its strings above the busbar, the way back of all current beside and below it.
//! Never: assumes that a bank is wired as derived; a link between any two strings that cannot be drawn is listed.
//! Start at [`Storage::of`]; the busbar is at y = 0, the line up to the bank at x = 0.

use model::{ConductorIx, DeviceIx, Spec, System};

use crate::graph::{Kid, Net, Strand};
use crate::scene::{Anchor, Label, Scene, Stroke, Wire, at};
use crate::strings::{HALF, PITCH, Rows};
use crate::tree::{Beside, Grower, Way};

/// From the lowest string to the end of the busbar that gathers them \[mm\].
const BAR_END: f64 = 3.0;
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
    /// Whether the way back is in it.
    pub has_way_back: bool,
    /// Right edge of what stands above the busbar.
    pub right_above: f64,
}

/// The line from the busbar to the bank: conductors and devices, then the conductor at the battery.
fn feed(system: &System, net: &Net) -> Option<Strand> {
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
        Some(Strand { inline: chain, last, battery })
    };
    if let Some(strand) = net.gathering.as_ref().and_then(|(_, strands)| strands.first()) {
        return way(strand.battery);
    }
    let mut ways = (0..system.devices.len()).filter(|ix| is_battery(*ix)).filter_map(way);
    let first = ways.next()?;
    Some(ways.fold(first, |best, next| if next.inline.len() < best.inline.len() { next } else { best }))
}

/// Whether a device of the way back stands below the busbar.
fn is_low(spec: &Spec) -> bool {
    matches!(spec, Spec::Busbar(_) | Spec::Chassis)
}

impl Storage {
    /// The bank of a system and its way back; `None` where no battery is joined to the busbar.
    pub fn of(grower: &Grower<'_>) -> Option<Storage> {
        let (system, net) = (grower.system, grower.net);
        let Strand { inline: mut chain, mut last, battery: first } = feed(system, net)?;
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
        let beside =
            net.way_back.iter().skip(skip).take_while(|(_, device)| !is_low(&system.devices[*device].spec));
        let mut tall = 0.0;
        for (conductor, device) in beside {
            let mut measure = Scene::default();
            tall = grower.lead(&mut measure, *conductor, 0.0, tall);
            tall = grower.stand(&mut measure, *device, (0.0, tall), Beside::Right, Stroke::Return).1;
        }
        let bottom = f64::min(-y - 3.0, -(tall + HALF + 2.0 + 5.0));
        scene.place(up, 0.0, 0.0);
        let right_above = scene.bounds().right();

        let mut rows = Rows {
            grower,
            scene,
            apart: Vec::new(),
            strings,
            strands,
            has_back_bar: back_bar.is_some(),
            bottom,
            x_positive: 0.0,
            x_negative: 0.0,
            x_back: 0.0,
        };
        rows.draw(first);
        let level = |battery: DeviceIx| {
            rows.strings.iter().position(|string| string.contains(&battery)).map(|row| rows.level(row))
        };
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
            scene.wire(
                &[at(x_positive, top), at(0.0, top), at(0.0, -y)],
                grower.stroke(last),
                grower.all_of(last),
            );
        }
        if let (Some(level), None) = (back_level, back_bar) {
            let start = bottom + HALF + 2.0;
            let first = net.way_back.first().map(|(conductor, _)| *conductor);
            let points = [at(x_negative, level), at(x_back, level), at(x_back, start)];
            scene.wire(&points, Stroke::Return, first.into_iter().collect());
            way_back(grower, &mut scene, x_back, start, 0);
        }

        let has_way_back = back_level.is_some() || back_bar.is_some();
        if has_way_back {
            devices.extend(net.way_back.iter().map(|(_, device)| *device));
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
        let right_above =
            scene.boxes().filter(|rect| rect.y < -0.5).map(|rect| rect.right()).fold(right_above, f64::max);
        Some(Storage { scene, devices, taps, apart, right_above, has_way_back })
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
        let same =
            strings.last().and_then(|string| string.first()).is_some_and(|head| key(head).0 == key(&ix).0);
        match strings.last_mut() {
            Some(string) if same => string.push(ix),
            _ => strings.push(vec![ix]),
        }
    }
    strings
}

/// How far right of its line the text of the way back reaches, as far as the line runs beside the line up.
pub fn way_back_width(grower: &Grower<'_>) -> f64 {
    let mut scene = Scene::default();
    for (conductor, device) in &grower.net.way_back {
        grower.lead(&mut scene, *conductor, 0.0, 0.0);
        grower.stand(&mut scene, *device, (0.0, 0.0), Beside::Right, Stroke::Return);
    }
    scene.bounds().right()
}

/// The busbar of the strings, upright: at x, from y to y, with its name on the outer side.
fn upright_bar(
    grower: &Grower<'_>,
    scene: &mut Scene,
    bar: DeviceIx,
    (x, high, low): (f64, f64, f64),
    stroke: Stroke,
) {
    let points = vec![at(x, high), at(x, low)];
    scene.wires.push(Wire { points, stroke, conductors: Vec::new(), device: Some(bar) });
    let label = Label::new(grower.about(bar)).of_device(bar);
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
