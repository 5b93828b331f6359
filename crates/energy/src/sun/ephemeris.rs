//! Where the sun stands: exactly at one instant, and over a year from a few exact instants with smooth curves between.
//! Never: holds its own astronomy; the NREL algorithm comes from the crate `solar-positioning`.
//! Start at [`position`]; [`Ephemeris`] serves [`super::SunYear`].

use std::sync::LazyLock;

use quantity::{Degrees, math};
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

/// Days between exact instants.
const STEP: usize = 11;
/// Instants that a value is mixed from, and how many of them lie before it.
const MIXED: usize = 10;
const BEFORE: usize = 4;
/// Days looked up: a leap year's, and the end of the last span.
const LAST_DAY: usize = 367;
const NODES: usize = LAST_DAY / STEP + MIXED;
/// Days from new moon to new moon. What bends fastest is the pull of the moon on the Earth, 0.0018° to either side.
const MONTH_DAYS: f64 = 29.530_588;

/// Weights of the instants about a day, by how many days it lies after the last one before it: those that are right for every curve of
/// the seventh order and for every wave as long as the moon's month. Such curves stay within 0.0003° of the algorithm (checked), which
/// is as near to the sky as the algorithm itself is.
static WEIGHTS: LazyLock<[[f64; MIXED]; STEP]> = LazyLock::new(|| {
    let turn = core::f64::consts::TAU * STEP as f64 / MONTH_DAYS;
    let basis = |x: f64| -> [f64; MIXED] {
        let mut power = 1.0;
        std::array::from_fn(|at| match at {
            0 => math::cos(turn * x),
            1 => math::sin(turn * x),
            _ => {
                let next = power * x;
                std::mem::replace(&mut power, next)
            }
        })
    };
    let nodes: [[f64; MIXED]; MIXED] = std::array::from_fn(|node| basis(node as f64 - BEFORE as f64));
    let mut wanted: [[f64; STEP]; MIXED] = [[0.0; STEP]; MIXED];
    for day in 0..STEP {
        for (row, value) in wanted.iter_mut().zip(basis(day as f64 / STEP as f64)) {
            row[day] = value;
        }
    }
    // Rows of basis functions, columns of nodes; Gauss and Jordan's elimination.
    let mut rows: [[f64; MIXED]; MIXED] = std::array::from_fn(|of| nodes.map(|node| node[of]));
    for at in 0..MIXED {
        let pivot =
            (at..MIXED).max_by(|a, b| rows[*a][at].abs().total_cmp(&rows[*b][at].abs())).unwrap_or(at);
        rows.swap(at, pivot);
        wanted.swap(at, pivot);
        let (row, want) =
            (rows[at].map(|value| value / rows[at][at]), wanted[at].map(|value| value / rows[at][at]));
        for other in 0..MIXED {
            let by = rows[other][at];
            if other == at {
                (rows[at], wanted[at]) = (row, want);
            } else {
                rows[other] = std::array::from_fn(|column| rows[other][column] - by * row[column]);
                wanted[other] = std::array::from_fn(|day| wanted[other][day] - by * want[day]);
            }
        }
    }
    std::array::from_fn(|day| wanted.map(|node| node[day]))
});

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

/// The geocentric sun over a year, at the same time of every day.
pub(super) struct Ephemeris {
    days: Vec<Geocentric>,
}

impl Ephemeris {
    /// - `first`: the time of the first day, in days after the year's first midnight UTC; about -1 to 1
    ///
    /// Years outside -1998 to 5998 are taken as the nearest of those.
    pub fn new(year: i32, first: f64) -> Self {
        let year = year.clamp(-1998, 5998);
        let (start, delta_t) = (UNIX_EPOCH_JD + days_to_year(year), delta_t_s(year));
        let nodes: [Geocentric; NODES] = std::array::from_fn(|node| {
            let day = first + (node as f64 - BEFORE as f64) * STEP as f64;
            exact(start + day, delta_t, day).unwrap_or_default()
        });
        let weights = &*WEIGHTS;
        let day = |day: usize| {
            let mut mixed = Geocentric::default();
            for (weight, node) in weights[day % STEP].iter().zip(&nodes[day / STEP..]) {
                mixed.offset = [0, 1].map(|at| mixed.offset[at] + weight * node.offset[at]);
                mixed.declination = [0, 1].map(|at| mixed.declination[at] + weight * node.declination[at]);
                mixed.per_au += weight * node.per_au;
            }
            mixed
        };
        Self { days: (0..=LAST_DAY).map(day).collect() }
    }

    /// From one day of the calendar year to two days later.
    ///
    /// - `day`: 0 to 365
    pub fn span(&self, day: usize) -> Span {
        match self.days.get(day..day + 3) {
            Some([start, middle, end]) => Span::through(start, middle, end),
            _ => Span { curves: [[0.0; 3]; 5] },
        }
    }
}

/// The geocentric sun over some days: a parabola through their start, middle and end. The third derivative of the declination is below
/// 1.2e-4 °/day³ (23.4° · (2π/365)³), so over two days the parabola stays within 1e-5° of what it goes through.
pub(super) struct Span {
    /// Value, slope and bend of each of the five numbers of [`Geocentric`].
    curves: [[f64; 3]; 5],
}

impl Span {
    /// Days that one parabola covers.
    pub const DAYS: usize = 2;

    fn through(start: &Geocentric, middle: &Geocentric, end: &Geocentric) -> Self {
        let [a, b, c] = [start, middle, end].map(|sun| {
            let ([s, t], [u, v]) = (sun.offset, sun.declination);
            [s, t, u, v, sun.per_au]
        });
        let curve =
            |at: usize| [a[at], 4.0 * b[at] - 3.0 * a[at] - c[at], 2.0 * (a[at] + c[at]) - 4.0 * b[at]];
        Self { curves: std::array::from_fn(curve) }
    }

    /// Days after the start, 0 to [`Span::DAYS`].
    #[inline(always)]
    pub fn at(&self, days: f64) -> Geocentric {
        let part = days * (1.0 / Self::DAYS as f64);
        let [s, t, u, v, per_au] =
            self.curves.map(|[value, slope, bend]| value + part * (slope + part * bend));
        Geocentric { offset: [s, t], declination: [u, v], per_au }
    }
}

/// At an instant, given also in days after a midnight in UTC. Declination and distance are given by the crate. The hour angle is the
/// azimuth seen from the pole, where parallax moves the sun up and down but not sideways.
fn exact(jd: f64, delta_t_s: f64, days: f64) -> Option<Geocentric> {
    let prepared = SolarPositions::new().for_time_from_julian(JulianDate::new(jd, delta_t_s).ok()?).ok()?;
    let pole = Location { latitude: 90.0, longitude: 0.0 };
    let hour_angle = prepared.at(pole, 0.0, None).ok()?.azimuth() - 180.0 - 360.0 * days;
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
