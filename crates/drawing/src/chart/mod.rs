//! Charts as SVG: charge over the year, monthly energy, the worst week, the chance of running out, trade-offs, a trip.
//! Never: computes energy, tells series apart by colour alone, or lets two texts overlap. NaN counts as missing.
//! Start at [`months`]. Drawn by `pen.rs`, not by a plotting crate: such a crate measures no text, has no hatch for
//! black and white, and would add a tree of dependencies for a few axes. 360 units wide, so 360 px shows it 1 : 1.

mod bars;
mod marks;
mod pen;
mod time;

pub use bars::{TripDay, months, trip_days};
pub use marks::{Mark, running_out, trade_off};
pub use pen::nice_ticks;
pub use time::{charge_over_the_year, worst_week};

/// Names of the months, short.
const MONTH: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
/// Days of the months; no leap day.
const DAYS: [usize; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// Day of the year (from 0) as `12 Jan`.
fn date(day: usize) -> String {
    let mut left = day % 365;
    for (name, days) in MONTH.iter().zip(DAYS) {
        if left < days {
            return format!("{} {name}", left + 1);
        }
        left -= days;
    }
    String::new()
}
