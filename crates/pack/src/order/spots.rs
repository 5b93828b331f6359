//! Where each thing is built in: on the mounting board at the bench, in the vehicle, on a battery's post, or there already.
//! Never: places anything on the board; it only sorts.
//! Start at [`Spots::of`].

use std::collections::VecDeque;

use model::{CircuitIx, CircuitKind, Conductor, ConductorIx, DeviceIx, Spec, System, TerminalRef};
use quantity::Metres;
use reference::Reference;

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

/// Longest cable that joins a fuse to the source it stands beside: as the derivation makes them, with some room.
fn beside_source() -> Metres {
    Metres::new(0.3)
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
    /// Sorts it. Time grows with the number of devices and conductors.
    pub fn of(system: &System) -> Self {
        let mut of: Vec<Spot> = system.devices.iter().map(|device| first_guess(&device.spec)).collect();
        let count = of.len();
        let links: Vec<&Conductor> = system
            .conductors
            .iter()
            .filter(|c| c.from.device < count && c.to.device < count && c.from.device != c.to.device)
            .collect();
        let mut beside: Vec<Vec<(&Conductor, DeviceIx)>> = vec![Vec::new(); count];
        for conductor in &links {
            beside[conductor.from.device].push((conductor, conductor.to.device));
            beside[conductor.to.device].push((conductor, conductor.from.device));
        }
        let mut is_at_source = vec![false; count];
        for ix in 0..count {
            if !matches!(system.devices[ix].spec, Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_)) {
                continue;
            }
            for (conductor, other) in &beside[ix] {
                match of[*other] {
                    Spot::Bank if conductor.is_internal => of[ix] = Spot::Post,
                    Spot::Bank | Spot::There | Spot::Array
                        if conductor.length <= beside_source() && conductor.pole.is_ungrounded() =>
                    {
                        is_at_source[ix] = true;
                    }
                    _ => {}
                }
            }
        }
        spread_board(system, &beside, &is_at_source, &mut of);
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

/// The board is what short cables join to the busbars, or to the first panel where there is no busbar.
fn spread_board(
    system: &System,
    beside: &[Vec<(&Conductor, DeviceIx)>],
    is_at_source: &[bool],
    of: &mut [Spot],
) {
    let reach = Reference::standard().board_reach().value;
    let with =
        |is: fn(&Spec) -> bool| (0..of.len()).filter(|ix| is(&system.devices[*ix].spec)).collect::<Vec<_>>();
    let mut roots = with(|spec| matches!(spec, Spec::Busbar(_)));
    let first_zone = roots.first().and_then(|ix| system.devices.get(*ix)).map(|device| device.zone);
    roots.retain(|ix| Some(system.devices[*ix].zone) == first_zone);
    if roots.is_empty() {
        let panels = with(|spec| matches!(spec, Spec::FusePanel(_) | Spec::AcPanel(_) | Spec::Inverter(..)));
        roots.extend(panels.first());
    }
    for root in &roots {
        of[*root] = Spot::Board;
    }
    let mut queue: VecDeque<DeviceIx> = roots.into();
    while let Some(ix) = queue.pop_front() {
        for (conductor, other) in &beside[ix] {
            let is_fixed_elsewhere =
                matches!(system.devices[*other].spec, Spec::Inlet(_) | Spec::Generator(_))
                    || is_at_source[*other];
            let is_near = conductor.is_internal
                || conductor.length <= beside_source()
                || conductor.length <= reach && system.devices[*other].zone == system.devices[ix].zone;
            if of[*other] == Spot::Vehicle && is_near && !is_fixed_elsewhere {
                of[*other] = Spot::Board;
                queue.push_back(*other);
            }
        }
    }
}
