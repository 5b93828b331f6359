//! Finds the chains of a network: elements in series between nodes where more than two elements meet.
//! Never: looks at values; a chain stays one whatever its elements are set to.
//! Start at [`Walk::over`]; `fold.rs` solves with what it finds.

use crate::factor::NONE;
use crate::netlist::Netlist;
use crate::solve::{Plan, Tag, tag};

/// Elements in series between two nodes that stay, around at most one that is no resistor.
pub(crate) struct Chain {
    pub(crate) tag: Tag,
    /// Rows of its ends.
    pub(crate) a: u32,
    pub(crate) b: u32,
    pub(crate) slots: [u32; 3],
    /// The element that is no resistor; its first node lies towards `a`.
    pub(crate) main: u32,
    /// Steps from `a` to it, and from `b` to it.
    pub(crate) first: u32,
    pub(crate) middle: u32,
    pub(crate) last: u32,
}

/// A resistor of a chain, on the way inwards from one end.
pub(crate) struct Step {
    pub(crate) element: u32,
    /// The node it leads to; the one past the last node where that needs no voltage.
    pub(crate) node: u32,
    /// Of its own current against the current inwards.
    pub(crate) sign: f64,
}

/// Finds the chains.
pub(crate) struct Walk<'a> {
    netlist: &'a Netlist,
    /// Elements at each node.
    start: Vec<u32>,
    touching: Vec<u32>,
    is_kept: Vec<bool>,
    is_used: Vec<bool>,
    chains: Vec<Chain>,
    steps: Vec<Step>,
}

impl<'a> Walk<'a> {
    /// Chains with nodes for rows, their steps, and which nodes stay.
    pub(crate) fn over(plan: &Plan, netlist: &'a Netlist) -> (Vec<Chain>, Vec<Step>, Vec<bool>) {
        let (n, m) = (netlist.node_count(), netlist.elements.len());
        let mut start = vec![0u32; n + 1];
        for e in &netlist.elements {
            start[e.a as usize + 1] += 1;
            start[e.b as usize + 1] += 1;
        }
        for i in 0..n {
            start[i + 1] += start[i];
        }
        let (mut next, mut touching) = (start.clone(), vec![0; 2 * m]);
        for (i, e) in netlist.elements.iter().enumerate() {
            for node in [e.a as usize, e.b as usize] {
                touching[next[node] as usize] = i as u32;
                next[node] += 1;
            }
        }
        let mut is_kept: Vec<bool> =
            (0..n).map(|node| start[node + 1] - start[node] != 2 || plan.is_reference(node)).collect();
        let mut is_used = vec![false; m];
        for element in &plan.without_return {
            // Its current is zero, as it is in a blank solution.
            let e = &netlist.elements[element.index()];
            is_used[element.index()] = true;
            is_kept[e.a as usize] = true;
            is_kept[e.b as usize] = true;
        }
        let mut open: Vec<u32> = (0..n as u32).filter(|&node| is_kept[node as usize]).collect();
        let (chains, steps) = (Vec::with_capacity(m), Vec::with_capacity(m));
        let mut walk = Self { netlist, start, touching, is_kept, is_used, chains, steps };
        while let Some(node) = open.pop() {
            for at in walk.start[node as usize]..walk.start[node as usize + 1] {
                let element = walk.touching[at as usize];
                if !walk.is_used[element as usize] {
                    open.extend(walk.chain(node, element));
                }
            }
        }
        (walk.chains, walk.steps, walk.is_kept)
    }

    /// Follows a chain from a node that stays; a node that must stay because of it, if there is one.
    fn chain(&mut self, from: u32, element: u32) -> Option<u32> {
        // Elements on the way, each with the node that it leads to.
        let mut way: Vec<(u32, u32)> = Vec::new();
        let mut main = None;
        let mut next = element;
        let mut here = from;
        loop {
            let e = &self.netlist.elements[next as usize];
            if tag(e) != Tag::Resistor {
                if main.is_some() {
                    break;
                }
                main = Some(way.len());
            }
            here = if e.a == here { e.b } else { e.a };
            way.push((next, here));
            if self.is_kept[here as usize] {
                break;
            }
            let at = self.start[here as usize] as usize;
            next = if self.touching[at] == next { self.touching[at + 1] } else { self.touching[at] };
        }
        // A ring that comes back to its start is cut before its last element.
        if here == from {
            way.pop();
            here = way.last().map_or(from, |w| w.1);
            main = main.filter(|&main| main < way.len());
        }
        for &(element, _) in &way {
            self.is_used[element as usize] = true;
        }
        let new = (!self.is_kept[here as usize]).then_some(here);
        self.is_kept[here as usize] = true;
        let main_element = main.map(|at| way[at].0);
        let before = main.unwrap_or(way.len());
        let node_before = |at: usize| if at == 0 { from } else { way[at - 1].1 };
        // Whether the main element points along the way.
        let is_along = main.is_none_or(|at| self.netlist.elements[way[at].0 as usize].a == node_before(at));
        let none = self.netlist.node_count() as u32;
        let step = |at: usize, is_head: bool, to: u32| {
            let (element, node) = way[at];
            let points_along = self.netlist.elements[element as usize].b == node;
            Step { element, node: to, sign: if points_along == is_head { 1.0 } else { -1.0 } }
        };
        let mut head: Vec<Step> = (0..before)
            .map(|at| step(at, true, if at + 1 == way.len() { none } else { way[at].1 }))
            .collect();
        let mut tail: Vec<Step> =
            (before + 1..way.len()).rev().map(|at| step(at, false, node_before(at))).collect();
        let (mut a, mut b) = (from, here);
        if !is_along {
            std::mem::swap(&mut head, &mut tail);
            std::mem::swap(&mut a, &mut b);
        }
        let first = self.steps.len() as u32;
        let middle = first + head.len() as u32;
        self.steps.extend(head);
        self.steps.extend(tail);
        let tag = main_element.map_or(Tag::Resistor, |e| tag(&self.netlist.elements[e as usize]));
        let (main, last) = (main_element.unwrap_or(NONE), self.steps.len() as u32);
        self.chains.push(Chain { tag, a, b, slots: [0; 3], main, first, middle, last });
        new
    }
}
