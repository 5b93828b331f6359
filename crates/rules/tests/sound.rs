//! The sound examples, derived and studied: no rule on bank, sun, engine, inverter, AC side or loads finds danger or warning.

use std::path::Path;

use model::{Project, SourceText, System};
use rules::{Case, Severity, check_one, rule};

const RULES: [&str; 40] = [
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
    "low-start-voltage",
    "missing-array-disconnect",
    "missing-residual-current-device",
    "neutral-bond-count",
    "over-payload",
    "relay-overloaded",
    "relay-with-lithium",
    "short-circuit-current-unknown",
    "string-unfused",
    "too-many-in-series-or-parallel",
    "uneven-parallel-batteries",
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

#[test]
fn sound_examples_raise_no_danger_and_no_warning() {
    let mut raised = Vec::new();
    for name in ["heron", "teal", "wren", "marten"] {
        let system = example(name);
        let results = network::study(&system);
        let case = Case::new(&system, &results);
        for id in RULES {
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
