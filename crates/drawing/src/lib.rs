//! Pictures of a system: the one-line diagram as SVG, on a sheet that is large enough for it.
//! Never: computes a value, judges, reads or writes a file. The same system gives the same bytes.
//! Start at [`one_line`]; the tree is in `graph.rs`, the places in `layout.rs`, the symbols in `symbols.rs`.

pub mod chart;
mod comb;
mod graph;
mod layout;
#[cfg(feature = "png")]
mod png;
pub mod scene;
mod sheet;
mod storage;
mod strings;
mod svg;
pub mod symbols;
mod text;
mod tree;
mod words;

use model::System;

#[cfg(feature = "png")]
pub use png::{PictureError, to_png};
pub use sheet::{SAFETY, Sheet};
pub use words::rating;

/// The one-line diagram of a system as SVG text: sources above the busbar, the bank and its way back at the left,
/// what is fed below. Every device and every conductor of the system is in it; what fits no pattern is listed.
/// Lengths are in millimetres of the printed sheet.
pub fn one_line(system: &System) -> String {
    svg::write(system, &Sheet::of(system))
}
