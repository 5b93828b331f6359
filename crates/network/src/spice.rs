//! The netlist as a SPICE deck, for checks against a circuit simulator and for export.
//! Never: runs anything; control lines are the caller's.
//! Start at [`to_spice`].

use crate::netlist::{BelowCutoff, Kind, Netlist, NodeId};
use crate::solve::Solution;
use std::collections::BTreeSet;
use std::fmt::Write;

/// The network as the lines of a SPICE deck, title first, without control lines or `.end`.
///
/// Node `k` is written `nk`, the reference (declared, or the first node) `0`. A source is a voltage source
/// `vk` behind `rk`; a constant-power load and a limited source are behavioural current sources `bk` whose
/// current counts from the first node to the second through the element. An element without a cutoff has none
/// here either, so give the simulator a starting point (`.nodeset` lines are included for that). An element
/// that is part of a floating island leaves the deck singular: SPICE needs one reference.
pub fn to_spice(netlist: &Netlist) -> String {
    write(netlist, None)
}

/// As [`to_spice`], from a solution: the simulator starts at our voltages and cannot fall onto the second solution that a
/// constant-power load without a cutoff has at a low voltage, since below half of our voltage its current is held.
pub fn to_spice_at(netlist: &Netlist, solution: &Solution) -> String {
    write(netlist, Some(solution))
}

fn write(netlist: &Netlist, solution: Option<&Solution>) -> String {
    let reference = netlist.reference.map_or(0, |node| node.0);
    let node = |k: u32| if k == reference { "0".to_owned() } else { format!("n{k}") };
    let mut deck = String::from("* network\n");
    let mut highest = 0.0f64;
    for e in &netlist.elements {
        if let Kind::Emf { volts, .. } | Kind::Limited { volts, .. } = e.kind {
            highest = highest.max(volts);
        }
    }
    let volts = |k: u32| solution.map(|solution| solution.volts(NodeId(k)).get());
    let start = |k: u32| match solution {
        // Every node gets its own below.
        Some(_) => String::new(),
        None if k == reference => String::new(),
        None => format!(".nodeset v({})={highest:e}\n", node(k)),
    };
    // Writing into a String cannot fail.
    for (k, e) in netlist.elements.iter().enumerate() {
        let (a, b) = (node(e.a), node(e.b));
        let _ = match e.kind {
            Kind::Resistor { ohms } => writeln!(deck, "r{k} {a} {b} {ohms:e}"),
            Kind::Emf { volts, ohms } => writeln!(deck, "v{k} s{k} {b} dc {volts:e}\nr{k} s{k} {a} {ohms:e}"),
            Kind::Current { amps } => writeln!(deck, "i{k} {a} {b} dc {amps:e}"),
            Kind::Power { watts, cutoff } => match cutoff {
                None => match volts(e.a).zip(volts(e.b)) {
                    Some((plus, minus)) => {
                        let held = 0.5 * (plus - minus);
                        writeln!(deck, "b{k} {a} {b} i={watts:e}/max(v({a},{b}),{held:e})")
                    }
                    None => write!(deck, "b{k} {a} {b} i={watts:e}/v({a},{b})\n{}", start(e.a)),
                },
                Some((volts, BelowCutoff::ConstantCurrent)) => {
                    write!(deck, "b{k} {a} {b} i={watts:e}/max(v({a},{b}),{volts:e})\n{}", start(e.a))
                }
                Some((volts, BelowCutoff::Stops)) => write!(
                    deck,
                    "b{k} {a} {b} i=v({a},{b})<{volts:e} ? 0 : {watts:e}/v({a},{b})\n{}",
                    start(e.a)
                ),
            },
            Kind::Limited { volts, limit, ohms } => {
                write!(
                    deck,
                    "b{k} {b} {a} i=max(0,min({limit:e},({volts:e}-v({a},{b}))/{ohms:e}))\n{}",
                    start(e.a)
                )
            }
        };
    }
    if solution.is_some() {
        let used: BTreeSet<u32> = netlist.elements.iter().flat_map(|e| [e.a, e.b]).collect();
        for k in used.into_iter().filter(|k| *k != reference) {
            if let Some(volts) = volts(k) {
                let _ = writeln!(deck, ".nodeset v({})={volts:e}", node(k));
            }
        }
    }
    deck
}
