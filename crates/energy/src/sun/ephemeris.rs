//! Where the sun stands: exactly at one instant, and over a year from a few exact instants with smooth curves between.
//! Never: holds its own astronomy; the NREL algorithm comes from the crate `solar-positioning`.
//! Start at [`position`]; [`Ephemeris`] serves [`super::SunYear`].

use quantity::Degrees;
use solar_positioning::delta_t;
use solar_positioning::time::JulianDate;
use solar_positioning::{Location, RefractionCorrection, SolarPositions};

use super::SunError;
use super::air::{REFRACTION_AIR_C, pressure_pa};
use crate::site::Site;

/// The sun as seen from a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunPosition {
    /// Angle from straight up, without refraction.
    pub zenith: Degrees,
    /// Angle from straight up, as seen through air of the altitude's pressure at 12 °C.
    pub apparent_zenith: Degrees,
    /// Clockwise from north.
    pub azimuth: Degrees,
    /// Distance [astronomical units].
    pub distance_au: f64,
}

/// Julian date of 1970-01-01 00:00 UTC.
const UNIX_EPOCH_JD: f64 = 2_440_587.5;

/// The sun at one instant, by the NREL solar position algorithm (I. Reda, A. Andreas, Solar Energy 76 (2004) 577-589;
/// ±0.0003°), in seconds since 1970-01-01 00:00 UTC.
///
/// Errors: [`SunError::Position`] for a place that does not exist or a year outside -1999 to 5999.
pub fn position(site: &Site, unix_seconds_utc: f64) -> Result<SunPosition, SunError> {
    let fault = |error: solar_positioning::Error| SunError::Position(error.to_string());
    let days = unix_seconds_utc / 86400.0;
    let year = (1970.0 + days / 365.2425) as i32;
    let time = JulianDate::new(UNIX_EPOCH_JD + days, delta_t_s(year)).map_err(fault)?;
    let prepared = SolarPositions::new().for_time_from_julian(time).map_err(fault)?;
    let location = Location { latitude: site.latitude.get(), longitude: site.longitude.get() };
    let air =
        RefractionCorrection::new(pressure_pa(site.altitude) / 100.0, REFRACTION_AIR_C).map_err(fault)?;
    let place = |refraction| prepared.at(location, site.altitude.get(), refraction).map_err(fault);
    let (bare, apparent) = (place(None)?, place(Some(air))?);
    Ok(SunPosition {
        zenith: Degrees::new(bare.zenith_angle()),
        apparent_zenith: Degrees::new(apparent.zenith_angle()),
        azimuth: Degrees::new(bare.azimuth()),
        distance_au: prepared.earth_radius_vector().unwrap_or(1.0),
    })
}

/// Terrestrial time less universal time [s] in the middle of a year. A second moves the sun by 0.00001°.
fn delta_t_s(year: i32) -> f64 {
    delta_t::estimate_from_date(year, 7).unwrap_or(69.0)
}

/// Days from the start of 1970 to the start of a year of the Gregorian calendar.
pub(super) fn days_to_year(year: i32) -> f64 {
    let before = f64::from(year) - 1.0;
    before * 365.0 + (before / 4.0).floor() - (before / 100.0).floor() + (before / 400.0).floor() - 719_162.0
}

/// Days between exact instants. Curves of the fifth order over eight days stay within 0.0003° of the algorithm (checked), which is as
/// near to the sky as the algorithm itself is; what bends fastest are the pull of the moon (29.5 days) and nutation (13.7 days).
const STEP_DAYS: f64 = 8.0;
/// Instants: from three steps before the year to three after it.
const NODES: usize = 53;

/// Sun seen from the centre of the Earth.
#[derive(Clone, Copy, Default)]
pub(super) struct Geocentric {
    /// Sine and cosine of the hour angle at longitude 0 less 360° a day: the equation of time, about 180° ± 4°.
    pub offset: [f64; 2],
    /// Sine and cosine of the declination.
    pub declination: [f64; 2],
    /// One over its distance [1 / astronomical unit].
    pub per_au: f64,
}

/// The geocentric sun over a year.
pub(super) struct Ephemeris {
    nodes: Vec<Geocentric>,
}

impl Ephemeris {
    /// Years outside -1998 to 5998 are taken as the nearest of those.
    pub fn new(year: i32) -> Self {
        let year = year.clamp(-1998, 5998);
        let (start, delta_t) = (UNIX_EPOCH_JD + days_to_year(year), delta_t_s(year));
        let nodes = (0..NODES).map(|node| exact(start + (node as f64 - 3.0) * STEP_DAYS, delta_t));
        Self { nodes: nodes.map(Option::unwrap_or_default).collect() }
    }

    /// Over a day that begins at a time as in [`Ephemeris::at`].
    pub fn day(&self, start: f64) -> Day {
        Day::through(&self.at(start), &self.at(start + 0.5), &self.at(start + 1.0))
    }

    /// At a time in days after the year's first midnight UTC, -1 to 367.
    #[inline]
    pub fn at(&self, day: f64) -> Geocentric {
        let place = (day / STEP_DAYS + 3.0).clamp(2.0, (NODES - 4) as f64);
        let at = place as usize;
        let x = place - at as f64;
        let Some([a, b, c, d, e, f]) = self.nodes.get(at - 2..at + 4) else { return Geocentric::default() };
        // Lagrange's quintic through three nodes on either side: each weight is the product of the distances to the others.
        let (m2, m1, p1, p2, p3) = (x + 2.0, x + 1.0, x - 1.0, x - 2.0, x - 3.0);
        let (low, high, mid) = (m2 * m1, p2 * p3, x * p1);
        let w = [
            m1 * mid * high / -120.0,
            m2 * mid * high / 24.0,
            low * p1 * high / -12.0,
            low * x * high / 12.0,
            low * mid * p3 / -24.0,
            low * mid * p2 / 120.0,
        ];
        let mix = |of: fn(&Geocentric) -> f64| {
            w[0] * of(a) + w[1] * of(b) + w[2] * of(c) + w[3] * of(d) + w[4] * of(e) + w[5] * of(f)
        };
        Geocentric {
            offset: [mix(|node| node.offset[0]), mix(|node| node.offset[1])],
            declination: [mix(|node| node.declination[0]), mix(|node| node.declination[1])],
            per_au: mix(|node| node.per_au),
        }
    }
}

/// The geocentric sun over a day: a parabola through its start, middle and end. The third derivative of the declination is below
/// 2.1e-6 rad/day³ (0.41 rad · (2π/365)³), so the parabola stays within 1e-6° of what it goes through.
pub(super) struct Day {
    /// Value, slope and bend of each of the five numbers of [`Geocentric`].
    curves: [[f64; 3]; 5],
}

impl Day {
    /// From the sun at the day's start, middle and end.
    pub fn through(start: &Geocentric, middle: &Geocentric, end: &Geocentric) -> Self {
        let [a, b, c] = [start, middle, end].map(|sun| {
            let ([s, t], [u, v]) = (sun.offset, sun.declination);
            [s, t, u, v, sun.per_au]
        });
        let curve =
            |at: usize| [a[at], 4.0 * b[at] - 3.0 * a[at] - c[at], 2.0 * (a[at] + c[at]) - 4.0 * b[at]];
        Self { curves: std::array::from_fn(curve) }
    }

    /// At a part of the day, 0 to 1.
    #[inline]
    pub fn at(&self, part: f64) -> Geocentric {
        let [s, t, u, v, per_au] =
            self.curves.map(|[value, slope, bend]| value + part * (slope + part * bend));
        Geocentric { offset: [s, t], declination: [u, v], per_au }
    }
}

/// At a midnight in UTC. Declination and distance are given by the crate. The hour angle is the azimuth seen from the
/// pole, where parallax moves the sun up and down but not sideways.
fn exact(jd: f64, delta_t_s: f64) -> Option<Geocentric> {
    let prepared = SolarPositions::new().for_time_from_julian(JulianDate::new(jd, delta_t_s).ok()?).ok()?;
    let pole = Location { latitude: 90.0, longitude: 0.0 };
    let hour_angle = prepared.at(pole, 0.0, None).ok()?.azimuth() - 180.0;
    let both = |degrees: f64| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        [sin, cos]
    };
    Some(Geocentric {
        offset: both(hour_angle),
        declination: both(prepared.declination()),
        per_au: 1.0 / prepared.earth_radius_vector()?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    // The calendar: 1970 starts at 0, 2000 after 30 years with 7 leap days, 2024 after 54 with 13.
    #[test]
    fn years_start_where_the_calendar_says() {
        assert_eq!(days_to_year(1970), 0.0);
        assert_eq!(days_to_year(2000), 10957.0);
        assert_eq!(days_to_year(2024), 19723.0);
        assert_eq!(days_to_year(1969), -365.0);
    }

    // The worked example of NREL/TP-560-34302 (2008), table A5.1: 17 October 2003, 12:30:30 at UTC-7, 39.742476° N,
    // 105.1786° W, 1830.14 m: zenith with refraction at 820 mbar and 11 °C 50.11162°, azimuth 194.34024°. Our pressure and
    // temperature differ a little from the example's: refraction of 0.0161° changes by less than 0.0004°.
    #[test]
    fn the_worked_example_of_the_algorithm() {
        let site = Site {
            latitude: Degrees::new(39.742476),
            longitude: Degrees::new(-105.1786),
            altitude: quantity::Metres::new(1830.14),
            zone: quantity::Hours::new(-7.0),
        };
        let days = days_to_year(2003) + 289.0;
        let sun = position(&site, days * 86400.0 + 19.0 * 3600.0 + 30.0 * 60.0 + 30.0).unwrap();
        assert!((sun.apparent_zenith.get() - 50.11162).abs() < 0.0004, "{sun:?}");
        assert!((sun.azimuth.get() - 194.34024).abs() < 0.0001, "{sun:?}");
        assert!((sun.distance_au - 0.9965422974).abs() < 1e-7, "{sun:?}");
    }

    #[test]
    fn a_place_that_does_not_exist_is_told() {
        let site = Site::new(Degrees::new(95.0), Degrees::new(8.0), quantity::Metres::zero());
        let fault = position(&site, 0.0).unwrap_err().to_string();
        assert!(fault.contains("latitude"), "{fault}");
    }
}
