//! The electrical network: steady state, prospective fault currents and inrush of a DC (or resistive AC)
//! network.
//! Never: picks sizes (see `derive`), judges (see `rules`), reads files. Same input, same bytes.
//! Start at [`Netlist`] to describe a network, then [`solve`], [`fault`] and [`inrush`].

mod factor;
mod fault;
mod netlist;
mod newton;
mod results;
mod solve;
mod spice;
mod transient;

pub use fault::{Fault, FaultDetail, FaultDetailOptions, Share, fault, fault_detail};
pub use netlist::{BelowCutoff, ElementId, Netlist, NodeId};
pub use results::{Faults, Results, Scene, SceneResult};
pub use solve::{Collapse, Island, Plan, Regime, Solution, SolveError, solve};
pub use spice::to_spice;
pub use transient::{Damping, Inrush, Precharge, inrush, precharge};
