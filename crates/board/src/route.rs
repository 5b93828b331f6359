//! Laying the cables on the board: square to its edges, each bend with its radius, around devices and keep-outs.
//! Never: moves a device. Cables may lie beside and over each other; the drawing fans them out.
//! Start at [`route_all`]; the search of one cable stands in `path.rs`.

use model::{Conductor, ConductorIx, DeviceIx, Library, Pole, Side, Spec, System, TerminalRef};
use quantity::Metres;
use serde::Serialize;

use crate::footprint::{Body, Current, bend_radius_mm, cable_diameter_mm};
use crate::geometry::{Rect, outwards};
use crate::holes::HoleUse;
use crate::layout::Layout;
use crate::path::{Ask, Lane, find};
use crate::problem::{Spot, swings};
use crate::search::dc_from_ac_mm;

/// A cable on the board.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Route {
    /// Run number on the label.
    pub number: u32,
    /// The conductors in it: one, or the cores of a sheath.
    pub conductors: Vec<ConductorIx>,
    /// Their names.
    pub ids: Vec<String>,
    /// Outside diameter of the cable.
    pub diameter: Metres,
    /// Smallest radius to which it is bent, at its inner side.
    pub bend_radius: Metres,
    /// Its corners from end to end, x and y [mm]; bends round them off.
    pub points_mm: Vec<(i32, i32)>,
    /// Length along its middle, bends rounded.
    pub length: Metres,
    /// The same with the slack of the project, rounded up to 10 mm; only for what ends on the board.
    pub length_cut: Metres,
    /// Whether it goes on beyond the board, through a hole.
    pub leaves: bool,
    /// What it carries; an earth belongs to both.
    pub current: Current,
    /// Whether it is sheathed or in conduit.
    pub is_sheathed: bool,
    /// Whether it swings aside between two terminals that face each other, in two arcs of less than a quarter circle, instead of
    /// turning square at its two inner corners.
    pub is_swung: bool,
    /// Whether every bend has its radius.
    pub keeps_bends: bool,
    /// Whether it had to be drawn through a device or beyond the board.
    pub is_blocked: bool,
}

impl Route {
    /// What it is called: the conductor, or the cable of which it is a core.
    pub fn name(&self) -> &str {
        let first = self.ids.first().map_or("", String::as_str);
        if self.ids.len() > 1 { first.rsplit_once('.').map_or(first, |(cable, _)| cable) } else { first }
    }
}

struct Cable {
    conductors: Vec<ConductorIx>,
    diameter_mm: f64,
    from: TerminalRef,
    to: TerminalRef,
    current: Current,
    is_sheathed: bool,
    weight: f64,
}

/// Lays every cable that begins or ends on the board: direct current first, the heaviest first.
pub(crate) fn route_all(
    system: &System,
    library: &Library,
    layout: &Layout,
    standing: &[(&Body, Spot)],
) -> Vec<Route> {
    let place_of = |device: DeviceIx| standing.iter().position(|(body, _)| body.device == device);
    let mut cables: Vec<Cable> = Vec::new();
    for (ix, conductor) in system.conductors.iter().enumerate() {
        let is_here = |at: TerminalRef| place_of(at.device).is_some();
        if conductor.is_internal
            || conductor.from.device == conductor.to.device
            || !(is_here(conductor.from) || is_here(conductor.to))
        {
            continue;
        }
        let same = cables.iter_mut().find(|cable| is_same_sheath(system, cable, conductor));
        match same {
            Some(cable) => cable.conductors.push(ix),
            None => cables.push(Cable {
                conductors: vec![ix],
                diameter_mm: cable_diameter_mm(conductor, library),
                from: conductor.from,
                to: conductor.to,
                current: match conductor.pole {
                    Pole::Positive | Pole::Negative => Current::Dc,
                    Pole::Line | Pole::Line2 | Pole::Neutral => Current::Ac,
                    // The core of a sheath goes with the others; a bond by itself belongs to both.
                    Pole::Earth if conductor.cores > 1 => Current::Ac,
                    Pole::Earth => Current::Both,
                },
                is_sheathed: conductor.sheathed || conductor.cores > 1,
                weight: conductor.gauge.area().get(),
            }),
        }
    }
    cables.sort_by(|a, b| {
        (a.current == Current::Ac)
            .cmp(&(b.current == Current::Ac))
            .then(b.weight.total_cmp(&a.weight))
            .then(a.conductors[0].cmp(&b.conductors[0]))
    });
    let studs = Studs::of(system, layout, standing, &cables);
    let mut lanes: Vec<Lane> = Vec::new();
    let mut routes = Vec::new();
    for (ix, cable) in cables.iter().enumerate() {
        let Some(route) = lay(system, layout, standing, &studs, &lanes, ix, cable) else { continue };
        lanes.extend(route.points_mm.windows(2).map(|pair| Lane {
            from: pair[0],
            to: pair[1],
            current: route.current,
        }));
        routes.push(route);
    }
    routes.sort_by_key(|route| (route.number, route.conductors.first().copied()));
    routes
}

fn is_same_sheath(system: &System, cable: &Cable, conductor: &Conductor) -> bool {
    let first = cable.conductors.first().and_then(|ix| system.conductors.get(*ix));
    first.is_some_and(|first| {
        conductor.cores > 1
            && first.cores > 1
            && first.number == conductor.number
            && first.circuit == conductor.circuit
    })
}

/// Where on its busbar each cable sits: the heaviest chooses first, each the stud nearest to where it goes.
struct Studs(Vec<[Option<Stud>; 2]>);

/// Where a cable leaves its bar, and on which side.
type Stud = ((i32, i32), Side);

impl Studs {
    fn of(system: &System, layout: &Layout, standing: &[(&Body, Spot)], cables: &[Cable]) -> Self {
        let mut at = vec![[None, None]; cables.len()];
        for (place, (body, spot)) in standing.iter().enumerate() {
            let Some(Spec::Busbar(bar)) = system.devices.get(body.device).map(|device| &device.spec) else {
                continue;
            };
            let Some(port) = body.ports.first() else { continue };
            let size = (body.size_mm[0], body.size_mm[1]);
            let (a, b) = (spot.turn.point(size, port.from_mm), spot.turn.point(size, port.to_mm));
            let a = (a.0 + spot.x, a.1 + spot.y);
            let b = (b.0 + spot.x, b.1 + spot.y);
            let rect = layout.devices[place].rect;
            let mine: Vec<(usize, usize)> = cables
                .iter()
                .enumerate()
                .flat_map(|(ix, cable)| {
                    [cable.from, cable.to]
                        .into_iter()
                        .enumerate()
                        .filter(|(_, end)| end.device == body.device)
                        .map(move |(end, _)| (ix, end))
                })
                .collect();
            let studs = (bar.studs.clamp(1, 60)) as usize;
            let room = mine.len().div_ceil(studs).max(1);
            let mut used = vec![0; studs];
            for (ix, end) in mine {
                let cable = &cables[ix];
                let other = if end == 0 { cable.to } else { cable.from };
                let goal = layout
                    .devices
                    .iter()
                    .find(|placed| placed.device == other.device)
                    .map(|placed| {
                        let terminal = placed.terminals.get(other.terminal);
                        terminal.map_or_else(|| middle(placed.rect), |terminal| terminal.at_mm)
                    })
                    .or_else(|| grommet(layout, body.device))
                    .unwrap_or((rect.x_mm, 0));
                let stud = |index: usize| {
                    let count = (studs.max(2) - 1) as i32;
                    let index = index as i32;
                    (a.0 + (b.0 - a.0) * index / count, a.1 + (b.1 - a.1) * index / count)
                };
                let nearest = (0..studs)
                    .filter(|index| used[*index] < room)
                    .min_by_key(|index| {
                        let at = stud(*index);
                        ((at.0 - goal.0).abs() + (at.1 - goal.1).abs(), *index)
                    })
                    .unwrap_or(0);
                used[nearest] += 1;
                let (x, y) = stud(nearest);
                at[ix][end] = Some(if a.1 == b.1 {
                    if goal.1 > y { ((x, rect.top()), Side::Top) } else { ((x, rect.y_mm), Side::Bottom) }
                } else if goal.0 > x {
                    ((rect.right(), y), Side::Right)
                } else {
                    ((rect.x_mm, y), Side::Left)
                });
            }
        }
        Self(at)
    }
}

fn middle(rect: Rect) -> (i32, i32) {
    (rect.x_mm + rect.width_mm / 2, rect.y_mm + rect.height_mm / 2)
}

fn grommet(layout: &Layout, device: DeviceIx) -> Option<(i32, i32)> {
    layout
        .holes
        .iter()
        .find(|hole| hole.is_for == HoleUse::Cables && hole.device_ix == Some(device))
        .map(|hole| (hole.x_mm, hole.y_mm))
}

fn lay(
    system: &System,
    layout: &Layout,
    standing: &[(&Body, Spot)],
    studs: &Studs,
    lanes: &[Lane],
    ix: usize,
    cable: &Cable,
) -> Option<Route> {
    let end = |which: usize, at: TerminalRef| -> Option<((i32, i32), Side)> {
        let (place, _) = standing.iter().enumerate().find(|(_, (body, _))| body.device == at.device)?;
        studs.0[ix][which].or_else(|| {
            let terminal = layout.devices.get(place)?.terminals.get(at.terminal)?;
            Some((terminal.at_mm, terminal.side))
        })
    };
    let (from, to) = (end(0, cable.from), end(1, cable.to));
    let (start, goal, leaves, own) = match (from, to) {
        (Some(from), Some(to)) => (from, Some(to), false, [cable.from.device, cable.to.device]),
        (Some(from), None) => (from, None, true, [cable.from.device; 2]),
        (None, Some(to)) => (to, None, true, [cable.to.device; 2]),
        (None, None) => return None,
    };
    // Without a place for a hole the cable is drawn straight off the board and told as blocked.
    let exit = grommet(layout, own[0]);
    let goal_at = goal.map(|goal| goal.0).or(exit).unwrap_or((start.0.0, 0));
    let radius = bend_radius_mm(cable.diameter_mm);
    let half = (cable.diameter_mm / 2.0).ceil() as i32;
    let centre = radius.ceil() as i32 + half;
    let rects: Vec<(Rect, bool)> =
        layout.devices.iter().map(|placed| (placed.rect, own.contains(&placed.device))).collect();
    let ask = Ask {
        outline: &layout.plan.outline,
        bodies: &rects,
        barred: layout.plan.notches.iter().chain(&layout.plan.keep_out).copied().collect(),
        start: start.0,
        start_way: outwards(start.1),
        goal: goal_at,
        goal_way: goal.map(|goal| {
            let (x, y) = outwards(goal.1);
            (-x, -y)
        }),
        half,
        radius: centre,
        lanes,
        current: cable.current,
        apart: dc_from_ac_mm(),
    };
    let is_lost = goal.is_none() && exit.is_none();
    if let Some((points_mm, length_mm)) = swing(&ask) {
        return finish(system, cable, (points_mm, true, true, false), length_mm, leaves, radius);
    }
    // With room for bends; then closer to its neighbours; then without bend radius; then whatever stands there.
    let (points_mm, keeps_bends, is_blocked) = if let Some(points) = find(&ask, 3) {
        (points, true, is_lost)
    } else if let Some(points) = find(&Ask { half: 0, ..ask.clone() }, 0) {
        (points, true, is_lost)
    } else if let Some(points) = find(&Ask { radius: 0, half: 0, ..ask }, 0) {
        (points, false, is_lost)
    } else {
        (straight(start.0, goal_at), false, true)
    };
    let length_mm = rounded_length_mm(&points_mm, if keeps_bends { f64::from(centre) } else { 0.0 });
    finish(system, cable, (points_mm, false, keeps_bends, is_blocked), length_mm, leaves, radius)
}

fn finish(
    system: &System,
    cable: &Cable,
    (points_mm, is_swung, keeps_bends, is_blocked): (Vec<(i32, i32)>, bool, bool, bool),
    length_mm: f64,
    leaves: bool,
    radius_mm: f64,
) -> Option<Route> {
    // Whole millimetres: finer is nothing that a hand cuts, and steadies what is derived from it.
    let length_mm = length_mm.ceil();
    let first = cable.conductors.first().and_then(|ix| system.conductors.get(*ix))?;
    let cut = (length_mm * (1.0 + system.slack.get()) / 10.0 - 1e-9).ceil() * 10.0;
    Some(Route {
        number: first.number,
        ids: cable.conductors.iter().filter_map(|ix| Some(system.conductors.get(*ix)?.id.clone())).collect(),
        conductors: cable.conductors.clone(),
        diameter: Metres::new(cable.diameter_mm / 1000.0),
        bend_radius: Metres::new(radius_mm / 1000.0),
        points_mm,
        length: Metres::new(length_mm / 1000.0),
        length_cut: Metres::new(cut / 1000.0),
        leaves,
        current: cable.current,
        is_sheathed: cable.is_sheathed,
        is_swung,
        keeps_bends,
        is_blocked,
    })
}

/// The short way between two terminals that face each other: straight, or swung aside in two arcs; and its length [mm].
fn swing(ask: &Ask<'_>) -> Option<(Vec<(i32, i32)>, f64)> {
    let (ax, ay) = ask.start_way;
    if ask.goal_way? != ask.start_way {
        return None;
    }
    let (dx, dy) = (ask.goal.0 - ask.start.0, ask.goal.1 - ask.start.1);
    let (ahead, aside) = (dx * ax + dy * ay, (dx * ay).abs() + (dy * ax).abs());
    if ahead <= 0 || aside >= 2 * ask.radius || !swings(ahead, aside, ask.radius) {
        return None;
    }
    let (left, low) = (ask.start.0.min(ask.goal.0), ask.start.1.min(ask.goal.1));
    let half = ask.half.max(1);
    let side = if ax != 0 { [half, 0, half, 0] } else { [0, half, 0, half] };
    let lane = Rect::new(left, low, dx.abs(), dy.abs()).grown(side);
    let is_free = ask.bodies.iter().all(|(rect, _)| rect.depth(lane) == 0)
        && ask.barred.iter().all(|rect| rect.depth(lane) == 0)
        && ask.outline.holds(lane);
    if !is_free {
        return None;
    }
    if aside == 0 {
        return Some((vec![ask.start, ask.goal], f64::from(ahead)));
    }
    let radius = f64::from(ask.radius);
    let cosine = 1.0 - f64::from(aside) / (2.0 * radius);
    let sine = (1.0 - cosine * cosine).max(0.0).sqrt();
    let arcs = 2.0 * radius * libm::atan2(sine, cosine);
    let rest = f64::from(ahead) - 2.0 * radius * sine;
    let middle = (ask.start.0 + ax * ahead / 2, ask.start.1 + ay * ahead / 2);
    let across = if ax != 0 { (middle.0, ask.goal.1) } else { (ask.goal.0, middle.1) };
    Some((vec![ask.start, middle, across, ask.goal], arcs + rest.max(0.0)))
}

fn straight(a: (i32, i32), b: (i32, i32)) -> Vec<(i32, i32)> {
    if a.0 == b.0 || a.1 == b.1 { vec![a, b] } else { vec![a, (b.0, a.1), b] }
}

/// Length of the middle line: each square corner is cut by an arc, so `2 r` becomes `π r / 2`.
fn rounded_length_mm(points: &[(i32, i32)], radius_mm: f64) -> f64 {
    let whole: i32 =
        points.windows(2).map(|pair| (pair[0].0 - pair[1].0).abs() + (pair[0].1 - pair[1].1).abs()).sum();
    let bends = points.len().saturating_sub(2) as f64;
    f64::from(whole) - bends * (2.0 - std::f64::consts::FRAC_PI_2) * radius_mm
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Outline;

    #[test]
    fn two_arcs_that_meet_swing_aside() {
        // Radius 100 mm, each arc a sixth of a circle: ahead 2 r sin 60° = 173.2 mm, aside 2 r (1 - cos 60°) = 100 mm,
        // length 2 r π / 3 = 209.4 mm.
        let outline = Outline::rectangle(600, 400);
        let ask = Ask {
            outline: &outline,
            bodies: &[],
            barred: Vec::new(),
            start: (100, 100),
            start_way: (1, 0),
            goal: (274, 200),
            goal_way: Some((1, 0)),
            half: 5,
            radius: 100,
            lanes: &[],
            current: Current::Dc,
            apart: 100,
        };
        let (points, length) = swing(&ask).unwrap();
        assert_eq!(points, [(100, 100), (187, 100), (187, 200), (274, 200)]);
        assert!((length - (209.44 + 0.795)).abs() < 0.01, "{length}");
        assert!(swing(&Ask { goal: (273, 200), ..ask.clone() }).is_none());
        assert!(swing(&Ask { bodies: &[(Rect::new(180, 90, 20, 20), false)], ..ask }).is_none());
    }

    #[test]
    fn a_quarter_circle_is_shorter_than_its_corner() {
        // Two legs of 100 mm with an arc of 100 mm radius: only the arc is left, a quarter of 2 π 100 mm.
        let length = rounded_length_mm(&[(0, 0), (100, 0), (100, 100)], 100.0);
        assert!((length - 157.079_632_679).abs() < 1e-6);
        assert_eq!(rounded_length_mm(&[(0, 0), (70, 0)], 40.0), 70.0);
    }
}
