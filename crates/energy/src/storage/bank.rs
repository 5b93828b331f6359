//! A bank over an hour: what it takes, what it gives, and where the energy goes.
//! Never: looks at a clock or at other parts; the caller gives power, temperature and time.
//! Start at [`BankModel::step`].

use super::curve::{Curve, Warmth};
use super::hourly::Hourly;
use super::tables::{STOPS, TAPER_POINTS};
use super::wells::Wells;
use model::parts::{Battery, Chemistry};

/// Coldest place out of which a battery with a heater warms its cells [°C]; as the parts library says.
const HEATED_FROM_C: f64 = -20.0;
/// Heat that a battery in a box loses per kelvin and kilowatt-hour [W/(kWh·K)]: about 0.33 m² of case per kilowatt-hour at
/// 2 W/(m²·K) behind thin foam. From memory.
const HEAT_LOSS_W_PER_KWH_K: f64 = 0.6;

/// The parameters of a whole bank; nothing in it changes.
///
/// Charge is counted in rated (20 h) capacities: a state of charge of 0 is where a 20 h discharge ends, 1 is full. Energy in store is the
/// integral of the voltage at rest at 25 °C over charge, so it depends on the state of charge alone.
#[derive(Clone, Debug)]
pub struct BankModel {
    chemistry: Chemistry,
    pub(super) curve: &'static Curve,
    pub(super) cells: f64,
    /// Energy of a full unit of charge at 1 V a cell [Wh].
    pub(super) wh: f64,
    pub(super) wh_inverse: f64,
    capacity_ah: f64,
    /// Resistance of a cell of 1 Ah [Ω·Ah], warm, by the sheet.
    pub(super) ohm_ah: f64,
    /// Largest currents over capacity [1/h].
    pub(super) charge_rate: f64,
    pub(super) discharge_rate: f64,
    charge_coldest_c: f64,
    pub(super) discharge_coldest_c: f64,
    pub(super) hottest_c: f64,
    charge_hottest_c: f64,
    is_heated: bool,
    pub(super) wells: Wells,
    lag_left: f64,
    lag_built: f64,
    room_divisor: f64,
    /// Lowest state of charge that holds the cut-off voltage, by current over capacity.
    pub(super) stops: [f64; STOPS + 1],
    pub(super) stops_per_rate: f64,
    pub(super) stop_most: f64,
    pub(super) absorption_cell_v: f64,
    /// Charge taken in an hour at the absorption voltage, by state of charge.
    pub(super) taper: [f64; TAPER_POINTS + 1],
    /// Tables of the hour loop.
    pub(super) hourly: Box<Hourly>,
}

/// What a bank holds at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BankState {
    /// State of charge, 0 to 1 of the rated capacity.
    pub soc: f64,
    /// How far the available charge lags behind the whole, in rated capacities; above 0 after a discharge, below 0 after a charge.
    pub lag: f64,
}

/// What an hour did, all for the whole bank.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Step {
    /// Change in store [Wh].
    pub stored_wh: f64,
    /// Lost to heat and gas [Wh], by its own formulas; 0 or more.
    pub loss_wh: f64,
    /// Taken at the terminals [Wh], below 0 where given: the power asked for times the hours, unless a limit cut it.
    pub terminal_wh: f64,
    /// Mean voltage at the terminals [V].
    pub volts: f64,
    /// Mean current [A], above 0 while charging.
    pub amps: f64,
}

/// Temperature and length of a step, worked out once for many steps: see [`BankModel::conditions`].
#[derive(Clone, Copy, Debug)]
pub struct Conditions {
    hours: f64,
    per_hour: f64,
    pub(super) lag_left: f64,
    pub(super) lag_built: f64,
    pub(super) room_divisor: f64,
    pub(super) warmth: Warmth,
    pub(super) cell_c: f64,
}

/// Resistance term and charge efficiency at the middle of a step.
#[derive(Clone, Copy)]
struct Middle {
    volts: f64,
    /// Loss over charge kept squared [V].
    drop: f64,
    into: f64,
}

/// The smaller; plain comparisons cost the hour loop half of what `f64::min` does, which looks after NaN.
#[inline]
pub(crate) fn less(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// The larger.
#[inline]
pub(crate) fn more(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

impl BankModel {
    /// The model of a bank built of one kind of battery.
    ///
    /// - `bank`: the bank as derived; its capacity, resistance and current limits count.
    /// - `battery`: one battery of it, for chemistry, voltages, temperatures and Peukert exponent.
    ///
    /// Figures that make no sense (a capacity of 0) give a bank that takes and gives nothing.
    pub fn of(bank: &model::Bank, battery: &Battery) -> Self {
        let curve = Curve::of(bank.chemistry);
        let capacity_ah = bank.capacity.get().max(1e-6);
        let in_battery = (battery.voltage.get() / curve.cell_nominal_v).round().max(1.0);
        let cells = in_battery * f64::from(bank.series.max(1));
        let wells = if curve.two_wells { Wells::fit(battery.peukert) } else { Wells::ONE };
        let (lag_left, lag_built) = wells.relax(1.0);
        let wh = cells * capacity_ah;
        let mut model = Self {
            chemistry: bank.chemistry,
            curve,
            cells,
            wh,
            wh_inverse: 1.0 / wh,
            capacity_ah,
            ohm_ah: (bank.resistance.get() * capacity_ah / cells).max(1e-9),
            charge_rate: (bank.charge_limit.get() / capacity_ah).max(0.0),
            discharge_rate: (bank.discharge_limit.get() / capacity_ah).max(0.0),
            charge_coldest_c: battery.charge_coldest.get(),
            discharge_coldest_c: battery.discharge_coldest.get(),
            hottest_c: battery.hottest.get(),
            charge_hottest_c: battery.hottest.get().min(curve.charge_hottest_c),
            is_heated: battery.heated == Some(true),
            wells,
            lag_left,
            lag_built,
            room_divisor: 1.0 / (1.0 + lag_built),
            stops: [0.0; STOPS + 1],
            stops_per_rate: 1.0,
            stop_most: 1.0,
            absorption_cell_v: battery.absorption.get() / in_battery,
            taper: [0.0; TAPER_POINTS + 1],
            hourly: Hourly::blank(),
        };
        model.fill_stops(battery.cutoff.get() / in_battery);
        model.fill_taper();
        model.fill_hourly();
        model
    }

    /// Energy between full and empty at the 20 h rate [Wh].
    pub fn capacity_wh(&self) -> f64 {
        self.curve.full_energy() * self.wh
    }

    /// Rated capacity [Ah].
    pub fn capacity_ah(&self) -> f64 {
        self.capacity_ah
    }

    /// Voltage at rest [V].
    ///
    /// - `soc`: 0 to 1   - `temp_c`: of the cells [°C]. Temperature shifts the voltage seen (lead-acid 0.2 mV a cell and kelvin, from
    ///   memory); energy in store is counted on the curve for 25 °C.
    pub fn open_voltage(&self, soc: f64, temp_c: f64) -> f64 {
        let volts = self.curve.at(less(more(soc, 0.0), 1.0)).volts;
        (volts + self.curve.open_v_per_k * (temp_c - 25.0)) * self.cells
    }

    /// A full bank at rest.
    pub fn full(&self) -> BankState {
        self.at(1.0)
    }

    /// A bank at rest.
    ///
    /// - `soc`: 0 to 1; what lies outside counts as the nearer end.
    pub fn at(&self, soc: f64) -> BankState {
        BankState { soc: if soc.is_finite() { soc.clamp(0.0, 1.0) } else { 0.0 }, lag: 0.0 }
    }

    /// Energy in store above empty [Wh].
    #[inline]
    pub fn stored_wh(&self, state: &BankState) -> f64 {
        self.curve.energy_and_volts(state.soc).0 * self.wh
    }

    /// Power that keeps the cells of a heated bank at their coldest charging temperature [W]; 0 for others, and where it is too cold
    /// for the heater (below −20 °C).
    ///
    /// The other functions take such a bank as warm; the caller feeds the heater.
    #[inline]
    pub fn heater_w(&self, temp_c: f64) -> f64 {
        (self.cell_temp(temp_c) - temp_c) * HEAT_LOSS_W_PER_KWH_K * self.capacity_wh() * 1e-3
    }

    #[inline]
    fn cell_temp(&self, temp_c: f64) -> f64 {
        let is_warmed = self.is_heated && (HEATED_FROM_C..self.charge_coldest_c).contains(&temp_c);
        if is_warmed { self.charge_coldest_c } else { temp_c }
    }

    /// What holds for steps of `hours` at a temperature of the place [°C].
    #[inline]
    pub fn conditions(&self, temp_c: f64, hours: f64) -> Conditions {
        let cell_c = self.cell_temp(temp_c);
        let warmth = self.curve.warmth(cell_c);
        if hours == 1.0 {
            let (lag_left, lag_built, room_divisor) = (self.lag_left, self.lag_built, self.room_divisor);
            return Conditions { hours, per_hour: 1.0, lag_left, lag_built, room_divisor, warmth, cell_c };
        }
        let (lag_left, lag_built) = self.wells.relax(hours);
        let room_divisor = hours / (hours + lag_built);
        Conditions { hours, per_hour: 1.0 / hours, lag_left, lag_built, room_divisor, warmth, cell_c }
    }

    /// Whether the cells are neither too cold nor too hot to charge.
    #[inline]
    pub(super) fn may_take(&self, set: &Conditions) -> bool {
        set.cell_c >= self.charge_coldest_c && set.cell_c <= self.charge_hottest_c
    }

    /// Most charge that may go in, in rated capacities.
    #[inline]
    fn most_in(&self, state: &BankState, into: f64, set: &Conditions) -> f64 {
        if !self.may_take(set) {
            return 0.0;
        }
        let by_current = self.charge_rate * set.warmth.share * set.hours / into;
        let in_an_hour = self.tapered(state.soc);
        // The current falls as it fills: short times take at most what flows now, long ones what the first hour takes.
        let by_voltage = if set.hours == 1.0 {
            in_an_hour
        } else {
            (self.driven(&self.curve.at(state.soc)) * set.hours).min(in_an_hour * set.hours.max(1.0))
        } * set.warmth.taper;
        let room = 1.0 - state.soc;
        // The available well fills first.
        let by_wells = (room + state.lag * set.lag_left) * set.room_divisor;
        more(less(less(by_current, by_voltage), less(by_wells, room)), 0.0)
    }

    /// Most charge that may come out, in rated capacities, before the voltage is looked at.
    #[inline]
    fn most_out(&self, state: &BankState, set: &Conditions) -> f64 {
        let allowed = set.cell_c >= self.discharge_coldest_c && set.cell_c <= self.hottest_c;
        if !allowed {
            return 0.0;
        }
        let locked = set.warmth.locked;
        let level = state.soc + self.wells.extra - state.lag * set.lag_left;
        let by_wells = (level - (1.0 + self.wells.extra) * locked) * set.room_divisor;
        let by_current = self.discharge_rate * set.hours;
        more(less(less(by_current, by_wells), state.soc - locked), 0.0)
    }

    /// Lowest state of charge at which a current keeps the voltage up.
    #[inline]
    fn stop(&self, rate: f64) -> f64 {
        let place = less(rate * self.stops_per_rate, STOPS as f64);
        let index = (place as u32 as usize).min(STOPS - 1);
        let (low, high) = (self.stops[index], self.stops[index + 1]);
        low + (place - index as f64) * (high - low)
    }

    /// Charge out, cut so that the voltage at the end is not below the cut-off.
    #[inline]
    fn held_by_voltage(&self, soc: f64, out: f64, set: &Conditions) -> f64 {
        // Above the highest stop of all currents nothing can be held back.
        if soc - out >= self.stop_most {
            return out;
        }
        let per_out = set.per_hour * set.warmth.discharge;
        let over = |out: f64| soc - out - self.stop(out * per_out);
        if over(out) >= 0.0 { out } else { self.stopped_by_voltage(out, over) }
    }

    /// The root of a falling function between 0 and where it is below 0: false position, the kept end halved (Illinois).
    #[cold]
    fn stopped_by_voltage(&self, out: f64, over: impl Fn(f64) -> f64) -> f64 {
        let (mut low, mut high) = (0.0, out);
        let (mut at_low, mut at_high) = (over(low), over(high));
        if at_low <= 0.0 {
            return 0.0;
        }
        for _ in 0..24 {
            let middle = low + (high - low) * (at_low / (at_low - at_high));
            let at_middle = over(middle);
            if at_middle.abs() < 1e-13 {
                return middle;
            }
            if at_middle >= 0.0 {
                (low, at_low) = (middle, at_middle);
                at_high *= 0.5;
            } else {
                (high, at_high) = (middle, at_middle);
                at_low *= 0.5;
            }
        }
        low
    }

    #[inline]
    fn middle(&self, soc: f64, is_charging: bool, set: &Conditions) -> Middle {
        let at = self.curve.at(less(more(soc, 0.0), 1.0));
        let (ratio, into) = if is_charging {
            (at.charge * set.warmth.charge, at.into)
        } else {
            (at.discharge * set.warmth.discharge, 1.0)
        };
        Middle { volts: at.volts, drop: self.ohm_ah * ratio * into * into * set.per_hour, into }
    }

    /// Energy at the terminals for a charge moved from a state, with its parts: (store, loss) [Wh per Ah and cell].
    #[inline]
    fn energy(&self, soc: f64, moved: f64, middle: &Middle) -> (f64, f64) {
        let stored = self.curve.change(soc, moved).0;
        (stored, middle.drop * moved * moved + (middle.into - 1.0) * stored)
    }

    /// Power at the terminals for a charge moved [W].
    #[inline]
    fn power(&self, soc: f64, moved: f64, set: &Conditions) -> f64 {
        let middle = self.middle(soc + 0.5 * moved, moved > 0.0, set);
        let (stored, loss) = self.energy(soc, moved, &middle);
        (stored + loss) * self.wh * set.per_hour
    }

    /// Most power that the bank takes at its terminals for `hours` [W], 0 or more.
    ///
    /// The least of: the current limit, less in the cold and none below `charge_coldest` or above the hottest charging temperature; what the
    /// absorption voltage drives through the charging resistance (taper); and the room in the available well and in all.
    #[inline]
    pub fn charge_limit_w(&self, state: &BankState, temp_c: f64, hours: f64) -> f64 {
        let set = self.conditions(temp_c, hours);
        let moved = self.most_in(state, self.curve.at(state.soc).into, &set);
        if moved > 0.0 { self.power(state.soc, moved, &set) } else { 0.0 }
    }

    /// Most power that the bank gives at its terminals for `hours` [W], 0 or more.
    ///
    /// The least of: the current limit, none outside the discharging temperatures; the charge in reach (two wells for lead-acid, less in
    /// the cold); and what keeps the voltage at the end of the time at the cut-off.
    #[inline]
    pub fn discharge_limit_w(&self, state: &BankState, temp_c: f64, hours: f64) -> f64 {
        let set = self.conditions(temp_c, hours);
        let out = self.held_by_voltage(state.soc, self.most_out(state, &set), &set);
        if out > 0.0 { (-self.power(state.soc, -out, &set)).max(0.0) } else { 0.0 }
    }

    /// Moves power through the terminals for some time; see [`BankModel::step_in`].
    #[inline]
    pub fn step(&self, state: &mut BankState, power_w: f64, temp_c: f64, hours: f64) -> Step {
        self.step_in(state, power_w, &self.conditions(temp_c, hours))
    }

    /// Moves power through the terminals for some time.
    ///
    /// - `power_w` [W], above 0 charging, below 0 discharging
    ///
    /// Solves `P h = n ΔE(q) + r q²`, q the charge kept: ΔE the change in store, n = 1/efficiency while charging and 1 otherwise, r the
    /// resistance at the middle of the step. Loss is `r q² + (n − 1) ΔE`, and what goes through the terminals is the sum of both, to the
    /// last digit. `terminal_wh` says it: what was asked, or less where a limit cut it.
    #[inline]
    pub fn step_in(&self, state: &mut BankState, power_w: f64, set: &Conditions) -> Step {
        let soc = state.soc;
        let is_charging = power_w > 0.0;
        let asked = power_w * set.hours * self.wh_inverse;
        // The solver stays within the limits; where it ends at one of them, that is the answer.
        let (low, high) = if is_charging {
            (0.0, self.most_in(state, self.curve.at(soc).into, set))
        } else {
            (-self.most_out(state, set), 0.0)
        };
        if low == high {
            state.lag *= set.lag_left;
            return Step { volts: self.curve.at(soc).volts * self.cells, ..Step::default() };
        }
        // The middle of what can move: far more may be asked, beyond full, where everything would be lost.
        let about = less(more(asked * self.curve.inverse_nominal_v, low), high);
        let middle = self.middle(soc + 0.5 * about, is_charging, set);
        let slope = middle.volts * middle.into;
        let inverse = 1.0 / slope;
        let straight = asked * inverse;
        let bend = middle.drop * straight * inverse;
        // The root of `slope q + drop q² = asked`; where little is lost its series is as good, and the root costs more.
        let guess = if bend.abs() < 0.06 {
            straight * (1.0 - bend * (1.0 - bend * (2.0 - 5.0 * bend)))
        } else {
            2.0 * asked / (slope + (slope * slope + 4.0 * middle.drop * asked).max(0.0).sqrt())
        };
        let mut moved = less(more(guess, low), high);
        // Once within a millionth, what a turn more would leave is its square: that turn needs no new look at the curve.
        let enough = asked.abs() * 1e-6;
        let mut stored = 0.0;
        for _ in 0..8 {
            let volts;
            (stored, volts) = self.curve.change(soc, moved);
            let over = stored * middle.into + middle.drop * moved * moved - asked;
            let steep = more(volts * middle.into + 2.0 * middle.drop * moved, 0.1 * slope);
            let next = less(more(moved - over / steep, low), high);
            if over.abs() <= enough {
                stored += volts * (next - moved);
                moved = next;
                break;
            }
            if next == moved {
                break;
            }
            moved = next;
        }
        let (mut into, mut drop) = (middle.into, middle.drop);
        let held = if moved < 0.0 { -self.held_by_voltage(soc, -moved, set) } else { moved };
        if held != moved || moved == low || moved == high {
            // Cut: resistance and efficiency are those of what really moves.
            moved = held;
            let middle = self.middle(soc + 0.5 * moved, is_charging, set);
            stored = self.curve.change(soc, moved).0;
            (into, drop) = (middle.into, middle.drop);
        }
        state.soc = soc + moved;
        state.lag = state.lag * set.lag_left - moved * set.per_hour * set.lag_built;
        let loss = drop * moved * moved + (into - 1.0) * stored;
        let flowed = moved * into;
        let terminal = stored + loss;
        let volts = if flowed == 0.0 { middle.volts } else { terminal / flowed };
        Step {
            stored_wh: stored * self.wh,
            loss_wh: loss * self.wh,
            terminal_wh: terminal * self.wh,
            volts: volts * self.cells,
            amps: flowed * set.per_hour * self.capacity_ah,
        }
    }

    /// Self-discharge: takes from the store what is lost in `hours`, and returns it [Wh].
    ///
    /// The rate at 25 °C doubles with every 10 K (common practice). May be called once a day instead of every hour.
    #[inline]
    pub fn rest(&self, state: &mut BankState, temp_c: f64, hours: f64) -> f64 {
        let rate = self.curve.self_discharge_per_h * self.curve.doubling(self.cell_temp(temp_c));
        let before = self.stored_wh(state);
        state.soc *= (1.0 - rate * hours).max(0.0);
        before - self.stored_wh(state)
    }

    /// How long a full bank gives a constant current [h], until its charge in reach or its voltage ends it.
    ///
    /// - `amps` [A], above 0 and within the discharge limit; otherwise 0   - `temp_c` [°C]
    pub fn run_time_h(&self, amps: f64, temp_c: f64) -> f64 {
        let rate = amps / self.capacity_ah;
        if !(rate > 0.0 && rate <= self.discharge_rate) {
            return 0.0;
        }
        const PART: f64 = 0.002;
        let set = self.conditions(temp_c, PART / rate);
        let mut state = self.full();
        let mut hours = 0.0;
        while state.soc > 0.0 {
            let out = self.held_by_voltage(state.soc, PART.min(self.most_out(&state, &set)), &set);
            hours += out / rate;
            if out < PART {
                break;
            }
            state = BankState { soc: state.soc - out, lag: state.lag * set.lag_left + rate * set.lag_built };
        }
        hours
    }

    /// The chemistry's two wells, for tests and tables: available share, rate [1/h], and all charge over the rated.
    pub fn wells(&self) -> (f64, f64, f64) {
        (self.wells.c, self.wells.k, 1.0 + self.wells.extra)
    }

    /// Its chemistry.
    pub fn chemistry(&self) -> Chemistry {
        self.chemistry
    }

    pub(super) fn curve(&self) -> &'static Curve {
        self.curve
    }

    /// State of charge from which the bank counts as full: 95 % for lead-acid, where the last charge seeps in over a day, 98 % for lithium
    /// (common practice, no source).
    pub fn full_soc(&self) -> f64 {
        self.curve.full_soc
    }
}
