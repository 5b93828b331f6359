//! The hourly year in the papers: a line a month, and what the study says in short.
//! Never: computes energy (see `energy`).
//! Start at [`rows`] and [`StudySummary::of`].

use energy::site::MONTH_NAMES;
use energy::{Books, Study};
use quantity::{Fraction, Hours, WattHours};
use serde::Serialize;

use crate::table::{Table, numbers, words};

/// A month of a typical year.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct YearRow {
    /// The month.
    pub month: String,
    /// Asked by the loads.
    pub asked: WattHours,
    /// From the arrays, as far as it was used.
    pub sun: WattHours,
    /// Sun that nobody could take.
    pub curtailed: WattHours,
    /// From the engine.
    pub engine: WattHours,
    /// From shore power.
    pub shore: WattHours,
    /// From the generator.
    pub generator: WattHours,
    /// Lost and idle.
    pub lost: WattHours,
    /// Asked by spare loads and given up.
    pub given_up: WattHours,
    /// Asked and not served.
    pub short: WattHours,
    /// Lowest state of charge.
    pub lowest: Fraction,
    /// Chance of running out in the month, over drawn years.
    pub running_out: Fraction,
}

/// The months of a study.
pub fn rows(study: &Study) -> Vec<YearRow> {
    let wh = WattHours::new;
    let row = |(at, name): (usize, &&str)| {
        let (month, chance) = (study.year.months.get(at)?, study.years.months.get(at)?);
        let books: &Books = &month.books;
        Some(YearRow {
            month: (*name).to_owned(),
            asked: wh(books.asked()),
            sun: wh(books.sun_wh),
            curtailed: wh(books.curtailed_wh),
            engine: wh(books.engine_wh),
            shore: wh(books.shore_wh),
            generator: wh(books.generator_wh),
            lost: wh(books.lost()),
            given_up: wh(books.given_up_wh),
            short: wh(books.short_wh),
            lowest: Fraction::new(month.lowest),
            running_out: chance.running_out.share,
        })
    };
    MONTH_NAMES.iter().enumerate().filter_map(row).collect()
}

/// The sheet and CSV file.
pub fn table(rows: &[YearRow]) -> Table {
    let wh = |key, title| numbers(key, title, "Wh", 0, 11.0).summed();
    let columns = vec![
        words("month", "Month, typical year", 12.0),
        wh("asked_wh", "Asked"),
        wh("sun_wh", "Sun"),
        wh("sun_left_wh", "Sun left over"),
        wh("engine_wh", "Engine"),
        wh("shore_wh", "Shore"),
        wh("generator_wh", "Generator"),
        wh("lost_wh", "Lost and idle"),
        wh("given_up_wh", "Given up"),
        wh("short_wh", "Short"),
        numbers("lowest_percent", "Lowest charge", "%", 0, 9.0),
        numbers("running_out_percent", "Chance of running out", "%", 1, 12.0),
    ];
    let mut table = Table::new("year", "Year", columns);
    for row in rows {
        table.push(vec![
            row.month.as_str().into(),
            row.asked.get().into(),
            row.sun.get().into(),
            row.curtailed.get().into(),
            row.engine.get().into(),
            row.shore.get().into(),
            row.generator.get().into(),
            row.lost.get().into(),
            row.given_up.get().into(),
            row.short.get().into(),
            (row.lowest.get() * 100.0).into(),
            (row.running_out.get() * 100.0).into(),
        ]);
    }
    table
}

/// The study in short.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StudySummary {
    /// What weather it rests on.
    pub weather: String,
    /// The months.
    pub months: Vec<YearRow>,
    /// Time from full without charging, in the hardest month; `None` where it is longer than two months.
    pub autonomy: Option<Hours>,
    /// Chance of running out in a year, and its 95 % interval.
    pub running_out: (Fraction, Fraction, Fraction),
    /// Years drawn for it.
    pub years: u32,
    /// Years until the bank holds four fifths: best estimate, low and high.
    pub bank_life: (f64, f64, f64),
    /// What was taken for granted.
    pub notes: Vec<String>,
}

impl StudySummary {
    /// Of a study.
    pub fn of(study: &Study) -> Self {
        let (life, chance) = (&study.year.bank_life, &study.years.running_out);
        Self {
            weather: study.year.weather.clone(),
            months: rows(study),
            autonomy: study.autonomy,
            running_out: (chance.share, chance.low, chance.high),
            years: study.years.count,
            bank_life: (life.years, life.low, life.high),
            notes: study.year.notes.iter().map(|note| note.message.clone()).collect(),
        }
    }
}
