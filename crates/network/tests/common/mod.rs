//! What the network tests share: running the circuit simulator, and reading a small subset of SPICE decks.
//! Never: decides what agrees; each test states its own tolerance.
//! Start at [`simulate`] and [`Deck::read`].
#![allow(dead_code)] // Each test file uses its own part.

use network::{BelowCutoff, ElementId, Netlist, NodeId, to_spice};
use quantity::{Amps, Ohms, Volts, Watts};
use std::collections::BTreeMap;
use std::process::Command;

/// Node voltages (and branch currents, by `name#branch`) of a deck's operating point, by ngspice in batch
/// mode.
pub fn simulate(deck: &str) -> BTreeMap<String, f64> {
    let (values, output) = try_simulate(deck);
    assert!(!values.is_empty(), "ngspice printed no operating point for\n{deck}\n{output}");
    values
}

/// Every node voltage, or none where the simulator does not converge; and what it printed.
fn try_simulate(deck: &str) -> (BTreeMap<String, f64>, String) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("deck.cir");
    let control = ".options reltol=1e-10 vntol=1e-12 abstol=1e-12 gmin=1e-15 itl1=1000\n.control\nset numdgt=15\nop\nprint all\nquit\n.endc\n.end\n";
    std::fs::write(&file, format!("{deck}{control}")).unwrap();
    let output = run(&file);
    let mut values = BTreeMap::new();
    for line in output.lines() {
        if let Some((name, value)) = line.split_once(" = ")
            && let Ok(value) = value.trim().parse()
        {
            values.insert(name.trim().to_lowercase(), value);
        }
    }
    (values, output)
}

/// Runs ngspice on a file and returns what it printed; fails with advice if it is not installed.
pub fn run(file: &std::path::Path) -> String {
    let output = match Command::new("ngspice").arg("-b").arg(file).output() {
        Ok(output) => output,
        Err(error) => {
            panic!(
                "ngspice cannot be run ({error}). These tests need it: install it with `apt-get install ngspice`"
            )
        }
    };
    format!("{}\n{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// Solves with both and asserts that every node voltage agrees within `within` of the highest.
pub fn agree(what: &str, netlist: &Netlist, within: f64) {
    let ours = network::solve(netlist).unwrap_or_else(|e| panic!("{what}: {e}"));
    compare(what, netlist, &ours, &to_spice(netlist), within);
}

/// As [`agree`], for whole systems: loads are held off their second solution (see [`stable`]).
///
/// Without a starting point where the simulator converges so: it keeps what holds a starting point in its equations and loses
/// digits there. Among many limited sources it does not, and starts at our voltages; it settles elsewhere if we are wrong.
pub fn agree_on_system(what: &str, netlist: &Netlist, within: f64) {
    let ours = network::solve(netlist).unwrap_or_else(|e| panic!("{what}: {e}"));
    let lines = to_spice(netlist);
    let mut deck: String = lines
        .lines()
        .filter(|line| !line.starts_with(".nodeset"))
        .map(|line| format!("{}\n", stable(line, netlist, &ours)))
        .collect();
    let (mut theirs, _) = try_simulate(&deck);
    if theirs.is_empty() {
        for i in 0..netlist.node_count() {
            let volts = ours.volts(netlist.node_at(i).unwrap()).get();
            if lines.contains(&format!(" n{i} ")) {
                deck += &format!(".nodeset v(n{i})={volts:e}\n");
            }
        }
        theirs = simulate(&deck);
    }
    compare_values(what, netlist, &ours, &theirs, &deck, within);
}

/// A constant-power load without a cutoff has a second solution at a low voltage, onto which the simulator can fall. Below half
/// of our voltage the current is held, which leaves the equation above untouched and that solution out.
fn stable(line: &str, netlist: &Netlist, ours: &network::Solution) -> String {
    let mut words = line.split_whitespace();
    let (Some(name), Some(a), Some(b)) = (words.next(), words.next(), words.next()) else {
        return line.to_owned();
    };
    let volts = |node: &str| {
        let index = node.strip_prefix('n').and_then(|n| n.parse().ok());
        index.and_then(|index| netlist.node_at(index)).map_or(0.0, |node| ours.volts(node).get())
    };
    match line.split_once("/v(") {
        Some((before, ends)) if name.starts_with('b') && !line.contains("min(") => {
            format!("{before}/max(v({ends},{:e})", 0.5 * (volts(a) - volts(b)))
        }
        // A tie of 1 kΩ to an island carries nothing, but turns the simulator's leftover microamperes into millivolts.
        _ => line
            .strip_suffix(" 1e3")
            .filter(|_| name.starts_with('r'))
            .map_or(line.to_owned(), |r| format!("{r} 1")),
    }
}

fn compare(what: &str, netlist: &Netlist, ours: &network::Solution, deck: &str, within: f64) {
    compare_values(what, netlist, ours, &simulate(deck), deck, within);
}

fn compare_values(
    what: &str,
    netlist: &Netlist,
    ours: &network::Solution,
    theirs: &BTreeMap<String, f64>,
    deck: &str,
    within: f64,
) {
    assert!(ours.converged(), "{what}: {:?}", ours.collapse());
    let highest = theirs.iter().filter(|(k, _)| k.starts_with('n')).fold(1e-3f64, |h, (_, v)| h.max(v.abs()));
    let mut compared = 0;
    for i in 0..netlist.node_count() {
        if let Some(&expected) = theirs.get(&format!("n{i}")) {
            let got = ours.volts(netlist.node_at(i).unwrap()).get();
            assert!(
                (got - expected).abs() <= within * highest,
                "{what}: node {i}: ours {got}, ngspice {expected}\n{deck}"
            );
            compared += 1;
        }
    }
    assert_eq!(compared, netlist.node_count() - 1, "{what}: some nodes were not compared");
}

/// A number that is the same on every run: a linear congruential generator (constants of Knuth's MMIX).
pub struct Dice(pub u64);
impl Dice {
    pub fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
    pub fn below(&mut self, n: usize) -> usize {
        ((self.unit() * n as f64) as usize).min(n - 1)
    }
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
}

/// A deck of R, V, I and constant-power B lines, as a netlist.
pub struct Deck {
    pub netlist: Netlist,
    nodes: BTreeMap<String, NodeId>,
    sources: BTreeMap<String, ElementId>,
}

fn number(text: &str) -> f64 {
    let text = text.trim().to_lowercase();
    let (digits, factor) = match text.chars().last() {
        Some('m') => (&text[..text.len() - 1], 1e-3),
        Some('u') => (&text[..text.len() - 1], 1e-6),
        Some('n') => (&text[..text.len() - 1], 1e-9),
        Some('k') => (&text[..text.len() - 1], 1e3),
        _ => (text.as_str(), 1.0),
    };
    digits.parse::<f64>().unwrap_or_else(|_| panic!("not a number: {text}")) * factor
}

impl Deck {
    pub fn read(text: &str) -> Self {
        let mut deck = Deck { netlist: Netlist::new(), nodes: BTreeMap::new(), sources: BTreeMap::new() };
        let ground = deck.node("0");
        deck.netlist.set_reference(ground);
        for line in text.lines().map(str::trim).filter(|l| !l.is_empty() && !l.starts_with(['*', '.'])) {
            let words: Vec<&str> = line.split_whitespace().collect();
            let (a, b) = (deck.node(words[1]), deck.node(words[2]));
            match line.to_lowercase().as_bytes()[0] {
                b'r' => {
                    deck.netlist.resistor(a, b, Ohms::new(number(words[3])));
                }
                b'v' => {
                    // An ideal source; 1 nΩ stands for none, which moves 133 A by parts in 1e8.
                    let id = deck.netlist.emf(a, b, Volts::new(number(words[3])), Ohms::new(1e-9));
                    deck.sources.insert(words[0].to_lowercase(), id);
                }
                b'i' => {
                    deck.netlist.current(a, b, Amps::new(number(words[3])));
                }
                b'b' => {
                    let watts =
                        words[3].strip_prefix("I=").and_then(|f| f.split_once('/')).map(|f| number(f.0));
                    deck.netlist.constant_power(
                        a,
                        b,
                        Watts::new(watts.unwrap()),
                        None::<(Volts, BelowCutoff)>,
                    );
                }
                other => panic!("not read here: {}", other as char),
            }
        }
        deck
    }

    fn node(&mut self, name: &str) -> NodeId {
        let netlist = &mut self.netlist;
        *self.nodes.entry(name.to_lowercase()).or_insert_with(|| netlist.node(name))
    }

    /// The value of `v(a)`, `v(a,b)`, `v(a)-v(b)`, `i(v)` or `-i(v)`, in the simulator's signs.
    pub fn value(&self, solution: &network::Solution, expression: &str) -> f64 {
        if let Some(rest) = expression.strip_prefix('-') {
            return -self.value(solution, rest);
        }
        if let Some((left, right)) = expression.split_once(")-") {
            return self.value(solution, &format!("{left})"))
                - if right == "0" { 0.0 } else { self.value(solution, right) };
        }
        let inner = expression[2..].trim_end_matches(')');
        if expression.starts_with("i(") {
            return -solution.amps(self.sources[inner]).get();
        }
        inner
            .split(',')
            .zip([1.0, -1.0])
            .map(|(node, sign)| sign * solution.volts(self.nodes[node]).get())
            .sum()
    }

    pub fn named(&self, name: &str) -> NodeId {
        self.nodes[name]
    }
}
