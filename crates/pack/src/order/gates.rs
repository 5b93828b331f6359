//! In what order current reaches each fuse, breaker and disconnect, from the source on.
//! Never: decides when one is closed; it says what stands upstream of what.
//! Start at [`Gates::of`].

use std::collections::VecDeque;

use model::{DeviceIx, Pole, Spec, System, TerminalRef};

/// What feeds a gate first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feed {
    /// The bank.
    Bank,
    /// The engine's battery or alternator.
    Engine,
    /// An array.
    Array,
    /// An inverter, of the AC side.
    Inverter,
    /// Shore or a generator.
    Supply,
}

/// A fuse, breaker or disconnect.
#[derive(Clone, Copy, Debug)]
pub struct Gate {
    /// The device.
    pub device: DeviceIx,
    /// What reaches it first.
    pub feed: Feed,
    /// The device that feeds it, such as the inverter or the array.
    pub source: DeviceIx,
    /// The gate upstream, as an index into [`Gates::list`].
    pub upstream: Option<usize>,
}

/// All gates, in the order in which current reaches them.
pub struct Gates {
    /// The gates; a gate that no source reaches comes last and is in none of the feeds.
    pub list: Vec<Gate>,
    /// For each device the gate nearest upstream of its fed terminal, from its first feed.
    pub before: Vec<Option<usize>>,
    /// Chargers, converters, inverters and relays that are fed, each with what feeds it.
    pub reached: Vec<(Feed, DeviceIx, DeviceIx)>,
    /// Gates that no source reaches.
    pub unfed: Vec<DeviceIx>,
}

/// Whether a device is opened and closed by hand, or by its fuse link.
pub fn is_gate(spec: &Spec) -> bool {
    matches!(spec, Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_))
}

/// Whether a device takes power in one form and gives it in another.
fn is_changer(spec: &Spec) -> bool {
    matches!(
        spec,
        Spec::Inverter(..) | Spec::Charger(..) | Spec::DcDc(..) | Spec::Controller(..) | Spec::Relay(_)
    )
}

struct Walk<'s> {
    system: &'s System,
    at: Vec<Vec<Vec<usize>>>,
    seen: Vec<Vec<bool>>,
    passed: Vec<bool>,
    gates: Gates,
}

impl Gates {
    /// Walks from the bank, the engine, the arrays, the inverters and the AC supplies, in that order.
    pub fn of(system: &System) -> Self {
        let mut walk = Walk {
            system,
            at: system.conductors_at(),
            seen: system.devices.iter().map(|device| vec![false; device.terminals.len()]).collect(),
            passed: vec![false; system.devices.len()],
            gates: Gates {
                list: Vec::new(),
                before: vec![None; system.devices.len()],
                reached: Vec::new(),
                unfed: Vec::new(),
            },
        };
        walk.from(Feed::Bank, |spec| matches!(spec, Spec::Battery(_)), &["positive"]);
        walk.from(
            Feed::Engine,
            |spec| matches!(spec, Spec::StartBattery(_) | Spec::Alternator(_)),
            &["positive"],
        );
        walk.from(Feed::Array, |spec| matches!(spec, Spec::Array(_)), &["positive"]);
        walk.from(Feed::Inverter, |spec| matches!(spec, Spec::Inverter(..)), &["line", "line2"]);
        walk.from(
            Feed::Supply,
            |spec| matches!(spec, Spec::Inlet(_) | Spec::Generator(_)),
            &["line", "line2"],
        );
        let mut gates = walk.gates;
        let mut is_fed = vec![false; system.devices.len()];
        gates.list.iter().for_each(|gate| is_fed[gate.device] = true);
        gates.unfed = (0..system.devices.len())
            .filter(|ix| is_gate(&system.devices[*ix].spec) && !is_fed[*ix])
            .collect();
        gates
    }

    /// The gates of a feed, in order.
    pub fn fed_by(&self, feed: Feed) -> impl Iterator<Item = (usize, Gate)> + '_ {
        self.list.iter().copied().enumerate().filter(move |(_, gate)| gate.feed == feed)
    }

    /// The nearest gate upstream that is opened by hand; else the nearest fuse upstream.
    pub fn isolator(&self, system: &System, gate: usize) -> Option<DeviceIx> {
        let mut nearest = None;
        let mut at = self.list.get(gate)?.upstream;
        while let Some(gate) = at.and_then(|ix| self.list.get(ix)) {
            if !matches!(system.devices[gate.device].spec, Spec::Fuse(_)) {
                return Some(gate.device);
            }
            nearest = nearest.or(Some(gate.device));
            at = gate.upstream;
        }
        nearest
    }
}

impl Walk<'_> {
    fn from(&mut self, feed: Feed, is_source: fn(&Spec) -> bool, names: &[&str]) {
        let mut queue: VecDeque<(TerminalRef, DeviceIx, Option<usize>)> = VecDeque::new();
        for (device, found) in self.system.devices.iter().enumerate() {
            for (terminal, end) in found.terminals.iter().enumerate() {
                if is_source(&found.spec) && names.contains(&end.name.as_str()) {
                    queue.push_back((TerminalRef { device, terminal }, device, None));
                }
            }
        }
        while let Some((at, source, gate)) = queue.pop_front() {
            let Some(seen) = self.seen.get_mut(at.device).and_then(|device| device.get_mut(at.terminal))
            else {
                continue;
            };
            if std::mem::replace(seen, true) {
                continue;
            }
            if self.gates.before[at.device].is_none() {
                self.gates.before[at.device] = gate;
            }
            if is_changer(&self.system.devices[at.device].spec) {
                self.gates.reached.push((feed, source, at.device));
            }
            for conductor in self.at[at.device][at.terminal].iter().map(|ix| &self.system.conductors[*ix]) {
                if matches!(conductor.pole, Pole::Earth | Pole::Negative | Pole::Neutral) {
                    continue;
                }
                let other = if conductor.from == at { conductor.to } else { conductor.from };
                queue.push_back((other, source, gate));
            }
            let through: Vec<TerminalRef> = through(self.system, at);
            if through.is_empty() {
                continue;
            }
            let mut gate = gate;
            // The far side of a gate leads back to it; it is passed once.
            let is_passed = std::mem::replace(&mut self.passed[at.device], true);
            if is_gate(&self.system.devices[at.device].spec) && !is_passed {
                self.gates.list.push(Gate { device: at.device, feed, source, upstream: gate });
                gate = Some(self.gates.list.len() - 1);
            }
            for out in through {
                queue.push_back((out, source, gate));
            }
        }
    }
}

/// The terminals that a device passes current on to, of what comes in at an ungrounded terminal.
fn through(system: &System, at: TerminalRef) -> Vec<TerminalRef> {
    let Some(device) = system.devices.get(at.device) else { return Vec::new() };
    let Some(terminal) = device.terminals.get(at.terminal) else { return Vec::new() };
    let outs: &[&str] = match (&device.spec, terminal.name.as_str()) {
        (Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_), "in") => &["out"],
        (Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_), "out") => &["in"],
        (Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_), "in-line2") => &["out-line2"],
        (Spec::Shunt(_), "bank") => &["system"],
        (Spec::Shunt(_), "system") => &["bank"],
        (Spec::Converter(_), "in-positive") => &["positive"],
        (Spec::TransferSwitch(_), "a-line" | "b-line") => &["line"],
        _ => &[],
    };
    let found = device.terminals.iter().enumerate().filter(|(_, t)| outs.contains(&t.name.as_str()));
    found.map(|(terminal, _)| TerminalRef { device: at.device, terminal }).collect()
}
