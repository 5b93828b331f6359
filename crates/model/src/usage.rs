//! When things run: the habit of a load, and how the whole project is used over the year.
//! Never: computes energy; the energy study does, from this and the graph of the system.
//! Start at [`Usage`].

use quantity::{Amps, Degrees, Fraction, HoursPerDay, WattHoursPerDay};
use serde::Serialize;

use crate::calendar::{ClockTime, DaySpan};
use crate::intent::{Follows, Importance, Place, Season};

/// When a load runs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Habit {
    /// Energy of a day on which it runs as usual, without standby.
    pub energy: WattHoursPerDay,
    /// Season.
    pub season: Season,
    /// What its running time follows; [`Habit::energy`] is then of a hot or a cold day.
    pub follows: Option<Follows>,
    /// Time of day from which it runs.
    pub from: ClockTime,
    /// Time of day until which it runs; not after `from` means the next day.
    pub until: ClockTime,
    /// What is given up first when the bank runs low.
    pub importance: Importance,
}

impl Habit {
    /// A load that takes its energy evenly, day and night, all year.
    pub fn steady(energy: WattHoursPerDay) -> Self {
        Self {
            energy,
            season: Season::AllYear,
            follows: None,
            from: ClockTime::from_minutes(0),
            until: ClockTime::from_minutes(1440),
            importance: Importance::Usual,
        }
    }
}

/// How the project is used over the year: what the energy study reads beside the graph.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Usage {
    /// Place; latitude is assumed where nobody said.
    pub place: Place,
    /// Season of use.
    pub season: Season,
    /// Stretches of days in use; empty: the whole season.
    pub used: Vec<DaySpan>,
    /// Days of use in a week of those.
    pub days_per_week: u32,
    /// Engine charging.
    pub engine: Option<EngineUse>,
    /// Shore power and generator.
    pub supply: SupplyUse,
    /// Mean hours a day for which the inverter is switched on.
    pub inverter_hours: HoursPerDay,
    /// A file of hourly weather beside intent.toml.
    pub weather_file: Option<String>,
    /// Height of the horizon at equal steps of direction, clockwise from north; empty: flat.
    pub horizon: Vec<Degrees>,
    /// Share of light that the ground throws back.
    pub ground: Fraction,
    /// Chance of running out at least once in a year of use that is put up with.
    pub running_out: Fraction,
    /// Years that the bank is to last.
    pub bank_years: u32,
}

impl Usage {
    /// Used every day of the year at a place, with nothing that charges; for systems described by hand.
    pub fn all_year(place: Place) -> Self {
        let clock = ClockTime::from_minutes;
        Self {
            place,
            season: Season::AllYear,
            used: Vec::new(),
            days_per_week: 7,
            engine: None,
            supply: SupplyUse {
                shore: HoursPerDay::zero(),
                shore_every: 1,
                shore_from: clock(18 * 60),
                generator: HoursPerDay::zero(),
                generator_start: None,
                generator_stop: None,
                generator_from: clock(8 * 60),
                generator_until: clock(20 * 60),
            },
            inverter_hours: HoursPerDay::zero(),
            weather_file: None,
            horizon: Vec::new(),
            ground: Fraction::new(0.2),
            running_out: Fraction::new(0.1),
            bank_years: 8,
        }
    }
}

/// When the engine charges.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EngineUse {
    /// What the alternator can spare at the engine's voltage.
    pub spare: Amps,
    /// Mean driving.
    pub driving: HoursPerDay,
    /// Days from one drive to the next.
    pub every: u32,
    /// Time of day at which a drive begins.
    pub from: ClockTime,
}

/// When shore power and generator are there; hours of zero where there is none.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SupplyUse {
    /// Mean hours of shore power.
    pub shore: HoursPerDay,
    /// Days from one stay with shore power to the next.
    pub shore_every: u32,
    /// Time of day at which it is plugged in.
    pub shore_from: ClockTime,
    /// Most hours a day that the generator runs.
    pub generator: HoursPerDay,
    /// State of charge below which it is started; `None` where nobody said.
    pub generator_start: Option<Fraction>,
    /// State of charge above which it is stopped.
    pub generator_stop: Option<Fraction>,
    /// Time of day from which it may run.
    pub generator_from: ClockTime,
    /// Time of day until which it may run.
    pub generator_until: ClockTime,
}
