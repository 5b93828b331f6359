//! A year of weather by the month: the few numbers by which people and other modules know a climate.
//! Never: rounds.
//! Start at [`summary`].

use serde::Serialize;

use super::{Series, WeatherYear};
use crate::site::{DAYS_OF_MONTH, MONTH_STARTS, MONTHS, Site};
use crate::sun::SunYear;

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

/// Clearness of each month, without unit: the month's global irradiation over that beyond the air on the same horizontal.
/// 0 where the sun brings less than 1 kWh/m² in the month beyond the air, as in a polar night.
/// - `site`: where the year was; - `weather`: [`HOURS`](crate::site::HOURS) hours
pub fn clearness_of_year(site: &Site, weather: &WeatherYear) -> [f64; MONTHS] {
    let sun = SunYear::new(site, 2023, 30.0);
    // Beyond the air nothing bends the light: the zenith without refraction.
    let cos = |zenith_deg: &f64| quantity::math::cos(zenith_deg.to_radians()).max(0.0);
    let beyond: Vec<f64> = sun
        .zenith_deg
        .iter()
        .zip(&sun.extra_w_m2)
        .map(|(zenith_deg, extra)| cos(zenith_deg) * extra)
        .collect();
    std::array::from_fn(|month| {
        let hours = MONTH_STARTS[month]..MONTH_STARTS[month + 1];
        let sum = |values: &[f64]| values.get(hours.clone()).unwrap_or_default().iter().sum::<f64>();
        let beyond = sum(&beyond);
        if beyond < 1000.0 { 0.0 } else { sum(&weather.ghi_w_m2) / beyond }
    })
}

/// As [`clearness_of_year`], over all years of a series.
pub fn clearness(series: &Series) -> [f64; MONTHS] {
    let years: Vec<_> = std::iter::once(&series.year)
        .chain(&series.more)
        .map(|year| clearness_of_year(&series.site, year))
        .collect();
    std::array::from_fn(|month| years.iter().map(|year| year[month]).sum::<f64>() / years.len() as f64)
}
