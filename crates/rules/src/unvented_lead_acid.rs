//! A lead-acid bank stands in a place without vents to the outside.
//! Never: computes the air itself (see `reference`).
//! Start at [`RULE`].

use model::parts::Chemistry;
use quantity::Volts;

use crate::{Case, Out, Severity, rule};

rule! {
    /// ## What
    /// A lead-acid bank stands in a zone without vents to the outside.
    /// ## Why
    /// Lead-acid gives off hydrogen while it is charged, flooded batteries always and sealed ones when they are overcharged or old. At 4 %
    /// in air it explodes at the first spark.
    /// ## Limit
    /// Air of 0.05 m³/h for each cell and each ampere that makes gas (20 mA/Ah for flooded, 8 mA/Ah for sealed batteries at absorption),
    /// and openings of 28 cm² for each m³/h, low and high (IEC 62485-2). Danger for flooded batteries; warning for sealed ones.
    /// ## Mend
    /// Vent the box to the outside at its top, with an inlet at its bottom.
    /// ## Silent when
    /// The zone is vented or outside, or the bank is lithium.
    /// ## Example
    /// Flooded batteries in a closed locker.
    "unvented-lead-acid", Danger, "hydrogen can gather round a lead-acid bank",
    reads: "zone of the bank, chemistry, capacity",
    na: "ABYC E-10; NEC 480.10(A)", iec: "IEC 62485-2, clause 7", sources: ["iec-62485-2", "battery-pages"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(bank) = &case.system.bank else { return };
    let Some(zone) = case.system.zones.get(bank.zone) else { return };
    if zone.vented {
        return;
    }
    let Some(chemistry) = case.reference.chemistry(bank.chemistry.word()) else { return };
    let voltage: Volts = crate::sources::bank_part(case)
        .map_or(case.system.voltage, |part| part.voltage * f64::from(bank.series));
    let cells = (voltage / chemistry.nominal).round().max(1.0) as u32;
    let Some(air) = case.reference.ventilation(bank.chemistry.word(), cells, bank.capacity) else { return };
    let severity = if bank.chemistry == Chemistry::Flooded { Severity::Danger } else { Severity::Warning };
    let centimetres = air.value.opening.get() / 100.0;
    let cubic_metres = air.value.each_hour.get() / 1000.0;
    let found = out.open(
        severity,
        "bank",
        case.cause(&[], &format!("zones.{}", zone.id)),
        format!(
            "the {} bank stands in {}, which has no vents; it needs {cubic_metres:.2} m³ of air an hour",
            crate::charger_profile_mismatch::word(bank.chemistry),
            zone.id
        ),
    );
    found.why("Hydrogen gathers under the lid and explodes at the first spark, throwing acid.");
    found.because(format!(
        "{cells} cells of {} at absorption: {cubic_metres:.2} m³/h, through {centimetres:.0} cm² in and as much out",
        bank.capacity
    ));
    found.cites(&air).cite(&chemistry.cite);
    found.fix(
        format!(
            "give {} an opening of {centimetres:.0} cm² low and another high, to the outside, and say so",
            zone.id
        ),
        vec![model::Edit::set(&format!("zones.{}.vented", zone.id), "true")],
    );
}
