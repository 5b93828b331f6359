//! Charging: chargers set up, arrays joined and uncovered, the engine battery put back.
//! Never: gives a charger its source before its battery.
//! Start at [`steps`].

use model::{ChargeSetting, Device, DeviceIx, Spec, TerminalRef};
use network::Scene;

use super::closing::{circuits_at, gate_step};
use super::draft::Draft;
use super::expect::reading;
use super::gates::{Feed, Gate};
use super::power::shock;
use super::step::{Deed, Measure, Stage, Step, Value};
use super::vehicle::named;

/// Writes them.
pub fn steps(draft: &mut Draft<'_>) {
    settings(draft);
    for array in draft.with(|spec| matches!(spec, Spec::Array(_))) {
        sun(draft, array);
    }
    engine(draft);
}

/// The step before any source but the bank.
pub fn base(draft: &Draft<'_>) -> &'static str {
    if draft.has("bank:fed") { "bank:fed" } else { "dead:all" }
}

fn setting(device: &Device) -> Option<&ChargeSetting> {
    match &device.spec {
        Spec::Charger(_, setting) | Spec::DcDc(_, setting) | Spec::Controller(_, setting) => Some(setting),
        Spec::Inverter(_, setting) => setting.as_ref(),
        _ => None,
    }
}

fn settings(draft: &mut Draft<'_>) {
    for ix in 0..draft.system.devices.len() {
        let device = draft.device(ix);
        let Some(setting) = setting(device) else { continue };
        let id = format!("set:{}", device.id);
        let mut step =
            Step::new(Stage::Charging, id.clone(), format!("Set up {}", named(&device.title, &device.id)));
        step.act(Deed::Set, &device.id);
        draft.holds(&mut step, ix);
        step.line(format!(
            "Battery type {}, absorption {}, float {}, charging current {}.",
            setting.profile.word(),
            setting.absorption,
            setting.float,
            setting.current
        ));
        step.line(if setting.stops_in_cold {
            "See that it, or the battery's own electronics, stops charging at the battery's lower temperature limit."
        } else {
            "It does not stop in the cold by itself: do not charge a bank that is colder than its sheet allows."
        });
        step.line("Write the settings on the commissioning sheet; lock them where it can be done.");
        step.why = "A charger gives what it was set to from the first second.".to_owned();
        draft.add(step);
        match draft.gates.before[ix].and_then(|gate| draft.gates.list.get(gate)) {
            Some(gate) => {
                let close = format!("close:{}", draft.device(gate.device).id);
                draft.need(&id, &close, "it wakes from the battery");
            }
            None => draft.need(&id, "bank:live", "it wakes from the battery"),
        }
    }
}

fn gates_of(draft: &Draft<'_>, feed: Feed, source: DeviceIx) -> Vec<(usize, Gate)> {
    draft.gates.fed_by(feed).filter(|(_, gate)| gate.source == source).collect()
}

fn sun(draft: &mut Draft<'_>, array: DeviceIx) {
    let device = draft.device(array);
    let id = format!("array:{}", device.id);
    let gates = gates_of(draft, Feed::Array, array);
    let is_fuse = |draft: &Draft<'_>, gate: &Gate| matches!(draft.device(gate.device).spec, Spec::Fuse(_));
    let has_switch = gates.iter().any(|(_, gate)| !is_fuse(draft, gate));
    let mut step = Step::new(
        Stage::Charging,
        id.clone(),
        format!("Join the array {}", named(&device.title, &device.id)),
    );
    for (_, gate) in gates.iter().filter(|(_, gate)| is_fuse(draft, gate)) {
        step.act(Deed::Insert, &draft.device(gate.device).id);
        draft.holds(&mut step, gate.device);
    }
    for (ix, conductor) in draft.system.conductors.iter().enumerate() {
        for at in [conductor.from, conductor.to] {
            if at.device == array && !conductor.is_internal {
                draft.join(&mut step, ix, at);
            }
        }
    }
    step.act(Deed::Uncover, &device.id);
    draft.holds(&mut step, array);
    if has_switch {
        step.line(
            "Cover on, array disconnect off: join the connectors of the module leads until they click.",
        );
        step.line("Uncover, and measure at the open disconnect before you close it.");
    } else {
        step.line("Cover on: join the connectors of the module leads until they click, then uncover.");
    }
    step.why =
        "A controller must have its battery before its array, or its output finds no place to go.".to_owned();
    step.dead = vec!["array: covered".to_owned()];
    if has_switch {
        step.dead.push("array disconnect: off".to_owned());
    }
    let first = gates
        .iter()
        .find(|(_, gate)| !is_fuse(draft, gate))
        .and_then(|(_, gate)| draft.terminal(gate.device, "in"));
    let reached: Vec<DeviceIx> = controllers(draft, array);
    let at = first.or_else(|| draft.terminal(*reached.first()?, "array-positive"));
    if let Some((hot, cold)) = draft.open_volts(array) {
        if let Some(at) = at {
            let name = draft.name(at);
            let measure = Measure {
                high: Some(Value::Volts(cold)),
                ..reading(
                    format!("volts:{name}"),
                    "open-circuit volts and polarity of the array".to_owned(),
                    returns(draft, at),
                    format!("in sun about {hot} to {cold}, hot to cold; less in cloud; plus at plus"),
                )
            };
            draft.measure(&mut step, measure);
        }
        shock(draft, &mut step, cold);
    }
    if let Spec::Array(found) = &device.spec
        && found.series > 1
    {
        step.caution(format!(
            "{} modules in series: never part a connector under load, its arc does not go out.",
            found.series
        ));
    }
    step.people = 2;
    draft.add(step);
    let base = base(draft);
    draft.need(&id, base, "no disconnect upstream is opened any more");
    draft.need(&id, &format!("roof:{}", device.id), "the modules are mounted and the roof has cured");
    for controller in &reached {
        let set = format!("set:{}", draft.device(*controller).id);
        draft.need(&id, &set, "the controller knows its battery");
    }
    let circuits = circuits_at(draft);
    let mut last = None;
    for (ix, gate) in &gates {
        if is_fuse(draft, gate) {
            continue;
        }
        let close = format!("close:{}", draft.device(gate.device).id);
        let (step, _) = gate_step(draft, *ix, &circuits, Stage::Charging);
        let mut step = step;
        step.lines = vec!["Close it in good light and watch the charging current rise.".to_owned()];
        step.why = "The controller has its battery and its settings; now it gets its array.".to_owned();
        step.dead = Vec::new();
        draft.add(step);
        draft.need(&close, &id, "its volts and poles were measured");
        let up = gate.upstream.and_then(|up| draft.gates.list.get(up)).map(|up| draft.device(up.device));
        if let Some(up) = up.filter(|up| !matches!(up.spec, Spec::Fuse(_))) {
            draft.need(&close, &format!("close:{}", up.id), "from the array inwards");
        }
        last = Some(close);
    }
    proof(
        draft,
        &format!("sun:{}", device.id),
        "Watch the sun charge",
        &reached,
        last.as_deref().unwrap_or(&id),
    );
}

fn returns(draft: &Draft<'_>, at: TerminalRef) -> Vec<String> {
    let back = ["in-negative", "array-negative"].iter().find_map(|name| draft.terminal(at.device, name));
    [Some(at), back].into_iter().flatten().map(|at| draft.name(at)).collect()
}

fn controllers(draft: &Draft<'_>, source: DeviceIx) -> Vec<DeviceIx> {
    let mut found: Vec<DeviceIx> = draft
        .gates
        .reached
        .iter()
        .filter(|(feed, from, _)| *from == source && *feed == Feed::Array)
        .map(|(.., to)| *to)
        .collect();
    found.dedup();
    found
}

/// A step that reads the charging current of devices.
pub fn proof(draft: &mut Draft<'_>, id: &str, title: &str, devices: &[DeviceIx], after: &str) {
    if devices.is_empty() {
        return;
    }
    let mut step =
        Step::new(if id.starts_with("mains") { Stage::Ac } else { Stage::Charging }, id.to_owned(), title);
    for ix in devices {
        let device = draft.device(*ix);
        draft.holds(&mut step, *ix);
        let studied = draft.amps_in(Scene::Charging, *ix);
        let most = setting(device).map(|setting| setting.current).or(studied);
        let expect = match (studied, most) {
            (Some(studied), Some(most)) => format!(
                "up to {studied} into a low bank; never above {most}; less when the bank is nearly full"
            ),
            (None, Some(most)) => format!("never above {most}; less when the bank is nearly full"),
            _ => "into the bank, not out of it".to_owned(),
        };
        let prefix = if id.starts_with("mains") { "amps-mains" } else { "amps" };
        let measure = Measure {
            high: most.map(Value::Amps),
            ..reading(
                format!("{prefix}:{}", device.id),
                format!("charging current of {}", device.id),
                vec![device.id.clone()],
                expect,
            )
        };
        draft.measure(&mut step, measure);
    }
    step.line("Read the current on the monitor and on the charger; the bank's volts rise and stay below absorption.");
    step.why = "A charger that is set wrongly shows in its first minutes.".to_owned();
    draft.add(step);
    draft.need(id, after, "it has its source");
}

fn engine(draft: &mut Draft<'_>) {
    let sources = draft.with(|spec| matches!(spec, Spec::StartBattery(_)));
    let gates: Vec<(usize, Gate)> = draft.gates.fed_by(Feed::Engine).collect();
    if sources.is_empty() && gates.is_empty() {
        return;
    }
    let reached: Vec<DeviceIx> = {
        let mut found: Vec<DeviceIx> = draft
            .gates
            .reached
            .iter()
            .filter(|(feed, ..)| *feed == Feed::Engine)
            .map(|(.., to)| *to)
            .collect();
        found.sort_unstable();
        found.dedup();
        // A relay is reached from the bank first, and is charged through all the same.
        if found.is_empty() {
            found = draft.with(|spec| matches!(spec, Spec::Relay(_)));
        }
        found
    };
    let mut step = Step::new(Stage::Charging, "engine:on".to_owned(), "Put the engine battery back");
    for (_, gate) in &gates {
        let device = draft.device(gate.device);
        let is_fuse = matches!(device.spec, Spec::Fuse(_));
        step.act(if is_fuse { Deed::Insert } else { Deed::Close }, &device.id);
        draft.holds(&mut step, gate.device);
    }
    for ix in &sources {
        step.act(Deed::PutBack, &draft.device(*ix).id);
        draft.holds(&mut step, *ix);
    }
    if !gates.is_empty() {
        step.line("With the engine battery still off, insert the fuses of the engine lead, from the charger's end on.");
    }
    step.line("Put the negative lead back on the engine battery.");
    step.why = "The lead is dead while its fuses go in, and its charger has its battery already.".to_owned();
    step.dead = vec!["engine battery: negative lead off, until the fuses stand".to_owned()];
    step.caution("The engine stays off in this step.");
    for ix in &reached {
        let name = if matches!(draft.device(*ix).spec, Spec::Relay(_)) { "engine" } else { "in-positive" };
        let Some(at) = draft.terminal(*ix, name) else { continue };
        let rated = sources.iter().find_map(|ix| match &draft.device(*ix).spec {
            Spec::StartBattery(battery) => Some((battery.part.cutoff, battery.part.absorption)),
            _ => None,
        });
        let measure = Measure {
            low: rated.map(|(low, _)| Value::Volts(low)),
            high: rated.map(|(_, high)| Value::Volts(high)),
            ..reading(
                format!("volts:{}", draft.name(at)),
                "volts of the engine battery at the far end of its lead".to_owned(),
                draft.against_return(at),
                "those of the engine battery at rest, plus at plus".to_owned(),
            )
        };
        draft.measure(&mut step, measure);
    }
    draft.add(step);
    let base = base(draft);
    draft.need("engine:on", base, "no disconnect upstream is opened any more");
    for ix in &reached {
        let set = format!("set:{}", draft.device(*ix).id);
        draft.need("engine:on", &set, "the charger knows its battery");
    }
    let alternators = draft.with(|spec| matches!(spec, Spec::Alternator(_)));
    if alternators.is_empty() || reached.is_empty() {
        return;
    }
    let mut step = Step::new(Stage::Charging, "engine:start".to_owned(), "Start the engine");
    for ix in &alternators {
        step.act(Deed::Start, &draft.device(*ix).id);
        draft.holds(&mut step, *ix);
    }
    step.line("Outside, brakes on: start the engine and let it settle.");
    step.why = "The charger wakes when the alternator charges.".to_owned();
    step.caution("Keep clear of belts and fans; exhaust gas kills.");
    draft.add(step);
    draft.need("engine:start", "engine:on", "its battery is joined");
    proof(draft, "engine:charge", "Watch the engine charge", &reached, "engine:start");
}
