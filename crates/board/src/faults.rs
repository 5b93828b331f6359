//! What is wrong on the board: pure functions over the layout, quick enough to be called while a hand drags a device.
//! Never: mends or moves anything; knows how the layout came about.
//! Start at [`Layout::faults`]; [`CHECKS`] is the one list, in which each check has its name and what it means to a person.

use model::Edit;

use reference::{Cite, Reference};
use rules::{Finding, Severity};

use crate::footprint::Current;
use crate::geometry::Rect;
use crate::holes::HoleUse;
use crate::judge::{self, Check, Out};
use crate::layout::{Layout, Placed};
use crate::path::{are_mixed, gap_mm};
use crate::problem::reach_mm;
use crate::search::dc_from_ac_mm;

/// Every check, sorted by name.
pub const CHECKS: &[Check<Layout>] = &[
    (
        "board-ac-near-dc",
        "A fault that joins mains to the battery side makes every 12 V part live; distance, a sheath or a barrier keeps them apart.",
        ac_near_dc,
    ),
    (
        "board-air-missing",
        "A device that cannot breathe throttles or ages, and a hand without room slips.",
        air_missing,
    ),
    (
        "board-bend-too-tight",
        "A cable bent too tightly breaks its strands and works its lug loose.",
        bend_too_tight,
    ),
    (
        "board-cable-blocked",
        "A cable that cannot be laid square on the board is laid over a device, where it is in the way of hands and heat.",
        cable_blocked,
    ),
    (
        "board-device-does-not-fit",
        "What has no place is hung somewhere else later, on longer cables.",
        does_not_fit,
    ),
    ("board-device-outside", "A device over the edge or a cut-out has nothing to be screwed to.", outside),
    ("board-devices-overlap", "Two devices cannot stand in one place.", overlap),
    (
        "board-hole-near-edge",
        "Wood and plastic split where a screw stands near the edge, and the device comes loose.",
        hole_near_edge,
    ),
    (
        "board-name-unknown",
        "What is written about a device that is not on the board has no effect.",
        name_unknown,
    ),
    ("board-overloaded", "The road shakes a heavy board off screws that are too few.", overloaded),
    (
        "board-service-out-of-reach",
        "A fuse or switch that no hand reaches is not switched off in time.",
        out_of_reach,
    ),
    ("board-vent-not-up", "Warm air rises: a device on its side or head keeps its heat.", vent_not_up),
];

impl Layout {
    /// Everything wrong, worst first, then by check and place. Its findings have the form of the rules' findings.
    pub fn faults(&self) -> Vec<Finding> {
        judge::all(self, CHECKS)
    }

    fn pairs(&self) -> impl Iterator<Item = (&Placed, &Placed)> {
        self.devices.iter().enumerate().flat_map(|(at, a)| self.devices[at + 1..].iter().map(move |b| (a, b)))
    }
}

/// Where a person says it otherwise: the pin, else the device's own table.
fn intent(placed: &Placed) -> String {
    if placed.is_pinned { format!("board.places.{}", placed.id) } else { placed.intent.clone() }
}

/// Of two, the one that the person pinned.
fn cause<'l>(a: &'l Placed, b: &'l Placed) -> &'l Placed {
    if b.is_pinned && !a.is_pinned { b } else { a }
}

/// Adds: take the pin away, where there is one.
fn unpin(finding: &mut Finding, placed: &[&Placed]) {
    for placed in placed.iter().filter(|placed| placed.is_pinned) {
        finding.fix(
            format!("take the place of `{}` away, so that it is placed anew", placed.id),
            vec![Edit { path: ["board", "places", &placed.id].map(str::to_owned).to_vec(), value: None }],
        );
    }
    if finding.fixes.is_empty() {
        finding.mend("make the board larger, or move a device off it with `board.without`");
    }
}

fn overlap(layout: &Layout, out: &mut Out) {
    for (a, b) in layout.pairs() {
        let (width, height) = a.rect.shared(b.rect);
        if width > 0 && height > 0 {
            let at = cause(a, b);
            let message = format!("`{}` and `{}` overlap by {width} mm x {height} mm", a.id, b.id);
            let finding = out.warn(message, &at.id, intent(at));
            finding.because(shown(a)).because(shown(b));
            unpin(finding, &[a, b]);
        }
    }
}

fn shown(placed: &Placed) -> String {
    let Rect { x_mm, y_mm, width_mm, height_mm } = placed.rect;
    format!("`{}` covers x {x_mm} to {} mm, y {y_mm} to {} mm", placed.id, x_mm + width_mm, y_mm + height_mm)
}

fn outside(layout: &Layout, out: &mut Out) {
    let plan = &layout.plan;
    for placed in &layout.devices {
        let margin = placed.rect.grown([plan.margin_mm; 4]);
        let over = if !plan.outline.holds(placed.rect) {
            "the edge of the board"
        } else if plan.notches.iter().any(|notch| notch.depth(placed.rect) > 0) {
            "a cut-out"
        } else if plan.keep_out.iter().any(|area| area.depth(placed.rect) > 0) {
            "a keep-out"
        } else if !plan.outline.holds(margin) || plan.notches.iter().any(|notch| notch.depth(margin) > 0) {
            "the strip that is kept free along the edge"
        } else {
            continue;
        };
        let finding = out.warn(format!("`{}` stands over {over}", placed.id), &placed.id, intent(placed));
        finding.because(shown(placed)).because(format!(
            "the board is {} mm x {} mm with {} mm kept free along its edge",
            plan.outline.extent().0,
            plan.outline.extent().1,
            plan.margin_mm
        ));
        unpin(finding, &[placed]);
    }
}

/// Sides in words, in their order.
const SIDES: [&str; 4] = ["above", "right of", "below", "left of"];

/// Free space missing on each side of `a`: what stands in it, or the edge.
fn missing(layout: &Layout, a: &Placed, clear: [i32; 4]) -> Vec<(usize, i32, i32, String)> {
    let mut found = Vec::new();
    for side in 0..4 {
        if clear[side] <= 0 {
            continue;
        }
        let mut only = [0; 4];
        only[side] = clear[side];
        let zone = a.rect.grown(only);
        let nearest = layout
            .devices
            .iter()
            .filter(|b| b.device != a.device && zone.depth(b.rect) > 0 && a.rect.depth(b.rect) == 0)
            .map(|b| {
                let (x, y) = a.rect.gap(b.rect);
                (if side % 2 == 0 { y } else { x }, b.id.clone())
            })
            .min();
        if let Some((has, other)) = nearest {
            found.push((side, has, clear[side], format!("`{other}`")));
            continue;
        }
        let on_board = |zone: Rect| {
            layout.plan.outline.holds(zone) && layout.plan.notches.iter().all(|notch| notch.depth(zone) == 0)
        };
        if on_board(a.rect) && !on_board(zone) {
            let has = (0..=clear[side]).rev().find(|room| {
                let mut only = [0; 4];
                only[side] = *room;
                on_board(a.rect.grown(only))
            });
            found.push((side, has.unwrap_or(0), clear[side], "the edge".to_owned()));
        }
    }
    found
}

fn air_missing(layout: &Layout, out: &mut Out) {
    for placed in &layout.devices {
        for (side, has, wants, other) in missing(layout, placed, placed.air_mm) {
            let message = format!(
                "{has} mm free {} `{}` up to {other}; it wants {wants} mm for air and hands",
                SIDES[side], placed.id
            );
            let finding = out.warn(message, &placed.id, intent(placed));
            finding.because(shown(placed));
            unpin(finding, &[placed]);
        }
    }
}

fn bend_too_tight(layout: &Layout, out: &mut Out) {
    let factor = Reference::standard().min_bend_radius_factor();
    for placed in &layout.devices {
        for (side, has, wants, other) in missing(layout, placed, placed.clear_mm) {
            if placed.clear_mm[side] <= placed.air_mm[side] {
                continue;
            }
            let message = format!(
                "{has} mm free {} `{}` up to {other}; its cable needs {wants} mm to turn aside",
                SIDES[side], placed.id
            );
            let finding = out.warn(message, &placed.id, intent(placed));
            finding.because(format!("radius of {} diameters and the cable itself", factor.value));
            finding.cites(&factor);
            unpin(finding, &[placed]);
        }
    }
    for route in layout.routes.iter().filter(|route| !route.keeps_bends && !route.is_blocked) {
        let name = route.name();
        let radius = (route.bend_radius.get() * 1000.0).round();
        let message = format!("`{name}` cannot be laid square on the board with bends of {radius} mm inside");
        let finding = out.warn(message, name, "board".to_owned());
        finding
            .because(format!("{:.1} mm of cable times {}", route.diameter.get() * 1000.0, factor.value))
            .cites(&factor)
            .mend("turn its terminals towards each other, or give them more room");
    }
}

fn cable_blocked(layout: &Layout, out: &mut Out) {
    for route in layout.routes.iter().filter(|route| route.is_blocked) {
        let name = route.name();
        let message = if route.leaves {
            format!("there is no place for a hole through which `{name}` leaves the board")
        } else {
            format!("there is no way for `{name}` between its terminals")
        };
        out.warn(message, name, "board".to_owned())
            .because(format!("a cable of {:.1} mm", route.diameter.get() * 1000.0))
            .mend("leave a lane between the devices, or another `board.entry`");
    }
}

fn does_not_fit(layout: &Layout, out: &mut Out) {
    let (width, height) = layout.plan.outline.extent();
    for left in &layout.left_over {
        let message = format!(
            "there is no place on the board for `{}`, which needs {} mm x {} mm with its free space",
            left.id, left.needs_mm.0, left.needs_mm.1
        );
        let finding = out.warn(message, &left.id, "board".to_owned());
        finding.because(format!("the board is {width} mm x {height} mm"));
        match layout.smallest_mm {
            Some((least_width, least_height)) => finding.mend(format!(
                "make the board {least_width} mm x {least_height} mm: all were placed on one of this shape and size"
            )),
            None => finding.mend("make the board larger, or another shape"),
        };
        finding.mend(format!("hang `{}` elsewhere: list it under `board.without`", left.id));
    }
}

fn name_unknown(layout: &Layout, out: &mut Out) {
    for name in &layout.unknown {
        let path = name.split(": ").next().unwrap_or(name);
        let message = format!("`board.{name}` is about no device on the board");
        let known: Vec<&str> = layout.devices.iter().map(|placed| placed.id.as_str()).collect();
        let wanted = name.rsplit_once(": ").map_or_else(|| name.trim_start_matches("places."), |(_, id)| id);
        let near = model::read::nearest(wanted, known.iter().copied()).map_or_else(
            || format!("on it are: {}", known.join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        out.warn(message, wanted, format!("board.{path}")).mend(near);
    }
}

fn hole_near_edge(layout: &Layout, out: &mut Out) {
    let factor = Reference::standard().hole_from_edge();
    for hole in &layout.holes {
        let diameter = hole.diameter.get() * 1000.0;
        let distance = layout.plan.outline.distance_mm(f64::from(hole.x_mm), f64::from(hole.y_mm)).min(
            layout
                .plan
                .notches
                .iter()
                .map(|notch| edge_mm(*notch, hole.x_mm, hole.y_mm))
                .fold(f64::INFINITY, f64::min),
        );
        // A wide hole carries a grommet and no load: one diameter leaves half of it in wood.
        let wants = diameter * if hole.is_for == HoleUse::Cables { 1.0 } else { factor.value };
        let is_on = layout.plan.outline.holds(Rect::new(hole.x_mm, hole.y_mm, 1, 1));
        if is_on && distance + 0.01 >= wants {
            continue;
        }
        let (place, intent) = match layout.devices.iter().find(|placed| placed.id == hole.device) {
            Some(placed) => (placed.id.as_str(), intent(placed)),
            None => ("board", "board.fixings".to_owned()),
        };
        let message = format!(
            "a hole of {diameter} mm at x {} mm, y {} mm stands {} the edge; it wants {wants:.0} mm",
            hole.x_mm,
            hole.y_mm,
            if is_on { format!("{distance:.0} mm from") } else { "beyond".to_owned() }
        );
        out.warn(message, place, intent)
            .because(format!("{} diameters from the middle", wants / diameter))
            .cites(&factor)
            .mend("move it inwards, or widen `board.edge_margin`");
    }
}

/// Distance from a point to the edge of a rectangle from outside [mm].
fn edge_mm(rect: Rect, x: i32, y: i32) -> f64 {
    let dx = (rect.x_mm - x).max(x - rect.right()).max(0);
    let dy = (rect.y_mm - y).max(y - rect.top()).max(0);
    (f64::from(dx) * f64::from(dx) + f64::from(dy) * f64::from(dy)).sqrt()
}

fn overloaded(layout: &Layout, out: &mut Out) {
    let plan = &layout.plan;
    let count = plan.fixings_mm.len();
    let holds = plan.fixing_load.get() * count as f64;
    let mass = layout.mass().get();
    if mass <= holds {
        return;
    }
    let needed = (mass / plan.fixing_load.get().max(1e-9)).ceil();
    let finding = out.warn(
        format!("board and devices weigh {mass:.1} kg; {count} screws hold {holds:.1} kg"),
        "board",
        "board.fixings".to_owned(),
    );
    finding
        .because(format!("devices {:.1} kg, board {:.1} kg", mass - plan.mass.get(), plan.mass.get()))
        .because(format!("{} on each screw", plan.fixing_load))
        .cites(&Reference::standard().board_screw_load())
        .mend(format!("hold it with at least {needed:.0} screws"));
}

fn out_of_reach(layout: &Layout, out: &mut Out) {
    let Some((side, reach)) = layout.plan.access else { return };
    for placed in layout.devices.iter().filter(|placed| placed.service) {
        let has = reach_mm(side, layout.plan.outline.extent(), placed.rect);
        if has > reach {
            let message = format!(
                "`{}` stands {has} mm from the {} side, from which a hand reaches {reach} mm",
                placed.id,
                side.word()
            );
            let finding = out.warn(message, &placed.id, intent(placed));
            finding.because(shown(placed));
            unpin(finding, &[placed]);
        }
    }
}

fn vent_not_up(layout: &Layout, out: &mut Out) {
    if !layout.plan.is_upright() {
        return;
    }
    for placed in layout.devices.iter().filter(|placed| placed.upright && placed.turn.count() != 0) {
        let message =
            format!("`{}` is turned by {}° and its vents do not point up", placed.id, placed.turn.degrees());
        let path = ["board", "places", &placed.id, "turn"].map(str::to_owned).to_vec();
        out.warn(message, &placed.id, intent(placed)).fix(
            format!("stand `{}` upright: turn 0°", placed.id),
            vec![Edit { path, value: Some("0°".to_owned()) }],
        );
    }
}

fn ac_near_dc(layout: &Layout, out: &mut Out) {
    let apart = Reference::standard().dc_from_ac();
    let wants = dc_from_ac_mm();
    for (a, b) in layout.pairs() {
        let is_mixed = are_mixed(a.current, b.current);
        let (x, y) = a.rect.gap(b.rect);
        if is_mixed && x.max(y) < wants && a.rect.depth(b.rect) == 0 {
            let at = cause(a, b);
            let message = format!(
                "`{}` and `{}`, of alternating and direct current, stand {} mm apart",
                a.id,
                b.id,
                x.max(y)
            );
            let finding = out.warn(message, &at.id, intent(at));
            finding.because(format!("{wants} mm on one surface")).cites(&apart);
            finding.mend("put a barrier between them, or sheath one of the two");
            unpin(finding, &[a, b]);
        }
    }
    let stretches = |route: &crate::route::Route| -> Vec<((i32, i32), (i32, i32))> {
        route.points_mm.windows(2).map(|pair| (pair[0], pair[1])).collect()
    };
    for ac in layout.routes.iter().filter(|route| route.current == Current::Ac && !route.is_sheathed) {
        let mut worst: Option<(i32, &str)> = None;
        for dc in layout.routes.iter().filter(|route| route.current == Current::Dc) {
            for a in stretches(ac) {
                for b in stretches(dc) {
                    let are_parallel = (a.0.0 == a.1.0) == (b.0.0 == b.1.0);
                    let gap = gap_mm(a, b);
                    let name = dc.name();
                    if are_parallel && gap < wants && worst.is_none_or(|(least, _)| gap < least) {
                        worst = Some((gap, name));
                    }
                }
            }
        }
        if let Some((gap, other)) = worst {
            let name = ac.name();
            let message = format!("`{name}` runs {gap} mm beside `{other}`, mains beside direct current");
            let finding = out.say(Severity::Advice, message, name, "board".to_owned());
            finding
                .because(format!("{wants} mm on one surface, unless one of them is sheathed or in conduit"));
            finding
                .cites(&apart)
                .mend("lay the mains cable in its sheath up to the terminal, or in conduit there");
        }
    }
}

/// The table rows on which the checks stand.
pub fn cites() -> Vec<Cite> {
    let reference = Reference::standard();
    vec![
        reference.min_bend_radius_factor().cite,
        reference.hole_from_edge().cite,
        reference.board_screw_load().cite,
        reference.dc_from_ac().cite,
    ]
}
