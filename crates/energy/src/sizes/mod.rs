//! The best sizes of bank, array, engine charger and inverter: cost against mass against the chance of running out in a year.
//! Never: estimates a chance. Every design of the front has run through every drawn year; what is passed over is proven to be no better.
//! Start at [`Search::new`], then [`Search::run`] and [`Search::tell`]; the proof stands in [`front`], shards in `shard.rs`.

mod finder;
pub mod front;
mod mix;
mod options;
mod order;
mod shard;
mod tell;
pub mod worth;

use model::{Edit, Project, System};

pub use front::{Found, Point, Trial};
pub use options::What;
pub use shard::Share;
pub use tell::{Because, Design, Sizes, Step, Whole};

use self::mix::{Mix, Runner, Skies};
use self::options::Options;
use self::order::Order;
use self::worth::Worth;
use crate::Progress;
use crate::plant::Plant;
use crate::weather::{Note, Series};

/// Most years that a search draws: they are held in memory, 0.3 MB each.
pub const MOST_YEARS: u32 = 1000;
/// Most combinations of one search.
pub const MOST_COMBINATIONS: usize = 20_000_000;

/// Why there is nothing to search.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Why {
    /// The system has no bank.
    #[error("the project has no bank, so there is nothing to size")]
    NoBank,
    /// Too many combinations.
    #[error(
        "there are more than {MOST_COMBINATIONS} combinations; name the part of one kind in intent.toml, or give `solar.*.space`"
    )]
    TooMany,
    /// Years out of range.
    #[error("{0} years were asked for; 1 to {MOST_YEARS} can be drawn")]
    Years(u32),
}

/// All combinations of a project, and the years that each must stand.
pub struct Search<'p> {
    project: &'p Project,
    system: System,
    plant: Plant,
    base: Worth,
    options: Options,
    trials: Vec<Trial>,
    combinations: usize,
    too_heavy: usize,
    skies: Skies,
    order: Order,
    seed: u64,
    id: String,
}

impl<'p> Search<'p> {
    /// Gathers the options, draws the years, and lists the combinations that go together within the payload.
    ///
    /// - `series`: a weather file, instead of the built-in climate   - `years`: how many are drawn, 1 to [`MOST_YEARS`]
    ///
    /// # Errors
    /// See [`Why`].
    pub fn new(project: &'p Project, series: Option<&Series>, years: u32, seed: u64) -> Result<Self, Why> {
        if !(1..=MOST_YEARS).contains(&years) {
            return Err(Why::Years(years));
        }
        let system = derive::derive(project);
        let plant = Plant::of(&system).ok_or(Why::NoBank)?;
        let options = Options::of(project, &system, &plant);
        let combinations = options
            .lists
            .iter()
            .try_fold(1_usize, |product, list| product.checked_mul(list.len()))
            .filter(|count| *count <= MOST_COMBINATIONS)
            .ok_or(Why::TooMany)?;
        let base = Worth::of(&system, &project.library);
        let voltage = system.voltage.get();
        let most_grams = system.payload.map(|most| (most.get() * 1000.0).floor() as i64);
        let (mut trials, mut too_heavy) = (Vec::new(), 0);
        for at in 0..combinations {
            let Some(mix) = Mix::at(&options, at) else { continue };
            let worth = base.plus(mix.more());
            if !mix.goes_together(voltage) {
                continue;
            }
            if most_grams.is_some_and(|most| worth.grams > most) {
                too_heavy += 1;
                continue;
            }
            trials.push(Trial { at, worth });
        }
        front::sort(&mut trials);
        let skies = Skies::draw(&system, &plant, &options.classes, series, years, seed);
        let order = Order::of(&options, &plant, &skies);
        let id = shard::identity(project, series);
        Ok(Self {
            project,
            system,
            plant,
            base,
            options,
            trials,
            combinations,
            too_heavy,
            skies,
            order,
            seed,
            id,
        })
    }

    /// How many combinations there are.
    pub fn combinations(&self) -> usize {
        self.combinations
    }

    /// How many of them go together within the payload, or a share of those: the steps that [`Progress`] counts.
    pub fn trials(&self, share: Option<Share>) -> usize {
        share.map_or(self.trials.len(), |share| share.of(&self.trials).len())
    }

    /// The system as it stands.
    pub fn system(&self) -> &System {
        &self.system
    }

    /// What was assumed.
    fn notes(&self) -> Vec<Note> {
        let mut notes = self.skies.notes.clone();
        notes.extend(self.options.notes.iter().cloned());
        notes
    }

    /// Searches all combinations, or a share of them; `None` where it was told to stop.
    pub fn run(&self, share: Option<Share>, progress: &Progress) -> Option<Found> {
        let own;
        let trials = match share {
            Some(share) => {
                own = share.of(&self.trials);
                &own
            }
            None => &self.trials,
        };
        front::front(trials, self.skies.count(), self, progress)
    }

    fn dress(&self, runner: &mut Runner, at: usize) {
        if let Some(mix) = Mix::at(&self.options, at) {
            let Runner { plant, panels, .. } = runner;
            mix.dress(plant, panels);
        }
    }

    /// Years in which a combination runs out; for checks of the search.
    pub fn count(&self, at: usize) -> u32 {
        let mut runner = Runner::new(&self.plant);
        self.dress(&mut runner, at);
        runner.count(&self.skies)
    }

    /// The same by whole years of [`crate::run::run`], which stops at nothing.
    pub fn count_whole(&self, at: usize) -> u32 {
        let mut runner = Runner::new(&self.plant);
        self.dress(&mut runner, at);
        let years = 0..self.skies.count();
        years
            .filter(|year| runner.whole(&self.skies, *year).is_some_and(|tally| tally.short_hours() > 0))
            .count() as u32
    }

    /// Numbers, cost and mass of all combinations that are tried, in the order of [`front::sort`].
    pub fn all(&self) -> &[Trial] {
        &self.trials
    }

    /// Changes to intent.toml that give a combination.
    pub fn edits(&self, at: usize) -> Vec<Edit> {
        Mix::at(&self.options, at).map_or_else(Vec::new, |mix| {
            mix.choices.iter().flat_map(|choice| choice.edits.iter().cloned()).collect()
        })
    }

    /// Derives a combination as a whole; else why it cannot be built.
    pub fn whole_system(&self, at: usize) -> Result<(Project, System), String> {
        let project = self.project.with_edits(&self.edits(at)).map_err(|problems| {
            problems.first().map_or_else(String::new, |problem| problem.message.clone())
        })?;
        let system = derive::derive(&project);
        if let Some(why) = options::hindrance(&self.system, &system) {
            return Err(why);
        }
        let mass = Worth::of(&system, &self.project.library).mass();
        match self.system.payload {
            Some(most) if mass > most => Err(format!("with its cables it weighs {mass}; {most} are allowed")),
            _ => Ok((project, system)),
        }
    }
}

impl front::Ask<Runner> for Search<'_> {
    fn begin(&self) -> Runner {
        Runner::new(&self.plant)
    }
    fn ready(&self, runner: &mut Runner, at: usize) {
        self.dress(runner, at);
    }
    fn runs_out(&self, runner: &mut Runner, _: usize, year: u32, hint: front::Hint) -> Option<front::Dark> {
        runner.runs_out(&self.skies, year, hint)
    }
    fn can_be_built(&self, at: usize) -> bool {
        self.whole_system(at).is_ok()
    }
    fn group(&self, at: usize) -> usize {
        mix::digits(&self.options, at).map_or(usize::MAX, |[bank, ..]| bank)
    }
    fn does_no_more(&self, at: usize, other: usize) -> bool {
        self.order.does_no_more(&self.options, at, other)
    }
}
