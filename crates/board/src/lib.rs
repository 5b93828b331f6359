//! The mounting board: which devices stand on it, where, on what lengths of cable, through which holes, and what is wrong.
//! Never: reads a file or a clock, uses chance that is not seeded; chooses a part or a size (see `derive`).
//! Start at [`place`]; [`Layout::faults`] judges it, [`moved`] answers a drag, [`derived`] is the one system of all outputs.
//!
//! The plan of the vehicle, with ways, holes through walls and axles, is in [`vehicle`].
//!
//! All places are whole millimetres from the lower left corner of the board, seen from the front: x to the right, y upwards.

mod anneal;
#[cfg(test)]
mod exact;
mod faults;
mod flow;
mod footprint;
mod geometry;
mod gland;
mod holes;
mod judge;
mod layout;
mod pages;
mod path;
mod plan;
mod problem;
mod route;
mod search;
mod settle;
pub mod vehicle;
mod who;

pub use faults::{CHECKS, cites};
pub use flow::{Derived, MOST_ROUNDS, derived};
pub use footprint::{Current, bend_radius_mm, bend_room_mm, cable_diameter_mm};
pub use geometry::{Outline, Rect, Turn};
pub use gland::{GlandFit, gland_for};
pub use holes::{Hole, HoleUse};
pub use layout::{GRID_MM, Layout, LeftOver, Placed, TerminalSpot, moved, place, place_again};
pub use pages::{CheckPage, check_page, check_pages, markdown};
pub use plan::Plan;
pub use route::Route;
pub use settle::{LengthChange, Settled, with_board_lengths};
pub use vehicle::{Vehicle, WallHole};
pub use who::on_board;
