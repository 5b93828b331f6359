//! Files with faults: each is a problem with its place, or a note that says what was assumed.
//! Never: a panic.
//! Start at any test.

use crate::files::{NORTH, Place, bytes};
use crate::{good, has, is_sound};
use energy::weather::{LARGEST_FILE, read};
use model::Problem;
use proptest::prelude::*;

#[track_caller]
fn problems(bytes: &[u8]) -> Vec<Problem> {
    let problems = read("made.file", bytes).expect_err("must be refused");
    assert!(!problems.is_empty());
    for problem in &problems {
        assert!(!problem.message.is_empty() && !problem.mend.is_empty(), "{problem:?}");
        assert!(problem.line >= 1 && problem.column >= 1 && problem.file == "made.file", "{problem:?}");
    }
    problems
}

/// Refused with one problem, in that line, saying that.
#[track_caller]
fn refused(bytes: &[u8], line: usize, says: &str) -> Problem {
    let problems = problems(bytes);
    assert!(
        problems.len() == 1 && problems[0].line == line && problems[0].message.contains(says),
        "{problems:#?}"
    );
    problems[0].clone()
}

/// Replaces the `at`th field of a line.
fn with(lines: &mut [String], line: usize, at: usize, value: &str) {
    let mut fields: Vec<&str> = lines[line - 1].split(',').collect();
    fields[at] = value;
    lines[line - 1] = fields.join(",");
}

#[test]
fn what_is_no_weather_file() {
    let says = |bytes: &[u8], says: &str| {
        let problem = refused(bytes, 1, says);
        assert_eq!(problem.span.start, 0);
    };
    says(b"", "empty");
    says(b"\xef\xbb\xbf \r\n\n", "empty");
    says(b"PK\x03\x04abc", "packed");
    says(&[0x1f, 0x8b, 1, 2], "packed");
    says(&[0xff, 0xfe, b'L', 0], "UTF-16");
    says(&[1, 2, 0, 200, 201], "zero bytes");
    says(b"<!doctype html>", "web page");
    says(b"{\"inputs\": 1}", "JSON");
    says(b"once upon a time\nthere was a year\n", "cannot be told");
    says(b"LOCATION;Lakeside;46,0;9,0", "semicolons");
}

#[test]
fn a_huge_file_is_refused() {
    refused(&vec![b'x'; LARGEST_FILE + 1], 1, "the most that is read");
}

#[test]
fn a_number_that_is_none() {
    for (value, says) in [
        ("x", "not a number"),
        ("nan", "not a number"),
        ("inf", "not a number"),
        ("1e999", "not a number"),
        ("1600", "not possible"),
        ("-100", "not possible"),
    ] {
        let mut lines = NORTH.epw();
        with(&mut lines, 4000, 13, value);
        let problem = refused(&bytes(&lines), 4000, says);
        assert_eq!(problem.field, "global horizontal radiation");
        assert_eq!(&bytes(&lines)[problem.span.clone()], value.as_bytes());
    }
    let mut lines = NORTH.epw();
    with(&mut lines, 9, 6, "-95");
    refused(&bytes(&lines), 9, "air temperature -95 °C is not possible");
    let mut lines = NORTH.tmy3();
    with(&mut lines, 77, 2, "-1");
    refused(&bytes(&lines), 77, "wind speed -1 m/s");
}

// With CRLF and quotes in the header the lines still count.
#[test]
fn places_are_right_with_crlf() {
    let mut lines = NORTH.tmy3();
    with(&mut lines, 5000, 3, "oops");
    let problem = refused(lines.join("\r\n").as_bytes(), 5000, "`oops`");
    let before: usize = lines[4999].split(',').take(3).map(|field| field.len() + 1).sum();
    assert_eq!(problem.column, before + 1);
}

#[test]
fn every_fault_is_told_up_to_a_number() {
    let mut lines = NORTH.epw();
    for line in 100..300 {
        with(&mut lines, line, 13, "x");
    }
    let problems = problems(&bytes(&lines));
    assert_eq!((problems.len(), problems[0].line, problems[39].line), (40, 100, 139));
    assert!(problems[39].message.contains("160 more"), "{}", problems[39].message);
}

#[test]
fn a_little_below_zero_is_zero() {
    let mut lines = NORTH.epw();
    with(&mut lines, 9, 13, "-3");
    with(&mut lines, 10, 14, "-0.0");
    let series = good(&bytes(&lines));
    assert!(series.notes.len() == 1 && has(&series, "negative-irradiance") && series.notes[0].line == 9);
    is_sound(&series);
}

#[test]
fn wrong_columns_and_a_cut_end() {
    let mut lines = NORTH.epw();
    lines[499].push_str(",1");
    refused(&bytes(&lines), 500, "36 columns; 35 are wanted");
    let mut lines = NORTH.epw();
    lines[499] = lines[499].replace(',', ";");
    refused(&bytes(&lines), 500, "semicolons");
    // Decimal commas make more columns.
    let mut lines = NORTH.pvgis_typical();
    lines[999] = lines[999].replace('.', ",");
    refused(&bytes(&lines), 1000, "columns");
    let mut whole = bytes(&NORTH.epw());
    whole.truncate(whole.len() - 60);
    let problem = refused(&whole, 8768, "ends in the middle");
    assert!(problem.mend.contains("cut short"));
    // Cut after a line, and then in the header.
    let lines = NORTH.epw();
    refused(&bytes(&lines[..5000]), 5000, "3768 hours are missing, 28 Jul 00:00 to 31 Dec 23:00");
    refused(&bytes(&lines[..5]), 1, "no line `DATA PERIODS`");
    refused(&bytes(&lines[..8]), 1, "no hours");
    refused(&bytes(&NORTH.pvgis_typical()[..10]), 1, "column names");
    refused(&bytes(&NORTH.pvgis_typical()[..18]), 18, "no hours");
}

#[test]
fn short_gaps_are_filled_and_long_ones_told() {
    let mut lines = NORTH.epw();
    // Six hours around noon of 11 January: lines 9 + 10 · 24 + 9 onwards.
    let first = 9 + 10 * 24 + 9;
    lines.drain(first - 1..first + 5);
    let series = good(&bytes(&lines));
    let note = &series.notes[0];
    assert_eq!((note.id.as_str(), note.line, series.notes.len()), ("hours-filled", first - 1, 1));
    assert!(note.message.contains(&format!("lines {} and {first}", first - 1)), "{}", note.message);
    let hour = 10 * 24 + 12;
    let around = (NORTH.weather(hour - 24, 30.0), NORTH.weather(hour + 24, 30.0));
    assert_eq!(series.year.ghi_w_m2[hour], (around.0.ghi + around.1.ghi) / 2.0);
    let (from, to) = (NORTH.weather(hour - 4, 30.0).air, NORTH.weather(hour + 3, 30.0).air);
    assert!((series.year.air_c[hour] - (from + (to - from) * 4.0 / 7.0)).abs() < 1e-9);
    lines.remove(first - 1);
    refused(&bytes(&lines), first - 1, "7 hours are missing, 11 Jan 09:00 to 11 Jan 15:00");
}

#[test]
fn missing_codes_are_gaps() {
    let mut lines = NORTH.epw();
    for line in 1000..1006 {
        with(&mut lines, line, 6, "99.9");
    }
    let series = good(&bytes(&lines));
    assert!(has(&series, "value-missing"));
    is_sound(&series);
    with(&mut lines, 1006, 6, "99.9");
    refused(&bytes(&lines), 1000, "air temperature is missing in 7 hours");
}

#[test]
fn components_are_computed_where_one_is_missing() {
    let whole = good(&bytes(&NORTH.epw()));
    let noon = 150 * 24 + 12;
    let without = |columns: &[usize]| {
        let mut lines = NORTH.epw();
        for line in 9..=8768 {
            columns.iter().for_each(|at| with(&mut lines, line, *at, "9999"));
        }
        let series = good(&bytes(&lines));
        is_sound(&series);
        series
    };
    let sum = |values: &[f64]| values.iter().sum::<f64>();
    let near = |a: &[f64], b: &[f64], within: f64| {
        let ratio = sum(a) / sum(b);
        assert!((ratio - 1.0).abs() < within, "{ratio}");
    };
    // The made sun has no equation of time, which moves single hours; sums stay.
    let series = without(&[14]);
    assert!(has(&series, "irradiance-closed"));
    near(&series.year.dni_w_m2, &whole.year.dni_w_m2, 0.03);
    let series = without(&[15]);
    near(&series.year.dhi_w_m2, &whole.year.dhi_w_m2, 0.05);
    let series = without(&[13]);
    near(&series.year.ghi_w_m2, &whole.year.ghi_w_m2, 0.01);
    // From the global alone: the sum of both parts is the global again.
    let series = without(&[14, 15]);
    assert!(has(&series, "irradiance-split"));
    assert_eq!(series.year.ghi_w_m2, whole.year.ghi_w_m2);
    assert!(series.year.dhi_w_m2[noon] > 0.0 && series.year.dhi_w_m2[noon] < series.year.ghi_w_m2[noon]);
    // Nothing at all.
    let mut lines = NORTH.epw();
    (9..=8768).for_each(|line| [13, 14, 15].iter().for_each(|at| with(&mut lines, line, *at, "9999")));
    assert!(problems(&bytes(&lines))[0].message.contains("global irradiance is missing"));
}

#[test]
fn a_file_without_wind_or_sun() {
    let mut lines = NORTH.epw();
    (9..=8768).for_each(|line| with(&mut lines, line, 21, "999"));
    let series = good(&bytes(&lines));
    assert!(has(&series, "wind-assumed") && series.year.wind_m_s.iter().all(|wind| *wind == 1.0));
    let mut lines = NORTH.epw();
    (9..=8768).for_each(|line| [13, 14, 15].iter().for_each(|at| with(&mut lines, line, *at, "0")));
    refused(&bytes(&lines), 1, "no sun");
}

#[test]
fn leap_days_are_left_out() {
    let mut lines = NORTH.epw();
    let march = 8 + 59 * 24;
    let leap: Vec<String> =
        (0..24).map(|hour| lines[march - 24 + hour].replacen(",2,28,", ",2,29,", 1)).collect();
    lines.splice(march..march, leap);
    let series = good(&bytes(&lines));
    assert!(series.notes.len() == 1 && has(&series, "leap-day-dropped") && series.notes[0].line == march + 1);
    assert_eq!(series.year, good(&bytes(&NORTH.epw())).year);
}

#[test]
fn an_hour_may_stand_once() {
    let mut lines = NORTH.epw();
    lines.insert(200, lines[199].clone());
    let series = good(&bytes(&lines));
    assert!(has(&series, "hour-twice") && series.notes[0].line == 201);
    with(&mut lines, 201, 6, "30");
    let problem = refused(&bytes(&lines), 201, "a second time, with other values than in line 200");
    assert!(problem.mend.contains("summer time"));
}

#[test]
fn dates_and_hours_that_are_none() {
    for (at, value, says) in [
        (1, "13", "not a date"),
        (2, "32", "not a date"),
        (3, "25", "none of 1 to 24"),
        (3, "0", "none of 1 to 24"),
        (0, "99999", "not a date"),
    ] {
        let mut lines = NORTH.epw();
        with(&mut lines, 300, at, value);
        assert!(problems(&bytes(&lines))[0].message.contains(says));
    }
    for (at, value, says) in [
        (0, "1988-01-01", "not a date"),
        (0, "02/30/1988", "not a date"),
        (1, "00:00", "none of 01:00"),
        (1, "13:30", "none of 01:00"),
    ] {
        let mut lines = NORTH.tmy3();
        with(&mut lines, 300, at, value);
        assert!(problems(&bytes(&lines))[0].message.contains(says));
    }
    for value in ["20050101", "20051301:0000", "2005010é:0000", "20050101:2400"] {
        let mut lines = NORTH.pvgis_typical();
        with(&mut lines, 300, 0, value);
        assert!(problems(&bytes(&lines))[0].message.contains("not a time"));
    }
    let mut lines = NORTH.pvgis_hourly(2015..=2015, 0);
    with(&mut lines, 50, 0, "20150102:1640");
    assert!(problems(&bytes(&lines))[0].message.contains("other minutes"));
}

#[test]
fn a_place_that_is_none() {
    for (at, value, says) in [
        (6, "95", "latitude"),
        (7, "east", "longitude"),
        (8, "", "time zone is missing"),
        (9, "1e9", "altitude"),
    ] {
        let mut lines = NORTH.epw();
        with(&mut lines, 1, at, value);
        refused(&bytes(&lines), 1, says);
    }
    let mut lines = NORTH.pvgis_typical();
    lines[0] = "Latitude (decimal degrees): north".into();
    refused(&bytes(&lines), 1, "latitude");
    lines.remove(0);
    refused(&bytes(&lines), 1, "cannot be told");
    let mut lines = NORTH.pvgis_typical();
    lines.remove(1);
    refused(&bytes(&lines), 1, "no line `Longitude");
}

#[test]
fn fixed_columns_that_are_spoiled() {
    let spoiled = |line: usize, from: usize, with: &str| {
        let mut lines = NORTH.tmy2();
        lines[line - 1].replace_range(from..from + with.len(), with);
        bytes(&lines)
    };
    assert!(refused(&spoiled(90, 17, "0x00"), 90, "`0x00` is not a number").column == 18);
    assert!(refused(&spoiled(90, 67, "0999"), 90, "air temperature 99.9").column == 68);
    let problems = problems(&spoiled(90, 3, "13"));
    assert!(problems[0].line == 90 && problems[0].message.contains("is not a year, month, day and hour"));
    assert!(has(&good(&spoiled(90, 67, "9999")), "value-missing"));
    let at = NORTH.tmy2()[0].find(" N ").expect("the letter") + 1;
    refused(&spoiled(1, at, "Q"), 1, "neither N nor S");
    refused(&spoiled(1, at + 2, "999"), 1, "not a latitude");
    let mut lines = NORTH.tmy2();
    lines[499].truncate(60);
    refused(&bytes(&lines), 500, "60 characters");
}

#[test]
fn an_inclined_plane_is_refused() {
    let lines = NORTH.pvgis_hourly(2015..=2015, 30);
    let problem = refused(&bytes(&lines), 7, "a slope of 30°");
    assert!(problem.mend.contains("slope 0°"));
}

#[test]
fn more_than_one_record_an_hour() {
    let mut lines = NORTH.epw();
    lines[7] = lines[7].replacen("1,1", "1,4", 1);
    refused(&bytes(&lines), 8, "`4` records an hour");
}

#[test]
fn part_years_of_a_series() {
    let lines = NORTH.pvgis_hourly(2015..=2016, 0);
    let series = good(&bytes(&lines[..9 + 8760 + 2000]));
    assert!(has(&series, "part-year-dropped") && series.calendar_years == [2015] && series.more.is_empty());
    assert!(problems(&bytes(&lines[..9 + 14]))[0].message.contains("hours are missing"));
    let mut holed = lines.clone();
    holed.drain(12_000..12_100);
    assert!(problems(&bytes(&holed))[0].message.contains("100 hours are missing"));
}

#[test]
fn clocks_zones_and_seasons_that_disagree() {
    let mut lines = NORTH.epw();
    with(&mut lines, 1, 8, "6");
    let series = good(&bytes(&lines));
    assert!(
        has(&series, "zone-far-from-longitude") && has(&series, "clock-against-sun"),
        "{:?}",
        series.notes
    );
    // A zone that the law gives and the sun confirms: China's far west.
    let series = good(&bytes(&Place { latitude: 39.5, longitude: 76.0, zone: 8.0 }.epw()));
    assert!(
        has(&series, "zone-far-from-longitude") && !has(&series, "clock-against-sun"),
        "{:?}",
        series.notes
    );
    // Across the date line.
    let series = good(&bytes(&Place { latitude: -21.0, longitude: -175.0, zone: 13.0 }.epw()));
    assert_eq!(series.notes, []);
    let mut lines = NORTH.epw();
    with(&mut lines, 1, 6, "-46");
    assert!(has(&good(&bytes(&lines)), "seasons-against-latitude"));
}

// EPW files of PVGIS name a zone and yet count in UTC; the sun tells.
#[test]
fn an_epw_of_pvgis_counts_in_utc() {
    let utc = Place { zone: 0.0, ..NORTH };
    let mut lines = NORTH.epw();
    lines[6] = "COMMENTS 2,Irradiance Time Offset (h):-0.8239".into();
    for hour in 0..8760 {
        lines[8 + hour] = NORTH.epw_line(2005, hour, utc.weather(hour, 10.566));
    }
    let series = good(&bytes(&lines));
    assert!(has(&series, "clock-is-utc") && !has(&series, "clock-against-sun"), "{:?}", series.notes);
    assert!((series.minutes_into_hour - 10.566).abs() < 1e-9);
    assert_eq!(series.year.ghi_w_m2[13], utc.weather(12, 10.566).ghi);
    // Were the hours those of the header, they would be kept.
    for hour in 0..8760 {
        lines[8 + hour] = NORTH.epw_line(2005, hour, NORTH.weather(hour, 10.566));
    }
    let series = good(&bytes(&lines));
    assert!(!has(&series, "clock-is-utc"));
    assert_eq!(series.year.ghi_w_m2[13], NORTH.weather(13, 10.566).ghi);
}

/// The five kinds of file, each as bytes.
fn samples() -> Vec<Vec<u8>> {
    vec![
        bytes(&NORTH.epw()),
        bytes(&NORTH.tmy3()),
        bytes(&NORTH.pvgis_typical()),
        bytes(&NORTH.pvgis_hourly(2015..=2015, 0)),
        bytes(&NORTH.tmy2()),
    ]
}

/// A year, or problems that are in the file.
fn is_answered(bytes: &[u8]) {
    match read("made.file", bytes) {
        Ok(series) => is_sound(&series),
        Err(problems) => {
            assert!(!problems.is_empty());
            let length = energy::weather::text(bytes).len();
            assert!(
                problems
                    .iter()
                    .all(|problem| problem.span.start <= problem.span.end && problem.span.end <= length)
            );
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_are_answered(bytes in prop::collection::vec(any::<u8>(), 0..2000), head in 0..5usize) {
        let start: &[u8] = [
            b"".as_slice(),
            b"LOCATION,a,b,c,d,e,46,9,1,300\nDATA PERIODS,1,1,Data,Sunday,1/1,12/31\n",
            b"999999,\"A\",B,1,46,9,300\nDate (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),Dry-bulb (C),Wspd (m/s)\n",
            b"Latitude (decimal degrees): 46\nLongitude (decimal degrees): 9\nElevation (m): 3\ntime,G(h),T2m,WS10m\n",
            b" 12839 MIAMI FL  -5 N 25 48 W  80 16     2\n",
        ][head];
        is_answered(&[start, &bytes].concat());
    }

    #[test]
    fn spoiled_files_are_answered(
        kind in 0..5usize,
        spoils in prop::collection::vec((any::<prop::sample::Index>(), 0..4u8, any::<u8>()), 1..8),
        in_header in any::<bool>(),
    ) {
        let mut bytes = SAMPLES.with(|samples| samples[kind].clone());
        for (at, how, byte) in spoils {
            let at = at.index(if in_header { bytes.len().clamp(1, 1500) } else { bytes.len().max(1) });
            match how {
                0 if at < bytes.len() => bytes[at] = byte,
                1 => bytes.insert(at.min(bytes.len()), byte),
                2 if at < bytes.len() => { bytes.remove(at); }
                _ if byte < 40 => bytes.truncate(at),
                _ => {}
            }
        }
        is_answered(&bytes);
    }
}

thread_local! {
    static SAMPLES: Vec<Vec<u8>> = samples();
}
