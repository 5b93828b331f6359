//! `trip.toml`: stops and driving hours as a person writes them.
//! Never: holds a calendar of its own; dates are `jiff`'s.
//! Start at [`TripFile`] for what can be written, [`itinerary`] for what it means.

use std::borrow::Cow;
use std::fmt;

use jiff::{SignedDuration, Timestamp, civil};
use model::read::{Context, ReadValue, Reading, read_text};
use model::{ClockTime, Place, Problem, SourceText, record};
use quantity::{Hours, HoursPerDay, Metres};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};
use toml::Spanned;
use toml::de::DeValue;

use super::sphere::distance;
use super::{
    ASSUMED_KM_H, Drive, FASTEST_KM_H, Itinerary, Leg, MOST_DAYS, Shore, Stay, local, note, problem_at,
    zone_hours,
};
use crate::weather::Note;

/// When a stop is reached if nobody says: in time to cook by daylight. Common practice, no source.
const USUAL_ARRIVAL_MINUTES: u16 = 16 * 60;
/// Longest drive to one stop [h].
const LONGEST_DRIVE_H: f64 = 240.0;
/// Two stops that are nearer than this are one place [m].
const SAME_PLACE_M: f64 = 1000.0;

/// A date of the calendar, as in `2027-04-03`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct TripDate(pub civil::Date);

impl fmt::Display for TripDate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl Serialize for TripDate {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl JsonSchema for TripDate {
    fn schema_name() -> Cow<'static, str> {
        "Date".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "format": "date", "description": "a date", "examples": ["2027-04-03"] })
    }
}

impl ReadValue for TripDate {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        let text = match value.get_ref() {
            DeValue::String(text) => text.to_string(),
            DeValue::Datetime(date) => date.to_string(),
            _ => String::new(),
        };
        // A clock or a zone after the date would be lost: only a bare date is taken.
        let date = (text.trim().len() == 10).then(|| text.trim().parse::<civil::Date>().ok()).flatten();
        let date = date.filter(|date| (1900..=2199).contains(&date.year()));
        if date.is_none() {
            let mend = "Write year, month and day of the years 1900 to 2199: \"2027-04-03\"";
            context.problem(value.span(), "this is not a date", mend);
        }
        date.map(Self)
    }
    fn example() -> Cow<'static, str> {
        "\"2027-04-03\"".into()
    }
}

impl JsonSchema for Shore {
    fn schema_name() -> Cow<'static, str> {
        "Shore".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "plugged in: true, false, or so many hours a day",
            "anyOf": [{ "type": "boolean" }, generator.subschema_for::<HoursPerDay>()],
        })
    }
}

impl ReadValue for Shore {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        if let DeValue::Boolean(is) = value.get_ref() {
            return Some(Self::Plugged(*is));
        }
        let hours = HoursPerDay::read(value, context)?;
        if !(0.0..=24.0).contains(&hours.get()) {
            context.problem(
                value.span(),
                format!("{hours} is no part of a day"),
                "Write from \"0 h/day\" to \"24 h/day\"",
            );
            return None;
        }
        Some(Self::Hours(hours))
    }
    fn example() -> Cow<'static, str> {
        "\"8 h/day\"".into()
    }
}

record! {
    /// A stop of a trip, and the way there.
    "a stop" pub struct Stop {
        /// What it is called.
        pub title: Option<String>,
        /// Where it is.
        pub place: Place,
        /// Nights there; 0 is a stop on the way. The last stop ends so many times 24 hours after arriving.
        pub nights: u32,
        /// Driving to get there, just before arriving; "0 h" is a ferry or a tow. Without it, 60 km/h along the great circle.
        pub drive: Option<Hours>,
        /// When it is reached, in standard time there (no summer time). Without it, 16:00; midnight where the trip begins.
        pub arrive: Option<ClockTime>,
        /// Whether it is plugged in there, or for how many hours a day. Without it, not.
        pub shore: Option<Shore>,
        /// Whether somebody lives or works in it there. Without it, yes.
        pub in_use: Option<bool>,
    }
}

record! {
    /// A trip: stops in order, each with the driving to get there.
    "a trip" pub struct TripFile {
        /// What the trip is called.
        pub title: Option<String>,
        /// Day on which the first stop is reached.
        pub start: TripDate,
        /// Where the drive to the first stop begins; without it, distance and weather of that drive are those of the stop.
        pub from: Option<Place>,
        /// The stops.
        pub stop: Vec<Stop>,
    }
}

/// The itinerary of a `trip.toml`, with what was assumed, or every problem found.
pub fn itinerary(source: &SourceText) -> Result<(Itinerary, Vec<Note>), Vec<Problem>> {
    let reading = read_text::<TripFile>(source);
    let file = match &reading.value {
        Some(file) if reading.problems.is_empty() => file.clone(),
        _ => return Err(reading.problems),
    };
    let mut writer = Writer { source, reading: &reading, problems: Vec::new(), notes: Vec::new() };
    let legs = writer.legs(&file);
    match writer.problems.is_empty() {
        true => Ok((Itinerary { title: file.title, legs }, writer.notes)),
        false => Err(writer.problems),
    }
}

struct Writer<'r> {
    source: &'r SourceText,
    reading: &'r Reading<TripFile>,
    problems: Vec<Problem>,
    notes: Vec<Note>,
}

impl Writer<'_> {
    fn span(&self, path: &str) -> std::ops::Range<usize> {
        self.reading.spans.nearest(path).unwrap_or(0..0)
    }

    fn report(&mut self, path: &str, message: String, mend: &str) {
        self.problems.push(problem_at(self.source, path, self.span(path), message, mend));
    }

    fn note(&mut self, id: &str, path: &str, message: String) {
        let line = self.source.line_column(self.span(path).start).0;
        self.notes.push(note(id, line, message));
    }

    fn legs(&mut self, file: &TripFile) -> Vec<Leg> {
        if file.stop.is_empty() {
            let mend = "Add `[[stop]]` with `place` and `nights` below it";
            self.report("", "the trip has no stops".to_owned(), mend);
        }
        if let Some(from) = &file.from {
            self.check_place(from, "from");
        }
        for (index, stop) in file.stop.iter().enumerate() {
            self.check_place(&stop.place, &format!("stop[{index}].place"));
        }
        let nights: i64 = file.stop.iter().map(|stop| i64::from(stop.nights)).sum();
        if nights > MOST_DAYS {
            self.report(
                "stop",
                format!("the trip has {nights} nights; the longest has {MOST_DAYS}"),
                "Split the trip",
            );
        }
        let mut legs: Vec<Leg> = Vec::new();
        let mut date = file.start.0;
        let mut here = file.from.clone();
        for (index, stop) in file.stop.iter().enumerate() {
            if !self.problems.is_empty() {
                break;
            }
            let drive = self.drive(stop, index, here.as_ref());
            let Some(arrives) = self.arrival(stop, index, date, drive) else { break };
            let leaves =
                arrives.checked_sub(SignedDuration::from_secs_f64(drive.get() * 3600.0)).unwrap_or(arrives);
            if let Some(Leg::Stay(before)) = legs.last_mut() {
                if leaves < before.from {
                    let message = format!(
                        "the itinerary overlaps itself: the way to this stop begins at {}, before the stop before it \
                         begins at {}",
                        shown(leaves, &before.place),
                        shown(before.from, &before.place)
                    );
                    let mend = "Arrive later, stay a night more at the stop before, or drive fewer hours";
                    self.report(&format!("stop[{index}]"), message, mend);
                    break;
                }
                before.to = leaves;
            }
            if drive > Hours::zero() {
                let start = here.clone().unwrap_or_else(|| stop.place.clone());
                let way = distance(&start, &stop.place);
                legs.push(Leg::Drive(Drive {
                    start,
                    end: stop.place.clone(),
                    from: leaves,
                    to: arrives,
                    distance: way,
                }));
            }
            let until = arrives.checked_add(SignedDuration::from_hours(24 * i64::from(stop.nights)));
            legs.push(Leg::Stay(Stay {
                title: stop.title.clone(),
                place: stop.place.clone(),
                from: arrives,
                to: until.unwrap_or(arrives),
                shore: stop.shore.unwrap_or(Shore::Plugged(false)),
                is_in_use: stop.in_use.unwrap_or(true),
            }));
            here = Some(stop.place.clone());
            date = date.checked_add(SignedDuration::from_hours(24 * i64::from(stop.nights))).unwrap_or(date);
        }
        legs.retain(|leg| leg.to() > leg.from());
        self.check_length(&legs);
        legs
    }

    /// Hours of driving to a stop, said or assumed.
    fn drive(&mut self, stop: &Stop, index: usize, here: Option<&Place>) -> Hours {
        let path = format!("stop[{index}].drive");
        let way = here.map_or(Metres::zero(), |here| distance(here, &stop.place));
        let km = way.get() / 1000.0;
        let Some(drive) = stop.drive else {
            if way.get() <= SAME_PLACE_M {
                return Hours::zero();
            }
            let drive = Hours::new(km / ASSUMED_KM_H);
            let message =
                format!("no driving hours are said: {km:.0} km at {ASSUMED_KM_H} km/h make {drive}");
            self.note("drive-assumed", &path, message);
            return drive;
        };
        if !(0.0..=LONGEST_DRIVE_H).contains(&drive.get()) {
            let mend = "Write hours of driving such as \"3.5 h\"; break a long way with a stop";
            self.report(
                &path,
                format!("{drive} of driving cannot be: it is from 0 h to {LONGEST_DRIVE_H} h"),
                mend,
            );
        } else if drive == Hours::zero() && way.get() > SAME_PLACE_M {
            self.note(
                "moved-without-engine",
                &path,
                format!("it comes {km:.0} km without driving, as by ferry"),
            );
        } else if km > FASTEST_KM_H * drive.get() && way.get() > SAME_PLACE_M {
            let message = format!(
                "{km:.0} km in {drive} is {:.0} km/h; nothing here goes faster than {FASTEST_KM_H} km/h",
                km / drive.get()
            );
            self.report(&path, message, "Write more hours of driving, or mend one of the two places");
        }
        if here.is_none() && drive > Hours::zero() {
            let message = "nothing says where this drive begins: its weather is that of the stop, its distance is not counted";
            self.note("start-unknown", &path, message.to_owned());
        }
        drive
    }

    /// When a stop is reached.
    fn arrival(&mut self, stop: &Stop, index: usize, date: civil::Date, drive: Hours) -> Option<Timestamp> {
        let minutes = match stop.arrive {
            Some(time) => time.minutes(),
            None if drive == Hours::zero() && index == 0 => 0,
            None => {
                let message = "no time of arrival is said: taken as 16:00".to_owned();
                self.note("arrival-assumed", &format!("stop[{index}]"), message);
                USUAL_ARRIVAL_MINUTES
            }
        };
        let midnight = jiff::tz::Offset::UTC.to_timestamp(date.to_datetime(civil::Time::midnight())).ok()?;
        let local = SignedDuration::from_mins(i64::from(minutes) - 60 * zone_hours(&stop.place));
        midnight.checked_add(local).ok()
    }

    fn check_place(&mut self, place: &Place, path: &str) {
        for (key, degrees, most) in
            [("latitude", place.latitude.get(), 90.0), ("longitude", place.longitude.get(), 180.0)]
        {
            if degrees.abs() > most {
                let mend = "Write latitude from 90 S to 90 N and longitude from 180 W to 180 E";
                self.report(
                    &format!("{path}.{key}"),
                    format!("the {key} is {degrees}°; it lies within ±{most}°"),
                    mend,
                );
            }
        }
        if let Some(altitude) = place.altitude
            && !(-500.0..=9000.0).contains(&altitude.get())
        {
            let mend = "Write the height above the sea, from -500 m to 9000 m";
            self.report(&format!("{path}.altitude"), format!("{altitude} is no height on Earth"), mend);
        }
    }

    fn check_length(&mut self, legs: &[Leg]) {
        if !self.problems.is_empty() {
            return;
        }
        let (Some(first), Some(last)) = (legs.first(), legs.last()) else {
            let message = "no time passes on this trip".to_owned();
            self.report("stop", message, "Write `nights = 1` or more for a stop, or hours of driving");
            return;
        };
        let long = last.to().duration_since(first.from());
        if long > SignedDuration::from_hours(24 * MOST_DAYS) {
            let message = format!("the trip takes {} days; the longest is {MOST_DAYS}", long.as_hours() / 24);
            self.report("stop", message, "Split the trip");
        }
    }
}

fn shown(moment: Timestamp, place: &Place) -> impl fmt::Display {
    local(moment, place).strftime("%Y-%m-%d %H:%M").to_string()
}
