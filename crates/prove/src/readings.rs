//! `readings.toml`: what was measured, each value under the name of its reading.
//! Never: judges (see `judge.rs`); an empty value is one not yet taken.
//! Start at [`Readings::read`].

use std::borrow::Cow;
use std::collections::BTreeMap;

use model::read::{Context, ReadValue, TableReader, nearest, read_text};
use model::{Problem, SourceText, record};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Serialize;
use toml::Spanned;
use toml::de::DeValue;

use crate::expected::Expected;
use crate::measure::Measure;

record! {
    /// A value that was measured.
    "a reading" pub struct Entry {
        /// The value with its unit, as `13.2 V`; `OL` for a meter beyond its range of ohms; `yes` or `no`. Empty: not yet taken.
        pub value: String,
        /// When it was taken, in words or as a date.
        pub when: Option<String>,
        /// Who took it.
        pub by: Option<String>,
        /// What should be known with it.
        pub note: Option<String>,
    }
}

/// Readings by the name of what was measured.
#[derive(Clone, Debug, PartialEq, Default, Serialize)]
#[serde(transparent)]
pub struct Entries(pub BTreeMap<String, Entry>);

impl JsonSchema for Entries {
    fn schema_name() -> Cow<'static, str> {
        "Entries".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "readings by name, such as `volts:night:house.positive`",
            "type": "object",
            "additionalProperties": generator.subschema_for::<Entry>(),
        })
    }
}

impl ReadValue for Entries {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        let mut reader = TableReader::open(value, "readings", context)?;
        let DeValue::Table(table) = value.get_ref() else { return None };
        let names: Vec<String> = table.iter().map(|(name, _)| name.get_ref().to_string()).collect();
        let mut entries = BTreeMap::new();
        for name in names {
            if let Some(entry) = reader.field::<Entry>(&name, context) {
                entries.insert(name, entry);
            }
        }
        Some(Self(entries))
    }
    fn absent() -> Option<Self> {
        Some(Self::default())
    }
    fn example() -> Cow<'static, str> {
        "{ \"rest:bank\" = { value = \"12.8 V\" } }".into()
    }
}

record! {
    /// The file.
    "the readings" pub struct ReadingsFile {
        /// Every reading, by its name.
        pub readings: Entries,
    }
}

/// A reading that was taken.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Taken {
    /// The name of what was measured.
    pub id: String,
    /// The value.
    pub value: Measure,
    /// As it was written.
    pub written: String,
    /// When, who, and what else.
    pub when: Option<String>,
    /// Who took it.
    pub by: Option<String>,
    /// What should be known with it.
    pub note: Option<String>,
    /// Line in the file, from 1.
    pub line: usize,
}

/// What was measured, by name.
#[derive(Clone, Debug, PartialEq, Default, Serialize)]
#[serde(transparent)]
pub struct Readings {
    /// Each reading that has a value, by name.
    pub taken: BTreeMap<String, Taken>,
}

impl Readings {
    /// Reads a file against what can be measured on a system.
    ///
    /// # Errors
    /// Everything that is wrong, each with its line: a name that is no reading (with the nearest), a value without unit or
    /// with another's.
    pub fn read(source: &SourceText, expected: &[Expected]) -> Result<Self, Vec<Problem>> {
        let reading = read_text::<ReadingsFile>(source);
        let mut problems = reading.problems;
        let mut taken = BTreeMap::new();
        let entries = reading.value.map(|file| file.readings.0).unwrap_or_default();
        for (id, entry) in entries {
            let mut report = |field: String, message: String, mend: String| {
                let span = reading.spans.nearest(&field).unwrap_or(0..0);
                let (line, column) = source.line_column(span.start);
                problems.push(Problem {
                    message,
                    file: source.name.clone(),
                    field,
                    span,
                    line,
                    column,
                    mend,
                });
            };
            let Some(known) = expected.iter().find(|expected| expected.id == id) else {
                let mend = match nearest(&id, expected.iter().map(|expected| expected.id.as_str())) {
                    Some(near) => format!("Did you mean `{near}`?"),
                    None => "`wattwain prove PROJECT --sheet` lists every name".to_owned(),
                };
                report(format!("readings.{id}"), format!("`{id}` is no reading of this system"), mend);
                continue;
            };
            if entry.value.trim().is_empty() {
                continue;
            }
            match known.unit.parse(&entry.value) {
                Ok(value) => {
                    let start = reading.spans.nearest(&format!("readings.{id}")).map_or(0, |span| span.start);
                    let line = source.line_column(start).0;
                    let Entry { value: written, when, by, note } = entry;
                    taken.insert(id.clone(), Taken { id, value, written, when, by, note, line });
                }
                Err(message) => report(
                    format!("readings.{id}.value"),
                    message,
                    format!("Write it like this: `value = \"{}\"`", known.unit.example()),
                ),
            }
        }
        problems.sort_by_key(|problem| problem.span.start);
        if problems.is_empty() { Ok(Self { taken }) } else { Err(problems) }
    }

    /// The value of a reading.
    pub fn value(&self, id: &str) -> Option<Measure> {
        self.taken.get(id).map(|taken| taken.value)
    }
}
