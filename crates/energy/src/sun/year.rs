//! The sun over one site for every hour of a year.
//! Never: knows weather or a plane.
//! Start at [`SunYear::new`].

use super::air::{Refraction, SOLAR_CONSTANT_W_M2, airmass, pressure_pa};
use super::elementary::{acos, atan2};
use super::ephemeris::{Ephemeris, Geocentric, Span, days_to_year};
use crate::site::{HOURS, MONTH_STARTS, Site};
use crate::storage::{less, more};

/// The sun at one instant of every hour; each list is [`HOURS`] long, hour-beginning, standard time of the site.
#[derive(Clone, Debug, PartialEq)]
pub struct SunYear {
    /// Where.
    pub site: Site,
    /// The calendar year; 29 February is left out.
    pub year: i32,
    /// Angle from straight up, without refraction [°].
    pub zenith_deg: Vec<f64>,
    /// Angle from straight up, as seen through the air [°].
    pub apparent_zenith_deg: Vec<f64>,
    /// Clockwise from north [°], 0 to 360.
    pub azimuth_deg: Vec<f64>,
    /// Cosine of the apparent zenith; below 0 at night.
    pub cos_zenith: Vec<f64>,
    /// Extraterrestrial radiation normal to the beam [W/m²], by the sun's distance; also at night.
    pub extra_w_m2: Vec<f64>,
    /// Air crossed by the beam relative to that at the zenith, by Kasten and Young; 0 at night.
    pub airmass_relative: Vec<f64>,
    /// The same, times the altitude's share of sea-level pressure; 0 at night.
    pub airmass_absolute: Vec<f64>,
    /// The hours in which the sun stands above the horizon at the chosen minute, ascending.
    pub day_hours: Vec<usize>,
    /// Those, and the hours of sunrise and sunset in which it stands above the horizon only before or after that minute,
    /// ascending. Files of measured weather have a little light there (0.03 to 0.3 % of a year's).
    pub lit_hours: Vec<usize>,
}

/// Equatorial radius of the Earth [m] and ratio of its axes, as in NREL/TP-560-34302, step 3.11.
const EARTH_RADIUS_M: f64 = 6_378_140.0;
const EARTH_AXES: f64 = 0.99664719;
/// Parallax of the sun at one astronomical unit [°]: step 3.10.
const PARALLAX_DEG: f64 = 8.794 / 3600.0;

/// Hours gathered to be computed side by side.
pub(super) const SIDE_BY_SIDE: usize = 64;

/// The days of a list of hours.
fn chunks(list: &mut [f64]) -> std::slice::IterMut<'_, [f64; 24]> {
    list.as_chunks_mut().0.iter_mut()
}

impl SunYear {
    /// The sun over `site`, at `minutes_into_hour` of each hour: 30 for means over hours.
    ///
    /// Within 0.0003° of [`super::position`] (checked). An hour counts as day by that one instant. A latitude outside ±90° is taken as the pole;
    /// years outside -1998 to 5998 as the nearest of those. Takes about a third of a thousandth of a second.
    pub fn new(site: &Site, year: i32, minutes_into_hour: f64) -> Self {
        let observer = Observer::new(site);
        let pressure = pressure_pa(site.altitude);
        let refraction = Refraction::new(pressure);
        let is_leap = days_to_year(year + 1) - days_to_year(year) > 365.5;
        let first_utc_day = (minutes_into_hour / 60.0 - site.zone.get()) / 24.0;
        let ephemeris = Ephemeris::new(year, first_utc_day);
        // Where the meridian of the site would see a sun without equation of time, at each hour of the day.
        let turns: [[f64; 2]; 24] = std::array::from_fn(|hour| {
            let turn = 360.0 * (first_utc_day + hour as f64 / 24.0) + site.longitude.get();
            let (sin, cos) = turn.to_radians().sin_cos();
            [sin, cos]
        });
        let mut lists: [Vec<f64>; 7] = std::array::from_fn(|_| vec![0.0; HOURS]);
        let mut day_hours = Vec::with_capacity(HOURS / 2 + 400);
        {
            let [zeniths, apparents, azimuths, cosines, extras, ..] = &mut lists;
            let (mut span, mut begun) = (ephemeris.span(0), 0);
            let days = chunks(zeniths).zip(chunks(apparents)).zip(chunks(azimuths));
            let days = days.zip(chunks(cosines)).zip(chunks(extras)).enumerate();
            for (day, ((((zenith, apparent), azimuth), cosine), extra)) in days {
                let of_calendar = if is_leap && day * 24 >= MONTH_STARTS[2] { day + 1 } else { day };
                if of_calendar >= begun + Span::DAYS {
                    (span, begun) = (ephemeris.span(of_calendar), of_calendar);
                }
                let since = (of_calendar - begun) as f64;
                // A few plain loops instead of one: each is done for several hours side by side.
                let (mut west, mut south, mut bare) = ([0.0; 24], [0.0; 24], [0.0; 24]);
                for hour in 0..24 {
                    let seen = span.at(since + hour as f64 * (1.0 / 24.0));
                    (bare[hour], west[hour], south[hour]) = observer.see(&seen, turns[hour]);
                    extra[hour] = SOLAR_CONSTANT_W_M2 * seen.per_au * seen.per_au;
                }
                for hour in 0..24 {
                    zenith[hour] = acos(bare[hour]).to_degrees();
                }
                for hour in 0..24 {
                    // The sine of the elevation is the cosine of the zenith.
                    let sine = more(1.0 - bare[hour] * bare[hour], 0.0).sqrt();
                    let lift = refraction.lift_deg(90.0 - zenith[hour], bare[hour], sine);
                    apparent[hour] = zenith[hour] - lift;
                    cosine[hour] = cos_of_less(bare[hour], sine, lift.to_radians());
                }
                for hour in 0..24 {
                    let degrees = atan2(west[hour], south[hour]).to_degrees() + 180.0;
                    azimuth[hour] = if degrees >= 360.0 { degrees - 360.0 } else { degrees };
                }
                day_hours.extend((0..24).filter(|hour| apparent[*hour] < 90.0).map(|hour| day * 24 + hour));
            }
        }
        let [zeniths, apparents, azimuths, cosines, extras, mut relatives, mut absolutes] = lists;
        for hours in day_hours.chunks(SIDE_BY_SIDE) {
            let (mut zenith, mut cosine) = ([0.0; SIDE_BY_SIDE], [1.0; SIDE_BY_SIDE]);
            for (at, &hour) in hours.iter().enumerate() {
                (zenith[at], cosine[at]) = (apparents[hour], cosines[hour]);
            }
            let mut air = [0.0; SIDE_BY_SIDE];
            for at in 0..SIDE_BY_SIDE {
                air[at] = airmass(zenith[at], cosine[at]);
            }
            for (air, &hour) in air.iter().zip(hours) {
                relatives[hour] = *air;
                absolutes[hour] = air * (pressure / 101_325.0);
            }
        }
        let mut lit_hours = Vec::with_capacity(day_hours.len() + 800);
        lit_hours.extend((0..HOURS).filter(|hour| {
            // Half-way to the neighbouring hour.
            let lowest = apparents[hour.saturating_sub(1)].min(apparents[(hour + 1).min(HOURS - 1)]);
            apparents[*hour] < 90.0 || apparents[*hour] + lowest < 180.0
        }));
        Self {
            site: *site,
            year,
            zenith_deg: zeniths,
            apparent_zenith_deg: apparents,
            azimuth_deg: azimuths,
            cos_zenith: cosines,
            extra_w_m2: extras,
            airmass_relative: relatives,
            airmass_absolute: absolutes,
            day_hours,
            lit_hours,
        }
    }

    /// Whether the sun stands above the horizon in an hour, at the chosen minute.
    pub fn is_day(&self, hour: usize) -> bool {
        self.cos_zenith.get(hour).is_some_and(|cos| *cos > 0.0)
    }

    /// Extraterrestrial radiation on the horizontal in an hour [W/m²]; 0 at night.
    pub fn extra_horizontal_w_m2(&self, hour: usize) -> f64 {
        match (self.extra_w_m2.get(hour), self.cos_zenith.get(hour)) {
            (Some(extra), Some(cos)) => extra * cos.max(0.0),
            _ => 0.0,
        }
    }
}

/// Cosine of an angle less a small one [radians, below 0.02], by the cosine of the first: the series of the small one is
/// exact to the last digits.
#[inline]
fn cos_of_less(cos: f64, sin: f64, less: f64) -> f64 {
    let square = less * less;
    cos * (1.0 - square / 2.0 + square * square / 24.0) + sin * less * (1.0 - square / 6.0)
}

/// A place on the Earth's surface, ready to see the sun.
struct Observer {
    sin_latitude: f64,
    cos_latitude: f64,
    /// Distance from the axis and height over the equator's plane, in Earth radii.
    from_axis: f64,
    over_equator: f64,
}

impl Observer {
    fn new(site: &Site) -> Self {
        let latitude = site.latitude.get().clamp(-90.0, 90.0).to_radians();
        let (sin_latitude, cos_latitude) = latitude.sin_cos();
        let (sin_u, cos_u) = (EARTH_AXES * sin_latitude).atan2(cos_latitude).sin_cos();
        let height = site.altitude.get() / EARTH_RADIUS_M;
        Self {
            sin_latitude,
            cos_latitude,
            from_axis: cos_u + height * cos_latitude,
            over_equator: EARTH_AXES * sin_u + height * sin_latitude,
        }
    }

    /// Cosine of the zenith without refraction, and how far the sun stands to the west and to the south, in proportion.
    /// The parallax of NREL/TP-560-34302, steps 3.10 to 3.14, written as a difference of vectors.
    #[inline(always)]
    fn see(&self, sun: &Geocentric, turn: [f64; 2]) -> (f64, f64, f64) {
        let sin_hour = turn[0] * sun.offset[1] + turn[1] * sun.offset[0];
        let cos_hour = turn[1] * sun.offset[1] - turn[0] * sun.offset[0];
        let [sin_declination, cos_declination] = sun.declination;
        let parallax = PARALLAX_DEG.to_radians() * sun.per_au;
        let x = cos_declination * cos_hour - self.from_axis * parallax;
        let west = cos_declination * sin_hour;
        let z = sin_declination - self.over_equator * parallax;
        let up = self.cos_latitude * x + self.sin_latitude * z;
        let south = self.sin_latitude * x - self.cos_latitude * z;
        // One over the length of the vector, which is 1 but for parallax and interpolation, below 1e-4: the series of its root.
        let over = x * x + west * west + z * z - 1.0;
        let per_length = 1.0 - over * (0.5 - over * (0.375 - over * 0.3125));
        (less(more(up * per_length, -1.0), 1.0), west, south)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::{Degrees, Metres};

    /// Great-circle distance of two positions [°].
    fn apart(zenith_a: f64, azimuth_a: f64, zenith_b: f64, azimuth_b: f64) -> f64 {
        let vector = |zenith: f64, azimuth: f64| {
            let ((sz, cz), (sa, ca)) = (zenith.to_radians().sin_cos(), azimuth.to_radians().sin_cos());
            [sz * ca, sz * sa, cz]
        };
        let (a, b) = (vector(zenith_a, azimuth_a), vector(zenith_b, azimuth_b));
        let gap: f64 = a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum();
        2.0 * (gap.sqrt() / 2.0).asin().to_degrees()
    }

    // Every hour against the exact call of the algorithm: leap and common years, poles, equator, south, date line.
    #[test]
    fn every_hour_is_where_the_exact_call_says() {
        let places = [
            (2023, 45.0, 8.0, 250.0),
            (2024, 69.65, 18.96, 10.0),
            (2020, -89.98, 139.27, 2800.0),
            (2021, -0.18, -78.47, 2850.0),
            (1999, -42.88, 179.9, 50.0),
            (2050, 90.0, 0.0, 0.0),
        ];
        for (year, latitude, longitude, altitude) in places {
            let site = Site::new(Degrees::new(latitude), Degrees::new(longitude), Metres::new(altitude));
            let sun = SunYear::new(&site, year, 30.0);
            let leap = if year % 4 == 0 { 24 } else { 0 };
            let mut worst: f64 = 0.0;
            for hour in 0..HOURS {
                let calendar_hour = if hour >= 59 * 24 { hour + leap } else { hour };
                let utc =
                    days_to_year(year) * 86400.0 + (calendar_hour as f64 + 0.5 - site.zone.get()) * 3600.0;
                let exact = super::super::position(&site, utc).unwrap();
                worst = worst.max(apart(
                    sun.zenith_deg[hour],
                    sun.azimuth_deg[hour],
                    exact.zenith.get(),
                    exact.azimuth.get(),
                ));
                let lifted = sun.apparent_zenith_deg[hour] - exact.apparent_zenith.get();
                // Where refraction ends, a sun a hair lower has none.
                let is_at_the_edge = (exact.zenith.get() - 90.83337).abs() < 0.001;
                assert!(lifted.abs() < 3e-4 || is_at_the_edge, "{year} {latitude} hour {hour}: {lifted}");
            }
            assert!(worst < 3e-4, "{year}, latitude {latitude}: {worst}° off");
        }
    }
}
