//! Tables of standards and handbooks, each value with the row it came from, in two rule sets: `na` and `iec`.
//! Never: computes a network, chooses a part, judges a design, reads a file at run time.
//! Start at [`Reference::standard`]; every lookup gives a [`Cited`] value. The numbers stand in `data/*.toml`.

mod ampacity;
mod cite;
mod conductors;
mod data;
mod fuses;
mod limits;
mod lookup;
mod passage;
mod protection;
mod storage;
mod support;
mod terminals;

pub use ampacity::{Part, PartValue};
pub use cite::{Cite, Cited, OutOfTable, Provenance, RuleSet};
pub use conductors::{Insulation, Place, SystemVoltage};
pub use data::Source;
pub use fuses::{FuseFamily, FuseOrBreaker, Gate};
pub use limits::Ventilation;
pub use passage::{Gland, Grommet};
pub use storage::{Chemistry, Spread};
pub use terminals::{Colour, ColourRole, Ferrule, Lug};

use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// All tables, read once.
pub struct Reference {
    tables: data::Tables,
    conductors: conductors::Conductors,
    protection: protection::Protection,
    storage: storage::Storage,
    terminals: terminals::Terminals,
    limits: limits::Limits,
    support: support::Support,
    passage: passage::Passage,
}

static STANDARD: LazyLock<Reference> = LazyLock::new(|| match Reference::load() {
    Ok(reference) => reference,
    // The data are compiled in and a test loads them all, so this cannot be reached in a build whose tests pass.
    Err(error) => panic!("the compiled-in reference data are broken: {error}"),
});

/// One row of one table, in words, for listing.
#[derive(Clone, Debug, Serialize)]
pub struct SourceRow {
    /// Name of the table.
    pub table: String,
    /// What the table holds.
    pub what: String,
    /// Key of the row.
    pub row: String,
    /// The row's values with their column heads.
    pub value: String,
    /// Key into [`Reference::sources`].
    pub source: &'static str,
    /// How well it is known.
    pub provenance: Provenance,
    /// What to know before relying on it.
    pub note: Option<String>,
}

impl Reference {
    /// The tables compiled into the program.
    pub fn standard() -> &'static Reference {
        &STANDARD
    }

    fn load() -> Result<Self, String> {
        let tables = data::Tables::load()?;
        Ok(Self {
            conductors: conductors::Conductors::load(&tables)?,
            protection: protection::Protection::load(&tables)?,
            storage: storage::Storage::load(&tables)?,
            terminals: terminals::Terminals::load(&tables)?,
            limits: limits::Limits::load(&tables)?,
            support: support::Support::load(&tables)?,
            passage: passage::Passage::load(&tables)?,
            tables,
        })
    }

    /// Every document that a number comes from, by key.
    pub fn sources(&self) -> &BTreeMap<String, Source> {
        &self.tables.sources
    }

    /// Every row of every table, in file order: what stands where, from which source, how well known.
    pub fn all_rows(&self) -> Vec<SourceRow> {
        let show = |cell: &data::Cell| match cell {
            data::Cell::Number(number) => number.to_string(),
            data::Cell::Text(text) => text.clone(),
        };
        let mut rows = Vec::new();
        for table in &self.tables.list {
            for row in &table.rows {
                // A table of one column is a list: its key is its value.
                let from = usize::from(table.columns.len() > 1);
                let value = table.columns.iter().zip(&row.cells).skip(from);
                let value: Vec<String> =
                    value.map(|(column, cell)| format!("{column}: {}", show(cell))).collect();
                rows.push(SourceRow {
                    table: table.id.clone(),
                    what: table.what.clone(),
                    row: row.key.clone(),
                    value: value.join(", "),
                    source: row.source,
                    provenance: row.provenance,
                    note: row.note.clone(),
                });
            }
        }
        rows.extend(self.protection.families.iter().map(FuseFamily::source_row));
        rows
    }
}

#[cfg(test)]
mod tests;
