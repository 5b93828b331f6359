//! The hour loop: what each hour asks, who serves it, what the bank gives or takes, what is left over or goes short.
//! Never: makes weather or loads; allocates; rounds. The books of every run close.
//! Start at [`run`].
//!
//! Order of an hour: sun, engine, and shore or generator carry the loads, the one set to the highest voltage first; what is over goes into the bank as far as it takes it,
//! and sun that is then still over is curtailed. What is missing comes out of the bank. Spare loads are given up below the spare
//! floor, usual ones at the floor; vital ones run until the bank itself stops.
//!
//! Most hours have no source but the sun and nothing goes short: `lane.rs` passes them itself, after `day.rs` has worked out a
//! whole day's sun and need ahead. All others go through `hour.rs`, which keeps the whole order.

use crate::hour::Fixed;
use crate::lane::{Lane, Part};
use crate::outcome::{Books, Month};
use crate::plant::Plant;
use crate::site::{DAYS, HOURS, MONTH_STARTS, MONTHS};
use crate::storage::BankState;

/// What comes from outside, by the hour; each list [`HOURS`] long.
#[derive(Clone, Copy, Debug)]
pub struct Outside<'h> {
    /// What the controllers could put on the busbars [W].
    pub sun_w: &'h [f64],
    /// Air temperature [°C].
    pub air_c: &'h [f64],
    /// Factor of each day's use, [`DAYS`] long; 1 for a day like any other.
    pub vary: &'h [f64],
}

/// One hour's flows [W], at the busbars.
#[derive(Clone, Copy, Debug, Default)]
pub struct Flow {
    /// State of charge at its end.
    pub soc: f64,
    /// Temperature of the bank [°C].
    pub bank_c: f64,
    /// Sun used.
    pub sun_w: f64,
    /// Sun that nobody could take.
    pub curtailed_w: f64,
    /// Engine.
    pub engine_w: f64,
    /// Shore or generator, as far as it came through the charger or carried AC loads.
    pub supply_w: f64,
    /// What was taken off the busbars, and by AC loads straight from the supply.
    pub need_w: f64,
    /// Asked and not served.
    pub short_w: f64,
}

/// Looks on while the hours pass.
pub trait Watch {
    /// An hour has passed.
    fn hour(&mut self, hour: usize, flow: &Flow);
    /// A day has passed: its lowest and highest state of charge, and mean bank temperature [°C].
    fn day(&mut self, day: usize, low: f64, high: f64, bank_c: f64);
}

/// Looks at nothing.
pub struct Blind;

impl Watch for Blind {
    #[inline]
    fn hour(&mut self, _: usize, _: &Flow) {}
    #[inline]
    fn day(&mut self, _: usize, _: f64, _: f64, _: f64) {}
}

/// What a run tells.
#[derive(Clone, Debug, PartialEq)]
pub struct Tally {
    /// By month; months that the run did not touch stay blank.
    pub months: [Month; MONTHS],
    /// Lowest state of charge and the hour of it.
    pub lowest: (f64, usize),
    /// Longest stretch of hours short on end.
    pub longest_short: u32,
    /// Most days between two on which the bank became full.
    pub longest_unfilled: u32,
    /// Energy that the bank gave [Wh].
    pub given_wh: f64,
}

impl Tally {
    /// All months together.
    pub fn total(&self) -> Books {
        let mut total = Books::default();
        for month in &self.months {
            total.add(&month.books);
        }
        total
    }
    /// Hours short in all.
    pub fn short_hours(&self) -> u32 {
        self.months.iter().map(|month| month.short_hours).sum()
    }
}

/// What goes on from hour to hour.
#[derive(Clone, Copy, Debug)]
pub struct Going {
    /// The bank.
    pub bank: BankState,
    /// Its temperature [°C].
    pub bank_c: f64,
    /// Whether the generator runs.
    pub(crate) generator: bool,
}

impl Going {
    /// A bank at rest at a state of charge and temperature.
    pub fn at(plant: &Plant, soc: f64, air_c: f64) -> Self {
        let bank_c = air_c.clamp(plant.bank_c.0, plant.bank_c.1);
        let bank = plant.bank.at(soc);
        Self { bank, bank_c, generator: false }
    }
}

/// Days before 1 January that are run first, so that the year begins with a bank that has lived in this weather.
pub(crate) const WARM_UP_DAYS: usize = 28;

/// A whole year, begun with the bank as the end of December leaves it.
pub fn run(plant: &Plant, outside: Outside<'_>, watch: &mut impl Watch) -> Tally {
    let [tally] = years_abreast([plant], [outside], [watch]);
    tally
}

/// Two whole years at once, each as [`run`] has it, to the last digit.
///
/// An hour waits for what the hour before left in the bank; two years that wait in turn take a quarter less time than one after the other.
pub fn run_two<W: Watch>(
    plants: [&Plant; 2],
    outsides: [Outside<'_>; 2],
    watches: [&mut W; 2],
) -> [Tally; 2] {
    let lengths = outsides.map(|outside| outside.sun_w.len().min(outside.air_c.len()).min(HOURS));
    if lengths[0] == lengths[1] {
        return years_abreast(plants, outsides, watches);
    }
    // One of them ends early.
    let [one, other] = watches;
    [run(plants[0], outsides[0], one), run(plants[1], outsides[1], other)]
}

fn years_abreast<const N: usize, W: Watch>(
    plants: [&Plant; N],
    outsides: [Outside<'_>; N],
    watches: [&mut W; N],
) -> [Tally; N] {
    let first = HOURS - WARM_UP_DAYS * 24;
    let fixed = plants.map(Fixed::of);
    let mut goings = std::array::from_fn(|at| {
        let air = outsides[at].air_c.get(first).copied().unwrap_or(15.0);
        Going::at(plants[at], 1.0, air)
    });
    let mut blind = [const { Blind }; N];
    abreast(&fixed, outsides, first..HOURS, &mut goings, blind.each_mut());
    abreast(&fixed, outsides, 0..HOURS, &mut goings, watches)
}

/// Some hours on end of one year.
///
/// Lists shorter than the hours end the run early.
pub fn stretch(
    plant: &Plant,
    outside: Outside<'_>,
    hours: std::ops::Range<usize>,
    going: &mut Going,
    watch: &mut impl Watch,
) -> Tally {
    let mut goings = [*going];
    let [tally] = abreast(&[Fixed::of(plant)], [outside], hours, &mut goings, [watch]);
    [*going] = goings;
    tally
}

/// The same hours of several runs, hour by hour in turn.
fn abreast<const N: usize, W: Watch>(
    fixed: &[Fixed<'_>; N],
    outsides: [Outside<'_>; N],
    hours: std::ops::Range<usize>,
    goings: &mut [Going; N],
    watches: [&mut W; N],
) -> [Tally; N] {
    let mut at = 0;
    let mut lanes = watches.map(|watch| {
        let lane = Lane::new(&fixed[at], outsides[at], goings[at], hours.start, watch);
        at += 1;
        lane
    });
    let mut todays = lanes.each_ref().map(Lane::today);
    let mut movings = lanes.each_ref().map(Lane::moving);
    let last = lanes.iter().map(Lane::len).fold(hours.end.min(HOURS), usize::min);
    let mut day = hours.start / 24;
    let mut month = MONTH_STARTS[1..MONTHS].iter().filter(|start| hours.start >= **start).count();
    while day < DAYS && hours.start.max(day * 24) < last {
        while month + 1 < MONTHS && day * 24 >= MONTH_STARTS[month + 1] {
            month += 1;
        }
        let from = hours.start.max(day * 24) - day * 24;
        let part = Part { day, month, from, to: (last - day * 24).min(24) };
        for at in 0..N {
            lanes[at].begin(part, &mut todays[at], &mut movings[at]);
        }
        for hour in part.from..part.to {
            for at in 0..N {
                lanes[at].hour(part, hour, &mut todays[at], &mut movings[at]);
            }
        }
        for at in 0..N {
            lanes[at].end(part, &todays[at], &mut movings[at]);
        }
        day += 1;
    }
    let mut at = 0;
    lanes.map(|lane| {
        let (going, tally) = lane.finish(&todays[at], &movings[at]);
        goings[at] = going;
        at += 1;
        tally
    })
}
