//! The hour loop: what each hour asks, who serves it, what the bank gives or takes, what is left over or goes short.
//! Never: makes weather or loads; allocates; rounds. The books of every run close.
//! Start at [`run`].
//!
//! Order of an hour: sun, engine, and shore or generator carry the loads, the one set to the highest voltage first; what is over goes into the bank as far as it takes it,
//! and sun that is then still over is curtailed. What is missing comes out of the bank. Spare loads are given up below the spare
//! floor, usual ones at the floor; vital ones run until the bank itself stops.
//!
//! Most hours have no source but the sun and nothing goes short: [`stretch`] passes them itself, after `day.rs` has worked out a
//! whole day's sun and need ahead. All others go through `hour.rs`, which keeps the whole order.

use crate::day::Day;
use crate::hour::{Around, Fixed, Today, pass};
use crate::outcome::{Books, Month};
use crate::plant::Plant;
use crate::site::{DAYS, HOURS, MONTH_STARTS, MONTHS};
use crate::storage::{BankState, less, more};

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
    generator: bool,
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
/// How far a bank comes to the mean temperature of its place within a day: it takes half a day for two thirds of the way.
/// Common practice, no source.
const BANK_DAY: f64 = 0.86;
/// State of charge that counts as full.
const FULL: f64 = 0.98;
/// Less than this is rounding, not a shortage [W].
const SHORT_W: f64 = 1e-3;

/// A whole year, begun with the bank as the end of December leaves it.
pub fn run(plant: &Plant, outside: Outside<'_>, watch: &mut impl Watch) -> Tally {
    let first = HOURS - WARM_UP_DAYS * 24;
    let air = outside.air_c.get(first).copied().unwrap_or(15.0);
    let mut going = Going::at(plant, 1.0, air);
    stretch(plant, outside, first..HOURS, &mut going, &mut Blind);
    stretch(plant, outside, 0..HOURS, &mut going, watch)
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
    let fixed = Fixed::of(plant);
    let bank = &plant.bank;
    let mut store = bank.store(&going.bank);
    let mut tally = Tally {
        months: [Month { lowest: 1.0, ..Month::default() }; MONTHS],
        lowest: (going.bank.soc, hours.start),
        longest_short: 0,
        longest_unfilled: 0,
        given_wh: 0.0,
    };
    let last = hours.end.min(outside.sun_w.len()).min(outside.air_c.len()).min(plant.there.len()).min(HOURS);
    let (mut short_on_end, mut unfilled) = (0_u32, 0_u32);
    let mut day = hours.start / 24;
    let mut month = MONTH_STARTS[1..MONTHS].iter().filter(|start| hours.start >= **start).count();
    while day < DAYS && hours.start.max(day * 24) < last {
        while month + 1 < MONTHS && day * 24 >= MONTH_STARTS[month + 1] {
            month += 1;
        }
        let (start, end) = (hours.start.max(day * 24), (day * 24 + 24).min(last));
        let passed = (end - start) as f64;
        let mut hours = Day::new(&fixed, &outside, start..end);
        going.bank_c = (going.bank_c + (hours.mean_c - going.bank_c) * taken_on(passed))
            .clamp(plant.bank_c.0, plant.bank_c.1);
        let mut today = Today {
            day,
            bank: bank.day(going.bank_c),
            bank_c: going.bank_c,
            heater_w: bank.heater_w(going.bank_c),
            vary: outside.vary.get(day).copied().unwrap_or(1.0),
            needs: plant.needs.of_day(day, outside.vary.get(day).copied().unwrap_or(1.0)),
            inverter_w: &fixed.inverter_w[usize::from(plant.needs.used[day])],
            idle_w: &fixed.idle_w[usize::from(plant.needs.used[day])],
            generator_left: plant.supply.generator_hours,
            generator: going.generator,
        };
        let entry = &mut tally.months[month];
        entry.used_days += u32::from(plant.needs.used[day]);
        hours.ahead(&fixed, &today);
        let (from, to) = (start - day * 24, (end - day * 24).min(24));
        for left_out in (0..from).chain(to..24) {
            hours.leave_out(left_out);
        }
        let before = store.wh;
        let (mut low_wh, mut high_wh) = (store.wh, store.wh);
        let (mut lost, mut given, mut given_up_in_all) = (0.0, 0.0, 0.0);
        let free_down_to_wh = more(fixed.floor_wh, today.bank.free_down_to_wh());
        let mut quiet_from_wh = fixed.quiet_from_wh(&today);
        for hour in from..to {
            let there = hours.there[hour];
            let over = hours.over[hour];
            let mut given_up = 0.0;
            // No source but the sun: as bits, which is one comparison.
            let mut is_quiet = there[0].to_bits() | there[1].to_bits() == 0 && store.wh >= quiet_from_wh;
            if is_quiet && over >= 0.0 {
                let moved = bank.take(&mut store, over, &today.bank);
                lost += moved.loss_wh;
                let curtailed = over - moved.terminal_wh;
                hours.curtailed[hour] = curtailed;
                hours.used[hour] -= curtailed;
            } else if is_quiet {
                let mut missing = -over;
                let mut spared = (0.0, 0.0);
                if store.wh < fixed.spare_floor_wh {
                    (given_up, spared) = fixed.spared(&today, hour, hours.air_c[hour], missing);
                    missing -= given_up;
                }
                if let Some(loss) = bank.give_freely(&mut store, missing, free_down_to_wh, &today.bank) {
                    lost += loss;
                    given += missing;
                    if given_up > 0.0 {
                        hours.dc[hour] -= spared.0;
                        hours.ac[hour] -= spared.1;
                        given_up_in_all += given_up;
                    }
                } else {
                    is_quiet = false;
                }
            }
            let of_year = day * 24 + hour;
            if is_quiet {
                short_on_end = 0;
                let flow = Flow {
                    soc: bank.soc_at(store.wh),
                    bank_c: today.bank_c,
                    sun_w: hours.used[hour],
                    curtailed_w: hours.curtailed[hour],
                    engine_w: 0.0,
                    supply_w: 0.0,
                    need_w: hours.sun_w[hour] - over - given_up,
                    short_w: 0.0,
                };
                watch.hour(of_year, &flow);
            } else {
                // A copy, so that the store itself can stay in registers.
                let mut by_pass = store;
                let around = Around {
                    of_day: hour,
                    sun_w: hours.sun_w[hour],
                    air_c: hours.air_c[hour],
                    dc: hours.dc[hour],
                    ac: hours.ac[hour],
                    there: there.map(f64::from),
                };
                hours.leave_out(hour);
                let mut flow = pass(&fixed, &around, &mut by_pass, &mut today, entry, &mut tally.given_wh);
                store = by_pass;
                quiet_from_wh = fixed.quiet_from_wh(&today);
                flow.soc = bank.soc_at(store.wh);
                if flow.short_w > SHORT_W {
                    entry.short_hours += 1;
                    short_on_end += 1;
                    tally.longest_short = tally.longest_short.max(short_on_end);
                } else {
                    short_on_end = 0;
                }
                watch.hour(of_year, &flow);
            }
            hours.after_wh[hour] = store.wh;
            low_wh = less(low_wh, store.wh);
            high_wh = more(high_wh, store.wh);
        }
        going.generator = today.generator;
        let (low, high) = (bank.soc_at(low_wh), bank.soc_at(high_wh));
        if low < tally.lowest.0 {
            // Where no hour reached it, it stood lowest at the beginning.
            let hour = hours.after_wh.iter().position(|wh| *wh == low_wh).unwrap_or(from);
            tally.lowest = (low, day * 24 + hour);
        }
        let seeped = bank.seep(&mut store, passed, &today.bank);
        hours.write(&fixed, &today, &mut entry.books);
        entry.books.bank_loss_wh += lost + seeped;
        entry.books.given_up_wh += given_up_in_all;
        entry.books.stored_wh += store.wh - before;
        tally.given_wh += given;
        entry.lowest = entry.lowest.min(low);
        if high >= FULL {
            entry.full_days += 1;
            unfilled = 0;
        } else {
            unfilled += 1;
            tally.longest_unfilled = tally.longest_unfilled.max(unfilled);
        }
        watch.day(day, low, high, going.bank_c);
        day += 1;
    }
    going.bank = bank.state(&store);
    tally
}

/// Share of the way to the air's temperature that the bank goes in some hours of a day.
fn taken_on(hours: f64) -> f64 {
    if hours >= 24.0 { BANK_DAY } else { 1.0 - quantity::math::powf(1.0 - BANK_DAY, hours / 24.0) }
}
