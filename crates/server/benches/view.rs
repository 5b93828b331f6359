//! What an edit costs the service before anything is sent: all of one text, its view, and the view as JSON.
//! `cargo bench -p server --bench view`.
//! Never: asserts times; it prints them, and the sizes of what is sent. Start at [`main`].

#[path = "../tests/projects/mod.rs"]
mod projects;

use divan::Bencher;
use projects::{EXAMPLES, many, project};
use server::Stand;
use server::tell::{self, Head};
use server::wire::Part;

const ASKED: &[Part] = &[Part::Diagram, Part::Energy, Part::Brief];

fn main() {
    for (name, text) in [("heron", EXAMPLES[0].1.to_owned()), ("300 circuits", many(300))] {
        let stand = Stand::of(project(&text), None);
        let size = |with: &[Part]| json(&stand, with).len() / 1000;
        let each: Vec<String> = [Part::Diagram, Part::Energy, Part::Brief, Part::Circuits]
            .iter()
            .map(|part| format!("{part:?} {} kB", size(&[*part]) - size(&[])))
            .collect();
        #[allow(clippy::print_stdout)] // a bench prints
        {
            println!("{name}: view {} kB; with {}", size(&[]), each.join(", "));
        }
    }
    divan::main();
}

fn text(count: usize) -> String {
    if count == 0 { EXAMPLES[0].1.to_owned() } else { many(count) }
}

fn json(stand: &Stand, with: &[Part]) -> String {
    serde_json::to_string(&tell::view(stand, &Head::default(), with)).unwrap_or_default()
}

/// From the text to the JSON; 0 circuits stand for the long van.
#[divan::bench(args = [0, 300])]
fn whole(bencher: Bencher, count: usize) {
    let text = text(count);
    bencher.bench(|| json(&Stand::of(project(&text), None), ASKED).len());
}

/// The same after an edit that leaves the energy as it was.
#[divan::bench(args = [0, 300])]
fn whole_with_the_energy_kept(bencher: Bencher, count: usize) {
    let text = text(count);
    let before = Stand::of(project(&text), None);
    bencher.bench(|| json(&Stand::after(&before, project(&text)), ASKED).len());
}

#[divan::bench(args = [0, 300])]
fn reading(bencher: Bencher, count: usize) {
    let text = text(count);
    bencher.bench(|| project(&text).source.text.len());
}

#[divan::bench(args = [0, 300])]
fn standing(bencher: Bencher, count: usize) {
    let text = text(count);
    bencher.with_inputs(|| project(&text)).bench_values(|project| Stand::of(project, None).findings.len());
}

#[divan::bench(args = [0, 300])]
fn viewing(bencher: Bencher, count: usize) {
    let stand = Stand::of(project(&text(count)), None);
    bencher.bench(|| tell::view(&stand, &Head::default(), ASKED).findings.len());
}

#[divan::bench(args = [0, 300])]
fn drawing_once(bencher: Bencher, count: usize) {
    let stand = Stand::of(project(&text(count)), None);
    bencher.bench(|| drawing::one_line(&stand.system).len());
}

#[divan::bench(args = [0, 300])]
fn serialising(bencher: Bencher, count: usize) {
    let stand = Stand::of(project(&text(count)), None);
    let view = tell::view(&stand, &Head::default(), ASKED);
    bencher.bench(|| serde_json::to_string(&view).unwrap_or_default().len());
}
