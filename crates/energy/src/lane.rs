//! One run among those that go through the same hours side by side: its bank, its day, its sums.
//! Never: knows the other runs; nothing passes between them.
//! Start at [`Lane::hour`]; `run` calls it, hour after hour.

use crate::day::{Day, Hourly, sum};
use crate::hour::{Around, Fixed, Today, pass};
use crate::outcome::Month;
use crate::run::{Flow, Going, Outside, Tally, Watch};
use crate::site::MONTHS;
use crate::storage::{Store, less, more};

/// How far a bank comes to the mean temperature of its place within a day: it takes half a day for two thirds of the way.
/// Common practice, no source.
const BANK_DAY: f64 = 0.86;
/// State of charge that counts as full.
const FULL: f64 = 0.98;
/// Less than this is rounding, not a shortage [W].
const SHORT_W: f64 = 1e-3;

/// The hours of a day that a run goes through.
#[derive(Clone, Copy)]
pub(crate) struct Part {
    pub day: usize,
    pub month: usize,
    /// Hours of the day.
    pub from: usize,
    pub to: usize,
}

/// A run under way.
pub(crate) struct Lane<'p, W> {
    fixed: &'p Fixed<'p>,
    outside: Outside<'p>,
    watch: &'p mut W,
    going: Going,
    tally: Tally,
    short_on_end: u32,
    unfilled: u32,
    hours: Day,
}

/// What changes from hour to hour; apart from the rest, so that it can stay in registers.
#[derive(Clone, Copy, Default)]
pub(crate) struct Moving {
    store: Store,
    before_wh: f64,
    low_wh: f64,
    high_wh: f64,
    lost: f64,
    given: f64,
    given_up: f64,
    /// Down to here the bank gives freely, and from here the generator is quiet [Wh].
    free_down_to_wh: f64,
    quiet_from_wh: f64,
}

impl<'p, W: Watch> Lane<'p, W> {
    pub fn new(
        fixed: &'p Fixed<'p>,
        outside: Outside<'p>,
        going: Going,
        first_hour: usize,
        watch: &'p mut W,
    ) -> Self {
        let tally = Tally {
            months: [Month { lowest: 1.0, ..Month::default() }; MONTHS],
            lowest: (going.bank.soc, first_hour),
            longest_short: 0,
            longest_unfilled: 0,
            given_wh: 0.0,
        };
        Self { fixed, outside, watch, going, tally, short_on_end: 0, unfilled: 0, hours: Day::blank() }
    }

    /// How many hours its lists hold.
    pub fn len(&self) -> usize {
        self.outside.sun_w.len().min(self.outside.air_c.len()).min(self.fixed.plant.there.len())
    }

    /// What [`Lane::begin`] takes before the first day.
    pub fn today(&self) -> Today<'p> {
        Today::new(self.fixed, self.going.bank_c, self.going.generator)
    }

    /// Likewise.
    pub fn moving(&self) -> Moving {
        Moving { store: self.fixed.plant.bank.store(&self.going.bank), ..Moving::default() }
    }

    /// Before the first of some hours of a day.
    ///
    /// - `today`, `moving`: as the day before left them
    #[inline]
    pub fn begin(&mut self, part: Part, today: &mut Today<'p>, moving: &mut Moving) {
        let hours = part.day * 24 + part.from..part.day * 24 + part.to;
        let (sun_w, air_c) = (&self.outside.sun_w[hours.clone()], &self.outside.air_c[hours]);
        if let (Ok(sun_w), Ok(air_c)) = (sun_w.try_into(), air_c.try_into()) {
            return self.begin_with(part, sun_w, air_c, sum(air_c) / 24.0, today, moving);
        }
        let (mut sun_of_day, mut air_of_day) = ([0.0; 24], [0.0; 24]);
        sun_of_day[part.from..part.to].copy_from_slice(sun_w);
        air_of_day[part.from..part.to].copy_from_slice(air_c);
        let mean_c = air_c.iter().sum::<f64>() / air_c.len() as f64;
        self.begin_with(part, &sun_of_day, &air_of_day, mean_c, today, moving);
    }

    #[inline]
    fn begin_with(
        &mut self,
        part: Part,
        sun_w: &Hourly,
        air_c: &Hourly,
        mean_c: f64,
        today: &mut Today<'p>,
        moving: &mut Moving,
    ) {
        let (fixed, plant) = (self.fixed, self.fixed.plant);
        let going = &mut self.going;
        going.bank_c = (going.bank_c + (mean_c - going.bank_c) * taken_on((part.to - part.from) as f64))
            .clamp(plant.bank_c.0, plant.bank_c.1);
        today.turn(fixed, part.day, going.bank_c, self.outside.vary.get(part.day).copied().unwrap_or(1.0));
        self.tally.months[part.month].used_days += u32::from(plant.needs.used[part.day]);
        self.hours.ahead(fixed, today, sun_w, air_c);
        for left_out in (0..part.from).chain(part.to..24) {
            self.hours.leave_out(left_out, 0.0, today);
        }
        let wh = moving.store.wh;
        (moving.before_wh, moving.low_wh, moving.high_wh) = (wh, wh, wh);
        (moving.lost, moving.given, moving.given_up) = (0.0, 0.0, 0.0);
        moving.free_down_to_wh = more(fixed.floor_wh, today.bank.free_down_to_wh());
        moving.quiet_from_wh = fixed.quiet_from_wh(today);
    }

    /// An hour of the day.
    #[inline(always)]
    pub fn hour(&mut self, part: Part, hour: usize, today: &mut Today<'p>, moving: &mut Moving) {
        let (fixed, bank) = (self.fixed, &self.fixed.plant.bank);
        let hours = &mut self.hours;
        let of_year = part.day * 24 + hour;
        let (sun_w, air_c) = (self.outside.sun_w[of_year], self.outside.air_c[of_year]);
        let there = fixed.plant.there[of_year];
        let over = hours.over[hour];
        let mut given_up = 0.0;
        // No source but the sun: as bits, which is one comparison.
        let mut is_quiet =
            there[0].to_bits() | there[1].to_bits() == 0 && moving.store.wh >= moving.quiet_from_wh;
        if is_quiet && over >= 0.0 {
            let moved = bank.take(&mut moving.store, over, &today.bank);
            moving.lost += moved.loss_wh;
            let curtailed = over - moved.terminal_wh;
            hours.curtailed[hour] = curtailed;
        } else if is_quiet {
            let mut missing = -over;
            let mut spared = (0.0, 0.0);
            if moving.store.wh < fixed.spare_floor_wh {
                (given_up, spared) = fixed.spared(today, hour, air_c, missing);
                missing -= given_up;
            }
            let down_to_wh = moving.free_down_to_wh;
            if let Some(loss) = bank.give_freely(&mut moving.store, missing, down_to_wh, &today.bank) {
                moving.lost += loss;
                moving.given += missing;
                if given_up > 0.0 {
                    hours.dc[hour] -= spared.0;
                    hours.ac[hour] -= spared.1;
                    moving.given_up += given_up;
                }
            } else {
                is_quiet = false;
            }
        }
        if is_quiet {
            self.short_on_end = 0;
            let flow = Flow {
                soc: bank.soc_at(moving.store.wh),
                bank_c: today.bank_c,
                sun_w: sun_w - hours.curtailed[hour],
                curtailed_w: hours.curtailed[hour],
                engine_w: 0.0,
                supply_w: 0.0,
                need_w: sun_w - over - given_up,
                short_w: 0.0,
            };
            self.watch.hour(of_year, &flow);
        } else {
            // A copy, so that the store itself can stay in registers.
            let mut by_pass = moving.store;
            let around = Around {
                of_day: hour,
                sun_w,
                air_c,
                dc: hours.dc[hour],
                ac: hours.ac[hour],
                there: there.map(f64::from),
            };
            hours.leave_out(hour, sun_w, today);
            let entry = &mut self.tally.months[part.month];
            let mut flow = pass(fixed, &around, &mut by_pass, today, entry, &mut self.tally.given_wh);
            moving.store = by_pass;
            moving.quiet_from_wh = fixed.quiet_from_wh(today);
            flow.soc = bank.soc_at(moving.store.wh);
            if flow.short_w > SHORT_W {
                entry.short_hours += 1;
                self.short_on_end += 1;
                self.tally.longest_short = self.tally.longest_short.max(self.short_on_end);
            } else {
                self.short_on_end = 0;
            }
            self.watch.hour(of_year, &flow);
        }
        hours.after_wh[hour] = moving.store.wh;
        moving.low_wh = less(moving.low_wh, moving.store.wh);
        moving.high_wh = more(moving.high_wh, moving.store.wh);
    }

    /// After the last of them: what they came to.
    #[inline]
    pub fn end(&mut self, part: Part, today: &Today<'p>, moving: &mut Moving) {
        let bank = &self.fixed.plant.bank;
        let (low, high) = (bank.soc_at(moving.low_wh), bank.soc_at(moving.high_wh));
        if low < self.tally.lowest.0 {
            // Where no hour reached it, it stood lowest at the beginning.
            let hour = self.hours.after_wh.iter().position(|wh| *wh == moving.low_wh).unwrap_or(part.from);
            self.tally.lowest = (low, part.day * 24 + hour);
        }
        let seeped = bank.seep(&mut moving.store, (part.to - part.from) as f64, &today.bank);
        let entry = &mut self.tally.months[part.month];
        self.hours.write(self.fixed, today, &mut entry.books);
        entry.books.bank_loss_wh += moving.lost + seeped;
        entry.books.given_up_wh += moving.given_up;
        entry.books.stored_wh += moving.store.wh - moving.before_wh;
        self.tally.given_wh += moving.given;
        entry.lowest = entry.lowest.min(low);
        if high >= FULL {
            entry.full_days += 1;
            self.unfilled = 0;
        } else {
            self.unfilled += 1;
            self.tally.longest_unfilled = self.tally.longest_unfilled.max(self.unfilled);
        }
        self.watch.day(part.day, low, high, self.going.bank_c);
    }

    /// What goes on after the last day, and what the run tells.
    pub fn finish(mut self, today: &Today<'p>, moving: &Moving) -> (Going, Tally) {
        self.going.bank = self.fixed.plant.bank.state(&moving.store);
        self.going.generator = today.generator;
        (self.going, self.tally)
    }
}

/// Share of the way to the air's temperature that the bank goes in some hours of a day.
fn taken_on(hours: f64) -> f64 {
    if hours >= 24.0 { BANK_DAY } else { 1.0 - quantity::math::powf(1.0 - BANK_DAY, hours / 24.0) }
}
