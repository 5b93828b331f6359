//! Where and when: a place on Earth and the hours of a year, counted one way everywhere in this crate.
//! Never: reads a clock. A year has 8760 hours; 29 February is left out wherever data has one.
//! Start at [`Site`]; [`month_of_hour`] and [`day_of_hour`] place an hour.

use quantity::{Degrees, Hours, Metres};
use serde::Serialize;

/// Hours of a year. Hour 0 is the first of 1 January, in standard time of the site ([`Site::zone`]), hour-beginning.
pub const HOURS: usize = 8760;
/// Days of a year.
pub const DAYS: usize = 365;
/// Months of a year.
pub const MONTHS: usize = 12;
/// Days of each month, without 29 February.
pub const DAYS_OF_MONTH: [usize; MONTHS] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
/// Short names of the months.
pub const MONTH_NAMES: [&str; MONTHS] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// A place on Earth with the clock that its hours keep.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Site {
    /// Latitude, north positive.
    pub latitude: Degrees,
    /// Longitude, east positive.
    pub longitude: Degrees,
    /// Height above the sea.
    pub altitude: Metres,
    /// How far standard time is ahead of UTC; summer time is not counted anywhere.
    pub zone: Hours,
}

impl Site {
    /// A site that keeps the nearest whole hour of its longitude: 15° an hour.
    pub fn new(latitude: Degrees, longitude: Degrees, altitude: Metres) -> Self {
        let zone = Hours::new((longitude.get() / 15.0).round());
        Self { latitude, longitude, altitude, zone }
    }
    /// Whether the sun stands in the north at noon.
    pub fn is_south(&self) -> bool {
        self.latitude.get() < 0.0
    }
}

/// First hour of each month, and [`HOURS`] at the end.
pub const MONTH_STARTS: [usize; MONTHS + 1] = {
    let mut starts = [0; MONTHS + 1];
    let mut month = 0;
    while month < MONTHS {
        starts[month + 1] = starts[month] + DAYS_OF_MONTH[month] * 24;
        month += 1;
    }
    starts
};

/// The day of an hour, from 0.
pub fn day_of_hour(hour: usize) -> usize {
    hour / 24
}

/// The month of an hour, from 0.
pub fn month_of_hour(hour: usize) -> usize {
    MONTH_STARTS[1..MONTHS].iter().filter(|start| hour >= **start).count()
}

/// The month of a day, from 0.
pub fn month_of_day(day: usize) -> usize {
    month_of_hour(day * 24)
}

#[cfg(test)]
mod tests {
    use super::*;

    // The calendar: 31 January is the 31st day, 1 March the 60th of a year without 29 February.
    #[test]
    fn hours_fall_in_their_months() {
        assert_eq!(MONTH_STARTS[MONTHS], HOURS);
        assert_eq!(month_of_hour(0), 0);
        assert_eq!(month_of_hour(31 * 24 - 1), 0);
        assert_eq!(month_of_hour(31 * 24), 1);
        assert_eq!(month_of_day(59), 2);
        assert_eq!(month_of_hour(HOURS - 1), 11);
    }

    #[test]
    fn the_zone_follows_the_longitude() {
        let site = |longitude| Site::new(Degrees::new(50.0), Degrees::new(longitude), Metres::zero());
        assert_eq!(site(8.0).zone, Hours::new(1.0));
        assert_eq!(site(-88.4).zone, Hours::new(-6.0));
    }
}
