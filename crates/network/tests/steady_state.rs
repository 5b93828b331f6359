//! What must hold for any steady state: currents sum to zero, power balances, collapse is told with its
//! measure, odd input is answered.
#![allow(clippy::unwrap_used)] // A test may stop at what it did not expect.

mod common;

use common::Dice;
use network::{BelowCutoff, ElementId, Netlist, NodeId, Plan, SolveError, solve};
use quantity::{Amps, Ohms, Volts, Watts};

fn bank(net: &mut Netlist, volts: f64, ohms: f64) -> (NodeId, NodeId) {
    let (minus, plus) = (net.node("minus"), net.node("plus"));
    net.emf(plus, minus, Volts::new(volts), Ohms::new(ohms));
    (plus, minus)
}

#[derive(Clone, Copy)]
enum Sign {
    Along,
    Source,
}

/// A random two-pole network of every kind of element.
fn random(seed: u64, size: usize) -> (Netlist, Vec<(ElementId, Sign)>) {
    let mut dice = Dice(seed);
    let mut net = Netlist::new();
    let (minus, plus) = (net.node("minus"), net.node("plus"));
    let mut all = vec![(net.emf(plus, minus, Volts::new(12.9), Ohms::new(0.003)), Sign::Source)];
    let mut pairs = vec![(plus, minus)];
    for _ in 0..size {
        let (p0, n0) = pairs[dice.below(pairs.len())];
        let (p, n) = (net.node(""), net.node(""));
        all.push((net.resistor(p0, p, Ohms::new(dice.between(0.001, 0.02))), Sign::Along));
        all.push((net.resistor(n0, n, Ohms::new(dice.between(0.001, 0.02))), Sign::Along));
        let watts = Watts::new(dice.between(1.0, 20.0));
        all.push(match dice.below(5) {
            0 => (net.constant_power(p, n, watts, None), Sign::Along),
            1 => (net.current(p, n, Amps::new(dice.between(0.1, 2.0))), Sign::Along),
            2 => (net.resistor(p, n, Ohms::new(dice.between(5.0, 80.0))), Sign::Along),
            3 => (
                net.limited_source(
                    p,
                    n,
                    Volts::new(dice.between(12.0, 14.6)),
                    Amps::new(10.0),
                    Ohms::new(0.02),
                ),
                Sign::Source,
            ),
            _ => (
                net.constant_power(p, n, watts, Some((Volts::new(12.2), BelowCutoff::ConstantCurrent))),
                Sign::Along,
            ),
        });
        pairs.push((p, n));
    }
    (net, all)
}

#[test]
fn currents_sum_to_zero_and_power_balances() {
    for seed in 0..200 {
        let (net, elements) = random(seed, 5 + seed as usize % 60);
        let solution = solve(&net).unwrap();
        assert!(solution.converged(), "seed {seed}: {:?}", solution.collapse());
        let mut sum = vec![0.0; net.node_count()];
        let (mut power, mut total) = (0.0, 0.0f64);
        for &(id, sign) in &elements {
            let (a, b) = net.ends(id).unwrap();
            let amps = match sign {
                Sign::Along => solution.amps(id).get(),
                Sign::Source => -solution.amps(id).get(),
            };
            sum[a.index()] += amps;
            sum[b.index()] -= amps;
            power += amps * solution.volts_between(a, b).get();
            total += amps.abs();
        }
        for (node, sum) in sum.iter().enumerate() {
            assert!(sum.abs() < 1e-8 * total, "seed {seed}: {sum} A too much at node {node}");
        }
        assert!(power.abs() < 1e-7 * total, "seed {seed}: {power} W from nowhere");
    }
}

#[test]
fn order_of_elements_does_not_matter() {
    // The same ring built in two orders of nodes and elements.
    let build = |reversed: bool| {
        let mut net = Netlist::new();
        let mut nodes: Vec<NodeId> = (0..8).map(|_| net.node("")).collect();
        if reversed {
            nodes.reverse();
        }
        let mut steps: Vec<usize> = (0..8).collect();
        if reversed {
            steps.reverse();
        }
        for i in steps {
            net.resistor(nodes[i], nodes[(i + 1) % 8], Ohms::new(0.01 * (1 + i) as f64));
        }
        net.emf(nodes[3], nodes[0], Volts::new(24.0), Ohms::new(0.05));
        net.set_reference(nodes[0]);
        net.constant_power(nodes[6], nodes[0], Watts::new(300.0), None);
        let solution = solve(&net).unwrap();
        nodes.iter().map(|&n| solution.volts(n).get()).collect::<Vec<_>>()
    };
    for (x, y) in build(false).iter().zip(build(true)) {
        assert!((x - y).abs() < 1e-9, "{x} {y}");
    }
}

#[test]
fn too_much_power_is_measured() {
    // Closed form: the most that E behind R can give is E²/4R, 12² / (4 · 0.011) = 3272.7 W.
    let mut net = Netlist::new();
    let (plus, minus) = bank(&mut net, 12.0, 0.008);
    let end = net.node("end");
    net.resistor(plus, end, Ohms::new(0.003));
    let load = net.constant_power(end, minus, Watts::new(5000.0), None);
    let solution = solve(&net).unwrap();
    let collapse = solution.collapse().unwrap();
    let most = 144.0 / 0.044;
    assert_eq!(collapse.load, load);
    assert!((collapse.most.get() / most - 1.0).abs() < 1e-6, "{collapse:?}");
    assert!((collapse.share_of_all.get() * 5000.0 / most - 1.0).abs() < 1e-6);
    // At the end of the branch the load sees half the open voltage.
    assert!((solution.volts_between(end, minus).get() - 6.0).abs() < 0.01);
    net.set_watts(load, Watts::new(most * 0.999_999));
    assert!(solve(&net).unwrap().converged());
    net.set_watts(load, Watts::new(most * 1.000_001));
    assert!(!solve(&net).unwrap().converged());
}

#[test]
fn the_far_load_is_the_one_that_collapses() {
    let mut net = Netlist::new();
    let (plus, minus) = bank(&mut net, 12.0, 0.002);
    let (near, far) = (net.node("near"), net.node("far"));
    net.resistor(plus, near, Ohms::new(0.002));
    net.resistor(plus, far, Ohms::new(0.5));
    net.constant_power(near, minus, Watts::new(500.0), None);
    let weak = net.constant_power(far, minus, Watts::new(100.0), None);
    let solution = solve(&net).unwrap();
    let collapse = solution.collapse().unwrap();
    assert_eq!(collapse.load, weak);
    assert!(collapse.most.get() > 60.0 && collapse.most.get() < 72.0, "{collapse:?}");
}

#[test]
fn a_charger_alone_cannot_carry_more_than_its_limit() {
    let mut net = Netlist::new();
    let (minus, plus) = (net.node(""), net.node(""));
    net.limited_source(plus, minus, Volts::new(14.4), Amps::new(30.0), Ohms::new(0.01));
    let load = net.constant_power(plus, minus, Watts::new(600.0), None);
    let collapse = solve(&net).unwrap().collapse().unwrap();
    assert_eq!(collapse.load, load);
    // 30 A at 14.4 V − 0.3 V.
    assert!((collapse.most.get() - 423.0).abs() < 0.01, "{collapse:?}");
    let mut net = Netlist::new();
    let (minus, plus) = (net.node(""), net.node(""));
    net.limited_source(plus, minus, Volts::new(14.4), Amps::new(30.0), Ohms::new(0.01));
    net.current(plus, minus, Amps::new(50.0));
    assert!(solve(&net).unwrap().islands()[0].is_overdrawn);
}

#[test]
fn loads_with_a_cutoff_switch_off_until_the_rest_holds() {
    // 12 V, 20 mΩ: two loads of 900 W pull below 10.5 V together; one alone stays above.
    let mut net = Netlist::new();
    let (plus, minus) = bank(&mut net, 12.0, 0.01);
    let (a, b) = (net.node("a"), net.node("b"));
    net.resistor(plus, a, Ohms::new(0.002));
    net.resistor(plus, b, Ohms::new(0.003));
    let cutoff = Some((Volts::new(10.5), BelowCutoff::Stops));
    let first = net.constant_power(a, minus, Watts::new(900.0), cutoff);
    let second = net.constant_power(b, minus, Watts::new(900.0), cutoff);
    let solution = solve(&net).unwrap();
    assert!(solution.converged());
    assert_eq!(solution.stopped(), &[second]);
    assert_eq!(solution.amps(second).get(), 0.0);
    assert!((solution.amps(first) * solution.volts_between(a, minus) / Watts::new(900.0) - 1.0).abs() < 1e-9);
}

#[test]
fn floating_islands_are_tied_and_told() {
    let mut net = Netlist::new();
    let (plus, minus) = bank(&mut net, 12.0, 0.01);
    net.set_reference(minus);
    let (x, y, z) = (net.node("x"), net.node("y"), net.node("z"));
    net.resistor(x, y, Ohms::new(1.0));
    let dead = net.constant_power(y, x, Watts::new(10.0), None);
    let astray = net.constant_power(plus, z, Watts::new(10.0), None);
    let solution = solve(&net).unwrap();
    assert_eq!(solution.islands().len(), 3);
    assert!(solution.island_of(plus).is_declared && solution.island_of(plus).has_source);
    let island = solution.island_of(y);
    assert_eq!((island.reference, island.is_declared), (x, false));
    assert!(island.has_load && !island.has_source);
    assert_eq!(solution.amps(dead).get(), 0.0);
    assert_eq!(solution.without_return(), &[astray]);
    assert_eq!(solution.volts(plus).get(), 12.0);
    assert!(solution.converged());
}

#[test]
fn a_plan_serves_many_values_but_one_network() {
    let (mut net, _) = random(3, 30);
    let plan = Plan::new(&net).unwrap();
    for volts in [12.4, 12.9, 13.4] {
        net.set_volts(net.element_at(0).unwrap(), Volts::new(volts));
        let (kept, fresh) = (plan.solve(&net).unwrap(), solve(&net).unwrap());
        for i in 0..net.node_count() {
            let node = net.node_at(i).unwrap();
            assert_eq!(kept.volts(node), fresh.volts(node));
        }
    }
    net.node("one more");
    assert_eq!(plan.solve(&net).unwrap_err(), SolveError::OtherNetlist);
}

#[test]
fn senseless_values_name_their_element() {
    let nan = f64::NAN;
    for ohms in [0.0, -1.0, nan, f64::INFINITY] {
        let mut net = Netlist::new();
        let (plus, minus) = bank(&mut net, 12.0, 0.01);
        net.resistor(plus, minus, Ohms::new(ohms));
        let error = solve(&net).unwrap_err().to_string();
        assert!(
            error.contains("element 1 between 'plus' and 'minus'") && error.contains("above 0 Ω"),
            "{error}"
        );
    }
    let mut net = Netlist::new();
    let (plus, minus) = bank(&mut net, nan, 0.01);
    assert!(solve(&net).is_err());
    net = Netlist::new();
    let (p2, m2) = bank(&mut net, 12.0, 0.01);
    assert_eq!((plus, minus), (p2, m2));
    net.constant_power(p2, m2, Watts::new(-5.0), None);
    assert!(solve(&net).unwrap_err().to_string().contains("limited source"));
    net = Netlist::new();
    let (p, _) = bank(&mut net, 12.0, 0.01);
    net.resistor(p, p, Ohms::new(1.0));
    assert!(solve(&net).unwrap_err().to_string().contains("same node"));
}

#[test]
fn absurd_networks_do_not_panic() {
    assert_eq!(solve(&Netlist::new()).unwrap().islands().len(), 0);
    let mut lonely = Netlist::new();
    lonely.node("lonely");
    assert_eq!(solve(&lonely).unwrap().islands().len(), 1);
    for (volts, ohms, watts) in
        [(1e308, 1e-308, 1e308), (1e-308, 1e308, 1e308), (-12.0, 0.01, 50.0), (0.0, 1.0, 1.0)]
    {
        let mut net = Netlist::new();
        let (plus, minus) = bank(&mut net, volts, ohms);
        net.constant_power(plus, minus, Watts::new(watts), None);
        // Either an error or a collapse; never a state that claims to hold.
        assert!(solve(&net).map_or(true, |s| !s.converged()), "{volts} {ohms} {watts}");
    }
}

#[test]
fn the_measured_share_is_where_the_network_stops_holding() {
    // Whatever the network, just below the share it holds, just above it does not.
    let mut measured = 0;
    for seed in 0..120 {
        let (mut net, elements) = random(seed, 4 + seed as usize % 40);
        let powers: Vec<_> =
            elements.iter().filter(|(id, _)| net.watts(*id).is_some()).map(|e| e.0).collect();
        let scale = |net: &mut Netlist, by: f64| {
            for &id in &powers {
                let watts = net.watts(id).unwrap();
                net.set_watts(id, watts * by);
            }
        };
        scale(&mut net, 400.0);
        if let Some(collapse) = solve(&net).unwrap().collapse() {
            let share = collapse.share_of_all.get();
            scale(&mut net, share * (1.0 - 1e-6));
            assert!(solve(&net).unwrap().converged(), "seed {seed}: {share} does not hold");
            scale(&mut net, (1.0 + 1e-6) / (1.0 - 1e-6));
            assert!(!solve(&net).unwrap().converged(), "seed {seed}: more than {share} holds");
            measured += 1;
        }
    }
    assert!(measured > 50, "only {measured} networks collapsed");
}
