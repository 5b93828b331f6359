//! Numbers with units: the physical quantities of the trade as types, read and shown the way people write them.
//! Never: holds table values (see `reference`), knows what a number is for.
//! Start at [`kinds`] for the list of quantities, [`Written`] for reading and showing, [`Gauge`] for conductor sizes.

mod gauge;
mod kinds;

pub use gauge::Gauge;
pub use kinds::*;
