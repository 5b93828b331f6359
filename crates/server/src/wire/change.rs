//! How a person changes a project, and what comes of it.
//! Never: carries the whole file; a change is a list of values at paths, so that two people's changes can be joined.
//! Start at [`Change`].

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{Part, Problem, View};

/// Sets the value at a path of intent.toml, or takes it away.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct Edit {
    /// The path, one segment each: `["loads", "fridge", "length"]`, `["pins", "inverter.positive.gauge"]`.
    #[schema(min_items = 1, max_items = 8)]
    pub path: Vec<String>,
    /// The value as written in the file without quotes; `None` takes the key away.
    #[schema(max_length = 2000)]
    pub value: Option<String>,
}

/// A change.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct Change {
    /// State on which the person saw it. Values that changed since elsewhere in the file stay; if one of these very values
    /// changed, the answer is a [`Clash`].
    pub base: u64,
    /// What it is, for the list of states: `Fridge: 6 h a day`.
    #[schema(max_length = 200)]
    pub label: String,
    /// The edits, made together or not at all.
    #[schema(min_items = 1, max_items = 200)]
    pub edits: Vec<Edit>,
    /// What the answer shall hold besides.
    #[serde(default)]
    pub with: Vec<Part>,
    /// Overrides a clash that the person has seen.
    #[serde(default)]
    pub over: bool,
    /// Only tries: the answer shows what would be, and nothing is saved. For a slider while it moves.
    #[serde(default)]
    pub dry: bool,
}

/// Goes back, forward, or to a state.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct Go {
    /// Where.
    pub to: Whither,
    /// The state, for `state`.
    #[serde(default)]
    pub number: Option<u64>,
    /// What the answer shall hold besides.
    #[serde(default)]
    pub with: Vec<Part>,
}

/// Which way through the states.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Whither {
    /// Takes the last change back.
    Back,
    /// Brings it again.
    Forward,
    /// To a state of the list.
    State,
}

/// A state of the project.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct State {
    /// Its number.
    pub number: u64,
    /// What was done.
    pub label: String,
    /// When [s since 1970, UTC].
    pub when: u64,
    /// Who: `page`, `editor`, `back`, `forward`, `state`.
    pub by: String,
    /// The file.
    pub file: String,
    /// Whether the project stands at it now.
    pub is_now: bool,
}

/// The same value was changed on two sides.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Clash {
    /// What happened, in words.
    pub message: String,
    /// The values.
    pub values: Vec<ClashValue>,
    /// The project as it stands.
    pub view: View,
}

/// A value that clashes.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ClashValue {
    /// Its path, one segment each.
    pub path: Vec<String>,
    /// What the person saw.
    pub was: Option<String>,
    /// What stands now.
    pub now: Option<String>,
    /// What the person wants.
    pub wanted: Option<String>,
}

/// Why something was not done.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Fault {
    /// What is wrong.
    pub message: String,
    /// How to mend it.
    pub mend: String,
    /// Where in the file, if there.
    pub problems: Vec<Problem>,
}

/// What trying the mends of a finding came to.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Mends {
    /// The smallest change that works; `None` where none of those known does.
    pub tried: Option<Mend>,
    /// Mends in words, for doing by hand.
    pub by_hand: Vec<String>,
}

/// A mend that works.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Mend {
    /// What to do.
    pub what: String,
    /// The change.
    pub edits: Vec<Edit>,
    /// The change as it will stand in the file.
    pub written: Vec<String>,
    /// What it changes.
    pub effect: Effect,
}

/// What a change would do.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Effect {
    /// Change of price, shown with its sign.
    pub price: String,
    /// Change of mass, shown with its sign.
    pub mass: String,
    /// Findings that go.
    pub goes: Vec<super::FindingLine>,
    /// Findings that come.
    pub comes: Vec<super::FindingLine>,
}

/// An unanswered question with what each answer would come to.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Question {
    /// Path in the file, one segment each.
    pub path: Vec<String>,
    /// What is taken.
    pub taken: String,
    /// Why.
    pub because: String,
    /// Low end of the plausible range and what comes of it.
    pub low: (String, String),
    /// High end and what comes of it.
    pub high: (String, String),
}

/// A part of the library.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct PartHit {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Power, voltage or the like in one line.
    pub about: String,
    /// Direct or alternating current, for a load; empty otherwise.
    pub supply: String,
    /// Usual hours a day of a load, shown; empty otherwise.
    pub hours: String,
}
