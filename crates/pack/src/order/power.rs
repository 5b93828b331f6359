//! First power: the bank joined, then one fuse or disconnect after the other, from the bank outwards.
//! Never: closes what is not tested, or fits a bolted fuse in a live holder that has a switch upstream.
//! Start at [`steps`]; `closing.rs` writes the step of one fuse, breaker or disconnect.

use std::collections::BTreeSet;

use model::{CircuitIx, CircuitKind, ConductorIx, DeviceIx, Pole, Spec, TerminalRef};
use network::Scene;
use quantity::Volts;

use super::closing::{circuits_at, gate_step, gate_words, is_filled};
use super::draft::Draft;
use super::expect::{document, reading};
use super::gates::{Feed, Gate};
use super::spots::Spot;
use super::step::{Deed, Measure, Stage, Step, Value};

/// Writes them.
pub fn steps(draft: &mut Draft<'_>) {
    if draft.at_spot(|spot| spot == Spot::Bank).is_empty() {
        unfed(draft, "dead:all");
        return;
    }
    links(draft);
    bank(draft);
    let gates: Vec<(usize, Gate)> = draft.gates.fed_by(Feed::Bank).collect();
    let circuits = circuits_at(draft);
    let is_main: Vec<bool> = gates.iter().map(|(_, gate)| is_main(draft, &circuits, gate.device)).collect();
    mains(draft, &gates, &is_main, &circuits);
    bank_live(draft, &gates, &is_main);
    branches(draft, &gates, &is_main, &circuits);
    unfed(draft, "bank:live");
    bank_fed(draft);
}

fn is_main(draft: &Draft<'_>, circuits: &[Vec<CircuitIx>], device: DeviceIx) -> bool {
    let is = |ix: &CircuitIx| {
        draft
            .system
            .circuits
            .get(*ix)
            .is_some_and(|circuit| matches!(circuit.kind, CircuitKind::Main | CircuitKind::BankLink))
    };
    circuits[device].iter().any(is)
}

fn links(draft: &mut Draft<'_>) {
    let mut cables: Vec<ConductorIx> = (0..draft.system.conductors.len())
        .filter(|ix| {
            !draft.system.conductors[*ix].is_internal && draft.is_link(&draft.system.conductors[*ix])
        })
        .collect();
    if cables.is_empty() {
        return;
    }
    // Plus posts side by side first; the links between minus posts close the loop, so they come last.
    cables.sort_by_key(|ix| (draft.system.conductors[*ix].pole == Pole::Negative, *ix));
    let mut step = Step::new(Stage::FirstPower, "bank:links".to_owned(), "Join the batteries to each other");
    for ix in &cables {
        let conductor = &draft.system.conductors[*ix];
        draft.on_cable(&mut step, Deed::Lay, *ix);
        draft.join(&mut step, *ix, conductor.from);
        draft.join(&mut step, *ix, conductor.to);
        step.live.extend([draft.name(conductor.from), draft.name(conductor.to)]);
    }
    step.live.sort();
    step.live.dedup();
    step.line("Uncover only the two posts that you join; cover them again when the link is tight.");
    step.line("Links between plus posts first, then those between minus posts.");
    if let Some(bank) = draft.system.bank.as_ref().filter(|bank| bank.series > 1) {
        step.line("In a string each link adds the volts of one battery: follow the drawing, plus to the minus of the next.");
        step.caution(format!(
            "{} in series reach {}; never touch two posts at once.",
            bank.series, bank.voltage_high
        ));
        shock(draft, &mut step, bank.voltage_high);
    }
    step.why = "The last connections of the installation are those of the batteries.".to_owned();
    step.caution("Battery posts are live: insulated spanner, one hand, no ring.");
    step.tools = vec!["insulated spanners", "torque wrench"];
    draft.add(step);
    draft.need("bank:links", "bank:volts", "unequal batteries are not joined");
    draft.need("bank:links", "dead:all", "batteries come last");
    draft.need("bank:links", "make:bank", "the links are made");
}

/// A caution where a direct voltage may not be touched.
pub fn shock(draft: &Draft<'_>, step: &mut Step, volts: Volts) {
    let limit = draft.reference.touch_voltage();
    if volts > limit.value {
        step.caution(format!(
            "{volts} direct current gives a shock and an arc that does not go out (over {}, {}); gloves for the voltage, no bare end free.",
            limit.value,
            document(&limit.cite)
        ));
    }
}

fn bank(draft: &mut Draft<'_>) {
    let mut step = Step::new(Stage::FirstPower, "bank:join".to_owned(), "Join the bank, its main fuse out");
    let mut last: Vec<(u8, ConductorIx, TerminalRef)> = Vec::new();
    for (ix, conductor) in draft.system.conductors.iter().enumerate() {
        if conductor.is_internal || draft.is_link(conductor) {
            continue;
        }
        for at in [conductor.from, conductor.to] {
            let rank = match draft.spots.of.get(at.device) {
                Some(Spot::Post) => 0,
                Some(Spot::Bank) if conductor.pole != Pole::Negative => 1,
                Some(Spot::Bank) => 2,
                _ => continue,
            };
            last.push((rank, ix, at));
        }
    }
    last.sort_unstable_by_key(|(rank, ix, at)| (*rank, *ix, *at));
    for (_, ix, at) in last.iter().filter(|(rank, ..)| *rank == 0) {
        draft.join(&mut step, *ix, *at);
    }
    for ix in draft.at_spot(|spot| spot == Spot::Post) {
        draft.mount(&mut step, ix);
        step.line(format!(
            "Join the lead to the empty holder {}, then fix the holder on its post.",
            draft.device(ix).id
        ));
    }
    for (_, ix, at) in last.iter().filter(|(rank, ..)| *rank > 0) {
        draft.join(&mut step, *ix, *at);
        step.live.push(draft.name(*at));
    }
    for conductor in draft.system.conductors.iter().filter(|c| c.is_internal) {
        for (post, other) in [(conductor.from, conductor.to), (conductor.to, conductor.from)] {
            if draft.spots.of.get(other.device) == Some(&Spot::Post)
                && draft.spots.of.get(post.device) == Some(&Spot::Bank)
            {
                step.live.push(draft.name(post));
                step.parts.conductors.push(conductor.id.clone());
            }
        }
    }
    step.live.sort();
    step.live.dedup();
    step.line("Plus first, to the empty fuse holder; minus last of all.");
    step.line(
        "A small spark at the last post can come from the monitor; a large one means stop and find out.",
    );
    step.why = "Nothing flows while the fuse is out, and the batteries come after every other connection."
        .to_owned();
    step.dead = vec!["main fuse: out".to_owned(), "main disconnect: off".to_owned()];
    step.caution("Battery posts are live: insulated spanner, one hand, no ring.");
    if let Some(bank) = &draft.system.bank {
        shock(draft, &mut step, bank.voltage_high);
    }
    step.tools = vec!["insulated spanners", "torque wrench", "multimeter"];
    let firsts: Vec<DeviceIx> = draft
        .gates
        .fed_by(Feed::Bank)
        .filter(|(_, gate)| gate.upstream.is_none())
        .map(|(_, gate)| gate.device)
        .collect();
    for device in firsts {
        if let Some(at) = draft.terminal(device, "in") {
            let measure = draft
                .bank_volts(at, "volts of the bank at its first fuse or disconnect, before it is closed");
            draft.measure(&mut step, measure);
        }
    }
    draft.add(step);
    draft.need("bank:join", "bank:links", "the batteries are one bank");
    draft.need("bank:join", "bank:volts", "the batteries are sound");
    draft.need("bank:join", "dead:all", "batteries come last");
}

fn mains(draft: &mut Draft<'_>, gates: &[(usize, Gate)], is_main: &[bool], circuits: &[Vec<CircuitIx>]) {
    let is_fuse = |draft: &Draft<'_>, device: DeviceIx| matches!(draft.device(device).spec, Spec::Fuse(_));
    let mut fuses = Vec::new();
    // Fuses before disconnects, so that each link goes in while nothing beyond it is joined through.
    for want_fuse in [true, false] {
        let mut before: Option<String> = None;
        for ((_, gate), _) in gates.iter().zip(is_main).filter(|(_, is)| **is) {
            if is_fuse(draft, gate.device) != want_fuse {
                continue;
            }
            let device = draft.device(gate.device);
            let id = format!("close:{}", device.id);
            let mut step = gate_words(draft, gate.device, circuits, Stage::FirstPower);
            if want_fuse {
                step.act(Deed::Insert, &device.id);
                step.line("Insert the link with every disconnect off: no current flows, so no arc is drawn.");
                step.why = "The bank's own fuse stands before anything behind it is live.".to_owned();
                fuses.push(id.clone());
            } else {
                step.act(Deed::Close, &device.id);
                step.line("Close it while every other fuse is out: nothing but the busbars takes current.");
                step.why =
                    "First power goes to bare bars only; whatever is wrong shows with nothing connected."
                        .to_owned();
            }
            if let Some(at) = draft.terminal(gate.device, "out") {
                let measure = draft.bank_volts(at, "volts behind it");
                draft.measure(&mut step, measure);
            }
            draft.add(step);
            draft.need(&id, "bank:join", "the bank is joined and was measured");
            if want_fuse && let Some(up) = gate.upstream.and_then(|up| draft.gates.list.get(up)) {
                let up = format!("close:{}", draft.device(up.device).id);
                draft.need(&id, &up, "from the bank outwards");
            }
            if !want_fuse {
                for fuse in fuses.clone() {
                    draft.need(&id, &fuse, "its protection stands");
                }
                if let Some(before) = before {
                    draft.need(&id, &before, "from the bank outwards");
                }
                before = Some(id);
            }
        }
    }
}

fn bank_live(draft: &mut Draft<'_>, gates: &[(usize, Gate)], is_main: &[bool]) {
    let mut step =
        Step::new(Stage::FirstPower, "bank:live".to_owned(), "Look at the live busbars; zero the monitor");
    for ix in draft.with(|spec| matches!(spec, Spec::Busbar(_))) {
        let at = TerminalRef { device: ix, terminal: 0 };
        if draft.gates.before[ix].is_some()
            && draft.system.terminal(at).is_some_and(|t| t.pole == Pole::Positive)
        {
            let measure = draft.bank_volts(at, "volts between the bars");
            draft.measure(&mut step, measure);
        }
    }
    step.line("Measure between the bars, and from each bar to the chassis: plus to chassis the bank's volts, minus to chassis nothing.");
    for ix in draft.with(|spec| matches!(spec, Spec::Shunt(_))) {
        let device = draft.device(ix);
        step.act(Deed::Set, &device.id);
        draft.holds(&mut step, ix);
        let capacity = draft.system.bank.as_ref().map(|bank| bank.capacity);
        step.line(format!(
            "Set the zero of {} now, while no current flows; enter the bank's capacity{}.",
            device.id,
            capacity.map_or(String::new(), |capacity| format!(", {capacity}"))
        ));
    }
    step.why = "The monitor's zero is right only while nothing takes current.".to_owned();
    draft.add(step);
    let mains = gates.iter().zip(is_main).filter(|(_, is)| **is).map(|((_, gate), _)| gate.device);
    for device in mains.collect::<Vec<_>>() {
        let id = format!("close:{}", draft.device(device).id);
        draft.need("bank:live", &id, "the bars are live");
    }
    draft.need("bank:live", "bank:join", "the bank is joined");
}

fn branches(draft: &mut Draft<'_>, gates: &[(usize, Gate)], is_main: &[bool], circuits: &[Vec<CircuitIx>]) {
    let mains: BTreeSet<usize> =
        gates.iter().zip(is_main).filter(|(_, is)| **is).map(|((ix, _), _)| *ix).collect();
    let main_of = |ix: usize| mains.contains(&ix);
    let mut switched = Vec::new();
    let mut inverters = Vec::new();
    for ((ix, gate), _) in gates.iter().zip(is_main).filter(|(_, is)| !**is) {
        let id = format!("close:{}", draft.device(gate.device).id);
        let (step, is_switched) = gate_step(draft, *ix, circuits, Stage::FirstPower);
        draft.add(step);
        match gate.upstream.filter(|up| !main_of(*up)).and_then(|up| draft.gates.list.get(up)) {
            Some(up) => {
                let up = format!("close:{}", draft.device(up.device).id);
                draft.need(&id, &up, "what feeds it is live and was measured");
            }
            None => draft.need(
                &id,
                "bank:live",
                "what feeds it is live and was measured; the monitor knows its zero",
            ),
        }
        if is_filled(draft, *ix) {
            inverters.push(id);
        } else if is_switched {
            switched.push(id);
        }
    }
    for inverter in &inverters {
        for id in &switched {
            draft.need(inverter, id, "the disconnect is opened for that fuse, and each closing fills the inverter's capacitors anew");
        }
    }
}

/// Gates that no source reaches still stand in the order.
fn unfed(draft: &mut Draft<'_>, after: &str) {
    let circuits = circuits_at(draft);
    for device in draft.gates.unfed.clone() {
        let mut step = gate_words(draft, device, &circuits, Stage::FirstPower);
        let id = step.id.clone();
        let is_fuse = matches!(draft.device(device).spec, Spec::Fuse(_));
        step.act(if is_fuse { Deed::Insert } else { Deed::Close }, &draft.device(device).id);
        step.line("No source of this design reaches it; close it when the rest of its line stands.");
        step.why = "It is part of what was bought and built in.".to_owned();
        draft.add(step);
        draft.need(&id, after, "everything is tested");
    }
}

fn bank_fed(draft: &mut Draft<'_>) {
    let mut step =
        Step::new(Stage::FirstPower, "bank:fed".to_owned(), "Watch the bank feed the direct-current side");
    let night: quantity::Amps = draft
        .at_spot(|spot| spot == Spot::Bank)
        .into_iter()
        .filter_map(|ix| draft.results.scene(Scene::Night)?.device_amps.get(ix).copied())
        .sum::<quantity::Amps>()
        / f64::from(draft.system.bank.as_ref().map_or(1, |bank| bank.series).max(1));
    let measure = Measure {
        low: Some(Value::Amps(quantity::Amps::zero())),
        high: (night > quantity::Amps::zero()).then_some(Value::Amps(night)),
        ..reading(
            "idle:dc".to_owned(),
            "current from the bank with every switch off".to_owned(),
            draft
                .with(|spec| matches!(spec, Spec::Shunt(_)))
                .iter()
                .map(|ix| draft.device(*ix).id.clone())
                .collect(),
            format!("small and steady; at night, with all that waits or runs all day, {night}"),
        )
    };
    draft.measure(&mut step, measure);
    step.line("Switch every load off and read the monitor; feel each lug, fuse and disconnect by hand after ten minutes under load.");
    step.why = "All that is fed by the bank is proved before anything charges it.".to_owned();
    step.caution(
        "A lug that is too hot to hold is loose or badly crimped: open the disconnect and make it again.",
    );
    draft.add(step);
    let all: Vec<String> = draft.of_kind("close");
    for id in all {
        draft.need("bank:fed", &id, "every circuit of the bank is on");
    }
    draft.need("bank:fed", "bank:live", "the bars are live");
}
