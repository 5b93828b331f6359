//! Runs every row of `checks/*.toml` and prints how many stand on what ground.

use reference::{Provenance, Reference};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

fn files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the folder of this crate can be read")
        .map(|entry| entry.expect("its entries can be read").path())
        .filter(|path| path.extension().is_some_and(|end| end == "toml") && !path.ends_with("Cargo.toml"))
        .collect();
    files.sort();
    files
}

#[test]
fn every_row_agrees_with_its_source() {
    let sources = Reference::standard().sources();
    let mut counts: BTreeMap<Provenance, usize> = BTreeMap::new();
    let mut by_file: BTreeMap<String, usize> = BTreeMap::new();
    let (mut differing, mut faults) = (0, Vec::new());
    let mut seen = BTreeSet::new();
    for path in files() {
        let file = path.file_name().unwrap().to_string_lossy().into_owned();
        let rows = checks::read(&std::fs::read_to_string(&path).unwrap());
        let rows = rows.unwrap_or_else(|error| panic!("{file}: {error}"));
        for check in rows {
            let name = format!("{file}: {}", check.what);
            if !sources.contains_key(&check.source) {
                faults.push(format!("{name}: source {:?} is not in sources.toml", check.source));
            }
            if !seen.insert(format!("{} {:?} {:?}", check.call, check.inputs, check.bound)) {
                faults.push(format!("{name}: the same question is asked twice"));
            }
            *counts.entry(check.provenance).or_default() += 1;
            *by_file.entry(file.clone()).or_default() += 1;
            differing += usize::from(check.differs.is_some());
            if let Err(fault) = checks::run(&check) {
                faults.push(format!(
                    "{name}\n    {} {:?}\n    {fault} [{}]",
                    check.call, check.inputs, check.source
                ));
            }
        }
    }
    let total: usize = counts.values().sum();
    println!("{total} check values: {counts:?}; {differing} differ on purpose");
    for (file, count) in by_file {
        println!("  {count:4} {file}");
    }
    assert!(faults.is_empty(), "{} of {total} rows are wrong:\n{}", faults.len(), faults.join("\n"));
    let published = counts.get(&Provenance::Published).copied().unwrap_or(0);
    assert!(published >= 150, "only {published} values that were seen in print");
}

#[test]
fn a_row_that_cannot_be_run_fails() {
    let bad = |row: &str| {
        let text = format!("[[check]]\nwhat = \"x\"\nsource = \"practice\"\nprovenance = \"memory\"\n{row}");
        checks::read(&text).and_then(|rows| checks::run(&rows[0])).unwrap_err()
    };
    let area = "call = \"quantity.area\"\n";
    assert!(bad("call = \"no.such\"\nin = {}\nwant = 1").contains("no.such"));
    assert!(bad(&format!("{area}in = {{}}\nwant = \"1 mm²\"\nwithin = \"1 mm²\"")).contains("gauge"));
    assert!(
        bad(&format!(
            "{area}in = {{ gauge = \"4 AWG\", size = 3 }}\nwant = \"21.15 mm²\"\nwithin = \"1 mm²\""
        ))
        .contains("size")
    );
    assert!(bad(&format!("{area}in = {{ gauge = \"4 AWG\" }}\nwant = \"21.15 mm²\"")).contains("within"));
    assert!(
        bad(&format!("{area}in = {{ gauge = \"4 AWG\" }}\nwant = \"21.15 A\"\nwithin = \"1 mm²\""))
            .contains("cross-section")
    );
    assert!(
        bad(&format!("{area}in = {{ gauge = \"4 AWG\" }}\nwant = \"22 mm²\"\nwithin = \"0.5 mm²\""))
            .contains("the source has")
    );
    assert!(
        bad(&format!(
            "{area}in = {{ gauge = \"4 AWG\" }}\nwant = \"21.15 mm²\"\nwithin = \"1 %\"\ndiffers = \"why\""
        ))
        .contains("agrees now")
    );
    assert!(
        bad(&format!("{area}in = {{ gauge = \"4 AWG\" }}\nwant = \"21 mm²\"\nbound = \"most\""))
            .contains("the source has")
    );
    assert!(
        bad(&format!("{area}in = {{ gauge = \"4 AWG\" }}\nwant = \"21 mm²\"\nwithn = \"1 %\""))
            .contains("withn")
    );
}

/// Every source stands behind a number somewhere: in a table, in a citation made by code, or in a check.
#[test]
fn every_source_is_used() {
    let reference = Reference::standard();
    let mut used: BTreeSet<String> = reference.all_rows().iter().map(|row| row.source.to_owned()).collect();
    for path in files() {
        let rows = checks::read(&std::fs::read_to_string(&path).unwrap()).unwrap();
        used.extend(rows.into_iter().map(|row| row.source));
    }
    // Cited by code: the law where no printed factor stands, and the standards named in composed citations.
    used.extend(["heat-balance", "adiabatic-law", "nec-110-14", "copper-temperature"].map(String::from));
    for key in reference.sources().keys() {
        assert!(used.contains(key), "source {key:?} stands behind nothing");
    }
}
