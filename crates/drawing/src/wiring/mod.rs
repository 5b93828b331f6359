//! The wiring diagram: every conductor, both poles, from terminal to terminal, on as many A3 sheets as it takes.
//! Never: leaves a conductor out; one that goes on on another sheet ends in a tag that names sheet and terminal.
//! Start at [`sheets`]; what goes on which sheet is here, where it stands in `lay.rs`, how it looks in `draw.rs`.

mod draw;
pub mod lay;
mod words;

use model::{CircuitKind, DeviceIx, Spec, System};

use crate::plate::Plate;
use lay::{Laid, Wish, lay};

/// The sheet, landscape: A3 of ISO 216 \[mm\].
pub const PAPER: (f64, f64) = (420.0, 297.0);
/// Edge of the paper to the drawing \[mm\].
pub const MARGIN: f64 = 11.0;
/// Strip at the foot with keys and title block \[mm\].
pub const STRIP: f64 = 36.0;
/// Boxes side by side at most.
const COLUMNS: usize = 6;

/// Devices that stand together, with a word for them.
struct Group {
    title: String,
    devices: Vec<DeviceIx>,
}

/// The sheets.
pub fn sheets(system: &System) -> Vec<Plate> {
    let mut pages: Vec<(String, Vec<DeviceIx>, Laid)> = Vec::new();
    for group in groups(system) {
        let mut rest = group.devices;
        let mut part = 1;
        while !rest.is_empty() {
            // As many as fit, chain by chain in the order of the system.
            let mut count = rest.len();
            let mut laid = fitting(system, &rest);
            while laid.is_none() && count > 1 {
                count = if count > 8 { count * 7 / 8 } else { count - 1 };
                laid = rest.get(..count).and_then(|some| fitting(system, some));
            }
            let some: Vec<DeviceIx> = rest.drain(..count).collect();
            let is_part = part > 1 || !rest.is_empty();
            let title = if is_part { format!("{}, part {part}", group.title) } else { group.title.clone() };
            // One device that is larger than a sheet gets a larger sheet.
            let laid = laid.unwrap_or_else(|| {
                lay(system, &some, Wish { columns: COLUMNS, is_aligned: false, is_paired: false })
            });
            pages.push((title, some, laid));
            part += 1;
        }
    }
    let mut sheet_of = vec![0; system.devices.len()];
    for (page, (_, devices, _)) in pages.iter().enumerate() {
        for device in devices {
            sheet_of[*device] = page + 1;
        }
    }
    let count = pages.len();
    pages
        .iter()
        .enumerate()
        .map(|(page, (title, _, laid))| draw::plate(system, laid, title, (page + 1, count), &sheet_of))
        .collect()
}

/// The layout, where it fits on a sheet; with lines as straight as they can be, else packed.
fn fitting(system: &System, devices: &[DeviceIx]) -> Option<Laid> {
    let room = (PAPER.0 - 2.0 * MARGIN, PAPER.1 - 2.0 * MARGIN - STRIP);
    for columns in (3..=COLUMNS).rev() {
        for (is_aligned, is_paired) in [(true, true), (true, false), (false, true), (false, false)] {
            let laid = lay(system, devices, Wish { columns, is_aligned, is_paired });
            if laid.size.0 <= room.0 && laid.size.1 <= room.1 {
                return Some(laid);
            }
        }
    }
    None
}

/// Groups of devices in the order in which a person reads: bank and busbars, charging, each panel with what it feeds.
fn groups(system: &System) -> Vec<Group> {
    let count = system.devices.len();
    let mut panel_of: Vec<Option<DeviceIx>> = vec![None; count];
    for (ix, device) in system.devices.iter().enumerate() {
        panel_of[ix] = match &device.spec {
            Spec::FusePanel(_) | Spec::AcPanel(_) => Some(ix),
            Spec::Fuse(fuse) => fuse.panel,
            Spec::Breaker(breaker) => breaker.panel,
            _ => None,
        };
    }
    // A load goes where its conductors come from.
    for _ in 0..2 {
        for conductor in &system.conductors {
            for (a, b) in
                [(conductor.from.device, conductor.to.device), (conductor.to.device, conductor.from.device)]
            {
                let is_load =
                    system.devices.get(b).is_some_and(|device| matches!(device.spec, Spec::Load(_)));
                if is_load && panel_of[b].is_none() {
                    panel_of[b] = panel_of.get(a).copied().flatten();
                }
            }
        }
    }
    let mut is_charging = vec![false; count];
    let mut is_supply = vec![false; count];
    for conductor in &system.conductors {
        let Some(circuit) = system.circuits.get(conductor.circuit) else { continue };
        for device in [conductor.from.device, conductor.to.device] {
            let Some(spec) = system.devices.get(device).map(|device| &device.spec) else { continue };
            let stays =
                matches!(spec, Spec::Busbar(_) | Spec::Battery(_) | Spec::Inverter(..) | Spec::Chassis);
            if stays || panel_of[device].is_some() {
                continue;
            }
            match circuit.kind {
                CircuitKind::Charge | CircuitKind::Engine | CircuitKind::Array => is_charging[device] = true,
                CircuitKind::AcFeeder => is_supply[device] = true,
                _ => {}
            }
        }
    }
    let pick = |title: &str, of: &dyn Fn(DeviceIx) -> bool| Group {
        title: title.to_owned(),
        devices: order(system, (0..count).filter(|ix| of(*ix)).collect()),
    };
    let mut all = vec![
        pick("Bank and busbars", &|ix| panel_of[ix].is_none() && !is_charging[ix] && !is_supply[ix]),
        pick("Charging", &|ix| panel_of[ix].is_none() && is_charging[ix]),
        pick("Supply of alternating current", &|ix| {
            panel_of[ix].is_none() && is_supply[ix] && !is_charging[ix]
        }),
    ];
    for (ix, device) in system.devices.iter().enumerate() {
        if matches!(device.spec, Spec::FusePanel(_) | Spec::AcPanel(_)) {
            all.push(pick(&device.title, &|other| panel_of[other] == Some(ix)));
        }
    }
    all.retain(|group| !group.devices.is_empty());
    // Groups that fit together stand together.
    let mut merged: Vec<Group> = Vec::new();
    for group in all {
        if let Some(last) = merged.last_mut() {
            let both: Vec<DeviceIx> = last.devices.iter().chain(&group.devices).copied().collect();
            if both.len() <= 26 && fitting(system, &both).is_some() {
                last.devices = both;
                last.title = format!("{}; {}", last.title, group.title);
                continue;
            }
        }
        merged.push(group);
    }
    merged
}

/// Devices so that each follows what feeds it: chains stay together when a group is cut.
fn order(system: &System, devices: Vec<DeviceIx>) -> Vec<DeviceIx> {
    let mut done: Vec<DeviceIx> = Vec::new();
    for device in &devices {
        follow(system, *device, &devices, &mut done);
    }
    done
}

fn follow(system: &System, device: DeviceIx, all: &[DeviceIx], done: &mut Vec<DeviceIx>) {
    let mut queue = vec![device];
    while let Some(next) = queue.pop() {
        if done.contains(&next) || !all.contains(&next) {
            continue;
        }
        done.push(next);
        let fed = system.conductors.iter().rev().filter(|conductor| conductor.from.device == next);
        queue.extend(
            fed.filter(|conductor| conductor.pole.is_ungrounded()).map(|conductor| conductor.to.device),
        );
    }
}
