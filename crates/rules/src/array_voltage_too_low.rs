//! On a hot day a string gives too little voltage to charge the bank.
//! Never: judges the cold end (see `array_voltage_too_high.rs`).
//! Start at [`RULE`].

use quantity::Volts;

use crate::sources::{open_voltage, power_voltage, series_fix, strings};
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// With the hottest cells, the string's voltage at its power maximum is below the absorption voltage of the bank, or its open-circuit
    /// voltage is too little above it for the controller to start.
    /// ## Why
    /// In summer, when the sun is best, the bank is never quite full.
    /// ## Limit
    /// Running: the absorption voltage. Starting: the absorption voltage and the controller's own margin above it.
    /// ## Mend
    /// More modules in series, or modules of a higher voltage.
    /// ## Silent when
    /// Both hold with the hottest cells.
    /// ## Example
    /// One 18 V module on a 24 V bank.
    "array-voltage-too-low", Warning, "a string's voltage is too low to charge on a hot day",
    reads: "modules, strings, hottest cell, controller and its absorption voltage",
    na: "maker's instructions; NEC 110.3(B)", iec: "maker's instructions; IEC 62548", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for string in strings(case) {
        let (array, id) = (string.array, &string.name.id);
        let running = power_voltage(array, array.hottest_cell);
        let starting = open_voltage(array, array.hottest_cell);
        let absorption = string.setting.absorption;
        let start = absorption + string.part.start_above;
        let (found, needed, what) = if running < absorption {
            (running, absorption, "at its power maximum")
        } else if starting < start {
            (starting, start, "open-circuit")
        } else {
            continue;
        };
        let each = found / f64::from(array.series.max(1));
        let finding = out.warning(
            id,
            case.cause(
                &[&format!("{id}.series"), &format!("{}.part", string.controller.id)],
                &string.name.intent,
            ),
            format!("a string of {id} gives {found} {what} with hot cells; {needed} is needed to charge"),
        );
        finding.why("On hot days, when the sun is best, the controller stops before the bank is full.");
        finding.because(format!(
            "cells at {}: {running} at the power maximum, {starting} open-circuit; absorption at {absorption}, start {} above it",
            array.hottest_cell, string.part.start_above
        ));
        finding.undo();
        if each > Volts::zero() {
            let count = (needed / each).ceil();
            series_fix(finding, string.name, count, format!("put at least {count} modules in series"));
        }
    }
}
