//! The view holds all of the system, says what the command line says, and points to what is on the picture.

mod projects;

use std::collections::BTreeSet;

use projects::{ALL, EXAMPLES, many, stand};
use server::tell::{self, Head};
use server::wire;

/// Ids of an attribute of the SVG.
fn ids<'s>(svg: &'s str, attribute: &str) -> BTreeSet<&'s str> {
    let open = format!(" {attribute}=\"");
    svg.split(open.as_str())
        .skip(1)
        .flat_map(|rest| rest.split('"').next().unwrap_or("").split(' '))
        .collect()
}

fn all() -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> =
        EXAMPLES.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect();
    all.push(("many".to_owned(), many(300)));
    all
}

#[test]
fn everything_is_on_the_picture_and_in_the_list() {
    for (name, text) in all() {
        let stand = stand(&text);
        let view = tell::view(&stand, &Head::default(), ALL);
        let diagram = view.diagram.expect("was asked for");
        let (devices, conductors) = (ids(&diagram.svg, "data-device"), ids(&diagram.svg, "data-conductor"));
        let places: BTreeSet<&str> = diagram.places.iter().map(|place| place.id.as_str()).collect();
        assert_eq!(places.len(), diagram.places.len(), "{name}: each place once");
        for device in &stand.system.devices {
            assert!(places.contains(device.id.as_str()), "{name}: {} in the list", device.id);
            assert!(devices.contains(device.id.as_str()), "{name}: {} on the picture", device.id);
        }
        for conductor in &stand.system.conductors {
            assert!(places.contains(conductor.id.as_str()), "{name}: {} in the list", conductor.id);
            assert!(conductors.contains(conductor.id.as_str()), "{name}: {} on the picture", conductor.id);
        }
        for finding in &view.findings {
            let spot = finding.on_diagram.as_deref();
            let is_there = |id| devices.contains(id) || conductors.contains(id);
            assert!(spot.is_none_or(is_there), "{name}: {} at {}: {spot:?}", finding.rule, finding.place);
        }
        for load in &view.loads {
            let is_there = |id: &String| devices.contains(id.as_str());
            assert!(load.device.as_ref().is_none_or(is_there), "{name}: {}", load.id);
        }
    }
}

// A finding about a part of the system, and not about the project as a whole, can be shown.
#[test]
fn findings_about_a_device_or_conductor_have_a_place_to_show() {
    for (name, text) in all() {
        let stand = stand(&text);
        for finding in tell::view(&stand, &Head::default(), &[]).findings {
            let is_whole = ["brief", "calendar", "answers", "pins", "built", "stacks"]
                .iter()
                .any(|table| finding.place.starts_with(table) || finding.intent.starts_with(table));
            assert!(
                finding.on_diagram.is_some() || is_whole,
                "{name}: {} at {} ({})",
                finding.rule,
                finding.place,
                finding.intent
            );
        }
    }
}

// The command line prints what these functions give; the view must say the same.
#[test]
fn the_numbers_are_those_of_the_command_line() {
    for (name, text) in EXAMPLES {
        let project = projects::project(text);
        let system = derive::derive(&project);
        let results = network::study(&system);
        let study = energy::study(&system, None);
        let findings = rules::check(&system, &results, study.as_ref());
        let stand = stand(text);
        assert_eq!(stand.system, system, "{name}");
        assert_eq!(stand.results, results, "{name}");
        assert_eq!(stand.study.as_deref(), study.as_ref(), "{name}");
        assert_eq!(stand.findings, findings, "{name}");

        let view = tell::view(&stand, &Head::default(), &[]);
        assert_eq!(view.findings.len(), findings.len());
        let count = |severity| findings.iter().filter(|finding| finding.severity == severity).count();
        assert_eq!(view.counts.danger, count(rules::Severity::Danger), "{name}");
        assert_eq!(view.counts.warning, count(rules::Severity::Warning), "{name}");
        assert_eq!(view.counts.advice, count(rules::Severity::Advice), "{name}");
        let figure = |id: &str| view.figures.iter().find(|figure| figure.id == id);
        let text = |id: &str| figure(id).map(|figure| figure.text.clone());
        let bank = system.bank.as_ref().expect("the examples have one");
        assert_eq!(text("bank"), Some(bank.capacity.to_string()), "{name}");
        let study = study.expect("there is a bank");
        assert_eq!(text("runs-out"), Some(study.years.running_out.share.to_string()), "{name}");
        let lasts = study.autonomy.map_or("over 60 days".to_owned(), |hours| hours.to_string());
        assert_eq!(text("lasts"), Some(lasts), "{name}");
        assert_eq!(
            figure("lowest-charge").and_then(|figure| figure.value),
            Some(study.year.lowest.0),
            "{name}"
        );
        assert!(text("price").is_some() && text("mass").is_some() && text("daily-need").is_some(), "{name}");
        assert!(text("lowest-volts").is_some(), "{name}");
        if system.refusals.is_empty() {
            let made = pack::Schedules::of(&system, &project.library, &results, None, &findings);
            assert_eq!(text("mass"), Some(made.parts.mass.to_string()), "{name}");
        } else {
            assert_eq!(text("price").as_deref(), Some("–"), "{name}: no price of what cannot be built");
        }
    }
}

#[test]
fn the_energy_has_every_day_month_and_hour() {
    for (name, text) in EXAMPLES {
        let view = tell::view(&stand(text), &Head::default(), ALL);
        let energy = view.energy.expect("the examples have a bank");
        assert_eq!((energy.day_low.len(), energy.day_high.len()), (365, 365), "{name}");
        assert_eq!((energy.months.len(), energy.years.months.len()), (12, 12), "{name}");
        assert!(energy.years.band_5.iter().zip(&energy.years.band_95).all(|(low, high)| low <= high));
        let week = &energy.worst_week;
        for list in [&week.charge, &week.sun_w, &week.need_w, &week.short_w, &week.engine_w, &week.supply_w] {
            assert_eq!(list.len(), 168, "{name}");
        }
        let sum = |came_in: bool| -> f64 {
            energy.books.iter().filter(|line| line.came_in == came_in).map(|line| line.kwh).sum()
        };
        // The books close; what is shown is rounded to a watt hour, 15 lines of them.
        assert!(
            (sum(true) - sum(false)).abs() < 0.02 + 1e-6 * sum(true),
            "{name}: {} {}",
            sum(true),
            sum(false)
        );
    }
}

#[test]
fn what_is_not_asked_for_is_left_out() {
    let stand = stand(EXAMPLES[0].1);
    let view = tell::view(&stand, &Head { number: 7, ..Head::default() }, &[]);
    assert_eq!(view.number, 7);
    assert!(
        view.brief.is_none() && view.circuits.is_none() && view.diagram.is_none() && view.energy.is_none()
    );
    let circuits = tell::view(&stand, &Head::default(), &[wire::Part::Circuits]).circuits;
    let circuits = circuits.expect("was asked for");
    assert!(
        circuits
            .iter()
            .any(|row| row.id == "fridge" && row.lost.ends_with('%') && row.protection.contains('A'))
    );
}

#[test]
fn the_list_is_walked_from_the_sources_to_the_loads() {
    let stand = stand(EXAMPLES[0].1);
    let view = tell::view(&stand, &Head::default(), &[wire::Part::Diagram]);
    let places = view.diagram.expect("was asked for").places;
    let at = |id: &str| places.iter().position(|place| place.id == id).expect("is there");
    for (first, then) in [
        ("roof", "roof.controller"),
        ("roof.controller", "house"),
        ("bank-1", "main.fuse"),
        ("main.fuse", "house.fuse"),
        ("house", "fridge.fuse"),
        ("fridge.fuse", "fridge.positive"),
        ("fridge.positive", "fridge"),
        ("inverter", "hob"),
    ] {
        assert!(at(first) < at(then), "{first} before {then}");
    }
}

#[test]
fn the_same_text_gives_the_same_answer() {
    let json = |stand: &server::Stand| {
        serde_json::to_string(&tell::view(stand, &Head::default(), ALL)).expect("is JSON")
    };
    let text = EXAMPLES[0].1;
    let first = stand(text);
    let second = server::Stand::after(&first, projects::project(text));
    assert_eq!(json(&first), json(&second));
    assert_eq!(json(&first), json(&stand(text)));
}
