//! How a bank wears: cycles by depth, heat, time away from full; and from them the years until 80 % of the capacity is left.
//! Never: changes the bank; a simulated year runs with the capacity that it began with.
//! Start at [`Wear::count`] in the hour loop and [`Wear::ageing`] after it.

use super::bank::{BankModel, BankState};
use super::curve::Curve;
use super::life::Life;
use model::parts::Chemistry;
use serde::Serialize;

/// Depths that are told apart: tenths of the capacity.
pub const DEPTHS: usize = 10;
/// Turning points that wait for their partner; of more than these the oldest counts as half a cycle.
const WAITING: usize = 24;
/// Temperature classes of 1 K, the first around −40 °C.
const CLASSES: usize = 112;
const COLDEST_C: f64 = -40.0;
/// A turn smaller than this share of the capacity is no turn.
const SMALLEST_TURN: f64 = 0.005;

/// What wears a bank, counted hour by hour without allocation.
#[derive(Clone, Debug)]
pub struct Wear {
    chemistry: Chemistry,
    curve: &'static Curve,
    hours: f64,
    charge_out: f64,
    before: f64,
    rising: bool,
    turn: f64,
    waiting: [f64; WAITING],
    waits: usize,
    cycles: [f64; DEPTHS],
    depth_sums: [f64; DEPTHS],
    class_hours: [f64; CLASSES],
    soc_sums: [f64; CLASSES],
    since_full: f64,
    longest_since_full: f64,
    times_full: u32,
    was_full: bool,
}

/// How long a bank lasts, estimated from a time that was counted.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ageing {
    /// Charge taken out over the rated capacity, a year.
    pub full_cycles_per_year: f64,
    /// Cycles a year by depth, tenths of the capacity, shallowest first; a half cycle counts 0.5.
    pub cycles_per_year: [f64; DEPTHS],
    /// Mean state of charge, 0 to 1.
    pub mean_soc: f64,
    /// Mean temperature [°C].
    pub mean_temp_c: f64,
    /// Share of the capacity lost in the first year by time and heat alone.
    pub calendar_loss_first_year: f64,
    /// Share of the capacity lost in the first year by cycling alone.
    pub cycle_loss_first_year: f64,
    /// Years until 80 % of the capacity is left.
    pub years: f64,
    /// The same if all goes badly, and if all goes well: what makers and papers differ by. From memory.
    pub years_range: (f64, f64),
    /// Longest time without being full [days].
    pub longest_days_since_full: f64,
    /// Times that it came to be full, a year.
    pub times_full_per_year: f64,
}

impl Wear {
    /// Nothing counted yet.
    pub fn new(bank: &BankModel) -> Self {
        Self {
            chemistry: bank.chemistry(),
            curve: bank.curve(),
            hours: 0.0,
            charge_out: 0.0,
            before: f64::NAN,
            rising: false,
            turn: f64::NAN,
            waiting: [0.0; WAITING],
            waits: 0,
            cycles: [0.0; DEPTHS],
            depth_sums: [0.0; DEPTHS],
            class_hours: [0.0; CLASSES],
            soc_sums: [0.0; CLASSES],
            since_full: 0.0,
            longest_since_full: 0.0,
            times_full: 0,
            was_full: true,
        }
    }

    /// Counts the time that ended in a state.
    ///
    /// - `temp_c` [°C] of the cells   - `hours` [h], above 0
    #[inline]
    pub fn count(&mut self, state: &BankState, temp_c: f64, hours: f64) {
        let soc = state.soc;
        // Half up; colder and hotter than the classes fall into the outer ones.
        let class = ((temp_c - COLDEST_C + 0.5) as usize).min(CLASSES - 1);
        self.hours += hours;
        self.class_hours[class] += hours;
        self.soc_sums[class] += soc * hours;
        // NaN before the first hour: nothing has flowed, and the first state is the first turn.
        self.charge_out += (self.before - soc).max(0.0);
        self.before = soc;
        let is_full = soc >= self.curve.full_soc;
        self.since_full = if is_full { 0.0 } else { self.since_full + hours };
        self.longest_since_full = self.longest_since_full.max(self.since_full);
        self.times_full += u32::from(is_full && !self.was_full);
        self.was_full = is_full;
        // Follow the extreme; a turn is known once the way back exceeds the smallest turn.
        let ahead = if self.rising { soc - self.turn } else { self.turn - soc };
        if ahead >= 0.0 {
            self.turn = soc;
        } else if ahead < -SMALLEST_TURN || self.turn.is_nan() {
            self.turned(soc);
        }
    }

    /// Stores a turning point and takes out the cycles that it closes (three-point rainflow count of ASTM E1049).
    #[cold]
    fn turned(&mut self, soc: f64) {
        if self.turn.is_nan() {
            // The start is the first turning point; which way it leads is seen later.
            (self.turn, self.rising) = (soc, false);
            (self.waiting[0], self.waits) = (soc, 1);
            return;
        }
        if self.waits == 1 && self.turn == self.waiting[0] {
            (self.turn, self.rising) = (soc, !self.rising);
            return;
        }
        if self.waits == WAITING {
            self.drop_oldest();
        }
        self.waiting[self.waits] = self.turn;
        self.waits += 1;
        (self.turn, self.rising) = (soc, !self.rising);
        while self.waits >= 3 {
            let [a, b, c] = [3, 2, 1].map(|back| self.waiting[self.waits - back]);
            let (older, newer) = ((a - b).abs(), (b - c).abs());
            if newer < older {
                break;
            }
            if self.waits == 3 {
                // The range holds the start of the record: half a cycle.
                self.drop_oldest();
            } else {
                self.cycle(older, 1.0);
                self.waiting[self.waits - 3] = c;
                self.waits -= 2;
            }
        }
    }

    fn drop_oldest(&mut self) {
        self.cycle((self.waiting[0] - self.waiting[1]).abs(), 0.5);
        self.waiting.copy_within(1..self.waits, 0);
        self.waits -= 1;
    }

    fn cycle(&mut self, depth: f64, count: f64) {
        let class = ((depth * DEPTHS as f64) as usize).min(DEPTHS - 1);
        self.cycles[class] += count;
        self.depth_sums[class] += depth * count;
    }

    /// Charge taken out so far, over the rated capacity.
    pub fn full_cycles(&self) -> f64 {
        if self.charge_out.is_nan() { 0.0 } else { self.charge_out }
    }

    /// Days since the bank was last full, at the end of what was counted.
    pub fn days_since_full(&self) -> f64 {
        self.since_full / 24.0
    }

    /// Longest time without being full [days].
    pub fn longest_days_since_full(&self) -> f64 {
        self.longest_since_full / 24.0
    }

    /// Cycles by depth, in tenths of the capacity, those still open counted as halves; and the sum of depths in each class.
    pub fn cycles(&self) -> ([f64; DEPTHS], [f64; DEPTHS]) {
        let mut closed = self.clone();
        if !closed.turn.is_nan() && closed.waits > 0 {
            if closed.waits == WAITING {
                closed.drop_oldest();
            }
            closed.waiting[closed.waits] = closed.turn;
            closed.waits += 1;
        }
        while closed.waits >= 2 {
            closed.drop_oldest();
        }
        (closed.cycles, closed.depth_sums)
    }

    /// What the counted time says about the bank's life, taken as typical of every year.
    ///
    /// Nothing counted gives a life without wear: infinite years.
    pub fn ageing(&self) -> Ageing {
        let life = Life::of(self.chemistry);
        let years = self.hours / 8760.0;
        let per_year = if years > 0.0 { 1.0 / years } else { 0.0 };
        let (cycles, depths) = self.cycles();
        let share = |sums: &[f64; CLASSES], class: usize| {
            if self.hours > 0.0 { sums[class] / self.hours } else { 0.0 }
        };
        let mut calendar = 0.0;
        let (mut mean_temp_c, mut mean_soc) = (0.0, 0.0);
        for class in 0..CLASSES {
            let (time, weighted) = (share(&self.class_hours, class), share(&self.soc_sums, class));
            let temp_c = COLDEST_C + class as f64;
            mean_temp_c += time * temp_c;
            mean_soc += weighted;
            if time > 0.0 {
                calendar += time * life.calendar(temp_c, weighted / time);
            }
        }
        let full_cycles = self.full_cycles() * per_year;
        let cycle = life.cycling(&cycles, &depths, per_year);
        let loss = |years: f64| life.loss(calendar, years) + life.loss(cycle, years);
        let years = life.years(calendar, cycle);
        Ageing {
            full_cycles_per_year: full_cycles,
            cycles_per_year: cycles.map(|count| count * per_year),
            mean_soc,
            mean_temp_c,
            calendar_loss_first_year: life.loss(calendar, 1.0),
            cycle_loss_first_year: loss(1.0) - life.loss(calendar, 1.0),
            years,
            years_range: (years * life.range.0, years * life.range.1),
            longest_days_since_full: self.longest_days_since_full(),
            times_full_per_year: f64::from(self.times_full) * per_year,
        }
    }
}
