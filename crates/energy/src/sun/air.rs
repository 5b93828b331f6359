//! What lies above: the sun's radiation before the air, the air's pressure, and how much of it a beam crosses.
//! Never: knows a date or a place; callers give day of year, zenith or altitude.
//! Start at any function.

use quantity::Metres;

use super::elementary::{exp, ln};

/// Radiation of the sun at one astronomical unit [W/m²]: ASTM E490 (2000), the value that the reference library uses too.
pub(super) const SOLAR_CONSTANT_W_M2: f64 = 1366.1;

/// Extraterrestrial radiation normal to the beam [W/m²] at a distance from the sun [astronomical units].
/// `1366.1 / r²`; r as in I. Reda, A. Andreas, NREL/TP-560-34302 (2008).
pub fn extra_at_distance(distance_au: f64) -> f64 {
    SOLAR_CONSTANT_W_M2 / (distance_au * distance_au)
}

/// Extraterrestrial radiation normal to the beam [W/m²] on a day of the year, from 1 to 366.
/// Fourier series of J. W. Spencer, Search 2 (1971) 172; within 0.2 % of [`extra_at_distance`].
pub fn extra_spencer(day_of_year: u16) -> f64 {
    let angle = (f64::from(day_of_year) - 1.0) / 365.0 * core::f64::consts::TAU;
    let (sin, cos) = angle.sin_cos();
    let (sin2, cos2) = (2.0 * angle).sin_cos();
    SOLAR_CONSTANT_W_M2 * (1.00011 + 0.034221 * cos + 0.00128 * sin + 0.000719 * cos2 + 7.7e-5 * sin2)
}

/// Pressure of the standard atmosphere [Pa] at an altitude; the formula ends at 44 km, where it gives 0.
/// `p = 100 ((44331.514 - h) / 11880.516)^(1 / 0.1902632)`, Portland State Aerospace Society (2004).
pub fn pressure_pa(altitude: Metres) -> f64 {
    100.0 * quantity::math::powf(((44331.514 - altitude.get()) / 11880.516).max(0.0), 1.0 / 0.1902632)
}

/// Air crossed by a beam relative to that at the zenith, at sea-level pressure; `zenith` apparent [°], 0 to 90.
/// F. Kasten, A. T. Young, Applied Optics 28 (1989) 4735-4738. Below the horizon: 0, which stands for none.
pub fn airmass_relative(apparent_zenith_deg: f64) -> f64 {
    if !(0.0..=90.0).contains(&apparent_zenith_deg) {
        return 0.0;
    }
    airmass(apparent_zenith_deg, apparent_zenith_deg.to_radians().cos())
}

/// As [`airmass_relative`], above the horizon, for callers that have the cosine.
#[inline(always)]
pub(super) fn airmass(apparent_zenith_deg: f64, cos_zenith: f64) -> f64 {
    1.0 / (cos_zenith + 0.50572 * exp(-1.6364 * ln(96.07995 - apparent_zenith_deg)))
}

/// Air temperature at which refraction is computed [°C]: the usual value of the reference library.
pub(super) const REFRACTION_AIR_C: f64 = 12.0;

/// How far the air lifts what is seen through it: formula and limit of NREL/TP-560-34302, step 3.14, at 12 °C.
pub(super) struct Refraction {
    scale: f64,
}

impl Refraction {
    /// At a pressure [Pa].
    pub fn new(pressure_pa: f64) -> Self {
        Self { scale: pressure_pa / 101_000.0 * (283.0 / (273.0 + REFRACTION_AIR_C)) * 1.02 / 60.0 }
    }

    /// Lift [°] at an elevation without it [°], given with its sine and cosine; none below the horizon by more than refraction and
    /// the sun's radius. The tangent of the sum comes from those of its parts, that of the small one (below 0.05 rad) by its series,
    /// which leaves less than 1e-10 of it.
    #[inline(always)]
    pub fn lift_deg(&self, elevation_deg: f64, sin: f64, cos: f64) -> f64 {
        let small = (10.3 / (elevation_deg + 5.11)).to_radians();
        let square = small * small;
        let tan = small * (1.0 + square * (1.0 / 3.0 + square * (2.0 / 15.0 + square * (17.0 / 315.0))));
        let lift = self.scale * (cos - sin * tan) / (sin + cos * tan);
        // Chosen at the end, so that it is no branch.
        if elevation_deg < -(0.26667 + 0.5667) { 0.0 } else { lift }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // The formula of NREL/TP-560-34302, step 3.14.3, with the tangent itself.
    #[test]
    fn the_lift_is_the_formulas() {
        let refraction = Refraction::new(101_325.0);
        for step in -83..=9000 {
            let elevation = f64::from(step) / 100.0;
            let (sin, cos) = elevation.to_radians().sin_cos();
            let formula = refraction.scale / (elevation + 10.3 / (elevation + 5.11)).to_radians().tan();
            let lift = refraction.lift_deg(elevation, sin, cos);
            assert!((lift - formula).abs() < 1e-9, "{elevation}°: {lift} for {formula}");
        }
        assert_eq!(refraction.lift_deg(-1.0, -0.017, 1.0), 0.0);
    }
}
