//! What may be closed, started and read, and what must have become true by then.
//! Never: knows which step comes next.
//! Start at [`Site::after`].

use std::collections::{BTreeMap, BTreeSet};

use model::{CircuitKind, Pole, Spec, TerminalRef};
use pack::{Act, Deed, Step};
use reference::Reference;

use super::{Site, is_gate};

type Live = BTreeMap<TerminalRef, bool>;

impl Site<'_> {
    fn of_kind(&self, is: fn(&Spec) -> bool) -> Vec<usize> {
        (0..self.system.devices.len()).filter(|ix| is(self.spec(*ix))).collect()
    }

    fn is_live(&self, live: &Live, device: usize, name: &str) -> bool {
        let at = self.system.devices[device].terminals.iter().position(|t| t.name == name);
        at.is_some_and(|terminal| live.contains_key(&TerminalRef { device, terminal }))
    }

    fn any_live(&self, live: &Live, device: usize) -> bool {
        (0..self.system.devices[device].terminals.len())
            .any(|terminal| live.contains_key(&TerminalRef { device, terminal }))
    }

    pub fn close(&mut self, step: &Step, act: &Act, live: &Live) {
        let ix = self.device(&act.on);
        if !self.mounted.contains(&ix) {
            self.fault(step, format!("{} is not there yet", act.on));
        }
        let is_bolted = matches!(self.spec(ix), Spec::Fuse(fuse) if fuse.panel.is_none());
        let was_live = self.any_live(live, ix);
        if is_bolted && self.is_live(live, ix, "in") && self.is_live(live, ix, "out") {
            let feeds = self
                .on
                .iter()
                .any(|ix| matches!(self.spec(*ix), Spec::Disconnect(_)) && self.any_live(live, *ix));
            if feeds {
                self.fault(
                    step,
                    format!("{} is inserted between two live sides that feed something", act.on),
                );
            }
        }
        if !self.on.insert(ix) {
            self.fault(step, format!("{} is on already", act.on));
        }
        if is_bolted && was_live {
            for end in self.live(true).keys().filter(|end| !live.contains_key(end)) {
                let takes = !matches!(
                    self.spec(end.device),
                    Spec::Fuse(_)
                        | Spec::Breaker(_)
                        | Spec::Disconnect(_)
                        | Spec::Busbar(_)
                        | Spec::FusePanel(_)
                        | Spec::Shunt(_)
                );
                if takes {
                    let name = self.system.terminal_name(*end);
                    self.faults.push(format!("{}: {} is inserted live, onto {name}", step.id, act.on));
                }
            }
        }
    }

    /// What must hold after every single deed.
    pub fn after(&mut self, step: &Step, act: &Act, before: &Live) {
        let live = self.live(true);
        let cables_before = self.live_cables(before);
        for ix in self.live_cables(&live).difference(&cables_before) {
            self.newly_live(step, *ix, &live);
        }
        let without_sun = self.live(false);
        let limit = Reference::standard().precharge_from().value;
        for (ix, device) in self.system.devices.iter().enumerate() {
            let (input, is_source_live) = match &device.spec {
                Spec::Controller(..) => ("array-positive", self.is_live(&live, ix, "array-positive")),
                Spec::DcDc(..) => ("in-positive", self.is_live(&live, ix, "in-positive")),
                _ => ("", false),
            };
            if is_source_live && !self.set.contains(&ix) {
                self.faults.push(format!("{}: {}.{input} is live before it is set up", step.id, device.id));
            }
            if is_source_live
                && matches!(device.spec, Spec::Controller(..))
                && !self.is_live(&without_sun, ix, "positive")
            {
                self.faults.push(format!("{}: {} has its array without its battery", step.id, device.id));
            }
            if let Spec::Inverter(part, _) = &device.spec
                && part.capacitance >= limit
                && self.is_live(&live, ix, "positive")
                && !self.is_live(before, ix, "positive")
                && !self.filled.contains(&ix)
            {
                self.faults.push(format!("{}: {} is closed onto with empty capacitors", step.id, device.id));
            }
            let is_new_load = matches!(device.spec, Spec::Load(_))
                && self.any_live(&live, ix)
                && !self.any_live(before, ix);
            if is_new_load && matches!(act.deed, Deed::Start | Deed::PutBack | Deed::Join | Deed::Mount) {
                self.faults.push(format!("{}: {} goes live by {:?}", step.id, device.id, act.deed));
            }
        }
    }

    fn newly_live(&mut self, step: &Step, ix: usize, live: &Live) {
        let c = &self.system.conductors[ix];
        if c.is_internal {
            return;
        }
        let circuit = &self.system.circuits[c.circuit];
        let mut wanted = vec![format!("continuity:{}", c.id)];
        if circuit.kind != CircuitKind::BankLink {
            wanted.extend([format!("polarity:{}", circuit.id), format!("insulation:{}", circuit.id)]);
        }
        for reading in wanted {
            if !self.read.contains(&reading) {
                self.faults.push(format!("{}: {} goes live before {reading}", step.id, c.id));
            }
        }
        let guarded = [c.from, c.to].iter().filter_map(|end| live.get(end)).all(|guarded| *guarded);
        let is_lead_in = [c.from, c.to].iter().any(|end| is_gate(self.spec(end.device)));
        // What an array can give is bounded by its light; links inside the bank have no fuse by their nature.
        let needs_none = matches!(circuit.kind, CircuitKind::BankLink | CircuitKind::Array);
        if !guarded && !is_lead_in && !needs_none {
            self.faults.push(format!("{}: {} is live and nothing protects it", step.id, c.id));
        }
    }

    pub fn zero(&mut self, step: &Step, live: &Live) {
        let bars = self.of_kind(|spec| matches!(spec, Spec::Busbar(_)));
        let plus = |ix: &usize| self.system.devices[*ix].terminals[0].pole == Pole::Positive;
        let dark: Vec<usize> = bars.into_iter().filter(plus).filter(|ix| !self.any_live(live, *ix)).collect();
        if !dark.is_empty() {
            self.fault(step, "the monitor is zeroed while the bars are dead".to_owned());
        }
        let takers = self.of_kind(|spec| {
            matches!(
                spec,
                Spec::Load(_)
                    | Spec::Inverter(..)
                    | Spec::Converter(_)
                    | Spec::Controller(..)
                    | Spec::DcDc(..)
                    | Spec::FusePanel(_)
            )
        });
        for ix in takers {
            if self.is_live(live, ix, "positive") || self.is_live(live, ix, "in-positive") {
                let id = self.system.devices[ix].id.clone();
                self.fault(step, format!("the monitor is zeroed while {id} takes current"));
            }
        }
    }

    pub fn start(&mut self, step: &Step, ix: usize, live: &Live) {
        let has = |is: fn(&Spec) -> bool| self.system.devices.iter().any(|device| is(&device.spec));
        let mut wrong: Vec<String> = Vec::new();
        match self.spec(ix) {
            Spec::Inverter(_, setting) => {
                if !self.is_live(live, ix, "positive") {
                    wrong.push("the inverter has no battery".to_owned());
                }
                if setting.is_some() && !self.set.contains(&ix) {
                    wrong.push("the inverter is not set up".to_owned());
                }
                if !self.read.contains("idle:dc") {
                    wrong.push("the bank's side is not proved".to_owned());
                }
            }
            Spec::Inlet(_) | Spec::Generator(_) => {
                if has(|spec| matches!(spec, Spec::Battery(_))) && !self.read.contains("idle:dc") {
                    wrong.push("the bank's side is not proved".to_owned());
                }
                if has(|spec| matches!(spec, Spec::Inverter(..))) && !self.read.contains("idle:ac") {
                    wrong.push("the AC side is not proved".to_owned());
                }
                for charger in
                    self.of_kind(|spec| matches!(spec, Spec::Charger(..) | Spec::Inverter(_, Some(_))))
                {
                    if !self.set.contains(&charger) {
                        wrong.push("a charger is not set up".to_owned());
                    }
                }
            }
            Spec::Alternator(_) => {
                if !self.off_battery.is_empty() {
                    wrong.push("the engine battery is off".to_owned());
                }
            }
            _ => wrong.push("it is no source".to_owned()),
        }
        for text in wrong {
            self.fault(step, text);
        }
    }

    /// Every fuse and disconnect that current could reach, were all closed.
    fn reachable(&self, with_inverters: bool) -> BTreeSet<usize> {
        let mut all = self.clone();
        all.on = all.of_kind(is_gate).into_iter().collect();
        all.off_battery = all.of_kind(|spec| matches!(spec, Spec::StartBattery(_))).into_iter().collect();
        all.running.clear();
        if with_inverters {
            all.running = all.of_kind(|spec| matches!(spec, Spec::Inverter(..))).into_iter().collect();
        }
        let live = all.live(false);
        all.of_kind(is_gate).into_iter().filter(|ix| all.any_live(&live, *ix)).collect()
    }

    pub fn reading(&mut self, step: &Step, id: &str) {
        if self.handed_over {
            self.fault(step, format!("{id}: after the handover"));
        }
        let live = self.live(true);
        let (kind, of) = id.split_once(':').unwrap();
        match kind {
            "continuity" => {
                let ix = self.cable(of);
                if !self.made.contains(&ix) {
                    self.fault(step, format!("{id}: not made"));
                }
            }
            "polarity" | "insulation" => self.test(step, id, of, &live),
            "bond" => {
                let c = self.system.conductors[self.cable(of)].clone();
                let ix = self.cable(of);
                if !self.joined.contains(&(ix, c.from)) || !self.joined.contains(&(ix, c.to)) {
                    self.fault(step, format!("{id}: not joined"));
                }
            }
            "volts" => {
                let at = self.system.find_terminal(of).unwrap();
                if !live.contains_key(&at) {
                    self.fault(step, format!("{id}: there is no voltage"));
                }
            }
            "dead" => {
                let at = self.system.find_terminal(of).unwrap();
                if live.contains_key(&at) {
                    self.fault(step, format!("{id}: it is live"));
                }
            }
            "drop" => {
                let circuit = self.system.circuits.iter().find(|circuit| circuit.id == of).unwrap();
                if !circuit.serves.iter().all(|ix| self.any_live(&live, *ix)) {
                    self.fault(step, format!("{id}: it is dead"));
                }
            }
            "amps" | "amps-mains" => {
                let ix = self.device(of);
                let names: &[&str] = match self.spec(ix) {
                    Spec::Controller(..) => &["array-positive"],
                    Spec::DcDc(..) => &["in-positive"],
                    Spec::Relay(_) => &["engine"],
                    Spec::Inverter(..) => &["in-line"],
                    _ => &["line"],
                };
                if !names.iter().any(|name| self.is_live(&live, ix, name)) {
                    self.fault(step, format!("{id}: it has no source"));
                }
                let is_engine = matches!(self.spec(ix), Spec::DcDc(..) | Spec::Relay(_));
                let runs = self.running.iter().any(|ix| matches!(self.spec(*ix), Spec::Alternator(_)));
                if is_engine && !runs {
                    self.fault(step, format!("{id}: the engine stands"));
                }
            }
            "idle" => {
                for ix in self.reachable(of == "ac") {
                    if !self.on.contains(&ix) {
                        let name = self.system.devices[ix].id.clone();
                        self.fault(step, format!("{id}: {name} is off"));
                    }
                }
            }
            "residual" => {
                let ix = self.device(of);
                if !self.on.contains(&ix) || !self.any_live(&live, ix) {
                    self.fault(step, format!("{id}: it is dead"));
                }
            }
            "polarity-supply" => {
                let ix = self.device(of);
                if !self.running.contains(&ix) {
                    self.fault(step, format!("{id}: it is dead"));
                }
            }
            "difference" => {}
            other => panic!("a reading of an unknown kind: {other}"),
        }
    }

    fn test(&mut self, step: &Step, id: &str, circuit: &str, live: &Live) {
        let circuit = self.system.circuits.iter().position(|found| found.id == circuit).unwrap();
        let live_cables = self.live_cables(live);
        for (ix, c) in
            self.system.conductors.iter().enumerate().filter(|(_, c)| c.circuit == circuit && !c.is_internal)
        {
            if live_cables.contains(&ix) {
                self.faults.push(format!("{}: {id} on a live conductor", step.id));
            }
            for at in [c.from, c.to] {
                let hangs = self.is_joined_last(at);
                if !hangs && !self.joined.contains(&(ix, at)) {
                    self.faults.push(format!("{}: {id} before {} is joined", step.id, c.id));
                }
                if self.bench.contains(&at.device) && !self.board_placed {
                    self.faults.push(format!("{}: {id} before the board is in place", step.id));
                }
            }
        }
    }

    /// What must be true at the end.
    pub fn end(&mut self) {
        let mut left: Vec<String> = Vec::new();
        for (ix, device) in self.system.devices.iter().enumerate() {
            if !self.mounted.contains(&ix) {
                left.push(format!("{} was never mounted", device.id));
            }
            if is_gate(&device.spec) && !self.on.contains(&ix) {
                left.push(format!("{} was never closed", device.id));
            }
            if matches!(
                device.spec,
                Spec::Shunt(_)
                    | Spec::Controller(..)
                    | Spec::DcDc(..)
                    | Spec::Charger(..)
                    | Spec::Inverter(_, Some(_))
            ) && !self.set.contains(&ix)
            {
                left.push(format!("{} was never set up", device.id));
            }
        }
        for (ix, c) in self.system.conductors.iter().enumerate().filter(|(_, c)| !c.is_internal) {
            if !self.made.contains(&ix) || !self.laid.contains(&ix) || !self.carries(ix) {
                left.push(format!("{} was never made, laid and joined", c.id));
            }
        }
        if !self.covered.is_empty() || !self.off_battery.is_empty() || !self.handed_over {
            left.push("something is still covered, off or not handed over".to_owned());
        }
        self.faults.extend(left);
    }
}
