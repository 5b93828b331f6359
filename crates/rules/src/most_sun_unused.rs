//! Most of what the array could give finds no taker.
//! Never: judges an array that is too small (see `bank_seldom_full.rs`).
//! Start at [`RULE`].

use model::Edit;
use quantity::Fraction;

use crate::running::{is_scarce, largest_array, wh};
use crate::{Case, Out, rule};

/// Share of the sun left over from which it is told. Common practice, no source.
const LEFT: f64 = 0.7;

rule! {
    /// ## What
    /// In the months of use the bank is full while the sun still shines, so that most of what the array could give is left over; and
    /// energy never goes short.
    /// ## Why
    /// Money, roof and mass for modules that seldom do anything; or heat and cooking that could be had for nothing.
    /// ## Limit
    /// Advice where more than seven tenths of the sun of the months of use is left over. Common practice, no source.
    /// ## Mend
    /// Fewer modules; or use the surplus: cook or heat water with it in the sunny months.
    /// ## Silent when
    /// Less is left over; energy goes short in the usual year or in more years than is put up with; without an array or a bank.
    /// ## Example
    /// 800 W on a roof for two lamps and a phone.
    "most-sun-unused", Advice, "most of what the array could give finds no taker",
    reads: "typical year and years of chance of the energy study",
    na: "common practice", iec: "common practice", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let (Some(study), Some((name, count))) = (case.energy, largest_array(case)) else { return };
    if is_scarce(case, study) {
        return;
    }
    let used = study.year.months.iter().filter(|month| month.used_days > 0);
    let (sun, left) = used.fold((0.0, 0.0), |(sun, left), month| {
        (sun + month.books.sun_wh, left + month.books.curtailed_wh)
    });
    let share = if sun + left > 0.0 { left / (sun + left) } else { 0.0 };
    if share <= LEFT || count < 2 {
        return;
    }
    let found = out.advice(
        &name,
        format!("solar.{name}"),
        format!(
            "{} of what the sun could give is left over",
            Fraction::new((share * 100.0).round() / 100.0)
        ),
    );
    found.why("Modules that seldom do anything cost money, roof and mass.");
    found.because(format!("in the months of use {} is taken, and {} is left over", wh(sun), wh(left)));
    for fewer in [count.div_ceil(2), count - 1] {
        found.fix(
            format!("have {fewer} modules in {name}"),
            vec![Edit::set(&format!("solar.{name}.count"), fewer.to_string())],
        );
    }
    found.mend("use the surplus: cook or heat water with it in the sunny months");
}
