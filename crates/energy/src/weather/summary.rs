//! A year of weather by the month: the few numbers by which people and other modules know a climate.
//! Never: rounds.
//! Start at [`summary`].

use serde::Serialize;

use super::{Series, WeatherYear};
use crate::site::{DAYS_OF_MONTH, MONTH_STARTS, MONTHS};

/// One month of a year, or of the mean of several.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MonthSummary {
    /// Global irradiation on the horizontal a day [kWh/m²].
    pub ghi_kwh_m2_day: f64,
    /// Diffuse irradiation on the horizontal a day [kWh/m²].
    pub dhi_kwh_m2_day: f64,
    /// Lowest hour of the air [°C].
    pub air_min_c: f64,
    /// Mean of the air [°C].
    pub air_mean_c: f64,
    /// Highest hour of the air [°C].
    pub air_max_c: f64,
    /// Mean of the wind [m/s].
    pub wind_mean_m_s: f64,
}

/// The twelve months of a year; `weather` has [`HOURS`](crate::site::HOURS) hours.
pub fn summary_of_year(weather: &WeatherYear) -> [MonthSummary; MONTHS] {
    std::array::from_fn(|month| {
        let hours = MONTH_STARTS[month]..MONTH_STARTS[month + 1];
        let part = |values: &[f64]| values.get(hours.clone()).unwrap_or_default().to_vec();
        let sum = |values: &[f64]| part(values).iter().sum::<f64>();
        let days = DAYS_OF_MONTH[month] as f64;
        MonthSummary {
            ghi_kwh_m2_day: sum(&weather.ghi_w_m2) / days / 1000.0,
            dhi_kwh_m2_day: sum(&weather.dhi_w_m2) / days / 1000.0,
            air_min_c: part(&weather.air_c).into_iter().fold(f64::INFINITY, f64::min),
            air_mean_c: sum(&weather.air_c) / days / 24.0,
            air_max_c: part(&weather.air_c).into_iter().fold(f64::NEG_INFINITY, f64::max),
            wind_mean_m_s: sum(&weather.wind_m_s) / days / 24.0,
        }
    })
}

/// The twelve months over all years of a series: means of the means, lowest and highest of all.
pub fn summary(series: &Series) -> [MonthSummary; MONTHS] {
    let years: Vec<_> = std::iter::once(&series.year).chain(&series.more).map(summary_of_year).collect();
    let count = years.len() as f64;
    std::array::from_fn(|month| {
        let mean =
            |of: fn(&MonthSummary) -> f64| years.iter().map(|year| of(&year[month])).sum::<f64>() / count;
        let months = || years.iter().map(|year| &year[month]);
        MonthSummary {
            ghi_kwh_m2_day: mean(|month| month.ghi_kwh_m2_day),
            dhi_kwh_m2_day: mean(|month| month.dhi_kwh_m2_day),
            air_min_c: months().map(|month| month.air_min_c).fold(f64::INFINITY, f64::min),
            air_mean_c: mean(|month| month.air_mean_c),
            air_max_c: months().map(|month| month.air_max_c).fold(f64::NEG_INFINITY, f64::max),
            wind_mean_m_s: mean(|month| month.wind_mean_m_s),
        }
    })
}
