//! What to measure on what was built, what it should be, and what is likely wrong where it is not.
//! Never: reads a file or a clock, changes the system. Considers one fault at a time; several at once are not looked for.
//! Start at [`expected`], then [`Readings::read`] and [`judge`].

mod ac;
mod alone;
mod dead;
pub mod edit;
mod expected;
mod fault;
mod judge;
mod limits;
mod live;
mod measure;
mod next;
mod readings;
mod sources;
mod twin;

pub use edit::{EditError, sheet};
pub use expected::{Expected, Kind, Stage, expected};
pub use judge::{Cause, Judgement, Status, Verdict, judge};
pub use limits::{Limit, limits};
pub use measure::{Measure, OVER_RANGE_OHMS, Unit};
pub use readings::{Entries, Entry, Readings, ReadingsFile, Taken};
pub use twin::{Change, Moment, Path, Twin};
