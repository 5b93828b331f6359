//! The workshop: steps, cables and readings with what is done and how the readings are judged.
//! Never: orders, sizes or judges; [`pack::build_order`] and [`prove`] do.
//! Start at [`build`].

use std::collections::BTreeSet;

use model::SourceText;
use pack::{BuildOrder, CableEnd};
use prove::{Expected, Judgement, Readings, Status};
use rules::Severity;

use super::view::problem;
use crate::{Stand, ticks, wire};

/// All of it, with the texts of readings.toml and ticks.toml; an empty text is none taken and none done.
pub fn build(stand: &Stand, number: u64, readings: &SourceText, ticks: &SourceText) -> wire::Build {
    let system = &stand.system;
    let is_open =
        |finding: &&rules::Finding| finding.severity == Severity::Danger && finding.answered.is_none();
    let refused: Vec<String> = system.refusals.iter().map(|refusal| refusal.what.clone()).collect();
    let (ticked, tick_problems) = ticks::read(ticks);
    let mut problems: Vec<wire::Problem> = tick_problems.iter().map(|found| problem(found, ticks)).collect();
    let mut build = wire::Build {
        number,
        refused: refused.join("; "),
        unanswered: stand.findings.iter().filter(is_open).count(),
        stages: Vec::new(),
        steps: Vec::new(),
        cables: Vec::new(),
        readings: Vec::new(),
        causes: Vec::new(),
        ticked: ticked.into_iter().collect(),
        problems: Vec::new(),
    };
    if refused.is_empty() {
        let expected = prove::expected(system, &stand.results, stand.study.as_deref());
        let taken = Readings::read(readings, &expected).unwrap_or_else(|found| {
            problems.extend(found.iter().map(|found| problem(found, readings)));
            Readings::default()
        });
        let judgement = prove::judge(&expected, &taken, system, &stand.results);
        let order = pack::build_order(system, &stand.results, stand.derived.layout.as_ref());
        build.stages = stages(&order, &expected);
        build.steps = steps(&order, &expected);
        build.cables = cables(stand);
        build.readings = lines(&expected, &taken, &judgement);
        build.causes = causes(&judgement);
    }
    build.problems = problems;
    build
}

/// Word of a stage of the readings: the stage of the build in which they are taken.
fn stage_of(stage: prove::Stage) -> pack::Stage {
    match stage {
        prove::Stage::Dead => pack::Stage::DeadChecks,
        prove::Stage::FirstPower | prove::Stage::Loads => pack::Stage::FirstPower,
        prove::Stage::Charging => pack::Stage::Charging,
        prove::Stage::Ac => pack::Stage::Ac,
    }
}

/// Those that have a step or a reading.
fn stages(order: &BuildOrder, expected: &[Expected]) -> Vec<wire::Stage> {
    let used: BTreeSet<pack::Stage> = order
        .steps
        .iter()
        .map(|step| step.stage)
        .chain(expected.iter().map(|reading| stage_of(reading.stage)))
        .collect();
    used.into_iter()
        .map(|stage| wire::Stage { id: stage.word().to_owned(), title: stage.title().to_owned() })
        .collect()
}

fn steps(order: &BuildOrder, expected: &[Expected]) -> Vec<wire::Step> {
    let known: BTreeSet<&str> = expected.iter().map(|reading| reading.id.as_str()).collect();
    order
        .steps
        .iter()
        .map(|step| wire::Step {
            id: step.id.clone(),
            number: step.number as usize,
            stage: step.stage.word().to_owned(),
            title: step.title.clone(),
            lines: step.lines.clone(),
            why: step.why.clone(),
            dead: step.dead.clone(),
            cautions: live(step).into_iter().chain(step.cautions.iter().cloned()).collect(),
            needs: step.needs.iter().map(|need| need.step.clone()).collect(),
            readings: step
                .measures
                .iter()
                .filter(|measure| known.contains(measure.id.as_str()))
                .map(|measure| measure.id.clone())
                .collect(),
            measures: step.measures.iter().map(pack::measure_line).collect(),
            places: step.parts.devices.iter().chain(&step.parts.conductors).cloned().collect(),
            people: step.people,
            wait: step
                .wait
                .as_ref()
                .map_or_else(String::new, |wait| format!("{}: {}", wait.least, wait.what)),
            tools: step.tools.iter().map(|tool| (*tool).to_owned()).collect(),
        })
        .collect()
}

/// What is live although everything is off.
fn live(step: &pack::Step) -> Option<String> {
    (!step.live.is_empty()).then(|| format!("Live all the same: {}", step.live.join(", ")))
}

fn cables(stand: &Stand) -> Vec<wire::CableLine> {
    let rows = stand.schedules.iter().flat_map(|schedules| &schedules.cables);
    rows.map(|row| wire::CableLine {
        id: row.id.clone(),
        label: row.number.to_string(),
        from: end(&row.from),
        to: end(&row.to),
        gauge: if row.cores > 1 {
            format!("{} × {}", row.cores, row.gauge.brief())
        } else {
            row.gauge.brief()
        },
        colour: format!("{} ({})", row.colour.name, row.colour.letter),
        cut: row.length_cut.to_string(),
        ends: vec![made_up(&row.from), made_up(&row.to)],
        protection: row.protected_by.join(", "),
    })
    .collect()
}

fn end(end: &CableEnd) -> String {
    format!("{}, {}", end.title, end.terminal)
}

/// How an end is made up: `ring lug 2/0 AWG, stud M8, strip 22 mm, 12 N·m`.
fn made_up(end: &CableEnd) -> String {
    let fitting = &end.fitting;
    let mut words = vec![fitting.what.clone()];
    words.extend(fitting.strip.map(|strip| format!("strip {:.0} mm", strip.get() * 1000.0)));
    words.extend(fitting.torque.map(|torque| format!("tighten to {torque}")));
    words.join(", ")
}

fn lines(expected: &[Expected], taken: &Readings, judgement: &Judgement) -> Vec<wire::ReadingLine> {
    expected
        .iter()
        .zip(&judgement.verdicts)
        .map(|(reading, verdict)| {
            let entry = taken.taken.get(&reading.id);
            let word = match verdict.status {
                Status::Within => wire::VerdictWord::Within,
                Status::Low => wire::VerdictWord::Low,
                Status::High => wire::VerdictWord::High,
                Status::NotBelievable => wire::VerdictWord::Unlikely,
                Status::NotTaken => wire::VerdictWord::Open,
            };
            let causes = verdict.causes.iter().map(|cause| cause.title.clone());
            wire::ReadingLine {
                id: reading.id.clone(),
                title: reading.title.clone(),
                how: reading.how.clone(),
                stage: stage_of(reading.stage).word().to_owned(),
                expected: reading.shown.clone(),
                unit: reading.unit.symbol().to_owned(),
                because: std::iter::once(&reading.why_wide)
                    .chain(&reading.because)
                    .cloned()
                    .collect::<Vec<_>>()
                    .join("; "),
                caution: reading.caution.clone().unwrap_or_default(),
                value: entry.map(|entry| entry.written.clone()),
                note: entry.and_then(|entry| entry.note.clone()),
                verdict: word,
                verdict_text: std::iter::once(verdict.status.word().to_owned())
                    .chain(verdict.remark.clone())
                    .chain(causes)
                    .collect::<Vec<_>>()
                    .join("; "),
            }
        })
        .collect()
}

fn causes(judgement: &Judgement) -> Vec<wire::Cause> {
    judgement
        .causes
        .iter()
        .map(|cause| wire::Cause {
            what: match cause.heat {
                Some(heat) => format!("{}; it would make {heat} of heat there", cause.title),
                None => cause.title.clone(),
            },
            places: cause.places.clone(),
            how_sure: match cause.share {
                Some(share) => {
                    format!("{:.0} % of the single faults tried; {}", 100.0 * share, judgement.sureness)
                }
                None => judgement.sureness.clone(),
            },
            next: match &cause.next {
                Some(next) => format!("{}; measure next: {next}", cause.tell),
                None => cause.tell.clone(),
            },
        })
        .collect()
}
