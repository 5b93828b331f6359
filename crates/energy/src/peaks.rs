//! What runs together, minute by minute: the largest power of a day, with one load starting, over many days of chance.
//! Never: replaces the sum that sizes the inverter; it says how often that much is really asked.
//! Start at [`peaks`].

use model::parts::Supply;
use model::{Load, Spec, System};
use quantity::{Fraction, Watts};
use rand_distr::Distribution;
use serde::Serialize;

use crate::climate::stream;

const MINUTES: usize = 1440;
/// A compressor's cycle, on and off together [min]. Common practice, no source.
const CYCLE_MIN: f64 = 45.0;
/// Longest single run of a load that people switch on [min]. Common practice, no source.
const RUN_MIN: f64 = 30.0;
/// Set apart from the streams of weather and use.
const STREAM: u64 = 0x7065_616b_735f_5f5f;

/// Largest powers of a day.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Peak {
    /// On half of the days it stays below.
    pub median: Watts,
    /// On 99 of 100 days it stays below.
    pub rare: Watts,
    /// The largest of all days.
    pub most: Watts,
}

/// What runs together.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Peaks {
    /// Days tried.
    pub days: u32,
    /// Alternating current, running.
    pub ac: Peak,
    /// The same with one load starting in that minute.
    pub ac_starting: Peak,
    /// From the bank, running: direct current, and alternating current through the inverter.
    pub bank: Peak,
    /// Share of days on which alternating current passes the inverter's continuous power for a minute.
    pub over_inverter: Fraction,
    /// Share of days on which a start passes its surge power.
    pub over_surge: Fraction,
}

/// Tries some days of use in the season of the larger need; same seed, same bytes.
pub fn peaks(system: &System, days: u32, seed: u64) -> Peaks {
    let loads: Vec<&Load> = system
        .devices
        .iter()
        .filter_map(|device| match &device.spec {
            Spec::Load(load) if load.power > Watts::zero() => Some(load),
            _ => None,
        })
        .collect();
    let inverter = system.devices.iter().find_map(|device| match &device.spec {
        Spec::Inverter(part, _) => Some(part),
        _ => None,
    });
    let efficiency = inverter.map_or(1.0, |part| part.efficiency_full.get().clamp(0.05, 1.0));
    let sum = |of: fn(&Load) -> f64| loads.iter().map(|load| of(load)).sum::<f64>();
    let is_warm = sum(|load| load.energy_summer.get()) >= sum(|load| load.energy_winter.get());
    let energy = |load: &Load| if is_warm { load.energy_summer } else { load.energy_winter }.get();

    let mut found: [Vec<f64>; 3] = [const { Vec::new() }; 3];
    let (mut over_inverter, mut over_surge) = (0_u32, 0_u32);
    let mut day = Day::new();
    for index in 0..days {
        let mut chance = stream(seed ^ STREAM, u64::from(index));
        day.clear();
        for load in &loads {
            let minutes = (energy(load) - load.standby.get() * 24.0).max(0.0) / load.power.get() * 60.0;
            day.place(load, minutes.min(MINUTES as f64), &mut chance);
        }
        let ac = day.ac.iter().copied().fold(0.0, f64::max);
        let starting = day.ac.iter().zip(&day.ac_start).map(|(run, start)| run + start).fold(0.0, f64::max);
        let bank = day.dc.iter().zip(&day.ac).map(|(dc, ac)| dc + ac / efficiency).fold(0.0, f64::max);
        for (list, value) in found.iter_mut().zip([ac, starting, bank]) {
            list.push(value);
        }
        if let Some(part) = inverter {
            over_inverter += u32::from(ac > part.power.get());
            over_surge += u32::from(starting > part.surge.get());
        }
    }
    let [ac, ac_starting, bank] = found.map(peak);
    let share = |count: u32| Fraction::new(f64::from(count) / f64::from(days.max(1)));
    Peaks { days, ac, ac_starting, bank, over_inverter: share(over_inverter), over_surge: share(over_surge) }
}

fn peak(mut values: Vec<f64>) -> Peak {
    values.sort_by(f64::total_cmp);
    let at = |share: f64| {
        let index = ((values.len() as f64 * share).ceil() as usize).saturating_sub(1);
        Watts::new(values.get(index).or(values.last()).copied().unwrap_or(0.0))
    };
    Peak { median: at(0.5), rare: at(0.99), most: at(1.0) }
}

/// A day's minutes [W].
struct Day {
    dc: Vec<f64>,
    ac: Vec<f64>,
    ac_start: Vec<f64>,
    /// Minutes taken by each group of loads that take turns.
    turns: Vec<(String, Vec<bool>)>,
}

impl Day {
    fn new() -> Self {
        let blank = || vec![0.0; MINUTES];
        Self { dc: blank(), ac: blank(), ac_start: blank(), turns: Vec::new() }
    }

    fn clear(&mut self) {
        for list in [&mut self.dc, &mut self.ac, &mut self.ac_start] {
            list.fill(0.0);
        }
        for (_, taken) in &mut self.turns {
            taken.fill(false);
        }
    }

    /// Runs a load for some minutes at times of chance in its window: in cycles where it runs on its own, else in runs.
    fn place(&mut self, load: &Load, minutes: f64, chance: &mut impl rand::Rng) {
        let from = usize::from(load.habit.from.minutes());
        let until = usize::from(load.habit.until.minutes());
        let window = if until > from { until - from } else { until + MINUTES - from };
        let mut left = minutes.round() as usize;
        if left == 0 || window == 0 {
            return;
        }
        if load.continuous {
            // On for its share of each cycle, at a phase of chance.
            let on = (CYCLE_MIN * (minutes / window as f64).min(1.0)).round().max(1.0) as usize;
            let mut at = from + draw(chance, CYCLE_MIN as usize);
            while at < from + window && left > 0 {
                let run = on.min(left);
                self.run(load, at, run);
                left -= run;
                at += CYCLE_MIN as usize;
            }
            return;
        }
        while left > 0 {
            let run = left.min(RUN_MIN as usize);
            // A load that finds its group busy waits; after some tries it runs anyway, and the day counts as it is.
            let mut at = from + draw(chance, window);
            for _ in 0..20 {
                if !self.is_taken(load, at, run) {
                    break;
                }
                at = from + draw(chance, window);
            }
            self.run(load, at, run);
            left -= run;
        }
    }

    fn is_taken(&self, load: &Load, at: usize, run: usize) -> bool {
        let Some(group) = &load.takes_turns else { return false };
        self.turns
            .iter()
            .find(|(name, _)| name == group)
            .is_some_and(|(_, taken)| (at..at + run).any(|minute| taken[minute % MINUTES]))
    }

    fn run(&mut self, load: &Load, at: usize, run: usize) {
        let is_ac = load.supply == Supply::Ac;
        let list = if is_ac { &mut self.ac } else { &mut self.dc };
        for minute in at..at + run {
            list[minute % MINUTES] += load.power.get();
        }
        if is_ac {
            let extra = (load.power_start - load.power).get().max(0.0);
            let slot = &mut self.ac_start[at % MINUTES];
            *slot = slot.max(extra);
        }
        let Some(group) = &load.takes_turns else { return };
        if !self.turns.iter().any(|(name, _)| name == group) {
            self.turns.push((group.clone(), vec![false; MINUTES]));
        }
        if let Some((_, taken)) = self.turns.iter_mut().find(|(name, _)| name == group) {
            for minute in at..at + run {
                taken[minute % MINUTES] = true;
            }
        }
    }
}

/// A whole number below `most`.
fn draw(chance: &mut impl rand::Rng, most: usize) -> usize {
    rand_distr::Uniform::new(0, most.max(1)).map_or(0, |even| even.sample(chance))
}
