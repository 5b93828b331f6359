//! Current against ampacity.
//! Never: judges protection (see `fuse_too_large_for_conductor.rs`) or drop.
//! Start at [`RULE`].

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A conductor carries more current than its size and insulation allow where it runs.
    /// ## Why
    /// It runs hotter than its insulation stands; the insulation hardens, cracks and in the end burns.
    /// ## Limit
    /// The table current of its size and insulation, with the factors for the hottest air on its way, engine space and bundling.
    /// The current is the circuit's steady current at the lowest working voltage, or more where the study finds more.
    /// ## Mend
    /// The smallest size that carries the current there, insulation of a higher rating, or a cooler or looser route.
    /// ## Silent when
    /// The current is at or below the ampacity.
    /// ## Example
    /// 60 A in 8 AWG of 105 °C insulation in an engine space.
    "conductor-overloaded", Danger, "a conductor carries more than its ampacity",
    reads: "conductor size, insulation, zone, bundle; circuit current; currents of every scene but starting",
    na: "33 CFR 183.425 Table 5 with notes; NEC 310.16 for AC", iec: "ISO 10133 annex; IEC 60364-5-52 for AC",
    sources: ["cfr-33-183", "nec-310", "iso-10133", "iec-60364-5-52"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, conductor) in case.cables().filter(|(_, conductor)| conductor.pole.carries_current()) {
        let current = case.current(ix);
        let Some(Ok(ampacity)) = case.ampacity(ix) else { continue };
        if current <= ampacity.value {
            continue;
        }
        let message = format!(
            "{} carries {current}; {} with {} insulation may carry {} there",
            conductor.id, conductor.gauge, conductor.insulation, ampacity.value
        );
        let found = out.danger(&conductor.id, case.gauge_cause(conductor), message);
        found.why("The conductor gets hotter than its insulation stands, hardens and can set fire to what it touches.");
        found.because(format!("ampacity: {} = {}", ampacity.cite.row, ampacity.value));
        if let Some(circuit) = case.circuit_of(conductor) {
            found.because(format!(
                "current: {} steady in circuit {}, {} at most in the study",
                circuit.current_steady,
                circuit.id,
                case.results.largest_steady(ix)
            ));
        }
        found.cites(ampacity).undo();
        match case.good_gauge(ix, |gauge| gauge > conductor.gauge) {
            Some(gauge) => found.resize(&case.thinner_than(ix, gauge), gauge),
            None => found.mend("split the current over two circuits, or choose devices whose terminals take a thicker conductor"),
        };
    }
}
