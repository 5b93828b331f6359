//! Where faults are looked at: each positive terminal against the return at the same place.
//! Never: judges. The formula is in `fault.rs`.
//! Start at [`faults`] for all places, [`fault_currents`] for what flows everywhere during one.
//!
//! Largest: charged bank at its float voltage, every charger and the engine feeding, relay closed, cold cable and perfect
//! joints. Smallest: bank at its lowest voltage with half as much resistance again (a cold battery, from memory), alone,
//! hot cable with its lugs.

use std::collections::BTreeMap;

use model::{DeviceIx, Pole, Spec, System, TerminalRef};
use quantity::{Amps, Ohms, Watts};

use crate::build::{Built, For, Groups, Stand, TIE};
use crate::fault::{FaultDetailOptions, fault, fault_detail};
use crate::netlist::{ElementId, Kind, NodeId};
use crate::ohms::{Conductors, OPEN, through};
use crate::results::Faults;
use crate::scenes::{Facts, usable};
use crate::study::amps_of;

/// A converter's own electronics let this much of its rated current into a fault. Typical, from memory.
const CONVERTER: f64 = 2.0;
/// An array in bright sun gives this much of its rated short-circuit current (NEC 690.8(A), from memory).
const BRIGHT: f64 = 1.25;
/// A cold or worn battery's resistance against the sheet's. From memory.
const COLD_BATTERY: f64 = 1.5;
/// Less than this is a leak of the model, not a fault current.
const NOTHING: f64 = 0.1;

#[derive(Clone, Copy, PartialEq, Eq)]
enum End {
    Most,
    Least,
}

pub(crate) fn faults(system: &System, conductors: &Conductors) -> Faults {
    let none: Vec<Vec<Option<Amps>>> =
        system.devices.iter().map(|device| vec![None; device.terminals.len()]).collect();
    let at = |ohms: &[Ohms], end: End| {
        let mut built = Built::of(system, ohms, For::Faults);
        let facts = Facts::of(system, &built);
        set(system, &mut built, &facts, end);
        let (places, pairs) = places(system, &built);
        let mut found = none.clone();
        let Ok(currents) = fault(&built.net, &pairs, Ohms::zero()) else { return found };
        for (place, current) in places.iter().zip(currents) {
            if current.is_closed && current.amps.get().is_finite() && current.amps.get() > NOTHING {
                found[place.device][place.terminal] = Some(current.amps);
            }
        }
        found
    };
    Faults { most: at(&conductors.cold, End::Most), least: at(&conductors.hot, End::Least) }
}

/// What flows everywhere while a bolted short circuit stands at one place.
#[derive(Clone, Debug, PartialEq)]
pub struct FaultCurrents {
    /// Into the short circuit [A].
    pub total: Amps,
    /// In each conductor, positive from `from` to `to`; zero on the AC side.
    pub conductors: Vec<Amps>,
    /// Of each device: what a battery or source gives, what passes a fuse, breaker, disconnect, shunt or relay.
    pub devices: Vec<Amps>,
}

/// The currents of a bolted short circuit between a positive terminal and the return at the same place: the largest and the
/// smallest, with the meanings of [`Faults`].
///
/// Limited sources follow their limit and their resistance both, so a total can be below that of [`Faults`], never above.
/// `None` where the place has no return, no source reaches it, or the network could not be solved.
pub fn fault_currents(system: &System, at: TerminalRef) -> (Option<FaultCurrents>, Option<FaultCurrents>) {
    let conductors = Conductors::of(system);
    let currents = |ohms: &[Ohms], end: End| {
        let mut built = Built::of(system, ohms, For::Faults);
        let facts = Facts::of(system, &built);
        set(system, &mut built, &facts, end);
        let (places, pairs) = places(system, &built);
        let pair = places.iter().zip(pairs).find(|(place, _)| **place == at)?.1;
        let detail = fault_detail(&built.net, pair, FaultDetailOptions::default()).ok()?;
        let total = detail.amps;
        if !total.get().is_finite() || total.get() <= NOTHING {
            return None;
        }
        let through =
            |element: &Option<ElementId>| element.map_or(Amps::zero(), |element| detail.during.amps(element));
        Some(FaultCurrents {
            total,
            conductors: built.conductors.iter().map(through).collect(),
            devices: built.stands.iter().map(|stand| amps_of(*stand, &detail.during)).collect(),
        })
    };
    (currents(&conductors.cold, End::Most), currents(&conductors.hot, End::Least))
}

/// Gives the netlist the values of one end of the range.
fn set(system: &System, built: &mut Built, facts: &Facts, end: End) {
    let is_most = end == End::Most;
    let limit = |amps: Amps| if is_most { usable(amps) } else { Amps::zero() };
    for (ix, device) in system.devices.iter().enumerate() {
        let net = &mut built.net;
        match (&device.spec, built.stands[ix]) {
            (Spec::Battery(battery), Stand::Battery(element)) => {
                let (low, high) =
                    facts.batteries.get(&ix).copied().unwrap_or((battery.part.voltage, battery.part.voltage));
                net.set_volts(element, if is_most { high } else { low });
                let own = battery.part.internal_resistance;
                // A stated short-circuit current is the maker's own measure of what stands behind the posts.
                let stated = battery.short_circuit_is_stated && battery.short_circuit > Amps::zero();
                let ohms = match (is_most, stated) {
                    (true, true) => high / battery.short_circuit,
                    (true, false) => own,
                    (false, _) => own * COLD_BATTERY,
                };
                if ohms.get().is_finite() && ohms > Ohms::zero() {
                    net.set_ohms(element, ohms);
                }
            }
            (Spec::StartBattery(battery), Stand::StartBattery(element)) if !is_most => {
                net.set_volts(element, battery.part.voltage);
                let ohms = battery.part.internal_resistance * COLD_BATTERY;
                if ohms.get().is_finite() && ohms > Ohms::zero() {
                    net.set_ohms(element, ohms);
                }
            }
            (Spec::Relay(_), Stand::Passes(element)) => {
                let closed = through(&device.spec).filter(|_| is_most);
                net.set_ohms(element, closed.unwrap_or(Ohms::new(OPEN)));
            }
            (Spec::Alternator(part), Stand::Source(element)) => net.set_amps(element, limit(part.current)),
            (Spec::Charger(part, setting), Stand::Source(element)) => {
                net.set_amps(element, limit(setting.current.max(part.current)));
            }
            (Spec::Inverter(_, Some(setting)), Stand::Inverter(_, Some(charge))) => {
                net.set_amps(charge, limit(setting.current));
            }
            (Spec::Controller(part, setting), Stand::Controller(input, output)) => {
                net.set_amps(output, limit(setting.current.min(part.current)));
                // Nothing comes back out of the array's input.
                if let Some(input) = input {
                    net.set_ohms(input, Ohms::new(1e4));
                }
            }
            (Spec::DcDc(part, _), Stand::Dc(_, output)) => net.set_amps(output, limit(part.current)),
            (Spec::Converter(part), Stand::Dc(_, output)) => {
                let amps = part.current * if is_most { CONVERTER } else { 1.0 };
                net.set_amps(output, usable(amps));
            }
            (Spec::Array(array), Stand::Array(element)) => {
                let amps = array.module.short_current * (f64::from(array.parallel) * BRIGHT);
                net.set_amps(element, -limit(amps));
            }
            (_, Stand::Load(element) | Stand::Dc(Some(element), _)) => net.set_watts(element, Watts::zero()),
            (_, Stand::Heater(element)) => net.set_ohms(element, Ohms::new(OPEN)),
            _ => {}
        }
    }
}

/// Every positive terminal with the node of its return.
fn places(system: &System, built: &Built) -> (Vec<TerminalRef>, Vec<(NodeId, NodeId)>) {
    let ways = Ways::of(system);
    let mut groups = Groups::new(built.net.node_count());
    for element in &built.net.elements {
        let joins = match element.kind {
            Kind::Resistor { ohms } => ohms < TIE,
            Kind::Emf { .. } | Kind::Limited { .. } => true,
            Kind::Current { .. } | Kind::Power { .. } => false,
        };
        if joins {
            groups.join(element.a, element.b);
        }
    }
    let (mut places, mut pairs) = (Vec::new(), Vec::new());
    for (ix, device) in system.devices.iter().enumerate() {
        for (terminal, data) in device.terminals.iter().enumerate() {
            let at = TerminalRef { device: ix, terminal };
            let Some(node) = built.node(at).filter(|_| data.pole == Pole::Positive) else { continue };
            let own = ways.back(system, at).and_then(|back| built.node(back));
            // Where its own return is not joined to anything, the bank's is the next.
            let joined = own.filter(|back| groups.find(back.0) == groups.find(node.0) && *back != node);
            let Some(back) = joined.or(built.zero).filter(|back| *back != node) else { continue };
            places.push(at);
            pairs.push((node, back));
        }
    }
    (places, pairs)
}

/// What leads back from each circuit.
struct Ways {
    /// The return of each circuit at its source and at its far end.
    negatives: BTreeMap<usize, (TerminalRef, TerminalRef)>,
    /// The circuit that a protective device guards.
    guarded: BTreeMap<DeviceIx, usize>,
    /// Circuits that start and that end at a terminal.
    starts: BTreeMap<TerminalRef, usize>,
    ends: BTreeMap<TerminalRef, usize>,
    /// What a terminal is linked to inside an assembly.
    linked: BTreeMap<TerminalRef, TerminalRef>,
    /// The first battery of each string.
    first: BTreeMap<u32, DeviceIx>,
}

impl Ways {
    fn of(system: &System) -> Self {
        let mut ways = Self {
            negatives: BTreeMap::new(),
            guarded: BTreeMap::new(),
            starts: BTreeMap::new(),
            ends: BTreeMap::new(),
            linked: BTreeMap::new(),
            first: BTreeMap::new(),
        };
        for (ix, circuit) in system.circuits.iter().enumerate() {
            for device in &circuit.protection {
                ways.guarded.entry(*device).or_insert(ix);
            }
        }
        for conductor in system.conductors.iter().filter(|conductor| conductor.pole == Pole::Negative) {
            // Returns run towards the source, unless their far end is what the circuit serves.
            let serves = |at: TerminalRef| {
                system
                    .circuits
                    .get(conductor.circuit)
                    .is_some_and(|circuit| circuit.serves.contains(&at.device))
            };
            let (near, far) = if serves(conductor.to) && !serves(conductor.from) {
                (conductor.from, conductor.to)
            } else {
                (conductor.to, conductor.from)
            };
            ways.negatives.entry(conductor.circuit).or_insert((near, far)).1 = far;
        }
        for conductor in system.conductors.iter().filter(|conductor| conductor.pole == Pole::Positive) {
            if ways.negatives.contains_key(&conductor.circuit) {
                ways.starts.entry(conductor.from).or_insert(conductor.circuit);
                ways.ends.entry(conductor.to).or_insert(conductor.circuit);
            }
            if conductor.is_internal {
                ways.linked.entry(conductor.from).or_insert(conductor.to);
                ways.linked.entry(conductor.to).or_insert(conductor.from);
            }
        }
        for ix in system.bank.iter().flat_map(|bank| &bank.batteries) {
            if let Some(Spec::Battery(battery)) = system.devices.get(*ix).map(|device| &device.spec)
                && battery.place == 0
            {
                ways.first.entry(battery.string).or_insert(*ix);
            }
        }
        ways
    }

    /// The return at the same place as a positive terminal.
    fn back(&self, system: &System, at: TerminalRef) -> Option<TerminalRef> {
        let device = system.devices.get(at.device)?;
        if through(&device.spec).is_some() {
            // What a fuse sits on, on either side, tells its place: a battery post, a bar, a panel, a charger.
            let sides =
                (0..device.terminals.len()).map(|terminal| TerminalRef { device: at.device, terminal });
            let mut seats = sides.clone().filter_map(|side| self.linked.get(&side));
            let seat = seats.find_map(|seat| self.seat(system, *seat));
            let guards = || Some(self.negatives.get(self.guarded.get(&at.device)?)?.0);
            let within = || sides.clone().find_map(|side| self.seat(system, side));
            return seat.or_else(guards).or_else(within);
        }
        self.seat(system, at)
    }

    fn seat(&self, system: &System, at: TerminalRef) -> Option<TerminalRef> {
        let device = system.devices.get(at.device)?;
        if let Spec::Battery(battery) = &device.spec {
            // A fault at a battery of a string counts from the string's negative end.
            let first = self.first.get(&battery.string).copied().unwrap_or(at.device);
            return own_negative(system, first, "positive");
        }
        if let Some(back) = own_negative(system, at.device, &device.terminals.get(at.terminal)?.name) {
            return Some(back);
        }
        let of = |circuit: Option<&usize>| circuit.and_then(|circuit| self.negatives.get(circuit));
        // A bar is where its feeder ends; a branch may go back elsewhere.
        of(self.ends.get(&at)).map(|way| way.1).or_else(|| of(self.starts.get(&at)).map(|way| way.0))
    }
}

/// The negative of the same port of a device: `in-positive` has `in-negative`, or the one that all ports share.
fn own_negative(system: &System, device: DeviceIx, name: &str) -> Option<TerminalRef> {
    let terminals = &system.devices.get(device)?.terminals;
    let named = |wanted: &str| terminals.iter().position(|t| t.name == wanted && t.pole == Pole::Negative);
    let partner = name.strip_suffix("positive").map(|port| format!("{port}negative"));
    let terminal = partner.and_then(|partner| named(&partner)).or_else(|| {
        // A two-pole switch: `in` has `in-negative`.
        named(&format!("{name}-negative")).or_else(|| named("negative"))
    })?;
    Some(TerminalRef { device, terminal })
}
