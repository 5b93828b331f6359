//! A table as CSV by RFC 4180: comma, double quotes, CR LF, UTF-8, one header row.
//! Never: rounds or words anything; a text that a spreadsheet would run as a formula gets an apostrophe before it.
//! Start at [`csv_of`].

use crate::PackError;
use crate::table::{Cell, Table};

/// The bytes of the table's CSV file; a table with totals ends in a row whose first cell is `total`.
pub fn csv_of(table: &Table) -> Result<Vec<u8>, PackError> {
    let failed = |error: &dyn std::fmt::Display| PackError::Table {
        file: format!("{}.csv", table.name),
        reason: error.to_string(),
    };
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .quote_style(csv::QuoteStyle::Necessary)
        .from_writer(Vec::new());
    writer.write_record(table.columns.iter().map(|column| column.key)).map_err(|error| failed(&error))?;
    for row in &table.rows {
        let cells = row.iter().zip(&table.columns).map(|(cell, column)| shown(cell, column.decimals));
        writer.write_record(cells).map_err(|error| failed(&error))?;
    }
    if table.has_totals() {
        let cells = table.columns.iter().enumerate().map(|(ix, column)| match (ix, column.has_total) {
            (_, true) => number(table.total(ix), column.decimals),
            (0, false) => "total".to_owned(),
            _ => String::new(),
        });
        writer.write_record(cells).map_err(|error| failed(&error))?;
    }
    writer.into_inner().map_err(|error| failed(&error))
}

fn shown(cell: &Cell, decimals: u8) -> String {
    match cell {
        Cell::Empty => String::new(),
        Cell::Text(text) => safe(text),
        Cell::Number(value) => number(*value, decimals),
    }
}

fn number(value: f64, decimals: u8) -> String {
    format!("{value:.*}", usize::from(decimals))
}

/// A text that no spreadsheet takes for a formula: one that starts with `= + - @`, a tab or a line break gets an
/// apostrophe (common practice, no source).
pub fn safe(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}
