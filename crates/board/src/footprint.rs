//! How a device is mounted: size, free space, terminals, holes; from its part, else from its kind.
//! Never: places anything.
//! Start at [`Body::of`]; the generic figures stand in `data/footprints.toml`.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use model::{Conductor, Device, DeviceIx, Footprint, Library, Pole, Side, Spec, System};
use quantity::Metres;
use reference::Reference;
use serde::Deserialize;

use crate::geometry::{Turn, side_index};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Generic {
    size: [i32; 3],
    clear: [i32; 4],
    #[serde(default)]
    upright: bool,
    #[serde(default)]
    service: bool,
    hole: f64,
    inset: i32,
    terminals: BTreeMap<String, (String, f64)>,
}

#[derive(Deserialize)]
struct Data {
    density: BTreeMap<String, f64>,
    #[serde(flatten)]
    kinds: BTreeMap<String, Generic>,
}

fn data() -> Option<&'static Data> {
    static DATA: OnceLock<Option<Data>> = OnceLock::new();
    DATA.get_or_init(|| toml::from_str(include_str!("../data/footprints.toml")).ok()).as_ref()
}

/// Density of a board material [kg/m³].
pub fn density_kg_m3(material: model::BoardMaterial) -> f64 {
    data().and_then(|data| data.density.get(material.word()).copied()).unwrap_or(700.0)
}

/// The word of a kind that can stand on a board; `None` for what cannot.
pub fn kind_word(spec: &Spec) -> Option<&'static str> {
    Some(match spec {
        Spec::Busbar(_) => "busbar",
        Spec::Fuse(_) => "fuse",
        Spec::Breaker(_) => "breaker",
        Spec::Disconnect(_) => "disconnect",
        Spec::Shunt(_) => "shunt",
        Spec::FusePanel(_) => "fuse-panel",
        Spec::Inverter(..) => "inverter",
        Spec::Charger(..) => "charger",
        Spec::DcDc(..) => "dcdc",
        Spec::Controller(..) => "controller",
        Spec::Relay(_) => "relay",
        Spec::Converter(_) => "converter",
        Spec::TransferSwitch(_) => "transfer-switch",
        Spec::AcPanel(_) => "ac-panel",
        _ => return None,
    })
}

/// What a device carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Current {
    /// Direct current only.
    Dc,
    /// Alternating current only.
    Ac,
    /// Both: an inverter, a charger.
    Both,
}

/// A terminal on a footprint, as the part stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Port {
    /// Left and lower end of where the cable may leave.
    pub from_mm: (i32, i32),
    /// Right and upper end; the same for a terminal, the far end for a busbar.
    pub to_mm: (i32, i32),
    /// The side on which the cable leaves; for a busbar either long side.
    pub side: Side,
    /// Whether it is a busbar, along whose long sides cables leave.
    pub is_bar: bool,
}

/// A device as a body on a board, as the part stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// Its index in the system.
    pub device: DeviceIx,
    /// Width, height, depth.
    pub size_mm: [i32; 3],
    /// Free space for air and hands at top, right, bottom, left.
    pub air_mm: [i32; 4],
    /// The same with room to bend the cables that leave there.
    pub clear_mm: [i32; 4],
    /// Its terminals, by index.
    pub ports: Vec<Port>,
    /// Whether it must stand upright.
    pub upright: bool,
    /// Whether a hand must reach it in use.
    pub service: bool,
    /// What it carries.
    pub current: Current,
    /// Mass [kg].
    pub mass_kg: f64,
    /// Fixing holes: x, y.
    pub holes_mm: Vec<(i32, i32)>,
    /// Their diameter [mm].
    pub hole_mm: f64,
    /// Whether its size is a guess from its kind.
    pub is_guess: bool,
}

/// Whole millimetres, rounded up, of a length within bounds.
pub fn millimetres_up(length: Metres) -> i32 {
    ((length.get() * 1000.0) - 1e-6).ceil().clamp(0.0, 20_000.0) as i32
}

/// Whole millimetres, to the nearest.
pub fn millimetres(length: Metres) -> i32 {
    (length.get() * 1000.0).round().clamp(-20_000.0, 20_000.0) as i32
}

/// Outside diameter of a conductor's cable [mm]: the part's, else the table's, else from its copper.
pub fn cable_diameter_mm(conductor: &Conductor, library: &Library) -> f64 {
    let part = conductor.cable.as_deref().and_then(|cable| cable.strip_prefix("cable."));
    let part = part.and_then(|id| library.cable.iter().find(|(name, _)| name.as_str() == id));
    if let Some((_, part)) = part {
        return part.diameter.get() * 1000.0;
    }
    let single = Reference::standard()
        .outer_diameter(conductor.gauge)
        .map_or(conductor.gauge.diameter().get() * 1000.0 * 1.6, |cited| cited.value.get() * 1000.0);
    // Three cores in a sheath measure about two and a half times one; common practice, no source.
    if conductor.cores > 1 { single * 2.5 } else { single }
}

/// Smallest radius to which a cable of this outside diameter is bent, at its inner side [mm].
pub fn bend_radius_mm(diameter_mm: f64) -> f64 {
    Reference::standard().min_bend_radius_factor().value * diameter_mm
}

/// Room in front of a terminal in which its cable turns aside: the radius and the cable itself [mm].
pub fn bend_room_mm(diameter_mm: f64) -> i32 {
    (bend_radius_mm(diameter_mm) + diameter_mm).ceil() as i32
}

impl Body {
    /// The body of a device; `None` for a kind that stands on no board. `at` lists the conductors at each of its terminals.
    pub fn of(system: &System, library: &Library, device: DeviceIx, at: &[Vec<usize>]) -> Option<Self> {
        let source = system.devices.get(device)?;
        let generic = data()?.kinds.get(kind_word(&source.spec)?)?;
        let said = footprint(source, library);
        let is_guess = source.size.len() < 3;
        let size =
            if is_guess { generic.size } else { [0, 1, 2].map(|at| millimetres_up(source.size[at]).max(5)) };
        let air = air(generic, said);
        let ports: Vec<Port> = source
            .terminals
            .iter()
            .map(|terminal| port(generic, said, &source.spec, size, &terminal.name))
            .collect();
        let mut clear = air;
        for (port, conductors) in ports.iter().zip(at) {
            let room = conductors
                .iter()
                .filter_map(|ix| system.conductors.get(*ix))
                .filter(|conductor| !conductor.is_internal)
                .map(|conductor| bend_room_mm(cable_diameter_mm(conductor, library)))
                .max()
                .unwrap_or(0);
            let sides = if port.is_bar { long_sides(size) } else { [port.side, port.side] };
            for side in sides {
                clear[side_index(side)] = clear[side_index(side)].max(room);
            }
        }
        let is_ac = |pole: Pole| pole.is_ac();
        let has_ac = source.terminals.iter().any(|terminal| is_ac(terminal.pole));
        let has_dc = source.terminals.iter().any(|t| matches!(t.pole, Pole::Positive | Pole::Negative));
        let holes = said.map(|said| said.holes.as_slice()).unwrap_or_default();
        Some(Self {
            device,
            size_mm: size,
            air_mm: air,
            clear_mm: clear,
            ports,
            upright: said.and_then(|said| said.upright).unwrap_or(generic.upright),
            service: said.and_then(|said| said.service).unwrap_or(generic.service),
            current: match (has_dc, has_ac) {
                (true, true) => Current::Both,
                (false, true) => Current::Ac,
                _ => Current::Dc,
            },
            mass_kg: source.mass.get(),
            holes_mm: if holes.is_empty() {
                corner_holes(size, generic.inset)
            } else {
                holes.iter().map(|hole| (millimetres(hole.x), millimetres(hole.y))).collect()
            },
            hole_mm: said.and_then(|said| said.hole).map_or(generic.hole, |hole| hole.get() * 1000.0),
            is_guess,
        })
    }

    /// The turns in which it may stand.
    pub fn turns(&self, is_upright_board: bool) -> &'static [u8] {
        if self.upright && is_upright_board {
            &[0]
        } else if self.ports.iter().any(|port| port.is_bar) {
            &[0, 1]
        } else {
            &[0, 1, 2, 3]
        }
    }

    /// Width and height as turned.
    pub fn turned(&self, turn: Turn) -> (i32, i32) {
        turn.size(self.size_mm[0], self.size_mm[1])
    }
}

fn footprint<'l>(device: &Device, library: &'l Library) -> Option<&'l Footprint> {
    let (kind, id) = device.part.as_deref()?.split_once('.')?;
    let (.., part) = library.facts().into_iter().find(|(of, name, _)| *of == kind && name.as_str() == id)?;
    part.footprint()
}

fn air(generic: &Generic, said: Option<&Footprint>) -> [i32; 4] {
    let Some(said) = said else { return generic.clear };
    let sides = [said.clear_top, said.clear_right, said.clear_bottom, said.clear_left];
    let mut air = generic.clear;
    for (side, said) in air.iter_mut().zip(sides) {
        *side = said.map_or(*side, millimetres_up);
    }
    air
}

/// The two long sides of a busbar.
fn long_sides(size: [i32; 3]) -> [Side; 2] {
    if size[0] >= size[1] { [Side::Top, Side::Bottom] } else { [Side::Left, Side::Right] }
}

fn port(generic: &Generic, said: Option<&Footprint>, spec: &Spec, size: [i32; 3], name: &str) -> Port {
    let [width, height, _] = size;
    if matches!(spec, Spec::Busbar(_)) {
        let (from, to) = if width >= height {
            ((width / 8, height / 2), (width - width / 8, height / 2))
        } else {
            ((width / 2, height / 8), (width / 2, height - height / 8))
        };
        return Port { from_mm: from, to_mm: to, side: long_sides(size)[1], is_bar: true };
    }
    let length = |side: Side| if matches!(side, Side::Top | Side::Bottom) { width } else { height };
    let own = said.and_then(|said| said.terminals.iter().find(|terminal| terminal.name == name));
    let (side, along) = match own {
        Some(own) => (own.side, millimetres(own.along).clamp(0, length(own.side))),
        None => {
            let known = generic.terminals.get(name);
            let side = known.and_then(|(word, _)| Side::from_word(word)).unwrap_or(Side::Bottom);
            let share = known.map_or(0.5, |(_, share)| *share);
            (side, (f64::from(length(side)) * share).round() as i32)
        }
    };
    let at = match side {
        Side::Top => (along, height),
        Side::Bottom => (along, 0),
        Side::Left => (0, along),
        Side::Right => (width, along),
    };
    Port { from_mm: at, to_mm: at, side, is_bar: false }
}

/// Holes at the four corners, or at the two ends of what is narrow.
fn corner_holes([width, height, _]: [i32; 3], inset: i32) -> Vec<(i32, i32)> {
    let (x, y) = (inset.min(width / 2), inset.min(height / 2));
    if height < 6 * inset && width >= height {
        vec![(x, height / 2), (width - x, height / 2)]
    } else if width < 6 * inset {
        vec![(width / 2, y), (width / 2, height - y)]
    } else {
        vec![(x, y), (width - x, y), (x, height - y), (width - x, height - y)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_generic_figures_can_be_read_and_are_possible() {
        let data = data().expect("data/footprints.toml can be read");
        assert_eq!(data.kinds.len(), 14);
        assert_eq!(data.density.len(), model::BoardMaterial::ALL.len());
        for (kind, generic) in &data.kinds {
            assert!(generic.size.iter().all(|side| (20..1000).contains(side)), "{kind}");
            for (terminal, (side, share)) in &generic.terminals {
                assert!(Side::from_word(side).is_some() && (0.0..=1.0).contains(share), "{kind}.{terminal}");
            }
        }
    }

    /// DIN VDE 0298-3, flexible cable in fixed use: 3 diameters up to 12 mm, 4 above (as reprinted in cable makers' tables).
    /// North American power and control cable, insulation up to 0.156 in, diameter up to 1 in: 4 diameters (reprinted likewise).
    #[test]
    fn bends_are_no_tighter_than_published() {
        for (diameter, factor) in [(4.0, 3.0), (8.0, 3.0), (12.0, 3.0), (14.0, 4.0), (20.0, 4.0), (25.4, 4.0)]
        {
            assert!(bend_radius_mm(diameter) >= factor * diameter);
        }
    }
}
