//! A trip run day by day: its days by the calendar, its books, and what engine, shore and sun do on the way.

use energy::trip::{self, Itinerary, Trip, TripOptions};
use energy::{Progress, outcome::Books};
use model::{Project, SourceText, System};
use proptest::prelude::*;
use quantity::Fraction;

const BRIEF: &str = "brief = { name = \"t\", craft = \"van\", rules = \"iec\", voltage = \"12 V\", autonomy = \"48 h\", \
                     place = { latitude = \"50 N\", longitude = \"10 E\" } }\n\
                     bank = { chemistry = \"lfp\", capacity = \"200 Ah\" }\n";
const LAMP: &str = "loads.lamp = { power = \"10 W\", hours = \"24 h/day\", length = \"2 m\" }\n";

fn system(rest: &str) -> System {
    let source = SourceText { name: "test".to_owned(), text: format!("{BRIEF}{rest}") };
    derive::derive(&Project::read(source, model::library::builtin().clone()).expect("the project reads"))
}

fn heron() -> System {
    let text = String::from_utf8(example("intent.toml")).expect("text");
    let source = SourceText { name: "heron".to_owned(), text };
    derive::derive(&Project::read(source, model::library::builtin().clone()).expect("the project reads"))
}

fn example(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/../../examples/heron/{name}", env!("CARGO_MANIFEST_DIR"))).expect("an example")
}

fn itinerary(text: &str) -> Itinerary {
    trip::read("trip", text.as_bytes()).expect("a trip").0
}

/// A stop of some nights: `44 N, 10 E` and the like.
fn stop(latitude: &str, longitude: &str, nights: u32, rest: &str) -> String {
    format!(
        "[[stop]]\nplace = {{ latitude = \"{latitude}\", longitude = \"{longitude}\" }}\nnights = {nights}\n{rest}\n"
    )
}

fn one(system: &System, itinerary: &Itinerary) -> Trip {
    let options = TripOptions { count: 0, ..TripOptions::default() };
    let trip = trip::run(system, itinerary, None, options, &Progress::default()).expect("a bank");
    assert_sound(&trip);
    trip
}

/// The books of every day close, days join on, and the trace holds every hour.
fn assert_sound(trip: &Trip) {
    let mut total = Books::default();
    for day in &trip.days {
        assert!(day.books.gap() < 1e-9, "{}: {}", day.date, day.books.gap());
        assert!(day.soc_low <= day.soc_start && day.soc_low <= day.soc_end + 0.01, "{day:?}");
        assert!(day.air.0 <= day.air.1);
        total.add(&day.books);
    }
    assert!(total.gap() < 1e-9);
    for pair in trip.days.windows(2) {
        assert_eq!(pair[0].soc_end, pair[1].soc_start);
    }
    let hours: u32 = trip.days.iter().map(|day| day.hours).sum();
    assert_eq!(trip.trace.soc.len(), hours as usize);
    let driving: f64 = trip.days.iter().map(|day| day.driving.get()).sum();
    assert!((driving - trip.driving.get()).abs() < 1e-9, "{driving} h against {}", trip.driving);
    let way: f64 = trip.days.iter().map(|day| day.distance.get()).sum();
    assert!((way - trip.distance.get()).abs() < 1e-3, "{way} m against {}", trip.distance);
}

fn dates(trip: &Trip) -> Vec<(&str, u32)> {
    trip.days.iter().map(|day| (day.date.as_str(), day.hours)).collect()
}

// 10 W for two days and a night is by arithmetic; nothing charges.
#[test]
fn a_lamp_takes_its_energy_out_of_the_bank() {
    let plain = itinerary(&format!("start = \"2027-05-01\"\n{}", stop("50 N", "10 E", 2, "")));
    let trip = one(&system(LAMP), &plain);
    assert_eq!(dates(&trip), [("2027-05-01", 24), ("2027-05-02", 24)]);
    assert!((trip.total.loads_dc_wh - 480.0).abs() < 1e-9, "{}", trip.total.loads_dc_wh);
    // The hour loop books the rounding of an hour on a source, so that books close: no source is nothing but that.
    assert!(trip.total.came_in().abs() < 1e-9, "{}", trip.total.came_in());
    assert!(trip.total.stored_wh < -480.0 && trip.lowest.1 == 1);
}

#[test]
fn shore_power_comes_where_it_is_said_and_for_the_hours_said() {
    let with =
        |shore: &str| itinerary(&format!("start = \"2027-05-01\"\n{}", stop("50 N", "10 E", 4, shore)));
    let fed = system(&format!(
        "{LAMP}shore = {{ current = \"16 A\", length = \"2 m\", hours = \"24 h/day\" }}\n\
                               charger = {{ length = \"1 m\" }}\n"
    ));
    let trip = |shore: &str| one(&fed, &with(shore)).total;
    // The brief's usual shore power does not count on a trip: only what the itinerary says.
    assert_eq!(trip("").shore_wh, 0.0);
    assert!(trip("shore = true").shore_wh > 960.0);
    let some = trip("shore = \"2 h/day\"");
    assert!(some.shore_wh > 0.0 && some.short_wh == 0.0);
    // Plugged in from the usual time on, six in the evening, for two hours.
    let trace = one(&fed, &with("shore = \"2 h/day\"")).trace;
    assert!((0..96).all(|hour| (trace.supply_w[hour] > 0.0) == (18..20).contains(&(hour % 24))));
    let bare = one(&system(LAMP), &with("shore = true"));
    assert_eq!(bare.total.shore_wh, 0.0);
    assert!(bare.notes.iter().any(|note| note.id == "no-inlet"));
}

#[test]
fn the_engine_charges_while_it_drives_and_at_no_other_time() {
    let engine =
        format!("{LAMP}engine = {{ charging = \"dc-dc\", driving = \"5 h/day\", length = \"5 m\" }}\n");
    let away =
        stop("50 N", "10 E", 1, "") + &stop("51 N", "10 E", 1, "drive = \"2.5 h\"\narrive = \"15:30\"");
    let trip = one(&system(&engine), &itinerary(&format!("start = \"2027-05-01\"\n{away}")));
    let running: Vec<usize> = trip
        .trace
        .engine_w
        .iter()
        .enumerate()
        .filter(|(_, watts)| **watts > 1.0)
        .map(|(hour, _)| hour)
        .collect();
    assert!(
        !running.is_empty() && running.iter().all(|hour| (24 + 13..24 + 16).contains(hour)),
        "{running:?}"
    );
    assert!(trip.days[1].books.engine_wh > 100.0);
    assert!((trip.days[1].distance.get() - 111_195.0).abs() < 10.0, "a degree of a meridian");
    let without = one(&system(LAMP), &itinerary(&format!("start = \"2027-05-01\"\n{away}")));
    assert!(without.notes.iter().any(|note| note.id == "engine-does-not-charge"));
}

#[test]
fn an_empty_craft_takes_what_is_vital() {
    let left = |rest: &str| {
        one(&system(LAMP), &itinerary(&format!("start = \"2027-05-01\"\n{}", stop("50 N", "10 E", 2, rest))))
            .total
    };
    assert!(left("in_use = true").loads_dc_wh > 400.0);
    assert_eq!(left("in_use = false").loads_dc_wh, 0.0);
}

// Astronomy: on 21 December the sun stays down at 78° north and does not set at 78° south; at the poles likewise.
#[test]
fn polar_night_and_midnight_sun() {
    let solar = format!(
        "{LAMP}solar.roof = {{ module = \"module-200w\", count = 1, mounting = \"flush\", length = \"5 m\" }}\n"
    );
    let system = system(&solar);
    let sun = |latitude: &str| {
        let trip =
            one(&system, &itinerary(&format!("start = \"2027-12-20\"\n{}", stop(latitude, "15 E", 3, ""))));
        trip.total.sun_wh + trip.total.curtailed_wh
    };
    for (night, day) in [("78 N", "78 S"), ("90 N", "90 S")] {
        assert!(sun(night) < 1e-6, "{night}: {}", sun(night));
        assert!(sun(day) > 300.0, "{day}: {}", sun(day));
    }
    assert!(sun("35 S") > 2.0 * sun("50 N"), "summer in the south");
}

#[test]
fn over_new_year_and_leap_day_no_day_is_lost() {
    let trip = |start: &str, nights| {
        one(&system(LAMP), &itinerary(&format!("start = \"{start}\"\n{}", stop("50 N", "10 E", nights, ""))))
    };
    let new_year = trip("2027-12-31", 2);
    assert_eq!(dates(&new_year), [("2027-12-31", 24), ("2028-01-01", 24)]);
    assert!((new_year.total.loads_dc_wh - 480.0).abs() < 1e-9);
    let leap = trip("2028-02-28", 3);
    assert_eq!(dates(&leap), [("2028-02-28", 24), ("2028-02-29", 24), ("2028-03-01", 24)]);
    assert!((leap.total.loads_dc_wh - 720.0).abs() < 1e-9);
    assert_eq!(leap.days[0].air, leap.days[1].air, "29 February has the weather of the day before");
    // 366 days from 1 January of a leap year is the whole of it.
    let year = trip("2028-01-01", 366);
    assert_eq!(year.days.len(), 366);
    assert_eq!(year.days.last().map(|day| day.date.as_str()), Some("2028-12-31"));
}

#[test]
fn a_changed_zone_makes_a_day_shorter_or_longer() {
    let trip = |from: &str, to: &str| {
        let text = stop("45 N", from, 1, "") + &stop("45 N", to, 2, "drive = \"10 h\"\narrive = \"20:00\"");
        one(&system(LAMP), &itinerary(&format!("start = \"2027-05-01\"\n{text}")))
    };
    // Eastward by one zone, 15°: the clock leaves out an hour. The trip ends 48 h after 20:00 there.
    assert_eq!(
        dates(&trip("0 E", "15 E")),
        [("2027-05-01", 24), ("2027-05-02", 23), ("2027-05-03", 24), ("2027-05-04", 20)]
    );
    assert_eq!(
        dates(&trip("15 E", "0 E")),
        [("2027-05-01", 24), ("2027-05-02", 25), ("2027-05-03", 24), ("2027-05-04", 20)]
    );
    // Over the date line westward, from -12 h to +12 h, a date is left out; the ferry needs no driving.
    let line =
        stop("10 S", "179 W", 1, "") + &stop("10 S", "179 E", 1, "drive = \"0 h\"\narrive = \"06:00\"");
    let line = line.replace("nights = 1\n\n[[", "nights = 2\n\n[[");
    let trip = one(&system(LAMP), &itinerary(&format!("start = \"2027-05-01\"\n{line}")));
    let hours: u32 = trip.days.iter().map(|day| day.hours).sum();
    assert_eq!(hours, 48 + 6 - 24 + 24);
    assert_eq!(trip.days.last().map(|day| day.date.as_str()), Some("2027-05-04"));
}

#[test]
fn the_example_trips_run_and_their_chance_repeats() {
    let system = heron();
    for name in ["trip.toml", "trip.gpx"] {
        let (itinerary, _) = trip::read(name, &example(name)).expect("a trip");
        let options = TripOptions { count: 20, seed: 7, charge: Fraction::new(0.9) };
        let run = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
            pool.install(|| trip::run(&system, &itinerary, None, options, &Progress::default()))
                .expect("a bank")
        };
        let trip = run(1);
        assert_sound(&trip);
        assert_eq!(trip, run(3), "the same whatever the number of threads");
        let chance = trip.chance.expect("a chance");
        assert_eq!((chance.count, chance.days.len()), (20, trip.days.len()));
        assert!(chance.books_gap < 1e-9);
        let lasted = chance.lasts.happened;
        assert_eq!(chance.breaks.is_none(), lasted == 20);
        for day in &chance.days {
            assert!(day.low[0] <= day.low[1] && day.low[1] <= day.low[2]);
            assert!(day.running_out.happened <= 20 - lasted, "no more weathers run out on a day than at all");
        }
        let titles: Vec<_> = trip.days.iter().filter_map(|day| day.title.as_deref()).collect();
        assert_eq!(titles.len(), trip.days.len(), "{titles:?}");
    }
}

#[test]
fn a_bank_too_small_breaks_on_the_day_that_empties_it() {
    // 2.4 kWh less its floor at 40 W: two days and some hours; arithmetic leaves day 3 (from 0: 2) for every weather.
    let lamp = "loads.lamp = { power = \"40 W\", hours = \"24 h/day\", length = \"2 m\" }\n";
    let week = itinerary(&format!("start = \"2027-05-01\"\n{}", stop("50 N", "10 E", 7, "")));
    let options = TripOptions { count: 30, ..TripOptions::default() };
    let trip = trip::run(&system(lamp), &week, None, options, &Progress::default()).expect("a bank");
    let first = trip.days.iter().position(|day| day.short_hours > 0).expect("short");
    assert!((1..=2).contains(&first), "day {first}");
    let chance = trip.chance.expect("a chance");
    assert_eq!(chance.lasts.happened, 0);
    let (day, times) = chance.breaks.expect("a day");
    assert!(day.abs_diff(first) <= 1 && times > 15, "day {day}, {times} times");
}

// A file whose clock is an hour behind the trip's, with sun in one hour of its day alone: noon by its clock.
#[test]
fn a_weather_file_counts_near_its_place_and_by_its_own_clock() {
    let (latitude, longitude) = (quantity::Degrees::new(50.0), quantity::Degrees::new(10.0));
    let mut site = energy::site::Site::new(latitude, longitude, quantity::Metres::new(300.0));
    site.zone = quantity::Hours::zero();
    let mut year = energy::weather::WeatherYear::blank();
    for day in 0..energy::site::DAYS {
        year.ghi_w_m2[day * 24 + 12] = 500.0;
        year.dhi_w_m2[day * 24 + 12] = 500.0;
        year.air_c[day * 24 + 12] = 30.0;
    }
    let series = energy::weather::Series {
        site,
        format: energy::weather::Format::Epw,
        title: "One bright hour".to_owned(),
        years: (2027, 2027),
        minutes_into_hour: 30.0,
        year,
        more: Vec::new(),
        calendar_years: vec![2027],
        notes: Vec::new(),
    };
    let solar = format!(
        "{LAMP}solar.roof = {{ module = \"module-200w\", count = 1, mounting = \"flush\", length = \"5 m\" }}\n"
    );
    let stops =
        stop("50 N", "10 E", 1, "") + &stop("40 N", "10 E", 1, "drive = \"14 h\"\narrive = \"20:00\"");
    let there = itinerary(&format!("start = \"2027-05-01\"\n{stops}"));
    let options = TripOptions { count: 0, charge: Fraction::new(0.5), ..TripOptions::default() };
    let trip =
        trip::run(&system(&solar), &there, Some(&series), options, &Progress::default()).expect("a bank");
    assert_sound(&trip);
    let lit: Vec<usize> = (0..24).filter(|hour| trip.trace.sun_w[*hour] > 1.0).collect();
    assert_eq!(lit, [13], "noon of UTC is one o'clock at 10° east");
    assert_eq!(trip.days[0].air, (quantity::Celsius::new(0.0), quantity::Celsius::new(30.0)));
    let note = trip.notes.iter().find(|note| note.id == "weather-file").expect("a note");
    assert!(note.message.contains("1 of 2 places"), "{}", note.message);
}

#[test]
fn it_stops_when_told() {
    let progress = Progress::default();
    progress.stop.store(true, std::sync::atomic::Ordering::Relaxed);
    let week = itinerary(&format!("start = \"2027-05-01\"\n{}", stop("50 N", "10 E", 7, "")));
    assert!(trip::run(&system(LAMP), &week, None, TripOptions::default(), &progress).is_none());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    // Wherever it goes: books close, days join on, no hour and no kilometre is lost.
    #[test]
    fn any_itinerary_runs_soundly(
        from in (-80.0..80.0f64, -180.0..180.0f64),
        stops in proptest::collection::vec((-8.0..8.0f64, -25.0..25.0f64, 2u32..5, 0u32..24, 10.0..25.0f64, 0u8..3), 1..6),
        day in 1u32..29,
        month in 1u32..13,
    ) {
        let mut text = format!("start = \"2027-{month:02}-{day:02}\"\n");
        let (mut latitude, mut longitude) = from;
        for (north, east, nights, arrive, drive, shore) in stops {
            latitude = (latitude + north).clamp(-90.0, 90.0);
            longitude = (longitude + east + 180.0).rem_euclid(360.0) - 180.0;
            let shore = ["false", "true", "\"5 h/day\""][usize::from(shore)];
            text += &stop(
                &format!("{latitude:.3}°"),
                &format!("{longitude:.3}°"),
                nights,
                &format!("arrive = \"{arrive:02}:00\"\ndrive = \"{drive:.2} h\"\nshore = {shore}"),
            );
        }
        // Too fast or overlapping ones are refused; most are not, or this test fails by itself.
        let read = trip::read("trip", text.as_bytes());
        prop_assume!(read.is_ok());
        let Ok((itinerary, _)) = read else { return Ok(()) };
        let system = system(&format!(
            "{LAMP}engine = {{ charging = \"dc-dc\", driving = \"1 h/day\", length = \"5 m\" }}\n\
             shore = {{ current = \"16 A\", length = \"2 m\" }}\ncharger = {{ length = \"1 m\" }}\n"
        ));
        let trip = one(&system, &itinerary);
        let passed = itinerary.ends().duration_since(itinerary.begins()).as_secs_f64() / 3600.0;
        let hours: u32 = trip.days.iter().map(|day| day.hours).sum();
        prop_assert!(f64::from(hours) >= passed && f64::from(hours) < passed + 2.0);
    }
}
