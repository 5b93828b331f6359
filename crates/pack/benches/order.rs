//! The build order of the long van, and of made-up systems of many branch circuits. `cargo bench -p pack --bench order`.
//! Never: asserts times; it prints them.
//! Start at [`derived`].

use model::{Project, SourceText};

fn main() {
    divan::main();
}

fn derived(text: String) -> (model::System, network::Results) {
    let source = SourceText { name: "intent.toml".to_owned(), text };
    let project = match Project::read(source, model::library::builtin().clone()) {
        Ok(project) => project,
        Err(problems) => panic!("{problems:#?}"),
    };
    let system = derive::derive(&project);
    let results = network::study(&system);
    (system, results)
}

#[divan::bench]
fn heron(bencher: divan::Bencher<'_, '_>) {
    let (system, results) = derived(include_str!("../../../examples/heron/intent.toml").to_owned());
    bencher.bench_local(|| pack::build_order(&system, &results, None));
}

#[divan::bench(args = [100, 300, 1000])]
fn circuits(bencher: divan::Bencher<'_, '_>, count: usize) {
    let mut text = "[brief]\nname = \"Many\"\ncraft = \"boat\"\nrules = \"na\"\nvoltage = \"48 V\"\n[bank]\nlength = \"1 m\"\n".to_owned();
    for number in 0..count {
        let length = 1 + number % 17;
        text += &format!(
            "[loads.load-{number}]\npower = \"20 W\"\nhours = \"1 h/day\"\nlength = \"{length} m\"\n"
        );
    }
    let (system, results) = derived(text);
    bencher.bench_local(|| pack::build_order(&system, &results, None));
}
