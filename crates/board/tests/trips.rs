//! Each check of board and plan that no other test trips: it finds at one side of its limit and is silent at the other.
//! Limits: bend radius, hole edge, mains beside direct current and channel fill stand in the reference tables with their sources;
//! room for air and hands is the device's own.
//! Start at [`board`] and [`plan`].
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;

use board::{CHECKS, Current, Layout, Turn, Vehicle, place, vehicle::VEHICLE_CHECKS};
use model::{BoardIntent, Project, SourceText};
use quantity::Metres;
use rules::{Finding, Severity};

fn read(text: String) -> Project {
    let source = SourceText { name: "intent.toml".to_owned(), text };
    Project::read(source, model::library::builtin().clone()).unwrap_or_else(|p| panic!("{p:#?}"))
}

/// The board of an example with two devices on it, `left` with its lower left corner at 400 mm, 400 mm and `right` so many
/// millimetres to its right, on the same height, and no cable.
fn board(left: impl Fn(&board::Placed) -> bool, gap: impl Fn(&board::Placed) -> i32) -> Layout {
    let path = format!("{}/../../examples/heron/intent.toml", env!("CARGO_MANIFEST_DIR"));
    let project = read(std::fs::read_to_string(path).unwrap());
    let system = derive::derive(&project);
    let sized = BoardIntent {
        width: Some(Metres::new(3.0)),
        height: Some(Metres::new(2.0)),
        ..BoardIntent::default()
    };
    let mut layout = place(&system, &project.library, &sized);
    let mut first = layout.devices.iter().find(|placed| left(placed)).unwrap().clone();
    let mut second = layout.devices.iter().find(|placed| placed.device != first.device).unwrap().clone();
    // It wants no room itself, so that only the other one's counts.
    (second.air_mm, second.clear_mm) = ([0; 4], [0; 4]);
    (first.rect.x_mm, first.rect.y_mm) = (400, 400);
    (second.rect.x_mm, second.rect.y_mm) = (first.rect.right() + gap(&first), 400);
    layout.devices = vec![first, second];
    layout.routes.clear();
    layout.holes.clear();
    layout
}

fn found(layout: &Layout, rule: &str) -> Vec<Finding> {
    layout.faults().into_iter().filter(|finding| finding.rule == rule).collect()
}

/// Clearance: the room for air and hands that a device wants at its right.
#[test]
fn a_device_without_its_air_is_told() {
    let wants = |placed: &board::Placed| placed.air_mm[1] > 0 && placed.clear_mm[1] == placed.air_mm[1];
    let near = board(wants, |first| first.air_mm[1] - 1);
    let findings = found(&near, "board-air-missing");
    let [finding] = findings.as_slice() else { panic!("{findings:#?}") };
    assert_eq!((finding.severity, finding.place.as_str()), (Severity::Warning, near.devices[0].id.as_str()));
    assert!(finding.message.contains(&format!("it wants {} mm", near.devices[0].air_mm[1])));
    let far = board(wants, |first| first.air_mm[1]);
    assert!(found(&far, "board-air-missing").is_empty());
}

/// Bend radius: a cable that turns aside at a terminal needs its radius and itself.
#[test]
fn a_cable_without_room_to_bend_is_told() {
    let wants = |placed: &board::Placed| placed.clear_mm[1] > placed.air_mm[1] + 1;
    let near = board(wants, |first| first.clear_mm[1] - 1);
    let findings = found(&near, "board-bend-too-tight");
    let [finding] = findings.as_slice() else { panic!("{findings:#?}") };
    assert_eq!(finding.place, near.devices[0].id);
    assert_eq!(finding.cite, [reference::Reference::standard().min_bend_radius_factor().cite]);
    let far = board(wants, |first| first.clear_mm[1]);
    assert!(found(&far, "board-bend-too-tight").is_empty());
}

/// Bend radius and way of a whole cable: a route that cannot keep its bends, and one that has no way.
#[test]
fn a_route_that_is_bent_too_tightly_or_blocked_is_told() {
    let path = format!("{}/../../examples/heron/intent.toml", env!("CARGO_MANIFEST_DIR"));
    let project = read(std::fs::read_to_string(path).unwrap());
    let system = derive::derive(&project);
    let mut layout = place(&system, &project.library, &BoardIntent::default());
    for rule in ["board-bend-too-tight", "board-cable-blocked"] {
        assert!(found(&layout, rule).is_empty(), "{rule}");
    }
    let name = layout.routes[0].name().to_owned();
    layout.routes[0].keeps_bends = false;
    assert_eq!(found(&layout, "board-bend-too-tight").len(), 1);
    layout.routes[0].is_blocked = true;
    assert!(found(&layout, "board-bend-too-tight").is_empty());
    let findings = found(&layout, "board-cable-blocked");
    assert_eq!(findings.iter().map(|finding| finding.place.as_str()).collect::<Vec<_>>(), [name]);
}

/// Vents up: only a device whose vents matter, only on an upright board.
#[test]
fn a_device_on_its_side_is_told_where_vents_matter() {
    let mut layout = board(|placed| placed.upright, |_| 900);
    assert!(found(&layout, "board-vent-not-up").is_empty());
    layout.devices[0].turn = Turn::quarters(2);
    assert_eq!(found(&layout, "board-vent-not-up").len(), 1);
    layout.devices[0].upright = false;
    assert!(found(&layout, "board-vent-not-up").is_empty());
}

/// Mains beside direct current: 100 mm on one surface, as the reference table has it.
#[test]
fn mains_beside_direct_current_is_told() {
    let wants = (reference::Reference::standard().dc_from_ac().value.get() * 1000.0).round() as i32;
    let with = |gap: i32| {
        let mut layout = board(|_| true, move |_| gap);
        (layout.devices[0].current, layout.devices[1].current) = (Current::Ac, Current::Dc);
        found(&layout, "board-ac-near-dc").len()
    };
    assert_eq!((with(wants - 1), with(wants)), (1, 0));
}

const HEAD: &str = "[brief]\nname = \"V\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"12 V\"\n\
    [zones.cabin]\nkind = \"living\"\ncoldest = \"0 °C\"\nhottest = \"30 °C\"\n\
    [zones.hot]\nkind = \"living\"\ncoldest = \"0 °C\"\nhottest = \"HOT °C\"\n\
    [bank]\nchemistry = \"lfp\"\ncapacity = \"200 Ah\"\nlength = \"0.5 m\"\n\
    [loads.pump]\npart = \"water-pump\"\nzone = \"cabin\"\n\
    [plan]\nlength = \"4 m\"\nwidth = \"1.8 m\"\nheight = \"1.9 m\"\n\
    [plan.points]\nboard = { x = \"1 m\", y = \"0 m\", z = \"300 mm\" }\n";

/// The findings of one check on a plan: the pump beside a sill from end to end, through an outside bulkhead.
fn plan(rule: &str, aside: &str, hot: &str, cable: Option<Metres>) -> Vec<Finding> {
    let text = format!(
        "{}pump = {{ x = \"3 m\", y = \"{aside}\", z = \"0 m\" }}\n\
         [plan.channels.sill]\nzone = \"hot\"\npoints = [{{ x = \"0 m\", y = \"0 m\", z = \"0 m\" }}, {{ x = \"4 m\", y = \"0 m\", z = \"0 m\" }}]\n\
         [plan.walls.bulkhead]\nfrom = {{ x = \"2 m\", y = \"-500 mm\", z = \"-500 mm\" }}\n\
         to = {{ x = \"2 m\", y = \"1.8 m\", z = \"1.8 m\" }}\nthickness = \"1 mm\"\nmaterial = \"steel\"\noutside = true\n",
        HEAD.replace("HOT", hot)
    );
    let mut project = read(text);
    for part in project.library.cable.values_mut() {
        part.diameter = cable.unwrap_or(part.diameter);
    }
    let system = derive::derive(&project);
    let faults = Vehicle::of(&project, &system).unwrap().faults();
    faults.into_iter().filter(|finding| finding.rule == rule).collect()
}

/// Gland fits cable: the largest of the table clamps 45 mm, the smallest 3 mm.
#[test]
fn a_cable_that_no_gland_clamps_is_told() {
    let with = |mm: f64| plan("plan-hole-without-fitting", "0 m", "30", Some(Metres::new(mm / 1000.0))).len();
    assert_eq!([with(45.0), with(45.2)], [0, 2]);
    assert_eq!([with(3.0), with(2.9)], [0, 2]);
}

/// A cable outside the channels wants a support as often as the rule set says: 455 mm (ABYC E-11).
#[test]
fn a_loose_cable_is_told() {
    assert_eq!(
        reference::Reference::standard().cable_support(reference::RuleSet::Na).value,
        Metres::new(0.455)
    );
    assert_eq!(plan("plan-loose-cable", "455 mm", "30", None).len(), 0);
    assert_eq!(plan("plan-loose-cable", "456 mm", "30", None).len(), 1);
}

/// The air of a channel above that for which its cable was sized.
#[test]
fn a_way_through_hotter_air_is_told() {
    assert!(plan("plan-way-hotter", "0 m", "30", None).is_empty());
    assert!(!plan("plan-way-hotter", "0 m", "31", None).is_empty());
}

/// Every check has a test that names it, here or beside this file.
#[test]
fn every_check_is_tripped_by_a_test() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests");
    let texts: String = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| std::fs::read_to_string(entry.unwrap().path()).unwrap())
        .collect();
    let names: BTreeSet<&str> =
        CHECKS.iter().map(|check| check.0).chain(VEHICLE_CHECKS.iter().map(|check| check.0)).collect();
    let missing: Vec<&&str> = names.iter().filter(|name| !texts.contains(&format!("\"{name}\""))).collect();
    assert!(missing.is_empty(), "{missing:?}");
}
