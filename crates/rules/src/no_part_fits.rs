//! A need that no part of the library meets.
//! Never: chooses a part (see `derive`).
//! Start at [`RULE`].

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// No part of the library meets a need of the design.
    /// ## Why
    /// The next-best part would carry too much, stand too high a voltage, or not work at all; it is never taken silently.
    /// ## Limit
    /// The need as derived, with its numbers.
    /// ## Mend
    /// Add a part that meets the need to the project's own `parts.toml`, or change the choice that asks for it.
    /// ## Silent when
    /// Every need has a part.
    /// ## Example
    /// A 12 V bank with 2,500 A prospective current where no main fuse of the library breaks it.
    "no-part-fits", Danger, "no part of the library meets a need",
    reads: "gaps of the derivation",
    na: "none", iec: "none", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for gap in &case.system.gaps {
        out.danger(&gap.path, case.cause(&[&gap.path], &gap.intent), format!("no part fits {}", gap.path))
            .why("Without this part the system cannot be built as designed, and a part that nearly fits is a hazard.")
            .because(format!("needed: {}", gap.need))
            .undo()
            .mend(format!("add a part to the project's parts.toml: {}", gap.need));
    }
}
