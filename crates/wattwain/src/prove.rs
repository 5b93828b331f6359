//! `prove`: what to measure on what was built, what it should be, and what is likely wrong where it is not.
//! Never: computes a value itself, hides a reading that is bad.
//! Start at [`run`].

use std::path::{Path, PathBuf};

use prove::{Cause, Expected, Judgement, Readings, Status, Verdict};
use serde_json::json;

use crate::answer::{Answer, FOUND, Failure, OK};
use crate::cli::ProveArgs;
use crate::show::{SAFETY, Screen};

/// The name of the file in the project's folder.
const READINGS: &str = "readings.toml";

/// Runs it.
pub fn run(args: &ProveArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let system = ::board::derived(&project).system;
    let results = network::study(&system);
    let expected = prove::expected(&system, &results, None);
    if expected.is_empty() {
        return Err(Failure::plain(
            "nothing can be measured: the project has no bank, or is refused",
            args.project.display().to_string(),
            "See `wattwain check` for what stands against it",
        ));
    }
    if args.sheet {
        return if json {
            Answer::json(&json!({ "safety": SAFETY, "project": project.source.name, "expected": expected }))
        } else {
            Ok(Answer::text(prove::sheet(&system.name, &expected)))
        };
    }
    let file = args.readings.clone().unwrap_or_else(|| beside(&args.project));
    if args.readings.is_none() && !file.exists() {
        return Err(Failure::plain(
            "there are no readings yet",
            file.display().to_string(),
            format!(
                "Print a file to fill in: `wattwain prove {} --sheet > {}`",
                args.project.display(),
                file.display()
            ),
        ));
    }
    let source = folder::text(&file)?;
    let readings = Readings::read(&source, &expected)
        .map_err(|problems| Failure::Located { problems, sources: vec![source] })?;
    let judgement = prove::judge(&expected, &readings, &system, &results);
    let code = if judgement.is_bad() { FOUND } else { OK };
    let answer = if json {
        Answer::json(&json!({
            "safety": SAFETY, "project": project.source.name, "readings": file.display().to_string(),
            "expected": expected, "judgement": judgement,
        }))?
    } else {
        let title = screen.heading(&format!("{}: readings", system.name));
        let mut blocks = vec![
            format!("{title}  {}\n{}", screen.quiet(&file.display().to_string()), screen.wrapped(SAFETY, "")),
            table(screen, &expected, &judgement),
        ];
        blocks.extend(bad(screen, &judgement));
        blocks.extend(causes(screen, &judgement));
        blocks.push(sums(&judgement));
        Answer::text(blocks.join("\n\n"))
    };
    Ok(answer.with_code(code))
}

fn beside(project: &Path) -> PathBuf {
    if project.is_dir() { project.join(READINGS) } else { project.with_file_name(READINGS) }
}

fn table(screen: &Screen, expected: &[Expected], judgement: &Judgement) -> String {
    let taken = expected
        .iter()
        .zip(&judgement.verdicts)
        .filter(|(_, verdict)| verdict.status != Status::NotTaken)
        .map(|(_, verdict)| {
            vec![
                mark(screen, verdict.status),
                verdict.id.clone(),
                verdict.value.map_or(String::new(), |value| value.to_string()),
                verdict.expected.clone(),
            ]
        });
    screen.table(&["!", "reading", ">!measured", "expected"], taken)
}

fn mark(screen: &Screen, status: Status) -> String {
    if status.is_bad() { screen.danger(status.word()) } else { status.word().to_owned() }
}

/// Bad readings that the network does not tell about, each with its own causes.
fn bad(screen: &Screen, judgement: &Judgement) -> Option<String> {
    let is_own = |verdict: &&Verdict| {
        verdict.status.is_bad() && verdict.causes.iter().any(|cause| cause.kind == "by-kind")
    };
    let blocks: Vec<String> = judgement
        .verdicts
        .iter()
        .filter(is_own)
        .map(|verdict| {
            let remark = verdict.remark.as_ref().map_or(String::new(), |remark| format!(": {remark}"));
            let list: Vec<String> = verdict.causes.iter().map(|cause| shown(screen, cause)).collect();
            format!("{} {}{remark}\n{}", mark(screen, verdict.status), verdict.title, list.join("\n"))
        })
        .collect();
    (!blocks.is_empty()).then(|| blocks.join("\n\n"))
}

fn causes(screen: &Screen, judgement: &Judgement) -> Option<String> {
    if judgement.sureness.is_empty() {
        return None;
    }
    let list: Vec<String> = judgement.causes.iter().map(|cause| shown(screen, cause)).collect();
    Some(format!(
        "{}\n{}\n{}",
        screen.heading("What is likely wrong, from all readings of the network together"),
        list.join("\n"),
        screen.wrapped(&judgement.sureness, "  ")
    ))
}

fn shown(screen: &Screen, cause: &Cause) -> String {
    let share = cause.share.map_or(String::new(), |share| format!(" ({:.0} %)", share * 100.0));
    let places = match cause.places.len() {
        0 | 1 => String::new(),
        _ => format!(" [one of: {}]", cause.places.join(", ")),
    };
    let first = screen.item(&format!("{}{share}{places}", cause.title), "  ");
    format!("{first}\n{}", screen.wrapped(&cause.tell, "      "))
}

fn sums(judgement: &Judgement) -> String {
    let count = |status| judgement.count(status);
    format!(
        "{} within, {} low, {} high, {} not believable, {} not yet taken.",
        count(Status::Within),
        count(Status::Low),
        count(Status::High),
        count(Status::NotBelievable),
        count(Status::NotTaken)
    )
}
