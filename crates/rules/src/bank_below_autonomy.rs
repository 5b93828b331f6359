//! The bank does not last as long without charging as was wanted.
//! Never: counts the energy (see `derive`).
//! Start at [`RULE`].

use quantity::{Hours, Written};

use crate::running::month_name;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// Without any charging a full bank lasts for less time than the brief asks. The energy study runs it hour by hour in each month of
    /// use, with the loads, the warmth and the idle draw of that month; without a study the mean day of the energy plan counts.
    /// ## Why
    /// The lights go out earlier than you plan for, or a lead-acid bank is emptied too far and ages.
    /// ## Limit
    /// The autonomy in the brief, in the month with the larger need, counted in whole hours. Advice, since charging decides whether
    /// anything goes short; `runs-short-in-usual-year` and `runs-out-too-often` say whether it does.
    /// ## Mend
    /// More capacity, less use, or a shorter autonomy in the brief.
    /// ## Silent when
    /// It lasts as long as wanted.
    /// ## Example
    /// 100 Ah for two days with a refrigerator and an induction plate.
    "bank-below-autonomy", Advice, "the bank does not last as long as wanted",
    reads: "time without charging of the energy study; energy plan where there is none",
    na: "none; the brief", iec: "none; the brief", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let (plan, Some(bank)) = (&case.system.energy, &case.system.bank) else { return };
    let (lasts, month) = match case.energy {
        // The study counts whole hours; whatever lasts longer than it looks has no end.
        Some(study) => match study.autonomy {
            Some(hours) => (hours + Hours::new(1.0), Some(study.autonomy_month)),
            None => return,
        },
        None => (plan.autonomy, None),
    };
    // Half a percent to spare, so that a bank sized for it is not blamed for a rounded figure.
    if lasts >= plan.autonomy_wanted * 0.995 || !lasts.get().is_finite() {
        return;
    }
    let lasts = if month.is_some() { lasts - Hours::new(1.0) } else { lasts };
    let need = plan.need_summer.max(plan.need_winter);
    if need.get() <= 0.0 {
        return; // nothing draws from it: it lasts for ever
    }
    let wanted = need * plan.autonomy_wanted;
    let when = month.map_or(String::new(), |month| format!(" in {}", month_name(month)));
    let found = out.advice(
        "bank",
        case.cause(&["bank.part", "bank.parallel", "bank.usable"], "bank"),
        format!("the bank lasts {lasts} without charging{when}; {} is wanted", plan.autonomy_wanted),
    );
    found.why("You will need sun, engine or shore power sooner than you plan for.");
    found.because(format!(
        "{need} for {} is {wanted}; the bank can give {}",
        plan.autonomy_wanted, bank.usable
    ));
    let by_plan = wanted / bank.usable;
    // What lasts is not quite in proportion, so a twentieth to spare.
    let by_study = plan.autonomy_wanted / lasts.max(Hours::new(1.0)) * 1.05;
    let capacity = bank.capacity * if month.is_some() { by_study } else { by_plan };
    found.undo();
    found.fix(
        format!("have {capacity} of the same kind"),
        vec![model::Edit::set("bank.capacity", capacity.show())],
    );
    // Rounded down, so that what is written is kept.
    let lasts = Hours::new((lasts.get() * 10.0).floor() / 10.0);
    found.fix(
        format!("be content with {lasts}"),
        vec![model::Edit::set("brief.autonomy", lasts.show())],
    );
}
