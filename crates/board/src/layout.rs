//! The board with everything on it.
//! Never: reads a file; searches twice for the same answer.
//! Start at [`place`]; [`Layout::faults`] judges what stands, [`Layout::lengths`] feeds lengths back.

use std::collections::BTreeMap;

use model::{
    Assumption, BoardIntent, BoardPlace, BoardPlaces, ConductorIx, DeviceIx, Library, Pole, Side, System,
};
use quantity::{Degrees, Kilograms, Metres};
use serde::Serialize;

use crate::footprint::{Body, Current, millimetres};
use crate::geometry::{Rect, Turn};
use crate::holes::{Hole, holes};
use crate::plan::{Plan, fixings};
use crate::problem::Spot;
use crate::route::{Route, route_all};
use crate::search::Search;
use crate::who::on_board;

/// Steps on which devices are placed [mm].
pub const GRID_MM: i32 = 5;
/// Depth of the strip along the entry side that is kept for the holes of leaving cables [mm].
pub const ENTRY_STRIP_MM: i32 = 60;

/// A terminal where it stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TerminalSpot {
    /// Its name on the device.
    pub name: String,
    /// What it carries.
    pub pole: Pole,
    /// Where: x, y [mm]; the middle of a busbar.
    pub at_mm: (i32, i32),
    /// The side on which its cable leaves.
    pub side: Side,
}

/// A device where it stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Placed {
    /// Its index in the system.
    pub device: DeviceIx,
    /// Its name.
    pub id: String,
    /// What it is called.
    pub title: String,
    /// What it covers.
    pub rect: Rect,
    /// How far it stands out from the board [mm].
    pub depth_mm: i32,
    /// How it is turned.
    pub turn: Turn,
    /// Whether the person pinned it here.
    pub is_pinned: bool,
    /// Free space for air and hands at top, right, bottom, left, as turned [mm].
    pub air_mm: [i32; 4],
    /// The same with room to bend its cables [mm].
    pub clear_mm: [i32; 4],
    /// Its terminals.
    pub terminals: Vec<TerminalSpot>,
    /// Whether its top must be up on an upright board.
    pub upright: bool,
    /// Whether a hand must reach it in use.
    pub service: bool,
    /// What it carries.
    pub current: Current,
    /// Mass.
    pub mass: Kilograms,
    /// Path in intent.toml of what it comes from.
    pub intent: String,
}

/// A device for which no place was found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LeftOver {
    /// Its index in the system.
    pub device: DeviceIx,
    /// Its name.
    pub id: String,
    /// What it is called.
    pub title: String,
    /// Width and height that it needs, free space counted [mm].
    pub needs_mm: (i32, i32),
}

/// The board with everything on it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Layout {
    /// The board.
    pub plan: Plan,
    /// The devices, in the order of the system.
    pub devices: Vec<Placed>,
    /// Devices for which there is no place.
    pub left_over: Vec<LeftOver>,
    /// Names in `[board]` that are no device on it.
    pub unknown: Vec<String>,
    /// Width and height of the smallest board of this shape on which all were placed [mm]; only where some were not.
    pub smallest_mm: Option<(i32, i32)>,
    /// Cables on the board.
    pub routes: Vec<Route>,
    /// Holes to drill.
    pub holes: Vec<Hole>,
    /// What nobody said.
    pub assumptions: Vec<Assumption>,
    /// Copper on the board: length of each cable times its cross-section [mm² m]; what placing makes small.
    pub copper_mm2_m: f64,
}

/// Places what belongs on the board, lays the cables and lists the holes.
///
/// `wanted` may be all silent. Pinned devices stand where they are pinned, whatever comes of it; the others are placed so that
/// heavy cables are short. The same input gives the same layout.
pub fn place(system: &System, library: &Library, wanted: &BoardIntent) -> Layout {
    arrange(system, library, wanted, None)
}

/// Places it as `before` where the same devices still stand well there, else anew: so that a change elsewhere moves nothing.
pub fn place_again(system: &System, library: &Library, wanted: &BoardIntent, before: &Layout) -> Layout {
    arrange(system, library, wanted, Some(before))
}

/// Rounds in which cables that could not keep their bends get more room.
const ROOM_ROUNDS: usize = 3;

fn arrange(system: &System, library: &Library, wanted: &BoardIntent, before: Option<&Layout>) -> Layout {
    let at = system.conductors_at();
    let bodies: Vec<Body> = on_board(system, wanted)
        .into_iter()
        .filter_map(|ix| Body::of(system, library, ix, at.get(ix)?))
        .collect();
    let pins: Vec<Option<Spot>> =
        bodies.iter().map(|body| wanted.places.0.get(&system.devices[body.device].id).map(spot_of)).collect();
    let pinned: Vec<Rect> =
        bodies.iter().zip(&pins).filter_map(|(body, pin)| pin.map(|spot| rect_of(body, spot))).collect();
    let (mut plan, mut assumptions) = Plan::of(wanted, system.craft, &bodies, &pinned);
    let first_plan = plan.clone();
    let mut search =
        Search { system, library, bodies: &bodies, pins: &pins, rooms: vec![[0; 4]; bodies.len()] };
    let mut kept = before.and_then(|before| search.as_before(&plan, before));
    let is_tight = |route: &&Route| !route.keeps_bends || route.is_blocked;
    let tight_before = before.map_or(0, |before| before.routes.iter().filter(is_tight).count());
    let mut best: Option<(usize, Layout)> = None;
    let mut was_searched = false;
    for _ in 0..=ROOM_ROUNDS {
        let was_kept = kept.is_some();
        let found = match (kept.take(), &best) {
            (Some(kept), _) => kept,
            (None, Some((_, last))) if was_searched => search.with_more_room(last),
            _ => search.find(&first_plan),
        };
        was_searched = !was_kept;
        plan = found.0;
        if wanted.fixings.is_empty() {
            let load = bodies.iter().map(|body| body.mass_kg).sum::<f64>() + plan.mass.get();
            plan.fixings_mm = fixings(plan.outline.extent(), load / plan.fixing_load.get().max(0.1));
        }
        let layout = furnish(&search, plan, &found.1, found.2, wanted);
        let tight: Vec<&Route> = layout.routes.iter().filter(is_tight).collect();
        let is_changed = search.give_room(&layout, &tight);
        let count = tight.len();
        // What stood before stays, unless a cable has become tight.
        let is_as_good = was_kept && count <= tight_before;
        let is_last = count == 0 || !is_changed || is_as_good;
        if best.as_ref().is_none_or(|best| (layout.left_over.len(), count) < (best.1.left_over.len(), best.0))
        {
            best = Some((count, layout));
        }
        if is_last {
            break;
        }
    }
    // The loop runs at least once.
    let Some((_, mut layout)) = best else { return furnish(&search, first_plan, &[], None, wanted) };
    if layout.plan.is_sized {
        let (width, height) = layout.plan.outline.extent();
        for path in ["board.width", "board.height"] {
            assumptions.push(Assumption {
                path: path.to_owned(),
                value: format!("{width} mm x {height} mm"),
                plausible: None,
                why: "a rectangle that takes all footprints with their free space".to_owned(),
                must_answer: false,
            });
        }
    }
    for assumption in assumptions.iter_mut().filter(|assumption| assumption.path == "board.fixings") {
        assumption.value = format!("{} screws along the edge", layout.plan.fixings_mm.len());
    }
    for body in bodies.iter().filter(|body| body.is_guess) {
        let device = &system.devices[body.device];
        let [width, height, depth] = body.size_mm;
        assumptions.push(Assumption {
            path: device.intent.clone(),
            value: format!("{}: {width} mm x {height} mm x {depth} mm", device.id),
            plausible: None,
            why: "no part is chosen or it has no size, so it takes the room that its kind usually takes"
                .to_owned(),
            must_answer: false,
        });
    }
    assumptions.sort_by(|a, b| (&a.path, &a.value).cmp(&(&b.path, &b.value)));
    layout.assumptions = assumptions;
    layout
}

/// The layout of devices that stand: their holes and cables.
fn furnish(
    search: &Search<'_>,
    plan: Plan,
    spots: &[Option<Spot>],
    smallest_mm: Option<(i32, i32)>,
    wanted: &BoardIntent,
) -> Layout {
    let (system, library) = (search.system, search.library);
    let mut layout = Layout {
        devices: Vec::new(),
        left_over: Vec::new(),
        unknown: unknown(system, wanted, search.bodies),
        smallest_mm,
        routes: Vec::new(),
        holes: Vec::new(),
        assumptions: Vec::new(),
        copper_mm2_m: 0.0,
        plan,
    };
    let mut standing: Vec<(&Body, Spot)> = Vec::new();
    for ((body, spot), pin) in search.bodies.iter().zip(spots).zip(search.pins) {
        match spot {
            Some(spot) => {
                layout.devices.push(placed(system, body, *spot, pin.is_some()));
                standing.push((body, *spot));
            }
            None => layout.left_over.push(left_over(system, body)),
        }
    }
    layout.holes = holes(system, library, &layout, &standing);
    layout.routes = route_all(system, library, &layout, &standing);
    layout.copper_mm2_m = layout
        .routes
        .iter()
        .flat_map(|route| route.conductors.iter().map(move |ix| (route, ix)))
        .filter_map(|(route, ix)| Some(system.conductors.get(*ix)?.gauge.area().get() * route.length.get()))
        .sum();
    layout
}

/// Places all devices where the layout has them, but for one that is moved: what a page calls while a hand drags.
///
/// `x_mm` and `y_mm` are the lower left corner as turned. Nothing is searched, so this is quick.
pub fn moved(
    system: &System,
    library: &Library,
    wanted: &BoardIntent,
    layout: &Layout,
    id: &str,
    (x_mm, y_mm, turn): (i32, i32, Turn),
) -> Layout {
    let mut all = wanted.clone();
    let (width, height) = layout.plan.outline.extent();
    if all.outline.is_empty() {
        all.width = Some(Metres::new(f64::from(width) / 1000.0));
        all.height = Some(Metres::new(f64::from(height) / 1000.0));
    }
    all.places = layout.places();
    all.places.0.insert(id.to_owned(), place_of(x_mm, y_mm, turn));
    place(system, library, &all)
}

fn place_of(x_mm: i32, y_mm: i32, turn: Turn) -> BoardPlace {
    BoardPlace {
        x: Metres::new(f64::from(x_mm) / 1000.0),
        y: Metres::new(f64::from(y_mm) / 1000.0),
        turn: Some(Degrees::new(f64::from(turn.degrees()))),
    }
}

fn spot_of(place: &BoardPlace) -> Spot {
    let quarters = place.turn.map_or(0.0, |turn| turn.get() / 90.0).round().clamp(0.0, 3.0) as u8;
    Spot { x: millimetres(place.x), y: millimetres(place.y), turn: Turn::quarters(quarters) }
}

fn rect_of(body: &Body, spot: Spot) -> Rect {
    let (width, height) = body.turned(spot.turn);
    Rect::new(spot.x, spot.y, width, height)
}

fn placed(system: &System, body: &Body, spot: Spot, is_pinned: bool) -> Placed {
    let device = &system.devices[body.device];
    let size = (body.size_mm[0], body.size_mm[1]);
    let terminals = device
        .terminals
        .iter()
        .zip(&body.ports)
        .map(|(terminal, port)| {
            let middle = ((port.from_mm.0 + port.to_mm.0) / 2, (port.from_mm.1 + port.to_mm.1) / 2);
            let (x, y) = spot.turn.point(size, middle);
            TerminalSpot {
                name: terminal.name.clone(),
                pole: terminal.pole,
                at_mm: (x + spot.x, y + spot.y),
                side: spot.turn.side(port.side),
            }
        })
        .collect();
    Placed {
        device: body.device,
        id: device.id.clone(),
        title: device.title.clone(),
        rect: rect_of(body, spot),
        depth_mm: body.size_mm[2],
        turn: spot.turn,
        is_pinned,
        air_mm: spot.turn.sides(body.air_mm),
        clear_mm: spot.turn.sides(body.clear_mm),
        terminals,
        upright: body.upright,
        service: body.service,
        current: body.current,
        mass: Kilograms::new(body.mass_kg),
        intent: device.intent.clone(),
    }
}

fn left_over(system: &System, body: &Body) -> LeftOver {
    let device = &system.devices[body.device];
    let [top, right, bottom, left] = body.clear_mm;
    LeftOver {
        device: body.device,
        id: device.id.clone(),
        title: device.title.clone(),
        needs_mm: (body.size_mm[0] + left + right, body.size_mm[1] + top + bottom),
    }
}

/// Names in `[board]` that are no device of the system, or none that stands on the board.
fn unknown(system: &System, wanted: &BoardIntent, bodies: &[Body]) -> Vec<String> {
    let on = |name: &String| bodies.iter().any(|body| system.devices[body.device].id == **name);
    let places = wanted.places.0.keys().filter(|name| !on(name)).map(|name| format!("places.{name}"));
    let with = wanted.with.iter().filter(|name| !on(name)).map(|name| format!("with: {name}"));
    let without = wanted
        .without
        .iter()
        .filter(|name| system.find(name).is_none())
        .map(|name| format!("without: {name}"));
    places.chain(with).chain(without).collect()
}

impl Layout {
    /// Where every device stands, as a person would pin it.
    pub fn places(&self) -> BoardPlaces {
        BoardPlaces(
            self.devices
                .iter()
                .map(|placed| (placed.id.clone(), place_of(placed.rect.x_mm, placed.rect.y_mm, placed.turn)))
                .collect(),
        )
    }

    /// Length along the board of every conductor that begins and ends on it, by name.
    pub fn lengths(&self, system: &System) -> BTreeMap<String, Metres> {
        let whole = self.routes.iter().filter(|route| !route.leaves);
        whole
            .flat_map(|route| route.conductors.iter().map(move |ix| (ix, route.length)))
            .filter_map(|(ix, length)| Some((system.conductors.get(*ix)?.id.clone(), length)))
            .collect()
    }

    /// The same with the way from the edge of each conductor that leaves the board, as the derivation takes them.
    pub fn board_lengths(&self, system: &System) -> derive::BoardLengths {
        let leaves = self.routes.iter().filter(|route| route.leaves && !route.is_blocked);
        let to_edge = leaves
            .flat_map(|route| route.conductors.iter().map(move |ix| (ix, route.length)))
            .filter_map(|(ix, length)| Some((system.conductors.get(*ix)?.id.clone(), length)))
            .collect();
        derive::BoardLengths { whole: self.lengths(system), to_edge }
    }

    /// Mass of the board and of what stands on it.
    pub fn mass(&self) -> Kilograms {
        self.devices.iter().map(|placed| placed.mass).sum::<Kilograms>() + self.plan.mass
    }

    /// The device by name.
    pub fn find(&self, id: &str) -> Option<&Placed> {
        self.devices.iter().find(|placed| placed.id == id)
    }

    /// The route of a conductor.
    pub fn route_of(&self, conductor: ConductorIx) -> Option<&Route> {
        self.routes.iter().find(|route| route.conductors.contains(&conductor))
    }
}
