//! Lengths from the board back into the derivation, until neither changes the other.
//! Never: changes what a person wrote.
//! Start at [`with_board_lengths`].

use std::collections::BTreeMap;

use model::{BoardIntent, Project, System};
use quantity::Metres;
use serde::Serialize;

use crate::layout::{Layout, place, place_again};
use crate::who::on_board;

/// A conductor whose length the board gives otherwise than it was said or assumed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LengthChange {
    /// The conductor.
    pub conductor: String,
    /// Length as said or assumed.
    pub before: Metres,
    /// Length on the board.
    pub on_board: Metres,
}

/// A system whose lengths on the board are those of its layout.
#[derive(Clone, Debug)]
pub struct Settled {
    /// The system, derived with the lengths of the board.
    pub system: System,
    /// Its layout.
    pub layout: Layout,
    /// Times that it was derived.
    pub rounds: u32,
    /// Whether the last round changed nothing any more.
    pub is_steady: bool,
    /// Conductors whose length is another than without the board, in the order of the system.
    pub changes: Vec<LengthChange>,
}

/// Derives, places, and derives again with the lengths of the board, until no length differs, at most `most_rounds` times.
///
/// Devices stay where they stood while the same devices still stand well there; a thicker cable that needs more room moves them.
/// Where it goes to and fro between two placings, `is_steady` is false, and the last stands.
pub fn with_board_lengths(project: &Project, most_rounds: u32) -> Settled {
    let silent = BoardIntent::default();
    let first = derive::derive(project);
    // Who stands on the board follows from lengths; once that is known, the lengths of the board may not change it.
    let mut wanted = project.intent.board.as_ref().unwrap_or(&silent).clone();
    wanted.with.extend(on_board(&first, &wanted).into_iter().map(|ix| first.devices[ix].id.clone()));
    let wanted = &wanted;
    let before: BTreeMap<&str, Metres> =
        first.conductors.iter().map(|conductor| (conductor.id.as_str(), conductor.length)).collect();
    let mut layout = place(&first, &project.library, wanted);
    let mut system = first.clone();
    let mut lengths = layout.board_lengths(&system);
    let mut rounds = 1;
    let mut is_steady = false;
    while rounds < most_rounds.max(1) {
        system = derive::derive_with_lengths(project, &lengths);
        rounds += 1;
        layout = place_again(&system, &project.library, wanted, &layout);
        let now = layout.board_lengths(&system);
        let is_same = now == lengths;
        lengths = now;
        if is_same {
            is_steady = true;
            break;
        }
    }
    let changes = system
        .conductors
        .iter()
        .filter_map(|conductor| {
            let on_board = *lengths.whole.get(&conductor.id)?;
            let before = *before.get(conductor.id.as_str())?;
            (before != on_board).then(|| LengthChange { conductor: conductor.id.clone(), before, on_board })
        })
        .collect();
    Settled { system, layout, rounds, is_steady, changes }
}
