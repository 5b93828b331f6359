//! On the coldest morning a string gives more voltage than its controller or its modules stand.
//! Never: judges the hot end (see `array_voltage_too_low.rs`).
//! Start at [`RULE`].

use reference::RuleSet;

use crate::sources::{open_voltage, series_fix, strings};
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The open-circuit voltage of a string at the coldest air is above the controller's limit or the modules' system voltage.
    /// ## Why
    /// The controller is destroyed on the first cold clear morning, often with a burn.
    /// ## Limit
    /// The controller's highest array voltage and the module's highest system voltage. The string's voltage is worked out with the module's
    /// own coefficient (NEC 690.7(A)(1)); the finding shows the table factor of 690.7 beside it.
    /// ## Mend
    /// Fewer modules in series and more strings, or a controller for a higher voltage.
    /// ## Silent when
    /// Both limits are kept at the coldest.
    /// ## Example
    /// Three 22 V modules in series at -20 °C on a 75 V controller.
    "array-voltage-too-high", Danger, "a string's voltage is too high on the coldest day",
    reads: "modules, strings, coldest air, controller",
    na: "NEC 690.7", iec: "IEC 62548, 7.2; the module's coefficient", sources: ["nec-690"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for string in strings(case) {
        let (array, id) = (string.array, &string.name.id);
        let cold = open_voltage(array, array.coldest);
        let (limit, whose) = if string.part.highest_array <= array.module.system_voltage {
            (string.part.highest_array, format!("controller {}", string.controller.id))
        } else {
            (array.module.system_voltage, "module's system voltage".to_owned())
        };
        if cold <= limit {
            continue;
        }
        let each = cold / f64::from(array.series.max(1));
        let fits = (limit / each).floor();
        let found = out.danger(
            id,
            case.cause(
                &[&format!("{id}.series"), &format!("{}.part", string.controller.id)],
                &string.name.intent,
            ),
            format!("a string of {id} reaches {cold} at {}; the {whose} stands {limit}", array.coldest),
        );
        found.why("The first cold clear morning destroys the controller, and it may burn.");
        found.because(format!(
            "{} modules of {} open-circuit with {} from 25 °C to {} = {cold}",
            array.series, array.module.open_voltage, array.module.voltage_coefficient, array.coldest
        ));
        if case.system.rules == RuleSet::Na
            && let Ok(factor) = case.reference.voc_temperature_factor(array.coldest)
        {
            let table = array.module.open_voltage * f64::from(array.series) * factor.value;
            found
                .because(format!("by the table factor of {} it would be {table}", factor.value))
                .cites(&factor);
        }
        found.undo();
        if fits >= 1.0 {
            series_fix(found, string.name, fits, format!("put no more than {fits} modules in series"));
        }
        found.mend(format!("take a controller for {cold} or more"));
    }
}
