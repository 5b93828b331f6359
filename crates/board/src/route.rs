//! Laying the cables on the board: square to its edges, each bend with its radius, around devices and keep-outs.
//! Never: moves a device. Cables may lie beside and over each other; the drawing fans them out.
//! Start at [`route_all`]; the search of one cable stands in `path.rs`.

use model::{Conductor, ConductorIx, DeviceIx, Library, Pole, Side, Spec, System, TerminalRef};
use quantity::Metres;
use serde::Serialize;

use crate::footprint::{Body, Current, bend_radius_mm, cable_diameter_mm};
use crate::geometry::{Rect, outwards};
use crate::holes::HoleUse;
use crate::layout::{Layout, dc_from_ac_mm};
use crate::path::{Ask, Lane, find};
use crate::problem::Spot;

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
struct Studs(Vec<[Option<((i32, i32), Side)>; 2]>);

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
                    .map(|placed| middle(placed.rect))
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
    let length = Metres::new(length_mm / 1000.0);
    let first = cable.conductors.first().and_then(|ix| system.conductors.get(*ix))?;
    let cut = (length_mm * (1.0 + system.slack.get()) / 10.0 - 1e-9).ceil() * 10.0;
    Some(Route {
        number: first.number,
        ids: cable.conductors.iter().filter_map(|ix| Some(system.conductors.get(*ix)?.id.clone())).collect(),
        conductors: cable.conductors.clone(),
        diameter: Metres::new(cable.diameter_mm / 1000.0),
        bend_radius: Metres::new(radius / 1000.0),
        points_mm,
        length,
        length_cut: Metres::new(cut / 1000.0),
        leaves,
        current: cable.current,
        is_sheathed: cable.is_sheathed,
        keeps_bends,
        is_blocked,
    })
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

    #[test]
    fn a_quarter_circle_is_shorter_than_its_corner() {
        // Two legs of 100 mm with an arc of 100 mm radius: only the arc is left, a quarter of 2 π 100 mm.
        let length = rounded_length_mm(&[(0, 0), (100, 0), (100, 100)], 100.0);
        assert!((length - 157.079_632_679).abs() < 1e-6);
        assert_eq!(rounded_length_mm(&[(0, 0), (70, 0)], 40.0), 70.0);
    }
}
