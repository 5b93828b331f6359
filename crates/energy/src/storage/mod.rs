//! What the bank holds, gives and takes: voltage, resistance, limits, ageing.
//! Never: decides when to charge; see `dispatch`.
//! Start at [`BankModel`]; the chemistries are tables in `curve.rs`, the two wells of lead-acid stand in `wells.rs`.

mod bank;
mod curve;
mod wells;

pub use bank::{BankModel, BankState, Step};
