//! Charts as SVG: charge over the year, monthly energy, the worst week, the chance of running out, trade-offs, a trip.
//! Never: computes energy, tells series apart by colour alone, or lets two texts overlap. NaN counts as missing.
//! Start at [`months`]. Drawn by `pen.rs`, not by a plotting crate: such a crate measures no text, has no hatch for
//! black and white, and would add a tree of dependencies for a few axes. 360 units wide, so 360 px shows it 1 : 1.

mod bars;
mod chance;
mod panel;
mod pen;
mod table;
mod time;
mod trade;
mod week;

pub use bars::{TripDay, months, trip_days};
pub use chance::running_out;
pub use panel::nice_ticks;
pub use time::charge_over_the_year;
pub use trade::{Mark, trade_off};
pub use week::{hour_by_hour, worst_week};

use energy::site::{DAYS_OF_MONTH, MONTH_NAMES};

/// Nothing larger is drawn: what is above stands at the upper edge of its chart.
const MOST: f64 = 1e15;

/// Day of the year (from 0) as `12 Jan`.
fn date(day: usize) -> String {
    let mut left = day % 365;
    for (name, days) in MONTH_NAMES.iter().zip(DAYS_OF_MONTH) {
        if left < days {
            return format!("{} {name}", left + 1);
        }
        left -= days;
    }
    String::new()
}

/// A value that can be drawn: zero where it is missing or below zero.
fn real(value: f64) -> f64 {
    if value.is_finite() { value.clamp(0.0, MOST) } else { 0.0 }
}

/// A share as text, such as `12 %`; words where it is missing.
fn percent(share: f64) -> String {
    if share.is_finite() {
        quantity::Fraction::new(share.clamp(-MOST, MOST)).to_string()
    } else {
        "unknown".to_owned()
    }
}

/// State of charge as text, such as `12 %`: whole percents, finer nobody knows it.
fn charged(share: f64) -> String {
    if share.is_finite() {
        format!("{:.0} %", share.clamp(-1.0, 10.0) * 100.0 + 0.0)
    } else {
        "unknown".to_owned()
    }
}

/// Energy as text, such as `1.2 kWh`.
fn energy(wh: f64) -> String {
    quantity::WattHours::new(real(wh)).to_string()
}

/// How many apart the texts of an axis stand so that the widest fits: 1 where all fit.
fn every(widest: f64, slot: f64) -> usize {
    ((widest + 5.0) / slot.max(1e-6)).ceil().clamp(1.0, 1e6) as usize
}
