//! The chargers together give the bank more current than it may take.
//! Never: judges a charger's voltages (see `charger_profile_mismatch.rs`).
//! Start at [`RULE`].

use quantity::Amps;

use crate::sources::{From, charging};
use crate::{Case, Out, Severity, rule};

rule! {
    /// ## What
    /// The charging currents that can flow at once add up to more than the bank may take.
    /// ## Why
    /// Too large a charging current heats the cells, gasses lead-acid dry and makes a lithium battery cut its chargers off, which can
    /// damage an alternator that is giving full current.
    /// ## Limit
    /// The data sheet's charging limit of a battery times the strings. Danger where one charger alone exceeds it; warning where the sun
    /// with the engine, or the sun with shore or generator power, does; advice where only all three at once do.
    /// ## Mend
    /// Set the charger's current lower, or add strings.
    /// ## Silent when
    /// All chargers together give no more than the limit.
    /// ## Example
    /// A 60 A charger on one 100 Ah battery with a charging limit of 50 A.
    "bank-overcharged", Danger, "the chargers give more current than the bank may take",
    reads: "settings of the chargers, power of the arrays, charging limit of the bank",
    na: "maker's limit; NEC 110.3(B)", iec: "maker's limit; ISO 13297 is silent", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(bank) = &case.system.bank else { return };
    let limit = bank.charge_limit;
    let all = charging(case);
    let alone: Vec<_> = all.iter().filter(|one| one.current > limit).collect();
    for one in &alone {
        let found = out.danger(
            &one.device.id,
            case.cause(
                &[&format!("{}.current", one.device.id), &format!("{}.part", one.device.id)],
                &one.device.intent,
            ),
            format!("{} charges with {}; the bank may take {limit}", one.device.id, one.current),
        );
        found.why("The cells overheat and gas, or the battery cuts the charger off under full current.");
        found.because(format!("{} strings may take {limit} together", bank.parallel));
        found.undo();
        found.mend(format!("set the charger to {limit} or less"));
    }
    if !alone.is_empty() {
        return;
    }
    let sum = |from: From| all.iter().filter(|one| one.from == from).map(|one| one.current).sum::<Amps>();
    let (sun, engine, mains) = (sum(From::Sun), sum(From::Engine), sum(From::Mains));
    let usual = sun + engine.max(mains);
    let worst = sun + engine + mains;
    let (severity, current, when) = if usual > limit {
        let other = if engine >= mains { "the engine" } else { "shore or generator power" };
        (Severity::Warning, usual, format!("the sun and {other} together"))
    } else if worst > limit {
        (Severity::Advice, worst, "the sun, the engine and shore or generator power all at once".to_owned())
    } else {
        return;
    };
    let found = out.open(
        severity,
        "bank",
        case.cause(&["bank.part", "bank.parallel"], "bank"),
        format!("{when} charge with {current}; the bank may take {limit}"),
    );
    found.why("The cells overheat and age, or the battery cuts its chargers off under full current.");
    for one in &all {
        found.because(format!("{} gives up to {}", one.device.id, one.current));
    }
    let parallel = (current / (limit / f64::from(bank.parallel.max(1)))).ceil();
    found.undo();
    found.fix(
        format!("have {parallel} strings of these batteries"),
        vec![model::Edit::set("bank.parallel", parallel.to_string())],
    );
    found.mend(format!("set the chargers {} lower in all", current - limit));
}
