//! A charger's profile or voltage does not fit the bank.
//! Never: judges currents (see `bank_overcharged.rs`) or the cold (see `charging_below_freezing.rs`).
//! Start at [`RULE`].

use quantity::Volts;

use crate::sources::{bank_part, charging};
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A charger is set to the profile of another chemistry, has no profile for it, or its absorption or float voltage is off the sheet.
    /// ## Why
    /// Too high a voltage gasses, swells or trips the battery; too low a voltage never fills it.
    /// ## Limit
    /// The battery sheet's absorption and float voltage times the batteries in series, with 0.2 V per 12 V to spare (common practice).
    /// Danger above the absorption voltage, warning below it.
    /// ## Mend
    /// Set the charger to the sheet's voltages, or take one that has the profile.
    /// ## Silent when
    /// Profile and voltages fit.
    /// ## Example
    /// An equalising lead-acid profile on lithium iron phosphate.
    "charger-profile-mismatch", Danger, "a charger's profile does not fit the battery",
    reads: "settings of the chargers, battery sheets, chemistry table",
    na: "maker's instructions; NEC 110.3(B)", iec: "maker's instructions; IEC 62485-2, 5", sources: ["practice", "battery-pages"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(bank) = &case.system.bank else { return };
    let Some(battery) = bank_part(case) else { return };
    let series = f64::from(bank.series);
    let (absorption, float) = (battery.absorption * series, battery.float * series);
    let tolerance = case.reference.charge_voltage_tolerance(case.system.voltage);
    for one in charging(case) {
        let Some(setting) = one.setting else { continue };
        let id = &one.device.id;
        let profile = || case.cause(&[&format!("{id}.profile"), &format!("{id}.part")], &one.device.intent);
        if setting.profile != bank.chemistry {
            let found = out.danger(
                id,
                profile(),
                format!(
                    "{id} is set to the {} profile; the bank is {}",
                    word(setting.profile),
                    word(bank.chemistry)
                ),
            );
            found.why("Stages and voltages made for another chemistry overcharge the bank or never fill it.");
            found.because(format!("the battery asks for {absorption} absorption and {float} float"));
            found.undo();
            found.mend(format!(
                "set it to {}, {absorption} absorption and {float} float",
                word(bank.chemistry)
            ));
        } else if !one.profiles.is_empty() && !one.profiles.contains(&bank.chemistry) {
            let found =
                out.danger(id, profile(), format!("{id} has no profile for {}", word(bank.chemistry)));
            found.why("Stages and voltages made for another chemistry overcharge the bank or never fill it.");
            let known: Vec<&str> = one.profiles.iter().map(|known| word(*known)).collect();
            found.because(format!("it has profiles for {}", known.join(", ")));
            found.undo();
            found.mend(format!("take a charger with a profile for {}", word(bank.chemistry)));
        }
        let at = |field: &str| case.cause(&[&format!("{id}.{field}")], &one.device.intent);
        if setting.absorption > absorption + tolerance.value {
            let found = out.danger(
                id,
                at("absorption"),
                format!("{id} absorbs at {}; the battery's sheet says {absorption}", setting.absorption),
            );
            found
                .why("Overcharging makes lead-acid gas and dry out, and lithium batteries swell or cut off.");
            voltages(found, absorption, tolerance.value).cites(&tolerance);
            found.undo();
            found.mend(format!("set the absorption voltage to {absorption}"));
        } else if setting.absorption < absorption - tolerance.value {
            let found = out.warning(
                id,
                at("absorption"),
                format!("{id} absorbs at only {}; the battery's sheet says {absorption}", setting.absorption),
            );
            found.why("The bank is never quite full; lead-acid hardens, and the monitor loses its zero.");
            voltages(found, absorption, tolerance.value).cites(&tolerance);
            found.undo();
            found.mend(format!("set the absorption voltage to {absorption}"));
        }
        if setting.float > float + tolerance.value {
            let found = out.warning(
                id,
                at("float"),
                format!("{id} floats at {}; the battery's sheet says {float}", setting.float),
            );
            found.why("A float voltage that is too high keeps on charging a full bank and wears it out.");
            voltages(found, float, tolerance.value).cites(&tolerance);
            found.undo();
            found.mend(format!("set the float voltage to {float}"));
        }
    }
}

fn voltages(found: &mut crate::Finding, sheet: Volts, tolerance: Volts) -> &mut crate::Finding {
    found.because(format!("{sheet} give or take {tolerance}: {} to {}", sheet - tolerance, sheet + tolerance))
}

/// A chemistry in words.
pub(crate) fn word(chemistry: model::parts::Chemistry) -> &'static str {
    use model::parts::Chemistry;
    match chemistry {
        Chemistry::Lfp => "lithium iron phosphate",
        Chemistry::Agm => "lead-acid AGM",
        Chemistry::Gel => "lead-acid gel",
        Chemistry::Flooded => "flooded lead-acid",
    }
}
