//! From the lines of a file to whole years by the site's clock: every hour in its place, gaps found.
//! Never: lets two lines stand for one hour, or a long gap pass.
//! Start at [`assemble`]; `complete.rs` fills what may be filled.

use std::collections::BTreeMap;

use super::page::Faults;
use super::rows::{KINDS, Kind, Row, Table, When};
use super::series::Series;
use super::{WeatherYear, clock, complete};
use crate::site::{DAYS_OF_MONTH, HOURS, MONTH_NAMES, MONTH_STARTS, month_of_hour};

/// Hours in a row that may be missing and are filled.
pub(super) const LONGEST_GAP: usize = 6;
/// The calendar year of whose sun a typical year is taken to be; any without 29 February does, within half a degree.
const TYPICAL_YEAR: i32 = 2023;
/// Row of each hour of a year, if there is one.
pub(super) type Slots = Vec<Option<usize>>;

/// Makes the years, or reports to `faults` and gives `None`.
pub(super) fn assemble(faults: &mut Faults<'_>, table: Table) -> Option<Series> {
    if table.rows.is_empty() {
        faults.problem(0..0, "", "the file has no hours", "Fetch the file again: it was cut short");
        return None;
    }
    let mut by_year = place(faults, &table);
    if table.is_run_of_years {
        join_ends(faults, &table, &mut by_year);
        drop_part_years(faults, &table, &mut by_year);
    }
    let mut made: Vec<(i32, WeatherYear)> = Vec::new();
    for (year, slots) in &by_year {
        let sun_year = if table.is_run_of_years { *year } else { TYPICAL_YEAR };
        made.extend(complete::year(faults, &table, sun_year, slots).map(|weather| (*year, weather)));
    }
    clock::check(faults, &table);
    if made.iter().all(|(_, weather)| weather.ghi_w_m2.iter().all(|ghi| *ghi <= 0.0)) && faults.is_clean() {
        faults.problem(0..0, "", "the file has no sun in any hour", "Give a file with irradiance");
    }
    let years = table.rows.iter().map(|row| row.when.year);
    let years = (years.clone().min()?, years.max()?);
    let calendar_years = made.iter().map(|(year, _)| *year).filter(|_| table.is_run_of_years).collect();
    let mut made = made.into_iter().map(|(_, weather)| weather);
    Some(Series {
        site: table.site,
        format: table.format,
        title: table.title,
        years,
        minutes_into_hour: table.minutes_into_hour,
        year: made.next()?,
        more: made.collect(),
        calendar_years,
        notes: Vec::new(),
    })
}

/// Puts every row in its hour. A typical year turns in a circle: what its last evening loses, its first morning gets.
fn place(faults: &mut Faults<'_>, table: &Table) -> BTreeMap<i32, Slots> {
    let mut by_year: BTreeMap<i32, Slots> = BTreeMap::new();
    let (mut leap, mut twice) = (Vec::new(), Vec::new());
    for (index, row) in table.rows.iter().enumerate() {
        let place = if table.is_run_of_years {
            turned(row.when, table.shift).and_then(|when| Some((when.year, slot(when)?)))
        } else {
            slot(row.when).map(|slot| (0, turn(slot, table.shift)))
        };
        let Some((year, slot)) = place else {
            leap.push(index);
            continue;
        };
        let held = &mut by_year.entry(year).or_insert_with(|| vec![None; HOURS])[slot];
        match *held {
            None => *held = Some(index),
            Some(first) if is_same(&table.rows[first].values, &row.values) => twice.push(index),
            Some(first) => {
                let line = faults.page.line_at(row.offset).len();
                let message = format!(
                    "the hour stands a second time, with other values than in line {}",
                    faults.page.line(table.rows[first].offset)
                );
                faults.problem(
                    row.offset..row.offset + line,
                    "",
                    message,
                    "Keep one line an hour, in standard time all year: no summer time",
                );
            }
        }
    }
    if let Some(first) = leap.first() {
        let message = format!("{} hours of 29 February were left out: a year here has 365 days", leap.len());
        faults.note("leap-day-dropped", Some(table.rows[*first].offset), message);
    }
    if let Some(first) = twice.first() {
        let message = format!("{} hours stand twice with the same values; one of each was used", twice.len());
        faults.note("hour-twice", Some(table.rows[*first].offset), message);
    }
    by_year
}

fn is_same(a: &[f64; KINDS], b: &[f64; KINDS]) -> bool {
    a.iter().zip(b).all(|(a, b)| a == b || (a.is_nan() && b.is_nan()))
}

/// Hour of the year, `None` for 29 February.
fn slot(when: When) -> Option<usize> {
    let start = MONTH_STARTS.get(when.month.checked_sub(1)?)?;
    let longest = DAYS_OF_MONTH.get(when.month - 1)?;
    (when.day <= *longest).then(|| start + (when.day - 1) * 24 + when.hour)
}

fn turn(slot: usize, shift: i64) -> usize {
    // A zone and an offset are at most a day together.
    let shift = shift.rem_euclid(HOURS as i64) as usize;
    (slot + shift) % HOURS
}

fn is_leap(year: i32) -> bool {
    year % 4 == 0 && (year % 100 != 0 || year % 400 == 0)
}

/// The same hour by a clock that is `shift` hours ahead, by less than two days; `None` for 29 February of no leap year.
fn turned(when: When, shift: i64) -> Option<When> {
    let longest = |year: i32, month: usize| {
        DAYS_OF_MONTH.get(month - 1).map_or(31, |days| days + usize::from(month == 2 && is_leap(year)))
    };
    if when.day > longest(when.year, when.month) {
        return None;
    }
    let hours = when.hour as i64 + shift;
    let mut turned = When { hour: hours.rem_euclid(24) as usize, ..when };
    for _ in 0..hours.div_euclid(24).max(0) {
        turned.day += 1;
        if turned.day > longest(turned.year, turned.month) {
            turned.day = 1;
            turned.month += 1;
            if turned.month > 12 {
                turned.month = 1;
                turned.year += 1;
            }
        }
    }
    for _ in 0..(-hours.div_euclid(24)).max(0) {
        turned.day -= 1;
        if turned.day == 0 {
            turned.month -= 1;
            if turned.month == 0 {
                turned.month = 12;
                turned.year -= 1;
            }
            turned.day = longest(turned.year, turned.month);
        }
    }
    Some(turned)
}

/// Turning from UTC pushes some hours over one end of the series; they fill the like hours that the other end lacks.
fn join_ends(faults: &mut Faults<'_>, table: &Table, by_year: &mut BTreeMap<i32, Slots>) {
    let most = usize::try_from(table.shift.abs()).unwrap_or(0);
    let ends =
        |by_year: &BTreeMap<i32, Slots>| Some((*by_year.first_key_value()?.0, *by_year.last_key_value()?.0));
    let Some((first, last)) = ends(by_year) else { return };
    let (spilled, short) = if table.shift > 0 { (last, first) } else { (first, last) };
    if spilled == short || most == 0 {
        return;
    }
    let held = by_year.get(&spilled).map_or(0, |slots| slots.iter().flatten().count());
    if held > most {
        return;
    }
    let Some(spill) = by_year.remove(&spilled) else { return };
    let mut moved = 0;
    if let Some(slots) = by_year.get_mut(&short) {
        for (into, from) in slots.iter_mut().zip(spill) {
            if into.is_none() && from.is_some() {
                *into = from;
                moved += 1;
            }
        }
    }
    let message = format!(
        "turning the clock left {moved} hours of {short} without values; those of the same hours of {spilled} were used"
    );
    faults.note("ends-joined", None, message);
}

/// Leaves out a first or last year that begins late or ends early, if a whole one remains.
fn drop_part_years(faults: &mut Faults<'_>, table: &Table, by_year: &mut BTreeMap<i32, Slots>) {
    let is_part = |slots: &Slots| {
        let lead = slots.iter().take_while(|slot| slot.is_none()).count();
        let tail = slots.iter().rev().take_while(|slot| slot.is_none()).count();
        lead.max(tail) > LONGEST_GAP
    };
    let part: Vec<i32> = by_year.iter().filter(|(_, slots)| is_part(slots)).map(|(year, _)| *year).collect();
    let ends = [by_year.keys().next().copied(), by_year.keys().next_back().copied()];
    if part.len() == by_year.len() {
        return;
    }
    for year in part {
        if ends.contains(&Some(year)) {
            let first = by_year.remove(&year).and_then(|slots| slots.into_iter().flatten().next());
            let offset = first.and_then(|index| table.rows.get(index)).map(|row| row.offset);
            faults.note("part-year-dropped", offset, format!("{year} is not whole and was left out"));
        }
    }
}

/// An hour of the year as people say it, such as `3 Feb 14:00`.
pub(super) fn hour_name(hour: usize) -> String {
    let month = month_of_hour(hour);
    let start = MONTH_STARTS.get(month).copied().unwrap_or(0);
    let name = MONTH_NAMES.get(month).copied().unwrap_or("");
    format!("{} {name} {:02}:00", (hour - start) / 24 + 1, hour % 24)
}

/// Rows nearest before and after a run of hours without any, going around the year.
pub(super) fn rows_around(slots: &Slots, start: usize, length: usize) -> (Option<usize>, Option<usize>) {
    let at = |hour: usize| slots[hour % HOURS];
    let before = (1..=HOURS).find_map(|back| at(start + HOURS - back));
    let after = (0..HOURS).find_map(|ahead| at(start + length + ahead));
    (before, after)
}

/// The value of a row for a kind.
pub(super) fn value(rows: &[Row], slot: Option<usize>, kind: Kind) -> f64 {
    slot.and_then(|index| rows.get(index)).map_or(f64::NAN, |row| row.values[kind as usize])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clocks_turn_over_months_and_leap_days() {
        let when = |year, month, day, hour| When { year, month, day, hour };
        assert_eq!(turned(when(2016, 2, 28, 23), 1), Some(when(2016, 2, 29, 0)));
        assert_eq!(turned(when(2016, 2, 29, 23), 1), Some(when(2016, 3, 1, 0)));
        assert_eq!(turned(when(2015, 2, 28, 23), 1), Some(when(2015, 3, 1, 0)));
        assert_eq!(turned(when(2015, 1, 1, 3), -10), Some(when(2014, 12, 31, 17)));
        assert_eq!(turned(when(2015, 12, 31, 20), 13), Some(when(2016, 1, 1, 9)));
        assert_eq!(turned(when(2015, 2, 29, 0), 0), None);
        assert!(is_leap(2000) && !is_leap(1900) && !is_leap(2023));
    }

    #[test]
    fn hours_have_names() {
        assert_eq!(hour_name(0), "1 Jan 00:00");
        assert_eq!(hour_name(HOURS - 1), "31 Dec 23:00");
    }
}
