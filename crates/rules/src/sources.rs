//! What charges the bank, and what hangs behind a terminal: the common ground of the rules on batteries, sun and engine.
//! Never: words a finding.
//! Start at [`charging`], [`strings`] and [`around`].

use std::collections::BTreeSet;

use model::parts;
use model::{Array, ChargeSetting, Device, DeviceIx, Edit, Load, Spec, TerminalRef};
use network::Scene;
use quantity::{Amps, Celsius, Volts, Watts};
use reference::{Cite, Reference};

use crate::{Case, Edge, Finding};

/// Where charging energy comes from; sources of one kind can give at the same time, and the sun with either.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum From {
    Sun,
    Engine,
    Mains,
}

/// One charging device.
pub(crate) struct Charging<'s> {
    pub device: &'s Device,
    pub from: From,
    /// What it can give the bank.
    pub current: Amps,
    /// Its settings; a relay has none.
    pub setting: Option<&'s ChargeSetting>,
    /// Profiles that it can be set to; empty where the part does not say.
    pub profiles: &'s [parts::Chemistry],
}

/// Every device that charges the bank, in the order of the devices.
pub(crate) fn charging<'s>(case: &Case<'s>) -> Vec<Charging<'s>> {
    let mut found = Vec::new();
    for (ix, device) in case.system.devices.iter().enumerate() {
        let (from, current, setting, profiles): (_, _, _, &[parts::Chemistry]) = match &device.spec {
            Spec::Inverter(_, Some(setting)) => (From::Mains, setting.current, Some(setting), &[]),
            Spec::Charger(part, setting) => (From::Mains, setting.current, Some(setting), &part.profiles),
            Spec::DcDc(part, setting) => (From::Engine, setting.current, Some(setting), &part.profiles),
            Spec::Controller(part, setting) => {
                (From::Sun, sun_current(case, ix, setting), Some(setting), &part.profiles)
            }
            Spec::Relay(relay) => {
                (From::Engine, device_amps(case, Scene::Charging, ix).unwrap_or(relay.current), None, &[])
            }
            _ => continue,
        };
        found.push(Charging { device, from, current, setting, profiles });
    }
    found
}

/// What a controller gives at most: its setting, or what its arrays make.
fn sun_current(case: &Case<'_>, controller: DeviceIx, setting: &ChargeSetting) -> Amps {
    let power: Watts = arrays_of(case, controller).iter().map(|array| array_power(array)).sum();
    if power > Watts::zero() { setting.current.min(power / case.system.voltage) } else { setting.current }
}

/// Rated power of an array.
pub(crate) fn array_power(array: &Array) -> Watts {
    array.module.power * f64::from(array.series * array.parallel)
}

/// The arrays on a controller.
pub(crate) fn arrays_of<'s>(case: &Case<'s>, controller: DeviceIx) -> Vec<&'s Array> {
    let Some(start) = case.terminal(controller, "array-positive") else { return Vec::new() };
    let mut found: Vec<&Array> = Vec::new();
    for at in around(case, start, |_| true) {
        if let Some(Device { spec: Spec::Array(array), .. }) = case.device(at.device) {
            found.push(array);
        }
    }
    found
}

/// Like strings on one controller.
pub(crate) struct StringOf<'s> {
    /// One array device of them.
    pub device: DeviceIx,
    pub name: &'s Device,
    pub array: &'s Array,
    /// How many strings like it feed the controller, over all its array devices.
    pub parallel: u32,
    pub controller: &'s Device,
    pub part: &'s parts::Controller,
    pub setting: &'s ChargeSetting,
}

/// The strings on every controller; strings of the same module and number in series count as one entry.
pub(crate) fn strings<'s>(case: &Case<'s>) -> Vec<StringOf<'s>> {
    let mut found: Vec<StringOf<'s>> = Vec::new();
    for (ix, controller) in case.system.devices.iter().enumerate() {
        let Spec::Controller(part, setting) = &controller.spec else { continue };
        let Some(start) = case.terminal(ix, "array-positive") else { continue };
        let first = found.len();
        for at in around(case, start, |_| true) {
            let Some(name) = case.device(at.device) else { continue };
            let Spec::Array(array) = &name.spec else { continue };
            let like = found[first..]
                .iter_mut()
                .find(|known| known.array.series == array.series && known.array.module == array.module);
            match like {
                Some(known) => known.parallel += array.parallel,
                None => found.push(StringOf {
                    device: at.device,
                    name,
                    array,
                    parallel: array.parallel,
                    controller,
                    part,
                    setting,
                }),
            }
        }
    }
    found
}

/// Adds to a finding about an array: change its number in series, where intent.toml says which array it is.
pub(crate) fn series_fix(found: &mut Finding, array: &Device, series: f64, what: String) {
    if array.intent.starts_with("solar.") {
        found.fix(what, vec![Edit::set(&format!("{}.series", array.intent), series.to_string())]);
    } else {
        found.mend(what);
    }
}

/// Open-circuit voltage of a string at an air temperature, by the module's own coefficient.
pub(crate) fn open_voltage(array: &Array, cell: Celsius) -> Volts {
    let change = array.module.voltage_coefficient * (cell - Celsius::new(25.0));
    array.module.open_voltage * f64::from(array.series) * (1.0 + change.get())
}

/// Voltage of a string at its power maximum, by the power coefficient: all that the heat takes is taken from the voltage.
pub(crate) fn power_voltage(array: &Array, cell: Celsius) -> Volts {
    let change = array.module.power_coefficient * (cell - Celsius::new(25.0));
    array.module.power_voltage * f64::from(array.series) * (1.0 + change.get())
}

/// Amps of a two-terminal device in a scene, without sign; `None` where the scene was not solved.
pub(crate) fn device_amps(case: &Case<'_>, scene: Scene, device: DeviceIx) -> Option<Amps> {
    let amps = *case.results.scene(scene)?.device_amps.get(device)?;
    amps.get().is_finite().then(|| amps.abs())
}

/// Volts of a terminal in a scene; `None` on the AC side and where the scene was not solved.
pub(crate) fn volts(case: &Case<'_>, scene: Scene, at: TerminalRef) -> Option<Volts> {
    *case.results.scene(scene)?.volts.get(at.device)?.get(at.terminal)?
}

/// Terminals that hang together with `start` by steps that `may` allows, nearest first; the start is the first.
///
/// Time grows with what is found, not with the system.
pub(crate) fn around(case: &Case<'_>, start: TerminalRef, may: impl Fn(&Edge) -> bool) -> Vec<TerminalRef> {
    let Some(start) = case.graph.node(start) else { return Vec::new() };
    let mut seen = BTreeSet::from([start]);
    let mut list = vec![start];
    let mut next = 0;
    while let Some(node) = list.get(next).copied() {
        for edge in case.graph.edges(node).iter().filter(|edge| may(edge)) {
            if seen.insert(edge.to) {
                list.push(edge.to);
            }
        }
        next += 1;
    }
    list.into_iter().map(|node| case.graph.terminal(node)).collect()
}

/// The loads at these terminals, each once.
pub(crate) fn loads_at<'s>(case: &Case<'s>, terminals: &[TerminalRef]) -> Vec<&'s Load> {
    let devices: BTreeSet<DeviceIx> = terminals.iter().map(|at| at.device).collect();
    let load = |ix: DeviceIx| match &case.device(ix)?.spec {
        Spec::Load(load) => Some(load),
        _ => None,
    };
    devices.into_iter().filter_map(load).collect()
}

/// Sum over loads that may run together: of those that take turns only the largest counts.
pub(crate) fn together(loads: &[&Load], of: impl Fn(&Load) -> f64) -> f64 {
    let mut turns = std::collections::BTreeMap::new();
    let mut sum = 0.0;
    for load in loads {
        match &load.takes_turns {
            Some(group) => {
                let most = turns.entry(group.as_str()).or_insert(0.0_f64);
                *most = most.max(of(load));
            }
            None => sum += of(load),
        }
    }
    sum + turns.values().sum::<f64>()
}

/// Whether two voltages count as one nominal voltage, and the row that says how near they must be.
pub(crate) fn is_same_nominal(one: Volts, other: Volts) -> (bool, Cite) {
    let limit = Reference::standard().same_nominal();
    let (low, high) = (one.min(other), one.max(other));
    let same = low > Volts::zero() && high / low - 1.0 <= limit.value.get();
    (same, limit.cite)
}

/// The part that the bank is made of: that of its first battery.
pub(crate) fn bank_part<'s>(case: &Case<'s>) -> Option<&'s parts::Battery> {
    let bank = case.system.bank.as_ref()?;
    bank.batteries.iter().find_map(|ix| match &case.device(*ix)?.spec {
        Spec::Battery(battery) => Some(&battery.part),
        _ => None,
    })
}
