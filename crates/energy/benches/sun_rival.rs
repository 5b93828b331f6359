//! A year of one array, from the sun's position to watts, against vectorised pvlib and numpy on the same machine in one
//! run: `checks/pvlib/setup && cargo bench -p energy --bench sun_rival`. Both compute 8760 hours under a clear sky on a
//! tilted plane under Perez, cells by King, power with low light; only computing counts, best of several runs. The library's
//! clock runs inside its process, after one warm import.
//! Never: asserts times; it prints them.
//! Start at `main`.
#![allow(clippy::print_stdout)] // Its table is what it is for.

#[path = "../tests/pvlib/mod.rs"]
mod pvlib;

use std::hint::black_box;
use std::time::Instant;

use energy::site::{HOURS, Site};
use energy::sun::{
    CellModel, Facing, LowLight, ModuleModel, Plane, PlaneYear, SunYear, beam_through_glass, clear_sky,
};
use energy::weather::WeatherYear;
use quantity::{Degrees, Fraction, Metres};
use serde_json::json;

const REPEATS: usize = 20;

fn main() {
    let site = Site::new(Degrees::new(45.0), Degrees::new(8.0), Metres::new(250.0));
    let air: Vec<f64> = (0..HOURS).map(|hour| 5.0 + (hour % 24) as f64).collect();
    let wind: Vec<f64> = (0..HOURS).map(|hour| (hour % 7) as f64).collect();
    let low_light = LowLight::silicon();
    let (rated_w, gamma) = (400.0, -0.0035);
    let theirs = pvlib::ask(
        "time",
        &json!({
            "site": {"latitude": 45.0, "longitude": 8.0, "altitude": 250.0, "zone": 1},
            "tilt": 30.0, "azimuth": 180.0, "air": air, "wind": wind, "repeats": REPEATS,
            "rated_w": rated_w, "gamma": gamma, "k1": low_light.k1, "k2": low_light.k2,
        }),
    );
    let step = |name: &str| theirs["steps"][name].as_f64().unwrap_or(f64::NAN);

    let sun_s = best(|| SunYear::new(black_box(&site), 2023, 30.0));
    let sun = SunYear::new(&site, 2023, 30.0);
    let sky_s = best(|| clear_sky(black_box(&sun), &[3.0; 12]));
    let sky = clear_sky(&sun, &[3.0; 12]);
    let weather = WeatherYear {
        ghi_w_m2: sky.ghi_w_m2,
        dni_w_m2: sky.dni_w_m2,
        dhi_w_m2: sky.dhi_w_m2,
        air_c: air,
        wind_m_s: wind,
    };
    let plane = Plane {
        soiling: Fraction::zero(),
        ..Plane::tilted(Degrees::new(30.0), Facing::Fixed(Degrees::new(180.0)))
    };
    let _ = beam_through_glass(1.0); // Tables are read once, before any clock.
    let plane_s = best(|| PlaneYear::new(black_box(&sun), &plane));
    let year = PlaneYear::new(&sun, &plane);
    let model = ModuleModel::new(rated_w, gamma, 0.0, CellModel::flush(), low_light);
    let mut watts = vec![0.0; HOURS];
    let power_s = best(|| year.power(black_box(&weather), &model, &mut watts));

    println!("one year, 8760 hours, times in µs         pvlib + numpy        ours     ratio");
    let line = |name: &str, theirs: f64, ours: f64| {
        println!("{name:<40} {:>14.0} {:>11.1} {:>9.0}", theirs * 1e6, ours * 1e6, theirs / ours);
    };
    let per_plane = step("transposition") + step("temperature") + step("power");
    line("position (ours: and airmass)", step("position"), sun_s);
    line("clear sky (theirs: and airmass)", step("clear sky"), sky_s);
    line("plane (ours: geometry and glass, power)", per_plane, plane_s + power_s);
    line(
        "everything, first year of a site",
        step("position") + step("clear sky") + per_plane,
        sun_s + sky_s + plane_s + power_s,
    );
    line("one more weather year on the same plane", per_plane, power_s);
    let ours_kwh = watts.iter().sum::<f64>() / 1000.0;
    println!(
        "the year gives {:.1} kWh there, {ours_kwh:.1} kWh here (ours passes through glass)",
        theirs["year_kwh"].as_f64().unwrap_or(f64::NAN)
    );
}

/// Seconds of the fastest of several runs.
fn best<T>(mut work: impl FnMut() -> T) -> f64 {
    let mut best = f64::INFINITY;
    // What lies above the first result keeps the allocator from giving its memory back to the system and fetching it again, which
    // would be timed; the library's arrays are kept by its own allocator likewise.
    let first = work();
    let pin = black_box(vec![1_u8; 64 * 1024]);
    drop(first);
    for _ in 0..REPEATS * 5 {
        let start = Instant::now();
        black_box(work());
        best = best.min(start.elapsed().as_secs_f64());
    }
    drop(pin);
    best
}
