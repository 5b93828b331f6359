//! What a year of hours shows by the day: clearness and mean temperature.
//! Never: judges a year; see `of`.
//! Start at [`clearness`].

use crate::sun::SunYear;

/// Below this mean irradiance above the air [W/m²] a day's clearness says nothing; the days around polar night.
const DARK_W_M2: f64 = 8.0;

/// Sum over each day's hours of the irradiance above the air on the horizontal [W/m²].
pub(super) fn above(sun: &SunYear) -> Vec<f64> {
    let hours = sun.cos_zenith.chunks(24).zip(sun.extra_w_m2.chunks(24));
    hours
        .map(|(cosine, extra)| cosine.iter().zip(extra).map(|(cosine, extra)| cosine.max(0.0) * extra).sum())
        .collect()
}

/// Clearness of each day; none where the sun hardly rises. `above` as from [`above`].
pub(super) fn clearness(ghi_w_m2: &[f64], above: &[f64]) -> Vec<Option<f64>> {
    let days = ghi_w_m2.chunks(24).zip(above);
    days.map(|(ghi, above)| (*above >= DARK_W_M2 * 24.0).then(|| ghi.iter().sum::<f64>() / above)).collect()
}

/// Mean of each day.
pub(super) fn means(hourly: &[f64]) -> Vec<f64> {
    hourly.chunks(24).map(|day| day.iter().sum::<f64>() / day.len() as f64).collect()
}

/// Highest less lowest hour of each day.
pub(super) fn swings(hourly: &[f64]) -> Vec<f64> {
    hourly
        .chunks(24)
        .map(|day| {
            let high = day.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            high - day.iter().copied().fold(f64::INFINITY, f64::min)
        })
        .collect()
}
