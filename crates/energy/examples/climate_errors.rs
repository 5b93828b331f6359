//! Writes `crates/energy/data/climate-errors.md`: how far the built-in climate and drawn years lie from measured files.
//! Never: judges; a test does. Start at `main`.

#[path = "../tests/climate_samples/files.rs"]
mod files;
#[path = "../tests/climate_samples/table.rs"]
mod table;

fn main() -> std::io::Result<()> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("data/climate-errors.md");
    let samples = files::samples();
    assert_eq!(samples.len(), files::ALL, "the page wants every file: name their folder in WATTWAIN_WEATHER");
    std::fs::write(path, table::page(&samples))
}
