//! The data files, read once into tables of one plain shape. Everything typed is built from these by the other files.
//! Never: knows what a table means.
//! Start at [`Tables::load`].

use crate::Provenance;
use quantity::{Gauge, Written};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The compiled-in data files, in the order in which they are listed; tables stand in alphabetical order within a file.
const FILES: [(&str, &str); 6] = [
    ("conductors", include_str!("../data/conductors.toml")),
    ("protection", include_str!("../data/protection.toml")),
    ("terminals", include_str!("../data/terminals.toml")),
    ("storage", include_str!("../data/storage.toml")),
    ("limits", include_str!("../data/limits.toml")),
    ("passage", include_str!("../data/passage.toml")),
];
const SOURCES: &str = include_str!("../data/sources.toml");
const FUSES: &str = include_str!("../data/fuses.toml");

/// A document that numbers come from.
#[derive(Clone, Debug, Deserialize, serde::Serialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Who issues it.
    pub body: String,
    /// Its title, with the clauses or tables used.
    pub title: String,
    /// Edition.
    pub edition: String,
    /// Year of the edition.
    pub year: u16,
    /// What was in hand when its numbers were entered: "standard", "reprint", "memory" or "law".
    pub read: String,
}

/// A key that outlives everything, because the data are read once for the life of the program.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Key(pub &'static str);

impl<'de> Deserialize<'de> for Key {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Ok(Key(Box::leak(String::deserialize(deserializer)?.into_boxed_str())))
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawTable {
    what: String,
    source: Key,
    provenance: Provenance,
    note: Option<String>,
    columns: Vec<String>,
    rows: Vec<Vec<Cell>>,
    #[serde(default)]
    marked: BTreeMap<String, Mark>,
}

/// What one row has of its own, where it differs from the table.
#[derive(Deserialize, Clone)]
#[serde(deny_unknown_fields)]
struct Mark {
    source: Option<Key>,
    provenance: Option<Provenance>,
    note: Option<String>,
}

/// One cell: a number or words. "-" stands for an empty cell.
#[derive(Clone, Debug, Deserialize)]
#[serde(untagged)]
pub(crate) enum Cell {
    Number(f64),
    Text(String),
}

/// A table of a standard: first cell of each row is the row's key.
pub(crate) struct Table {
    pub id: String,
    pub what: String,
    pub columns: Vec<String>,
    pub rows: Vec<Row>,
}

/// One row with its own citation.
#[derive(Clone)]
pub(crate) struct Row {
    pub key: String,
    pub cells: Vec<Cell>,
    pub source: &'static str,
    pub provenance: Provenance,
    pub note: Option<String>,
}

impl Row {
    /// The number in a column (column 0 is the key); `None` for an empty or worded cell.
    pub fn number(&self, column: usize) -> Option<f64> {
        match self.cells.get(column) {
            Some(Cell::Number(value)) => Some(*value),
            _ => None,
        }
    }

    /// The words in a column; `None` for an empty cell or a number.
    pub fn text(&self, column: usize) -> Option<&str> {
        match self.cells.get(column) {
            Some(Cell::Text(text)) if text != "-" => Some(text),
            _ => None,
        }
    }

    /// The citation of this row.
    pub fn cite(&self, what: &str) -> crate::Cite {
        let cite = crate::Cite::new(self.source, format!("{what}, {}", self.key), self.provenance);
        match &self.note {
            Some(note) => cite.noting(note),
            None => cite,
        }
    }
}

impl Table {
    /// The row with this key.
    pub fn row(&self, key: &str) -> Option<&Row> {
        self.rows.iter().find(|row| row.key == key)
    }

    /// The number in a row and column that the data promise to have.
    pub fn need(&self, key: &str, column: usize) -> Result<f64, String> {
        self.row(key)
            .and_then(|row| row.number(column))
            .ok_or_else(|| format!("table {}: row {key:?} column {column} should hold a number", self.id))
    }
}

/// Every table by name, in file order.
pub(crate) struct Tables {
    pub list: Vec<Table>,
    pub sources: BTreeMap<String, Source>,
    pub fuses: Vec<crate::fuses::RawFamily>,
}

impl Tables {
    /// Reads the compiled-in files. The error names file, table and row; a test keeps it from ever being seen.
    pub fn load() -> Result<Self, String> {
        let sources: BTreeMap<String, Source> =
            toml::from_str(SOURCES).map_err(|error| format!("sources.toml: {error}"))?;
        let mut list = Vec::new();
        for (file, text) in FILES {
            let raw: toml::Table = toml::from_str(text).map_err(|error| format!("{file}.toml: {error}"))?;
            for (id, value) in raw {
                let table: RawTable =
                    value.try_into().map_err(|error| format!("{file}.toml, [{id}]: {error}"))?;
                list.push(
                    Table::from_raw(&id, table).map_err(|error| format!("{file}.toml, [{id}]: {error}"))?,
                );
            }
        }
        #[derive(Deserialize)]
        struct Fuses {
            family: Vec<crate::fuses::RawFamily>,
        }
        let fuses: Fuses = toml::from_str(FUSES).map_err(|error| format!("fuses.toml: {error}"))?;
        let cited = list
            .iter()
            .flat_map(|table| table.rows.iter().map(|row| (table.id.as_str(), row.source)))
            .chain(fuses.family.iter().map(|family| (family.id.as_str(), family.source.0)));
        for (table, key) in cited {
            if !sources.contains_key(key) {
                return Err(format!("table {table}: source {key:?} is not in sources.toml"));
            }
        }
        Ok(Self { list, sources, fuses: fuses.family })
    }

    /// The table of this name.
    pub fn get(&self, id: &str) -> Result<&Table, String> {
        self.list.iter().find(|table| table.id == id).ok_or_else(|| format!("there is no table {id:?}"))
    }
}

impl Table {
    fn from_raw(id: &str, raw: RawTable) -> Result<Self, String> {
        let mut rows = Vec::with_capacity(raw.rows.len());
        for cells in raw.rows {
            let key = match cells.first() {
                Some(Cell::Text(text)) => text.clone(),
                Some(Cell::Number(number)) => number.to_string(),
                None => return Err("a row is empty".into()),
            };
            if cells.len() != raw.columns.len() {
                return Err(format!(
                    "row {key:?} has {} cells for {} columns",
                    cells.len(),
                    raw.columns.len()
                ));
            }
            let mark = raw.marked.get(&key);
            rows.push(Row {
                source: mark.and_then(|mark| mark.source).unwrap_or(raw.source).0,
                provenance: mark.and_then(|mark| mark.provenance).unwrap_or(raw.provenance),
                note: mark.and_then(|mark| mark.note.clone()).or_else(|| raw.note.clone()),
                key,
                cells,
            });
        }
        for key in raw.marked.keys() {
            if !rows.iter().any(|row| &row.key == key) {
                return Err(format!("marked row {key:?} is not in the table"));
            }
        }
        Ok(Self { id: id.to_owned(), what: raw.what, columns: raw.columns, rows })
    }
}

/// Reads a size as the data files write it: "2/0 AWG", "35 mm²".
pub(crate) fn gauge(text: &str) -> Option<Gauge> {
    Gauge::parse(text).ok()
}

/// Writes a size as the data files do.
pub(crate) fn gauge_name(gauge: Gauge) -> String {
    gauge.to_string()
}
