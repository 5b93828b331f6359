//! From devices and a board to the numbers of a placing, and how hard to search for it.
//! Never: looks at what came of it; `layout` does.
//! Start at [`Search`].

use std::collections::BTreeMap;

use model::{Conductor, DeviceIx, Library, Pole, Spec, System};

use crate::anneal::{Effort, better, solve};
use crate::footprint::{Body, Current, bend_radius_mm, cable_diameter_mm, millimetres};
use crate::geometry::{Turn, outwards, side_index};
use crate::layout::{ENTRY_STRIP_MM, GRID_MM, Layout};
use crate::plan::Plan;
use crate::problem::{End, Net, Piece, Problem, Spot, Stance, blocked};
use crate::route::Route;

/// Where each device stands, `None` for one that does not fit; and the smallest board that would do.
pub(crate) type Found = (Plan, Vec<Option<Spot>>, Option<(i32, i32)>);

/// A board that nobody sized grows no wider than this.
const MOST_WIDTH_MM: i32 = 5000;

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

pub(crate) struct Search<'s> {
    pub system: &'s System,
    pub library: &'s Library,
    pub bodies: &'s [Body],
    pub pins: &'s [Option<Spot>],
    /// Room beside the usual that cables need at each side of each body, as the part stands.
    pub rooms: Vec<[i32; 4]>,
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

    pub fn find(&self, first: &Plan) -> Found {
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
    pub fn with_more_room(&self, last: &Layout) -> Found {
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
    pub fn as_before(&self, plan: &Plan, before: &Layout) -> Option<Found> {
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
    pub fn give_room(&mut self, layout: &Layout, tight: &[&Route]) -> bool {
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
fn problem(
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
pub fn dc_from_ac_mm() -> i32 {
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

/// The cables as pulls: tenths of a square millimetre for each millimetre.
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
        let is_unprotected = is_before_protection(system, conductor);
        // Thin cable costs at least what it takes to lay it; three times that before the fuse.
        let area = conductor.gauge.area().get().max(diameter);
        let weight = (area * if is_unprotected { 30.0 } else { 10.0 }).round() as i64;
        let most = (is_unprotected && to != End::Entry).then(|| protected_within_mm(system));
        let over = if most.is_some() { TOO_FAR } else { 0 };
        nets.push(Net { from, to, weight, radius, most, over });
    }
    nets
}

/// What a millimetre beyond the distance of protection costs: more than the heaviest cables of a board together gain by it.
const TOO_FAR: i64 = 20_000;

/// Whether it runs from what feeds it to the protective device that protects what follows.
fn is_before_protection(system: &System, conductor: &Conductor) -> bool {
    let is_positive = conductor.pole == Pole::Positive;
    is_positive
        && [(conductor.from, conductor.to), (conductor.to, conductor.from)].iter().any(|(at, other)| {
            let protects = system
                .devices
                .get(at.device)
                .is_some_and(|device| matches!(device.spec, Spec::Fuse(_) | Spec::Breaker(_)));
            let is_in = system.terminal(*at).is_some_and(|terminal| terminal.name == "in");
            protects && is_in && system.terminal(*other).is_some_and(|terminal| terminal.feeds)
        })
}

/// How long a bare conductor before its protection may be laid, so that it is within the limit with its slack, which is cut to
/// 10 mm \[mm\]. Where no place is found for that it goes into a sheath, which is no reason to search for less.
fn protected_within_mm(system: &System) -> i32 {
    let allowed = reference::Reference::standard().protection_distance(system.rules, false, false);
    let cut = (allowed.value.get() * 100.0 + 1e-9).floor() * 10.0;
    (cut / (1.0 + system.slack.get())).floor() as i32
}
