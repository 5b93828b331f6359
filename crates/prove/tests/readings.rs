//! The readings file, its verdicts, and what the expectations must agree with outside the project.
#![allow(clippy::unwrap_used)] // A test may stop at what it did not expect.

mod common;

use common::{EXAMPLES, Example, example, readings};
use model::SourceText;
use proptest::prelude::*;
use prove::{Entry, Expected, Kind, Readings, Status, Unit, edit, judge, sheet};
use quantity::Gauge;

fn source(text: &str) -> SourceText {
    SourceText { name: "readings.toml".to_owned(), text: text.to_owned() }
}

fn find(example: &Example, is: impl Fn(&Expected) -> bool) -> &Expected {
    example.expected.iter().find(|expected| is(expected)).unwrap()
}

fn verdict(example: &Example, id: &str, value: &str) -> prove::Verdict {
    let taken = readings(example, &[(id.to_owned(), value.to_owned())]);
    let judged = judge(&example.expected, &taken, &example.system, &example.results);
    judged.verdicts.into_iter().find(|verdict| verdict.id == id).unwrap()
}

/// A value as it is written.
fn written(unit: Unit, number: f64) -> String {
    match unit {
        Unit::YesNo => unit.measure(number).to_string(),
        _ => format!("{number:.6} {}", unit.symbol()),
    }
}

#[test]
fn readings_as_expected_are_all_within() {
    for name in EXAMPLES {
        let example = example(name);
        let values: Vec<(String, String)> = example
            .expected
            .iter()
            .map(|expected| (expected.id.clone(), written(expected.unit, expected.typical.number())))
            .collect();
        let judged =
            judge(&example.expected, &readings(&example, &values), &example.system, &example.results);
        let bad: Vec<&prove::Verdict> =
            judged.verdicts.iter().filter(|verdict| verdict.status != Status::Within).collect();
        assert!(bad.is_empty(), "{name}: {bad:?}");
        assert!(judged.causes.is_empty());
        assert!(example.expected.len() > 40, "{name}: only {} readings", example.expected.len());
    }
}

#[test]
fn names_are_single_and_stages_come_in_order() {
    for name in EXAMPLES {
        let example = example(name);
        let mut ids: Vec<&str> = example.expected.iter().map(|expected| expected.id.as_str()).collect();
        assert!(example.expected.windows(2).all(|pair| pair[0].stage <= pair[1].stage), "{name}");
        ids.sort_unstable();
        assert!(ids.windows(2).all(|pair| pair[0] != pair[1]), "{name}");
        for expected in &example.expected {
            assert!(expected.low.number() <= expected.typical.number(), "{name} {}", expected.id);
            assert!(expected.typical.number() <= expected.high.number(), "{name} {}", expected.id);
            assert!(!expected.how.is_empty() && !expected.why_wide.is_empty(), "{name} {}", expected.id);
        }
    }
}

#[test]
fn the_sheet_reads_back_with_nothing_taken() {
    for name in EXAMPLES {
        let example = example(name);
        let text = sheet(&example.system.name, &example.expected);
        let read = Readings::read(&source(&text), &example.expected).unwrap();
        assert!(read.taken.is_empty());
        assert_eq!(text.matches("[readings.").count(), example.expected.len());
    }
}

#[test]
fn every_mistake_is_located_with_a_mend() {
    let example = example("heron");
    let text = "[readings.\"rest:bnak\"]\nvalue = \"13.2 V\"\n\n[readings.\"rest:bank\"]\nvalue = \"13.2 A\"\nwhem = \"today\"\n";
    let problems = Readings::read(&source(text), &example.expected).unwrap_err();
    let said: Vec<(usize, &str)> = problems.iter().map(|p| (p.line, p.mend.as_str())).collect();
    assert!(said.contains(&(1, "Did you mean `rest:bank`?")), "{said:?}");
    assert!(said.iter().any(|(line, mend)| *line == 5 && mend.contains("12.8 V")), "{said:?}");
    assert!(said.iter().any(|(line, mend)| *line == 6 && mend.contains("when")), "{said:?}");
}

#[test]
fn edits_keep_comments_and_order() {
    let text = "# my readings\n[readings.\"rest:bank\"] # before lunch\nvalue = \"13.1 V\" # the old meter\nby = \"N\"\n\n[readings.\"a:b\"]\nvalue = \"1 V\"\n";
    let entry =
        |value: &str| Entry { value: value.to_owned(), when: None, by: Some("N".to_owned()), note: None };
    let changed = edit::set(text, "rest:bank", &entry("13.2 V")).unwrap();
    assert_eq!(changed, text.replace("13.1", "13.2"));
    let added = edit::set(&changed, "volts:night:house.positive", &entry("13.0 V")).unwrap();
    assert!(added.starts_with(&changed), "{added}");
    assert!(
        added.contains("[readings.\"volts:night:house.positive\"]\nvalue = \"13.0 V\"\nby = \"N\"\n"),
        "{added}"
    );
    assert_eq!(edit::remove(&added, "volts:night:house.positive").unwrap().trim_end(), changed.trim_end());
    assert!(edit::set("readings = 3", "a", &entry("1 V")).is_err());
}

#[test]
fn swapped_leads_and_wrong_units_are_not_believed() {
    let example = example("heron");
    let swapped = verdict(&example, "rest:bank", "-13.2 V");
    assert_eq!(swapped.status, Status::NotBelievable);
    assert!(swapped.causes[0].title.contains("swapped"), "{swapped:?}");
    assert_eq!(verdict(&example, "rest:bank", "13.2 mV").status, Status::NotBelievable);
    assert_eq!(verdict(&example, "rest:bank", "13.2 V").status, Status::Within);
}

/// Fully charged and rested: lead-acid 2.10 V to 2.15 V a cell, lithium iron phosphate 3.32 V to 3.45 V (public tables; the
/// figures here from memory). A third charged: lead-acid about 2.02 V, lithium iron phosphate about 3.2 V.
#[test]
fn rest_voltages_hold_what_public_tables_print() {
    for name in EXAMPLES {
        let example = example(name);
        let bank = example.system.bank.as_ref().unwrap();
        let nominal = example.system.voltage.get();
        let (cells, full, third) = match bank.chemistry.word() {
            "lfp" => ((nominal / 3.0).floor(), 3.35, 3.21),
            _ => (nominal / 2.0, 2.11, 2.02),
        };
        let id = "rest:bank";
        let written = |cell: f64| format!("{:.2} V", cell * cells);
        assert_eq!(verdict(&example, id, &written(full)).status, Status::Within, "{name}");
        assert_eq!(verdict(&example, id, &written(third)).status, Status::Within, "{name}");
        let low = verdict(&example, id, &written(third * 0.9));
        assert_eq!(low.status, Status::Low, "{name}");
        assert!(!low.causes.is_empty());
    }
}

/// IEC 60228, table 3 (class 5, plain copper, 20 °C) [Ω/km], as printed in cable handbooks.
const IEC_60228: [(f64, f64); 10] = [
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
    (25.0, 0.780),
    (35.0, 0.554),
    (50.0, 0.386),
    (70.0, 0.272),
];

#[test]
fn expected_resistances_agree_with_the_copper_table() {
    let mut compared = 0;
    for name in EXAMPLES {
        let example = example(name);
        for conductor in &example.system.conductors {
            let Gauge::Metric(_) = conductor.gauge else { continue };
            let area = conductor.gauge.area().get();
            let Some((_, at_20)) = IEC_60228.iter().find(|(size, _)| (size - area).abs() < 1e-6) else {
                continue;
            };
            let kind = format!(":{}", conductor.id);
            let Some(expected) = example.expected.iter().find(|e| {
                matches!(e.kind, Kind::Continuity | Kind::Earth)
                    && e.id.ends_with(&kind)
                    && e.conductors == [conductor.id.clone()]
            }) else {
                continue;
            };
            let printed = at_20 * conductor.length.get() / 1000.0;
            let share = expected.typical.number() / printed;
            // Copper warms by 0.393 % a kelvin: from 20 °C to at most 105 °C is 1.334; tinned strands have 3 % more.
            assert!((0.97..=1.38).contains(&share), "{name} {}: {share}", expected.id);
            compared += 1;
        }
    }
    assert!(compared > 10, "{compared}");
}

/// IEC 61008-1 and IEC 61009-1: the general type trips within 0.3 s at its rated residual current (from memory).
#[test]
fn the_residual_current_device_has_three_tenths_of_a_second() {
    let found = EXAMPLES.map(example).into_iter().find(|example| {
        example.system.rules == reference::RuleSet::Iec
            && example.expected.iter().any(|expected| expected.kind == Kind::ResidualTime)
    });
    let example = found.unwrap();
    let id = find(&example, |expected| expected.kind == Kind::ResidualTime).id.clone();
    assert_eq!(verdict(&example, &id, "0.3 s").status, Status::Within);
    assert_eq!(verdict(&example, &id, "28 ms").status, Status::Within);
    let late = verdict(&example, &id, "0.31 s");
    assert_eq!(late.status, Status::High);
    assert!(late.causes.len() >= 2);
}

#[test]
fn a_charger_set_for_lead_acid_is_told_on_a_lithium_bank() {
    let example = example("heron");
    assert_eq!(example.system.bank.as_ref().unwrap().chemistry.word(), "lfp");
    let float = find(&example, |expected| expected.kind == Kind::Setting && expected.id.ends_with(":float"))
        .id
        .clone();
    let absorption = float.replace(":float", ":absorption");
    // Equalising a flooded bank: 2.6 V a cell.
    assert_eq!(verdict(&example, &absorption, "15.6 V").status, Status::High);
    let twice = verdict(&example, &absorption, "28.4 V");
    assert!(twice.causes.iter().any(|cause| cause.title.contains("another system voltage")), "{twice:?}");
}

#[test]
fn an_array_without_one_module_says_so() {
    let mut tried = 0;
    for example in EXAMPLES.map(example) {
        for device in &example.system.devices {
            let model::Spec::Array(array) = &device.spec else { continue };
            if array.series < 2 {
                continue;
            }
            let one_less = array.module.open_voltage.get() * f64::from(array.series - 1) * 0.97;
            let told = verdict(&example, &format!("array:{}", device.id), &format!("{one_less:.1} V"));
            if told.status == Status::Low {
                assert!(told.causes[0].title.contains("modules in series") || array.series > 3, "{told:?}");
                tried += 1;
            }
            let none = verdict(&example, &format!("array:{}", device.id), "0 V");
            assert!(none.causes[0].title.contains("open"), "{none:?}");
            tried += 1;
        }
    }
    assert!(tried > 0);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_text_is_answered(text in "(\\PC|\\n){0,200}", id in "\\PC{0,20}", value in "\\PC{0,12}") {
        let expected: Vec<Expected> = Vec::new();
        let _ = Readings::read(&source(&text), &expected);
        let entry = Entry { value, when: None, by: None, note: Some(id.clone()) };
        if let Ok(changed) = edit::set(&text, &id, &entry) {
            prop_assert!(changed.parse::<toml::Table>().is_ok());
            let _ = edit::remove(&changed, &id);
        }
    }

    #[test]
    fn any_value_is_answered(value in "\\PC{0,16}", number in proptest::num::f64::ANY) {
        for unit in [Unit::Volts, Unit::Amps, Unit::Ohms, Unit::Seconds, Unit::YesNo] {
            if let Ok(measure) = unit.parse(&value) {
                prop_assert!(measure.number().is_finite());
            }
            let _ = unit.parse(&format!("{number} {}", unit.symbol())).map(|measure| measure.to_string());
        }
    }
}

#[test]
fn any_number_is_judged() {
    let example = example("wren");
    for number in [0.0, -1e9, 1e9, 1e-9, 5.0] {
        let values: Vec<(String, String)> = example
            .expected
            .iter()
            .map(|expected| (expected.id.clone(), written(expected.unit, number)))
            .collect();
        let judged =
            judge(&example.expected, &readings(&example, &values), &example.system, &example.results);
        assert_eq!(judged.verdicts.len(), example.expected.len());
    }
}
