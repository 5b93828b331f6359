//! A made-up vehicle network of any size: bank, busbars, panels, two-pole branches with constant-power loads,
//! a charger, an array.
//! Never: random from run to run. Start at [`vehicle`].
#![allow(dead_code)] // Each bench uses its own part.

use network::{Netlist, NodeId};
use quantity::{Amps, Ohms, Volts, Watts};

/// A linear congruential generator (constants of Knuth's MMIX): the same numbers on every run.
pub struct Dice(pub u64);
impl Dice {
    pub fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
    pub fn below(&mut self, n: usize) -> usize {
        ((self.unit() * n as f64) as usize).min(n - 1)
    }
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
}

/// About `size` nodes, and the terminals of every load.
pub fn vehicle(size: usize) -> (Netlist, Vec<(NodeId, NodeId)>) {
    let mut dice = Dice(size as u64);
    let mut net = Netlist::new();
    let mut nodes = [0; 6].map(|_| net.node(""));
    let [zero, plus, bus, common, charger, array] = &mut nodes;
    net.set_reference(*zero);
    net.emf(*plus, *zero, Volts::new(13.2), Ohms::new(0.004));
    net.resistor(*plus, *bus, Ohms::new(0.0003));
    net.resistor(*common, *zero, Ohms::new(0.0003));
    net.limited_source(*charger, *common, Volts::new(14.2), Amps::new(40.0), Ohms::new(0.01));
    net.resistor(*charger, *bus, Ohms::new(0.003));
    net.limited_source(*array, *common, Volts::new(14.4), Amps::new(25.0), Ohms::new(0.02));
    net.resistor(*array, *bus, Ohms::new(0.004));
    // Panels of up to twelve branches; the load is shared out so that the bank carries it at any size.
    let watts = 1500.0 / (size as f64 / 4.0);
    let mut panel = (*bus, *common);
    let mut ends = Vec::new();
    let mut count = 0;
    while net.node_count() + 4 <= size {
        if count % 12 == 0 {
            let next = (net.node(""), net.node(""));
            net.resistor(*bus, next.0, Ohms::new(dice.between(0.0005, 0.003)));
            net.resistor(next.1, *common, Ohms::new(dice.between(0.0005, 0.003)));
            panel = next;
        }
        count += 1;
        let (fuse, p, n) = (net.node(""), net.node(""), net.node(""));
        net.resistor(panel.0, fuse, Ohms::new(dice.between(0.001, 0.01)));
        net.resistor(fuse, p, Ohms::new(dice.between(0.005, 0.05)));
        net.resistor(n, panel.1, Ohms::new(dice.between(0.005, 0.05)));
        net.constant_power(p, n, Watts::new(watts * dice.between(0.5, 1.0)), None);
        ends.push((p, n));
    }
    (net, ends)
}
