//! Numbers with units: the physical quantities of the trade as types, read and shown the way people write them.
//! Never: holds table values (see `reference`), knows what a number is for.
//! Start at [`kinds`] for the list of quantities, [`Written`] for reading and showing, [`Gauge`] for conductor sizes.

mod decimal;
mod error;
mod gauge;
pub mod kinds;
mod length;
pub mod math;
mod serial;
mod units;
mod written;

pub use error::QuantityError;
pub use gauge::{Gauge, Nearest};
pub use kinds::*;
pub use length::show_in_feet;
pub use units::{Word, words};
pub use written::Written;
