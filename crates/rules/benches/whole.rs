//! The main job without its printing: derive, study and judge; the long van, and made-up systems of many branch circuits.
//! `cargo bench -p rules --bench whole`.
//! Never: asserts times; it prints them. Start at [`judged`].

use divan::Bencher;
use model::{Project, SourceText};

fn main() {
    divan::main();
}

fn read(text: String) -> Project {
    let source = SourceText { name: "intent.toml".to_owned(), text };
    match Project::read(source, model::library::builtin().clone()) {
        Ok(project) => project,
        Err(problems) => panic!("{problems:#?}"),
    }
}

/// How many findings a project has.
fn judged(project: &Project) -> usize {
    let system = derive::derive(project);
    let results = network::study(&system);
    rules::check(&system, &results, energy::study(&system, None).as_ref()).len()
}

#[divan::bench]
fn heron(bencher: Bencher) {
    let project = read(include_str!("../../../examples/heron/intent.toml").to_owned());
    bencher.bench(|| judged(divan::black_box(&project)));
}

/// Tells the story of a short circuit at the last place.
fn told(bencher: Bencher, text: String) {
    let system = derive::derive(&read(text));
    let results = network::study(&system);
    let case = rules::Case::new(&system, &results, None);
    let places = rules::fault_places(&case);
    let Some(last) = places.last() else { panic!("no place") };
    bencher.bench_local(|| rules::fault_story(divan::black_box(&case), last.at));
}

#[divan::bench]
fn story_of_heron(bencher: Bencher) {
    told(bencher, include_str!("../../../examples/heron/intent.toml").to_owned());
}

#[divan::bench(args = [100, 1000])]
fn story_of_circuits(bencher: Bencher, count: usize) {
    told(bencher, many(count));
}

#[divan::bench(args = [10, 100, 300, 1000])]
fn circuits(bencher: Bencher, count: usize) {
    let project = read(many(count));
    bencher.bench(|| judged(divan::black_box(&project)));
}

/// A boat with many small loads.
fn many(count: usize) -> String {
    let mut text = "[brief]\nname = \"Many\"\ncraft = \"boat\"\nrules = \"na\"\nvoltage = \"48 V\"\n[bank]\nlength = \"1 m\"\n".to_owned();
    for number in 0..count {
        let length = 1 + number % 17;
        text += &format!(
            "[loads.load-{number}]\npower = \"20 W\"\nhours = \"1 h/day\"\nlength = \"{length} m\"\n"
        );
    }
    text
}
