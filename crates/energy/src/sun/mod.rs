//! From the sun to the terminals of a module: position, clear sky, plane, glass, heat, power.
//! Never: knows the bank or the loads; reads weather files (see [`crate::weather`]).
//! Start at [`SunYear`] (the sun over a site), [`PlaneYear`] (that sun on an array), [`ModuleModel`] (its power).
//!
//! ```
//! use energy::site::{HOURS, Site};
//! use energy::sun::{Facing, ModuleModel, Plane, PlaneYear, SunYear, clear_sky};
//! use energy::weather::WeatherYear;
//! use quantity::{Degrees, Metres};
//!
//! let site = Site::new(Degrees::new(45.0), Degrees::new(8.0), Metres::new(250.0));
//! let sun = SunYear::new(&site, 2023, 30.0);
//! let sky = clear_sky(&sun, &[3.0; 12]);
//! let weather = WeatherYear {
//!     ghi_w_m2: sky.ghi_w_m2, dni_w_m2: sky.dni_w_m2, dhi_w_m2: sky.dhi_w_m2,
//!     air_c: vec![15.0; HOURS], wind_m_s: vec![2.0; HOURS],
//! };
//! let plane = Plane::flat(Facing::Averaged);
//! let mut watts = vec![0.0; HOURS];
//! PlaneYear::new(&sun, &plane).power(&weather, &ModuleModel::flush(400.0, -0.0035), &mut watts);
//! let year_kwh = watts.iter().sum::<f64>() / 1000.0;
//! assert!((600.0..900.0).contains(&year_kwh), "{year_kwh}");
//! ```

mod air;
mod data;
mod elementary;
mod ephemeris;
mod glass;
mod module;
mod plane;
mod shade;
mod sky;
mod transpose;
mod year;

pub use air::{airmass_relative, extra_at_distance, extra_spencer, pressure_pa};
pub use ephemeris::{SunPosition, position};
pub use glass::{beam_through_glass, diffuse_through_glass};
pub use module::{CellModel, LowLight, ModuleModel};
pub use plane::{Facing, Plane, SkyModel};
pub use shade::RoofObject;
pub use sky::{Decomposition, SkyYear, clear_sky, clear_sky_at, decompose, decompose_by};
pub use transpose::PlaneYear;
pub use year::SunYear;

/// What cannot be computed, and why.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SunError {
    /// The place or the instant lies outside what the position algorithm covers.
    #[error(
        "the sun's position cannot be computed: {0}; give a latitude within ±90°, a longitude within ±180°, an altitude below 20 km and a year from -1999 to 5999"
    )]
    Position(String),
}
