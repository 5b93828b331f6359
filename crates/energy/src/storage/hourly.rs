//! The bank in the hour loop: whole hours, told by energy in store, each a look-up and a closed form.
//! Never: has the last word. Where an hour comes near a limit of discharging, [`BankModel::step_in`] solves it.
//! Start at [`BankModel::day`], then [`BankModel::take`] and [`BankModel::give`].
//!
//! [`BankModel::step_in`] keeps charge and must search for the charge whose energy is what was asked. Here energy itself is kept, so that
//! `asked = n x + ρ x²` gives the change in store `x` at once: `n` is one over the charging efficiency, `ρ = r / V²` the resistance in terms of
//! energy, both looked up at the middle of the hour. The tables stand so close that the nearest row is near enough: half a row is a
//! twentieth of a per cent of the bank. What is lost is what was asked less what was stored, so that the books close to the last digit.

use super::bank::{BankModel, BankState, Conditions, less, more};
use super::tables::STOPS;

/// Rows of each table; a power of two, so that a mask keeps every look-up inside.
pub(super) const ROWS: usize = 1024;
/// Added to a number it leaves its 256ths in the low bits of the sum: a cast costs the chain from hour to hour twice as much.
const SHIFT: f64 = 1.5 * (1_u64 << 44) as f64;
const SHIFTED: u32 = 8;
/// Up to here the series of [`beyond`] is as good as the root.
const SERIES: f64 = 0.03;

/// While charging.
#[derive(Clone, Copy, Debug, Default)]
struct In {
    /// Charge kept over charge that goes in.
    kept: f64,
    /// `ρ / n` at 25 °C [1/Wh].
    bend: f64,
}

impl In {
    /// What of an energy at the terminals is stored, and what stores an energy [Wh].
    #[inline]
    fn stored(&self, terminal_wh: f64, set: &Conditions) -> f64 {
        let straight = terminal_wh * self.kept;
        straight + beyond(straight, -(self.bend * set.warmth.charge) * straight)
    }
    #[inline]
    fn terminal(&self, stored_wh: f64, set: &Conditions) -> f64 {
        (stored_wh + self.bend * set.warmth.charge * stored_wh * stored_wh) / self.kept
    }
}

/// Most that an hour stores [Wh].
#[derive(Clone, Copy, Debug, Default)]
struct Most {
    /// What the absorption voltage drives in, at 25 °C.
    by_voltage: f64,
    /// What the current limit lets in.
    by_current: f64,
}

/// The voltage at rest in terms of energy.
#[derive(Clone, Copy, Debug, Default)]
struct Level {
    soc: f64,
    /// Energy of a unit of state of charge here [Wh].
    wh: f64,
    wh_inverse: f64,
    /// Charge that is missing from full over the energy that is [1/Wh].
    room_per_wh: f64,
}

/// The tables of a bank, row by row of equal energy from empty to full.
#[derive(Clone, Debug)]
pub(super) struct Hourly {
    rows_per_wh: f64,
    full_wh: f64,
    full_wh_inverse: f64,
    /// A unit of state of charge holds at least so much [Wh].
    least_wh_inverse: f64,
    two_wells: bool,
    most_in: [Most; ROWS],
    into: [In; ROWS],
    /// ρ while discharging, at 25 °C [1/Wh].
    out: [f64; ROWS],
    levels: [Level; ROWS],
    /// Energy in store below which some current cannot hold the voltage up [Wh]: by the energy that an hour takes, the next row up.
    stops: [f64; STOPS * 2],
    stops_per_wh: f64,
}

impl Hourly {
    pub(super) fn blank() -> Box<Self> {
        Box::new(Self {
            rows_per_wh: 0.0,
            full_wh: 0.0,
            full_wh_inverse: 0.0,
            least_wh_inverse: 0.0,
            two_wells: false,
            most_in: [Most::default(); ROWS],
            into: [In::default(); ROWS],
            out: [0.0; ROWS],
            levels: [Level::default(); ROWS],
            stops: [f64::INFINITY; STOPS * 2],
            stops_per_wh: 0.0,
        })
    }

    /// The row nearest to an energy plus another; the sum is taken late, since the first comes out of the hour before.
    #[inline]
    fn row(&self, wh: f64, more_wh: f64) -> usize {
        let place = wh * self.rows_per_wh + (more_wh * self.rows_per_wh + (SHIFT + 0.5));
        (place.to_bits() >> SHIFTED) as usize & (ROWS - 1)
    }
}

/// What the bank holds, for the hour loop.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Store {
    /// Energy above empty [Wh].
    pub wh: f64,
    /// As in [`BankState`].
    pub lag: f64,
}

/// What holds for the hours of a day.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BankDay {
    set: Conditions,
    may_take: bool,
    /// Down to here the cold locks nothing away [Wh].
    free_down_to_wh: f64,
    /// Up to here no limit of current can hold it back, and the table of low-voltage stops reaches [Wh].
    free_most_wh: f64,
    /// Rows of that table for each watt-hour.
    stops_per_wh: f64,
    /// Share of all charge that the wells and the cold leave out of reach.
    reach: f64,
}

impl BankDay {
    /// Down to here the cold locks nothing away [Wh]; infinite where it is too cold or too hot to discharge.
    pub fn free_down_to_wh(&self) -> f64 {
        self.free_down_to_wh
    }
}

/// What an hour did [Wh].
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Moved {
    /// Taken or given at the terminals, 0 or more.
    pub terminal_wh: f64,
    /// Lost.
    pub loss_wh: f64,
}

/// `w (c − 1)` for the root `c` of `c = 1 + u c²`: what a resistance takes beyond the energy `w` asked; infinite where it cannot give
/// so much.
#[inline(always)]
fn beyond(w: f64, u: f64) -> f64 {
    if u.abs() < SERIES {
        // Catalan's numbers, two by two, which shortens the chain; what is left out is below 0.004 % of what is lost.
        (w * u) * ((1.0 + 2.0 * u) + (u * u) * (5.0 + 14.0 * u))
    } else {
        let square = 1.0 - 4.0 * u;
        if square >= 0.0 { w * (2.0 / (1.0 + square.sqrt()) - 1.0) } else { f64::INFINITY }
    }
}

impl BankModel {
    /// Share of the charge that cold keeps back at a temperature of the place [°C].
    pub fn kept_back(&self, temp_c: f64) -> f64 {
        self.conditions(temp_c, 1.0).warmth.locked.max(0.0)
    }

    /// Fills the tables of the hour loop.
    pub(super) fn fill_hourly(&mut self) {
        let mut tables = std::mem::replace(&mut self.hourly, Hourly::blank());
        let full_wh = self.capacity_wh();
        let last = (ROWS - 1) as f64;
        tables.rows_per_wh = last / full_wh;
        tables.full_wh = full_wh;
        tables.full_wh_inverse = 1.0 / full_wh;
        tables.least_wh_inverse = 1.0 / (self.curve.at(0.0).volts * self.wh);
        tables.two_wells = self.wells.extra > 0.0;
        tables.stops_per_wh = self.stops_per_rate * tables.least_wh_inverse;
        for (row, stop) in tables.stops.iter_mut().enumerate() {
            // Both ends of a step of the table, since nothing says that it rises.
            let next = self.stops.get(row + 1);
            let highest = next.map(|next| next.max(self.stops[row]));
            *stop = highest.map_or(f64::INFINITY, |soc| self.wh_at(soc));
        }
        let mut span = 0;
        for row in 0..ROWS {
            let soc = self.curve.charge_below(self.curve.full_energy() * (row as f64 / last), &mut span);
            let at = self.curve.at(soc);
            let wh = at.volts * self.wh;
            let stored = |charge: f64| self.curve.change(soc, charge).0 * self.wh;
            // Resistance by energy: `drop q²` with q = x / (V wh).
            let by_energy = self.ohm_ah / (at.volts * wh);
            tables.into[row] = In { kept: 1.0 / at.into, bend: by_energy * at.charge * at.into };
            tables.most_in[row] = Most {
                by_voltage: stored(self.tapered(soc)),
                by_current: stored(self.charge_rate / at.into),
            };
            tables.out[row] = by_energy * at.discharge;
            let room_wh = full_wh - self.wh_at(soc);
            let room_per_wh = if row + 1 < ROWS { (1.0 - soc) / room_wh } else { 1.0 / wh };
            tables.levels[row] = Level { soc, wh, wh_inverse: 1.0 / wh, room_per_wh };
        }
        self.hourly = tables;
    }

    /// The state as the hour loop keeps it.
    pub(crate) fn store(&self, state: &BankState) -> Store {
        Store { wh: self.stored_wh(state), lag: state.lag }
    }

    /// The state that the hour loop kept.
    pub(crate) fn state(&self, store: &Store) -> BankState {
        // Once more from there, in case the nearest row lay in the next cell of the curve.
        let soc = self.curve.charge_near(self.soc_at(store.wh), store.wh * self.wh_inverse);
        BankState { soc: less(more(soc, 0.0), 1.0), lag: store.lag }
    }

    /// State of charge of an energy in store.
    #[inline]
    pub(crate) fn soc_at(&self, wh: f64) -> f64 {
        let near = self.hourly.levels[self.hourly.row(wh, 0.0)].soc;
        less(more(self.curve.charge_near(near, wh * self.wh_inverse), 0.0), 1.0)
    }

    /// Energy in store of a state of charge [Wh].
    pub(crate) fn wh_at(&self, soc: f64) -> f64 {
        self.curve.energy_and_volts(soc).0 * self.wh
    }

    /// Voltage at rest of an energy in store [V]; see [`BankModel::open_voltage`].
    #[inline]
    pub(crate) fn volts_at(&self, wh: f64, temp_c: f64) -> f64 {
        let volts = self.hourly.levels[self.hourly.row(wh, 0.0)].wh * self.wh_inverse;
        (volts + self.curve.open_v_per_k * (temp_c - 25.0)) * self.cells
    }

    /// What holds for the hours of a day at a temperature of the place [°C].
    pub(crate) fn day(&self, temp_c: f64) -> BankDay {
        let set = self.conditions(temp_c, 1.0);
        let stops_per_wh = self.hourly.stops_per_wh * set.warmth.discharge;
        let may_give = set.cell_c >= self.discharge_coldest_c && set.cell_c <= self.hottest_c;
        BankDay {
            may_take: self.may_take(&set),
            free_down_to_wh: if may_give { self.wh_at(set.warmth.locked) } else { f64::INFINITY },
            free_most_wh: less(
                self.discharge_rate / self.hourly.least_wh_inverse,
                (STOPS - 1) as f64 / stops_per_wh,
            ),
            stops_per_wh,
            reach: self.wells.extra - (1.0 + self.wells.extra) * set.warmth.locked,
            set,
        }
    }

    /// Puts energy in for an hour, as far as the bank takes it.
    ///
    /// The limits are those of [`BankModel::charge_limit_w`].
    #[inline(always)]
    pub(crate) fn take(&self, store: &mut Store, asked_wh: f64, day: &BankDay) -> Moved {
        let tables = &*self.hourly;
        let room = tables.full_wh - store.wh;
        if !day.may_take || room <= 0.0 {
            store.lag *= day.set.lag_left;
            return Moved::default();
        }
        let here = tables.row(store.wh, 0.0);
        let limit = &tables.most_in[here];
        let mut most = less(
            less(limit.by_voltage * day.set.warmth.taper, limit.by_current * day.set.warmth.share),
            room,
        );
        if tables.two_wells {
            // The available well fills first.
            let level = &tables.levels[here];
            let charge = (room * level.room_per_wh + store.lag * day.set.lag_left) * day.set.room_divisor;
            most = more(less(most, charge * level.wh), 0.0);
        }
        // Two ways, not one with the smaller of the two: most hours ask less than the most, and so need not wait until that is known.
        if asked_wh <= most {
            let row = tables.row(store.wh, 0.5 * asked_wh);
            let stored = tables.into[row].stored(asked_wh, &day.set);
            store.wh += stored;
            self.carry_lag(store, stored, row, day);
            return Moved { terminal_wh: asked_wh, loss_wh: asked_wh - stored };
        }
        let row = tables.row(store.wh, 0.5 * most);
        let into = &tables.into[row];
        let terminal_wh = less(into.terminal(most, &day.set), asked_wh);
        let mut stored = most;
        if terminal_wh == asked_wh {
            stored = into.stored(asked_wh, &day.set);
        }
        store.wh = if stored == room { tables.full_wh } else { store.wh + stored };
        self.carry_lag(store, stored, row, day);
        Moved { terminal_wh, loss_wh: terminal_wh - stored }
    }

    /// Takes energy out for an hour where no limit is near and the store stays above `down_to_wh`: what is lost [Wh].
    ///
    /// - `down_to_wh`: [`BankDay::free_down_to_wh`] or more
    ///
    /// `None`, and nothing done, where a limit may be near; then [`BankModel::give`] goes into it.
    #[inline(always)]
    pub(crate) fn give_freely(
        &self,
        store: &mut Store,
        asked_wh: f64,
        down_to_wh: f64,
        day: &BankDay,
    ) -> Option<f64> {
        let tables = &*self.hourly;
        let row = tables.row(store.wh, -0.5 * asked_wh);
        let u = tables.out[row] * (day.set.warmth.discharge * asked_wh);
        let loss = beyond(asked_wh, u);
        let out = asked_wh + loss;
        let after = (store.wh - asked_wh) - loss;
        // Beyond the table lies no free hour, so that the mask does no harm.
        let place = out * day.stops_per_wh + SHIFT;
        let stop = tables.stops[(place.to_bits() >> SHIFTED) as usize & (STOPS * 2 - 1)];
        let mut is_free = after >= down_to_wh && after >= stop && out <= day.free_most_wh;
        if tables.two_wells {
            // Charge is at least the same share of the whole as energy is, since the voltage rises with it.
            let level = store.wh * tables.full_wh_inverse + day.reach - store.lag * day.set.lag_left;
            is_free = is_free && level * day.set.room_divisor >= out * tables.least_wh_inverse;
        }
        if !is_free {
            return None;
        }
        store.wh = after;
        self.carry_lag(store, -out, row, day);
        Some(loss)
    }

    /// Takes energy out for an hour, as far as the bank gives it.
    pub(crate) fn give(&self, store: &mut Store, asked_wh: f64, day: &BankDay) -> Moved {
        if let Some(loss_wh) = self.give_freely(store, asked_wh, day.free_down_to_wh, day) {
            return Moved { terminal_wh: asked_wh, loss_wh };
        }
        let mut state = self.state(store);
        let step = self.step_in(&mut state, -asked_wh, &day.set);
        *store = Store { wh: store.wh + step.stored_wh, lag: state.lag };
        Moved { terminal_wh: -step.terminal_wh, loss_wh: step.loss_wh }
    }

    #[inline(always)]
    fn carry_lag(&self, store: &mut Store, stored: f64, row: usize, day: &BankDay) {
        if self.hourly.two_wells {
            let charge = stored * self.hourly.levels[row].wh_inverse;
            store.lag = store.lag * day.set.lag_left - charge * day.set.lag_built;
        }
    }

    /// Self-discharge of some hours of the day, taken out of the store [Wh]; see [`BankModel::rest`].
    #[inline]
    pub(crate) fn seep(&self, store: &mut Store, hours: f64, day: &BankDay) -> f64 {
        let rate = self.curve.self_discharge_per_h * day.set.warmth.doubling;
        let level = &self.hourly.levels[self.hourly.row(store.wh, 0.0)];
        let lost = less(more(level.soc * level.wh * less(rate * hours, 1.0), 0.0), store.wh);
        store.wh -= lost;
        lost
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::parts::Chemistry;
    use quantity::{Amps, Volts, WattHours};

    /// Two of the library's first battery of a chemistry.
    fn bank(chemistry: Chemistry) -> BankModel {
        let battery = model::library::builtin().battery.values().find(|part| part.chemistry == chemistry);
        let battery = battery.expect("the library has one of each chemistry");
        let bank = model::Bank {
            chemistry,
            series: 1,
            parallel: 2,
            capacity: battery.capacity * 2.0,
            energy: WattHours::zero(),
            usable: WattHours::zero(),
            charge_limit: battery.charge_limit * 2.0,
            discharge_limit: battery.discharge_limit * 2.0,
            surge_limit: battery.discharge_limit * 2.0,
            resistance: battery.internal_resistance * 0.5,
            short_circuit: Amps::zero(),
            voltage_high: Volts::zero(),
            voltage_low: Volts::zero(),
            batteries: Vec::new(),
            zone: 0,
        };
        BankModel::of(&bank, battery)
    }

    /// Power that an hour asks [Wh], above 0 charging: sun by day, loads always, now and then more than the bank can do.
    fn asked(hour: usize, capacity_wh: f64) -> f64 {
        let (day, of_day) = ((hour / 24) as f64, (hour % 24) as f64);
        let sun = (1.0 - ((of_day - 12.5) / 5.0).powi(2)).max(0.0) * (1.2 + 0.8 * (day / 58.0).sin());
        let load = 0.35 + 0.25 * (of_day * 0.9).sin() + 0.1 * (day * 1.7).sin();
        let burst = if hour.is_multiple_of(97) { 6.0 } else { 1.0 };
        (sun - load) * burst * capacity_wh / 12.0
    }

    fn air(day: usize) -> f64 {
        12.0 + 18.0 * (day as f64 / 58.0 - 1.2).sin()
    }

    fn pass(model: &BankModel, store: &mut Store, asked_wh: f64, day: &BankDay) -> Moved {
        if asked_wh >= 0.0 {
            return model.take(store, asked_wh, day);
        }
        let moved = model.give(store, -asked_wh, day);
        Moved { terminal_wh: -moved.terminal_wh, ..moved }
    }

    #[test]
    fn energy_and_charge_tell_one_state() {
        for chemistry in Chemistry::ALL {
            let model = bank(*chemistry);
            for at in 0..=5000 {
                let soc = f64::from(at) / 5000.0;
                let state = BankState { soc, lag: 0.0 };
                assert!((model.state(&model.store(&state)).soc - soc).abs() < 1e-9, "{chemistry} {soc}");
                assert!((model.soc_at(model.wh_at(soc)) - soc).abs() < 1e-6, "{chemistry} {soc}");
            }
        }
    }

    // The model that keeps charge and solves each hour is the reference. Half a row of the tables and the voltage within an hour stay between:
    // 0.06 % of the capacity was seen, and 0.25 % of the losses.
    #[test]
    fn each_hour_comes_near_to_the_solved_one() {
        for chemistry in Chemistry::ALL {
            let model = bank(*chemistry);
            let capacity = model.capacity_wh();
            let mut store = model.store(&model.at(0.8));
            let (mut losses, mut solved_losses, mut worst) = (0.0, 0.0, 0.0_f64);
            for hour in 0..8760 {
                let (temp_c, wanted) = (air(hour / 24), asked(hour, capacity));
                let day = model.day(temp_c);
                let mut state = model.state(&store);
                let step = model.step(&mut state, wanted, temp_c, 1.0);
                let before = store.wh;
                let moved = pass(&model, &mut store, wanted, &day);
                let open = moved.terminal_wh - moved.loss_wh - (store.wh - before);
                assert!(open.abs() < 1e-12 * capacity, "{chemistry} {hour}: open by {open}");
                assert!(moved.loss_wh >= -1e-12 * capacity, "{chemistry} {hour}: {moved:?}");
                let over = (store.wh - capacity).max(-store.wh);
                assert!(over < 1e-12 * capacity, "{chemistry} {hour}: outside by {over}");
                worst = worst.max((store.wh - before - step.stored_wh).abs() / capacity);
                losses += moved.loss_wh;
                solved_losses += step.loss_wh;
            }
            assert!(worst < 1e-3, "{chemistry}: an hour is off by {worst} of the capacity");
            assert!((losses / solved_losses - 1.0).abs() < 3e-3, "{chemistry}: {losses} for {solved_losses}");
        }
    }

    // Each on its own for a year: no drift; 0.13 % was seen.
    #[test]
    fn a_year_comes_out_as_the_solved_one() {
        for chemistry in Chemistry::ALL {
            let model = bank(*chemistry);
            let capacity = model.capacity_wh();
            let (mut store, mut state) = (model.store(&model.at(0.8)), model.at(0.8));
            let (mut sums, mut worst) = ([0.0; 4], 0.0_f64);
            for hour in 0..8760 {
                let (temp_c, wanted) = (air(hour / 24), asked(hour, capacity));
                let day = model.day(temp_c);
                let moved = pass(&model, &mut store, wanted, &day);
                let step = model.step(&mut state, wanted, temp_c, 1.0);
                let way = usize::from(wanted > 0.0);
                sums[way] += moved.terminal_wh;
                sums[way + 2] += step.terminal_wh;
                worst = worst.max((model.soc_at(store.wh) - state.soc).abs());
                if hour % 24 == 23 {
                    model.seep(&mut store, 24.0, &day);
                    model.rest(&mut state, temp_c, 24.0);
                }
            }
            assert!(worst < 2e-3, "{chemistry}: apart by {worst} in state of charge");
            for way in 0..2 {
                assert!((sums[way] / sums[way + 2] - 1.0).abs() < 1e-3, "{chemistry}: {sums:?}");
            }
        }
    }
}
