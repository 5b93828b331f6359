//! A circuit's own protection against its thinnest conductor.
//! Never: judges taps or missing protection (see `unprotected_conductor.rs`).
//! Start at [`RULE`].

use std::collections::BTreeMap;

use model::parts::Supply;
use model::{ConductorIx, DeviceIx};
use quantity::{Amps, Written};
use reference::Cited;

use crate::exposure::Kind;
use crate::{Case, Out, protective, rule};

rule! {
    /// ## What
    /// The fuse or breaker of a circuit is rated higher than a conductor of that circuit allows.
    /// ## Why
    /// On an overload or a poor short circuit the conductor burns before the fuse opens.
    /// ## Limit
    /// `na` under 50 V: 150 % of the ampacity; from 50 V and on AC the ampacity or the next standard size, small conductors by 240.4(D).
    /// `iec`: the ampacity.
    /// ## Mend
    /// A smaller rating that still carries the load, else a thicker conductor.
    /// ## Silent when
    /// Every conductor of the circuit allows the rating.
    /// ## Example
    /// A 60 A fuse before 12 AWG of 105 °C insulation.
    "fuse-too-large-for-conductor", Danger, "a fuse is too large for the conductor behind it",
    reads: "protective ratings, conductor ampacities in their place",
    na: "33 CFR 183.455(c); NEC 240.4", iec: "ISO 10133 clause 8; IEC 60364-4-43, 433.1",
    sources: ["cfr-33-183", "nec-240", "iso-10133", "iec-60364-4-43"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    // The thinnest conductor of each device.
    let mut worst: BTreeMap<DeviceIx, (ConductorIx, Cited<Amps>)> = BTreeMap::new();
    let mut enter = |device: DeviceIx, conductor: ConductorIx, limit: Cited<Amps>| {
        if worst.get(&device).is_none_or(|(_, known)| limit.value < known.value) {
            worst.insert(device, (conductor, limit));
        }
    };
    for exposure in case.exposures() {
        if let Kind::TooLarge(device) = exposure.kind {
            enter(device, exposure.conductor, exposure.limit.clone());
        }
    }
    for (at, circuit) in
        case.system.circuits.iter().enumerate().filter(|(_, circuit)| circuit.supply == Supply::Ac)
    {
        let rated =
            circuit.protection.iter().filter_map(|ix| Some((*ix, protective(case.device(*ix)?)?.rating)));
        let Some((device, rating)) = rated.min_by(|a, b| a.1.total_cmp(&b.1)) else { continue };
        for ix in case.conductors_of(at) {
            let Some(conductor) = case.conductor(*ix).filter(|c| c.pole.is_ungrounded() && !c.is_internal)
            else {
                continue;
            };
            let Some(mut limit) = case.max_protection(*ix) else { continue };
            if case.system.rules == reference::RuleSet::Na
                && let Some(cap) = case.reference.small_conductor_cap(conductor.gauge)
                && cap.value < limit.value
            {
                limit = cap;
            }
            if rating > limit.value {
                enter(device, *ix, limit);
            }
        }
    }
    for (device_ix, (ix, limit)) in worst {
        let (Some(device), Some(conductor)) = (case.device(device_ix), case.conductor(ix)) else { continue };
        let Some(fuse) = protective(device) else { continue };
        let message = format!(
            "{} is {}; {} ({}) allows at most {}",
            device.id, fuse.rating, conductor.id, conductor.gauge, limit.value
        );
        let mut cause = case.protection_cause(device);
        if !cause.starts_with("pins.") && !cause.starts_with("built") {
            cause = case.gauge_cause(conductor);
        }
        let found = out.danger(&device.id, cause, message);
        found.why("On an overload the conductor overheats and can burn while the fuse still holds.");
        if let Some(Ok(ampacity)) = case.ampacity(ix) {
            found
                .because(format!("ampacity of {}: {} = {}", conductor.id, ampacity.cite.row, ampacity.value));
            found.cites(ampacity);
        }
        found.because(format!("largest protection allowed: {}", limit.value)).cites(&limit).undo();
        let circuit = case.circuit_at(device_ix);
        let least = circuit.map_or(Amps::zero(), |circuit| circuit.protection_least);
        let ratings =
            fuse.family.and_then(|family| case.reference.fuse_family(family)).map(|family| &family.ratings);
        let smaller = ratings.and_then(|ratings| {
            ratings.iter().copied().rfind(|rating| *rating <= limit.value && *rating >= least)
        });
        if let Some(rating) = smaller {
            found.pin(format!("fit a {rating} fuse"), &format!("{}.rating", device.id), rating.show());
        }
        let thicker = case.good_gauge(ix, |gauge| {
            case.max_protection_of(conductor, gauge).is_some_and(|limit| limit >= fuse.rating)
        });
        match thicker {
            Some(gauge) => found.resize(&case.thinner_than(ix, gauge), gauge),
            None => {
                found.mend(format!("use a conductor that allows {}, with ends that take it", fuse.rating))
            }
        };
    }
}
