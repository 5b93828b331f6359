//! `plan`: the way of each run through the vehicle, holes through walls, channels, loads on the axles, and what is wrong there.
//! Never: finds a way itself (see `derive` and `board`).
//! Start at [`run`].

use ::board::Vehicle;
use quantity::{Metres, Written};
use rules::Finding;
use serde_json::json;

use crate::answer::{Answer, Failure};
use crate::cli::PlanArgs;
use crate::show::{SAFETY, Screen};
use folder::Existing;

/// Tells it.
pub fn run(args: &PlanArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let system = ::board::derived(&project).system;
    let Some(vehicle) = Vehicle::of(&project, &system) else {
        return Err(Failure::plain(
            "the project has no plan".to_owned(),
            project.source.name.clone(),
            "Add `[plan]` with length, width and height, and points, channels and walls below it",
        ));
    };
    let faults = vehicle.faults();
    let mut written = Vec::new();
    if let Some(folder) = &args.out {
        let existing = if args.replace { Existing::Replace } else { Existing::Keep };
        let picture = drawing::vehicle_plan(&vehicle, &system);
        written = folder::write(folder, &[("vehicle-plan.svg".to_owned(), picture.into_bytes())], existing)?;
    }
    if json {
        let paths: Vec<String> = written.iter().map(|path| path.display().to_string()).collect();
        return Answer::json(&json!({
            "safety": SAFETY,
            "project": project.source.name,
            "plan": vehicle,
            "findings": faults,
            "written": paths,
        }));
    }
    let mut blocks = told(screen, &system.name, &vehicle, &faults);
    blocks.push(match written.first() {
        Some(path) => format!("Written: {}", path.display()),
        None => "--out FOLDER writes the plan as a drawing to scale.".to_owned(),
    });
    Ok(Answer::text(blocks.join("\n\n")))
}

fn told(screen: &Screen, name: &str, vehicle: &Vehicle, faults: &[Finding]) -> Vec<String> {
    let [length, width, height] = vehicle.extent_mm;
    let mut blocks = vec![
        format!(
            "{}\n{}",
            screen.heading(&format!("{name}: plan of the vehicle")),
            screen.wrapped(SAFETY, "")
        ),
        screen.wrapped(
            &format!(
                "{length} mm long, {width} mm wide, {height} mm high. Places are x forwards from the rear end, y to the left from \
                 the right-hand side, z upwards from the floor. Lengths are along the way, without the slack for making up ends."
            ),
            "",
        ),
        cables(screen, vehicle),
    ];
    if !vehicle.channels.is_empty() {
        blocks.push(channels(screen, vehicle));
    }
    if !vehicle.holes.is_empty() {
        blocks.push(holes(screen, vehicle));
    }
    if let Some(loads) = &vehicle.axles {
        let rows = loads.axles.iter().map(|axle| {
            let shown = |mass: Option<quantity::Kilograms>| {
                mass.map_or(String::new(), |mass| format!("{:.0}", mass.get()))
            };
            vec![
                axle.name.clone(),
                axle.x_mm.to_string(),
                shown(axle.empty),
                shown(Some(axle.added)),
                shown(axle.load()),
                shown(axle.most),
            ]
        });
        let table =
            screen.table(&["!axle", ">x mm", ">empty kg", ">added kg", ">together kg", ">most kg"], rows);
        let note = screen.wrapped(
            "Added are the devices and what the plan gives a mass; people, baggage, water and cables that it does not name come on \
             top.",
            "",
        );
        blocks.push(format!("{table}\n{note}"));
    }
    blocks.push(if faults.is_empty() {
        "Nothing is wrong on the plan.".to_owned()
    } else {
        let lines: Vec<String> = faults.iter().map(|finding| fault(screen, finding)).collect();
        format!("{}\n{}", screen.heading("Findings"), lines.join("\n"))
    });
    blocks
}

fn fault(screen: &Screen, finding: &Finding) -> String {
    let mut lines =
        vec![screen.item(&format!("{}[{}]: {}", finding.severity.word(), finding.rule, finding.message), "")];
    lines.push(screen.wrapped(&format!("why: {}", finding.why), "    "));
    lines.extend(finding.because.iter().map(|step| screen.wrapped(&format!("because: {step}"), "    ")));
    lines.extend(finding.fixes.iter().map(|fix| screen.wrapped(&format!("mend: {}", fix.what), "    ")));
    lines.join("\n")
}

fn cables(screen: &Screen, vehicle: &Vehicle) -> String {
    let rows = vehicle.cables.iter().map(|cable| {
        vec![
            cable.number.to_string(),
            cable.conductor.clone(),
            cable.from.clone(),
            cable.to.clone(),
            cable.length_plan.show(),
            cable.length.show(),
            cable.way.channels().join(", "),
        ]
    });
    screen.table(&[">run", "!cable", "from", "to", ">plan", ">system", "along"], rows)
}

fn channels(screen: &Screen, vehicle: &Vehicle) -> String {
    let rows = vehicle.channels.iter().map(|channel| {
        let share = channel.area_mm2.filter(|area| *area > 0.0).map(|area| channel.filled_mm2 / area * 100.0);
        vec![
            channel.name.clone(),
            channel.numbers.len().to_string(),
            share.map_or(String::new(), |share| format!("{share:.0} %")),
            channel.support.map_or_else(|| "all along".to_owned(), |support| support.show()),
        ]
    });
    screen.table(&["!channel", ">cables", ">full", ">supports"], rows)
}

fn holes(screen: &Screen, vehicle: &Vehicle) -> String {
    let rows = vehicle.holes.iter().map(|hole| {
        let numbers: Vec<String> = hole.numbers.iter().map(u32::to_string).collect();
        vec![
            hole.number.to_string(),
            hole.wall.clone(),
            hole.at_mm.map(|part| part.to_string()).join(" "),
            millimetres(hole.diameter),
            hole.fitting(),
            numbers.join(", "),
            hole.treatment.clone(),
        ]
    });
    screen.table(&[">hole", "!wall", ">x y z mm", ">diameter mm", "fitting", "runs", "edge"], rows)
}

fn millimetres(length: Metres) -> String {
    let tenths = (length.get() * 10_000.0).round() / 10.0;
    format!("{tenths}")
}
