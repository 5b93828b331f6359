//! The bank does not last as long without charging as was wanted.
//! Never: counts the energy (see `derive`).
//! Start at [`RULE`].

use quantity::{Hours, Written};

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// Without any charging the bank lasts for less time than the brief asks.
    /// ## Why
    /// The lights go out earlier than you plan for, or a lead-acid bank is emptied too far and ages.
    /// ## Limit
    /// The autonomy in the brief, in the season with the larger need.
    /// ## Mend
    /// More capacity, less use, or a shorter autonomy in the brief.
    /// ## Silent when
    /// It lasts as long as wanted.
    /// ## Example
    /// 100 Ah for two days with a refrigerator and an induction plate.
    "bank-below-autonomy", Advice, "the bank does not last as long as wanted",
    reads: "energy plan",
    na: "none; the brief", iec: "none; the brief", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let (plan, Some(bank)) = (&case.system.energy, &case.system.bank) else { return };
    // Half a percent to spare, so that a bank sized for it is not blamed for a rounded figure.
    if plan.autonomy >= plan.autonomy_wanted * 0.995 || !plan.autonomy.get().is_finite() {
        return;
    }
    let need = plan.need_summer.max(plan.need_winter);
    if need.get() <= 0.0 {
        return; // nothing draws from it: it lasts for ever
    }
    let wanted = need * plan.autonomy_wanted;
    let found = out.advice(
        "bank",
        case.cause(&["bank.part", "bank.parallel", "bank.usable"], "bank"),
        format!("the bank lasts {} without charging; {} is wanted", plan.autonomy, plan.autonomy_wanted),
    );
    found.why("You will need sun, engine or shore power sooner than you plan for.");
    found.because(format!(
        "{need} for {} is {wanted}; the bank can give {}",
        plan.autonomy_wanted, bank.usable
    ));
    let capacity = bank.capacity * (wanted / bank.usable);
    found.undo();
    found.fix(
        format!("have {capacity} of the same kind"),
        vec![model::Edit::set("bank.capacity", capacity.show())],
    );
    // Rounded down, so that what is written is kept.
    let lasts = Hours::new((plan.autonomy.get() * 10.0).floor() / 10.0);
    found.fix(
        format!("be content with {lasts}"),
        vec![model::Edit::set("brief.autonomy", lasts.show())],
    );
}
