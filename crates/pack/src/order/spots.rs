//! Where each thing is built in: on the mounting board at the bench, in the vehicle, on a battery's post, or there already.
//! Never: decides who stands on the board (see `board`); it only sorts.
//! Start at [`Spots::of`].

use model::{CircuitIx, CircuitKind, Conductor, ConductorIx, DeviceIx, Spec, System, TerminalRef};

/// Where a device is built in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// On the mounting board.
    Board,
    /// A way of the panel of this index.
    Way(DeviceIx),
    /// In the vehicle.
    Vehicle,
    /// A load, built in with its circuit.
    Load,
    /// A battery of the bank.
    Bank,
    /// On the post of a battery of the bank.
    Post,
    /// An array.
    Array,
    /// In the vehicle before we came: engine battery, alternator, chassis.
    There,
}

/// The system, sorted by place.
pub struct Spots {
    /// Of each device.
    pub of: Vec<Spot>,
    /// The section of each circuit: what is made, laid and tested together.
    pub section_of: Vec<usize>,
    /// Names of the sections, in order of appearance.
    pub sections: Vec<String>,
    /// The circuits of each section.
    pub circuits_in: Vec<Vec<CircuitIx>>,
    /// The fuses and breakers in the ways of each device.
    pub ways: Vec<Vec<DeviceIx>>,
    /// The conductors of each circuit.
    pub conductors_of: Vec<Vec<ConductorIx>>,
    /// The circuit in whose step each load is built in.
    pub load_circuit: Vec<Option<CircuitIx>>,
}

impl Spots {
    /// Sorts it; `on_board` is the board's answer to who stands on it. Time grows with the number of devices and conductors.
    pub fn of(system: &System, on_board: &[DeviceIx]) -> Self {
        let mut of: Vec<Spot> = system.devices.iter().map(|device| first_guess(&device.spec)).collect();
        let count = of.len();
        let links: Vec<&Conductor> = system
            .conductors
            .iter()
            .filter(|c| c.from.device < count && c.to.device < count && c.from.device != c.to.device)
            .collect();
        for conductor in links.iter().filter(|conductor| conductor.is_internal) {
            for (ix, other) in
                [(conductor.from.device, conductor.to.device), (conductor.to.device, conductor.from.device)]
            {
                let guards =
                    matches!(system.devices[ix].spec, Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_));
                if guards && of[other] == Spot::Bank {
                    of[ix] = Spot::Post;
                }
            }
        }
        for ix in on_board {
            if let Some(spot) = of.get_mut(*ix).filter(|spot| **spot == Spot::Vehicle) {
                *spot = Spot::Board;
            }
        }
        let mut conductors_of = vec![Vec::new(); system.circuits.len()];
        for (ix, conductor) in system.conductors.iter().enumerate() {
            if let Some(list) = conductors_of.get_mut(conductor.circuit) {
                list.push(ix);
            }
        }
        let mut load_circuit = vec![None; count];
        let mut serve = |device: DeviceIx, circuit: CircuitIx| {
            if let Some(slot) = load_circuit.get_mut(device).filter(|slot| slot.is_none()) {
                *slot = Some(circuit);
            }
        };
        for (ix, circuit) in system.circuits.iter().enumerate() {
            circuit.serves.iter().for_each(|device| serve(*device, ix));
        }
        for conductor in &links {
            serve(conductor.to.device, conductor.circuit);
            serve(conductor.from.device, conductor.circuit);
        }
        let mut ways = vec![Vec::new(); count];
        for (ix, spot) in of.iter().enumerate() {
            if let Spot::Way(panel) = spot
                && let Some(list) = ways.get_mut(*panel)
            {
                list.push(ix);
            }
        }
        let mut spots = Self {
            of,
            section_of: Vec::new(),
            sections: Vec::new(),
            circuits_in: Vec::new(),
            ways,
            conductors_of,
            load_circuit,
        };
        spots.sort_sections(system);
        spots
    }

    fn sort_sections(&mut self, system: &System) {
        let mut known = std::collections::BTreeMap::new();
        for (ix, circuit) in system.circuits.iter().enumerate() {
            let panel = circuit.protection.iter().find_map(|ix| match self.of.get(*ix) {
                Some(Spot::Way(panel)) => system.devices.get(*panel),
                _ => None,
            });
            let name = match (circuit.kind, panel) {
                (CircuitKind::BankLink | CircuitKind::Main, _) => "bank",
                (_, Some(panel)) => panel.id.as_str(),
                _ => circuit.id.split('.').next().unwrap_or(&circuit.id),
            };
            let next = self.sections.len();
            let section = *known.entry(name.to_owned()).or_insert(next);
            if section == next {
                self.sections.push(name.to_owned());
                self.circuits_in.push(Vec::new());
            }
            self.circuits_in[section].push(ix);
            self.section_of.push(section);
        }
    }

    /// Whether a device is mounted on the board, itself or with its panel.
    pub fn is_on_board(&self, device: DeviceIx) -> bool {
        match self.of.get(device) {
            Some(Spot::Board) => true,
            Some(Spot::Way(panel)) => self.of.get(*panel) == Some(&Spot::Board),
            _ => false,
        }
    }

    /// Whether a conductor is laid and joined at the bench.
    pub fn is_bench(&self, conductor: &Conductor) -> bool {
        self.is_on_board(conductor.from.device) && self.is_on_board(conductor.to.device)
    }

    /// Whether an end is joined only when its source is: at a battery or array, or at what sits on a battery's post.
    pub fn is_last(&self, at: TerminalRef) -> bool {
        matches!(self.of.get(at.device), Some(Spot::Bank | Spot::Post | Spot::Array))
    }
}

fn first_guess(spec: &Spec) -> Spot {
    match spec {
        Spec::Battery(_) => Spot::Bank,
        Spec::Array(_) => Spot::Array,
        Spec::StartBattery(_) | Spec::Alternator(_) | Spec::Chassis => Spot::There,
        Spec::Load(_) => Spot::Load,
        Spec::Fuse(fuse) => fuse.panel.map_or(Spot::Vehicle, Spot::Way),
        Spec::Breaker(breaker) => breaker.panel.map_or(Spot::Vehicle, Spot::Way),
        Spec::Busbar(_)
        | Spec::Disconnect(_)
        | Spec::Shunt(_)
        | Spec::FusePanel(_)
        | Spec::Inverter(..)
        | Spec::Charger(..)
        | Spec::DcDc(..)
        | Spec::Controller(..)
        | Spec::Relay(_)
        | Spec::Converter(_)
        | Spec::Inlet(_)
        | Spec::Generator(_)
        | Spec::TransferSwitch(_)
        | Spec::AcPanel(_) => Spot::Vehicle,
    }
}
