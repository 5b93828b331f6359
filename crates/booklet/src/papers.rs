//! Which PDF files go with a pack, and the making of one of them.
//! Never: sets a page that nobody asked for: a list is names only.
//! Start at [`list`], then [`paper`] by name, or [`all`].

use pack::{Inputs, OutFile, Summary, build_order};
use rayon::prelude::*;
use reference::RuleSet;

use crate::svg::Size;
use crate::{BookletError, Pages, Paper, Picture, booklet, sheets, tiled};

/// A file that can be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// Its name: `booklet-a4.pdf`.
    pub name: String,
    /// What it is, in words for a person.
    pub what: &'static str,
}

const BOARD: &str = "board-1-to-1.pdf";
const LABELS: &str = "labels.pdf";
const DOORS: &str = "door-cards.pdf";

/// The PDF files that go with the files of a pack, without making any: the booklet, and what is printed at 1:1.
pub fn list(files: &[OutFile], rules: RuleSet, paper: Option<Paper>) -> Vec<Listed> {
    let paper = paper.unwrap_or_else(|| Paper::of(rules));
    let listed = |name: &str, what| Listed { name: name.to_owned(), what };
    let has = |is: fn(&str) -> bool| files.iter().any(|file| is(&file.name));
    let mut list =
        vec![listed(&format!("booklet-{}.pdf", paper.word()), "everything in one booklet, to print")];
    if has(is_board) {
        list.push(listed(BOARD, "mounting board at 1:1, over sheets to glue together"));
    }
    if has(is_label) {
        list.push(listed(LABELS, "labels at their true size"));
    }
    if has(is_door) {
        list.push(listed(DOORS, "door cards at their true size"));
    }
    list
}

fn is_board(name: &str) -> bool {
    name == "board.svg"
}

fn is_label(name: &str) -> bool {
    name.starts_with("label") && name.ends_with(".svg")
}

fn is_door(name: &str) -> bool {
    name.starts_with("door") && name.ends_with(".svg")
}

/// One of the PDF files, by its name; `None` where there is none of that name.
///
/// `files` are those of the pack of `inputs`.
///
/// # Errors
/// A picture that cannot be placed.
pub fn paper(
    name: &str,
    inputs: &Inputs<'_>,
    files: &[OutFile],
    paper: Option<Paper>,
) -> Result<Option<Vec<u8>>, BookletError> {
    let own = paper.unwrap_or_else(|| Paper::of(inputs.system.rules));
    let title = |what: &str| format!("{}: {what}", inputs.system.name);
    let svgs = |is: fn(&str) -> bool| -> Vec<String> {
        files.iter().filter(|file| is(&file.name)).map(text).collect()
    };
    let single = |is: fn(&str) -> bool, what: &str| {
        let svgs = svgs(is);
        let Some(first) = svgs.first() else { return Ok(None) };
        // Sheets of labels may be of the other paper than the rest.
        let paper = made_for(first).unwrap_or(own);
        sheets(&svgs, &title(what), paper).map(Some)
    };
    match name {
        "booklet-a4.pdf" => whole(inputs, files, Paper::A4).map(Some),
        "booklet-letter.pdf" => whole(inputs, files, Paper::Letter).map(Some),
        BOARD => match svgs(is_board).first() {
            Some(svg) => tiled(svg, &title("mounting board"), own).map(Some),
            None => Ok(None),
        },
        LABELS => single(is_label, "labels"),
        DOORS => single(is_door, "door cards"),
        _ => Ok(None),
    }
}

/// Every PDF file of [`list`], set side by side: the booklet takes most of the time, and leaves a processor idle now and then.
///
/// # Errors
/// A picture that cannot be placed.
pub fn all(
    inputs: &Inputs<'_>,
    files: &[OutFile],
    size: Option<Paper>,
) -> Result<Vec<OutFile>, BookletError> {
    let listed = list(files, inputs.system.rules, size);
    let set = |listed: Listed| {
        let bytes = paper(&listed.name, inputs, files, size)?;
        // What is listed is there to be made.
        Ok(bytes.map(|bytes| OutFile { name: listed.name, bytes, what: listed.what }))
    };
    let made: Result<Vec<_>, BookletError> = listed.into_par_iter().map(set).collect();
    Ok(made?.into_iter().flatten().collect())
}

/// The paper whose size a picture has, if one has it.
fn made_for(svg: &str) -> Option<Paper> {
    let size = Size::of("", svg).ok()?;
    let is_size = |paper: &Paper| {
        let (width, height) = paper.size_mm();
        (size.width_mm - width).abs() < 1.0 && (size.height_mm - height).abs() < 1.0
    };
    [Paper::A4, Paper::Letter].into_iter().find(is_size)
}

/// A picture of the pack, on white: the warm ground that it has on a screen would be printed as grey dots.
fn text(file: &OutFile) -> String {
    String::from_utf8_lossy(&file.bytes).replace(drawing::plate::PAPER, "#ffffff")
}

/// The booklet of a pack.
fn whole(inputs: &Inputs<'_>, files: &[OutFile], paper: Paper) -> Result<Vec<u8>, BookletError> {
    let summary = Summary::of(inputs);
    let order = build_order(inputs.system, inputs.results, inputs.layout);
    let tables =
        summary.schedules.as_ref().map(|schedules| pack::tables(schedules, &order)).unwrap_or_default();
    let expected = prove::expected(inputs.system, inputs.results, inputs.study);
    let pictures = pictures(files);
    let pages =
        Pages { summary: &summary, tables: &tables, order: &order, expected: &expected, pictures: &pictures };
    booklet(&pages, paper)
}

/// Every picture among the files, named after its file; several of one kind are numbered.
fn pictures(files: &[OutFile]) -> Vec<Picture> {
    let svgs: Vec<&OutFile> = files.iter().filter(|file| file.name.ends_with(".svg")).collect();
    let one = |(at, file): (usize, &&OutFile)| {
        let of = svgs.iter().filter(|other| other.what == file.what).count();
        let before = svgs.iter().take(at).filter(|other| other.what == file.what).count();
        let mut letters = file.what.chars();
        let what: String = letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect();
        Picture {
            name: file.name.trim_end_matches(".svg").to_owned(),
            title: if of > 1 { format!("{what}, {} of {of}", before + 1) } else { what },
            caption: String::new(),
            svg: text(file),
        }
    };
    svgs.iter().enumerate().map(one).collect()
}
