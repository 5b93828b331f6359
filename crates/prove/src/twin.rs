//! The system's network in one state, in which one thing at a time can be made wrong and every probe read.
//! Never: decides what is wrong (see `fault.rs`). Values of the scenes are those of `network`.
//! Start at [`Twin::all`].

use std::collections::BTreeMap;

use model::{ConductorIx, DeviceIx, Spec, System, TerminalRef};
use network::{ElementId, Netlist, NodeId, Plan, Scene, Solution};
use quantity::{Amps, Ohms, Volts, Watts};
use serde::Serialize;

/// What stands for a contact that is open.
const OPEN_OHMS: f64 = 1e7;
/// What a load's electronics and the meter let through where nothing runs, so that a dead circuit reads zero. From memory.
const LEAK_OHMS: f64 = 2e4;
/// Share of its nominal voltage below which a load has switched off. From memory.
const SWITCHED_OFF: f64 = 0.3;
/// Rounds in which loads that are not carried are taken away.
const ROUNDS: usize = 8;

/// The state in which a reading is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Moment {
    /// Powered, with every load and every charging source off.
    Off,
    /// Night: what runs while waiting.
    Night,
    /// Everything that may run together.
    EverythingOn,
    /// The largest start.
    Starting,
    /// Every charging source gives.
    Charging,
}

impl Moment {
    /// Its word in ids.
    pub fn word(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Night => "night",
            Self::EverythingOn => "everything-on",
            Self::Starting => "starting",
            Self::Charging => "charging",
        }
    }
    /// What must be on and off, in words.
    pub fn state(self) -> &'static str {
        match self {
            Self::Off => "Everything off: loads switched off, chargers off, array disconnected",
            Self::Night => {
                "As at night: chargers off, array covered or disconnected, only what runs while waiting"
            }
            Self::EverythingOn => "Chargers off, everything on that may run together, for five minutes",
            Self::Starting => {
                "Chargers off, everything on; start the largest load and keep the lowest reading (min hold)"
            }
            Self::Charging => "Every charging source on, bank not full, loads as at night",
        }
    }
}

/// What a probe reads in the network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Probe {
    /// Volts between two terminals, the first on the red lead.
    Volts(TerminalRef, TerminalRef),
    /// Amps through a device: what passes it, what it takes, or what it gives.
    Amps(DeviceIx),
}

/// A part of the network that carries current.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Path {
    /// A conductor with the joints at its ends.
    Conductor(ConductorIx),
    /// A fuse, breaker, disconnect, shunt or relay.
    Device(DeviceIx),
}

/// One thing that is wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Change {
    /// Nothing.
    Nothing,
    /// Resistance added [Ω].
    Extra(Path, f64),
    /// No connection.
    Open(Path),
    /// The bank's internal resistance times this.
    Bank(f64),
    /// A load's power times this.
    Load(DeviceIx, f64),
    /// Current drawn between the bars that nobody planned [A].
    Draw(f64),
    /// A charging source's current times this.
    Source(DeviceIx, f64),
}

struct Through {
    input: ElementId,
    output: ElementId,
    /// Volts at the input below which it gives nothing.
    least_v: f64,
}

/// The network in one state.
pub struct Twin {
    /// The state.
    pub moment: Moment,
    net: Netlist,
    plan: Plan,
    nodes: Vec<Vec<Option<NodeId>>>,
    conductors: Vec<Option<ElementId>>,
    passes: Vec<Vec<ElementId>>,
    stands: Vec<Option<ElementId>>,
    batteries: Vec<ElementId>,
    series: f64,
    draw: Option<ElementId>,
    converters: Vec<Through>,
    /// What takes a power, with the volts below which it has switched off.
    takers: Vec<(ElementId, f64)>,
}

impl Twin {
    /// One for each state that the network can be solved in.
    pub fn all(system: &System) -> Vec<Twin> {
        let nets = network::netlists(system);
        let of = |scene| nets.iter().find(|(known, _)| *known == scene).map(|(_, net)| net.clone());
        [
            (Moment::Off, Scene::Night),
            (Moment::Night, Scene::Night),
            (Moment::EverythingOn, Scene::EverythingOn),
            (Moment::Starting, Scene::Starting),
            (Moment::Charging, Scene::Charging),
        ]
        .into_iter()
        .filter_map(|(moment, scene)| Twin::of(system, moment, of(scene)?))
        .collect()
    }

    fn of(system: &System, moment: Moment, mut net: Netlist) -> Option<Twin> {
        let mut by_name: BTreeMap<String, NodeId> = BTreeMap::new();
        for index in 0..net.node_count() {
            let node = net.node_at(index)?;
            by_name.insert(net.name(node).to_owned(), node);
        }
        let nodes: Vec<Vec<Option<NodeId>>> = system
            .devices
            .iter()
            .map(|device| {
                let node = |terminal: &model::Terminal| {
                    by_name.get(&format!("{}.{}", device.id, terminal.name)).copied()
                };
                device.terminals.iter().map(node).collect()
            })
            .collect();
        // Elements between two nodes, in the order in which they were made: conductors stand before devices.
        let mut between: BTreeMap<(NodeId, NodeId), Vec<ElementId>> = BTreeMap::new();
        for index in (0..net.element_count()).rev() {
            let element = net.element_at(index)?;
            between.entry(net.ends(element)?).or_default().push(element);
        }
        let node =
            |at: TerminalRef| nodes.get(at.device).and_then(|list| list.get(at.terminal)).copied().flatten();
        let conductors: Vec<Option<ElementId>> = system
            .conductors
            .iter()
            .map(|conductor| between.get_mut(&(node(conductor.from)?, node(conductor.to)?))?.pop())
            .collect();
        let named = |ix: DeviceIx, name: &str| {
            let device = system.devices.get(ix)?;
            let terminal = device.terminals.iter().position(|terminal| terminal.name == name)?;
            node(TerminalRef { device: ix, terminal })
        };
        let (mut passes, mut stands) = (vec![Vec::new(); system.devices.len()], Vec::new());
        let (mut converters, mut leaks, mut takers) = (Vec::new(), Vec::new(), Vec::new());
        for (ix, device) in system.devices.iter().enumerate() {
            if let Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_) | Spec::Shunt(_) | Spec::Relay(_) =
                device.spec
            {
                for (one, other) in
                    [("in", "out"), ("in-negative", "out-negative"), ("bank", "system"), ("engine", "house")]
                {
                    if let (Some(one), Some(other)) = (named(ix, one), named(ix, other)) {
                        passes[ix].extend(between.get_mut(&(one, other)).and_then(Vec::pop));
                    }
                }
                stands.push(None);
                continue;
            }
            let ends = named(ix, "positive").zip(named(ix, "negative"));
            let stand = ends.and_then(|ends| between.get_mut(&ends)?.pop());
            if let Some(ends) = ends {
                leaks.push(ends);
            }
            let input = named(ix, "in-positive").and_then(|plus| {
                let minus = named(ix, "in-negative").or_else(|| named(ix, "negative"))?;
                between.get_mut(&(plus, minus))?.pop()
            });
            if let (Some(input), Some(output)) = (input, stand) {
                let least_v = match &device.spec {
                    Spec::Converter(part) => part.input.get() * 0.5,
                    Spec::DcDc(part, _) => part.lowest_input.get(),
                    _ => 0.0,
                };
                converters.push(Through { input, output, least_v });
            }
            let nominal = match &device.spec {
                Spec::Load(load) => Some(load.voltage),
                Spec::Inverter(part, _) => Some(part.voltage),
                _ => None,
            };
            if let (Some(nominal), Some(element)) = (nominal, stand) {
                takers.push((element, nominal.get() * SWITCHED_OFF));
            }
            stands.push(stand);
        }
        let bank = system.bank.as_ref()?;
        let batteries: Vec<ElementId> =
            bank.batteries.iter().filter_map(|ix| stands.get(*ix).copied().flatten()).collect();
        for (plus, minus) in leaks {
            net.resistor(plus, minus, Ohms::new(LEAK_OHMS));
        }
        let draw =
            bars(system).and_then(|(plus, minus)| Some(net.current(node(plus)?, node(minus)?, Amps::zero())));
        if moment == Moment::Off {
            for (element, _) in &takers {
                let element = *element;
                net.set_watts(element, Watts::zero());
                if net.watts(element).is_none() {
                    net.set_ohms(element, Ohms::new(OPEN_OHMS));
                }
            }
        }
        let plan = Plan::new(&net).ok()?;
        let series = f64::from(bank.series.max(1));
        Some(Twin {
            moment,
            net,
            plan,
            nodes,
            conductors,
            passes,
            stands,
            batteries,
            series,
            draw,
            converters,
            takers,
        })
    }

    /// The nodes, elements and their values, for checks against a circuit simulator.
    pub fn netlist(&self) -> &Netlist {
        &self.net
    }

    /// The netlist at a bank voltage [V] with something wrong, as [`Twin::solve`] solves it first.
    pub fn changed(&self, bank_v: f64, change: Change) -> Netlist {
        let mut net = self.net.clone();
        for element in &self.batteries {
            net.set_volts(*element, Volts::new(bank_v / self.series));
        }
        let elements = |path: Path| match path {
            Path::Conductor(ix) => self.conductors.get(ix).copied().flatten().into_iter().collect(),
            Path::Device(ix) => self.passes.get(ix).cloned().unwrap_or_default(),
        };
        match change {
            Change::Nothing => {}
            Change::Extra(path, ohms) => {
                if let Some(element) = elements(path).first() {
                    let before = net.ohms(*element).unwrap_or_default();
                    net.set_ohms(*element, before + Ohms::new(ohms));
                }
            }
            Change::Open(path) => {
                for element in elements(path) {
                    net.set_ohms(element, Ohms::new(OPEN_OHMS));
                }
            }
            Change::Bank(times) => {
                for element in &self.batteries {
                    let before = net.ohms(*element).unwrap_or_default();
                    net.set_ohms(*element, before * times);
                }
            }
            Change::Load(ix, times) => {
                if let Some(element) = self.stands.get(ix).copied().flatten() {
                    match net.watts(element) {
                        Some(watts) => net.set_watts(element, watts * times),
                        None => {
                            let before = net.ohms(element).unwrap_or_default();
                            net.set_ohms(element, before / times.max(1e-6));
                        }
                    }
                }
            }
            Change::Draw(amps) => {
                if let Some(element) = self.draw {
                    net.set_amps(element, Amps::new(amps));
                }
            }
            Change::Source(ix, times) => {
                if let Some(element) = self.stands.get(ix).copied().flatten() {
                    let before = net.amps(element).unwrap_or_default();
                    net.set_amps(element, before * times);
                }
            }
        }
        net
    }

    /// Solves at a bank voltage [V] with something wrong; loads that are not carried drop out, converters without input stop.
    pub fn solve(&self, bank_v: f64, change: Change) -> Option<Solution> {
        let mut net = self.changed(bank_v, change);
        let mut solution = self.plan.solve(&net).ok()?;
        for _ in 0..ROUNDS {
            let mut is_changed = false;
            if let Some(collapse) = solution.collapse() {
                net.set_watts(collapse.load, Watts::zero());
                is_changed = true;
            }
            // What stands far below its voltage has switched off, whatever it asked for.
            let inputs = self.converters.iter().map(|through| (through.input, through.least_v));
            for (element, least_v) in self.takers.iter().copied().chain(inputs) {
                let is_on = net.watts(element).is_some_and(|watts| watts > Watts::zero());
                if is_on && across(&net, &solution, element) < least_v {
                    net.set_watts(element, Watts::zero());
                    is_changed = true;
                }
            }
            for through in &self.converters {
                let is_on = net.ohms(through.output).is_some()
                    && across(&net, &solution, through.output) > 0.5
                    && across(&net, &solution, through.input) < through.least_v;
                if is_on && solution.amps(through.output).get() > 1e-6 {
                    net.set_volts(through.output, Volts::zero());
                    net.set_amps(through.output, Amps::zero());
                    net.set_ohms(through.output, Ohms::new(OPEN_OHMS));
                    net.set_watts(through.input, Watts::zero());
                    is_changed = true;
                }
            }
            if !is_changed {
                break;
            }
            solution = self.plan.solve(&net).ok()?;
        }
        Some(solution)
    }

    /// What a probe reads [V or A]; `None` where it touches nothing of the network.
    pub fn read(&self, solution: &Solution, probe: Probe) -> Option<f64> {
        let node = |at: TerminalRef| self.nodes.get(at.device)?.get(at.terminal).copied().flatten();
        match probe {
            Probe::Volts(plus, minus) => Some(solution.volts_between(node(plus)?, node(minus)?).get()),
            Probe::Amps(ix) => {
                let element = match self.passes.get(ix)?.first() {
                    Some(element) => *element,
                    None => self.stands.get(ix).copied().flatten()?,
                };
                Some(solution.amps(element).get())
            }
        }
    }

    /// Resistance of a part of the network [Ω].
    pub fn ohms(&self, path: Path) -> Option<f64> {
        let element = match path {
            Path::Conductor(ix) => self.conductors.get(ix).copied().flatten()?,
            Path::Device(ix) => *self.passes.get(ix)?.first()?,
        };
        self.net.ohms(element).map(Ohms::get)
    }

    /// Amps through a part of the network.
    pub fn amps(&self, solution: &Solution, path: Path) -> Option<f64> {
        let element = match path {
            Path::Conductor(ix) => self.conductors.get(ix).copied().flatten()?,
            Path::Device(ix) => *self.passes.get(ix)?.first()?,
        };
        Some(solution.amps(element).get())
    }

    /// Whether a device takes a power that can be more or less than planned.
    pub fn has_power(&self, ix: DeviceIx) -> bool {
        self.stands
            .get(ix)
            .copied()
            .flatten()
            .is_some_and(|element| self.net.watts(element).is_some_and(|watts| watts > Watts::zero()))
    }

    /// Whether a device is a source with a current above zero.
    pub fn gives(&self, ix: DeviceIx) -> bool {
        self.stands
            .get(ix)
            .copied()
            .flatten()
            .is_some_and(|element| self.net.amps(element).is_some_and(|amps| amps > Amps::zero()))
    }
}

fn across(net: &Netlist, solution: &Solution, element: ElementId) -> f64 {
    net.ends(element).map_or(0.0, |(plus, minus)| solution.volts_between(plus, minus).get())
}

/// The bars, or the ends of the bank where there are none.
pub fn bars(system: &System) -> Option<(TerminalRef, TerminalRef)> {
    let bar = |pole| {
        system.devices.iter().position(|device| {
            matches!(device.spec, Spec::Busbar(_)) && device.terminals.first().is_some_and(|t| t.pole == pole)
        })
    };
    match (bar(model::Pole::Positive), bar(model::Pole::Negative)) {
        (Some(plus), Some(minus)) => {
            Some((TerminalRef { device: plus, terminal: 0 }, TerminalRef { device: minus, terminal: 0 }))
        }
        _ => bank_ends(system),
    }
}

/// The posts of the bank: positive of the last battery of the first string, negative of its first.
pub fn bank_ends(system: &System) -> Option<(TerminalRef, TerminalRef)> {
    let bank = system.bank.as_ref()?;
    let place = |ix: &DeviceIx| match &system.devices.get(*ix)?.spec {
        Spec::Battery(battery) => Some((battery.string, battery.place)),
        _ => None,
    };
    let first = bank.batteries.iter().min_by_key(|ix| place(ix))?;
    let string = place(first)?.0;
    let last = bank
        .batteries
        .iter()
        .filter(|ix| place(ix).is_some_and(|(of, _)| of == string))
        .max_by_key(|ix| place(ix))?;
    let terminal = |device: DeviceIx, name: &str| {
        let terminal = system.devices.get(device)?.terminals.iter().position(|t| t.name == name)?;
        Some(TerminalRef { device, terminal })
    };
    Some((terminal(*last, "positive")?, terminal(*first, "negative")?))
}
