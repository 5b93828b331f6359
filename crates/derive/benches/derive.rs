//! Deriving: the long van, and made-up systems of many branch circuits. `cargo bench -p derive`.

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

#[divan::bench]
fn heron(bencher: divan::Bencher<'_, '_>) {
    let project = read(include_str!("../../../examples/heron/intent.toml").to_owned());
    bencher.bench_local(|| derive::derive(&project));
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
    let project = read(text);
    bencher.bench_local(|| derive::derive(&project));
}
