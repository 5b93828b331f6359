//! Holes to drill: screws of each device, screws of the board, and one hole with a grommet for the cables that leave a device.
//! Never: judges them (see `faults`).
//! Start at [`holes`].

use model::{DeviceIx, Library, Side, System};
use quantity::Metres;
use serde::Serialize;

use crate::footprint::{Body, cable_diameter_mm};
use crate::geometry::Rect;
use crate::layout::Layout;
use crate::plan::{FIXING_HOLE_MM, Plan};
use crate::problem::Spot;

/// What a hole is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HoleUse {
    /// A screw of a device.
    Device,
    /// The cables that leave a device, through a grommet.
    Cables,
    /// A screw of the board itself.
    Board,
}

/// A hole.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Hole {
    /// What it is for.
    pub is_for: HoleUse,
    /// Its device, by name; empty for the board's own.
    pub device: String,
    /// Index of that device.
    #[serde(skip)]
    pub(crate) device_ix: Option<DeviceIx>,
    /// Middle, from the left edge [mm].
    pub x_mm: i32,
    /// Middle, from the lower edge [mm].
    pub y_mm: i32,
    /// Diameter.
    pub diameter: Metres,
}

/// Room that a bundle needs over the sum of its cables' areas: they do not fill a round hole. Common practice, no source.
const BUNDLE: f64 = 1.3;
/// Wood left between two grommets, and between one and the edge [mm].
const BETWEEN_MM: i32 = 15;

/// Every hole of the layout: devices in order, then cables, then the board's own screws.
pub(crate) fn holes(
    system: &System,
    library: &Library,
    layout: &Layout,
    standing: &[(&Body, Spot)],
) -> Vec<Hole> {
    let mut all = Vec::new();
    for (body, spot) in standing {
        let size = (body.size_mm[0], body.size_mm[1]);
        for hole in &body.holes_mm {
            let (x, y) = spot.turn.point(size, *hole);
            all.push(Hole {
                is_for: HoleUse::Device,
                device: system.devices[body.device].id.clone(),
                device_ix: Some(body.device),
                x_mm: spot.x + x,
                y_mm: spot.y + y,
                diameter: Metres::new(body.hole_mm / 1000.0),
            });
        }
    }
    let mut grommets: Vec<Hole> = Vec::new();
    for placed in &layout.devices {
        let is_on = |device: DeviceIx| layout.devices.iter().any(|placed| placed.device == device);
        let mut cables: Vec<(u32, f64)> = Vec::new();
        for conductor in system.conductors.iter().filter(|conductor| !conductor.is_internal) {
            let ends = [conductor.from.device, conductor.to.device];
            // One sheath is one cable, whatever its cores.
            let is_known =
                conductor.cores > 1 && cables.iter().any(|(number, _)| *number == conductor.number);
            if ends.contains(&placed.device) && !ends.iter().all(|end| is_on(*end)) && !is_known {
                cables.push((conductor.number, cable_diameter_mm(conductor, library)));
            }
        }
        if cables.is_empty() {
            continue;
        }
        let squares: f64 = cables.iter().map(|(_, diameter)| diameter * diameter).sum();
        let diameter = ((squares.sqrt() * BUNDLE / 5.0).ceil() * 5.0) as i32;
        let across = placed.rect.x_mm + placed.rect.width_mm / 2;
        let along = placed.rect.y_mm + placed.rect.height_mm / 2;
        if let Some((x_mm, y_mm)) = free_spot(&layout.plan, layout, &grommets, (across, along), diameter) {
            grommets.push(Hole {
                is_for: HoleUse::Cables,
                device: placed.id.clone(),
                device_ix: Some(placed.device),
                x_mm,
                y_mm,
                diameter: Metres::new(f64::from(diameter) / 1000.0),
            });
        }
    }
    all.append(&mut grommets);
    all.extend(layout.plan.fixings_mm.iter().map(|(x, y)| Hole {
        is_for: HoleUse::Board,
        device: String::new(),
        device_ix: None,
        x_mm: *x,
        y_mm: *y,
        diameter: Metres::new(FIXING_HOLE_MM / 1000.0),
    }));
    all
}

fn around((x, y): (i32, i32), diameter: i32) -> Rect {
    Rect::new(x - diameter / 2, y - diameter / 2, diameter, diameter)
}

/// The place nearest to straight out from the device, near the entry side, where nothing else is.
fn free_spot(
    plan: &Plan,
    layout: &Layout,
    taken: &[Hole],
    from: (i32, i32),
    diameter: i32,
) -> Option<(i32, i32)> {
    let (width, height) = plan.outline.extent();
    let is_level = matches!(plan.entry, Side::Bottom | Side::Top);
    let (start, most, deepest) = if is_level { (from.0, width, height) } else { (from.1, height, width) };
    let first = diameter / 2 + BETWEEN_MM;
    for depth in (first..deepest).step_by(10) {
        for step in 0..=most / 5 {
            for sign in [1, -1] {
                let along = start + sign * step * 5;
                let at = match plan.entry {
                    Side::Bottom => (along, depth),
                    Side::Top => (along, height - depth),
                    Side::Left => (depth, along),
                    Side::Right => (width - depth, along),
                };
                let hole = around(at, diameter);
                let is_free = plan.outline.holds(hole.grown([BETWEEN_MM; 4]))
                    && plan.notches.iter().all(|notch| notch.depth(hole.grown([BETWEEN_MM; 4])) == 0)
                    && plan.keep_out.iter().all(|area| area.depth(hole) == 0)
                    && layout.devices.iter().all(|placed| placed.rect.depth(hole.grown([5; 4])) == 0)
                    && plan.fixings_mm.iter().all(|fixing| around(*fixing, 12).depth(hole) == 0)
                    && taken.iter().all(|other| {
                        let size = (other.diameter.get() * 1000.0).round() as i32;
                        around((other.x_mm, other.y_mm), size).depth(hole.grown([BETWEEN_MM; 4])) == 0
                    });
                if is_free {
                    return Some(at);
                }
            }
        }
    }
    None
}
