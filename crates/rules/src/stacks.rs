//! The order of lugs on each stud, from the pad up, and the stud of a busbar for each conductor.
//! Never: judges a stack that a person says (see `stack_order.rs`), counts too many lugs (see `lugs_stacked.rs`).
//! Start at [`stacks`]; [`LugPlace`] is the place of one lug in words.

use std::collections::BTreeMap;

use model::{Conductor, ConductorIx, Spec, System, TerminalRef};
use network::Results;
use quantity::Amps;
use reference::Reference;
use serde::Serialize;

/// The lugs on one stud.
#[derive(Clone, Debug, PartialEq)]
pub struct Stack {
    /// The terminal.
    pub at: TerminalRef,
    /// The stud, from 1 nearest the feed.
    pub stud: u32,
    /// Studs of the terminal.
    pub studs: u32,
    /// The conductors whose lugs lie there, from the pad up.
    pub lugs: Vec<ConductorIx>,
}

/// Where one lug lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LugPlace {
    /// On a stud.
    Stud {
        /// The stud, from 1 nearest the feed; `None` where the terminal has one.
        stud: Option<u32>,
        /// Its place from the pad, from 1.
        place: u32,
        /// Lugs on the stud.
        of: u32,
    },
    /// On a small screw of a busbar, alone.
    Screw,
    /// Nowhere: every stud and screw of the terminal is full.
    NoRoom,
}

impl std::fmt::Display for LugPlace {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (stud, place, of) = match self {
            Self::Screw => return f.write_str("on a screw"),
            Self::NoRoom => return f.write_str("no free stud"),
            Self::Stud { stud, place, of } => (stud, place, of),
        };
        if let Some(stud) = stud {
            write!(f, "stud {stud}: ")?;
        }
        write!(f, "{place} of {of}")?;
        if *place == 1 { f.write_str(", at the pad") } else { Ok(()) }
    }
}

/// Every stack of a system, and the lugs that found no stud.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stacks {
    /// Studs with a lug, by terminal and stud.
    pub studs: Vec<Stack>,
    /// Lugs on screws of a busbar.
    pub screws: Vec<(TerminalRef, ConductorIx)>,
    /// Lugs without a place.
    pub no_room: Vec<(TerminalRef, ConductorIx)>,
}

impl Stacks {
    /// The studs of a terminal.
    pub fn at(&self, at: TerminalRef) -> impl Iterator<Item = &Stack> {
        self.studs.iter().filter(move |stack| stack.at == at)
    }
    /// Where each lug lies, where there is something to say: a lug alone on the one stud of a terminal is left out.
    pub fn places(&self) -> BTreeMap<(TerminalRef, ConductorIx), LugPlace> {
        let mut places = BTreeMap::new();
        for stack in self.studs.iter().filter(|stack| stack.studs > 1 || stack.lugs.len() > 1) {
            let of = u32::try_from(stack.lugs.len()).unwrap_or(u32::MAX);
            for (place, lug) in (1..).zip(&stack.lugs) {
                let stud = (stack.studs > 1).then_some(stack.stud);
                places.insert((stack.at, *lug), LugPlace::Stud { stud, place, of });
            }
        }
        places.extend(self.screws.iter().map(|end| (*end, LugPlace::Screw)));
        places.extend(self.no_room.iter().map(|end| (*end, LugPlace::NoRoom)));
        places
    }
}

/// The steady current that a conductor must carry: the circuit's own, or more where the study finds more.
pub fn steady_current(system: &System, results: &Results, ix: ConductorIx) -> Amps {
    let Some(conductor) = system.conductors.get(ix) else { return Amps::zero() };
    let flows = results.largest_steady(ix);
    if !conductor.pole.carries_current() {
        return flows;
    }
    system.circuits.get(conductor.circuit).map_or(flows, |circuit| circuit.current_steady.max(flows))
}

/// What a lug is ordered by: the largest current first, then the largest area, then the name. Currents that show the same tenth of
/// an ampere are alike, so that no rounding of the study turns a stack.
pub(crate) fn rank(
    conductor: &Conductor,
    current: Amps,
) -> (std::cmp::Reverse<i64>, std::cmp::Reverse<i64>, &str) {
    let area = (conductor.gauge.area().get() * 1e12).round() as i64;
    (std::cmp::Reverse(tenths(current)), std::cmp::Reverse(area), &conductor.id)
}

/// Tenths of an ampere.
pub(crate) fn tenths(current: Amps) -> i64 {
    (current.get() * 10.0).round() as i64
}

/// The order of the lugs on every stud.
///
/// On each stud the lug of the largest current lies at the pad. On a busbar the largest current goes to the stud nearest the
/// feed, the next to the next, and when each stud has one, the next lies on the first again: so every pad carries more than
/// what lies on it, and the largest currents travel least along the bar. No stud gets more lugs than the rule sets allow; what is
/// left goes one each on the bar's screws, the smallest currents last, and then has no room.
/// A stack that a person says stays as said; lugs that it leaves out go to the other studs, or on top where there is none.
/// The order is common practice, no source; the most on a stud is ABYC E-11.
pub fn stacks(system: &System, results: &Results) -> Stacks {
    let most = Reference::standard().terminals_per_stud().value as usize;
    let mut ends: BTreeMap<TerminalRef, Vec<ConductorIx>> = BTreeMap::new();
    for (ix, conductor) in system.conductors.iter().enumerate() {
        for end in [conductor.from, conductor.to] {
            if system.is_lug(conductor, end) {
                ends.entry(end).or_default().push(ix);
            }
        }
    }
    let mut all = Stacks::default();
    for (at, mut lugs) in ends {
        lugs.sort_by_cached_key(|ix| {
            let conductor = &system.conductors[*ix];
            let (current, area, name) = rank(conductor, steady_current(system, results, *ix));
            (current, area, name.to_owned())
        });
        lugs.dedup();
        let count = system.studs(at);
        let mut studs: BTreeMap<u32, Vec<ConductorIx>> = BTreeMap::new();
        for said in system.stacks.iter().filter(|said| said.at == at) {
            lugs.retain(|ix| !said.lugs.contains(ix));
            studs.insert(said.stud, said.lugs.clone());
        }
        let free: Vec<u32> = (1..=count).filter(|stud| !studs.contains_key(stud)).collect();
        let said: Vec<u32> = studs.keys().copied().collect();
        let mut left = lugs.into_iter();
        for (layer, stud) in (0..most).flat_map(|layer| free.iter().map(move |stud| (layer, *stud))) {
            debug_assert!(studs.get(&stud).map_or(0, Vec::len) == layer || left.len() == 0);
            let Some(lug) = left.next() else { break };
            studs.entry(stud).or_default().push(lug);
        }
        for stud in said {
            let on_it = studs.entry(stud).or_default();
            let room = most.saturating_sub(on_it.len());
            on_it.extend(left.by_ref().take(room));
        }
        let screws = match system.devices.get(at.device).map(|device| &device.spec) {
            Some(Spec::Busbar(bar)) => bar.screws.unwrap_or(0) as usize,
            _ => 0,
        };
        all.screws.extend(left.by_ref().take(screws).map(|ix| (at, ix)));
        all.no_room.extend(left.map(|ix| (at, ix)));
        all.studs.extend(studs.into_iter().filter(|(_, lugs)| !lugs.is_empty()).map(|(stud, lugs)| Stack {
            at,
            stud,
            studs: count,
            lugs,
        }));
    }
    all
}
