//! The papers to look at, print and save.
//! Never: lays one out; [`pack`], [`drawing`] and [`booklet`] do. Sets no page before it is asked for.
//! Start at [`papers`].

use pack::{Inputs, OutFile, Pack, PackError};

use crate::{Stand, wire};

/// Questions in the summary.
const QUESTIONS: usize = 3;

/// What papers there are.
///
/// # Errors
/// A schedule that does not fit its file format.
pub fn papers(stand: &Stand) -> Result<Vec<wire::Paper>, PackError> {
    let paper = |file: OutFile| wire::Paper {
        media: media(&file.name).to_owned(),
        what: file.what.to_owned(),
        bytes: file.bytes.len(),
        can_show: ![".xlsx", ".dxf"].iter().any(|end| file.name.ends_with(end)),
        name: file.name,
    };
    let files = files(stand)?;
    // Setting pages takes longer than a list may; their size is not known before.
    let page = |listed: booklet::Listed| wire::Paper {
        media: media(&listed.name).to_owned(),
        what: listed.what.to_owned(),
        bytes: 0,
        // No browser shows one inside a page that may do nothing.
        can_show: false,
        name: listed.name,
    };
    let pages: Vec<wire::Paper> =
        booklet::list(&files, stand.system.rules, None).into_iter().map(page).collect();
    Ok(pages.into_iter().chain(files.into_iter().map(paper)).collect())
}

/// Why a paper cannot be given.
#[derive(Debug, thiserror::Error)]
pub enum PaperError {
    /// A schedule does not fit its file.
    #[error(transparent)]
    Pack(#[from] PackError),
    /// Pages cannot be set.
    #[error(transparent)]
    Pages(#[from] booklet::BookletError),
}

/// The bytes of one; `None` where there is none of that name.
///
/// # Errors
/// A schedule that does not fit its file format, or a picture that cannot be placed.
pub fn paper(stand: &Stand, name: &str) -> Result<Option<Vec<u8>>, PaperError> {
    let questions = questions(stand);
    let vehicle = board::Vehicle::of(&stand.project, &stand.system);
    let inputs = Inputs { layout: stand.layout(), vehicle: vehicle.as_ref(), ..inputs(stand, &questions) };
    let files = Pack::of(&inputs)?.files;
    if name.ends_with(".pdf") {
        return Ok(booklet::paper(name, &inputs, &files, None)?);
    }
    Ok(files.into_iter().find(|file| file.name == name).map(|file| file.bytes))
}

fn files(stand: &Stand) -> Result<Vec<OutFile>, PackError> {
    let questions = questions(stand);
    let vehicle = board::Vehicle::of(&stand.project, &stand.system);
    let inputs = Inputs { layout: stand.layout(), vehicle: vehicle.as_ref(), ..inputs(stand, &questions) };
    Ok(Pack::of(&inputs)?.files)
}

fn questions(stand: &Stand) -> Vec<pack::Question> {
    derive::questions(&stand.project, &stand.system, QUESTIONS)
        .into_iter()
        .map(|question| pack::Question {
            text: format!("{} was taken as {}: {}", question.path, question.assumed, question.why),
            path: question.path,
            low_result: format!("{}: {}", question.low.value, question.low.result),
            high_result: format!("{}: {}", question.high.value, question.high.result),
            weight: question.weight,
        })
        .collect()
}

/// What the papers are made of, without the board, whose placing takes its time.
pub fn inputs<'s>(stand: &'s Stand, questions: &'s [pack::Question]) -> Inputs<'s> {
    Inputs {
        system: &stand.system,
        library: &stand.project.library,
        results: &stand.results,
        study: stand.study.as_deref(),
        findings: &stand.findings,
        questions,
        alternatives: &stand.alternatives,
        one_line: stand.diagram(),
        layout: None,
        vehicle: None,
        labelling: None,
    }
}

/// Media type of a file by its ending.
pub fn media(name: &str) -> &'static str {
    match name.rsplit('.').next().unwrap_or_default() {
        "svg" => "image/svg+xml",
        "dxf" => "image/vnd.dxf",
        "pdf" => "application/pdf",
        "md" => "text/markdown; charset=utf-8",
        "csv" => "text/csv; charset=utf-8",
        "json" => "application/json",
        "cir" => "text/plain; charset=utf-8",
        "html" => "text/html; charset=utf-8",
        "xlsx" => "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        _ => "application/octet-stream",
    }
}
