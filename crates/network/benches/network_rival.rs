//! Our solve against ngspice's operating point on the same netlist, in one run: `cargo bench -p network
//! --bench network_rival`. The simulator repeats `op` inside one process and reports its own time, so
//! starting it and reading the deck are not counted; the ratios use its analysis time alone, without the
//! bookkeeping and printing between operating points. Both work to a relative 1e-10.
//! Never: asserts times; it prints them. Start at `main`.
#![allow(clippy::print_stdout)] // Its table is what it is for.

mod made_up;

use model::{Project, SourceText, library};
use network::{Netlist, Plan, Scene, netlists, solve, to_spice};
use std::process::Command;
use std::time::Instant;

fn main() {
    println!(
        "              nodes  ngspice analysis   elapsed    our solve    with plan   ratio  with plan  steps"
    );
    for (scene, net) in heron() {
        against(&scene, &net, 2000);
    }
    for (nodes, repeats) in [(30, 4000), (80, 2000), (120, 2000), (150, 2000), (400, 400), (1000, 100)] {
        against("made up", &made_up::vehicle(nodes).0, repeats);
    }
}

/// The scenes of the example van, as they were solved last; without charging, whose many limited sources keep the
/// simulator searching for minutes.
fn heron() -> Vec<(String, Netlist)> {
    let text = include_str!("../../../examples/heron/intent.toml").to_owned();
    let source = SourceText { name: "intent.toml".to_owned(), text };
    match Project::read(source, library::builtin().clone()) {
        Ok(project) => netlists(&derive::derive(&project))
            .into_iter()
            .filter(|(scene, _)| *scene != Scene::Charging)
            .map(|(scene, net)| (format!("{scene:?}"), net))
            .collect(),
        Err(problems) => panic!("{problems:#?}"),
    }
}

fn against(what: &str, net: &Netlist, repeats: usize) {
    let Some((theirs, elapsed)) = simulator_seconds(&to_spice(net), repeats) else {
        println!(
            "{what:>12}: ngspice cannot be run or finds no state; `apt-get install ngspice` installs it"
        );
        return;
    };
    let ours = best(2000, || solve(net).map(|s| s.iterations()).unwrap_or(0));
    let Ok(plan) = Plan::new(net) else { return };
    let planned = best(2000, || plan.solve(net).map(|s| s.iterations()).unwrap_or(0));
    println!(
        "{what:>12} {:>6} {:>14.1} µs {:>6.1} µs {:>9.1} µs {:>9.2} µs {:>6.0}x {:>9.0}x {:>6}",
        net.node_count(),
        theirs * 1e6,
        elapsed * 1e6,
        ours * 1e6,
        planned * 1e6,
        theirs / ours,
        theirs / planned,
        plan.solve(net).map_or(0, |s| s.iterations())
    );
}

/// Median seconds of one call.
fn best(runs: usize, mut work: impl FnMut() -> u32) -> f64 {
    let mut times: Vec<f64> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            std::hint::black_box(work());
            start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[runs / 2]
}

/// Seconds of one `op` by the simulator's own account: in its analysis alone, and elapsed with its
/// bookkeeping and printing.
fn simulator_seconds(deck: &str, repeats: usize) -> Option<(f64, f64)> {
    let folder = tempfile::tempdir().ok()?;
    let file = folder.path().join("deck.cir");
    let control = format!(
        ".options reltol=1e-10 vntol=1e-12 abstol=1e-12\n.control\nop\nrusage all\nrepeat {repeats}\nop\ndestroy\nend\nrusage all\nquit\n.endc\n.end\n"
    );
    std::fs::write(&file, format!("{deck}{control}")).ok()?;
    let output = Command::new("ngspice").arg("-b").arg(&file).output().ok()?;
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    // A time without an answer is none.
    let complaints = String::from_utf8_lossy(&output.stderr).to_lowercase();
    if ["singular", "stepping", "aborted", "no convergence"].iter().any(|word| complaints.contains(word)) {
        return None;
    }
    let spent = |what: &str| {
        let mut values = text
            .lines()
            .filter_map(|l| l.strip_prefix(what)?.trim_start_matches([' ', '=']).trim().parse().ok());
        let (first, last): (f64, f64) = (values.next()?, values.next()?);
        Some((last - first) / repeats as f64)
    };
    Some((spent("Total analysis time (seconds)")?, spent("Total elapsed time (seconds)")?))
}
