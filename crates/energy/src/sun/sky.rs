//! Light from the sky: how much of it on a clear day, and how a total splits into beam and diffuse.
//! Never: makes clouds (see [`crate::weather`]).
//! Start at [`clear_sky`] and [`decompose`].

use quantity::Metres;

use super::SunYear;
use crate::site::{DAYS, DAYS_OF_MONTH, HOURS, MONTHS};

/// A year of light, each list [`HOURS`] long [W/m²].
#[derive(Clone, Debug, PartialEq)]
pub struct SkyYear {
    /// On the horizontal.
    pub ghi_w_m2: Vec<f64>,
    /// Straight from the sun, normal to the beam.
    pub dni_w_m2: Vec<f64>,
    /// From the rest of the sky, on the horizontal.
    pub dhi_w_m2: Vec<f64>,
}

/// Light under a cloudless sky at the instants of `sun`; `linke` is the turbidity of each month, about 2 to 7.
///
/// Turbidity is drawn as straight lines between the middles of the months (not stepped), as the reference library does.
/// Model, formula and validity: [`clear_sky_at`].
pub fn clear_sky(sun: &SunYear, linke: &[f64; MONTHS]) -> SkyYear {
    let mut sky =
        SkyYear { ghi_w_m2: vec![0.0; HOURS], dni_w_m2: vec![0.0; HOURS], dhi_w_m2: vec![0.0; HOURS] };
    let air = ClearAir::new(sun.site.altitude);
    let daily: Vec<Haze> = (0..DAYS).map(|day| air.haze(linke_of_day(day, linke))).collect();
    for &hour in &sun.day_hours {
        let (ghi, dni, dhi) = air.light(
            sun.cos_zenith[hour],
            sun.airmass_absolute[hour],
            &daily[hour / 24],
            sun.extra_w_m2[hour],
        );
        sky.ghi_w_m2[hour] = ghi;
        sky.dni_w_m2[hour] = dni;
        sky.dhi_w_m2[hour] = dhi;
    }
    sky
}

/// Turbidity of a day from 0, between the middles of the months.
fn linke_of_day(day: usize, linke: &[f64; MONTHS]) -> f64 {
    // Day of the year as people count it, from 1, against middles counted in days passed: the library's convention.
    let day = day as f64 + 1.0;
    let mut before = (-(DAYS_OF_MONTH[MONTHS - 1] as f64) / 2.0, linke[MONTHS - 1]);
    let mut start = 0.0;
    for month in 0..=MONTHS {
        let days = DAYS_OF_MONTH[month % MONTHS] as f64;
        let after = (start + days / 2.0, linke[month % MONTHS]);
        if day <= after.0 {
            return before.1 + (after.1 - before.1) * (day - before.0) / (after.0 - before.0);
        }
        before = after;
        start += days;
    }
    before.1
}

/// Light under a cloudless sky: global on the horizontal, direct normal, diffuse on the horizontal [W/m²].
///
/// P. Ineichen, R. Perez, Solar Energy 73 (2002) 151-157, without the later enhancement factor, which misbehaves at low
/// sun. `cos_zenith` apparent, above 0; `airmass_absolute` at the altitude's pressure; `extra_w_m2` normal to the beam.
pub fn clear_sky_at(
    cos_zenith: f64,
    airmass_absolute: f64,
    linke: f64,
    altitude: Metres,
    extra_w_m2: f64,
) -> (f64, f64, f64) {
    let air = ClearAir::new(altitude);
    air.light(cos_zenith, airmass_absolute, &air.haze(linke), extra_w_m2)
}

/// What of the clear-sky model depends on the altitude alone.
struct ClearAir {
    fh1: f64,
    fh2: f64,
    cg1: f64,
    cg2: f64,
    beam_scale: f64,
}

impl ClearAir {
    fn new(altitude: Metres) -> Self {
        let metres = altitude.get();
        let fh1 = (-metres / 8000.0).exp();
        Self {
            fh1,
            beam_scale: 0.664 + 0.163 / fh1,
            fh2: (-metres / 1250.0).exp(),
            cg1: 5.09e-5 * metres + 0.868,
            cg2: 3.92e-5 * metres + 0.0387,
        }
    }

    fn haze(&self, linke: f64) -> Haze {
        Haze {
            total_fall: self.cg2 * (self.fh1 + self.fh2 * (linke - 1.0)),
            beam_fall: 0.09 * (linke - 1.0),
            most_beam: (1.0 - (0.1 - 0.2 * (-linke).exp()) / (0.1 + 0.882 / self.fh1)).max(0.0),
        }
    }

    #[inline]
    fn light(&self, cos_zenith: f64, airmass: f64, haze: &Haze, extra: f64) -> (f64, f64, f64) {
        if cos_zenith <= 0.0 {
            return (0.0, 0.0, 0.0);
        }
        let ghi = self.cg1 * extra * cos_zenith * (-haze.total_fall * airmass).exp();
        let beam = self.beam_scale * (-haze.beam_fall * airmass).exp() * extra;
        let dni = beam.min(ghi * haze.most_beam / cos_zenith);
        (ghi, dni, ghi - dni * cos_zenith)
    }
}

/// What of it depends on the turbidity: fall of the total and of the beam with airmass, and the largest share of the total
/// that the beam may take, by the least diffuse share of clean air.
struct Haze {
    total_fall: f64,
    beam_fall: f64,
    most_beam: f64,
}

/// How [`decompose_by`] splits a total.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Decomposition {
    /// D. G. Erbs, S. A. Klein, J. A. Duffie, Solar Energy 28 (1982) 293-302, eq. 1.
    Erbs,
    /// The same without jumps: A. Driesse, A. Jensen, R. Perez, Solar Energy 267 (2024) 112093; within 0.0005 of the
    /// first in diffuse share. The default: as cheap, and a small change of light never makes a large one of beam.
    #[default]
    ErbsDriesse,
}

/// Least cosine of zenith in the clearness index, and below which (zenith 87°) all light counts as diffuse, because a
/// quotient of two small numbers would make beams brighter than the sun.
const LEAST_COS_FOR_CLEARNESS: f64 = 0.065;
const LEAST_COS_FOR_BEAM: f64 = 0.052_335_956_242_943_83;

/// Splits global light on the horizontal into direct normal and diffuse [W/m²], by [`Decomposition::default`].
/// `ghi = dni cos_zenith + dhi` holds. `cos_zenith` at the middle of the hour; `extra_w_m2` normal to the beam.
pub fn decompose(ghi_w_m2: f64, cos_zenith: f64, extra_w_m2: f64) -> (f64, f64) {
    decompose_by(Decomposition::default(), ghi_w_m2, cos_zenith, extra_w_m2)
}

/// As [`decompose`], by the model that is named.
pub fn decompose_by(model: Decomposition, ghi_w_m2: f64, cos_zenith: f64, extra_w_m2: f64) -> (f64, f64) {
    let ghi = ghi_w_m2.max(0.0);
    if cos_zenith < LEAST_COS_FOR_BEAM {
        return (0.0, ghi);
    }
    let clearness = (ghi / (extra_w_m2 * cos_zenith.max(LEAST_COS_FOR_CLEARNESS))).min(1.0);
    let diffuse_share = match model {
        Decomposition::Erbs => erbs(clearness),
        Decomposition::ErbsDriesse => erbs_driesse(clearness),
    };
    let dhi = diffuse_share * ghi;
    ((ghi - dhi) / cos_zenith, dhi)
}

fn erbs(k: f64) -> f64 {
    if k <= 0.22 {
        1.0 - 0.09 * k
    } else if k <= 0.8 {
        0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336)))
    } else {
        0.165
    }
}

fn erbs_driesse(k: f64) -> f64 {
    if k <= 0.216 {
        1.0 - 0.09 * k
    } else if k <= 0.792 {
        0.946_296_633_571_001
            + k * (-0.113_905_838_063_138_81
                + k * (4.246_926_715_218_317 + k * (-16.470_508_424_698_307 + k * 12.269_114_395_712_61)))
    } else {
        0.165
    }
}
