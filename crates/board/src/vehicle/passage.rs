//! Holes through walls: where a cable crosses one, which cables share a hole, its diameter, edge and seal.
//! Never: judges them (see `faults.rs`).
//! Start at [`holes`].

use std::collections::BTreeMap;

use derive::ways::Spot;
use model::{Library, WallMaterial};
use quantity::Metres;
use reference::Reference;
use serde::Serialize;

use crate::gland::gland_for;
use crate::vehicle::{VehicleCable, VehicleWall};

/// Diameter of a bundle over the root of the sum of its squares; common practice, no source.
const BUNDLE: f64 = 1.25;
/// Crossings nearer than this to each other are one place \[mm\].
const SAME_PLACE_MM: i32 = 40;
/// Wall that stays between two holes \[mm\]; common practice, no source.
const BETWEEN_MM: f64 = 15.0;
/// Hole of a cable that no grommet and no gland holds, over its diameter: a sleeve has to be made for it.
const SLEEVE: f64 = 1.25;

/// What is done to the edge of a hole.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum EdgeTreatment {
    /// A grommet of this bore.
    Grommet {
        /// The bore.
        bore: Metres,
    },
    /// A gland, which seals.
    Gland {
        /// Its thread: `M20`.
        thread: String,
        /// The part to buy, `gland.ID`; `None` where the library has none.
        part: Option<String>,
    },
    /// Nothing sold is large enough: a sleeve has to be made, or the cables parted.
    None,
}

/// A hole through a wall.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WallHole {
    /// Its number on the plan.
    pub number: u32,
    /// The wall.
    pub wall: String,
    /// Its middle.
    pub at_mm: Spot,
    /// Diameter to drill.
    pub diameter: Metres,
    /// Numbers of the cables that pass.
    pub numbers: Vec<u32>,
    /// Diameter of the cable, or of the bundle.
    pub cables: Metres,
    /// What holds the cables off the edge.
    pub edge: EdgeTreatment,
    /// Whether it has to be sealed.
    pub is_sealed: bool,
    /// Whether the wall is metal.
    pub is_metal: bool,
    /// What to do, in words.
    pub treatment: String,
    /// Whether mains passes.
    pub is_ac: bool,
}

impl WallHole {
    /// The grommet or gland in words: `grommet 12 mm`, `gland M20`.
    pub fn fitting(&self) -> String {
        match &self.edge {
            EdgeTreatment::Grommet { bore } => format!("grommet {:.0} mm", bore.get() * 1000.0),
            EdgeTreatment::Gland { thread, .. } => format!("gland {thread}"),
            EdgeTreatment::None => "sleeve, made to measure".to_owned(),
        }
    }
}

/// Where a cable crosses a wall.
struct Crossing<'c> {
    cable: &'c VehicleCable,
    at_mm: Spot,
}

/// Every hole. Cables that cross a wall at one place share a hole with a grommet, mains apart from the rest; through an outside
/// wall each goes through a gland of its own, since a gland seals one round cable.
pub fn holes(walls: &[VehicleWall], cables: &[VehicleCable], library: &Library) -> Vec<WallHole> {
    let mut holes: Vec<WallHole> = Vec::new();
    for wall in walls {
        let mut places: Vec<Vec<Crossing<'_>>> = Vec::new();
        for cable in cables {
            for at_mm in crossings(wall, cable) {
                let crossing = Crossing { cable, at_mm };
                let near = places.iter_mut().find(|place| {
                    let first = &place[0];
                    first.cable.is_ac == cable.is_ac
                        && (0..3).all(|axis| (first.at_mm[axis] - at_mm[axis]).abs() <= SAME_PLACE_MM)
                });
                match near {
                    Some(place) => place.push(crossing),
                    None => places.push(vec![crossing]),
                }
            }
        }
        let mut made: Vec<WallHole> = Vec::new();
        for place in &places {
            let groups = if wall.is_outside { apart(place) } else { shared(place) };
            made.extend(groups.iter().map(|group| hole(wall, group, library)));
        }
        spread(wall, &mut made);
        holes.append(&mut made);
    }
    for (number, hole) in (1..).zip(&mut holes) {
        hole.number = number;
    }
    holes
}

/// The places where a cable goes through a wall; one that ends on the wall ends in a cut-out of its device there.
fn crossings(wall: &VehicleWall, cable: &VehicleCable) -> Vec<Spot> {
    let (axis, plane) = (wall.axis, wall.low_mm[wall.axis]);
    let ends = [
        cable.way.stretches.first().map(|stretch| stretch.from_mm),
        cable.way.stretches.last().map(|stretch| stretch.to_mm),
    ];
    let mut found = Vec::new();
    for stretch in &cable.way.stretches {
        let (a, b) = (stretch.from_mm, stretch.to_mm);
        // A corner on the wall counts with one of its two stretches only.
        if (a[axis] < plane) == (b[axis] < plane) {
            continue;
        }
        let share = f64::from(plane - a[axis]) / f64::from(b[axis] - a[axis]);
        let at = [0, 1, 2].map(|k| a[k] + (f64::from(b[k] - a[k]) * share).round() as i32);
        let is_on = (0..3).all(|k| (wall.low_mm[k]..=wall.high_mm[k]).contains(&at[k]));
        if is_on && !ends.contains(&Some(at)) {
            found.push(at);
        }
    }
    found
}

fn bundle_mm(group: &[&Crossing<'_>]) -> f64 {
    let mut diameters = group.iter().map(|crossing| crossing.cable.diameter.get() * 1000.0);
    match group.len() {
        1 => diameters.next().unwrap_or(0.0),
        _ => diameters.map(|diameter| diameter * diameter).sum::<f64>().sqrt() * BUNDLE,
    }
}

/// As few groups as grommets hold, the thickest cables first; equal ones by number.
fn shared<'p, 'c>(place: &'p [Crossing<'c>]) -> Vec<Vec<&'p Crossing<'c>>> {
    let mut sorted: Vec<&Crossing<'_>> = place.iter().collect();
    sorted.sort_by(|a, b| {
        b.cable.diameter.get().total_cmp(&a.cable.diameter.get()).then(a.cable.number.cmp(&b.cable.number))
    });
    let mut groups: Vec<Vec<&Crossing<'_>>> = Vec::new();
    for crossing in sorted {
        let fits = groups.iter_mut().find(|group| {
            let mut with: Vec<&Crossing<'_>> = group.to_vec();
            with.push(crossing);
            Reference::standard().grommet(Metres::new(bundle_mm(&with) / 1000.0)).is_some()
        });
        match fits {
            Some(group) => group.push(crossing),
            None => groups.push(vec![crossing]),
        }
    }
    groups
}

fn apart<'p, 'c>(place: &'p [Crossing<'c>]) -> Vec<Vec<&'p Crossing<'c>>> {
    place.iter().map(|crossing| vec![crossing]).collect()
}

fn hole(wall: &VehicleWall, group: &[&Crossing<'_>], library: &Library) -> WallHole {
    let cables = Metres::new((bundle_mm(group) * 10.0).round() / 10_000.0);
    let reference = Reference::standard();
    let (edge, diameter) = if wall.is_outside {
        match gland_for(library, cables) {
            Some(fit) => (EdgeTreatment::Gland { thread: fit.thread, part: fit.part }, fit.hole),
            None => (EdgeTreatment::None, cables * SLEEVE),
        }
    } else {
        match reference.grommet(cables) {
            Some(grommet) => (EdgeTreatment::Grommet { bore: grommet.value.bore }, grommet.value.hole),
            None => (EdgeTreatment::None, cables * SLEEVE),
        }
    };
    let mut numbers: Vec<u32> = group.iter().map(|crossing| crossing.cable.number).collect();
    numbers.sort_unstable();
    numbers.dedup();
    let edge_words = match wall.material {
        WallMaterial::Steel => "deburr, paint the bare edge",
        WallMaterial::Aluminium => "deburr",
        WallMaterial::Wood => "round the edge, seal the cut",
        WallMaterial::Plastic => "smooth the edge, seal the cut",
    };
    let seal = if wall.is_outside { ", seal against weather" } else { "" };
    WallHole {
        number: 0,
        wall: wall.name.clone(),
        at_mm: group.first().map_or(wall.low_mm, |crossing| crossing.at_mm),
        diameter,
        numbers,
        cables,
        edge,
        is_sealed: wall.is_outside,
        is_metal: wall.material.is_metal(),
        treatment: format!("{edge_words}{seal}"),
        is_ac: group.iter().any(|crossing| crossing.cable.is_ac),
    }
}

/// Moves holes that would stand in one another apart, along the wall: level where it stands, across where it lies.
fn spread(wall: &VehicleWall, holes: &mut [WallHole]) {
    let along = if wall.axis == 0 { 1 } else { 0 };
    // Holes of one place, in the order in which they were made.
    let mut rows: BTreeMap<Spot, Vec<usize>> = BTreeMap::new();
    for (ix, hole) in holes.iter().enumerate() {
        let near = rows
            .keys()
            .copied()
            .find(|place| (0..3).all(|axis| (place[axis] - hole.at_mm[axis]).abs() <= SAME_PLACE_MM));
        rows.entry(near.unwrap_or(hole.at_mm)).or_default().push(ix);
    }
    for (place, row) in rows {
        let widths: Vec<f64> = row.iter().map(|ix| holes[*ix].diameter.get() * 1000.0).collect();
        let whole: f64 = widths.iter().sum::<f64>() + BETWEEN_MM * (widths.len() - 1) as f64;
        // Kept on the wall where the place is near its end.
        let (low, high) = (f64::from(wall.low_mm[along]), f64::from(wall.high_mm[along]));
        let middle = f64::from(place[along]);
        let margin = widths.iter().copied().fold(0.0, f64::max) * 1.5;
        let least = low + margin;
        let most = (high - margin - whole).max(least);
        let mut at =
            if row.len() > 1 { (middle - whole / 2.0).clamp(least, most) } else { middle - whole / 2.0 };
        for (ix, width) in row.iter().zip(&widths) {
            let mut spot = place;
            spot[along] = (at + width / 2.0).round() as i32;
            holes[*ix].at_mm = spot;
            at += width + BETWEEN_MM;
        }
    }
}
