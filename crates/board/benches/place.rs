//! Placing the long van's board, and one of 25 devices. `cargo bench -p board --bench place`.
//! Never: asserts times; it prints them.
//! Start at [`project`].

use model::{Project, SourceText};

fn main() {
    divan::main();
}

fn project(text: &str) -> Project {
    let source = SourceText { name: "intent.toml".to_owned(), text: text.to_owned() };
    match Project::read(source, model::library::builtin().clone()) {
        Ok(project) => project,
        Err(problems) => panic!("{problems:#?}"),
    }
}

const HERON: &str = include_str!("../../../examples/heron/intent.toml");

#[divan::bench]
fn heron(bencher: divan::Bencher<'_, '_>) {
    let project = project(HERON);
    let system = derive::derive(&project);
    let wanted = project.intent.board.clone().unwrap_or_default();
    bencher.bench_local(|| board::place(&system, &project.library, &wanted));
}

/// The same van with three more panels beside the first and a second array: 25 devices on the board.
#[divan::bench]
fn devices_25(bencher: divan::Bencher<'_, '_>) {
    let mut text = HERON.to_owned();
    for name in ["bath", "work", "attic"] {
        text += &format!(
            "\n[panels.{name}]\nlength = \"0.8 m\"\n[loads.lamp-{name}]\npower = \"20 W\"\nhours = \"1 h/day\"\nlength = \"3 m\"\npanel = \"{name}\"\n"
        );
    }
    text += "\n[solar.side]\nmodule = \"module-200w\"\ncount = 2\nmounting = \"flush\"\nlength = \"5 m\"\ncontroller_length = \"0.5 m\"\nsun_hours = \"4 h/day\"\n";
    let project = project(&text);
    let system = derive::derive(&project);
    let wanted = project.intent.board.clone().unwrap_or_default();
    bencher.bench_local(|| board::place(&system, &project.library, &wanted));
}

/// Judging it, as a page does while a device is dragged: cables laid anew, nothing searched.
#[divan::bench]
fn drag(bencher: divan::Bencher<'_, '_>) {
    let project = project(HERON);
    let system = derive::derive(&project);
    let wanted = project.intent.board.clone().unwrap_or_default();
    let layout = board::place(&system, &project.library, &wanted);
    bencher.bench_local(|| {
        let now =
            board::moved(&system, &project.library, &wanted, &layout, "house", (100, 300, board::Turn::NONE));
        now.faults()
    });
}
