//! Whether a file's clock, zone and seasons agree with its sun.
//! Never: turns a clock that the header gives, unless the file says that its hours are moments of PVGIS.
//! Start at [`check`].

use std::f64::consts::TAU;

use quantity::math;

use super::page::Faults;
use super::rows::{Kind, Table};
use crate::site::{MONTH_STARTS, Site};

/// Hours by which a year's sun may stand off its noon before it is told. Cloudy mornings or afternoons move it by some
/// half an hour. Common practice, no source.
const LATE_HOURS: f64 = 0.75;
/// Hours by which a zone may differ from the longitude before it is told. Western China keeps UTC+8 at some 5 h.
const ZONE_HOURS: f64 = 2.5;

/// Equation of time of a day [h], by the series of Spencer (1971), "Fourier series representation of the position of the
/// sun", Search 2(5); within 35 s by its author, which is far below what is judged here.
/// - `day`: from 0 to 364
fn equation_of_time_h(day: usize) -> f64 {
    let angle = TAU * day as f64 / 365.0;
    let (sin, cos) = (math::sin, math::cos);
    let radians = 0.000075 + 0.001868 * cos(angle)
        - 0.032077 * sin(angle)
        - 0.014615 * cos(2.0 * angle)
        - 0.040849 * sin(2.0 * angle);
    radians * 24.0 / TAU
}

/// Hours after solar noon of a moment given in hours of the site's clock.
fn hours_after_noon(site: &Site, equation_h: f64, clock_h: f64) -> f64 {
    clock_h - site.zone.get() + site.longitude.get() / 15.0 + equation_h - 12.0
}

/// How many hours after solar noon the year's irradiance has its middle; `None` without sun.
fn lateness(table: &Table, site: &Site, shift: i64) -> Option<f64> {
    let (mut east, mut north) = (0.0, 0.0);
    for row in &table.rows {
        let ghi = row.values[Kind::Ghi as usize];
        if ghi > 0.0 {
            let when = row.when;
            let start = MONTH_STARTS.get(when.month - 1).copied().unwrap_or(0) / 24;
            let equation = equation_of_time_h((start + when.day - 1).min(364));
            let clock = when.hour as f64 + shift as f64 + table.minutes_into_hour / 60.0;
            let angle = hours_after_noon(site, equation, clock) * TAU / 24.0;
            east += ghi * math::sin(angle);
            north += ghi * math::cos(angle);
        }
    }
    (north != 0.0 || east != 0.0).then(|| libm::atan2(east, north) * 24.0 / TAU)
}

/// EPW files of PVGIS name a zone and yet count in UTC; whichever brings the sun to its noon is taken, and told.
pub(super) fn prefer_utc(faults: &mut Faults<'_>, table: &mut Table) {
    let natural = Site::new(table.site.latitude, table.site.longitude, table.site.altitude);
    let utc_shift = table.shift + natural.zone.get() as i64;
    let (Some(by_header), Some(by_utc)) =
        (lateness(table, &table.site, table.shift), lateness(table, &natural, utc_shift))
    else {
        return;
    };
    if by_utc.abs() + 0.25 < by_header.abs() {
        let message = format!(
            "the header names UTC{:+}, but by that clock the sun would stand highest {:.1} h {} noon; the hours count in UTC \
             and were turned to UTC{:+}",
            table.site.zone.get(),
            by_header.abs(),
            if by_header > 0.0 { "after" } else { "before" },
            natural.zone.get()
        );
        faults.note("clock-is-utc", None, message);
        table.site = natural;
        table.shift = utc_shift;
    }
}

/// Notes on the zone, the clock and the seasons.
pub(super) fn check(faults: &mut Faults<'_>, table: &Table) {
    let site = &table.site;
    let zone = site.zone.get();
    let natural = site.longitude.get() / 15.0;
    // Across the date line UTC+13 and −11 are the same clock.
    let off = (zone - natural + 12.0).rem_euclid(24.0) - 12.0;
    if off.abs() > ZONE_HOURS {
        let message = format!(
            "the file keeps UTC{zone:+} at longitude {}, which is {:.1} h from the sun's own time; its clock was kept",
            site.longitude,
            off.abs()
        );
        faults.note("zone-far-from-longitude", None, message);
    }
    if zone.fract() != 0.0 {
        let message = format!(
            "the file keeps UTC{zone:+}: each hour of the year begins at {} minutes past a full hour of UTC",
            ((-zone).rem_euclid(1.0) * 60.0).round()
        );
        faults.note("zone-with-part-hour", None, message);
    }
    if let Some(late) = lateness(table, site, table.shift)
        && late.abs() > LATE_HOURS
    {
        let side = if late > 0.0 { "after" } else { "before" };
        let message = format!(
            "over the year the sun's middle comes {:.1} h {side} its noon: longitude, zone or the hours of the file may be \
             wrong; they were used as they are",
            late.abs()
        );
        faults.note("clock-against-sun", None, message);
    }
    seasons(faults, table);
}

fn seasons(faults: &mut Faults<'_>, table: &Table) {
    let latitude = table.site.latitude.get();
    // Nearer the equator rain may outweigh the season.
    if latitude.abs() < 30.0 {
        return;
    }
    let sum = |months: [usize; 3]| -> f64 {
        let ghi = |row: &super::rows::Row| row.values[Kind::Ghi as usize].max(0.0);
        table.rows.iter().filter(|row| months.contains(&row.when.month)).map(ghi).sum()
    };
    let (june, december) = (sum([6, 7, 8]), sum([12, 1, 2]));
    let (summer, winter) = if latitude > 0.0 { (june, december) } else { (december, june) };
    if winter > summer && summer > 0.0 {
        let half = if latitude > 0.0 { "north" } else { "south" };
        let message = format!(
            "the sun of this file is stronger in the winter than in the summer of the {half}: is the sign of the latitude \
             {} right? It was used as it is",
            table.site.latitude
        );
        faults.note("seasons-against-latitude", None, message);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::{Degrees, Hours, Metres};

    // Commonly printed in almanacs: −14.2 min about 11 February, +16.4 min about 3 November. From memory.
    #[test]
    fn the_equation_of_time() {
        assert!((equation_of_time_h(41) * 60.0 + 14.2).abs() < 0.5);
        assert!((equation_of_time_h(306) * 60.0 - 16.4).abs() < 0.5);
    }

    #[test]
    fn noon_is_where_the_zone_puts_it() {
        let mut site = Site::new(Degrees::new(0.0), Degrees::new(77.0), Metres::zero());
        site.zone = Hours::new(5.5);
        // 77° east is 5 h 8 min ahead of UTC: noon at 12:22 by UTC+5:30.
        let late = hours_after_noon(&site, 0.0, 12.0 + 22.0 / 60.0);
        assert!(late.abs() < 0.01, "{late}");
    }
}
