//! An inverter does not fit the bank's voltage or the AC side's.
//! Never: judges its power (see `inverter_overloaded.rs`).
//! Start at [`RULE`].

use model::Spec;
use reference::RuleSet;

use crate::sources::is_same_nominal;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The inverter is made for another DC voltage than the bank's, stands less than the bank reaches on charge, or makes another AC voltage
    /// or frequency than the loads and rule set ask.
    /// ## Why
    /// Too much DC voltage destroys it; a wrong AC voltage or frequency destroys what hangs on it.
    /// ## Limit
    /// Its sheet. Danger for voltages, warning for the frequency.
    /// ## Mend
    /// An inverter for both voltages.
    /// ## Silent when
    /// Everything fits.
    /// ## Example
    /// A 12 V inverter on a 24 V bank.
    "inverter-voltage-mismatch", Danger, "an inverter does not fit the voltages on its sides",
    reads: "inverters, nominal and highest voltage, AC voltage, rule set",
    na: "maker's limit; NEC 110.3(B), 110.4", iec: "maker's limit; IEC 60364-5-51, 512.1.1", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let system = case.system;
    for device in &system.devices {
        let Spec::Inverter(part, _) = &device.spec else { continue };
        let mut faults = Vec::new();
        let (same, cite) = is_same_nominal(part.voltage, system.voltage);
        if !same {
            faults.push((
                format!("is made for a bank of {}; this one has {}", part.voltage, system.voltage),
                format!("for {}", system.voltage),
            ));
        } else if part.highest_input < case.voltage_highest() {
            faults.push((
                format!(
                    "stands {}; the bank reaches {} on charge",
                    part.highest_input,
                    case.voltage_highest()
                ),
                format!("that stands {}", case.voltage_highest()),
            ));
        }
        if let Some(voltage) = system.ac_voltage
            && !is_same_nominal(part.output, voltage).0
        {
            faults.push((
                format!("makes {}; the AC side has {voltage}", part.output),
                format!("that makes {voltage}"),
            ));
        }
        for (what, wanted) in faults {
            let found = out.danger(&device.id, case.part_cause(device), format!("{} {what}", device.id));
            found.why("A wrong voltage destroys the inverter or what hangs on it.");
            found.because(format!(
                "its sheet: {} to {}, output {} at {} Hz",
                part.lowest_input, part.highest_input, part.output, part.frequency
            ));
            found.cite(&cite);
            found.undo();
            found.mend(format!("take an inverter {wanted}"));
        }
        let hertz = match system.rules {
            RuleSet::Na => 60,
            RuleSet::Iec => 50,
        };
        if part.frequency != hertz {
            let found = out.warning(
                &device.id,
                case.part_cause(device),
                format!(
                    "{} makes {} Hz; loads sold under this rule set want {hertz} Hz",
                    device.id, part.frequency
                ),
            );
            found.why("Motors run too fast or too slow and get hot, and clocks go wrong.");
            found.because(format!("{} Hz against {hertz} Hz", part.frequency));
            found.undo();
            found.mend(format!("take an inverter for {hertz} Hz"));
        }
    }
}
