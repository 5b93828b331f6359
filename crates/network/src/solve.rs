//! Steady state: the voltage of every node and the current of every element, constant-power loads and limited
//! sources included.
//! Never: decides whether a voltage or current is acceptable; a network that cannot carry its loads is a value, not an error.
//! Start at [`solve`]; [`Plan`] keeps the analysed pattern for solving the same network at many loads. The short way is in `fold.rs`, the iteration and its grounds are in `newton.rs`.

use crate::factor::{NONE, Pattern};
use crate::fold::Fold;
use crate::netlist::{Element, ElementId, Kind, Netlist, NodeId};
use crate::newton::{Bend, State, stamp};
use quantity::{Amps, Fraction, Volts, Watts};
use std::sync::{Arc, OnceLock};

/// Why a netlist could not be solved at all.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SolveError {
    /// A value of an element makes no sense.
    #[error("element {} between '{from}' and '{to}': {what}", element.index())]
    Value {
        /// The element.
        element: ElementId,
        /// Name of its first node.
        from: String,
        /// Name of its second node.
        to: String,
        /// What is wrong and what would be accepted.
        what: &'static str,
    },
    /// A plan or a node was made for a netlist with other nodes or elements.
    #[error("a plan or node belongs to a netlist with other nodes or connections; make it from this one")]
    OtherNetlist,
    /// The numbers lie too far apart for double precision, or no steady state was found.
    #[error(
        "no steady state found after {iterations} iterations; look for resistances that differ by more than 1e12 \
         or limited sources that work against each other"
    )]
    NotConverged {
        /// Iterations made.
        iterations: u32,
    },
}

/// Nodes joined by anything that conducts.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub struct Island {
    /// The node at 0 V: the netlist's reference if it lies here, else the lowest-index node of the island.
    pub reference: NodeId,
    /// Whether `reference` was declared; if not, the island floats and its voltages are meaningful only among
    /// themselves.
    pub is_declared: bool,
    /// How many nodes it has.
    pub node_count: usize,
    /// Whether any source (a limited source with limit 0 is none) lies in it.
    pub has_source: bool,
    /// Whether any load lies in it. With `has_source` false its loads draw nothing.
    pub has_load: bool,
    /// Whether its fixed currents ask for more than its limited sources deliver; its voltages then mean
    /// nothing.
    pub is_overdrawn: bool,
}

/// What a limited source is doing.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Regime {
    /// The network is above its voltage: it delivers nothing.
    Idle,
    /// It holds its voltage.
    Regulating,
    /// It delivers its limit.
    AtLimit,
}

/// The constant-power loads ask for more than the network can carry.
#[derive(Clone, Copy, PartialEq, Debug)]
#[non_exhaustive]
pub struct Collapse {
    /// The load whose voltage fell furthest, relative to its voltage without constant-power loads.
    pub load: ElementId,
    /// What it asks for.
    pub asked: Watts,
    /// The most it could be given while the others draw what they ask; zero if they alone are too much.
    pub most: Watts,
    /// The largest share of all constant-power loads, scaled together, that the network carries.
    pub share_of_all: Fraction,
}

/// A steady state. Its methods take nodes and elements of the netlist that was solved, and panic on others.
#[derive(Clone, Debug)]
pub struct Solution {
    pub(crate) volts: Vec<f64>,
    pub(crate) amps: Vec<f64>,
    pub(crate) loss: Vec<f64>,
    pub(crate) regimes: Vec<Option<Regime>>,
    pub(crate) island_of: Arc<[u32]>,
    pub(crate) islands: Vec<Island>,
    stopped: Vec<ElementId>,
    without_return: Vec<ElementId>,
    collapse: Option<Collapse>,
    pub(crate) iterations: u32,
}

impl Solution {
    /// Voltage of a node against its island's reference [V].
    pub fn volts(&self, node: NodeId) -> Volts {
        Volts::new(self.volts[node.index()])
    }
    /// Voltage between two nodes of one island [V].
    pub fn volts_between(&self, plus: NodeId, minus: NodeId) -> Volts {
        Volts::new(self.volts[plus.index()] - self.volts[minus.index()])
    }
    /// Current of an element [A], positive as its method on [`Netlist`] says: through resistors and loads
    /// from the first node to the second, out of the plus of sources.
    pub fn amps(&self, element: ElementId) -> Amps {
        Amps::new(self.amps[element.index()])
    }
    /// Heat in a resistor, or in the internal resistance of an EMF [W]; zero for other elements.
    pub fn loss(&self, element: ElementId) -> Watts {
        Watts::new(self.loss[element.index()])
    }
    /// Sum of all losses [W].
    pub fn loss_total(&self) -> Watts {
        Watts::new(self.loss.iter().sum())
    }
    /// Sum of the currents that the elements of `netlist` bring to a node [A].
    pub(crate) fn current_into(&self, netlist: &Netlist, node: NodeId) -> Amps {
        let mut sum = 0.0;
        for (e, &amps) in netlist.elements.iter().zip(&self.amps) {
            let along = match e.kind {
                Kind::Emf { .. } | Kind::Limited { .. } => -amps,
                _ => amps,
            };
            if e.b == node.0 {
                sum += along;
            } else if e.a == node.0 {
                sum -= along;
            }
        }
        Amps::new(sum)
    }
    /// What a limited source is doing; `None` for other elements.
    pub fn regime(&self, element: ElementId) -> Option<Regime> {
        self.regimes[element.index()]
    }
    /// The islands, by lowest node.
    pub fn islands(&self) -> &[Island] {
        &self.islands
    }
    /// The island of a node.
    pub fn island_of(&self, node: NodeId) -> &Island {
        &self.islands[self.island_of[node.index()] as usize]
    }
    /// Loads that switched off below their cutoff, in the order in which they did.
    pub fn stopped(&self) -> &[ElementId] {
        &self.stopped
    }
    /// Loads and fixed currents whose two ends lie in different islands: their current has no way back, and
    /// is taken as zero.
    pub fn without_return(&self) -> &[ElementId] {
        &self.without_return
    }
    /// Whether every load got what it asks for (those in [`Solution::stopped`] apart).
    pub fn converged(&self) -> bool {
        self.collapse.is_none()
    }
    /// If the constant-power loads are too much: which and by how much. Voltages and currents are then those
    /// at [`Collapse::share_of_all`] of all constant-power loads, the last state that the network can hold.
    pub fn collapse(&self) -> Option<Collapse> {
        self.collapse
    }
    /// Newton iterations in all.
    pub fn iterations(&self) -> u32 {
        self.iterations
    }
}

/// Solves a network. For many solves of one network, use a [`Plan`].
///
/// # Errors
/// [`SolveError::Value`] for values that make no sense; [`SolveError::NotConverged`] if the numbers defeat
/// double precision. Loads too large for the network are not an error: see [`Solution::collapse`].
pub fn solve(netlist: &Netlist) -> Result<Solution, SolveError> {
    Plan::new(netlist)?.solve(netlist)
}

/// A network's connections, ordered and analysed, for solving it at many values.
pub struct Plan {
    ends: Vec<(u32, u32, Tag)>,
    pub(crate) island_of: Arc<[u32]>,
    islands: Vec<Island>,
    pub(crate) without_return: Vec<ElementId>,
    fold: OnceLock<Fold>,
    full: OnceLock<Full>,
}

/// The matrix of every unknown node; most networks are solved without it (see `fold.rs`).
pub(crate) struct Full {
    pub(crate) pattern: Pattern,
    /// Row of each node; the extra row `pattern.len()` for references, whose voltage is 0.
    pub(crate) rows: Vec<u32>,
    /// Slots of each element: diagonals of its ends and their pair; the extra slot `value_count` for none.
    pub(crate) stamps: Vec<[u32; 3]>,
}

pub(crate) fn checked(netlist: &Netlist) -> Result<(), SolveError> {
    netlist.check().map_err(|(element, what)| {
        let name = |end: Option<NodeId>| end.map_or(String::new(), |n| netlist.name(n).to_owned());
        let ends = netlist.ends(element);
        SolveError::Value { element, from: name(ends.map(|e| e.0)), to: name(ends.map(|e| e.1)), what }
    })
}

/// What of an element's kind a plan relies on. An EMF and a limited source may take each other's place.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Tag {
    Resistor,
    Source,
    Current,
    Power,
}

pub(crate) fn tag(element: &Element) -> Tag {
    match element.kind {
        Kind::Resistor { .. } => Tag::Resistor,
        Kind::Emf { .. } | Kind::Limited { .. } => Tag::Source,
        Kind::Power { .. } => Tag::Power,
        Kind::Current { .. } => Tag::Current,
    }
}

impl Plan {
    /// Analyses a network.
    ///
    /// # Errors
    /// [`SolveError::Value`] for values that make no sense.
    pub fn new(netlist: &Netlist) -> Result<Self, SolveError> {
        let plan = Self::unordered(netlist)?;
        plan.fold(netlist);
        Ok(plan)
    }

    /// As `new`, with its orderings left until they are asked for.
    pub(crate) fn unordered(netlist: &Netlist) -> Result<Self, SolveError> {
        checked(netlist)?;
        let (island_of, islands) = islands(netlist);
        let ends = netlist.elements.iter().map(|e| (e.a, e.b, tag(e))).collect();
        let without_return = (netlist.elements.iter().enumerate())
            .filter(|(_, e)| island_of[e.a as usize] != island_of[e.b as usize])
            .map(|(i, _)| ElementId(i as u32))
            .collect();
        let island_of = island_of.into();
        Ok(Self { ends, island_of, islands, without_return, fold: OnceLock::new(), full: OnceLock::new() })
    }

    pub(crate) fn fold(&self, netlist: &Netlist) -> &Fold {
        self.fold.get_or_init(|| Fold::new(self, netlist))
    }

    pub(crate) fn full(&self, netlist: &Netlist) -> &Full {
        self.full.get_or_init(|| Full::new(self, netlist, &[]))
    }

    pub(crate) fn is_reference(&self, node: usize) -> bool {
        self.islands[self.island_of[node] as usize].reference.index() == node
    }

    pub(crate) fn same_island(&self, a: u32, b: u32) -> bool {
        self.island_of[a as usize] == self.island_of[b as usize]
    }

    /// The islands, with what feeds and loads them at the netlist's values.
    fn islands_at(&self, netlist: &Netlist) -> Vec<Island> {
        let mut islands = self.islands.clone();
        for (i, e) in netlist.elements.iter().enumerate() {
            let island = &mut islands[self.island_of[e.a as usize] as usize];
            match e.kind {
                Kind::Resistor { .. } => {}
                Kind::Emf { .. } => island.has_source = true,
                Kind::Limited { limit, .. } => island.has_source |= limit > 0.0,
                Kind::Power { .. } => island.has_load = true,
                Kind::Current { amps } if amps < 0.0 => {
                    island.has_source |= !self.without_return.contains(&ElementId(i as u32));
                }
                Kind::Current { .. } => island.has_load = true,
            }
        }
        islands
    }

    /// Solves the network at the values that the netlist has now.
    ///
    /// # Errors
    /// As [`solve`]; and [`SolveError::OtherNetlist`] if nodes or connections are not those of the plan.
    pub fn solve(&self, netlist: &Netlist) -> Result<Solution, SolveError> {
        checked(netlist)?;
        let same = netlist.elements.len() == self.ends.len()
            && netlist.node_count() == self.island_of.len()
            && netlist.elements.iter().zip(&self.ends).all(|(e, &end)| (e.a, e.b, tag(e)) == end);
        if !same {
            return Err(SolveError::OtherNetlist);
        }
        // Most networks carry their loads: try the short way first.
        let mut solution = self.blank(netlist);
        if self.fold(netlist).solve(netlist, &mut solution) {
            return Ok(solution);
        }
        self.solve_in_full(netlist)
    }

    /// As `solve`, without the short way.
    pub(crate) fn solve_in_full(&self, netlist: &Netlist) -> Result<Solution, SolveError> {
        let blank = self.blank(netlist);
        let mut state = State::new(self, netlist, blank.islands.clone());
        let collapse = state.run()?;
        Ok(state.solution(netlist, collapse, blank))
    }

    /// A solution with everything at zero.
    pub(crate) fn blank(&self, netlist: &Netlist) -> Solution {
        let m = netlist.elements.len();
        Solution {
            volts: vec![0.0; netlist.node_count()],
            amps: vec![0.0; m],
            loss: vec![0.0; m],
            regimes: vec![None; m],
            island_of: self.island_of.clone(),
            islands: self.islands_at(netlist),
            stopped: Vec::new(),
            without_return: self.without_return.clone(),
            collapse: None,
            iterations: 0,
        }
    }
}

impl Full {
    /// With `extra` pairs of nodes whose entry of the inverse will be asked for.
    pub(crate) fn new(plan: &Plan, netlist: &Netlist, extra: &[(NodeId, NodeId)]) -> Self {
        let mut unknown = vec![NONE; netlist.node_count()];
        let mut count = 0u32;
        for (node, unknown) in unknown.iter_mut().enumerate() {
            if !plan.is_reference(node) {
                *unknown = count;
                count += 1;
            }
        }
        let mut pairs = Vec::with_capacity(netlist.elements.len() + extra.len());
        let mut pair_of = vec![NONE; netlist.elements.len()];
        for (i, e) in netlist.elements.iter().enumerate() {
            let (a, b) = (unknown[e.a as usize], unknown[e.b as usize]);
            if plan.same_island(e.a, e.b) && tag(e) != Tag::Current && a != NONE && b != NONE {
                pair_of[i] = pairs.len() as u32;
                pairs.push((a, b));
            }
        }
        for &(a, b) in extra {
            let (a, b) = (unknown[a.index()], unknown[b.index()]);
            if a != NONE && b != NONE && a != b {
                pairs.push((a, b));
            }
        }
        let (pattern, row_of, slots) = Pattern::new(count as usize, &pairs);
        let rows: Vec<u32> =
            unknown.iter().map(|&u| if u == NONE { count } else { row_of[u as usize] }).collect();
        let no_slot = pattern.value_count() as u32;
        let mut stamps = Vec::with_capacity(netlist.elements.len());
        for (e, &pair) in netlist.elements.iter().zip(&pair_of) {
            let pair = if pair == NONE { no_slot } else { slots[pair as usize] };
            stamps.push([pattern.slot(rows[e.a as usize]), pattern.slot(rows[e.b as usize]), pair]);
        }
        Self { pattern, rows, stamps }
    }

    /// Adds a conductance at an element's place in the matrix.
    pub(crate) fn stamp(&self, values: &mut [f64], element: usize, g: f64) {
        stamp(values, self.stamps[element], g);
    }
}

/// Groups nodes joined by conducting elements.
fn islands(netlist: &Netlist) -> (Vec<u32>, Vec<Island>) {
    let n = netlist.node_count();
    let mut root: Vec<u32> = (0..n as u32).collect();
    fn find(root: &mut [u32], mut i: u32) -> u32 {
        while root[i as usize] != i {
            root[i as usize] = root[root[i as usize] as usize];
            i = root[i as usize];
        }
        i
    }
    for e in &netlist.elements {
        if matches!(tag(e), Tag::Resistor | Tag::Source) {
            let (a, b) = (find(&mut root, e.a), find(&mut root, e.b));
            // The lower index wins, so that a root is its island's first node.
            root[a.max(b) as usize] = a.min(b);
        }
    }
    let mut island_of = vec![NONE; n];
    let mut islands: Vec<Island> = Vec::new();
    for node in 0..n {
        let first = find(&mut root, node as u32) as usize;
        if first == node {
            island_of[node] = islands.len() as u32;
            islands.push(Island {
                reference: NodeId(node as u32),
                is_declared: false,
                node_count: 0,
                has_source: false,
                has_load: false,
                is_overdrawn: false,
            });
        }
        island_of[node] = island_of[first];
        islands[island_of[node] as usize].node_count += 1;
    }
    if let Some(reference) = netlist.reference
        && let Some(&island) = island_of.get(reference.index())
    {
        islands[island as usize].reference = reference;
        islands[island as usize].is_declared = true;
    }
    (island_of, islands)
}

impl State<'_> {
    fn solution(mut self, netlist: &Netlist, collapse: Option<Collapse>, blank: Solution) -> Solution {
        let share = collapse.map_or(1.0, |c| c.share_of_all.get());
        let volts: Vec<f64> = self.full.rows.iter().map(|&r| self.v[r as usize]).collect();
        let Solution { mut amps, mut loss, mut regimes, .. } = blank;
        let highest = self.highest.max(1.0);
        for (i, e) in netlist.elements.iter().enumerate() {
            let u = volts[e.a as usize] - volts[e.b as usize];
            match e.kind {
                Kind::Resistor { ohms } => {
                    amps[i] = u / ohms;
                    loss[i] = u * amps[i];
                }
                Kind::Emf { volts, ohms } => {
                    amps[i] = (volts - u) / ohms;
                    loss[i] = amps[i] * amps[i] * ohms;
                }
                Kind::Current { amps: drawn } => {
                    let (from, to) = (self.plan.island_of[e.a as usize], self.plan.island_of[e.b as usize]);
                    if from == to && self.islands[from as usize].has_source {
                        amps[i] = drawn;
                    }
                }
                Kind::Limited { volts, limit, ohms } => {
                    let wanted = (volts - u) / ohms;
                    amps[i] = wanted.clamp(0.0, limit);
                    regimes[i] = Some(if wanted > limit {
                        Regime::AtLimit
                    } else if wanted < 0.0 {
                        Regime::Idle
                    } else {
                        Regime::Regulating
                    });
                }
                Kind::Power { .. } => {}
            }
        }
        for bent in self.bent.iter().filter(|b| !b.off && matches!(b.bend, Bend::Power { .. })) {
            amps[bent.element as usize] = bent.bend.at(self.across(bent), share).0;
        }
        for (&v, &island) in volts.iter().zip(&*self.plan.island_of) {
            // Only a current that nothing but a leak can carry makes a voltage so far above every source.
            if v.abs() > 1e4 * highest && self.has_limited {
                self.islands[island as usize].is_overdrawn = true;
            }
        }
        Solution {
            volts,
            amps,
            loss,
            regimes,
            islands: self.islands,
            stopped: self.stopped,
            collapse,
            iterations: self.iterations,
            island_of: blank.island_of,
            without_return: blank.without_return,
        }
    }
}
