//! The order of lugs on studs, and the rule on a stack that a person says.
//! The wanted orders are worked out by hand from the currents that each test sets: common practice, no source. Four lugs on a
//! stud are ABYC E-11.

mod hand_built;

use hand_built::{Sound, awg, terminal};
use model::parts::Stud;
use model::{Pole, Project, SaidStack, SourceText, Spec, System, TerminalRef, library};
use rules::{LugPlace, Severity, Trials, stacks};

fn project(text: &str) -> Project {
    let source = SourceText { name: "intent.toml".to_owned(), text: text.to_owned() };
    Project::read(source, library::builtin().clone()).expect("reads")
}

/// The first block of the rule's case page, in which it is found.
fn page() -> String {
    let page = include_str!("../cases/stack-order.md");
    page.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).expect("a block").to_owned()
}

fn names(system: &System, lugs: &[usize]) -> Vec<String> {
    lugs.iter().map(|ix| system.conductors[*ix].id.clone()).collect()
}

#[test]
fn the_mend_of_a_wrong_stack_heals_it() {
    let project = project(&page());
    let energy = |system: &System| energy::study(system, None);
    let trials = Trials::new(&project, network::study, &energy);
    let found: Vec<_> = trials.findings().iter().filter(|found| found.rule == "stack-order").collect();
    let [finding] = found.as_slice() else { panic!("{found:#?}") };
    assert_eq!((finding.severity, finding.place.as_str()), (Severity::Warning, "bank.negative"));
    let tried = trials.tried(finding).expect("the mend works");
    assert_eq!(
        tried.edits.iter().map(model::Edit::shown).collect::<Vec<_>>(),
        ["stacks.\"bank.negative\" = [\"main.negative\", \"extra-1\", \"extra-2\"]"]
    );
    let mended = project.with_edits(&tried.edits).expect("reads");
    assert!(mended.source.text.contains("[\"main.negative\", \"extra-1\", \"extra-2\"]"));
}

#[test]
fn a_stack_that_names_nothing_is_told_with_what_is_there() {
    let text = page().replace(
        "\"bank.negative\" = [\"extra-1\", \"main.negative\", \"extra-2\"]",
        "\"bank.negative\" = [\"main.negatve\", \"extra-1\", \"main.positive\"]\n\"bank.negativ\" = [\"extra-1\"]\n\
         \"negative-bar.bar\" = [\"extra-1\"]\n\"negative-bar.bar.1\" = [\"extra-1\"]\n\
         \"negative-bar.bar.2\" = [\"extra-1\", \"extra-2\"]\n\"negative-bar.bar.99\" = [\"extra-2\"]",
    );
    let system = derive::derive(&project(&text));
    let told = |intent: &str| {
        let all: Vec<_> = system.unused.iter().filter(|unused| unused.intent == intent).collect();
        let [one] = all.as_slice() else { panic!("{intent}: {:#?}", system.unused) };
        (one.message.as_str(), one.mend.as_str())
    };
    assert_eq!(
        told("stacks.bank.negative[0]"),
        ("there is no conductor `main.negatve`", "Did you mean `main.negative`?")
    );
    assert_eq!(told("stacks.bank.negative[2]").0, "`main.positive` does not end at `bank.negative`");
    assert_eq!(
        told("stacks.bank.negative").0,
        "main.negative, extra-2 end on `bank.negative` too, and the stack does not say where"
    );
    assert_eq!(told("stacks.bank.negativ").1, "Did you mean `bank.negative`?");
    assert!(told("stacks.negative-bar.bar").1.starts_with("Write `negative-bar.bar.1`"));
    assert!(told("stacks.negative-bar.bar.99").0.ends_with("there is no stud 99"));
    assert!(told("stacks.negative-bar.bar.2[0]").0.contains("on another stud"));
    let results = network::study(&system);
    let findings = rules::check(&system, &results, None);
    assert!(findings.iter().any(|found| found.rule == "pin-names-nothing"
        && found.severity == Severity::Warning
        && found.intent == "stacks.bank.negative[0]"));
}

/// Lugs on a post: by current, then by area, then by name.
#[test]
fn the_largest_current_lies_at_the_pad() {
    let mut sound = Sound::new();
    let at = sound.system.find_terminal("bank-1.negative").expect("the post");
    let bar = sound.system.find_terminal("negative-bar.bar").expect("the bar");
    let main: Vec<String> = sound
        .system
        .conductors
        .iter()
        .filter(|conductor| conductor.from == at || conductor.to == at)
        .map(|conductor| conductor.id.clone())
        .collect();
    let [main] = main.as_slice() else { panic!("{main:?}") };
    let main = main.clone();
    let pattern = sound.conductor(&main).clone();
    for (name, gauge) in [("c", 10), ("b", 6), ("a", 10)] {
        sound.system.conductors.push(model::Conductor {
            id: name.to_owned(),
            from: at,
            to: bar,
            gauge: awg(gauge),
            ..pattern.clone()
        });
    }
    for circuit in &mut sound.system.circuits {
        circuit.current_steady = quantity::Amps::zero();
    }
    sound.scene(&[(&main, 5.0), ("a", 40.0), ("b", 40.04), ("c", 40.0)], &[]);
    let order = |sound: &Sound| {
        let all = stacks(&sound.system, &sound.results);
        let found: Vec<_> = all.at(at).map(|stack| names(&sound.system, &stack.lugs)).collect();
        found
    };
    // 40.04 A and 40.0 A show alike, so the larger area of b decides; a and c are alike but for their names.
    assert_eq!(order(&sound), [["b", "a", "c", main.as_str()].map(str::to_owned).to_vec()]);
    let places = stacks(&sound.system, &sound.results).places();
    let ix = sound.system.conductors.iter().position(|c| c.id == "b").expect("b");
    assert_eq!(places[&(at, ix)], LugPlace::Stud { stud: None, place: 1, of: 4 });
    assert_eq!(places[&(at, ix)].to_string(), "1 of 4, at the pad");
    // As said, even where it is wrong: the rule tells.
    let by_name = |name: &str| sound.system.conductors.iter().position(|c| c.id == name).expect(name);
    let lugs = [main.as_str(), "c", "a", "b"].map(by_name).to_vec();
    sound.system.stacks.push(SaidStack { at, stud: 1, lugs, intent: "stacks.bank-1.negative".to_owned() });
    assert_eq!(order(&sound), [[main.as_str(), "c", "a", "b"].map(str::to_owned).to_vec()]);
    assert_eq!(sound.finds("stack-order").len(), 1);
}

/// A bar of two studs and one screw: the largest nearest the feed, a second layer from the feed again, four a stud at most.
#[test]
fn a_busbar_takes_the_largest_nearest_the_feed_and_is_never_overfilled() {
    let mut sound = Sound::new();
    let mut bar = hand_built::parts().busbar.values().next().expect("a busbar").clone();
    (bar.studs, bar.screws) = (2, Some(1));
    let device =
        sound.device("bar", Spec::Busbar(bar), vec![terminal("bar", Pole::Positive, Some(Stud::M8), None)]);
    let at = TerminalRef { device, terminal: 0 };
    let pattern = sound.conductor("main.negative").clone();
    let other = pattern.to;
    for name in ["a", "b", "c", "d", "e", "f", "g", "h", "i", "j"] {
        sound.system.conductors.push(model::Conductor {
            id: name.to_owned(),
            from: at,
            to: other,
            ..pattern.clone()
        });
    }
    for circuit in &mut sound.system.circuits {
        circuit.current_steady = quantity::Amps::zero();
    }
    let amps: Vec<(&str, f64)> = ["a", "b", "c", "d", "e", "f", "g", "h", "i", "j"]
        .into_iter()
        .zip([100.0, 90.0, 80.0, 70.0, 60.0, 50.0, 40.0, 30.0, 20.0, 10.0])
        .collect();
    sound.scene(&amps, &[]);
    let all = stacks(&sound.system, &sound.results);
    let found: Vec<_> =
        all.at(at).map(|stack| (stack.stud, names(&sound.system, &stack.lugs).join(" "))).collect();
    assert_eq!(found, [(1, "a c e g".to_owned()), (2, "b d f h".to_owned())]);
    let of = |list: &[(TerminalRef, usize)]| {
        let here = list.iter().filter(|(end, _)| *end == at);
        here.map(|(_, ix)| sound.system.conductors[*ix].id.clone()).collect::<Vec<_>>()
    };
    assert_eq!((of(&all.screws), of(&all.no_room)), (vec!["i".to_owned()], vec!["j".to_owned()]));
    // Nine are within what the bar holds and ten are not, by this list and by the rule on their number alike.
    let overfull = |sound: &Sound| sound.finds("lugs-stacked").iter().any(|found| found.place == "bar.bar");
    assert!(overfull(&sound));
    sound.system.conductors.pop();
    assert!(!overfull(&sound));
    let all = stacks(&sound.system, &sound.results);
    assert!(!all.no_room.iter().any(|(end, _)| *end == at), "{:?}", all.no_room);
}
