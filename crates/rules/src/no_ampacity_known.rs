//! A conductor of which no table says what it may carry.
//! Never: extrapolates.
//! Start at [`RULE`].

use crate::{Case, Out, insulation_too_cold_rated, rule};

rule! {
    /// ## What
    /// No table of the rule set says what a conductor of this size and insulation may carry.
    /// ## Why
    /// What is not known to be enough cannot be relied on; tables are never extrapolated.
    /// ## Limit
    /// The sizes and insulation ratings of the rule set's ampacity table.
    /// ## Mend
    /// A size and insulation that the table has.
    /// ## Silent when
    /// The table answers, or the air is as hot as the insulation, which `insulation-too-cold-rated` reports.
    /// ## Example
    /// 30 AWG in a main circuit.
    "no-ampacity-known", Danger, "no table says what a conductor may carry",
    reads: "conductor size, insulation, zone",
    na: "33 CFR 183.425 Table 5; NEC 310.16 for AC", iec: "ISO 10133 annex; IEC 60364-5-52 for AC",
    sources: ["cfr-33-183", "nec-310", "iso-10133", "iec-60364-5-52"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, conductor) in case.cables().filter(|(_, conductor)| conductor.pole.carries_current()) {
        let Some(Err(error)) = case.ampacity(ix) else { continue };
        if insulation_too_cold_rated::is_too_hot(case, conductor) {
            continue;
        }
        let message = format!(
            "{} is {} with {} insulation, which is outside the table",
            conductor.id, conductor.gauge, conductor.insulation
        );
        let found = out.danger(&conductor.id, case.gauge_cause(conductor), message);
        found
            .why("Nothing says that this conductor is thick enough, and it may overheat.")
            .because(error.to_string())
            .undo();
        if let Some(gauge) = case.good_gauge(ix, |gauge| gauge >= conductor.gauge) {
            found.resize(&case.thinner_than(ix, gauge), gauge);
        }
        found.mend(format!("use a size and insulation of the table: {}", error.range));
    }
}
