//! The schedules of a small system against values worked out on paper from the parts and the tables.

mod common;

use common::{Derived, csv_rows, small, text};
use pack::{Counted, FittingKind, PartRow};

type Rows = (Vec<String>, Vec<Vec<String>>);

/// The cell of a column, in the row that has `key` as one of its cells.
fn cell(rows: &Rows, key: &str, column: &str) -> String {
    let column =
        rows.0.iter().position(|head| head == column).unwrap_or_else(|| panic!("no column {column}"));
    let row = rows.1.iter().find(|cells| cells.iter().any(|cell| cell == key));
    row.unwrap_or_else(|| panic!("no row {key}"))[column].clone()
}

fn part(derived: &Derived, kind: &str, title: &str) -> PartRow {
    let rows = derived.schedules().parts.rows;
    let found: Vec<&PartRow> =
        rows.iter().filter(|row| row.kind == kind && row.title.contains(title)).collect();
    assert_eq!(found.len(), 1, "{kind} {title}: {found:#?}");
    found[0].clone()
}

#[test]
fn every_cut_conductor_stands_once_and_no_link_does() {
    let ids: Vec<String> = small().schedules().cables.into_iter().map(|row| row.id).collect();
    assert_eq!(ids, ["main.positive", "main.negative", "fridge.negative", "fridge.positive", "bond.dc"]);
}

#[test]
fn cable_rows_tell_length_ends_fuse_colour_and_loss() {
    let rows = csv_rows(&small().pack(), "cables.csv");
    // 1.5 m and a tenth for slack; 1 ft = 0.3048 m by definition.
    assert_eq!(cell(&rows, "main.positive", "length_m"), "1.50");
    assert_eq!(cell(&rows, "main.positive", "length_cut_m"), "1.65");
    assert_eq!(cell(&rows, "main.positive", "length_ft"), "4.92");
    assert_eq!(cell(&rows, "main.positive", "length_cut_ft"), "5.41");
    assert_eq!(cell(&rows, "main.positive", "conductor"), "2/0 AWG");
    assert_eq!(cell(&rows, "main.positive", "from_end"), "ring lug 2/0 AWG, stud 5/16 in");
    assert_eq!(cell(&rows, "main.positive", "to_end"), "ring lug 2/0 AWG, stud M6");
    assert_eq!(cell(&rows, "main.positive", "protected_by"), "main.fuse 150 A");
    assert_eq!(cell(&rows, "fridge.positive", "to_end"), "ferrule 14 AWG");
    assert_eq!(cell(&rows, "bond.dc", "protected_by"), "");
    // ABYC E-11: DC positive red, DC negative yellow, bond green.
    for (id, colour, letter) in
        [("main.positive", "red", "R"), ("main.negative", "yellow", "Y"), ("bond.dc", "green", "G")]
    {
        assert_eq!(cell(&rows, id, "colour"), colour);
        assert_eq!(cell(&rows, id, "colour_letter"), letter);
    }
    // NEC chapter 9 Table 8, coated copper, 2/0 AWG: 0.101 Ω/kft at 75 °C, by the copper law 0.82241 of it at 20 °C:
    // 80 A x 1.5 m x 0.2725 mΩ/m = 0.0327 V.
    let drop: f64 = cell(&rows, "main.positive", "drop_v").parse().unwrap();
    assert!((drop - 80.0 * 1.5 * 0.101 / 304.8 * 254.5 / 309.5).abs() < 0.0005, "{drop}");
    assert_eq!(cell(&rows, "bond.dc", "drop_v"), "", "a bond carries no current");
}

#[test]
fn cable_is_bought_by_the_half_foot_and_a_sheath_once() {
    let derived = small();
    // Two of 1.65 m are 3.3 m = 10.83 ft; a price of 13.76 to 28.9 a metre is 4.194 to 8.809 a foot.
    let big = part(&derived, "cable", "2/0 AWG");
    assert_eq!((big.quantity, big.counted), (11.0, Counted::Feet));
    let worth = big.worth.unwrap();
    assert_eq!((worth.price.0.get(), worth.price.1.get()), (46.13, 96.9));
    assert_eq!(big.used, ["run 1", "run 2"]);
    // Both cores of the fridge lie in one sheath of 3.3 m.
    assert_eq!(part(&derived, "cable", "Two-core").quantity, 11.0);
    assert_eq!(part(&derived, "cable", "6 AWG").quantity, 4.0); // 1.1 m = 3.61 ft
}

#[test]
fn metric_projects_buy_by_the_half_metre_and_show_no_feet() {
    let mut derived = small();
    derived.system.rules = reference::RuleSet::Iec;
    let big = part(&derived, "cable", "2/0 AWG");
    assert_eq!((big.quantity, big.counted), (3.5, Counted::Metres));
    let (head, _) = csv_rows(&derived.pack(), "cables.csv");
    assert!(!head.iter().any(|head| head.ends_with("_ft")));
}

#[test]
fn lugs_and_ferrules_are_counted_from_the_ends() {
    let derived = small();
    let rows = derived.schedules().parts.rows;
    let count =
        |kind: &str| -> f64 { rows.iter().filter(|row| row.kind == kind).map(|row| row.quantity).sum() };
    // Ends: main 4 lugs; fridge 3 ferrules and a lug on the panel's stud; bond a lug at each end.
    assert_eq!(count("lug"), 7.0);
    assert_eq!(count("ferrule"), 3.0);
    let lug = part(&derived, "lug", "14 AWG, stud M5");
    assert_eq!((lug.quantity, lug.used), (1.0, vec!["run 3".to_owned()]));
    // No lug of 2/0 AWG is made for M6: it is listed without a price, never replaced by the next best.
    let missing = part(&derived, "lug", "2/0 AWG, stud M6");
    assert_eq!((missing.quantity, missing.id.as_str()), (2.0, ""));
    assert!(missing.worth.is_none() && missing.title.ends_with("to be found"));
    let bond = derived.schedules().cables.into_iter().find(|row| row.id == "bond.dc").unwrap();
    assert_eq!(bond.to.fitting.kind, FittingKind::BondLug);
}

#[test]
fn fuses_have_their_place_fault_and_spares() {
    let derived = small();
    let schedules = derived.schedules();
    let ids: Vec<&str> = schedules.fuses.iter().map(|row| row.device.as_str()).collect();
    assert_eq!(ids, ["main.fuse", "fridge-1.fuse", "fridge-2.fuse", "fridge-3.fuse", "fridge-4.fuse"]);
    let way = &schedules.fuses[1];
    assert_eq!(way.place, "the panel");
    assert_eq!(way.circuits, ["fridge circuit"]);
    assert_eq!(way.prospective.unwrap().get(), 3000.0);
    // Four blades of 7.5 A in use: two spares; one class T: one spare. Common practice, no source.
    let blades = part(&derived, "fuse", "Blade fuse, 7.5 A");
    assert_eq!((blades.quantity, blades.spares, way.spares), (6.0, 2, 2));
    let main = part(&derived, "fuse", "150 A");
    assert_eq!((main.quantity, main.spares), (2.0, 1));
    assert_eq!(pack::spares("breaker-dc-panel", 9), 0, "a breaker can be reset");
}

#[test]
fn totals_are_the_sums_of_what_is_shown() {
    let derived = small();
    let rows = csv_rows(&derived.pack(), "parts.csv");
    let (last, body) = rows.1.split_last().unwrap();
    assert_eq!(last[0], "total");
    for (column, decimals) in [("price_low", 2), ("price_high", 2), ("mass_kg", 4)] {
        let ix = rows.0.iter().position(|head| head == column).unwrap();
        let cents = |cell: &str| (cell.parse::<f64>().unwrap() * 10f64.powi(decimals)).round() as i64;
        let sum: i64 = body.iter().filter(|row| !row[ix].is_empty()).map(|row| cents(&row[ix])).sum();
        assert_eq!(cents(&last[ix]), sum, "{column}");
    }
    let parts = derived.schedules().parts;
    assert_eq!(
        format!("{:.2}", parts.price.1.get()),
        last[rows.0.iter().position(|h| h == "price_high").unwrap()]
    );
    // Devices: the load counts twice here, and once in the hand-built device list.
    let devices: f64 = parts
        .rows
        .iter()
        .filter(|row| !["cable", "lug", "ferrule", "fuse"].contains(&row.kind.as_str()))
        .filter_map(|row| row.worth)
        .map(|worth| worth.mass.get())
        .sum();
    let fridge = derived.library.load[&model::Name::new("fridge-65l").unwrap()].mass.get();
    assert!((devices - derived.system.device_mass().get() - fridge).abs() < 1e-9);
}

#[test]
fn a_need_without_a_part_is_listed_without_a_price() {
    let parts = small().schedules().parts;
    let gap = parts.rows.iter().find(|row| row.kind == "to find").unwrap();
    assert_eq!(gap.used, ["shunt.part"]);
    // The gap, the lug of 2/0 AWG on M6 and the lug on the chassis.
    assert_eq!(parts.lines_unknown, 3);
}

#[test]
fn texts_from_outside_are_no_formula_and_no_markup() {
    let files = small().pack();
    let rows = csv_rows(&files, "parts.csv");
    assert_eq!(cell(&rows, "to find", "title"), "'=a shunt of 900 A");
    for (first, safe) in
        [("=1", "'=1"), ("+1", "'+1"), ("-1", "'-1"), ("@a", "'@a"), ("\ta", "'\ta"), ("a=", "a=")]
    {
        assert_eq!(pack::safe(first), safe);
    }
    let page = text(&files, "summary.md");
    assert!(page.starts_with("# @heath \\| heather\n"), "{page}");
    assert!(page.contains("+10 % is usual \\| from memory"), "{page}");
    assert!(page.contains("breaks 1000 A \\| 3000 A can flow"));
    assert!(!page.contains("<b>"));
    // Every row of a table has as many cells as its head.
    let cells = |line: &str| regex::Regex::new(r"[^\\]\|").unwrap().find_iter(line).count();
    let lines: Vec<&str> = page.lines().collect();
    let mut tables = 0;
    for (at, line) in lines.iter().enumerate().filter(|(_, line)| line.starts_with("| ---")) {
        tables += 1;
        let head = cells(lines[at - 1]);
        for row in lines[at..].iter().take_while(|line| line.starts_with('|')) {
            assert_eq!(cells(row), head, "{row} below {line}");
        }
    }
    assert!(tables >= 3, "{page}");
}

#[test]
fn the_summary_opens_with_safety_and_ranks_what_is_open() {
    let derived = small();
    let files = derived.pack();
    let page = text(&files, "summary.md");
    let safety = page.lines().find(|line| !line.is_empty() && !line.starts_with('#')).unwrap();
    assert!(safety.contains("can kill and burn") && safety.contains("licensed electrician"));
    let at = |words: &str| page.find(words).unwrap_or_else(|| panic!("no {words} in {page}"));
    assert!(at("1. How much is bank.length?") < at("2. How much is cable.slack?"));
    assert!(at("answer: the owner knows") > at("### Danger"));
    let json: serde_json::Value = serde_json::from_str(&text(&files, "summary.json")).unwrap();
    assert!(json["safety"].as_str().unwrap().contains("kill"));
    assert_eq!(json["energy"]["sun_winter"]["value"], 150.0);
    assert_eq!(json["findings"][0]["answered"], "the owner knows");
    assert_eq!(json["questions"][0]["path"], "bank.length");
    assert_eq!(json["schedules"]["cables"].as_array().unwrap().len(), 5);
}

#[test]
fn a_refused_system_gets_no_schedule() {
    let mut derived = small();
    derived.system.refusals.push(model::Refusal {
        what: "A cooker of 3 kW on 12 V.".to_owned(),
        numbers: "250 A from a bank of 100 A".to_owned(),
        intent: "loads.cooker".to_owned(),
    });
    derived.alternatives.push(model::Alternative {
        title: "use 24 V".to_owned(),
        edits: vec![model::Edit::set("brief.voltage", "24 V")],
        outcome: "125 A".to_owned(),
    });
    let files = derived.pack();
    let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    assert_eq!(names, ["summary.md", "summary.json"]);
    let page = text(&files, "summary.md");
    assert!(
        page.contains("250 A from a bank of 100 A") && page.contains("brief.voltage = \"24 V\""),
        "{page}"
    );
    assert!(!page.contains("## Circuits") && !page.contains("2/0 AWG"), "{page}");
    let json: serde_json::Value = serde_json::from_str(&text(&files, "summary.json")).unwrap();
    assert!(json["schedules"].is_null());
}
