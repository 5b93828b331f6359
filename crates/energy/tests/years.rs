//! Many years: the same whatever the threads, stopped when asked, and sensible against the single year.

use std::sync::atomic::Ordering;

use energy::run::{Blind, run};
use energy::{Chance, Plant, Progress, Scratch, Sky, Years, years};
use model::{Project, SourceText, System};

fn system() -> System {
    let text = "brief = { name = \"t\", craft = \"van\", rules = \"iec\", voltage = \"12 V\", autonomy = \"48 h\", \
                place = { latitude = \"48 N\", longitude = \"11 E\" } }\n\
                loads.fridge = { part = \"fridge-65l\", length = \"2 m\" }\n\
                loads.lamps = { power = \"20 W\", hours = \"5 h/day\", from = \"17:00\", until = \"23:00\", length = \"2 m\" }\n\
                bank = { chemistry = \"lfp\", capacity = \"100 Ah\" }\n[solar.roof]\ncount = 2\n";
    let source = SourceText { name: "test".to_owned(), text: text.to_owned() };
    let project = Project::read(source, model::library::builtin().clone()).expect("the project reads");
    derive::derive(&project)
}

fn sky() -> (Plant, Sky) {
    let system = system();
    let plant = Plant::of(&system).expect("a bank");
    let sky = Sky::of(&system, &plant, None);
    (plant, sky)
}

fn with_threads(threads: usize, plant: &Plant, sky: &Sky, count: u32, seed: u64) -> Years {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
    pool.install(|| years(plant, sky, count, seed, &Progress::default())).expect("not stopped")
}

#[test]
fn the_same_seed_gives_the_same_bytes_whatever_the_threads() {
    let (plant, sky) = sky();
    // More than one wave of chunks, and a last chunk that is not full.
    let bytes = |threads| serde_json::to_vec(&with_threads(threads, &plant, &sky, 141, 7)).expect("JSON");
    let one = bytes(1);
    assert_eq!(one, bytes(2));
    assert_eq!(one, bytes(5));
    assert_ne!(one, serde_json::to_vec(&with_threads(2, &plant, &sky, 141, 8)).expect("JSON"));
}

#[test]
fn every_year_is_counted_once_and_its_books_close() {
    let (plant, sky) = sky();
    let all = with_threads(2, &plant, &sky, 30, 3);
    let (mut ran_out, mut short, mut sun) = (0, 0.0, 0.0);
    let mut scratch = Scratch::new();
    for index in 0..30 {
        sky.year(&plant, 3, index, &mut scratch);
        let tally = run(&plant, scratch.outside(), &mut Blind);
        let total = tally.total();
        assert!(total.gap() < 1e-9, "{}", total.gap());
        ran_out += u32::from(tally.short_hours() > 0);
        short += total.short_wh;
        sun += total.sun_wh;
    }
    assert_eq!(all.running_out, Chance::of(ran_out, 30));
    assert!((all.short.0.get() * 30.0 - short).abs() < 1e-6 * short.max(1.0));
    assert!((all.mean.sun_wh * 30.0 - sun).abs() < 1e-9 * sun);
    assert!(all.books_gap < 1e-9);
    // The chance of a year is not below that of its worst month.
    assert!(all.months.iter().all(|month| month.running_out.happened <= all.running_out.happened));
}

#[test]
fn it_stops_when_asked() {
    let (plant, sky) = sky();
    let progress = Progress::default();
    progress.stop.store(true, Ordering::Relaxed);
    assert!(years(&plant, &sky, 100, 1, &progress).is_none());
    assert_eq!(progress.done.load(Ordering::Relaxed), 0);
}

#[test]
fn the_study_says_the_same_twice() {
    let system = system();
    let told = || serde_json::to_string(&energy::study(&system, None)).expect("JSON");
    assert_eq!(told(), told());
}
