//! The short way to a steady state: chains of elements in series folded to one element each, so that Newton
//! runs on the few nodes where more than two elements meet.
//! Never: switches a load off or measures a collapse. Where the network may not carry its loads it says so, and
//! the iteration of `newton.rs` on every node decides.
//! Start at [`Fold::solve`].
//!
//! # Method
//! A source or fixed current in series with resistors is one of the same kind. A load of constant power `P` behind
//! `R`, with `V` across both, has `u = (V + s)/2` at its terminals, where `s = √(V² − 4PR)`; its current is `P/u`, and
//! its slope over `V` is `−P/(u·s)`. `P/u` stays convex and falling in `V`, so Newton comes down from above as it does
//! on every node. The full matrix is positive definite exactly where `s` is real and the folded matrix is positive
//! definite (the Schur complement), so a state found here lies on the stable branch there.

use crate::chains::{Chain, Step, Walk};
use crate::factor::{Factor, NONE, Pattern};
use crate::netlist::{Kind, Netlist};
use crate::newton::{Bend, LEAK, ROUNDING, TOLERANCE, stamp};
use crate::solve::{Plan, Regime, Solution, Tag};

/// More steps than this mean sources that change about: the full iteration searches along its steps.
const MOST_ITERATIONS: u32 = 12;

/// Loads between the same two rows: one place in the matrix for them all.
struct Group {
    a: u32,
    b: u32,
    slots: [u32; 3],
    first: usize,
    last: usize,
}

pub(crate) struct Fold {
    pattern: Pattern,
    /// Nodes that stay, with their rows.
    kept: Vec<(u32, u32)>,
    /// Sorted by tag, so that those with loads come last.
    chains: Vec<Chain>,
    steps: Vec<Step>,
    /// How many chains have no load.
    plain: usize,
    groups: Vec<Group>,
}

/// Current of a chain without load: `g·V + c`.
#[derive(Clone, Copy)]
struct Line {
    g: f64,
    c: f64,
}

/// A load behind its chain: twice its power, and `4·P·R`.
#[derive(Clone, Copy)]
struct Load {
    twice: f64,
    drop: f64,
}

impl Load {
    /// Current and `s` at `volts` across the chain; not a number where it cannot be carried.
    fn at(self, volts: f64) -> (f64, f64) {
        let s = (volts * volts - self.drop).sqrt();
        (self.twice / (volts + s), s)
    }
}

impl Fold {
    pub(crate) fn new(plan: &Plan, netlist: &Netlist) -> Self {
        let (chains, steps, is_kept) = Walk::over(plan, netlist);
        let mut unknown = vec![NONE; is_kept.len()];
        let mut count = 0u32;
        for node in 0..is_kept.len() {
            if is_kept[node] && !plan.is_reference(node) {
                unknown[node] = count;
                count += 1;
            }
        }
        let ends = |c: &Chain| (unknown[c.a as usize], unknown[c.b as usize]);
        let fills = |c: &Chain| c.tag != Tag::Current && ends(c).0 != NONE && ends(c).1 != NONE;
        let pairs: Vec<_> = chains.iter().filter(|c| fills(c)).map(ends).collect();
        let (pattern, row_of, slots) = Pattern::new(count as usize, &pairs);
        let row = |node: u32| match unknown[node as usize] {
            NONE => count,
            row => row_of[row as usize],
        };
        let kept = (0..is_kept.len() as u32).filter(|&n| is_kept[n as usize]).map(|n| (n, row(n))).collect();
        let mut slots = slots.into_iter();
        let mut chains: Vec<Chain> = chains
            .into_iter()
            .map(|c| {
                let no_slot = pattern.value_count() as u32;
                let pair = if fills(&c) { slots.next().unwrap_or(no_slot) } else { no_slot };
                let (a, b) = (row(c.a), row(c.b));
                Chain { a, b, slots: [pattern.slot(a), pattern.slot(b), pair], ..c }
            })
            .collect();
        chains.sort_by_key(|c| (c.tag, c.a, c.b));
        let plain = chains.partition_point(|c| c.tag != Tag::Power);
        let mut groups: Vec<Group> = Vec::new();
        for (i, c) in chains[plain..].iter().enumerate() {
            match groups.last_mut().filter(|g| (g.a, g.b) == (c.a, c.b)) {
                Some(group) => group.last = i + 1,
                None => groups.push(Group { a: c.a, b: c.b, slots: c.slots, first: i, last: i + 1 }),
            }
        }
        Self { pattern, kept, chains, steps, plain, groups }
    }

    /// Fills in a blank solution; `false` (and nothing of use in it) where the short way does not lead there.
    pub(crate) fn solve(&self, netlist: &Netlist, solution: &mut Solution) -> bool {
        let rows = self.pattern.len();
        let mut base = vec![0.0; self.pattern.value_count() + 1];
        let (mut lines, mut loads) =
            (Vec::with_capacity(self.plain), Vec::with_capacity(self.chains.len() - self.plain));
        let mut limited = Vec::new();
        let mut highest = 1e-3f64;
        for (at, chain) in self.chains.iter().enumerate() {
            let mut ohms = 0.0;
            for step in &self.steps[chain.first as usize..chain.last as usize] {
                ohms += ohms_of(netlist, step.element);
            }
            let is_fed = || {
                let node = netlist.elements[chain.main as usize].a as usize;
                solution.islands[solution.island_of[node] as usize].has_source
            };
            let (g, c) = match netlist.elements.get(chain.main as usize).map(|e| e.kind) {
                Some(Kind::Power { watts, .. }) => {
                    let watts = if is_fed() { watts } else { 0.0 };
                    loads.push(Load { twice: 2.0 * watts, drop: 4.0 * watts * ohms });
                    continue;
                }
                Some(Kind::Emf { volts, ohms: own }) => {
                    highest = highest.max(volts.abs());
                    let g = 1.0 / (ohms + own);
                    (g, -g * volts)
                }
                Some(Kind::Limited { volts, limit, ohms: own }) => {
                    highest = highest.max(volts.abs());
                    let g = 1.0 / (ohms + own);
                    if limit > 0.0 {
                        limited.push((at, Bend::Limited { volts, limit, g }, g));
                        (0.0, 0.0)
                    } else {
                        (LEAK * g, -LEAK * g * volts)
                    }
                }
                Some(Kind::Current { amps }) => (0.0, if is_fed() { amps } else { 0.0 }),
                Some(Kind::Resistor { .. }) | None => (1.0 / ohms, 0.0),
            };
            if g != 0.0 {
                stamp(&mut base, chain.slots, g);
            }
            lines.push(Line { g, c });
        }
        let mut v = vec![0.0; rows + 1];
        let mut step = vec![0.0; rows + 1];
        let mut factor = Factor { values: base.clone() };
        let (mut last, mut smooth) = (f64::INFINITY, 0);
        for iteration in 0..MOST_ITERATIONS {
            let is_start = iteration == 0;
            factor.values.copy_from_slice(&base);
            step.fill(0.0);
            for (chain, line) in self.chains.iter().zip(&lines) {
                let i = line.g * (v[chain.a as usize] - v[chain.b as usize]) + line.c;
                step[chain.a as usize] -= i;
                step[chain.b as usize] += i;
            }
            for group in &self.groups {
                let volts = if is_start { highest } else { v[group.a as usize] - v[group.b as usize] };
                let (mut amps, mut slope) = (0.0, 0.0);
                for load in &loads[group.first..group.last] {
                    if load.twice > 0.0 {
                        let (i, s) = load.at(volts);
                        amps += i;
                        slope -= i / s;
                    }
                }
                // Written so that "not a number" fails too. At `s` of 0 the slope is infinite.
                if !(slope > f64::NEG_INFINITY && amps >= 0.0) {
                    return false;
                }
                // The first step starts at 0 V and follows the tangents at the highest voltage.
                let amps = if is_start { amps - slope * volts } else { amps };
                stamp(&mut factor.values, group.slots, slope);
                step[group.a as usize] -= amps;
                step[group.b as usize] += amps;
            }
            let mut is_bent = false;
            for (at, bend, slope) in &mut limited {
                let chain = &self.chains[*at];
                let volts = v[chain.a as usize] - v[chain.b as usize];
                let (amps, new) = match *bend {
                    // The first step takes every source as holding its voltage.
                    Bend::Limited { volts, g, .. } if is_start => (-g * volts, g),
                    bend => bend.at(volts, 1.0),
                };
                is_bent |= new != *slope;
                *slope = new;
                stamp(&mut factor.values, chain.slots, new);
                step[chain.a as usize] -= amps;
                step[chain.b as usize] += amps;
            }
            if !factor.factorise(&self.pattern) {
                return false;
            }
            factor.solve(&self.pattern, &mut step);
            step[rows] = 0.0;
            let (mut size, mut largest) = (0.0f64, 1.0f64);
            for (v, d) in v.iter_mut().zip(&step) {
                *v += d;
                size = size.max(d.abs());
                largest = largest.max(v.abs());
            }
            solution.iterations = iteration + 1;
            if is_start {
                continue;
            }
            let relative = size / largest;
            smooth = if is_bent { 0 } else { smooth + 1 };
            // As in `newton.rs`: a step that Newton would make this small need not be made.
            let next = if smooth > 1 { relative * (relative / last).powi(2) } else { relative };
            let is_stuck = iteration > 3 && relative < ROUNDING && relative > 0.5 * last;
            last = relative;
            if relative.min(next) <= TOLERANCE || is_stuck {
                let holds = limited.iter().all(|&(at, bend, slope)| {
                    let chain = &self.chains[at];
                    bend.at(v[chain.a as usize] - v[chain.b as usize], 1.0).1 == slope
                });
                if holds {
                    // Above that, only a leak carries a current; `newton.rs` tells it.
                    let far = 1e4 * highest.max(1.0);
                    return v.iter().all(|v| v.abs() <= far)
                        && self.unfold(netlist, &v, &lines, &loads, solution);
                }
            }
        }
        false
    }

    /// Voltages and currents along every chain; `false` if a load is below its cutoff.
    fn unfold(
        &self,
        netlist: &Netlist,
        v: &[f64],
        lines: &[Line],
        loads: &[Load],
        solution: &mut Solution,
    ) -> bool {
        let nodes = solution.volts.len();
        // One more, for steps that lead to no node of their own.
        solution.volts.push(0.0);
        for &(node, row) in &self.kept {
            solution.volts[node as usize] = v[row as usize];
        }
        for (at, chain) in self.chains.iter().enumerate() {
            let (va, vb) = (v[chain.a as usize], v[chain.b as usize]);
            let volts = va - vb;
            let mut amps = match (lines.get(at), loads.get(at.wrapping_sub(self.plain))) {
                (Some(line), _) => line.g * volts + line.c,
                (None, Some(load)) if load.twice > 0.0 => load.at(volts).0,
                _ => 0.0,
            };
            match netlist.elements.get(chain.main as usize).map(|e| e.kind) {
                Some(Kind::Emf { ohms: own, .. }) => {
                    solution.amps[chain.main as usize] = -amps;
                    solution.loss[chain.main as usize] = amps * amps * own;
                }
                Some(Kind::Limited { volts: set, limit, ohms: own }) => {
                    let mut ohms = own;
                    for step in &self.steps[chain.first as usize..chain.last as usize] {
                        ohms += ohms_of(netlist, step.element);
                    }
                    let wanted = (set - volts) / ohms;
                    amps = -wanted.clamp(0.0, limit);
                    solution.amps[chain.main as usize] = -amps;
                    solution.regimes[chain.main as usize] = Some(if wanted > limit {
                        Regime::AtLimit
                    } else if wanted < 0.0 {
                        Regime::Idle
                    } else {
                        Regime::Regulating
                    });
                }
                Some(Kind::Power { .. } | Kind::Current { .. }) => solution.amps[chain.main as usize] = amps,
                Some(Kind::Resistor { .. }) | None => {}
            }
            let (first, middle, last) = (chain.first as usize, chain.middle as usize, chain.last as usize);
            let mut along = |steps: &[Step], mut here: f64, amps: f64| {
                for step in steps {
                    let drop = amps * ohms_of(netlist, step.element);
                    here -= drop;
                    solution.amps[step.element as usize] = step.sign * amps;
                    solution.loss[step.element as usize] = drop * amps;
                    solution.volts[step.node as usize] = here;
                }
                here
            };
            let plus = along(&self.steps[first..middle], va, amps);
            let minus = along(&self.steps[middle..last], vb, -amps);
            if let Some(Kind::Power { cutoff: Some((floor, _)), watts }) =
                netlist.elements.get(chain.main as usize).map(|e| e.kind)
                && amps > 0.0
                && watts > 0.0
                && plus - minus < floor
            {
                return false;
            }
        }
        solution.volts.truncate(nodes);
        true
    }
}

fn ohms_of(netlist: &Netlist, element: u32) -> f64 {
    match netlist.elements[element as usize].kind {
        Kind::Resistor { ohms } => ohms,
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::BelowCutoff;
    use quantity::{Amps, Ohms, Volts, Watts};

    /// Networks of every kind of element, some too weak for their loads: the short way gives what the full
    /// iteration gives, and never claims a state where that finds a collapse.
    #[test]
    fn the_short_way_agrees_with_the_full_one() {
        let (mut short, mut collapsed) = (0, 0);
        for seed in 0..400u64 {
            let mut dice = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
            let mut roll = |low: f64, high: f64| {
                dice = dice.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
                low + (high - low) * (dice >> 11) as f64 / (1u64 << 53) as f64
            };
            let mut net = Netlist::new();
            let mut pairs = vec![(net.node("plus"), net.node("minus"))];
            net.emf(pairs[0].0, pairs[0].1, Volts::new(12.9), Ohms::new(0.003));
            let watts = if seed % 4 == 0 { 400.0 } else { 20.0 };
            for _ in 0..4 + seed % 40 {
                let (mut p, mut n) = pairs[roll(0.0, pairs.len() as f64) as usize];
                for _ in 0..1 + roll(0.0, 3.0) as usize {
                    let (q, m) = (net.node(""), net.node(""));
                    net.resistor(q, p, Ohms::new(roll(0.001, 0.02)));
                    net.resistor(n, m, Ohms::new(roll(0.001, 0.02)));
                    (p, n) = (q, m);
                }
                let watts = Watts::new(roll(1.0, watts));
                let cutoff = Some((Volts::new(11.8), BelowCutoff::ConstantCurrent));
                match roll(0.0, 6.0) as usize {
                    0 => net.current(p, n, Amps::new(roll(0.1, 2.0))),
                    1 => net.current(n, p, Amps::new(roll(-2.0, -0.1))),
                    2 => net.resistor(n, p, Ohms::new(roll(5.0, 80.0))),
                    3 => net.limited_source(
                        p,
                        n,
                        Volts::new(roll(12.0, 14.6)),
                        Amps::new(9.0),
                        Ohms::new(0.02),
                    ),
                    4 => net.constant_power(p, n, watts, cutoff),
                    _ => net.constant_power(p, n, watts, None),
                };
                if roll(0.0, 3.0) < 1.0 {
                    pairs.push((p, n));
                }
            }
            let plan = Plan::new(&net).unwrap();
            let full = plan.solve_in_full(&net).unwrap();
            let mut folded = plan.blank(&net);
            let holds = plan.fold(&net).solve(&net, &mut folded);
            if !full.converged() {
                assert!(!holds, "seed {seed}: claims a state where there is none");
                collapsed += 1;
            } else if holds {
                let near = |x: &[f64], y: &[f64]| x.iter().zip(y).all(|(x, y)| (x - y).abs() < 1e-6);
                assert!(near(&folded.volts, &full.volts), "seed {seed}: volts");
                assert!(near(&folded.amps, &full.amps), "seed {seed}: amps");
                assert!(near(&folded.loss, &full.loss), "seed {seed}: losses");
                assert_eq!(folded.regimes, full.regimes, "seed {seed}");
                short += 1;
            }
        }
        assert!(short > 200 && collapsed > 20, "{short} {collapsed}");
    }
}
