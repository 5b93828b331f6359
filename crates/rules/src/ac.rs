//! The AC side in each of its modes: which source feeds what, through which switch, and where neutral meets earth.
//! Never: words a finding.
//! Start at [`modes`]; [`Mode::lines`] and [`Mode::neutrals`] say what hangs together in it.

use std::collections::{BTreeMap, BTreeSet};

use model::parts::NeutralBond;
use model::{ConductorIx, DeviceIx, Pole, Spec, TerminalRef};

use crate::{Case, Node, Via};

/// How many switches are tried in every combination; beyond that only all one way and all the other.
const SWITCHES_TRIED: usize = 6;

/// Kinds of AC sources.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Shore,
    Generator,
    Inverter,
}

impl Kind {
    /// The source in words.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Shore => "shore power",
            Kind::Generator => "the generator",
            Kind::Inverter => "the inverter",
        }
    }
}

/// A source of alternating current.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Source {
    pub device: DeviceIx,
    pub kind: Kind,
    pub line: TerminalRef,
    pub neutral: Option<TerminalRef>,
    pub bond: NeutralBond,
    /// An inverter with a transfer relay: where its supply comes in.
    pub input: Option<TerminalRef>,
}

/// Every AC source, in the order of the devices.
pub(crate) fn sources(case: &Case<'_>) -> Vec<Source> {
    let mut found = Vec::new();
    for (device, data) in case.system.devices.iter().enumerate() {
        let (kind, bond) = match &data.spec {
            // Shore power is bonded at its own supply, ashore.
            Spec::Inlet(_) => (Kind::Shore, NeutralBond::Fixed),
            Spec::Generator(part) => (Kind::Generator, part.neutral_bond),
            Spec::Inverter(part, _) => (Kind::Inverter, part.neutral_bond),
            _ => continue,
        };
        let Some(line) = case.terminal(device, "line") else { continue };
        let input = case.terminal(device, "in-line");
        found.push(Source { device, kind, line, neutral: case.terminal(device, "neutral"), bond, input });
    }
    found
}

/// One position of every switch and relay, with the sources that are live.
pub(crate) struct Mode {
    /// Joins inside switches and relays.
    joins: BTreeMap<Node, Vec<Node>>,
    /// Inverters that pass their supply on instead of making current.
    passing: BTreeSet<DeviceIx>,
}

impl Mode {
    /// Whether an inverter passes its supply on.
    pub fn passes(&self, device: DeviceIx) -> bool {
        self.passing.contains(&device)
    }
    /// Line terminals that hang together with `start`.
    pub fn lines(&self, case: &Case<'_>, start: TerminalRef) -> BTreeSet<TerminalRef> {
        self.walk(case, start, |pole| matches!(pole, Pole::Line | Pole::Line2), |_| true)
    }
    /// The same, but not through devices for which `open` holds.
    pub fn lines_up_to(
        &self,
        case: &Case<'_>,
        start: TerminalRef,
        open: impl Fn(DeviceIx) -> bool,
    ) -> BTreeSet<TerminalRef> {
        self.walk(case, start, |pole| matches!(pole, Pole::Line | Pole::Line2), |device| !open(device))
    }
    /// Neutral terminals that hang together with `start`.
    pub fn neutrals(&self, case: &Case<'_>, start: TerminalRef) -> BTreeSet<TerminalRef> {
        self.walk(case, start, |pole| pole == Pole::Neutral, |_| true)
    }

    /// The steps out of a terminal, with what they lead through; nothing for a switch or relay.
    pub fn steps(&self, case: &Case<'_>, at: TerminalRef) -> Vec<(TerminalRef, Option<Via>)> {
        let Some(node) = case.graph.node(at) else { return Vec::new() };
        let outward = case.graph.edges(node).iter().map(|edge| (edge.to, Some(edge.via)));
        let inside = self.joins.get(&node).into_iter().flatten().map(|to| (*to, None));
        outward.chain(inside).map(|(to, via)| (case.graph.terminal(to), via)).collect()
    }

    fn walk(
        &self,
        case: &Case<'_>,
        start: TerminalRef,
        is: impl Fn(Pole) -> bool,
        through: impl Fn(DeviceIx) -> bool,
    ) -> BTreeSet<TerminalRef> {
        let mut seen = BTreeSet::new();
        let mut open: Vec<Node> = case.graph.node(start).into_iter().collect();
        while let Some(node) = open.pop() {
            let at = case.graph.terminal(node);
            if !seen.insert(at) {
                continue;
            }
            let outward = case.graph.edges(node).iter().filter(|edge| match edge.via {
                Via::Device(device) => through(device),
                Via::Conductor(_) => true,
            });
            let inside = self.joins.get(&node).into_iter().flatten().copied();
            open.extend(
                outward
                    .map(|edge| edge.to)
                    .chain(inside)
                    .filter(|to| case.pole(case.graph.terminal(*to)).is_some_and(&is)),
            );
        }
        seen
    }
}

/// Every mode in which `live` sources can stand, by the positions of the transfer switches.
pub(crate) fn modes(case: &Case<'_>, live: &[Source]) -> Vec<Mode> {
    let devices = case.system.devices.iter().enumerate();
    let switches: Vec<(DeviceIx, bool)> = devices
        .filter_map(|(ix, device)| match &device.spec {
            Spec::TransferSwitch(part) => Some((ix, part.switches_neutral)),
            _ => None,
        })
        .collect();
    let count = switches.len();
    let positions: Vec<u64> =
        if count <= SWITCHES_TRIED { (0..1 << count).collect() } else { vec![0, u64::MAX] };
    let mode = |position: u64| {
        let mut mode = Mode { joins: BTreeMap::new(), passing: BTreeSet::new() };
        for (index, (device, switches_neutral)) in switches.iter().enumerate() {
            let side = if position >> index.min(63) & 1 == 0 { "a" } else { "b" };
            join(case, &mut mode, *device, &format!("{side}-line"), "line");
            for neutral in ["a-neutral", "b-neutral"] {
                if !switches_neutral || neutral.starts_with(side) {
                    join(case, &mut mode, *device, neutral, "neutral");
                }
            }
        }
        // A relay passes its supply on as soon as there is one; one inverter may feed the next, so each round may add one.
        let relays = || sources(case).into_iter().filter_map(|source| Some((source.device, source.input?)));
        for _ in 0..relays().count() {
            for (device, input) in relays() {
                let supply = mode.lines(case, input);
                let is_live = |source: &Source| {
                    source.device != device && !mode.passes(source.device) && supply.contains(&source.line)
                };
                if !mode.passes(device) && live.iter().any(is_live) {
                    mode.passing.insert(device);
                    join(case, &mut mode, device, "in-line", "line");
                    join(case, &mut mode, device, "in-neutral", "neutral");
                }
            }
        }
        mode
    };
    positions.into_iter().map(mode).collect()
}

/// A mode in which every switch and relay passes on from each of its inputs, never back: all that a source can ever feed.
pub(crate) fn all_joined(case: &Case<'_>) -> Mode {
    let mut mode = Mode { joins: BTreeMap::new(), passing: BTreeSet::new() };
    for (device, data) in case.system.devices.iter().enumerate() {
        let inputs: &[&str] = match &data.spec {
            Spec::TransferSwitch(_) => &["a-line", "b-line"],
            Spec::Inverter(..) => &["in-line"],
            _ => continue,
        };
        let node = |name: &str| case.graph.node(case.terminal(device, name)?);
        for input in inputs {
            if let (Some(input), Some(output)) = (node(input), node("line")) {
                mode.joins.entry(input).or_default().push(output);
            }
        }
    }
    mode
}

/// Joins two terminals inside a device, both ways.
fn join(case: &Case<'_>, mode: &mut Mode, device: DeviceIx, one: &str, other: &str) {
    let node = |name: &str| case.graph.node(case.terminal(device, name)?);
    if let (Some(one), Some(other)) = (node(one), node(other)) {
        mode.joins.entry(one).or_default().push(other);
        mode.joins.entry(other).or_default().push(one);
    }
}

/// A place where neutral meets earth.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Bond {
    /// At the supply ashore of this inlet.
    Ashore(DeviceIx),
    /// In this device.
    Device(DeviceIx),
    /// By this conductor.
    Cable(ConductorIx),
}

/// The bonds of the neutrals that hang together, where `source` feeds them in `mode`. Another inlet's bond counts as
/// possible only, since its cord may be plugged in or not; it comes second.
pub(crate) fn bonds(case: &Case<'_>, mode: &Mode, source: &Source, all: &[Source]) -> (Vec<Bond>, Vec<Bond>) {
    let Some(start) = source.neutral else { return (Vec::new(), Vec::new()) };
    let neutrals = mode.neutrals(case, start);
    let (mut sure, mut possible) = (Vec::new(), Vec::new());
    for other in all.iter().filter(|other| other.neutral.is_some_and(|neutral| neutrals.contains(&neutral))) {
        let is_this = other.device == source.device;
        match (other.kind, other.bond) {
            (Kind::Shore, _) if is_this => sure.push(Bond::Ashore(other.device)),
            (Kind::Shore, _) => possible.push(Bond::Ashore(other.device)),
            (_, NeutralBond::Fixed) => sure.push(Bond::Device(other.device)),
            (_, NeutralBond::Switched) if is_this => sure.push(Bond::Device(other.device)),
            _ => {}
        }
    }
    let mut seen = BTreeSet::new();
    for at in &neutrals {
        for &ix in case.at(*at) {
            let Some(conductor) = case.conductor(ix) else { continue };
            let far = if conductor.from == *at { conductor.to } else { conductor.from };
            if case.pole(far) == Some(Pole::Earth) && seen.insert(ix) {
                sure.push(Bond::Cable(ix));
            }
        }
    }
    (sure, possible)
}
