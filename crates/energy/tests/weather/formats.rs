//! Each format as it should be: the hours, the clock and the place.
//! Never: faults (see `bad.rs`).
//! Start at any test.

use crate::files::{NORTH, Place, bytes};
use crate::{good, has, is_sound};
use energy::weather::{
    Format, Series, WeatherYear, clearness, clearness_of_year, distance_km, matches_place, summary,
};
use quantity::{Degrees, Hours};

/// The year holds the place's own weather, hour by hour.
#[track_caller]
fn is_weather_of(series: &Series, place: Place, minutes: f64) {
    is_sound(series);
    for hour in 0..8760 {
        let made = place.weather(hour, minutes);
        let read = (series.year.ghi_w_m2[hour], series.year.dni_w_m2[hour], series.year.dhi_w_m2[hour]);
        assert_eq!(read, (made.ghi, made.dni, made.dhi), "hour {hour}");
        assert_eq!(
            (series.year.air_c[hour], series.year.wind_m_s[hour]),
            (made.air, made.wind),
            "hour {hour}"
        );
    }
}

#[test]
fn epw() {
    let series = good(&bytes(&NORTH.epw()));
    assert_eq!((series.format, series.minutes_into_hour, series.years), (Format::Epw, 30.0, (1999, 2001)));
    assert_eq!((series.title.as_str(), series.site.zone), ("Lakeside, North, Nowhere", Hours::new(1.0)));
    assert_eq!(series.notes, []);
    is_weather_of(&series, NORTH, 30.0);
}

#[test]
fn tmy3() {
    let series = good(&bytes(&NORTH.tmy3()));
    assert_eq!((series.format, series.minutes_into_hour, series.years), (Format::Tmy3, 30.0, (1988, 1988)));
    assert_eq!(series.title, "LAKESIDE, UPPER, NW");
    is_weather_of(&series, NORTH, 30.0);
}

#[test]
fn tmy2() {
    let place = Place { latitude: -34.5, longitude: -70.25, zone: -5.0 };
    for place in [NORTH, place] {
        let series = good(&bytes(&place.tmy2()));
        assert_eq!((series.format, series.title.as_str()), (Format::Tmy2, "UPPER, LAKESIDE, NW"));
        assert_eq!(
            (series.site.latitude.get(), series.site.longitude.get()),
            (place.latitude, place.longitude)
        );
        assert_eq!((series.site.zone.get(), series.site.altitude.get()), (place.zone, 300.0));
        assert_eq!((series.notes.as_slice(), series.years), ([].as_slice(), (1988, 1988)));
        is_sound(&series);
        for hour in 0..8760 {
            let made = place.weather(hour, 30.0);
            assert_eq!((series.year.ghi_w_m2[hour], series.year.dni_w_m2[hour]), (made.ghi, made.dni));
            assert!(
                (series.year.air_c[hour] - made.air).abs() < 1e-9 && series.year.dhi_w_m2[hour] == made.dhi
            );
            assert!((series.year.wind_m_s[hour] - made.wind).abs() < 1e-9);
        }
    }
}

// UTC is turned to the hour of the longitude, on both sides of Greenwich and over the ends of the year.
#[test]
fn pvgis_typical_year() {
    for (longitude, zone) in [(9.0, 1.0), (-120.0, -8.0), (151.0, 10.0), (3.0, 0.0)] {
        let place = Place { longitude, zone, ..NORTH };
        let series = good(&bytes(&place.pvgis_typical()));
        assert_eq!((series.format, series.years), (Format::PvgisTypical, (2005, 2016)));
        assert!((series.minutes_into_hour - 10.566).abs() < 1e-9);
        assert_eq!(series.site.zone, Hours::new(zone));
        assert!(has(&series, "zone-from-longitude") && !has(&series, "clock-against-sun"));
        is_weather_of(&series, place, 10.566);
    }
}

// The moment may lie before the full hour: it then belongs to the hour before.
#[test]
fn pvgis_offset_before_the_hour() {
    let lines: Vec<String> = NORTH.pvgis_typical();
    let mut earlier = lines.clone();
    earlier[3] = "Irradiance Time Offset (h): -0.25".into();
    let (first, second) = (good(&bytes(&lines)), good(&bytes(&earlier)));
    assert_eq!(second.minutes_into_hour, 45.0);
    assert_eq!(second.year.ghi_w_m2[11], first.year.ghi_w_m2[12]);
}

#[test]
fn pvgis_hourly_series() {
    let series = good(&bytes(&NORTH.pvgis_hourly(2015..=2017, 0)));
    assert_eq!(
        (series.format, series.years, series.minutes_into_hour),
        (Format::PvgisHourly, (2015, 2017), 10.0)
    );
    assert_eq!((series.more.len(), series.calendar_years.as_slice()), (2, [2015, 2016, 2017].as_slice()));
    assert!(has(&series, "leap-day-dropped") && has(&series, "ends-joined"));
    is_sound(&series);
    for (year, weather) in std::iter::once(&series.year).chain(&series.more).enumerate() {
        for hour in 1..8760 {
            let made = NORTH.weather(hour, 10.0);
            assert_eq!(weather.ghi_w_m2[hour], made.ghi, "hour {hour}");
            // Under 3° the direct sun is counted with the diffuse.
            let is_low = weather.dni_w_m2[hour] == 0.0 && made.ghi < 60.0;
            let dhi = if is_low { made.ghi } else { made.dhi };
            assert_eq!(weather.dhi_w_m2[hour], dhi, "hour {hour}");
            assert!((weather.air_c[hour] - made.air - year as f64).abs() < 1e-9, "hour {hour} of {year}");
        }
    }
    // Direct on the normal is computed from the direct on the horizontal: at noon in June the sun stands 67° high.
    let noon = (31 + 28 + 31 + 30 + 31 + 19) * 24 + 12;
    let (ghi, dni, dhi) =
        (series.year.ghi_w_m2[noon], series.year.dni_w_m2[noon], series.year.dhi_w_m2[noon]);
    assert!((dni * 67.0_f64.to_radians().sin() / (ghi - dhi) - 1.0).abs() < 0.03, "{ghi} {dni} {dhi}");
}

// West of Greenwich the first hours go to the year before.
#[test]
fn pvgis_hourly_series_in_the_west() {
    let place = Place { longitude: -75.0, zone: -5.0, ..NORTH };
    let series = good(&bytes(&place.pvgis_hourly(2015..=2016, 0)));
    assert_eq!(series.calendar_years, [2015, 2016]);
    for hour in 0..8755 {
        assert_eq!(series.more[0].ghi_w_m2[hour], place.weather(hour, 10.0).ghi, "hour {hour}");
    }
}

#[test]
fn two_years_of_epw_follow_each_other() {
    let mut lines = NORTH.epw();
    lines.truncate(8);
    for year in 2010..=2011 {
        lines.extend((0..8760).map(|hour| NORTH.epw_line(year, hour, NORTH.weather(hour, 30.0))));
    }
    let series = good(&bytes(&lines));
    assert_eq!((series.calendar_years.as_slice(), series.more.len()), ([2010, 2011].as_slice(), 1));
}

#[test]
fn line_ends_marks_and_letters_do_not_matter() {
    let lines = NORTH.epw();
    let plain = good(&bytes(&lines));
    let windows = good(format!("\u{feff}{}\r\n", lines.join("\r\n")).as_bytes());
    assert_eq!(windows, plain);
    let text = lines.join("\n").replacen("Lakeside", "Orl?ans", 1);
    let latin: Vec<u8> = text
        .bytes()
        .enumerate()
        .map(|(at, byte)| if at < 30 && byte == b'?' { 0xe9 } else { byte })
        .collect();
    assert_eq!(good(&latin).title, "Orléans, North, Nowhere");
    assert_eq!(good(&latin).year, plain.year);
}

#[test]
fn the_south_has_its_summer_in_january() {
    let place = Place { latitude: -34.0, longitude: 151.0, zone: 10.0 };
    let series = good(&bytes(&place.epw()));
    is_weather_of(&series, place, 30.0);
    assert_eq!(series.notes, []);
    let months = summary(&series);
    assert!(months[0].ghi_kwh_m2_day > 2.0 * months[5].ghi_kwh_m2_day);
}

#[test]
fn a_polar_night_is_dark_and_no_fault() {
    let place = Place { latitude: 78.0, longitude: 15.0, zone: 1.0 };
    let series = good(&bytes(&place.epw()));
    assert_eq!(series.notes, []);
    assert_eq!(summary(&series)[11].ghi_kwh_m2_day, 0.0);
    assert!(summary(&series)[5].ghi_kwh_m2_day > 3.0);
}

#[test]
fn half_hours_stay_in_the_zone() {
    let place = Place { latitude: 28.0, longitude: 77.0, zone: 5.5 };
    let series = good(&bytes(&place.epw()));
    assert_eq!(series.site.zone, Hours::new(5.5));
    let note = series.notes.iter().find(|note| note.id == "zone-with-part-hour").expect("a note");
    assert!(note.message.contains("30 minutes past"), "{}", note.message);
    is_weather_of(&series, place, 30.0);
}

#[test]
fn months_are_summed_up() {
    let series = good(&bytes(&NORTH.epw()));
    let months = summary(&series);
    let june: Vec<_> = (151 * 24..181 * 24).map(|hour| NORTH.weather(hour, 30.0)).collect();
    let sum: f64 = june.iter().map(|hour| hour.ghi).sum();
    assert!((months[5].ghi_kwh_m2_day - sum / 30_000.0).abs() < 1e-12);
    assert_eq!(months[5].air_max_c, june.iter().map(|hour| hour.air).fold(f64::MIN, f64::max));
    assert_eq!(months[5].air_min_c, june.iter().map(|hour| hour.air).fold(f64::MAX, f64::min));
}

// Beyond the air the horizontal at 45° north gets 11.55 kWh/m² on the average day of June (the 11th) and 2.95 on that of
// December (the 10th): equation 1.10.3 of Duffie and Beckman, "Solar Engineering of Thermal Processes", by hand with
// 1361 W/m²; the average day and Cooper's declination there make some 1 %.
#[test]
fn clearness_is_a_part_of_what_comes_beyond_the_air() {
    let place = Place { latitude: 45.0, longitude: 9.0, ..NORTH };
    let site = good(&bytes(&place.epw())).site;
    let hundred = WeatherYear { ghi_w_m2: vec![100.0; 8760], ..WeatherYear::blank() };
    let months = clearness_of_year(&site, &hundred);
    assert!(
        (2.4 / months[5] / 11.55 - 1.0).abs() < 0.01 && (2.4 / months[11] / 2.95 - 1.0).abs() < 0.015,
        "{months:?}"
    );
    // A polar night has none.
    let polar = good(&bytes(&Place { latitude: 78.0, longitude: 15.0, zone: 1.0 }.epw()));
    let months = clearness(&polar);
    assert!(months[11] == 0.0 && (0.2..0.8).contains(&months[5]), "{months:?}");
}

// One degree of a great circle of 6371 km is 111.19 km.
#[test]
fn a_file_of_another_place_is_told() {
    let at = |latitude, longitude| (Degrees::new(latitude), Degrees::new(longitude));
    assert!((distance_km(at(0.0, 0.0), at(1.0, 0.0)) - 111.19).abs() < 0.01);
    assert!((distance_km(at(0.0, 179.5), at(0.0, -179.5)) - 111.19).abs() < 0.01);
    let series = good(&bytes(&NORTH.epw()));
    let place = |latitude, longitude| model::Place {
        latitude: Degrees::new(latitude),
        longitude: Degrees::new(longitude),
        altitude: None,
    };
    assert_eq!(matches_place(&series, &place(46.2, 9.3)), None);
    let far = matches_place(&series, &place(47.5, 9.0)).expect("a note");
    assert!(far.message.contains("167 km") && far.id == "weather-of-another-place", "{}", far.message);
    let mirrored = matches_place(&series, &place(46.0, -9.0)).expect("a note");
    assert!(mirrored.message.contains("other sign"), "{}", mirrored.message);
    let swapped = matches_place(&series, &place(9.0, 46.0)).expect("a note");
    assert!(swapped.message.contains("changed places"), "{}", swapped.message);
}
