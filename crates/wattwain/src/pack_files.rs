//! `pack`: writes the papers of a project.
//! Never: writes over a file unless asked, makes a schedule of a refused system.
//! Start at [`run`].

use pack::{Inputs, Labelling, Pack};
use serde_json::json;

use crate::answer::{Answer, FOUND, Failure, OK};
use crate::cli::PackArgs;
use crate::progress;
use crate::show::SAFETY;
use folder::Existing;

/// Questions in the summary.
const QUESTIONS: usize = 3;

/// Writes them.
pub fn run(args: &PackArgs, json: bool) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let folder = args.out.clone().unwrap_or_else(|| {
        let folder = if args.project.is_dir() { Some(args.project.as_path()) } else { args.project.parent() };
        folder.unwrap_or(std::path::Path::new("")).join("out")
    });
    let derived = ::board::derived(&project);
    let system = &derived.system;
    let results = network::study(system);
    // The papers have a board drawing whether or not somebody designs the board, so what is wrong there stands in them.
    // Placing it and trying the questions take longest, and know nothing of each other.
    let (layout, asked) = rayon::join(
        || derived.proposed(&project),
        || {
            progress::counted("Trying what was not said", 0, |_| {
                derive::questions(&project, system, QUESTIONS)
            })
        },
    );
    let beside = derived.faults(&project, layout.as_ref());
    let vehicle = ::board::Vehicle::of(&project, system);
    let series = folder::weather(&project, &args.project, None)?;
    let study = energy::study(system, series.as_ref());
    let findings = rules::check_beside(system, &results, study.as_ref(), &beside, layout.is_some());
    let questions: Vec<pack::Question> = asked
        .into_iter()
        .map(|question| pack::Question {
            text: format!("{} was taken as {}: {}", question.path, question.assumed, question.why),
            path: question.path,
            low_result: format!("{}: {}", question.low.value, question.low.result),
            high_result: format!("{}: {}", question.high.value, question.high.result),
            weight: question.weight,
        })
        .collect();
    let alternatives = derive::alternatives(&project, system);
    let diagram = drawing::one_line(system);
    let paper = args.paper.unwrap_or_else(|| booklet::Paper::of(system.rules));
    let labelling = match &args.labels {
        Some(grid) => Some(Labelling { grid: grid.clone(), with_code: true }),
        None => Labelling::on(paper.word()),
    };
    let labelling = labelling.map(|labelling| Labelling { with_code: !args.no_codes, ..labelling });
    let inputs = Inputs {
        system,
        library: &project.library,
        results: &results,
        study: study.as_ref(),
        findings: &findings,
        questions: &questions,
        alternatives: &alternatives,
        one_line: &diagram,
        layout: layout.as_ref(),
        vehicle: vehicle.as_ref(),
        labelling: labelling.as_ref(),
    };
    let made = Pack::of(&inputs).map_err(|error| {
        Failure::plain(error.to_string(), "", "Split the project, or leave out what it does not need")
    })?;
    let mut files = made.files;
    let pages = booklet::all(&inputs, &files, args.paper).map_err(|error| {
        Failure::plain(
            error.to_string(),
            "",
            "Leave `--paper` out or try the other size; if it stays, report it with the project",
        )
    })?;
    files.extend(pages);
    let existing = if args.replace { Existing::Replace } else { Existing::Keep };
    let bytes: Vec<(String, Vec<u8>)> =
        files.iter().map(|file| (file.name.clone(), file.bytes.clone())).collect();
    let written = folder::write(&folder, &bytes, existing)?;
    let is_bad =
        |finding: &rules::Finding| finding.severity == rules::Severity::Danger && finding.answered.is_none();
    let code = if system.refusals.is_empty() && !findings.iter().any(is_bad) { OK } else { FOUND };
    let answer = if json {
        let paths: Vec<String> = written.iter().map(|path| path.display().to_string()).collect();
        Answer::json(&json!({ "safety": SAFETY, "written": paths, "refused": !system.refusals.is_empty() }))?
    } else {
        let mut text = String::new();
        for (path, file) in written.iter().zip(&files) {
            text.push_str(&format!("{}  {}\n", path.display(), file.what));
        }
        if !system.refusals.is_empty() {
            text.push_str(
                "\nThe system is refused, so no schedule was issued; `wattwain check` says what would do.\n",
            );
        } else if code == FOUND {
            text.push_str("\nThere are dangers that nobody has answered for; `wattwain check` shows them.\n");
        }
        text.push_str(&format!("\n{SAFETY}"));
        Answer::text(text)
    };
    Ok(answer.with_code(code))
}
