//! Energy goes short in a year of usual weather.
//! Never: runs the year (see `energy`).
//! Start at [`RULE`].

use crate::running::{Short, is_short, month_name, vital, wh};
use crate::{Case, Out, Severity, rule};

rule! {
    /// ## What
    /// In a year of usual weather the bank runs down to what may be used of it, and loads that are not spare go without. The month with
    /// most energy missing is named, with what is missing and what could bring it.
    /// ## Why
    /// This is no stroke of bad luck but what happens in most years: lights, fridge and heater stop, and a lead-acid bank stands empty.
    /// ## Limit
    /// Nothing short in the typical year. Warning; advice where the chance of running out that the brief puts up with is kept all the same.
    /// ## Mend
    /// More engine, shore or generator hours in that month, a larger or steeper array, less use, or not using it in that month.
    /// ## Silent when
    /// Nothing goes short in the typical year; without a bank.
    /// ## Example
    /// A van with 800 W lying flat on its roof and a kiln of work every day, lived in through January at 44° north.
    "runs-short-in-usual-year", Warning, "energy goes short in a year of usual weather",
    reads: "typical year of the energy study",
    na: "none; the brief", iec: "none; the brief", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(study) = case.energy.filter(|study| is_short(study)) else { return };
    let short = Short::of(study);
    let name = month_name(short.month);
    let chance = &study.years.running_out;
    let is_kept = chance.share <= case.system.usage.running_out;
    let severity = if is_kept { Severity::Advice } else { Severity::Warning };
    let months: Vec<&str> = (0..study.year.months.len())
        .filter(|month| study.year.months[*month].short_hours > 0)
        .map(month_name)
        .collect();
    let found = out.open(
        severity,
        "bank",
        "brief",
        format!(
            "energy goes short in {name}: {} is missing over {} h of a year with usual weather",
            wh(short.sums.books.short_wh),
            short.sums.short_hours
        ),
    );
    let vital = vital(case);
    if study.year.lowest.0 < 0.02 && !vital.is_empty() {
        found.why(format!(
            "The bank empties until it stops by itself, and with it what must not stop: {}.",
            vital.join(", ")
        ));
    } else {
        found.why("It goes dark in most years, not only in bad ones, and waits for the next sun, drive or plug.");
    }
    found.because(format!("short in {}; {} in the whole year", months.join(", "), wh(study.year.total.short_wh)));
    short.explain(found);
    found.because(format!(
        "of {} drawn years {} of years run out at least once, 95 % sure between {} and {}",
        chance.of, chance.share, chance.low, chance.high
    ));
    short.mends(case, study, found);
}
