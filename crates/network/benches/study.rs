//! The study of whole systems: the long van, and made-up ones of many branch circuits.
//! `cargo bench -p network --bench study`.
//! Never: asserts times; it prints them. Start at the constants of each bench.

use divan::Bencher;
use model::{Project, SourceText, System};
use network::study;

fn main() {
    divan::main();
}

fn derived(text: String) -> System {
    let source = SourceText { name: "intent.toml".to_owned(), text };
    match Project::read(source, model::library::builtin().clone()) {
        Ok(project) => derive::derive(&project),
        Err(problems) => panic!("{problems:#?}"),
    }
}

#[divan::bench]
fn heron(bencher: Bencher) {
    let system = derived(include_str!("../../../examples/heron/intent.toml").to_owned());
    bencher.bench(|| study(divan::black_box(&system)));
}

#[divan::bench(args = [10, 100, 300, 1000])]
fn circuits(bencher: Bencher, count: usize) {
    let mut text = "[brief]\nname = \"Many\"\ncraft = \"boat\"\nrules = \"na\"\nvoltage = \"48 V\"\n[bank]\nlength = \"1 m\"\n".to_owned();
    for number in 0..count {
        let length = 1 + number % 17;
        text += &format!(
            "[loads.load-{number}]\npower = \"20 W\"\nhours = \"1 h/day\"\nlength = \"{length} m\"\n"
        );
    }
    let system = derived(text);
    bencher.bench(|| study(divan::black_box(&system)));
}
