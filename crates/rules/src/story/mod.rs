//! What happens at a bolted short circuit: what feeds it, what opens, what stands it, what goes dark and what goes on.
//! Never: judges or mends (rules do), writes the system. Time grows with the system, not with its square.
//! Start at [`fault_places`] and [`fault_story`]; `opening.rs` has what opens, `supply.rs` what goes dark.

mod opening;
mod supply;

use model::{ConductorIx, Pole, Spec, TerminalRef};
use network::FaultCurrents;
use quantity::Amps;
use reference::Cite;
use serde::Serialize;

pub use opening::{FaultConductor, Opening, SourceStory, Step, Times};
pub use supply::{Dark, Still, Supply};

use crate::{Case, Node};

/// A place where a short circuit can be looked at.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaultPlace {
    /// Its name: device and terminal, such as `galley.fuse.out`.
    pub place: String,
    /// The terminal.
    pub at: TerminalRef,
    /// The device's id.
    pub device: String,
    /// What it is called.
    pub title: String,
    /// Largest current: charged bank, cold cable, every source feeding.
    pub most: Option<Amps>,
    /// Smallest current: cold low bank alone, hot cable.
    pub least: Option<Amps>,
}

/// What happens at a bolted short circuit from a place to the return beside it.
///
/// Every time is that at the current of the first moment: what one device's opening changes for the others is left out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaultStory {
    /// Where.
    pub place: FaultPlace,
    /// What feeds it, the largest current first.
    pub sources: Vec<SourceStory>,
    /// The devices that open first on the ways from the sources, each once.
    pub opens: Vec<Opening>,
    /// The conductors that carry a hundredth of the current or more, the largest current first.
    pub conductors: Vec<FaultConductor>,
    /// What has lost every supply once those devices are open, loads first.
    pub dark: Vec<Dark>,
    /// The loads that go on.
    pub still: Vec<Still>,
    /// What is dangerous about it, in words; empty where the fault is cleared as it should be.
    pub dangers: Vec<String>,
    /// What else to know.
    pub notes: Vec<String>,
    /// The numbers, one step each.
    pub because: Vec<String>,
    /// Table rows used.
    pub cite: Vec<Cite>,
}

/// Every positive direct-current terminal that a source reaches, from the bank outwards.
pub fn fault_places(case: &Case<'_>) -> Vec<FaultPlace> {
    let starts: Vec<TerminalRef> = terminals(case).filter(|at| is_bank_post(case, *at)).collect();
    let (order, _) = outwards(case, &starts);
    let mut is_listed = vec![false; case.graph.len()];
    for node in &order {
        is_listed[*node] = true;
    }
    let rest = (0..case.graph.len()).filter(|node| !is_listed[*node]);
    order.iter().copied().chain(rest).filter_map(|node| place(case, case.graph.terminal(node))).collect()
}

/// The story of a short circuit at a place; `None` where no direct-current source reaches it.
pub fn fault_story(case: &Case<'_>, at: TerminalRef) -> Option<FaultStory> {
    let place = place(case, at)?;
    let (most, least) = network::fault_currents(case.system, at);
    let currents = Currents { most, least, most_of_all: place.most, least_of_all: place.least };
    let mut story = FaultStory {
        place,
        sources: Vec::new(),
        opens: Vec::new(),
        conductors: Vec::new(),
        dark: Vec::new(),
        still: Vec::new(),
        dangers: Vec::new(),
        notes: Vec::new(),
        because: Vec::new(),
        cite: Vec::new(),
    };
    opening::tell(case, at, &currents, &mut story);
    supply::tell(case, at, &mut story);
    Some(story)
}

/// Currents of one fault; those of the whole stand in where a single one is not known.
struct Currents {
    most: Option<FaultCurrents>,
    least: Option<FaultCurrents>,
    most_of_all: Option<Amps>,
    least_of_all: Option<Amps>,
}

impl Currents {
    /// Largest and smallest current that a device gives or passes.
    fn device(&self, ix: usize) -> (Option<Amps>, Option<Amps>) {
        let of = |known: &Option<FaultCurrents>, all: Option<Amps>| match known {
            Some(known) => known.devices.get(ix).map(|amps| amps.abs()),
            None => all,
        };
        (of(&self.most, self.most_of_all), of(&self.least, self.least_of_all))
    }
    /// Largest and smallest current of a conductor; `None` where the network was not solved.
    fn conductor(&self, ix: ConductorIx) -> (Option<Amps>, Option<Amps>) {
        let of = |known: &Option<FaultCurrents>| Some(known.as_ref()?.conductors.get(ix)?.abs());
        (of(&self.most), of(&self.least))
    }
}

fn place(case: &Case<'_>, at: TerminalRef) -> Option<FaultPlace> {
    let terminal = case.system.terminal(at).filter(|terminal| terminal.pole == Pole::Positive)?;
    let (most, least) = (case.results.most_fault(at), case.results.least_fault(at));
    if most.is_none() && least.is_none() {
        return None;
    }
    let device = case.device(at.device)?;
    Some(FaultPlace {
        place: case.system.terminal_name(at),
        at,
        device: device.id.clone(),
        title: format!("{}, {}", device.title, terminal.name),
        most,
        least,
    })
}

fn terminals<'c>(case: &'c Case<'_>) -> impl Iterator<Item = TerminalRef> + 'c {
    (0..case.graph.len()).map(|node| case.graph.terminal(node))
}

fn is_bank_post(case: &Case<'_>, at: TerminalRef) -> bool {
    case.pole(at) == Some(Pole::Positive)
        && case.device(at.device).is_some_and(|device| matches!(device.spec, Spec::Battery(_)))
}

/// Positive terminals from `starts` on, nearest first, and for each terminal the one before it on the way from there.
fn outwards(case: &Case<'_>, starts: &[TerminalRef]) -> (Vec<Node>, Vec<Option<Node>>) {
    let mut before: Vec<Option<Node>> = vec![None; case.graph.len()];
    let mut seen = vec![false; case.graph.len()];
    let mut order: Vec<Node> = starts.iter().filter_map(|at| case.graph.node(*at)).collect();
    for node in &order {
        seen[*node] = true;
    }
    let mut next = 0;
    while let Some(node) = order.get(next).copied() {
        for edge in case.graph.edges(node) {
            if !seen[edge.to] && case.pole(case.graph.terminal(edge.to)) == Some(Pole::Positive) {
                seen[edge.to] = true;
                before[edge.to] = Some(node);
                order.push(edge.to);
            }
        }
        next += 1;
    }
    (order, before)
}
