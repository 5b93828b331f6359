//! How a schedule is laid on paper: widths of its columns, upright or on its side.
//! Never: changes a value or leaves one out.
//! Start at [`lay`].

use pack::{Cell, Column, Table};
use serde::Serialize;

use crate::Paper;

/// A schedule, laid out.
#[derive(Debug, Serialize)]
pub(crate) struct Laid {
    columns: Vec<LaidColumn>,
    rows: Vec<LaidRow>,
    total: Option<Vec<String>>,
    #[serde(skip)]
    pub(crate) is_landscape: bool,
}

#[derive(Debug, Serialize)]
struct LaidColumn {
    head: String,
    is_number: bool,
    /// Width \[mm\].
    width: f64,
}

#[derive(Debug, Serialize)]
struct LaidRow {
    cells: Vec<String>,
    /// Whether it is so long that it may go over a page.
    is_long: bool,
}

/// Width of a letter of the type of tables \[mm\], on the wide side.
const LETTER: f64 = 1.36;
/// Space at the sides of a cell, both together \[mm\].
const PAD: f64 = 2.2;
/// Letters up to which words stay whole; the press breaks longer ones.
const WHOLE: usize = 13;
/// Most letters on a line of a cell that still read well.
const LINE: usize = 34;
/// Letters in a row from which it may go over a page.
const LONG: usize = 350;
/// Margins at the sides of a page \[mm\].
pub(crate) const SIDE: f64 = 16.0;

/// Lays a schedule.
pub(crate) fn lay(table: &Table, paper: Paper) -> Laid {
    let cells: Vec<Vec<String>> = table
        .rows
        .iter()
        .map(|row| row.iter().zip(&table.columns).map(|(cell, column)| shown(cell, column)).collect())
        .collect();
    let (width, height) = paper.size_mm();
    let (upright, lying) = (width - 2.0 * SIDE, height - 2.0 * SIDE);
    let needs: Vec<Need> =
        table.columns.iter().enumerate().map(|(at, column)| Need::of(column, &cells, at)).collect();
    let least: f64 = needs.iter().map(|need| need.least).sum();
    let good: f64 = needs.iter().map(|need| need.good).sum();
    // A table that is squeezed to its least is hard to read; one with some air is not.
    let fits = |room: f64| least <= room && good <= room * 1.25;
    let is_landscape = !fits(upright);
    let room = if is_landscape { lying } else { upright };
    let spare = (room - least).max(0.0);
    let wish: f64 = needs.iter().map(|need| need.good - need.least).sum();
    let widen = |need: &Need| {
        // Never wider than it wishes: a table of few short columns does not fill the line.
        let more = need.good - need.least;
        need.least + if wish > 0.0 { (more * spare / wish).min(more.max(0.0)) } else { 0.0 }
    };
    // Where even the least does not fit on its side, words break within.
    let squeeze = if least > room { room / least } else { 1.0 };
    let columns = table
        .columns
        .iter()
        .zip(&needs)
        .map(|(column, need)| LaidColumn {
            head: column.title(),
            is_number: need.is_number,
            width: widen(need) * squeeze,
        })
        .collect();
    let total = (table.has_totals() && !table.rows.is_empty()).then(|| {
        let sum = |(at, column): (usize, &Column)| match (column.has_total, at) {
            (true, _) => shown(&Cell::Number(table.total(at)), column),
            (false, 0) => "Total".to_owned(),
            _ => String::new(),
        };
        table.columns.iter().enumerate().map(sum).collect()
    });
    let rows = cells
        .into_iter()
        .map(|cells| LaidRow { is_long: cells.iter().map(String::len).max().unwrap_or(0) > LONG, cells })
        .collect();
    Laid { columns, rows, total, is_landscape }
}

/// What a column needs \[mm\].
struct Need {
    least: f64,
    good: f64,
    is_number: bool,
}

impl Need {
    fn of(column: &Column, cells: &[Vec<String>], at: usize) -> Self {
        let column_cells = || cells.iter().filter_map(|row| row.get(at)).filter(|cell| !cell.is_empty());
        let is_number = cells.iter().all(|row| {
            row.get(at).is_none_or(|cell| {
                let has_letter = cell.chars().any(char::is_alphabetic);
                !has_letter && cell.chars().all(|letter| letter.is_ascii_digit() || ".,-−% ".contains(letter))
            })
        }) && column_cells().next().is_some();
        let title = column.title();
        let word = |text: &str| {
            text.split([' ', '-']).map(|word| word.chars().count().min(WHOLE)).max().unwrap_or(0)
        };
        let longest = column_cells().map(|cell| word(cell)).max().unwrap_or(0);
        let least = longest.max(word(&title)).max(2) as f64 * LETTER + PAD;
        let count = column_cells().count().max(1);
        let mean = column_cells().map(|cell| cell.chars().count()).sum::<usize>() / count;
        let most = column_cells().map(|cell| cell.chars().count()).max().unwrap_or(0);
        // Long texts want a wide column, but not one for the longest of them.
        let line = most.min((mean * 2).max(WHOLE)).min(LINE.max(mean / 3)).max(word(&title));
        // A head of more than three lines stands like a tower on a column of short numbers.
        let line = line.max(title.chars().count().div_ceil(3));
        Self { least, good: (line as f64 * LETTER + PAD).max(least), is_number }
    }
}

/// A cell as words.
pub(crate) fn shown(cell: &Cell, column: &Column) -> String {
    match cell {
        Cell::Empty => String::new(),
        Cell::Text(text) => text.clone(),
        Cell::Number(number) => format!("{number:.*}", usize::from(column.decimals)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pack::{Cell, Table};

    fn column(head: &'static str) -> Column {
        Column { key: head, head, unit: "", decimals: 2, width: 10.0, has_total: false }
    }

    fn table(columns: usize, cell: &str) -> Table {
        let mut table = Table::new("t", "T", vec![column("Head"); columns]);
        table.push(vec![Cell::from(cell); columns]);
        table
    }

    #[test]
    fn no_table_is_wider_than_its_page() {
        for paper in [Paper::A4, Paper::Letter] {
            for columns in 1..40 {
                for cell in
                    ["", "1", "word", "several words in one cell that run on and on", &"x".repeat(300)]
                {
                    let laid = lay(&table(columns, cell), paper);
                    let (width, height) = paper.size_mm();
                    let room = if laid.is_landscape { height } else { width } - 2.0 * SIDE;
                    let sum: f64 = laid.columns.iter().map(|column| column.width).sum();
                    assert!(sum <= room + 1e-6, "{columns} columns of {cell}: {sum} mm");
                }
            }
        }
    }

    #[test]
    fn numbers_keep_their_decimals_and_sums_stand_below() {
        let mut table = Table::new("t", "T", vec![column("What"), column("Mass").summed()]);
        table.push(vec!["one".into(), 1.5.into()]);
        table.push(vec!["two".into(), 2.25.into()]);
        let laid = lay(&table, Paper::A4);
        assert_eq!(laid.rows[0].cells, ["one", "1.50"]);
        assert_eq!(laid.total, Some(vec!["Total".to_owned(), "3.75".to_owned()]));
        assert!(laid.columns[1].is_number && !laid.columns[0].is_number);
    }
}
