//! A solar controller is not made for the bank's voltage.
//! Never: judges the array side.
//! Start at [`RULE`].

use model::Spec;

use crate::sources::is_same_nominal;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The bank's nominal voltage is not among those that the controller can charge.
    /// ## Why
    /// It charges to the wrong voltage: it never fills the bank, or boils it.
    /// ## Limit
    /// The controller's sheet.
    /// ## Mend
    /// A controller for the bank's voltage.
    /// ## Silent when
    /// One of the controller's voltages is the bank's.
    /// ## Example
    /// A 12 V controller on a 24 V bank.
    "controller-voltage-mismatch", Danger, "a solar controller is not made for the bank's voltage",
    reads: "controllers, nominal voltage",
    na: "maker's limit; NEC 110.3(B)", iec: "maker's limit; IEC 60364-5-51, 512.1.1", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let voltage = case.system.voltage;
    for device in &case.system.devices {
        let Spec::Controller(part, _) = &device.spec else { continue };
        if part.voltages.iter().any(|known| is_same_nominal(*known, voltage).0) {
            continue;
        }
        let known: Vec<String> = part.voltages.iter().map(ToString::to_string).collect();
        let found = out.danger(
            &device.id,
            case.part_cause(device),
            format!("{} charges banks of {}; this one has {voltage}", device.id, known.join(", ")),
        );
        found.why("It charges to the wrong voltage: the bank stays empty or is boiled.");
        found.because(format!("nominal voltage of the bank: {voltage}"));
        found.undo();
        found.mend(format!("take a controller for {voltage}"));
    }
}
