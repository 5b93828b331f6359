//! The fuse schedule: every fuse and breaker, what it must break, and the spares to carry.
//! Never: judges whether it is enough (see `rules`).
//! Start at [`fuses`].

use std::collections::BTreeMap;

use model::{Device, DeviceIx, Fuse, Spec, System, TerminalRef};
use network::Results;
use quantity::{Amps, Metres, Volts, Written};
use reference::{FuseOrBreaker, Reference};
use serde::Serialize;

use crate::table::{Cell, Table, numbers, words};

/// One protective device.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FuseRow {
    /// Its id.
    pub device: String,
    /// What it is called.
    pub title: String,
    /// Family of a fuse, a key of the reference table; `breaker` or `residual-current device` for the others.
    pub family: String,
    /// Rating.
    pub rating: Amps,
    /// Highest voltage it may be used at.
    pub voltage: Option<Volts>,
    /// The circuit it protects; the circuits, where there are several.
    pub circuits: Vec<String>,
    /// Where it sits: a panel, or a zone.
    pub place: String,
    /// Distance from its source along the conductor.
    pub distance: Metres,
    /// Largest current it can break.
    pub interrupt: Amps,
    /// Largest fault current there; `None` where the study gives none (the AC side).
    pub prospective: Option<Amps>,
    /// Spares of this family and rating to carry, for all places together.
    pub spares: u32,
}

/// Fuses in use of one kind from which on two spares are carried. Common practice, no source.
const MANY_IN_USE: u32 = 4;

/// Spares to carry of a kind of fuse: one, or two where four or more are in use; none of what can be reset.
/// Common practice, no source.
pub fn spares(family: &str, in_use: u32) -> u32 {
    let can_be_reset =
        Reference::standard().fuse_family(family).is_none_or(|family| family.kind == FuseOrBreaker::Breaker);
    match in_use {
        _ if can_be_reset => 0,
        0 => 0,
        few if few < MANY_IN_USE => 1,
        _ => 2,
    }
}

/// A kind of fuse: family, and rating as written.
pub type FuseKind = (String, String);

/// How many fuses of each kind are in use, where, and their rating.
pub fn kinds(system: &System) -> BTreeMap<FuseKind, (Amps, Vec<String>)> {
    let mut kinds: BTreeMap<FuseKind, (Amps, Vec<String>)> = BTreeMap::new();
    for device in &system.devices {
        if let Spec::Fuse(fuse) = &device.spec {
            kinds.entry(kind(fuse)).or_insert_with(|| (fuse.rating, Vec::new())).1.push(device.id.clone());
        }
    }
    kinds
}

fn kind(fuse: &Fuse) -> FuseKind {
    (fuse.family.clone(), fuse.rating.show())
}

/// The fuse schedule, in the order of the circuits and then by id.
pub fn fuses(system: &System, results: &Results) -> Vec<FuseRow> {
    let kinds = kinds(system);
    let mut protects: Vec<Vec<usize>> = vec![Vec::new(); system.devices.len()];
    for (ix, circuit) in system.circuits.iter().enumerate() {
        for device in &circuit.protection {
            if let Some(list) = protects.get_mut(*device) {
                list.push(ix);
            }
        }
    }
    let mut rows: Vec<(usize, FuseRow)> = Vec::new();
    for ((ix, device), protects) in system.devices.iter().enumerate().zip(&protects) {
        let titles = protects.iter().filter_map(|ix| system.circuits.get(*ix));
        let circuits = titles.map(|circuit| circuit.title.clone()).collect();
        let prospective = prospective(device, ix, results);
        let row = match &device.spec {
            Spec::Fuse(fuse) => {
                let in_use = kinds.get(&kind(fuse)).map_or(0, |(_, places)| places.len());
                FuseRow {
                    device: device.id.clone(),
                    title: device.title.clone(),
                    family: fuse.family.clone(),
                    rating: fuse.rating,
                    voltage: Some(fuse.voltage),
                    circuits,
                    place: place(system, device, fuse.panel),
                    distance: fuse.distance,
                    interrupt: fuse.interrupt,
                    prospective,
                    spares: spares(&fuse.family, u32::try_from(in_use).unwrap_or(u32::MAX)),
                }
            }
            Spec::Breaker(breaker) => FuseRow {
                device: device.id.clone(),
                title: device.title.clone(),
                family: match breaker.part.residual {
                    Some(residual) => format!("residual-current device, {residual}"),
                    None => "breaker".to_owned(),
                },
                rating: breaker.part.current,
                voltage: breaker.part.ac_voltage.or(breaker.part.dc_voltage),
                circuits,
                place: place(system, device, breaker.panel),
                distance: breaker.distance,
                interrupt: breaker.part.interrupt,
                prospective,
                spares: 0,
            },
            _ => continue,
        };
        rows.push((protects.first().copied().unwrap_or(usize::MAX), row));
    }
    rows.sort_by(|a, b| (a.0, &a.1.device).cmp(&(b.0, &b.1.device)));
    rows.into_iter().map(|(_, row)| row).collect()
}

/// Largest fault current at any of the device's terminals: a short behind it flows through it.
fn prospective(device: &Device, ix: DeviceIx, results: &Results) -> Option<Amps> {
    (0..device.terminals.len())
        .filter_map(|terminal| results.most_fault(TerminalRef { device: ix, terminal }))
        .reduce(Amps::max)
}

fn place(system: &System, device: &Device, panel: Option<DeviceIx>) -> String {
    match panel.and_then(|panel| system.devices.get(panel)) {
        Some(panel) => panel.title.clone(),
        None => system.zones.get(device.zone).map_or_else(String::new, |zone| format!("zone {}", zone.id)),
    }
}

/// The schedule as a table.
pub fn table(rows: &[FuseRow]) -> Table {
    let columns = vec![
        words("id", "Device", 24.0),
        words("title", "Title", 26.0),
        words("family", "Family", 20.0),
        numbers("rating_a", "Rating", "A", 1, 9.0),
        numbers("voltage_v", "Highest voltage", "V", 0, 9.0),
        words("circuit", "Circuit", 28.0),
        words("place", "Place", 24.0),
        numbers("distance_m", "Distance from source", "m", 2, 10.0),
        numbers("interrupt_a", "Interrupt rating", "A", 0, 10.0),
        numbers("fault_a", "Largest fault there", "A", 0, 10.0),
        numbers("spares", "Spares of this kind", "", 0, 9.0),
    ];
    let mut table = Table::new("fuses", "Fuses", columns);
    for row in rows {
        table.push(vec![
            row.device.as_str().into(),
            row.title.as_str().into(),
            row.family.as_str().into(),
            row.rating.get().into(),
            row.voltage.map(|voltage| voltage.get()).into(),
            row.circuits.join(", ").into(),
            row.place.as_str().into(),
            row.distance.get().into(),
            row.interrupt.get().into(),
            Cell::from(row.prospective.map(|fault| fault.get())),
            row.spares.into(),
        ]);
    }
    table
}

/// The spares to carry as a table, one row for each kind of fuse.
pub fn spare_table(rows: &[FuseRow]) -> Table {
    let columns = vec![
        words("family", "Family", 20.0),
        numbers("rating_a", "Rating", "A", 1, 9.0),
        numbers("voltage_v", "Highest voltage", "V", 0, 9.0),
        numbers("in_use", "In use", "", 0, 8.0).summed(),
        numbers("spares", "Spares", "", 0, 8.0).summed(),
        words("devices", "Where", 60.0),
    ];
    let mut kinds: BTreeMap<FuseKind, Vec<&FuseRow>> = BTreeMap::new();
    for row in rows.iter().filter(|row| row.spares > 0) {
        kinds.entry((row.family.clone(), row.rating.show())).or_default().push(row);
    }
    let mut kinds: Vec<Vec<&FuseRow>> = kinds.into_values().collect();
    kinds.sort_by(|a, b| {
        let key = |rows: &[&FuseRow]| rows.first().map(|row| (row.family.clone(), row.rating.get()));
        key(a).partial_cmp(&key(b)).unwrap_or(std::cmp::Ordering::Equal)
    });
    let mut table = Table::new("spare-fuses", "Spare fuses", columns);
    for alike in kinds {
        let Some(first) = alike.first() else { continue };
        // The highest of them, so that a spare serves in every place.
        let voltage = alike.iter().filter_map(|row| row.voltage).reduce(Volts::max);
        let devices: Vec<&str> = alike.iter().map(|row| row.device.as_str()).collect();
        table.push(vec![
            first.family.as_str().into(),
            first.rating.get().into(),
            voltage.map(|voltage| voltage.get()).into(),
            u32::try_from(alike.len()).unwrap_or(u32::MAX).into(),
            first.spares.into(),
            devices.join(", ").into(),
        ]);
    }
    table
}
