//! Distances on the Earth taken as a sphere.
//! Never: knows a road.
//! Start at [`distance`].

use model::Place;
use quantity::{Degrees, Metres};

/// Mean radius of the Earth [m]: IUGG, in Moritz 2000, "Geodetic Reference System 1980", R1.
pub const EARTH_RADIUS_M: f64 = 6_371_008.8;

/// Length of the great circle between two places, by the haversine formula (Sinnott 1984).
///
/// Within 0.6 % of the distance on the ellipsoid; heights do not count.
pub fn distance(a: &Place, b: &Place) -> Metres {
    Metres::new(metres((a.latitude.get(), a.longitude.get()), (b.latitude.get(), b.longitude.get())))
}

/// The same for latitude and longitude in degrees [m].
pub fn metres(a: (f64, f64), b: (f64, f64)) -> f64 {
    2.0 * EARTH_RADIUS_M * half_angle(a, b)
}

/// Half of the angle between two places [rad].
fn half_angle((lat_a, lon_a): (f64, f64), (lat_b, lon_b): (f64, f64)) -> f64 {
    let haversine = |degrees: f64| {
        let sine = quantity::math::sin(degrees.to_radians() / 2.0);
        sine * sine
    };
    let cosine = |degrees: f64| quantity::math::cos(degrees.to_radians());
    let h = haversine(lat_b - lat_a) + cosine(lat_a) * cosine(lat_b) * haversine(lon_b - lon_a);
    // arcsin x as an arc tangent: exact at both ends.
    libm::atan2(h.clamp(0.0, 1.0).sqrt(), (1.0 - h).max(0.0).sqrt())
}

/// A longitude brought to -180 ..= 180.
pub fn wrapped(longitude: f64) -> f64 {
    if (-180.0..=180.0).contains(&longitude) {
        longitude
    } else {
        (longitude + 180.0).rem_euclid(360.0) - 180.0
    }
}

/// A point on the short way from `a` to `b`, `share` of the way along in latitude and longitude.
///
/// Not a great circle; meant for neighbouring points of a track. Over the date line it takes the short way.
pub fn between(a: (f64, f64), b: (f64, f64), share: f64) -> (f64, f64) {
    let across = wrapped(b.1 - a.1);
    (a.0 + (b.0 - a.0) * share, wrapped(a.1 + across * share))
}

/// A place from degrees.
pub fn place((latitude, longitude): (f64, f64), altitude: Option<f64>) -> Place {
    Place {
        latitude: Degrees::new(latitude),
        longitude: Degrees::new(longitude),
        altitude: altitude.map(Metres::new),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Rosetta Code, "Haversine formula": Nashville to Los Angeles is 2886.44444283798 km on a radius of 6371.0 km.
    #[test]
    fn a_published_distance() {
        let km = half_angle((36.12, -86.67), (33.94, -118.40)) * 2.0 * 6371.0;
        assert!((km - 2_886.444_442_837_983).abs() < 1e-9, "{km}");
    }

    // Williams, Aviation Formulary V1.46, worked examples: Los Angeles (33°57' N, 118°24' W) to New York
    // (40°38' N, 73°47' W) is 0.623585 rad.
    #[test]
    fn another_published_distance() {
        let angle = 2.0 * half_angle((33.95, -118.4), (40.0 + 38.0 / 60.0, -(73.0 + 47.0 / 60.0)));
        assert!((angle - 0.623_585).abs() < 5e-7, "{angle}");
    }

    // Geometry: pole to pole is half a circumference; the date line is no distance; at a pole longitude says nothing.
    #[test]
    fn poles_and_date_line() {
        let half = std::f64::consts::PI * EARTH_RADIUS_M;
        assert!((metres((90.0, 0.0), (-90.0, 77.0)) - half).abs() < 1e-6);
        assert!((metres((0.0, 0.0), (0.0, 180.0)) - half).abs() < 1e-6);
        assert!(metres((10.0, 180.0), (10.0, -180.0)) < 1e-6);
        assert!(metres((90.0, 12.0), (90.0, -130.0)) < 1e-6);
        assert_eq!(between((0.0, 179.0), (0.0, -179.0), 0.5), (0.0, 180.0));
        assert_eq!(wrapped(-181.0), 179.0);
    }
}
