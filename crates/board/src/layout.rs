//! The board with everything on it.
//! Never: reads a file; searches twice for the same answer.
//! Start at [`place`]; [`Layout::faults`] judges what stands, [`Layout::lengths`] feeds lengths back.

use std::collections::BTreeMap;

use model::{
    Assumption, BoardIntent, BoardPlace, BoardPlaces, Conductor, ConductorIx, DeviceIx, Library, Pole, Side,
    Spec, System,
};
use quantity::{Degrees, Kilograms, Metres};
use serde::Serialize;

use crate::anneal::{Effort, better, solve};
use crate::footprint::{Body, Current, bend_radius_mm, cable_diameter_mm, millimetres};
use crate::geometry::{Rect, Turn, outwards, side_index};
use crate::holes::{Hole, holes};
use crate::plan::{Plan, fixings};
use crate::problem::{End, Net, Piece, Problem, Spot, Stance, blocked};
use crate::route::{Route, route_all};
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

/// A board that nobody sized grows no wider than this.
const MOST_WIDTH_MM: i32 = 5000;

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

/// Where each device stands, `None` for one that does not fit; and the smallest board that would do.
type Found = (Plan, Vec<Option<Spot>>, Option<(i32, i32)>);

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

/// The search whose placing is shown.
fn full_effort(count: usize) -> Effort {
    match count {
        0..=8 => Effort { moves: 5000, runs: 16, more: 4, rebuilds: 300 },
        9..=14 => Effort { moves: 12_000, runs: 3, more: 3, rebuilds: 40 },
        _ => Effort { moves: 16_000, runs: 1, more: 1, rebuilds: 20 },
    }
}

/// A search that only asks whether there is a placing.
fn quick_effort(count: usize) -> Effort {
    match count {
        0..=8 => Effort { moves: 3000, runs: 1, more: 4, rebuilds: 60 },
        _ => Effort { moves: 3000, runs: 1, more: 0, rebuilds: 0 },
    }
}

struct Search<'s> {
    system: &'s System,
    library: &'s Library,
    bodies: &'s [Body],
    pins: &'s [Option<Spot>],
    /// Room beside the usual that cables need at each side of each body, as the part stands.
    rooms: Vec<[i32; 4]>,
}

impl Search<'_> {
    fn problem(&self, plan: &Plan) -> Problem {
        let all: Vec<usize> = (0..self.bodies.len()).collect();
        self.problem_of(plan, &all)
    }

    fn problem_of(&self, plan: &Plan, which: &[usize]) -> Problem {
        let bodies: Vec<Body> = which
            .iter()
            .map(|ix| {
                let mut body = self.bodies[*ix].clone();
                for (clear, room) in body.clear_mm.iter_mut().zip(self.rooms[*ix]) {
                    *clear = room.max(*clear);
                }
                body
            })
            .collect();
        let pins: Vec<Option<Spot>> = which.iter().map(|ix| self.pins[*ix]).collect();
        problem(self.system, self.library, plan, &bodies, &pins)
    }

    fn find(&self, first: &Plan) -> Found {
        let count = self.bodies.len();
        let mut plan = first.clone();
        if plan.is_sized && self.pins.iter().any(Option::is_none) {
            for _ in 0..14 {
                if solve(&self.problem(&plan), quick_effort(count)).1 == 0 {
                    break;
                }
                plan = plan.resized(plan.outline.scaled(1.06));
            }
        }
        let (mut spots, mut wrong) = solve(&self.problem(&plan), full_effort(count));
        while plan.is_sized && wrong > 0 && plan.outline.extent().0 < MOST_WIDTH_MM {
            plan = plan.resized(plan.outline.scaled(1.06));
            (spots, wrong) = solve(&self.problem(&plan), full_effort(count));
        }
        if wrong == 0 {
            return (plan, spots.into_iter().map(Some).collect(), None);
        }
        let smallest = self.smallest(&plan);
        let spots = self.leave_over(&plan, spots);
        (plan, spots, smallest)
    }

    /// The places of a layout, bettered so that there is the room that is asked now.
    fn with_more_room(&self, last: &Layout) -> Found {
        let kept: Vec<usize> = (0..self.bodies.len())
            .filter(|ix| last.devices.iter().any(|placed| placed.device == self.bodies[*ix].device))
            .collect();
        let from = last
            .devices
            .iter()
            .map(|placed| Spot { x: placed.rect.x_mm, y: placed.rect.y_mm, turn: placed.turn })
            .collect();
        let problem = self.problem_of(&last.plan, &kept);
        let (found, wrong) = better(&problem, from, full_effort(kept.len()));
        let mut spots = vec![None; self.bodies.len()];
        // Where there is no such room, all stands as it stood.
        if wrong == 0 {
            for (ix, spot) in kept.iter().zip(found) {
                spots[*ix] = Some(spot);
            }
        } else {
            for (ix, placed) in kept.iter().zip(&last.devices) {
                spots[*ix] = Some(Spot { x: placed.rect.x_mm, y: placed.rect.y_mm, turn: placed.turn });
            }
        }
        (last.plan.clone(), spots, last.smallest_mm)
    }

    /// The places of an earlier layout, where the same devices stand well there.
    fn as_before(&self, plan: &Plan, before: &Layout) -> Option<Found> {
        let plan = if plan.is_sized { plan.resized(before.plan.outline.clone()) } else { plan.clone() };
        let spots: Option<Vec<Spot>> = self
            .bodies
            .iter()
            .zip(self.pins)
            .map(|(body, pin)| {
                let placed = before.find(&self.system.devices[body.device].id)?;
                let spot = Spot { x: placed.rect.x_mm, y: placed.rect.y_mm, turn: placed.turn };
                (pin.is_none_or(|pin| pin == spot)).then_some(spot)
            })
            .collect();
        let spots = spots.filter(|_| before.plan.outline == plan.outline)?;
        (before.devices.len() == spots.len() && self.problem(&plan).faults_mm(&spots) == 0)
            .then(|| (plan, spots.into_iter().map(Some).collect(), None))
    }

    /// Asks for room for two bends, one behind the other, at both ends of cables that could not be laid; whether that is new.
    fn give_room(&mut self, layout: &Layout, tight: &[&Route]) -> bool {
        let mut is_new = false;
        for route in tight {
            let ends = route.conductors.iter().filter_map(|ix| self.system.conductors.get(*ix));
            for end in ends.flat_map(|conductor| [conductor.from, conductor.to]) {
                let Some(ix) = self.bodies.iter().position(|body| body.device == end.device) else {
                    continue;
                };
                let body = &self.bodies[ix];
                let Some(port) = body.ports.get(end.terminal).filter(|_| layout.devices.len() > 1) else {
                    continue;
                };
                let diameter = route.diameter.get() * 1000.0;
                let room = (2.0 * (bend_radius_mm(diameter) + diameter / 2.0)).ceil() as i32 + 5;
                let opposite = Turn::quarters(2).side(port.side);
                let sides = if port.is_bar { [port.side, opposite] } else { [port.side, port.side] };
                for side in sides {
                    let has = &mut self.rooms[ix][side_index(side)];
                    if *has < room {
                        *has = room;
                        is_new = true;
                    }
                }
            }
        }
        is_new && self.pins.iter().any(Option::is_none)
    }

    /// Extent of the smallest board of this shape that takes all, within 4 %; `None` where even a far larger one does not.
    fn smallest(&self, plan: &Plan) -> Option<(i32, i32)> {
        let mut factor = 1.0;
        for _ in 0..40 {
            factor *= 1.04;
            let larger = plan.resized(plan.outline.scaled(factor));
            // Far too small a board needs no search to know it.
            if area_needed(self.bodies) as f64 > larger.outline.area_mm2() as f64 {
                continue;
            }
            if solve(&self.problem(&larger), quick_effort(self.bodies.len())).1 == 0 {
                return Some(larger.outline.extent());
            }
        }
        None
    }

    /// Takes away what stands worst, one by one, until the rest stands well.
    fn leave_over(&self, plan: &Plan, spots: Vec<Spot>) -> Vec<Option<Spot>> {
        let mut spots: Vec<Option<Spot>> = spots.into_iter().map(Some).collect();
        for _ in 0..self.bodies.len() {
            let kept: Vec<usize> = (0..self.bodies.len()).filter(|ix| spots[*ix].is_some()).collect();
            let problem = self.problem_of(plan, &kept);
            let (found, wrong) = solve(&problem, Effort { moves: 1000, runs: 1, more: 0, rebuilds: 0 });
            for (ix, spot) in kept.iter().zip(&found) {
                spots[*ix] = Some(*spot);
            }
            if wrong == 0 {
                break;
            }
            let free = (0..kept.len()).filter(|at| self.pins[kept[*at]].is_none());
            // The one with the most in its way; of two alike the later.
            let Some(worst) = free.max_by_key(|at| problem.piece_mm(*at, &found)) else { break };
            spots[kept[worst]] = None;
        }
        spots
    }
}

fn area_needed(bodies: &[Body]) -> i64 {
    bodies.iter().map(|body| i64::from(body.size_mm[0]) * i64::from(body.size_mm[1])).sum()
}

/// The placing of these bodies on this board, as numbers.
pub(crate) fn problem(
    system: &System,
    library: &Library,
    plan: &Plan,
    bodies: &[Body],
    pins: &[Option<Spot>],
) -> Problem {
    let of_device: BTreeMap<DeviceIx, usize> =
        bodies.iter().enumerate().map(|(ix, body)| (body.device, ix)).collect();
    let nets = nets(system, library, &of_device);
    let leaves = nets.iter().any(|net| net.to == End::Entry);
    let pieces: Vec<Piece> = bodies
        .iter()
        .zip(pins)
        .map(|(body, pin)| Piece {
            stances: [0, 1, 2, 3].map(|turn| stance(body, Turn::quarters(turn))),
            turns: body.turns(plan.is_upright()).to_vec(),
            // A kilogram that stands a metre higher weighs as much as 4 mm² of copper a metre long; common practice is
            // only that what is heavy stands low.
            lift: if plan.is_upright() { (body.mass_kg * 40.0).round() as i64 } else { 0 },
            service: body.service,
            is_ac: body.current == Current::Ac,
            is_dc: body.current == Current::Dc,
            pin: *pin,
        })
        .collect();
    let strip = leaves.then_some((plan.entry, ENTRY_STRIP_MM));
    let (body, clear) = blocked(&plan.outline, &plan.notches, &plan.keep_out, plan.margin_mm, strip, GRID_MM);
    let nets_of = Problem::nets_by_piece(pieces.len(), &nets);
    Problem {
        grid: GRID_MM,
        extent: plan.outline.extent(),
        pieces,
        nets,
        nets_of,
        body,
        clear,
        entry: plan.entry,
        access: plan.access,
        apart: dc_from_ac_mm(),
    }
}

/// Distance of direct- and alternating-current devices and cables [mm].
pub(crate) fn dc_from_ac_mm() -> i32 {
    millimetres(reference::Reference::standard().dc_from_ac().value)
}

fn stance(body: &Body, turn: Turn) -> Stance {
    let size = (body.size_mm[0], body.size_mm[1]);
    Stance {
        size: body.turned(turn),
        clear: turn.sides(body.clear_mm),
        ways: body.ports.iter().map(|port| (!port.is_bar).then(|| outwards(turn.side(port.side)))).collect(),
        ports: body
            .ports
            .iter()
            .map(|port| {
                let (a, b) = (turn.point(size, port.from_mm), turn.point(size, port.to_mm));
                [a.0.min(b.0), a.1.min(b.1), a.0.max(b.0), a.1.max(b.1)]
            })
            .collect(),
    }
}

/// The cables as pulls: tenths of a square millimetre for each millimetre, three times that before the fuse.
fn nets(system: &System, library: &Library, of_device: &BTreeMap<DeviceIx, usize>) -> Vec<Net> {
    let mut nets = Vec::new();
    for conductor in system.conductors.iter().filter(|conductor| !conductor.is_internal) {
        let from = of_device.get(&conductor.from.device).map(|piece| (*piece, conductor.from.terminal));
        let to = of_device.get(&conductor.to.device).map(|piece| (*piece, conductor.to.terminal));
        let (from, to) = match (from, to) {
            (Some(from), Some(to)) if from.0 != to.0 => (from, End::Port(to.0, to.1)),
            (Some(from), None) | (None, Some(from)) => (from, End::Entry),
            _ => continue,
        };
        let diameter = cable_diameter_mm(conductor, library);
        let radius = (bend_radius_mm(diameter) + diameter / 2.0).ceil() as i32;
        nets.push(Net { from, to, weight: weight(system, library, conductor), radius });
    }
    nets
}

fn weight(system: &System, library: &Library, conductor: &Conductor) -> i64 {
    let is_before_fuse =
        [(conductor.from, conductor.to), (conductor.to, conductor.from)].iter().any(|(at, other)| {
            let is_fuse =
                system.devices.get(at.device).is_some_and(|device| matches!(device.spec, Spec::Fuse(_)));
            let is_in = system.terminal(*at).is_some_and(|terminal| terminal.name == "in");
            is_fuse && is_in && system.terminal(*other).is_some_and(|terminal| terminal.feeds)
        });
    // Thin cable costs at least what it takes to lay it.
    let area = conductor.gauge.area().get().max(cable_diameter_mm(conductor, library));
    (area * if is_before_fuse { 30.0 } else { 10.0 }).round() as i64
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
