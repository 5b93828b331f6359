//! A lug of larger current above one of smaller.
//! Never: orders what nobody said (see `stacks.rs`), counts the lugs (see `lugs_stacked.rs`).
//! Start at [`RULE`].

use model::Edit;

use crate::stacks::{rank, tenths};
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A stack of lugs, as written in `stacks`, has a lug of larger current above one of smaller current.
    /// ## Why
    /// Only the lug at the pad lies on the terminal itself; each one above carries its current through the lugs, washers and thread below it,
    /// and the joint heats up with the square of the current.
    /// ## Limit
    /// From the pad up each lug carries no more than the one below it, compared by tenths of an ampere.
    /// Common practice, no source; ABYC E-11 limits the number of lugs and says nothing of their order.
    /// ## Mend
    /// Take the stack apart and lay the largest current at the pad.
    /// ## Silent when
    /// Currents fall from the pad up, or are alike; where nothing is written, since the papers then say the order.
    /// ## Example
    /// `"bank.positive" = ["alarm.positive", "main.positive"]`.
    "stack-order", Warning, "a lug of larger current lies above one of smaller",
    reads: "stacks as written, steady current of each conductor",
    na: "none of its own; common practice", iec: "none of its own; common practice",
    sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for said in &case.system.stacks {
        let lugs: Vec<_> = said
            .lugs
            .iter()
            .filter_map(|ix| Some((case.conductor(*ix)?, case.current(*ix))))
            .collect();
        let wrong = lugs.windows(2).find(|pair| match pair {
            [below, above] => tenths(above.1) > tenths(below.1),
            _ => false,
        });
        let Some([below, above]) = wrong else { continue };
        let mut right = lugs.clone();
        right.sort_by(|a, b| rank(a.0, a.1).cmp(&rank(b.0, b.1)));
        let right: Vec<&str> = right.iter().map(|(conductor, _)| conductor.id.as_str()).collect();
        let stud = said.intent.strip_prefix("stacks.").unwrap_or(&said.intent);
        let message = format!(
            "on {stud} the lug of {} ({:.1}) lies above that of {} ({:.1})",
            above.0.id, above.1, below.0.id, below.1
        );
        let found = out.warning(case.system.terminal_name(said.at), &said.intent, message);
        found.why(
            "The upper lug carries its current through the washers and the thread, and the joint heats up.",
        );
        for (conductor, current) in &lugs {
            found.because(format!("{}: {current:.1}", conductor.id));
        }
        found
            .because("largest current at the pad [common practice, no source]")
            .fix(
                format!("stack from the pad up: {}", right.join(", ")),
                vec![Edit::stack(stud, &right)],
            );
    }
}
