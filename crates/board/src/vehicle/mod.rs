//! The plan of the vehicle: who stands where, the way of every run through it, holes through walls, loads on the axles.
//! Never: finds a way or a length itself (see `derive::ways`), chooses a cable, changes what a person wrote.
//! Start at [`Vehicle::of`]; [`Vehicle::faults`] judges it, `passage.rs` makes the holes, `axles.rs` the loads.
//!
//! Places are whole millimetres: forwards from the rear end, to the left from the right-hand side, upwards from the floor.

mod axles;
mod faults;
mod passage;

use std::collections::{BTreeMap, BTreeSet};

pub use derive::ways::{Spot, Stretch, Way};
use derive::ways::{Ways, seat};
use model::parts::PartFacts;
use model::{Conductor, DeviceIx, Library, Project, Spec, System, WallMaterial};
use quantity::{Kilograms, Metres};
use reference::{Reference, RuleSet};
use serde::Serialize;

pub use axles::{Axle, AxleLoads, lever};
pub use faults::{VEHICLE_CHECKS, vehicle_cites};
pub use passage::{EdgeTreatment, WallHole};

use crate::footprint::cable_diameter_mm;

/// Longest cable between a device and what it guards from beside it.
const BESIDE_M: f64 = 0.35;

/// A point with what stands there.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VehiclePoint {
    /// Its name on the plan.
    pub name: String,
    /// What stands there, as a path of intent.toml; empty for freight.
    pub stands_for: String,
    /// Its place.
    pub at_mm: Spot,
    /// Mass of the devices there and of what the person said stands there.
    pub mass: Kilograms,
}

/// A cable on its way: one conductor, or one sheath with its cores.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VehicleCable {
    /// Its run number.
    pub number: u32,
    /// Its first conductor.
    pub conductor: String,
    /// The circuit's title.
    pub title: String,
    /// The point at its one end.
    pub from: String,
    /// The point at its other end.
    pub to: String,
    /// Outside diameter.
    pub diameter: Metres,
    /// Length in the system.
    pub length: Metres,
    /// Length along the plan.
    pub length_plan: Metres,
    /// Mass of its length in the system.
    pub mass: Kilograms,
    /// Whether mains runs in it.
    pub is_ac: bool,
    /// Hottest air for which it was sized \[°C\].
    pub sized_for_celsius: f64,
    /// Path of its table in intent.toml.
    pub intent: String,
    /// Its way.
    pub way: Way,
}

/// A channel with what lies in it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VehicleChannel {
    /// Its name.
    pub name: String,
    /// Its corners.
    pub corners_mm: Vec<Spot>,
    /// Numbers of the cables in it, at the place where most of it is filled.
    pub numbers: Vec<u32>,
    /// Clear area \[mm²\]; `None` where it is open.
    pub area_mm2: Option<f64>,
    /// Area of the cables at the fullest place, with their insulation \[mm²\].
    pub filled_mm2: f64,
    /// Distance between supports; `None` where it carries its cables all along.
    pub support: Option<Metres>,
    /// The zone it passes, with its hottest air \[°C\].
    pub zone: Option<(String, f64)>,
}

/// A wall.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VehicleWall {
    /// Its name.
    pub name: String,
    /// Its corner with the smaller numbers.
    pub low_mm: Spot,
    /// Its corner with the larger numbers.
    pub high_mm: Spot,
    /// The axis to which it is square: 0 for x, 1 for y, 2 for z.
    pub axis: usize,
    /// Thickness.
    pub thickness: Metres,
    /// What it is made of.
    pub material: WallMaterial,
    /// Whether weather stands on its other side.
    pub is_outside: bool,
}

/// The space of a zone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VehicleZone {
    /// Its name.
    pub name: String,
    /// One corner.
    pub low_mm: Spot,
    /// The opposite one.
    pub high_mm: Spot,
}

/// A length that a person wrote and the plan gives too.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WrittenLength {
    /// Path in intent.toml.
    pub path: String,
    /// As written.
    pub written: Metres,
    /// Along the plan.
    pub plan: Metres,
    /// The way in words.
    pub way: String,
}

/// The vehicle with its cables.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Vehicle {
    /// Length, width and height.
    pub extent_mm: Spot,
    /// Points by name.
    pub points: Vec<VehiclePoint>,
    /// Cables by number.
    pub cables: Vec<VehicleCable>,
    /// Channels by name.
    pub channels: Vec<VehicleChannel>,
    /// Walls by name.
    pub walls: Vec<VehicleWall>,
    /// Zones by name.
    pub zones: Vec<VehicleZone>,
    /// Holes through walls, numbered from 1.
    pub holes: Vec<WallHole>,
    /// Loads on the axles; `None` where no axles are said.
    pub axles: Option<AxleLoads>,
    /// Lengths that were written, for comparison.
    pub written: Vec<WrittenLength>,
    /// Loads, panels and arrays without a point.
    pub without_point: Vec<String>,
    /// Rule set, for the distance between supports.
    pub rules: RuleSet,
    /// Share of extra length for making up ends.
    pub slack: f64,
}

impl Vehicle {
    /// The vehicle of a project whose system is derived; `None` where the project has no plan.
    pub fn of(project: &Project, system: &System) -> Option<Self> {
        let intent = &project.intent;
        let plan = intent.plan.as_ref()?;
        let ways = Ways::of(intent)?;
        let seats = seats(system, &ways);
        let extent_mm =
            [plan.length, plan.width, plan.height].map(|length| (length.get() * 1000.0).round() as i32);
        let mut mass: BTreeMap<String, Kilograms> = BTreeMap::new();
        for (device, seat) in system.devices.iter().zip(&seats) {
            // What is on the vehicle as it was built, such as its own battery, is in its empty mass.
            let is_own = matches!(device.spec, Spec::StartBattery(_) | Spec::Alternator(_) | Spec::Chassis);
            if let (Some(seat), false) = (seat, is_own) {
                let sum = mass.entry(seat.clone()).or_insert(Kilograms::zero());
                *sum += device.mass;
            }
        }
        let points: Vec<VehiclePoint> = plan
            .points
            .iter()
            .map(|(name, point)| {
                let stands_for = plan.stands_for(intent, name, point).unwrap_or_default();
                let devices = mass.get(&stands_for).copied().unwrap_or(Kilograms::zero());
                VehiclePoint {
                    name: name.to_string(),
                    at_mm: point.millimetres(),
                    mass: devices + point.mass.unwrap_or(Kilograms::zero()),
                    stands_for,
                }
            })
            .collect();
        let walls: Vec<VehicleWall> = plan
            .walls
            .iter()
            .filter_map(|(name, wall)| {
                let (low_mm, high_mm) = sorted(wall.from.millimetres(), wall.to.millimetres());
                Some(VehicleWall {
                    name: name.to_string(),
                    axis: (0..3).find(|axis| low_mm[*axis] == high_mm[*axis])?,
                    low_mm,
                    high_mm,
                    thickness: wall.thickness,
                    material: wall.material,
                    is_outside: wall.outside.unwrap_or(false),
                })
            })
            .collect();
        let zones = plan.zones.iter().map(|(name, space)| {
            let (low_mm, high_mm) = sorted(space.from.millimetres(), space.to.millimetres());
            VehicleZone { name: name.to_string(), low_mm, high_mm }
        });
        let cables = cables(project, system, &ways, &seats);
        let channels = plan
            .channels
            .iter()
            .map(|(name, channel)| {
                let zone = channel.zone.as_ref().and_then(|zone| {
                    let zone = system.zones.iter().find(|known| known.id == zone.as_str())?;
                    Some((zone.id.clone(), zone.hottest.get()))
                });
                let (numbers, filled_mm2) = fullest(name.as_str(), &cables);
                VehicleChannel {
                    name: name.to_string(),
                    corners_mm: channel.points.iter().map(|point| point.millimetres()).collect(),
                    numbers,
                    area_mm2: channel
                        .width
                        .zip(channel.height)
                        .map(|(width, height)| width.get() * height.get() * 1e6),
                    filled_mm2,
                    support: channel.support,
                    zone,
                }
            })
            .collect();
        let holes = passage::holes(&walls, &cables, &project.library);
        Some(Self {
            extent_mm,
            axles: axles::loads(plan, &points, &cables),
            written: written(project, &ways),
            without_point: without_point(project, &ways),
            points,
            cables,
            channels,
            walls,
            zones: zones.collect(),
            holes,
            rules: system.rules,
            slack: system.slack.get(),
        })
    }

    /// Largest distance between supports of a cable.
    pub fn support_most(&self) -> reference::Cited<Metres> {
        Reference::standard().cable_support(self.rules)
    }
}

fn sorted(a: Spot, b: Spot) -> (Spot, Spot) {
    ([0, 1, 2].map(|axis| a[axis].min(b[axis])), [0, 1, 2].map(|axis| a[axis].max(b[axis])))
}

/// The point at which each device stands, by its path: its own; else that of what it guards; else that of its panel.
fn seats(system: &System, ways: &Ways) -> Vec<Option<String>> {
    let own = |ix: DeviceIx| -> Option<String> {
        let device = &system.devices[ix];
        ways.seat(&seat(&device.spec, &device.intent)).map(str::to_owned)
    };
    let mut seats: Vec<Option<String>> = (0..system.devices.len()).map(own).collect();
    let is_guard = |ix: DeviceIx| {
        matches!(
            system.devices[ix].spec,
            Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_) | Spec::Shunt(_)
        )
    };
    let board = ways.seat(&["board".to_owned()]).map(str::to_owned);
    for ix in (0..system.devices.len()).filter(|ix| is_guard(*ix)) {
        let panel = match &system.devices[ix].spec {
            Spec::Fuse(fuse) => fuse.panel,
            Spec::Breaker(breaker) => breaker.panel,
            _ => None,
        };
        let beside = system
            .conductors
            .iter()
            .filter(|conductor| conductor.is_internal || conductor.length.get() <= BESIDE_M)
            .filter_map(|conductor| match (conductor.from.device, conductor.to.device) {
                (from, to) if from == ix => Some((conductor.length, to)),
                (from, to) if to == ix => Some((conductor.length, from)),
                _ => None,
            })
            .filter(|(_, other)| !is_guard(*other))
            .min_by(|a, b| a.0.get().total_cmp(&b.0.get()).then(a.1.cmp(&b.1)));
        seats[ix] = panel
            .and_then(|panel| seats.get(panel).cloned().flatten())
            .or_else(|| beside.and_then(|(_, other)| own(other)))
            .or_else(|| board.clone());
    }
    seats
}

/// The cables whose two ends stand at different points.
fn cables(project: &Project, system: &System, ways: &Ways, seats: &[Option<String>]) -> Vec<VehicleCable> {
    let mut cables: Vec<VehicleCable> = Vec::new();
    let mut seen: BTreeSet<(u32, String, String)> = BTreeSet::new();
    for conductor in system.conductors.iter().filter(|conductor| !conductor.is_internal) {
        let ends = [conductor.from.device, conductor.to.device].map(|ix| seats.get(ix).cloned().flatten());
        let [Some(from), Some(to)] = ends else { continue };
        let Some(way) = ways.between(&from, &to) else { continue };
        let is_known = conductor.cores > 1 && !seen.insert((conductor.number, from.clone(), to.clone()));
        if is_known || conductor.length.get() <= BESIDE_M {
            continue;
        }
        let circuit = system.circuits.get(conductor.circuit);
        let name = |path: &str| ways.name(path).unwrap_or(path).to_owned();
        cables.push(VehicleCable {
            number: conductor.number,
            conductor: conductor.id.clone(),
            title: circuit.map_or(String::new(), |circuit| circuit.title.clone()),
            from: name(&from),
            to: name(&to),
            diameter: Metres::new(cable_diameter_mm(conductor, &project.library) / 1000.0),
            length: conductor.length,
            length_plan: way.length(),
            mass: cable_mass(conductor, &project.library),
            is_ac: conductor.pole.is_ac()
                || circuit.is_some_and(|circuit| circuit.supply == model::parts::Supply::Ac),
            sized_for_celsius: system.zones.get(conductor.zone).map_or(0.0, |zone| zone.hottest.get()),
            intent: conductor.intent.clone(),
            way,
        });
    }
    cables.sort_by(|a, b| (a.number, &a.conductor).cmp(&(b.number, &b.conductor)));
    cables
}

/// Mass of a cable: of its part, which tells that of a metre; else worked out from its copper.
fn cable_mass(conductor: &Conductor, library: &Library) -> Kilograms {
    let part = conductor.cable.as_deref().and_then(|cable| cable.strip_prefix("cable."));
    match part.and_then(|id| library.cable.iter().find(|(name, _)| name.as_str() == id)) {
        Some((_, part)) => part.mass() * conductor.length.get(),
        None => {
            let copper = conductor.length * f64::from(conductor.cores.max(1));
            Reference::standard().cable_mass(conductor.gauge.area(), copper).value
        }
    }
}

/// The cables at the fullest place of a channel, and their area with insulation \[mm²\].
fn fullest(channel: &str, cables: &[VehicleCable]) -> (Vec<u32>, f64) {
    let stretches = |cable: &VehicleCable| -> Vec<(Spot, Spot)> {
        let own = cable.way.stretches.iter().filter(|stretch| stretch.channel.as_deref() == Some(channel));
        own.map(|stretch| sorted(stretch.from_mm, stretch.to_mm)).collect()
    };
    let all: Vec<(&VehicleCable, Vec<(Spot, Spot)>)> =
        cables.iter().map(|cable| (cable, stretches(cable))).filter(|(_, own)| !own.is_empty()).collect();
    // The fullest place is in the middle between two places where a cable comes or goes.
    let mut best = (Vec::new(), 0.0);
    let mut places: BTreeSet<Spot> = BTreeSet::new();
    for (_, own) in &all {
        for (low, high) in own {
            places.insert([0, 1, 2].map(|axis| (low[axis] + high[axis]) / 2));
            for (_, others) in &all {
                for (a, b) in others {
                    let low = [0, 1, 2].map(|axis| low[axis].max(a[axis]));
                    let high = [0, 1, 2].map(|axis| high[axis].min(b[axis]));
                    if (0..3).all(|axis| low[axis] <= high[axis]) {
                        places.insert([0, 1, 2].map(|axis| (low[axis] + high[axis]) / 2));
                    }
                }
            }
        }
    }
    for place in places {
        let here: Vec<&VehicleCable> = all
            .iter()
            .filter(|(_, own)| {
                own.iter().any(|(low, high)| {
                    (0..3).all(|axis| (low[axis]..=high[axis]).contains(&place[axis])) && low != high
                })
            })
            .map(|(cable, _)| *cable)
            .collect();
        let area: f64 = here
            .iter()
            .map(|cable| {
                std::f64::consts::PI / 4.0 * (cable.diameter.get() * 1000.0) * (cable.diameter.get() * 1000.0)
            })
            .sum();
        if area > best.1 {
            best = (here.iter().map(|cable| cable.number).collect(), area);
        }
    }
    best
}

/// Every length that may stand in intent.toml and that the plan gives: as written and along the plan.
fn written(project: &Project, ways: &Ways) -> Vec<WrittenLength> {
    let intent = &project.intent;
    let mut said: Vec<(String, Option<Metres>, bool)> = Vec::new();
    for (name, load) in &intent.loads {
        let part = load.part.as_ref().and_then(|part| project.library.load.get(part));
        let supply = load.supply.or(part.map(|part| part.supply));
        said.push((format!("loads.{name}"), load.length, supply == Some(model::parts::Supply::Ac)));
    }
    said.extend(intent.panels.iter().map(|(name, panel)| (format!("panels.{name}"), panel.length, false)));
    said.extend(intent.solar.iter().map(|(name, array)| (format!("solar.{name}"), array.length, false)));
    let single = [
        ("bank", intent.bank.as_ref().and_then(|table| table.length)),
        ("engine", intent.engine.as_ref().and_then(|table| table.length)),
        ("shore", intent.shore.as_ref().and_then(|table| table.length)),
        ("generator", intent.generator.as_ref().and_then(|table| table.length)),
        ("inverter", intent.inverter.as_ref().and_then(|table| table.length)),
        ("charger", intent.charger.as_ref().and_then(|table| table.length)),
        ("ac", intent.ac.as_ref().and_then(|table| table.length)),
    ];
    said.extend(single.into_iter().map(|(name, length)| (name.to_owned(), length, false)));
    said.into_iter()
        .filter_map(|(place, length, is_ac)| {
            let (path, written) = (format!("{place}.length"), length?);
            let (from, to) = ways.ends_of(intent, &path, is_ac)?;
            let way = ways.between(from, to)?;
            Some(WrittenLength { path, written, plan: way.length(), way: way.words() })
        })
        .collect()
}

/// What has a table in intent.toml and no point.
fn without_point(project: &Project, ways: &Ways) -> Vec<String> {
    let intent = &project.intent;
    let loads = intent.loads.keys().map(|name| format!("loads.{name}"));
    let solar = intent.solar.keys().map(|name| format!("solar.{name}"));
    let single = [
        ("bank", intent.bank.is_some()),
        ("engine", intent.engine.is_some()),
        ("shore", intent.shore.is_some()),
    ];
    let single = single.into_iter().filter(|(_, is_there)| *is_there).map(|(name, _)| name.to_owned());
    ["board".to_owned()]
        .into_iter()
        .chain(single)
        .chain(loads)
        .chain(solar)
        .filter(|path| ways.spot(path).is_none())
        .collect()
}
