//! The measured files that the climate is held against: three that the reference library ships, one beside the project.
//! Never: goes on in silence without one; those of the library must be there, the one beside the project may be missing and is then
//! left out with a word.
//! Start at [`samples`].

#![allow(clippy::print_stderr)] // what is left out is said

use crate::table::Sample;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The folder of files that pvlib (0.16.1) ships.
fn pvlib_data() -> PathBuf {
    let python = root().join("target/pvlib/bin/python");
    let run = Command::new(&python)
        .args(["-c", "import sysconfig; print(sysconfig.get_paths()['purelib'] + '/pvlib/data', end='')"])
        .output()
        .unwrap_or_else(|error| {
            panic!("{}: {error}; run `checks/pvlib/setup` once (scripts/test does it)", python.display())
        });
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    PathBuf::from(String::from_utf8(run.stdout).expect("a path"))
}

/// How many there are where none is missing.
pub const ALL: usize = 4;

/// Every file, read and held against the built-in climate.
pub fn samples() -> Vec<Sample> {
    let shared =
        std::env::var_os("WATTWAIN_WEATHER").map_or_else(|| root().join("../shared/weather"), PathBuf::from);
    let pvlib = pvlib_data();
    let files = [
        ("Sand Point, Alaska (TMY3)", pvlib.join("703165TY.csv")),
        ("Greensboro, North Carolina (TMY3)", pvlib.join("723170TYA.CSV")),
        ("Miami, Florida (TMY2)", pvlib.join("12839.tm2")),
        ("45° N 8° E (PVGIS)", shared.join("tmy_45.000_8.000_2005_2023.csv")),
    ];
    files
        .into_iter()
        .filter(|(name, path)| {
            // It may not be handed on with the project, so another checkout has none.
            let is_left_out = path.starts_with(&shared) && !path.exists();
            if is_left_out {
                eprintln!(
                    "{name} is left out: {} is not there; WATTWAIN_WEATHER names another folder",
                    path.display()
                );
            }
            !is_left_out
        })
        .map(|(name, path)| {
            let bytes = std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
            let series =
                energy::weather::read(name, &bytes).unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
            Sample::new(name, &series)
        })
        .collect()
}
