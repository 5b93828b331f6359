//! The sun over one site for every hour of a year.
//! Never: knows weather or a plane.
//! Start at [`SunYear::new`].

use super::air::{airmass, extra_at_distance, pressure_pa, refraction_deg};
use super::ephemeris::{Ephemeris, days_to_year};
use crate::site::{HOURS, Site};

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
    /// The hours in which it stands above the horizon for a part only, and not at the chosen minute, ascending: sunrise
    /// and sunset. Files of measured weather have a little light there (0.03 to 0.3 % of a year's).
    pub edge_hours: Vec<usize>,
}

/// Equatorial radius of the Earth [m] and ratio of its axes, as in NREL/TP-560-34302, step 3.11.
const EARTH_RADIUS_M: f64 = 6_378_140.0;
const EARTH_AXES: f64 = 0.99664719;
/// Parallax of the sun at one astronomical unit [°]: step 3.10.
const PARALLAX_DEG: f64 = 8.794 / 3600.0;

impl SunYear {
    /// The sun over `site`, at `minutes_into_hour` of each hour: 30 for means over hours.
    ///
    /// Within 0.0001° of [`super::position`] (checked). An hour counts as day by that one instant. A latitude outside ±90° is taken as the pole;
    /// years outside -1998 to 5998 as the nearest of those. Takes about two thousandths of a second.
    pub fn new(site: &Site, year: i32, minutes_into_hour: f64) -> Self {
        let list = || Vec::with_capacity(HOURS);
        let mut sun = Self {
            site: *site,
            year,
            zenith_deg: list(),
            apparent_zenith_deg: list(),
            azimuth_deg: list(),
            cos_zenith: list(),
            extra_w_m2: list(),
            airmass_relative: list(),
            airmass_absolute: list(),
            day_hours: Vec::with_capacity(HOURS / 2 + 400),
            edge_hours: Vec::new(),
        };
        let ephemeris = Ephemeris::new(year);
        let observer = Observer::new(site);
        let pressure = pressure_pa(site.altitude);
        let is_leap = days_to_year(year + 1) - days_to_year(year) > 365.5;
        for hour in 0..HOURS {
            let leap_day = if is_leap && hour >= crate::site::MONTH_STARTS[2] { 24.0 } else { 0.0 };
            let utc_hours = hour as f64 + leap_day + minutes_into_hour / 60.0 - site.zone.get();
            let (cos_bare, azimuth, distance_au) = observer.see(&ephemeris, utc_hours / 24.0);
            let zenith = cos_bare.acos().to_degrees();
            let lift = refraction_deg(90.0 - zenith, pressure);
            let apparent = zenith - lift;
            let cos_zenith = if lift == 0.0 { cos_bare } else { apparent.to_radians().cos() };
            let is_day = apparent < 90.0;
            let relative = if is_day { airmass(apparent, cos_zenith) } else { 0.0 };
            sun.zenith_deg.push(zenith);
            sun.apparent_zenith_deg.push(apparent);
            sun.azimuth_deg.push(azimuth);
            sun.cos_zenith.push(cos_zenith);
            sun.extra_w_m2.push(extra_at_distance(distance_au));
            sun.airmass_relative.push(relative);
            sun.airmass_absolute.push(relative * pressure / 101_325.0);
            if is_day {
                sun.day_hours.push(hour);
            }
        }
        let zenith = &sun.apparent_zenith_deg;
        let is_edge = |hour: &usize| {
            let lowest = zenith[hour.saturating_sub(1)].min(zenith[(hour + 1).min(HOURS - 1)]);
            zenith[*hour] >= 90.0 && (zenith[*hour] + lowest) / 2.0 < 90.0
        };
        sun.edge_hours = (0..HOURS).filter(is_edge).collect();
        sun
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

/// A place on the Earth's surface, ready to see the sun.
struct Observer {
    longitude_deg: f64,
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
            longitude_deg: site.longitude.get(),
            sin_latitude,
            cos_latitude,
            from_axis: cos_u + height * cos_latitude,
            over_equator: EARTH_AXES * sin_u + height * sin_latitude,
        }
    }

    /// Cosine of the zenith without refraction, azimuth [°] and distance of the sun [astronomical units].
    /// The parallax of NREL/TP-560-34302, steps 3.10 to 3.14, written as a difference of vectors.
    fn see(&self, ephemeris: &Ephemeris, utc_day: f64) -> (f64, f64, f64) {
        let sun = ephemeris.at(utc_day);
        let turn = 360.0 * (utc_day - utc_day.floor()) + self.longitude_deg + sun.hour_angle_offset_deg;
        let (sin_hour, cos_hour) = turn.to_radians().sin_cos();
        let (sin_declination, cos_declination) = sun.declination_deg.to_radians().sin_cos();
        let parallax = (PARALLAX_DEG / sun.distance_au).to_radians();
        let x = cos_declination * cos_hour - self.from_axis * parallax;
        let west = cos_declination * sin_hour;
        let z = sin_declination - self.over_equator * parallax;
        let up = self.cos_latitude * x + self.sin_latitude * z;
        let south = self.sin_latitude * x - self.cos_latitude * z;
        let length = (x * x + west * west + z * z).sqrt();
        let azimuth = west.atan2(south).to_degrees() + 180.0;
        let azimuth = if azimuth >= 360.0 { azimuth - 360.0 } else { azimuth };
        ((up / length).clamp(-1.0, 1.0), azimuth, sun.distance_au)
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
                assert!(lifted.abs() < 1e-4 || is_at_the_edge, "{year} {latitude} hour {hour}: {lifted}");
            }
            assert!(worst < 1e-4, "{year}, latitude {latitude}: {worst}° off");
        }
    }
}
