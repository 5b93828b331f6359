//! A year of weather drawn from a climate, and what making a climate ready costs: `cargo bench -p energy --bench generator`.
//! Never: asserts times; it prints them. Start at `year`.

use divan::Bencher;
use energy::climate::{Climate, Generator, place};
use energy::sun::SunYear;
use energy::weather::WeatherYear;
use quantity::Degrees;

fn main() {
    divan::main();
}

fn ready(latitude: f64) -> (Climate, SunYear) {
    let climate = Climate::at(&place(Degrees::new(latitude), Degrees::new(9.0)), None);
    let sun = SunYear::new(&climate.site, 2025, 30.0);
    (climate, sun)
}

/// One drawn year by latitude; the goal is 120 µs.
#[divan::bench(args = [0.0, 50.0, 65.0])]
fn year(bencher: Bencher, latitude: f64) {
    let (climate, sun) = ready(latitude);
    let generator = Generator::new(&climate, &sun);
    let mut out = WeatherYear::blank();
    let mut index = 0;
    bencher.bench_local(|| {
        generator.year(1, index, &mut out);
        index += 1;
        out.ghi_w_m2[12]
    });
}

/// Making a climate ready, once a site.
#[divan::bench]
fn new(bencher: Bencher) {
    let (climate, sun) = ready(50.0);
    bencher.bench_local(|| Generator::new(&climate, &sun));
}

#[divan::bench]
fn typical(bencher: Bencher) {
    let (climate, sun) = ready(50.0);
    let generator = Generator::new(&climate, &sun);
    let mut out = WeatherYear::blank();
    bencher.bench_local(|| generator.typical(1, &mut out));
}
