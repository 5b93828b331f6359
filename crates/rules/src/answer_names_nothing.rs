//! An answer to a danger that is not there.
//! Never: takes an answer away.
//! Start at [`RULE`]; [`unmatched`] runs after all other rules, since it reads what they found.

use model::Edit;

use crate::{Case, Finding, Out, Severity, rule};

rule! {
    /// ## What
    /// A written answer names a rule and a place at which no danger is found.
    /// ## Why
    /// Either the danger has gone and the answer with its reason misleads whoever reads the file, or a name is misspelt and a danger that was
    /// thought answered stands open.
    /// ## Limit
    /// Every answer stands beside a danger of its rule and place.
    /// ## Mend
    /// Correct the name, or take the answer away.
    /// ## Silent when
    /// Every answer stands beside its danger.
    /// ## Example
    /// `rule = "fuse-to-large-for-conductor"`.
    "answer-names-nothing", Advice, "an answer names a danger that is not there",
    reads: "answers, and what the other rules find",
    na: "none", iec: "none", sources: [],
    check: check,
}

/// What this rule can tell without the others: nothing.
fn check(_: &Case<'_>, _: &mut Out) {}

/// Begins the name of every check of the mounting board, which is judged beside the rules.
const OF_BOARD: &str = "board-";

/// Answers that stand beside no danger. Those to the board are left alone where nobody looked at the board.
pub(crate) fn unmatched(case: &Case<'_>, findings: &[Finding], has_board: bool, out: &mut Out) {
    for (index, answer) in case.system.answers.iter().enumerate() {
        if !has_board && answer.rule.starts_with(OF_BOARD) {
            continue;
        }
        let dangers = || findings.iter().filter(|finding| finding.severity == Severity::Danger);
        if dangers().any(|danger| danger.rule == answer.rule && danger.place == answer.place) {
            continue;
        }
        let at = format!("answers[{index}]");
        let found = out.advice(
            &at,
            &at,
            format!("the answer names {} at {}, where no such danger is found", answer.rule, answer.place),
        );
        found.why("A danger that you believe answered may stand open, or the reason is out of date.");
        let places: Vec<&str> =
            dangers().filter(|danger| danger.rule == answer.rule).map(|danger| danger.place.as_str()).collect();
        found.because(match (crate::rule(&answer.rule), places.as_slice()) {
            (None, []) if !answer.rule.starts_with(OF_BOARD) => format!("{} is the name of no rule", answer.rule),
            (_, []) => format!("{} finds no danger anywhere", answer.rule),
            (_, places) => format!("{} finds a danger at {}", answer.rule, places.join(", ")),
        });
        if let [place] = places.as_slice() {
            found.fix(format!("name {place}"), vec![Edit::set(&format!("{at}.place"), *place)]);
        }
        found.fix("take the answer away", vec![Edit { path: vec![at], value: None }]);
    }
}
