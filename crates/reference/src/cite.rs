//! The answer of every lookup: a value with the table row it came from, or a refusal that says how to mend the question.
//! Never: holds a number of its own.
//! Start at [`Cited`].

use core::fmt;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How well a number is known. Ordered from best to worst, so the provenance of a product is the `max` of its factors.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Provenance {
    /// Seen printed in the source or a public reprint of it.
    Published,
    /// Worked out by a stated formula from published figures.
    Computed,
    /// Known but not seen when it was entered: confirm before relying on it.
    Memory,
}

impl fmt::Display for Provenance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Provenance::Published => "published",
            Provenance::Computed => "computed",
            Provenance::Memory => "memory",
        })
    }
}

/// Where a value came from: source key, row in words, how well it is known.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Cite {
    /// Key into [`crate::Reference::sources`].
    pub source: &'static str,
    /// Table and row in words: "Table 5, 2/0 AWG, 105 °C".
    pub row: String,
    /// How well the value is known.
    pub provenance: Provenance,
    /// What a reader should know before relying on it.
    pub note: Option<String>,
}

impl Cite {
    pub(crate) fn new(source: &'static str, row: impl Into<String>, provenance: Provenance) -> Self {
        Self { source, row: row.into(), provenance, note: None }
    }

    /// Adds a sentence to the note.
    pub(crate) fn noting(mut self, note: impl AsRef<str>) -> Self {
        let note = note.as_ref();
        if !note.is_empty() {
            self.note = Some(match self.note.take() {
                Some(old) => format!("{old}; {note}"),
                None => note.to_owned(),
            });
        }
        self
    }
}

impl fmt::Display for Cite {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, {} ({})", self.source, self.row, self.provenance)
    }
}

/// A value with the table row it came from.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Cited<T> {
    /// The value.
    pub value: T,
    /// Its row.
    pub cite: Cite,
}

impl<T> Cited<T> {
    pub(crate) fn new(value: T, cite: Cite) -> Self {
        Self { value, cite }
    }

    /// The same citation with another value.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Cited<U> {
        Cited { value: change(self.value), cite: self.cite }
    }
}

/// A question outside what a table answers. Tables are never extrapolated.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct OutOfTable {
    /// What was looked up: "ampacity of a DC conductor".
    pub what: String,
    /// What was asked for: "5 AWG".
    pub asked: String,
    /// What the table covers: "18 AWG to 4/0 AWG".
    pub range: String,
    /// How to ask within the table.
    pub hint: String,
}

impl OutOfTable {
    pub(crate) fn new(
        what: impl Into<String>,
        asked: impl Into<String>,
        range: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self { what: what.into(), asked: asked.into(), range: range.into(), hint: hint.into() }
    }
}

impl fmt::Display for OutOfTable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: {} is outside the table, which covers {}; {}",
            self.what, self.asked, self.range, self.hint
        )
    }
}

impl core::error::Error for OutOfTable {}

/// The family of rules a project follows.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum RuleSet {
    /// North America: 33 CFR 183, ABYC E-11, NEC; AWG; 120 V or 120/240 V 60 Hz.
    Na,
    /// International: ISO 10133/13297, IEC 60364; mm²; 230 V 50 Hz.
    Iec,
}

impl fmt::Display for RuleSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            RuleSet::Na => "na",
            RuleSet::Iec => "iec",
        })
    }
}
