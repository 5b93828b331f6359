//! A battery is charged where it may be colder than it can take.
//! Never: judges discharging (see `discharging_too_cold.rs`).
//! Start at [`RULE`].

use model::parts::Chemistry;

use crate::sources::{bank_part, charging};
use crate::{Case, Out, Severity, rule};

rule! {
    /// ## What
    /// The coldest temperature of the bank's zone is below the battery's limit for charging, the battery does not warm itself, and a
    /// charger does not stop in the cold.
    /// ## Why
    /// Charging a lithium battery below freezing plates metal inside the cells: it loses capacity at once and may short-circuit later.
    /// ## Limit
    /// The battery sheet's coldest charging temperature, usually 0 °C for lithium iron phosphate.
    /// ## Mend
    /// Have every charger stop by a sensor on the battery, take a heated battery, or move the bank to a warmer zone.
    /// ## Silent when
    /// The zone stays warm enough, the battery is heated, or every charger stops in the cold.
    /// ## Example
    /// A lithium bank under the floor at -15 °C on a charger without a temperature sensor.
    "charging-below-freezing", Danger, "the bank is charged when it is too cold",
    reads: "climate of the bank's zone, battery sheets, settings of the chargers",
    na: "maker's limit; ABYC E-13", iec: "maker's limit; ISO/TS 23625", sources: ["battery-pages"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(bank) = &case.system.bank else { return };
    let Some(zone) = case.system.zones.get(bank.zone) else { return };
    let Some(battery) = bank_part(case) else { return };
    if zone.coldest >= battery.charge_coldest || battery.heated == Some(true) {
        return;
    }
    // Lead-acid in the cold only charges slowly and gasses; lithium is damaged for good.
    let severity = if bank.chemistry == Chemistry::Lfp { Severity::Danger } else { Severity::Warning };
    for one in charging(case) {
        if one.setting.is_some_and(|setting| setting.stops_in_cold) {
            continue;
        }
        let id = &one.device.id;
        let found = out.open(
            severity,
            id,
            format!("zones.{}", zone.id),
            format!(
                "{id} charges the bank down to {} in the zone {}; the battery may be charged from {} up",
                zone.coldest, zone.id, battery.charge_coldest
            ),
        );
        found.why("Metal plates out inside cold lithium cells: capacity is lost for good and a short circuit may follow.");
        found.because(format!(
            "{} gets as cold as {}; the battery does not warm itself, and {id} does not stop in the cold",
            zone.id, zone.coldest
        ));
        if let Some(chemistry) = case.reference.chemistry(bank.chemistry.word()) {
            found.cite(&chemistry.cite);
        }
        found.undo();
        found.mend(format!(
            "let a sensor on the battery stop {id} below {}, take a heated battery, or move the bank to a zone that \
             stays at {} or warmer",
            battery.charge_coldest, battery.charge_coldest
        ));
    }
}
