//! The step in which one fuse is inserted, or one breaker or disconnect closed, with the readings at what it serves.
//! Never: says when; see `power.rs`, `charging.rs` and `mains.rs`.
//! Start at [`gate_step`].

use model::{CircuitIx, CircuitKind, DeviceIx, Pole, Spec, TerminalRef};
use network::{Scene, inrush, precharge};
use quantity::{Henries, Ohms, Volts};

use super::draft::Draft;
use super::expect::reading;
use super::gates::Feed;
use super::step::{Act, Deed, Measure, Stage, Step, Value};

/// The circuits that a device belongs to: those it protects, else those whose conductors end at it.
pub fn circuits_at(draft: &Draft<'_>) -> Vec<Vec<CircuitIx>> {
    let mut of: Vec<Vec<CircuitIx>> = vec![Vec::new(); draft.system.devices.len()];
    for (ix, circuit) in draft.system.circuits.iter().enumerate() {
        for device in &circuit.protection {
            if let Some(list) = of.get_mut(*device) {
                list.push(ix);
            }
        }
    }
    // Of the others only what is opened and closed is asked about; a busbar would gather every circuit.
    let is_protection: Vec<bool> = of
        .iter()
        .zip(&draft.system.devices)
        .map(|(list, device)| !list.is_empty() || !super::gates::is_gate(&device.spec))
        .collect();
    for conductor in &draft.system.conductors {
        for device in [conductor.from.device, conductor.to.device] {
            if is_protection.get(device) == Some(&false) && !of[device].contains(&conductor.circuit) {
                of[device].push(conductor.circuit);
            }
        }
    }
    of
}

/// The inverter that goes live with a gate.
pub fn inverter_behind(draft: &Draft<'_>, gate: usize) -> Option<DeviceIx> {
    let reached = draft.gates.reached.iter();
    reached
        .filter(|(feed, _, device)| {
            *feed == Feed::Bank && matches!(draft.device(*device).spec, Spec::Inverter(..))
        })
        .map(|(_, _, device)| *device)
        .find(|device| draft.gates.before[*device] == Some(gate))
}

/// Whether an inverter goes live with a gate whose capacitors are filled first.
pub fn is_filled(draft: &Draft<'_>, gate: usize) -> bool {
    let from = draft.reference.precharge_from().value;
    inverter_behind(draft, gate).is_some_and(
        |ix| matches!(&draft.device(ix).spec, Spec::Inverter(part, _) if part.capacitance >= from),
    )
}

/// The step of a fuse, breaker or disconnect, and whether a switch upstream is opened for it.
pub fn gate_step(
    draft: &mut Draft<'_>,
    ix: usize,
    circuits: &[Vec<CircuitIx>],
    stage: Stage,
) -> (Step, bool) {
    let gate = draft.gates.list[ix];
    let device = draft.device(gate.device);
    let mut step = gate_words(draft, gate.device, circuits, stage);
    let isolator = draft.gates.isolator(draft.system, ix).map(|ix| draft.device(ix));
    let is_way = matches!(&device.spec, Spec::Fuse(fuse) if fuse.panel.is_some());
    let is_fuse = matches!(device.spec, Spec::Fuse(_));
    let mut is_switched = false;
    let inverter = inverter_behind(draft, ix);
    match isolator {
        Some(isolator) if is_fuse && !is_way => {
            is_switched = true;
            let is_hand = !matches!(isolator.spec, Spec::Fuse(_));
            let (off, on) = if is_hand { (Deed::Open, Deed::Close) } else { (Deed::Remove, Deed::Insert) };
            let verb = if is_hand { ("Turn off", "Turn on") } else { ("Take out", "Put back") };
            step.act(off, &isolator.id);
            step.act(Deed::Insert, &device.id);
            step.line(format!("{} {}, and see with the meter that the holder is dead.", verb.0, isolator.id));
            step.line("Insert the link and tighten it.");
            if let Some(inverter) = inverter {
                step.line(format!("Leave {} switched off.", draft.device(inverter).id));
                fill(draft, &mut step, inverter, &isolator.id);
            }
            step.act(on, &isolator.id);
            step.line(format!("{} {} again.", verb.1, isolator.id));
            step.dead = vec![format!("{}: off", isolator.id)];
            step.why = "A bolted fuse is handled dead: a spanner that slips finds nothing.".to_owned();
        }
        _ if is_fuse => {
            step.act(Deed::Insert, &device.id);
            step.line("Switch its loads off, push the link in, then switch them on one by one.");
            step.why = "One circuit at a time: what goes wrong is the one just closed.".to_owned();
            step.dead = loads_off(draft, &circuits[gate.device]);
        }
        _ => {
            if let Some(inverter) = inverter {
                step.line(format!("Leave {} switched off.", draft.device(inverter).id));
                fill(draft, &mut step, inverter, &device.id);
            }
            step.act(Deed::Close, &device.id);
            step.line("Switch its loads off, close it, then switch them on one by one.");
            step.why = "One circuit at a time: what goes wrong is the one just closed.".to_owned();
            step.dead = loads_off(draft, &circuits[gate.device]);
        }
    }
    if stage == Stage::Ac {
        step.caution("Mains voltage kills: covers on before it is closed, probes made for mains.");
    }
    for circuit in circuits[gate.device].clone() {
        served(draft, &mut step, circuit);
    }
    residual(draft, &mut step, gate.device);
    step.tools = vec!["multimeter"];
    (step, is_switched)
}

fn loads_off(draft: &Draft<'_>, circuits: &[CircuitIx]) -> Vec<String> {
    let served = circuits.iter().flat_map(|ix| &draft.system.circuits[*ix].serves);
    let loads = served.filter(|ix| matches!(draft.device(**ix).spec, Spec::Load(_)));
    loads.map(|ix| format!("{}: switched off", draft.device(*ix).id)).collect()
}

/// Filling an inverter's capacitors through a resistor, where the inrush asks for it.
pub fn fill(draft: &Draft<'_>, step: &mut Step, inverter: DeviceIx, across: &str) {
    let Spec::Inverter(part, _) = &draft.device(inverter).spec else { return };
    let from = draft.reference.precharge_from();
    let Some(bank) = draft.system.bank.as_ref().filter(|_| part.capacitance >= from.value) else { return };
    let cables: Ohms = draft
        .system
        .conductors
        .iter()
        .enumerate()
        .filter(|(_, c)| c.from.device == inverter || c.to.device == inverter)
        .filter(|(_, c)| matches!(c.pole, Pole::Positive | Pole::Negative))
        .filter_map(|(ix, _)| draft.results.resistances.get(ix).copied())
        .sum();
    let loop_ohms = bank.resistance + cables;
    let volts = bank.voltage_high;
    let start = draft.reference.precharge_start();
    let resistor = volts / start.value;
    step.acts.push(Act {
        deed: Deed::Precharge,
        on: draft.device(inverter).id.clone(),
        at: Some(across.to_owned()),
    });
    let rush = inrush(volts, Volts::zero(), loop_ohms, Henries::zero(), part.capacitance);
    let slow = precharge(volts, Volts::zero(), resistor, loop_ohms, part.capacitance);
    if let (Some(rush), Some(slow)) = (rush, slow) {
        step.line(format!(
            "Before {across} closes, hold a resistor of about {resistor} that stands {} (or a filament lamp for the voltage) across its terminals for {:.0} s: the inverter's {} would else draw up to {} for an instant.",
            slow.power_peak,
            slow.time_to_99_percent.get().ceil(),
            part.capacitance,
            rush.amps_peak
        ));
        step.line(format!("When the meter across {across} shows nearly nothing, close it at once and take the resistor away."));
        step.caution("The resistor gets hot; hold it by its leads' insulation.");
    }
}

/// Readings at what a circuit serves.
pub fn served(draft: &mut Draft<'_>, step: &mut Step, circuit: CircuitIx) {
    let found = draft.system.circuits[circuit].clone();
    for device in found.serves {
        let spec = &draft.device(device).spec;
        let plus = match spec {
            Spec::DcDc(..) | Spec::Converter(_) if found.kind == CircuitKind::Converter => "in-positive",
            Spec::Relay(_) => "house",
            Spec::Inverter(..) if found.supply == model::parts::Supply::Ac => "in-line",
            _ if found.supply == model::parts::Supply::Ac => "line",
            _ => "positive",
        };
        let Some(at) = draft.terminal(device, plus) else { continue };
        let measure = match spec {
            Spec::Load(_) => at_load(draft, device, at, &found.voltage),
            _ if found.supply == model::parts::Supply::Ac => {
                draft.output(at, found.voltage, format!("volts at {}", draft.device(device).id))
            }
            _ if found.kind == CircuitKind::Feeder && found.voltage != draft.system.voltage => {
                draft.output(at, found.voltage, format!("volts at {}", draft.device(device).id))
            }
            _ => {
                let what = format!("volts at {}, no load", draft.device(device).id);
                draft.bank_volts(at, &what)
            }
        };
        draft.measure(step, measure);
        if let Spec::Converter(part) = spec
            && let Some(out) = draft.terminal(device, "positive")
        {
            let measure = draft.output(out, part.output, format!("output of {}", draft.device(device).id));
            draft.measure(step, measure);
        }
        if matches!(spec, Spec::Load(_))
            && !found.voltage.eq(&Volts::zero())
            && found.kind == CircuitKind::Branch
        {
            let ends = draft.against_return(at);
            let measure = draft.drop(circuit, ends);
            draft.measure(step, measure);
        }
    }
}

fn at_load(draft: &Draft<'_>, device: DeviceIx, at: TerminalRef, nominal: &Volts) -> Measure {
    let name = draft.name(at);
    let id = format!("volts:{name}");
    let what = format!("volts at {}, switched on", draft.device(device).id);
    let ends = draft.against_return(at);
    match draft.volts_in(Scene::EverythingOn, device, "positive", "negative") {
        Some(least) if least > Volts::zero() => {
            let high = draft
                .system
                .bank
                .as_ref()
                .map(|bank| bank.voltage_high)
                .filter(|_| *nominal == draft.system.voltage);
            Measure {
                low: Some(Value::Volts(least)),
                high: high.map(Value::Volts),
                ..reading(
                    id,
                    what,
                    ends,
                    format!(
                        "steady, plus at plus; {least} is the least, with everything on and the bank at its end"
                    ),
                )
            }
        }
        _ => draft.output(at, *nominal, what),
    }
}

/// The test button of a residual-current device.
pub fn residual(draft: &mut Draft<'_>, step: &mut Step, device: DeviceIx) {
    let Spec::Breaker(breaker) = &draft.device(device).spec else { return };
    let Some(residual) = breaker.part.residual else { return };
    let id = &draft.device(device).id;
    step.line("Press its test button: it must trip. Close it again.");
    let limit = draft.reference.residual_limit(draft.system.rules);
    let measure = Measure {
        high: Some(Value::Amps(residual)),
        source: Some(limit.cite.source),
        ..reading(
            format!("residual:{id}"),
            format!("test button of {id}"),
            vec![id.clone()],
            format!("trips at once; rated {residual}"),
        )
    };
    draft.measure(step, measure);
}

/// Title, parts and cautions of the step of a gate.
pub fn gate_words(draft: &Draft<'_>, device: DeviceIx, circuits: &[Vec<CircuitIx>], stage: Stage) -> Step {
    let found = draft.device(device);
    let verb = if matches!(found.spec, Spec::Fuse(_)) { "Insert" } else { "Close" };
    let rating = match &found.spec {
        Spec::Fuse(fuse) => format!(", {}", fuse.rating),
        Spec::Breaker(breaker) => format!(", {}", breaker.part.current),
        _ => String::new(),
    };
    let title = format!("{verb} {}{rating}", super::vehicle::named(&found.title, &found.id));
    let mut step = Step::new(stage, format!("close:{}", found.id), title);
    step.parts.devices.push(found.id.clone());
    for circuit in &circuits[device] {
        for served in &draft.system.circuits[*circuit].serves {
            draft.holds(&mut step, *served);
        }
    }
    step
}
