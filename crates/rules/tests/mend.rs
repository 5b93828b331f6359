//! A mend is offered only where it works: the finding goes and nothing new is wrong.
//! The study is left empty here, as the rules tested read none of it.

use model::{Project, SourceText, System, library};
use network::{Faults, Results};
use quantity::Ohms;
use rules::{Finding, Trials};

const BASE: &str = r#"
[brief]
name = "Mend"
craft = "van"
rules = "na"
voltage = "12 V"

[zones.cabin]
kind = "living"
coldest = "5 °C"
hottest = "30 °C"
vented = true

[bank]
chemistry = "lfp"
capacity = "200 Ah"
zone = "cabin"
length = "0.6 m"

[panels.house]
length = "1 m"

[loads.heater]
current = "26 A"
hours = "2 h/day"
length = "3 m"
"#;

fn project(more: &str) -> Project {
    let source = SourceText { name: "intent.toml".to_owned(), text: format!("{BASE}{more}") };
    Project::read(source, library::builtin().clone()).expect("reads")
}

fn no_study(system: &System) -> Results {
    let none: Vec<Vec<_>> = system.devices.iter().map(|device| vec![None; device.terminals.len()]).collect();
    Results {
        scenes: vec![],
        faults: Faults { most: none.clone(), least: none },
        resistances: vec![Ohms::zero(); system.conductors.len()],
    }
}

fn of<'f>(findings: &'f [Finding], rule: &str) -> &'f Finding {
    findings
        .iter()
        .find(|finding| finding.rule == rule)
        .unwrap_or_else(|| panic!("no {rule} in {findings:#?}"))
}

#[test]
fn taking_a_pin_away_mends_what_it_did_and_names_what_else_goes() {
    let project = project("\n[pins]\n\"heater.positive.gauge\" = \"18 AWG\"\n");
    let trials = Trials::new(&project, no_study, &|_| None);
    let tried = trials.tried(of(trials.findings(), "conductor-overloaded")).expect("a mend");
    assert_eq!(tried.edits[0].shown(), "take away pins.\"heater.positive.gauge\"");
    assert!(tried.also.contains(&"conductor-below-minimum at heater.positive".to_owned()), "{tried:?}");
}

#[test]
fn a_fix_that_makes_something_else_wrong_is_passed_over() {
    let compressor = "\n[loads.compressor]\ncurrent = \"90 A\"\nhours = \"1 h/day\"\nlength = \"1 m\"\n";
    let pins = "\n[pins]\n\"heater.positive.gauge\" = \"12 AWG\"\n\"heater.fuse.rating\" = \"25 A\"\n";
    let project = project(&format!("{compressor}{pins}"));
    let trials = Trials::new(&project, no_study, &|_| None);
    let found = of(trials.findings(), "fuse-too-small-for-load");
    let tried = trials.tried(found).expect("a mend");
    let text = project.with_edits(&tried.edits).expect("the edits apply").source.text;
    assert!(!text.contains("25 A"), "{text}");
    let mut worse = found.clone();
    worse.fixes.retain(|fix| !fix.edits.is_empty());
    for fix in &mut worse.fixes {
        fix.edits = vec![model::Edit::pin("heater.fuse.rating", Some("100 A".to_owned()))];
    }
    // 33 CFR 183.455: 12 AWG carries 45 A and allows 67.5 A.
    assert_eq!(trials.tried(&worse), None, "100 A does away with the finding but burns the wire");
}

#[test]
fn what_is_built_otherwise_is_mended_by_building_it_as_derived() {
    let project = project("\n[[built]]\nleave_out = \"main.fuse\"\n");
    let trials = Trials::new(&project, no_study, &|_| None);
    let tried = trials.tried(of(trials.findings(), "unprotected-conductor")).expect("a mend");
    assert_eq!(tried.edits[0].shown(), "take away built[0]");
}

#[test]
fn nothing_is_wrong_with_what_is_derived_from_this_project() {
    let project = project("");
    let trials = Trials::new(&project, no_study, &|_| None);
    assert!(trials.findings().is_empty(), "{:#?}", trials.findings());
}

#[test]
fn every_finding_of_the_faulty_example_is_complete() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/faulty/intent.toml");
    let source =
        SourceText { name: "intent.toml".to_owned(), text: std::fs::read_to_string(path).expect(path) };
    let project = Project::read(source, library::builtin().clone()).expect("reads");
    let trials = Trials::new(&project, no_study, &|_| None);
    assert!(trials.findings().len() >= 15, "{}", trials.findings().len());
    for found in trials.findings() {
        let parts = [
            found.message.len(),
            found.place.len(),
            found.intent.len(),
            found.why.len(),
            found.because.len(),
        ];
        assert!(parts.iter().all(|part| *part > 0) && !found.fixes.is_empty(), "{found:#?}");
        assert!(project.spans.nearest(&found.intent).is_some(), "its cause stands in the file: {found:#?}");
    }
}

/// What a change does is told before it is made: what goes, what comes, and price and mass as the systems themselves have them.
#[test]
fn the_effect_of_a_change_is_that_of_making_it() {
    let before = project("\n[pins]\n\"heater.positive.gauge\" = \"18 AWG\"\n");
    let trials = Trials::new(&before, no_study, &|_| None);
    let edits =
        [model::Edit::pin("heater.positive.gauge", None), model::Edit::set("bank.capacity", "400 Ah")];
    let effect = trials.effect_of(&edits).expect("the edits apply");
    let after = before.with_edits(&edits).expect("the edits apply");
    let (system, changed) = (derive::derive(&before), derive::derive(&after));
    assert_eq!((effect.mass_before, effect.mass_after), (system.device_mass(), changed.device_mass()));
    assert!(effect.mass_after > effect.mass_before, "twice the bank weighs more");
    let low = |system: &System| system.devices.iter().map(|device| device.price.0.get()).sum::<f64>();
    assert!((effect.price_before.0.get() - low(&system)).abs() < 1e-9);
    assert!((effect.price_after.0.get() - low(&changed)).abs() < 1e-9);
    assert!(effect.gone.iter().any(|gone| gone.rule == "conductor-overloaded"), "{effect:?}");
    assert!(!effect.refused && effect.shown.contains("mass"), "{effect:?}");
    // The other way round, what went comes.
    let back = [model::Edit::pin("heater.positive.gauge", Some("18 AWG".to_owned()))];
    let sound = Trials::new(&after, no_study, &|_| None);
    let worse = sound.effect_of(&back).expect("the edits apply");
    let came: Vec<&str> = worse.comes.iter().map(|came| came.rule).collect();
    assert!(came.contains(&"conductor-overloaded") && worse.gone.is_empty(), "{worse:?}");
    assert_eq!(worse.shown, "the devices stay as they are");
}

#[test]
fn a_change_that_cannot_be_read_has_no_effect_to_tell() {
    let project = project("");
    let trials = Trials::new(&project, no_study, &|_| None);
    assert_eq!(trials.effect_of(&[model::Edit::set("bank.capacity", "four")]), None);
    let nothing = trials.effect_of(&[]).expect("no change is a change too");
    assert!(nothing.gone.is_empty() && nothing.comes.is_empty() && nothing.mass_before == nothing.mass_after);
}
