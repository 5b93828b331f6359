//! The build order: every step from the bench to the handover, each with its reasons, its readings and what must be dead.
//! Never: judges the design (see `rules`), touches a file or a clock. The same system gives the same steps.
//! Start at [`build_order`]; the steps of a stage stand in the file of that stage, their order comes from `draft.rs`.

mod bench;
mod charging;
mod closing;
mod dead;
mod draft;
mod expect;
mod gates;
mod handover;
mod mains;
mod paper;
mod power;
mod spots;
mod step;
mod vehicle;

pub(crate) use paper::bounds;
pub use paper::{measure_line, order_markdown, order_table};
pub use step::{Act, BuildOrder, Deed, Measure, Need, Parts, Stage, Step, Value, Wait};

use board::Layout;
use model::System;
use network::Results;

use draft::Draft;

/// The order in which a system is built, proved and handed over. A refused system has no steps.
///
/// Every device, conductor, fuse and disconnect of the system stands in it: each cable is made once, laid once and joined
/// once at both ends. The steps are a topological order of their needs, and any other order that keeps the needs is as
/// safe: nothing is live before the protection upstream of it stands and before its circuit was tested, and no step works
/// on a live part, save the posts of batteries, which cannot be switched off.
///
/// What stands in `layout` is mounted at the bench; without one, what [`board::on_board`] puts on a board of which nothing is said.
///
/// The identifiers of steps and measures are made from names of devices, circuits and terminals, so that ticks and
/// readings survive an edit elsewhere.
pub fn build_order(system: &System, results: &Results, layout: Option<&Layout>) -> BuildOrder {
    if !system.refusals.is_empty() {
        return BuildOrder { safety: crate::SAFETY.to_owned(), steps: Vec::new() };
    }
    let mut draft = Draft::of(system, results, layout);
    bench::steps(&mut draft);
    vehicle::steps(&mut draft);
    dead::steps(&mut draft);
    power::steps(&mut draft);
    charging::steps(&mut draft);
    mains::steps(&mut draft);
    handover::steps(&mut draft);
    BuildOrder { safety: crate::SAFETY.to_owned(), steps: draft.in_order() }
}
