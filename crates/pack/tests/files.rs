//! The files as other programs read them: CSV by RFC 4180, the workbook by an independent reader (`calamine`).

mod common;

use std::collections::BTreeSet;
use std::io::Cursor;

use calamine::{Data, Reader, Xlsx};
use common::{Derived, bytes, csv_rows, small};
use model::Spec;

const EXAMPLES: [&str; 4] = ["heron", "teal", "wren", "marten"];

fn all() -> Vec<(String, Derived)> {
    let mut all = vec![("small".to_owned(), small())];
    all.extend(EXAMPLES.map(|name| (name.to_owned(), Derived::example(name))));
    all
}

#[test]
fn the_files_are_those_promised_and_the_same_twice() {
    for (name, derived) in all() {
        let files = derived.pack();
        let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        // A hand-made system has no study of its energy, and so no picture or table of it.
        let of_energy = ["charge.svg", "months.svg", "worst-week.svg", "year.csv"];
        let promised: Vec<&str> = [
            "summary.md",
            "summary.json",
            "one-line.svg",
            "wiring-1.svg",
            "wiring.dxf",
            "door-card-1.svg",
            "charge.svg",
            "months.svg",
            "worst-week.svg",
            "build-order.md",
            "checklists.html",
            "cables.csv",
            "fuses.csv",
            "spare-fuses.csv",
            "parts.csv",
            "cable-order.csv",
            "cut-plan.csv",
            "ends.csv",
            "crimps.csv",
            "torque.csv",
            "holes.csv",
            "consumables.csv",
            "tools.csv",
            "year.csv",
            "labels-1.svg",
            "system.cir",
            "schedules.xlsx",
        ]
        .into_iter()
        .filter(|name| derived.study.is_some() || !of_energy.contains(name))
        .collect();
        // As many sheets of labels and wiring and as many cards as it takes, and at least the first.
        let is_next = |name: &str| {
            ["labels-", "wiring-", "door-card-"].iter().any(|kind| name.starts_with(kind))
                && !name.ends_with("-1.svg")
        };
        let names: Vec<&str> = names.into_iter().filter(|name| !is_next(name)).collect();
        assert_eq!(names, promised, "{name}");
        assert!(files == derived.pack(), "{name}: other bytes the second time");
    }
}

#[test]
fn the_workbook_holds_what_the_csv_files_hold() {
    for (name, derived) in all() {
        let files = derived.pack();
        let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes(&files, "schedules.xlsx"))).unwrap();
        let sheets: Vec<&str> = [
            "Read first",
            "Cables",
            "Fuses",
            "Spare fuses",
            "Parts",
            "Cable to buy",
            "Cut plan",
            "Ends",
            "Crimps",
            "Torque",
            "Holes",
            "Consumables",
            "Tools",
            "Circuits",
            "Loads",
            "Energy",
            "Year",
            "Findings",
            "Assumptions",
            "Because",
            "Build order",
        ]
        .into_iter()
        .filter(|name| derived.study.is_some() || *name != "Year")
        .collect();
        assert_eq!(book.sheet_names(), sheets, "{name}");
        let year = derived.study.is_some().then_some(("Year", "year.csv"));
        let others = [
            ("Cables", "cables.csv"),
            ("Fuses", "fuses.csv"),
            ("Spare fuses", "spare-fuses.csv"),
            ("Parts", "parts.csv"),
            ("Cable to buy", "cable-order.csv"),
            ("Cut plan", "cut-plan.csv"),
            ("Ends", "ends.csv"),
            ("Crimps", "crimps.csv"),
            ("Torque", "torque.csv"),
            ("Holes", "holes.csv"),
            ("Consumables", "consumables.csv"),
            ("Tools", "tools.csv"),
        ];
        for (sheet, file) in others.into_iter().chain(year) {
            let range = book.worksheet_range(sheet).unwrap();
            let (head, records) = csv_rows(&files, file);
            assert_eq!(range.width(), head.len(), "{name} {sheet}");
            let rows: Vec<&[Data]> = range.rows().skip(1).collect();
            assert_eq!(rows.len(), records.len(), "{name} {sheet}");
            for (cells, record) in rows.iter().zip(&records) {
                for (cell, text) in cells.iter().zip(record) {
                    match cell {
                        Data::Float(number) => {
                            assert_eq!(*number, text.parse::<f64>().unwrap(), "{name} {sheet}")
                        }
                        Data::Int(number) => {
                            assert_eq!(*number as f64, text.parse::<f64>().unwrap(), "{name} {sheet}")
                        }
                        Data::Empty => assert!(text.is_empty(), "{name} {sheet}: {text}"),
                        Data::String(words) => assert_eq!(&pack::safe(words), text, "{name} {sheet}"),
                        other => panic!("{name} {sheet}: {other:?}"),
                    }
                }
            }
        }
        // Totals are formulas, so that they follow what a person changes.
        let formulas = book.worksheet_formula("Parts").unwrap();
        let sums = formulas.used_cells().filter(|(.., formula)| formula.contains("SUM(")).count();
        assert_eq!(sums, 3, "{name}");
    }
}

#[test]
fn every_schedule_keeps_its_head_in_sight() {
    // ECMA-376, part 1, 18.3.1.66 `pane`: `ySplit` rows stand still where `state` is `frozen`.
    let files = small().pack();
    let mut book = zip::ZipArchive::new(Cursor::new(bytes(&files, "schedules.xlsx"))).unwrap();
    let names: Vec<String> = book.file_names().map(str::to_owned).collect();
    let sheets: Vec<String> =
        names.into_iter().filter(|name| name.starts_with("xl/worksheets/sheet")).collect();
    assert!(sheets.len() > 10);
    for name in sheets {
        let mut xml = String::new();
        std::io::Read::read_to_string(&mut book.by_name(&name).unwrap(), &mut xml).unwrap();
        let pane = xml.split("<pane ").nth(1).and_then(|rest| rest.split("/>").next());
        // The first sheet says what the others are, and has no head.
        let is_frozen =
            pane.is_some_and(|pane| pane.contains("ySplit=\"1\"") && pane.contains("state=\"frozen\""));
        assert_eq!(is_frozen, name != "xl/worksheets/sheet1.xml", "{name}: {pane:?}");
    }
}

#[test]
fn csv_lines_end_as_the_standard_says() {
    // RFC 4180, section 2: records end in CR LF; a cell with a comma or quote stands in double quotes.
    let files = small().pack();
    let text = common::text(&files, "cables.csv");
    let (_, records) = csv_rows(&files, "cables.csv");
    assert_eq!(text.matches("\r\n").count(), records.len() + 1);
    // A line break inside a cell stays inside its quotes.
    assert!(text.contains("\"Fridge | *cold*\n<b> (fridge)\""), "{text}");
    assert!(text.contains("\"ring lug 2/0 AWG, stud M6\""));
}

#[test]
fn every_conductor_and_protective_device_is_listed_once() {
    for (name, derived) in all() {
        let schedules = derived.schedules();
        let mut listed: Vec<&str> = schedules.cables.iter().map(|row| row.id.as_str()).collect();
        let mut there: Vec<&str> =
            derived.system.conductors.iter().filter(|c| !c.is_internal).map(|c| c.id.as_str()).collect();
        listed.sort_unstable();
        there.sort_unstable();
        assert_eq!(listed, there, "{name}");

        let mut listed: Vec<&str> = schedules.fuses.iter().map(|row| row.device.as_str()).collect();
        let is_protective = |device: &&model::Device| matches!(device.spec, Spec::Fuse(_) | Spec::Breaker(_));
        let mut there: Vec<&str> =
            derived.system.devices.iter().filter(is_protective).map(|device| device.id.as_str()).collect();
        listed.sort_unstable();
        there.sort_unstable();
        assert_eq!(listed, there, "{name}");
    }
}

#[test]
fn parts_of_the_examples_are_known_and_add_up() {
    for name in EXAMPLES {
        let derived = Derived::example(name);
        let parts = derived.schedules().parts;
        let known = || parts.rows.iter().filter_map(|row| row.worth);
        let sum: f64 = known().map(|worth| worth.price.1.get()).sum();
        assert!((sum - parts.price.1.get()).abs() < 0.005, "{name}");
        let sum: f64 = known().map(|worth| worth.mass.get()).sum();
        assert!((sum - parts.mass.get()).abs() < 0.00005, "{name}");
        assert!(parts.price.0 <= parts.price.1, "{name}");
        // Devices weigh what the system says they weigh. Loads are left out: `derive` counts several AC loads of one
        // circuit as one in their mass, which is wrong, and as many in their power; this list counts them all.
        let others: BTreeSet<&str> = ["cable", "lug", "ferrule", "fuse", "load"].into();
        let devices: f64 = parts
            .rows
            .iter()
            .filter(|row| !others.contains(row.kind.as_str()))
            .filter_map(|row| row.worth)
            .map(|worth| worth.mass.get())
            .sum();
        let is_load = |device: &&model::Device| matches!(device.spec, Spec::Load(_));
        let loads: f64 = derived.system.devices.iter().filter(is_load).map(|device| device.mass.get()).sum();
        let device_mass = derived.system.device_mass().get() - loads;
        assert!(
            (devices - device_mass).abs() < 1e-3,
            "{name}: {devices} kg listed, {device_mass} kg in the system"
        );
    }
}
