//! The wiring diagram: every conductor, both poles, from terminal to terminal, on as many sheets as it takes, each of which fits a page.
//! Never: leaves a conductor out; one that goes on on another sheet ends in a tag that names sheet and terminal.
//! Start at [`sheets`]; what goes on which sheet is here, where it stands in `lay.rs`, how it looks in `draw.rs`.

mod draw;
pub mod lay;
mod words;

use model::{CircuitKind, DeviceIx, Spec, System};

use crate::plate::Plate;
use lay::{Laid, Wish, lay};

/// The sheet \[mm\]. It lies on A4 (ISO 216) and on Letter (ANSI/ASME Y14.1) at full size with 20 mm around it; in the room
/// that the booklet leaves for a picture on its side (265 mm × 148 mm, 247.4 mm × 153.9 mm) its smallest print is 6 pt.
pub const PAPER: (f64, f64) = (255.0, 152.5);
/// Edge of the paper to the frame \[mm\].
pub const EDGE: f64 = 1.5;
/// Edge of the paper to the drawing \[mm\].
pub const MARGIN: f64 = 3.5;
/// Boxes side by side at most.
const COLUMNS: usize = 4;
/// Boxes on a sheet at most; more never fit.
const BOXES: usize = 20;

/// Devices that stand together, with a word for them.
struct Group {
    title: String,
    devices: Vec<DeviceIx>,
}

/// What stands on a sheet.
struct Page {
    /// Which group.
    group: usize,
    devices: Vec<DeviceIx>,
    /// Single devices of other groups that found room here.
    guests: Vec<DeviceIx>,
    laid: Laid,
}

/// The sheets.
pub fn sheets(system: &System) -> Vec<Plate> {
    let room = room(system);
    let groups = groups(system, room);
    let mut pages: Vec<Page> = Vec::new();
    for (ix, group) in groups.iter().enumerate() {
        let mut rest = group.devices.clone();
        while !rest.is_empty() {
            let (count, laid) = first_sheet(system, &rest, room);
            let devices: Vec<DeviceIx> = rest.drain(..count).collect();
            pages.push(Page { group: ix, devices, guests: Vec::new(), laid });
        }
    }
    let pages = without_single(system, pages, room);
    let mut sheet_of = vec![0; system.devices.len()];
    for (page, own) in pages.iter().enumerate() {
        for device in &own.devices {
            sheet_of[*device] = page + 1;
        }
    }
    let count = pages.len();
    let title = |page: usize, own: &Page| {
        let is_same = |other: &&Page| other.group == own.group;
        let mut title = groups.get(own.group).map_or_else(String::new, |group| group.title.clone());
        if pages.iter().filter(is_same).count() > 1 {
            title = format!("{title}, part {}", pages.iter().take(page + 1).filter(is_same).count());
        }
        for guest in own.guests.iter().filter_map(|guest| system.devices.get(*guest)) {
            title = format!("{title}; {}", guest.title);
        }
        title
    };
    pages
        .iter()
        .enumerate()
        .map(|(page, own)| draw::plate(system, &own.laid, &title(page, own), (page + 1, count), &sheet_of))
        .collect()
}

/// The pages without those of a single device that has room on another, the nearest first.
fn without_single(system: &System, mut pages: Vec<Page>, room: (f64, f64)) -> Vec<Page> {
    let mut at = 0;
    while at < pages.len() {
        let single = pages.get(at).and_then(|page| match page.devices[..] {
            [single] => Some(single),
            _ => None,
        });
        let mut near: Vec<usize> = (0..pages.len()).filter(|other| *other != at).collect();
        near.sort_by_key(|other| other.abs_diff(at));
        let host = single.and_then(|single| {
            near.into_iter().find_map(|other| {
                let mut devices = pages.get(other)?.devices.clone();
                devices.push(single);
                let laid = fitting(system, &devices, room)?;
                Some((single, other, devices, laid))
            })
        });
        match host {
            Some((single, other, devices, laid)) => {
                let is_guest =
                    pages.get(at).map(|page| page.group) != pages.get(other).map(|page| page.group);
                if let Some(page) = pages.get_mut(other) {
                    page.devices = devices;
                    page.laid = laid;
                    page.guests.extend(is_guest.then_some(single));
                }
                pages.remove(at);
            }
            None => at += 1,
        }
    }
    pages
}

/// Room for a drawing on the sheets of a system \[mm\].
fn room(system: &System) -> (f64, f64) {
    (PAPER.0 - 2.0 * MARGIN, PAPER.1 - 2.0 * MARGIN - draw::strip(system))
}

/// As many of some devices as fit on a sheet, in their order, and their layout. A cut falls between two chains where it can,
/// not between a device and what it feeds. One device that is larger than a sheet gets a larger sheet.
fn first_sheet(system: &System, devices: &[DeviceIx], room: (f64, f64)) -> (usize, Laid) {
    let most = devices.len().min(BOXES);
    let is_chained = |count: usize| {
        let (Some(last), Some(next)) = (devices.get(count - 1), devices.get(count)) else { return false };
        system
            .conductors
            .iter()
            .any(|conductor| conductor.from.device == *last && conductor.to.device == *next)
    };
    let mut cut = None;
    for count in (1..=most).rev() {
        let Some(laid) = devices.get(..count).and_then(|some| fitting(system, some, room)) else { continue };
        if !is_chained(count) {
            return (count, laid);
        }
        if cut.is_none() {
            cut = Some((count, laid));
        }
    }
    cut.unwrap_or_else(|| {
        let one = devices.get(..1).unwrap_or_default();
        let wish = Wish { columns: 1, is_aligned: false, is_paired: false, is_balanced: true };
        (1, lay(system, one, wish))
    })
}

/// The layout, where it fits on a sheet; with lines as straight as they can be, else packed.
fn fitting(system: &System, devices: &[DeviceIx], room: (f64, f64)) -> Option<Laid> {
    for is_balanced in [false, true] {
        for columns in (1..=COLUMNS).rev() {
            for (is_aligned, is_paired) in [(true, true), (true, false), (false, true), (false, false)] {
                let laid = lay(system, devices, Wish { columns, is_aligned, is_paired, is_balanced });
                if laid.size.0 <= room.0 && laid.size.1 <= room.1 {
                    return Some(laid);
                }
            }
        }
    }
    None
}

/// Groups of devices in the order in which a person reads: bank and busbars, charging, each panel with what it feeds.
fn groups(system: &System, room: (f64, f64)) -> Vec<Group> {
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
            if both.len() <= BOXES && fitting(system, &both, room).is_some() {
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
