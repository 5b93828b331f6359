//! What page and service say to each other. The page's types are generated from these, so neither can drift.
//! Never: computes; [`crate`]'s other modules fill these from the crates below.
//! Start at [`View`], what one project looks like now, and [`Change`], how a person changes it.

mod board;
mod build;
mod change;
mod energy;
mod folder;
mod place;
mod session;
mod view;
mod work;

pub use board::*;
pub use build::*;
pub use change::*;
pub use energy::*;
pub use folder::*;
pub use place::*;
pub use session::*;
pub use view::*;
pub use work::*;
