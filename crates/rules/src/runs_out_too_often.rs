//! The bank runs out in more years than the brief puts up with.
//! Never: draws weather (see `energy`).
//! Start at [`RULE`].

use crate::running::{Short, is_short, month_name};
use crate::{Case, Out, Severity, rule};

rule! {
    /// ## What
    /// Over many years of drawn weather and use, something that is not spare goes short at least once in more years than the brief says is
    /// put up with.
    /// ## Why
    /// A usual year just lasts; a dull one does not.
    /// ## Limit
    /// `brief.running_out`, one year in ten where nothing is said. Warning where the whole 95 % interval (Wilson 1927) of the share lies
    /// above it; advice where the share does, but so few years cannot tell for sure.
    /// ## Mend
    /// More charging in the month that runs out most, more capacity, less use, or putting up with more.
    /// ## Silent when
    /// The share of years is within the wish; where even the usual year runs short, which `runs-short-in-usual-year` tells.
    /// ## Example
    /// A hut that lasts through a mean November and stands dark in three of ten.
    "runs-out-too-often", Warning, "the bank runs out in more years than the brief puts up with",
    reads: "years of chance of the energy study, chance of running out in the brief",
    na: "none; the brief", iec: "none; the brief", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(study) = case.energy.filter(|study| !is_short(study)) else { return };
    let (years, wish) = (&study.years, case.system.usage.running_out);
    let chance = &years.running_out;
    if chance.share <= wish {
        return;
    }
    let severity = if chance.low > wish { Severity::Warning } else { Severity::Advice };
    let found = out.open(
        severity,
        "bank",
        "brief",
        format!("it runs out in {} of years; {wish} is put up with", chance.share),
    );
    found.why("A usual year lasts, a dull one does not: lights, fridge and heater stop.");
    found.because(format!(
        "{} of {} drawn years; 95 % sure between {} and {}",
        chance.happened, chance.of, chance.low, chance.high
    ));
    let mut worst: Vec<(usize, u32)> =
        years.months.iter().enumerate().map(|(at, month)| (at, month.running_out.happened)).collect();
    worst.sort_by_key(|(at, happened)| (std::cmp::Reverse(*happened), *at));
    let often: Vec<String> = worst
        .iter()
        .take(3)
        .filter(|(_, happened)| *happened > 0)
        .map(|(at, happened)| format!("{} in {happened}", month_name(*at)))
        .collect();
    found.because(format!("most in {}; longest without {}", often.join(", "), years.longest_short));
    let short = Short::of(study);
    short.explain(found);
    short.mends(case, study, found);
    let share = (chance.share.get() * 100.0).ceil();
    found.fix(
        format!("put up with {share} % of years"),
        vec![model::Edit::set("brief.running_out", format!("{share} %"))],
    );
}
