//! From a place or a weather file to what the controllers could put on the busbars, hour by hour.
//! Never: knows the bank or the loads.
//! Start at [`Sky::of`]; [`Sky::typical`] and [`Sky::year`] fill a [`Scratch`].

use std::sync::OnceLock;

use model::System;
use quantity::{Degrees, Fraction, Metres};

use crate::climate::{Climate, Generator, stream};
use crate::plant::{ArrayPlant, Plant};
use crate::run::Outside;
use crate::site::{DAYS, HOURS};
use crate::sun::{Facing, ModuleModel, Plane, PlaneYear, RoofObject, SkyModel, SunYear};
use crate::weather::{Note, Series, WeatherYear};

/// Calendar year whose sun stands for every year: none differs by more than a fraction of a degree.
pub const SUN_YEAR: i32 = 2026;
/// Spread of a day's use round its mean. Common practice, no source.
const USE_SPREAD: f64 = 0.15;
/// Set apart, so that the draw of the weather and of the use never share a stream.
const USE_STREAM: u64 = 0x7573_655f_6f66_5f64;

/// Sun and weather over a system.
pub struct Sky {
    /// What the weather is, in words.
    pub weather: String,
    /// What was assumed.
    pub notes: Vec<Note>,
    /// The climate that years are drawn from.
    pub climate: Climate,
    generator: Generator,
    measured: Option<WeatherYear>,
    planes: Vec<(PlaneYear, ModuleModel)>,
    made_for: MadeFor,
    /// Years that were drawn before, where they are kept.
    kept: Option<Kept>,
}

/// What [`Sky::keeping`] holds on to.
struct Kept {
    seed: u64,
    typical: OnceLock<WeatherYear>,
    years: Vec<OnceLock<KeptYear>>,
}

/// What the hour loop reads of a drawn year, before any controller.
struct KeptYear {
    air_c: Vec<f64>,
    /// Power of each array at its terminals [W].
    arrays_w: Vec<Vec<f64>>,
}

/// What a sky is made for, beside the weather file.
#[derive(Clone, PartialEq)]
struct MadeFor {
    place: model::Place,
    ground: Fraction,
    horizon: Vec<Degrees>,
    arrays: Vec<model::Array>,
}

impl MadeFor {
    fn of(system: &System, plant: &Plant) -> Self {
        let usage = &system.usage;
        Self {
            place: usage.place.clone(),
            ground: usage.ground,
            horizon: usage.horizon.clone(),
            arrays: plant.arrays.iter().map(|array| array.array.clone()).collect(),
        }
    }
}

/// Buffers of one run, made once and filled again for every year.
pub struct Scratch {
    /// The weather.
    pub weather: WeatherYear,
    /// One array's power [W].
    array_w: Vec<f64>,
    /// What all controllers could put on the busbars [W].
    pub sun_w: Vec<f64>,
    /// Factor of each day's use.
    pub vary: Vec<f64>,
}

impl Scratch {
    /// Empty buffers.
    pub fn new() -> Self {
        Self {
            weather: WeatherYear::blank(),
            array_w: vec![0.0; HOURS],
            sun_w: vec![0.0; HOURS],
            vary: vec![1.0; DAYS],
        }
    }
    /// As the hour loop reads it.
    pub fn outside(&self) -> Outside<'_> {
        Outside { sun_w: &self.sun_w, air_c: &self.weather.air_c, vary: &self.vary }
    }
}

impl Default for Scratch {
    fn default() -> Self {
        Self::new()
    }
}

impl Sky {
    /// The sky over a system: that of a weather file, else of the built-in climate of its place.
    pub fn of(system: &System, plant: &Plant, series: Option<&Series>) -> Self {
        let place = &system.usage.place;
        let mut notes = Vec::new();
        let (climate, sun, measured, weather) = match series {
            Some(series) => {
                notes.extend(series.notes.iter().cloned());
                notes.extend(crate::weather::matches_place(series, place));
                let sun = SunYear::new(&series.site, SUN_YEAR, series.minutes_into_hour);
                let climate = Climate::of(&series.year, &series.site, &sun, &series.title);
                let title =
                    if series.title.is_empty() { String::new() } else { format!(", {}", series.title) };
                let words = format!(
                    "weather file in {}{title}, at {}, {}",
                    series.format.name(),
                    latitude(series.site.latitude.get()),
                    longitude(series.site.longitude.get())
                );
                (climate, sun, Some(series.year.clone()), words)
            }
            None => {
                let climate = Climate::at(place, place.altitude);
                let sun = SunYear::new(&climate.site, SUN_YEAR, 30.0);
                let words = format!(
                    "{}, at {}, {}",
                    climate.source,
                    latitude(place.latitude.get()),
                    longitude(place.longitude.get())
                );
                (climate, sun, None, words)
            }
        };
        notes.extend(climate.notes.iter().cloned());
        let planes = plant
            .arrays
            .iter()
            .map(|array| (PlaneYear::new(&sun, &plane(system, &array.array)), ModuleModel::of(&array.array)))
            .collect();
        let generator = Generator::new(&climate, &sun);
        let made_for = MadeFor::of(system, plant);
        Self { weather, notes, climate, generator, measured, planes, made_for, kept: None }
    }

    /// Whether it is the sky over this system too, where the weather file is the same: the place and the arrays are.
    pub fn suits(&self, system: &System, plant: &Plant) -> bool {
        self.made_for == MadeFor::of(system, plant)
    }

    /// The same sky that keeps the typical year and the first `years` years under a seed once they are drawn: about 70 kB for each
    /// year and as much for each array. Every number stays as it is.
    pub fn keeping(mut self, seed: u64, years: u32) -> Self {
        let years = (0..years).map(|_| OnceLock::new()).collect();
        self.kept = Some(Kept { seed, typical: OnceLock::new(), years });
        self
    }

    /// Fills in the typical year: the file's own, or one put together from drawn months near the climate's mean.
    pub fn typical(&self, plant: &Plant, seed: u64, into: &mut Scratch) {
        match (&self.measured, self.kept.as_ref().filter(|kept| kept.seed == seed)) {
            (Some(year), _) => into.weather.clone_from(year),
            (None, Some(kept)) => into.weather.clone_from(kept.typical.get_or_init(|| {
                let mut year = WeatherYear::blank();
                self.generator.typical(seed, &mut year);
                year
            })),
            (None, None) => self.generator.typical(seed, &mut into.weather),
        }
        into.vary.fill(1.0);
        self.on_bars(&plant.arrays, into);
    }

    /// Fills in the year of a number under a seed, with each day's use varied.
    pub fn year(&self, plant: &Plant, seed: u64, index: u64, into: &mut Scratch) {
        self.generator.year(seed, index, &mut into.weather);
        vary_use(seed, index, &mut into.vary);
        self.on_bars(&plant.arrays, into);
    }

    /// Fills in what the hour loop reads of that year, and no other weather: from what is kept, where it is.
    pub(crate) fn outside_of_year(&self, plant: &Plant, seed: u64, index: u64, into: &mut Scratch) {
        let kept = self.kept.as_ref().filter(|kept| kept.seed == seed);
        let slot = kept.and_then(|kept| kept.years.get(usize::try_from(index).ok()?));
        let Some(slot) = slot else { return self.year(plant, seed, index, into) };
        let year = slot.get_or_init(|| {
            self.generator.year(seed, index, &mut into.weather);
            let mut array_w = |(plane, module): &(PlaneYear, ModuleModel)| {
                let mut watts = vec![0.0; HOURS];
                plane.power(&into.weather, module, &mut watts);
                watts
            };
            let arrays_w = self.planes.iter().map(&mut array_w).collect();
            KeptYear { air_c: into.weather.air_c.clone(), arrays_w }
        });
        into.weather.air_c.clone_from(&year.air_c);
        vary_use(seed, index, &mut into.vary);
        into.sun_w.fill(0.0);
        for (array, watts) in plant.arrays.iter().zip(&year.arrays_w) {
            add_controlled(array, watts, &mut into.sun_w);
        }
    }

    /// What the controllers could put on the busbars in the weather of `into`.
    pub fn on_bars(&self, arrays: &[ArrayPlant], into: &mut Scratch) {
        into.sun_w.fill(0.0);
        for (array, (plane, module)) in arrays.iter().zip(&self.planes) {
            plane.power(&into.weather, module, &mut into.array_w);
            add_controlled(array, &into.array_w, &mut into.sun_w);
        }
    }

    /// Power of one array [W] at its terminals in the weather of `into`, for a search over sizes.
    pub fn array_power(&self, array: usize, into: &Scratch, out: &mut [f64]) {
        if let Some((plane, module)) = self.planes.get(array) {
            plane.power(&into.weather, module, out);
        }
    }
}

/// Adds what a controller makes of its array's power to what stands on the busbars [W].
fn add_controlled(array: &ArrayPlant, array_w: &[f64], sun_w: &mut [f64]) {
    let (efficiency, limit) = (array.efficiency * array.follows_bank.unwrap_or(1.0), array.limit_w);
    for (sum, watts) in sun_w.iter_mut().zip(array_w) {
        *sum += (watts * efficiency).min(limit);
    }
}

/// Draws the factor of each day's use.
fn vary_use(seed: u64, index: u64, vary: &mut [f64]) {
    use rand_distr::Distribution;
    let mut chance = stream(seed ^ USE_STREAM, index);
    if let Ok(spread) = rand_distr::Normal::new(1.0, USE_SPREAD) {
        for vary in vary {
            *vary = spread.sample(&mut chance).clamp(0.4, 1.6);
        }
    }
}

/// The plane of an array, as the system has it.
pub fn plane(system: &System, array: &model::Array) -> Plane {
    let fan = Fraction::new(0.5);
    Plane {
        tilt: array.tilt,
        facing: array.azimuth.map_or(Facing::Averaged, Facing::Fixed),
        mounting: array.mounting,
        albedo: system.usage.ground,
        horizon: system.usage.horizon.clone(),
        objects: array
            .shade
            .iter()
            .map(|shade| RoofObject {
                direction: shade.direction,
                distance: shade.distance,
                height: shade.height.max(Metres::zero()),
                width: shade.width,
                // A shadow on one module of a string takes more than its area; common practice, no source.
                share: shade.loss.unwrap_or(fan),
            })
            .collect(),
        soiling: array.dirt,
        // A plane that lies flat sees the whole sky: the models then differ in nothing but the share of diffuse light that passes
        // the glass like the beam, and the simpler one is quicker.
        sky: if array.tilt < Degrees::new(1.0) { SkyModel::HayDavies } else { SkyModel::default() },
    }
}

fn latitude(degrees: f64) -> String {
    format!("{:.1}° {}", degrees.abs(), if degrees < 0.0 { "S" } else { "N" })
}

fn longitude(degrees: f64) -> String {
    format!("{:.1}° {}", degrees.abs(), if degrees < 0.0 { "W" } else { "E" })
}
