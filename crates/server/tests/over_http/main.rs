//! The service as a client meets it: over a real connection on loopback, well and badly.
//! Never: asserts a time. Start at `client`, then any of the others.
#![allow(clippy::unwrap_used)] // tests may panic

mod addresses;
mod board;
mod client;
mod editing;
mod guard;
mod share;
mod work;
