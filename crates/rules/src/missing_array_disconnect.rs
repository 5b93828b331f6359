//! Nothing cuts an array off by hand, or what does is not made for it.
//! Never: judges fuses (see `string_unfused.rs`).
//! Start at [`RULE`].

use model::{DeviceIx, Spec};
use quantity::Volts;

use crate::sources::{around, open_voltage, strings};
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// There is no disconnect between an array and its controller, or the one there does not stand the array's voltage or its arc.
    /// ## Why
    /// An array cannot be switched off in daylight. Pulling its plugs under load draws an arc that burns hands and boxes.
    /// ## Limit
    /// One disconnect or breaker made for direct current of at least the string's coldest voltage, in reach of the controller.
    /// ## Mend
    /// Fit a disconnect that is made for solar strings.
    /// ## Silent when
    /// A fitting disconnect or breaker stands in the run from the array.
    /// ## Example
    /// Plugs straight into the controller.
    "missing-array-disconnect", Warning, "an array cannot be cut off safely",
    reads: "devices between array and controller, coldest voltage of the string",
    na: "NEC 690.13, 690.15", iec: "IEC 60364-7-712, 712.537.2", sources: ["nec-690"],
    check: check,
}

enum Cut {
    Fits,
    LowVoltage(DeviceIx, Volts),
    NotForArcs(DeviceIx),
}

fn check(case: &Case<'_>, out: &mut Out) {
    for string in strings(case) {
        let cold = open_voltage(string.array, string.array.coldest);
        let start = model::TerminalRef { device: string.device, terminal: 0 };
        let mut cuts = Vec::new();
        for at in around(case, start, |_| true) {
            let Some(device) = case.device(at.device) else { continue };
            match &device.spec {
                Spec::Disconnect(part) if part.voltage < cold => {
                    cuts.push(Cut::LowVoltage(at.device, part.voltage))
                }
                Spec::Disconnect(part) if part.for_array != Some(true) => {
                    cuts.push(Cut::NotForArcs(at.device))
                }
                Spec::Breaker(breaker) => match breaker.part.dc_voltage {
                    Some(voltage) if voltage >= cold => cuts.push(Cut::Fits),
                    voltage => cuts.push(Cut::LowVoltage(at.device, voltage.unwrap_or(Volts::zero()))),
                },
                Spec::Disconnect(_) => cuts.push(Cut::Fits),
                _ => {}
            }
        }
        if cuts.iter().any(|cut| matches!(cut, Cut::Fits)) {
            continue;
        }
        let id = &string.name.id;
        // A conductor on the way that somebody changed is the likely cause: the switch was left out there.
        let built = around(case, start, |_| true)
            .into_iter()
            .flat_map(|at| case.at(at))
            .filter_map(|ix| case.conductor(*ix))
            .map(|conductor| conductor.intent.clone())
            .find(|path| path.starts_with("built"));
        let (place, intent, message) = match cuts.first() {
            Some(Cut::LowVoltage(ix, voltage)) => {
                let Some(device) = case.device(*ix) else { continue };
                let message = format!("{} stands {voltage}; the array reaches {cold}", device.id);
                (&device.id, case.part_cause(device), message)
            }
            Some(Cut::NotForArcs(ix)) => {
                let Some(device) = case.device(*ix) else { continue };
                let message = format!("{} is not made for the arc of a solar array of {cold}", device.id);
                (&device.id, case.part_cause(device), message)
            }
            _ => (
                id,
                built.unwrap_or_else(|| string.name.intent.clone()),
                format!("nothing cuts {id} off from {}", string.controller.id),
            ),
        };
        let found = out.warning(place, intent, message);
        found.why("In daylight the array is always live; without a switch made for it, opening its circuit draws a burning arc.");
        found.because(format!("coldest open-circuit voltage of a string: {cold}"));
        found.undo();
        found.mend(format!(
            "fit a disconnect made for solar arrays of {cold} or more between {id} and {}",
            string.controller.id
        ));
    }
}
