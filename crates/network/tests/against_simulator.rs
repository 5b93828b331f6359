//! Our steady state against ngspice (a general-purpose circuit simulator, Debian package `ngspice`) on
//! networks built here and written out by `to_spice`. Required: 0.1 %; asserted: 1e-6 of the highest voltage.
//! Provenance: computed on the spot.
#![allow(clippy::unwrap_used)] // A test may stop at what it did not expect.

mod common;

use common::{Dice, agree};
use network::{BelowCutoff, Netlist, NodeId, Regime, solve};
use quantity::{Amps, Ohms, Volts, Watts};

const WITHIN: f64 = 1e-6;

fn ohms(x: f64) -> Ohms {
    Ohms::new(x)
}

/// A 12.8 V bank of 4 mΩ, feeder of 0.3 mΩ each pole; returns the netlist with the two busbars.
fn bank_and_busbars(volts: f64) -> (Netlist, NodeId, NodeId) {
    let mut net = Netlist::new();
    let minus = net.node("bank minus");
    let plus = net.node("bank plus");
    let bus = net.node("positive busbar");
    let common = net.node("negative busbar");
    net.set_reference(minus);
    net.emf(plus, minus, Volts::new(volts), ohms(0.004));
    net.resistor(plus, bus, ohms(0.0003));
    net.resistor(common, minus, ohms(0.0003));
    (net, bus, common)
}

/// A branch circuit's two conductors from the busbars; returns its load terminals.
fn branch(net: &mut Netlist, bus: NodeId, common: NodeId, each_pole: f64) -> (NodeId, NodeId) {
    let (p, n) = (net.node("load plus"), net.node("load minus"));
    net.resistor(bus, p, ohms(each_pole));
    net.resistor(n, common, ohms(each_pole));
    (p, n)
}

#[test]
fn inverter_and_branches_at_constant_power() {
    let (mut net, bus, common) = bank_and_busbars(12.8);
    for (watts, each_pole) in [(1800.0, 0.0006), (60.0, 0.012), (35.0, 0.03), (5.0, 0.2)] {
        let (p, n) = branch(&mut net, bus, common, each_pole);
        net.constant_power(p, n, Watts::new(watts), None);
    }
    agree("inverter and branches", &net, WITHIN);
}

#[test]
fn constant_power_near_the_most_that_can_be_carried() {
    // E²/4R of 12.8 V behind 4.6 + 11.4 mΩ is 2560 W; 2550 W lies 0.4 % below.
    let (mut net, bus, common) = bank_and_busbars(12.8);
    let (p, n) = branch(&mut net, bus, common, 0.0057);
    net.constant_power(p, n, Watts::new(2550.0), None);
    agree("near the nose", &net, WITHIN);
}

#[test]
fn charger_in_each_regime() {
    // 14.2 V, 40 A limit: idle above a 14.6 V bank, at its limit below 12.8 V; with a 10 A limit source of
    // 13.0 V and 0.3 Ω it regulates.
    for (bank, set, limit, internal, regime) in [
        (14.6, 14.2, 40.0, 0.01, Regime::Idle),
        (12.8, 14.2, 40.0, 0.01, Regime::AtLimit),
        (12.8, 13.4, 40.0, 0.3, Regime::Regulating),
    ] {
        let (mut net, bus, common) = bank_and_busbars(bank);
        let (p, n) = branch(&mut net, bus, common, 0.003);
        let charger = net.limited_source(p, n, Volts::new(set), Amps::new(limit), ohms(internal));
        let (p, n) = branch(&mut net, bus, common, 0.01);
        net.current(p, n, Amps::new(12.0));
        agree("charger", &net, WITHIN);
        assert_eq!(solve(&net).unwrap().regime(charger), Some(regime));
    }
}

#[test]
fn chargers_and_array_carry_the_loads_alone() {
    // No battery: a 20 A and a 15 A source at 13.6 V share 400 W, the nearer at its limit.
    let mut net = Netlist::new();
    let (zero, bus) = (net.node("minus"), net.node("bus"));
    net.set_reference(zero);
    for (limit, lead) in [(20.0, 0.004), (15.0, 0.05)] {
        let p = net.node("source");
        net.limited_source(p, zero, Volts::new(13.6), Amps::new(limit), ohms(0.02));
        net.resistor(p, bus, ohms(lead));
    }
    let (p, n) = branch(&mut net, bus, zero, 0.004);
    net.constant_power(p, n, Watts::new(400.0), None);
    agree("sources alone", &net, WITHIN);
}

fn ladder(diagonal: bool) -> Netlist {
    let mut net = Netlist::new();
    let (mut plus, mut minus) = (Vec::new(), Vec::new());
    for i in 0..4 {
        let (p, m) = (net.node("plus"), net.node("minus"));
        net.emf(p, m, Volts::new(12.8 + 0.02 * f64::from(i)), ohms(0.003));
        plus.push(p);
        minus.push(m);
    }
    for i in 0..3 {
        net.resistor(plus[i], plus[i + 1], ohms(0.000275));
        net.resistor(minus[i], minus[i + 1], ohms(0.000275));
    }
    let return_end = if diagonal { minus[3] } else { minus[0] };
    net.set_reference(return_end);
    net.constant_power(plus[0], return_end, Watts::new(2500.0), None);
    net
}

#[test]
fn parallel_batteries_tapped_at_one_end_and_diagonally() {
    agree("one end", &ladder(false), WITHIN);
    agree("diagonal", &ladder(true), WITHIN);
}

#[test]
fn chassis_return_with_constant_power() {
    let (mut net, bus, common) = bank_and_busbars(12.6);
    let chassis = net.node("chassis at bank");
    net.resistor(common, chassis, ohms(0.0005));
    let mut at = chassis;
    for (watts, segment) in [(120.0, 0.0008), (300.0, 0.0011), (45.0, 0.002)] {
        let next = net.node("chassis");
        net.resistor(at, next, ohms(segment));
        let load = net.node("load");
        net.resistor(bus, load, ohms(0.01));
        net.constant_power(load, next, Watts::new(watts), None);
        at = next;
    }
    agree("chassis return", &net, WITHIN);
}

#[test]
fn cutoff_to_constant_current() {
    // 2000 W behind 19.8 mΩ from 12.8 V (E²/4R = 2069 W would hold, but only at 6.4 V to 7.6 V): below 10 V
    // it draws 200 A.
    let (mut net, bus, common) = bank_and_busbars(12.8);
    let (p, n) = branch(&mut net, bus, common, 0.0076);
    let load =
        net.constant_power(p, n, Watts::new(2000.0), Some((Volts::new(10.0), BelowCutoff::ConstantCurrent)));
    agree("constant current below cutoff", &net, WITHIN);
    assert!((solve(&net).unwrap().amps(load).get() - 200.0).abs() < 1e-9);
}

#[test]
fn ring_main_with_two_banks() {
    let (mut net, bus, common) = bank_and_busbars(25.6);
    let mut ring = vec![bus];
    for _ in 0..6 {
        let next = net.node("ring");
        net.resistor(*ring.last().unwrap(), next, ohms(0.002));
        ring.push(next);
    }
    net.resistor(*ring.last().unwrap(), bus, ohms(0.002));
    for (i, &node) in ring.iter().enumerate().skip(1) {
        let n = net.node("return");
        net.resistor(n, common, ohms(0.001 * i as f64));
        net.constant_power(node, n, Watts::new(100.0 + 30.0 * i as f64), None);
    }
    net.emf(ring[4], common, Volts::new(25.9), ohms(0.01));
    agree("ring", &net, WITHIN);
}

#[test]
fn centre_tap_of_a_24_volt_bank_with_converter() {
    // Two 12.8 V halves; loads across one half, across both, and a converter input at constant power.
    let mut net = Netlist::new();
    let (zero, tap, top) = (net.node("minus"), net.node("tap"), net.node("plus"));
    net.set_reference(zero);
    net.emf(tap, zero, Volts::new(12.8), ohms(0.003));
    net.emf(top, tap, Volts::new(12.7), ohms(0.0035));
    let (p, n) = branch(&mut net, top, zero, 0.004);
    net.constant_power(p, n, Watts::new(1500.0), None);
    let (p, n) = branch(&mut net, tap, zero, 0.01);
    net.current(p, n, Amps::new(25.0));
    let (p, n) = branch(&mut net, top, tap, 0.02);
    net.resistor(p, n, ohms(1.2));
    agree("centre tap", &net, WITHIN);
}

#[test]
fn random_tree_of_200_nodes() {
    for seed in [7, 11, 2024] {
        let mut dice = Dice(seed);
        let mut net = Netlist::new();
        let zero = net.node("minus");
        net.set_reference(zero);
        let root = net.node("plus");
        net.emf(root, zero, Volts::new(13.1), ohms(0.002));
        let mut nodes = vec![root];
        while net.node_count() < 200 {
            let parent = nodes[dice.below(nodes.len())];
            let next = net.node("tree");
            net.resistor(parent, next, ohms(dice.between(0.0002, 0.02)));
            match dice.below(4) {
                0 => drop(net.constant_power(next, zero, Watts::new(dice.between(1.0, 25.0)), None)),
                1 => drop(net.current(next, zero, Amps::new(dice.between(0.1, 2.0)))),
                2 => drop(net.resistor(next, zero, ohms(dice.between(10.0, 200.0)))),
                _ => {}
            }
            nodes.push(next);
        }
        net.limited_source(nodes[60], zero, Volts::new(14.4), Amps::new(30.0), ohms(0.02));
        agree("random tree", &net, WITHIN);
    }
}
