//! EPW: eight header lines, then a line of 35 columns for each hour of a year.
//! Never: uses the design conditions or the ground.
//! Start at [`read`]. Columns and missing codes: "Auxiliary Programs", EnergyPlus documentation, weather file data dictionary.

use super::page::Faults;
use super::pvgis::split_offset;
use super::rows::{BadTime, Column, Kind, Table, When, date, number, read_rows, whole};
use super::series::Format;
use super::site_line::{SiteFields, site_of};

/// Header lines looked at before the data must have begun.
const LONGEST_HEADER: usize = 40;
/// Rows above which the years are taken as real ones that follow each other.
const TWO_YEARS: usize = 2 * 8760;

pub(super) fn read(faults: &mut Faults<'_>, start: usize) -> Option<Table> {
    let page = faults.page;
    let fields = SiteFields { latitude: 6, longitude: 7, zone: Some(8), altitude: 9, title: &[1, 2, 3] };
    let (site, title) = site_of(faults, start, &fields)?;
    let mut moment = None;
    let mut at = page.next_line(start);
    let mut data = None;
    for _ in 0..LONGEST_HEADER {
        let line = page.line_at(at);
        let lower = line.to_ascii_lowercase();
        if lower.starts_with("comments")
            && let Some((_, offset)) = lower.split_once("irradiance time offset (h):")
        {
            moment = number(offset.trim().trim_end_matches(',')).filter(|hours| hours.abs() <= 1.0);
        }
        if lower.starts_with("data periods") {
            check_periods(faults, at, line);
            data = Some(page.next_line(at));
            break;
        }
        at = page.next_line(at);
    }
    let Some(data) = data else {
        faults.problem(
            start..start,
            "DATA PERIODS",
            "the header has no line `DATA PERIODS`, after which the hours begin",
            "Give the file with all eight header lines",
        );
        return None;
    };
    let column = |kind, at, name: &str, is_missing| Column { kind, at, name: name.to_owned(), is_missing };
    let irradiance_missing = |value: f64| value >= 9999.0;
    let columns = [
        column(Kind::Air, 6, "dry bulb temperature", |value| value >= 99.0),
        column(Kind::Ghi, 13, "global horizontal radiation", irradiance_missing),
        column(Kind::Dni, 14, "direct normal radiation", irradiance_missing),
        column(Kind::Dhi, 15, "diffuse horizontal radiation", irradiance_missing),
        column(Kind::Wind, 21, "wind speed", |value| value >= 999.0),
    ];
    let rows = read_rows(faults, data..page.text.len(), &columns, when);
    // Without an offset, values are means of the hour that ends; with one, of a moment counted from that end.
    let (shift, minutes_into_hour) = moment.map_or((0, 30.0), |hours| split_offset(1.0 + hours));
    let is_run_of_years = rows.len() >= TWO_YEARS;
    let mut table =
        Table { format: Format::Epw, title, site, shift, minutes_into_hour, is_run_of_years, rows };
    if moment.is_some() {
        super::clock::prefer_utc(faults, &mut table);
    }
    Some(table)
}

fn check_periods(faults: &mut Faults<'_>, at: usize, line: &str) {
    let records = line.split(',').nth(2).map(str::trim).unwrap_or("");
    if records != "1" {
        let span = faults.page.field(at, 2);
        faults.problem(
            span,
            "DATA PERIODS",
            format!("the file has `{}` records an hour; one is wanted", super::rows::clip(records)),
            "Give a file with one line an hour",
        );
    }
}

fn when(record: &csv::StringRecord) -> Result<When, BadTime> {
    let field = |at| record.get(at).unwrap_or("");
    let bad = |field: usize, message: String, mend| BadTime { field, message, mend };
    let Some(hour) = whole(field(3), 1..=24) else {
        return Err(bad(
            3,
            format!("hour `{}` is none of 1 to 24", super::rows::clip(field(3))),
            "Number the hours 1 to 24, each by its end",
        ));
    };
    let parts = (whole(field(0), super::rows::YEARS), whole(field(1), 1..=12), whole(field(2), 1..=31));
    let time = match parts {
        (Some(year), Some(month), Some(day)) => date(year, month, day, hour - 1),
        _ => None,
    };
    time.ok_or_else(|| {
        let shown = format!("{}-{}-{}", field(0).trim(), field(1).trim(), field(2).trim());
        bad(
            0,
            format!("`{}` is not a date", super::rows::clip(&shown)),
            "Write year, month and day as numbers",
        )
    })
}
