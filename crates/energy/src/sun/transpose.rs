//! The sun of a year on one plane: geometry once, then light and power of any weather at a few nanoseconds an hour.
//! Never: allocates, or looks at the night, once built.
//! Start at [`PlaneYear::new`].

use model::Mounting;

use super::data::tables;
use super::elementary::cos_deg;
use super::glass::{Glass, diffuse_through_glass, glass};
use super::shade::{Horizon, passed, turn};
use super::year::SIDE_BY_SIDE;
use super::{CellModel, Facing, ModuleModel, Plane, SkyModel, SunYear, decompose};
use crate::site::{HOURS, MONTHS, month_of_hour};
use crate::storage::{less, more};
use crate::weather::WeatherYear;

/// A plane under the sun of a year, ready for any weather of that place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaneYear {
    sky: SkyModel,
    is_raised: [bool; MONTHS],
    /// Flat or as given; raised, of a tiltable array.
    stands: [Stand; 2],
    hours: Vec<Hour>,
}

/// What a plane sees of sky and ground, bare and through dirt and glass. The ground's holds its albedo.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Stand {
    sky: [f64; 2],
    horizon_band: [f64; 2],
    ground: [f64; 2],
}

/// The sun of one hour, as the sky models need it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Hour {
    hour: u32,
    stand: u32,
    /// One over the extraterrestrial radiation; under Perez times the airmass.
    per_extra: f64,
    zenith_rad: f64,
    /// `1 / (1 + κ z³)` of the clearness.
    per_bend: f64,
    /// One over the cosine of the zenith, held back at low sun as each sky model does.
    per_cos: f64,
    /// What of a beam falls on the plane: bare, and through shade, dirt and glass.
    beam: [f64; 2],
}

/// `κ` of the clearness, zenith in radians: Perez et al. (1990), eq. 1.
const KAPPA: f64 = 1.041;
/// Cosines below which the circumsolar quotient is held: 85° in Perez et al. (1990), 89° in the reference library's
/// form of Hay and Davies.
const LEAST_COS_PEREZ: f64 = 0.087_155_742_747_658_17;
const LEAST_COS_HAY_DAVIES: f64 = 0.01745;
/// Headings over which an averaged facing is taken.
const HEADINGS: usize = 72;

impl PlaneYear {
    /// All geometry of a plane under the sun of a year.
    pub fn new(sun: &SunYear, plane: &Plane) -> Self {
        let mut is_raised = [false; MONTHS];
        if plane.mounting != Mounting::Tiltable || plane.tilt.get() <= 0.0 {
            let pose = Pose::new(plane, plane.tilt.get(), plane.facing);
            let stand = pose.stand(plane);
            let hours = pose.hours(sun, plane, 0);
            return Self { sky: plane.sky, is_raised, stands: [stand, stand], hours };
        }
        let raised_facing = match plane.facing {
            Facing::Fixed(direction) => Facing::Fixed(direction),
            Facing::Averaged => {
                Facing::Fixed(quantity::Degrees::new(if sun.site.is_south() { 0.0 } else { 180.0 }))
            }
        };
        let poses = [Pose::new(plane, 0.0, plane.facing), Pose::new(plane, plane.tilt.get(), raised_facing)];
        let stands = poses.each_ref().map(|pose| pose.stand(plane));
        let [mut flat, mut raised] = [0, 1].map(|at| Self {
            sky: plane.sky,
            is_raised,
            stands,
            hours: poses[at].hours(sun, plane, at as u32),
        });
        let (of_flat, of_raised) = (flat.ordinary_months(sun), raised.ordinary_months(sun));
        for month in 0..MONTHS {
            is_raised[month] = of_raised[month] > of_flat[month];
        }
        for (flat, raised) in flat.hours.iter_mut().zip(&mut raised.hours) {
            if is_raised[month_of_hour(flat.hour as usize)] {
                *flat = *raised;
            }
        }
        Self { is_raised, ..flat }
    }

    /// The months in which a tiltable array stands raised.
    pub fn is_raised(&self) -> [bool; MONTHS] {
        self.is_raised
    }

    /// Light that falls on the plane [W/m²], before dirt, roof objects and glass: what heats it. `out` is [`HOURS`] long.
    pub fn incident(&self, weather: &WeatherYear, out: &mut [f64]) {
        out.fill(0.0);
        self.walk(weather, |hour, plane, _| put(out, hour, plane));
    }

    /// Light that works in the cells [W/m²], after dirt, roof objects and glass. `out` is [`HOURS`] long.
    pub fn irradiance(&self, weather: &WeatherYear, out: &mut [f64]) {
        out.fill(0.0);
        self.walk(weather, |hour, _, passed| put(out, hour, passed));
    }

    /// Temperature of the cells [°C]; at night that of the air. `out` is [`HOURS`] long.
    pub fn cell_temperature(&self, weather: &WeatherYear, cell: &CellModel, out: &mut [f64]) {
        for (out, air) in out.iter_mut().zip(&weather.air_c) {
            *out = *air;
        }
        self.walk(weather, |hour, plane, _| {
            put(out, hour, cell.temperature_c(plane, at(&weather.air_c, hour), at(&weather.wind_m_s, hour)));
        });
    }

    /// Direct-current power at the array's terminals at its power maximum, mean of each hour \[W\]. `out` is [`HOURS`] long.
    ///
    /// Formula: [`ModuleModel::power_w`]. Allocates nothing. A list of `weather` that is too short counts as 0 beyond its end.
    pub fn power(&self, weather: &WeatherYear, model: &ModuleModel, out: &mut [f64]) {
        out.fill(0.0);
        self.walk(weather, |hour, plane, passed| {
            let (air, wind) = (at(&weather.air_c, hour), at(&weather.wind_m_s, hour));
            put(out, hour, model.power_w(plane, passed, air, wind));
        });
    }

    /// Light of each month under an ordinary sky: half of what comes before the air.
    fn ordinary_months(&self, sun: &SunYear) -> [f64; MONTHS] {
        let mut weather = WeatherYear::blank();
        for &hour in &sun.day_hours {
            let (extra, cos) = (sun.extra_w_m2[hour], sun.cos_zenith[hour]);
            let ghi = 0.5 * extra * cos;
            (weather.dni_w_m2[hour], weather.dhi_w_m2[hour]) = decompose(ghi, cos, extra);
            weather.ghi_w_m2[hour] = ghi;
        }
        let mut months = [0.0; MONTHS];
        self.walk(&weather, |hour, _, passed| months[month_of_hour(hour)] += passed);
        months
    }

    /// Calls `each` with every daylight hour, the light on the plane and what of it works.
    #[inline]
    fn walk(&self, weather: &WeatherYear, each: impl FnMut(usize, f64, f64)) {
        match self.sky {
            SkyModel::Isotropic => self.walk_under(weather, isotropic, each),
            SkyModel::HayDavies => self.walk_under(weather, hay_davies, each),
            SkyModel::Perez => {
                let tables = tables();
                self.walk_under(
                    weather,
                    |hour, dni, dhi| perez(&tables.clearness, &tables.perez, hour, dni, dhi),
                    each,
                );
            }
        }
    }

    #[inline]
    fn walk_under(
        &self,
        weather: &WeatherYear,
        sky: impl Fn(&Hour, f64, f64) -> Diffuse,
        mut each: impl FnMut(usize, f64, f64),
    ) {
        for hour in &self.hours {
            let at_hour = hour.hour as usize;
            let ghi = at(&weather.ghi_w_m2, at_hour);
            let dni = at(&weather.dni_w_m2, at_hour);
            let dhi = at(&weather.dhi_w_m2, at_hour);
            let diffuse = sky(hour, dni, dhi);
            let stand = &self.stands[usize::from(hour.stand == 1)];
            let [plane, passed] = [0, 1].map(|side| {
                let from_sky = diffuse.even * stand.sky[side]
                    + diffuse.round_sun * hour.per_cos * hour.beam[side]
                    + diffuse.along_horizon * stand.horizon_band[side];
                dni * hour.beam[side] + from_sky.max(0.0) + ghi * stand.ground[side]
            });
            each(at_hour, plane, passed);
        }
    }
}

#[inline]
fn at(list: &[f64], hour: usize) -> f64 {
    list.get(hour).copied().unwrap_or(0.0)
}

#[inline]
fn put(out: &mut [f64], hour: usize, value: f64) {
    if let Some(out) = out.get_mut(hour) {
        *out = value;
    }
}

/// Diffuse light on the horizontal by where it comes from [W/m²].
struct Diffuse {
    even: f64,
    round_sun: f64,
    along_horizon: f64,
}

#[inline]
fn isotropic(_: &Hour, _: f64, dhi: f64) -> Diffuse {
    Diffuse { even: dhi, round_sun: 0.0, along_horizon: 0.0 }
}

#[inline]
fn hay_davies(hour: &Hour, dni: f64, dhi: f64) -> Diffuse {
    let passed_air = dni * hour.per_extra;
    Diffuse { even: (dhi * (1.0 - passed_air)).max(0.0), round_sun: dhi * passed_air, along_horizon: 0.0 }
}

#[inline]
fn perez(clearness_from: &[f64; 7], rows: &[[f64; 6]; 8], hour: &Hour, dni: f64, dhi: f64) -> Diffuse {
    if dhi <= 0.0 {
        return Diffuse { even: 0.0, round_sun: 0.0, along_horizon: 0.0 };
    }
    // ((dhi + dni) / dhi + κ z³) / (1 + κ z³), with what cancels taken out.
    let clearness = 1.0 + dni / dhi * hour.per_bend;
    let brightness = dhi * hour.per_extra;
    let bin = clearness_from.iter().map(|from| usize::from(clearness >= *from)).sum::<usize>();
    let [f11, f12, f13, f21, f22, f23] = rows[bin];
    let round_sun = (f11 + f12 * brightness + f13 * hour.zenith_rad).max(0.0);
    let along_horizon = f21 + f22 * brightness + f23 * hour.zenith_rad;
    Diffuse { even: dhi * (1.0 - round_sun), round_sun: dhi * round_sun, along_horizon: dhi * along_horizon }
}

/// One way in which the plane lies.
struct Pose {
    tilt_rad: f64,
    sin_tilt: f64,
    cos_tilt: f64,
    /// None: any way round.
    azimuth_deg: Option<f64>,
    clean: f64,
}

impl Pose {
    fn new(plane: &Plane, tilt_deg: f64, facing: Facing) -> Self {
        let azimuth_deg = match facing {
            Facing::Fixed(direction) => Some(direction.get()),
            Facing::Averaged => None,
        };
        let clean = 1.0 - plane.soiling.get().clamp(0.0, 1.0);
        let tilt_rad = tilt_deg.clamp(0.0, 180.0).to_radians();
        let (sin_tilt, cos_tilt) = tilt_rad.sin_cos();
        Self { tilt_rad, sin_tilt, cos_tilt, azimuth_deg, clean }
    }

    fn stand(&self, plane: &Plane) -> Stand {
        let (sin, cos) = (self.sin_tilt, self.cos_tilt);
        let (through_sky, through_ground) = diffuse_through_glass(self.tilt_rad);
        let open = Horizon(&plane.horizon).open_sky();
        let both = |bare: f64, through: f64| [bare, bare * through * self.clean];
        Stand {
            sky: both((1.0 + cos) / 2.0 * open, through_sky),
            horizon_band: both(sin * open, through_sky),
            ground: both(plane.albedo.get() * (1.0 - cos) / 2.0, through_ground),
        }
    }

    fn hours(&self, sun: &SunYear, plane: &Plane, stand: u32) -> Vec<Hour> {
        let least_cos = match plane.sky {
            SkyModel::Perez => LEAST_COS_PEREZ,
            SkyModel::HayDavies | SkyModel::Isotropic => LEAST_COS_HAY_DAVIES,
        };
        let horizon = Horizon(&plane.horizon);
        let averaged = matches!(plane.facing, Facing::Averaged).then(|| self.averaged(plane));
        let glass = glass();
        let faces_deg = self.azimuth_deg.unwrap_or(0.0);
        let blank = [0.0; SIDE_BY_SIDE];
        let mut found = Vec::with_capacity(sun.lit_hours.len());
        for hours in sun.lit_hours.chunks(SIDE_BY_SIDE) {
            // A list for each number, which the compiler can take side by side.
            let (mut zenith_deg, mut cosine, mut azimuth_deg) = (blank, blank, blank);
            let (mut extra, mut airmass) = ([1.0; SIDE_BY_SIDE], [1.0; SIDE_BY_SIDE]);
            for (at, &hour) in hours.iter().enumerate() {
                zenith_deg[at] = sun.apparent_zenith_deg[hour];
                cosine[at] = sun.cos_zenith[hour];
                azimuth_deg[at] = sun.azimuth_deg[hour];
                extra[at] = sun.extra_w_m2[hour];
            }
            if plane.sky == SkyModel::Perez {
                for (airmass, &hour) in airmass.iter_mut().zip(hours) {
                    *airmass = sun.airmass_relative[hour];
                }
            }
            let (mut zenith_rad, mut per_extra, mut per_bend, mut per_cos) = (blank, blank, blank, blank);
            let mut beam = [blank; 2];
            for at in 0..SIDE_BY_SIDE {
                let zenith = zenith_deg[at].to_radians();
                zenith_rad[at] = zenith;
                // At sunrise and sunset the sun of the chosen minute is down, and no model of its surroundings holds:
                // diffuse light comes as from a dull sky.
                let is_up = if cosine[at] > 0.0 { 1.0 } else { 0.0 };
                per_extra[at] = is_up * airmass[at] / extra[at];
                per_bend[at] = is_up / (1.0 + KAPPA * zenith * zenith * zenith);
                per_cos[at] = is_up / more(cosine[at], least_cos);
            }
            for at in 0..SIDE_BY_SIDE {
                [beam[0][at], beam[1][at]] = self.beam(&glass, cosine[at], azimuth_deg[at] - faces_deg);
            }
            for (at, &hour) in hours.iter().enumerate() {
                let mut beam = [beam[0][at], beam[1][at]];
                let elevation = more(90.0 - zenith_deg[at], 0.0);
                if elevation < horizon.elevation_deg(azimuth_deg[at]) {
                    beam = [0.0; 2];
                } else if let Some(averaged) = &averaged {
                    beam = averaged.beam(self, zenith_deg[at], beam);
                } else if !plane.objects.is_empty() {
                    beam[1] *= passed(&plane.objects, azimuth_deg[at], sweep_deg(sun, hour), elevation);
                }
                found.push(Hour {
                    hour: hour as u32,
                    stand,
                    per_extra: per_extra[at],
                    zenith_rad: zenith_rad[at],
                    per_bend: per_bend[at],
                    per_cos: per_cos[at],
                    beam,
                });
            }
        }
        found
    }

    /// What of a beam falls on the plane, bare and through dirt and glass, by the sun's direction from where it faces.
    #[inline(always)]
    fn beam(&self, glass: &Glass, cos_zenith: f64, off_deg: f64) -> [f64; 2] {
        let sin_zenith = more(1.0 - cos_zenith * cos_zenith, 0.0).sqrt();
        let cos = self.cos_tilt * cos_zenith + self.sin_tilt * sin_zenith * cos_deg(off_deg);
        let bare = less(more(cos, 0.0), 1.0);
        [bare, bare * glass.beam(bare) * self.clean]
    }

    /// The mean over all headings of a craft; it depends on the sun's zenith alone.
    fn averaged(&self, plane: &Plane) -> Averaged {
        let step = 360.0 / HEADINGS as f64;
        let glass = glass();
        let headings = || (0..HEADINGS).map(move |heading| heading as f64 * step);
        let rows = (0..=Averaged::STEPS).map(|at| {
            let zenith_deg = at as f64 * Averaged::STEP_DEG;
            let mut sum = [0.0; 3];
            for off in headings() {
                let open = passed(&plane.objects, off, step / 2.0, 90.0 - zenith_deg);
                // A raised array is turned by hand: its beam is computed at the hour, the shade is averaged here.
                let beam = match self.azimuth_deg {
                    None => self.beam(&glass, cos_deg(zenith_deg), off),
                    Some(_) => [0.0; 2],
                };
                sum[0] += beam[0];
                sum[1] += beam[1] * open;
                sum[2] += open;
            }
            sum.map(|sum| sum / HEADINGS as f64)
        });
        Averaged(rows.collect())
    }
}

/// By zenith: bare beam, beam through shade, dirt and glass, and what passes shade alone.
struct Averaged(Vec<[f64; 3]>);

impl Averaged {
    const STEP_DEG: f64 = 0.5;
    const STEPS: usize = 181;

    /// - `as_it_faces`: the beam on a plane that faces one way, unshaded
    fn beam(&self, pose: &Pose, zenith_deg: f64, as_it_faces: [f64; 2]) -> [f64; 2] {
        let place = (zenith_deg / Self::STEP_DEG).clamp(0.0, (Self::STEPS - 1) as f64);
        let at = place as usize;
        let between = |column: usize| {
            let (here, next) = (self.0[at][column], self.0[at + 1][column]);
            here + (next - here) * place.fract()
        };
        match pose.azimuth_deg {
            None => [between(0), between(1)],
            Some(_) => [as_it_faces[0], as_it_faces[1] * between(2)],
        }
    }
}

/// How far the sun moves in azimuth from the middle of an hour to its end [°].
fn sweep_deg(sun: &SunYear, hour: usize) -> f64 {
    let before = sun.azimuth_deg[hour.saturating_sub(1)];
    let after = sun.azimuth_deg[(hour + 1).min(HOURS - 1)];
    (turn(after - before).abs() / 4.0).max(0.1)
}
