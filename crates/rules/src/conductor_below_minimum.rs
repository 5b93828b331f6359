//! The smallest conductor that a rule set allows.
//! Never: judges by current.
//! Start at [`RULE`].

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A conductor is thinner than the rule set allows, whatever its current.
    /// ## Why
    /// Thin wires break from vibration and pull, and their ends fatigue at the crimp.
    /// ## Limit
    /// `na`: 16 AWG alone, 18 AWG in a common sheath (33 CFR 183.425). `iec`: 1 mm² alone, 0.75 mm² in a sheath (ISO 10133).
    /// AC circuits have limits of their own in the same table.
    /// ## Mend
    /// The smallest size allowed.
    /// ## Silent when
    /// The size is at or above the limit, or the conductor is a link inside an assembly.
    /// ## Example
    /// 0.5 mm² to a reading light.
    "conductor-below-minimum", Warning, "a conductor is thinner than allowed at all",
    reads: "conductor size and cores",
    na: "33 CFR 183.425", iec: "ISO 10133",
    sources: ["cfr-33-183", "iso-10133"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, conductor) in case.cables().filter(|(_, conductor)| conductor.pole.carries_current()) {
        let is_ac =
            case.circuit_of(conductor).is_some_and(|circuit| circuit.supply == model::parts::Supply::Ac);
        let least = case.reference.min_gauge(case.system.rules, conductor.cores > 1, is_ac);
        if conductor.gauge >= least.value {
            continue;
        }
        let message =
            format!("{} is {}; the smallest allowed is {}", conductor.id, conductor.gauge, least.value);
        let found = out.warning(&conductor.id, case.gauge_cause(conductor), message);
        found
            .why("So thin a wire breaks from vibration and pull, mostly just behind the crimp.")
            .because(format!("{} of metal against {}", conductor.gauge.area(), least.value.area()))
            .cites(&least)
            .undo();
        match case.good_gauge(ix, |gauge| gauge >= least.value) {
            Some(gauge) => found.resize(&case.thinner_than(ix, gauge), gauge),
            None => found.mend(format!("use {} and ends that take it", least.value)),
        };
    }
}
