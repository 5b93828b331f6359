//! The bank stands where it may get hotter than it can take.
//! Never: judges the cold.
//! Start at [`RULE`].

use crate::sources::bank_part;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The hottest temperature of the bank's zone is above the battery's limit.
    /// ## Why
    /// Heat ages every battery (lead-acid loses half its life for each 10 K) and can set off a failing one.
    /// ## Limit
    /// The battery sheet's hottest temperature.
    /// ## Mend
    /// Move the bank to a cooler zone, away from engine and heater.
    /// ## Silent when
    /// The zone stays cool enough.
    /// ## Example
    /// A lithium bank in an engine space.
    "bank-too-hot", Warning, "the bank may get too hot",
    reads: "climate of the bank's zone, battery sheets",
    na: "maker's limit; NEC 110.3(B)", iec: "maker's limit; IEC 60364-5-51, 512.2", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let (Some(bank), Some(battery)) = (&case.system.bank, bank_part(case)) else { return };
    let Some(zone) = case.system.zones.get(bank.zone) else { return };
    if zone.hottest > battery.hottest {
        let found = out.warning(
            "bank",
            case.cause(&[], &format!("zones.{}", zone.id)),
            format!(
                "the bank's zone {} gets up to {}; the battery's limit is {}",
                zone.id, zone.hottest, battery.hottest
            ),
        );
        found.why("A hot battery ages fast, cuts off, and in the worst case fails with fire.");
        found.because(format!(
            "{} is {:.0} K above the limit",
            zone.hottest,
            (zone.hottest - battery.hottest).get()
        ));
        found.mend(format!("move the bank to a zone that stays at {} or cooler", battery.hottest));
    }
}
