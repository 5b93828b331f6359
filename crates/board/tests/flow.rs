//! The one system that every output shows: what an edit may keep, and what must be searched anew.
//! Never: takes what is wanted from the way that is tested; it is compared with the whole way from the text.
//! Start at any test.
#![allow(clippy::unwrap_used)]

use board::derived;
use model::{Edit, Project, SourceText};
use rules::{Finding, Severity, check_beside};

const WREN: &str = include_str!("../../../examples/wren/intent.toml");
const BOARD: &str = "\n[board]\nwidth = \"900 mm\"\nheight = \"700 mm\"\n";

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
