//! A controller cannot pass on all that its array makes.
//! Never: calls it a fault: the controller limits itself.
//! Start at [`RULE`].

use crate::sources::{array_power, arrays_of};
use crate::{Case, Out, rule};
use model::Spec;
use quantity::Watts;

rule! {
    /// ## What
    /// The array's rated power at the bank's nominal voltage is more current than the controller gives.
    /// ## Why
    /// In full sun the controller throws the rest away. With a flat array in a northern place that is rare and may be meant.
    /// ## Limit
    /// The controller's charging current.
    /// ## Mend
    /// A larger controller, or leave it.
    /// ## Silent when
    /// The controller passes all of the array's power on.
    /// ## Example
    /// 600 W on a 12 V bank through 30 A.
    "controller-too-small", Advice, "a controller wastes some of its array's power",
    reads: "modules, strings, controller",
    na: "none; good use of the array", iec: "none; good use of the array", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::Controller(part, _) = &device.spec else { continue };
        let power: Watts = arrays_of(case, ix).into_iter().map(array_power).sum();
        let current = power / case.system.voltage;
        if current > part.current {
            let found = out.advice(
                &device.id,
                case.part_cause(device),
                format!("{} gives {}; its array makes up to {current}", device.id, part.current),
            );
            found.why("In full sun some of the power you paid for is thrown away.");
            found.because(format!("{power} / {} = {current}", case.system.voltage));
            found.undo();
            found.mend(format!(
                "take a controller for {current}, or leave it where the array seldom makes its full power"
            ));
        }
    }
}
