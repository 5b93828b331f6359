//! What can be chosen: banks, arrays, engine chargers, inverters, each with the changes to intent.toml that give it.
//! Never: judges a combination (see `mix.rs`). Every option is derived with the rest of the project as it stands, so that what
//! fits is what `derive` says fits, and cost and mass hold its cables and fuses.
//! Start at [`Options::of`].

use model::parts::Chemistry;
use model::{Edit, Project, Spec, System};
use rayon::prelude::*;

use super::finder::Finder;
use super::worth::Worth;
use crate::plant::{EnginePlant, InverterLoss, Plant, SupplyPlant};
use crate::storage::BankModel;
use crate::weather::Note;

/// What a dimension of the search is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// The bank.
    Bank,
    /// The array.
    Array,
    /// Charging from the engine.
    Engine,
    /// The inverter.
    Inverter,
}

impl What {
    /// All, in the order in which they count.
    pub const ALL: [Self; 4] = [Self::Bank, Self::Array, Self::Engine, Self::Inverter];
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Bank => "bank",
            Self::Array => "array",
            Self::Engine => "engine charger",
            Self::Inverter => "inverter",
        }
    }
    /// What [`Choice::size`] counts.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Bank => "Wh",
            Self::Array | Self::Inverter => "W",
            Self::Engine => "A",
        }
    }
}

/// An array with its controller, as a candidate has it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Panel {
    /// Which list of power per watt is its own.
    pub class: usize,
    /// Rated power after mismatch [W].
    pub watts: f64,
    /// Rated power [W].
    pub rated_w: f64,
    /// Efficiency of the controller, with what a coupling controller loses at the bank of the project.
    pub efficiency: f64,
    /// Most that its controller puts on the busbars, at the bank of the project [W].
    pub limit_w: f64,
    /// Current of the controller [A].
    pub amps: f64,
}

/// What an option brings to the hour loop.
#[derive(Clone, Debug)]
pub struct Brings {
    /// For a bank.
    pub bank: BankModel,
    /// State of charge that all but vital loads leave.
    pub floor: f64,
    /// Below it spare loads are given up.
    pub spare_floor: f64,
    /// Shore, generator, charger.
    pub supply: SupplyPlant,
    /// The bank as derived.
    pub facts: model::Bank,
    /// Arrays.
    pub panels: Vec<Panel>,
    /// Mean efficiency of the controllers.
    pub controllers: f64,
    /// Idle draw of controllers, monitor and converters [W].
    pub standing_w: f64,
    /// Engine charging.
    pub engine: Option<EnginePlant>,
    /// Who carries first.
    pub order: [usize; 3],
    /// The inverter.
    pub inverter: Option<InverterLoss>,
    /// Its loss as a share.
    pub inverter_share: f64,
    /// Share of each hour for which it is on.
    pub inverter_on: [f64; 24],
    /// Current of the charger in it [A], and its efficiency; what the library says, before the bank limits it.
    pub inverter_charger: Option<(f64, f64)>,
    /// Current of the DC-DC charger [A].
    pub dcdc_amps: f64,
    /// Chemistries that the DC-DC charger has a profile for; empty where there is none.
    pub dcdc_profiles: Vec<Chemistry>,
}

/// One option.
#[derive(Clone, Debug)]
pub struct Choice {
    /// How a person would say it.
    pub title: String,
    /// Changes to intent.toml; empty for what stands there.
    pub edits: Vec<Edit>,
    /// Size, for what is a step smaller or larger: see [`What::unit`].
    pub size: f64,
    /// Cost and mass over those of the project as it stands.
    pub more: Worth,
    /// What it brings.
    pub brings: Brings,
}

/// All options of a project. The first of each kind is what stands there.
pub struct Options {
    /// By kind, in the order of [`What::ALL`].
    pub lists: [Vec<Choice>; 4],
    /// Power coefficients [%/K] and arrays behind [`Panel::class`].
    pub classes: Vec<model::Array>,
    /// What was assumed or left out.
    pub notes: Vec<Note>,
}

impl Options {
    /// Gathers them; `system` is that of the project.
    pub fn of(project: &Project, system: &System, plant: &Plant) -> Self {
        let mut found = Finder {
            project,
            system,
            base: Worth::of(system, &project.library),
            classes: Vec::new(),
            notes: Vec::new(),
        };
        // The classes of what stands there come first, so that every option finds its others known.
        for array in &plant.arrays {
            found.class(&array.array);
        }
        let asks = [found.banks(), found.arrays(), found.engines(), found.inverters()];
        for array in asks[1].iter().filter_map(|ask| ask.array.as_ref()) {
            found.class(array);
        }
        let lists = asks.map(|asks| {
            let (mut list, mut left_out) = (Vec::new(), Vec::new());
            let derived: Vec<Result<Choice, String>> = asks.par_iter().map(|ask| found.derive(ask)).collect();
            for (choice, ask) in derived.into_iter().zip(&asks) {
                match choice {
                    Ok(choice) => list.push(choice),
                    Err(why) => left_out.push(format!("{} ({why})", ask.title)),
                }
            }
            (list, left_out)
        });
        for (what, (_, left_out)) in What::ALL.iter().zip(&lists) {
            if !left_out.is_empty() {
                let (count, first) = (left_out.len(), left_out.first().map_or("", String::as_str));
                let message = format!(
                    "{count} choices of {} cannot be built in this project, such as {first}",
                    what.word()
                );
                found.note("left-out", message);
            }
        }
        Self { lists: lists.map(|(list, _)| list), classes: found.classes, notes: found.notes }
    }
}

/// An array as a candidate has it; `None` where its light was not computed.
pub fn panel_of(
    classes: &[model::Array],
    system: &System,
    array: &crate::plant::ArrayPlant,
) -> Option<Panel> {
    let class = classes.iter().position(|known| is_alike(known, &array.array))?;
    let model = crate::sun::ModuleModel::of(&array.array);
    let amps = system
        .find(&format!("{}.controller", array.name))
        .and_then(|ix| system.devices.get(ix))
        .and_then(|device| match &device.spec {
            Spec::Controller(part, _) => Some(part.current.get()),
            _ => None,
        })
        .unwrap_or(0.0);
    Some(Panel {
        class,
        watts: model.rated_w * (1.0 - model.mismatch),
        rated_w: model.rated_w,
        efficiency: array.efficiency * array.follows_bank.unwrap_or(1.0),
        limit_w: array.limit_w,
        amps,
    })
}

/// Whether two arrays give the same power per rated watt.
pub fn is_alike(a: &model::Array, b: &model::Array) -> bool {
    a.name == b.name && a.module.power_coefficient == b.module.power_coefficient
}

/// The same array of one module of one watt.
pub fn one_watt(array: &model::Array) -> model::Array {
    let mut array = array.clone();
    (array.series, array.parallel) = (1, 1);
    array.module.power = quantity::Watts::new(1.0);
    array
}

/// A gap or refusal that the system which one comes from has not, in words.
pub fn hindrance(from: &System, system: &System) -> Option<String> {
    let known = |path: &str| from.gaps.iter().any(|gap| gap.path == path);
    let refusal = || {
        let new =
            system.refusals.iter().find(|new| !from.refusals.iter().any(|known| known.what == new.what));
        new.map(|refusal| format!("{}: {}", refusal.what, refusal.numbers))
    };
    let gap = system.gaps.iter().find(|gap| !known(&gap.path));
    gap.map(|gap| format!("no part for `{}`: {}", gap.path, gap.need)).or_else(refusal)
}

/// How many pieces of a part a system has.
pub fn counted(system: &System, part: &str) -> u32 {
    system
        .devices
        .iter()
        .filter(|device| device.part.as_deref() == Some(part))
        .map(|device| match &device.spec {
            Spec::Array(array) => array.series * array.parallel,
            _ => 1,
        })
        .sum()
}
