//! What runs in each scene, and the values that it gives the netlist.
//! Never: changes the netlist's shape (see `build.rs`), solves (see `study.rs`).
//! Start at [`Facts::of`] and [`Facts::apply`].
//!
//! | scene | bank | loads | sources |
//! |---|---|---|---|
//! | everything on | lowest working voltage | all; of loads that take turns the largest | none |
//! | night | lowest working voltage | standby; loads that may run for hours at their mean power | none |
//! | charging | lowest working voltage, so that it takes all | as at night; AC from the shore where there is an inlet | all at their limits |
//! | starting | lowest working voltage | everything on, and the one with the largest surge starts | none |

use std::collections::BTreeMap;

use model::parts::Supply;
use model::{Device, DeviceIx, Load, Pole, Spec, System};
use quantity::{Amps, Ohms, Volts, Watts};

use crate::build::{Built, Groups, Stand, TIE};
use crate::netlist::Kind;
use crate::ohms::{OPEN, through};
use crate::results::Scene;

/// What every scene of a system needs to know, found once.
pub(crate) struct Facts {
    /// Lowest and highest voltage of each battery, by device.
    pub batteries: BTreeMap<DeviceIx, (Volts, Volts)>,
    /// The AC loads behind each inverter.
    inverters: Vec<(DeviceIx, Vec<DeviceIx>)>,
    /// The arrays on each controller.
    arrays: Vec<(DeviceIx, Vec<DeviceIx>)>,
    /// Whether a charging relay joins engine and house.
    has_relay: bool,
    /// Whether a shore inlet or generator carries the AC loads while charging.
    has_shore: bool,
}

impl Facts {
    pub(crate) fn of(system: &System, built: &Built) -> Self {
        let with =
            |is: fn(&Spec) -> bool| (0..system.devices.len()).filter(move |ix| is(&system.devices[*ix].spec));
        let inverters: Vec<DeviceIx> = with(|spec| matches!(spec, Spec::Inverter(..))).collect();
        let loads = if inverters.is_empty() { Vec::new() } else { ac_loads(system, &inverters) };
        Self {
            batteries: battery_voltages(system),
            inverters: inverters.into_iter().zip(loads).collect(),
            arrays: arrays(system, built, with(|spec| matches!(spec, Spec::Controller(..))).collect()),
            has_relay: with(|spec| matches!(spec, Spec::Relay(_))).next().is_some(),
            has_shore: with(|spec| matches!(spec, Spec::Inlet(_) | Spec::Generator(_))).next().is_some(),
        }
    }

    /// Gives the netlist the values of a scene.
    pub(crate) fn apply(&self, system: &System, built: &mut Built, scene: Scene) {
        let powers = self.powers(system, scene);
        let is_charging = scene == Scene::Charging;
        for (ix, (device, power)) in system.devices.iter().zip(powers).enumerate() {
            let (stand, power) = (built.stands[ix], Watts::new(power));
            match (&device.spec, stand) {
                (Spec::Battery(_), Stand::Battery(element)) => {
                    if let Some((low, _)) = self.batteries.get(&ix) {
                        built.net.set_volts(element, *low);
                    }
                }
                (Spec::Relay(_), Stand::Passes(element)) => {
                    let closed = through(&device.spec).filter(|_| is_charging);
                    built.net.set_ohms(element, closed.unwrap_or(Ohms::new(OPEN)));
                }
                (Spec::Alternator(part), Stand::Source(element)) => {
                    let amps = part.current * part.hot_share.get();
                    built.net.set_amps(element, if is_charging { usable(amps) } else { Amps::zero() });
                    // At a standstill it must not hold the voltage of a battery that nothing loads.
                    let volts = if is_charging { part.set_voltage } else { Volts::zero() };
                    built.net.set_volts(element, volts);
                }
                (Spec::StartBattery(_), Stand::StartBattery(element)) => {
                    built.rest(element, !is_charging);
                    // Through a relay both batteries come level within minutes; after that the alternator alone gives.
                    if is_charging && self.has_relay {
                        built.net.set_amps(element, Amps::zero());
                    }
                }
                (Spec::Charger(_, setting), Stand::Source(element)) => {
                    built
                        .net
                        .set_amps(element, if is_charging { usable(setting.current) } else { Amps::zero() });
                }
                (Spec::Load(_), Stand::Load(element)) => built.net.set_watts(element, power),
                (Spec::Load(load), Stand::Heater(element)) => {
                    built.net.set_ohms(element, heater(load, power))
                }
                (Spec::Inverter(_, setting), Stand::Inverter(draw, charge)) => {
                    built.net.set_watts(draw, power);
                    if let (Some(setting), Some(charge)) = (setting, charge) {
                        let amps = if is_charging { usable(setting.current) } else { Amps::zero() };
                        built.net.set_amps(charge, amps);
                    }
                }
                (Spec::Controller(..), Stand::Controller(input, output)) => {
                    let (volts, amps) = if is_charging { self.sun(system, ix) } else { Default::default() };
                    built.net.set_amps(output, amps);
                    if let Some(input) = input {
                        built.net.set_volts(input, volts);
                    }
                }
                (Spec::Array(array), Stand::Array(element)) => {
                    let amps = if is_charging {
                        array.module.power_current * f64::from(array.parallel)
                    } else {
                        Amps::zero()
                    };
                    built.net.set_amps(element, -usable(amps));
                }
                (_, Stand::Dc(input, output)) => {
                    if let Some(input) = input {
                        built.net.set_watts(input, Watts::zero());
                    }
                    built.net.set_volts(output, Volts::zero());
                    built.net.set_amps(output, Amps::zero());
                }
                _ => {}
            }
        }
        self.feed(system, built, is_charging);
    }

    /// Switches on the DC-DC chargers and converters whose inputs are fed, those that they feed after them.
    fn feed(&self, system: &System, built: &mut Built, is_charging: bool) {
        let wanted = |ix: DeviceIx| match &system.devices[ix].spec {
            Spec::Converter(part) => Some((part.output, part.current)),
            Spec::DcDc(part, setting) if is_charging => {
                Some((setting.absorption, setting.current.min(part.current)))
            }
            _ => None,
        };
        let mut waiting: Vec<DeviceIx> =
            (0..system.devices.len()).filter(|ix| wanted(*ix).is_some()).collect();
        while !waiting.is_empty() {
            let mut fed = Fed::of(built);
            let (ready, rest): (Vec<_>, Vec<_>) = waiting.into_iter().partition(|ix| {
                built.input(system, *ix).is_some_and(|(plus, minus)| fed.closes(plus.0, minus.0))
            });
            for ix in &ready {
                if let (Some((volts, amps)), Stand::Dc(_, output)) = (wanted(*ix), built.stands[*ix]) {
                    built.net.set_volts(output, volts);
                    built.net.set_amps(output, usable(amps));
                }
            }
            waiting = if ready.is_empty() { Vec::new() } else { rest };
        }
    }

    /// Voltage of the arrays on a controller at their power maximum, and what the controller gives a low bank.
    fn sun(&self, system: &System, controller: DeviceIx) -> (Volts, Amps) {
        let Some((_, arrays)) = self.arrays.iter().find(|(ix, _)| *ix == controller) else {
            return Default::default();
        };
        let Spec::Controller(part, setting) = &system.devices[controller].spec else {
            return Default::default();
        };
        let (mut volts, mut power) = (None::<Volts>, Watts::zero());
        for ix in arrays {
            if let Spec::Array(array) = &system.devices[*ix].spec {
                power += array.module.power * f64::from(array.series * array.parallel);
                let own = array.module.power_voltage * f64::from(array.series);
                volts = Some(volts.map_or(own, |least| least.min(own)));
            }
        }
        let bank = system.bank.as_ref().map_or(system.voltage, |bank| bank.voltage_low);
        let amps = if bank > Volts::zero() { power * part.efficiency.get() / bank } else { Amps::zero() };
        (volts.unwrap_or_default(), usable(amps.min(setting.current).min(part.current)))
    }

    /// Power of each device in a scene: DC loads and inverter inputs; others zero.
    fn powers(&self, system: &System, scene: Scene) -> Vec<f64> {
        let loads: Vec<(DeviceIx, &Load)> = system
            .devices
            .iter()
            .enumerate()
            .filter_map(|(ix, device)| Some((ix, load_of(device)?)))
            .collect();
        let mut powers = vec![0.0; system.devices.len()];
        match scene {
            Scene::EverythingOn => together(&loads, &mut powers),
            Scene::Starting => {
                together(&loads, &mut powers);
                self.start(&loads, &mut powers, system);
            }
            Scene::Night | Scene::Charging => {
                for (ix, load) in &loads {
                    let mean = load.energy_summer.max(load.energy_winter).average();
                    let power =
                        if load.continuous { mean.min(load.power).max(load.standby) } else { load.standby };
                    powers[*ix] = power.get();
                }
            }
        }
        for (ix, behind) in &self.inverters {
            let Spec::Inverter(part, setting) = &system.devices[*ix].spec else { continue };
            let asked: f64 = behind.iter().map(|load| powers[*load]).sum();
            // Beyond its surge, or for long beyond its power, it switches off: that is a finding of its own.
            let most = if scene == Scene::Starting { part.surge } else { part.power };
            let through = asked.min(most.get()) / part.efficiency_full.get();
            let idle = part.search.filter(|_| scene == Scene::Night).unwrap_or(part.idle).get();
            let from_shore = scene == Scene::Charging && (self.has_shore || setting.is_some());
            powers[*ix] = if from_shore { 0.0 } else { through.max(idle) };
        }
        for power in &mut powers {
            if !(power.is_finite() && *power >= 0.0) {
                *power = 0.0;
            }
        }
        // AC loads draw through their inverter.
        for (ix, load) in &loads {
            if load.supply == Supply::Ac {
                powers[*ix] = 0.0;
            }
        }
        powers
    }

    /// Starts the one load whose start adds most at the bank; what takes turns with it stops.
    fn start(&self, loads: &[(DeviceIx, &Load)], powers: &mut [f64], system: &System) {
        let mut group_power: BTreeMap<&str, (DeviceIx, f64)> = BTreeMap::new();
        for (ix, load) in loads {
            if let Some(group) = &load.takes_turns
                && powers[*ix] > 0.0
            {
                group_power.insert(group, (*ix, powers[*ix]));
            }
        }
        let mut behind: BTreeMap<DeviceIx, f64> = BTreeMap::new();
        for (ix, list) in &self.inverters {
            if let Spec::Inverter(part, _) = &system.devices[*ix].spec {
                behind.extend(list.iter().map(|load| (*load, part.efficiency_full.get())));
            }
        }
        let running = |ix: DeviceIx, load: &Load| match &load.takes_turns {
            Some(group) => group_power.get(group.as_str()).copied().unwrap_or((ix, 0.0)),
            None => (ix, powers[ix]),
        };
        let mut largest: Option<(f64, DeviceIx, DeviceIx, f64)> = None;
        for (ix, load) in loads {
            let efficiency = match load.supply {
                Supply::Dc => 1.0,
                Supply::Ac => match behind.get(ix) {
                    Some(efficiency) => *efficiency,
                    None => continue,
                },
            };
            let (instead, power) = running(*ix, load);
            let more = (load.power_start.get() - power) / efficiency;
            if more > largest.map_or(0.0, |known| known.0) {
                largest = Some((more, *ix, instead, load.power_start.get()));
            }
        }
        if let Some((_, ix, instead, power)) = largest {
            powers[instead] = 0.0;
            powers[ix] = power;
        }
    }
}

fn load_of(device: &Device) -> Option<&Load> {
    match &device.spec {
        Spec::Load(load) => Some(load),
        _ => None,
    }
}

/// Every load at its power; of those that take turns, the largest.
fn together(loads: &[(DeviceIx, &Load)], powers: &mut [f64]) {
    let mut largest: BTreeMap<&str, (DeviceIx, f64)> = BTreeMap::new();
    for (ix, load) in loads {
        let power = load.power.get();
        match &load.takes_turns {
            None => powers[*ix] = power,
            Some(group) => {
                let known = largest.entry(group).or_insert((*ix, power));
                if power > known.1 {
                    *known = (*ix, power);
                }
            }
        }
    }
    for (ix, power) in largest.into_values() {
        powers[ix] = power;
    }
}

/// Resistance of a load that follows the voltage and takes `power` at its nominal voltage.
fn heater(load: &Load, power: Watts) -> Ohms {
    let volts = load.voltage.get();
    let ohms = volts * volts / power.get();
    Ohms::new(if ohms.is_finite() && ohms > 0.0 { ohms.min(OPEN) } else { OPEN })
}

/// A limit that the solver takes.
pub(crate) fn usable(amps: Amps) -> Amps {
    if amps.get().is_finite() { amps.max(Amps::zero()) } else { Amps::zero() }
}

/// Lowest and highest voltage of each battery: its share of the bank's, or by its own sheet where it is no part of it.
fn battery_voltages(system: &System) -> BTreeMap<DeviceIx, (Volts, Volts)> {
    let mut voltages = BTreeMap::new();
    let share = system.bank.as_ref().map(|bank| {
        let series = f64::from(bank.series.max(1));
        (bank.voltage_low / series, bank.voltage_high / series)
    });
    let first =
        system.bank.as_ref().and_then(|bank| bank.batteries.first()).and_then(|ix| system.devices.get(*ix));
    let nominal = first.and_then(|device| match &device.spec {
        Spec::Battery(battery) => Some(battery.part.voltage),
        _ => None,
    });
    for (ix, device) in system.devices.iter().enumerate() {
        let Spec::Battery(battery) = &device.spec else { continue };
        let own = (battery.part.cutoff, battery.part.float);
        let alike = nominal.is_some_and(|nominal| (battery.part.voltage / nominal - 1.0).abs() < 0.05);
        let (low, high) = share.filter(|_| alike).unwrap_or(own);
        if low.get().is_finite() && high.get().is_finite() {
            voltages.insert(ix, (low, high));
        }
    }
    voltages
}

/// The AC loads behind each inverter's outlet, whatever lies between.
fn ac_loads(system: &System, inverters: &[DeviceIx]) -> Vec<Vec<DeviceIx>> {
    let mut next: BTreeMap<DeviceIx, Vec<(DeviceIx, &str)>> = BTreeMap::new();
    for conductor in
        system.conductors.iter().filter(|conductor| matches!(conductor.pole, Pole::Line | Pole::Line2))
    {
        let name = |at| system.terminal(at).map_or("", |terminal| terminal.name.as_str());
        let (from, to) = (conductor.from, conductor.to);
        next.entry(from.device).or_default().push((to.device, name(from)));
        next.entry(to.device).or_default().push((from.device, name(to)));
    }
    let behind = |start: DeviceIx| {
        let mut seen = vec![false; system.devices.len()];
        let mut open = vec![start];
        let mut found = Vec::new();
        seen[start] = true;
        while let Some(ix) = open.pop() {
            if load_of(&system.devices[ix]).is_some() {
                found.push(ix);
            }
            // Another inverter is a source of its own; this one's own input is not behind it.
            let is_inverter = matches!(system.devices[ix].spec, Spec::Inverter(..));
            if is_inverter && ix != start {
                continue;
            }
            for (device, through) in next.get(&ix).into_iter().flatten() {
                if !(is_inverter && through.starts_with("in-")) && *device < seen.len() && !seen[*device] {
                    seen[*device] = true;
                    open.push(*device);
                }
            }
        }
        found.sort_unstable();
        found
    };
    inverters.iter().map(|ix| behind(*ix)).collect()
}

/// The arrays on each controller, by what its array terminals are wired to.
fn arrays(system: &System, built: &Built, controllers: Vec<DeviceIx>) -> Vec<(DeviceIx, Vec<DeviceIx>)> {
    if controllers.is_empty() {
        return Vec::new();
    }
    let mut groups = Groups::new(built.net.node_count());
    for element in &built.net.elements {
        if matches!(element.kind, Kind::Resistor { ohms } if ohms < TIE) {
            groups.join(element.a, element.b);
        }
    }
    let mut on = |controller: DeviceIx| {
        let Some(start) = built.named(system, controller, "array-positive") else { return Vec::new() };
        let group = groups.find(start.0);
        let is_array = |ix: &DeviceIx| matches!(system.devices[*ix].spec, Spec::Array(_));
        (0..system.devices.len())
            .filter(is_array)
            .filter(|ix| {
                built.named(system, *ix, "positive").is_some_and(|node| groups.find(node.0) == group)
            })
            .collect()
    };
    controllers.into_iter().map(|ix| (ix, on(ix))).collect()
}

/// Which nodes hang together through conductors and sources, at the values that the netlist has now.
pub(crate) struct Fed {
    groups: Groups,
    has_source: Vec<bool>,
}

impl Fed {
    pub(crate) fn of(built: &Built) -> Self {
        let count = built.net.node_count();
        let mut groups = Groups::new(count);
        let mut sources = Vec::new();
        for (ix, element) in built.net.elements.iter().enumerate() {
            let (joins, gives) = match element.kind {
                Kind::Resistor { ohms } => {
                    let device = built.device_of.get(ix).copied().flatten();
                    let is_load =
                        device.is_some_and(|device| matches!(built.stands[device], Stand::Heater(_)));
                    (ohms < TIE && !is_load, false)
                }
                Kind::Emf { volts, .. } => (volts > 0.0, volts > 0.0),
                Kind::Limited { volts, limit, .. } => {
                    (volts > 0.0 && limit > 0.0, volts > 0.0 && limit > 0.0)
                }
                Kind::Current { .. } | Kind::Power { .. } => (false, false),
            };
            if joins {
                groups.join(element.a, element.b);
            }
            if gives {
                sources.push(element.a);
            }
        }
        let mut has_source = vec![false; count];
        for node in sources {
            has_source[groups.find(node) as usize] = true;
        }
        Self { groups, has_source }
    }

    /// Whether a circuit through a source closes between two nodes.
    pub(crate) fn closes(&mut self, plus: u32, minus: u32) -> bool {
        let group = self.groups.find(plus);
        group == self.groups.find(minus) && self.has_source[group as usize]
    }
}
