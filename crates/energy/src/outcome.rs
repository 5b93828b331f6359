//! What a run of the hours tells: energy by where it came from and where it went, and how close the bank came to empty.
//! Never: computes; the runs fill these in.
//! Start at [`Books`], then [`Year`] and [`Years`].

use quantity::{Fraction, Hours, WattHours};
use serde::Serialize;

use crate::site::MONTHS;

/// Energy of a stretch of time [Wh], by where it came from and where it went.
///
/// What came in is `sun + engine + shore + generator`; it equals `loads_dc + loads_ac + losses + stored`.
/// `curtailed`, `given_up` and `short` never were in the system and stand beside the sum.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Books {
    /// From the arrays, as far as it was used.
    pub sun_wh: f64,
    /// From the engine's alternator.
    pub engine_wh: f64,
    /// From shore power.
    pub shore_wh: f64,
    /// From the generator.
    pub generator_wh: f64,
    /// Taken by direct-current loads.
    pub loads_dc_wh: f64,
    /// Taken by alternating-current loads.
    pub loads_ac_wh: f64,
    /// Lost in solar controllers.
    pub controller_loss_wh: f64,
    /// Lost in DC-DC charger, relay and its cable.
    pub engine_loss_wh: f64,
    /// Lost in chargers on alternating current.
    pub charger_loss_wh: f64,
    /// Lost in the inverter while it works.
    pub inverter_loss_wh: f64,
    /// Idle draw of inverter, controllers and monitor.
    pub idle_wh: f64,
    /// Lost in the bank: resistance, charging, self-discharge.
    pub bank_loss_wh: f64,
    /// Taken by the bank's own heater.
    pub heater_wh: f64,
    /// Change of what the bank holds.
    pub stored_wh: f64,
    /// Sun that nobody could take.
    pub curtailed_wh: f64,
    /// Asked by loads of least importance and given up in time.
    pub given_up_wh: f64,
    /// Asked and not served: the bank had run out.
    pub short_wh: f64,
}

impl Books {
    /// All that came in.
    pub fn came_in(&self) -> f64 {
        self.sun_wh + self.engine_wh + self.shore_wh + self.generator_wh
    }
    /// All that was lost.
    pub fn lost(&self) -> f64 {
        self.controller_loss_wh
            + self.engine_loss_wh
            + self.charger_loss_wh
            + self.inverter_loss_wh
            + self.idle_wh
            + self.bank_loss_wh
            + self.heater_wh
    }
    /// All that loads took.
    pub fn served(&self) -> f64 {
        self.loads_dc_wh + self.loads_ac_wh
    }
    /// All that loads asked for.
    pub fn asked(&self) -> f64 {
        self.served() + self.given_up_wh + self.short_wh
    }
    /// How far the books are from closing, as a share of what went through them.
    pub fn gap(&self) -> f64 {
        let out = self.served() + self.lost() + self.stored_wh;
        let through = self.came_in().max(self.served() + self.lost()).max(1.0);
        (self.came_in() - out).abs() / through
    }
    /// Adds another stretch of time.
    pub fn add(&mut self, other: &Self) {
        for (mine, other) in self.entries().into_iter().zip(Self::clone(other).entries()) {
            *mine += *other;
        }
    }
    /// Multiplies every entry.
    pub fn scale(&mut self, by: f64) {
        for entry in self.entries() {
            *entry *= by;
        }
    }
    fn entries(&mut self) -> [&mut f64; 17] {
        [
            &mut self.sun_wh,
            &mut self.engine_wh,
            &mut self.shore_wh,
            &mut self.generator_wh,
            &mut self.loads_dc_wh,
            &mut self.loads_ac_wh,
            &mut self.controller_loss_wh,
            &mut self.engine_loss_wh,
            &mut self.charger_loss_wh,
            &mut self.inverter_loss_wh,
            &mut self.idle_wh,
            &mut self.bank_loss_wh,
            &mut self.heater_wh,
            &mut self.stored_wh,
            &mut self.curtailed_wh,
            &mut self.given_up_wh,
            &mut self.short_wh,
        ]
    }
}

/// A month of a run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Month {
    /// Its energy.
    pub books: Books,
    /// Lowest state of charge.
    pub lowest: f64,
    /// Hours in which something that is not spare went short.
    pub short_hours: u32,
    /// Days on which the bank became full.
    pub full_days: u32,
    /// Days in use.
    pub used_days: u32,
    /// Generator running [h].
    pub generator_hours: f64,
}

/// Hour by hour, for a picture: each list as long as the stretch.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Trace {
    /// First hour of the year.
    pub first_hour: usize,
    /// State of charge at the end of the hour.
    pub soc: Vec<f64>,
    /// Sun used [W].
    pub sun_w: Vec<f64>,
    /// Sun that nobody could take [W].
    pub curtailed_w: Vec<f64>,
    /// Engine [W].
    pub engine_w: Vec<f64>,
    /// Shore and generator [W].
    pub supply_w: Vec<f64>,
    /// What loads, losses outside the bank and idle draw took [W].
    pub need_w: Vec<f64>,
    /// Asked and not served [W].
    pub short_w: Vec<f64>,
}

/// One year, hour by hour.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Year {
    /// What the weather is: a file, or the built-in climate of a place.
    pub weather: String,
    /// The months.
    pub months: [Month; MONTHS],
    /// The whole year.
    pub total: Books,
    /// Lowest state of charge and the hour of it.
    pub lowest: (f64, usize),
    /// Lowest and highest state of charge of each day.
    pub days: Vec<(f64, f64)>,
    /// The week in which the bank came closest to empty, hour by hour.
    pub worst_week: Trace,
    /// Longest time between two days on which the bank became full.
    pub longest_unfilled: Hours,
    /// Equivalent full cycles.
    pub full_cycles: f64,
    /// Years until the bank holds four fifths, and the range of that estimate.
    pub bank_life: BankLife,
    /// Share of what the bank gave that went to idle draw.
    pub share_idle: Fraction,
    /// What was assumed on the way.
    pub notes: Vec<crate::weather::Note>,
}

/// How long a bank holds four fifths of its capacity.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BankLife {
    /// Best estimate [years].
    pub years: f64,
    /// Low end of the estimate.
    pub low: f64,
    /// High end of it.
    pub high: f64,
    /// Share of the wear that comes from use; the rest from time.
    pub from_use: Fraction,
}

/// A chance with its 95 % interval, after Wilson 1927.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Chance {
    /// Years in which it happened.
    pub happened: u32,
    /// Years looked at.
    pub of: u32,
    /// Share.
    pub share: Fraction,
    /// Low end.
    pub low: Fraction,
    /// High end.
    pub high: Fraction,
}

impl Chance {
    /// From a count.
    pub fn of(happened: u32, of: u32) -> Self {
        let (k, n) = (f64::from(happened), f64::from(of.max(1)));
        // 95 % two-sided normal quantile.
        let z = 1.959_963_984_540_054;
        let p = k / n;
        let middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
        let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
        let share = |x: f64| Fraction::new(x.clamp(0.0, 1.0));
        // At the ends the interval ends there too; the formula gives it but for rounding.
        let low = if happened == 0 { 0.0 } else { middle - half };
        let high = if happened >= of { 1.0 } else { middle + half };
        Self { happened, of, share: share(p), low: share(low), high: share(high) }
    }
}

/// Many years of weather.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Years {
    /// How many.
    pub count: u32,
    /// Seed of the weather and of the loads' chance.
    pub seed: u64,
    /// What climate the weather is drawn from.
    pub weather: String,
    /// Chance that something that is not spare goes short at least once in the year.
    pub running_out: Chance,
    /// The same in each month.
    pub months: [MonthsOfYears; MONTHS],
    /// Of the years that ran out: hours short in the year, mean and worst.
    pub short_hours: (f64, f64),
    /// Longest single stretch without, over all years.
    pub longest_short: Hours,
    /// Energy short in a year, mean and worst.
    pub short: (WattHours, WattHours),
    /// Lowest state of charge of each day: 5 %, 25 %, 50 %, 75 % and 95 % of years lie below.
    pub band: Vec<[f64; 5]>,
    /// Mean energy of a year.
    pub mean: Books,
    /// Smallest, mean and largest yearly sun that could be taken.
    pub sun: (WattHours, WattHours, WattHours),
    /// Number of the year with most energy short, or with the lowest bank where none ran out.
    pub worst_year: u32,
    /// Largest gap of the books over all years.
    pub books_gap: f64,
}

/// A month over many years.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MonthsOfYears {
    /// Chance of running out in it.
    pub running_out: Chance,
    /// Mean hours short.
    pub short_hours: f64,
    /// Lowest state of charge: the lowest of all years and the mean of the years.
    pub lowest: (f64, f64),
    /// Mean energy.
    pub books: Books,
}

#[cfg(test)]
mod tests {
    use super::*;

    // Wilson's interval as printed in Brown, Cai and DasGupta 2001, "Interval estimation for a binomial proportion",
    // from its formula: 0 of 10 gives (0, 0.2775), 5 of 10 gives (0.2366, 0.7634). Values recomputed by hand.
    #[test]
    fn intervals_are_wilsons() {
        let none = Chance::of(0, 10);
        assert_eq!(none.low.get(), 0.0);
        assert!((none.high.get() - 0.2775).abs() < 5e-5);
        let half = Chance::of(5, 10);
        assert!((half.low.get() - 0.2366).abs() < 5e-5 && (half.high.get() - 0.7634).abs() < 5e-5);
    }
}
