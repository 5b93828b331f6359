//! Findings with the line that caused them and a mend that was tried.
//! Never: drops a finding, offers an untried mend as if it were tried.
//! Start at [`judge`] and [`shown`].

use std::sync::atomic::Ordering;

use model::{Project, System};
use rules::{Finding, Trials, Tried};
use serde::Serialize;

use crate::progress;
use crate::show::{self, Remark, Screen};

/// A finding with what came of trying its mends.
#[derive(Serialize)]
pub struct Judged {
    /// The finding.
    #[serde(flatten)]
    pub finding: Finding,
    /// Line of intent.toml that it comes from, from 1.
    pub line: Option<usize>,
    /// Column, from 1.
    pub column: Option<usize>,
    /// The first mend that works.
    pub tried: Option<Tried>,
}

/// Places the findings in the file and, where asked, tries their mends.
///
/// `energy` is the energy study of a system in the weather of the project.
pub fn judge(
    project: &Project,
    derived: &::board::Derived,
    findings: Vec<Finding>,
    tries: bool,
    energy: &dyn Fn(&System) -> Option<energy::Study>,
) -> Vec<Judged> {
    let as_shown = |project: &Project| derive::derive_with_lengths(project, derived.lengths());
    let trials = (tries
        && findings.iter().any(|finding| finding.fixes.iter().any(|fix| !fix.edits.is_empty())))
    .then(|| Trials::derived_by(project, &as_shown, network::study, energy));
    progress::counted("Trying mends", findings.len() as u64, |done| {
        findings
            .into_iter()
            .map(|finding| {
                let tried = trials.as_ref().and_then(|trials| derived.tried(project, trials, &finding));
                done.fetch_add(1, Ordering::Relaxed);
                let place = project.spans.nearest(&finding.intent);
                let place = place.map(|span| project.source.line_column(span.start));
                Judged { line: place.map(|at| at.0), column: place.map(|at| at.1), finding, tried }
            })
            .collect()
    })
}

/// Lays out a finding for people.
pub fn shown(screen: &Screen, project: &Project, judged: &Judged) -> String {
    let finding = &judged.finding;
    let mut below: Vec<(&str, String)> = Vec::new();
    if !finding.why.is_empty() {
        below.push(("why", finding.why.clone()));
    }
    for step in &finding.because {
        below.push(("because", step.clone()));
    }
    for cite in &finding.cite {
        below.push(("source", cite.to_string()));
    }
    match &judged.tried {
        Some(tried) => {
            let edits: Vec<String> = tried.edits.iter().map(model::Edit::shown).collect();
            let also = match tried.also.as_slice() {
                [] => String::new(),
                also => format!("; it mends too: {}", also.join(", ")),
            };
            below.push(("mend", format!("{} (tried: {}{also})", tried.what, tried.effect)));
            below.push(("write", edits.join("; ")));
        }
        None => below.extend(finding.fixes.iter().map(|fix| ("mend", fix.what.clone()))),
    }
    if let Some(reason) = &finding.answered {
        below.push(("answered", reason.clone()));
    }
    below.push(("more", format!("wattwain rules {}", finding.rule)));
    let span = project.spans.nearest(&finding.intent);
    let label = if finding.intent == finding.place { String::new() } else { format!("at {}", finding.place) };
    show::remark(
        screen,
        &Remark {
            word: finding.severity.word(),
            id: finding.rule,
            message: &finding.message,
            label: &label,
            at: span.map(|span| (&project.source, span)),
            below,
        },
    )
}
