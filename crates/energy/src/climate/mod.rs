//! The climate of a place: monthly figures of the world, and years of weather drawn from them.
//! Never: holds a measured year (see `weather`), computes the sun (see `sun`), reads files; its grids are compiled in.
//! Start at [`Climate`] for the figures and [`Generator`] for the years.

mod clearness;
mod correlation;
mod day;
mod generator;
mod grid;
mod of;
mod shape;
mod streams;
mod typical;

use quantity::{Degrees, Metres};
use serde::Serialize;

use crate::site::{MONTHS, Site};
use crate::sun::SunYear;
use crate::weather::Note;

pub use generator::Generator;
pub(crate) use streams::stream;

/// The climate of a place by the month: what a year drawn by a [`Generator`] keeps to.
///
/// Clearness is global irradiance on the horizontal over that above the air, summed over a day.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Climate {
    /// Where, how high, and on which clock.
    pub site: Site,
    /// Mean daily clearness, 0 to 1.
    pub clearness: [f64; MONTHS],
    /// Standard deviation of the daily clearness.
    pub clearness_spread: [f64; MONTHS],
    /// Correlation of a day's clearness with the day before, about the monthly mean.
    pub clearness_lag1: f64,
    /// Mean air temperature [°C].
    pub air_mean_c: [f64; MONTHS],
    /// Mean difference between a day's warmest and coldest hour [K].
    pub air_swing_c: [f64; MONTHS],
    /// Standard deviation of the daily mean about the course of the season [K].
    pub air_spread_c: [f64; MONTHS],
    /// Correlation of a day's mean temperature with the day before, about the course of the season.
    pub air_lag1: f64,
    /// Correlation of a day's mean temperature with its clearness: below zero where clear days are cold.
    pub air_with_clearness: [f64; MONTHS],
    /// Mean wind at 10 m [m/s].
    pub wind_m_s: [f64; MONTHS],
    /// Linke turbidity at air mass 2: how many clean dry atmospheres dim the beam as much as this one.
    pub linke: [f64; MONTHS],
    /// Where the figures come from, in words.
    pub source: String,
    /// What was assumed.
    pub notes: Vec<Note>,
}

impl Climate {
    /// The built-in climate of a place, from grids 2° and 3° apart; `crates/energy/data/README.md` names their sources
    /// and holds their error against measured files.
    ///
    /// - `altitude` [m]: stands before the place's own; without either, the mean altitude of the land around is taken and a note says so.
    ///
    /// Air temperature falls 6.5 K a kilometre from the grid's altitude to the place's (ISO 2533).
    /// Latitudes beyond the sun grid, 57° south to 72° north, take its edge.
    pub fn at(place: &model::Place, altitude: Option<Metres>) -> Self {
        grid::at(place, altitude)
    }

    /// The climate that one year of weather shows: its own monthly means, spreads and correlations.
    ///
    /// A single year has a single draw of each month; a typical year has been picked to lie near the mean.
    /// Months in which the sun hardly rises take the clearness of the year.
    pub fn of(year: &crate::weather::WeatherYear, site: &Site, sun: &SunYear, source: &str) -> Self {
        of::of(year, site, &day::above(sun), source)
    }
}

/// A place given in degrees, as a trip or a test has it.
pub fn place(latitude: Degrees, longitude: Degrees) -> model::Place {
    model::Place { latitude, longitude, altitude: None }
}

fn note(id: &str, message: String) -> Note {
    Note { id: id.to_owned(), message, line: 0 }
}
