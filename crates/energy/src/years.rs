//! Many years of weather and of chance in use: how often it runs out, when, for how long.
//! Never: depends on the number of threads. Same seed, same bytes; memory stays flat in the number of years.
//! Start at [`years`].

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use quantity::{Hours, WattHours};
use rayon::prelude::*;

use crate::outcome::{Books, Chance, MonthsOfYears, Years};
use crate::plant::Plant;
use crate::run::{Flow, Tally, Watch, run, run_two};
use crate::site::{DAYS, MONTHS};
use crate::sky::{Scratch, Sky};

/// How far long work has come, and whether it is to stop; shared with whoever waits for it.
#[derive(Debug, Default)]
pub struct Progress {
    /// Steps done.
    pub done: AtomicU64,
    /// Set to stop before the end.
    pub stop: AtomicBool,
}

/// Steps of state of charge in the band's histogram; a step fits a byte.
const STEPS: usize = 200;
/// Years summed by one thread before their sums are joined, in order, to the others'.
const CHUNK: u32 = 8;
/// Chunks under way at a time; what they hold is all that grows.
const WAVE: u32 = 16;

/// Sums over some years, in their order.
struct Sums {
    ran_out: u32,
    month_ran_out: [u32; MONTHS],
    month_short_hours: [u64; MONTHS],
    month_lowest: [(f64, f64); MONTHS],
    month_books: [Books; MONTHS],
    short_hours: (u64, u32),
    longest_short: u32,
    short_wh: (f64, f64),
    sun: (f64, f64, f64),
    /// Worst year by energy short, then by the lowest bank.
    worst: (f64, f64, u32),
    gap: f64,
    /// Step of the lowest charge of each day, year after year: a few kilobytes, where a histogram for each chunk would be a third
    /// of a megabyte to clear and to join.
    lows: Vec<u8>,
    stopped: bool,
}

impl Sums {
    fn new() -> Self {
        Self {
            ran_out: 0,
            month_ran_out: [0; MONTHS],
            month_short_hours: [0; MONTHS],
            month_lowest: [(1.0, 0.0); MONTHS],
            month_books: [Books::default(); MONTHS],
            short_hours: (0, 0),
            longest_short: 0,
            short_wh: (0.0, 0.0),
            sun: (f64::INFINITY, 0.0, 0.0),
            worst: (-1.0, 2.0, 0),
            gap: 0.0,
            lows: Vec::new(),
            stopped: false,
        }
    }

    fn count(&mut self, index: u32, tally: &Tally) {
        let hours = tally.short_hours();
        let total = tally.total();
        self.ran_out += u32::from(hours > 0);
        for (at, month) in tally.months.iter().enumerate() {
            self.month_ran_out[at] += u32::from(month.short_hours > 0);
            self.month_short_hours[at] += u64::from(month.short_hours);
            let lowest = &mut self.month_lowest[at];
            *lowest = (lowest.0.min(month.lowest), lowest.1 + month.lowest);
            self.month_books[at].add(&month.books);
        }
        self.short_hours = (self.short_hours.0 + u64::from(hours), self.short_hours.1.max(hours));
        self.longest_short = self.longest_short.max(tally.longest_short);
        self.short_wh = (self.short_wh.0 + total.short_wh, self.short_wh.1.max(total.short_wh));
        let sun = total.sun_wh + total.curtailed_wh;
        self.sun = (self.sun.0.min(sun), self.sun.1 + sun, self.sun.2.max(sun));
        self.take_worst((total.short_wh, tally.lowest.0, index));
        self.gap = self.gap.max(total.gap());
    }

    fn take_worst(&mut self, other: (f64, f64, u32)) {
        if other.0 > self.worst.0 || (other.0 == self.worst.0 && other.1 < self.worst.1) {
            self.worst = other;
        }
    }

    /// Joins the sums of later years.
    fn join(&mut self, other: &Self) {
        self.ran_out += other.ran_out;
        for at in 0..MONTHS {
            self.month_ran_out[at] += other.month_ran_out[at];
            self.month_short_hours[at] += other.month_short_hours[at];
            let (low, sum) = other.month_lowest[at];
            let mine = &mut self.month_lowest[at];
            *mine = (mine.0.min(low), mine.1 + sum);
            self.month_books[at].add(&other.month_books[at]);
        }
        self.short_hours.0 += other.short_hours.0;
        self.short_hours.1 = self.short_hours.1.max(other.short_hours.1);
        self.longest_short = self.longest_short.max(other.longest_short);
        self.short_wh = (self.short_wh.0 + other.short_wh.0, self.short_wh.1.max(other.short_wh.1));
        self.sun = (self.sun.0.min(other.sun.0), self.sun.1 + other.sun.1, self.sun.2.max(other.sun.2));
        self.take_worst(other.worst);
        self.gap = self.gap.max(other.gap);
        self.stopped |= other.stopped;
    }
}

struct Lows<'s>(&'s mut Vec<u8>);

impl Watch for Lows<'_> {
    #[inline]
    fn hour(&mut self, _: usize, _: &Flow) {}
    fn day(&mut self, _: usize, low: f64, _: f64, _: f64) {
        self.0.push(((low * STEPS as f64) as usize).min(STEPS - 1) as u8);
    }
}

/// Runs `count` years of drawn weather; `None` where it was told to stop.
///
/// Year `index` is the same whatever thread runs it and however many there are. Sums are taken year by year in chunks and
/// joined in their order, so that not even rounding depends on the threads.
pub fn years(plant: &Plant, sky: &Sky, count: u32, seed: u64, progress: &Progress) -> Option<Years> {
    let mut all = Sums::new();
    let mut band = vec![[0_u32; STEPS]; DAYS];
    let chunks: Vec<u32> = (0..count).step_by(CHUNK as usize).collect();
    for wave in chunks.chunks(WAVE as usize) {
        let sums: Vec<Sums> = wave
            .par_iter()
            .map_init(
                || [Scratch::new(), Scratch::new()],
                |scratches, first| {
                    let mut sums = Sums::new();
                    let end = (first + CHUNK).min(count);
                    // By twos, which go through their hours side by side.
                    for index in (*first..end).step_by(2) {
                        if progress.stop.load(Ordering::Relaxed) {
                            sums.stopped = true;
                            break;
                        }
                        let [one, other] = scratches;
                        sky.outside_of_year(plant, seed, u64::from(index), one);
                        if index + 1 == end {
                            let tally = run(plant, one.outside(), &mut Lows(&mut sums.lows));
                            sums.count(index, &tally);
                            progress.done.fetch_add(1, Ordering::Relaxed);
                            continue;
                        }
                        sky.outside_of_year(plant, seed, u64::from(index + 1), other);
                        let mut lows_of_other = Vec::with_capacity(DAYS);
                        let watches = [&mut Lows(&mut sums.lows), &mut Lows(&mut lows_of_other)];
                        let tallies = run_two([plant; 2], [one.outside(), other.outside()], watches);
                        sums.lows.append(&mut lows_of_other);
                        for (index, tally) in (index..).zip(&tallies) {
                            sums.count(index, tally);
                        }
                        progress.done.fetch_add(2, Ordering::Relaxed);
                    }
                    sums
                },
            )
            .collect();
        for sums in &sums {
            all.join(sums);
            for (day, low) in (0..DAYS).cycle().zip(&sums.lows) {
                band[day][usize::from(*low)] += 1;
            }
        }
        if all.stopped {
            return None;
        }
    }
    Some(told(&all, &band, sky, count, seed))
}

fn told(all: &Sums, band: &[[u32; STEPS]], sky: &Sky, count: u32, seed: u64) -> Years {
    let n = f64::from(count.max(1));
    let mean = |books: &Books| {
        let mut mean = *books;
        mean.scale(1.0 / n);
        mean
    };
    let mut total = Books::default();
    for books in &all.month_books {
        total.add(books);
    }
    let ran_out = f64::from(all.ran_out.max(1));
    Years {
        count,
        seed,
        weather: sky.weather.clone(),
        running_out: Chance::of(all.ran_out, count),
        months: std::array::from_fn(|at| MonthsOfYears {
            running_out: Chance::of(all.month_ran_out[at], count),
            short_hours: all.month_short_hours[at] as f64 / n,
            lowest: (all.month_lowest[at].0, all.month_lowest[at].1 / n),
            books: mean(&all.month_books[at]),
        }),
        short_hours: (all.short_hours.0 as f64 / ran_out, f64::from(all.short_hours.1)),
        longest_short: Hours::new(f64::from(all.longest_short)),
        short: (WattHours::new(all.short_wh.0 / n), WattHours::new(all.short_wh.1)),
        band: band.iter().map(quantiles).collect(),
        mean: mean(&total),
        sun: (
            WattHours::new(if count > 0 { all.sun.0 } else { 0.0 }),
            WattHours::new(all.sun.1 / n),
            WattHours::new(all.sun.2),
        ),
        worst_year: all.worst.2,
        books_gap: all.gap,
    }
}

/// States of charge below which 5, 25, 50, 75 and 95 % of the years lie.
fn quantiles(counts: &[u32; STEPS]) -> [f64; 5] {
    let total: u32 = counts.iter().sum();
    [0.05, 0.25, 0.5, 0.75, 0.95].map(|share| {
        let wanted = share * f64::from(total);
        let mut below = 0.0;
        for (step, count) in counts.iter().enumerate() {
            let count = f64::from(*count);
            if count > 0.0 && below + count >= wanted {
                return (step as f64 + (wanted - below) / count) / STEPS as f64;
            }
            below += count;
        }
        1.0
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    // Evenly spread values have their quantiles where they should; arithmetic.
    #[test]
    fn quantiles_of_an_even_spread() {
        let even = quantiles(&[3; STEPS]);
        for (got, want) in even.iter().zip([0.05, 0.25, 0.5, 0.75, 0.95]) {
            assert!((got - want).abs() < 1e-9, "{got} {want}");
        }
        let mut one = [0; STEPS];
        one[STEPS - 1] = 10;
        assert!(quantiles(&one).iter().all(|value| *value >= 0.995));
    }
}
