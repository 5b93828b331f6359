//! What a year of sun costs: `cargo bench -p energy --bench sun`.
//! Never: asserts times; it prints them.
//! Start at any bench.

use divan::Bencher;
use energy::site::{HOURS, Site};
use energy::sun::{Facing, ModuleModel, Plane, PlaneYear, SkyModel, SunYear, clear_sky, decompose};
use energy::weather::WeatherYear;
use model::Mounting;
use quantity::{Degrees, Metres};

fn main() {
    divan::main();
}

fn site() -> Site {
    Site::new(Degrees::new(45.0), Degrees::new(8.0), Metres::new(250.0))
}

/// Clear days and dull days in turn, so that the sky models meet every clearness.
fn weather(sun: &SunYear) -> WeatherYear {
    let clear = clear_sky(sun, &[3.0; 12]);
    let mut weather = WeatherYear::blank();
    for &hour in &sun.day_hours {
        let ghi = clear.ghi_w_m2[hour] * [1.0, 0.3, 0.7, 0.9, 0.5][hour / 24 % 5];
        weather.ghi_w_m2[hour] = ghi;
        (weather.dni_w_m2[hour], weather.dhi_w_m2[hour]) =
            decompose(ghi, sun.cos_zenith[hour], sun.extra_w_m2[hour]);
    }
    for hour in 0..HOURS {
        weather.air_c[hour] = 5.0 + (hour % 24) as f64;
        weather.wind_m_s[hour] = (hour % 7) as f64;
    }
    weather
}

#[divan::bench]
fn sun_year(bencher: Bencher) {
    bencher.bench(|| SunYear::new(divan::black_box(&site()), 2023, 30.0));
}

#[divan::bench]
fn clear_sky_year(bencher: Bencher) {
    let sun = SunYear::new(&site(), 2023, 30.0);
    bencher.bench(|| clear_sky(divan::black_box(&sun), &[3.0; 12]));
}

#[divan::bench(args = ["fixed", "averaged", "tiltable"])]
fn plane_year(bencher: Bencher, kind: &str) {
    let sun = SunYear::new(&site(), 2023, 30.0);
    let plane = match kind {
        "fixed" => Plane::tilted(Degrees::new(30.0), Facing::Fixed(Degrees::new(180.0))),
        "averaged" => Plane::tilted(Degrees::new(30.0), Facing::Averaged),
        _ => Plane { mounting: Mounting::Tiltable, ..Plane::tilted(Degrees::new(30.0), Facing::Averaged) },
    };
    bencher.bench(|| PlaneYear::new(divan::black_box(&sun), &plane));
}

#[divan::bench(args = [SkyModel::Isotropic, SkyModel::HayDavies, SkyModel::Perez])]
fn power_of_a_year(bencher: Bencher, sky: SkyModel) {
    let sun = SunYear::new(&site(), 2023, 30.0);
    let weather = weather(&sun);
    let plane = Plane { sky, ..Plane::tilted(Degrees::new(30.0), Facing::Averaged) };
    let year = PlaneYear::new(&sun, &plane);
    let module = ModuleModel::flush(400.0, -0.0035);
    let mut out = vec![0.0; HOURS];
    bencher.bench_local(|| year.power(divan::black_box(&weather), &module, &mut out));
}
