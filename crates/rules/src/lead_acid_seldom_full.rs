//! A lead-acid bank goes for weeks without a full charge.
//! Never: judges lithium (see `bank_seldom_full.rs`).
//! Start at [`RULE`].

use model::parts::Chemistry;

use crate::{Case, Out, Severity, rule};

/// Days without a full charge that are told. Common practice, no source.
const ADVICE_DAYS: f64 = 14.0;
/// Days from which it is a warning. Common practice, no source.
const WARNING_DAYS: f64 = 28.0;

rule! {
    /// ## What
    /// In the typical year weeks pass between two days on which a lead-acid bank becomes full.
    /// ## Why
    /// Lead sulphate that stays on the plates grows into hard crystals: the bank loses capacity for good, within a season or two.
    /// ## Limit
    /// Advice from more than two weeks, warning from more than four. Common practice, no source.
    /// ## Mend
    /// A full charge from shore or a larger array; or a lithium bank, which does not mind.
    /// ## Silent when
    /// It becomes full at least every two weeks; for lithium; without a bank.
    /// ## Example
    /// An absorbent-glass-mat bank of a boat that is moored in the shade from October to March.
    "lead-acid-seldom-full", Warning, "a lead-acid bank goes for weeks without a full charge",
    reads: "typical year of the energy study",
    na: "common practice", iec: "common practice", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let (Some(study), Some(bank)) = (case.energy, &case.system.bank) else { return };
    if !matches!(bank.chemistry, Chemistry::Flooded | Chemistry::Agm | Chemistry::Gel) {
        return;
    }
    let days = study.year.longest_unfilled.get() / 24.0;
    if days <= ADVICE_DAYS {
        return;
    }
    let severity = if days > WARNING_DAYS { Severity::Warning } else { Severity::Advice };
    let found = out.open(
        severity,
        "bank",
        case.cause(&["bank.part"], "bank"),
        format!("{days:.0} days pass without a full charge of the lead-acid bank"),
    );
    found.why("It sulphates: capacity is lost for good within a season or two.");
    let full: u32 = study.year.months.iter().map(|month| month.full_days).sum();
    found.because(format!(
        "full on {full} days of the year; down to {:.0} % at its lowest",
        study.year.lowest.0 * 100.0
    ));
    if let Some((name, count)) = crate::running::largest_array(case) {
        for factor in [1.5, 2.0, 3.0] {
            let wanted = (f64::from(count) * factor).ceil();
            found.fix(
                format!("have {wanted} modules in {name}"),
                vec![model::Edit::set(&format!("solar.{name}.count"), wanted.to_string())],
            );
        }
    }
    found.fix("take a lithium iron phosphate bank", vec![
        model::Edit { path: vec!["bank".to_owned(), "part".to_owned()], value: None },
        model::Edit::set("bank.chemistry", "lfp"),
    ]);
    found.mend("charge it full from shore or a mains charger every two weeks, and equalise it as its maker says");
}
