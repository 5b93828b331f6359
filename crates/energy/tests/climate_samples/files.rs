//! The measured files that the climate is held against: three that the reference library ships, one beside the project.
//! Never: goes on without one; a check that did not run is a failure.
//! Start at [`samples`].

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
        .map(|(name, path)| {
            let bytes = std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
            let series =
                energy::weather::read(name, &bytes).unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
            Sample::new(name, &series)
        })
        .collect()
}
