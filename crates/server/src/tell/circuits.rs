//! Circuits and what protects and carries them.
//! Never: computes a drop; the schedules have it.
//! Start at [`circuits`].

use std::collections::BTreeMap;

use model::{Circuit, Conductor, Spec, System};

use super::shown;
use crate::{Stand, wire};

/// The conductors of each circuit, by index of the circuit.
pub fn conductors_of(system: &System) -> Vec<Vec<&Conductor>> {
    let mut of: Vec<Vec<&Conductor>> = vec![Vec::new(); system.circuits.len()];
    for conductor in &system.conductors {
        if let Some(own) = of.get_mut(conductor.circuit) {
            own.push(conductor);
        }
    }
    of
}

/// The longest conductor to lay that carries current, of those of a circuit.
pub fn longest<'c>(own: &[&'c Conductor]) -> Option<&'c Conductor> {
    own.iter()
        .filter(|conductor| conductor.pole.carries_current() && !conductor.is_internal)
        .copied()
        .max_by(|a, b| a.length.total_cmp(&b.length))
}

/// Ratings of a circuit's protective devices, source end first.
pub fn protection(system: &System, circuit: &Circuit) -> String {
    let ratings: Vec<String> = circuit
        .protection
        .iter()
        .filter_map(|ix| system.devices.get(*ix))
        .filter(|device| matches!(device.spec, Spec::Fuse(_) | Spec::Breaker(_)))
        .map(|device| drawing::rating(device).join(", "))
        .collect();
    match ratings.as_slice() {
        [near, far] if near == far => format!("{near}, both ends"),
        _ => ratings.join(", "),
    }
}

/// Share of the voltage lost in each circuit, shown, by id; empty for a refused system.
pub fn losses(stand: &Stand) -> BTreeMap<&str, String> {
    let rows = stand.schedules.iter().flat_map(|schedules| &schedules.circuits);
    rows.filter_map(|row| Some((row.id.as_str(), row.drop?.to_string()))).collect()
}

/// All circuits with something to lay.
pub fn circuits(stand: &Stand) -> Vec<wire::CircuitRow> {
    let system = &stand.system;
    let losses = losses(stand);
    system
        .circuits
        .iter()
        .zip(conductors_of(system))
        .filter(|(_, own)| own.iter().any(|conductor| !conductor.is_internal))
        .map(|(circuit, own)| {
            let longest = longest(&own);
            wire::CircuitRow {
                id: circuit.id.clone(),
                title: circuit.title.clone(),
                kind: kind(circuit).to_owned(),
                current: shown(circuit.current_steady),
                conductor: longest.map_or_else(String::new, |conductor| conductor.gauge.brief()),
                length: longest.map_or_else(String::new, |conductor| shown(conductor.length)),
                protection: protection(system, circuit),
                lost: losses.get(circuit.id.as_str()).cloned().unwrap_or_default(),
                conductors: own.iter().map(|conductor| conductor.id.clone()).collect(),
            }
        })
        .collect()
}

fn kind(circuit: &Circuit) -> &'static str {
    use model::CircuitKind;
    match circuit.kind {
        CircuitKind::BankLink => "links of the bank",
        CircuitKind::Main => "main",
        CircuitKind::Feeder => "feeder",
        CircuitKind::Branch => "branch",
        CircuitKind::Inverter => "inverter",
        CircuitKind::Charge => "charging",
        CircuitKind::Engine => "engine",
        CircuitKind::Array => "array",
        CircuitKind::Converter => "converter",
        CircuitKind::AcFeeder => "AC feeder",
        CircuitKind::AcBranch => "AC branch",
        CircuitKind::Bond => "bond",
    }
}
