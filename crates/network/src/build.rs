//! A system as a netlist: one node for each direct-current terminal, one element for each thing between two of them.
//! Never: decides what runs (see `scenes.rs`), solves.
//! Start at [`Built::of`]. Scenes change values only, so that one analysed pattern serves them all.

use model::{Device, DeviceIx, Pole, Spec, System, TerminalRef};
use quantity::{Amps, Ohms, Volts, Watts};

use crate::netlist::{BelowCutoff, Element, ElementId, Kind, Netlist, NodeId};
use crate::ohms::{OPEN, through};

/// Regulated sources hold their voltage at their own terminals; the cable is in the network. From memory.
const REGULATED: f64 = 1e-3;
/// Joins circuits that touch nowhere, so that all voltages have one zero; no current closes through it.
/// From this resistance on nothing counts as joined: ties, open contacts, loads switched off.
pub(crate) const TIE: f64 = 1e3;
/// A start battery at rest stands this far above its nominal voltage. From memory: 12.7 V of 12 V.
const REST: f64 = 1.06;

/// What the netlist is for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum For {
    /// Steady states.
    Scenes,
    /// Fault currents: what a converter's electronics let through counts.
    Faults,
}

/// What stands for a device in the netlist.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Stand {
    /// Nothing: a busbar, a panel, a chassis, anything on the AC side.
    Nothing,
    /// Current passes through it: fuse, breaker, disconnect, shunt, relay.
    Passes(ElementId),
    /// A battery of the bank.
    Battery(ElementId),
    /// The engine's battery.
    StartBattery(ElementId),
    /// An alternator or a charger fed by AC.
    Source(ElementId),
    /// A DC load of constant power.
    Load(ElementId),
    /// A DC load that follows the voltage.
    Heater(ElementId),
    /// An inverter's input, and its charger's output.
    Inverter(ElementId, Option<ElementId>),
    /// Input and output of a DC-DC charger or converter.
    Dc(Option<ElementId>, ElementId),
    /// Input and output of a charge controller.
    Controller(Option<ElementId>, ElementId),
    /// An array.
    Array(ElementId),
}

/// The netlist with the way back to the system.
pub(crate) struct Built {
    pub net: Netlist,
    /// `[device][terminal]`; `None` on the AC side.
    pub nodes: Vec<Vec<Option<NodeId>>>,
    /// By conductor; `None` on the AC side.
    pub conductors: Vec<Option<ElementId>>,
    /// By device.
    pub stands: Vec<Stand>,
    /// The device of an element, where it has one.
    pub device_of: Vec<Option<DeviceIx>>,
    /// The bank's negative.
    pub zero: Option<NodeId>,
}

impl Built {
    pub(crate) fn of(system: &System, ohms: &[Ohms], what: For) -> Self {
        let mut net = Netlist::new();
        let nodes: Vec<Vec<Option<NodeId>>> = system
            .devices
            .iter()
            .map(|device| {
                let node = |terminal: &model::Terminal| {
                    is_dc(device, terminal.pole).then(|| net.node(format!("{}.{}", device.id, terminal.name)))
                };
                device.terminals.iter().map(node).collect()
            })
            .collect();
        let mut built = Self {
            net,
            nodes,
            conductors: Vec::with_capacity(system.conductors.len()),
            stands: Vec::with_capacity(system.devices.len()),
            device_of: Vec::new(),
            zero: None,
        };
        for (conductor, ohms) in system.conductors.iter().zip(ohms) {
            let ends = (built.node(conductor.from), built.node(conductor.to));
            let element = match ends {
                (Some(from), Some(to)) if from != to => Some(built.net.resistor(from, to, *ohms)),
                _ => None,
            };
            built.conductors.push(element);
        }
        for ix in 0..system.devices.len() {
            let first = built.net.element_count();
            built.device_of.resize(first, None);
            let stand = built.stand(system, ix, what);
            built.stands.push(stand);
            built.device_of.resize(built.net.element_count(), Some(ix));
        }
        built.join_zeros(system);
        built.device_of.resize(built.net.element_count(), None);
        built
    }

    /// The node of a terminal.
    pub(crate) fn node(&self, at: TerminalRef) -> Option<NodeId> {
        *self.nodes.get(at.device)?.get(at.terminal)?
    }

    /// The node of a terminal by its name.
    pub(crate) fn named(&self, system: &System, device: DeviceIx, name: &str) -> Option<NodeId> {
        let terminal =
            system.devices.get(device)?.terminals.iter().position(|terminal| terminal.name == name)?;
        self.node(TerminalRef { device, terminal })
    }

    /// Two nodes of a device, by name.
    pub(crate) fn pair(
        &self,
        system: &System,
        device: DeviceIx,
        plus: &str,
        minus: &str,
    ) -> Option<(NodeId, NodeId)> {
        Some((self.named(system, device, plus)?, self.named(system, device, minus)?))
    }

    /// Input nodes of a DC-DC charger or converter; the negative is shared where it is not isolated.
    pub(crate) fn input(&self, system: &System, device: DeviceIx) -> Option<(NodeId, NodeId)> {
        self.pair(system, device, "in-positive", "in-negative")
            .or_else(|| self.pair(system, device, "in-positive", "negative"))
    }

    /// Makes a start battery one that gives and takes, or one that is full and only gives.
    pub(crate) fn rest(&mut self, element: ElementId, is_resting: bool) {
        let Some(element) = self.net.elements.get_mut(element.index()) else { return };
        if let Kind::Emf { volts, ohms } | Kind::Limited { volts, ohms, .. } = element.kind {
            element.kind = if is_resting {
                Kind::Emf { volts, ohms }
            } else {
                // While it is charged it takes next to nothing, and holds its rest voltage if asked for more.
                Kind::Limited { volts, limit: volts / ohms, ohms }
            };
        }
    }

    fn stand(&mut self, system: &System, ix: DeviceIx, what: For) -> Stand {
        self.try_stand(system, ix, what).unwrap_or(Stand::Nothing)
    }

    fn try_stand(&mut self, system: &System, ix: DeviceIx, what: For) -> Option<Stand> {
        let spec = &system.devices.get(ix)?.spec;
        let regulated = Ohms::new(REGULATED);
        if let Some(ohms) = through(spec) {
            let mut first = None;
            for (one, other) in
                [("in", "out"), ("in-negative", "out-negative"), ("bank", "system"), ("engine", "house")]
            {
                if let Some((one, other)) = self.pair(system, ix, one, other) {
                    let element = self.net.resistor(one, other, ohms);
                    first.get_or_insert(element);
                }
            }
            return first.map(Stand::Passes);
        }
        let ends = self.pair(system, ix, "positive", "negative");
        Some(match spec {
            Spec::Battery(battery) => {
                let (plus, minus) = ends?;
                let ohms = positive(battery.part.internal_resistance.get(), 1e-3);
                Stand::Battery(self.net.emf(plus, minus, battery.part.voltage, Ohms::new(ohms)))
            }
            Spec::StartBattery(battery) => {
                let (plus, minus) = ends?;
                let volts = battery.part.voltage * REST;
                let ohms = Ohms::new(positive(battery.part.internal_resistance.get(), 5e-3));
                Stand::StartBattery(self.net.emf(plus, minus, volts, ohms))
            }
            Spec::Alternator(part) => {
                let (plus, minus) = ends?;
                Stand::Source(self.net.limited_source(
                    plus,
                    minus,
                    finite(part.set_voltage),
                    Amps::zero(),
                    regulated,
                ))
            }
            Spec::Charger(_, setting) => {
                let (plus, minus) = ends?;
                Stand::Source(self.net.limited_source(
                    plus,
                    minus,
                    finite(setting.absorption),
                    Amps::zero(),
                    regulated,
                ))
            }
            Spec::Load(load) => {
                let (plus, minus) = ends?;
                match load.nature {
                    model::parts::LoadNature::Resistive => {
                        Stand::Heater(self.net.resistor(plus, minus, Ohms::new(OPEN)))
                    }
                    _ => Stand::Load(self.net.constant_power(plus, minus, Watts::zero(), None)),
                }
            }
            Spec::Inverter(part, setting) => {
                let (plus, minus) = ends?;
                // Below its lowest input it would switch off; the current that leads there is what cables and fuses see.
                let cutoff = cutoff(part.lowest_input);
                let draw = self.net.constant_power(plus, minus, Watts::zero(), cutoff);
                let charge = setting.as_ref().map(|setting| {
                    self.net.limited_source(plus, minus, finite(setting.absorption), Amps::zero(), regulated)
                });
                Stand::Inverter(draw, charge)
            }
            Spec::DcDc(part, setting) => {
                let input = self.input(system, ix);
                let input = input.map(|(plus, minus)| {
                    self.net.constant_power(plus, minus, Watts::zero(), cutoff(part.lowest_input))
                });
                let (plus, minus) = ends?;
                let volts = finite(setting.absorption);
                Stand::Dc(input, self.net.limited_source(plus, minus, volts, Amps::zero(), regulated))
            }
            Spec::Converter(part) => {
                let input = self.input(system, ix);
                let input = input.map(|(plus, minus)| {
                    self.net.constant_power(plus, minus, Watts::zero(), cutoff(part.input * 0.5))
                });
                let (plus, minus) = ends?;
                // Not limited in a scene: a converter that is too small is a finding of its own, and
                // must not take the rest of the picture with it.
                Stand::Dc(
                    input,
                    match what {
                        For::Scenes => self.net.emf(plus, minus, finite(part.output), regulated),
                        For::Faults => {
                            self.net.limited_source(plus, minus, finite(part.output), Amps::zero(), regulated)
                        }
                    },
                )
            }
            Spec::Controller(_, setting) => {
                let input = self.pair(system, ix, "array-positive", "array-negative");
                // It holds the array at its power maximum, so its input is a voltage that takes current.
                let input = input.map(|(plus, minus)| self.net.emf(plus, minus, Volts::zero(), regulated));
                let (plus, minus) = ends?;
                let volts = finite(setting.absorption);
                Stand::Controller(input, self.net.limited_source(plus, minus, volts, Amps::zero(), regulated))
            }
            Spec::Array(_) => {
                let (plus, minus) = ends?;
                Stand::Array(self.net.current(plus, minus, Amps::zero()))
            }
            _ => Stand::Nothing,
        })
    }

    /// Chooses the zero and ties the return of each circuit that touches the bank nowhere to it.
    fn join_zeros(&mut self, system: &System) {
        let bank = system.bank.iter().flat_map(|bank| bank.batteries.first().copied());
        let batteries =
            (0..system.devices.len()).filter(|ix| matches!(system.devices[*ix].spec, Spec::Battery(_)));
        self.zero = bank.chain(batteries).find_map(|ix| self.named(system, ix, "negative"));
        let mut groups = Groups::new(self.net.node_count());
        for element in &self.net.elements {
            if element.conducts() {
                groups.join(element.a, element.b);
            }
        }
        for (ix, device) in system.devices.iter().enumerate() {
            let name = match &device.spec {
                Spec::Controller(..) => "array-negative",
                Spec::StartBattery(_)
                | Spec::Converter(_)
                | Spec::Alternator(_)
                | Spec::Charger(..)
                | Spec::Inverter(_, Some(_))
                | Spec::DcDc(..)
                | Spec::Battery(_) => "negative",
                _ => continue,
            };
            let Some(node) = self.named(system, ix, name) else { continue };
            let Some(zero) = self.zero else {
                self.zero = Some(node);
                continue;
            };
            if groups.join(zero.0, node.0) {
                self.net.resistor(node, zero, Ohms::new(TIE));
            }
        }
        if let Some(zero) = self.zero {
            self.net.set_reference(zero);
        }
    }
}

/// Whether a terminal lies in the direct-current network; the only earth that does is the chassis.
fn is_dc(device: &Device, pole: Pole) -> bool {
    match pole {
        Pole::Positive | Pole::Negative => true,
        Pole::Earth => matches!(device.spec, Spec::Chassis),
        _ => false,
    }
}

fn positive(value: f64, otherwise: f64) -> f64 {
    if value.is_finite() && value > 0.0 { value } else { otherwise }
}

fn finite(volts: Volts) -> Volts {
    if volts.get().is_finite() { volts } else { Volts::zero() }
}

fn cutoff(volts: Volts) -> Option<(Volts, BelowCutoff)> {
    (volts.get().is_finite() && volts > Volts::zero()).then_some((volts, BelowCutoff::ConstantCurrent))
}

/// Nodes that hang together (union-find).
pub(crate) struct Groups(Vec<u32>);

impl Groups {
    pub(crate) fn new(count: usize) -> Self {
        Self((0..count as u32).collect())
    }
    pub(crate) fn find(&mut self, mut node: u32) -> u32 {
        while self.0[node as usize] != node {
            self.0[node as usize] = self.0[self.0[node as usize] as usize];
            node = self.0[node as usize];
        }
        node
    }
    /// Joins two; false where they hung together before.
    pub(crate) fn join(&mut self, one: u32, other: u32) -> bool {
        let (one, other) = (self.find(one), self.find(other));
        self.0[one.max(other) as usize] = one.min(other);
        one != other
    }
}

impl Element {
    /// Whether it can close a circuit.
    fn conducts(&self) -> bool {
        matches!(self.kind, Kind::Resistor { .. } | Kind::Emf { .. } | Kind::Limited { .. })
    }
}
