//! The loads as a list.
//! Never: computes energy or a size.
//! Start at [`loads`].

use std::collections::BTreeMap;

use model::parts::TypicalLoad;
use model::{Load, LoadIntent, Name, Season, Spec};
use quantity::HoursPerDay;

use super::{circuits, shown};
use crate::{Stand, wire};

/// All, in the order of the file.
pub fn loads(stand: &Stand) -> Vec<wire::LoadRow> {
    let (project, system) = (&stand.project, &stand.system);
    let devices: BTreeMap<&str, (usize, &Load)> = system
        .devices
        .iter()
        .enumerate()
        .filter_map(|(ix, device)| match &device.spec {
            Spec::Load(load) => Some((load.intent.as_str(), (ix, load))),
            _ => None,
        })
        .collect();
    let mut fed_by: BTreeMap<usize, usize> = BTreeMap::new();
    for (circuit, of) in system.circuits.iter().enumerate() {
        fed_by.extend(of.serves.iter().map(|device| (*device, circuit)));
    }
    let conductors = circuits::conductors_of(system);
    let losses = circuits::losses(stand);
    let mut names: Vec<(&Name, &LoadIntent)> = project.intent.loads.iter().collect();
    names.sort_by_key(|(name, _)| {
        project.spans.nearest(&format!("loads.{name}")).map_or(usize::MAX, |span| span.start)
    });
    names
        .into_iter()
        .map(|(name, intent)| {
            let part = intent.part.as_ref().and_then(|part| project.library.load.get(part));
            let path = format!("loads.{name}");
            let found = devices.get(path.as_str()).copied();
            let device = found.and_then(|(ix, _)| system.devices.get(ix));
            let circuit = found.and_then(|(ix, _)| fed_by.get(&ix)).copied();
            let longest = circuit.and_then(|ix| circuits::longest(conductors.get(ix)?));
            let circuit = circuit.and_then(|ix| system.circuits.get(ix));
            let load = found.map(|(_, load)| load);
            let power_w = load.map_or(0.0, |load| load.power.get() / f64::from(load.count.max(1)));
            let length = intent.length.or(longest.map(|conductor| conductor.length));
            wire::LoadRow {
                id: name.to_string(),
                title: load
                    .map(|load| load.title.clone())
                    .or_else(|| intent.title.clone())
                    .unwrap_or_else(|| name.to_string()),
                part: intent.part.as_ref().map(Name::to_string),
                count: load.map_or(1, |load| load.count),
                supply: load.map_or_else(String::new, |load| load.supply.to_string()),
                power: shown(quantity::Watts::new(power_w)),
                power_w,
                hours: hours(intent, part).map(HoursPerDay::get),
                hours_written: intent.hours.is_some(),
                energy_wh: load.map_or(0.0, |load| load.habit.energy.get() + load.standby.get() * 24.0),
                season: season(load.map(|load| load.habit.season)).to_owned(),
                length: length.map_or_else(String::new, shown),
                length_written: intent.length.is_some(),
                panel: panel(stand, intent, circuit),
                conductor: longest.map_or_else(String::new, |conductor| conductor.gauge.brief()),
                protection: circuit.map_or_else(String::new, |circuit| circuits::protection(system, circuit)),
                lost: circuit
                    .and_then(|circuit| losses.get(circuit.id.as_str()).cloned())
                    .unwrap_or_default(),
                device: device.map(|device| device.id.clone()),
            }
        })
        .collect()
}

/// Hours switched on, as said or usual; `None` where its energy is said or it runs so many times a day.
pub fn hours(intent: &LoadIntent, part: Option<&TypicalLoad>) -> Option<HoursPerDay> {
    if intent.energy.is_some() {
        return None;
    }
    if intent.hours.is_some() {
        return intent.hours;
    }
    let runs = intent.runs.or(part.and_then(|part| part.runs));
    let run_time = intent.run_time.or(part.and_then(|part| part.run_time));
    if runs.is_some() && run_time.is_some() {
        return None;
    }
    // One hour is what is taken where neither person nor library says; it stands among the assumptions.
    Some(part.and_then(|part| part.hours).unwrap_or(HoursPerDay::new(1.0)))
}

fn season(season: Option<Season>) -> &'static str {
    match season {
        None | Some(Season::AllYear) => "all year",
        Some(Season::Summer) => "summer only",
        Some(Season::Winter) => "winter only",
    }
}

/// Title of the panel that feeds it.
fn panel(stand: &Stand, intent: &LoadIntent, circuit: Option<&model::Circuit>) -> String {
    let system = &stand.system;
    let of_fuse = circuit.and_then(|circuit| {
        circuit.protection.iter().find_map(|ix| match &system.devices.get(*ix)?.spec {
            Spec::Fuse(fuse) => fuse.panel,
            Spec::Breaker(breaker) => breaker.panel,
            _ => None,
        })
    });
    let device = of_fuse.and_then(|ix| system.devices.get(ix));
    device
        .map(|device| device.title.clone())
        .or_else(|| intent.panel.as_ref().map(Name::to_string))
        .unwrap_or_default()
}
