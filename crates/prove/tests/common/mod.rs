//! What the tests of readings share: the examples, derived and studied, and the circuit simulator.
//! Never: decides what is right.
//! Start at [`example`].
#![allow(dead_code, clippy::unwrap_used)] // Each test file uses its own part.

use std::collections::BTreeMap;
use std::process::Command;

use model::{Project, SourceText, System};
use network::{Netlist, NodeId, Results, to_spice};
use prove::{Expected, Readings};

pub const EXAMPLES: [&str; 4] = ["heron", "marten", "teal", "wren"];

/// An example with its expectations.
pub struct Example {
    pub system: System,
    pub results: Results,
    pub expected: Vec<Expected>,
}

pub fn example(name: &str) -> Example {
    let path = format!("{}/../../examples/{name}/intent.toml", env!("CARGO_MANIFEST_DIR"));
    let source = SourceText { name: path.clone(), text: std::fs::read_to_string(path).unwrap() };
    let project = Project::read(source, model::library::builtin().clone()).unwrap();
    let system = derive::derive(&project);
    let results = network::study(&system);
    let expected = prove::expected(&system, &results, None);
    Example { system, results, expected }
}

/// Readings from names and texts, through the file's own reader.
pub fn readings(example: &Example, values: &[(String, String)]) -> Readings {
    let mut text = String::new();
    for (id, value) in values {
        text += &format!("[readings.\"{id}\"]\nvalue = \"{value}\"\n");
    }
    Readings::read(&SourceText { name: "readings.toml".to_owned(), text }, &example.expected)
        .unwrap_or_else(|problems| panic!("{problems:?}"))
}

/// Voltage of every node by its name, by ngspice (Debian package `ngspice`, a general-purpose circuit simulator).
pub fn simulate(net: &Netlist) -> BTreeMap<String, f64> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("deck.cir");
    // A load far below its voltage draws a fixed current, so that the simulator does not find the unstable solution.
    let highest = 1.0;
    let deck: String = to_spice(net)
        .lines()
        .map(|line| match line.split_once("/v(") {
            Some((before, after)) if line.starts_with('b') => {
                format!("{before}/max(v({},{highest:e})\n", after)
            }
            _ => format!("{line}\n"),
        })
        .collect();
    let control = ".options reltol=1e-9 vntol=1e-10 abstol=1e-11 gmin=1e-15 itl1=1000\n.control\nset numdgt=12\nop\nprint all\nquit\n.endc\n.end\n";
    std::fs::write(&file, format!("{deck}{control}")).unwrap();
    let output = Command::new("ngspice")
        .arg("-b")
        .arg(&file)
        .output()
        .expect("ngspice is needed: apt-get install ngspice");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let mut by_number = BTreeMap::new();
    for line in text.lines() {
        if let Some((name, value)) = line.split_once(" = ")
            && let Ok(value) = value.trim().parse::<f64>()
        {
            by_number.insert(name.trim().to_lowercase(), value);
        }
    }
    assert!(by_number.len() > 3, "no operating point:\n{text}\n{}", String::from_utf8_lossy(&output.stderr));
    (0..net.node_count())
        .map(|index| {
            let node = net.node_at(index).unwrap();
            (net.name(node).to_owned(), by_number.get(&format!("n{index}")).copied().unwrap_or(0.0))
        })
        .collect()
}

pub fn node(net: &Netlist, name: &str) -> NodeId {
    (0..net.node_count())
        .filter_map(|index| net.node_at(index))
        .find(|node| net.name(*node) == name)
        .unwrap_or_else(|| panic!("no node {name}"))
}
