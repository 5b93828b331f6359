//! The two wells of a lead-acid battery: charge that flows at once, and charge that must first seep into reach.
//! Never: loses energy; what is bound comes back with rest.
//! Start at [`Wells::fit`].

use quantity::{AmpHours, Amps, Hours, math};

/// The kinetic battery model of Manwell and McGowan (Solar Energy 50, 1993): a share `c` of all charge is available, the rest bound,
/// and both seek one level at the rate `k`.
///
/// All charge is counted in rated (20 h) capacities. The state kept is the lag `x = (1 − c)(h2 − h1)`, h the levels: the level of the
/// available well stands at `all charge − x`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Wells {
    /// Available share.
    pub c: f64,
    /// Rate [1/h], k' of the paper.
    pub k: f64,
    /// All charge over the rated capacity, less 1: what even the 20 h rate leaves bound.
    pub extra: f64,
}

/// Hours of the rated capacity.
pub(crate) const RATED_H: f64 = 20.0;

impl Wells {
    /// One well: everything is available.
    pub const ONE: Wells = Wells { c: 1.0, k: 1.0, extra: 0.0 };

    /// Capacity that a discharge of `hours` at constant current gives, over all charge: equation of the paper,
    /// `k c t / (1 − e^(−kt) + c (kt − 1 + e^(−kt)))`.
    fn share(c: f64, k: f64, hours: f64) -> f64 {
        let kt = k * hours;
        let gone = 1.0 - math::exp(-kt);
        kt * c / (gone + c * (kt - gone))
    }

    /// Wells whose 1 h, 5 h and 20 h capacities are those of Peukert's law `t = H (C / (I H))^p` with H = 20 h, that is
    /// `C(t) / C(20 h) = (t / 20 h)^(1 − 1/p)`.
    ///
    /// - `exponent`: p; 1 or less gives one well.
    pub fn fit(exponent: f64) -> Self {
        if exponent <= 1.0 + 1e-9 || !exponent.is_finite() {
            return Self::ONE;
        }
        let peukert = |hours: f64| math::powf(hours / RATED_H, 1.0 - 1.0 / exponent);
        let (at_1, at_5) = (peukert(1.0), peukert(5.0));
        // For a rate, the available share that gives the 1 h capacity; a larger share gives more.
        let available =
            |k: f64| bisect(1e-6, 1.0, |c| Self::share(c, k, 1.0) / Self::share(c, k, RATED_H) - at_1);
        // A faster rate mends more within 5 h.
        let k = bisect(0.02, 8.0, |k| {
            let c = available(k);
            Self::share(c, k, 5.0) / Self::share(c, k, RATED_H) - at_5
        });
        let c = available(k);
        Self { c, k, extra: 1.0 / Self::share(c, k, RATED_H) - 1.0 }
    }

    /// What is left of a lag after `hours`, and the lag that a unit of steady current builds in that time [h].
    #[inline]
    pub fn relax(&self, hours: f64) -> (f64, f64) {
        let left = math::exp(-self.k * hours);
        (left, (1.0 - self.c) / (self.c * self.k) * (1.0 - left))
    }
}

/// The root of a rising function, or the end nearer to it.
fn bisect(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..48 {
        let middle = 0.5 * (low + high);
        if rising(middle) < 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Peukert's exponent of a battery from two of its ratings: `ln(t1/t2) / ln(I2/I1)`.
///
/// - `capacity` over `rated`: the usual rating, such as 100 Ah over 20 h   - `current`, `time`: another, such as 25 A for 180 minutes of
///   reserve
///
/// `None` where the two ratings are at one current, or a figure is not above 0.
pub fn peukert_exponent(capacity: AmpHours, rated: Hours, current: Amps, time: Hours) -> Option<f64> {
    let exponent = math::ln(rated / time) / math::ln(current / (capacity / rated));
    exponent.is_finite().then_some(exponent)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Peukert (1897) in the rated form. The three points are met; between them two straight wells follow a power law within 3 % for
    // exponents up to 1.2 and within 5 % up to 1.4.
    #[test]
    fn the_wells_give_peukerts_capacities() {
        for exponent in [1.02, 1.05, 1.1, 1.15, 1.2, 1.25, 1.3, 1.4] {
            let wells = Wells::fit(exponent);
            let near = if exponent <= 1.2 { 0.03 } else { 0.05 };
            for (hours, within) in [(1.0, 1e-6), (2.0, near), (5.0, 1e-6), (10.0, near), (20.0, 1e-9)] {
                let got = Wells::share(wells.c, wells.k, hours) * (1.0 + wells.extra);
                let want = (hours / RATED_H).powf(1.0 - 1.0 / exponent);
                assert!(
                    (got / want - 1.0).abs() < within,
                    "{exponent} at {hours} h: {got} for {want}, {wells:?}"
                );
            }
        }
    }
}
