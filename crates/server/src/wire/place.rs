//! Places of the diagram: what one shows, why it is what it is, what a fault there does.
//! Never: holds the whole system; the page asks place by place.
//! Start at [`Place`].

use serde::Serialize;
use utoipa::ToSchema;

/// The one-line diagram.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Diagram {
    /// The picture. Each device carries its id in `data-device`, each line those of its conductors in `data-conductor`.
    pub svg: String,
    /// Everything on it, in the order in which one walks it from the sources to the loads: the list for keyboard and ear.
    pub places: Vec<PlaceLine>,
}

/// A place in the list.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct PlaceLine {
    /// Device or conductor id.
    pub id: String,
    /// Which.
    pub kind: PlaceKind,
    /// Its title.
    pub title: String,
    /// Rating, gauge or the like in one line.
    pub about: String,
    /// The worst finding there.
    pub worst: Option<super::Severity>,
    /// Whether a value of it is pinned.
    pub is_pinned: bool,
}

/// What stands at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PlaceKind {
    /// A device.
    Device,
    /// A conductor.
    Conductor,
}

/// One place, with its numbers.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Place {
    /// Device or conductor id.
    pub id: String,
    /// Which.
    pub kind: PlaceKind,
    /// Its title.
    pub title: String,
    /// Rating, gauge or the like in one line.
    pub about: String,
    /// What it is and what goes through it: steady volts, amps, losses, fault currents, temperatures.
    pub facts: Vec<Fact>,
    /// What was derived about it; each can be asked why, and pinned.
    pub derived: Vec<Derived>,
    /// Findings there: indices into the view's list.
    pub findings: Vec<usize>,
    /// What it is joined to.
    pub neighbours: Vec<PlaceLine>,
    /// Where in the file it comes from; `None` where it is wholly derived.
    pub line: Option<usize>,
}

/// A number with its name.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Fact {
    /// What.
    pub what: String,
    /// The value as text.
    pub text: String,
    /// In which state of the system; empty where it holds always.
    pub scene: String,
}

/// A derived value.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Derived {
    /// Its path: what a pin names.
    pub path: String,
    /// What it is, in words.
    pub what: String,
    /// Its value.
    pub value: String,
    /// What would have been derived, where it is pinned.
    pub derived: Option<String>,
    /// Whether a pin can fix it; else it follows from what is written.
    pub can_pin: bool,
    /// Values that can be pinned; empty where it is free text.
    pub choices: Vec<String>,
}

/// Why a value is what it is.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Why {
    /// Path of the value.
    pub path: String,
    /// The value.
    pub value: String,
    /// The step in words, with its numbers.
    pub step: String,
    /// What would have been chosen, where a pin stands instead.
    pub pinned_over: Option<String>,
    /// Line of the file at which that pin stands.
    pub pinned_line: Option<usize>,
    /// What went in; empty where it is told above.
    pub inputs: Vec<WhyInput>,
    /// Whether it stands in full above this place of the answer.
    pub is_told: bool,
    /// Whether it is one of the values that it explains itself: a circle, which is not followed.
    pub leads_back: bool,
}

/// An input of a derived value.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct WhyInput {
    /// What it is.
    pub what: String,
    /// Its value.
    pub value: String,
    /// Where it comes from: `written`, `derived`, `table`, `part`, `assumed`, `practice`.
    pub origin: String,
    /// The place in words: a line of the file, a table row with its standard and clause, a part, a rule of the trade.
    pub source: String,
    /// The path that was written or can be written, or of the derived value, or the part; empty for others.
    pub path: String,
    /// Line of the file where it is written.
    pub line: Option<usize>,
    /// How well it is known, for a table row: `published`, `computed`, `memory`.
    pub provenance: Option<String>,
    /// Why it in turn is what it is.
    #[schema(no_recursion)]
    pub why: Option<Box<Why>>,
}

/// A place where a fault can be supposed.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct FaultPlace {
    /// The terminal.
    pub terminal: String,
    /// Its device.
    pub device: String,
    /// In words.
    pub title: String,
    /// Largest fault current, shown.
    pub most: String,
    /// Smallest fault current, shown.
    pub least: String,
}

/// What a fault at a place does.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct FaultStory {
    /// Where.
    pub place: FaultPlace,
    /// In one sentence.
    pub summary: String,
    /// How each source feeds it and what opens.
    pub ways: Vec<FaultWay>,
    /// Devices without supply once it is cleared, by id, with title.
    pub dark: Vec<Named>,
    /// Loads that go on.
    pub still: Vec<Named>,
    /// Conductors that carry the fault.
    pub heated: Vec<Heated>,
    /// The numbers, one step each.
    pub because: Vec<String>,
    /// Table rows used.
    pub sources: Vec<String>,
}

/// An id with its title.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Named {
    /// Device or conductor id.
    pub id: String,
    /// Its title.
    pub title: String,
}

/// How one source feeds a fault.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct FaultWay {
    /// The source.
    pub source: Named,
    /// Devices and conductors from it to the fault, by id.
    pub through: Vec<String>,
    /// Its share of the current, shown.
    pub current: String,
    /// What opens first; `None` where nothing does.
    pub opens: Option<Named>,
    /// When, shown: `0.2 to 4 ms at the largest, up to 0.3 s at the smallest`.
    pub when: String,
    /// Others that may open too.
    pub may_open: Vec<Named>,
    /// Whether nothing interrupts it and it is large enough to hurt.
    pub is_danger: bool,
}

/// A conductor that carries a fault.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Heated {
    /// It.
    pub conductor: Named,
    /// How hot, or how long it may carry it, shown.
    pub text: String,
    /// Whether it withstands until the fault is cleared.
    pub withstands: bool,
}
