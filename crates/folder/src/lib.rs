//! The project folder on disk: reading a project with its own parts and weather, durable changes, history, and what others
//! write meanwhile.
//! Never: speaks over a network, judges a design, leaves half a file behind, takes away a text that the history lacks.
//! Start at [`project`] and [`write`](fn@write) for one reading or writing, [`Shelf`] for what a person opens, [`Store`] for editing.

mod bounds;
mod disk;
mod error;
mod history;
mod journal;
mod lock;
mod outside;
mod read;
mod safe_name;
mod shelf;
mod stamp;
mod store;
mod watch;
mod write;

pub use error::Error;
pub use history::{Document, MOST_STATES, Origin, State};
pub use outside::Outside;
pub use read::{INTENT, bytes, project, text, weather};
pub use shelf::{Begun, Listed, Shelf};
pub use store::{Expected, Saved, Store};
pub use watch::Watch;
pub use write::{Existing, write};
