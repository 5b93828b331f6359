//! One year made whole: missing components computed, short gaps filled, each told in a note.
//! Never: fills more than [`LONGEST_GAP`] hours in a row of sun or air.
//! Start at [`year`].

use super::WeatherYear;
use super::assemble::{LONGEST_GAP, Slots, hour_name, rows_around, value};
use super::page::Faults;
use super::rows::{Kind, Table};
use crate::site::HOURS;
use crate::sun::{SunYear, decompose};

/// Cosine of the zenith below which direct sun is not computed from the horizontal: 3° above the horizon, where a small
/// error of the time makes a large one of the beam; what is direct there counts as diffuse. Common practice, no source.
const LOW_SUN: f64 = 0.052;
/// Days looked back and ahead for the same hour.
const DAYS_AROUND: usize = 3;
/// Wind taken where a file gives none [m/s]; low, so that modules are rather taken as too hot. Common practice, no source.
const STILL_WIND_M_S: f64 = 1.0;

/// Makes `calendar_year` of the rows in `slots`, or reports the gaps to `faults` and gives `None`.
pub(super) fn year(
    faults: &mut Faults<'_>,
    table: &Table,
    calendar_year: i32,
    slots: &Slots,
) -> Option<WeatherYear> {
    if !hours_are_there(faults, table, slots) {
        return None;
    }
    let list = |kind| -> Vec<f64> { slots.iter().map(|slot| value(&table.rows, *slot, kind)).collect() };
    let mut weather = WeatherYear {
        ghi_w_m2: list(Kind::Ghi),
        dni_w_m2: list(Kind::Dni),
        dhi_w_m2: list(Kind::Dhi),
        air_c: list(Kind::Air),
        wind_m_s: list(Kind::Wind),
    };
    components(faults, table, calendar_year, slots, &mut weather);
    let mut is_whole = true;
    for (kind, values) in [
        (Kind::Ghi, &mut weather.ghi_w_m2),
        (Kind::Dni, &mut weather.dni_w_m2),
        (Kind::Dhi, &mut weather.dhi_w_m2),
        (Kind::Air, &mut weather.air_c),
        (Kind::Wind, &mut weather.wind_m_s),
    ] {
        is_whole &= fill(faults, table, slots, kind, values);
    }
    is_whole.then_some(weather)
}

/// Runs of hours (start, length) that lack something, going around the year.
fn runs(is_missing: impl Fn(usize) -> bool) -> Vec<(usize, usize)> {
    let Some(origin) = (0..HOURS).find(|hour| !is_missing(*hour)) else { return vec![(0, HOURS)] };
    let mut found: Vec<(usize, usize)> = Vec::new();
    let mut length = 0;
    // One step past the circle, to the origin again, closes a run at the end.
    for step in 1..=HOURS {
        let hour = (origin + step) % HOURS;
        if is_missing(hour) {
            length += 1;
        } else if length > 0 {
            found.push(((hour + HOURS - length) % HOURS, length));
            length = 0;
        }
    }
    found
}

/// Tells missing hours: short runs as a note, long ones as problems.
fn hours_are_there(faults: &mut Faults<'_>, table: &Table, slots: &Slots) -> bool {
    let mut is_whole = true;
    let (mut filled, mut places, mut first) = (0, Vec::new(), None);
    for (start, length) in runs(|hour| slots[hour].is_none()) {
        let (before, after) = rows_around(slots, start, length);
        let offset =
            |index: Option<usize>| index.and_then(|index| table.rows.get(index)).map_or(0, |row| row.offset);
        let (before, after) = (offset(before), offset(after));
        if length > LONGEST_GAP {
            is_whole = false;
            let last = (start + length - 1) % HOURS;
            faults.problem(
                before..before + faults.page.line_at(before).len(),
                "",
                format!(
                    "after this line {length} hours are missing, {} to {}; up to {LONGEST_GAP} in a row are filled",
                    hour_name(start),
                    hour_name(last)
                ),
                "Give a file with every hour of the year",
            );
        } else {
            filled += length;
            first.get_or_insert(before);
            if places.len() < 5 {
                places.push(format!("lines {} and {}", faults.page.line(before), faults.page.line(after)));
            }
        }
    }
    if filled > 0 {
        let message = format!("{filled} hours are missing, between {}; they were filled", places.join(", "));
        faults.note("hours-filled", first, message);
    }
    is_whole
}

/// Fills what one or two of the three irradiances tell of the others, hour by hour: `GHI = DNI · cos(zenith) + DHI`.
fn components(
    faults: &mut Faults<'_>,
    table: &Table,
    calendar_year: i32,
    slots: &Slots,
    weather: &mut WeatherYear,
) {
    let (mut closed, mut split, mut dark) = (Vec::new(), Vec::new(), Vec::new());
    // Most files give all three and never ask.
    let mut sun: Option<SunYear> = None;
    for (hour, slot) in slots.iter().enumerate() {
        let (ghi, dni, dhi) = (weather.ghi_w_m2[hour], weather.dni_w_m2[hour], weather.dhi_w_m2[hour]);
        let Some(row) = *slot else { continue };
        if !ghi.is_nan() && !dni.is_nan() && !dhi.is_nan() {
            continue;
        }
        let sun =
            sun.get_or_insert_with(|| SunYear::new(&table.site, calendar_year, table.minutes_into_hour));
        let (cos, extra) = (sun.cos_zenith[hour], sun.extra_w_m2[hour]);
        let made = match (ghi.is_nan(), dni.is_nan(), dhi.is_nan()) {
            (false, true, true) => {
                split.push(row);
                let (dni, dhi) = decompose(ghi, cos, extra);
                (ghi, dni, dhi)
            }
            (false, true, false) if cos > LOW_SUN => {
                closed.push(row);
                (ghi, ((ghi - dhi) / cos).clamp(0.0, extra), dhi)
            }
            (false, true, false) => {
                closed.push(row);
                (ghi, 0.0, ghi)
            }
            (false, false, true) => {
                closed.push(row);
                (ghi, dni, (ghi - dni * cos.max(0.0)).max(0.0))
            }
            (true, false, false) => {
                closed.push(row);
                (dni * cos.max(0.0) + dhi, dni, dhi)
            }
            // A sun more than 3° below the horizon brings nothing, whatever the station did not write.
            _ if cos < -LOW_SUN => {
                dark.push(row);
                (0.0, 0.0, 0.0)
            }
            _ => (f64::NAN, f64::NAN, f64::NAN),
        };
        (weather.ghi_w_m2[hour], weather.dni_w_m2[hour], weather.dhi_w_m2[hour]) = made;
    }
    for (id, rows, message) in [
        ("irradiance-closed", closed, "one of global, direct and diffuse was computed from the two others"),
        (
            "irradiance-split",
            split,
            "direct and diffuse were computed from the global (Erbs, Klein and Duffie 1982, without its jumps)",
        ),
        ("night-filled", dark, "irradiance is missing at night and was taken as 0"),
    ] {
        if let Some(first) = rows.iter().min() {
            let offset = table.rows.get(*first).map(|row| row.offset);
            faults.note(id, offset, format!("in {} hours {message}", rows.len()));
        }
    }
}

/// Fills the short runs of one list; a long one is a problem, but for wind.
fn fill(faults: &mut Faults<'_>, table: &Table, slots: &Slots, kind: Kind, values: &mut [f64]) -> bool {
    let missing = runs(|hour| values[hour].is_nan());
    if missing.is_empty() {
        return true;
    }
    let known: Vec<f64> = values.iter().copied().filter(|value| !value.is_nan()).collect();
    let mut is_whole = true;
    let mut long_wind = 0;
    for (start, length) in missing {
        if length > LONGEST_GAP {
            if kind == Kind::Wind {
                long_wind += length;
                let mean = known.iter().sum::<f64>() / known.len() as f64;
                let taken = if known.is_empty() { STILL_WIND_M_S } else { mean };
                (0..length).for_each(|step| values[(start + step) % HOURS] = taken);
            } else {
                is_whole = false;
                let index = (0..length).find_map(|step| slots[(start + step) % HOURS]);
                let offset = index.and_then(|index| table.rows.get(index)).map_or(0, |row| row.offset);
                faults.problem(
                    offset..offset + faults.page.line_at(offset).len(),
                    kind.name(),
                    format!("the {} is missing in {length} hours from this line on; up to {LONGEST_GAP} in a row are filled", kind.name()),
                    "Give a file in which it is whole",
                );
            }
        } else if kind.is_sun() {
            (0..length).for_each(|step| {
                let hour = (start + step) % HOURS;
                values[hour] = same_hour_around(values, hour);
            });
        } else {
            let (from, to) = (values[(start + HOURS - 1) % HOURS], values[(start + length) % HOURS]);
            (0..length).for_each(|step| {
                let part = (step + 1) as f64 / (length + 1) as f64;
                values[(start + step) % HOURS] = from + (to - from) * part;
            });
        }
    }
    if long_wind > 0 {
        let message = if known.is_empty() {
            format!("the file gives no wind; {STILL_WIND_M_S} m/s was taken")
        } else {
            format!("the wind is missing in {long_wind} hours; its mean was taken")
        };
        faults.note("wind-assumed", None, message);
    }
    is_whole
}

/// Mean of the same hour of the nearest days that have it; dark if none has.
fn same_hour_around(values: &[f64], hour: usize) -> f64 {
    let near = |days: usize, is_back: bool| {
        let step = days * 24;
        values[(if is_back { hour + HOURS - step } else { hour + step }) % HOURS]
    };
    let found = |is_back| (1..=DAYS_AROUND).map(|days| near(days, is_back)).find(|value| !value.is_nan());
    match (found(true), found(false)) {
        (Some(back), Some(ahead)) => (back + ahead) / 2.0,
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_go_around_the_year() {
        assert_eq!(
            runs(|hour| !(2..HOURS - 3).contains(&hour) || hour == 100),
            vec![(100, 1), (HOURS - 3, 5)]
        );
        assert_eq!(runs(|_| true), vec![(0, HOURS)]);
        assert!(runs(|_| false).is_empty());
    }
}
