//! Work that takes longer than an edit: many years, the search for sizes. It streams how far it is and can be stopped.
//! Never: holds up an edit.
//! Start at [`Work`].

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{SizesOutcome, YearsOutcome};

/// Work to start.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case", tag = "kind", deny_unknown_fields)]
pub enum NewWork {
    /// Many years of weather.
    Years {
        /// How many.
        #[schema(minimum = 1, maximum = 100000)]
        count: u32,
    },
    /// The best sizes.
    Sizes {
        /// Years behind each combination.
        #[schema(minimum = 1, maximum = 1000)]
        years: u32,
    },
}

/// Work that was started.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Work {
    /// Its number, for `/api/work/{id}/events` and for stopping it.
    pub id: u64,
    /// State of the project that it works on.
    pub number: u64,
}

/// What work tells while it goes on, one event each.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum WorkEvent {
    /// How far.
    #[serde(rename_all = "camelCase")]
    Progress {
        /// Done.
        done: u64,
        /// Of so many; 0 where it is not known.
        of: u64,
        /// A second.
        rate: f64,
        /// Time left [s]; `None` where it is not known.
        left_s: Option<f64>,
        /// What is being done.
        what: String,
    },
    /// Many years are done.
    Years {
        /// What came of it.
        outcome: YearsOutcome,
    },
    /// The search is done.
    Sizes {
        /// What came of it.
        outcome: SizesOutcome,
    },
    /// It was stopped.
    Stopped,
    /// It failed.
    Failed {
        /// Why.
        fault: super::Fault,
    },
}

/// What a window is told while it is open: something changed elsewhere.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct News {
    /// The project.
    pub key: String,
    /// Its state now.
    pub number: u64,
    /// Who changed it: `page`, `editor`; `board` where the places on the board were searched after a change.
    pub by: String,
    /// What changed, in words.
    pub label: String,
    /// Whether the file cannot be read now.
    pub is_broken: bool,
}
