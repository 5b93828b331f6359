//! The one system of a project that every output shows, with the board it was derived with.
//! Never: searches for places where the person designs no board, or where nothing that the places rest on has changed.
//! Start at [`derived`]; after an edit [`Derived::after`] keeps what the edit cannot have changed.

use derive::BoardLengths;
use model::{BoardIntent, Project, System};
use rules::{Finding, Trials, Tried};

use crate::layout::{Layout, place};
use crate::settle::{LengthChange, with_board_lengths};
use crate::vehicle::Vehicle;
use crate::who::on_board;

/// Derivations at most, until the lengths on the board are steady.
pub const MOST_ROUNDS: u32 = 8;

/// A project's system and, where the person designs a board, that board.
#[derive(Clone, Debug)]
pub struct Derived {
    /// The system.
    pub system: System,
    /// The board; `None` where the person wrote no `[board]`, where the system is refused, and where it is due.
    pub layout: Option<Layout>,
    /// Conductors whose length on the board is another than was said or assumed.
    pub changes: Vec<LengthChange>,
    /// Whether lengths and board agree.
    pub is_steady: bool,
    /// Whether the places must still be searched: until then lengths are those of the board before the edit.
    pub is_due: bool,
    /// As derived without the board, which says who stands on it.
    first: Option<System>,
    lengths: BoardLengths,
}

/// The system of a project as every output shows it.
///
/// Where the person wrote a `[board]`, they design one: the lengths on it are those of the layout, and derived from again until
/// steady. Else lengths are as said or assumed, and a board is only a proposal, see [`Derived::proposed`].
pub fn derived(project: &Project) -> Derived {
    let first = derive::derive(project);
    if !is_designed(project, &first) {
        return Derived::plain(first);
    }
    let settled = with_board_lengths(project, MOST_ROUNDS);
    if !settled.system.refusals.is_empty() {
        return Derived::plain(settled.system);
    }
    let lengths = settled.layout.board_lengths(&settled.system);
    Derived {
        system: settled.system,
        layout: Some(settled.layout),
        changes: settled.changes,
        is_steady: settled.is_steady,
        is_due: false,
        first: Some(first),
        lengths,
    }
}

fn is_designed(project: &Project, first: &System) -> bool {
    project.intent.board.is_some() && first.refusals.is_empty()
}

impl Derived {
    fn plain(system: System) -> Self {
        Self {
            system,
            layout: None,
            changes: Vec::new(),
            is_steady: true,
            is_due: false,
            first: None,
            lengths: BoardLengths::default(),
        }
    }

    /// The system after an edit, without a search: what took a second must not hold up an edit.
    ///
    /// Where devices, conductors and `[board]` are as before, or every device is pinned, the result is that of [`derived`].
    /// Else it has the lengths of the board before, and `is_due` says that [`derived`] must follow.
    pub fn after(&self, before: &Project, project: &Project) -> Self {
        let first = derive::derive(project);
        if !is_designed(project, &first) {
            return Self::plain(first);
        }
        let wanted = project.intent.board.as_ref();
        let system = derive::derive_with_lengths(project, &self.lengths);
        let is_same = !self.is_due
            && self.layout.is_some()
            && before.intent.board.as_ref() == wanted
            && self.first.as_ref().is_some_and(|known| is_built_alike(known, &first))
            && is_built_alike(&self.system, &system);
        if is_same {
            let known = self.clone();
            return Self { system, first: Some(first), ..known };
        }
        let is_pinned = wanted.is_some_and(|wanted| {
            (wanted.width.is_some() && wanted.height.is_some() || !wanted.outline.is_empty())
                && on_board(&first, wanted)
                    .iter()
                    .all(|ix| wanted.places.0.contains_key(&first.devices[*ix].id))
        });
        if is_pinned {
            return derived(project);
        }
        if !system.refusals.is_empty() {
            return Self::plain(system);
        }
        Self {
            system,
            layout: None,
            changes: self.changes.clone(),
            is_steady: false,
            is_due: true,
            first: Some(first),
            lengths: self.lengths.clone(),
        }
    }

    /// The board: the one designed, else one placed now as a proposal, which takes about a second; `None` for a refused system.
    pub fn proposed(&self, project: &Project) -> Option<Layout> {
        if self.layout.is_some() || !self.system.refusals.is_empty() {
            return self.layout.clone();
        }
        let silent = BoardIntent::default();
        Some(place(&self.system, &project.library, project.intent.board.as_ref().unwrap_or(&silent)))
    }

    /// What is wrong on the board and on the plan of the vehicle, beside what the rules find. The board of a caller who has placed
    /// one is given; else the designed one counts, where there is one.
    pub fn faults(&self, project: &Project, placed: Option<&Layout>) -> Vec<Finding> {
        let mut faults = placed.or(self.layout.as_ref()).map(Layout::faults).unwrap_or_default();
        if self.system.refusals.is_empty() {
            faults.extend(Vehicle::of(project, &self.system).iter().flat_map(Vehicle::faults));
        }
        faults
    }

    /// The first fix that works of a finding, of a rule or of board and plan: what is wrong on the board is tried by placing it
    /// anew, which takes about a second.
    pub fn tried(&self, project: &Project, trials: &Trials<'_>, finding: &Finding) -> Option<Tried> {
        if rules::rule(finding.rule).is_some() {
            return trials.tried(finding);
        }
        let beside = self.faults(project, None);
        let is_of_board = finding.rule.starts_with("board-");
        trials.tried_beside(finding, &beside, &|changed| {
            let anew = if is_of_board { derived(changed) } else { self.after(project, changed) };
            let then = anew.faults(changed, None);
            (anew.system, then)
        })
    }

    /// Lengths on the board with which the system was derived, by conductor; empty where nobody designs a board.
    pub fn lengths(&self) -> &BoardLengths {
        &self.lengths
    }
}

/// Whether the same things are joined by the same conductors, so that a board of one is a board of the other.
fn is_built_alike(a: &System, b: &System) -> bool {
    a.devices == b.devices && a.conductors == b.conductors && a.zones == b.zones && a.rules == b.rules
}
