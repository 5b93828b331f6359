//! The energy commands: a year, many years, a trip; and what they say to files that cannot be used.
//! Never: holds a whole output; a number that matters is asserted where it stands.
//! Start at any test.

#![allow(clippy::unwrap_used)] // tests may panic

mod common;

use common::{example, path, project, run};
use serde_json::Value;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

#[test]
fn a_year_by_month_closes_its_books() {
    let heron = path(&example("heron"));
    let said = run(&["year", &heron]);
    said.code(0).out_has("licensed electrician").out_has("Jan").out_has("Dec").out_has("Without charging");
    let json = run(&["year", &heron, "--json"]).code(0).json();
    let total = &json["study"]["year"]["total"];
    let sum = |keys: &[&str]| keys.iter().map(|key| number(&total[format!("{key}_wh")])).sum::<f64>();
    let came = sum(&["sun", "engine", "shore", "generator"]);
    let went = sum(&[
        "loads_dc",
        "loads_ac",
        "controller_loss",
        "engine_loss",
        "charger_loss",
        "inverter_loss",
        "idle",
        "bank_loss",
        "heater",
        "stored",
    ]);
    assert!(came > 100_000.0 && (came - went).abs() < 1e-9 * came, "{came} {went}");
    assert_eq!(json["study"]["year"]["months"].as_array().unwrap().len(), 12);
}

#[test]
fn pictures_are_written_once_and_not_over_others() {
    let folder = tempfile::tempdir().unwrap();
    let (wren, out) = (path(&example("wren")), path(folder.path()));
    run(&["year", &wren, "--out", &out]).code(0).out_has("months.svg");
    for name in ["charge.svg", "months.svg", "worst-week.svg"] {
        let text = std::fs::read_to_string(folder.path().join(name)).unwrap();
        assert!(text.contains("<svg") && !text.contains("NaN"), "{name}");
    }
    run(&["year", &wren, "--out", &out]).code(2).err_has("there already");
    run(&["year", &wren, "--out", &out, "--replace"]).code(0);
    run(&["years", &wren, "--count", "9", "--out", &out]).code(0).out_has("running-out.svg");
}

#[test]
fn many_years_repeat_with_their_seed() {
    let teal = path(&example("teal"));
    let years = |seed: &str| run(&["years", &teal, "--count", "20", "--seed", seed, "--json"]).code(0).json();
    let first = years("5");
    assert_eq!(first, years("5"));
    assert_ne!(first["years"]["mean"], years("6")["years"]["mean"]);
    assert_eq!(number(&first["years"]["running_out"]["of"]), 20.0);
    run(&["years", &teal, "--count", "0"]).code(2);
}

#[test]
fn a_trip_day_by_day_from_both_kinds_of_file() {
    let heron = example("heron");
    for file in ["trip.toml", "trip.gpx"] {
        let trip = path(&heron.join(file));
        let said = run(&["trip", &path(&heron), &trip, "--count", "10"]);
        said.code(0).out_has("Lasts").out_has("Driven").out_has("licensed electrician");
        let json = run(&["trip", &path(&heron), &trip, "--count", "10", "--json"]).code(0).json();
        let days = json["trip"]["days"].as_array().unwrap();
        assert!(days.len() > 2, "{file}");
        let asked: f64 = days.iter().map(|day| number(&day["books"]["loads_dc_wh"])).sum();
        assert!((asked - number(&json["trip"]["total"]["loads_dc_wh"])).abs() < 1e-6, "{file}");
    }
    run(&["trip", &path(&heron), &path(&heron.join("trip.toml")), "--charge", "140 %"]).code(2);
}

#[test]
fn an_itinerary_that_cannot_be_used_is_told_with_its_place() {
    let heron = path(&example("heron"));
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("track.gpx");
    let gpx = "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" creator=\"t\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n\
               <trk><trkseg><trkpt lat=\"47.0\" lon=\"8.0\"/><trkpt lat=\"47.1\" lon=\"8.1\"/></trkseg></trk></gpx>\n";
    std::fs::write(&file, gpx).unwrap();
    run(&["trip", &heron, &path(&file)]).code(2).err_has("time").err_has("track.gpx");
    run(&["trip", &heron, "nowhere.gpx"]).code(2).err_has("nowhere.gpx");
}

const SMALL: &[u8] = b"brief = { name = \"t\", craft = \"hut\", rules = \"iec\", voltage = \"12 V\" }\n\
    bank = { chemistry = \"lfp\", capacity = \"100 Ah\" }\nloads.lamp = { power = \"5 W\", length = \"2 m\" }\n\
    weather = { file = \"sky.csv\" }\n";

#[test]
fn a_weather_file_is_found_beside_the_project_and_its_faults_are_located() {
    let folder = project(SMALL);
    let at = path(folder.path());
    run(&["year", &at]).code(2).err_has("sky.csv");
    std::fs::write(folder.path().join("sky.csv"), "LOCATION,a,b,c,d,e,95.0,8.0,1,200\n1,2,3\n").unwrap();
    run(&["year", &at]).code(2).err_has("sky.csv").err_has("mend");
    std::fs::write(folder.path().join("sky.csv"), [0_u8, 159, 146, 150]).unwrap();
    run(&["years", &at, "--count", "3"]).code(2).err_has("sky.csv");
}

#[test]
fn without_a_bank_there_is_nothing_to_study() {
    // More gel batteries in parallel than any maker allows: no bank can be derived.
    let folder = project(
        b"brief = { name = \"t\", craft = \"hut\", rules = \"iec\", voltage = \"12 V\" }\n\
          bank = { chemistry = \"gel\", capacity = \"9000 Ah\" }\n",
    );
    for command in ["year", "years"] {
        run(&[command, &path(folder.path())]).code(2).err_has("no bank");
    }
}

#[test]
fn sizes_in_one_run_and_in_shares_say_the_same() {
    let wren = path(&example("wren"));
    let folder = tempfile::tempdir().unwrap();
    let whole = run(&["sizes", &wren, "--years", "4", "--json"]).code(0).json();
    let mut files = Vec::new();
    for share in ["1/3", "2/3", "3/3"] {
        let file = path(&folder.path().join(format!("share-{}.toml", &share[..1])));
        run(&["sizes", &wren, "--years", "4", "--shard", share, "--out", &file]).code(0);
        files.push(file);
    }
    let merge = |files: &[String]| {
        let mut words = vec!["sizes", &wren, "--years", "4", "--json", "--merge"];
        words.extend(files.iter().map(String::as_str));
        run(&words)
    };
    assert_eq!(merge(&files).code(0).json()["sizes"], whole["sizes"]);
    merge(&files[..2]).code(2).out_has("mend");
    // A share of another search is refused.
    run(&["sizes", &wren, "--years", "5", "--shard", "1/3", "--out", &files[0], "--replace"]).code(0);
    merge(&files).code(2).out_has("share-1.toml");
    let front = whole["sizes"]["front"].as_array().unwrap();
    assert!(
        !front.is_empty() && whole["sizes"]["because"].is_object() || whole["sizes"]["because"].is_string()
    );
}
