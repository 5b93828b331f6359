//! From the correlation wanted of a mapped series to that of the Gaussian series behind it.
//! Never: draws; see `generator`.
//! Start at [`normal_for`].

use quantity::math;

/// Terms of the expansion; what they leave out is far below a sample's own error.
const TERMS: usize = 8;

/// Share of the variance of `value(z)`, z standard normal, that each Hermite term carries, the first first.
///
/// With correlation φ of the normals, the values correlate as the sum of share × φⁿ (Mehler's formula).
pub(super) fn hermite(value: impl Fn(f64) -> f64) -> Vec<f64> {
    let step = 0.02;
    let (mut weights, mut mean, mut square) = (0.0, 0.0, 0.0);
    let mut sums = [0.0; TERMS];
    for index in -300..=300 {
        let z = f64::from(index) * step;
        let weight = math::exp(-z * z / 2.0);
        let y = value(z);
        weights += weight;
        mean += weight * y;
        square += weight * y * y;
        let (mut before, mut now) = (1.0, z);
        for (order, sum) in sums.iter_mut().enumerate() {
            *sum += weight * y * now;
            let order = (order + 1) as f64;
            (before, now) = (now, z * now - order * before);
        }
    }
    let variance = (square / weights - (mean / weights) * (mean / weights)).max(1e-12);
    let mut factorial = 1.0;
    sums.iter()
        .enumerate()
        .map(|(order, sum)| {
            factorial *= (order + 1) as f64;
            (sum / weights) * (sum / weights) / factorial / variance
        })
        .collect()
}

/// Correlation of the normals that gives the mapped values the correlation `wanted`.
pub(super) fn normal_for(shares: &[f64], wanted: f64) -> f64 {
    let value = |phi: f64| shares.iter().rev().fold(0.0, |sum, share| (sum + share) * phi);
    bisect(value, wanted)
}

/// How a day's mean depends on the daily values that hours are blended from: ⅛ of the day before, ¾, ⅛ of the day after.
pub(super) const BLEND: [f64; 3] = [0.125, 0.75, 0.125];

/// Variance and lag-1 correlation of blended daily values whose own lag-1 correlation is `phi`.
pub(super) fn blended(phi: f64) -> (f64, f64) {
    let covariance = |lag: i32| -> f64 {
        let mut sum = 0.0;
        for (i, left) in (0i32..).zip(BLEND) {
            for (j, right) in (0i32..).zip(BLEND) {
                sum += left * right * phi.powi((lag + j - i).abs());
            }
        }
        sum
    };
    let variance = covariance(0);
    (variance, covariance(1) / variance)
}

/// Correlation of the daily values that gives the blended ones the correlation `wanted`.
pub(super) fn unblended(wanted: f64) -> f64 {
    bisect(|phi| blended(phi).1, wanted)
}

/// Where a rising function of a correlation reaches `wanted`, from −0.9 to 0.99.
fn bisect(value: impl Fn(f64) -> f64, wanted: f64) -> f64 {
    let (mut low, mut high) = (-0.9, 0.99);
    for _ in 0..50 {
        let middle = (low + high) / 2.0;
        if value(middle) < wanted { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}

/// Share of a standard normal below each of `points` values, evenly from −`reach` to `reach`.
pub(super) fn normal_shares(points: usize, reach: f64) -> Vec<f64> {
    // Simpson's rule between the points; the tail below the first by the same rule from 9 standard deviations down.
    let density = |z: f64| math::exp(-z * z / 2.0) / (2.0 * std::f64::consts::PI).sqrt();
    let area = |from: f64, to: f64, steps: usize| -> f64 {
        let step = (to - from) / steps as f64;
        (0..steps)
            .map(|index| {
                let left = from + index as f64 * step;
                step / 6.0 * (density(left) + 4.0 * density(left + step / 2.0) + density(left + step))
            })
            .sum()
    };
    let step = 2.0 * reach / (points - 1) as f64;
    let mut share = area(-9.0, -reach, 100);
    (0..points)
        .map(|index| {
            if index > 0 {
                let to = -reach + index as f64 * step;
                share += area(to - step, to, 1);
            }
            share
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    // Standard normal distribution, any table: Φ(−1.96) = 0.0250, Φ(0) = 0.5, Φ(1) = 0.8413.
    #[test]
    fn shares_are_those_of_the_normal_table() {
        let shares = normal_shares(401, 4.0);
        assert!((shares[102] - 0.0250).abs() < 1e-4);
        assert!((shares[200] - 0.5).abs() < 1e-9);
        assert!((shares[250] - 0.8413).abs() < 1e-4);
    }

    // A lognormal exp(σz) of normals that correlate as φ correlates as (e^(σ²φ) − 1)/(e^(σ²) − 1), exactly.
    #[test]
    fn mapping_a_lognormal_agrees_with_its_closed_form() {
        let shares = hermite(|z| math::exp(0.5 * z));
        let exact = |phi: f64| (math::exp(0.25 * phi) - 1.0) / (math::exp(0.25) - 1.0);
        for phi in [-0.3, 0.2, 0.5, 0.8] {
            assert!((normal_for(&shares, exact(phi)) - phi).abs() < 1e-5);
        }
    }

    #[test]
    fn blending_undone_gives_the_correlation_back() {
        assert!((blended(unblended(0.7)).1 - 0.7).abs() < 1e-9);
    }
}
