//! What is done at the bench: the board, the cables, the wiring of the board, its tests.
//! Never: joins a source.
//! Start at [`steps`].

use model::{Conductor, DeviceIx};

use super::draft::Draft;
use super::gates::is_gate;
use super::spots::Spot;
use super::step::{Deed, Stage, Step};

/// Writes them.
pub fn steps(draft: &mut Draft<'_>) {
    let mut step = Step::new(Stage::Bench, "prepare".to_owned(), "Make the workplace ready");
    step.act(Deed::Prepare, "workplace");
    step.line(
        "Compare what was delivered with the parts list and the cable schedule; set aside what differs.",
    );
    step.line(
        "Take off rings, watches and chains; wear eye protection; wrap the handles of spanners with tape.",
    );
    step.line("Try the meter on a battery that you know: a meter that shows nothing proves nothing.");
    step.why =
        "A missing part found now costs a day; found in the vehicle it costs an unsafe stopgap.".to_owned();
    step.tools = vec!["multimeter", "insulated spanners", "eye protection", "fire extinguisher"];
    step.caution("Mains wiring is work for a licensed electrician where local codes say so.");
    draft.add(step);
    board(draft);
    cables(draft);
    wiring(draft);
    tests(draft);
}

fn board(draft: &mut Draft<'_>) {
    let devices = draft.at_spot(|spot| spot == Spot::Board);
    if devices.is_empty() {
        return;
    }
    let mut step = Step::new(Stage::Bench, "board:prepare".to_owned(), "Cut and drill the mounting board");
    step.act(Deed::Prepare, "board");
    step.line("Cut the board to its outline, round its edges, seal what can get wet.");
    step.line(
        "Lay the devices on it, air and hand room around each, vents up; mark and drill the fixing holes.",
    );
    step.why =
        "Holes are drilled before anything electrical is near, so that no chip falls into it.".to_owned();
    step.tools = vec!["saw", "drill", "file"];
    draft.add(step);
    draft.need("board:prepare", "prepare", "the workplace is ready");

    let mut step = Step::new(Stage::Bench, "board:mount".to_owned(), "Mount the devices on the board");
    for ix in &devices {
        draft.mount(&mut step, *ix);
        ways(draft, &mut step, *ix);
    }
    step.line("Fix each device with the screws that its maker names.");
    step.line("Leave every fuse link out; turn every disconnect and breaker off.");
    step.why = "On the bench both hands reach every screw.".to_owned();
    step.tools = vec!["screwdrivers", "torque wrench"];
    draft.add(step);
    draft.need("board:mount", "board:prepare", "devices go on a finished board");
}

/// The ways of a panel come with it.
pub fn ways(draft: &Draft<'_>, step: &mut Step, panel: DeviceIx) {
    for way in &draft.spots.ways[panel] {
        draft.mount(step, *way);
    }
}

fn cables(draft: &mut Draft<'_>) {
    for section in 0..draft.spots.sections.len() {
        let cables = draft.cables_of(section);
        if cables.is_empty() {
            continue;
        }
        let name = draft.spots.sections[section].clone();
        let id = format!("make:{name}");
        let mut step =
            Step::new(Stage::Bench, id.clone(), format!("Make up the cables of {}", title(draft, &name)));
        for ix in &cables {
            draft.on_cable(&mut step, Deed::Make, *ix);
            let measure = draft.continuity(*ix);
            draft.measure(&mut step, measure);
        }
        let is_heavy = |c: &Conductor| {
            [c.from, c.to].iter().any(|at| draft.system.terminal(*at).is_some_and(|t| t.stud.is_some()))
        };
        let conductors = || cables.iter().map(|ix| &draft.system.conductors[*ix]);
        if conductors().any(|c| !draft.spots.is_bench(c)) {
            step.line("Measure each way in place with a cord before you cut; the lengths of the cable schedule hold slack, not bends.");
        }
        step.line("Cut, strip and crimp as the cable schedule says; label both ends with the run number before the heat-shrink.");
        if conductors().any(|c| !draft.spots.is_bench(c)) {
            step.line("Where a lug will not pass a gland, leave that end long and crimp it after laying.");
        }
        step.line("Pull each crimp firmly by hand; cut off and make again what moves.");
        let sheathed: Vec<String> = conductors()
            .filter(|c| c.sheathed && c.cores == 1)
            .map(|c| format!("run {} ({})", c.number, c.id))
            .collect();
        if !sheathed.is_empty() {
            step.line(format!("Draw into sheath or conduit, from end to end: {}.", sheathed.join(", ")));
        }
        step.line("Cover each bare end with tape until it is joined.");
        step.why = "A crimp can be seen from all sides and tried on the bench only.".to_owned();
        step.tools = vec!["cable cutter", "stripper", "multimeter"];
        step.tools.push(if conductors().any(is_heavy) {
            "crimping tool with a die for each lug"
        } else {
            "ferrule tool"
        });
        draft.add(step);
        draft.need(&id, "prepare", "the cable schedule was compared with what is there");
    }
}

/// A section's name as a person reads it: the title of its panel or circuit.
pub fn title(draft: &Draft<'_>, section: &str) -> String {
    if section == "bank" {
        return "the bank".to_owned();
    }
    if section == "bond" {
        return "the bonds".to_owned();
    }
    let device = draft.system.devices.iter().find(|device| device.id == section);
    let circuit = draft.system.circuits.iter().find(|circuit| circuit.id == section);
    let title =
        device.map(|device| device.title.clone()).or_else(|| circuit.map(|circuit| circuit.title.clone()));
    match title {
        Some(title) if title.to_lowercase() == section => title,
        Some(title) => format!("{title} ({section})"),
        None => section.to_owned(),
    }
}

fn wiring(draft: &mut Draft<'_>) {
    for section in 0..draft.spots.sections.len() {
        let cables: Vec<_> = draft
            .cables_of(section)
            .into_iter()
            .filter(|ix| draft.spots.is_bench(&draft.system.conductors[*ix]))
            .collect();
        if cables.is_empty() {
            continue;
        }
        let name = draft.spots.sections[section].clone();
        let id = format!("wire:{name}");
        let title = format!("Wire {} on the board", title(draft, &name));
        let mut step = Step::new(Stage::Bench, id.clone(), title);
        for ix in &cables {
            let conductor = &draft.system.conductors[*ix];
            draft.on_cable(&mut step, Deed::Lay, *ix);
            draft.join(&mut step, *ix, conductor.from);
            draft.join(&mut step, *ix, conductor.to);
        }
        step.line(
            "Join each cable at both ends; where lugs share a stud, the largest current lies at the pad.",
        );
        step.line("Tighten to the torque of the cable schedule and mark each nut with paint.");
        step.why = "Wiring on the bench is dead and in full light.".to_owned();
        step.tools = vec!["torque wrench", "paint marker"];
        draft.add(step);
        draft.need(&id, &format!("make:{name}"), "its cables are made");
        draft.need(&id, "board:mount", "both ends stand on the board");
    }
}

fn tests(draft: &mut Draft<'_>) {
    if !draft.has("board:mount") {
        return;
    }
    let mut step = Step::new(Stage::Bench, "board:test".to_owned(), "Look over and try the wired board");
    let devices = draft.at_spot(|spot| spot == Spot::Board);
    step.parts.devices = devices.iter().map(|ix| draft.device(*ix).id.clone()).collect();
    step.line(
        "Pull at each cable; look for strands outside a terminal, lugs that touch, insulation under a lug.",
    );
    if devices.iter().any(|ix| is_gate(&draft.device(*ix).spec)) {
        step.line("Turn each disconnect on and off with the meter across it, and leave it off.");
    }
    step.why = "What is wrong here is mended in minutes; behind a panel it takes a day.".to_owned();
    step.tools = vec!["multimeter"];
    draft.add(step);
    for id in draft.of_kind("wire") {
        draft.need("board:test", &id, "the wiring is what is tried");
    }
    draft.need("board:test", "board:mount", "the board is what is tried");
}
