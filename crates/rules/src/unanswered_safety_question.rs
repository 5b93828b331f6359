//! Something that safety hangs on and that the person did not say.
//! Never: supplies a value (see `derive`).
//! Start at [`RULE`].

use model::Edit;

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A length, a limit of a data sheet or a temperature that safety hangs on was not said; an assumption stands in its place.
    /// ## Why
    /// Conductors and fuses are sized from it. If it is wrong, they are wrong.
    /// ## Limit
    /// Every such question must be answered before building.
    /// ## Mend
    /// Write the value at the path that the finding names.
    /// ## Silent when
    /// Every question that safety hangs on is answered.
    /// ## Example
    /// A load without a length.
    "unanswered-safety-question", Warning, "safety hangs on something that was not said",
    reads: "assumptions of the derivation",
    na: "none", iec: "none", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for assumption in case.system.assumptions.iter().filter(|assumption| assumption.must_answer) {
        let found = out.warning(
            &assumption.path,
            &assumption.path,
            format!("{} is not said; {} is assumed", assumption.path, assumption.value),
        );
        found
            .why("Sizes that keep people safe hang on this value. Measure it or read it off the data sheet.");
        found.because(format!("assumed because: {}", assumption.why));
        if let Some((low, high)) = &assumption.plausible {
            found.because(format!("plausible: {low} to {high}"));
        }
        found.fix(
            format!("if {} is right, write it down", assumption.value),
            vec![Edit::set(&assumption.path, &assumption.value)],
        );
    }
}
