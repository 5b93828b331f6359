//! The terminals of a system as a graph: what feeds what, through which protection, along which length.
//! Never: judges. Every search grows with the number of conductors, not with its square.
//! Start at [`Graph::feeds`] for fault current and [`Graph::reach`] for anything else.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use model::{ConductorIx, DeviceIx, Pole, Spec, System, TerminalRef};
use quantity::{Amps, Metres};

use crate::case::protective;

/// A terminal's number in the graph.
pub type Node = usize;

/// What joins two terminals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Via {
    /// A conductor.
    Conductor(ConductorIx),
    /// A device that passes current straight on: fuse, breaker, disconnect, shunt, relay.
    Device(DeviceIx),
}

/// One way out of a terminal.
#[derive(Clone, Copy, Debug)]
pub struct Edge {
    /// Where to.
    pub to: Node,
    /// Through what.
    pub via: Via,
}

/// How one battery, or one bank, reaches every terminal: by the least protected way.
#[derive(Debug)]
pub struct Reach {
    /// The batteries.
    pub sources: Vec<DeviceIx>,
    /// The smallest protective rating on that way; infinite where there is none; `None` where it does not reach.
    width: Vec<Option<f64>>,
    /// The device with that rating.
    limiter: Vec<Option<DeviceIx>>,
    /// The last step of that way.
    last: Vec<Option<Via>>,
    /// Length of conductor since the battery, the last busbar or the last protective device on that way.
    run: Vec<f64>,
    /// Whether that length starts at a battery post.
    at_battery: Vec<bool>,
}

/// How a conductor is fed from one of its ends.
#[derive(Clone, Copy, Debug)]
pub struct Feed {
    /// The end that is fed.
    pub end: TerminalRef,
    /// Index into [`Graph::reaches`].
    pub reach: usize,
    /// Rating of the protection on the way; infinite where there is none.
    pub rating: Amps,
    /// The device with that rating.
    pub limiter: Option<DeviceIx>,
    /// Length of conductor on the way since the last battery, busbar or protective device.
    pub run: Metres,
    /// Whether that length starts at a battery post.
    pub at_battery: bool,
}

/// The graph.
pub struct Graph {
    first: Vec<Node>,
    terminals: Vec<TerminalRef>,
    edges: Vec<Vec<Edge>>,
    reaches: Vec<Reach>,
}

impl Graph {
    pub(crate) fn new(system: &System, at: &[Vec<Vec<ConductorIx>>]) -> Self {
        let mut first = Vec::with_capacity(system.devices.len());
        let mut terminals = Vec::new();
        for (device, data) in system.devices.iter().enumerate() {
            first.push(terminals.len());
            terminals.extend((0..data.terminals.len()).map(|terminal| TerminalRef { device, terminal }));
        }
        let mut graph =
            Self { first, edges: vec![Vec::new(); terminals.len()], terminals, reaches: Vec::new() };
        for (ix, conductor) in system.conductors.iter().enumerate() {
            graph.join(conductor.from, conductor.to, Via::Conductor(ix));
        }
        for (ix, device) in system.devices.iter().enumerate() {
            for (one, other) in passes(&device.spec) {
                let find = |name: &str| {
                    let terminal = device.terminals.iter().position(|terminal| terminal.name == name)?;
                    Some(TerminalRef { device: ix, terminal })
                };
                if let (Some(one), Some(other)) = (find(one), find(other)) {
                    graph.join(one, other, Via::Device(ix));
                }
            }
        }
        let mut groups: Vec<Vec<DeviceIx>> = Vec::new();
        let is_bank = |ix: &DeviceIx| matches!(system.devices[*ix].spec, Spec::Battery(_));
        let bank: Vec<DeviceIx> = (0..system.devices.len()).filter(is_bank).collect();
        if !bank.is_empty() {
            groups.push(bank);
        }
        let starts = |ix: &DeviceIx| matches!(system.devices[*ix].spec, Spec::StartBattery(_));
        groups.extend((0..system.devices.len()).filter(starts).map(|ix| vec![ix]));
        graph.reaches = groups.into_iter().map(|sources| graph.widest(system, at, sources)).collect();
        graph
    }

    fn join(&mut self, one: TerminalRef, other: TerminalRef, via: Via) {
        if let (Some(one), Some(other)) = (self.node(one), self.node(other)) {
            self.edges[one].push(Edge { to: other, via });
            self.edges[other].push(Edge { to: one, via });
        }
    }

    /// How many terminals there are.
    pub fn len(&self) -> usize {
        self.terminals.len()
    }
    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.terminals.is_empty()
    }
    /// The number of a terminal.
    pub fn node(&self, at: TerminalRef) -> Option<Node> {
        let node = self.first.get(at.device)? + at.terminal;
        (self.terminals.get(node) == Some(&at)).then_some(node)
    }
    /// The terminal of a number.
    pub fn terminal(&self, node: Node) -> TerminalRef {
        self.terminals[node]
    }
    /// The ways out of a terminal.
    pub fn edges(&self, node: Node) -> &[Edge] {
        self.edges.get(node).map_or(&[], Vec::as_slice)
    }
    /// The banks and batteries that can feed a fault.
    pub fn reaches(&self) -> &[Reach] {
        &self.reaches
    }

    /// Every terminal that can be reached from `starts` by steps that `may` allows; true where reached, by node.
    pub fn reach(&self, starts: &[TerminalRef], may: impl Fn(Node, &Edge) -> bool) -> Vec<bool> {
        let mut seen = vec![false; self.terminals.len()];
        let mut open: Vec<Node> = starts.iter().filter_map(|at| self.node(*at)).collect();
        for node in &open {
            seen[*node] = true;
        }
        while let Some(node) = open.pop() {
            for edge in &self.edges[node] {
                if !seen[edge.to] && may(node, edge) {
                    seen[edge.to] = true;
                    open.push(edge.to);
                }
            }
        }
        seen
    }

    /// The connected parts among the terminals that `counts` allows, over steps that `may` allows: each terminal's part.
    pub fn parts(&self, counts: impl Fn(Node) -> bool, may: impl Fn(Via) -> bool) -> Vec<Option<usize>> {
        let mut part: Vec<Option<usize>> = vec![None; self.terminals.len()];
        let mut open = Vec::new();
        for start in 0..self.terminals.len() {
            if part[start].is_some() || !counts(start) {
                continue;
            }
            part[start] = Some(start);
            open.push(start);
            while let Some(node) = open.pop() {
                for edge in &self.edges[node] {
                    if part[edge.to].is_none() && counts(edge.to) && may(edge.via) {
                        part[edge.to] = Some(start);
                        open.push(edge.to);
                    }
                }
            }
        }
        part
    }

    /// How batteries feed a conductor: one feed for each bank or battery and each end that is fed other than through it.
    pub fn feeds(&self, system: &System, conductor: ConductorIx) -> Vec<Feed> {
        let Some(data) = system.conductors.get(conductor) else { return Vec::new() };
        let mut feeds = Vec::new();
        for (index, reach) in self.reaches.iter().enumerate() {
            for end in [data.from, data.to] {
                let Some(node) = self.node(end) else { continue };
                let Some(width) = reach.width[node] else { continue };
                if reach.last[node] == Some(Via::Conductor(conductor)) {
                    continue;
                }
                feeds.push(Feed {
                    end,
                    reach: index,
                    rating: Amps::new(width),
                    limiter: reach.limiter[node],
                    run: Metres::new(reach.run[node]),
                    at_battery: reach.at_battery[node],
                });
            }
        }
        feeds
    }

    /// The conductor before a feed on the way from its battery; `None` at the battery itself.
    pub fn before(&self, feed: &Feed) -> Option<ConductorIx> {
        let reach = self.reaches.get(feed.reach)?;
        let mut node = self.node(feed.end)?;
        loop {
            let via = reach.last[node]?;
            if let Via::Conductor(conductor) = via {
                return Some(conductor);
            }
            node = self.edges[node].iter().find(|edge| edge.via == via)?.to;
            if reach.last[node] == Some(via) {
                return None;
            }
        }
    }

    /// The largest protective rating between any battery and a terminal, with the device; infinite without any.
    pub fn protection_of(&self, at: TerminalRef) -> Option<(Amps, Option<DeviceIx>)> {
        let node = self.node(at)?;
        let ways = self.reaches.iter().filter_map(|reach| Some((reach.width[node]?, reach.limiter[node])));
        let widest = ways.max_by(|a, b| a.0.total_cmp(&b.0))?;
        Some((Amps::new(widest.0), widest.1))
    }

    /// Walks on from a conductor, away from the fed end, along a way without branches or busbars, to the first protective
    /// device rated no more than `limit`: that device and the length of conductor up to it.
    pub fn next_protection(
        &self,
        system: &System,
        conductor: ConductorIx,
        fed: TerminalRef,
        limit: Amps,
    ) -> Option<(DeviceIx, Metres)> {
        let data = system.conductors.get(conductor)?;
        let mut length = if data.is_internal { Metres::zero() } else { data.length };
        let mut node = self.node(if data.from == fed { data.to } else { data.from })?;
        let mut came = Via::Conductor(conductor);
        // A way without branches visits no terminal twice.
        for _ in 0..self.terminals.len() {
            if is_bar(system, self.terminals[node].device) {
                return None;
            }
            // Cables to other batteries of the bank lead to sources, not onward.
            let is_battery = |edge: &Edge| {
                matches!(
                    system.devices[self.terminals[edge.to].device].spec,
                    Spec::Battery(_) | Spec::StartBattery(_)
                )
            };
            let mut onward = self.edges[node].iter().filter(|edge| edge.via != came && !is_battery(edge));
            let (edge, None) = (onward.next()?, onward.next()) else { return None };
            match edge.via {
                Via::Conductor(next) => {
                    let next = system.conductors.get(next)?;
                    if !next.is_internal {
                        length += next.length;
                    }
                }
                Via::Device(device) => {
                    if let Some(found) = system.devices.get(device).and_then(protective)
                        && found.rating <= limit
                    {
                        return Some((device, length.max(found.distance)));
                    }
                }
            }
            came = edge.via;
            node = edge.to;
        }
        None
    }

    /// For every terminal the way from `sources` whose smallest protective rating is largest: the way that protects least.
    fn widest(&self, system: &System, at: &[Vec<Vec<ConductorIx>>], sources: Vec<DeviceIx>) -> Reach {
        let count = self.terminals.len();
        let mut reach = Reach {
            sources,
            width: vec![None; count],
            limiter: vec![None; count],
            last: vec![None; count],
            run: vec![0.0; count],
            at_battery: vec![false; count],
        };
        let mut heap = BinaryHeap::new();
        for device in &reach.sources {
            for (terminal, data) in system.devices[*device].terminals.iter().enumerate() {
                if let Some(node) = self.node(TerminalRef { device: *device, terminal })
                    && data.pole == Pole::Positive
                {
                    reach.width[node] = Some(f64::INFINITY);
                    reach.at_battery[node] = true;
                    heap.push(Open { width: f64::INFINITY, run: 0.0, node });
                }
            }
        }
        let mut done = vec![false; count];
        while let Some(Open { width, node, .. }) = heap.pop() {
            if std::mem::replace(&mut done[node], true) {
                continue;
            }
            let here = self.terminals[node];
            let is_bar = is_bar(system, here.device) || at[here.device][here.terminal].len() > 2;
            if is_bar && !reach.sources.contains(&here.device) {
                // Distances count from where current is shared out.
                (reach.run[node], reach.at_battery[node]) = (0.0, false);
            }
            for edge in &self.edges[node] {
                let to = self.terminals[edge.to];
                if done[edge.to] || system.terminal(to).is_none_or(|terminal| terminal.pole != Pole::Positive)
                {
                    continue;
                }
                let mut next = (width, reach.limiter[node], reach.run[node], reach.at_battery[node]);
                match edge.via {
                    Via::Conductor(ix) => {
                        let conductor = &system.conductors[ix];
                        if !conductor.is_internal {
                            next.2 += conductor.length.get();
                        }
                    }
                    Via::Device(ix) => {
                        if let Some(device) = protective(&system.devices[ix]) {
                            if device.rating.get() < width {
                                (next.0, next.1) = (device.rating.get(), Some(ix));
                            }
                            (next.2, next.3) = (0.0, false);
                        }
                    }
                }
                let better = reach.width[edge.to].is_none_or(|known| known < next.0);
                if better {
                    reach.width[edge.to] = Some(next.0);
                    reach.limiter[edge.to] = next.1;
                    reach.last[edge.to] = Some(edge.via);
                    reach.run[edge.to] = next.2;
                    reach.at_battery[edge.to] = next.3;
                    heap.push(Open { width: next.0, run: next.2, node: edge.to });
                }
            }
        }
        reach
    }
}

/// Whether a device shares current out; a bar with one stud is only a joint.
fn is_bar(system: &System, device: DeviceIx) -> bool {
    match &system.devices[device].spec {
        Spec::Busbar(bar) => bar.studs > 1,
        Spec::FusePanel(_) => true,
        _ => false,
    }
}

/// The pairs of terminals that a device joins inside.
fn passes(spec: &Spec) -> &'static [(&'static str, &'static str)] {
    match spec {
        Spec::Fuse(_) => &[("in", "out")],
        Spec::Breaker(_) => &[("in", "out"), ("in-neutral", "out-neutral")],
        Spec::Disconnect(_) => &[("in", "out"), ("in-negative", "out-negative")],
        Spec::Shunt(_) => &[("bank", "system")],
        Spec::Relay(_) => &[("engine", "house")],
        _ => &[],
    }
}

/// A terminal to be visited: widest first, then nearest, then by number so that the order is always the same.
#[derive(PartialEq)]
struct Open {
    width: f64,
    run: f64,
    node: Node,
}

impl Eq for Open {}

impl Ord for Open {
    fn cmp(&self, other: &Self) -> Ordering {
        self.width
            .total_cmp(&other.width)
            .then_with(|| other.run.total_cmp(&self.run))
            .then_with(|| other.node.cmp(&self.node))
    }
}

impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
