//! The coefficient tables of `data/sun.toml`, read once.
//! Never: computes; a broken file is found by this file's test, before a build is used.
//! Start at [`tables`].

use std::sync::LazyLock;

use serde::Deserialize;

use super::{CellModel, LowLight};

/// The tables, typed.
pub(super) struct Tables {
    /// Lower ends of the clearness bins but the first.
    pub clearness: [f64; 7],
    /// F11 F12 F13 F21 F22 F23 by clearness bin.
    pub perez: [[f64; 6]; 8],
    /// Open rack, close roof, open rack with polymer back, insulated back.
    pub sapm: [CellModel; 4],
    /// Open rack.
    pub faiman: CellModel,
    /// Crystalline silicon.
    pub low_light: LowLight,
    /// Martin-Ruiz `ar` of clean glass.
    pub glass_ar: f64,
    /// Martin-Ruiz `c1`.
    pub glass_c1: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table<Row> {
    #[serde(rename = "what")]
    _what: String,
    #[serde(rename = "source")]
    _source: String,
    #[serde(rename = "provenance")]
    _provenance: String,
    #[serde(rename = "columns")]
    _columns: Vec<String>,
    rows: Row,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    perez: Table<[[f64; 7]; 8]>,
    sapm: Table<[(String, f64, f64, f64); 4]>,
    faiman: Table<[(String, f64, f64); 1]>,
    low_light: Table<[(String, f64, f64); 1]>,
    glass: Table<[(String, f64, f64); 1]>,
}

fn load() -> Result<Tables, toml::de::Error> {
    let file: File = toml::from_str(include_str!("../../data/sun.toml"))?;
    let rows = file.perez.rows;
    let [(_, u0, u1)] = file.faiman.rows;
    let [(_, k1, k2)] = file.low_light.rows;
    let [(_, glass_ar, glass_c1)] = file.glass.rows;
    Ok(Tables {
        clearness: std::array::from_fn(|bin| rows[bin + 1][0]),
        perez: rows.map(|[_, f11, f12, f13, f21, f22, f23]| [f11, f12, f13, f21, f22, f23]),
        sapm: file.sapm.rows.map(|(_, a, b, back_k)| CellModel::Sapm { a, b, back_k }),
        faiman: CellModel::Faiman { u0, u1 },
        low_light: LowLight { k1, k2 },
        glass_ar,
        glass_c1,
    })
}

static TABLES: LazyLock<Tables> = LazyLock::new(|| match load() {
    Ok(tables) => tables,
    // The data are compiled in and a test loads them, so this cannot be reached in a build whose tests pass.
    Err(error) => panic!("the compiled-in sun data are broken: {error}"),
});

/// The tables compiled into the program.
pub(super) fn tables() -> &'static Tables {
    &TABLES
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_compiled_in_tables_load() {
        let tables = load().unwrap();
        assert_eq!(tables.clearness, [1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2]);
        assert_eq!(tables.sapm[3], CellModel::Sapm { a: -2.81, b: -0.0455, back_k: 0.0 });
    }
}
