//! What a chemistry is like, per cell and per ampere-hour: tables on a fine grid, made once from `data/storage.toml`.
//! Never: knows a bank. Stored energy is the exact integral of the voltage at rest, so it does not depend on the path.
//! Start at [`Curve::of`].

use model::parts::Chemistry;
use quantity::math;
use serde::Deserialize;
use std::sync::LazyLock;

/// Cells of the state-of-charge grid: one for each half per cent, so that every point of the printed tables is a grid point.
pub(crate) const CELLS: usize = 200;
const COLDEST_C: f64 = -40.0;
const HOTTEST_C: f64 = 70.0;
const KELVINS: usize = 110;
/// Temperature at which sheets state resistance and voltage.
const RATED_C: f64 = 25.0;
const GAS_CONSTANT: f64 = 8.314_462_618;

/// One cell of the grid: values at its lower end and their rise over the whole cell.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Span {
    /// Energy below it [Wh per Ah of rated capacity].
    energy: f64,
    volts: f64,
    volts_rise: f64,
    discharge: f64,
    discharge_rise: f64,
    charge: f64,
    charge_rise: f64,
    /// Charge that goes in over charge that is kept.
    into: f64,
    into_rise: f64,
}

/// A point of the grid.
#[derive(Clone, Copy, Debug)]
pub(crate) struct At {
    /// Voltage of a cell at rest [V].
    pub volts: f64,
    /// Discharging resistance over the sheet's.
    pub discharge: f64,
    /// Charging resistance over the sheet's.
    pub charge: f64,
    /// Charge that goes in over charge that is kept, 1 or more.
    pub into: f64,
}

/// What temperature does.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Warmth {
    /// Discharging resistance over that at 25 °C.
    pub discharge: f64,
    /// Charging resistance over that at 25 °C.
    pub charge: f64,
    /// Share of the charge that cold locks away.
    pub locked: f64,
    /// Share of the charging current that may flow.
    pub share: f64,
    /// Charge taken at constant voltage over that at 25 °C.
    pub taper: f64,
    /// Rate of what doubles every 10 K over that at 25 °C.
    pub doubling: f64,
}

/// A chemistry as tables.
#[derive(Debug)]
pub(crate) struct Curve {
    spans: [Span; CELLS],
    full_energy: f64,
    warmth: [Warmth; KELVINS + 1],
    pub cell_nominal_v: f64,
    pub inverse_nominal_v: f64,
    pub open_v_per_k: f64,
    pub charge_hottest_c: f64,
    pub two_wells: bool,
    /// State of charge from which it counts as full.
    pub full_soc: f64,
    /// Share lost in an hour at 25 °C.
    pub self_discharge_per_h: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Data {
    lfp: Cell,
    agm: Cell,
    gel: Cell,
    flooded: Cell,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ByTemp {
    t_c: Vec<f64>,
    share: Vec<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Cell {
    cell_nominal_v: f64,
    soc: Vec<f64>,
    cell_v: Vec<f64>,
    coulombic: f64,
    coulombic_shape: Shape,
    discharge_ratio: Ratio,
    charge_ratio: Ratio,
    resistance_activation_j_mol: f64,
    discharge_per_k: f64,
    charge_per_k: f64,
    open_v_per_k: f64,
    compensation_v_per_k: f64,
    charge_share: ByTemp,
    charge_hottest_c: f64,
    cold_capacity: ByTemp,
    two_wells: bool,
    full_soc: f64,
    self_discharge_per_month: f64,
}

#[derive(Deserialize, PartialEq)]
#[serde(rename_all = "lowercase")]
enum Shape {
    Flat,
    Gassing,
}

/// `base + rise / max(x, least)^power`, with x the state of charge, or what is missing from full.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Ratio {
    base: f64,
    rise: f64,
    power: f64,
    least: f64,
}

impl Ratio {
    fn at(&self, x: f64) -> f64 {
        self.base + self.rise / math::powf(x.max(self.least), self.power)
    }
}

/// Straight between points, level outside them.
fn between(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let points: Vec<(f64, f64)> = xs.iter().copied().zip(ys.iter().copied()).collect();
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return 0.0 };
    if x <= first.0 {
        return first.1;
    }
    for pair in points.windows(2) {
        if let [low, high] = pair
            && x <= high.0
        {
            return low.1 + (x - low.0) / (high.0 - low.0) * (high.1 - low.1);
        }
    }
    last.1
}

impl Curve {
    /// The tables of a chemistry.
    pub fn of(chemistry: Chemistry) -> &'static Curve {
        static ALL: LazyLock<[Curve; 4]> = LazyLock::new(|| {
            match toml::from_str::<Data>(include_str!("../../data/storage.toml")) {
                Ok(data) => [&data.lfp, &data.agm, &data.gel, &data.flooded].map(Curve::build),
                // Compiled in and read by every test of this module, so it cannot be reached in a build whose tests pass.
                Err(error) => panic!("the compiled-in battery data are broken: {error}"),
            }
        });
        let [lfp, agm, gel, flooded] = &*ALL;
        match chemistry {
            Chemistry::Lfp => lfp,
            Chemistry::Agm => agm,
            Chemistry::Gel => gel,
            Chemistry::Flooded => flooded,
        }
    }

    fn build(cell: &Cell) -> Self {
        let into = into_over_kept(cell);
        let at = |index: usize| {
            let soc = index as f64 / CELLS as f64;
            let volts = between(&cell.soc, &cell.cell_v, soc);
            (volts, cell.discharge_ratio.at(soc), cell.charge_ratio.at(1.0 - soc), into(soc))
        };
        let mut spans = [Span::default(); CELLS];
        let mut energy = 0.0;
        for (index, span) in spans.iter_mut().enumerate() {
            let (low, high) = (at(index), at(index + 1));
            *span = Span {
                energy,
                volts: low.0,
                volts_rise: high.0 - low.0,
                discharge: low.1,
                discharge_rise: high.1 - low.1,
                charge: low.2,
                charge_rise: high.2 - low.2,
                into: low.3,
                into_rise: high.3 - low.3,
            };
            energy += 0.5 * (low.0 + high.0) / CELLS as f64;
        }
        let mut warmth = [Warmth::default(); KELVINS + 1];
        for (index, warmth) in warmth.iter_mut().enumerate() {
            let temp_c = COLDEST_C + index as f64;
            let kelvins = temp_c - RATED_C;
            let arrhenius = math::exp(
                cell.resistance_activation_j_mol / GAS_CONSTANT
                    * (1.0 / (temp_c + 273.15) - 1.0 / (RATED_C + 273.15)),
            );
            let charge = (arrhenius * (1.0 - cell.charge_per_k * kelvins)).max(0.5);
            // A charger that raises its voltage in the cold gains against the resistance; 0.3 V a cell drives the taper at 25 °C.
            let drive = (1.0 + cell.compensation_v_per_k * kelvins / 0.3).max(0.1);
            *warmth = Warmth {
                discharge: (arrhenius * (1.0 - cell.discharge_per_k * kelvins)).max(0.5),
                charge,
                locked: 1.0 - between(&cell.cold_capacity.t_c, &cell.cold_capacity.share, temp_c),
                share: between(&cell.charge_share.t_c, &cell.charge_share.share, temp_c),
                taper: drive / charge,
                doubling: math::powf(2.0, kelvins / 10.0),
            };
        }
        Curve {
            spans,
            full_energy: energy,
            warmth,
            cell_nominal_v: cell.cell_nominal_v,
            inverse_nominal_v: 1.0 / cell.cell_nominal_v,
            open_v_per_k: cell.open_v_per_k,
            charge_hottest_c: cell.charge_hottest_c,
            two_wells: cell.two_wells,
            full_soc: cell.full_soc,
            self_discharge_per_h: cell.self_discharge_per_month / (365.0 * 24.0 / 12.0),
        }
    }

    #[inline]
    fn span(&self, soc: f64) -> (&Span, f64) {
        let place = soc * CELLS as f64;
        // Outside 0 to 1 the end spans run on straight; the solver may look there before limits cut its answer.
        let index = (place as u32 as usize).min(CELLS - 1);
        (&self.spans[index], place - index as f64)
    }

    /// Energy below a state of charge [Wh per Ah] and the voltage of a cell there [V].
    #[inline]
    pub fn energy_and_volts(&self, soc: f64) -> (f64, f64) {
        let (span, share) = self.span(soc);
        let energy =
            span.energy + (span.volts + 0.5 * span.volts_rise * share) * share * (1.0 / CELLS as f64);
        (energy, span.volts + span.volts_rise * share)
    }

    /// Change of energy from one state of charge to another [Wh per Ah], and the voltage of a cell at the other [V].
    ///
    /// Within one cell of the grid it is the mean voltage times the charge, which keeps its digits where a difference would lose them.
    #[inline]
    pub fn change(&self, from: f64, moved: f64) -> (f64, f64) {
        let ((here, share_here), (there, share_there)) = (self.span(from), self.span(from + moved));
        let (volts_here, volts_there) =
            (here.volts + here.volts_rise * share_here, there.volts + there.volts_rise * share_there);
        let change = if std::ptr::eq(here, there) {
            moved * 0.5 * (volts_here + volts_there)
        } else {
            let up_to = |span: &Span, share: f64| {
                span.energy + (span.volts + 0.5 * span.volts_rise * share) * share * (1.0 / CELLS as f64)
            };
            up_to(there, share_there) - up_to(here, share_here)
        };
        (change, volts_there)
    }

    /// State of charge below which an energy lies [Wh per Ah].
    ///
    /// - `near`: a state of charge in the same cell of the grid, or so near to it that its straight line may be followed
    #[inline]
    pub fn charge_near(&self, near: f64, energy: f64) -> f64 {
        let (span, share) = self.span(near);
        let above = (energy - span.energy) * CELLS as f64;
        let root = (span.volts * span.volts + 2.0 * span.volts_rise * above).max(0.0).sqrt();
        near + (2.0 * above / (span.volts + root) - share) * (1.0 / CELLS as f64)
    }

    /// Likewise for energies asked in rising order: `span` is where the last one lay, 0 at first.
    pub fn charge_below(&self, energy: f64, span: &mut usize) -> f64 {
        while self.spans.get(*span + 1).is_some_and(|next| next.energy <= energy) {
            *span += 1;
        }
        self.charge_near((*span as f64 + 0.5) / CELLS as f64, energy).clamp(0.0, 1.0)
    }

    /// Energy of a full cell over that of an empty one [Wh per Ah].
    pub fn full_energy(&self) -> f64 {
        self.full_energy
    }

    /// Voltage and resistances at a state of charge.
    #[inline]
    pub fn at(&self, soc: f64) -> At {
        let (span, share) = self.span(soc);
        At {
            volts: span.volts + span.volts_rise * share,
            discharge: span.discharge + span.discharge_rise * share,
            charge: span.charge + span.charge_rise * share,
            into: span.into + span.into_rise * share,
        }
    }

    /// What a temperature does; level below −40 °C and above 70 °C.
    #[inline]
    pub fn warmth(&self, temp_c: f64) -> Warmth {
        let place = (temp_c.clamp(COLDEST_C, HOTTEST_C)) - COLDEST_C;
        let index = (place as usize).min(KELVINS - 1);
        let share = place - index as f64;
        let (low, high) = (&self.warmth[index], &self.warmth[index + 1]);
        let mix = |low: f64, high: f64| low + share * (high - low);
        Warmth {
            discharge: mix(low.discharge, high.discharge),
            charge: mix(low.charge, high.charge),
            locked: mix(low.locked, high.locked),
            share: mix(low.share, high.share),
            taper: mix(low.taper, high.taper),
            doubling: mix(low.doubling, high.doubling),
        }
    }

    /// Rate at a temperature of what doubles every 10 K, over that at 25 °C.
    #[inline]
    pub fn doubling(&self, temp_c: f64) -> f64 {
        self.warmth(temp_c).doubling
    }
}

/// Charge in over charge kept, by state of charge.
///
/// Gassing: `kept / in = 1 − e^(−a · (1 − soc))`, the form of Copetti, Lorenzo and Chenlo (1993), never below 0.3; `a` is set so that a
/// charge from empty to full comes out at the chemistry's printed efficiency. With u = a(1 − soc), ∫(in/kept − 1) du from 0 is
/// u₁(1/0.3 − 1) − ln(1 − e^(−u₁)) with e^(−u₁) = 0.7.
fn into_over_kept(cell: &Cell) -> impl Fn(f64) -> f64 + use<> {
    const LEAST: f64 = 0.3;
    let edge = -math::ln(1.0 - LEAST);
    let whole = edge * (1.0 / LEAST - 1.0) - math::ln(LEAST);
    let steepness = whole / (1.0 / cell.coulombic - 1.0);
    let is_flat = cell.coulombic_shape == Shape::Flat;
    let flat = 1.0 / cell.coulombic;
    move |soc| {
        if is_flat { flat } else { 1.0 / (1.0 - math::exp(-steepness * (1.0 - soc))).max(LEAST) }
    }
}
