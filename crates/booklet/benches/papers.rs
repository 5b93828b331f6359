//! Setting the papers of the long van. `cargo bench -p booklet --bench papers`.
//! Never: asserts times; it prints them.
//! Start at [`files`], which the pages are made from.
// A bench that cannot read an example has nothing to measure.
#![allow(clippy::unwrap_used)]

#[path = "../tests/common/mod.rs"]
mod common;

use common::Made;
use divan::Bencher;

fn main() {
    divan::main();
}

const NAMES: [&str; 5] =
    ["booklet-a4.pdf", "booklet-letter.pdf", "board-1-to-1.pdf", "labels.pdf", "door-cards.pdf"];

/// The files that are no pages: schedules, workbook, drawings, checklists.
#[divan::bench]
fn files(bencher: Bencher<'_, '_>) {
    let made = Made::example("heron");
    bencher.bench_local(|| made.files());
}

#[divan::bench(args = NAMES)]
fn pages(bencher: Bencher<'_, '_>, name: &str) {
    let made = Made::example("heron");
    let (inputs, files) = (made.inputs(), made.files());
    bencher.bench_local(|| booklet::paper(name, &inputs, &files, None));
}
