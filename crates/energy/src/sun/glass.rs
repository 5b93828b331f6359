//! What a module's glass lets through by the angle at which light comes.
//! Never: knows where the sun is.
//! Start at [`beam_through_glass`].

use std::sync::LazyLock;

use super::data::tables;
use super::elementary::exp;
use crate::storage::more;

/// Share of a beam that passes, relative to a beam straight on, by the cosine of its angle of incidence; 0 from behind.
/// `(1 - exp(-cos θ / ar)) / (1 - exp(-1 / ar))`, Martin and Ruiz, for clean glass; source in `data/sun.toml`.
pub fn beam_through_glass(cos_incidence: f64) -> f64 {
    GLASS.beam(cos_incidence)
}

/// The glass of all modules, for callers that ask it often.
pub(super) fn glass() -> Glass {
    *GLASS
}

/// What a glass does to a beam.
#[derive(Clone, Copy)]
pub(super) struct Glass {
    per_ar: f64,
    per_straight_on: f64,
}

impl Glass {
    /// See [`beam_through_glass`].
    #[inline(always)]
    pub fn beam(&self, cos_incidence: f64) -> f64 {
        (1.0 - exp(-more(cos_incidence, 0.0) * self.per_ar)) * self.per_straight_on
    }
}

static GLASS: LazyLock<Glass> = LazyLock::new(|| {
    let per_ar = 1.0 / tables().glass_ar;
    Glass { per_ar, per_straight_on: 1.0 / (1.0 - exp(-per_ar)) }
});

/// Shares of diffuse light that pass: from the sky, and from the ground, on a plane tilted by an angle [radians].
/// Martin and Ruiz, with `c2` of IEC 61853-3; source in `data/sun.toml`. 0 to π.
pub fn diffuse_through_glass(tilt_rad: f64) -> (f64, f64) {
    use core::f64::consts::PI;
    let (ar, c1) = (tables().glass_ar, tables().glass_c1);
    let c2 = 0.5 * ar - 0.154;
    let passed = |angle: f64| {
        let (sin, cos) = angle.sin_cos();
        // The quotient tends to a third of a small angle, where the two differences vanish.
        let quotient = if angle < 1e-3 { angle / 3.0 } else { (angle - sin) / (1.0 - cos) };
        let term = sin + quotient;
        1.0 - exp(-(c1 + c2 * term) * term / ar)
    };
    // The sky takes up of the plane's half-space what the ground leaves.
    let tilt = tilt_rad.clamp(0.0, PI);
    (passed(PI - tilt), passed(tilt))
}

#[cfg(test)]
mod tests {
    use super::*;

    // pvlib 0.16.1, iam.martin_ruiz(60) and iam.martin_ruiz_diffuse(0 and 30), with its usual ar and the exact c1 = 4 / 3π
    // of the paper, which the library rounds to 0.4244.
    #[test]
    fn glass_passes_what_the_reference_library_says() {
        assert!((beam_through_glass(0.5) - 0.9579122721).abs() < 1e-9);
        let (sky, ground) = diffuse_through_glass(0.0);
        assert!((sky - 0.9514661438).abs() < 1e-6 && ground.abs() < 1e-6, "{sky} {ground}");
        let (sky, ground) = diffuse_through_glass(30.0_f64.to_radians());
        assert!((sky - 0.9549795870).abs() < 1e-9 && (ground - 0.7944540194).abs() < 1e-9, "{sky} {ground}");
    }
}
