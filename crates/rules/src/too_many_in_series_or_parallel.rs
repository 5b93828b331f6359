//! More batteries in series or in parallel than the maker allows.
//! Never: judges how evenly they share (see `uneven_parallel_batteries.rs`).
//! Start at [`RULE`].

use crate::sources::bank_part;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The bank has more batteries in series or more strings in parallel than the battery's sheet allows.
    /// ## Why
    /// The electronics of a lithium battery stand only so much voltage; many strings in parallel never share evenly, and each feeds a fault
    /// in any other.
    /// ## Limit
    /// The battery sheet. Danger in series, warning in parallel.
    /// ## Mend
    /// Take batteries of a higher voltage or a larger capacity.
    /// ## Silent when
    /// Both numbers are within the sheet.
    /// ## Example
    /// Five lithium batteries in parallel where the sheet allows four.
    "too-many-in-series-or-parallel", Danger, "the bank has more batteries in series or parallel than allowed",
    reads: "bank, battery sheets",
    na: "maker's limit; NEC 110.3(B)", iec: "maker's limit; IEC 62485-2, 5", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let (Some(bank), Some(battery)) = (&case.system.bank, bank_part(case)) else { return };
    if bank.series > battery.most_series {
        let found = out.danger(
            "bank",
            case.cause(&["bank.series", "bank.part"], "bank"),
            format!("{} batteries stand in series; the sheet allows {}", bank.series, battery.most_series),
        );
        found
            .why("The switch inside a lithium battery fails when it opens more voltage than it is made for.");
        found.because(format!(
            "{} x {} = {}",
            bank.series,
            battery.voltage,
            battery.voltage * f64::from(bank.series)
        ));
        found.undo();
        found.mend(format!(
            "take batteries of at least {}",
            battery.voltage * f64::from(bank.series) / f64::from(battery.most_series.max(1))
        ));
    }
    if bank.parallel > battery.most_parallel {
        let found = out.warning(
            "bank",
            case.cause(&["bank.parallel", "bank.part"], "bank"),
            format!(
                "{} strings stand in parallel; the sheet allows {}",
                bank.parallel, battery.most_parallel
            ),
        );
        found.why("Many strings never share evenly, and every one of them feeds a fault in any other.");
        found.because(format!("{} x {} = {}", bank.parallel, battery.capacity, bank.capacity));
        found.undo();
        found.mend(format!(
            "take batteries of at least {}",
            bank.capacity / f64::from(battery.most_parallel.max(1))
        ));
    }
}
