//! The findings: what is wrong with a system, where, why it matters, and how to mend it. One rule a file, one list.
//! Never: writes the system, picks a size, reads a file. A rule sees the case and no other rule.
//! Start at [`check`]; the list is [`rules`], a rule's look-ups are in [`Case`], trying a mend is [`tried`].

mod ac;
mod case;
mod exposure;
mod finding;
mod graph;
#[macro_use]
mod list;
mod mend;
mod returns;
mod rule;
mod running;
mod sources;
mod stacks;
mod story;

pub use case::{Case, Protective, protective};
pub use finding::{Finding, Fix, Out, Severity};
pub use graph::{Edge, Feed, Graph, Node, Reach, Via};
pub use mend::{Changed, Effect, Trials, Tried, same_energy, tried};
pub use rule::{HEADINGS, Rule};
pub use stacks::{LugPlace, Stack, Stacks, stacks, steady_current};
pub use story::{
    Dark, FaultConductor, FaultPlace, FaultStory, Opening, SourceStory, Step, Still, Supply, Times,
    fault_places, fault_story,
};

use model::System;
use network::Results;

macro_rules! modules {
    ($($module:ident),* $(,)?) => {
        $(mod $module;)*
        static RULES: &[Rule] = &[$($module::RULE),*];
    };
}
with_rules!(modules);

/// Every rule, sorted by id.
pub fn rules() -> &'static [Rule] {
    RULES
}

/// Judges a system by its study: every finding, the worst first, then by place.
///
/// `energy` is the energy study of the same system; the rules that need it are silent without one.
/// An answer of the system is set on the danger that it answers; the finding is still there.
/// Where a conductor joins positive to negative, every current and voltage of the study follows from that: it is told once, and
/// what the study shows is held back until it is mended.
pub fn check(system: &System, results: &Results, energy: Option<&energy::Study>) -> Vec<Finding> {
    check_beside(system, results, energy, &[], false)
}

/// The same beside what was found elsewhere, such as on the mounting board: sorted with it, and answered by the same answers.
///
/// Where the board was not looked at, an answer to a danger of the board is not taken for one that names nothing.
pub fn check_beside(
    system: &System,
    results: &Results,
    energy: Option<&energy::Study>,
    beside: &[Finding],
    is_board_seen: bool,
) -> Vec<Finding> {
    if !poles_crossed::is_shorted(&Case::new(system, results, energy)) {
        return judge(system, results, energy, beside, is_board_seen);
    }
    let mut held = results.clone();
    held.scenes.clear();
    for terminal in held.faults.least.iter_mut().flatten() {
        *terminal = None;
    }
    judge(system, &held, energy, beside, is_board_seen)
}

/// The same, with nothing held back.
fn judge(
    system: &System,
    results: &Results,
    energy: Option<&energy::Study>,
    beside: &[Finding],
    is_board_seen: bool,
) -> Vec<Finding> {
    let case = Case::new(system, results, energy);
    let mut findings = Vec::new();
    for rule in rules() {
        findings.extend(check_one(&case, rule));
    }
    findings.extend_from_slice(beside);
    let mut out = Out::new(answer_names_nothing::RULE.id);
    answer_names_nothing::unmatched(&case, &findings, is_board_seen, &mut out);
    findings.extend(out.findings);
    findings.sort_by(|a, b| {
        (a.severity, &a.place, a.rule, &a.message).cmp(&(b.severity, &b.place, b.rule, &b.message))
    });
    for finding in findings.iter_mut().filter(|finding| finding.severity == Severity::Danger) {
        let answer =
            system.answers.iter().find(|answer| answer.rule == finding.rule && answer.place == finding.place);
        finding.answered = answer.map(|answer| answer.reason.clone());
    }
    findings
}

/// What one rule finds.
pub fn check_one(case: &Case<'_>, rule: &Rule) -> Vec<Finding> {
    let mut out = Out::new(rule.id);
    (rule.check)(case, &mut out);
    out.findings
}

/// The rule of a name.
pub fn rule(id: &str) -> Option<&'static Rule> {
    rules().iter().find(|rule| rule.id == id)
}

/// The page of all rules, `docs/rules.md`.
pub fn markdown() -> String {
    let mut page = String::from(
        "<!-- Generated from the rules' own comments by `cargo run -p rules --example write_rules_page`. -->\n\n# Rules\n\n\
         What Wattwain judges a system by.\n\
         Danger: someone may be hurt or something may burn; it cannot be hidden, only answered with a written reason.\n\
         Warning: it will not work as meant, or wears out early.\n\
         Advice: it works; this would be better.\n\n\
         | Rule | Severity | Fault |\n| --- | --- | --- |\n",
    );
    for rule in rules() {
        page.push_str(&format!("| [{0}](#{0}) | {1} | {2} |\n", rule.id, rule.severity.word(), rule.title));
    }
    for rule in rules() {
        page.push_str(&format!("\n## {}\n\n{}: {}.\n\n", rule.id, capital(rule.severity.word()), rule.title));
        page.push_str(&rule.page().replace("\n## ", "\n### ").replacen(
            "## ",
            "### ",
            usize::from(rule.page().starts_with("## ")),
        ));
        page.push_str(&format!(
            "\nReads: {}.\nRule set `na`: {}.\nRule set `iec`: {}.\n",
            rule.reads, rule.na, rule.iec
        ));
        if !rule.sources.is_empty() {
            page.push_str(&format!("Sources: {}.\n", rule.sources.join(", ")));
        }
    }
    page
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
