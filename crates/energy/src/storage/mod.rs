//! What the bank holds, gives and takes: voltage, resistance, limits, ageing.
//! Never: decides when to charge; see `dispatch`.
//! Start at [`BankModel`]; the chemistries are tables in `curve.rs`, the two wells of lead-acid stand in `wells.rs`, wear is counted in `ageing.rs`.

mod ageing;
mod bank;
mod curve;
mod hourly;
mod life;
mod tables;
mod wells;

pub use ageing::{Ageing, DEPTHS, Wear};
pub use bank::{BankModel, BankState, Conditions, Step};
pub(crate) use bank::{less, more};
pub(crate) use hourly::{BankDay, Moved, Store};
pub use wells::peukert_exponent;
