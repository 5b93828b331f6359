//! Shapes that turn a day's figures into hours, and months' figures into days.
//! Never: draws; see `generator`.
//! Start at [`Hourly`] for light, [`air_of_day`] for temperature, [`season`] for the course of the year.

use quantity::math;

use crate::site::{DAYS, DAYS_OF_MONTH, MONTHS};

/// Mean and spread of the hour's clearness for a day's clearness and the height of the sun.
///
/// Aguiar and Collares-Pereira, TAG, Solar Energy 49 (1992) 167, with K of the day and h the height of the sun:
/// `k = λ + ε · exp(−κ / sin h)`, `λ = −0.19 + 1.12 K + 0.24 exp(−8 K)`, `ε = 0.32 − 1.6 (K − 0.5)²`,
/// `κ = 0.19 + 2.27 K² − 2.51 K³`; `σ = A · exp(B (1 − sin h))`, `A = 0.14 exp(−20 (K − 0.35)²)`,
/// `B = 3 (K − 0.45)² + 16 K⁵`; the hour's departure correlates with the hour before by
/// `0.38 + 0.06 cos(7.4 K − 2.5)` (constants from memory, met again in one later printing of them).
#[derive(Clone, Debug)]
pub(super) struct Hourly {
    /// Rows by the day's clearness, columns by the sine of the sun's height.
    table: Vec<[f64; 2]>,
    /// Correlation of an hour's departure with the hour before, by the day's clearness.
    lags: Vec<f64>,
}

const ROWS: usize = 101;
const HEIGHTS: usize = 64;

impl Hourly {
    pub(super) fn new() -> Self {
        let mut table = Vec::with_capacity(ROWS * HEIGHTS);
        let mut lags = Vec::with_capacity(ROWS);
        for row in 0..ROWS {
            let k = (row as f64 / (ROWS - 1) as f64).min(0.85);
            let lambda = -0.19 + 1.12 * k + 0.24 * math::exp(-8.0 * k);
            let epsilon = 0.32 - 1.6 * (k - 0.5) * (k - 0.5);
            let kappa = 0.19 + 2.27 * k * k - 2.51 * k * k * k;
            let a = 0.14 * math::exp(-20.0 * (k - 0.35) * (k - 0.35));
            let b = 3.0 * (k - 0.45) * (k - 0.45) + 16.0 * k * k * k * k * k;
            lags.push(0.38 + 0.06 * math::cos(7.4 * k - 2.5));
            for column in 0..HEIGHTS {
                let sine = (column as f64 + 0.5) / HEIGHTS as f64;
                let mean = lambda + epsilon * math::exp(-kappa / sine);
                table.push([mean, (a * math::exp(b * (1.0 - sine))).min(0.3)]);
            }
        }
        Self { table, lags }
    }
    /// For a day's clearness: mean and spread by [`Hourly::column`], and the correlation from hour to hour.
    #[inline]
    pub(super) fn row(&self, clearness: f64) -> (&[[f64; 2]], f64) {
        let row = ((clearness * (ROWS - 1) as f64 + 0.5).max(0.0) as usize).min(ROWS - 1);
        (&self.table[row * HEIGHTS..(row + 1) * HEIGHTS], self.lags[row])
    }
    pub(super) fn column(sine: f64) -> usize {
        ((sine * HEIGHTS as f64) as usize).min(HEIGHTS - 1)
    }
}

/// Departure of each hour's air temperature from the day's mean, from lowest to highest 1.
///
/// Erbs, Klein and Beckman, ASHRAE Journal 25 (June 1983) 60 (memory): `0.4632 cos(t − 3.805) + 0.0984 cos(2t − 0.360) +
/// 0.0168 cos(3t − 0.822) + 0.0138 cos(4t − 3.513)`, t the solar hour as an angle, 0 at 1 o'clock.
/// - `ahead` [h]: solar time less standard time.
pub(super) fn air_of_day(ahead: f64) -> [f64; 24] {
    let mut shape = [0.0; 24];
    for (hour, slot) in shape.iter_mut().enumerate() {
        let t = 2.0 * std::f64::consts::PI * (hour as f64 + ahead) / 24.0;
        *slot = 0.4632 * math::cos(t - 3.805)
            + 0.0984 * math::cos(2.0 * t - 0.360)
            + 0.0168 * math::cos(3.0 * t - 0.822)
            + 0.0138 * math::cos(4.0 * t - 3.513);
    }
    let low = shape.iter().copied().fold(f64::INFINITY, f64::min);
    let high = shape.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    shape.map(|value| value / (high - low))
}

/// A smooth course over the days of the year whose mean in each month is the given one.
pub(super) fn season(monthly: &[f64; MONTHS]) -> Vec<f64> {
    let mut anchors = *monthly;
    let mut days = Vec::new();
    for _ in 0..12 {
        days = course(&anchors);
        let mut first = 0;
        for ((anchor, want), length) in anchors.iter_mut().zip(monthly).zip(DAYS_OF_MONTH) {
            let found = days.iter().skip(first).take(length).sum::<f64>() / length as f64;
            *anchor += want - found;
            first += length;
        }
    }
    days
}

/// Straight lines between the middles of the months, closed over the year's end.
fn course(anchors: &[f64; MONTHS]) -> Vec<f64> {
    let mut middles = Vec::with_capacity(MONTHS + 2);
    let mut first = 0.0;
    for (anchor, length) in anchors.iter().zip(DAYS_OF_MONTH) {
        middles.push((first + length as f64 / 2.0, *anchor));
        first += length as f64;
    }
    let year = DAYS as f64;
    if let (Some(&(start, january)), Some(&(end, december))) = (middles.first(), middles.last()) {
        middles.insert(0, (end - year, december));
        middles.push((start + year, january));
    }
    let mut segment = 0;
    (0..DAYS)
        .map(|day| {
            let at = day as f64 + 0.5;
            while middles.get(segment + 1).is_some_and(|(middle, _)| *middle < at) {
                segment += 1;
            }
            match middles.get(segment..segment + 2) {
                Some(&[(left, low), (right, high)]) => low + (high - low) * (at - left) / (right - left),
                _ => 0.0,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::{MONTH_STARTS, month_of_day};

    #[test]
    fn the_course_of_the_year_keeps_the_monthly_means() {
        let monthly = [-3.0, -1.5, 3.0, 8.0, 14.0, 17.0, 19.5, 19.0, 14.0, 9.0, 3.0, -1.0];
        let days = season(&monthly);
        for (month, want) in monthly.iter().enumerate() {
            let of_month: Vec<f64> =
                (0..DAYS).filter(|d| month_of_day(*d) == month).map(|d| days[d]).collect();
            assert_eq!(of_month.len() * 24, MONTH_STARTS[month + 1] - MONTH_STARTS[month]);
            let mean = of_month.iter().sum::<f64>() / of_month.len() as f64;
            assert!((mean - want).abs() < 0.01, "month {month}: {mean} for {want}");
        }
        assert!(days.windows(2).all(|pair| (pair[1] - pair[0]).abs() < 0.5), "no steps");
    }

    // The coldest hour lies near dawn and the warmest in the early afternoon, as that paper draws it.
    #[test]
    fn the_day_is_coldest_at_dawn_and_warmest_in_the_afternoon() {
        let shape = air_of_day(0.0);
        let by = |a: &(usize, &f64), b: &(usize, &f64)| a.1.total_cmp(b.1);
        let coldest = shape.iter().enumerate().min_by(by).map(|(hour, _)| hour);
        let warmest = shape.iter().enumerate().max_by(by).map(|(hour, _)| hour);
        assert!(matches!(coldest, Some(3..=6)), "{coldest:?}");
        assert!(matches!(warmest, Some(13..=16)), "{warmest:?}");
        assert!(shape.iter().sum::<f64>().abs() < 1e-9);
    }
}
