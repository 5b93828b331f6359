//! The list itself: every rule has a legal name, a complete page and known sources, and docs/rules.md is current.

use rules::{HEADINGS, Severity, rules};

#[test]
fn names_are_legal_and_sorted() {
    let ids: Vec<&str> = rules().iter().map(|rule| rule.id).collect();
    let mut sorted = ids.clone();
    sorted.sort_unstable();
    sorted.dedup();
    assert_eq!(ids, sorted, "sorted, each once");
    for id in ids {
        assert!(id.len() <= 40 && id.starts_with(|c: char| c.is_ascii_lowercase()), "{id}");
        assert!(id.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{id}");
        let file = format!("{}/src/{}.rs", env!("CARGO_MANIFEST_DIR"), id.replace('-', "_"));
        assert!(std::path::Path::new(&file).exists(), "{id} stands in a file of its name");
    }
}

#[test]
fn every_page_has_its_headings_in_order_with_text_under_each() {
    for rule in rules() {
        let page = rule.page();
        let mut rest = page.as_str();
        for heading in HEADINGS {
            let mark = format!("## {heading}\n");
            let at = rest.find(&mark).unwrap_or_else(|| panic!("{}: no heading {heading}", rule.id));
            rest = &rest[at + mark.len()..];
            let text = rest.split("## ").next().unwrap_or_default().trim();
            assert!(text.len() > 10, "{}: nothing under {heading}", rule.id);
        }
        assert_eq!(page.matches("## ").count(), HEADINGS.len(), "{}: no other heading", rule.id);
    }
}

#[test]
fn every_rule_says_what_it_reads_and_where_its_limit_stands() {
    let known = reference::Reference::standard().sources();
    for rule in rules() {
        for text in [rule.title, rule.reads, rule.na, rule.iec] {
            assert!(!text.is_empty() && !text.ends_with('.'), "{}: {text:?}", rule.id);
        }
        for source in rule.sources {
            assert!(known.contains_key(*source), "{}: source {source} is unknown", rule.id);
        }
    }
}

#[test]
fn severities_sort_worst_first() {
    assert!(Severity::Danger < Severity::Warning && Severity::Warning < Severity::Advice);
}

#[test]
fn the_page_of_all_rules_is_current() {
    let path = format!("{}/../../docs/rules.md", env!("CARGO_MANIFEST_DIR"));
    let found = std::fs::read_to_string(path).unwrap_or_default();
    assert!(found == rules::markdown(), "run `cargo run -p rules --example write_rules_page`");
}
