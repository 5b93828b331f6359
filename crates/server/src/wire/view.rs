//! What one project looks like now: figures, findings, questions, loads, circuits, and on request diagram and energy.
//! Never: holds what only one place needs; that is asked for by its own address (see [`super::Place`]).
//! Start at [`View`].

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{Diagram, Energy};

/// A part of the view that costs more than it should for somebody who does not look at it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// The one-line diagram.
    Diagram,
    /// The year by day and month, the hardest week.
    Energy,
    /// The questions with their help; those of a load are asked for by their own address.
    Brief,
    /// The circuits.
    Circuits,
}

/// A project as it stands.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct View {
    /// Its name in addresses.
    pub key: String,
    /// Number of the state. A change gives a number that was never used before; going back gives the earlier one again, so that
    /// the same number always means the same texts.
    pub number: u64,
    /// Whether it shows what would be, and nothing was saved.
    pub is_trial: bool,
    /// Its title.
    pub name: String,
    /// Craft, voltage, rule set in one line.
    pub about: String,
    /// What `Back` would take back; `None` at the first state.
    pub back: Option<String>,
    /// What `Forward` would bring again.
    pub forward: Option<String>,
    /// What stands in the way of reading the file as it is now. The rest of the view is then of the last text that could be
    /// read, and no change is taken until it is mended or an earlier state is brought back.
    pub problems: Vec<Problem>,
    /// The figures that a person watches.
    pub figures: Vec<Figure>,
    /// How many findings of each severity.
    pub counts: Counts,
    /// Why no schedule can be issued; empty where one can.
    pub refusals: Vec<Refusal>,
    /// Changes that would make a refused system possible.
    pub ways_out: Vec<WayOut>,
    /// The findings, the worst first.
    pub findings: Vec<Finding>,
    /// Values that are pinned.
    pub pins: Vec<Pin>,
    /// The loads.
    pub loads: Vec<LoadRow>,
    /// Questions and answers, where asked for.
    pub brief: Option<Vec<FieldGroup>>,
    /// Circuits, where asked for.
    pub circuits: Option<Vec<CircuitRow>>,
    /// The diagram, where asked for.
    pub diagram: Option<Diagram>,
    /// The energy, where asked for; `None` too where there is no bank.
    pub energy: Option<Energy>,
    /// Time that reading, deriving, studying and judging took [ms].
    pub took_ms: f64,
}

/// Something wrong in a file.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Problem {
    /// What.
    pub message: String,
    /// The file.
    pub file: String,
    /// The field, such as `loads.pump.length`; empty where none.
    pub field: String,
    /// Line, from 1; 0 where there is none.
    pub line: usize,
    /// Column, from 1; 0 where there is none.
    pub column: usize,
    /// The line itself.
    pub text: String,
    /// How to mend it.
    pub mend: String,
}

/// A figure at the head of the page.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Figure {
    /// Its name in code: `price`, `mass`, `bank`, `sun`, `lasts`, `runs-out`, `lowest-charge`, `lowest-volts`, `daily-need`.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Its value as text.
    pub text: String,
    /// Its value as a number, to show which way it moved.
    pub value: Option<f64>,
    /// Whether more of it is better.
    pub better: Better,
    /// One more line.
    pub note: String,
}

/// Which way a figure is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Better {
    /// More is better.
    More,
    /// Less is better.
    Less,
    /// Neither.
    Neither,
}

/// Findings by severity.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Counts {
    /// Dangers.
    pub danger: usize,
    /// Dangers without a written answer.
    pub unanswered: usize,
    /// Warnings.
    pub warning: usize,
    /// Advice.
    pub advice: usize,
}

/// How bad a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Someone may be hurt or something may burn.
    Danger,
    /// It will not work as meant, or wears out early.
    Warning,
    /// It works; this would be better.
    Advice,
}

/// A finding.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Finding {
    /// The rule's name.
    pub rule: String,
    /// The rule's title.
    pub title: String,
    /// How bad.
    pub severity: Severity,
    /// What is wrong, with the found and the allowed value.
    pub message: String,
    /// The device, conductor, circuit or path.
    pub place: String,
    /// The device or conductor of the diagram to show; `None` where the place is none.
    pub on_diagram: Option<String>,
    /// Path in intent.toml of the cause.
    pub intent: String,
    /// Line of intent.toml, from 1.
    pub line: Option<usize>,
    /// What it means to a person.
    pub why: String,
    /// The numbers, one step each.
    pub because: Vec<String>,
    /// Table rows used.
    pub sources: Vec<String>,
    /// Whether a mend can be tried by [`super::Mends`].
    pub can_try: bool,
    /// Mends in words.
    pub by_hand: Vec<String>,
    /// The written answer to a danger.
    pub answered: Option<String>,
}

/// Why no schedule can be issued.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Refusal {
    /// What cannot be built.
    pub what: String,
    /// The numbers.
    pub numbers: String,
    /// Path in intent.toml.
    pub intent: String,
}

/// A change that makes a refused project possible, tried.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct WayOut {
    /// What to do.
    pub title: String,
    /// What comes of it.
    pub outcome: String,
    /// The change.
    pub edits: Vec<super::Edit>,
}

/// A value that a person fixed.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Pin {
    /// Path of the derived value.
    pub path: String,
    /// The value that stands.
    pub value: String,
    /// What would have been derived; `None` where the pin names nothing.
    pub derived: Option<String>,
}

/// A load in a list.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct LoadRow {
    /// Its id in the file.
    pub id: String,
    /// What it is called.
    pub title: String,
    /// The typical load of the library that it is; `None` where it is one of the person's own.
    pub part: Option<String>,
    /// How many.
    pub count: u32,
    /// Direct or alternating current.
    pub supply: String,
    /// Power of one while it runs, shown.
    pub power: String,
    /// Power of one while it runs [W].
    pub power_w: f64,
    /// Hours a day that it is switched on; `None` where it runs so many times a day or its energy is said.
    pub hours: Option<f64>,
    /// Whether the person said the hours.
    pub hours_written: bool,
    /// Energy of a day of use, all of them [Wh].
    pub energy_wh: f64,
    /// Its season in words.
    pub season: String,
    /// Length of its run, one way, shown.
    pub length: String,
    /// Whether the person said the length.
    pub length_written: bool,
    /// The panel that feeds it.
    pub panel: String,
    /// Its conductor, shown; empty where none was derived.
    pub conductor: String,
    /// Its fuse or breaker, shown.
    pub protection: String,
    /// Share of the voltage lost on the way, shown.
    pub lost: String,
    /// Device of the diagram.
    pub device: Option<String>,
}

/// Questions that belong together.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct FieldGroup {
    /// Its name in code: `brief`, `place`, `bank`, `solar`, `engine`, `shore`, `inverter`, or `loads.ID` for the fields of one
    /// load. One that ends in `.more` holds what most people leave alone, and follows the one without.
    pub id: String,
    /// Its title.
    pub title: String,
    /// One or two sentences.
    pub help: String,
    /// The questions.
    pub fields: Vec<Field>,
}

/// A question.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Field {
    /// Path in the file, one segment each: what an [`super::Edit`] wants.
    pub path: Vec<String>,
    /// The question in plain words.
    pub title: String,
    /// What it means and how to find it out.
    pub help: String,
    /// How to ask.
    pub ask: Ask,
    /// What the person wrote; `None` where nothing.
    pub written: Option<String>,
    /// What is taken where nothing is written; `None` where the thing is then left out.
    pub taken: Option<String>,
    /// Why that is taken.
    pub because: Option<String>,
    /// Plausible range of what is taken.
    pub plausible: Option<(String, String)>,
    /// Whether safety hangs on it, so that it must be answered before building.
    pub must_answer: bool,
    /// Whether the file cannot be read without it, so that it cannot be left open.
    pub is_needed: bool,
}

/// How to ask a question.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Ask {
    /// One of a few.
    Choice {
        /// They.
        choices: Vec<super::Choice>,
    },
    /// Yes or no.
    Switch,
    /// A number with a unit.
    Quantity {
        /// The unit that a bare number gets.
        unit: String,
        /// Ends and step of a slider; `None` where none fits.
        slider: Option<(f64, f64, f64)>,
        /// What may be written.
        example: String,
    },
    /// A whole number.
    Count {
        /// Smallest.
        least: u32,
        /// Largest.
        most: u32,
    },
    /// Words.
    Text {
        /// What may be written.
        example: String,
    },
    /// A part of the library, by its id; `/api/parts` searches them.
    Part {
        /// Kind of part: `battery`, `load`.
        of: String,
        /// What may be written.
        example: String,
    },
}

/// A circuit.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct CircuitRow {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// What kind.
    pub kind: String,
    /// Current that it must carry, shown.
    pub current: String,
    /// Conductor, shown.
    pub conductor: String,
    /// Length one way, shown.
    pub length: String,
    /// Protection, shown.
    pub protection: String,
    /// Share of the voltage lost, shown.
    pub lost: String,
    /// Conductors of the diagram.
    pub conductors: Vec<String>,
}
