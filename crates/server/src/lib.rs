//! The local web service: shows a folder of projects as a page and takes edits, on loopback.
//! Never: computes a number of its own; every one comes from the crates below, as on the command line.
//! Start at [`wire`], what page and service say to each other.

mod description;
pub mod stand;
pub mod tell;
pub mod ticks;
pub mod wire;

pub use description::description;
pub use stand::Stand;
