//! One place of the diagram: what goes through it, what was derived about it, what it is joined to.
//! Never: solves a network; the study has every number.
//! Start at [`place`].

use std::collections::BTreeSet;

use model::{Circuit, Conductor, Device, Pole, Spec, System};
use network::Scene;
use quantity::{Kilograms, Money};

use super::diagram::Marks;
use super::{choices, figures, findings, shown, written};
use crate::{Stand, wire};

/// What stands at a device or conductor; `None` where there is none of that id.
pub fn place(stand: &Stand, id: &str) -> Option<wire::Place> {
    let system = &stand.system;
    let spots = findings::Spots::of(system);
    let all = findings::findings(stand, &spots);
    let marks = Marks::of(system, &all);
    let here = all.iter().enumerate().filter(|(_, finding)| finding.on_diagram.as_deref() == Some(id));
    let findings: Vec<usize> = here.map(|(at, _)| at).collect();
    if let Some(ix) = system.find(id) {
        let device = system.devices.get(ix)?;
        let line = marks.device(device);
        let neighbours = system
            .conductors
            .iter()
            .filter(|conductor| conductor.from.device == ix || conductor.to.device == ix)
            .map(|conductor| marks.conductor(system, conductor))
            .collect();
        return Some(wire::Place {
            id: line.id,
            kind: line.kind,
            title: line.title,
            about: line.about,
            facts: of_device(stand, ix, device),
            derived: derived(stand, id, &circuits_of(system, ix), &device.intent),
            findings,
            neighbours,
            line: stand.line(&device.intent).filter(|_| stand.project.spans.has(&device.intent)),
        });
    }
    let (ix, conductor) = system.conductors.iter().enumerate().find(|(_, conductor)| conductor.id == id)?;
    let line = marks.conductor(system, conductor);
    let ends = [conductor.from.device, conductor.to.device];
    let circuit = system.circuits.get(conductor.circuit);
    Some(wire::Place {
        id: line.id,
        kind: line.kind,
        title: line.title,
        about: line.about,
        facts: of_conductor(stand, ix, conductor),
        derived: derived(stand, id, &circuit.into_iter().collect::<Vec<_>>(), ""),
        findings,
        neighbours: ends.iter().filter_map(|ix| system.devices.get(*ix)).map(|d| marks.device(d)).collect(),
        line: stand.line(&conductor.intent).filter(|_| stand.project.spans.has(&conductor.intent)),
    })
}

/// Circuits that a device protects or that serve it.
fn circuits_of(system: &System, device: usize) -> Vec<&Circuit> {
    system
        .circuits
        .iter()
        .filter(|circuit| circuit.protection.contains(&device) || circuit.serves.contains(&device))
        .collect()
}

/// What was derived at an id, for its circuits, and for the table of the file that it comes from.
fn derived(stand: &Stand, id: &str, circuits: &[&Circuit], intent: &str) -> Vec<wire::Derived> {
    let system = &stand.system;
    let things: BTreeSet<&str> = system
        .devices
        .iter()
        .map(|device| device.id.as_str())
        .chain(system.conductors.iter().map(|conductor| conductor.id.as_str()))
        .collect();
    let table = intent.rsplit('.').next().unwrap_or_default();
    let on_plan = format!("plan.{intent}");
    let mut roots: Vec<&str> = vec![id];
    roots.extend((!matches!(intent, "" | "brief")).then_some(on_plan.as_str()));
    roots.extend(circuits.iter().map(|circuit| circuit.id.as_str()));
    roots.extend((!matches!(table, "" | "brief")).then_some(table));
    let circuit_ids: BTreeSet<&str> = system.circuits.iter().map(|circuit| circuit.id.as_str()).collect();
    // What a path is about: the longest id or root that it begins with.
    let home = |path: &str| -> Option<usize> {
        let mut at = path;
        while let Some(dot) = at.rfind('.') {
            at = &at[..dot];
            if things.contains(at) || circuit_ids.contains(at) || roots.contains(&at) {
                return Some(at.len());
            }
        }
        None
    };
    let mut seen = BTreeSet::new();
    let mut list = Vec::new();
    for root in roots.iter().copied() {
        for (path, because) in system.because.below(root) {
            // What belongs to another device or conductor is told there.
            let is_here = home(path) == Some(root.len()) && (root == id || !things.contains(root));
            // A load's own figures are told at its fuse and cable too: `fridge.current` is why they are what they are.
            let is_circuits = circuits.iter().any(|circuit| {
                circuit.id == root
                    && path.strip_prefix(root).is_some_and(|rest| matches!(rest, ".current" | ".drop-limit"))
            });
            if (is_here || is_circuits) && seen.insert(path.clone()) {
                let can_pin = choices::can_pin(path);
                list.push(wire::Derived {
                    path: path.clone(),
                    what: what(path).to_owned(),
                    value: because.value.clone(),
                    derived: because.pinned_over.clone(),
                    can_pin,
                    choices: if can_pin { choices::choices(stand, path, &because.value) } else { Vec::new() },
                });
            }
        }
    }
    list
}

/// The last word of a path, in words.
fn what(path: &str) -> &str {
    match path.rsplit('.').next().unwrap_or(path) {
        "gauge" => "Conductor size",
        "length" => "Length, one way",
        "rating" => "Rating",
        "family" => "Family of fuse",
        "part" => "Part",
        "current" => "Current to carry",
        "drop-limit" => "Share of the voltage that may be lost",
        "energy" => "Energy of a day",
        "power" => "Power",
        "fed-from" => "Fed from",
        "capacity" => "Capacity",
        "capacity-needed" => "Capacity needed",
        "short-circuit" => "Short-circuit current",
        "parallel" => "In parallel",
        "series" => "In series",
        "take-off" => "Where the bank is tapped",
        "spare" => "What the alternator can spare",
        "peak" => "Most that runs together",
        "built" => "Built otherwise",
        other => other,
    }
}

/// The state of a scene in words.
fn scene_words(scene: Scene) -> &'static str {
    match scene {
        Scene::EverythingOn => "everything on, bank low",
        Scene::Night => "at night",
        Scene::Charging => "charging",
        Scene::Starting => "motors starting",
    }
}

fn fact(what: &str, text: impl std::fmt::Display, scene: &str) -> wire::Fact {
    wire::Fact { what: what.to_owned(), text: text.to_string(), scene: scene.to_owned() }
}

fn of_device(stand: &Stand, ix: usize, device: &Device) -> Vec<wire::Fact> {
    let (system, results) = (&stand.system, &stand.results);
    let mut facts = Vec::new();
    let mut always = |what: &str, text: String| facts.push(fact(what, text, ""));
    if let Some(part) = &device.part {
        let title = choices::title(stand, part).unwrap_or(part);
        always("Part", format!("{title} ({part})"));
    }
    match &device.spec {
        Spec::Battery(at) | Spec::StartBattery(at) => {
            always("Short-circuit current", shown(at.short_circuit));
            always("Gives at most", shown(at.part.discharge_limit));
            always("Takes at most", shown(at.part.charge_limit));
        }
        Spec::Fuse(fuse) => {
            always("Breaks at most", format!("{} at {}", fuse.interrupt, system.voltage));
            always("Good up to", shown(fuse.voltage));
            always("Distance from its source", shown(fuse.distance));
        }
        Spec::Breaker(breaker) => {
            always("Breaks at most", shown(breaker.part.interrupt));
            always("Distance from its source", shown(breaker.distance));
        }
        Spec::Load(load) => {
            always("Power while it runs", shown(load.power));
            if load.power_start > load.power {
                always("Power while it starts", shown(load.power_start));
            }
            always(
                "Energy of a day",
                format!("{} in summer, {} in winter", load.energy_summer, load.energy_winter),
            );
            always("Voltage", shown(load.voltage));
        }
        Spec::Inverter(part, setting) => {
            always("Surge power", shown(part.surge));
            always("Power in heat", shown(part.power_hot));
            always("Idle draw", shown(part.idle));
            if let Some(setting) = setting {
                always("Set to", settings(setting));
            }
        }
        Spec::Charger(_, setting) | Spec::DcDc(_, setting) | Spec::Controller(_, setting) => {
            always("Set to", settings(setting));
        }
        Spec::Array(array) => {
            always("Modules", format!("{} in series, {} in parallel", array.series, array.parallel));
            always("Hottest cell", shown(array.hottest_cell));
            always("Tilt", shown(array.tilt));
        }
        _ => {}
    }
    for result in &results.scenes {
        let scene = scene_words(result.scene);
        if let Some(volts) = figures::across(results, result.scene, system, ix) {
            facts.push(fact("Voltage", volts, scene));
        } else if let Some(volts) = result.volts.get(ix).and_then(|volts| volts.iter().flatten().next()) {
            facts.push(fact("Voltage against the bank's negative", volts, scene));
        }
        if let Some(amps) = result.device_amps.get(ix).filter(|amps| amps.abs().get() > 0.0) {
            facts.push(fact("Current", amps, scene));
        }
    }
    for (terminal, at) in device.terminals.iter().enumerate() {
        let at_terminal = model::TerminalRef { device: ix, terminal };
        if !at.pole.is_ungrounded() {
            continue;
        }
        let name = if device.terminals.len() > 1 { format!(" at {}", at.name) } else { String::new() };
        if let Some(most) = results.most_fault(at_terminal) {
            facts.push(fact(&format!("Fault current{name}, most"), most, "short circuit"));
        }
        if let Some(least) = results.least_fault(at_terminal) {
            facts.push(fact(&format!("Fault current{name}, least"), least, "short circuit"));
        }
    }
    if let Some(zone) = system.zones.get(device.zone) {
        facts.push(fact("Where", format!("{}, {} to {}", zone.id, zone.coldest, zone.hottest), ""));
    }
    if device.mass > Kilograms::zero() {
        facts.push(fact("Mass", device.mass, ""));
    }
    if device.price.1 > Money::zero() {
        facts.push(fact("Price", format!("{} to {}", device.price.0, device.price.1), ""));
    }
    facts.push(fact("Terminals", terminals(device), ""));
    facts
}

/// Names of its terminals with what they carry.
fn terminals(device: &Device) -> String {
    let one = |terminal: &model::Terminal| match terminal.stud {
        Some(stud) => format!("{} ({}, stud {stud})", terminal.name, terminal.pole.word()),
        None => format!("{} ({})", terminal.name, terminal.pole.word()),
    };
    device.terminals.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn settings(setting: &model::ChargeSetting) -> String {
    format!(
        "{} absorption, {} float, {}, profile {}",
        setting.absorption, setting.float, setting.current, setting.profile
    )
}

fn of_conductor(stand: &Stand, ix: usize, conductor: &Conductor) -> Vec<wire::Fact> {
    let (system, results) = (&stand.system, &stand.results);
    let mut facts = vec![
        fact("From", system.terminal_name(conductor.from), ""),
        fact("To", system.terminal_name(conductor.to), ""),
        fact("Carries", conductor.pole.word(), ""),
    ];
    if !conductor.is_internal {
        facts.push(fact("Size", conductor.gauge.brief(), ""));
        facts.push(fact("Length, one way", written(&conductor.length), ""));
        let strands = if conductor.tinned { "tinned" } else { "bare copper" };
        let sheath = if conductor.sheathed { ", sheathed" } else { "" };
        facts.push(fact("Insulation", format!("{}, {strands}{sheath}", conductor.insulation), ""));
        if conductor.bundle > 1 {
            facts.push(fact("Bundled with", format!("{} that carry current", conductor.bundle), ""));
        }
        if let Some(zone) = system.zones.get(conductor.zone) {
            facts.push(fact("Hottest place on its way", format!("{}, {}", zone.id, zone.hottest), ""));
        }
        if let Some(cable) = &conductor.cable {
            facts.push(fact("Cable", choices::title(stand, cable).unwrap_or(cable), ""));
        }
    }
    let resistance = results.resistances.get(ix).copied();
    if let Some(resistance) = resistance.filter(|ohms| ohms.get() > 0.0) {
        facts.push(fact("Resistance, warm", resistance, ""));
    }
    if let Some(circuit) = system.circuits.get(conductor.circuit) {
        facts.push(fact("Circuit", &circuit.title, ""));
        if conductor.pole != Pole::Earth {
            facts.push(fact("Sized for", circuit.current_steady, ""));
        }
    }
    if conductor.pole.is_ac() || conductor.pole == Pole::Earth {
        return facts;
    }
    for result in &results.scenes {
        let scene = scene_words(result.scene);
        let Some(amps) = result.amps.get(ix) else { continue };
        facts.push(fact("Current", amps.abs(), scene));
        if let Some(ohms) = resistance {
            facts.push(fact("Voltage lost", amps.abs() * ohms, scene));
        }
        if let Some(watts) = result.losses.get(ix) {
            facts.push(fact("Heat", watts, scene));
        }
    }
    if conductor.pole.is_ungrounded() {
        if let Some(most) = results.most_fault(conductor.from) {
            facts.push(fact("Fault current where it begins, most", most, "short circuit"));
        }
        if let Some(least) = results.least_fault(conductor.to) {
            facts.push(fact("Fault current at its end, least", least, "short circuit"));
        }
    }
    facts
}
