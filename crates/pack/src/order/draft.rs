//! The steps while they are being written, and their order in the end.
//! Never: knows what a step is about.
//! Start at [`Draft`]; [`Draft::in_order`] sorts by needs, and by stage where needs leave a choice.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap};

use board::Layout;
use model::{
    BoardIntent, CircuitIx, CircuitKind, Conductor, ConductorIx, Device, DeviceIx, Spec, System, TerminalRef,
};
use network::Results;
use reference::Reference;
use rules::Stacks;

use super::gates::Gates;
use super::spots::{Spot, Spots};
use super::step::{Act, Deed, Measure, Need, Stage, Step};

/// The order under construction.
pub struct Draft<'s> {
    pub system: &'s System,
    pub results: &'s Results,
    pub reference: &'static Reference,
    pub spots: Spots,
    pub gates: Gates,
    steps: Vec<Step>,
    by_id: BTreeMap<String, usize>,
    measured: BTreeSet<String>,
    stacks: Stacks,
    edges: BTreeSet<(usize, usize)>,
}

impl<'s> Draft<'s> {
    pub fn of(system: &'s System, results: &'s Results, layout: Option<&Layout>) -> Self {
        let on_board = layout.map_or_else(
            || board::on_board(system, &BoardIntent::default()),
            |layout| layout.devices.iter().map(|placed| placed.device).collect(),
        );
        Self {
            system,
            results,
            reference: Reference::standard(),
            spots: Spots::of(system, &on_board),
            gates: Gates::of(system),
            steps: Vec::new(),
            by_id: BTreeMap::new(),
            measured: BTreeSet::new(),
            stacks: rules::stacks(system, results),
            edges: BTreeSet::new(),
        }
    }

    pub fn device(&self, ix: DeviceIx) -> &'s Device {
        &self.system.devices[ix]
    }

    /// Devices whose kind is asked for.
    pub fn with(&self, is: fn(&Spec) -> bool) -> Vec<DeviceIx> {
        (0..self.system.devices.len()).filter(|ix| is(&self.system.devices[*ix].spec)).collect()
    }

    /// Devices of a spot.
    pub fn at_spot(&self, is: fn(Spot) -> bool) -> Vec<DeviceIx> {
        (0..self.system.devices.len()).filter(|ix| is(self.spots.of[*ix])).collect()
    }

    /// The conductors of a section that are cut and laid.
    pub fn cables_of(&self, section: usize) -> Vec<ConductorIx> {
        self.circuits_of(section).into_iter().flat_map(|(_, cables)| cables).collect()
    }

    /// The circuits of a section, each with the conductors that are cut and laid.
    pub fn circuits_of(&self, section: usize) -> Vec<(CircuitIx, Vec<ConductorIx>)> {
        let cables = |circuit: &CircuitIx| {
            let all = self.spots.conductors_of[*circuit].iter().copied();
            (*circuit, all.filter(|ix| !self.system.conductors[*ix].is_internal).collect())
        };
        self.spots.circuits_in[section].iter().map(cables).collect()
    }

    /// Whether a conductor links two batteries of the bank.
    pub fn is_link(&self, conductor: &Conductor) -> bool {
        let is_battery = |at: TerminalRef| self.spots.of.get(at.device) == Some(&Spot::Bank);
        is_battery(conductor.from) && is_battery(conductor.to)
    }

    /// Whether a circuit of this kind carries current in two poles that can be told apart.
    pub fn is_tested(&self, circuit: CircuitIx) -> bool {
        self.system
            .circuits
            .get(circuit)
            .is_some_and(|circuit| !matches!(circuit.kind, CircuitKind::Bond | CircuitKind::BankLink))
    }

    pub fn name(&self, at: TerminalRef) -> String {
        self.system.terminal_name(at)
    }

    /// A terminal of a device by name.
    pub fn terminal(&self, device: DeviceIx, name: &str) -> Option<TerminalRef> {
        let terminal = self.device(device).terminals.iter().position(|terminal| terminal.name == name)?;
        Some(TerminalRef { device, terminal })
    }

    pub fn has(&self, id: &str) -> bool {
        self.by_id.contains_key(id)
    }

    /// Adds a step. Ids are made of different kinds of names, so that none comes twice.
    ///
    /// Where it joins a lug to a stud that holds several, it tells their order.
    pub fn add(&mut self, mut step: Step) {
        let joined: BTreeSet<(&str, &str)> = step
            .acts
            .iter()
            .filter(|act| act.deed == Deed::Join)
            .filter_map(|act| Some((act.at.as_deref()?, act.on.as_str())))
            .collect();
        let mut orders = Vec::new();
        for stack in self.stacks.studs.iter().filter(|stack| stack.lugs.len() > 1) {
            let terminal = self.name(stack.at);
            let lugs: Vec<&str> =
                stack.lugs.iter().map(|ix| self.system.conductors[*ix].id.as_str()).collect();
            let now = lugs.iter().filter(|lug| joined.contains(&(terminal.as_str(), **lug))).count();
            if now == 0 {
                continue;
            }
            let stud = if stack.studs > 1 { format!(", stud {}", stack.stud) } else { String::new() };
            let later =
                if now < lugs.len() { "; a lug that another step brings goes in at its place" } else { "" };
            orders.push(format!("Lugs on {terminal}{stud}, from the pad up: {}{later}.", lugs.join(", ")));
        }
        step.lines.extend(orders);
        self.by_id.insert(step.id.clone(), self.steps.len());
        self.steps.push(step);
    }

    /// Says that `step` needs `other`; says nothing where either is missing.
    pub fn need(&mut self, step: &str, other: &str, because: &str) {
        if step == other || !self.by_id.contains_key(other) {
            return;
        }
        let (Some(ix), Some(before)) = (self.by_id.get(step), self.by_id.get(other)) else { return };
        let Some(found) = self.steps.get_mut(*ix) else { return };
        if self.edges.insert((*ix, *before)) {
            found.needs.push(Need { step: other.to_owned(), because: because.to_owned() });
        }
    }

    /// Ids of the steps of a kind, the word before the colon.
    pub fn of_kind(&self, kind: &str) -> Vec<String> {
        let is = |step: &&Step| step.id.split(':').next() == Some(kind);
        self.steps.iter().filter(is).map(|step| step.id.clone()).collect()
    }

    /// Ids of the steps that nothing needs yet.
    pub fn leaves(&self) -> Vec<String> {
        let needed: BTreeSet<&str> =
            self.steps.iter().flat_map(|step| &step.needs).map(|need| need.step.as_str()).collect();
        let ids = self.steps.iter().map(|step| &step.id);
        ids.filter(|id| !needed.contains(id.as_str())).cloned().collect()
    }

    /// The steps, numbered: needs first, then by stage, then as they were written.
    pub fn in_order(self) -> Vec<Step> {
        let count = self.steps.len();
        let mut waits: Vec<usize> = vec![0; count];
        let mut frees: Vec<Vec<usize>> = vec![Vec::new(); count];
        for (ix, step) in self.steps.iter().enumerate() {
            for need in &step.needs {
                if let Some(before) = self.by_id.get(&need.step) {
                    waits[ix] += 1;
                    frees[*before].push(ix);
                }
            }
        }
        let key = |ix: usize, steps: &[Step]| Reverse((steps[ix].stage, ix));
        let mut ready: BinaryHeap<Reverse<(Stage, usize)>> =
            (0..count).filter(|ix| waits[*ix] == 0).map(|ix| key(ix, &self.steps)).collect();
        let mut order = Vec::with_capacity(count);
        while let Some(Reverse((_, ix))) = ready.pop() {
            order.push(ix);
            for next in &frees[ix] {
                waits[*next] -= 1;
                if waits[*next] == 0 {
                    ready.push(key(*next, &self.steps));
                }
            }
        }
        let mut steps: Vec<Option<Step>> = self.steps.into_iter().map(Some).collect();
        let sorted = order.into_iter().filter_map(|ix| steps.get_mut(ix)?.take());
        let mut number = 0;
        let numbered = sorted.map(|mut step| {
            number += 1;
            step.number = number;
            step
        });
        numbered.collect()
    }

    /// Makes a device part of a step.
    pub fn holds(&self, step: &mut Step, device: DeviceIx) {
        let id = &self.device(device).id;
        if !step.parts.devices.contains(id) {
            step.parts.devices.push(id.clone());
        }
    }

    /// Mounts a device, with the ways of a panel and the links inside it; two people where it is heavy.
    pub fn mount(&self, step: &mut Step, device: DeviceIx) {
        step.act(Deed::Mount, &self.device(device).id);
        step.parts.devices.push(self.device(device).id.clone());
        let limit = self.reference.lift_alone();
        let each = super::expect::mass_of_one(self.device(device));
        if each > limit.value {
            step.people = 2;
            step.caution(format!(
                "{} has {each}: lift it with two people or a hoist (over {}, {})",
                self.device(device).id,
                limit.value,
                super::expect::document(&limit.cite)
            ));
        }
    }

    /// Makes and lays are told by conductor.
    pub fn on_cable(&self, step: &mut Step, deed: Deed, cable: ConductorIx) {
        let id = &self.system.conductors[cable].id;
        step.act(deed, id);
        if step.parts.conductors.last() != Some(id) && !step.parts.conductors.contains(id) {
            step.parts.conductors.push(id.clone());
        }
    }

    /// Joins one end of a conductor.
    pub fn join(&self, step: &mut Step, cable: ConductorIx, at: TerminalRef) {
        let id = &self.system.conductors[cable].id;
        step.acts.push(Act { deed: Deed::Join, on: id.clone(), at: Some(self.name(at)) });
        if !step.parts.conductors.contains(id) {
            step.parts.conductors.push(id.clone());
        }
    }

    /// Adds a reading; one of the same name stands in one step only.
    pub fn measure(&mut self, step: &mut Step, measure: Measure) {
        if self.measured.insert(measure.id.clone()) {
            step.measures.push(measure);
        }
    }
}
