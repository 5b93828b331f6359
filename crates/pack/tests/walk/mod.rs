//! Follows a build order deed by deed and says what is wrong with it: a second opinion that shares no code with the order.
//! Never: reads needs or numbers of the steps; it sees deeds and readings in the order in which it is given them.
//! Start at [`faults`]; `live.rs` says what is under voltage, `power.rs` what may be closed, started and read.
// Helpers of tests, where a panic is the failure.
#![allow(dead_code, clippy::unwrap_used)]

use std::collections::{BTreeMap, BTreeSet};

use model::{CircuitKind, Pole, Spec, System, TerminalRef};
use pack::{Act, Deed, Step};

mod live;
mod power;

/// What stands, so far.
#[derive(Clone)]
struct Site<'s> {
    system: &'s System,
    workplace: bool,
    board_ready: bool,
    board_placed: bool,
    vehicle_ready: bool,
    mounted: BTreeSet<usize>,
    made: BTreeSet<usize>,
    laid: BTreeSet<usize>,
    joined: BTreeSet<(usize, TerminalRef)>,
    on: BTreeSet<usize>,
    covered: BTreeSet<usize>,
    off_battery: BTreeSet<usize>,
    running: BTreeSet<usize>,
    set: BTreeSet<usize>,
    read: BTreeSet<String>,
    handed_over: bool,
    bench: BTreeSet<usize>,
    filled: BTreeSet<usize>,
    faults: Vec<String>,
}

fn is_gate(spec: &Spec) -> bool {
    matches!(spec, Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_))
}

/// What is wrong with these steps in this order; empty where nothing is.
pub fn faults(system: &System, steps: &[&Step]) -> Vec<String> {
    let present = |spec: &Spec| matches!(spec, Spec::StartBattery(_) | Spec::Alternator(_) | Spec::Chassis);
    let mut site = Site {
        system,
        workplace: false,
        board_ready: false,
        board_placed: false,
        vehicle_ready: false,
        mounted: (0..system.devices.len()).filter(|ix| present(&system.devices[*ix].spec)).collect(),
        made: BTreeSet::new(),
        laid: BTreeSet::new(),
        joined: BTreeSet::new(),
        on: BTreeSet::new(),
        covered: BTreeSet::new(),
        off_battery: BTreeSet::new(),
        running: BTreeSet::new(),
        set: BTreeSet::new(),
        read: BTreeSet::new(),
        handed_over: false,
        bench: BTreeSet::new(),
        filled: BTreeSet::new(),
        faults: Vec::new(),
    };
    for step in steps {
        site.step(step);
    }
    site.end();
    site.faults
}

impl Site<'_> {
    fn fault(&mut self, step: &Step, text: String) {
        self.faults.push(format!("{}: {text}", step.id));
    }

    fn device(&self, id: &str) -> usize {
        self.system.find(id).unwrap_or_else(|| panic!("no device {id}"))
    }

    fn cable(&self, id: &str) -> usize {
        self.system.conductors.iter().position(|c| c.id == id).unwrap_or_else(|| panic!("no conductor {id}"))
    }

    fn spec(&self, ix: usize) -> &Spec {
        &self.system.devices[ix].spec
    }

    /// A conductor joins its ends once both are joined; a link inside an assembly once both devices stand.
    fn carries(&self, ix: usize) -> bool {
        let c = &self.system.conductors[ix];
        if c.is_internal {
            return self.mounted.contains(&c.from.device) && self.mounted.contains(&c.to.device);
        }
        self.joined.contains(&(ix, c.from)) && self.joined.contains(&(ix, c.to))
    }

    fn step(&mut self, step: &Step) {
        self.filled.clear();
        for act in &step.acts {
            let before = self.live(true);
            self.act(step, act, &before);
            self.after(step, act, &before);
        }
        for measure in &step.measures {
            self.reading(step, &measure.id);
            if !self.read.insert(measure.id.clone()) {
                self.fault(step, format!("{} is read twice", measure.id));
            }
        }
    }

    fn once(&mut self, step: &Step, is_new: bool, what: &str, id: &str) {
        if !is_new {
            self.fault(step, format!("{id} is {what} twice"));
        }
    }

    /// Installing goes on only while the bank is joined to nothing but itself.
    fn dead_work(&mut self, step: &Step, what: &str) {
        if self.bank_joined() {
            self.fault(step, format!("{what} while the bank is joined"));
        }
    }

    fn bank_joined(&self) -> bool {
        let is_battery = |at: TerminalRef| matches!(self.spec(at.device), Spec::Battery(_));
        self.joined.iter().any(|(ix, at)| {
            let c = &self.system.conductors[*ix];
            is_battery(*at) && !(is_battery(c.from) && is_battery(c.to))
        })
    }

    fn act(&mut self, step: &Step, act: &Act, live: &BTreeMap<TerminalRef, bool>) {
        if self.handed_over {
            self.fault(step, "after the handover".to_owned());
        }
        match act.deed {
            Deed::Prepare => match act.on.as_str() {
                "workplace" => self.workplace = true,
                "board" => {
                    if !self.workplace {
                        self.fault(step, "no workplace".to_owned());
                    }
                    self.board_ready = true;
                }
                _ => {
                    if !self.workplace {
                        self.fault(step, "no workplace".to_owned());
                    }
                    for (ix, device) in self.system.devices.iter().enumerate() {
                        if matches!(device.spec, Spec::StartBattery(_)) && !self.off_battery.contains(&ix) {
                            self.faults.push(format!("{}: drilling beside a live engine battery", step.id));
                        }
                    }
                    self.vehicle_ready = true;
                }
            },
            Deed::Mount => {
                let ix = self.device(&act.on);
                let ready =
                    if step.stage == pack::Stage::Bench { self.board_ready } else { self.vehicle_ready };
                if !ready {
                    self.fault(step, format!("no place for {}", act.on));
                }
                let posts = self.system.conductors.iter().any(|c| {
                    c.is_internal
                        && [(c.from, c.to), (c.to, c.from)]
                            .iter()
                            .any(|(a, b)| a.device == ix && matches!(self.spec(b.device), Spec::Battery(_)))
                });
                if !posts {
                    self.dead_work(step, &format!("{} is mounted", act.on));
                }
                if matches!(self.spec(ix), Spec::Array(_)) && !self.covered.contains(&ix) {
                    self.fault(step, format!("{} is mounted uncovered", act.on));
                }
                if step.stage == pack::Stage::Bench {
                    self.bench.insert(ix);
                }
                let is_new = self.mounted.insert(ix);
                self.once(step, is_new, "mounted", &act.on);
            }
            Deed::Place => {
                if !self.vehicle_ready || !self.read.iter().any(|id| id.starts_with("continuity:")) {
                    self.fault(step, "the board has no place".to_owned());
                }
                self.dead_work(step, "the board is placed");
                self.board_placed = true;
            }
            Deed::Make => {
                let ix = self.cable(&act.on);
                if !self.workplace {
                    self.fault(step, "no workplace".to_owned());
                }
                let is_new = self.made.insert(ix);
                self.once(step, is_new, "made", &act.on);
            }
            Deed::Lay => self.lay(step, act),
            Deed::Join => self.join(step, act, live),
            Deed::Insert | Deed::Close => self.close(step, act, live),
            Deed::Remove | Deed::Open => {
                let ix = self.device(&act.on);
                if !self.on.remove(&ix) {
                    self.fault(step, format!("{} is off already", act.on));
                }
            }
            Deed::Cover => {
                let ix = self.device(&act.on);
                self.covered.insert(ix);
            }
            Deed::Uncover => {
                let ix = self.device(&act.on);
                if self.system.bank.is_some() && !self.read.contains("idle:dc") {
                    self.fault(step, "the bank's side is not proved".to_owned());
                }
                self.covered.remove(&ix);
            }
            Deed::TakeOff => {
                let ix = self.device(&act.on);
                if !self.workplace {
                    self.fault(step, "no tools".to_owned());
                }
                self.off_battery.insert(ix);
            }
            Deed::PutBack => {
                let ix = self.device(&act.on);
                if !self.off_battery.remove(&ix) {
                    self.fault(step, format!("{} is on already", act.on));
                }
            }
            Deed::Set => {
                let ix = self.device(&act.on);
                let is_fed = self.system.devices[ix].terminals.iter().enumerate().any(|(terminal, t)| {
                    t.pole == Pole::Positive && live.contains_key(&TerminalRef { device: ix, terminal })
                });
                let is_shunt = matches!(self.spec(ix), Spec::Shunt(_));
                if !is_fed && !is_shunt {
                    self.fault(step, format!("{} has no battery to be set by", act.on));
                }
                if is_shunt {
                    self.zero(step, live);
                }
                self.set.insert(ix);
            }
            Deed::Precharge => {
                let ix = self.device(&act.on);
                self.filled.insert(ix);
            }
            Deed::Start => {
                let ix = self.device(&act.on);
                self.start(step, ix, live);
                self.running.insert(ix);
            }
            Deed::Stop => {
                let ix = self.device(&act.on);
                self.running.remove(&ix);
            }
            Deed::HandOver => self.handed_over = true,
        }
    }

    fn lay(&mut self, step: &Step, act: &Act) {
        let ix = self.cable(&act.on);
        if !self.made.contains(&ix) || !self.read.contains(&format!("continuity:{}", act.on)) {
            self.fault(step, format!("{} is laid before it is made and rung out", act.on));
        }
        if step.stage != pack::Stage::Bench && !self.vehicle_ready {
            self.fault(step, format!("no way for {}", act.on));
        }
        self.dead_work(step, &format!("{} is laid", act.on));
        if step.stage == pack::Stage::Bench && self.board_placed {
            self.fault(step, format!("{} is wired at the bench when the board is gone", act.on));
        }
        let is_new = self.laid.insert(ix);
        self.once(step, is_new, "laid", &act.on);
    }

    fn join(&mut self, step: &Step, act: &Act, live: &BTreeMap<TerminalRef, bool>) {
        let ix = self.cable(&act.on);
        let name = act.at.clone().unwrap();
        let at = self.system.find_terminal(&name).unwrap_or_else(|| panic!("no terminal {name}"));
        let c = self.system.conductors[ix].clone();
        assert!(c.from == at || c.to == at, "{} does not end at {name}", act.on);
        if !self.laid.contains(&ix) {
            self.fault(step, format!("{} is joined before it is laid", act.on));
        }
        let other = if c.from == at { c.to } else { c.from };
        let system = self.system;
        let is_post = |at: TerminalRef| matches!(system.devices[at.device].spec, Spec::Battery(_));
        // The holder on a post hangs on its lead before it is fixed.
        let on_post = self.system.conductors.iter().any(|c| {
            c.is_internal
                && (c.from.device == at.device && is_post(c.to)
                    || c.to.device == at.device && is_post(c.from))
        });
        if !self.mounted.contains(&at.device) && !on_post {
            self.fault(step, format!("{name} is not there yet"));
        }
        let is_live =
            live.contains_key(&at) || (self.joined.contains(&(ix, other)) && live.contains_key(&other));
        if is_live && !(is_post(at) && step.live.contains(&name) || is_post(other)) {
            self.fault(step, format!("{} is joined at {name} while it is live", act.on));
        }
        if is_post(at) {
            let both_posts = is_post(other);
            let battery = &self.system.devices[at.device].id;
            if !self.read.contains(&format!("volts:{battery}.positive")) {
                self.fault(step, format!("{battery} was not measured"));
            }
            if !both_posts && !self.joined.contains(&(ix, other)) {
                self.fault(
                    step,
                    format!("{} hangs free at its other end when it is joined to {name}", act.on),
                );
            }
            self.last_of_all(step);
        } else if step.stage != pack::Stage::Bench
            && !matches!(self.spec(at.device), Spec::Array(_))
            && !on_post
        {
            self.dead_work(step, &format!("{} is joined at {name}", act.on));
        }
        if step.stage != pack::Stage::Bench && self.bench.contains(&at.device) && !self.board_placed {
            self.fault(step, format!("{name} is on a board that is not placed"));
        }
        let is_new = self.joined.insert((ix, at));
        self.once(step, is_new, "joined", &format!("{} at {name}", act.on));
    }

    /// Ends at batteries, arrays and holders on a battery's post.
    fn is_joined_last(&self, at: TerminalRef) -> bool {
        let is_battery = |at: TerminalRef| matches!(self.spec(at.device), Spec::Battery(_));
        matches!(self.spec(at.device), Spec::Battery(_) | Spec::Array(_))
            || self.system.conductors.iter().any(|l| {
                l.is_internal
                    && [(l.from, l.to), (l.to, l.from)]
                        .iter()
                        .any(|(a, b)| a.device == at.device && is_battery(*b))
            })
    }

    /// Batteries come after every test of the rest.
    fn last_of_all(&mut self, step: &Step) {
        for (ix, circuit) in self.system.circuits.iter().enumerate() {
            let is_cut = self.system.conductors.iter().any(|c| c.circuit == ix && !c.is_internal);
            if is_cut && !matches!(circuit.kind, CircuitKind::Bond | CircuitKind::BankLink) {
                for kind in ["polarity", "insulation"] {
                    if !self.read.contains(&format!("{kind}:{}", circuit.id)) {
                        self.faults
                            .push(format!("{}: the bank is joined before {kind} of {}", step.id, circuit.id));
                    }
                }
            }
        }
        for (ix, device) in self.system.devices.iter().enumerate() {
            let on_post = self.system.conductors.iter().any(|c| {
                let other = if c.from.device == ix { c.to.device } else { c.from.device };
                c.is_internal
                    && (c.from.device == ix || c.to.device == ix)
                    && matches!(self.spec(other), Spec::Battery(_))
            });
            if !self.mounted.contains(&ix) && !on_post {
                self.faults.push(format!("{}: the bank is joined before {} stands", step.id, device.id));
            }
        }
        for (ix, c) in self.system.conductors.iter().enumerate() {
            let is_bond = self.system.circuits[c.circuit].kind == CircuitKind::Bond;
            if is_bond && !c.is_internal && !self.read.contains(&format!("bond:{}", c.id)) {
                self.faults.push(format!("{}: the bank is joined before {} is tried", step.id, c.id));
            }
            for at in [c.from, c.to] {
                if !c.is_internal && !self.is_joined_last(at) && !self.joined.contains(&(ix, at)) {
                    self.faults.push(format!("{}: the bank is joined before {}", step.id, c.id));
                }
            }
        }
    }
}
