//! Mends of a finding with their effect, what any change would do, and the questions that matter most.
//! Never: offers a mend that was not tried; changes the stand.
//! Start at [`mends`] and [`effect`].

use model::Edit;
use rules::{Finding, Trials};

use super::{findings, view};
use crate::{Stand, wire};

/// Questions told at most.
const QUESTIONS: usize = 5;

/// The smallest mend that works for a finding; `None` where there is no such finding.
pub fn mends(stand: &Stand, rule: &str, place: &str) -> Option<wire::Mends> {
    let finding = stand.findings.iter().find(|finding| finding.rule == rule && finding.place == place)?;
    let lasts = |system: &model::System| {
        if rules::same_energy(&stand.system, system) {
            stand.study.as_deref().cloned()
        } else {
            energy::study(system, stand.series.as_deref())
        }
    };
    let can_try = finding.fixes.iter().any(|fix| !fix.edits.is_empty());
    let as_shown = |project: &model::Project| derive::derive_with_lengths(project, stand.derived.lengths());
    let trials = can_try.then(|| Trials::derived_by(&stand.project, &as_shown, network::study, &lasts));
    let tried = trials.and_then(|trials| stand.derived.tried(&stand.project, &trials, finding));
    Some(wire::Mends {
        tried: tried.and_then(|tried| {
            Some(wire::Mend {
                what: tried.what,
                written: tried.edits.iter().map(Edit::shown).collect(),
                effect: effect_of(stand, &tried.edits)?,
                edits: tried.edits.iter().map(view::edit).collect(),
            })
        }),
        by_hand: findings::by_hand(finding),
    })
}

/// What a change would do; `None` where the file could not be read with it.
pub fn effect(stand: &Stand, edits: &[wire::Edit]) -> Option<wire::Effect> {
    let edits: Vec<Edit> =
        edits.iter().map(|edit| Edit { path: edit.path.clone(), value: edit.value.clone() }).collect();
    effect_of(stand, &edits)
}

fn effect_of(stand: &Stand, edits: &[Edit]) -> Option<wire::Effect> {
    let after = Stand::after(stand, stand.project.with_edits(edits).ok()?);
    Some(difference(stand, &after))
}

/// What differs from one stand to the next.
pub fn difference(before: &Stand, after: &Stand) -> wire::Effect {
    let worth = |stand: &Stand| {
        let parts = &stand.schedules.as_ref()?.parts;
        Some(((parts.price.0.get() + parts.price.1.get()) / 2.0, parts.mass.get()))
    };
    let (price, mass) = match (worth(before), worth(after)) {
        (Some(before), Some(after)) => {
            (signed(after.0 - before.0, 0, ""), signed(after.1 - before.1, 1, " kg"))
        }
        (Some(_), None) => ("cannot be built".to_owned(), "cannot be built".to_owned()),
        (None, Some(after)) => (format!("{:.0} in all", after.0), format!("{:.1} kg in all", after.1)),
        (None, None) => ("–".to_owned(), "–".to_owned()),
    };
    wire::Effect {
        price,
        mass,
        goes: only(&before.findings, &after.findings),
        comes: only(&after.findings, &before.findings),
    }
}

/// Findings of one that the other has not, at the same severity or worse.
fn only(of: &[Finding], not_in: &[Finding]) -> Vec<wire::FindingLine> {
    let is_in = |finding: &&Finding| {
        not_in.iter().any(|other| {
            other.rule == finding.rule && other.place == finding.place && other.severity <= finding.severity
        })
    };
    of.iter().filter(|finding| !is_in(finding)).map(findings::in_a_line).collect()
}

fn signed(value: f64, digits: usize, unit: &str) -> String {
    if value.abs() < 0.5 * 10_f64.powi(-(digits as i32)) {
        "±0".to_owned()
    } else {
        format!("{}{:.digits$}{unit}", if value > 0.0 { "+" } else { "−" }, value.abs())
    }
}

/// What was not said and matters most, the weightiest first.
pub fn questions(stand: &Stand) -> Vec<wire::Question> {
    derive::questions(&stand.project, &stand.system, QUESTIONS)
        .into_iter()
        .map(|question| wire::Question {
            path: question.path.split('.').map(str::to_owned).collect(),
            taken: question.assumed,
            because: question.why,
            low: (question.low.value, question.low.result),
            high: (question.high.value, question.high.result),
        })
        .collect()
}
