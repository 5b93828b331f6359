//! The array seldom or never fills the bank, even in the sunny half of the year.
//! Never: judges what a lead-acid bank needs (see `lead_acid_seldom_full.rs`).
//! Start at [`RULE`].

use model::Edit;

use crate::running::{largest_array, wh};
use crate::{Case, Out, Severity, rule};

/// Share of days with a full bank below which it is told. Common practice, no source.
const FEW: f64 = 0.1;

rule! {
    /// ## What
    /// In the sunny half of the year, from April to September in the north, the bank becomes full on few days or on none.
    /// ## Why
    /// The array is small for what is used: there is no reserve for dull days. A lithium battery that is never full cannot balance its
    /// cells, and its monitor loses count.
    /// ## Limit
    /// Warning where no day of the sunny half that has use fills the bank, advice where fewer than one in ten do. Common practice, no source.
    /// ## Mend
    /// More modules, a longer charge from shore or engine now and then, or less use.
    /// ## Silent when
    /// One day in ten or more fills it; without an array or a bank; where the sunny half is not used.
    /// ## Example
    /// One module of 100 W on a van that runs an induction hob.
    "bank-seldom-full", Warning, "the array seldom or never fills the bank",
    reads: "typical year of the energy study",
    na: "common practice", iec: "common practice", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let (Some(study), Some((name, count))) = (case.energy, largest_array(case)) else { return };
    let is_south = case.system.usage.place.latitude.get() < 0.0;
    let (mut full, mut days, mut sun, mut taken) = (0_u32, 0_u32, 0.0, 0.0);
    for (at, month) in study.year.months.iter().enumerate() {
        if (3..9).contains(&at) != is_south && month.used_days > 0 {
            full += month.full_days;
            days += energy::site::DAYS_OF_MONTH.get(at).map_or(30, |days| *days as u32);
            sun += month.books.sun_wh;
            taken += month.books.asked() + month.books.lost();
        }
    }
    if days == 0 || f64::from(full) >= f64::from(days) * FEW {
        return;
    }
    let severity = if full == 0 { Severity::Warning } else { Severity::Advice };
    let found = out.open(
        severity,
        "bank",
        format!("solar.{name}"),
        format!("the bank becomes full on {full} of {days} days of the sunny half of the year"),
    );
    found.why("There is no reserve for dull days, cells do not balance, and the monitor loses count.");
    found.because(format!("in those months {} is taken, and {} comes from the sun", wh(taken), wh(sun)));
    let missing = if sun > 0.0 { (taken / sun).clamp(1.0, 3.0) } else { 1.0 };
    for factor in [missing * 1.15, missing * 1.5] {
        let wanted = (f64::from(count) * factor).ceil().max(f64::from(count) + 1.0);
        found.fix(
            format!("have {wanted} modules in {name}"),
            vec![Edit::set(&format!("solar.{name}.count"), wanted.to_string())],
        );
    }
    found.mend("charge it full from shore or engine now and then, or use less");
}
