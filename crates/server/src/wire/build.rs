//! The workshop: steps to tick off, cables to make up, readings to take, papers to print.
//! Never: keeps ticks by number; ids stay when the order changes.
//! Start at [`Build`].

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What there is to build, with what is done.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Build {
    /// State of the project that it belongs to.
    pub number: u64,
    /// Why there is nothing to build: the system is refused; empty otherwise.
    pub refused: String,
    /// Dangers without a written answer: not to be built before they are mended or answered.
    pub unanswered: usize,
    /// Stages in order.
    pub stages: Vec<Stage>,
    /// The steps in order.
    pub steps: Vec<Step>,
    /// The cables.
    pub cables: Vec<CableLine>,
    /// The readings in the order of taking.
    pub readings: Vec<ReadingLine>,
    /// Likely causes of the readings that are off, the likeliest first.
    pub causes: Vec<Cause>,
    /// Ids that are ticked.
    pub ticked: Vec<String>,
    /// Mistakes in readings.toml or ticks.toml.
    pub problems: Vec<super::Problem>,
}

/// A stage of the build.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Stage {
    /// Its name in code.
    pub id: String,
    /// Its title.
    pub title: String,
}

/// A step of the build order.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Step {
    /// Stable id, for its tick.
    pub id: String,
    /// Its number, from 1.
    pub number: usize,
    /// Its stage.
    pub stage: String,
    /// Title.
    pub title: String,
    /// What to do, one line each; each can be ticked as `ID#LINE`, from 1.
    pub lines: Vec<String>,
    /// Why here.
    pub why: String,
    /// What must be off or apart.
    pub dead: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// Steps that must be done before: ids.
    pub needs: Vec<String>,
    /// Readings to take before going on: ids of [`ReadingLine`].
    pub readings: Vec<String>,
    /// Measurements in words.
    pub measures: Vec<String>,
    /// Devices and conductors, by id.
    pub places: Vec<String>,
    /// How many people.
    pub people: u32,
    /// Time to wait, shown; empty where none.
    pub wait: String,
    /// Tools.
    pub tools: Vec<String>,
}

/// A cable to make up and lay.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct CableLine {
    /// Stable id, for its ticks `cable:ID:cut`, `:made`, `:laid`, `:joined`.
    pub id: String,
    /// Its number on the label.
    pub label: String,
    /// From.
    pub from: String,
    /// To.
    pub to: String,
    /// Gauge.
    pub gauge: String,
    /// Colour by standard, with its letters.
    pub colour: String,
    /// Length to cut, shown.
    pub cut: String,
    /// How its ends are made up, with stud and torque.
    pub ends: Vec<String>,
    /// Protection.
    pub protection: String,
}

/// A reading to take.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ReadingLine {
    /// Stable id.
    pub id: String,
    /// Title.
    pub title: String,
    /// How: meter, probes, what is on and off.
    pub how: String,
    /// Stage.
    pub stage: String,
    /// What is expected, shown with its range.
    pub expected: String,
    /// Unit that a bare number gets.
    pub unit: String,
    /// Why the range is so wide.
    pub because: String,
    /// Caution; empty where none.
    pub caution: String,
    /// What was read, as written; `None` where nothing yet.
    pub value: Option<String>,
    /// Note beside it.
    pub note: Option<String>,
    /// How it is judged.
    pub verdict: VerdictWord,
    /// The judgement in words.
    pub verdict_text: String,
}

/// How a reading is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum VerdictWord {
    /// Not taken yet.
    Open,
    /// Within what is expected.
    Within,
    /// Lower.
    Low,
    /// Higher.
    High,
    /// Hardly possible: wrong unit, range or lead.
    Unlikely,
}

/// A likely cause.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Cause {
    /// What.
    pub what: String,
    /// Devices and conductors, by id.
    pub places: Vec<String>,
    /// How well it explains the readings.
    pub how_sure: String,
    /// What to look at or measure next.
    pub next: String,
}

/// A tick.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct Tick {
    /// What is done: the id of a step, `STEP#LINE`, or `cable:ID:cut` and the like.
    #[schema(min_length = 1, max_length = 200)]
    pub id: String,
    /// Whether it is.
    pub done: bool,
}

/// A reading taken.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct ReadingTaken {
    /// Id of the reading.
    #[schema(min_length = 1, max_length = 200)]
    pub id: String,
    /// The value with its unit; a bare number gets the unit of the reading; `None` takes it away.
    #[schema(max_length = 60)]
    pub value: Option<String>,
    /// A note.
    #[schema(max_length = 400)]
    pub note: Option<String>,
}

/// A paper to look at, print or save.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Paper {
    /// File name.
    pub name: String,
    /// What it is.
    pub what: String,
    /// Media type.
    pub media: String,
    /// Size [bytes]; 0 for what is made only when it is asked for.
    pub bytes: usize,
    /// Whether the browser can show it.
    pub can_show: bool,
}
