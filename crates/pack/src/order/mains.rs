//! The alternating-current side: the inverter first, then shore or generator, each with its residual-current device tried.
//! Never: plugs anything in before the bank's side is proved.
//! Start at [`steps`].

use model::{DeviceIx, Spec};

use super::charging::{base, proof};
use super::closing::{circuits_at, gate_step};
use super::draft::Draft;
use super::expect::reading;
use super::gates::{Feed, Gate};
use super::step::{Deed, Measure, Stage, Step};
use super::vehicle::named;

/// Writes them.
pub fn steps(draft: &mut Draft<'_>) {
    let inverters = draft.with(|spec| matches!(spec, Spec::Inverter(..)));
    for ix in &inverters {
        start(draft, *ix);
    }
    gates(draft, Feed::Inverter);
    if !inverters.is_empty() {
        proved(draft, &inverters);
    }
    let supplies = draft.with(|spec| matches!(spec, Spec::Inlet(_) | Spec::Generator(_)));
    for ix in &supplies {
        plug(draft, *ix);
    }
    gates(draft, Feed::Supply);
    let mut chargers: Vec<DeviceIx> =
        draft.with(|spec| matches!(spec, Spec::Charger(..) | Spec::Inverter(_, Some(_))));
    if supplies.is_empty() {
        chargers.clear();
    }
    let after: Vec<String> = draft
        .gates
        .fed_by(Feed::Supply)
        .map(|(_, gate)| format!("close:{}", draft.device(gate.device).id))
        .collect();
    let plugs: Vec<String> = supplies.iter().map(|ix| start_id(draft, *ix)).collect();
    if let Some(first) = after.first().or_else(|| plugs.first()) {
        proof(draft, "mains:charge", "Watch shore or generator charge", &chargers, &first.clone());
        for id in after.iter().chain(&plugs) {
            draft.need("mains:charge", id, "it has its source");
        }
    }
}

fn start_id(draft: &Draft<'_>, device: DeviceIx) -> String {
    format!("start:{}", draft.device(device).id)
}

fn start(draft: &mut Draft<'_>, inverter: DeviceIx) {
    let device = draft.device(inverter);
    let Spec::Inverter(part, _) = &device.spec else { return };
    let id = start_id(draft, inverter);
    let mut step =
        Step::new(Stage::Ac, id.clone(), format!("Switch {} on", named(&device.title, &device.id)));
    step.act(Deed::Start, &device.id);
    draft.holds(&mut step, inverter);
    step.line("Every breaker of the AC panel off, covers on: switch it on and listen.");
    step.why = "Its output is measured before it feeds anything.".to_owned();
    step.dead = vec!["AC breakers: off".to_owned(), "shore: cord away".to_owned()];
    step.caution("Mains voltage kills, from an inverter too: covers on, probes made for mains.");
    step.caution("Local codes and a licensed electrician decide about mains wiring.");
    if let Some(at) = draft.terminal(inverter, "line") {
        let measure = draft.output(at, part.output, format!("output of {}", device.id));
        draft.measure(&mut step, measure);
    }
    draft.add(step);
    let base = base(draft);
    draft.need(&id, base, "the bank's side is proved");
    let set = format!("set:{}", device.id);
    draft.need(&id, &set, "it is set up");
}

fn gates(draft: &mut Draft<'_>, feed: Feed) {
    let circuits = circuits_at(draft);
    let all: Vec<(usize, Gate)> = draft.gates.fed_by(feed).collect();
    for (ix, gate) in all {
        let (step, _) = gate_step(draft, ix, &circuits, Stage::Ac);
        let id = step.id.clone();
        draft.add(step);
        match gate.upstream.and_then(|up| draft.gates.list.get(up)) {
            Some(up) => {
                let up = format!("close:{}", draft.device(up.device).id);
                draft.need(&id, &up, "what feeds it is live and was measured");
            }
            None => {
                let source = start_id(draft, gate.source);
                draft.need(&id, &source, "its source runs and was measured");
            }
        }
    }
}

fn proved(draft: &mut Draft<'_>, inverters: &[DeviceIx]) {
    let mut step = Step::new(Stage::Ac, "mains:proved".to_owned(), "Look over the AC side on the inverter");
    let ids: Vec<String> = inverters.iter().map(|ix| draft.device(*ix).id.clone()).collect();
    let measure: Measure = reading(
        "idle:ac".to_owned(),
        "current from the bank with the inverter on and no AC load".to_owned(),
        ids,
        "the inverter's idle draw on top of the reading before".to_owned(),
    );
    draft.measure(&mut step, measure);
    step.line("Try each socket with a tester: line, neutral and earth each in its place.");
    step.why = "The AC side is proved on a source that you can switch off beside you.".to_owned();
    step.tools = vec!["socket tester"];
    draft.add(step);
    for (_, gate) in draft.gates.fed_by(Feed::Inverter).collect::<Vec<_>>() {
        let close = format!("close:{}", draft.device(gate.device).id);
        draft.need("mains:proved", &close, "every AC circuit is on");
    }
    for ix in inverters {
        let start = start_id(draft, *ix);
        draft.need("mains:proved", &start, "the inverter runs");
    }
}

fn plug(draft: &mut Draft<'_>, supply: DeviceIx) {
    let device = draft.device(supply);
    let id = start_id(draft, supply);
    let is_shore = matches!(device.spec, Spec::Inlet(_));
    let title = if is_shore {
        format!("Plug the shore cord in at {}", named(&device.title, &device.id))
    } else {
        format!("Start {}", named(&device.title, &device.id))
    };
    let mut step = Step::new(Stage::Ac, id.clone(), title);
    step.act(Deed::Start, &device.id);
    draft.holds(&mut step, supply);
    if is_shore {
        step.line("Main breaker off: cord into the inlet first, then into the socket on shore.");
    } else {
        step.line("Main breaker off, exhaust clear: start it and let it settle.");
    }
    step.line("Measure line to neutral, line to earth, neutral to earth at the open main breaker.");
    step.why =
        "The shore's own wiring may be crossed; it is measured before anything is joined to it.".to_owned();
    step.dead = vec!["main breaker of this supply: off".to_owned()];
    step.caution("Mains voltage kills: covers on, probes made for mains, one hand.");
    step.caution("Local codes and a licensed electrician decide about mains wiring.");
    let volts = draft.system.ac_voltage.unwrap_or(draft.system.voltage);
    let first =
        draft.gates.fed_by(Feed::Supply).find(|(_, gate)| gate.source == supply && gate.upstream.is_none());
    let at = first
        .and_then(|(_, gate)| draft.terminal(gate.device, "in"))
        .or_else(|| draft.terminal(supply, "line"));
    if let Some(at) = at {
        let measure = draft.output(at, volts, format!("volts of {}, line to neutral", device.id));
        draft.measure(&mut step, measure);
    }
    let measure = reading(
        format!("polarity-supply:{}", device.id),
        format!("polarity of {}: line to earth full volts, neutral to earth next to nothing", device.id),
        ["line", "neutral", "earth"]
            .iter()
            .filter_map(|name| draft.terminal(supply, name))
            .map(|at| draft.name(at))
            .collect(),
        "line at line; where it is crossed, do not close the breaker".to_owned(),
    );
    draft.measure(&mut step, measure);
    draft.add(step);
    let before = if draft.has("mains:proved") { "mains:proved" } else { base(draft) };
    draft.need(&id, before, "shore and generator come last");
    for set in draft.of_kind("set") {
        let is_mains = set
            .strip_prefix("set:")
            .and_then(|id| draft.system.find(id))
            .is_some_and(|ix| matches!(draft.device(ix).spec, Spec::Charger(..) | Spec::Inverter(..)));
        if is_mains {
            draft.need(&id, &set, "what it charges with is set up");
        }
    }
}
