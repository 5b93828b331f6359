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
    let source = SourceText { name: "intent.toml".to_owned(), text: text(name) };
    let project = Project::read(source, model::library::builtin().clone());
    let system = derive::derive(&project.unwrap_or_else(|problems| panic!("{problems:#?}")));
    check(&system, &network::study(&system))
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
