//! What a search found, in words and numbers: the front, what stands now, what is chosen and why, and a step to each side of it.
//! Never: searches. The same [`Found`] gives the same bytes, whether it came from one run or from many shares.
//! Start at [`Sizes`].

use model::{Edit, Project, System};
use quantity::{Fraction, Kilograms, Money};
use rayon::prelude::*;
use serde::Serialize;

use super::Search;
use super::front::{Found, Point};
use super::mix::{Mix, Runner, digits, number};
use super::options::{Choice, What, panel_of};
use super::worth::Worth;
use crate::outcome::Chance;
use crate::plant::Plant;
use crate::weather::Note;

/// A design derived as a whole, with all its cables and fuses.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Whole {
    /// Middle of the price band.
    pub cost: Money,
    /// Mass.
    pub mass: Kilograms,
    /// Chance of running out in the same years.
    pub chance: Chance,
}

/// A combination.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Design {
    /// Its number in the search.
    pub number: usize,
    /// Its sizes in a few words, for a picture: `4.9 kWh, 800 W, 40 A, 3000 W`.
    pub brief: String,
    /// The bank.
    pub bank: String,
    /// The array.
    pub array: String,
    /// Charging from the engine.
    pub engine: String,
    /// The inverter.
    pub inverter: String,
    /// Cost as the search counts it: the project as it stands, and what each choice alone changes.
    pub cost: Money,
    /// Mass, counted so.
    pub mass: Kilograms,
    /// Chance of running out in a year.
    pub chance: Chance,
    /// The design derived as a whole; `None` where that was not asked for.
    pub whole: Option<Whole>,
    /// Changes to intent.toml, as a person would write them.
    pub edits: Vec<String>,
}

/// A step from the chosen design to its neighbour of one kind.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Of what kind.
    pub what: What,
    /// Whether it is the larger one.
    pub is_larger: bool,
    /// The neighbour.
    pub title: String,
    /// What it costs more, below 0 less.
    pub cost_more: Money,
    /// What it weighs more.
    pub mass_more: Kilograms,
    /// Its chance.
    pub chance: Chance,
    /// Why it cannot be had; `None` where it can.
    pub hindered: Option<String>,
}

/// Why a design was chosen, or why none.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Because {
    /// In a sentence.
    pub sentence: String,
    /// What was wished.
    pub running_out: Fraction,
    /// What may be carried.
    pub payload: Option<Kilograms>,
    /// Cheaper designs of the front that meet the wish by the search's figures and were passed over, with the reason.
    pub passed_over: Vec<(usize, String)>,
}

/// What a search found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sizes {
    /// Combinations in all.
    pub combinations: usize,
    /// Those whose parts go together within the payload.
    pub tried: usize,
    /// Left out for their mass alone.
    pub too_heavy: usize,
    /// Choices of each kind.
    pub choices: Vec<(What, usize)>,
    /// Drawn years.
    pub years: u32,
    /// Seed.
    pub seed: u64,
    /// What climate the weather is drawn from.
    pub weather: String,
    /// The project as it stands.
    pub current: Design,
    /// Designs that no other beats in cost, mass and chance together, by cost.
    pub front: Vec<Design>,
    /// Place of the chosen one in `front`.
    pub chosen: Option<usize>,
    /// Why.
    pub because: Because,
    /// A step to each side of the chosen one.
    pub steps: Vec<Step>,
    /// Designs that would stand in the front but cannot be built as a whole, with the reason.
    pub refused: Vec<(Design, String)>,
    /// What was assumed.
    pub notes: Vec<Note>,
}

/// Asked of a derived design before it is chosen: what speaks against it, if anything.
pub type Judge<'j> = &'j (dyn Fn(&Project, &System) -> Option<String> + Sync);

impl Search<'_> {
    /// Tells what was found; `judge` may speak against a design that would be chosen.
    pub fn tell(&self, found: &Found, judge: Judge<'_>) -> Sizes {
        let front: Vec<Design> = found.front.par_iter().map(|point| self.design(point, true)).collect();
        let refused = found
            .refused
            .par_iter()
            .map(|point| {
                let why = self.whole_system(point.trial.at).err().unwrap_or_default();
                (self.design(point, false), why)
            })
            .collect();
        let wish = self.system.usage.running_out;
        let (chosen, because) = self.choose(&front, wish, judge);
        let steps = chosen.and_then(|at| front.get(at)).map_or_else(Vec::new, |design| self.steps(design));
        let mut runner = Runner::new(&self.plant);
        self.dress(&mut runner, 0);
        let current =
            Point { trial: super::Trial { at: 0, worth: self.base }, ran_out: runner.count(&self.skies) };
        Sizes {
            combinations: self.combinations,
            tried: self.trials.len(),
            too_heavy: self.too_heavy,
            choices: What::ALL.into_iter().zip(self.options.lists.iter().map(Vec::len)).collect(),
            years: self.skies.count(),
            seed: self.seed,
            weather: self.skies.weather.clone(),
            current: self.design(&current, true),
            front,
            chosen,
            because,
            steps,
            refused,
            notes: self.notes(),
        }
    }

    fn design(&self, point: &Point, is_whole: bool) -> Design {
        let title = |what: usize| {
            Mix::at(&self.options, point.trial.at)
                .and_then(|mix| mix.choices.get(what).map(|choice| choice.title.clone()))
                .unwrap_or_default()
        };
        Design {
            number: point.trial.at,
            brief: Mix::at(&self.options, point.trial.at).map_or_else(String::new, |mix| brief(&mix)),
            bank: title(0),
            array: title(1),
            engine: title(2),
            inverter: title(3),
            cost: point.trial.worth.cost(),
            mass: point.trial.worth.mass(),
            chance: Chance::of(point.ran_out, self.skies.count()),
            whole: if is_whole { self.whole(point.trial.at) } else { None },
            edits: self.edits(point.trial.at).iter().map(line).collect(),
        }
    }

    /// The design derived as a whole and run through the same years.
    fn whole(&self, at: usize) -> Option<Whole> {
        let system = if at == 0 { self.system.clone() } else { self.whole_system(at).ok()?.1 };
        let worth = Worth::of(&system, &self.project.library);
        let plant = Plant::of(&system)?;
        let mut runner = Runner::new(&plant);
        runner.panels = plant
            .arrays
            .iter()
            .map(|array| panel_of(&self.options.classes, &system, array))
            .collect::<Option<_>>()?;
        Some(Whole {
            cost: worth.cost(),
            mass: worth.mass(),
            chance: Chance::of(runner.count(&self.skies), self.skies.count()),
        })
    }

    /// The cheapest of the front that meets the wish, then the lightest.
    fn choose(&self, front: &[Design], wish: Fraction, judge: Judge<'_>) -> (Option<usize>, Because) {
        let payload = self.system.payload;
        let mut meeting: Vec<(usize, &Design, &Whole)> = front
            .iter()
            .enumerate()
            .filter(|(_, design)| design.chance.share <= wish)
            .filter_map(|(at, design)| Some((at, design, design.whole.as_ref()?)))
            .collect();
        meeting.sort_by(|a, b| {
            a.2.cost.total_cmp(&b.2.cost).then_with(|| a.2.mass.total_cmp(&b.2.mass)).then(a.0.cmp(&b.0))
        });
        let mut passed_over = Vec::new();
        let mut chosen = None;
        for (at, design, whole) in &meeting {
            let against = if whole.chance.share > wish {
                Some(format!("derived as a whole it runs out in {} of years", whole.chance.share))
            } else {
                self.whole_system(design.number)
                    .map_or_else(Some, |(project, system)| judge(&project, &system))
            };
            match against {
                Some(reason) => passed_over.push((*at, reason)),
                None => {
                    chosen = Some((*at, *design, *whole));
                    break;
                }
            }
        }
        let limit = payload.map_or(String::new(), |payload| format!(" and keeps within {payload}"));
        let sentence = match chosen {
            Some((_, _, whole)) => format!(
                "the cheapest design that runs out in no more than {wish} of years{limit}: {} of {} drawn years, {:.0} in money, {}; of those as cheap the lightest{}",
                whole.chance.happened,
                whole.chance.of,
                whole.cost.get(),
                whole.mass,
                match passed_over.len() {
                    0 => String::new(),
                    count => format!("; {count} cheaper passed over"),
                }
            ),
            None => {
                let best = front.iter().min_by_key(|design| design.chance.happened);
                match best {
                    Some(best) => format!(
                        "no design that can be built runs out in no more than {wish} of years{limit}; the surest runs out in {} of {} drawn years",
                        best.chance.happened, best.chance.of
                    ),
                    None => "no combination of the library can be built for this project".to_owned(),
                }
            }
        };
        let because = Because { sentence, running_out: wish, payload, passed_over };
        (chosen.map(|(at, ..)| at), because)
    }

    /// What a step smaller or larger in each kind changes.
    fn steps(&self, design: &Design) -> Vec<Step> {
        let Some(here) = digits(&self.options, design.number) else { return Vec::new() };
        let Some(mix) = Mix::at(&self.options, design.number) else { return Vec::new() };
        let mut asks = Vec::new();
        for (kind, what) in What::ALL.into_iter().enumerate() {
            let (Some(list), Some(own)) = (self.options.lists.get(kind), mix.choices.get(kind)) else {
                continue;
            };
            for is_larger in [false, true] {
                let nearest = neighbour(list, own, is_larger);
                if let Some((digit, choice)) = nearest {
                    let mut there = here;
                    there[kind] = digit;
                    asks.push((what, is_larger, choice.title.clone(), number(&self.options, there)));
                }
            }
        }
        let own = mix.more();
        asks.into_par_iter()
            .filter_map(|(what, is_larger, title, at)| {
                let mix = Mix::at(&self.options, at)?;
                let more = mix.more().minus(own);
                let hindered = if mix.goes_together(self.system.voltage.get()) {
                    self.whole_system(at).err()
                } else {
                    Some("the bank cannot take what sun and engine give".to_owned())
                };
                Some(Step {
                    what,
                    is_larger,
                    title,
                    cost_more: more.cost(),
                    mass_more: more.mass(),
                    chance: Chance::of(self.count(at), self.skies.count()),
                    hindered,
                })
            })
            .collect()
    }
}

/// The option a step smaller or larger: of the smaller ones that also cost less the largest, of the larger ones the cheapest.
fn neighbour<'o>(list: &'o [Choice], own: &Choice, is_larger: bool) -> Option<(usize, &'o Choice)> {
    let worth = |choice: &Choice| (choice.more.cents, choice.more.grams);
    let all = list.iter().enumerate();
    if is_larger {
        return all
            .filter(|(_, choice)| choice.size > own.size)
            .min_by(|(_, a), (_, b)| worth(a).cmp(&worth(b)).then_with(|| a.size.total_cmp(&b.size)));
    }
    all.filter(|(_, choice)| choice.size < own.size && choice.more.cents <= own.more.cents)
        .max_by(|(_, a), (_, b)| a.size.total_cmp(&b.size).then_with(|| worth(b).cmp(&worth(a))))
}

impl Sizes {
    /// Places in the front that show its span: of each chance the cheapest and the lightest, thinned to about `most`, the chosen one kept.
    pub fn shortlist(&self, most: usize) -> Vec<usize> {
        let mut ends: Vec<usize> = Vec::new();
        let mut counts: Vec<u32> = self.front.iter().map(|design| design.chance.happened).collect();
        counts.sort_unstable();
        counts.dedup();
        for count in counts {
            let own =
                || self.front.iter().enumerate().filter(move |(_, design)| design.chance.happened == count);
            let cheapest = own().min_by(|a, b| a.1.cost.total_cmp(&b.1.cost));
            let lightest = own().min_by(|a, b| a.1.mass.total_cmp(&b.1.mass));
            ends.extend(cheapest.into_iter().chain(lightest).map(|(at, _)| at));
        }
        ends.sort_unstable();
        ends.dedup();
        let step = ends.len().div_ceil(most.max(1)).max(1);
        let mut list: Vec<usize> = ends.into_iter().step_by(step).chain(self.chosen).collect();
        list.sort_unstable();
        list.dedup();
        list
    }
}

/// A change as a line of intent.toml; numbers without quotes, as the file has them.
fn line(edit: &Edit) -> String {
    match &edit.value {
        Some(number) if !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()) => {
            format!("{} = {number}", edit.path.join("."))
        }
        _ => edit.shown(),
    }
}

fn brief(mix: &Mix<'_>) -> String {
    let [bank, array, engine, inverter] = mix.choices.map(|choice| choice.size);
    let mut words = vec![format!("{:.1} kWh", bank / 1000.0), format!("{array:.0} W")];
    words.extend((engine > 0.0).then(|| format!("{engine:.0} A")));
    words.extend((inverter > 0.0).then(|| format!("{inverter:.0} W")));
    words.join(", ")
}
