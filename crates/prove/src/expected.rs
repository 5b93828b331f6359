//! What a reading should be: where the probes go, what must be on, the range and why it is that wide.
//! Never: judges a value (see `judge.rs`).
//! Start at [`Expected`] and [`expected`].

use model::{DeviceIx, System};
use network::Results;
use serde::Serialize;

use crate::measure::{Measure, Unit};
use crate::twin::{Moment, Probe, Twin};
use crate::{ac, dead, live};

/// When a reading is taken, in this order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Nothing is connected to a source.
    Dead,
    /// The bank is connected; loads and chargers are off.
    FirstPower,
    /// Loads run from the bank.
    Loads,
    /// Charging sources run.
    Charging,
    /// The AC side is live.
    Ac,
}

impl Stage {
    /// Its words.
    pub fn title(self) -> &'static str {
        match self {
            Self::Dead => "Dead: no source connected",
            Self::FirstPower => "First power: the bank connected, everything off",
            Self::Loads => "Loads",
            Self::Charging => "Charging",
            Self::Ac => "The AC side",
        }
    }
}

/// What a reading is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Resistance of a conductor from end to end.
    Continuity,
    /// Insulation between two poles.
    Insulation,
    /// Voltage of a battery or the bank at rest.
    Rest,
    /// Open-circuit voltage of an array.
    Array,
    /// Voltage at a place.
    Volts,
    /// Voltage lost along the way.
    Drop,
    /// Current.
    Amps,
    /// A charger's setting.
    Setting,
    /// Alternating voltage.
    AcVolts,
    /// A residual-current device tried by its button.
    ResidualButton,
    /// A residual-current device's trip time.
    ResidualTime,
    /// Resistance of the protective earth.
    Earth,
    /// Whether neutral and earth are joined.
    NeutralBond,
}

/// A reading that a person takes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Expected {
    /// Its name, the same for the same system: `volts:night:house.positive`.
    pub id: String,
    /// What it is, in plain words.
    pub title: String,
    /// Meter setting, where each probe goes, what must be on or off.
    pub how: String,
    /// When.
    pub stage: Stage,
    /// Of what.
    pub kind: Kind,
    /// In what it is written.
    pub unit: Unit,
    /// What is expected.
    pub typical: Measure,
    /// Least that is good.
    pub low: Measure,
    /// Most that is good.
    pub high: Measure,
    /// All three, as shown.
    pub shown: String,
    /// Why the range is that wide, with source.
    pub why_wide: String,
    /// What the expectation comes from.
    pub because: Vec<String>,
    /// What can hurt while it is taken.
    pub caution: Option<String>,
    /// Devices it tells about, by name.
    pub devices: Vec<String>,
    /// Conductors it tells about, by name.
    pub conductors: Vec<String>,
    /// The state of the network; `None` for readings that the network does not tell.
    pub moment: Option<Moment>,
    /// Terminals of the red and the black probe, by name, where both are terminals of the DC side.
    pub probes: Vec<String>,
    #[serde(skip)]
    pub(crate) probe: Option<Probe>,
    #[serde(skip)]
    pub(crate) about: Option<DeviceIx>,
    /// Spread of one good reading round what the network tells [unit of the reading].
    #[serde(skip)]
    pub(crate) sigma: f64,
}

impl Expected {
    /// Whether a value is within the range.
    pub fn holds(&self, value: Measure) -> bool {
        value.number() >= self.low.number() && value.number() <= self.high.number()
    }
}

/// The part of a reading that its kind decides.
pub(crate) struct Draft {
    pub id: String,
    pub title: String,
    pub how: String,
    pub stage: Stage,
    pub kind: Kind,
    pub unit: Unit,
    /// Low, typical, high.
    pub range: [f64; 3],
    pub why_wide: String,
}

impl Draft {
    pub(crate) fn expect(self) -> Expected {
        let [low, typical, high] = self.range.map(|number| self.unit.measure(number));
        let shown = match (self.unit, low.number() <= -1e9, high.number() >= 1e9) {
            (Unit::YesNo, ..) => typical.to_string(),
            (_, _, true) => format!("{low} or more"),
            (_, true, _) => format!("{high} or less"),
            _ if low.number() == 0.0 && matches!(self.kind, Kind::Continuity | Kind::Earth) => {
                format!("{high} or less")
            }
            _ => format!("{typical} ({low} to {high})"),
        };
        Expected {
            id: self.id,
            title: self.title,
            how: self.how,
            stage: self.stage,
            kind: self.kind,
            unit: self.unit,
            typical,
            low,
            high,
            shown,
            why_wide: self.why_wide,
            because: Vec::new(),
            caution: None,
            devices: Vec::new(),
            conductors: Vec::new(),
            moment: None,
            probes: Vec::new(),
            probe: None,
            about: None,
            sigma: ((high.number() - low.number()) / 4.0).abs(),
        }
    }
}

/// Everything that a person measures on a system, in the order in which it is taken.
///
/// A system without a bank has no readings.
pub fn expected(system: &System, results: &Results, study: Option<&energy::Study>) -> Vec<Expected> {
    let twins = Twin::all(system);
    expected_with(system, results, study, &twins)
}

pub(crate) fn expected_with(
    system: &System,
    results: &Results,
    study: Option<&energy::Study>,
    twins: &[Twin],
) -> Vec<Expected> {
    let mut list = Vec::new();
    if system.bank.is_none() || !system.refusals.is_empty() {
        return list;
    }
    dead::continuity(system, results, &mut list);
    dead::insulation(system, &mut list);
    live::rest(system, &mut list);
    crate::sources::arrays(system, &mut list);
    live::network(system, study, twins, &mut list);
    crate::sources::settings(system, &mut list);
    ac::readings(system, results, &mut list);
    list.sort_by_key(|expected| expected.stage);
    let mut seen = std::collections::BTreeSet::new();
    list.retain(|expected| seen.insert(expected.id.clone()));
    list
}
