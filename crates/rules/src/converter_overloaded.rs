//! The loads behind a converter draw more than it gives, or it is made for other voltages.
//! Never: judges its circuit's conductors.
//! Start at [`RULE`].

use model::{Device, Load, Spec};
use quantity::Amps;

use crate::sources::{around, is_same_nominal, loads_at, together};
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The loads on a converter's output draw more current together than it gives; or its input is not made for the bank's voltage.
    /// ## Why
    /// A converter that is overloaded lets its voltage fall or switches off, and everything behind it with it.
    /// ## Limit
    /// Its output current, over all loads that may run together; its input voltage.
    /// ## Mend
    /// A larger converter, or loads straight on the bank.
    /// ## Silent when
    /// The loads are within its current and its input fits.
    /// ## Example
    /// Lights and a fridge of 25 A together on a converter of 20 A.
    "converter-overloaded", Warning, "the loads draw more than their converter gives",
    reads: "converters, loads behind them",
    na: "maker's limit; NEC 110.3(B)", iec: "maker's limit; IEC 60364-5-51, 512.1.2", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::Converter(part) = &device.spec else { continue };
        let Some(output) = case.terminal(ix, "positive") else { continue };
        if !is_same_nominal(part.input, case.system.voltage).0 {
            let found = out.danger(
                &device.id,
                case.part_cause(device),
                format!(
                    "{} has an input for {}; the bank has {}",
                    device.id, part.input, case.system.voltage
                ),
            );
            found.why("Too much voltage destroys it; too little and nothing behind it works.");
            found.because(format!("{} against {}", part.input, case.system.voltage));
            found.undo();
            found.mend(format!("take a converter with an input for {}", case.system.voltage));
        }
        let loads = loads_at(case, &around(case, output, |_| true));
        let running = Amps::new(together(&loads, |load| load.current_running.get()));
        if running > part.current * (1.0 + 1e-9) {
            let found = report(
                case,
                out,
                device,
                format!("the loads behind {} draw {running} together; it gives {}", device.id, part.current),
            );
            list(found, &loads);
            found.mend(format!("take a converter for {running} or more"));
            continue;
        }
        let start =
            loads.iter().map(|load| (load.current_start - load.current_running).get()).fold(0.0, f64::max);
        let starting = running + Amps::new(start);
        if starting > part.current * (1.0 + 1e-9) {
            let found = out.advice(
                &device.id,
                case.part_cause(device),
                format!("the largest start behind {} draws {starting}; it gives {}", device.id, part.current),
            );
            found.why("Its voltage may dip for a moment, and lights behind it blink.");
            list(found, &loads);
            found.undo();
            found.mend(format!("take a converter for {starting}, or one that allows it for some seconds"));
        }
    }
}

fn report<'o>(case: &Case<'_>, out: &'o mut Out, device: &Device, message: String) -> &'o mut crate::Finding {
    let found = out.warning(&device.id, case.part_cause(device), message);
    found.why("It lets its voltage fall or switches off, and everything behind it goes dark.");
    found.undo()
}

fn list(found: &mut crate::Finding, loads: &[&Load]) {
    let mut sorted = loads.to_vec();
    sorted.sort_by(|a, b| {
        b.current_running.total_cmp(&a.current_running).then_with(|| a.intent.cmp(&b.intent))
    });
    for load in sorted.iter().take(4) {
        found.because(format!(
            "{}: {} running, {} starting",
            load.title, load.current_running, load.current_start
        ));
    }
}
