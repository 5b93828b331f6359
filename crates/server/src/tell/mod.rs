//! What the page is told of a [`Stand`](crate::Stand): one file for each area of [`wire`](crate::wire), pure functions.
//! Never: computes a size or judges; words and numbers come from the crates below, and are put where the page wants them.
//! Start at [`view`]; everything else is asked for place by place.

mod board;
mod brief;
mod build;
mod choices;
mod circuits;
mod compare;
mod diagram;
mod energy;
mod fault;
mod figures;
mod findings;
mod loads;
mod mends;
mod papers;
mod parts;
mod place;
mod schema;
mod taken;
mod view;
mod why;
mod work;

pub use board::{board, moved};
pub use brief::fields;
pub use build::build;
pub use compare::compare;
pub use fault::{fault, fault_places};
pub use mends::{effect, mends, questions};
pub use papers::{media, paper, papers};
pub use parts::parts;
pub use place::place;
pub use view::{Head, problem, view};
pub use why::why;
pub use work::{sizes, years};

use quantity::Written;

/// A quantity as a person reads it: `12.5 A`.
fn shown(value: impl std::fmt::Display) -> String {
    value.to_string()
}

/// A quantity as it is written in the file, exactly.
fn written(value: &impl Written) -> String {
    value.show()
}

/// `1 January` for day 0.
fn date(day: usize) -> String {
    let month = ::energy::site::month_of_day(day);
    let first = ::energy::site::MONTH_STARTS[month] / 24;
    format!("{} {}", day - first + 1, MONTHS[month])
}

/// Names of the months in full.
const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// Rounded for a chart: what is finer cannot be seen and would be most of the answer.
fn rounded(value: f64, digits: i32) -> f64 {
    let scale = 10_f64.powi(digits);
    let rounded = (value * scale).round() / scale;
    // `-0` and `0` are one number; a chart has no place for what is none.
    if rounded.is_finite() { rounded + 0.0 } else { 0.0 }
}
