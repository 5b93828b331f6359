//! Why a derived value is what it is: inputs, the arithmetic in words, the table rows used.
//! Never: computes. `derive` writes these beside each value that it sets.
//! Start at [`Ledger`].

use std::collections::BTreeMap;

use reference::Cite;
use serde::Serialize;

/// Where an input of a derived value comes from.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// The person wrote it, at this path of intent.toml.
    Intent(String),
    /// Another derived value, by its path.
    Derived(String),
    /// A row of a table.
    Table(Cite),
    /// A part of the library: `kind.id.field`.
    Part(String),
    /// An assumption, by the path where the person can say otherwise.
    Assumed(String),
    /// A rule of the trade, without a published source.
    Practice(String),
}

/// One input of a derived value.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Input {
    /// What it is, such as `length, one way`.
    pub what: String,
    /// Its value, shown.
    pub value: String,
    /// Where it comes from.
    pub origin: Origin,
}

/// Why one value is what it is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Because {
    /// The value, shown.
    pub value: String,
    /// The step in words, with its numbers: `82 A x 1.25 = 103 A, so the next standard rating`.
    pub step: String,
    /// What went in.
    pub inputs: Vec<Input>,
    /// What would have been chosen, where a pin stands instead.
    pub pinned_over: Option<String>,
}

/// Every derived value's reason, by path: `inverter.positive.gauge`.
#[derive(Clone, Debug, PartialEq, Serialize, Default)]
#[serde(transparent)]
pub struct Ledger(BTreeMap<String, Because>);

impl Ledger {
    /// Enters a reason.
    pub fn enter(&mut self, path: impl Into<String>, because: Because) {
        self.0.insert(path.into(), because);
    }
    /// The reason of the value at `path`.
    pub fn get(&self, path: &str) -> Option<&Because> {
        self.0.get(path)
    }
    /// All, in order of path.
    pub fn iter(&self) -> impl Iterator<Item = (&String, &Because)> {
        self.0.iter()
    }
    /// All whose path is `prefix` or lies below it.
    pub fn below<'l>(&'l self, prefix: &'l str) -> impl Iterator<Item = (&'l String, &'l Because)> {
        self.0.range(prefix.to_owned()..).take_while(move |(path, _)| path.starts_with(prefix)).filter(
            move |(path, _)| path.len() == prefix.len() || path.as_bytes().get(prefix.len()) == Some(&b'.'),
        )
    }
}

/// Collects the inputs of a [`Because`].
#[derive(Clone, Debug, Default)]
pub struct Inputs(Vec<Input>);

impl Inputs {
    /// None yet.
    pub fn new() -> Self {
        Self::default()
    }
    /// Adds one.
    pub fn with(mut self, what: impl Into<String>, value: impl ToString, origin: Origin) -> Self {
        self.0.push(Input { what: what.into(), value: value.to_string(), origin });
        self
    }
    /// The reason for `value`.
    pub fn because(self, value: impl ToString, step: impl Into<String>) -> Because {
        Because { value: value.to_string(), step: step.into(), inputs: self.0, pinned_over: None }
    }
}
