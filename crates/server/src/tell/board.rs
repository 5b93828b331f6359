//! The mounting board: as it stands, and with one device moved on trial.
//! Never: places or judges anything; [`board`] does.
//! Start at [`board()`] and [`moved`].

use board::{Layout, Placed, Rect, Turn};
use model::{BoardIntent, Edit};
use quantity::Written;

use super::{findings, view};
use crate::{Stand, wire};

/// Farthest from the corner of the board that a device may be tried [mm].
const FARTHEST_MM: i32 = 100_000;

/// The board as it stands; `None` for a refused system.
pub fn board(stand: &Stand) -> Option<wire::Board> {
    stand.layout().map(|layout| told(stand, layout))
}

/// The board with one device moved; `None` where there is no such device on it, or no board.
pub fn moved(stand: &Stand, wanted: &wire::BoardMove) -> Option<wire::Board> {
    let layout = stand.layout()?;
    layout.find(&wanted.id)?;
    let silent = BoardIntent::default();
    let intent = stand.project.intent.board.as_ref().unwrap_or(&silent);
    let near = |value: i32| value.clamp(0, FARTHEST_MM);
    let turn = Turn::quarters(u8::try_from(wanted.turn / 90 % 4).unwrap_or(0));
    let at = (near(wanted.x_mm), near(wanted.y_mm), turn);
    let library = &stand.project.library;
    Some(told(stand, &board::moved(&stand.system, library, intent, layout, &wanted.id, at)))
}

fn told(stand: &Stand, layout: &Layout) -> wire::Board {
    let (width, height) = layout.plan.outline.extent();
    let faults = layout.faults();
    let plan = &layout.plan;
    // On trial everything is pinned; a person wants to see what the file pins.
    let pins = stand.project.intent.board.as_ref().map(|board| &board.places);
    wire::Board {
        is_designed: stand.project.intent.board.is_some(),
        is_due: stand.derived.is_due,
        about: format!(
            "{width} mm x {height} mm, {}, {} thick; {:.1} kg with all on it, on {} screws",
            plan.material.word(),
            plan.thickness,
            layout.mass().get(),
            plan.fixings_mm.len()
        ),
        width_mm: width,
        height_mm: height,
        step_mm: board::GRID_MM,
        outline_mm: plan.outline.corners_mm.iter().map(|(x, y)| vec![*x, *y]).collect(),
        closed: plan.notches.iter().chain(&plan.keep_out).map(|rect| area(*rect)).collect(),
        devices: layout
            .devices
            .iter()
            .map(|placed| {
                let wrong = faults.iter().filter(|fault| is_about(fault, placed));
                wire::BoardDevice {
                    id: placed.id.clone(),
                    title: placed.title.clone(),
                    area: area(placed.rect),
                    turn: u32::try_from(placed.turn.degrees()).unwrap_or(0),
                    is_pinned: pins.is_some_and(|pins| pins.0.contains_key(&placed.id)),
                    clear: area(placed.rect.grown(placed.clear_mm)),
                    wrong: wrong.map(|fault| fault.message.clone()).collect(),
                }
            })
            .collect(),
        left_over: layout.left_over.iter().map(|left| left.id.clone()).collect(),
        routes: layout
            .routes
            .iter()
            .map(|route| wire::BoardRoute {
                id: route.name().to_owned(),
                points_mm: route.points_mm.iter().map(|(x, y)| vec![*x, *y]).collect(),
                diameter_mm: (route.diameter.get() * 10_000.0).round() / 10.0,
                length: route.length.show(),
            })
            .collect(),
        holes: layout
            .holes
            .iter()
            .map(|hole| wire::BoardHole {
                x_mm: hole.x_mm,
                y_mm: hole.y_mm,
                diameter_mm: (hole.diameter.get() * 10_000.0).round() / 10.0,
            })
            .collect(),
        changes: stand
            .derived
            .changes
            .iter()
            .map(|change| {
                format!(
                    "{}: {} on the board, {} before",
                    change.conductor,
                    change.on_board.show(),
                    change.before.show()
                )
            })
            .collect(),
        findings: faults.iter().map(findings::in_a_line).collect(),
        keep: keep(stand, layout).iter().map(view::edit).collect(),
    }
}

/// Whether a fault is about where a device stands; of two that meet, it is about both.
fn is_about(fault: &rules::Finding, placed: &Placed) -> bool {
    fault.place == placed.id || fault.message.contains(&format!("`{}`", placed.id))
}

fn area(rect: Rect) -> wire::BoardArea {
    wire::BoardArea { x_mm: rect.x_mm, y_mm: rect.y_mm, width_mm: rect.width_mm, height_mm: rect.height_mm }
}

/// Whether a pin says what stands.
fn stands_at(pin: &model::BoardPlace, placed: &Placed) -> bool {
    let millimetres = |length: quantity::Metres| (length.get() * 1000.0).round();
    millimetres(pin.x) == f64::from(placed.rect.x_mm)
        && millimetres(pin.y) == f64::from(placed.rect.y_mm)
        && pin.turn.map_or(0.0, quantity::Degrees::get) == f64::from(placed.turn.degrees())
}

/// The changes that pin everything where it stands, and the size of the board where nobody said it: else the next search could
/// move what the person sees standing.
fn keep(stand: &Stand, layout: &Layout) -> Vec<Edit> {
    let silent = BoardIntent::default();
    let intent = stand.project.intent.board.as_ref().unwrap_or(&silent);
    let mut edits = Vec::new();
    let mut set = |path: &[&str], value: String| {
        edits.push(Edit { path: path.iter().map(|part| (*part).to_owned()).collect(), value: Some(value) });
    };
    let (width, height) = layout.plan.outline.extent();
    if intent.outline.is_empty() && (intent.width.is_none() || intent.height.is_none()) {
        set(&["board", "width"], format!("{width} mm"));
        set(&["board", "height"], format!("{height} mm"));
    }
    for placed in &layout.devices {
        let id = placed.id.as_str();
        let pin = intent.places.0.get(id);
        if pin.is_some_and(|pin| stands_at(pin, placed)) {
            continue;
        }
        set(&["board", "places", id, "x"], format!("{} mm", placed.rect.x_mm));
        set(&["board", "places", id, "y"], format!("{} mm", placed.rect.y_mm));
        if placed.turn != Turn::NONE || pin.is_some_and(|pin| pin.turn.is_some()) {
            set(&["board", "places", id, "turn"], format!("{}°", placed.turn.degrees()));
        }
    }
    edits
}
