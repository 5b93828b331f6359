//! Prospective fault currents: many at once against one-by-one solves, against a simulator, and against
//! closed forms.
#![allow(clippy::unwrap_used)] // A test may stop at what it did not expect.

mod common;

use common::{Dice, simulate};
use network::{FaultDetailOptions, Netlist, NodeId, fault, fault_detail, to_spice};
use quantity::{Amps, Ohms, Volts, Watts};

/// Tree of two-pole branches with some ring links and a second bank; returns the pairs of terminals too.
fn network(seed: u64, branches: usize, with_charger: bool) -> (Netlist, Vec<(NodeId, NodeId)>) {
    let mut dice = Dice(seed);
    let mut net = Netlist::new();
    let (zero, plus) = (net.node("minus"), net.node("plus"));
    net.set_reference(zero);
    net.emf(plus, zero, Volts::new(13.3), Ohms::new(0.002));
    let mut pairs = vec![(plus, zero)];
    for k in 0..branches {
        let (p0, n0) = pairs[dice.below(pairs.len())];
        let (p, n) = (net.node("p"), net.node("n"));
        net.resistor(p0, p, Ohms::new(dice.between(0.0003, 0.02)));
        net.resistor(n0, n, Ohms::new(dice.between(0.0003, 0.02)));
        net.constant_power(p, n, Watts::new(5.0), None);
        if k % 9 == 4 {
            let (q, m) = pairs[dice.below(pairs.len())];
            net.resistor(p, q, Ohms::new(0.05));
            net.resistor(n, m, Ohms::new(0.05));
        }
        if k % 20 == 7 {
            net.emf(p, n, Volts::new(13.0), Ohms::new(0.01));
        }
        if with_charger && k % 15 == 3 {
            net.limited_source(p, n, Volts::new(14.4), Amps::new(30.0), Ohms::new(0.02));
        }
        pairs.push((p, n));
    }
    (net, pairs)
}

#[test]
fn many_at_once_equal_one_by_one() {
    let (net, mut pairs) = network(5, 60, false);
    // Pairs that no element joins: positive to positive, and far apart.
    for i in 0..30 {
        pairs.push((pairs[i].0, pairs[60 - i].0));
        pairs.push((pairs[i].0, pairs[59 - i].1));
    }
    for path in [0.0, 1e-4] {
        let all = fault(&net, &pairs, Ohms::new(path)).unwrap();
        for (&(a, b), fault) in pairs.iter().zip(&all) {
            let one = fault_detail(&net, (a, b), FaultDetailOptions { fault_ohms: Ohms::new(path) }).unwrap();
            let (got, expected) = (fault.amps.get(), one.amps.get());
            // The detail's fault is a 1 nΩ resistor where the path is bolted: parts in 1e6 of the least loop
            // of 2 mΩ.
            assert!(
                (got - expected).abs() <= 2e-6 * expected.abs() + 1e-6,
                "{a:?}-{b:?}: {got} against {expected}"
            );
        }
    }
}

#[test]
fn walk_and_inverse_give_the_same() {
    // 600 random pairs would fill the factor, so they take the walk; each alone takes the inverse.
    let (net, pairs) = network(11, 150, false);
    let mut dice = Dice(3);
    let many: Vec<_> =
        (0..600).map(|_| (pairs[dice.below(pairs.len())].0, pairs[dice.below(pairs.len())].1)).collect();
    let all = fault(&net, &many, Ohms::zero()).unwrap();
    for (pair, fault_of_many) in many.iter().zip(&all).step_by(29) {
        let one = fault(&net, &[*pair], Ohms::zero()).unwrap()[0];
        let (got, expected) = (fault_of_many.amps.get(), one.amps.get());
        assert!((got - expected).abs() <= 1e-9 * expected.abs(), "{got} against {expected}");
    }
}

#[test]
fn simulator_agrees() {
    let (net, pairs) = network(21, 40, false);
    for &(a, b) in pairs.iter().step_by(6) {
        let got = fault(&net, &[(a, b)], Ohms::new(1e-4)).unwrap()[0].amps.get();
        let mut faulted = net.clone();
        for i in 0..faulted.element_count() {
            faulted.set_watts(faulted.element_at(i).unwrap(), Watts::zero());
        }
        faulted.resistor(a, b, Ohms::new(1e-4));
        let volts = simulate(&to_spice(&faulted));
        let at = |node: NodeId| volts.get(&format!("n{}", node.index())).copied().unwrap_or(0.0);
        let expected = (at(a) - at(b)) / 1e-4;
        assert!((got - expected).abs() <= 1e-6 * expected, "{got} against ngspice {expected}");
    }
}

#[test]
fn limited_sources_bound_the_fault_from_above() {
    let (net, pairs) = network(8, 60, true);
    let all = fault(&net, &pairs, Ohms::zero()).unwrap();
    for (&pair, fault) in pairs.iter().zip(&all) {
        let detail = fault_detail(&net, pair, FaultDetailOptions::default()).unwrap();
        let (bound, exact) = (fault.amps.get(), detail.amps.get());
        assert!(exact <= bound * (1.0 + 3e-6), "{exact} above the bound {bound}");
        assert!(bound <= exact * 1.25, "the bound {bound} is far above {exact}");
    }
}

#[test]
fn charger_alone_delivers_its_limit() {
    let mut net = Netlist::new();
    let (zero, plus, end) = (net.node("minus"), net.node("plus"), net.node("end"));
    net.limited_source(plus, zero, Volts::new(14.4), Amps::new(30.0), Ohms::new(0.01));
    net.resistor(plus, end, Ohms::new(0.02));
    net.constant_power(end, zero, Watts::new(100.0), None);
    let faults = fault(&net, &[(end, zero), (plus, zero)], Ohms::zero()).unwrap();
    for fault in faults {
        assert!((fault.amps.get() - 30.0).abs() < 1e-4, "{:?}", fault);
    }
    // Through 1 Ω the voltage decides: 14.4 / 1.03.
    let far = fault(&net, &[(end, zero)], Ohms::new(1.0)).unwrap()[0];
    assert!((far.amps.get() - 14.4 / 1.03).abs() < 1e-6, "{far:?}");
}

#[test]
fn shares_add_up_and_loads_are_gone() {
    // Two banks 13.3 V, 2.6 mΩ each at the bus, 0.1 mΩ fault: 4750 A each (case bolted-fault-busbar of the
    // data file).
    let mut net = Netlist::new();
    let (zero, bus, load) = (net.node("minus"), net.node("bus"), net.node("load"));
    net.emf(bus, zero, Volts::new(13.3), Ohms::new(0.0026));
    net.emf(bus, zero, Volts::new(13.3), Ohms::new(0.0026));
    net.resistor(bus, load, Ohms::new(0.01));
    let lamp = net.constant_power(load, zero, Watts::new(500.0), None);
    let detail = fault_detail(&net, (bus, zero), FaultDetailOptions { fault_ohms: Ohms::new(1e-4) }).unwrap();
    assert!((detail.amps.get() - 9500.0).abs() < 1e-6);
    assert_eq!(detail.shares.len(), 2);
    for share in &detail.shares {
        assert!((share.amps.get() - 4750.0).abs() < 1e-6);
    }
    assert!((detail.during.volts(bus).get() - 0.95).abs() < 1e-9);
    assert_eq!(detail.during.amps(lamp).get(), 0.0);
}

#[test]
fn no_current_between_islands() {
    let mut net = Netlist::new();
    let nodes: Vec<_> = (0..4).map(|_| net.node("")).collect();
    net.emf(nodes[1], nodes[0], Volts::new(12.0), Ohms::new(0.01));
    net.emf(nodes[3], nodes[2], Volts::new(12.0), Ohms::new(0.01));
    let faults = fault(&net, &[(nodes[1], nodes[2]), (nodes[3], nodes[2])], Ohms::zero()).unwrap();
    assert!(!faults[0].is_closed && faults[0].amps.get() == 0.0);
    assert!(faults[1].is_closed && (faults[1].amps.get() - 1200.0).abs() < 1e-9);
}
