//! The examples, derived and studied: the four sound ones raise no danger and no warning, and every mistake planted in
//! the faulty one is found.

use std::collections::BTreeSet;
use std::path::Path;

use model::{Project, SourceText};
use rules::{Finding, Severity, check};

fn text(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name).join("intent.toml");
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn findings(name: &str) -> Vec<Finding> {
    judged(text(name))
}

fn judged(text: String) -> Vec<Finding> {
    let source = SourceText { name: "intent.toml".to_owned(), text };
    let project = Project::read(source, model::library::builtin().clone());
    let system = derive::derive(&project.unwrap_or_else(|problems| panic!("{problems:#?}")));
    check(&system, &network::study(&system), energy::study(&system, None).as_ref())
}

#[test]
fn sound_examples_raise_no_danger_and_no_warning() {
    for name in ["heron", "teal", "wren", "marten"] {
        let found: Vec<Finding> =
            findings(name).into_iter().filter(|finding| finding.severity != Severity::Advice).collect();
        assert!(found.is_empty(), "{name}: {found:#?}");
    }
}

#[test]
fn every_planted_mistake_is_found() {
    let planted: BTreeSet<String> = text("faulty")
        .lines()
        .filter_map(|line| line.split_once("finds:").map(|(_, rule)| rule.trim().to_owned()))
        .collect();
    assert!(planted.len() >= 15, "{planted:?}");
    let found: BTreeSet<String> =
        findings("faulty").into_iter().map(|finding| finding.rule.to_owned()).collect();
    let missed: Vec<&String> = planted.difference(&found).collect();
    assert!(missed.is_empty(), "missed {missed:?}; found {found:?}");
}

/// Three strings behind 200 A each feed the main conductor with 600 A before a fuse opens. 1/0 AWG carries 285 A at 105 °C and
/// 30 °C (33 CFR 183.425 Table 5), so at most 428 A may stand before it: each fuse alone would do, all three together do not.
#[test]
fn fuses_of_strings_in_parallel_add_up() {
    let project = |gauge: &str| {
        format!(
            "[brief]\nname = \"Three\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"12 V\"\n\
             [zones.inside]\ncoldest = \"5 °C\"\nhottest = \"30 °C\"\nvented = true\n\
             [bank]\npart = \"lfp-12v-280ah\"\nparallel = 3\nlength = \"1 m\"\n\
             [loads.fridge]\npart = \"fridge-65l\"\nlength = \"2 m\"\n\
             [pins]\n\"main.positive.gauge\" = \"{gauge}\"\n[[built]]\nleave_out = \"main.fuse\"\n"
        )
    };
    let bare = |gauge: &str| {
        let found = judged(project(gauge));
        found
            .iter()
            .any(|finding| finding.rule == "unprotected-conductor" && finding.place == "main.positive")
    };
    assert!(bare("1/0 AWG"));
    assert!(!bare("4/0 AWG"), "445 A x 1.5 = 668 A");
}
