//! What is done in the vehicle with every source off: holes, the board and devices in place, runs laid and joined.
//! Never: joins a battery of the bank or an array.
//! Start at [`steps`].

use std::collections::BTreeSet;

use model::{CircuitIx, CircuitKind, ConductorIx, Craft, DeviceIx, Spec, TerminalRef};
use quantity::Kilograms;

use super::bench::{title, ways};
use super::draft::Draft;
use super::expect::{document, mass_of_one};
use super::spots::Spot;
use super::step::{Deed, Stage, Step, Wait};

/// Writes them.
pub fn steps(draft: &mut Draft<'_>) {
    engine_off(draft);
    holes(draft);
    board(draft);
    devices(draft);
    arrays(draft);
    bank(draft);
    lay(draft);
    for circuit in 0..draft.system.circuits.len() {
        join(draft, circuit);
    }
    join_needs(draft);
}

/// What is being fitted out, in a word.
pub fn craft_word(draft: &Draft<'_>) -> &'static str {
    match draft.system.craft {
        Craft::Boat => "boat",
        Craft::Trailer => "trailer",
        Craft::Hut => "hut",
        _ => "vehicle",
    }
}

fn engine_off(draft: &mut Draft<'_>) {
    let batteries = draft.with(|spec| matches!(spec, Spec::StartBattery(_)));
    if batteries.is_empty() {
        return;
    }
    let mut step = Step::new(Stage::Vehicle, "engine:off".to_owned(), "Take the engine battery off");
    for ix in &batteries {
        step.act(Deed::TakeOff, &draft.device(*ix).id);
        draft.holds(&mut step, *ix);
    }
    for ix in draft.with(|spec| matches!(spec, Spec::Alternator(_))) {
        draft.holds(&mut step, ix);
    }
    step.line("Engine off, key out. Read the owner's manual for alarms, radio codes and waiting times.");
    step.line("Take off the negative lead, wrap its end, and tie it away from the post.");
    step.why = "A drill finds hidden looms, and the engine battery can melt a spanner.".to_owned();
    step.dead = vec!["engine".to_owned()];
    draft.add(step);
    draft.need("engine:off", "prepare", "tools that cannot short a battery are at hand");
}

fn holes(draft: &mut Draft<'_>) {
    let word = craft_word(draft);
    let mut step = Step::new(
        Stage::Vehicle,
        "vehicle:prepare".to_owned(),
        format!("Drill holes; fit grommets, glands and fixings in the {word}"),
    );
    step.act(Deed::Prepare, "vehicle");
    for ix in draft.with(|spec| matches!(spec, Spec::Chassis)) {
        draft.holds(&mut step, ix);
    }
    step.line("Look behind each place before you drill: tanks, looms, brake and fuel lines, airbags, ribs.");
    step.line(
        "Take off burrs, paint bare metal, fit a grommet or gland in every hole that a cable will pass.",
    );
    step.line("Seal what leads outside; use glands that fit the cable's diameter.");
    if word == "boat" {
        step.line("Below the waterline and in the hull make no hole without the builder's word.");
    }
    step.line("Screw on the clips and channels along each way, and vacuum up every chip.");
    step.why = "Chips and sharp edges are the commonest cause of faults to the chassis (common practice, no source).".to_owned();
    step.tools = vec!["drill", "step drill", "deburring tool", "vacuum cleaner", "eye protection"];
    step.dead = vec!["engine battery: negative lead off".to_owned(), "bank: not joined".to_owned()];
    draft.add(step);
    draft.need("vehicle:prepare", "engine:off", "nothing that a drill may hit is live");
    draft.need("vehicle:prepare", "prepare", "the workplace is ready");
}

fn board(draft: &mut Draft<'_>) {
    if !draft.has("board:mount") {
        return;
    }
    let word = craft_word(draft);
    let mut step =
        Step::new(Stage::Vehicle, "board:place".to_owned(), format!("Fix the wired board in the {word}"));
    step.act(Deed::Place, "board");
    let devices: Vec<DeviceIx> =
        (0..draft.system.devices.len()).filter(|ix| draft.spots.is_on_board(*ix)).collect();
    let mass: Kilograms = devices.iter().map(|ix| draft.device(*ix).mass).sum();
    let limit = draft.reference.lift_alone();
    step.line("Screw it to the frame, not to the lining; leave hand room to every disconnect and fuse.");
    if mass > limit.value {
        step.people = 2;
        step.caution(format!(
            "The board with its devices has about {mass} without the wood: carry it with two people (over {}, {})",
            limit.value,
            document(&limit.cite)
        ));
    }
    step.why = "It goes in whole, so that what was tried at the bench stays as it was.".to_owned();
    draft.add(step);
    draft.need("board:place", "board:test", "the board was tried");
    draft.need("board:place", "vehicle:prepare", "its fixings stand and no more chips fall");
}

fn devices(draft: &mut Draft<'_>) {
    for ix in draft.at_spot(|spot| spot == Spot::Vehicle) {
        let device = draft.device(ix);
        let id = format!("place:{}", device.id);
        let mut step = Step::new(
            Stage::Vehicle,
            id.clone(),
            format!("Fix {} in place", named(&device.title, &device.id)),
        );
        draft.mount(&mut step, ix);
        ways(draft, &mut step, ix);
        match &device.spec {
            Spec::Inlet(_) => {
                step.line("Cut its opening, bed the flange in sealant, its lid hinged at the top.");
                step.line("Leave the shore cord away until the step that asks for it.");
            }
            Spec::Generator(_) => {
                step.line("Set it outside, exhaust away from doors and windows, and leave its fuel tap shut.")
            }
            Spec::Fuse(_) => step.line("Fix the holder; leave its link out."),
            Spec::Disconnect(_) | Spec::Breaker(_) => step.line("Fix it within reach; leave it off."),
            _ => step.line("Fix it with the screws that its maker names."),
        }
        if matches!(device.spec, Spec::Generator(_)) {
            step.caution("Exhaust gas kills: never run it in a closed room.");
        }
        step.why = "Cables are joined to what no longer moves.".to_owned();
        draft.add(step);
        draft.need(&id, "vehicle:prepare", "its hole and fixings are ready");
    }
}

/// Title and id, once where they are the same.
pub fn named(title: &str, id: &str) -> String {
    if title.is_empty() || title.eq_ignore_ascii_case(id) { id.to_owned() } else { format!("{title} ({id})") }
}

fn arrays(draft: &mut Draft<'_>) {
    for ix in draft.at_spot(|spot| spot == Spot::Array) {
        let device = draft.device(ix);
        let id = format!("roof:{}", device.id);
        let mut step = Step::new(
            Stage::Vehicle,
            id.clone(),
            format!("Mount the modules of {}", named(&device.title, &device.id)),
        );
        step.act(Deed::Cover, &device.id);
        draft.mount(&mut step, ix);
        step.people = 2;
        if let Spec::Array(array) = &device.spec {
            let count = array.series * array.parallel;
            step.line(format!(
                "Mount {count} modules of {}, {} in series, {} in parallel; a gap below them cools them.",
                mass_of_one(device),
                array.series,
                array.parallel
            ));
        }
        step.line("Cover the glass with something that lets no light through, and tie it down.");
        step.line("Cap the module leads; join nothing yet.");
        step.caution("A module in light is live and cannot be switched off.");
        step.caution(
            "Two people, no wind, a rope or scaffold where you can fall (common practice, no source).",
        );
        let curing = draft.reference.roof_curing();
        step.wait = Some(Wait {
            least: curing.value,
            what: format!(
                "adhesive or sealant cures before it carries load or rain ({}; the maker's figure governs)",
                document(&curing.cite)
            ),
        });
        step.why = "The roof is closed before anything below it is live.".to_owned();
        draft.add(step);
        draft.need(&id, "vehicle:prepare", "its holes and glands are ready");
    }
}

fn bank(draft: &mut Draft<'_>) {
    let batteries = draft.at_spot(|spot| spot == Spot::Bank);
    if batteries.is_empty() {
        return;
    }
    let mut step =
        Step::new(Stage::Vehicle, "bank:place".to_owned(), "Put the batteries in place, joined to nothing");
    for ix in &batteries {
        draft.mount(&mut step, *ix);
    }
    step.line("Strap or bolt each battery down, posts covered; leave the covers on.");
    step.line("Keep every tool off the top of a battery.");
    step.why = "Their fixings are drilled and screwed while nothing is joined to them.".to_owned();
    step.caution("A battery is live at all times: one spanner across its posts melts and burns.");
    draft.add(step);
    draft.need("bank:place", "vehicle:prepare", "no drilling beside batteries");
}

fn is_vehicle_cable(draft: &Draft<'_>, cable: ConductorIx) -> bool {
    let conductor = &draft.system.conductors[cable];
    !draft.spots.is_bench(conductor) && !draft.is_link(conductor)
}

fn lay(draft: &mut Draft<'_>) {
    for section in 0..draft.spots.sections.len() {
        let cables: Vec<ConductorIx> =
            draft.cables_of(section).into_iter().filter(|ix| is_vehicle_cable(draft, *ix)).collect();
        if cables.is_empty() {
            continue;
        }
        let name = draft.spots.sections[section].clone();
        let id = format!("lay:{name}");
        let mut step =
            Step::new(Stage::Vehicle, id.clone(), format!("Lay the cables of {}", title(draft, &name)));
        for ix in &cables {
            draft.on_cable(&mut step, Deed::Lay, *ix);
        }
        step.line("Lay each along its way, through its gland or grommet, both ends taped; clamp it so that it cannot chafe.");
        let is_mixed = draft.system.ac_voltage.is_some();
        if is_mixed {
            step.line("Keep mains cables apart from the others, or in their own sheath or channel.");
        }
        step.line("Leave no tight bend and no pull on an end; read both labels again.");
        step.why = "Ways are open and everything is dead.".to_owned();
        draft.add(step);
        draft.need(&id, &format!("make:{name}"), "its cables are made");
        draft.need(&id, "vehicle:prepare", "its holes have grommets and glands");
    }
}

/// Ends that are joined in the step of their circuit.
fn ends(draft: &Draft<'_>, circuit: CircuitIx) -> Vec<(ConductorIx, TerminalRef)> {
    let cables = draft.spots.conductors_of[circuit].iter().copied();
    let cables =
        cables.filter(|ix| !draft.system.conductors[*ix].is_internal && is_vehicle_cable(draft, *ix));
    let both = |ix: ConductorIx| {
        let conductor = &draft.system.conductors[ix];
        [(ix, conductor.from), (ix, conductor.to)]
    };
    cables.flat_map(both).filter(|(_, at)| !draft.spots.is_last(*at)).collect()
}

fn join(draft: &mut Draft<'_>, circuit: CircuitIx) {
    let found = &draft.system.circuits[circuit];
    let ends = ends(draft, circuit);
    let loads: Vec<DeviceIx> = circuit_loads(draft, circuit);
    if ends.is_empty() && loads.is_empty() {
        return;
    }
    let id = format!("join:{}", found.id);
    let mut step = Step::new(Stage::Vehicle, id.clone(), format!("Join {}", named(&found.title, &found.id)));
    for ix in &loads {
        draft.mount(&mut step, *ix);
    }
    for (cable, at) in &ends {
        draft.join(&mut step, *cable, *at);
    }
    for ix in &draft.spots.conductors_of[circuit] {
        let conductor = &draft.system.conductors[*ix];
        if conductor.is_internal && !step.parts.conductors.contains(&conductor.id) {
            step.parts.conductors.push(conductor.id.clone());
        }
    }
    if !loads.is_empty() {
        step.line("Fix the load; leave its own switch off and its plug out.");
    }
    step.line(
        "Join each end at the terminal on its label, far end first, and tighten as the cable schedule says.",
    );
    if found.protection.is_empty() {
        step.line("Read each label against the terminal before you tighten it.");
    } else {
        step.line("Leave its fuse out, or its breaker off.");
    }
    if found.kind == CircuitKind::Bond {
        step.line("Scrape to bare metal under the lug, tighten, then grease or paint over it.");
        step.why = "A fault to metal must find its way back, or no fuse will blow.".to_owned();
    } else {
        step.why = "Both ends are joined while no source is.".to_owned();
    }
    let is_last = |ix: &&ConductorIx| {
        let conductor = &draft.system.conductors[**ix];
        !draft.is_link(conductor)
            && (draft.spots.is_last(conductor.from) || draft.spots.is_last(conductor.to))
    };
    if draft.spots.conductors_of[circuit].iter().any(|ix| is_last(&ix)) {
        step.line("Leave the end at the battery or module taped: it is joined last.");
    }
    step.dead = sources_off(draft);
    step.tools = vec!["torque wrench", "screwdrivers"];
    draft.add(step);
}

/// Loads built in with a circuit.
fn circuit_loads(draft: &Draft<'_>, circuit: CircuitIx) -> Vec<DeviceIx> {
    let ends = draft.spots.conductors_of[circuit].iter().flat_map(|ix| {
        let conductor = &draft.system.conductors[*ix];
        [conductor.from.device, conductor.to.device]
    });
    let all: BTreeSet<DeviceIx> = draft.system.circuits[circuit].serves.iter().copied().chain(ends).collect();
    let is_ours = |ix: &DeviceIx| {
        draft.spots.of.get(*ix) == Some(&Spot::Load) && draft.spots.load_circuit[*ix] == Some(circuit)
    };
    all.into_iter().filter(is_ours).collect()
}

/// What is off while the vehicle is wired.
pub fn sources_off(draft: &Draft<'_>) -> Vec<String> {
    let mut off = Vec::new();
    let has = |is: fn(&Spec) -> bool| draft.system.devices.iter().any(|device| is(&device.spec));
    if has(|spec| matches!(spec, Spec::Battery(_))) {
        off.push("bank: not joined".to_owned());
    }
    if has(|spec| matches!(spec, Spec::StartBattery(_))) {
        off.push("engine battery: negative lead off".to_owned());
    }
    if has(|spec| matches!(spec, Spec::Array(_))) {
        off.push("array: covered, leads capped".to_owned());
    }
    if has(|spec| matches!(spec, Spec::Inlet(_))) {
        off.push("shore: cord away".to_owned());
    }
    if has(|spec| matches!(spec, Spec::Generator(_))) {
        off.push("generator: stopped".to_owned());
    }
    off
}

fn join_needs(draft: &mut Draft<'_>) {
    for circuit in 0..draft.system.circuits.len() {
        let id = format!("join:{}", draft.system.circuits[circuit].id);
        let ends = ends(draft, circuit);
        let section = &draft.spots.sections[draft.spots.section_of[circuit]];
        let lay = format!("lay:{section}");
        if ends.is_empty() {
            draft.need(&id, "vehicle:prepare", "its fixings are ready");
        } else {
            draft.need(&id, &lay, "its cables lie in their ways");
        }
        let devices: BTreeSet<DeviceIx> = ends.iter().map(|(_, at)| at.device).collect();
        for ix in devices {
            let host = match draft.spots.of[ix] {
                Spot::Way(panel) => panel,
                _ => ix,
            };
            match draft.spots.of[host] {
                Spot::Board => draft.need(&id, "board:place", "one end stands on the board"),
                Spot::Vehicle => {
                    let place = format!("place:{}", draft.device(host).id);
                    draft.need(&id, &place, "one end stands there");
                }
                Spot::Load => {
                    if let Some(other) = draft.spots.load_circuit[host] {
                        let other = format!("join:{}", draft.system.circuits[other].id);
                        draft.need(&id, &other, "the load is fixed with that circuit");
                    }
                }
                _ => {}
            }
        }
    }
}
