//! A trip: where the craft stands and when it drives, read from a track or from `trip.toml`, then run day by day.
//! Never: opens a file, guesses a time that nothing tells. What is assumed stands in a [`Note`].
//! Start at [`read`], which gives an [`Itinerary`], and [`run`], which makes a [`Trip`] of it.

mod run;
mod sphere;
mod stretches;
mod timetable;
mod track;
mod written;
mod xml;

use jiff::{SignedDuration, Timestamp, civil};
use model::{Place, Problem, SourceText};
use quantity::{Hours, HoursPerDay, Metres};
use serde::Serialize;

pub use run::{DayChance, Trip, TripChance, TripDay, TripOptions, run};
pub use sphere::distance;
pub use written::{Stop, TripDate, TripFile};

use crate::weather::Note;

/// Largest file read [bytes]: a year of points, one a minute, is about two thirds of it.
pub const LARGEST_FILE: usize = 100_000_000;
/// Longest trip.
pub const MOST_DAYS: i64 = 366;
/// Nothing that this is for goes faster [km/h].
pub const FASTEST_KM_H: f64 = 300.0;
/// How fast a way is driven when nothing says how long it took [km/h]. Common practice, no source.
pub const ASSUMED_KM_H: f64 = 60.0;
/// Problems of one file that are reported at most.
const MOST_PROBLEMS: usize = 20;

/// What shore power there is at a stop.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Shore {
    /// Plugged in all the time, or never.
    Plugged(bool),
    /// Plugged in for some hours of each day.
    Hours(HoursPerDay),
}

/// Standing at a place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stay {
    /// What it is called.
    pub title: Option<String>,
    /// Where.
    pub place: Place,
    /// From when.
    pub from: Timestamp,
    /// Until when.
    pub to: Timestamp,
    /// Shore power there.
    pub shore: Shore,
    /// Whether somebody lives in it there.
    pub is_in_use: bool,
}

/// Driving from one place to another; the engine runs all the time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Drive {
    /// Where it begins.
    pub start: Place,
    /// Where it ends.
    pub end: Place,
    /// From when.
    pub from: Timestamp,
    /// Until when.
    pub to: Timestamp,
    /// Along great circles from point to point: the road is longer where there are few points.
    pub distance: Metres,
}

/// A part of a trip.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Leg {
    /// Standing.
    Stay(Stay),
    /// Driving.
    Drive(Drive),
}

impl Leg {
    /// When it begins.
    pub fn from(&self) -> Timestamp {
        match self {
            Self::Stay(stay) => stay.from,
            Self::Drive(drive) => drive.from,
        }
    }
    /// When it ends.
    pub fn to(&self) -> Timestamp {
        match self {
            Self::Stay(stay) => stay.to,
            Self::Drive(drive) => drive.to,
        }
    }
    /// Where it begins.
    pub fn place(&self) -> &Place {
        match self {
            Self::Stay(stay) => &stay.place,
            Self::Drive(drive) => &drive.start,
        }
    }
}

/// Where the craft stands and when it drives. Each leg begins when the one before it ends; there is at least one.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Itinerary {
    /// What the trip is called.
    pub title: Option<String>,
    /// Its parts in order.
    pub legs: Vec<Leg>,
}

impl Itinerary {
    /// When it begins.
    pub fn begins(&self) -> Timestamp {
        self.legs.first().map_or(Timestamp::UNIX_EPOCH, Leg::from)
    }
    /// When it ends.
    pub fn ends(&self) -> Timestamp {
        self.legs.last().map_or(Timestamp::UNIX_EPOCH, Leg::to)
    }
    /// All driving.
    pub fn driving(&self) -> Hours {
        self.drives().map(|drive| hours(drive.to.duration_since(drive.from))).sum()
    }
    /// All distance.
    pub fn distance(&self) -> Metres {
        self.drives().map(|drive| drive.distance).sum()
    }
    /// Its drives.
    pub fn drives(&self) -> impl Iterator<Item = &Drive> {
        self.legs.iter().filter_map(|leg| match leg {
            Leg::Drive(drive) => Some(drive),
            Leg::Stay(_) => None,
        })
    }
    /// Its stays.
    pub fn stays(&self) -> impl Iterator<Item = &Stay> {
        self.legs.iter().filter_map(|leg| match leg {
            Leg::Stay(stay) => Some(stay),
            Leg::Drive(_) => None,
        })
    }
}

pub(crate) fn hours(duration: SignedDuration) -> Hours {
    Hours::new(duration.as_secs_f64() / 3600.0)
}

/// How far standard time at a place is ahead of UTC: the nearest whole hour of its longitude, as in [`crate::site::Site`].
pub fn zone_hours(place: &Place) -> i64 {
    // At most 12 in size: no cut.
    (place.longitude.get() / 15.0).round().clamp(-12.0, 12.0) as i64
}

/// Date and clock of a moment in standard time of a place.
pub fn local(moment: Timestamp, place: &Place) -> civil::DateTime {
    let shifted = moment.checked_add(SignedDuration::from_hours(zone_hours(place))).unwrap_or(moment);
    jiff::tz::Offset::UTC.to_datetime(shifted)
}

/// Reads a trip from the bytes of a GPX file or of `trip.toml`, told apart by their content.
///
/// `name` is what a person knows the file by. Gives the itinerary with what was assumed, or every problem found.
/// Times of a GPX file are UTC, as GPX 1.1 says; those of `trip.toml` are standard time at the stop (no summer time).
pub fn read(name: &str, bytes: &[u8]) -> Result<(Itinerary, Vec<Note>), Vec<Problem>> {
    if bytes.len() > LARGEST_FILE {
        let message = format!("the file has {} bytes; the most that is read is {LARGEST_FILE}", bytes.len());
        let mend = "Thin the track: a point a minute is plenty";
        return Err(vec![whole_file(name, message, mend)]);
    }
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    if bytes.starts_with(b"\xFF\xFE") || bytes.starts_with(b"\xFE\xFF") {
        return Err(vec![whole_file(
            name,
            "the file is UTF-16 text".to_owned(),
            "Save the file as UTF-8 text",
        )]);
    }
    if bytes.contains(&0) {
        let message = "the file is not text: neither a GPX track nor trip.toml".to_owned();
        return Err(vec![whole_file(name, message, "Export the track as GPX, or write trip.toml")]);
    }
    let source = match std::str::from_utf8(bytes) {
        Ok(text) => SourceText { name: name.to_owned(), text: text.to_owned() },
        Err(_) => {
            return Err(model::read::text_from_bytes(name, bytes.to_vec())
                .err()
                .map(|p| *p)
                .into_iter()
                .collect());
        }
    };
    let text = source.text.trim_start();
    if text.is_empty() {
        return Err(vec![whole_file(
            name,
            "the file is empty".to_owned(),
            "Export the track again, or write trip.toml",
        )]);
    }
    let (itinerary, mut notes) = if text.starts_with('<') {
        track::itinerary(xml::read(&source)?, &source)?
    } else {
        written::itinerary(&source)?
    };
    notes.extend(leap_day(&itinerary));
    Ok((itinerary, notes))
}

fn whole_file(name: &str, message: String, mend: &str) -> Problem {
    Problem {
        message,
        file: name.to_owned(),
        field: String::new(),
        span: 0..0,
        line: 1,
        column: 1,
        mend: mend.to_owned(),
    }
}

fn problem_at(
    source: &SourceText,
    field: &str,
    span: std::ops::Range<usize>,
    message: String,
    mend: &str,
) -> Problem {
    let (line, column) = source.line_column(span.start);
    let (file, field) = (source.name.clone(), field.to_owned());
    Problem { message, file, field, span, line, column, mend: mend.to_owned() }
}

fn note(id: &str, line: usize, message: String) -> Note {
    Note { id: id.to_owned(), message, line }
}

/// A year here has no 29 February; a trip that meets one is told so.
fn leap_day(itinerary: &Itinerary) -> Option<Note> {
    let first = local(itinerary.begins(), itinerary.legs.first()?.place()).date();
    let last = local(itinerary.ends(), itinerary.legs.last()?.place()).date();
    let met = (first.year()..=last.year())
        .filter_map(|year| civil::Date::new(year, 2, 29).ok())
        .find(|day| (first..=last).contains(day))?;
    Some(note("leap-day", 0, format!("{met} has the sun and the weather of 28 February")))
}
