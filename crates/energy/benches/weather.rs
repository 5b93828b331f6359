//! Time to read a year of weather in each format: `cargo bench -p energy --bench weather`.
//! Never: measured data; the files are made here.
//! Start at [`main`].

#[path = "../tests/weather/files.rs"]
mod files;

use divan::Bencher;
use divan::counter::BytesCount;
use files::{NORTH, bytes};

fn main() {
    divan::main();
}

fn read(bencher: Bencher, lines: Vec<String>) {
    let file = bytes(&lines);
    bencher
        .counter(BytesCount::of_slice(&file))
        .bench(|| energy::weather::read("made.file", divan::black_box(&file)));
}

#[divan::bench]
fn epw(bencher: Bencher) {
    read(bencher, NORTH.epw());
}

#[divan::bench]
fn tmy3(bencher: Bencher) {
    read(bencher, NORTH.tmy3());
}

#[divan::bench]
fn tmy2(bencher: Bencher) {
    read(bencher, NORTH.tmy2());
}

#[divan::bench]
fn pvgis_typical_year(bencher: Bencher) {
    read(bencher, NORTH.pvgis_typical());
}

#[divan::bench]
fn pvgis_ten_years(bencher: Bencher) {
    read(bencher, NORTH.pvgis_hourly(2011..=2020, 0));
}
