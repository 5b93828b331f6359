//! The sun, the clear sky, planes, cells and power against pvlib 0.16.1, hour by hour over whole years.
//! Never: passes where pvlib is missing (see `pvlib/mod.rs`); reads irradiance by our own readers.
//! Start at any test; each names its bound.
#![allow(clippy::print_stdout, clippy::unwrap_used)] // How close it comes is worth reading: `-- --nocapture`.

mod pvlib;

use energy::site::{HOURS, Site};
use energy::sun::{CellModel, Facing, LowLight, ModuleModel, Plane, PlaneYear, SkyModel, SunYear, clear_sky};
use energy::weather::WeatherYear;
use pvlib::{ask, list};
use quantity::{Degrees, Fraction, Hours, Metres};
use serde_json::{Value, json};

fn site(of: &Value) -> Site {
    let number = |key: &str| of[key].as_f64().expect("a number");
    Site {
        latitude: Degrees::new(number("latitude")),
        longitude: Degrees::new(number("longitude")),
        altitude: Metres::new(number("altitude")),
        zone: Hours::new(number("zone")),
    }
}

/// The largest difference of two lists beyond an absolute floor, as a share of theirs, with its hour.
fn worst_share(ours: &[f64], theirs: &[f64], floor: f64, counts: impl Fn(usize) -> bool) -> (f64, usize) {
    assert_eq!((ours.len(), theirs.len()), (HOURS, HOURS));
    let mut worst = (0.0, 0);
    for hour in (0..HOURS).filter(|hour| counts(*hour)) {
        let beyond = ((ours[hour] - theirs[hour]).abs() - floor).max(0.0);
        let share = beyond / theirs[hour].abs().max(floor);
        assert!(share.is_finite(), "hour {hour}: {} against {}", ours[hour], theirs[hour]);
        if share > worst.0 {
            worst = (share, hour);
        }
    }
    worst
}

/// How far the sum of a year is off, as a share of theirs, over the hours that count.
fn share_of_year(ours: &[f64], theirs: &[f64], counts: impl Fn(usize) -> bool) -> f64 {
    let sum = |list: &[f64]| (0..HOURS).filter(|hour| counts(*hour)).map(|hour| list[hour]).sum::<f64>();
    sum(ours) / sum(theirs) - 1.0
}

/// Light below which a difference is not judged [W/m²]: a lamp's worth, at sunrise and sunset, where an error of
/// 0.0001° in the zenith shows as a share.
const FLOOR_W_M2: f64 = 0.05;

#[test]
fn sun_and_clear_sky_over_a_year_at_eight_places() {
    let places = json!([
        {"latitude": 0.0, "longitude": 32.6, "altitude": 1150.0, "zone": 3, "year": 2023},
        {"latitude": -0.18, "longitude": -78.47, "altitude": 2850.0, "zone": -5, "year": 2024},
        {"latitude": 45.0, "longitude": 8.0, "altitude": 250.0, "zone": 1, "year": 2023},
        {"latitude": 39.74, "longitude": -104.99, "altitude": 1609.0, "zone": -7, "year": 2019},
        {"latitude": 69.65, "longitude": 18.96, "altitude": 10.0, "zone": 1, "year": 2025},
        {"latitude": -42.88, "longitude": 147.33, "altitude": 50.0, "zone": 10, "year": 2022},
        {"latitude": -89.0, "longitude": -40.0, "altitude": 2800.0, "zone": 12, "year": 2023},
        {"latitude": 27.7, "longitude": 85.32, "altitude": 1400.0, "zone": 5.75, "year": 2028}
    ]);
    let linke = [2.7, 2.7, 4.05, 3.7, 3.85, 3.8, 3.95, 3.75, 4.0, 3.6, 2.9, 2.65];
    let answer = ask("sun", &json!({"places": places, "linke": linke}));
    for (place, theirs) in places.as_array().unwrap().iter().zip(answer["places"].as_array().unwrap()) {
        let year = place["year"].as_i64().unwrap() as i32;
        let sun = SunYear::new(&site(place), year, 30.0);
        let zenith = list(theirs, "zenith");
        let gap = |ours: &[f64], key: &str| {
            let theirs = list(theirs, key);
            ours.iter().zip(theirs).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
        };
        let (true_gap, apparent_gap) =
            (gap(&sun.zenith_deg, "zenith"), gap(&sun.apparent_zenith_deg, "apparent_zenith"));
        let azimuths = list(theirs, "azimuth");
        // Near the zenith a hair of zenith is a turn of azimuth: what counts is the way across the sky.
        let azimuth_gap = (0..HOURS)
            .map(|hour| {
                let turn = (sun.azimuth_deg[hour] - azimuths[hour] + 180.0).rem_euclid(360.0) - 180.0;
                turn.abs() * zenith[hour].to_radians().sin()
            })
            .fold(0.0, f64::max);
        println!(
            "{place}\n  zenith within {true_gap:.6}°, apparent {apparent_gap:.6}°, azimuth {azimuth_gap:.6}°"
        );
        assert!(true_gap < 0.001 && azimuth_gap < 0.001 && apparent_gap < 0.001);
        assert!(worst_share(&sun.extra_w_m2, &list(theirs, "extra"), 0.0, |_| true).0 < 1e-5);
        let sky = clear_sky(&sun, &linke);
        // pvlib gives a trace of light up to refraction's end; ours ends where the apparent sun sets.
        for (key, ours) in [("ghi", &sky.ghi_w_m2), ("dni", &sky.dni_w_m2), ("dhi", &sky.dhi_w_m2)] {
            let (worst, hour) = worst_share(ours, &list(theirs, key), FLOOR_W_M2, |_| true);
            println!("  clear-sky {key} within {:.4} % (hour {hour})", worst * 100.0);
            assert!(worst < 0.005, "{key}, hour {hour}");
        }
    }
}

const SKIES: [(&str, SkyModel); 3] =
    [("isotropic", SkyModel::Isotropic), ("hay_davies", SkyModel::HayDavies), ("perez", SkyModel::Perez)];

/// Holds one weather file against pvlib on six planes under three skies.
fn hold_planes(file: &str) {
    let planes: [(f64, Option<f64>); 6] = [
        (0.0, Some(180.0)),
        (30.0, Some(180.0)),
        (60.0, Some(90.0)),
        (35.0, Some(225.0)),
        (90.0, Some(180.0)),
        (25.0, None),
    ];
    let all_round: Vec<f64> = (0..72).map(|at| f64::from(at) * 5.0).collect();
    let asked: Vec<Value> = planes
        .iter()
        .map(|(tilt, azimuth)| json!({"tilt": tilt, "azimuths": azimuth.map_or(all_round.clone(), |a| vec![a])}))
        .collect();
    let LowLight { k1, k2 } = LowLight::silicon();
    let gamma = -0.0035;
    let answer = ask(
        "plane",
        &json!({"file": file, "planes": asked, "albedo": 0.25, "k1": k1, "k2": k2, "gamma": gamma}),
    );
    let weather = WeatherYear {
        ghi_w_m2: list(&answer["weather"], "ghi"),
        dni_w_m2: list(&answer["weather"], "dni"),
        dhi_w_m2: list(&answer["weather"], "dhi"),
        air_c: list(&answer["weather"], "temp_air"),
        wind_m_s: list(&answer["weather"], "wind_speed"),
    };
    let zenith = list(&answer, "apparent_zenith");
    // A hair over the horizon the one may see the sun and the other not.
    let is_day = &|hour: usize| zenith[hour] < 89.999;
    // Hours with some light whose sun is down at the chosen minute are held under the even sky alone. For the others pvlib has
    // no answer there: its Perez gives no diffuse light, for want of an airmass, and its Hay-Davies divides by the cosine
    // of 89° and makes a beam of it.
    let counts = |sky: SkyModel| move |hour: usize| sky == SkyModel::Isotropic || is_day(hour);
    let minutes = answer["site"]["minutes"].as_f64().unwrap_or(30.0);
    let sun = SunYear::new(&site(&answer["site"]), 2023, minutes);
    let night_share =
        (0..HOURS).filter(|hour| !is_day(*hour)).map(|hour| weather.ghi_w_m2[hour]).sum::<f64>()
            / weather.ghi_w_m2.iter().sum::<f64>();
    println!("{file}: {:.3} % of the light falls in hours whose sun is down", night_share * 100.0);
    let mut out = vec![0.0; HOURS];
    for ((tilt, azimuth), theirs) in planes.iter().zip(answer["planes"].as_array().unwrap()) {
        let facing = azimuth.map_or(Facing::Averaged, |azimuth| Facing::Fixed(Degrees::new(azimuth)));
        for (key, sky) in SKIES {
            let plane = Plane {
                sky,
                albedo: Fraction::new(0.25),
                soiling: Fraction::zero(),
                ..Plane::tilted(Degrees::new(*tilt), facing)
            };
            let year = PlaneYear::new(&sun, &plane);
            year.incident(&weather, &mut out);
            let light = list(theirs, key);
            let (worst, hour) = worst_share(&out, &light, FLOOR_W_M2, is_day);
            let annual = share_of_year(&out, &light, counts(sky));
            println!(
                "  {tilt}° {azimuth:?} {key}: hourly within {:.4} % (hour {hour}: {} for {}), annual {:+.4} %",
                worst * 100.0,
                out[hour],
                light[hour],
                annual * 100.0
            );
            assert!(
                worst < 0.005,
                "{tilt}° {azimuth:?} {key} hour {hour}: {} for {}",
                out[hour],
                light[hour]
            );
            assert!(annual.abs() < 0.002, "{tilt}° {azimuth:?} {key}: annual {annual}");
            if sky != SkyModel::Perez {
                continue;
            }
            for (key, cell) in [("cell_sapm", CellModel::flush()), ("cell_faiman", CellModel::faiman())] {
                year.cell_temperature(&weather, &cell, &mut out);
                // Shares of a Celsius value mean nothing near 0 °C: a floor of 0.02 K.
                let (worst, hour) = worst_share(&out, &list(theirs, key), 0.02, is_day);
                println!("    {key}: within {:.4} % (hour {hour})", worst * 100.0);
                assert!(worst < 0.005, "{key} hour {hour}");
            }
            let model = ModuleModel::new(1000.0, gamma, 0.0, CellModel::flush(), LowLight::silicon());
            year.power(&weather, &model, &mut out);
            let watts: Vec<f64> = list(theirs, "power").iter().map(|share| share * 1000.0).collect();
            // Of 1000 W rated, half a watt: the table of the low-light curve starts with a straight line.
            let (worst, hour) = worst_share(&out, &watts, 0.5, is_day);
            let annual = share_of_year(&out, &watts, counts(sky));
            println!(
                "    power: within {:.4} % (hour {hour}), annual {:+.4} %",
                worst * 100.0,
                annual * 100.0
            );
            assert!(worst < 0.005, "power hour {hour}: {} for {}", out[hour], watts[hour]);
            assert!(annual.abs() < 0.002, "power: annual {annual}");
        }
    }
}

#[test]
fn planes_under_the_typical_year_of_an_island_in_the_north() {
    hold_planes("703165TY.csv");
}

#[test]
fn planes_under_the_typical_year_of_a_town_in_the_south_east() {
    hold_planes("723170TYA.CSV");
}

/// Files that are not ours to ship: held where they lie beside the project's folder, told where they do not.
#[test]
fn planes_under_files_beside_the_project() {
    let folder =
        std::env::var_os("WATTWAIN_WEATHER").map_or(pvlib::root().join("../shared/weather"), Into::into);
    for name in ["tmy_45.000_8.000_2005_2023.csv", "tmy_45.000_8.000_2005_2023.epw"] {
        let path = folder.join(name);
        match path.canonicalize() {
            Ok(path) => hold_planes(&path.to_string_lossy()),
            Err(_) => {
                println!("not held: {} is not there; set WATTWAIN_WEATHER to its folder", path.display())
            }
        }
    }
}
