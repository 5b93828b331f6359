//! A DC-DC charger does not fit the voltage on one of its sides.
//! Never: judges its current (see `alternator_overloaded.rs`).
//! Start at [`RULE`].

use model::{Spec, TerminalRef};
use network::Scene;
use quantity::Volts;

use crate::sources::{around, is_same_nominal, volts};
use crate::{Case, Out, Severity, rule};

rule! {
    /// ## What
    /// A DC-DC charger is made for another input or output voltage than it gets, or its input falls below what it needs to run.
    /// ## Why
    /// Too much voltage destroys it; too little and it never charges.
    /// ## Limit
    /// Its sheet: nominal input and output, lowest input. Danger for a wrong nominal voltage, warning for too low an input.
    /// ## Mend
    /// A charger for both voltages; a thicker or shorter input cable.
    /// ## Silent when
    /// Both voltages fit and the input stays high enough.
    /// ## Example
    /// A 12 to 12 V charger on the 24 V system of a lorry.
    "dcdc-voltage-mismatch", Danger, "a DC-DC charger does not fit its voltages",
    reads: "DC-DC chargers, engine battery, nominal voltage, voltages in the scene with everything charging",
    na: "maker's limit; NEC 110.3(B)", iec: "maker's limit; IEC 60364-5-51, 512.1.1", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::DcDc(part, _) = &device.spec else { continue };
        let engine = case.terminal(ix, "in-positive").and_then(|at| engine_voltage(case, at));
        let sides = [("input", part.input, engine), ("output", part.output, Some(case.system.voltage))];
        for (side, made_for, there) in sides {
            let Some(there) = there else { continue };
            let (same, cite) = is_same_nominal(made_for, there);
            if same {
                continue;
            }
            let found = out.open(
                Severity::Danger,
                &device.id,
                case.part_cause(device),
                format!("{} has an {side} for {made_for}; {there} stands there", device.id),
            );
            found.why("Too much voltage destroys the charger, too little and the bank is never charged.");
            found.because(format!("{made_for} against {there}")).cite(&cite);
            found.undo();
            found.mend(format!("take a DC-DC charger with an {side} of {there}"));
        }
        let negative = case.terminal(ix, "in-negative").or_else(|| case.terminal(ix, "negative"));
        let (Some(positive), Some(negative)) = (case.terminal(ix, "in-positive"), negative) else { continue };
        let at = |at| volts(case, Scene::Charging, at);
        if let (Some(high), Some(low)) = (at(positive), at(negative))
            && high - low < part.lowest_input
            && high > low
        {
            let input = high - low;
            let found = out.warning(
                &device.id,
                case.part_cause(device),
                format!(
                    "the input of {} falls to {input} at full charge; it needs {}",
                    device.id, part.lowest_input
                ),
            );
            found.why("The charger switches off as soon as it draws its current, again and again.");
            found.because(format!("the study finds {input} at its terminals while everything charges"));
            found.undo();
            found.mend("make its input conductors thicker or shorter");
        }
    }
}

/// Nominal voltage of the engine's system at a terminal.
fn engine_voltage(case: &Case<'_>, at: TerminalRef) -> Option<Volts> {
    around(case, at, |_| true).into_iter().find_map(|at| match &case.device(at.device)?.spec {
        Spec::StartBattery(battery) => Some(battery.part.voltage),
        Spec::Alternator(alternator) => Some(alternator.voltage),
        _ => None,
    })
}
