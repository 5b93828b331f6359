//! Values from outside the project, as data, and the one way to hold our functions against them.
//! Never: takes a wanted value from our own output, widens a tolerance to pass, lets an unreadable row go by.
//! Start at [`read`] for the rows; `call.rs` names every function that a row may call; `tests/published.rs` runs them all.

mod batteries;
mod call;
mod inputs;
mod networks;

pub use call::{Answer, call};
pub use inputs::Inputs;

use reference::Provenance;
use serde::Deserialize;
use std::collections::BTreeMap;

/// One check value.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// What it says, for people.
    pub what: String,
    /// Name of the function, as in `call.rs`.
    pub call: String,
    /// Inputs of the call, as people write them.
    #[serde(rename = "in")]
    pub inputs: BTreeMap<String, toml::Value>,
    /// The value of the source, with its unit, or words.
    pub want: toml::Value,
    /// How far off is still right: half the last printed digit, with its unit, or a share such as "0.1 %". None for words.
    pub within: Option<toml::Value>,
    /// "most" or "least": the source gives a limit, not a value.
    pub bound: Option<String>,
    /// Key of `crates/reference/data/sources.toml`.
    pub source: String,
    /// How well the wanted value is known.
    pub provenance: Provenance,
    /// Why our value is *meant* to differ; the check then fails where it agrees.
    pub differs: Option<String>,
}

/// Reads the rows of one file.
///
/// Errors: what is wrong, in which line.
pub fn read(text: &str) -> Result<Vec<Check>, String> {
    #[derive(Deserialize)]
    #[serde(deny_unknown_fields)]
    struct File {
        check: Vec<Check>,
    }
    toml::from_str::<File>(text).map(|file| file.check).map_err(|error| error.to_string())
}

/// Runs one row. `Ok` says that our value is right by this source, or differs as it is meant to.
///
/// Errors: a row that cannot be read or run, or a value that is wrong, with both values.
pub fn run(check: &Check) -> Result<(), String> {
    let inputs = Inputs::new(&check.inputs);
    let answer = call(&check.call, &inputs)?;
    inputs.all_used()?;
    let agrees = answer.agrees(&check.want, check.within.as_ref(), check.bound.as_deref())?;
    match (agrees, &check.differs) {
        (true, None) | (false, Some(_)) => Ok(()),
        (false, None) => Err(format!("we have {}, the source has {}", answer.shown(), check.want)),
        (true, Some(reason)) => Err(format!("it agrees now: drop `differs` ({reason})")),
    }
}
