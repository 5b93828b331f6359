//! The bank is worn before the years that the brief asks for.
//! Never: counts the wear (see `energy`).
//! Start at [`RULE`].

use model::Edit;
use quantity::Written;

use crate::{Case, Out, Severity, rule};

rule! {
    /// ## What
    /// Time and use bring the bank down to four fifths of its capacity sooner than the brief asks.
    /// ## Why
    /// It must be bought again earlier than planned, and lasts shorter each night before that.
    /// ## Limit
    /// `brief.bank_years`, eight years where nothing is said. Warning where even the long end of the estimate is below it, advice where the
    /// best estimate is: the estimate is only good to a factor of about two.
    /// ## Mend
    /// More capacity, so that each cycle is shallower; a cooler place; a chemistry that stands more cycles; or fewer years.
    /// ## Silent when
    /// The best estimate reaches the years wished; without a bank.
    /// ## Example
    /// A flooded bank that is emptied by half every night and is to last ten years.
    "bank-ages-too-soon", Warning, "the bank is worn before the years that are wished",
    reads: "wear of the typical year of the energy study, years in the brief",
    na: "none; the brief", iec: "none; the brief", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let (Some(study), Some(bank)) = (case.energy, &case.system.bank) else { return };
    let (life, wished) = (&study.year.bank_life, case.system.usage.bank_years);
    if !life.years.is_finite() || life.years >= f64::from(wished) {
        return;
    }
    let is_sure = life.high < f64::from(wished);
    let found = out.open(
        if is_sure { Severity::Warning } else { Severity::Advice },
        "bank",
        case.cause(&["bank.part"], "bank"),
        format!("the bank is worn after about {:.1} years; {wished} are wished", life.years),
    );
    found.why("It must be bought again sooner than planned, and holds less each year before that.");
    found.because(format!(
        "{:.0} full cycles a year; four fifths of its capacity after {:.1} to {:.1} years",
        study.year.full_cycles, life.low, life.high
    ));
    found.because(format!("{} of the wear comes from use, the rest from time and warmth", life.from_use));
    found.undo();
    for factor in [1.5, 2.0] {
        let capacity = bank.capacity * factor;
        found.fix(format!("have {capacity} of the same kind"), vec![Edit::set(
            "bank.capacity",
            capacity.show(),
        )]);
    }
    let content = life.years.floor();
    if content >= 1.0 {
        found.fix(
            format!("be content with {content} years"),
            vec![Edit::set("brief.bank_years", content.to_string())],
        );
    }
    found.mend("a cooler place, or cells that stand more cycles");
}
