//! The network of the hardest steady scene as a deck for a circuit simulator, with the names of its nodes.
//! Never: runs anything.
//! Start at [`deck`].

use std::fmt::Write;

use model::System;
use network::{Scene, netlists, solve, to_spice_at};

/// The deck of everything on at the lowest working voltage; `None` without a network that carries its loads.
/// What cannot be carried is left out of it, as in the study. Comments name each node with its voltage.
pub fn deck(system: &System) -> Option<String> {
    let (_, netlist) = netlists(system).into_iter().find(|(scene, _)| *scene == Scene::EverythingOn)?;
    let solution =
        solve(&netlist).ok().filter(|solution| solution.converged() && netlist.element_count() > 0)?;
    // One line a text: a name could hold a line break, and a line of its own would be an element.
    let held = |text: &str| text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect::<String>();
    let mut text =
        format!("* {}: everything on, from the bank at its lowest working voltage\n", held(&system.name));
    text.push_str("* Run: ngspice -b system.cir\n");
    for line in crate::SAFETY.split(". ") {
        let _ = writeln!(text, "* {}", held(line));
    }
    text.push_str("* Nodes, with the volts of this study:\n");
    for ix in 0..netlist.node_count() {
        if let Some(node) = netlist.node_at(ix) {
            let _ =
                writeln!(text, "* n{ix} = {}, {:.4} V", held(netlist.name(node)), solution.volts(node).get());
        }
    }
    let body = to_spice_at(&netlist, &solution);
    text.extend(body.lines().skip(1).flat_map(|line| [line, "\n"]));
    text.push_str(
        ".options reltol=1e-9 vntol=1e-10 abstol=1e-10 gmin=1e-15 itl1=1000\n.control\nset numdgt=12\nop\nprint all\n.endc\n.end\n",
    );
    Some(text)
}
