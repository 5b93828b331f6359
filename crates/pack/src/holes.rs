//! The hole schedule: where cables leave a zone, how large the hole is, what keeps the edge from the cable and the water out.
//! Never: knows where on a wall a hole sits; that takes a plan of the vehicle.
//! Start at [`holes`].

use board::gland_for;
use model::parts::Library;
use model::{Spec, System, TerminalRef, Zone, ZoneKind};
use quantity::Metres;
use reference::{Provenance, Reference};
use serde::Serialize;

use crate::cables::CableRow;
use crate::made_ends::cable_diameter;
use crate::table::{Table, numbers, words};

/// What lines a hole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lining {
    /// A gland, which seals and holds one cable.
    Gland,
    /// A rubber grommet.
    Grommet,
    /// The flange of a device that sits in the hole.
    Flange,
}

/// One hole.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HoleRow {
    /// Run number; `None` for the cut-out of a device.
    pub run: Option<u32>,
    /// The conductor, the sheath's circuit, or the device.
    pub what: String,
    /// The zones on both sides.
    pub between: (String, String),
    /// Outside diameter of the cable; `None` where it must be measured.
    pub cable: Option<Metres>,
    /// What lines it.
    pub lining: Lining,
    /// The gland of the library, `gland.id`, else its thread, or the grommet's bore; `None` where none fits or the cable must be measured.
    pub fit: Option<String>,
    /// Hole to drill; `None` where the device's own sheet says.
    pub hole: Option<Metres>,
    /// What is done with the edge.
    pub edge: &'static str,
    /// What keeps water and fumes out.
    pub seal: &'static str,
    /// Documents behind the diameters.
    pub source: (&'static str, Provenance),
}

const EDGE: &str = "take off the burr; paint bare metal before the lining goes in";
/// Where the device's own sheet says, or nothing fits.
const PRACTICE: (&str, Provenance) = ("practice", Provenance::Memory);

/// The holes that follow from the zones at both ends of each cable, and the cut-outs of shore inlets.
/// Each cable has a hole of its own: a gland seals round one cable only.
pub fn holes(system: &System, rows: &[CableRow], library: &Library) -> Vec<HoleRow> {
    let mut holes: Vec<HoleRow> = Vec::new();
    let mut sheaths: Vec<u32> = Vec::new();
    for row in rows {
        let Some(conductor) = system.conductors.iter().find(|conductor| conductor.id == row.id) else {
            continue;
        };
        let (Some(from), Some(to)) = (zone(system, conductor.from), zone(system, conductor.to)) else {
            continue;
        };
        if from.0 == to.0 {
            continue;
        }
        if row.cores > 1 {
            if sheaths.contains(&row.number) {
                continue;
            }
            sheaths.push(row.number);
        }
        holes.push(hole(row, from.1, to.1, library));
    }
    for device in &system.devices {
        if let Spec::Inlet(_) = device.spec {
            let zone = system.zones.get(device.zone).map_or_else(String::new, |zone| zone.id.clone());
            holes.push(HoleRow {
                run: None,
                what: device.id.clone(),
                between: ("outside".to_owned(), zone),
                cable: None,
                lining: Lining::Flange,
                fit: None,
                hole: None,
                edge: EDGE,
                seal: "bed the flange in sealant; drip loop behind it",
                source: PRACTICE,
            });
        }
    }
    holes
}

/// The zone of a terminal's device; the chassis is everywhere, so it has none.
fn zone(system: &System, at: TerminalRef) -> Option<(usize, &Zone)> {
    let device = system.devices.get(at.device).filter(|device| !matches!(device.spec, Spec::Chassis))?;
    system.zones.get(device.zone).map(|zone| (device.zone, zone))
}

fn hole(row: &CableRow, from: &Zone, to: &Zone, library: &Library) -> HoleRow {
    let cable = cable_diameter(row, library);
    let has = |wanted: ZoneKind| from.kind == wanted || to.kind == wanted;
    let is_sealed = has(ZoneKind::Outside) || has(ZoneKind::Wet);
    let (lining, seal) = if is_sealed {
        (Lining::Gland, "the gland's own ring, and sealant under its flange; drip loop outside")
    } else if has(ZoneKind::EngineSpace) || has(ZoneKind::BatteryBox) {
        (Lining::Gland, "the gland's own ring: no fumes from the engine or the batteries")
    } else {
        (Lining::Grommet, "none needed")
    };
    let gland = cable.filter(|_| lining == Lining::Gland).and_then(|cable| gland_for(library, cable));
    let grommet = cable.filter(|_| gland.is_none()).and_then(|cable| Reference::standard().grommet(cable));
    let (lining, seal) = match (lining, &grommet) {
        // Cable too thin or too thick for every gland.
        (Lining::Gland, Some(_)) => (Lining::Grommet, "sealant round it in the grommet: no gland clamps it"),
        _ => (lining, seal),
    };
    let (fit, hole, source) = match (gland, grommet) {
        (Some(gland), _) => (Some(gland.part.unwrap_or(gland.thread)), Some(gland.hole), gland.source),
        (None, Some(grommet)) => {
            let source = (grommet.cite.source, grommet.cite.provenance);
            let bore = format!("bore {:.0} mm", grommet.value.bore.get() * 1000.0);
            (Some(bore), Some(grommet.value.hole), source)
        }
        (None, None) => (None, None, PRACTICE),
    };
    let what = if row.cores > 1 { format!("sheath of {}", row.circuit) } else { row.id.clone() };
    let between = (from.id.clone(), to.id.clone());
    HoleRow { run: Some(row.number), what, between, cable, lining, fit, hole, edge: EDGE, seal, source }
}

/// The schedule as a table.
pub fn table(rows: &[HoleRow]) -> Table {
    let columns = vec![
        numbers("run", "Run", "", 0, 6.0),
        words("what", "For", 26.0),
        words("from_zone", "From zone", 16.0),
        words("to_zone", "To zone", 16.0),
        numbers("cable_mm", "Cable, outside", "mm", 1, 9.0),
        words("lining", "Lining", 10.0),
        words("fit", "Gland or bore", 18.0),
        numbers("hole_mm", "Hole", "mm", 1, 8.0),
        words("edge", "Edge", 34.0),
        words("seal", "Seal", 40.0),
        words("source", "Source", 18.0),
    ];
    let mut table = Table::new("holes", "Holes", columns);
    for row in rows {
        let unknown = match (row.lining, row.cable) {
            (Lining::Flange, _) => "by the device's sheet",
            (_, None) => "measure the cable",
            _ => "none fits: to be found",
        };
        table.push(vec![
            row.run.into(),
            row.what.as_str().into(),
            row.between.0.as_str().into(),
            row.between.1.as_str().into(),
            row.cable.map(|cable| cable.get() * 1000.0).into(),
            match row.lining {
                Lining::Gland => "gland",
                Lining::Grommet => "grommet",
                Lining::Flange => "flange",
            }
            .into(),
            row.fit.clone().unwrap_or_else(|| unknown.to_owned()).into(),
            row.hole.map(|hole| hole.get() * 1000.0).into(),
            row.edge.into(),
            row.seal.into(),
            format!("{} ({})", row.source.0, row.source.1).into(),
        ]);
    }
    table
}
