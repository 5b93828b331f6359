//! The system as a tree hung from the positive busbar, in the way a one-line diagram shows it: one line for all poles.
//! Never: places anything. Every conductor ends up on exactly one line, letter pair or list.
//! Start at [`Net::of`].

use std::collections::{BTreeMap, VecDeque};

use model::{ConductorIx, DeviceIx, Pole, Spec, System};

use crate::scene::Line;
use crate::words::{Run, name};

/// What follows a device, away from the busbar.
#[derive(Clone, Debug)]
pub enum Kid {
    /// A device joined by this conductor.
    Device(ConductorIx, DeviceIx),
    /// A line that goes on elsewhere, at the same letter, to this device.
    Tag(ConductorIx, String, DeviceIx),
    /// A conductor to a device that is drawn elsewhere and only named here.
    Named(ConductorIx, DeviceIx),
}

/// The line from a gathering busbar to a string of the bank.
#[derive(Clone, Debug)]
pub struct Strand {
    /// What stands in it, from the busbar on.
    pub inline: Vec<(ConductorIx, DeviceIx)>,
    /// The conductor at the battery.
    pub last: ConductorIx,
    /// The battery.
    pub battery: DeviceIx,
}

/// The system sorted for drawing.
pub struct Net {
    /// The main positive busbar.
    pub root: Option<DeviceIx>,
    /// What follows each device.
    pub kids: Vec<Vec<Kid>>,
    /// The device before each device, and the conductor between.
    pub before: Vec<Option<(ConductorIx, DeviceIx)>>,
    /// Conductors drawn together with a conductor: returns, cores of the same cable.
    pub riding: BTreeMap<ConductorIx, Vec<ConductorIx>>,
    /// First devices of trees that do not hang from the busbar.
    pub islands: Vec<DeviceIx>,
    /// Conductors between batteries of the bank.
    pub links: Vec<ConductorIx>,
    /// The way back, from a battery on: conductor and device, as far as it runs in one line.
    pub way_back: Vec<(ConductorIx, DeviceIx)>,
    /// A busbar that gathers the strings of the bank, each with its own protection: the bar and its strings.
    pub gathering: Option<(DeviceIx, Vec<Strand>)>,
    /// The battery where it starts.
    pub way_back_from: Option<DeviceIx>,
    /// What is written along the line of each conductor; worded once, as many layouts are tried.
    pub runs: Vec<Vec<Line>>,
    /// What is written beside each device.
    pub names: Vec<Vec<Line>>,
    /// Lines joined by letters.
    pub lettered: Vec<ConductorIx>,
    /// Conductors that fit nowhere else.
    pub apart: Vec<ConductorIx>,
}

/// Whether a device is nothing but a point in a line.
pub fn is_inline(spec: &Spec) -> bool {
    matches!(spec, Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_) | Spec::Relay(_) | Spec::Shunt(_))
}

/// Whether a device shares current out.
pub fn is_bus(spec: &Spec) -> bool {
    matches!(spec, Spec::Busbar(_) | Spec::FusePanel(_) | Spec::AcPanel(_))
}

fn is_source(spec: &Spec) -> bool {
    matches!(
        spec,
        Spec::Array(_)
            | Spec::Alternator(_)
            | Spec::StartBattery(_)
            | Spec::Inlet(_)
            | Spec::Generator(_)
            | Spec::Charger(..)
            | Spec::DcDc(..)
            | Spec::Controller(..)
    )
}

fn is_bar_of(system: &System, device: DeviceIx, pole: Pole) -> bool {
    system.devices.get(device).is_some_and(|device| {
        matches!(device.spec, Spec::Busbar(_)) && device.terminals.first().is_some_and(|t| t.pole == pole)
    })
}

impl Net {
    /// Sorts the system.
    pub fn of(system: &System) -> Net {
        let count = system.devices.len();
        let mut net = Net {
            root: None,
            kids: vec![Vec::new(); count],
            before: vec![None; count],
            riding: BTreeMap::new(),
            islands: Vec::new(),
            links: Vec::new(),
            way_back: Vec::new(),
            gathering: None,
            way_back_from: None,
            runs: Vec::new(),
            names: Vec::new(),
            lettered: Vec::new(),
            apart: Vec::new(),
        };
        let sound: Vec<ConductorIx> = system
            .conductors
            .iter()
            .enumerate()
            .filter(|(_, c)| c.from.device < count && c.to.device < count)
            .map(|(ix, _)| ix)
            .collect();
        let is_battery = |ix: DeviceIx| matches!(system.devices[ix].spec, Spec::Battery(_));
        let is_link = |ix: &ConductorIx| {
            let conductor = &system.conductors[*ix];
            conductor.from.device != conductor.to.device
                && is_battery(conductor.from.device)
                && is_battery(conductor.to.device)
        };
        let (links, rest): (Vec<_>, Vec<_>) = sound.into_iter().partition(is_link);
        net.links = links;
        let (lines, others): (Vec<_>, Vec<_>) = rest.into_iter().partition(|ix| {
            let conductor = &system.conductors[*ix];
            conductor.pole.is_ungrounded() && conductor.from.device != conductor.to.device
        });

        let mut beside: Vec<Vec<(ConductorIx, DeviceIx)>> = vec![Vec::new(); count];
        for ix in net.links.iter().chain(&lines) {
            let conductor = &system.conductors[*ix];
            beside[conductor.from.device].push((*ix, conductor.to.device));
            beside[conductor.to.device].push((*ix, conductor.from.device));
        }
        // The main busbar is that with the most lines to anything but batteries: a bar that gathers strings is none.
        let ends_in_battery = |from: DeviceIx, first: DeviceIx| {
            let (mut before, mut device) = (from, first);
            for _ in 0..count {
                if matches!(system.devices[device].spec, Spec::Battery(_)) {
                    return true;
                }
                let mut on = beside[device].iter().map(|(_, next)| *next).filter(|next| *next != before);
                match (is_inline(&system.devices[device].spec), on.next(), on.next()) {
                    (true, Some(next), None) => (before, device) = (device, next),
                    _ => return false,
                }
            }
            false
        };
        let lines_of =
            |bar: DeviceIx| beside[bar].iter().filter(|(_, first)| !ends_in_battery(bar, *first)).count();
        net.root = (0..count)
            .filter(|ix| is_bar_of(system, *ix, Pole::Positive))
            .max_by_key(|ix| (lines_of(*ix), beside[*ix].len(), std::cmp::Reverse(*ix)));
        let mut seen = vec![false; count];
        if let Some(root) = net.root {
            net.hang(root, &beside, &mut seen);
        }
        net.gathering = net.find_gathering(system);
        net.find_way_back(system, &others, &seen);
        for (_, device) in &net.way_back {
            seen[*device] = true;
        }
        // What does not hang from the busbar: the best source of each group first, so that its tree reads downwards.
        let mut order: Vec<DeviceIx> = (0..count).collect();
        order.sort_by_key(|ix| match &system.devices[*ix].spec {
            Spec::Busbar(_) => 0,
            Spec::FusePanel(_) | Spec::AcPanel(_) => 1,
            Spec::Battery(_) | Spec::StartBattery(_) | Spec::Inverter(..) => 2,
            Spec::Generator(_) | Spec::Inlet(_) | Spec::Array(_) => 3,
            spec if is_inline(spec) => 4,
            _ => 5,
        });
        for ix in order {
            if !seen[ix] {
                net.islands.push(ix);
                net.hang(ix, &beside, &mut seen);
            }
        }
        net.sort_lines(system, &lines);
        net.sort_others(system, others);
        let riding = |ix: ConductorIx| net.riding.get(&ix).map_or(&[][..], Vec::as_slice);
        net.runs = (0..system.conductors.len()).map(|ix| Run::of(system, ix, riding(ix)).lines).collect();
        net.names = system.devices.iter().map(name).collect();
        net
    }

    /// Hangs everything that can be reached from a device under it, nearest first.
    fn hang(&mut self, root: DeviceIx, beside: &[Vec<(ConductorIx, DeviceIx)>], seen: &mut [bool]) {
        let mut queue = VecDeque::from([root]);
        seen[root] = true;
        while let Some(device) = queue.pop_front() {
            for (conductor, other) in &beside[device] {
                if !seen[*other] {
                    seen[*other] = true;
                    self.before[*other] = Some((*conductor, device));
                    self.kids[device].push(Kid::Device(*conductor, *other));
                    queue.push_back(*other);
                }
            }
        }
    }

    /// A busbar other than the main one from which two or more strings of the bank hang.
    fn find_gathering(&self, system: &System) -> Option<(DeviceIx, Vec<Strand>)> {
        let strand = |kid: &Kid| {
            let &Kid::Device(mut last, mut device) = kid else { return None };
            let mut inline = Vec::new();
            while is_inline(&system.devices[device].spec) {
                inline.push((last, device));
                match self.kids[device].as_slice() {
                    [Kid::Device(conductor, next)] => (last, device) = (*conductor, *next),
                    _ => return None,
                }
            }
            matches!(system.devices[device].spec, Spec::Battery(_)).then_some(Strand {
                inline,
                last,
                battery: device,
            })
        };
        (0..system.devices.len())
            .filter(|ix| Some(*ix) != self.root && is_bar_of(system, *ix, Pole::Positive))
            .map(|ix| (ix, self.kids[ix].iter().filter_map(strand).collect::<Vec<_>>()))
            .find(|(bar, strands)| strands.len() > 1 && self.leads_to_root(system, *bar))
    }

    /// Whether the line from a device to the main busbar passes no battery.
    fn leads_to_root(&self, system: &System, device: DeviceIx) -> bool {
        let mut device = device;
        while let Some((_, before)) = self.before[device] {
            if matches!(system.devices[before].spec, Spec::Battery(_)) {
                return false;
            }
            device = before;
        }
        Some(device) == self.root
    }

    /// The negative busbar that gathers the strings, where the way back begins with it.
    pub fn gathering_back(&self, system: &System) -> Option<DeviceIx> {
        let (_, device) = self.way_back.first()?;
        (self.gathering.is_some() && matches!(system.devices[*device].spec, Spec::Busbar(_)))
            .then_some(*device)
    }

    /// The return of all current: from a battery over shunt and negative busbar to the chassis.
    fn find_way_back(&mut self, system: &System, others: &[ConductorIx], seen: &[bool]) {
        let may_hold = |ix: DeviceIx| {
            !seen[ix]
                && (matches!(
                    system.devices[ix].spec,
                    Spec::Shunt(_) | Spec::Chassis | Spec::Fuse(_) | Spec::Disconnect(_)
                ) || is_bar_of(system, ix, Pole::Negative))
        };
        // A shunt or negative busbar is the next device wanted, the chassis the last.
        let rank = |ix: DeviceIx| match system.devices[ix].spec {
            Spec::Shunt(_) => 0,
            Spec::Busbar(_) => 1,
            Spec::Chassis => 3,
            _ => 2,
        };
        let next = |from: DeviceIx, used: &[DeviceIx]| {
            others
                .iter()
                .filter_map(|ix| {
                    let conductor = &system.conductors[*ix];
                    let to = match (conductor.from.device == from, conductor.to.device == from) {
                        (true, false) => conductor.to.device,
                        (false, true) => conductor.from.device,
                        _ => return None,
                    };
                    (may_hold(to) && !used.contains(&to)).then_some((*ix, to))
                })
                .min_by_key(|(ix, to)| (rank(*to), *ix))
        };
        let batteries: Vec<DeviceIx> = (0..system.devices.len())
            .filter(|ix| matches!(system.devices[*ix].spec, Spec::Battery(_)))
            .collect();
        let start = batteries
            .iter()
            .filter_map(|ix| Some((*ix, next(*ix, &[])?)))
            .min_by_key(|(ix, (_, to))| (rank(*to), *ix));
        let mut used = Vec::new();
        let mut at = match start {
            Some((battery, _)) => battery,
            // No bank: the return still shows from the negative busbar or chassis on, as an island of its own.
            None => return,
        };
        self.way_back_from = Some(at);
        while let Some((conductor, to)) = next(at, &used) {
            used.push(to);
            self.way_back.push((conductor, to));
            at = to;
        }
    }

    /// Lines that are not part of a tree: beside a line of the tree, or joined by letters.
    fn sort_lines(&mut self, system: &System, lines: &[ConductorIx]) {
        for ix in lines {
            let conductor = &system.conductors[*ix];
            let (from, to) = (conductor.from.device, conductor.to.device);
            if self.joins(from, to) == Some(*ix) {
                continue;
            }
            if let Some(tree) = self.joins(from, to) {
                self.riding.entry(tree).or_default().push(*ix);
                continue;
            }
            let drawn_back = |ix: DeviceIx| self.way_back.iter().any(|(_, device)| *device == ix);
            let is_battery = |ix: DeviceIx| matches!(system.devices[ix].spec, Spec::Battery(_));
            if drawn_back(from) || drawn_back(to) || is_battery(from) || is_battery(to) {
                self.apart.push(*ix);
                continue;
            }
            let letter = letter(self.lettered.len());
            self.lettered.push(*ix);
            self.kids[from].push(Kid::Tag(*ix, letter.clone(), to));
            self.kids[to].push(Kid::Tag(*ix, letter, from));
        }
    }

    /// The conductor of the tree between two devices.
    fn joins(&self, a: DeviceIx, b: DeviceIx) -> Option<ConductorIx> {
        let of = |child: DeviceIx, parent: DeviceIx| {
            self.before
                .get(child)
                .copied()
                .flatten()
                .filter(|(_, before)| *before == parent)
                .map(|(ix, _)| ix)
        };
        of(a, b).or_else(|| of(b, a))
    }

    /// Returns, neutrals, earths and bonds: with the line of their circuit where they follow it, else on their own.
    fn sort_others(&mut self, system: &System, others: Vec<ConductorIx>) {
        let mut by_number: BTreeMap<u32, ConductorIx> = BTreeMap::new();
        let tree: Vec<ConductorIx> = self.before.iter().flatten().map(|(ix, _)| *ix).collect();
        for ix in tree.into_iter().chain(self.lettered.iter().copied()) {
            let number = system.conductors[ix].number;
            if number > 0 {
                by_number.entry(number).or_insert(ix);
            }
        }
        // Where the strings are gathered, the way back begins at the gathering bar, and the first string is like the rest.
        let skip = usize::from(self.gathering_back(system).is_some());
        let back: Vec<ConductorIx> = self.way_back.iter().skip(skip).map(|(ix, _)| *ix).collect();
        let bond = self
            .way_back
            .iter()
            .map(|(_, ix)| *ix)
            .chain(self.islands.iter().copied())
            .find(|ix| matches!(system.devices[*ix].spec, Spec::Chassis));
        for ix in others {
            if back.contains(&ix) {
                continue;
            }
            let conductor = &system.conductors[ix];
            let (from, to) = (conductor.from.device, conductor.to.device);
            let is_beside = |other: &&ConductorIx| {
                let other = &system.conductors[**other];
                let ends = (other.from.device, other.to.device);
                ends == (from, to) || ends == (to, from)
            };
            let line = self
                .joins(from, to)
                .or_else(|| self.lettered.iter().find(is_beside).copied())
                .or_else(|| by_number.get(&conductor.number).copied())
                .or_else(|| self.follows(system, from, to))
                .or_else(|| self.follows(system, to, from));
            match (line, bond) {
                (Some(line), _) => self.riding.entry(line).or_default().push(ix),
                (None, Some(bond)) if from == bond && to != bond => self.kids[bond].push(Kid::Named(ix, to)),
                (None, Some(bond)) if to == bond && from != bond => {
                    self.kids[bond].push(Kid::Named(ix, from))
                }
                _ => self.apart.push(ix),
            }
        }
    }

    /// The line that a return from `child` follows, where it ends at the device or busbar that the line comes from.
    fn follows(&self, system: &System, child: DeviceIx, end: DeviceIx) -> Option<ConductorIx> {
        let mut device = child;
        let mut run = None;
        while let Some((conductor, before)) = self.before[device] {
            // The nearest run that is a cable; a link inside an assembly only where there is none.
            if run.is_none_or(|run: ConductorIx| system.conductors[run].is_internal) {
                run = Some(conductor);
            }
            let is_bar = is_bar_of(system, before, Pole::Positive) && is_bar_of(system, end, Pole::Negative);
            if before == end || is_bar {
                return run;
            }
            match &system.devices[before].spec {
                // A string's return follows the line beyond its last battery.
                Spec::Battery(_) => run = None,
                spec if !is_inline(spec) => return None,
                _ => {}
            }
            device = before;
        }
        None
    }

    /// Whether the devices from here on bring current in and take none out.
    pub fn brings(&self, system: &System, device: DeviceIx) -> bool {
        let mut brings = false;
        let mut stack = vec![device];
        while let Some(ix) = stack.pop() {
            let spec = &system.devices[ix].spec;
            // A busbar may join two ends of a source's line, so what follows it decides.
            let takes =
                matches!(spec, Spec::Load(_) | Spec::Inverter(..) | Spec::Battery(_) | Spec::Converter(_));
            if takes || matches!(spec, Spec::FusePanel(_) | Spec::AcPanel(_)) {
                return false;
            }
            brings |= is_source(spec);
            stack.extend(self.kids[ix].iter().filter_map(|kid| match kid {
                Kid::Device(_, device) => Some(*device),
                _ => None,
            }));
        }
        brings
    }

    /// Whether the devices from here on fit on level rows: protection and loads, nothing that shares out again.
    pub fn is_row(&self, system: &System, device: DeviceIx) -> bool {
        let mut count = 0;
        let mut stack = vec![device];
        while let Some(ix) = stack.pop() {
            count += 1;
            let spec = &system.devices[ix].spec;
            if count > 24 || !(is_inline(spec) || matches!(spec, Spec::Load(_))) {
                return false;
            }
            stack.extend(self.kids[ix].iter().filter_map(|kid| match kid {
                Kid::Device(_, device) => Some(*device),
                _ => None,
            }));
        }
        true
    }
}

/// Letters of joined lines: A to Z, then AA.
fn letter(index: usize) -> String {
    let mut left = index;
    let mut letters = Vec::new();
    loop {
        letters.push(char::from(b'A' + (left % 26) as u8));
        if left < 26 {
            break;
        }
        left = left / 26 - 1;
    }
    letters.iter().rev().collect()
}
