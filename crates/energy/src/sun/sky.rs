//! Light from the sky: how much of it on a clear day, and how a total splits into beam and diffuse.
//! Never: makes clouds (see [`crate::weather`]).
//! Start at [`clear_sky`] and [`decompose`].

use quantity::Metres;

use super::SunYear;
use super::elementary::exp;
use super::year::SIDE_BY_SIDE;
use crate::site::{DAYS, DAYS_OF_MONTH, HOURS, MONTHS};
use crate::storage::less;

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
    let blank = [0.0; SIDE_BY_SIDE];
    for hours in sun.day_hours.chunks(SIDE_BY_SIDE) {
        // A list for each number, which the compiler can take side by side.
        let (mut cosine, mut airmass, mut extra) = (blank, blank, blank);
        let (mut total_fall, mut beam_fall, mut most_beam) = (blank, blank, blank);
        for (at, &hour) in hours.iter().enumerate() {
            cosine[at] = sun.cos_zenith[hour];
            airmass[at] = sun.airmass_absolute[hour];
            extra[at] = sun.extra_w_m2[hour];
            let haze = &daily[hour / 24];
            (total_fall[at], beam_fall[at], most_beam[at]) =
                (haze.total_fall, haze.beam_fall, haze.most_beam);
        }
        let (mut ghi, mut dni, mut dhi) = (blank, blank, blank);
        for at in 0..SIDE_BY_SIDE {
            let haze =
                Haze { total_fall: total_fall[at], beam_fall: beam_fall[at], most_beam: most_beam[at] };
            (ghi[at], dni[at], dhi[at]) = air.light(cosine[at], airmass[at], &haze, extra[at]);
        }
        for (at, &hour) in hours.iter().enumerate() {
            sky.ghi_w_m2[hour] = ghi[at];
            sky.dni_w_m2[hour] = dni[at];
            sky.dhi_w_m2[hour] = dhi[at];
        }
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
        let fh1 = exp(-metres / 8000.0);
        Self {
            fh1,
            beam_scale: 0.664 + 0.163 / fh1,
            fh2: exp(-metres / 1250.0),
            cg1: 5.09e-5 * metres + 0.868,
            cg2: 3.92e-5 * metres + 0.0387,
        }
    }

    fn haze(&self, linke: f64) -> Haze {
        Haze {
            total_fall: self.cg2 * (self.fh1 + self.fh2 * (linke - 1.0)),
            beam_fall: 0.09 * (linke - 1.0),
            most_beam: (1.0 - (0.1 - 0.2 * exp(-linke)) / (0.1 + 0.882 / self.fh1)).max(0.0),
        }
    }

    #[inline(always)]
    fn light(&self, cos_zenith: f64, airmass: f64, haze: &Haze, extra: f64) -> (f64, f64, f64) {
        let is_up = cos_zenith > 0.0;
        let horizontal = self.cg1 * extra * exp(-haze.total_fall * airmass);
        let beam = self.beam_scale * exp(-haze.beam_fall * airmass) * extra;
        let dni = less(beam, horizontal * haze.most_beam);
        // Chosen at the end, so that it is no branch.
        let cos = if is_up { cos_zenith } else { 0.0 };
        (horizontal * cos, if is_up { dni } else { 0.0 }, (horizontal - dni) * cos)
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
