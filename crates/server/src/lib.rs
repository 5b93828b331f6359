//! The local web service: shows a folder of projects as a page and takes edits, on loopback.
//! Never: computes a number of its own; every one comes from the crates below, as on the command line.
//! Start at [`wire`], what page and service say to each other, then [`Stand`] and [`tell`], which fill it; `routes` are the
//! addresses, `desk` is the state behind them, `guard` what every request passes, [`Service`] the listening.

mod answer;
mod assets;
mod description;
mod desk;
mod guard;
mod routes;
mod serve;
mod share;
pub mod stand;
pub mod tell;
pub mod ticks;
pub mod wire;
mod work;

pub use description::description;
pub use serve::{Options, Service, StartError, USUAL_PORT};
pub use share::Tell;
pub use stand::Stand;
