//! The commands on real projects: what they say and how they end.
//! Never: holds a whole output; a number that matters is asserted where it stands.
//! Start at any test; `ask.rs` has the quick answers.

#![allow(clippy::unwrap_used)] // tests may panic

mod common;

use common::{example, path, run};

#[test]
fn help_and_version() {
    run(&["--version"]).code(0).out_has("wattwain 0.");
    run(&["--help"]).code(0).out_has("Example:").out_has("licensed electrician");
    for command in [
        "begin", "check", "why", "pack", "ask", "parts", "rules", "sources", "schema", "year", "years",
        "trip", "faults", "compare", "steps", "board",
    ] {
        run(&[command, "--help"]).code(0).out_has("Example: wattwain").out_has("--json");
    }
    for question in ["conductor", "fuse", "drop", "ampacity", "runtime", "fault", "share", "string", "gauge"]
    {
        run(&["ask", question, "--help"]).code(0).out_has("Example: wattwain ask");
    }
    run(&["chekc"]).code(2).err_has("check");
}

#[test]
fn the_board_of_a_project() {
    let wren = path(&example("wren"));
    run(&["board", &wren])
        .code(0)
        .out_has("main.disconnect")
        .out_has("licensed electrician")
        .out_has("Assumed");
    run(&["board", &wren, "--json"]).code(0).out_has("\"is_steady\": true").out_has("\"left_over\": []");
}

#[test]
fn check_of_a_whole_project() {
    let said = run(&["check", &path(&example("wren"))]);
    said.code(0).out_has("Wren: trailer, 12 V, rule set na").out_has("licensed electrician");
    for part in ["Bank", "Need", "Without charging", "36 h wanted", "CIRCUIT", "lights", "1 A"] {
        said.out_has(part);
    }
    assert!(!said.out.contains('\u{1b}'), "no colour where the output is no terminal");
    // The file itself does as well as its folder.
    let file = run(&["check", &path(&example("wren").join("intent.toml"))]);
    assert_eq!(file.out, said.out);
}

#[test]
fn check_as_json() {
    let json = run(&["check", "--json", &path(&example("heron"))]).json();
    assert!(json["safety"].as_str().unwrap().contains("kill"));
    assert_eq!(json["system"]["name"], "Heron");
    assert!(json["system"]["conductors"].as_array().unwrap().len() > 30);
    assert!(json["results"]["scenes"].as_array().unwrap().len() >= 3, "the study is in it");
    let questions = json["questions"].as_array().unwrap();
    assert!(!questions.is_empty() && questions.len() <= 3);
    for question in questions {
        assert!(question["low"]["result"].is_string() && question["high"]["result"].is_string());
    }
    for finding in json["findings"].as_array().unwrap() {
        assert!(finding["line"].as_u64().is_some(), "every finding has its line: {finding}");
        assert!(
            !finding["message"].as_str().unwrap().is_empty() && !finding["why"].as_str().unwrap().is_empty()
        );
    }
}

#[test]
fn a_danger_is_found_with_its_line_and_a_mend_that_was_tried() {
    let wren = std::fs::read_to_string(example("wren").join("intent.toml")).unwrap();
    let text = format!("{wren}\n[[built]]\nleave_out = \"main.fuse\"\n");
    let line = text.lines().count() - 1;
    let folder = common::project(text.as_bytes());
    let said = run(&["check", &path(folder.path())]);
    said.code(1)
        .out_has("danger[unprotected-conductor]")
        .out_has(&format!("intent.toml:{line}:"))
        .out_has("[[built]]")
        .out_has("^^^")
        .out_has("(tried:")
        .out_has("take away");
    // Answered in writing it is still shown, and no longer fails.
    let json = run(&["check", "--json", &path(folder.path())]).code(1).json();
    let answers: String = json["findings"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|finding| finding["severity"] == "danger")
        .map(|finding| {
            let (rule, place) = (finding["rule"].as_str().unwrap(), finding["place"].as_str().unwrap());
            format!("\n[[answers]]\nrule = \"{rule}\"\nplace = \"{place}\"\nreason = \"Only for a trial on the bench\"\n")
        })
        .collect();
    assert!(!answers.is_empty());
    let folder = common::project(format!("{text}{answers}").as_bytes());
    run(&["check", &path(folder.path())]).code(0).out_has("danger[").out_has("Only for a trial on the bench");
}

#[test]
fn why_leads_down_to_the_tables() {
    let heron = path(&example("heron"));
    let said = run(&["why", &heron, "inverter.positive.gauge"]);
    said.code(0)
        .out_has("inverter.positive.gauge = ")
        .out_has("33 CFR 183")
        .out_has("lowest input: 10.5 V (part inverter.")
        .out_has("you said so in")
        .out_has("intent.toml:")
        .out_has("<- inverter.current");
    // All below a name.
    run(&["why", &heron, "fridge"])
        .code(0)
        .out_has("fridge.fuse.rating = ")
        .out_has("fridge.positive.gauge = ");
    run(&["why", &heron]).code(0).out_has("main.positive.gauge");
    run(&["why", &heron, "frigde"]).code(2).err_has("Did you mean `fridge`?");
    let json = run(&["why", "--json", &heron, "fridge.fuse.rating"]).json();
    assert_eq!(json["values"][0]["path"], "fridge.fuse.rating");
    assert!(json["values"][0]["inputs"].as_array().unwrap().len() >= 2);
}

#[test]
fn why_tells_a_pin_and_what_would_stand_without() {
    let wren = std::fs::read_to_string(example("wren").join("intent.toml")).unwrap();
    let text = format!("{wren}\n[pins]\n\"lights.positive.gauge\" = \"8 AWG\"\n");
    let folder = common::project(text.as_bytes());
    run(&["why", &path(folder.path()), "lights.positive.gauge"])
        .code(0)
        .out_has("lights.positive.gauge = 8 AWG")
        .out_has(&format!("intent.toml:{}", text.lines().count()))
        .out_has("derived it would be");
}

/// Every value of every example can be asked for, and its chain ends.
#[test]
fn every_chain_ends() {
    for name in ["wren", "marten"] {
        let folder = path(&example(name));
        let json = run(&["why", "--json", &folder]).json();
        let values = json["values"].as_array().unwrap();
        assert!(values.len() > 30);
        for value in values.iter().step_by(9) {
            let asked = value["path"].as_str().unwrap();
            run(&["why", &folder, asked]).code(0).out_has(value["value"].as_str().unwrap());
        }
    }
}

#[test]
fn begin_gives_a_project_that_checks() {
    let folder = tempfile::tempdir().unwrap();
    for (craft, voltage, rules) in [("van", "12", "na"), ("boat", "24V", "iec"), ("hut", "48", "iec")] {
        let new = path(&folder.path().join(format!("my-{craft}")));
        run(&["begin", &new, "--craft", craft, "--voltage", voltage, "--rules", rules])
            .code(0)
            .out_has("wattwain check");
        let text = std::fs::read_to_string(format!("{new}/intent.toml")).unwrap();
        assert!(
            text.contains(&format!("name = \"My {craft}\""))
                && text.contains("#:schema ./intent.schema.json")
        );
        let said = run(&["check", "--quick", &new]);
        // What may be found in a starting point is listed by `begin`'s own test.
        assert!(said.code < 2 && !said.out.contains("refused"), "{craft}: {}\n{}", said.out, said.err);
    }
    let bare = path(&folder.path().join("bare"));
    run(&["begin", &bare, "--empty"]).code(0);
    let json = run(&["check", "--json", "--quick", &bare]).code(0).json();
    let devices = json["system"]["devices"].as_array().unwrap();
    assert!(!devices.iter().any(|device| device["spec"]["kind"] == "load"), "no load was asked for");
    run(&["begin", "x", "--voltage", "13"]).code(2).err_has("12, 24 or 48");
}

#[test]
fn pack_writes_and_lists() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("papers");
    let said = run(&["pack", &path(&example("wren")), "--out", &path(&out)]);
    said.code(0);
    for file in [
        "summary.md",
        "summary.json",
        "cables.csv",
        "fuses.csv",
        "parts.csv",
        "schedules.xlsx",
        "one-line.svg",
        "wiring-1.svg",
        "wiring.dxf",
        "door-card-1.svg",
        "board.svg",
        "board.dxf",
    ] {
        said.out_has(file);
        assert!(out.join(file).metadata().unwrap().len() > 100, "{file}");
    }
    let json: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("summary.json")).unwrap()).unwrap();
    assert!(json.is_object());
}

/// The paper that is not the rule set's own, and other labels on other paper again: all of it is set, each at its true size.
/// ISO 216: A4 is 595.28 pt by 841.89 pt. ANSI/ASME Y14.1: letter is 612 pt by 792 pt.
#[test]
fn pack_sets_pages_on_the_paper_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let size = |file: &std::path::Path| {
        let read = std::process::Command::new("pdfinfo").arg(file).output().unwrap();
        let said = String::from_utf8_lossy(&read.stdout).into_owned();
        let line = said.lines().find(|line| line.starts_with("Page size:")).unwrap_or_default();
        line.split_whitespace().filter_map(|word| word.parse::<f64>().ok()).collect::<Vec<f64>>()
    };
    let is = |found: &[f64], wanted: [f64; 2]| {
        let turned = [wanted[1], wanted[0]];
        let near = |wanted: [f64; 2]| found.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 0.1);
        found.len() == 2 && (near(wanted) || near(turned))
    };
    let (a4, letter) = ([595.28, 841.89], [612.0, 792.0]);
    for (name, more, paper, labels) in [
        ("own", &[][..], ("letter", letter), letter),
        ("a4", &["--paper", "a4"][..], ("a4", a4), a4),
        ("mixed", &["--paper", "a4", "--labels", "letter 4 by 20", "--no-codes"][..], ("a4", a4), letter),
    ] {
        let out = folder.path().join(name);
        let (project, place) = (path(&example("wren")), path(&out));
        let mut words = vec!["pack", &project, "--out", &place];
        words.extend(more);
        run(&words).code(0);
        let (word, booklet) = paper;
        assert!(is(&size(&out.join(format!("booklet-{word}.pdf"))), booklet), "{name}: booklet");
        assert!(is(&size(&out.join("labels.pdf")), labels), "{name}: labels");
        assert!(is(&size(&out.join("board-1-to-1.pdf")), booklet), "{name}: board");
        let codes = std::fs::read_to_string(out.join("labels-1.svg")).unwrap().matches("<path").count();
        assert_eq!(codes == 0, name == "mixed", "{name}: {codes} codes");
    }
    let said = run(&["pack", &path(&example("wren")), "--labels", "a9"]);
    said.code(2);
    said.err_has("a4 5 by 13");
}

#[test]
fn lists() {
    run(&["parts", "--kind", "battery", "lfp"]).code(0).out_has("lfp-12v-100ah").out_has("11.2 kg");
    run(&["parts", "--kind", "batery"]).code(2).err_has("Did you mean `battery`?");
    assert!(run(&["parts", "--json"]).json()["parts"].as_array().unwrap().len() >= 120);
    run(&["rules"]).code(0).out_has("excess-voltage-drop");
    run(&["rules", "excess-voltage-drop"]).code(0).out_has("## Why").out_has("Rule set iec:");
    run(&["rules"]).code(0).out_has("board-vent-not-up").out_has("plan-axle-lifted");
    run(&["rules", "board-ac-near-dc"]).code(0).out_has("## Mend").out_has("Source iso-10133-7");
    run(&["rules", "plan-axle-lifte"]).code(2).err_has("Did you mean `plan-axle-lifted`?");
    run(&["rules", "excess-voltage-drp"]).code(2).err_has("Did you mean `excess-voltage-drop`?");
    let all = run(&["sources", "--json"]).json();
    let memory = run(&["sources", "--memory", "--json"]).json();
    assert_eq!(all["counts"]["memory"], memory["rows"].as_array().unwrap().len());
    // What a standard says and is only remembered is a debt, which must stay the smaller part. Practice of the trade, which no
    // print can confirm, is told as such and is none.
    let is_debt = |row: &&serde_json::Value| row["source"] != "practice";
    let debt = memory["rows"].as_array().unwrap().iter().filter(is_debt).count();
    assert!(all["counts"]["published"].as_u64().unwrap() > debt as u64, "{debt}");
    run(&["sources", "--memory"]).code(0).out_has("0 published, 0 computed");
    let schema: serde_json::Value = run(&["schema"]).json();
    assert!(schema["properties"]["loads"].is_object());
}

#[test]
fn faults_lists_places_and_tells_a_story() {
    let heron = path(&example("heron"));
    run(&["faults", &heron]).code(0).out_has("fridge.positive").out_has("OPENS FIRST");
    let said = run(&["faults", &heron, "fridge.positive"]);
    said.code(0).out_has("fridge.fuse").out_has("Goes dark: fridge").out_has("licensed electrician");
    let json = run(&["faults", "--json", &heron, "fridge"]).code(0).json();
    assert_eq!(json["story"]["opens"][0]["device"], "fridge.fuse");
    assert_eq!(json["story"]["dark"][0]["device"], "fridge");
    run(&["faults", &heron, "frigde.positive"]).code(2).err_has("Did you mean `fridge.positive`?");
}

#[test]
fn compare_puts_two_projects_side_by_side() {
    let (heron, wren) = (path(&example("heron")), path(&example("wren")));
    run(&["compare", &heron, &wren])
        .code(0)
        .out_has("Heron and Wren, side by side")
        .out_has("Price, lowest")
        .out_has("Chance of running out")
        .out_has("brief.craft")
        .out_has("licensed electrician");
    let json = run(&["compare", "--json", &heron, &heron]).code(0).json();
    assert!(json["written"].as_array().unwrap().is_empty());
    for figure in json["comparison"]["figures"].as_array().unwrap() {
        assert_eq!(figure["same"], true, "{figure}");
    }
    run(&["compare", &heron, "nowhere"]).code(2).err_has("nowhere");
}

#[test]
fn steps_of_building() {
    let wren = path(&example("wren"));
    let said = run(&["steps", &wren]);
    said.code(0)
        .out_has("licensed electrician")
        .out_has("At the bench")
        .out_has("(bank:join")
        .out_has("measure: ");
    let stage = run(&["steps", &wren, "--stage", "first-power"]);
    stage.code(0).out_has("(close:main.fuse");
    assert!(!stage.out.contains("At the bench"));
    let json = run(&["steps", "--json", &wren]).json();
    let steps = json["steps"].as_array().unwrap();
    assert_eq!(steps[0]["number"], 1);
    let close = steps.iter().find(|step| step["id"] == "close:main.fuse").unwrap();
    assert_eq!(close["acts"][0]["deed"], "insert");
    assert_eq!(close["measures"][0]["low"]["unit"], "V");
    run(&["steps", &wren, "--stage", "roof"]).code(2).err_has("first-power");
}
