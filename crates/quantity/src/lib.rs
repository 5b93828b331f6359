//! Numbers with units: the physical quantities of the trade as types, read and shown the way people write them.
//! Never: holds table values (see `reference`), knows what a number is for.
//! Start at [`words`] for the list of quantities, `kinds.rs` for their arithmetic, [`Written`] for reading and showing, [`Gauge`] for conductor sizes.
//!
//! ```
//! use quantity::{Gauge, Metres, OhmsPerKm, Volts, Amps, Written};
//!
//! let run = Metres::parse("9 ft 3 in")?;
//! let lost: Volts = Amps::parse("8 A")? * (OhmsPerKm::parse("3.08 Ω/km")? * run * 2.0);
//! assert_eq!(lost.to_string(), "0.139 V");
//! assert_eq!(Volts::parse("12 A").unwrap_err().to_string(),
//!     "`12 A` is a current; here a voltage is wanted, such as `12.8 V`");
//! assert!(Gauge::parse("2/0 AWG")? > Gauge::parse("50 mm²")?);
//! # Ok::<(), quantity::QuantityError>(())
//! ```

mod decimal;
mod error;
mod gauge;
mod kinds;
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
