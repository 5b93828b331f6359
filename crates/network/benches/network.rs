//! How solving and fault currents grow with the network. Run `cargo bench -p network --bench network`.
//! Never: asserts times; it prints them. Start at the constants of each bench.

mod made_up;

use divan::Bencher;
use network::{Plan, fault, solve};
use quantity::Ohms;

fn main() {
    divan::main();
}

#[divan::bench(args = [30, 120, 400, 1000, 4000, 10000])]
fn solve_once(bencher: Bencher, nodes: usize) {
    let (net, _) = made_up::vehicle(nodes);
    bencher.bench(|| solve(divan::black_box(&net)).map(|s| s.iterations()));
}

#[divan::bench(args = [30, 120, 400, 1000, 4000, 10000])]
fn solve_again_with_a_plan(bencher: Bencher, nodes: usize) {
    let (net, _) = made_up::vehicle(nodes);
    let plan = Plan::new(&net).ok();
    bencher.bench(|| plan.as_ref().map(|p| p.solve(divan::black_box(&net)).map(|s| s.iterations())));
}

/// One fault for every pair of load terminals: about half as many pairs as nodes.
#[divan::bench(args = [100, 300, 1000, 3000, 10000])]
fn fault_everywhere(bencher: Bencher, nodes: usize) {
    let (net, pairs) = made_up::vehicle(nodes);
    bencher.bench(|| fault(divan::black_box(&net), &pairs, Ohms::zero()).map(|f| f.len()));
}

/// As many random pairs as nodes, joined by nothing.
#[divan::bench(args = [100, 300, 1000, 3000, 10000])]
fn fault_at_random_pairs(bencher: Bencher, nodes: usize) {
    let (net, ends) = made_up::vehicle(nodes);
    let mut dice = made_up::Dice(5);
    let pairs: Vec<_> =
        (0..nodes).map(|_| (ends[dice.below(ends.len())].0, ends[dice.below(ends.len())].1)).collect();
    bencher.bench(|| fault(divan::black_box(&net), &pairs, Ohms::zero()).map(|f| f.len()));
}
