//! The place that a comma-separated header line gives.
//! Never: guesses a place.
//! Start at [`site_of`].

use quantity::{Degrees, Hours, Metres};

use super::page::Faults;
use super::rows::{clip, number};
use crate::site::Site;

/// Which field of the line holds what, from 0.
pub(super) struct SiteFields {
    pub latitude: usize,
    pub longitude: usize,
    pub zone: Option<usize>,
    pub altitude: usize,
    pub title: &'static [usize],
}

/// Site and title from the line at `start`; `None` when a value is missing or impossible (reported).
pub(super) fn site_of(faults: &mut Faults<'_>, start: usize, fields: &SiteFields) -> Option<(Site, String)> {
    let line = faults.page.line_at(start);
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(line.as_bytes());
    let mut record = csv::StringRecord::new();
    reader.read_record(&mut record).ok()?;
    let mut value = |at: usize, name: &'static str, low: f64, high: f64| {
        let written = record.get(at).unwrap_or("");
        check(faults, start, at, (name, written), (low, high))
    };
    let latitude = value(fields.latitude, "latitude", -90.0, 90.0);
    let longitude = value(fields.longitude, "longitude", -180.0, 180.0);
    // The lowest shore on Earth is that of the Dead Sea, some 430 m below the sea; the highest summit stands at 8849 m.
    let altitude = value(fields.altitude, "altitude", -500.0, 8850.0);
    let zone = fields.zone.map(|at| value(at, "time zone", -12.0, 14.0));
    let mut site = Site::new(Degrees::new(latitude?), Degrees::new(longitude?), Metres::new(altitude?));
    if let Some(zone) = zone {
        site.zone = Hours::new(zone?);
    }
    let words: Vec<&str> = fields
        .title
        .iter()
        .filter_map(|at| record.get(*at).map(str::trim))
        .filter(|word| !matches!(*word, "" | "-" | "unknown"))
        .collect();
    Some((site, words.join(", ")))
}

/// One value of the header, within its range.
pub(super) fn check(
    faults: &mut Faults<'_>,
    start: usize,
    at: usize,
    (name, written): (&str, &str),
    (low, high): (f64, f64),
) -> Option<f64> {
    let value = number(written).filter(|value| (low..=high).contains(value));
    if value.is_none() {
        let span = faults.page.field(start, at);
        let message = if written.trim().is_empty() {
            format!("the {name} is missing")
        } else {
            format!("`{}` is not a {name}: wanted is a number from {low} to {high}", clip(written))
        };
        faults.problem(span, name, message, "Mend the header line: it gives the place of the data");
    }
    value
}
