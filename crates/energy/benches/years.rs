//! The hour loop and many years: time of one system-year, of its weather and sun, and of a thousand years of the demo van.
//!
//!     cargo bench -p energy --bench years
//!
//! A system-year is 8760 hours and the 28 days of warm-up before them: half of what two take side by side, as `years` runs them, and
//! beside it one alone. Least of several runs, since other work on the machine only adds; nothing asserts a time.
#![allow(clippy::unwrap_used, clippy::print_stdout)] // a bench may panic and prints its figures

use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant};

use energy::run::{Blind, run, run_two};
use energy::{Plant, Progress, Scratch, Sky, study, years};

fn least(times: u32, mut work: impl FnMut()) -> Duration {
    (0..times)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed()
        })
        .min()
        .unwrap()
}

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    for name in ["heron", "teal", "wren", "marten"] {
        let text = std::fs::read_to_string(folder.join(name).join("intent.toml")).unwrap();
        let source = model::SourceText { name: name.to_owned(), text };
        let project = model::Project::read(source, model::library::builtin().clone()).unwrap();
        let system = derive::derive(&project);
        let plant = Plant::of(&system).unwrap();
        let sky = Sky::of(&system, &plant, None);
        let mut scratch = Scratch::new();
        sky.year(&plant, 1, 0, &mut scratch);
        let hours = least(200, || {
            black_box(run(&plant, black_box(scratch.outside()), &mut Blind));
        });
        let mut other = Scratch::new();
        sky.year(&plant, 1, 1, &mut other);
        let two = least(200, || {
            let outsides = [scratch.outside(), other.outside()];
            black_box(run_two([&plant; 2], black_box(outsides), [&mut Blind, &mut Blind]));
        });
        let mut index = 0;
        let weather = least(200, || {
            index += 1;
            sky.year(&plant, 1, index, &mut scratch);
        });
        let thousand = least(5, || {
            black_box(years(&plant, &sky, 1000, 1, &Progress::default()));
        });
        let whole = least(10, || {
            black_box(study(&system, None));
        });
        println!(
            "{name:7} system-year {:>9.1?} (alone {hours:>9.1?})  weather and sun of a year {weather:>9.1?}  1000 years {thousand:>8.1?}  study {whole:>8.1?}",
            two / 2,
        );
    }
}
