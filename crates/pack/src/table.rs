//! One table as the files show it: columns with units, cells rounded once, and which columns have a total.
//! Never: knows a file format (see `csv_file.rs` and `workbook.rs`), so that every format shows the same numbers.
//! Start at [`Table`]; a schedule makes one with [`Table::new`] and [`Table::push`].

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Nothing: not known, or it does not apply.
    Empty,
    /// Words.
    Text(String),
    /// A number, already rounded to the decimals of its column when it is in a [`Table`].
    Number(f64),
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Cell::from(text.to_owned())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        if text.is_empty() { Cell::Empty } else { Cell::Text(text) }
    }
}

impl From<f64> for Cell {
    fn from(number: f64) -> Self {
        if number.is_finite() { Cell::Number(number) } else { Cell::Empty }
    }
}

impl From<u32> for Cell {
    fn from(number: u32) -> Self {
        Cell::Number(f64::from(number))
    }
}

impl From<bool> for Cell {
    fn from(is_so: bool) -> Self {
        Cell::from(if is_so { "yes" } else { "no" })
    }
}

impl<T: Into<Cell>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Self {
        value.map_or(Cell::Empty, Into::into)
    }
}

/// A column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its name in CSV, with the unit: `length_m`.
    pub key: &'static str,
    /// Its head in the workbook: `Length`.
    pub head: &'static str,
    /// The unit of its numbers, as shown: `m`. Empty for words and counts.
    pub unit: &'static str,
    /// Decimals of its numbers.
    pub decimals: u8,
    /// Width in the workbook, in characters.
    pub width: f64,
    /// Whether the last row shows its sum.
    pub has_total: bool,
}

/// A column of words.
pub const fn words(key: &'static str, head: &'static str, width: f64) -> Column {
    Column { key, head, unit: "", decimals: 0, width, has_total: false }
}

/// A column of numbers.
pub const fn numbers(
    key: &'static str,
    head: &'static str,
    unit: &'static str,
    decimals: u8,
    width: f64,
) -> Column {
    Column { key, head, unit, decimals, width, has_total: false }
}

impl Column {
    /// The column with its sum in the last row.
    pub const fn summed(mut self) -> Self {
        self.has_total = true;
        self
    }

    /// Head and unit: `Length [m]`.
    pub fn title(&self) -> String {
        if self.unit.is_empty() { self.head.to_owned() } else { format!("{} [{}]", self.head, self.unit) }
    }
}

/// A schedule as rows and columns.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Name of its CSV file without ending: `cables`.
    pub name: &'static str,
    /// Name of its sheet: `Cables`.
    pub title: &'static str,
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows, each as long as `columns`.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table without rows.
    pub fn new(name: &'static str, title: &'static str, columns: Vec<Column>) -> Self {
        Self { name, title, columns, rows: Vec::new() }
    }

    /// Adds a row; numbers are rounded to the decimals of their column, here and nowhere else.
    pub fn push(&mut self, cells: Vec<Cell>) {
        debug_assert_eq!(cells.len(), self.columns.len(), "{}", self.name);
        let rounded = cells.into_iter().zip(&self.columns).map(|(cell, column)| match cell {
            Cell::Number(number) => Cell::from(rounded(number, column.decimals)),
            other => other,
        });
        self.rows.push(rounded.collect());
    }

    /// The sum of a column of numbers, rounded as its cells are.
    pub fn total(&self, column: usize) -> f64 {
        let decimals = self.columns.get(column).map_or(0, |column| column.decimals);
        let sum = self.rows.iter().filter_map(|row| row.get(column)).fold(0.0, |sum, cell| match cell {
            Cell::Number(number) => sum + number,
            _ => sum,
        });
        rounded(sum, decimals)
    }

    /// Whether any column has a total.
    pub fn has_totals(&self) -> bool {
        self.columns.iter().any(|column| column.has_total)
    }
}

/// A number rounded half away from zero to some decimals; minus zero becomes zero.
pub fn rounded(number: f64, decimals: u8) -> f64 {
    let scale = 10f64.powi(i32::from(decimals));
    let scaled = (number * scale).round() / scale;
    // Beyond the reach of doubles the scaling overflows, and there are no decimals left to round.
    if scaled.is_finite() { scaled + 0.0 } else { number }
}
