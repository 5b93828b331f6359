//! PVGIS as CSV: header lines of the place, a line of column names, the hours in UTC, a legend.
//! Never: reads modelled power.
//! Start at [`read`]. Layout: PVGIS user manual of the European Commission's Joint Research Centre, and its files.

use quantity::{Degrees, Metres};

use super::page::Faults;
use super::rows::{BadTime, Column, Kind, Table, When, clip, date, number, read_rows, whole};
use super::series::Format;
use super::site_line::check;
use crate::site::Site;

/// Header lines looked at before the hours must have begun.
const LONGEST_HEADER: usize = 60;

/// What the header lines say.
#[derive(Default)]
struct Header {
    latitude: Option<f64>,
    longitude: Option<f64>,
    altitude: Option<f64>,
    database: String,
    /// Irradiance time offset [h].
    offset: Option<f64>,
    /// Slope of the plane [°] and where its line starts.
    slope: Option<(f64, usize)>,
    /// Where the column names start.
    names: Option<usize>,
    is_typical: bool,
}

/// Whole hours and the minutes into the hour of a moment counted in hours.
pub(super) fn split_offset(hours: f64) -> (i64, f64) {
    // Within a day, so the whole part always fits.
    let whole = hours.clamp(-24.0, 24.0).floor();
    (whole as i64, (hours - whole) * 60.0)
}

pub(super) fn read(faults: &mut Faults<'_>, start: usize) -> Option<Table> {
    let page = faults.page;
    let header = header(faults, start);
    let Some(names_at) = header.names else {
        faults.problem(
            start..start,
            "time",
            "no line of column names begins with `time`, after which the hours stand",
            "Give the file as downloaded, with its header",
        );
        return None;
    };
    let names: Vec<&str> = page.line_at(names_at).split(',').map(str::trim).collect();
    if names.len() < 2 {
        faults.problem(
            names_at..names_at + page.line_at(names_at).len(),
            "time",
            "the column names are not cut by commas",
            "Save the file with commas between the columns and points in the numbers",
        );
        return None;
    }
    let columns = columns(faults, &header, names_at, &names)?;
    let data = page.next_line(names_at);
    let rows = read_rows(faults, data..end_of_hours(page.text, data), &columns, when);
    let Some(first) = rows.first() else {
        faults.problem(
            names_at..names_at,
            "time",
            "no hours stand below the column names",
            "Fetch the file again: it was cut short",
        );
        return None;
    };
    let format = if header.is_typical { Format::PvgisTypical } else { Format::PvgisHourly };
    let (turn, minutes_into_hour) = match header.offset {
        Some(hours) => split_offset(hours),
        None => (0, stamp_minutes(faults, first.offset, &rows)),
    };
    let (Some(latitude), Some(longitude), Some(altitude)) =
        (header.latitude, header.longitude, header.altitude)
    else {
        for (value, name) in [
            (header.latitude, "Latitude (decimal degrees)"),
            (header.longitude, "Longitude (decimal degrees)"),
            (header.altitude, "Elevation (m)"),
        ] {
            if value.is_none() && faults.is_clean() {
                faults.problem(
                    start..start,
                    name,
                    format!("the header has no line `{name}:`"),
                    "Give the file as downloaded, with its header",
                );
            }
        }
        return None;
    };
    let site = Site::new(Degrees::new(latitude), Degrees::new(longitude), Metres::new(altitude));
    let zone = site.zone.get();
    faults.note(
        "zone-from-longitude",
        None,
        format!(
            "the file counts in UTC; hours were turned to UTC{zone:+}, the whole hour nearest the longitude{}",
            if header.offset.is_some_and(|hours| hours != 0.0) {
                "; air and wind are those of the full hour, irradiance of some minutes off it"
            } else {
                ""
            }
        ),
    );
    let title = if header.database.is_empty() { "PVGIS".to_owned() } else { header.database };
    Some(Table {
        format,
        title: format!("{title} grid point"),
        site,
        // A zone is a whole number of hours here.
        shift: zone as i64 + turn,
        minutes_into_hour,
        is_run_of_years: !header.is_typical,
        rows,
    })
}

fn header(faults: &mut Faults<'_>, start: usize) -> Header {
    let page = faults.page;
    let mut header = Header::default();
    let mut at = start;
    for _ in 0..LONGEST_HEADER {
        let line = page.line_at(at);
        let lower = line.trim().to_ascii_lowercase();
        let value = line.split_once(':').map_or("", |(_, value)| value.trim());
        let mut take = |name, range| check(faults, at, 0, (name, value), range);
        if lower.starts_with("latitude") {
            header.latitude = take("latitude", (-90.0, 90.0));
        } else if lower.starts_with("longitude") {
            header.longitude = take("longitude", (-180.0, 180.0));
        } else if lower.starts_with("elevation") {
            header.altitude = take("altitude", (-500.0, 8850.0));
        } else if lower.starts_with("irradiance time offset") {
            header.offset = take("irradiance time offset", (-1.0, 1.0));
        } else if lower.starts_with("radiation database") || lower.starts_with("database") {
            header.database = clip(value);
        } else if lower.starts_with("slope") {
            let degrees = value.split_whitespace().next().unwrap_or("");
            header.slope = check(faults, at, 0, ("slope", degrees), (-90.0, 90.0)).map(|slope| (slope, at));
        } else if lower.starts_with("month,year") {
            header.is_typical = true;
        } else if lower.starts_with("time") {
            header.names = Some(at);
            // A typical year without its table of months still names the direct beam on a plane normal to it.
            header.is_typical |= lower.contains("gb(n)");
            break;
        }
        let next = page.next_line(at);
        if next == at {
            break;
        }
        at = next;
    }
    header
}

fn columns(faults: &mut Faults<'_>, header: &Header, names_at: usize, names: &[&str]) -> Option<Vec<Column>> {
    let place = |name: &str| names.iter().position(|held| held.eq_ignore_ascii_case(name));
    let is_plane = place("Gb(i)").is_some() || place("G(i)").is_some();
    if is_plane && place("G(h)").is_none() {
        let (slope, at) = header.slope.unwrap_or((f64::NAN, names_at));
        if slope != 0.0 {
            let shown =
                if slope.is_nan() { "an unnamed slope".to_owned() } else { format!("a slope of {slope}°") };
            faults.problem(
                at..at + faults.page.line_at(at).len(),
                "Slope",
                format!("the irradiance is that on a plane with {shown}; on the horizontal is wanted"),
                "Ask for the same hours with slope 0°, with the components of the radiation",
            );
            return None;
        }
    }
    let column = |kind, name: &str| {
        place(name).map(|at| Column { kind, at, name: name.to_owned(), is_missing: |value| value <= -999.0 })
    };
    // On a plane of slope 0 the direct and the diffuse make the global; the direct on the normal follows from them.
    let mut columns: Vec<Column> = [
        column(Kind::Ghi, "G(h)").or_else(|| column(Kind::Ghi, "G(i)")),
        column(Kind::Dni, "Gb(n)"),
        column(Kind::Dhi, "Gd(h)").or_else(|| column(Kind::Dhi, "Gd(i)")),
        column(Kind::Beam, "Gb(i)"),
    ]
    .into_iter()
    .flatten()
    .collect();
    for (kind, name) in [(Kind::Air, "T2m"), (Kind::Wind, "WS10m")] {
        match column(kind, name) {
            Some(found) => columns.push(found),
            None => faults.problem(
                names_at..names_at + faults.page.line_at(names_at).len(),
                name,
                format!("no column `{name}` holds the {}", kind.name()),
                "Ask for the file with all its columns",
            ),
        }
    }
    Some(columns)
}

/// The hours end at the first empty line; the legend follows.
fn end_of_hours(text: &str, data: usize) -> usize {
    let rest = text.get(data..).unwrap_or("");
    let end = [rest.find("\n\n"), rest.find("\n\r\n")].into_iter().flatten().min();
    data + end.map_or(rest.len(), |end| end + 1)
}

/// Minutes past the hour of the stamps, all alike.
fn stamp_minutes(faults: &mut Faults<'_>, first: usize, rows: &[super::rows::Row]) -> f64 {
    let page = faults.page;
    let minutes =
        |offset: usize| page.text.get(offset + 11..offset + 13).and_then(|text| whole(text, 0..=59));
    let Some(all) = minutes(first) else { return 0.0 };
    if let Some(row) = rows.iter().find(|row| minutes(row.offset) != Some(all)) {
        let span = page.field(row.offset, 0);
        faults.problem(
            span,
            "time",
            format!("this hour is stamped at other minutes than the first, {all} past"),
            "Give one hour a line, all at the same minutes",
        );
    }
    all as f64
}

fn when(record: &csv::StringRecord) -> Result<When, BadTime> {
    let stamp = record.get(0).unwrap_or("");
    let part = |from: usize, to: usize| stamp.get(from..to).and_then(|text| whole(text, 0..=9999));
    let is_shaped =
        stamp.len() == 13 && stamp.get(8..9) == Some(":") && number(stamp.get(11..).unwrap_or("")).is_some();
    let time = match (part(0, 4), part(4, 6), part(6, 8), part(9, 11)) {
        (Some(year), Some(month), Some(day), Some(hour)) if is_shaped => date(year, month, day, hour),
        _ => None,
    };
    time.ok_or_else(|| BadTime {
        field: 0,
        message: format!("`{}` is not a time", clip(stamp)),
        mend: "Write it as 20160131:0010 in UTC",
    })
}
