//! The folder that was opened: its projects, variants and how two of them compare.
//! Never: says where on the disk it stands; the page needs names only.
//! Start at [`Folder`].

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What was opened.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Folder {
    /// Name of the folder.
    pub name: String,
    /// Version of the program.
    pub version: String,
    /// The caution that stands on every paper.
    pub safety: String,
    /// The projects, variants after the project that they vary.
    pub projects: Vec<ProjectCard>,
    /// Kinds of craft that a new project can be.
    pub crafts: Vec<Choice>,
    /// Voltages that a new project can have.
    pub voltages: Vec<Choice>,
    /// Rule sets that a new project can follow.
    pub rule_sets: Vec<Choice>,
}

/// A project in a list.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ProjectCard {
    /// Its name in addresses.
    pub key: String,
    /// Its title.
    pub name: String,
    /// The project that it is a variant of.
    pub variant_of: Option<String>,
    /// What it is, in one line: craft, voltage, rule set; empty where its file cannot be read.
    pub about: String,
    /// Why its file cannot be read; empty where it can.
    pub trouble: String,
}

/// A value to choose, with its plain words.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Choice {
    /// The value as it stands in the file.
    pub value: String,
    /// What a person reads.
    pub title: String,
    /// One sentence more.
    pub help: String,
    /// Whether it is taken where nobody chooses.
    pub is_usual: bool,
}

/// A project to begin.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct NewProject {
    /// Its title.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// A value of [`Folder::crafts`].
    pub craft: String,
    /// A value of [`Folder::voltages`].
    pub voltage: String,
    /// A value of [`Folder::rule_sets`].
    pub rules: String,
    /// Whether it begins with the usual loads of its craft, or with none.
    pub usual_loads: bool,
}

/// A copy of a project, as a variant of it.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct NewVariant {
    /// Its title.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
}

/// Two projects side by side.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Comparison {
    /// Title of the left one.
    pub left: String,
    /// Title of the right one.
    pub right: String,
    /// Price, mass, bank, how long it lasts and the like.
    pub figures: Vec<Pair>,
    /// Parts that differ in number, then those that do not.
    pub parts: Vec<Pair>,
    /// Need and sun and what is short, by month.
    pub months: Vec<MonthPair>,
    /// Findings of the left one only.
    pub only_left: Vec<FindingLine>,
    /// Findings of the right one only.
    pub only_right: Vec<FindingLine>,
    /// Findings of both.
    pub both: Vec<FindingLine>,
    /// What differs in the two files.
    pub intent: Vec<Pair>,
}

/// One thing in two projects.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Pair {
    /// What it is.
    pub what: String,
    /// In the left one; empty where it is not there.
    pub left: String,
    /// In the right one.
    pub right: String,
    /// Right less left, where it is a number.
    pub difference: String,
    /// Whether they differ.
    pub differs: bool,
}

/// A month in two projects [kWh].
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct MonthPair {
    /// Its name.
    pub month: String,
    /// Asked by loads, left and right.
    pub asked_kwh: (f64, f64),
    /// Came in from all sources, left and right.
    pub came_in_kwh: (f64, f64),
    /// Asked and not served, left and right.
    pub short_kwh: (f64, f64),
    /// Lowest state of charge, left and right, 0 to 1.
    pub lowest: (f64, f64),
}

/// A finding in one line.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct FindingLine {
    /// How bad.
    pub severity: super::Severity,
    /// The rule.
    pub rule: String,
    /// Where.
    pub place: String,
    /// What.
    pub message: String,
}
