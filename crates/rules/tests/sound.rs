//! The sound examples, derived: no rule that needs no study finds danger or warning in them.
//! With the study they are judged by the whole program's own tests.

use std::path::Path;

use model::{Project, SourceText, System};
use network::{Faults, Results};
use quantity::Ohms;
use rules::{Case, Severity, check_one, rule};

/// Rules that need no study to be silent on a sound design.
const WITHOUT_STUDY: [&str; 36] = [
    "ac-and-dc-together",
    "ac-conductor-undersized-for-breaker",
    "ac-panel-full",
    "ac-sources-in-parallel",
    "alternator-overloaded",
    "array-current-too-high",
    "array-voltage-too-high",
    "array-voltage-too-low",
    "bank-below-autonomy",
    "bank-overcharged",
    "bank-overdrawn",
    "bank-too-hot",
    "breaker-wrong-for-supply",
    "charger-profile-mismatch",
    "charging-below-freezing",
    "chassis-not-bonded",
    "controller-too-small",
    "controller-voltage-mismatch",
    "converter-overloaded",
    "dcdc-voltage-mismatch",
    "discharging-too-cold",
    "engine-lead-fused-at-one-end",
    "inlet-breaker-conductor-disagree",
    "inverter-input-current",
    "inverter-overloaded",
    "inverter-voltage-mismatch",
    "missing-array-disconnect",
    "missing-residual-current-device",
    "neutral-bond-count",
    "over-payload",
    "relay-with-lithium",
    "string-unfused",
    "too-many-in-series-or-parallel",
    "unvented-lead-acid",
    "variable-alternator-relay",
    "wrong-voltage-load",
];

fn example(name: &str) -> System {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name).join("intent.toml");
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let source = SourceText { name: "intent.toml".to_owned(), text };
    let project = Project::read(source, model::library::builtin().clone());
    derive::derive(&project.unwrap_or_else(|problems| panic!("{problems:#?}")))
}

fn unstudied(system: &System) -> Results {
    Results {
        scenes: vec![],
        faults: Faults {
            most: system.devices.iter().map(|device| vec![None; device.terminals.len()]).collect(),
            least: system.devices.iter().map(|device| vec![None; device.terminals.len()]).collect(),
        },
        resistances: vec![Ohms::zero(); system.conductors.len()],
    }
}

#[test]
fn sound_examples_raise_no_danger_and_no_warning() {
    let mut raised = Vec::new();
    for name in ["heron", "teal", "wren", "marten"] {
        let system = example(name);
        let results = unstudied(&system);
        let case = Case::new(&system, &results);
        for id in WITHOUT_STUDY {
            let found = check_one(&case, rule(id).unwrap_or_else(|| panic!("no rule {id}")));
            raised.extend(found.into_iter().filter(|finding| finding.severity != Severity::Advice).map(
                |finding| {
                    format!("{name}: {id}: {} {:?} {:?}", finding.message, finding.because, finding.intent)
                },
            ));
        }
    }
    assert!(raised.is_empty(), "{}", raised.join("\n"));
}
