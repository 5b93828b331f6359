//! The energy study of a system: a typical year, some years of chance, time without charging, what runs together.
//! Never: judges; the findings read it.
//! Start at [`study`].

use std::sync::Arc;

use model::System;
use quantity::Hours;
use serde::Serialize;

use crate::outcome::{Year, Years};
use crate::peaks::{Peaks, peaks};
use crate::plant::Plant;
use crate::run::{Blind, Going, stretch};
use crate::site::{DAYS, MONTH_STARTS, MONTHS};
use crate::sky::{Scratch, Sky};
use crate::weather::Series;
use crate::year::year;
use crate::years::{Progress, years};

/// Years of chance behind every check: enough to tell one in ten from one in three, quick enough for every edit.
pub const YEARS: u32 = 40;
/// Days of chance behind the peaks.
pub const PEAK_DAYS: u32 = 100;
/// Seed where nobody gives another.
pub const SEED: u64 = 1;

/// What the findings read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Study {
    /// A typical year.
    pub year: Year,
    /// Years of chance.
    pub years: Years,
    /// Time that a full bank lasts without any charging, in the hardest month of use; `None` where nothing draws on it.
    pub autonomy: Option<Hours>,
    /// Month of it, from 0.
    pub autonomy_month: usize,
    /// What runs together.
    pub peaks: Peaks,
    /// State of charge that all but vital loads leave in the bank.
    pub floor: f64,
}

/// Studies a system; `None` where it has no bank.
pub fn study(system: &System, series: Option<&Series>) -> Option<Study> {
    let plant = Plant::of(system)?;
    studied(system, &plant, &Sky::of(system, &plant, series))
}

/// The same for one who studies again and again: with the sky that it was studied under, which keeps what it has drawn. `known` is
/// that of an earlier study with the same weather file; where it does not suit this system, another is made.
pub fn study_under(
    system: &System,
    series: Option<&Series>,
    known: Option<&Arc<Sky>>,
) -> Option<(Study, Arc<Sky>)> {
    let plant = Plant::of(system)?;
    let sky = match known {
        Some(sky) if sky.suits(system, &plant) => Arc::clone(sky),
        _ => Arc::new(Sky::of(system, &plant, series).keeping(SEED, YEARS)),
    };
    Some((studied(system, &plant, &sky)?, sky))
}

fn studied(system: &System, plant: &Plant, sky: &Sky) -> Option<Study> {
    let ((year, (autonomy, autonomy_month), peaks), years) = rayon::join(
        || {
            let mut scratch = Scratch::new();
            sky.typical(plant, SEED, &mut scratch);
            let year = year(plant, sky, &scratch);
            (year, autonomy(plant, &mut scratch), peaks(system, PEAK_DAYS, SEED))
        },
        || years(plant, sky, YEARS, SEED, &Progress::default()),
    );
    Some(Study { year, years: years?, autonomy, autonomy_month, peaks, floor: plant.floor })
}

/// Longest that is looked at [days].
const LONGEST_DAYS: usize = 60;

/// Time until something that is not spare goes short, from a full bank in the middle of each month of use, nothing charging.
fn autonomy(plant: &Plant, scratch: &mut Scratch) -> (Option<Hours>, usize) {
    let mut plant = plant.clone();
    plant.supply.generator_w = 0.0;
    for there in &mut plant.there {
        *there = [0.0, 0.0];
    }
    // Without charging everything is used every day, also where the craft is used at week-ends only.
    let used = plant.needs.used;
    scratch.sun_w.fill(0.0);
    let mut shortest = (None, 0);
    for (month, start) in MONTH_STARTS.iter().take(MONTHS).enumerate() {
        let first = start / 24 + 14;
        if !used[first..(first + 7).min(DAYS)].iter().any(|used| *used) {
            continue;
        }
        plant.needs.used = [true; DAYS];
        let mut going = Going::at(&plant, 1.0, scratch.weather.air_c[first * 24]);
        let mut hours = 0;
        for day in 0..LONGEST_DAYS {
            let at = (first + day) % DAYS;
            let tally = stretch(&plant, scratch.outside(), at * 24..at * 24 + 24, &mut going, &mut Blind);
            let short = tally.short_hours();
            // A day that begins well and ends short lasted for what was not short.
            hours += 24 - short.min(24);
            if short > 0 {
                let lasted = Hours::new(f64::from(hours));
                if shortest.0.is_none_or(|known| lasted < known) {
                    shortest = (Some(lasted), month);
                }
                break;
            }
        }
    }
    (shortest.0, shortest.1)
}
