//! The electrical network: steady state, prospective fault currents and inrush of a DC (or resistive AC)
//! network.
//! Never: picks sizes (see `derive`), judges (see `rules`), reads files. Same input, same bytes.
//! Start at [`study`] for a whole system; at [`Netlist`] to describe a network by hand, then [`solve`], [`fault`] and [`inrush`].
//!
//! ```
//! use network::{Netlist, fault, solve};
//! use quantity::{Ohms, Volts, Watts};
//!
//! let mut net = Netlist::new();
//! let (minus, plus, load) = (net.node("bank minus"), net.node("bank plus"), net.node("inverter"));
//! net.emf(plus, minus, Volts::new(12.8), Ohms::new(0.004));
//! net.resistor(plus, load, Ohms::new(0.0018));
//! net.constant_power(load, minus, Watts::new(1800.0), None);
//!
//! let steady = solve(&net)?;
//! assert!((steady.volts_between(load, minus).get() - 11.92449).abs() < 1e-5); // ngspice, tests/data
//! let faults = fault(&net, &[(load, minus)], Ohms::zero())?;
//! assert!((faults[0].amps.get() - 12.8 / 0.0058).abs() < 1e-6); // V/R
//! # Ok::<(), network::SolveError>(())
//! ```

mod build;
mod chains;
mod collapse;
mod factor;
mod fault;
mod fold;
mod netlist;
mod newton;
mod ohms;
mod places;
mod results;
mod scenes;
mod solve;
mod spice;
mod study;
mod transient;

pub use fault::{Fault, FaultDetail, FaultDetailOptions, Share, fault, fault_detail};
pub use netlist::{BelowCutoff, ElementId, Netlist, NodeId};
pub use places::{FaultCurrents, fault_currents};
pub use results::{Faults, Results, Scene, SceneResult};
pub use solve::{Collapse, Island, Plan, Regime, Solution, SolveError, solve};
pub use spice::{to_spice, to_spice_at};
pub use study::{netlists, study};
pub use transient::{Damping, Inrush, Precharge, inrush, precharge};
