//! Order in the source, held by tests: imports go one way, every file opens with its header, no file grows unseen.
//! Never: judges what `rustfmt` and `clippy` judge.
//! Start at any test.

use crate::crates::{self, BESIDE, ORDER};
use std::path::{Path, PathBuf};

/// Lines above which a file must give its reason.
const LONG: usize = 500;

/// Files that may be longer without a line of their own, and why.
const LONG_FILES: &[(&str, &str)] = &[
    (
        "crates/model/src/intent.rs",
        "one declaration of all that a person may write; splitting it would hide the file format",
    ),
    (
        "crates/model/src/parts.rs",
        "one declaration of all kinds of part; splitting it would hide the file format",
    ),
    ("crates/model/src/system.rs", "one declaration of the system, which every other crate reads"),
    ("crates/model/tests/parts.rs", "one test of each kind of part"),
    ("crates/derive/src/built.rs", "one arm for each thing that can be built otherwise"),
    ("crates/derive/src/solar.rs", "one array from string to busbar"),
    ("crates/derive/src/engine.rs", "one charging path from alternator to busbar"),
    ("crates/network/tests/study.rs", "one test of each law, over the same systems"),
    ("crates/rules/tests/dc.rs", "one test of each DC rule"),
    ("crates/rules/tests/more/mod.rs", "systems built by hand, one function of each"),
];

fn rust_files() -> Vec<PathBuf> {
    fn walk(folder: &Path, into: &mut Vec<PathBuf>) {
        let mut entries: Vec<PathBuf> =
            std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        entries.sort();
        for path in entries {
            if path.is_dir() {
                if !path.ends_with("target") {
                    walk(&path, into);
                }
            } else if path.extension().is_some_and(|end| end == "rs") {
                into.push(path);
            }
        }
    }
    let mut files = Vec::new();
    for folder in ["crates", "checks", "xtask"] {
        walk(&crate::root().join(folder), &mut files);
    }
    assert!(files.len() > 50, "the source was not found");
    files
}

fn short(path: &Path) -> String {
    path.strip_prefix(crate::root()).unwrap_or(path).to_string_lossy().into_owned()
}

fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap()
}

#[track_caller]
fn none(faults: Vec<String>) {
    assert!(faults.is_empty(), "{} to mend:\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn imports_go_one_way() {
    let mut faults = Vec::new();
    for member in crates::read().unwrap() {
        if BESIDE.contains(&member.name.as_str()) {
            continue;
        }
        let Some(place) = crates::place(&member.name) else {
            faults.push(format!("{} has no place in the order of xtask/src/crates.rs", member.name));
            continue;
        };
        for import in member.imports {
            // A crate may name itself for its own tests, with other features.
            let is_itself = import.only_tests && import.name == member.name;
            if !is_itself && crates::place(&import.name).is_none_or(|other| other >= place) {
                faults
                    .push(format!("{} imports {}, which does not stand before it", member.name, import.name));
            }
        }
    }
    none(faults);
}

#[test]
fn every_file_opens_with_its_header() {
    let mut faults = Vec::new();
    for path in rust_files() {
        let text = text(&path);
        let header: Vec<&str> = text.lines().take_while(|line| line.starts_with("//!")).collect();
        if header.is_empty() {
            faults.push(format!("{}: no `//!` header on line 1", short(&path)));
        } else if path.ends_with("src/lib.rs") || path.ends_with("src/main.rs") {
            for part in ["//! Never: ", "//! Start at "] {
                if !header.iter().any(|line| line.starts_with(part)) {
                    faults.push(format!("{}: no line `{part}`", short(&path)));
                }
            }
        }
    }
    none(faults);
}

#[test]
fn long_files_say_why() {
    let mut faults = Vec::new();
    for path in rust_files() {
        let text = text(&path);
        let lines = text.lines().count();
        let name = short(&path);
        let reason = text.lines().find_map(|line| line.strip_prefix("// long: "));
        let is_listed = LONG_FILES.iter().any(|(file, _)| *file == name);
        if lines > LONG && reason.is_none_or(|reason| reason.trim().len() < 10) && !is_listed {
            faults.push(format!("{name}: {lines} lines; split it, or add `// long: reason`"));
        }
        if lines <= LONG && is_listed {
            faults.push(format!("{name}: {lines} lines; take it off the list of long files"));
        }
    }
    for (name, _) in LONG_FILES {
        if !crate::root().join(name).exists() {
            faults.push(format!("{name} is on the list of long files and does not exist"));
        }
    }
    none(faults);
}

#[test]
fn no_hash_order_and_no_heap_of_odds_and_ends() {
    // Put together here, so that this file does not find itself.
    let banned = ["Map", "Set"].map(|end| format!("Hash{end}"));
    let mut faults = Vec::new();
    for path in rust_files() {
        for (at, line) in text(&path).lines().enumerate() {
            if banned.iter().any(|word| line.contains(word.as_str())) {
                faults.push(format!("{}:{}: hash order changes from run to run", short(&path), at + 1));
            }
        }
        let name = short(&path);
        let is_heap = ["utils", "util", "common", "helpers", "misc"]
            .iter()
            .any(|heap| name.ends_with(&format!("/{heap}.rs")) || name.contains(&format!("/{heap}/")));
        if is_heap && !name.contains("/tests/common/") {
            faults.push(format!("{name}: name it for what it holds"));
        }
    }
    none(faults);
}

#[test]
fn core_crates_read_no_clock_file_or_environment() {
    // Build-time `env!` and `include_str!` are fixed; the crates at the edge are those that read files.
    let banned = ["std::fs", "std::env::", "std::net", "SystemTime", "Instant::now", "std::process"];
    let mut faults = Vec::new();
    for path in rust_files() {
        let name = short(&path);
        let is_core = ORDER.iter().any(|name_of| {
            !["folder", "wattwain", "server"].contains(name_of)
                && name.starts_with(&format!("crates/{name_of}/src/"))
        });
        if !is_core {
            continue;
        }
        let text = text(&path);
        let source = text.split("#[cfg(test)]").next().unwrap_or_default();
        for (at, line) in source.lines().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            for word in banned.iter().filter(|word| code.contains(**word)) {
                faults.push(format!("{name}:{}: {word} in a core crate", at + 1));
            }
        }
    }
    none(faults);
}

#[test]
fn the_code_map_names_every_crate_and_no_other() {
    let page = text(&crate::root().join("ARCHITECTURE.md"));
    let map = page.split("## Code map").nth(1).expect("ARCHITECTURE.md has a code map");
    let map = map.split("\n## ").next().unwrap_or_default();
    let named: Vec<&str> = map
        .lines()
        .filter_map(|line| line.strip_prefix("### `")?.strip_suffix('`'))
        .map(|path| path.trim_end_matches('/').rsplit('/').next().unwrap_or_default())
        .collect();
    let mut faults = Vec::new();
    let members: Vec<String> = crates::read().unwrap().into_iter().map(|member| member.name).collect();
    for member in &members {
        if !named.contains(&member.as_str()) {
            faults.push(format!("crate {member} is missing from the code map"));
        }
    }
    for name in &named {
        if !members.iter().any(|member| member == name) {
            faults.push(format!("the code map names {name}, which is no crate"));
        }
    }
    none(faults);
}

/// A name of a test in ARCHITECTURE.md is a test that exists.
#[test]
fn every_invariant_names_tests_that_exist() {
    let page = text(&crate::root().join("ARCHITECTURE.md"));
    let all: String = rust_files().iter().map(|path| text(path)).collect();
    let mut faults = Vec::new();
    let mut count = 0;
    for line in page.lines().filter(|line| line.starts_with("- **I")) {
        count += 1;
        let tests: Vec<&str> =
            line.split("Held by ").nth(1).unwrap_or_default().split('`').skip(1).step_by(2).collect();
        if tests.is_empty() {
            faults.push(format!("no test is named: {line}"));
        }
        for test in tests {
            let name = test.rsplit("::").next().unwrap_or_default();
            if !all.contains(&format!("fn {name}(")) {
                faults.push(format!("{test} does not exist"));
            }
        }
    }
    assert!(count >= 10, "only {count} invariants were found");
    none(faults);
}

#[test]
fn generated_files_are_current() {
    crate::generated::check().unwrap();
}
