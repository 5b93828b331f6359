//! What one saved edit costs, and a step back, with the disk: `cargo run --release -p folder --example save_time [FOLDER]`.

#![allow(clippy::unwrap_used, clippy::print_stdout)] // a measurement

use std::path::PathBuf;
use std::time::Instant;

use folder::{Document, Expected, Store};

fn main() {
    let base = std::env::args().nth(1).map_or_else(std::env::temp_dir, PathBuf::from);
    let folder = tempfile::tempdir_in(base).unwrap();
    let line = "[loads.one]\npower = \"30 W\"\nhours = \"3 h/day\"\nlength = \"3 m\"\n\n";
    for (what, lines) in [("4 kB", 65), ("60 kB", 1000)] {
        let folder = folder.path().join(what.replace(' ', "-"));
        std::fs::create_dir(&folder).unwrap();
        std::fs::write(folder.join("intent.toml"), line.repeat(lines)).unwrap();
        let mut store = Store::open(&folder).unwrap();
        let mut saving = Vec::new();
        let mut looking = Vec::new();
        for count in 0..300 {
            let text = format!("# {count}\n{}", line.repeat(lines));
            let since = Instant::now();
            store.save(Document::Intent, Expected::Number(store.number()), &text, "An edit").unwrap();
            saving.push(since.elapsed());
            let since = Instant::now();
            assert!(store.look().unwrap().is_none());
            looking.push(since.elapsed());
        }
        let since = Instant::now();
        drop(Store::open(&folder).unwrap());
        let opening = since.elapsed();
        for (what_done, mut times) in [("save", saving), ("look", looking)] {
            times.sort();
            let at = |share: f64| times[(times.len() as f64 * share) as usize];
            println!(
                "{what_done} {what}: median {:.2?}, 95 % {:.2?}, most {:.2?}",
                at(0.5),
                at(0.95),
                at(0.999)
            );
        }
        println!("open {what} with 100 states: {opening:.2?}");
    }
}
