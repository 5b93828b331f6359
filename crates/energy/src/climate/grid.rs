//! The built-in world climate: two grids compiled in, blended to a place.
//! Never: makes the grids; `checks/climate/make_climate.py` does, and `data/README.md` says from what.
//! Start at [`at`].

use quantity::{Metres, math};

use super::{Climate, note};
use crate::site::{DAYS, DAYS_OF_MONTH, MONTHS, Site};

/// Bytes `[lat][lon][month][mean, spread]`: mean clearness in 0.004, its spread in 0.002.
const SUN: &[u8] = include_bytes!("../../data/climate-sun.bin");
const SUN_GRID: Grid = Grid { rows: 44, columns: 120, south: -57.0, west: -180.0, step: 3.0 };
/// Bytes `[lat][lon][field]`, the fields of [`Air`].
const AIR: &[u8] = include_bytes!("../../data/climate-air.bin");
const AIR_GRID: Grid = Grid { rows: 90, columns: 180, south: -89.0, west: -179.0, step: 2.0 };
const AIR_FIELDS: usize = 8;

/// The grid's clearness is too high on the four places of the sample files, by a factor of 0.92 in the mean of the year;
/// reanalyses see too few clouds. 0.90 keeps the built-in climate on the dark side of that.
const CLEARNESS_SCALE: f64 = 0.90;
/// The same comparison of the spread of daily clearness: 0.95 in the mean of the four places.
const SPREAD_SCALE: f64 = 0.95;
/// Lag-1 correlation of daily clearness: the four sample files show 0.29, 0.36, 0.36 and 0.48, freed of the bias of
/// short months; Graham, Hollands and Brunger, Solar Energy 40 (1988) 333, found 0.29 (memory). Dark days that keep
/// together are the harder case for a bank.
const CLEARNESS_LAG1: f64 = 0.35;
/// Lag-1 correlation of the daily mean temperature: the four sample files show 0.84, 0.73, 0.69 and 0.85, freed likewise.
const AIR_LAG1: f64 = 0.75;
/// ISO 2533: 6.5 K a kilometre.
const LAPSE_K_PER_M: f64 = 0.0065;

/// A regular grid that closes in longitude.
struct Grid {
    rows: usize,
    columns: usize,
    south: f64,
    west: f64,
    step: f64,
}

impl Grid {
    /// The four cells around a place with their weights; beyond the first and last row the edge holds.
    fn around(&self, latitude: f64, longitude: f64) -> [(usize, f64); 4] {
        let y = ((latitude - self.south) / self.step).clamp(0.0, (self.rows - 1) as f64);
        let x = (longitude - self.west).rem_euclid(360.0) / self.step;
        let (row, column) = ((y as usize).min(self.rows - 2), x as usize % self.columns);
        let (up, right) = (y - row as f64, x - x.floor());
        let next = (column + 1) % self.columns;
        let cell = |row: usize, column: usize| row * self.columns + column;
        [
            (cell(row, column), (1.0 - up) * (1.0 - right)),
            (cell(row, next), (1.0 - up) * right),
            (cell(row + 1, column), up * (1.0 - right)),
            (cell(row + 1, next), up * right),
        ]
    }
}

/// What the second grid holds at a place.
struct Air {
    annual_c: f64,
    wave_k: [f64; 2],
    altitude_m: f64,
    wind_m_s: f64,
    wind_wave_m_s: [f64; 2],
}

fn air_at(latitude: f64, longitude: f64) -> Air {
    let cells = AIR_GRID.around(latitude, longitude);
    let field = |index: usize, read: fn(u8) -> f64| -> f64 {
        cells
            .iter()
            .map(|(cell, weight)| weight * read(AIR.get(cell * AIR_FIELDS + index).copied().unwrap_or(0)))
            .sum()
    };
    let plain = |byte: u8| f64::from(byte);
    let signed = |byte: u8| f64::from(byte as i8);
    Air {
        annual_c: field(0, plain) * 0.4 - 60.0,
        wave_k: [field(1, signed) * 0.25, field(2, signed) * 0.25],
        altitude_m: field(3, plain) * 25.0,
        wind_m_s: field(5, plain) * 0.1,
        wind_wave_m_s: [field(6, signed) * 0.1, field(7, signed) * 0.1],
    }
}

fn sun_at(latitude: f64, longitude: f64) -> ([f64; MONTHS], [f64; MONTHS]) {
    let (mut mean, mut spread) = ([0.0; MONTHS], [0.0; MONTHS]);
    for (cell, weight) in SUN_GRID.around(latitude, longitude) {
        let bytes = SUN.chunks_exact(2).skip(cell * MONTHS);
        for ((mean, spread), pair) in mean.iter_mut().zip(&mut spread).zip(bytes) {
            *mean += weight * f64::from(pair[0]) * 0.004 * CLEARNESS_SCALE;
            *spread += weight * f64::from(pair[1]) * 0.002 * SPREAD_SCALE;
        }
    }
    (mean, spread)
}

/// Angle of the year at the middle of each month.
fn mid_months() -> [f64; MONTHS] {
    let mut before = 0;
    DAYS_OF_MONTH.map(|days| {
        let middle = before as f64 + days as f64 / 2.0;
        before += days;
        2.0 * std::f64::consts::PI * middle / DAYS as f64
    })
}

/// 1 in the middle of the local winter, −1 in that of summer, felt from 25° latitude on.
fn winter(latitude: f64, angle: f64) -> f64 {
    let north = math::cos(angle - 2.0 * std::f64::consts::PI * 20.0 / DAYS as f64);
    let share = (latitude.abs() / 25.0).min(1.0);
    share * if latitude < 0.0 { -north } else { north }
}

/// Linke turbidity by latitude and season: 2.2 near the poles to 4.0 near the equator, 0.5 more in summer than the mean.
///
/// A model of our own around typical values (2 cold clean air, 3 temperate, 4 to 5 humid). Against the world map of
/// Remund, Wald, Lefèvre, Ranchin and Page (2003) it is 0.05 too high in the mean of land and within 0.7 root mean
/// square, as `checks/climate/linke.py` prints; dusty and smoky regions lie far above it.
fn linke(latitude: f64, angle: f64) -> f64 {
    let cosine = math::cos(latitude.to_radians());
    2.2 + 1.8 * cosine * cosine - 0.5 * winter(latitude, angle)
}

/// The built-in climate; see [`Climate::at`].
pub(super) fn at(place: &model::Place, altitude: Option<Metres>) -> Climate {
    let latitude = place.latitude.get().clamp(-90.0, 90.0);
    let longitude = place.longitude.get();
    let air = air_at(latitude, longitude);
    let (clearness, clearness_spread) = sun_at(latitude, longitude);
    let mut notes = vec![note(
        "built-in-climate",
        "the climate is the built-in one: monthly clearness is right within about 0.06 and air temperature within \
         about 2.5 K at the four places it was held against; bring a weather file of the place to be surer"
            .to_owned(),
    )];
    let altitude = altitude.or(place.altitude).unwrap_or_else(|| {
        let altitude = Metres::new(air.altitude_m.round());
        notes.push(note(
            "altitude-assumed",
            format!("no altitude is given; {altitude} is taken, the mean of the land around the place"),
        ));
        altitude
    });
    if !(SUN_GRID.south..=72.0).contains(&latitude) {
        notes.push(note(
            "beyond-the-sun-grid",
            format!(
                "clearness is known from 57° south to 72° north; the edge is taken for latitude {latitude:.1}°"
            ),
        ));
    }
    let angles = mid_months();
    let wave = |[cosine, sine]: [f64; 2], angle: f64| cosine * math::cos(angle) + sine * math::sin(angle);
    let lapse = LAPSE_K_PER_M * (altitude.get() - air.altitude_m);
    // Day-to-day spread grows with latitude and in winter: a model of our own, near the four sample files.
    let spread = (0.7 + 0.055 * latitude.abs()).min(4.0);
    Climate {
        site: Site::new(place.latitude, place.longitude, altitude),
        clearness,
        clearness_spread,
        clearness_lag1: CLEARNESS_LAG1,
        air_mean_c: angles.map(|angle| air.annual_c + wave(air.wave_k, angle) - lapse),
        air_swing_c: clearness.map(swing),
        air_spread_c: angles.map(|angle| spread * (1.0 + 0.45 * winter(latitude, angle))),
        air_lag1: AIR_LAG1,
        // Clear winter days are cold and clear summer days warm; sizes near the four sample files.
        air_with_clearness: angles.map(|angle| 0.05 - 0.35 * winter(latitude, angle)),
        wind_m_s: angles.map(|angle| (air.wind_m_s + wave(air.wind_wave_m_s, angle)).max(0.5)),
        linke: angles.map(|angle| linke(latitude, angle)),
        source: "built-in climate: MERRA-2 clearness 2011-2015, Met Office air temperature, NOAA altitude and wind"
            .to_owned(),
        notes,
    }
}

/// Daily swing of the air temperature [K] from mean clearness: `25.8 K − 5.21`, Erbs, Klein and Beckman, ASHRAE
/// Journal 25 (June 1983) 60 (memory); not below 2.5 K.
fn swing(clearness: f64) -> f64 {
    (25.8 * clearness - 5.21).max(2.5)
}
