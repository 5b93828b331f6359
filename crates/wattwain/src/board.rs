//! `board`: where each device stands on the mounting board, on what cable, through which holes, and what is wrong there.
//! Never: places anything itself (see `board`).
//! Start at [`run`].

use ::board::{HoleUse, Layout, Settled};
use quantity::{Metres, Written};
use rules::Finding;
use serde_json::json;

use crate::answer::{Answer, Failure};
use crate::cli::BoardArgs;
use crate::show::{SAFETY, Screen};

/// Tells it.
pub fn run(args: &BoardArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let settled = ::board::with_board_lengths(&project, ::board::MOST_ROUNDS);
    let faults = settled.layout.faults();
    if json {
        return Answer::json(&json!({
            "safety": SAFETY,
            "project": project.source.name,
            "rounds": settled.rounds,
            "is_steady": settled.is_steady,
            "changes": settled.changes,
            "layout": settled.layout,
            "findings": faults,
        }));
    }
    Ok(Answer::text(told(screen, &settled, &faults)))
}

fn told(screen: &Screen, settled: &Settled, faults: &[Finding]) -> String {
    let layout = &settled.layout;
    let (width, height) = layout.plan.outline.extent();
    let mut blocks = vec![
        format!(
            "{}\n{}",
            screen.heading(&format!("{}: mounting board", settled.system.name)),
            screen.wrapped(SAFETY, "")
        ),
        screen.wrapped(
            &format!(
                "{width} mm x {height} mm, {}, {} thick; {:.1} kg with all on it, on {} screws. Places are of the lower left \
                 corner of each device, from the lower left corner of the board, seen from the front.",
                layout.plan.material.word(),
                layout.plan.thickness,
                layout.mass().get(),
                layout.plan.fixings_mm.len()
            ),
            "",
        ),
        devices(screen, layout),
        cables(screen, layout),
        holes(screen, layout),
    ];
    blocks.push(if settled.is_steady {
        let count = settled.changes.len();
        format!("Lengths on the board are those of the system after {} rounds; {count} differ from what was said or assumed.", settled.rounds)
    } else {
        format!("Lengths on the board and the system still change each other after {} rounds; the last stands.", settled.rounds)
    });
    if !layout.assumptions.is_empty() {
        let lines: Vec<String> = layout
            .assumptions
            .iter()
            .map(|assumed| screen.item(&format!("{} = {}: {}", assumed.path, assumed.value, assumed.why), ""))
            .collect();
        blocks.push(format!("{}\n{}", screen.heading("Assumed"), lines.join("\n")));
    }
    blocks.push(if faults.is_empty() {
        "Nothing is wrong on the board.".to_owned()
    } else {
        let lines: Vec<String> = faults.iter().map(|finding| fault(screen, finding)).collect();
        format!("{}\n{}", screen.heading("Findings"), lines.join("\n"))
    });
    blocks.join("\n\n")
}

fn fault(screen: &Screen, finding: &Finding) -> String {
    let mut lines =
        vec![screen.item(&format!("{}[{}]: {}", finding.severity.word(), finding.rule, finding.message), "")];
    lines.push(screen.wrapped(&format!("why: {}", finding.why), "    "));
    lines.extend(finding.because.iter().map(|step| screen.wrapped(&format!("because: {step}"), "    ")));
    lines.extend(finding.fixes.iter().map(|fix| screen.wrapped(&format!("mend: {}", fix.what), "    ")));
    lines.join("\n")
}

fn devices(screen: &Screen, layout: &Layout) -> String {
    let rows = layout.devices.iter().map(|placed| {
        vec![
            placed.id.clone(),
            placed.rect.x_mm.to_string(),
            placed.rect.y_mm.to_string(),
            format!("{} x {}", placed.rect.width_mm, placed.rect.height_mm),
            format!("{}°", placed.turn.degrees()),
            format!("{:.1}", placed.mass.get()),
            if placed.is_pinned { "pinned".to_owned() } else { String::new() },
        ]
    });
    screen.table(&["!device", ">x mm", ">y mm", ">size mm", ">turn", ">kg", ""], rows)
}

fn cables(screen: &Screen, layout: &Layout) -> String {
    let rows = layout.routes.iter().map(|route| {
        vec![
            route.number.to_string(),
            route.name().to_owned(),
            route.length.show(),
            if route.leaves { "leaves the board".to_owned() } else { route.length_cut.show() },
            millimetres(route.bend_radius),
            route.points_mm.len().saturating_sub(2).to_string(),
        ]
    });
    screen.table(&[">run", "!cable", ">on the board", ">cut", ">bend mm", ">bends"], rows)
}

fn holes(screen: &Screen, layout: &Layout) -> String {
    let rows = layout.holes.iter().map(|hole| {
        let is_for = match hole.is_for {
            HoleUse::Device => format!("screw of {}", hole.device),
            HoleUse::Cables => format!("grommet for the cables of {}", hole.device),
            HoleUse::Board => "screw of the board".to_owned(),
        };
        vec![is_for, hole.x_mm.to_string(), hole.y_mm.to_string(), millimetres(hole.diameter)]
    });
    screen.table(&["!hole", ">x mm", ">y mm", ">diameter mm"], rows)
}

fn millimetres(length: Metres) -> String {
    let tenths = (length.get() * 10_000.0).round() / 10.0;
    format!("{tenths}")
}
