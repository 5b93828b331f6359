//! The same hours as pvlib's own readers give (pvlib-python 0.16.1), on its shipped files, on measured ones and on made ones.
//! Never: goes on without pvlib; a check that did not run is a failure.
//! Start at [`is_as_pvlib_reads`].

use crate::files::{NORTH, bytes};
use crate::{has, is_sound};
use energy::sun::SunYear;
use energy::weather::{Format, Series, read, summary};
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// One hour by pvlib: hour of the year and GHI, DNI, DHI, air, wind.
struct Hour {
    hour: usize,
    values: [f64; 5],
}

/// What pvlib makes of a file: its path, then latitude, longitude, zone, altitude, then the hours.
fn pvlib(kind: &str, file: &str, zone: i64) -> (PathBuf, Vec<f64>, Vec<Hour>) {
    let python = root().join("target/pvlib/bin/python");
    assert!(
        python.exists(),
        "pvlib is missing, which the weather readers are held against: run `checks/pvlib/setup` once (scripts/test does it)"
    );
    let script = root().join("checks/pvlib/weather.py");
    let run = Command::new(python)
        .arg(script)
        .args([kind, file, &zone.to_string()])
        .output()
        .expect("python starts");
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let text = String::from_utf8(run.stdout).expect("text");
    let mut lines = text.lines();
    let mut head = lines.next().expect("a first line").rsplitn(5, ',').collect::<Vec<_>>();
    let path = PathBuf::from(head.pop().expect("a path"));
    let place = head.iter().rev().map(|value| value.parse().expect("a number")).collect();
    let starts = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334];
    let hours = lines.map(|line| {
        let fields: Vec<f64> = line.split(',').map(|value| value.parse().expect("a number")).collect();
        let (month, day, clock) = (fields[1] as usize, fields[2] as usize, fields[3] as usize);
        let values = std::array::from_fn(|at| fields[4 + at]);
        Hour { hour: (starts[month - 1] + day - 1) * 24 + clock, values }
    });
    let hours = hours.collect();
    (path, place, hours)
}

/// Every value of every hour is the same number, and so are place and sums of the year.
#[track_caller]
fn is_as_pvlib_reads(kind: &str, file: &str, zone: i64) -> Series {
    let (path, place, hours) = pvlib(kind, file, zone);
    let content = std::fs::read(&path).expect("the file");
    let series = read(file, &content).unwrap_or_else(|problems| panic!("{problems:#?}"));
    is_sound(&series);
    let site = series.site;
    let ours = [site.latitude.get(), site.longitude.get(), site.zone.get(), site.altitude.get()];
    assert!(ours.iter().zip(&place).all(|(a, b)| (a - b).abs() < 1e-9), "{ours:?} {place:?}");
    assert_eq!(hours.len(), 8760);
    let year = &series.year;
    let lists = [&year.ghi_w_m2, &year.dni_w_m2, &year.dhi_w_m2, &year.air_c, &year.wind_m_s];
    for Hour { hour, values } in &hours {
        for (at, list) in lists.iter().enumerate() {
            // Both parse the same digits; what is not in the file is NaN there. TMY2 is scaled, by ÷ 10 and × 0.1.
            let is_same = values[at].is_nan() || (list[*hour] - values[at]).abs() < 1e-9;
            assert!(is_same, "hour {hour}, value {at}: {} and pvlib {}", list[*hour], values[at]);
        }
    }
    for (at, list) in lists.iter().enumerate() {
        let theirs: f64 = hours.iter().map(|hour| hour.values[at]).sum();
        let ours: f64 = list.iter().sum();
        assert!(
            theirs.is_nan() || (ours - theirs).abs() < 1e-6 * theirs.abs(),
            "value {at}: {ours} and {theirs}"
        );
    }
    series
}

/// The file's own law, `GHI = DNI · cos(zenith) + DHI`, holds best with the sun where we say that it stands in the hour:
/// not an hour earlier or later, nor half an hour; and then within 1.5 % of the year's GHI, of which an hour's mean of the
/// cosine taken at its middle and the printed whole watts are the larger part.
#[track_caller]
fn closes_at_its_minute(series: &Series) {
    let fails = |minutes: f64| {
        let sun = SunYear::new(&series.site, 2023, series.minutes_into_hour + minutes);
        let year = &series.year;
        let miss = |hour: usize| {
            let made = year.dni_w_m2[hour] * sun.cos_zenith[hour].max(0.0) + year.dhi_w_m2[hour];
            (made - year.ghi_w_m2[hour]).abs()
        };
        (0..8760).map(miss).sum::<f64>() / year.ghi_w_m2.iter().sum::<f64>()
    };
    let here = fails(0.0);
    for minutes in [-60.0, -30.0, 30.0, 60.0] {
        assert!(fails(minutes) > 1.5 * here, "{} {minutes}: {} against {here}", series.title, fails(minutes));
    }
    assert!(here < 0.015, "{}: {here}", series.title);
}

#[test]
fn shipped_typical_years() {
    for (kind, file, zone, format) in [
        ("tmy3", "pvlib:703165TY.csv", -9, Format::Tmy3),
        ("tmy3", "pvlib:723170TYA.CSV", -5, Format::Tmy3),
        ("tmy2", "pvlib:12839.tm2", -5, Format::Tmy2),
    ] {
        let series = is_as_pvlib_reads(kind, file, zone);
        assert_eq!((series.format, series.notes.as_slice()), (format, [].as_slice()), "{file}");
        closes_at_its_minute(&series);
    }
}

#[test]
fn made_files() {
    let folder = tempfile::tempdir().expect("a folder");
    let hourly: Vec<String> = NORTH.pvgis_hourly(2015..=2015, 0);
    for (kind, lines) in [
        ("epw", NORTH.epw()),
        ("pvgis-tmy", NORTH.pvgis_typical()),
        ("pvgis-hourly", hourly.iter().filter(|line| !line.contains("0229:")).cloned().collect()),
    ] {
        let path = folder.path().join(format!("{kind}.csv"));
        std::fs::write(&path, bytes(&lines)).expect("a file");
        // The series of one year in UTC reaches into the next: pvlib's last hour is our joined first one, of the same name.
        if kind != "pvgis-hourly" {
            is_as_pvlib_reads(kind, &path.to_string_lossy(), 1);
        } else {
            let (_, _, hours) = pvlib(kind, &path.to_string_lossy(), 1);
            let series = read(kind, &bytes(&lines)).expect("readable");
            for Hour { hour, values } in &hours {
                assert!((series.year.ghi_w_m2[*hour] - values[0]).abs() < 1e-9, "hour {hour}");
                assert_eq!((series.year.air_c[*hour], series.year.wind_m_s[*hour]), (values[3], values[4]));
            }
        }
    }
}

/// Files that are not ours to ship: held where they lie beside the project's folder, told where they do not.
#[test]
fn sample_files_beside_the_repository() {
    let folder =
        std::env::var_os("WATTWAIN_WEATHER").map_or_else(|| root().join("../shared/weather"), PathBuf::from);
    if !folder.is_dir() {
        println!(
            "not held: {} is not there; set WATTWAIN_WEATHER to the folder of the files",
            folder.display()
        );
        return;
    }
    let name = |file: &str| folder.join(file).to_string_lossy().into_owned();
    let csv = name("tmy_45.000_8.000_2005_2023.csv");
    let epw = name("tmy_45.000_8.000_2005_2023.epw");
    is_as_pvlib_reads("pvgis-tmy", &csv, 1);
    // The header names UTC+1, yet the hours are those of the CSV file in UTC; pvlib is told so, we find it by the sun.
    is_as_pvlib_reads("epw-utc", &epw, 1);
    let open = |path: &str| {
        read(path, &std::fs::read(path).expect("the file")).unwrap_or_else(|problems| panic!("{problems:#?}"))
    };
    let (csv, epw) = (open(&csv), open(&epw));
    assert!(has(&epw, "clock-is-utc") && !has(&csv, "clock-against-sun"), "{:?}", epw.notes);
    assert!((csv.minutes_into_hour - epw.minutes_into_hour).abs() < 1e-6);
    assert_eq!(csv.year.air_c, epw.year.air_c);
    for hour in 0..8760 {
        // The EPW file prints two decimals of the irradiance and one of the wind.
        assert!((csv.year.ghi_w_m2[hour] - epw.year.ghi_w_m2[hour]).abs() < 0.0051, "hour {hour}");
        assert!((csv.year.wind_m_s[hour] - epw.year.wind_m_s[hour]).abs() < 0.051, "hour {hour}");
    }
    closes_at_its_minute(&csv);
    closes_at_its_minute(&epw);
    let months = summary(&csv);
    assert!(months[6].ghi_kwh_m2_day > 5.0 && months[11].ghi_kwh_m2_day < 2.0, "{months:?}");
    let hourly = name("pvgis_hourly_Timeseries_45.000_8.000_SA_30deg_0deg_2016_2016.csv");
    let problems = read(&hourly, &std::fs::read(&hourly).expect("the file")).expect_err("an inclined plane");
    assert!(problems[0].line == 7 && problems[0].mend.contains("slope 0°"), "{problems:#?}");
}
