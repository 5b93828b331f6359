//! Finding a row: by conductor size, by step of a number, by insulation rating.
//! Never: invents a row between two; what is not in the table is refused with its neighbours.
//! Start at [`BySize`].

use crate::data::{Row, Table, Tables, gauge, gauge_name};
use crate::{Cite, Insulation, OutOfTable};
use quantity::Gauge;

/// A table whose rows are conductor sizes.
pub(crate) struct BySize {
    pub what: String,
    pub gauges: Vec<Gauge>,
    pub rows: Vec<Row>,
    columns: Vec<f64>,
}

impl BySize {
    pub fn load(tables: &Tables, id: &str) -> Result<Self, String> {
        let table = tables.get(id)?;
        let gauges: Result<Vec<Gauge>, String> = table
            .rows
            .iter()
            .map(|row| gauge(&row.key).ok_or_else(|| format!("table {id}: {:?} is not a size", row.key)))
            .collect();
        // Temperature columns read "105 °C [A]"; other columns have no number at their head.
        let columns = table.columns.iter().skip(1);
        let columns = columns
            .map(|head| head.split(' ').next().and_then(|number| number.parse().ok()).unwrap_or(f64::NAN));
        Ok(Self {
            what: table.what.clone(),
            gauges: gauges?,
            rows: table.rows.clone(),
            columns: columns.collect(),
        })
    }

    /// The row of exactly this size.
    pub fn exact(&self, size: Gauge) -> Result<&Row, OutOfTable> {
        let at = self.gauges.iter().position(|&known| known == size);
        at.map(|at| &self.rows[at]).ok_or_else(|| self.out(size))
    }

    /// The row of this size, or, for a size of the other series, of the largest size that has not more metal.
    pub fn row(&self, size: Gauge) -> Result<(&Row, Option<String>), OutOfTable> {
        if let Ok(row) = self.exact(size) {
            return Ok((row, None));
        }
        let other_series = self.gauges.iter().any(|known| {
            matches!((known, size), (Gauge::Awg(_), Gauge::Metric(_)) | (Gauge::Metric(_), Gauge::Awg(_)))
        });
        let area = size.area().get() * (1.0 + 1e-9);
        let below = (0..self.gauges.len())
            .filter(|&at| other_series && self.gauges[at].area().get() <= area)
            .max_by(|&a, &b| self.gauges[a].cmp(&self.gauges[b]));
        // Far above the table's end the largest row would be safe but misleading: the size is not in the table.
        let below = below.filter(|&at| area < 1.6 * self.gauges[at].area().get());
        let at = below.ok_or_else(|| self.out(size))?;
        let row = &self.rows[at];
        Ok((
            row,
            Some(format!("{} taken as {}, the table's size with not more metal", gauge_name(size), row.key)),
        ))
    }

    /// The smallest row that has at least this size's metal.
    pub fn not_smaller(&self, size: Gauge) -> Option<(Gauge, &Row)> {
        let area = size.area().get() * (1.0 - 1e-9);
        let fits = (0..self.gauges.len()).filter(|&at| self.gauges[at].area().get() >= area);
        let at = fits.min_by(|&a, &b| self.gauges[a].cmp(&self.gauges[b]))?;
        Some((self.gauges[at], &self.rows[at]))
    }

    /// The hottest column not above a rating: its position in a row and its temperature.
    pub fn column(&self, insulation: Insulation) -> Option<(usize, f64)> {
        let limit = insulation.celsius().get();
        let columns = self.columns.iter().enumerate().filter(|(_, rating)| **rating <= limit);
        columns.max_by(|a, b| a.1.total_cmp(b.1)).map(|(at, rating)| (at + 1, *rating))
    }

    pub fn out(&self, size: Gauge) -> OutOfTable {
        let mut nearest: Vec<Gauge> = self.gauges.clone();
        nearest.sort_by(|a, b| {
            let off = |gauge: &Gauge| (gauge.area() / size.area()).max(size.area() / gauge.area());
            off(a).total_cmp(&off(b))
        });
        let nearest: Vec<String> = nearest.iter().take(2).map(|&near| gauge_name(near)).collect();
        let ends = |gauge: Option<&Gauge>| gauge.map_or_else(String::new, |&gauge| gauge_name(gauge));
        OutOfTable::new(
            self.what.clone(),
            gauge_name(size),
            format!("{} to {}", ends(self.gauges.first()), ends(self.gauges.last())),
            format!("use {}", nearest.join(" or ")),
        )
    }
}

/// A table of steps: rows keyed by a number, in ascending order.
pub(crate) struct Steps {
    what: String,
    starts: Vec<f64>,
    rows: Vec<Row>,
}

impl Steps {
    pub fn load(tables: &Tables, id: &str) -> Result<Self, String> {
        let table: &Table = tables.get(id)?;
        let starts: Option<Vec<f64>> = table.rows.iter().map(|row| row.number(0)).collect();
        let starts = starts.ok_or_else(|| format!("table {id}: every row should start with a number"))?;
        if !starts.windows(2).all(|pair| pair[0] < pair[1]) {
            return Err(format!("table {id}: rows should ascend"));
        }
        Ok(Self { what: table.what.clone(), starts, rows: table.rows.clone() })
    }

    /// The last row that starts at or below a number.
    pub fn from(&self, value: f64) -> Option<&Row> {
        let at = self.starts.iter().rposition(|start| *start <= value)?;
        self.rows.get(at)
    }

    /// The last row.
    pub fn last(&self) -> Option<&Row> {
        self.rows.last()
    }

    /// The first row that reaches up to a number.
    pub fn up_to(&self, value: f64) -> Option<&Row> {
        let at = self.starts.iter().position(|end| *end >= value)?;
        self.rows.get(at)
    }

    pub fn cite(&self, row: &Row) -> Cite {
        row.cite(&self.what)
    }
}

/// Rows keyed by insulation rating, with one factor each, for an assumed ambient.
pub(crate) struct ByRating {
    pub what: String,
    pub ambient: f64,
    pub rows: Vec<(f64, f64, Row)>,
}

impl ByRating {
    pub fn load(tables: &Tables, id: &str, ambient: f64) -> Result<Self, String> {
        let table = tables.get(id)?;
        let mut rows = Vec::new();
        for row in &table.rows {
            let rating = row.key.trim_end_matches(" °C").parse::<f64>();
            let rating = rating.map_err(|_| format!("table {id}: {:?} is not a rating", row.key))?;
            rows.push((rating, table.need(&row.key, 1)?, row.clone()));
        }
        Ok(Self { what: table.what.clone(), ambient, rows })
    }
}
