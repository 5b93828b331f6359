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

/// Days between exact instants. Cubic curves over three days stay within 0.00002° of the algorithm, fifty times closer
/// than the 0.001° that are asked; what bends fastest are the pull of the moon (29.5 days) and nutation (13.7 days).
const STEP_DAYS: f64 = 3.0;
/// Instants: from two steps before the year to three after it.
const NODES: usize = 128;

/// Sun seen from the centre of the Earth.
#[derive(Clone, Copy, Default)]
pub(super) struct Geocentric {
    /// Hour angle at longitude 0 [°] less 360° a day: the equation of time, about 180° ± 4°.
    pub hour_angle_offset_deg: f64,
    /// Declination [°].
    pub declination_deg: f64,
    /// Distance [astronomical units].
    pub distance_au: f64,
}

/// The geocentric sun over a year.
pub(super) struct Ephemeris {
    nodes: Vec<Geocentric>,
}

impl Ephemeris {
    /// Years outside -1998 to 5998 are taken as the nearest of those.
    pub fn new(year: i32) -> Self {
        let year = year.clamp(-1998, 5998);
        let start = UNIX_EPOCH_JD + days_to_year(year);
        let nodes = (0..NODES).map(|node| exact(start + node_day(node), delta_t_s(year), node_day(node)));
        Self { nodes: nodes.map(Option::unwrap_or_default).collect() }
    }

    /// At a time in days after the year's first midnight UTC, -1 to 367.
    pub fn at(&self, day: f64) -> Geocentric {
        let place = (day / STEP_DAYS + 2.0).clamp(1.0, (NODES - 3) as f64);
        let (at, x) = (place.floor(), place.fract());
        let at = at as usize;
        // Lagrange's cubic through two nodes on either side.
        let weights = [
            -x * (x - 1.0) * (x - 2.0) / 6.0,
            (x + 1.0) * (x - 1.0) * (x - 2.0) / 2.0,
            -(x + 1.0) * x * (x - 2.0) / 2.0,
            (x + 1.0) * x * (x - 1.0) / 6.0,
        ];
        let mut sum = Geocentric::default();
        for (node, weight) in self.nodes.iter().skip(at - 1).zip(weights) {
            sum.hour_angle_offset_deg += weight * node.hour_angle_offset_deg;
            sum.declination_deg += weight * node.declination_deg;
            sum.distance_au += weight * node.distance_au;
        }
        sum
    }
}

fn node_day(node: usize) -> f64 {
    (node as f64 - 2.0) * STEP_DAYS
}

/// Declination and distance are given by the crate. The hour angle is the azimuth seen from the pole, where parallax
/// moves the sun up and down but not sideways.
fn exact(jd: f64, delta_t_s: f64, day: f64) -> Option<Geocentric> {
    let prepared = SolarPositions::new().for_time_from_julian(JulianDate::new(jd, delta_t_s).ok()?).ok()?;
    let pole = Location { latitude: 90.0, longitude: 0.0 };
    let hour_angle = prepared.at(pole, 0.0, None).ok()?.azimuth() - 180.0;
    Some(Geocentric {
        hour_angle_offset_deg: (hour_angle - 360.0 * day.fract()).rem_euclid(360.0),
        declination_deg: prepared.declination(),
        distance_au: prepared.earth_radius_vector()?,
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
