//! A combination of options as the hour loop sees it, and the drawn years that all of them share.
//! Never: picks. The same combination gives the same years whatever thread runs it.
//! Start at [`Mix`]; [`Skies`] holds the weather, [`Runner`] runs years.

use model::{Importance, Spec, System};
use rayon::prelude::*;

use super::front::{Dark, Hint};
use super::options::{Choice, Options, Panel, What};
use super::worth::Worth;
use crate::plant::{ArrayPlant, EnginePlant, Plant};
use crate::run::{Blind, Flow, Going, Outside, WARM_UP_DAYS, Watch, stretch};
use crate::site::HOURS;
use crate::sky::{Scratch, Sky};
use crate::weather::Series;

/// A combination: an option of each kind.
#[derive(Clone, Copy)]
pub struct Mix<'o> {
    /// By kind, in the order of [`What::ALL`].
    pub choices: [&'o Choice; 4],
    /// The project as it stands.
    current: &'o Choice,
}

impl<'o> Mix<'o> {
    /// The combination of a number; `None` beyond the last.
    pub fn at(options: &'o Options, at: usize) -> Option<Self> {
        let [bank, array, engine, inverter] = digits(options, at)?;
        let lists = &options.lists;
        let choices =
            [lists[0].get(bank)?, lists[1].get(array)?, lists[2].get(engine)?, lists[3].get(inverter)?];
        Some(Self { choices, current: lists[0].first()? })
    }

    /// Cost and mass over those of the project as it stands.
    pub fn more(&self) -> Worth {
        self.choices.iter().fold(Worth::default(), |sum, choice| sum.plus(choice.more))
    }

    fn of(&self, what: What) -> &'o Choice {
        match what {
            What::Bank => self.choices[0],
            What::Array => self.choices[1],
            What::Engine => self.choices[2],
            What::Inverter => self.choices[3],
        }
    }

    /// Current that the bank takes beside all the sun, at least a quarter of its limit [A]; as `derive` holds it.
    fn room(&self) -> f64 {
        let bank = &self.of(What::Bank).brings.facts;
        let (limit, low) = (bank.charge_limit.get(), bank.voltage_low.get().max(1.0));
        let panels = &self.of(What::Array).brings.panels;
        let sun: f64 = panels.iter().map(|panel| panel.amps.min(panel.rated_w / low)).sum();
        (limit - sun).max(limit / 4.0)
    }

    /// Whether its parts go together: the bank takes what sun and engine give, and the engine charger knows its chemistry.
    pub fn goes_together(&self, voltage: f64) -> bool {
        let bank = &self.of(What::Bank).brings.facts;
        let sun: f64 = self.of(What::Array).brings.panels.iter().map(|panel| panel.rated_w).sum();
        let engine = &self.of(What::Engine).brings;
        let takes_sun = sun / voltage.max(1.0) <= bank.charge_limit.get();
        let takes_engine = engine.dcdc_amps <= self.room();
        let knows = engine.dcdc_profiles.is_empty() || engine.dcdc_profiles.contains(&bank.chemistry);
        takes_sun && takes_engine && knows
    }

    /// Charging from alternating current: current into the bank [A] and efficiency.
    pub fn charger(&self) -> (f64, f64) {
        let (bank, inverter) = (&self.of(What::Bank).brings, &self.of(What::Inverter).brings);
        let supply = &bank.supply;
        let Some((charge, efficiency)) = inverter.inverter_charger else {
            return (supply.amps, supply.efficiency);
        };
        // What the project's own inverter brings stands in the bank's figures: take it out, and put in this one's.
        let own = self.current.brings.inverter_charger;
        let own = own.map_or((0.0, 1.0), |(amps, own)| (amps.min(self.room_of(bank)), own));
        let mine = charge.min(self.room());
        let others = (supply.amps - own.0).max(0.0);
        let through = (supply.amps * supply.efficiency - own.0 * own.1).max(0.0);
        let amps = others + mine;
        let mean = if amps > 0.0 { ((through + mine * efficiency) / amps).clamp(0.05, 1.0) } else { 1.0 };
        (amps, mean)
    }

    /// Makes a plant out of the project's own; all but what the options bring stays.
    pub fn dress(&self, plant: &mut Plant, panels: &mut Vec<Panel>) {
        let [bank, array, engine, inverter] = self.choices.map(|choice| &choice.brings);
        let current = &self.current.brings;
        plant.bank = bank.bank.clone();
        (plant.floor, plant.spare_floor) = (bank.floor, bank.spare_floor);
        plant.supply = bank.supply;
        (plant.supply.amps, plant.supply.efficiency) = self.charger();
        plant.inverter = inverter.inverter;
        plant.inverter_share = inverter.inverter_share;
        plant.needs.inverter_on = inverter.inverter_on;
        plant.engine = engine.engine;
        if let Some(EnginePlant::Relay { ohms, bank_ohms, .. }) = &mut plant.engine {
            let own = bank.facts.resistance.get();
            *ohms += own - *bank_ohms;
            *bank_ohms = own;
        }
        plant.order = engine.order;
        plant.controllers = array.controllers;
        plant.standing_w = bank.standing_w + array.standing_w - current.standing_w;
        // A controller's limit is a current: its power follows the bank's voltage.
        let volts = bank.facts.voltage_high.get() / current.facts.voltage_high.get().max(1.0);
        panels.clear();
        panels.extend(array.panels.iter().map(|panel| Panel { limit_w: panel.limit_w * volts, ..*panel }));
    }

    /// Room of a bank beside the project's own array.
    fn room_of(&self, bank: &super::options::Brings) -> f64 {
        let limit = bank.facts.charge_limit.get();
        let low = bank.facts.voltage_low.get().max(1.0);
        let sun: f64 =
            self.current.brings.panels.iter().map(|panel| panel.amps.min(panel.rated_w / low)).sum();
        (limit - sun).max(limit / 4.0)
    }
}

/// The options of a combination's number, least kind last.
pub fn digits(options: &Options, at: usize) -> Option<[usize; 4]> {
    let [a, b, c, d] = options.lists.each_ref().map(Vec::len);
    let whole = [a, b, c, d].iter().try_fold(1_usize, |product, count| product.checked_mul(*count))?;
    (at < whole).then(|| [at / (b * c * d), at / (c * d) % b, at / d % c, at % d])
}

/// The number of a combination.
pub fn number(options: &Options, digits: [usize; 4]) -> usize {
    digits.iter().zip(&options.lists).fold(0, |at, (digit, list)| at * list.len() + digit)
}

/// Weather of the drawn years, and what a watt of each kind of array gives in it; computed once for all combinations.
pub struct Skies {
    /// What the weather is, in words.
    pub weather: String,
    /// What was assumed about it.
    pub notes: Vec<crate::weather::Note>,
    years: Vec<SkyYear>,
    has_spare: bool,
}

struct SkyYear {
    air_c: Vec<f64>,
    /// Temperature of the bank [°C] before each day, those of the warm-up first; it depends on the weather and the bank's place alone.
    bank_c: Vec<f64>,
    vary: Vec<f64>,
    /// By class, power of one rated watt [W].
    per_watt: Vec<Vec<f64>>,
}

impl Skies {
    /// Draws `count` years; about 0.3 MB each.
    pub fn draw(
        system: &System,
        plant: &Plant,
        classes: &[model::Array],
        series: Option<&Series>,
        count: u32,
        seed: u64,
    ) -> Self {
        let mut plain = plant.clone();
        plain.arrays = classes
            .iter()
            .map(|array| ArrayPlant {
                name: array.name.clone(),
                array: array.clone(),
                efficiency: 1.0,
                limit_w: f64::INFINITY,
                follows_bank: None,
            })
            .collect();
        let sky = Sky::of(system, &plain, series);
        // The sum of all arrays is not wanted here, so none is asked for.
        plain.arrays.clear();
        let years = (0..u64::from(count))
            .into_par_iter()
            .map_init(Scratch::new, |scratch, index| {
                sky.year(&plain, seed, index, scratch);
                let per_watt = (0..classes.len())
                    .map(|class| {
                        let mut watts = vec![0.0; HOURS];
                        sky.array_power(class, scratch, &mut watts);
                        watts
                    })
                    .collect();
                let (air_c, vary) = (scratch.weather.air_c.clone(), scratch.vary.clone());
                SkyYear { bank_c: bank_c(&plain, scratch.outside()), air_c, vary, per_watt }
            })
            .collect();
        Self { weather: sky.weather.clone(), notes: sky.notes.clone(), years, has_spare: has_spare(system) }
    }

    /// Whether the project has loads that are given up first.
    pub fn has_spare(&self) -> bool {
        self.has_spare
    }

    /// The least that a watt of one class gives for each watt that a watt of another gives, over all hours with sun.
    pub fn least_ratio(&self, class: usize, other: usize) -> f64 {
        let mut least = f64::INFINITY;
        for year in &self.years {
            let (Some(mine), Some(others)) = (year.per_watt.get(class), year.per_watt.get(other)) else {
                return 0.0;
            };
            for (mine, other) in mine.iter().zip(others) {
                if *other > 0.0 {
                    least = least.min(mine / other);
                }
            }
        }
        least
    }

    /// How many years were drawn.
    pub fn count(&self) -> u32 {
        self.years.len() as u32
    }
}

fn has_spare(system: &System) -> bool {
    system.devices.iter().any(|device| match &device.spec {
        Spec::Load(load) => load.habit.importance == Importance::Spare,
        _ => false,
    })
}

/// Temperature of the bank before each day of warm-up and year.
fn bank_c(plant: &Plant, outside: Outside<'_>) -> Vec<f64> {
    struct Days(Vec<f64>);
    impl Watch for Days {
        fn hour(&mut self, _: usize, _: &Flow) {}
        fn day(&mut self, _: usize, _: f64, _: f64, bank_c: f64) {
            self.0.push(bank_c);
        }
    }
    let first = HOURS - WARM_UP_DAYS * 24;
    let mut going = Going::at(plant, 1.0, outside.air_c.get(first).copied().unwrap_or(15.0));
    let mut days = Days(vec![going.bank_c]);
    stretch(plant, outside, first..HOURS, &mut going, &mut days);
    stretch(plant, outside, 0..HOURS, &mut going, &mut days);
    days.0
}

/// Hours looked at before it is asked whether the system has run out; whole days.
const PIECE: usize = 5 * 24;
/// Days before a known shortage from which a full bank is tried.
const TRIES: [usize; 2] = [8, 36];
/// Share of the bank that must go short to leave no doubt. The bank's tables stand a thousandth of it apart, and where an hour crosses from
/// row to row the emptier of two banks may come out so much the fuller; `tests/sizes_order.rs` holds it to half of this.
const CLEARLY: f64 = 0.01;

/// Runs years of one plant; one for each thread.
pub struct Runner {
    /// The plant.
    pub plant: Plant,
    /// Its arrays.
    pub panels: Vec<Panel>,
    sun_w: Vec<f64>,
}

/// Whether a fuller bank at the beginning of any stretch never goes short unless the emptier one has gone short by then.
///
/// Until the emptier one goes short, every hour takes the state of charge `s` to `s + min(asked(s), limits(s))`, which rises with `s`:
/// a fuller bank stands at a higher voltage, so a power takes less charge out, and a charger's current brings more. So the fuller one
/// stays the fuller, and has at least as much above the floor. (Once the emptier one is short, its floor may leave it the fuller; by
/// then it has run out, which is all that is asked. The tables of the hour loop round this to a row, so a margin is asked besides: see
/// [`CLEARLY`].) Four things break this, and are left to the whole year: spare loads, which a fuller
/// bank serves and an emptier one gives up; a generator, which an emptier bank starts; a relay, whose current falls with the bank's
/// voltage; and lead-acid, whose two wells are two states.
pub fn is_orderly(plant: &Plant, has_spare: bool) -> bool {
    let has_relay = matches!(plant.engine, Some(EnginePlant::Relay { .. }));
    let is_lithium = plant.bank.chemistry() == model::parts::Chemistry::Lfp;
    is_lithium && !has_spare && !has_relay && plant.supply.generator_w <= 0.0
}

impl Runner {
    /// For plants that differ from `plant` by options only.
    pub fn new(plant: &Plant) -> Self {
        Self { plant: plant.clone(), panels: Vec::new(), sun_w: vec![0.0; HOURS] }
    }

    fn shine(&mut self, year: &SkyYear, hours: std::ops::Range<usize>) {
        let Some(sun_w) = self.sun_w.get_mut(hours.clone()) else { return };
        sun_w.fill(0.0);
        for panel in &self.panels {
            let Some(per_watt) = year.per_watt.get(panel.class).and_then(|list| list.get(hours.clone()))
            else {
                continue;
            };
            let (watts, efficiency, limit) = (panel.watts, panel.efficiency, panel.limit_w);
            for (sum, one) in sun_w.iter_mut().zip(per_watt) {
                *sum += (one * watts * efficiency).min(limit);
            }
        }
    }

    /// Whether something that is not spare goes short in a year: the answer of [`crate::run::run`], given as soon as it is known.
    ///
    /// Where a bank that starts fuller never ends emptier ([`is_orderly`]), a full bank some days before a shortage that others had is
    /// tried first: if it goes short, so does the bank that comes there from January. `hint` is the hour at which theirs ended.
    pub fn runs_out(&mut self, skies: &Skies, year: u32, hint: Hint) -> Option<Dark> {
        let year = skies.years.get(year as usize)?;
        if let Some(hint) = hint
            && is_orderly(&self.plant, skies.has_spare)
        {
            // The hour, and which try went short there the last time; shorter ones are left out.
            let (until, from) = ((hint >> 1) as usize, (hint & 1) as usize);
            let found = (from..TRIES.len()).find(|at| self.goes_short_from_full(year, until, TRIES[*at]));
            if let Some(at) = found {
                return Some(Dark { hint: Some((until as u32) << 1 | at as u32), is_clear: true });
            }
        }
        let first = HOURS - WARM_UP_DAYS * 24;
        self.shine(year, first..HOURS);
        let air = year.air_c.get(first).copied().unwrap_or(15.0);
        let mut going = Going::at(&self.plant, 1.0, air);
        self.stretch(year, first..HOURS, &mut going);
        let mut from = 0;
        while from < HOURS {
            let until = (from + PIECE).min(HOURS);
            if from < first {
                self.shine(year, from..until.min(first));
            }
            let tally = self.stretch(year, from..until, &mut going);
            if tally.short_hours() > 0 {
                return Some(Dark { hint: Some((until as u32) << 1), is_clear: self.is_clear(&tally) });
            }
            from = until;
        }
        None
    }

    /// Whether a full bank some days before an hour clearly goes short until then.
    fn goes_short_from_full(&mut self, year: &SkyYear, until: usize, days: usize) -> bool {
        // Counted from the first day of the warm-up.
        let begin = (until / 24 + WARM_UP_DAYS).saturating_sub(days);
        let Some(bank_c) = year.bank_c.get(begin).copied() else { return false };
        let mut going = Going::at(&self.plant, 1.0, bank_c);
        going.bank_c = bank_c;
        if begin < WARM_UP_DAYS {
            let hours = HOURS - (WARM_UP_DAYS - begin) * 24..HOURS;
            self.shine(year, hours.clone());
            self.stretch(year, hours, &mut going);
        }
        let hours = begin.saturating_sub(WARM_UP_DAYS) * 24..until.min(HOURS);
        self.shine(year, hours.clone());
        let tally = self.stretch(year, hours, &mut going);
        self.is_clear(&tally)
    }

    fn is_clear(&self, tally: &crate::run::Tally) -> bool {
        tally.total().short_wh > self.plant.bank.capacity_wh() * CLEARLY
    }

    fn stretch(&self, year: &SkyYear, hours: std::ops::Range<usize>, going: &mut Going) -> crate::run::Tally {
        let outside = Outside { sun_w: &self.sun_w, air_c: &year.air_c, vary: &year.vary };
        stretch(&self.plant, outside, hours, going, &mut Blind)
    }

    /// Years of all that are drawn in which it runs out.
    pub fn count(&mut self, skies: &Skies) -> u32 {
        (0..skies.count()).map(|year| u32::from(self.runs_out(skies, year, None).is_some())).sum()
    }

    /// The whole of a year by [`crate::run::run`]; what a search never needs, for checks of it.
    pub fn whole(&mut self, skies: &Skies, year: u32) -> Option<crate::run::Tally> {
        let year = skies.years.get(year as usize)?;
        self.shine(year, 0..HOURS);
        let outside = Outside { sun_w: &self.sun_w, air_c: &year.air_c, vary: &year.vary };
        Some(crate::run::run(&self.plant, outside, &mut Blind))
    }
}
