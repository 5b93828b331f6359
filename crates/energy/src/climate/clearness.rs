//! How the clearness of days spreads within a month: a beta distribution between two bounds, as a table over the
//! standard normal.
//! Never: draws; see `generator`.
//! Start at [`Days::new`].
//!
//! The published families (Bendt and others 1981, Hollands and Huget 1983) know the monthly mean alone; a climate here
//! also knows the spread, and a beta distribution between the darkest and the clearest possible day keeps both. It takes
//! the J and U shapes that daily clearness shows. Days follow each other by a Gaussian of the first order mapped through
//! the distribution, as in Graham, Hollands and Brunger, Solar Energy 40 (1988) 333.

use quantity::math;

use super::correlation;

/// Table points, evenly over z from −[`REACH`] to [`REACH`].
pub(super) const POINTS: usize = 129;
/// Standard deviations that the table covers; 6 in 100 000 days lie beyond and take its ends.
pub(super) const REACH: f64 = 4.0;
/// Clearness of the darkest day; thick cloud still lets some light through. Common practice, no source.
const DARKEST: f64 = 0.03;
const STEPS: usize = 1024;

/// A function of a standard normal, as a table.
#[derive(Clone, Debug)]
pub(super) struct Table([f64; POINTS]);

impl Table {
    pub(super) fn new(value: impl Fn(f64) -> f64) -> Self {
        let mut table = [0.0; POINTS];
        for (index, slot) in table.iter_mut().enumerate() {
            *slot = value(z_of(index));
        }
        Self(table)
    }
    /// The value at `z`, between its neighbours.
    #[inline]
    pub(super) fn at(&self, z: f64) -> f64 {
        let x = ((z + REACH) * ((POINTS - 1) as f64 / (2.0 * REACH))).clamp(0.0, (POINTS - 1) as f64 - 1e-9);
        let index = x as usize;
        match self.0.get(index..index + 2) {
            Some(&[low, high]) => low + (high - low) * (x - index as f64),
            _ => 0.0,
        }
    }
}

fn z_of(index: usize) -> f64 {
    -REACH + 2.0 * REACH * index as f64 / (POINTS - 1) as f64
}

/// Days of one month: clearness as a function of a standard normal, and the normal's own day-to-day correlation.
#[derive(Clone, Debug)]
pub(super) struct Days {
    pub clearness: Table,
    pub normal_lag1: f64,
    /// Correlation of the clearness with the normal it is mapped from.
    pub with_normal: f64,
}

impl Days {
    /// - `mean`, `spread`: of the daily clearness; `clearest`: of the clearest possible day; `lag1`: of the clearness.
    ///
    /// A spread wider than the bounds allow is drawn in to 0.9 of the widest.
    pub(super) fn new(mean: f64, spread: f64, clearest: f64, lag1: f64) -> Self {
        let width = clearest - DARKEST;
        let centre = ((mean - DARKEST) / width).clamp(0.02, 0.98);
        let widest = 0.9 * (centre * (1.0 - centre)).sqrt();
        let deviation = (spread / width).clamp(0.01, widest);
        let sum = centre * (1.0 - centre) / (deviation * deviation) - 1.0;
        let quantile = beta_table(centre * sum, (1.0 - centre) * sum);
        let clearness = Table::new(|z| DARKEST + width * quantile.at(z));
        let hermite = correlation::hermite(|z| clearness.at(z));
        let normal_lag1 = correlation::normal_for(&hermite, lag1);
        let with_normal = hermite.first().map_or(1.0, |share| share.max(0.0).sqrt());
        Self { clearness, normal_lag1, with_normal }
    }
}

/// Quantiles of a beta distribution over the standard normal.
fn beta_table(alpha: f64, beta: f64) -> Table {
    // With x = sin² t the density is sin^(2α−1) t · cos^(2β−1) t; steps midway keep off the ends, where it may rise.
    let step = std::f64::consts::FRAC_PI_2 / STEPS as f64;
    let mut edges = Vec::with_capacity(STEPS + 1);
    let mut total = 0.0;
    edges.push(0.0);
    for index in 0..STEPS {
        let t = (index as f64 + 0.5) * step;
        let density = math::exp(
            (2.0 * alpha - 1.0) * math::ln(math::sin(t)) + (2.0 * beta - 1.0) * math::ln(math::cos(t)),
        );
        total += density;
        edges.push(total);
    }
    let shares = correlation::normal_shares(POINTS, REACH);
    let mut values = [0.0; POINTS];
    let mut at = 0;
    for (value, share) in values.iter_mut().zip(shares) {
        let want = share * total;
        while edges.get(at + 1).is_some_and(|edge| *edge < want) {
            at += 1;
        }
        let low = edges.get(at).copied().unwrap_or(total);
        let high = edges.get(at + 1).copied().unwrap_or(total);
        let within = if high > low { (want - low) / (high - low) } else { 0.0 };
        let sine = math::sin(((at as f64 + within.clamp(0.0, 1.0)) * step).min(std::f64::consts::FRAC_PI_2));
        *value = sine * sine;
    }
    Table(values)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mean and standard deviation of a table under the standard normal.
    fn moments(table: &Table) -> (f64, f64) {
        let (mut weight, mut first, mut second) = (0.0, 0.0, 0.0);
        for index in -800..=800 {
            let z = f64::from(index) / 100.0;
            let density = math::exp(-z * z / 2.0);
            weight += density;
            first += density * table.at(z);
            second += density * table.at(z).powi(2);
        }
        let mean = first / weight;
        (mean, (second / weight - mean * mean).sqrt())
    }

    #[test]
    fn the_table_keeps_the_mean_and_the_spread_it_was_asked_for() {
        for (mean, spread) in [(0.35, 0.17), (0.55, 0.19), (0.65, 0.08), (0.20, 0.10), (0.50, 0.24)] {
            let days = Days::new(mean, spread, 0.78, 0.3);
            let (found_mean, found_spread) = moments(&days.clearness);
            assert!((found_mean - mean).abs() < 0.002, "mean {found_mean} for {mean}");
            assert!((found_spread / spread - 1.0).abs() < 0.01, "spread {found_spread} for {spread}");
        }
    }

    // Beta(2, 3): quartiles from the incomplete beta function, 0.2430, 0.3857, 0.5437 (scipy 1.17.1, beta.ppf).
    #[test]
    fn quantiles_are_those_of_the_beta_distribution() {
        let table = beta_table(2.0, 3.0);
        for (z, want) in [(-0.674_489_75, 0.243_0), (0.0, 0.385_7), (0.674_489_75, 0.543_7)] {
            assert!((table.at(z) - want).abs() < 2e-4, "at {z}: {} for {want}", table.at(z));
        }
    }
}
