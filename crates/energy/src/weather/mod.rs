//! Weather by the hour: the year that everything computes with, and the open file formats that bring one.
//! Never: opens a file; bytes come from the edge. What a file lacks is told in a [`Note`], not made up in silence.
//! Start at [`read`], which makes a [`Series`] of years ([`WeatherYear`]) from a file's bytes.

mod assemble;
mod clock;
mod complete;
mod epw;
mod page;
mod pvgis;
mod rows;
mod series;
mod site_line;
mod summary;
mod tmy2;
mod tmy3;

pub use page::text;
pub use series::{FAR_KM, Format, LARGEST_FILE, Series, distance_km, matches_place, read};
pub use summary::{MonthSummary, clearness, clearness_of_year, summary, summary_of_year};

use serde::Serialize;

use crate::site::HOURS;

/// A year of weather, each list [`HOURS`] long, hour-beginning, standard time of its site; irradiance is the hour's mean.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WeatherYear {
    /// Global irradiance on the horizontal [W/m²].
    pub ghi_w_m2: Vec<f64>,
    /// Direct normal irradiance [W/m²].
    pub dni_w_m2: Vec<f64>,
    /// Diffuse irradiance on the horizontal [W/m²].
    pub dhi_w_m2: Vec<f64>,
    /// Air temperature [°C].
    pub air_c: Vec<f64>,
    /// Wind at 10 m [m/s].
    pub wind_m_s: Vec<f64>,
}

impl WeatherYear {
    /// A dark, still year at 0 °C, to be filled.
    pub fn blank() -> Self {
        let blank = || vec![0.0; HOURS];
        Self { ghi_w_m2: blank(), dni_w_m2: blank(), dhi_w_m2: blank(), air_c: blank(), wind_m_s: blank() }
    }
}

/// Something that was assumed or mended while reading, in words, with where.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Note {
    /// Its name, such as `leap-day-dropped`.
    pub id: String,
    /// What was found and what was assumed.
    pub message: String,
    /// Line of the file, from 1; 0 for the whole file.
    pub line: usize,
}
