//! The bank may be colder than it can be discharged.
//! Never: judges charging (see `charging_below_freezing.rs`).
//! Start at [`RULE`].

use crate::sources::bank_part;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The coldest temperature of the bank's zone is below the battery's limit for discharging.
    /// ## Why
    /// A lithium battery cuts off, and a discharged lead-acid battery can freeze and burst.
    /// ## Limit
    /// The battery sheet's coldest discharging temperature.
    /// ## Mend
    /// Move the bank to a warmer zone, or insulate and heat its box.
    /// ## Silent when
    /// The zone stays warm enough.
    /// ## Example
    /// A bank on a trailer's drawbar at -30 °C.
    "discharging-too-cold", Warning, "the bank may be too cold to be used",
    reads: "climate of the bank's zone, battery sheets",
    na: "maker's limit; NEC 110.3(B)", iec: "maker's limit; IEC 60364-5-51, 512.2", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let (Some(bank), Some(battery)) = (&case.system.bank, bank_part(case)) else { return };
    let Some(zone) = case.system.zones.get(bank.zone) else { return };
    if zone.coldest < battery.discharge_coldest {
        let found = out.warning(
            "bank",
            case.cause(&[], &format!("zones.{}", zone.id)),
            format!(
                "the bank's zone {} gets down to {}; the battery may be discharged from {} up",
                zone.id, zone.coldest, battery.discharge_coldest
            ),
        );
        found.why(
            "In such cold the battery cuts off or loses much of its capacity, just when heating needs it.",
        );
        found.because(format!(
            "{} is {:.0} K below the limit",
            zone.coldest,
            (battery.discharge_coldest - zone.coldest).get()
        ));
        found.mend(format!(
            "move the bank to a zone that stays at {} or warmer, or heat its box",
            battery.discharge_coldest
        ));
    }
}
