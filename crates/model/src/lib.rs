//! What goes in and what comes out: the intent as written, the parts to choose from, the system as derived.
//! Never: computes a size, judges, reads a clock or a file; files come in as [`SourceText`].
//! Start at [`Project`] (what is read), [`System`] (what is derived), [`Library`] (parts).

mod because;
mod begin;
mod board_check;
mod board_intent;
mod calendar;
pub mod chain;
mod check;
mod differ;
pub mod edit;
mod intent;
pub mod library;
mod name;
pub mod parts;
mod plan_check;
mod plan_intent;
mod ranges;
pub mod read;
mod record;
mod stack_intent;
mod system;
mod usage;
mod value_at;
mod values;

pub use because::*;
pub use begin::{BankVolts, begin};
pub use board_intent::*;
pub use calendar::{ClockTime, DaySpan};
pub use differ::{Difference, differences};
pub use intent::*;
pub use name::Name;
pub use parts::Library;
pub use plan_intent::*;
pub use read::{Problem, Reading, SourceText, Spans};
pub use stack_intent::Stacks;
pub use system::*;
pub use usage::*;
pub use value_at::{stands, value_at};
