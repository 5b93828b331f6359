//! Voltage lost between bank and load, by class.
//! Never: judges whether a motor starts (that is a rule of its own).
//! Start at [`RULE`]; [`drops`] finds the loss of each circuit.

use std::collections::{BTreeMap, BTreeSet};

use model::parts::Supply;
use model::{Circuit, CircuitIx, CircuitKind, ConductorIx, DeviceIx, Pole, Spec, TerminalRef};
use network::{Scene, SceneResult};
use quantity::{Fraction, Gauge, Volts};

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// Too large a share of the voltage is lost in the conductors on the way to a load, out and back.
    /// ## Why
    /// Motors run hot and slow, electronics switch off early, lamps are dim; of critical loads safety hangs on it.
    /// ## Limit
    /// 3 % of nominal for critical loads and panel feeders, 10 % for others; on AC 3 % and 5 %.
    /// The loss counts in the conductors from the bank's posts to the load's terminals, out and back, with everything on.
    /// Fuses, switches and joints are not conductors and lose a little more: the limits are meant for sizing cable.
    /// ## Mend
    /// The smallest size that keeps within the limit, or a shorter way.
    /// ## Silent when
    /// The loss is within the limit; or it comes from a feeder that is reported itself.
    /// ## Example
    /// 2.5 mm² to a bilge blower of 8 A at 5 m in a 12 V system: 5.3 %.
    "excess-voltage-drop", Warning, "too much voltage is lost on the way to a load",
    reads: "resistances and volts of the study with everything on, circuit current, class",
    na: "ABYC E-11; NEC 210.19 note for AC", iec: "ISO 10133 clause 7; IEC 60364-5-52 annex G for AC",
    sources: ["abyc-e11", "nec-210", "iso-10133", "iso-10133-7", "iec-60364-5-52-g"],
    check: check,
}

/// The loss of one circuit.
struct Drop {
    circuit: CircuitIx,
    /// In the conductors from the bank to where the circuit begins.
    before: Volts,
    /// In the circuit's own conductors.
    own: Volts,
    /// The device at whose terminals the circuit begins.
    begins: Option<DeviceIx>,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let mut drops = drops(case);
    // Feeders before what they feed, so that a branch behind a bad feeder is not told too.
    drops.sort_by_key(|drop| (is_branch(&case.system.circuits[drop.circuit]), drop.circuit));
    let mut fed_badly: BTreeSet<DeviceIx> = BTreeSet::new();
    for drop in drops {
        let circuit = &case.system.circuits[drop.circuit];
        let limit =
            case.reference.drop_limit(case.system.rules, circuit.critical, circuit.supply == Supply::Ac);
        let allowed = limit.value * circuit.voltage;
        // A conductor that was added and feeds nothing has no load that could run weak.
        if circuit.serves.is_empty() && circuit.current_steady <= quantity::Amps::zero() {
            continue;
        }
        let total = drop.before + drop.own;
        if total.get() <= allowed.get() * (1.0 + 1e-9) {
            continue;
        }
        if drop.begins.is_some_and(|device| fed_badly.contains(&device)) && drop.own <= allowed {
            continue;
        }
        fed_badly.extend(&circuit.serves);
        report(case, out, &drop, circuit, allowed, total, &limit);
    }
}

fn report(
    case: &Case<'_>,
    out: &mut Out,
    drop: &Drop,
    circuit: &Circuit,
    allowed: Volts,
    total: Volts,
    limit: &reference::Cited<Fraction>,
) {
    let share = |volts: Volts| format!("{:.1} %", 100.0 * (volts / circuit.voltage));
    let carrying = |ix: &ConductorIx| {
        let conductor = case.conductor(*ix)?;
        (conductor.pole.carries_current() && !conductor.is_internal).then_some((*ix, conductor))
    };
    let cables: Vec<_> = case.conductors_of(drop.circuit).iter().filter_map(carrying).collect();
    let cause = cables
        .iter()
        .map(|(_, conductor)| case.gauge_cause(conductor))
        .find(|cause| cause.starts_with("pins.") || cause.starts_with("built"))
        .unwrap_or_else(|| circuit.intent.clone());
    let message = format!(
        "{} of {} is lost on the way to {}; the limit is {}",
        share(total),
        circuit.voltage,
        circuit.id,
        share(allowed)
    );
    let found = out.warning(&circuit.id, cause, message);
    found.why(if circuit.kind == CircuitKind::Inverter {
        "The lower its voltage the more current an inverter draws, and it stops while the bank still has energy."
    } else if circuit.critical {
        "Safety hangs on this load, and it gets less voltage than it needs to do its work."
    } else {
        "The load runs weak or switches off while the bank still has energy, and motors run hot."
    });
    for (ix, conductor) in &cables {
        if let Some(resistance) = case.results.resistances.get(*ix) {
            found.because(format!(
                "{}: {} x {resistance} ({}, {}) = {}",
                conductor.id,
                circuit.current_steady,
                conductor.gauge,
                conductor.length,
                circuit.current_steady * *resistance
            ));
        }
    }
    found.because(format!("in the conductors before the circuit, with everything on: {}", drop.before));
    found.cites(limit).undo();
    // Resistance goes with the inverse of the metal's cross-section.
    let room = allowed - drop.before;
    let enough = |gauge: Gauge| {
        let scaled: Volts = cables
            .iter()
            .map(|(ix, conductor)| {
                let volts =
                    case.results.resistances.get(*ix).map_or(Volts::zero(), |r| circuit.current_steady * *r);
                volts * (conductor.gauge.area() / gauge.area().max(conductor.gauge.area()))
            })
            .sum();
        scaled <= room
    };
    let thinnest = cables.iter().min_by_key(|(_, conductor)| conductor.gauge);
    match thinnest
        .and_then(|(ix, conductor)| case.good_gauge(*ix, |gauge| gauge > conductor.gauge && enough(gauge)))
    {
        Some(gauge) => {
            let ids: Vec<&str> = cables
                .iter()
                .filter(|(_, c)| c.gauge < gauge)
                .map(|(_, conductor)| conductor.id.as_str())
                .collect();
            found.resize(&ids, gauge);
        }
        None if room <= Volts::zero() => {
            found.mend(format!("{} is lost before the circuit begins: mend the feeder first", drop.before));
        }
        None => {
            found.mend("shorten the way, or feed the load from nearer the bank; no size that fits its terminals is enough");
        }
    }
}

fn is_branch(circuit: &Circuit) -> bool {
    matches!(circuit.kind, CircuitKind::Branch | CircuitKind::AcBranch)
}

/// The loss of every circuit that feeds something.
fn drops(case: &Case<'_>) -> Vec<Drop> {
    let scene = case.results.scene(Scene::EverythingOn);
    let upstream = Upstream::of(case, scene);
    let mut drops = Vec::new();
    for (ix, circuit) in case.system.circuits.iter().enumerate() {
        if !matches!(
            circuit.kind,
            CircuitKind::Branch
                | CircuitKind::Feeder
                | CircuitKind::Inverter
                | CircuitKind::Converter
                | CircuitKind::AcBranch
        ) {
            continue;
        }
        let own = carrying(case, ix)
            .filter_map(|conductor| case.results.resistances.get(conductor))
            .map(|resistance| circuit.current_steady * *resistance)
            .sum();
        let begins = scene.filter(|_| circuit.supply == Supply::Dc).and_then(|scene| begins(case, scene, ix));
        // A converter's output is another voltage: what is lost counts from there.
        let is_bank_voltage = (circuit.voltage / case.system.voltage - 1.0).abs() < 0.25;
        let before = begins.filter(|_| is_bank_voltage).map_or(Volts::zero(), |device| upstream.loss(device));
        drops.push(Drop { circuit: ix, before, own, begins });
    }
    drops
}

/// Conductors of a circuit that carry current.
fn carrying<'c>(case: &'c Case<'_>, circuit: CircuitIx) -> impl Iterator<Item = ConductorIx> + 'c {
    case.conductors_of(circuit)
        .iter()
        .copied()
        .filter(|ix| case.conductor(*ix).is_some_and(|conductor| conductor.pole.carries_current()))
}

/// What is lost in conductors on the way to each busbar and panel, with everything on.
struct Upstream {
    /// By device: the loss of the circuits that bring the current there, and where the first of them begins.
    feeds: BTreeMap<DeviceIx, (Volts, Option<DeviceIx>)>,
}

impl Upstream {
    fn of(case: &Case<'_>, scene: Option<&SceneResult>) -> Self {
        let mut feeds = BTreeMap::new();
        let Some(scene) = scene else { return Self { feeds } };
        for (ix, circuit) in case.system.circuits.iter().enumerate() {
            if !matches!(circuit.kind, CircuitKind::Main | CircuitKind::Feeder)
                || circuit.supply == Supply::Ac
            {
                continue;
            }
            let lost = |conductor: ConductorIx| {
                let amps = scene.amps.get(conductor)?.abs();
                Some(amps * *case.results.resistances.get(conductor)?)
            };
            let loss: Volts = carrying(case, ix).filter_map(lost).sum();
            let begins = begins(case, scene, ix);
            // Every bar or panel at an end of the circuit, but for the one where it begins.
            for conductor in carrying(case, ix).filter_map(|ix| case.conductor(ix)) {
                for end in [conductor.from.device, conductor.to.device] {
                    let is_bar = matches!(
                        case.device(end).map(|device| &device.spec),
                        Some(Spec::Busbar(_) | Spec::FusePanel(_))
                    );
                    if is_bar && Some(end) != begins && conductor.pole == Pole::Positive {
                        feeds.insert(end, (loss, begins));
                    }
                }
            }
        }
        Self { feeds }
    }

    /// Loss up to a device, over at most as many circuits as there are: a ring of feeders ends there.
    fn loss(&self, device: DeviceIx) -> Volts {
        let mut sum = Volts::zero();
        let mut at = Some(device);
        let mut seen = BTreeSet::new();
        while let Some(device) = at.filter(|device| seen.insert(*device)) {
            let Some((loss, before)) = self.feeds.get(&device) else { break };
            sum += *loss;
            at = *before;
        }
        sum
    }
}

/// Where a circuit begins: the device of the highest of its positive ends.
fn begins(case: &Case<'_>, scene: &SceneResult, circuit: CircuitIx) -> Option<DeviceIx> {
    let mut highest: Option<(Volts, DeviceIx)> = None;
    for ix in case.conductors_of(circuit) {
        let conductor = case.conductor(*ix)?;
        if conductor.pole != Pole::Positive {
            continue;
        }
        for end in [conductor.from, conductor.to] {
            let Some(volts) = volts_at(scene, end) else { continue };
            if highest.is_none_or(|(known, _)| volts > known) {
                highest = Some((volts, end.device));
            }
        }
    }
    let (_, device) = highest?;
    // A fuse in a panel's way begins at the panel.
    match case.device(device).map(|device| &device.spec) {
        Some(Spec::Fuse(fuse)) => fuse.panel.or(Some(device)),
        _ => Some(device),
    }
}

fn volts_at(scene: &SceneResult, at: TerminalRef) -> Option<Volts> {
    *scene.volts.get(at.device)?.get(at.terminal)?
}
