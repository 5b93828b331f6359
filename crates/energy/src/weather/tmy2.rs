//! TMY2: a line of the station, then a line of fixed columns for each hour.
//! Never: uses the source and uncertainty letters.
//! Start at [`read`]. Layout: Marion and Urban, "User's Manual for TMY2s", NREL/SP-463-7668, 1995, tables 3-1 and 3-2.

use super::page::Faults;
use super::rows::{KINDS, Kind, Mended, Row, Table, clip, date, judge, number, whole};
use super::series::Format;
use super::site_line::check;
use crate::site::Site;
use quantity::{Degrees, Hours, Metres};

/// Characters of a line of data.
const WIDTH: usize = 142;
/// Where each kind stands (from, to), counted from 0, in units of `scale`, and its code for missing.
const FIELDS: [(Kind, usize, usize, f64, f64); 5] = [
    (Kind::Ghi, 17, 21, 1.0, 9999.0),
    (Kind::Dni, 23, 27, 1.0, 9999.0),
    (Kind::Dhi, 29, 33, 1.0, 9999.0),
    (Kind::Air, 67, 71, 0.1, 9999.0),
    (Kind::Wind, 95, 98, 0.1, 999.0),
];

/// Whether a line looks like an hour of this format.
pub(super) fn is_row(line: &str) -> bool {
    line.len() >= WIDTH - 20
        && line.get(..9).is_some_and(|time| time.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b' ')))
}

pub(super) fn read(faults: &mut Faults<'_>, start: usize) -> Option<Table> {
    let page = faults.page;
    let site = station(faults, start);
    let mut rows = Vec::with_capacity(8760);
    let mut mended = Mended::default();
    let mut offset = page.next_line(start);
    while offset < page.text.len() {
        let line = page.line_at(offset);
        if !line.trim().is_empty() {
            rows.extend(row(faults, &mut mended, offset, line));
        }
        offset = page.next_line(offset);
    }
    mended.tell(faults, rows.len());
    let (site, title) = site?;
    Some(Table {
        format: Format::Tmy2,
        title,
        site,
        shift: 0,
        minutes_into_hour: 30.0,
        is_run_of_years: false,
        rows,
    })
}

fn row(faults: &mut Faults<'_>, mended: &mut Mended, offset: usize, line: &str) -> Option<Row> {
    if !line.is_ascii() || line.len() < 98 {
        faults.problem(
            offset..offset + line.len(),
            "",
            format!("the line has {} characters; {WIDTH} are wanted", line.chars().count()),
            "Fetch the file again: this line is not whole",
        );
        return None;
    }
    let part = |from: usize, to: usize| line.get(from..to).unwrap_or("");
    let time = (
        whole(part(1, 3), 0..=99),
        whole(part(3, 5), 1..=12),
        whole(part(5, 7), 1..=31),
        whole(part(7, 9), 1..=24),
    );
    let time = match time {
        // The data are of 1961 to 1990.
        (Some(year), Some(month), Some(day), Some(hour)) => date(1900 + year, month, day, hour - 1),
        _ => None,
    };
    let Some(when) = time else {
        faults.problem(
            offset..offset + 9,
            "",
            format!("`{}` is not a year, month, day and hour of 1 to 24", clip(part(1, 9))),
            "Write two digits each, such as 62010124",
        );
        return None;
    };
    let mut row = Row { offset, when, values: [f64::NAN; KINDS] };
    for (kind, from, to, scale, missing) in FIELDS {
        let span = || offset + from..offset + to;
        match number(part(from, to)) {
            Some(value) if value == missing => mended.miss(kind, offset),
            Some(value) => {
                row.values[kind as usize] = judge(faults, mended, kind, kind.name(), value * scale, span)
            }
            None => faults.problem(
                span(),
                kind.name(),
                format!("`{}` is not a number", clip(part(from, to))),
                "Write the digits in the columns of the format",
            ),
        }
    }
    Some(row)
}

/// The station: number, city, state, zone, then degrees and minutes with N or S, E or W, and metres.
fn station(faults: &mut Faults<'_>, start: usize) -> Option<(Site, String)> {
    let line = faults.page.line_at(start);
    let words: Vec<&str> = line.split_whitespace().collect();
    // The name may be of several words, so count from the end.
    let tail = words.len().checked_sub(8).filter(|tail| *tail >= 1);
    let Some((name, rest)) = tail.and_then(|tail| words.split_at_checked(tail)) else {
        faults.problem(
            start..start + line.len(),
            "station",
            "the first line does not give the station with zone, latitude, longitude and altitude",
            "Give the file with its first line as published",
        );
        return None;
    };
    let word = |at: usize| rest.get(at).copied().unwrap_or("");
    let mut degrees = |at: usize, name: &str, letters: (&str, &str), most: f64| {
        let whole_degrees = check(faults, start, 0, (name, word(at + 1)), (0.0, most));
        let minutes = check(faults, start, 0, (name, word(at + 2)), (0.0, 60.0));
        let sign = match word(at) {
            letter if letter == letters.0 => 1.0,
            letter if letter == letters.1 => -1.0,
            other => {
                let message =
                    format!("`{}` before the {name} is neither {} nor {}", clip(other), letters.0, letters.1);
                faults.problem(
                    start..start + line.len(),
                    name,
                    message,
                    "Mend the first line: it gives the place",
                );
                return None;
            }
        };
        Some(sign * (whole_degrees? + minutes? / 60.0))
    };
    let latitude = degrees(1, "latitude", ("N", "S"), 90.0);
    let longitude = degrees(4, "longitude", ("E", "W"), 180.0);
    let zone = check(faults, start, 0, ("time zone", word(0)), (-12.0, 14.0));
    let altitude = check(faults, start, 0, ("altitude", word(7)), (-500.0, 8850.0));
    let mut site = Site::new(Degrees::new(latitude?), Degrees::new(longitude?), Metres::new(altitude?));
    site.zone = Hours::new(zone?);
    Some((site, name.get(1..).unwrap_or_default().join(", ")))
}
