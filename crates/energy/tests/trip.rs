//! Itineraries from GPX and from trip.toml: what is read, what is assumed, and every bad file's located answer.
//! All tracks are invented.

use energy::trip::{self, Itinerary, Leg, Shore};
use energy::weather::Note;
use model::Problem;
use proptest::prelude::*;

fn read(text: &str) -> (Itinerary, Vec<Note>) {
    match trip::read("trip", text.as_bytes()) {
        Ok(read) => read,
        Err(problems) => panic!("{problems:#?}"),
    }
}

fn problem(text: &str) -> Problem {
    match trip::read("trip", text.as_bytes()) {
        Ok(read) => panic!("{read:#?}"),
        Err(problems) => problems.into_iter().next().expect("a problem"),
    }
}

/// Asserts where and how a file is refused.
fn refused(text: &str, line: usize, says: &str, mend: &str) {
    let problem = problem(text);
    assert!(problem.message.contains(says), "{}", problem.message);
    assert!(problem.mend.contains(mend), "{}", problem.mend);
    assert_eq!((problem.line, problem.file.as_str()), (line, "trip"), "{}", problem.message);
}

fn has(notes: &[Note], id: &str) -> bool {
    notes.iter().any(|note| note.id == id)
}

/// A track of one segment, a point a line from line 2 on: latitude, longitude, time.
fn track(points: &[(f64, f64, &str)]) -> String {
    let mut text = "<gpx version=\"1.1\" creator=\"a test\"><trk><trkseg>\n".to_owned();
    for (latitude, longitude, time) in points {
        text += &format!("<trkpt lat=\"{latitude}\" lon=\"{longitude}\"><time>{time}</time></trkpt>\n");
    }
    text + "</trkseg></trk></gpx>"
}

fn kinds(itinerary: &Itinerary) -> String {
    itinerary.legs.iter().map(|leg| if matches!(leg, Leg::Stay(_)) { 's' } else { 'd' }).collect()
}

fn assert_joined(itinerary: &Itinerary) {
    assert!(!itinerary.legs.is_empty());
    for leg in &itinerary.legs {
        assert!(leg.to() > leg.from(), "{leg:?}");
    }
    for pair in itinerary.legs.windows(2) {
        assert_eq!(pair[0].to(), pair[1].from());
    }
}

fn example(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/../../examples/heron/{name}", env!("CARGO_MANIFEST_DIR"))).expect("an example")
}

#[test]
fn the_example_trip_reads_without_a_note() {
    let (trip, notes) = trip::read("trip.toml", &example("trip.toml")).expect("a trip");
    assert_eq!(notes, []);
    assert_joined(&trip);
    assert_eq!(kinds(&trip), "sdsdsdsdsds");
    // By the calendar: 13 nights from 3 April midnight, the last stop 24 h from its arrival: 16 + 1 April 18:00.
    assert_eq!(trip.begins().to_string(), "2027-04-03T06:00:00Z");
    assert_eq!(trip.ends().to_string(), "2027-04-17T00:00:00Z");
    assert_eq!(trip.driving().get(), 2.5 + 1.8 + 1.2 + 3.0 + 5.5);
    assert_eq!(
        trip.stays().map(|stay| stay.shore == Shore::Plugged(true)).collect::<Vec<_>>(),
        [true, false, false, false, false, true]
    );
}

#[test]
fn the_example_track_has_the_stays_that_were_recorded() {
    let (trip, notes) = trip::read("trip.gpx", &example("trip.gpx")).expect("a trip");
    assert_joined(&trip);
    assert_eq!(kinds(&trip), "sdsdsdsds");
    let titles: Vec<_> = trip.stays().filter_map(|stay| stay.title.as_deref()).collect();
    assert_eq!(titles, ["Home", "Point camp", "Harbour", "Point camp", "Home"]);
    assert_eq!(trip.title.as_deref(), Some("Weekend at the lake"));
    // Two drives of 110 min and two of 40 min were written.
    assert!((trip.driving().get() - 5.0).abs() < 0.5, "{}", trip.driving());
    assert!(has(&notes, "no-shore-known") && has(&notes, "gap"), "{notes:?}");
}

// The `gpx` crate reads the same file by itself: the same points in the same order.
#[test]
fn another_reader_finds_the_same_points() {
    let other = gpx::read(example("trip.gpx").as_slice()).expect("a GPX file");
    let points: Vec<_> =
        other.tracks.iter().flat_map(|track| &track.segments).flat_map(|seg| &seg.points).collect();
    let (trip, _) = trip::read("trip.gpx", &example("trip.gpx")).expect("a trip");
    let (first, last) = (points.first().expect("a point"), points.last().expect("a point"));
    let time = |point: &gpx::Waypoint| point.time.expect("a time").format().expect("a time");
    assert!(time(first).starts_with(&trip.begins().to_string()[..19]));
    assert!(time(last).starts_with(&trip.ends().to_string()[..19]));
    let way: f64 = points
        .windows(2)
        .map(|pair| {
            let place = |point: &gpx::Waypoint| model::Place {
                latitude: quantity::Degrees::new(point.point().y()),
                longitude: quantity::Degrees::new(point.point().x()),
                altitude: None,
            };
            trip::distance(&place(pair[0]), &place(pair[1])).get()
        })
        .sum();
    assert!((trip.distance().get() - way).abs() < 200.0, "{} m against {way} m", trip.distance().get());
}

// GPX 1.1 schema: time is UTC and may carry a zone; extensions and unknown children are allowed in a point; names may be
// prefixed; `magvar` is an element of wptType.
#[test]
fn what_the_schema_allows_is_read() {
    let text = r#"<?xml version="1.0"?><g:gpx xmlns:g="http://www.topografix.com/GPX/1/1" version="1.1" creator="a test">
<g:trk><g:trkseg>
<g:trkpt lat="10" lon="20"><g:ele>5</g:ele><g:time>2027-04-03T12:00:00+02:00</g:time><g:magvar>3</g:magvar></g:trkpt>
<g:trkpt lon="20" lat="10"><g:time>2027-04-03T11:30:00.250Z</g:time><g:extensions><x><time>soon</time></x></g:extensions></g:trkpt>
</g:trkseg></g:trk></g:gpx>"#;
    let (trip, _) = read(text);
    assert_eq!(kinds(&trip), "s");
    assert_eq!(trip.begins().to_string(), "2027-04-03T10:00:00Z");
    assert_eq!(trip.ends().to_string(), "2027-04-03T11:30:00.25Z");
    let altitude = trip.stays().next().and_then(|stay| stay.place.altitude);
    assert_eq!(altitude, Some(quantity::Metres::new(5.0)));
}

#[test]
fn a_time_without_zone_is_utc_and_said() {
    let (trip, notes) = read(&track(&[(1.0, 2.0, "2027-04-03T10:00:00"), (1.0, 2.0, "2027-04-03T12:00:00")]));
    assert_eq!(trip.begins().to_string(), "2027-04-03T10:00:00Z");
    let note = notes.iter().find(|note| note.id == "time-without-zone").expect("a note");
    assert_eq!(note.line, 2);
}

#[test]
fn waypoints_with_times_are_stops() {
    let text = r#"<gpx version="1.1" creator="a test">
<wpt lat="40" lon="-100"><time>2027-06-01T00:00:00Z</time><name>A &amp; B</name></wpt>
<wpt lat="41" lon="-100"><time>2027-06-01T20:00:00Z</time><name>C</name></wpt>
<wpt lat="41" lon="-100"><time>2027-06-04T20:00:00Z</time><name>C</name></wpt>
</gpx>"#;
    let (trip, notes) = read(text);
    assert_eq!(kinds(&trip), "sds");
    assert_eq!(trip.stays().filter_map(|stay| stay.title.as_deref()).collect::<Vec<_>>(), ["A & B", "C"]);
    // A degree of a meridian is 111.2 km: 1.85 h at 60 km/h, in steps of ten minutes.
    assert!((trip.driving().get() - 1.85).abs() < 0.35, "{}", trip.driving());
    assert!(has(&notes, "drive-assumed") && has(&notes, "gap"));
}

#[test]
fn scatter_while_standing_is_no_drive_and_a_red_light_no_stop() {
    let mut text = "<gpx><trk><trkseg>\n".to_owned();
    let mut point = |minute: usize, second: usize, latitude: f64| {
        let (hour, minute) = (8 + minute / 60, minute % 60);
        text += &format!(
            "<trkpt lat=\"{latitude}\" lon=\"7\"><time>2027-05-01T{hour:02}:{minute:02}:{second:02}Z</time></trkpt>\n"
        );
    };
    // An hour on the spot, the receiver jumping by 11 m each second pair: 20 km/h from point to point.
    for minute in 0..60 {
        point(minute, 0, 46.0);
        point(minute, 2, 46.0001);
    }
    // An hour and a half northward at 40 km/h, with nine minutes of standing in the middle.
    for minute in 60..150 {
        let driven = if minute < 101 { minute - 60 } else { (minute - 69).max(41) };
        point(minute, 0, 46.0 + driven as f64 * 0.006);
    }
    text += "</trkseg></trk></gpx>";
    assert_eq!(kinds(&read(&text).0), "sd");
}

#[test]
fn a_track_over_the_date_line_takes_the_short_way() {
    let (trip, _) = read(&track(&[
        (0.0, 179.5, "2027-07-01T00:00:00Z"),
        (0.0, 179.8, "2027-07-01T00:30:00Z"),
        (0.0, -179.9, "2027-07-01T01:00:00Z"),
        (0.0, -179.9, "2027-07-01T05:00:00Z"),
    ]));
    assert_eq!(kinds(&trip), "ds");
    // 0.6° of the equator.
    assert!((trip.distance().get() - 66_717.0).abs() < 100.0, "{}", trip.distance());
    let stay = trip.stays().next().expect("a stay");
    assert_eq!(trip::zone_hours(&stay.place), -12);
    assert_eq!(trip::local(stay.from, &stay.place).date().to_string(), "2027-06-30");
}

#[test]
fn a_trip_runs_over_the_new_year_and_meets_a_leap_day() {
    let toml = "start = \"2027-12-30\"\n[[stop]]\nplace = { latitude = \"30 S\", longitude = \"20 E\" }\nnights = 70\n";
    let (trip, notes) = read(toml);
    // By the calendar: 70 days after 30 December 2027 is 9 March 2028, a leap year.
    let stay = trip.stays().next().expect("a stay");
    assert_eq!(trip::local(trip.ends(), &stay.place).to_string(), "2028-03-09T00:00:00");
    assert!(has(&notes, "leap-day"));
    let (_, notes) = read(&toml.replace("2027-12-30", "2026-12-30"));
    assert!(!has(&notes, "leap-day"), "2027 has no 29 February");
}

#[test]
fn places_at_the_poles_are_places() {
    for latitude in ["90 N", "90 S", "-90°"] {
        let toml = format!(
            "start = 2027-06-20\n[[stop]]\nplace = {{ latitude = \"{latitude}\", longitude = \"180 E\" }}\nnights = 2\n"
        );
        assert_joined(&read(&toml).0);
    }
}

#[test]
fn what_trip_toml_leaves_out_is_said() {
    let toml = "start = \"2027-04-03\"\n[[stop]]\nplace = { latitude = \"44 N\", longitude = \"88 W\" }\nnights = 1\n\
                [[stop]]\nplace = { latitude = \"45 N\", longitude = \"88 W\" }\nnights = 1\n\
                [[stop]]\nplace = { latitude = \"46 N\", longitude = \"88 W\" }\nnights = 1\ndrive = \"0 h\"\narrive = \"09:00\"\n";
    let (trip, notes) = read(toml);
    let ids: Vec<_> = notes.iter().map(|note| (note.id.as_str(), note.line)).collect();
    assert_eq!(ids, [("drive-assumed", 5), ("arrival-assumed", 5), ("moved-without-engine", 11)]);
    assert_eq!(kinds(&trip), "sdss");
    let (_, notes) = read(&format!(
        "{}drive = \"2 h\"\n",
        &toml[..toml.find("[[stop]]\nplace = { latitude = \"45").expect("it")]
    ));
    assert!(has(&notes, "start-unknown"));
}

#[test]
fn bad_gpx_is_refused_where_it_is_bad() {
    let good = [(46.0, 7.0, "2027-05-01T08:00:00Z"), (46.0, 7.0, "2027-05-01T09:00:00Z")];
    let untimed = track(&good).replace("<time>", "<cmt>").replace("</time>", "</cmt>");
    refused(&untimed, 2, "none of the 2 points has a time", "trip.toml");
    let route = untimed
        .replace("<trk><trkseg>", "<rte>")
        .replace("</trkseg></trk>", "</rte>")
        .replace("trkpt", "rtept");
    refused(&route, 2, "none of the 2 points has a time", "trip.toml");
    refused("<gpx/>", 1, "no points", "trip.toml");
    let mut back = good;
    back[1].2 = "2027-05-01T07:00:00Z";
    refused(&track(&back), 3, "times run backwards", "order");
    let mut fast = good;
    fast[1].0 = 50.0;
    refused(&track(&fast), 3, "goes faster than 300 km/h", "Take the point out");
    let twice = track(&good).replace("</trk>", "</trk>\n<trk><trkseg>\n<trkpt lat=\"46\" lon=\"7\"><time>2027-05-01T08:30:00Z</time></trkpt></trkseg></trk>");
    refused(&twice, 6, "overlaps itself", "Keep one");
    let mut long = good;
    long[1].2 = "2028-05-03T08:00:00Z";
    refused(&track(&long), 3, "takes 368 days", "Split");
    let mut north = good;
    north[1].0 = 91.0;
    refused(&track(&north), 3, "`lat` is 91", "-90 to 90");
    let mut east = good;
    east[0].1 = -180.5;
    refused(&track(&east), 2, "`lon` is -180.5", "-180 to 180");
    refused(&track(&good).replace("lon=\"7\"", "lon=\"NaN\""), 2, "NaN", "degrees");
    refused(&track(&good).replace(" lon=\"7\"", ""), 2, "no `lon`", "degrees");
    refused(&track(&good).replace("09:00:00Z", "9 o'clock"), 3, "is not a time", "UTC");
    refused(&track(&good[..1]), 2, "no time passes", "trip.toml");
}

#[test]
fn broken_and_hostile_xml_is_refused() {
    let good = track(&[(46.0, 7.0, "2027-05-01T08:00:00Z"), (46.0, 7.0, "2027-05-01T09:00:00Z")]);
    refused(&good[..good.len() - 12], 4, "cut off", "again");
    refused(&good.replace("</trkpt>\n</trkseg>", "</rtept>\n</trkseg>"), 3, "not sound XML", "Export");
    refused("<kml></kml>", 1, "first element is `kml`", "GPX");
    let bomb = format!(
        "<?xml version=\"1.0\"?>\n<!DOCTYPE gpx [<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;&a;&a;\">]>\n{}",
        good.replace("2027", "&b;")
    );
    refused(&bomb, 2, "document type", "Take the line out");
    refused(&format!("<gpx>{}", "<a>".repeat(100_000)), 1, "deep in each other", "track");
    refused("", 1, "empty", "trip.toml");
    refused(" \n\t", 1, "empty", "trip.toml");
}

#[test]
fn what_is_no_text_is_refused() {
    let first = |bytes: &[u8]| trip::read("trip", bytes).expect_err("no trip").remove(0);
    assert!(first(b"PK\x03\x04\x00\x00").message.contains("not text"));
    assert!(first(b"\xFF\xFE<\x00g\x00").message.contains("UTF-16"));
    assert!(first(b"<gpx>\n\xC3\x28").message.contains("UTF-8"));
    assert_eq!(first(b"<gpx>\n\xC3\x28").line, 2);
    let huge = vec![b' '; trip::LARGEST_FILE + 1];
    assert!(first(&huge).message.contains("the most that is read"));
}

#[test]
fn bad_toml_is_refused_where_it_is_bad() {
    let good = "start = \"2027-04-03\"\n[[stop]]\nplace = { latitude = \"44 N\", longitude = \"88 W\" }\nnights = 1\n\
                [[stop]]\nplace = { latitude = \"45 N\", longitude = \"88 W\" }\nnights = 1\narrive = \"12:00\"\ndrive = \"2 h\"\n";
    read(good);
    refused("start = \"2027-04-03\"", 1, "no stops", "[[stop]]");
    refused(&good.replace("nights = 1\narrive", "nigths = 1\narrive"), 5, "`nights` is missing", "nights");
    refused(&good.replace("drive =", "driving ="), 9, "`driving` is not a key", "`drive`");
    refused(&good.replace("2027-04-03", "2027-02-29"), 1, "not a date", "2027-04-03");
    refused(&good.replace("2027-04-03", "2027-04-03T10:00:00"), 1, "not a date", "2027-04-03");
    refused(&good.replace("45 N", "95 N"), 6, "latitude is 95", "90 N");
    refused(&good.replace("2 h", "15 min"), 9, "300 km/h", "more hours");
    refused(&good.replace("2 h", "-2 h"), 9, "cannot be", "hours of driving");
    refused(&good.replace("2 h", "100 h"), 5, "overlaps itself", "Arrive later");
    refused(&good.replacen("nights = 1", "nights = 400", 1), 2, "401 nights", "Split");
    refused(
        &good.replace("nights = 1", "nights = 0").replace("12:00", "00:30"),
        5,
        "overlaps itself",
        "Arrive later",
    );
    refused(&good.replace("arrive", "shore = \"30 h/day\"\narrive"), 8, "no part of a day", "24 h/day");
    refused(&good.replace("arrive", "shore = \"always\"\narrive"), 8, "always", "h/day");
}

#[test]
fn a_trip_of_no_time_is_refused() {
    refused(
        "start = \"2027-04-03\"\n[[stop]]\nplace = { latitude = \"44 N\", longitude = \"88 W\" }\nnights = 0\n",
        2,
        "no time passes",
        "nights = 1",
    );
}

#[test]
fn the_schema_names_every_key() {
    let schema = serde_json::to_value(schemars::schema_for!(trip::TripFile)).expect("a schema");
    let keys = |value: &serde_json::Value| -> Vec<String> {
        value["properties"].as_object().expect("keys").keys().cloned().collect()
    };
    assert_eq!(keys(&schema), trip::TripFile::KEYS);
    assert_eq!(keys(&schema["$defs"]["Stop"]), trip::Stop::KEYS);
}

fn answered(bytes: &[u8]) {
    match trip::read("trip", bytes) {
        Ok((trip, _)) => assert_joined(&trip),
        Err(problems) => {
            assert!(!problems.is_empty());
            for problem in problems {
                assert!(!problem.message.is_empty() && !problem.mend.is_empty() && problem.line > 0);
            }
        }
    }
}

proptest! {
    #[test]
    fn any_bytes_are_answered(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        answered(&bytes);
    }

    #[test]
    fn any_text_after_a_good_start_is_answered(text in "\\PC{0,200}", cut in 0usize..2000, is_gpx: bool) {
        let file = example(if is_gpx { "trip.gpx" } else { "trip.toml" });
        let mut bytes = file[..cut.min(file.len())].to_vec();
        bytes.extend(text.as_bytes());
        bytes.extend(&file[cut.min(file.len())..]);
        answered(&bytes);
    }

    // Whatever is recorded in rising time and at a possible speed is read, and no second is lost.
    #[test]
    fn any_sound_track_is_read_whole(
        steps in proptest::collection::vec((1i64..200_000, -1.0..1.0f64, -1.0..1.0f64), 1..60),
        latitude in -89.0..89.0f64,
        longitude in -180.0..180.0f64,
    ) {
        let mut text = "<gpx><trk><trkseg>".to_owned();
        let (mut seconds, mut at) = (0i64, (latitude, longitude));
        let begin: jiff::Timestamp = "2027-01-01T00:00:00Z".parse().expect("a time");
        for (long, north, east) in std::iter::once((0, 0.0, 0.0)).chain(steps) {
            seconds = (seconds + long).min(366 * 86_400);
            // At most 100 km/h: 0.00025° of latitude a second.
            let reach = (long as f64 * 0.000_2).min(2.0);
            at.0 = (at.0 + north * reach).clamp(-90.0, 90.0);
            at.1 += east * reach;
            at.1 = (at.1 + 180.0).rem_euclid(360.0) - 180.0;
            let time = begin + jiff::SignedDuration::from_secs(seconds);
            text += &format!("<trkpt lat=\"{}\" lon=\"{}\"><time>{time}</time></trkpt>", at.0, at.1);
        }
        text += "</trkseg></trk></gpx>";
        // Where the end is cut at 366 days, points may fall together at different places: refused, and answered.
        match trip::read("trip", text.as_bytes()) {
            Ok((trip, _)) => {
                assert_joined(&trip);
                prop_assert_eq!(trip.begins(), begin);
                prop_assert_eq!(trip.ends().duration_since(begin).as_secs(), seconds);
            }
            Err(problems) => prop_assert!(seconds == 366 * 86_400, "{:?}", problems),
        }
    }
}
