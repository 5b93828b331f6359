//! Invented years, weeks and trips, and a chart of each.
//! Never: stands for a real place or system; the curves are sines.
//! Start at [`all`].
#![allow(dead_code, reason = "the example and the tests use different parts")]

use drawing::chart::{
    Mark, TripDay, charge_over_the_year, months, running_out, trade_off, trip_days, worst_week,
};
use energy::outcome::{BankLife, Month, MonthsOfYears, Trace};
use energy::{Books, Chance, Year, Years};
use quantity::{Fraction, Hours, WattHours};

/// How summery a day is, 0 to 1.
fn summer(day: usize) -> f64 {
    0.5 - 0.5 * (std::f64::consts::TAU * (day as f64 + 10.0) / 365.0).cos()
}

pub fn week() -> Trace {
    let mut t = Trace { first_hour: 8 * 24, ..Trace::default() };
    let mut soc: f64 = 0.6;
    for hour in 0..168 {
        let sun = (400.0 * (std::f64::consts::TAU * (hour % 24) as f64 / 24.0 - 1.57).sin()).max(0.0);
        let engine = if hour % 72 == 34 { 500.0 } else { 0.0 };
        let supply = if hour > 150 && hour < 156 { 300.0 } else { 0.0 };
        soc = (soc + (sun + engine + supply - 130.0) / 4800.0).clamp(0.1, 1.0);
        let is_short = soc <= 0.1;
        t.soc.push(soc);
        t.sun_w.push(sun);
        t.curtailed_w.push(0.0);
        t.engine_w.push(engine);
        t.supply_w.push(supply);
        t.need_w.push(if is_short { 40.0 } else { 130.0 + 60.0 * f64::from(hour % 5) });
        t.short_w.push(if is_short || hour == 57 { 90.0 } else { 0.0 });
    }
    t
}

pub fn year() -> Year {
    let mut total = Books::default();
    let list = std::array::from_fn(|at| {
        let s = summer(at * 30 + 15);
        let mut books = Books {
            sun_wh: 12_000.0 + 45_000.0 * s,
            engine_wh: 9_000.0,
            shore_wh: if s < 0.3 { 14_000.0 } else { 0.0 },
            generator_wh: if s < 0.1 { 4_000.0 } else { 0.0 },
            loads_dc_wh: 26_000.0,
            loads_ac_wh: 11_000.0,
            idle_wh: 4_000.0,
            bank_loss_wh: 1_500.0,
            curtailed_wh: 30_000.0 * s * s,
            short_wh: if s < 0.1 { 3_000.0 } else { 0.0 },
            given_up_wh: if s < 0.05 { 1_000.0 } else { 0.0 },
            ..Books::default()
        };
        books.stored_wh = books.came_in() - books.served() - books.lost();
        total.add(&books);
        Month { books, lowest: 0.2 + 0.6 * s, ..Month::default() }
    });
    Year {
        weather: "an invented <climate> & \"more\"".to_owned(),
        months: list,
        total,
        lowest: (0.1, 230),
        days: (0..365)
            .map(|d| ((0.15 + 0.7 * summer(d) + 0.08 * (d as f64 * 1.3).sin()).clamp(0.1, 1.0), 1.0))
            .collect(),
        worst_week: week(),
        longest_unfilled: Hours::new(100.0),
        full_cycles: 80.0,
        bank_life: BankLife { years: 9.0, low: 6.0, high: 13.0, from_use: Fraction::new(0.4) },
        share_idle: Fraction::new(0.1),
        notes: Vec::new(),
    }
}

pub fn years() -> Years {
    let run = [120, 60, 15, 2, 0, 0, 0, 0, 3, 14, 70, 150];
    Years {
        count: 1000,
        seed: 1,
        weather: "invented".to_owned(),
        running_out: Chance::of(260, 1000),
        months: run.map(|k| MonthsOfYears {
            running_out: Chance::of(k, 1000),
            short_hours: 2.0,
            lowest: (0.1, 0.4),
            books: Books::default(),
        }),
        short_hours: (9.0, 60.0),
        longest_short: Hours::new(30.0),
        short: (WattHours::new(900.0), WattHours::new(5000.0)),
        band: (0..365)
            .map(|d| [-0.2, -0.1, 0.0, 0.06, 0.12].map(|by| (0.2 + 0.7 * summer(d) + by).clamp(0.1, 1.0)))
            .collect(),
        mean: Books::default(),
        sun: (WattHours::new(1.0), WattHours::new(2.0), WattHours::new(3.0)),
        worst_year: 3,
        books_gap: 0.0,
    }
}

pub fn marks() -> Vec<Mark> {
    let mut marks: Vec<Mark> = (0..40)
        .map(|at| {
            let a = f64::from(at);
            Mark {
                cost: 1500.0 + 70.0 * a + 300.0 * (a * 2.1).sin(),
                mass_kg: 95.0 - a + 12.0 * (a * 1.7).cos(),
                chance: (0.5 - a / 80.0).max(0.0),
                label: format!("{} Wh, {} W <array>", 1200 + 100 * at, 200 + 20 * at),
                is_front: false,
                is_current: at == 13,
                is_chosen: at == 26,
            }
        })
        .collect();
    let better = |a: &Mark, b: &Mark| {
        a.cost <= b.cost
            && a.mass_kg <= b.mass_kg
            && a.chance <= b.chance
            && (a.cost, a.chance) != (b.cost, b.chance)
    };
    let fronts: Vec<bool> = marks.iter().map(|own| !marks.iter().any(|other| better(other, own))).collect();
    for (mark, is_front) in marks.iter_mut().zip(fronts) {
        mark.is_front = is_front;
    }
    marks
}

pub fn trip() -> Vec<TripDay> {
    (0..9)
        .map(|at| {
            let a = f64::from(at);
            TripDay {
                date: format!("{} Jan", at + 12),
                soc: [0.9 - 0.08 * a, 0.75 - 0.08 * a, 0.82 - 0.08 * a],
                came_in_wh: [300.0 + 50.0 * a, if at % 2 == 0 { 700.0 } else { 0.0 }, 0.0, 0.0],
                taken_wh: 1400.0,
                short_wh: if at == 8 { 200.0 } else { 0.0 },
            }
        })
        .collect()
}

/// Forty days from 3 April.
pub fn long_trip() -> Vec<TripDay> {
    let days = trip();
    (0..40)
        .map(|at| TripDay {
            date: format!(
                "2027-0{}-{:02}",
                if at < 28 { 4 } else { 5 },
                if at < 28 { at + 3 } else { at - 27 }
            ),
            ..days[at % days.len()].clone()
        })
        .collect()
}

pub fn all() -> Vec<(&'static str, String)> {
    let mut bare = year();
    bare.months = Default::default();
    bare.days = vec![(f64::NAN, f64::NAN), (0.5, 0.6)];
    let mut none = years();
    none.band.clear();
    none.months.iter_mut().for_each(|month| month.running_out = Chance::of(0, 0));
    let mut unknown = bare.clone();
    unknown.days = vec![(f64::NAN, f64::NAN)];
    let broken = Trace { soc: vec![f64::NAN], need_w: vec![f64::INFINITY], ..Trace::default() };
    let one = Mark { cost: 5.0, label: "<one>".to_owned(), is_front: true, ..Mark::default() };
    let lost = Mark { mass_kg: f64::NAN, ..Mark::default() };
    vec![
        ("charge", charge_over_the_year(Some(&years()), &year(), Some(0.1))),
        ("months", months(&year())),
        ("week", worst_week(&week(), Some(0.2))),
        ("chance", running_out(&years())),
        ("trade", trade_off(&marks(), "EUR")),
        ("trip", trip_days(&trip())),
        ("bare-charge", charge_over_the_year(Some(&none), &unknown, Some(f64::NAN))),
        ("bare-alone", charge_over_the_year(None, &bare, None)),
        ("bare-months", months(&bare)),
        ("bare-week", worst_week(&broken, Some(0.1))),
        ("bare-empty-week", worst_week(&Trace::default(), None)),
        ("bare-chance", running_out(&none)),
        ("long-trip", trip_days(&long_trip())),
        ("bare-lost-trade", trade_off(std::slice::from_ref(&lost), "EUR")),
        ("bare-trade", trade_off(&[one, lost], "EUR")),
        ("bare-no-trade", trade_off(&[], "EUR")),
        ("bare-trip", trip_days(&[])),
    ]
}
