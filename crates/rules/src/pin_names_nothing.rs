//! A pin, built change or stack that could not be used.
//! Never: guesses what was meant.
//! Start at [`RULE`].

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A pin, a change under `built` or a stack under `stacks` names nothing that is in the system, or holds a value that cannot be read.
    /// ## Why
    /// The person believes that something is fixed or built so; the design does not know it.
    /// ## Limit
    /// Every pin, built change and stack must take effect.
    /// ## Mend
    /// Correct the name or value, or take it away.
    /// ## Silent when
    /// Every pin, built change and stack took effect.
    /// ## Example
    /// `"noon-fridge.positiv.gauge" = "6 mm²"`.
    "pin-names-nothing", Warning, "a pin, built change or stack has no effect",
    reads: "unused pins, built changes and stacks of the derivation",
    na: "none", iec: "none", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for unused in &case.system.unused {
        out.warning(&unused.intent, &unused.intent, &unused.message)
            .why("What is written here has no effect, so the design differs from what you believe it to be.")
            .mend(&unused.mend)
            .undo();
    }
}
