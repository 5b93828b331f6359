//! A shore inlet, its lead, the main breaker and what follows do not fit together.
//! Never: judges branch circuits.
//! Start at [`RULE`].

use std::collections::BTreeMap;

use model::{ConductorIx, DeviceIx, Pole, Spec};
use quantity::Amps;

use crate::sources::is_same_nominal;
use crate::{Case, Out, Via, ac, protective, rule};

rule! {
    /// ## What
    /// From an inlet inward: the main breaker is larger than the inlet or missing, a conductor up to it carries less than the inlet's
    /// current, a transfer relay or switch is too small for the main breaker, or the inlet is made for another voltage.
    /// ## Why
    /// The supply ashore protects only its own cord: the breaker at the pedestal opens at the inlet's rating at best. Anything thinner behind
    /// the inlet overheats, and the plug's contacts burn first.
    /// ## Limit
    /// Main breaker at most the inlet's current; lead at least the inlet's current; relay or switch at least the main breaker's rating.
    /// ## Mend
    /// Match inlet, lead and main breaker.
    /// ## Silent when
    /// Inlet, lead, main breaker, switches and relays agree.
    /// ## Example
    /// A 30 A inlet with a lead of 14 AWG.
    "inlet-breaker-conductor-disagree", Danger, "inlet, main breaker and conductors do not fit together",
    reads: "inlets, conductors and devices behind them",
    na: "NEC 551.44, 551.46, 240.4; ABYC E-11.10.2.8", iec: "IEC 60364-7-721, 721.43, 721.55", sources: ["nec-240", "nec-551"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let joined = ac::all_joined(case);
    for source in ac::sources(case) {
        let Some(device) = case.device(source.device) else { continue };
        let Spec::Inlet(inlet) = &device.spec else { continue };
        let rated = inlet.part.current;
        if let Some(voltage) = case.system.ac_voltage
            && !is_same_nominal(voltage, inlet.part.voltage).0
        {
            let found = out.danger(
                &device.id,
                case.part_cause(device),
                format!("{} is made for {}; the system has {voltage}", device.id, inlet.part.voltage),
            );
            found.why(
                "A plug of another voltage fits it, or its insulation is not made for what stands there.",
            );
            found.because(format!("{} against {voltage}", inlet.part.voltage));
            found.undo();
            found.mend(format!("take an inlet for {voltage}"));
        }
        let behind = behind(case, &joined, &source);
        if behind.unprotected_load {
            let found = out.danger(
                &device.id,
                case.cause(&[], &device.intent),
                format!("no main breaker stands between {} and what it feeds", device.id),
            );
            found.why("Nothing on board cuts the shore supply off or protects the wiring behind it.");
            found.because(format!("{} reaches a panel or load through conductors only", device.id));
            found.undo();
            found.mend(format!("fit a main breaker of {rated} or less beside {}", device.id));
        }
        for (breaker, rating) in &behind.mains {
            let Some(main) = case.device(*breaker) else { continue };
            if *rating > rated * (1.0 + 1e-9) {
                let found = out.danger(
                    &main.id,
                    case.protection_cause(main),
                    format!("main breaker {} is {rating}; the inlet is made for {rated}", main.id),
                );
                found.why("The inlet's contacts overheat and burn while the breaker still holds.");
                found.because(format!("{rating} against {rated}"));
                found.undo();
                found.mend(format!("fit a main breaker of {rated} or less"));
            }
        }
        for ix in &behind.lead {
            let (Some(conductor), Some(Ok(ampacity))) = (case.conductor(*ix), case.ampacity(*ix)) else {
                continue;
            };
            if ampacity.value >= rated * (1.0 - 1e-9) {
                continue;
            }
            let found = out.danger(
                &conductor.id,
                case.gauge_cause(conductor),
                format!("{} carries {}; the supply ashore gives up to {rated}", conductor.id, ampacity.value),
            );
            found.why(
                "Only the breaker ashore protects this lead, and it lets the inlet's full current flow.",
            );
            found.because(format!(
                "{} of {} carries {} where it runs",
                conductor.gauge, conductor.insulation, ampacity.value
            ));
            found.cites(ampacity);
            found.undo();
            let place = case.place(conductor);
            let fits = |gauge| {
                place.as_ref().is_some_and(|place| {
                    let found =
                        case.reference.ampacity(case.system.rules, gauge, conductor.insulation, place);
                    found.is_ok_and(|found| found.value >= rated)
                })
            };
            match case.smallest_gauge(conductor.gauge, fits) {
                Some(gauge) => found.resize(&case.thinner_than(*ix, gauge), gauge),
                None => found.mend("take an inlet for less current"),
            };
        }
        let main = behind.mains.values().copied().fold(Amps::zero(), Amps::max);
        let through = if main > Amps::zero() { main.min(rated) } else { rated };
        for relay in &behind.relays {
            let Some(relay) = case.device(*relay) else { continue };
            let carries = match &relay.spec {
                Spec::TransferSwitch(part) => part.current,
                Spec::Inverter(part, _) => part.transfer.unwrap_or(Amps::zero()),
                _ => continue,
            };
            if carries >= through * (1.0 - 1e-9) {
                continue;
            }
            let found = out.danger(
                &relay.id,
                case.part_cause(relay),
                format!("{} switches {carries}; the main breaker lets {through} through", relay.id),
            );
            found.why("Its contacts overheat and weld, and may then join two sources.");
            found.because(format!("{carries} against {through}"));
            found.undo();
            found.mend(format!("fit a main breaker of {carries} or less, or take a switch for {through}"));
        }
    }
}

/// What lies behind an inlet.
struct Behind {
    /// First breakers, with their ratings.
    mains: BTreeMap<DeviceIx, Amps>,
    /// Conductors before the first breaker, line and neutral.
    lead: Vec<ConductorIx>,
    /// Switches and relays that the supply goes through.
    relays: Vec<DeviceIx>,
    /// Whether a panel or load is reached without any breaker.
    unprotected_load: bool,
}

fn behind(case: &Case<'_>, joined: &ac::Mode, source: &ac::Source) -> Behind {
    let mut behind =
        Behind { mains: BTreeMap::new(), lead: Vec::new(), relays: Vec::new(), unprotected_load: false };
    let mut seen = std::collections::BTreeSet::new();
    let mut open = vec![(source.line, false)];
    while let Some((at, protected)) = open.pop() {
        if !seen.insert(at) {
            continue;
        }
        if let Some(device) = case.device(at.device) {
            match &device.spec {
                Spec::AcPanel(_) | Spec::Load(_) | Spec::Charger(..) if !protected => {
                    behind.unprotected_load = true
                }
                Spec::TransferSwitch(_) if !behind.relays.contains(&at.device) => {
                    behind.relays.push(at.device)
                }
                Spec::Inverter(part, _) if part.transfer.is_some() && !behind.relays.contains(&at.device) => {
                    behind.relays.push(at.device);
                }
                _ => {}
            }
        }
        for (to, via) in joined.steps(case, at) {
            if !case.pole(to).is_some_and(|pole| matches!(pole, Pole::Line | Pole::Line2)) {
                continue;
            }
            // The panel, and an inverter's own output, are the end of the supply.
            let is_end = matches!(
                case.device(at.device).map(|device| &device.spec),
                Some(Spec::AcPanel(_) | Spec::Inlet(_)) if at != source.line
            );
            if is_end {
                continue;
            }
            let mut next = protected;
            match via {
                Some(Via::Conductor(ix)) if !protected => {
                    behind
                        .lead
                        .extend(case.conductor(ix).filter(|conductor| !conductor.is_internal).map(|_| ix));
                }
                Some(Via::Device(device)) => {
                    if let Some(found) = case.device(device).and_then(protective)
                        && !protected
                    {
                        behind.mains.insert(device, found.rating);
                        next = true;
                    }
                }
                _ => {}
            }
            open.push((to, next));
        }
    }
    // The neutral of the lead lies in the same circuits.
    let circuits: std::collections::BTreeSet<usize> =
        behind.lead.iter().filter_map(|ix| case.conductor(*ix)).map(|conductor| conductor.circuit).collect();
    for circuit in circuits {
        for &ix in case.conductors_of(circuit) {
            let is_neutral = case
                .conductor(ix)
                .is_some_and(|conductor| conductor.pole == Pole::Neutral && !conductor.is_internal);
            if is_neutral {
                behind.lead.push(ix);
            }
        }
    }
    behind.lead.sort_unstable();
    behind.lead.dedup();
    behind
}
