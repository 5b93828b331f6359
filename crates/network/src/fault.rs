//! Prospective fault currents: what would flow if two nodes were joined by next to nothing.
//! Never: says whether a fuse can break it (see `rules`); arcs and the fall of battery voltage during the fault are left out.
//! Start at [`fault`] for many places at once, [`fault_detail`] for one place with every source and voltage.

use crate::factor::{Factor, NONE, Pattern};
use crate::netlist::{Kind, Netlist, NodeId};
use crate::solve::{Full, Plan, Solution, SolveError, solve};
use crate::{ElementId, factor};
use quantity::{Amps, Ohms, Volts};

/// Beyond this many entries for each row, extra pairs in the pattern cost more than a walk for each pair.
const FILL_LIMIT: usize = 6;

/// The prospective current of one pair of nodes.
#[derive(Clone, Copy, PartialEq, Debug)]
#[non_exhaustive]
pub struct Fault {
    /// Voltage between the two before the fault, without loads [V].
    pub volts_open: Volts,
    /// Current from the first to the second node [A]; zero between islands, where no circuit closes.
    pub amps: Amps,
    /// Whether both nodes are in one island.
    pub is_closed: bool,
}

/// Prospective current at many pairs of nodes at once: `I = V_open / (Z_thevenin + R_fault)`.
///
/// Every EMF feeds; constant-power loads and fixed currents drawn are removed; resistors stay. Limited
/// sources are taken twice, once as currents at their limit and once as EMFs behind their internal
/// resistance, and the smaller result stands: each alone is never below what a source does that follows both
/// rules, so the value is an upper bound, exact if there is none of them and whenever all of them are driven
/// to their limit or none is. `fault_ohms` >= 0 is the resistance of the fault itself.
///
/// The cost grows like the factor's size plus the number of pairs: entries of the inverse come from selected
/// inversion.
///
/// # Errors
/// As [`solve`], and [`SolveError::OtherNetlist`] for a node that the netlist does not have. A pair of one
/// node with itself has no current; a negative fault resistance counts as 0 Ω.
pub fn fault(
    netlist: &Netlist,
    pairs: &[(NodeId, NodeId)],
    fault_ohms: Ohms,
) -> Result<Vec<Fault>, SolveError> {
    let fault_ohms = fault_ohms.get().max(0.0);
    if pairs.iter().any(|(a, b)| a.index().max(b.index()) >= netlist.node_count()) {
        return Err(SolveError::OtherNetlist);
    }
    let plan = Plan::unordered(netlist)?;
    let mut full = Full::new(&plan, netlist, pairs);
    let rows = full.pattern.len().max(1);
    if full.pattern.value_count() > FILL_LIMIT * rows {
        full = Full::new(&plan, netlist, &[]);
    }
    let has_limited = netlist.elements.iter().any(|e| matches!(e.kind, Kind::Limited { .. }));
    let mut faults = sweep(netlist, &plan, &full, pairs, fault_ohms, false)?;
    if has_limited {
        let at_limit = sweep(netlist, &plan, &full, pairs, fault_ohms, true)?;
        for (fault, other) in faults.iter_mut().zip(at_limit) {
            if other.amps.abs() < fault.amps.abs() {
                fault.amps = other.amps;
            }
        }
    }
    Ok(faults)
}

/// One linear sweep, limited sources as currents (`at_limit`) or as EMFs.
fn sweep(
    netlist: &Netlist,
    plan: &Plan,
    full: &Full,
    pairs: &[(NodeId, NodeId)],
    fault_ohms: f64,
    at_limit: bool,
) -> Result<Vec<Fault>, SolveError> {
    let pattern = &full.pattern;
    let n = pattern.len();
    let mut values = vec![0.0; pattern.value_count() + 1];
    let mut v = vec![0.0; n + 1];
    for (i, e) in netlist.elements.iter().enumerate() {
        let (g, c) = match e.kind {
            Kind::Resistor { ohms } => (1.0 / ohms, 0.0),
            Kind::Emf { volts, ohms } => (1.0 / ohms, volts / ohms),
            // The leak keeps an island regular whose only sources are at their limit: `V/Z` is then the
            // limit.
            Kind::Limited { limit, ohms, .. } if at_limit => (LIMIT_LEAK / ohms, limit),
            Kind::Limited { volts, ohms, .. } => (1.0 / ohms, volts / ohms),
            Kind::Current { amps } if amps < 0.0 && plan.same_island(e.a, e.b) => (0.0, -amps),
            Kind::Current { .. } | Kind::Power { .. } => continue,
        };
        full.stamp(&mut values, i, g);
        v[full.rows[e.a as usize] as usize] += c;
        v[full.rows[e.b as usize] as usize] -= c;
    }
    let mut factor = Factor { values };
    if !factor.factorise(pattern) {
        return Err(SolveError::NotConverged { iterations: 0 });
    }
    factor.solve(pattern, &mut v);
    v[n] = 0.0;
    let inverse = factor.inverse_on_pattern(pattern);
    let mut scratch = vec![0.0; n];
    let mut faults = Vec::with_capacity(pairs.len());
    for &(a, b) in pairs {
        let is_closed = plan.same_island(a.0, b.0);
        let (ra, rb) = (full.rows[a.index()], full.rows[b.index()]);
        let (volts, amps) = if !is_closed || a == b {
            (0.0, 0.0)
        } else {
            let volts = v[ra as usize] - v[rb as usize];
            let row = |r: u32| if r as usize == n { NONE } else { r };
            let ohms = two_point(&factor, pattern, &inverse, &mut scratch, row(ra), row(rb));
            (volts, volts / (ohms + fault_ohms))
        };
        faults.push(Fault { volts_open: Volts::new(volts), amps: Amps::new(amps), is_closed });
    }
    Ok(faults)
}

const LIMIT_LEAK: f64 = 1e-7;

/// Resistance seen between two rows.
fn two_point(factor: &Factor, pattern: &Pattern, z: &[f64], y: &mut [f64], a: u32, b: u32) -> f64 {
    let entry = |i, j| factor::Factor::entry(pattern, z, i, j);
    let from_inverse = match (a, b) {
        (NONE, x) | (x, NONE) => entry(x, x),
        _ => match (entry(a, a), entry(b, b), entry(a, b)) {
            (Some(aa), Some(bb), Some(ab)) => {
                let ohms = aa + bb - 2.0 * ab;
                // Far from the reference the three nearly cancel; the walk adds squares and keeps its digits.
                (ohms > 1e-6 * aa.max(bb)).then_some(ohms)
            }
            _ => None,
        },
    };
    from_inverse.unwrap_or_else(|| factor.two_point(pattern, y, a, b))
}

/// What one source contributes to a fault.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Share {
    /// The EMF, limited source or pushed current.
    pub source: ElementId,
    /// What it delivers during the fault [A]; negative if it is charged by the others.
    pub amps: Amps,
}

/// How [`fault_detail`] treats the fault.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct FaultDetailOptions {
    /// Resistance of the fault itself [Ω]; below 1 nΩ counts as 1 nΩ.
    pub fault_ohms: Ohms,
}

impl Default for FaultDetailOptions {
    fn default() -> Self {
        Self { fault_ohms: Ohms::zero() }
    }
}

/// One fault in full.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct FaultDetail {
    /// Current from the first node to the second [A].
    pub amps: Amps,
    /// Every source, in the order of the netlist.
    pub shares: Vec<Share>,
    /// Voltages and currents everywhere during the fault. Elements keep their ids; removed loads carry
    /// nothing.
    pub during: Solution,
}

/// One fault with the contribution of each source and the voltage everywhere. Limited sources follow both
/// their rules here, so the current can be below that of [`fault`], never above.
///
/// # Errors
/// As [`solve`].
pub fn fault_detail(
    netlist: &Netlist,
    (a, b): (NodeId, NodeId),
    options: FaultDetailOptions,
) -> Result<FaultDetail, SolveError> {
    if a.index().max(b.index()) >= netlist.node_count() {
        return Err(SolveError::OtherNetlist);
    }
    let mut during = netlist.clone();
    for e in &mut during.elements {
        match &mut e.kind {
            Kind::Power { watts, .. } => *watts = 0.0,
            Kind::Current { amps } => *amps = amps.min(0.0),
            _ => {}
        }
    }
    let (island_a, island_b) = {
        let plan = Plan::unordered(&during)?;
        (plan.island_of[a.index()], plan.island_of[b.index()])
    };
    let path = (island_a == island_b && a != b)
        .then(|| during.resistor(a, b, Ohms::new(options.fault_ohms.get().max(1e-9))));
    let solution = solve(&during)?;
    let shares = netlist
        .elements
        .iter()
        .enumerate()
        .filter_map(|(i, e)| {
            let source = ElementId(i as u32);
            match e.kind {
                Kind::Emf { .. } | Kind::Limited { .. } => {
                    Some(Share { source, amps: solution.amps(source) })
                }
                Kind::Current { amps } if amps < 0.0 => Some(Share { source, amps: -solution.amps(source) }),
                _ => None,
            }
        })
        .collect();
    // By the currents that meet at the first node: the voltage across 1 nΩ is too small to read a current
    // from.
    let amps = path.map_or(Amps::zero(), |_| solution.current_into(netlist, a));
    Ok(FaultDetail { amps, shares, during: solution })
}
