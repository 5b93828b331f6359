//! The one-line diagram with the list of all that is on it, in the order in which one walks it.
//! Never: draws; [`drawing`] does.
//! Start at [`diagram`].

use std::collections::{BTreeMap, BTreeSet};

use model::{CircuitKind, Conductor, Device, Pole, System};

use crate::{Stand, wire};

/// Picture and list.
pub fn diagram(stand: &Stand, findings: &[wire::Finding]) -> wire::Diagram {
    wire::Diagram { svg: stand.diagram().to_owned(), places: places(stand, findings) }
}

/// What is said in a list about each place.
pub struct Marks<'m> {
    worst: BTreeMap<&'m str, wire::Severity>,
    pinned: BTreeSet<&'m str>,
}

impl<'m> Marks<'m> {
    /// The worst finding of each place, and whether a value there is pinned.
    pub fn of(system: &'m System, findings: &'m [wire::Finding]) -> Self {
        let mut worst = BTreeMap::new();
        // The worst stands first.
        for finding in findings {
            if let Some(place) = &finding.on_diagram {
                worst.entry(place.as_str()).or_insert(finding.severity);
            }
        }
        let pinned =
            system.pinned.keys().filter_map(|path| path.rsplit_once('.')).map(|(of, _)| of).collect();
        Self { worst, pinned }
    }

    /// A device in a list.
    pub fn device(&self, device: &Device) -> wire::PlaceLine {
        self.line(
            &device.id,
            wire::PlaceKind::Device,
            device.title.clone(),
            drawing::rating(device).join(", "),
        )
    }

    /// A conductor in a list.
    pub fn conductor(&self, system: &System, conductor: &Conductor) -> wire::PlaceLine {
        self.line(&conductor.id, wire::PlaceKind::Conductor, title(system, conductor), about(conductor))
    }

    fn line(&self, id: &str, kind: wire::PlaceKind, title: String, about: String) -> wire::PlaceLine {
        wire::PlaceLine {
            id: id.to_owned(),
            kind,
            title,
            about,
            worst: self.worst.get(id).copied(),
            is_pinned: self.pinned.contains(id),
        }
    }
}

/// Where a conductor goes: `Run 5: positive from Main fuse to Busbar, positive`.
pub fn title(system: &System, conductor: &Conductor) -> String {
    let end =
        |at: model::TerminalRef| system.devices.get(at.device).map_or("?", |device| device.title.as_str());
    let run = match conductor.number {
        0 => "Link".to_owned(),
        number => format!("Run {number}"),
    };
    format!("{run}: {} from {} to {}", conductor.pole.word(), end(conductor.from), end(conductor.to))
}

/// Size and length of a conductor.
pub fn about(conductor: &Conductor) -> String {
    if conductor.is_internal {
        return "inside an assembly".to_owned();
    }
    let cores = if conductor.cores > 1 { format!("{} × ", conductor.cores) } else { String::new() };
    format!("{cores}{}, {}", conductor.gauge.brief(), conductor.length)
}

/// From the sources over bank and busbars to the loads, bonds last; along a circuit pole by pole.
fn walk(kind: CircuitKind) -> usize {
    match kind {
        CircuitKind::Array => 0,
        CircuitKind::Engine => 1,
        CircuitKind::AcFeeder => 2,
        CircuitKind::Charge => 3,
        CircuitKind::BankLink => 4,
        CircuitKind::Main => 5,
        CircuitKind::Inverter => 6,
        CircuitKind::Feeder => 7,
        CircuitKind::Converter => 8,
        CircuitKind::Branch => 9,
        CircuitKind::AcBranch => 10,
        CircuitKind::Bond => 11,
    }
}

fn places(stand: &Stand, findings: &[wire::Finding]) -> Vec<wire::PlaceLine> {
    let system = &stand.system;
    let marks = Marks::of(system, findings);
    let mut order: Vec<(usize, usize, Pole, usize)> = system
        .conductors
        .iter()
        .enumerate()
        .map(|(ix, conductor)| {
            let kind =
                system.circuits.get(conductor.circuit).map_or(CircuitKind::Bond, |circuit| circuit.kind);
            (walk(kind), conductor.circuit, conductor.pole, ix)
        })
        .collect();
    order.sort_unstable();
    let mut places = Vec::with_capacity(system.devices.len() + system.conductors.len());
    let mut is_told = vec![false; system.devices.len()];
    let mut device = |ix: usize, places: &mut Vec<wire::PlaceLine>| {
        if let (Some(told), Some(device)) = (is_told.get_mut(ix), system.devices.get(ix))
            && !std::mem::replace(told, true)
        {
            places.push(marks.device(device));
        }
    };
    for (.., ix) in order {
        let Some(conductor) = system.conductors.get(ix) else { continue };
        device(conductor.from.device, &mut places);
        places.push(marks.conductor(system, conductor));
        device(conductor.to.device, &mut places);
    }
    for ix in 0..system.devices.len() {
        device(ix, &mut places);
    }
    places
}
