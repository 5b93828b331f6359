//! Protection against the load that it must carry.
//! Never: judges the conductor.
//! Start at [`RULE`].

use model::Spec;
use model::parts::Supply;
use quantity::{Amps, Written};
use reference::FuseOrBreaker;

use crate::{Case, Out, protective, rule};

rule! {
    /// ## What
    /// A fuse or breaker is rated lower than its circuit needs in normal use.
    /// ## Why
    /// It opens without a fault, at the worst moment, and tempts to a larger one that the conductor does not allow.
    /// ## Limit
    /// The steady current at the lowest working voltage, 125 % of it for a load that may run three hours or more, and the smallest rating
    /// that the derivation gives for normal use.
    /// ## Mend
    /// The next rating that carries the load, with a conductor that allows it.
    /// ## Silent when
    /// The rating is at or above the need.
    /// ## Example
    /// A 10 A fuse for a heater that draws 9 A all night.
    "fuse-too-small-for-load", Warning, "a fuse is too small for its load",
    reads: "circuit current, whether it is continuous, protective ratings",
    na: "NEC 210.20, 215.3", iec: "IEC 60364-4-43, 433.1 (Ib <= In); the NEC factor for continuous loads",
    sources: ["nec-210", "iec-60364-4-43"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let factor = case.reference.continuous_factor(case.system.rules);
    for (at, circuit) in case.system.circuits.iter().enumerate() {
        // Where circuits meet, derive's own figure already weighs what runs long; an inlet is used up to its rating.
        let serves_load = circuit
            .serves
            .iter()
            .any(|ix| case.device(*ix).is_some_and(|device| matches!(device.spec, Spec::Load(_))));
        let is_long = circuit.continuous && serves_load;
        let share = if is_long { factor.value } else { 1.0 };
        let need = (circuit.current_steady * share).max(circuit.protection_least);
        for ix in &circuit.protection {
            let Some(device) = case.device(*ix) else { continue };
            let Some(fuse) = protective(device) else { continue };
            // Ratings and needs go through the same arithmetic, but not in the same order.
            if fuse.rating.get() >= need.get() * (1.0 - 1e-9) {
                continue;
            }
            let message =
                format!("{} is {}; circuit {} needs at least {need}", device.id, fuse.rating, circuit.id);
            let found = out.warning(&device.id, case.protection_cause(device), message);
            found.why(
                "It opens in normal use, and the next person fits a larger one than the conductor allows.",
            );
            found.because(format!(
                "{} steady at {}{}",
                circuit.current_steady,
                circuit.voltage_lowest,
                if is_long { format!(", continuous: x {share}") } else { String::new() }
            ));
            found.because(format!("smallest rating that holds in normal use: {}", circuit.protection_least));
            found.cites(&factor).undo();
            if let Some(rating) = next_rating(case, fuse.family, need, circuit.supply) {
                let allows = case.conductors_of(at).iter().all(|conductor| {
                    case.max_protection(*conductor).is_none_or(|limit| limit.value >= rating)
                });
                if allows {
                    found.pin(format!("fit {rating}"), &format!("{}.rating", device.id), rating.show());
                } else {
                    found.mend(format!("fit {rating} and conductors that allow it"));
                }
            }
        }
    }
}

fn next_rating(case: &Case<'_>, family: Option<&str>, need: Amps, supply: Supply) -> Option<Amps> {
    match family.and_then(|family| case.reference.fuse_family(family)) {
        Some(family) => family.rating_at_least(need),
        None => {
            let kind = if supply == Supply::Ac { FuseOrBreaker::Breaker } else { FuseOrBreaker::Fuse };
            case.reference.next_standard_rating(case.system.rules, kind, need).ok().map(|rating| rating.value)
        }
    }
}
