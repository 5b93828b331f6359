//! What stands between the sun and the array: the horizon line and things on the roof.
//! Never: shades diffuse light by a roof object; its share of the sky is small beside what is not known.
//! Start at [`RoofObject`]; [`Horizon`] serves the plane.

use quantity::{Degrees, Fraction, Metres};

/// Something on the roof that throws a shadow: a fan, a rack, a box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoofObject {
    /// Where it stands seen from the array's centre: clockwise from north under [`super::Facing::Fixed`], clockwise
    /// from the direction in which the plane faces (a flat one: the front) under [`super::Facing::Averaged`].
    pub direction: Degrees,
    /// From the array's centre.
    pub distance: Metres,
    /// Its top above the modules.
    pub height: Metres,
    /// Across the line of sight.
    pub width: Metres,
    /// Share of the array's direct light that counts as lost while the shadow falls on it. Cells in a row pass only
    /// what the darkest lets through, so this is more than the share of area: a third of a module counts whole, common
    /// practice, no source.
    pub share: Fraction,
}

impl RoofObject {
    /// A roof fan of common size: 0.4 m wide, 0.12 m above the modules, and a third of the direct light lost while its
    /// shadow falls (sizes and share: common practice, no source).
    pub fn fan(direction: Degrees, distance: Metres) -> Self {
        let (height, width) = (Metres::new(0.12), Metres::new(0.4));
        Self { direction, distance, height, width, share: Fraction::new(0.33) }
    }

    /// Half the angle that it takes of the horizon [°], and the elevation of its top [°].
    fn size_deg(&self) -> (f64, f64) {
        let distance = self.distance.get().max(0.0);
        let angle = |across: Metres| across.get().max(0.0).atan2(distance).to_degrees();
        (angle(self.width / 2.0), angle(self.height))
    }
}

/// Share of direct light that passes all `objects`. The sun stands at `elevation_deg`, seen from each object's zero of
/// direction at `azimuth_deg`, and sweeps `sweep_deg` to either side within the hour.
pub(super) fn passed(objects: &[RoofObject], azimuth_deg: f64, sweep_deg: f64, elevation_deg: f64) -> f64 {
    objects.iter().fold(1.0, |passed, object| {
        let (half_width, top) = object.size_deg();
        if elevation_deg >= top {
            return passed;
        }
        let off = turn(azimuth_deg - object.direction.get());
        let overlap = (off + sweep_deg).min(half_width) - (off - sweep_deg).max(-half_width);
        let time_share = (overlap / (2.0 * sweep_deg)).clamp(0.0, 1.0);
        passed * (1.0 - object.share.get().clamp(0.0, 1.0) * time_share)
    })
}

/// An angle brought into -180° to 180°.
pub(super) fn turn(angle_deg: f64) -> f64 {
    (angle_deg + 180.0).rem_euclid(360.0) - 180.0
}

/// The horizon line: elevations at equal steps clockwise from north.
pub(super) struct Horizon<'a>(pub &'a [Degrees]);

impl Horizon<'_> {
    /// Elevation at an azimuth, straight lines between the given points [°].
    pub fn elevation_deg(&self, azimuth_deg: f64) -> f64 {
        if self.0.is_empty() {
            return 0.0;
        }
        let place = azimuth_deg.rem_euclid(360.0) / 360.0 * self.0.len() as f64;
        let at = place as usize % self.0.len();
        let (here, next) = (self.0[at].get(), self.0[(at + 1) % self.0.len()].get());
        here + (next - here) * place.fract()
    }

    /// Share of a uniform sky that a horizontal plane still sees: the mean of `cos² h` over all directions.
    pub fn open_sky(&self) -> f64 {
        if self.0.is_empty() {
            return 1.0;
        }
        let seen = |height: &Degrees| {
            let cos = height.get().clamp(0.0, 90.0).to_radians().cos();
            cos * cos
        };
        self.0.iter().map(seen).sum::<f64>() / self.0.len() as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fan() -> RoofObject {
        RoofObject {
            direction: Degrees::new(180.0),
            distance: Metres::new(1.0),
            height: Metres::new(1.0),
            width: Metres::new(2.0),
            share: Fraction::new(0.4),
        }
    }

    // Plane geometry: one metre high and wide to either side at one metre is 45° up and 45° to either side.
    #[test]
    fn a_shadow_falls_where_the_geometry_says() {
        let at = |azimuth, elevation| passed(&[fan()], azimuth, 1.0, elevation);
        let near = |have: f64, want: f64| assert!((have - want).abs() < 1e-9, "{have} for {want}");
        near(at(180.0, 44.0), 0.6);
        assert_eq!(at(180.0, 46.0), 1.0);
        near(at(137.0, 20.0), 0.6);
        assert_eq!(at(133.0, 20.0), 1.0);
        near(at(135.0, 20.0), 0.8); // Half the hour.
        assert_eq!(at(0.0, 20.0), 1.0);
        near(passed(&[fan(), fan()], 180.0, 1.0, 10.0), 0.36);
    }

    #[test]
    fn the_horizon_runs_straight_between_its_points() {
        let points = [0.0, 10.0, 20.0, 10.0].map(Degrees::new);
        let horizon = Horizon(&points);
        assert!((horizon.elevation_deg(90.0) - 10.0).abs() < 1e-9);
        assert!((horizon.elevation_deg(135.0) - 15.0).abs() < 1e-9);
        assert!((horizon.elevation_deg(315.0) - 5.0).abs() < 1e-9);
        assert!((horizon.elevation_deg(-45.0) - 5.0).abs() < 1e-9);
        assert_eq!(Horizon(&[]).elevation_deg(12.0), 0.0);
        // A wall of 60° all round leaves cos² 60° = a quarter of the sky (view factor of a cone).
        let wall = [60.0; 8].map(Degrees::new);
        assert!((Horizon(&wall).open_sky() - 0.25).abs() < 1e-12);
    }
}
