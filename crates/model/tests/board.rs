//! What a person writes about the mounting board: read whole, and every slip told where it stands.
#![allow(clippy::unwrap_used)]

use model::{Project, SourceText};

const HEAD: &str = "[brief]\nname = \"B\"\ncraft = \"van\"\nrules = \"iec\"\nvoltage = \"12 V\"\n";

fn read(board: &str) -> Result<Project, Vec<model::Problem>> {
    let source = SourceText { name: "intent.toml".to_owned(), text: format!("{HEAD}{board}") };
    Project::read(source, model::library::builtin().clone())
}

#[track_caller]
fn refused(board: &str, line: usize, field: &str, says: &str) {
    let problems = read(board).unwrap_err();
    let found = problems.iter().find(|problem| problem.field == field);
    let problem = found.unwrap_or_else(|| panic!("no problem at {field}: {problems:#?}"));
    assert!(problem.message.contains(says), "{}", problem.message);
    assert_eq!(problem.line, line, "{problem:#?}");
    assert!(!problem.mend.is_empty());
}

#[test]
fn a_whole_board_is_read() {
    let project = read(
        "[zones.hold]\nkind = \"living\"\n[board]\nzone = \"hold\"\nwidth = \"900 mm\"\nheight = \"2 ft\"\n\
         thickness = \"18 mm\"\nmaterial = \"laminate\"\norientation = \"flat\"\naccess = \"left\"\nreach = \"50 cm\"\n\
         entry = \"top\"\nedge_margin = \"15 mm\"\nfixing_load = \"6 kg\"\nwithout = [\"inverter\"]\n\
         notches = [{ x = \"0 mm\", y = \"0 mm\", width = \"200 mm\", height = \"100 mm\" }]\n\
         fixings = [{ x = \"20 mm\", y = \"300 mm\" }]\n\
         [board.places.\"main.disconnect\"]\nx = \"100 mm\"\ny = \"300 mm\"\nturn = \"90°\"\n",
    )
    .unwrap();
    let board = project.intent.board.unwrap();
    assert_eq!(board.places.0["main.disconnect"].turn.unwrap().get(), 90.0);
    assert_eq!(board.notches.len() + board.fixings.len() + board.without.len(), 3);
    assert!((board.height.unwrap().get() - 0.6096).abs() < 1e-12);
}

#[test]
fn slips_are_told_where_they_stand() {
    let bow = "outline = [{ x = \"0 m\", y = \"0 m\" }, { x = \"1 m\", y = \"1 m\" },\n { x = \"1 m\", y = \"0 m\" },\n \
               { x = \"0 m\", y = \"1 m\" }]\n";
    refused(&format!("[board]\n{bow}"), 8, "board.outline[2]", "crosses itself");
    refused("[board]\nwidth = \"1 m\"\n", 7, "board.width", "no height");
    let notch = "notches = [{ x = \"2 m\", y = \"0 m\", width = \"1 m\", height = \"1 m\" }]\n";
    refused(
        &format!("[board]\nwidth = \"1 m\"\nheight = \"1 m\"\n{notch}"),
        9,
        "board.notches[0]",
        "outside",
    );
    refused(&format!("[board]\n{notch}"), 7, "board.notches[0]", "not said");
    refused(
        "[board.places.shunt]\nx = \"1 m\"\ny = \"1 m\"\nturn = \"45°\"\n",
        9,
        "board.places.shunt.turn",
        "45",
    );
    refused("[board]\nzone = \"attic\"\n", 7, "board.zone", "attic");
    refused("[board]\nwidth = \"90 m\"\nheight = \"1 m\"\n", 7, "board.width", "90");
    refused("[board]\noutline = [{ x = \"0 m\", y = \"0 m\" }]\n", 7, "board.outline", "1 corners");
}
