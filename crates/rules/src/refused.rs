//! What cannot be built sensibly.
//! Never: decides the refusal (see `derive`).
//! Start at [`RULE`].

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The project asks for something that cannot be built sensibly, so no schedule is issued.
    /// ## Why
    /// Building it would overload the bank, the conductors or the person's trust.
    /// ## Limit
    /// The numbers stand in the finding.
    /// ## Mend
    /// Take one of the alternatives that `wattwain check` shows; each has been derived.
    /// ## Silent when
    /// Nothing was refused.
    /// ## Example
    /// A 3 kW cooker on a small 12 V bank.
    "refused", Danger, "the project cannot be built as asked",
    reads: "refusals of the derivation",
    na: "none", iec: "none", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for refusal in &case.system.refusals {
        out.danger(&refusal.intent, &refusal.intent, &refusal.what)
            .why("No schedule is issued for this project, because what it asks for cannot be built sensibly.")
            .because(&refusal.numbers)
            .mend("take one of the alternatives, or ask for less");
    }
}
