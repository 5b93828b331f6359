//! The readings: a sheet to fill in, a file judged, and what is said to one that cannot be used.
//! Never: holds a whole output; a number that matters is asserted where it stands.
//! Start at any test.

#![allow(clippy::unwrap_used)] // tests may panic

mod common;

use common::{example, path, run};

#[test]
fn the_sheet_is_a_file_with_nothing_taken() {
    let wren = path(&example("wren"));
    let sheet = run(&["prove", &wren, "--sheet"]);
    sheet.code(0).out_has("[readings.\"rest:bank\"]").out_has("licensed electrician");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("readings.toml");
    std::fs::write(&file, &sheet.out).unwrap();
    run(&["prove", &wren, &path(&file)]).code(0).out_has("0 within, 0 low, 0 high");
}

#[test]
fn a_low_reading_is_told_with_its_causes() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("readings.toml");
    std::fs::write(&file, "[readings.\"rest:bank\"]\nvalue = \"9.1 V\"\n").unwrap();
    let said = run(&["prove", &path(&example("wren")), &path(&file)]);
    said.code(1).out_has("low").out_has("0 within, 1 low");
    let json = run(&["prove", &path(&example("wren")), &path(&file), "--json"]).code(1).json();
    let verdicts = json["judgement"]["verdicts"].as_array().unwrap();
    let bank = verdicts.iter().find(|verdict| verdict["id"] == "rest:bank").unwrap();
    assert_eq!(bank["status"], "low");
    assert!(!bank["causes"].as_array().unwrap().is_empty());
}

#[test]
fn a_file_that_cannot_be_used_is_located() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("readings.toml");
    std::fs::write(&file, "[readings.\"rest:bnak\"]\nvalue = \"12.8 V\"\n").unwrap();
    let wren = path(&example("wren"));
    run(&["prove", &wren, &path(&file)])
        .code(2)
        .err_has("Did you mean `rest:bank`?")
        .err_has("readings.toml:1");
    run(&["prove", &wren, "nowhere.toml"]).code(2).err_has("nowhere.toml");
}
