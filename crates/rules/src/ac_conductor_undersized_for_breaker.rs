//! An AC conductor without a breaker of its own stands behind one that is too large for it.
//! Never: judges a circuit's own breaker (see `fuse_too_large_for_conductor.rs`) or the inlet's lead (see
//! `inlet_breaker_conductor_disagree.rs`).
//! Start at [`RULE`].

use std::collections::BTreeMap;

use model::{ConductorIx, DeviceIx, Pole, Spec};
use quantity::Amps;
use reference::RuleSet;

use crate::{Case, Out, ac, protective, rule};

rule! {
    /// ## What
    /// A line conductor of the AC side that has no breaker of its own, such as a feeder behind a transfer switch or a tap, stands behind a
    /// breaker, generator or inverter that gives more than the conductor may have.
    /// ## Why
    /// An overload that the breaker allows all day overheats the cable inside the wall.
    /// ## Limit
    /// `na`: the ampacity or the next standard rating above it (NEC 240.4(B)), and never more than 15 A on 14 AWG, 20 A on 12 AWG, 30 A on
    /// 10 AWG (240.4(D)). `iec`: the ampacity itself.
    /// ## Mend
    /// A thicker conductor, or a smaller breaker.
    /// ## Silent when
    /// Every such conductor may have the device ahead of it. A circuit's own breaker is judged by fuse-too-large-for-conductor.
    /// ## Example
    /// 14 AWG from a transfer switch behind a main breaker of 30 A.
    "ac-conductor-undersized-for-breaker", Danger, "an AC conductor is too small for the breaker ahead of it",
    reads: "AC conductors, breakers, inlets, generators, inverters",
    na: "NEC 240.4(B), 240.4(D), 310.16", iec: "IEC 60364-4-43, 433.1", sources: ["nec-240", "nec-310", "iec-60364-4-43"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, (rating, ahead)) in ahead(case) {
        let Some(conductor) = case.conductor(ix) else { continue };
        let has_own = case.circuit_of(conductor).is_some_and(|circuit| circuit.protection.contains(&ahead));
        let is_inlet = case.device(ahead).is_some_and(|device| matches!(device.spec, Spec::Inlet(_)));
        if conductor.is_internal || has_own || is_inlet {
            continue;
        }
        let (Some(Ok(ampacity)), Some(allowed)) = (case.ampacity(ix), case.max_protection(ix)) else {
            continue;
        };
        let cap = match case.system.rules {
            RuleSet::Na => case.reference.small_conductor_cap(conductor.gauge),
            RuleSet::Iec => None,
        };
        let (limit, cite) = match &cap {
            Some(cap) if cap.value < allowed.value => (cap.value, cap.cite.clone()),
            _ => (allowed.value, allowed.cite.clone()),
        };
        if rating <= limit * (1.0 + 1e-9) {
            continue;
        }
        let ahead = case.name(ahead);
        let found = out.danger(
            &conductor.id,
            case.gauge_cause(conductor),
            format!(
                "{} of {} stands behind {rating} at {ahead}; it may have {limit}",
                conductor.id, conductor.gauge
            ),
        );
        found.why("The breaker lets an overload flow all day that overheats the cable inside the wall.");
        found.because(format!("it carries {} where it runs; so at most {limit} ahead of it", ampacity.value));
        found.cite(&cite).cites(ampacity);
        found.undo();
        let fits = |gauge| {
            let capped = case.system.rules == RuleSet::Na
                && case.reference.small_conductor_cap(gauge).is_some_and(|cap| cap.value < rating);
            !capped && case.max_protection_of(conductor, gauge).is_some_and(|most| most >= rating)
        };
        if let Some(gauge) = case.smallest_gauge(conductor.gauge, fits) {
            let together = case.thinner_than(ix, gauge);
            found.resize(&together, gauge);
        }
        found.mend(format!("take a breaker of {limit} or less at {ahead}"));
    }
}

/// For every AC conductor the rating of the device ahead of it, and that device.
///
/// Ratings spread from each source through lines: a breaker passes on its own rating where that is smaller. Where several
/// sources reach a conductor, the largest counts.
pub(crate) fn ahead(case: &Case<'_>) -> BTreeMap<ConductorIx, (Amps, DeviceIx)> {
    let mut found: BTreeMap<ConductorIx, (Amps, DeviceIx)> = BTreeMap::new();
    let joined = ac::all_joined(case);
    for source in ac::sources(case) {
        let Some(device) = case.device(source.device) else { continue };
        let rating = match &device.spec {
            Spec::Inlet(inlet) => inlet.part.current,
            Spec::Generator(part) => part.breaker,
            Spec::Inverter(part, _) => part.power / part.output,
            _ => continue,
        };
        spread(case, &joined, &source, rating, &mut found);
    }
    found
}

fn spread(
    case: &Case<'_>,
    mode: &ac::Mode,
    source: &ac::Source,
    rating: Amps,
    found: &mut BTreeMap<ConductorIx, (Amps, DeviceIx)>,
) {
    let mut open = vec![(source.line, rating, source.device)];
    let mut seen = std::collections::BTreeSet::new();
    while let Some((at, rating, ahead)) = open.pop() {
        if !seen.insert(at) {
            continue;
        }
        for (to, via) in mode.steps(case, at) {
            if seen.contains(&to)
                || !case.pole(to).is_some_and(|pole| matches!(pole, Pole::Line | Pole::Line2))
            {
                continue;
            }
            let mut next = (rating, ahead);
            match via {
                Some(crate::Via::Conductor(ix)) => {
                    let most = found.entry(ix).or_insert(next);
                    if next.0 > most.0 {
                        *most = next;
                    }
                }
                Some(crate::Via::Device(device)) => {
                    if let Some(found) = case.device(device).and_then(protective)
                        && (found.rating < rating || ahead == source.device)
                    {
                        next = (found.rating, device);
                    }
                }
                None => {}
            }
            open.push((to, next.0, next.1));
        }
    }
}
