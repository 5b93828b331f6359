//! From light on a module to watts at its terminals: heat, low light, temperature coefficient, mismatch.
//! Never: knows geometry or the sun.
//! Start at [`ModuleModel::of`].

use model::{Array, Mounting};

use super::data::tables;

/// How hot a cell gets over the air. Coefficients and sources in `data/sun.toml`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CellModel {
    /// `air + G exp(a + b v) + G / 1000 · back_k`, wind `v` at 10 m: King et al., SAND2004-3535.
    Sapm {
        /// Rise of the module in still air, as a logarithm.
        a: f64,
        /// How wind takes from it [s/m].
        b: f64,
        /// Cell over the module's back at 1000 W/m² \[K\].
        back_k: f64,
    },
    /// `air + G / (u0 + u1 v)`, wind `v` at the module: Faiman (2008).
    Faiman {
        /// Heat loss in still air [W/(m² K)].
        u0: f64,
        /// Heat loss by wind [W s/(m³ K)].
        u1: f64,
    },
}

impl CellModel {
    /// Flush on a roof with no air behind: King's `insulated back`, the hottest of the published rows.
    pub fn flush() -> Self {
        tables().sapm[3]
    }
    /// A hand's breadth over a roof: King's `close roof mount`.
    pub fn close_roof() -> Self {
        tables().sapm[1]
    }
    /// On an open rack: King's `open rack` with a polymer back.
    pub fn open_rack() -> Self {
        tables().sapm[2]
    }
    /// On an open rack, by Faiman's mean of seven modules.
    pub fn faiman() -> Self {
        tables().faiman
    }

    /// Rise of the cell over the air for each W/m² on the plane \[K m²/W\], at a wind [m/s].
    pub fn rise_k_per_w_m2(&self, wind_m_s: f64) -> f64 {
        match *self {
            Self::Sapm { a, b, back_k } => (a + b * wind_m_s).exp() + back_k / 1000.0,
            Self::Faiman { u0, u1 } => 1.0 / (u0 + u1 * wind_m_s),
        }
    }

    /// Temperature of the cell [°C].
    pub fn temperature_c(&self, plane_w_m2: f64, air_c: f64, wind_m_s: f64) -> f64 {
        air_c + plane_w_m2 * self.rise_k_per_w_m2(wind_m_s)
    }
}

/// Efficiency at 25 °C by light, relative to that at 1000 W/m²: `1 + k1 ln G' + k2 ln² G'`. Source in `data/sun.toml`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowLight {
    /// See the type.
    pub k1: f64,
    /// See the type.
    pub k2: f64,
}

impl LowLight {
    /// Recent modules of crystalline silicon: 3.2 % less at 200 W/m².
    pub fn silicon() -> Self {
        tables().low_light
    }

    /// Relative efficiency at an irradiance; never below 0.
    pub fn efficiency(&self, irradiance_w_m2: f64) -> f64 {
        if irradiance_w_m2 <= 0.0 {
            return 0.0;
        }
        let log = (irradiance_w_m2 / 1000.0).ln();
        (1.0 + log * (self.k1 + log * self.k2)).max(0.0)
    }
}

/// A curve as a table with straight lines between, because the year's loop cannot afford a logarithm.
#[derive(Clone, Debug, PartialEq)]
struct Curve {
    per_step: f64,
    values: Vec<f64>,
}

impl Curve {
    fn new(step: f64, steps: usize, of: impl Fn(f64) -> f64) -> Self {
        Self { per_step: 1.0 / step, values: (0..=steps).map(|at| of(at as f64 * step)).collect() }
    }

    /// Below 0 the value at 0; beyond the end the last line goes on.
    #[inline]
    fn at(&self, x: f64) -> f64 {
        let place = (x * self.per_step).max(0.0);
        let at = (place as usize).min(self.values.len() - 2);
        match self.values.get(at..at + 2) {
            Some([here, next]) => here + (next - here) * (place - at as f64),
            _ => 0.0,
        }
    }
}

/// An array as a source of watts.
#[derive(Clone, Debug, PartialEq)]
pub struct ModuleModel {
    /// Rated power of the whole array at standard test conditions \[W\].
    pub rated_w: f64,
    /// Change of power with cell temperature [1/K], negative.
    pub power_coefficient_per_k: f64,
    /// Share lost because modules of one array are not alike.
    pub mismatch: f64,
    cell: CellModel,
    low_light: LowLight,
    /// Rise [K m²/W] by wind.
    rise: Curve,
    /// Power relative to rated, at 25 °C, by irradiance.
    yield_at: Curve,
}

/// Share lost between modules that are not alike: common practice, no source.
const MISMATCH: f64 = 0.02;

impl ModuleModel {
    /// An array by its rating and how it is cooled.
    pub fn new(
        rated_w: f64,
        power_coefficient_per_k: f64,
        mismatch: f64,
        cell: CellModel,
        low_light: LowLight,
    ) -> Self {
        Self {
            rated_w,
            power_coefficient_per_k,
            mismatch,
            cell,
            low_light,
            // Within 0.03 % of the formulas between the points.
            rise: Curve::new(0.125, 320, |wind| cell.rise_k_per_w_m2(wind)),
            yield_at: Curve::new(2.0, 800, |light| light / 1000.0 * low_light.efficiency(light)),
        }
    }

    /// One flush module of silicon.
    pub fn flush(rated_w: f64, power_coefficient_per_k: f64) -> Self {
        Self::new(rated_w, power_coefficient_per_k, 0.0, CellModel::flush(), LowLight::silicon())
    }

    /// The array of a system. Flush runs hottest ([`CellModel::flush`]); a tiltable one lies a hand's breadth over the roof
    /// for part of the year ([`CellModel::close_roof`]); at a fixed tilt air passes behind ([`CellModel::open_rack`]).
    /// More than one module: 2 % mismatch, common practice, no source.
    pub fn of(array: &Array) -> Self {
        let count = array.series * array.parallel;
        let cell = match array.mounting {
            Mounting::Flush => CellModel::flush(),
            Mounting::Tiltable => CellModel::close_roof(),
            Mounting::Fixed => CellModel::open_rack(),
        };
        Self::new(
            array.module.power.get() * f64::from(count),
            array.module.power_coefficient.get() / 100.0,
            if count > 1 { MISMATCH } else { 0.0 },
            cell,
            LowLight::silicon(),
        )
    }

    /// How its cells get hot.
    pub fn cell(&self) -> CellModel {
        self.cell
    }

    /// How its efficiency falls with light.
    pub fn low_light(&self) -> LowLight {
        self.low_light
    }

    /// Watts at its terminals, never below 0.
    /// `rated · (1 - mismatch) · G'(1 + k1 ln G' + k2 ln² G') · (1 + γ (T - 25 °C))`, G' = `passed_w_m2` / 1000.
    /// - `plane_w_m2`: light on the plane, which heats; `passed_w_m2`: what passes dirt, shade and glass, which works.
    #[inline]
    pub fn power_w(&self, plane_w_m2: f64, passed_w_m2: f64, air_c: f64, wind_m_s: f64) -> f64 {
        let over_25_k = air_c + plane_w_m2 * self.rise.at(wind_m_s) - 25.0;
        let by_heat = (1.0 + self.power_coefficient_per_k * over_25_k).max(0.0);
        self.rated_w * (1.0 - self.mismatch) * self.yield_at.at(passed_w_m2) * by_heat
    }
}
