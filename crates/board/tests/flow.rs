//! The one system that every output shows: what an edit may keep, and what must be searched anew.
//! Never: takes what is wanted from the way that is tested; it is compared with the whole way from the text.
//! Start at any test.
#![allow(clippy::unwrap_used)]

use board::derived;
use model::{Edit, Project, SourceText};
use rules::{Finding, Severity, check_beside};

const WREN: &str = include_str!("../../../examples/wren/intent.toml");
const BOARD: &str = "\n[board]\nwidth = \"900 mm\"\nheight = \"700 mm\"\n";

/// A pump three metres behind the board, along a sill.
const PUMP: &str = "[brief]\nname = \"V\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"12 V\"\n\
        [bank]\nchemistry = \"lfp\"\ncapacity = \"200 Ah\"\nlength = \"0.5 m\"\n[loads.pump]\npart = \"water-pump\"\n\
        [plan]\nlength = \"4 m\"\nwidth = \"1.8 m\"\nheight = \"1.9 m\"\n[plan.points]\n\
        board = { x = \"1 m\", y = \"0 m\", z = \"300 mm\" }\npump = { x = \"3 m\", y = \"200 mm\", z = \"0 m\" }\n\
        [plan.channels.sill]\npoints = [{ x = \"0 m\", y = \"0 m\", z = \"0 m\" }, { x = \"4 m\", y = \"0 m\", z = \"0 m\" }]\n";

fn project(text: &str) -> Project {
    let source = SourceText { name: "intent.toml".to_owned(), text: text.to_owned() };
    Project::read(source, model::library::builtin().clone())
        .unwrap_or_else(|problems| panic!("{problems:#?}"))
}

#[test]
fn without_a_board_the_lengths_are_as_said() {
    let project = project(WREN);
    let derived = derived(&project);
    assert_eq!(derived.system, derive::derive(&project));
    assert!(derived.layout.is_none() && derived.lengths().is_empty());
    let proposed = derived.proposed(&project).unwrap();
    assert!(!proposed.devices.is_empty());
}

#[test]
fn with_a_board_the_system_has_its_lengths() {
    let project = project(&format!("{WREN}{BOARD}"));
    let derived = derived(&project);
    let layout = derived.layout.as_ref().unwrap();
    assert!(derived.is_steady);
    let mut compared = 0;
    for (id, length) in layout.lengths(&derived.system) {
        let conductor = derived.system.conductors.iter().find(|conductor| conductor.id == id).unwrap();
        assert_eq!(conductor.length, length, "{id}");
        compared += 1;
    }
    assert!(compared > 3, "{compared}");
    assert!(!derived.changes.is_empty());
}

#[test]
fn an_edit_keeps_what_it_cannot_change_and_says_what_is_due() {
    let before = project(&format!("{WREN}{BOARD}"));
    let known = derived(&before);
    // Nothing on the board hangs on the payload.
    let light = before.with_edits(&[Edit::set("brief.payload", "700 kg")]).unwrap();
    let after = known.after(&before, &light);
    assert!(!after.is_due);
    let whole = derived(&light);
    assert_eq!((after.system, after.layout), (whole.system, whole.layout));
    // Another board: the places must be searched, and until then the lengths are those of before.
    let wide = before.with_edits(&[Edit::set("board.width", "1200 mm")]).unwrap();
    let after = known.after(&before, &wide);
    assert!(after.is_due && after.layout.is_none());
    assert_eq!(after.lengths(), known.lengths());
}

#[test]
fn a_board_on_which_all_is_pinned_needs_no_search() {
    let before = project(&format!("{WREN}{BOARD}"));
    let known = derived(&before);
    let mut text = before.source.text.clone();
    for placed in &known.layout.as_ref().unwrap().devices {
        text += &format!(
            "\n[board.places.\"{}\"]\nx = \"{} mm\"\ny = \"{} mm\"\nturn = \"{}°\"\n",
            placed.id,
            placed.rect.x_mm,
            placed.rect.y_mm,
            placed.turn.degrees()
        );
    }
    let pinned = project(&text);
    let after = known.after(&before, &pinned);
    assert!(!after.is_due);
    let whole = derived(&pinned);
    assert_eq!((after.system, &after.layout), (whole.system, &whole.layout));
    assert!(after.layout.unwrap().devices.iter().all(|placed| placed.is_pinned));
}

/// A danger as a check of the board would give it.
fn danger(place: &str) -> Finding {
    Finding {
        rule: "board-ac-near-dc",
        severity: Severity::Danger,
        message: "too near".to_owned(),
        place: place.to_owned(),
        intent: "board".to_owned(),
        why: String::new(),
        because: Vec::new(),
        cite: Vec::new(),
        fixes: Vec::new(),
        answered: None,
    }
}

#[test]
fn an_answer_holds_for_the_board_too() {
    let answer =
        "\n[[answers]]\nrule = \"board-ac-near-dc\"\nplace = \"house\"\nreason = \"a sheath is there\"\n";
    let system = derive::derive(&project(&format!("{WREN}{answer}")));
    let results = network::study(&system);
    let lost = |findings: &[Finding]| findings.iter().any(|finding| finding.rule == "answer-names-nothing");
    let findings = check_beside(&system, &results, None, &[danger("house"), danger("other")], true);
    let answered: Vec<_> = findings
        .iter()
        .filter(|finding| finding.rule == "board-ac-near-dc")
        .map(|finding| (finding.place.as_str(), finding.answered.as_deref()))
        .collect();
    assert_eq!(answered, [("house", Some("a sheath is there")), ("other", None)]);
    assert!(!lost(&findings));
    assert!(findings.is_sorted_by_key(|finding| finding.severity));
    // Nobody looked at the board: no word. Somebody looked and found nothing: the answer is out of date.
    assert!(!lost(&check_beside(&system, &results, None, &[], false)));
    assert!(lost(&check_beside(&system, &results, None, &[], true)));
}

// On paper: 300 mm down from the board, 2 m along the sill, 200 mm to the pump are 2.5 m; what lies on the board between its hole
// and the terminal comes on top.
#[test]
fn a_run_along_the_plan_has_its_way_on_the_board_too() {
    let length = |system: &model::System, id: &str| {
        system.conductors.iter().find(|conductor| conductor.id == id).expect(id).length.get()
    };
    let without = derived(&project(PUMP));
    assert_eq!(length(&without.system, "pump.positive"), 2.5);
    let with = derived(&project(&format!("{PUMP}[board]\n")));
    assert!(with.is_steady);
    let layout = with.layout.as_ref().expect("a board");
    // The positive ends on a way of the panel and goes as the negative does, which is laid to the panel's own terminal.
    let is_it = |route: &&board::Route| route.ids.iter().any(|id| id == "pump.negative");
    let route = layout.routes.iter().find(is_it).expect("a route");
    let on_board = route.length.get();
    assert!(route.leaves && on_board > 0.02, "{on_board}");
    for id in ["pump.positive", "pump.negative"] {
        let found = length(&with.system, id);
        assert!((found - 2.5 - on_board).abs() < 1e-9, "{id}: {found}, {on_board} on the board");
    }
    let because = with.system.because.get("board.pump.length").expect("a reason");
    assert_eq!(because.inputs.len(), 2, "{because:?}");
    // A length that somebody wrote is the whole.
    let written = derived(&project(
        &format!("{PUMP}[board]\n").replace("\"water-pump\"", "\"water-pump\"\nlength = \"3 m\""),
    ));
    assert_eq!(length(&written.system, "pump.positive"), 3.0);
}

// What carries edits is tried: supports too far apart by the distance that ABYC E-11 allows, a device over the edge by placing it
// anew.
#[test]
fn mends_of_board_and_plan_are_tried() {
    let pinned = "[board]\nwidth = \"1200 mm\"\nheight = \"900 mm\"\n\
        [board.places.\"main.disconnect\"]\nx = \"1190 mm\"\ny = \"555 mm\"\n";
    for (more, rule, edit) in [
        ("", "plan-support-far", "plan.channels.sill.support = \"455 mm\""),
        (pinned, "board-device-outside", "take away board.places.main.disconnect"),
    ] {
        let support = if more.is_empty() { "500 mm" } else { "400 mm" };
        let project = project(&format!("{PUMP}support = \"{support}\"\n{more}"));
        let known = derived(&project);
        let faults = known.faults(&project, None);
        let finding = faults.iter().find(|finding| finding.rule == rule).expect(rule);
        let as_shown = |changed: &model::Project| derive::derive_with_lengths(changed, known.lengths());
        let energy = |_: &model::System| None;
        let trials = rules::Trials::derived_by(&project, &as_shown, network::study, &energy);
        let tried = known.tried(&project, &trials, finding).expect("the mend works");
        assert_eq!(tried.edits.iter().map(model::Edit::shown).collect::<Vec<_>>(), [edit]);
        assert!(tried.change.gone.iter().any(|gone| gone.rule == rule), "{:?}", tried.change);
        let mended = project.with_edits(&tried.edits).expect("reads");
        let after = derived(&mended).faults(&mended, None);
        assert!(!after.iter().any(|finding| finding.rule == rule), "{after:#?}");
    }
}

/// 33 CFR 183.455(b): along a conductor from its source to its protection 7 in (178 mm) bare, 40 in (1.02 m) in sheath or conduit;
/// ISO 10133, 8.1: 200 mm bare. What the board lays longer than that is sheathed, and nothing is left as a danger.
#[test]
fn a_board_keeps_fuses_near_their_source() {
    for (name, text) in [
        ("heron", include_str!("../../../examples/heron/intent.toml")),
        ("marten", include_str!("../../../examples/marten/intent.toml")),
        ("teal", include_str!("../../../examples/teal/intent.toml")),
        ("wren", WREN),
    ] {
        let project = project(&format!("{text}\n[board]\n"));
        let derived = derived(&project);
        let results = network::study(&derived.system);
        let beside = derived.faults(&project, None);
        let findings = check_beside(&derived.system, &results, None, &beside, true);
        let far: Vec<&str> = findings
            .iter()
            .filter(|finding| ["protection-too-far", "short-circuit-withstand"].contains(&finding.rule))
            .map(|finding| finding.message.as_str())
            .collect();
        assert!(far.is_empty(), "{name}: {far:?}");
        let mut jumpers = 0;
        for jumper in derived.system.conductors.iter().filter(|conductor| conductor.id.ends_with(".jumper")) {
            let bare = if derived.system.rules == reference::RuleSet::Na { 0.178 } else { 0.2 };
            assert!(
                jumper.is_internal || jumper.sheathed == (jumper.length.get() > bare),
                "{name}: {jumper:?}"
            );
            jumpers += 1;
        }
        assert!(jumpers > 0, "{name}");
    }
}
