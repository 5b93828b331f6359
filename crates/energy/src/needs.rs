//! What the loads ask of the busbars, hour by hour: by season, time of day, warmth and importance.
//! Never: decides what is served (see `run`).
//! Start at [`Needs::of`]; [`Needs::at`] gives one hour, [`Needs::of_day`] the sums of a day's hours.
//!
//! Loads fall into kinds by what they follow. A kind's need is its profile over the day times a factor of the
//! temperature, so that an hour costs a few multiplications however many loads there are.

use std::sync::Arc;

use model::parts::{LoadNature, Supply};
use model::{Follows, Habit, Importance, Load, Season, Spec, System, ZoneKind};

use crate::site::{DAYS, MONTH_STARTS};

/// Classes of need: direct current by importance (vital, usual, spare), then alternating current likewise.
pub const CLASSES: usize = 6;
/// First class of alternating current.
pub const AC: usize = 3;

/// A day's profile [W] for each class, by season (cold half of the year first) and hour.
type Profile = [[[f64; CLASSES]; 24]; 2];

const COLDEST_C: f64 = -50.0;
/// A power of two, so that a mask keeps every look-up inside.
const STEPS: usize = 256;

/// Factor of a temperature, in half degrees from −50 °C to 77 °C.
#[derive(Clone, Debug)]
struct Factor(Box<[f64; STEPS]>);

impl Factor {
    fn of(of_c: impl Fn(f64) -> f64) -> Self {
        Self(Box::new(std::array::from_fn(|step| of_c(COLDEST_C + step as f64 / 2.0))))
    }
}

/// Place of a temperature in the lists.
#[inline]
fn step_of(air_c: f64) -> usize {
    // 2^52: the sum keeps whole numbers alone, in its low bits; quicker than a cast, which looks after what cannot come here.
    const WHOLE: f64 = (1_u64 << 52) as f64;
    let place = (air_c - COLDEST_C) * 2.0;
    let place = if place > 0.0 { place } else { 0.0 };
    let place = if place < (STEPS - 1) as f64 { place } else { (STEPS - 1) as f64 };
    (place + WHOLE).to_bits() as usize & (STEPS - 1)
}

/// An hour's need [W], direct, then alternating current; by temperature of the air and hour of the day.
type Sums = [[[f64; 2]; 24]; STEPS];

/// Loads that follow one thing, as they are gathered.
struct Kind {
    profile: Box<Profile>,
    factor: Factor,
    is_outside: bool,
}

/// Loads of one class that follow one thing.
#[derive(Clone, Debug)]
struct Follower {
    class: usize,
    profile: [[f64; 24]; 2],
    factor: Factor,
    is_outside: bool,
}

impl Kind {
    /// One follower for each class that has any.
    fn followers(&self) -> impl Iterator<Item = Follower> + '_ {
        (0..CLASSES).filter_map(|class| {
            let profile = self.profile.map(|days| days.map(|hour| hour[class]));
            let runs = profile.iter().flatten().any(|watts| *watts > 0.0);
            runs.then(|| Follower {
                class,
                profile,
                factor: self.factor.clone(),
                is_outside: self.is_outside,
            })
        })
    }
}

/// What the loads ask.
#[derive(Clone, Debug)]
pub struct Needs {
    base: Box<Profile>,
    followers: Vec<Follower>,
    /// All importances together, for the cold and the warm half of the year in use, then for both out of use; shared, since they are large
    /// and stay as they are.
    sums: Arc<[Sums]>,
    /// Spare loads alone, likewise.
    spare: Arc<[Sums]>,
    /// Coldest and hottest of the cabin [°C].
    cabin_c: (f64, f64),
    /// Days in use.
    pub used: [bool; DAYS],
    /// Whether a day lies in the warm half of the year.
    pub is_warm: [bool; DAYS],
    /// Share of each hour of the day for which the inverter is on.
    pub inverter_on: [f64; 24],
    /// Energy of a day as the brief has it, for the season of the larger need [Wh].
    pub day_wh: f64,
}

/// Temperature inside a fridge [°C]; food law keeps chilled food at or below it. Common practice, no source.
const FRIDGE_C: f64 = 5.0;
/// Ambient for which a fridge's warm-day energy is given [°C]: the warmer test room of IEC 62552-3:2015 (memory).
const FRIDGE_REF_C: f64 = 32.0;
/// Ventilation and cooling begin [°C], and run as stated [°C]. Common practice, no source.
const HEAT_FROM_C: f64 = 22.0;
const HEAT_REF_C: f64 = 32.0;
/// Base of heating degree hours [°C]: 18 °C, the 65 °F of the ASHRAE Handbook of Fundamentals (memory).
const COLD_FROM_C: f64 = 18.0;
/// Outside temperature for which a heater's cold-day energy is given [°C]. Common practice, no source.
const COLD_REF_C: f64 = 0.0;
/// No load runs longer than this against its stated day. Common practice, no source.
const MOST: f64 = 1.6;
/// A start lasts so long [h] (a heater's glow pin), and this many come in an hour of half load. Common practice, no source.
const START_HOURS: f64 = 2.0 / 60.0;
const STARTS_AT_HALF_LOAD: f64 = 2.0;

/// Heat through the walls goes with the difference of temperature (Newton's law of cooling).
fn fridge(cabin_c: f64) -> f64 {
    ((cabin_c - FRIDGE_C) / (FRIDGE_REF_C - FRIDGE_C)).clamp(0.1, MOST)
}
fn cooling(cabin_c: f64) -> f64 {
    ((cabin_c - HEAT_FROM_C) / (HEAT_REF_C - HEAT_FROM_C)).clamp(0.0, MOST)
}
fn heating(air_c: f64) -> f64 {
    ((COLD_FROM_C - air_c) / (COLD_FROM_C - COLD_REF_C)).clamp(0.0, MOST)
}
/// Starts an hour: a heater that is never off or always off starts no more.
fn starts(air_c: f64) -> f64 {
    let share = (heating(air_c) / MOST).min(1.0);
    4.0 * share * (1.0 - share) * STARTS_AT_HALF_LOAD
}

impl Needs {
    /// Gathers the loads of a system.
    pub fn of(system: &System) -> Self {
        let mut base = blank();
        let mut kinds = [
            Kind { profile: blank(), factor: Factor::of(fridge), is_outside: false },
            Kind { profile: blank(), factor: Factor::of(cooling), is_outside: false },
            Kind { profile: blank(), factor: Factor::of(heating), is_outside: true },
            Kind { profile: blank(), factor: Factor::of(starts), is_outside: true },
        ];
        let loads = || {
            system.devices.iter().filter_map(|device| match &device.spec {
                Spec::Load(load) => Some(load),
                _ => None,
            })
        };
        for load in loads() {
            let shape = window(&load.habit);
            let day_wh = load.habit.energy.get();
            let spread = |profile: &mut Profile, wh: f64| {
                add(profile, load, |hour| wh * shape.get(hour).copied().unwrap_or(0.0));
            };
            match load.habit.follows {
                None => spread(&mut base, day_wh),
                Some(Follows::Heat) if is_fridge(load) => spread(&mut kinds[0].profile, day_wh),
                Some(Follows::Heat) => spread(&mut kinds[1].profile, day_wh),
                Some(Follows::Cold) => {
                    spread(&mut kinds[2].profile, day_wh);
                    let start_wh = (load.power_start - load.power).get().max(0.0) * START_HOURS;
                    // A day's window holds 24 hours' worth of starts only where it is all day.
                    let hours = 24.0 * shape.iter().filter(|share| **share > 0.0).count() as f64 / 24.0;
                    spread(&mut kinds[3].profile, start_wh * hours);
                }
            }
            add(&mut base, load, |_| load.standby.get());
        }
        let day_wh = loads()
            .map(|load| load.energy_summer.get())
            .sum::<f64>()
            .max(loads().map(|load| load.energy_winter.get()).sum());
        let inverter_on = inverter_on(system, &base, &kinds);
        let is_south = system.usage.place.latitude.get() < 0.0;
        let mut is_warm = [false; DAYS];
        for (day, is_warm) in is_warm.iter_mut().enumerate() {
            // April to September in the north.
            *is_warm = (MONTH_STARTS[3]..MONTH_STARTS[9]).contains(&(day * 24)) != is_south;
        }
        let cabin = system.zones.iter().find(|zone| zone.kind == ZoneKind::Living);
        let cabin_c = cabin.map_or((-60.0, 60.0), |zone| {
            let (one, other) = (zone.coldest.get(), zone.hottest.get());
            (one.min(other), one.max(other))
        });
        let followers: Vec<Follower> = kinds.iter().flat_map(Kind::followers).collect();
        Self {
            sums: sums(&base, &followers, cabin_c, &[0, 1, 2]),
            spare: sums(&base, &followers, cabin_c, &[2]),
            base,
            followers,
            cabin_c,
            used: used(system, &is_warm),
            is_warm,
            inverter_on,
            day_wh,
        }
    }

    /// Need of an hour [W] by class. Outside days of use only vital loads run.
    ///
    /// - `air_c`: temperature outside [°C]; inside it is the nearest to it that the cabin is kept at
    /// - `vary`: factor of the day's use, 1 for a day like any other
    pub fn at(&self, day: usize, hour: usize, air_c: f64, vary: f64) -> [f64; CLASSES] {
        let season = usize::from(self.is_warm[day]);
        let need = asked(&self.base, &self.followers, season, hour, step_of(air_c), self.cabin_c);
        if self.used[day] { need.map(|need| need * vary) } else { only_vital(need) }
    }

    /// The hours of a day, for their sums alone; see [`Needs::at`].
    #[inline]
    pub fn of_day(&self, day: usize, vary: f64) -> NeedsOfDay<'_> {
        let is_used = self.used[day];
        let table = usize::from(self.is_warm[day]) + if is_used { 0 } else { 2 };
        NeedsOfDay {
            sums: &self.sums[table],
            spare: &self.spare[table],
            vary: if is_used { vary } else { 1.0 },
        }
    }
}

/// What the loads ask on a day.
#[derive(Clone, Copy, Debug)]
pub struct NeedsOfDay<'n> {
    sums: &'n Sums,
    spare: &'n Sums,
    vary: f64,
}

impl NeedsOfDay<'_> {
    /// Need of an hour [W], direct and alternating current.
    ///
    /// - `hour`: of the day   - `air_c`: temperature outside [°C]
    #[inline]
    pub fn at(&self, hour: usize, air_c: f64) -> (f64, f64) {
        let [dc, ac] = self.sums[step_of(air_c)][hour];
        (dc * self.vary, ac * self.vary)
    }

    /// The part of it that spare loads ask.
    #[inline]
    pub fn spare_at(&self, hour: usize, air_c: f64) -> (f64, f64) {
        let [dc, ac] = self.spare[step_of(air_c)][hour];
        (dc * self.vary, ac * self.vary)
    }
}

/// Need of an hour [W] by class on a day in use like any other.
fn asked(
    base: &Profile,
    followers: &[Follower],
    season: usize,
    hour: usize,
    outside: usize,
    cabin_c: (f64, f64),
) -> [f64; CLASSES] {
    let mut need = base[season][hour];
    let inside = outside.max(step_of(cabin_c.0)).min(step_of(cabin_c.1));
    for follower in followers {
        let factor = follower.factor.0[if follower.is_outside { outside } else { inside }];
        need[follower.class] += factor * follower.profile[season][hour];
    }
    need
}

/// Sums over some importances.
fn sums(base: &Profile, followers: &[Follower], cabin_c: (f64, f64), importances: &[usize]) -> Arc<[Sums]> {
    let of = |season: usize, is_used: bool| -> Sums {
        std::array::from_fn(|step| {
            std::array::from_fn(|hour| {
                let mut need = asked(base, followers, season, hour, step, cabin_c);
                if !is_used {
                    need = only_vital(need);
                }
                let sum = |first: usize| importances.iter().map(|at| need[first + at]).sum();
                [sum(0), sum(AC)]
            })
        })
    };
    // One by one: each is too large to stand beside the others on a thread's stack.
    [(0, true), (1, true), (0, false), (1, false)]
        .into_iter()
        .map(|(season, is_used)| of(season, is_used))
        .collect()
}

/// Out of use the vital loads on direct current run on.
fn only_vital(need: [f64; CLASSES]) -> [f64; CLASSES] {
    [need[0], 0.0, 0.0, 0.0, 0.0, 0.0]
}

fn blank() -> Box<Profile> {
    Box::new([[[0.0; CLASSES]; 24]; 2])
}

/// A compressor that runs day and night: its room's warmth decides, not people's comfort.
fn is_fridge(load: &Load) -> bool {
    load.nature == LoadNature::Motor && load.habit.from.minutes() == 0 && load.habit.until.minutes() == 1440
}

fn class(load: &Load) -> usize {
    let importance = match load.habit.importance {
        Importance::Vital => 0,
        Importance::Usual => 1,
        Importance::Spare => 2,
    };
    importance + if load.supply == Supply::Ac { AC } else { 0 }
}

fn add(profile: &mut Profile, load: &Load, watts: impl Fn(usize) -> f64) {
    let class = class(load);
    for (season, days) in profile.iter_mut().enumerate() {
        let runs = match load.habit.season {
            Season::AllYear => true,
            Season::Summer => season == 1,
            Season::Winter => season == 0,
        };
        if runs {
            for (hour, need) in days.iter_mut().enumerate() {
                need[class] += watts(hour);
            }
        }
    }
}

/// Share of a day's energy in each hour: even over the window.
fn window(habit: &Habit) -> [f64; 24] {
    let (from, until) = (f64::from(habit.from.minutes()), f64::from(habit.until.minutes()));
    let until = if until > from { until } else { until + 1440.0 };
    let mut shape = [0.0; 24];
    for (hour, share) in shape.iter_mut().enumerate() {
        for day in [0.0, 1440.0] {
            let start = hour as f64 * 60.0 + day;
            *share += ((start + 60.0).min(until) - start.max(from)).max(0.0) / (until - from);
        }
    }
    shape
}

/// The days in use: the brief's season, the calendar's stretches in it, and the last days of each week.
fn used(system: &System, is_warm: &[bool; DAYS]) -> [bool; DAYS] {
    let usage = &system.usage;
    let mut used = [false; DAYS];
    for (day, used) in used.iter_mut().enumerate() {
        let in_season = match usage.season {
            Season::AllYear => true,
            Season::Summer => is_warm[day],
            Season::Winter => !is_warm[day],
        };
        let in_span = if usage.used.is_empty() {
            in_season
        } else {
            usage.used.iter().any(|span| span.has(day as u16))
        };
        let in_week = day % 7 >= 7 - (usage.days_per_week.clamp(1, 7) as usize);
        *used = in_span && in_week;
    }
    used
}

/// Share of each hour for which the inverter is on, so that the day's sum is as planned: where AC loads run, first.
fn inverter_on(system: &System, base: &Profile, kinds: &[Kind]) -> [f64; 24] {
    let hours = system.usage.inverter_hours.get().clamp(0.0, 24.0);
    let mut weight = [0.0; 24];
    for profile in std::iter::once(base).chain(kinds.iter().map(|kind| &*kind.profile)) {
        for (hour, weight) in weight.iter_mut().enumerate() {
            *weight += profile.iter().flat_map(|season| &season[hour][AC..]).sum::<f64>();
        }
    }
    let busy = weight.iter().filter(|weight| **weight > 0.0).count() as f64;
    if busy == 0.0 || hours >= 24.0 {
        return [hours / 24.0; 24];
    }
    // Evenly over the hours in which something may run; what is left over the others.
    let inside = (hours / busy).min(1.0);
    let outside = if busy < 24.0 { (hours - inside * busy).max(0.0) / (24.0 - busy) } else { 0.0 };
    weight.map(|weight| if weight > 0.0 { inside } else { outside })
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::ClockTime;
    use quantity::WattHoursPerDay;

    fn habit(from: &str, until: &str) -> Habit {
        let time = |text| ClockTime::parse(text).expect("a time");
        Habit { from: time(from), until: time(until), ..Habit::steady(WattHoursPerDay::new(100.0)) }
    }

    #[test]
    fn a_days_energy_is_spread_over_its_window_and_none_is_lost() {
        for (from, until, hours) in
            [("00:00", "24:00", 24), ("18:30", "23:00", 5), ("21:00", "07:00", 10), ("10:15", "10:45", 1)]
        {
            let shape = window(&habit(from, until));
            assert!((shape.iter().sum::<f64>() - 1.0).abs() < 1e-12, "{from} to {until}");
            assert_eq!(shape.iter().filter(|share| **share > 0.0).count(), hours, "{from} to {until}");
        }
        let night = window(&habit("21:00", "07:00"));
        assert!(night[20] == 0.0 && night[21] > 0.0 && night[6] > 0.0 && night[7] == 0.0);
    }

    // Newton's law of cooling: half the difference of temperature, half the heat to pump.
    #[test]
    fn a_fridge_works_half_as_much_at_half_the_difference() {
        assert!((fridge(FRIDGE_C + (FRIDGE_REF_C - FRIDGE_C) / 2.0) - 0.5).abs() < 1e-12);
    }

    // Heating degree hours: nothing at the base, twice the difference twice the heat.
    #[test]
    fn a_heater_follows_degree_hours() {
        assert_eq!(heating(COLD_FROM_C), 0.0);
        assert!((heating(9.0) * 2.0 - heating(0.0)).abs() < 1e-12);
        assert_eq!(starts(30.0), 0.0);
    }
}
