//! TMY3: a line of the station, a line of column names, then a line for each hour.
//! Never: uses the illuminances.
//! Start at [`read`]. Layout: Wilcox and Marion, "Users Manual for TMY3 Data Sets", NREL/TP-581-43156, 2008, tables 1-1 and 1-2.

use super::page::Faults;
use super::rows::{BadTime, Column, Kind, Table, When, clip, date, read_rows, whole};
use super::series::Format;
use super::site_line::{SiteFields, site_of};

/// Names that the columns may bear, without the unit in brackets.
const NAMES: [(Kind, &str); 5] = [
    (Kind::Ghi, "ghi"),
    (Kind::Dni, "dni"),
    (Kind::Dhi, "dhi"),
    (Kind::Air, "dry-bulb"),
    (Kind::Wind, "wspd"),
];

pub(super) fn read(faults: &mut Faults<'_>, start: usize) -> Option<Table> {
    let page = faults.page;
    let fields = SiteFields { latitude: 4, longitude: 5, zone: Some(3), altitude: 6, title: &[1, 2] };
    let site = site_of(faults, start, &fields);
    let header = page.next_line(start);
    let names: Vec<&str> =
        page.line_at(header).split(',').map(|name| name.trim().trim_matches('"')).collect();
    let mut columns = Vec::new();
    for (kind, wanted) in NAMES {
        let place = names
            .iter()
            .position(|name| name.split('(').next().unwrap_or("").trim().eq_ignore_ascii_case(wanted));
        match place {
            // −9900 stands for missing; no value that is meant lies so low.
            Some(at) => columns.push(Column {
                kind,
                at,
                name: (*names.get(at).unwrap_or(&wanted)).to_owned(),
                is_missing: |value| value <= -999.0,
            }),
            // What can be made from the others is asked for later.
            None if kind.is_sun() => {}
            None => faults.problem(
                header..header,
                wanted,
                format!("no column holds the {}", kind.name()),
                "Give the file with its column names as published, such as `Dry-bulb (C)`",
            ),
        }
    }
    let rows = read_rows(faults, page.next_line(header)..page.text.len(), &columns, when);
    let (site, title) = site?;
    Some(Table {
        format: Format::Tmy3,
        title,
        site,
        shift: 0,
        minutes_into_hour: 30.0,
        is_run_of_years: rows.len() >= 2 * 8760,
        rows,
    })
}

fn when(record: &csv::StringRecord) -> Result<When, BadTime> {
    let (day_text, clock) = (record.get(0).unwrap_or(""), record.get(1).unwrap_or(""));
    let mut parts = day_text.trim().split('/').map(|part| whole(part, 0..=9999));
    let mut next = || parts.next().flatten();
    let (month, day, year) = (next(), next(), next());
    let hour = clock.trim().split_once(':').filter(|(_, minutes)| *minutes == "00").map(|(hour, _)| hour);
    let Some(hour) = hour.and_then(|hour| whole(hour, 1..=24)) else {
        return Err(BadTime {
            field: 1,
            message: format!("`{}` is none of 01:00 to 24:00", clip(clock)),
            mend: "Give each hour by its end, 01:00 to 24:00",
        });
    };
    let time = match (year, month, day) {
        (Some(year), Some(month), Some(day)) => date(year, month, day, hour - 1),
        _ => None,
    };
    time.ok_or_else(|| BadTime {
        field: 0,
        message: format!("`{}` is not a date", clip(day_text)),
        mend: "Write month/day/year, such as 01/31/1998",
    })
}
