//! The hours that a file's lines give, as they stand there: one reader of numbers for all formats.
//! Never: fills a gap or turns a clock (see `assemble.rs`).
//! Start at [`Table`]; [`read_rows`] reads comma-separated lines.

use std::ops::Range;

use super::page::Faults;
use super::series::Format;
use crate::site::Site;

/// What a column may hold. The order is that of [`Row::values`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    Ghi,
    Dni,
    Dhi,
    Air,
    Wind,
    /// Direct irradiance on the horizontal, from which with the diffuse the global is made.
    Beam,
}

/// Number of [`Kind`]s.
pub(super) const KINDS: usize = 6;
/// All kinds, in order.
pub(super) const ALL: [Kind; KINDS] = [Kind::Ghi, Kind::Dni, Kind::Dhi, Kind::Air, Kind::Wind, Kind::Beam];

impl Kind {
    /// Its name in messages.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Ghi => "global irradiance",
            Kind::Dni => "direct normal irradiance",
            Kind::Dhi => "diffuse irradiance",
            Kind::Air => "air temperature",
            Kind::Wind => "wind speed",
            Kind::Beam => "direct irradiance on the horizontal",
        }
    }
    /// Lowest and highest value that is believed, with the unit. Irradiance: an hour's mean above 1500 W/m² would be more
    /// than the 1412 W/m² that reach the top of the air in January (solar constant 1361 W/m² of Kopp and Lean 2011, over
    /// the square of 0.983 AU), and a sensor at night reads a few watts below zero. Air and wind: the extremes recorded by
    /// the World Meteorological Organization are −89.2 °C, 56.7 °C and a gust of 113 m/s, rounded outwards.
    fn believed(self) -> (f64, f64, &'static str) {
        match self {
            Kind::Ghi | Kind::Dni | Kind::Dhi | Kind::Beam => (-20.0, 1500.0, "W/m²"),
            Kind::Air => (-90.0, 60.0, "°C"),
            Kind::Wind => (0.0, 114.0, "m/s"),
        }
    }
    /// Whether it is an irradiance.
    pub fn is_sun(self) -> bool {
        !matches!(self, Kind::Air | Kind::Wind)
    }
}

/// One hour as its line gives it. What is missing is NaN.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    /// Where its line starts.
    pub offset: usize,
    pub when: When,
    /// By [`Kind`].
    pub values: [f64; KINDS],
}

/// The beginning of an hour by the file's own clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct When {
    pub year: i32,
    /// 1 to 12.
    pub month: usize,
    /// 1 to 31.
    pub day: usize,
    /// 0 to 23.
    pub hour: usize,
}

/// All that a file says, before anything is assumed.
pub(super) struct Table {
    pub format: Format,
    pub title: String,
    /// The place; its zone is that of the year to be made.
    pub site: Site,
    /// Hours to add to the file's clock to come to the zone of `site`.
    pub shift: i64,
    /// Where in the hour the sun stands for the values of that hour, 0 up to 60.
    pub minutes_into_hour: f64,
    /// Whether the years of the rows are real ones that follow each other; otherwise months of several years make one.
    pub is_run_of_years: bool,
    pub rows: Vec<Row>,
}

/// A column to be read.
pub(super) struct Column {
    pub kind: Kind,
    /// Place in the line, from 0.
    pub at: usize,
    /// Its name in the file.
    pub name: String,
    /// Whether a value stands for "missing".
    pub is_missing: fn(f64) -> bool,
}

/// Reads one finite number; `None` when it is none.
pub(super) fn number(text: &str) -> Option<f64> {
    // Words such as `nan` and `inf` parse as floats; a measured value is neither.
    text.trim().parse().ok().filter(|value: &f64| value.is_finite())
}

/// A whole number within `range`.
pub(super) fn whole(text: &str, range: std::ops::RangeInclusive<i64>) -> Option<i64> {
    text.trim().parse().ok().filter(|value| range.contains(value))
}

/// What is wrong with a time: which field, and what is wrong.
pub(super) struct BadTime {
    pub field: usize,
    pub message: String,
    pub mend: &'static str,
}

/// Years that are believed in a date.
pub(super) const YEARS: std::ops::RangeInclusive<i64> = 1900..=2100;

/// Checks a date of the calendar.
pub(super) fn date(year: i64, month: i64, day: i64, hour: i64) -> Option<When> {
    let year_i32 = i32::try_from(year).ok().filter(|_| YEARS.contains(&year))?;
    let month = usize::try_from(month).ok()?;
    let longest = *crate::site::DAYS_OF_MONTH.get(month.checked_sub(1)?)?;
    let longest = if month == 2 { 29 } else { longest };
    let day = usize::try_from(day).ok().filter(|day| (1..=longest).contains(day))?;
    let hour = usize::try_from(hour).ok().filter(|hour| *hour < 24)?;
    Some(When { year: year_i32, month, day, hour })
}

/// Believes, mends or refuses one value; NaN when it is missing or refused.
pub(super) fn judge(
    faults: &mut Faults<'_>,
    mended: &mut Mended,
    kind: Kind,
    name: &str,
    value: f64,
    span: impl FnOnce() -> Range<usize>,
) -> f64 {
    let (low, high, unit) = kind.believed();
    if value < low || value > high {
        faults.problem(
            span(),
            name,
            format!("{} {value} {unit} is not possible: believed are {low} to {high} {unit}", kind.name()),
            "Mend the value, or write the format's code for a missing one",
        );
        return f64::NAN;
    }
    if kind.is_sun() && value < 0.0 {
        mended.negative += 1;
        mended.first_negative.get_or_insert_with(|| span().start);
    }
    // Also turns −0 into 0, which some files write at night.
    if kind.is_sun() && value <= 0.0 { 0.0 } else { value }
}

/// What was mended while reading values, told once for the file.
#[derive(Default)]
pub(super) struct Mended {
    negative: usize,
    first_negative: Option<usize>,
    missing: [usize; KINDS],
    first_missing: [Option<usize>; KINDS],
}

impl Mended {
    /// Counts a missing value.
    pub fn miss(&mut self, kind: Kind, offset: usize) {
        let place = kind as usize;
        self.missing[place] += 1;
        self.first_missing[place].get_or_insert(offset);
    }

    /// Tells it all.
    pub fn tell(&self, faults: &mut Faults<'_>, rows: usize) {
        if self.negative > 0 {
            let message = format!("{} irradiances a little below zero were taken as 0 W/m²", self.negative);
            faults.note("negative-irradiance", self.first_negative, message);
        }
        for kind in ALL {
            let count = self.missing[kind as usize];
            if count > 0 {
                let message = format!("the {} is missing in {count} of {rows} lines", kind.name());
                faults.note("value-missing", self.first_missing[kind as usize], message);
            }
        }
    }
}

/// Reads the comma-separated lines of `span`, all as wide as the first and at least as wide as the last of `columns`.
pub(super) fn read_rows(
    faults: &mut Faults<'_>,
    span: Range<usize>,
    columns: &[Column],
    when: impl Fn(&csv::StringRecord) -> Result<When, BadTime>,
) -> Vec<Row> {
    let page = faults.page;
    let text = page.text.get(span.clone()).unwrap_or("");
    // Quotes are not special: a stray one would swallow the lines that follow.
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .quoting(false)
        .from_reader(text.as_bytes());
    let needed = columns.iter().map(|column| column.at + 1).max().unwrap_or(1);
    let mut rows = Vec::with_capacity(text.len() / 64);
    let mut mended = Mended::default();
    let mut record = csv::StringRecord::new();
    let mut width = None;
    // The text is UTF-8 and may have any width, so reading ends at the end only.
    while reader.read_record(&mut record).unwrap_or(false) {
        let at = record.position().map_or(0, |position| usize::try_from(position.byte()).unwrap_or(0));
        // The place may still be on the end of the line before.
        let skipped =
            text.as_bytes().iter().skip(at).take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        let offset = span.start + at + skipped;
        let width = *width.get_or_insert(record.len());
        if record.len() != width || width < needed {
            wrong_width(faults, offset, &record, width.max(needed));
            continue;
        }
        let time = match when(&record) {
            Ok(time) => time,
            Err(bad) => {
                faults.problem(page.field(offset, bad.field), "", bad.message, bad.mend);
                continue;
            }
        };
        let mut row = Row { offset, when: time, values: [f64::NAN; KINDS] };
        for column in columns {
            let written = record.get(column.at).unwrap_or("");
            let place = || page.field(offset, column.at);
            match number(written) {
                Some(value) if !(column.is_missing)(value) => {
                    row.values[column.kind as usize] =
                        judge(faults, &mut mended, column.kind, &column.name, value, place);
                }
                Some(_) => mended.miss(column.kind, offset),
                None if written.trim().is_empty() => mended.miss(column.kind, offset),
                None => faults.problem(
                    place(),
                    &column.name,
                    format!("`{}` is not a number", clip(written)),
                    "Write a number with a decimal point, such as 12.5",
                ),
            }
        }
        let beam = row.values[Kind::Beam as usize];
        if row.values[Kind::Ghi as usize].is_nan() {
            row.values[Kind::Ghi as usize] = beam + row.values[Kind::Dhi as usize];
        }
        rows.push(row);
    }
    mended.tell(faults, rows.len());
    rows
}

fn wrong_width(faults: &mut Faults<'_>, offset: usize, record: &csv::StringRecord, wanted: usize) {
    let page = faults.page;
    let line = page.line_at(offset);
    let is_last = page.text.get(offset + line.len()..).is_some_and(|rest| rest.trim().is_empty());
    let (message, mend) = if line.contains(';') {
        (
            "the line is cut by semicolons".to_owned(),
            "Save the file with commas between the columns and points in the numbers",
        )
    } else if is_last && record.len() < wanted {
        (
            format!("the file ends in the middle of a line: {} of {wanted} columns", record.len()),
            "Fetch the file again: it was cut short",
        )
    } else {
        (
            format!("the line has {} columns; {wanted} are wanted", record.len()),
            "Give every line the same columns, numbers with a decimal point and no comma",
        )
    };
    faults.problem(offset..offset + line.len(), "", message, mend);
}

/// The start of a text, for messages.
pub(super) fn clip(text: &str) -> String {
    let text = text.trim();
    let mut short: String = text.chars().filter(|letter| !letter.is_control()).take(30).collect();
    if text.chars().count() > 30 {
        short.push('…');
    }
    short
}
