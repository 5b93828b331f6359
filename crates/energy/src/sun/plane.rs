//! How an array lies: tilt, facing, what stands around it, and the sky that it sees.
//! Never: computes light (see `transpose.rs`).
//! Start at [`Plane`].

use model::Mounting;
use quantity::{Degrees, Fraction};

use super::RoofObject;

/// How diffuse light is spread over the sky.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SkyModel {
    /// Evenly. Too little on planes that face the sun.
    Isotropic,
    /// Evenly, and round the sun by as much as the beam passes the air: J. E. Hay, J. A. Davies (1980).
    HayDavies,
    /// Evenly, round the sun and along the horizon, by clearness and brightness: R. Perez et al., Solar Energy 44 (1990)
    /// 271-289, all-sites composite. The default: in the comparison of P. G. Loutzenhiser et al., Solar Energy 81 (2007)
    /// 254-267 it errs least on steep planes, which is how an array is tilted in winter, when light is scarce; flat, the
    /// models agree.
    #[default]
    Perez,
}

/// Where a plane faces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Facing {
    /// One direction, clockwise from north.
    Fixed(Degrees),
    /// A craft parked any way round: the mean over all headings.
    Averaged,
}

/// How an array lies and what stands around it.
#[derive(Clone, Debug, PartialEq)]
pub struct Plane {
    /// From the horizontal, 0° to 90°. Of a tiltable array: when raised.
    pub tilt: Degrees,
    /// Where it faces.
    pub facing: Facing,
    /// How it is mounted. [`Mounting::Tiltable`] is raised by hand when parked: in each month it lies flat or stands at
    /// `tilt`, whichever gives more under an ordinary sky (half of the light before the air reaches the ground, split by
    /// [`super::decompose`]). Raised, it faces the fixed direction, or the equator where the heading is averaged: a person
    /// who raises an array also turns it.
    pub mounting: Mounting,
    /// Share of light that the ground throws back; 0.2 for grass and earth.
    pub albedo: Fraction,
    /// Elevations of the horizon at equal steps clockwise from north, straight lines between; empty: flat. It hides the sun
    /// and what is bright round it, and takes its share of the rest of the sky.
    pub horizon: Vec<Degrees>,
    /// What on the roof throws a shadow.
    pub objects: Vec<RoofObject>,
    /// Share of light lost to dirt.
    pub soiling: Fraction,
    /// How diffuse light is spread.
    pub sky: SkyModel,
}

impl Plane {
    /// Flush on a flat roof with nothing in the way: albedo 0.2, 3 % lost to dirt (common practice, no source).
    pub fn flat(facing: Facing) -> Self {
        Self {
            tilt: Degrees::zero(),
            facing,
            mounting: Mounting::Flush,
            albedo: Fraction::new(0.2),
            horizon: Vec::new(),
            objects: Vec::new(),
            soiling: Fraction::new(0.03),
            sky: SkyModel::default(),
        }
    }

    /// The same at a fixed tilt.
    pub fn tilted(tilt: Degrees, facing: Facing) -> Self {
        Self { tilt, mounting: Mounting::Fixed, ..Self::flat(facing) }
    }

    /// A thing on the roof added.
    pub fn with(mut self, object: RoofObject) -> Self {
        self.objects.push(object);
        self
    }
}
