//! Tests before anything is live: polarity, insulation, bonds, the batteries one by one.
//! Never: joins or closes anything.
//! Start at [`steps`].

use model::{CircuitKind, Pole, Spec};
use quantity::Volts;

use super::bench::title;
use super::draft::Draft;
use super::expect::{document, reading};
use super::spots::Spot;
use super::step::{Stage, Step, Value};
use super::vehicle::sources_off;

/// Writes them.
pub fn steps(draft: &mut Draft<'_>) {
    for section in 0..draft.spots.sections.len() {
        section_test(draft, section);
    }
    batteries(draft);
    last_look(draft);
}

fn section_test(draft: &mut Draft<'_>, section: usize) {
    let name = draft.spots.sections[section].clone();
    let circuits = draft.circuits_of(section);
    let joins: Vec<String> =
        circuits.iter().map(|(ix, _)| format!("join:{}", draft.system.circuits[*ix].id)).collect();
    let wire = format!("wire:{name}");
    if !draft.has(&wire) && !joins.iter().any(|join| draft.has(join)) {
        return;
    }
    let id = format!("test:{name}");
    let mut step = Step::new(Stage::DeadChecks, id.clone(), format!("Test {}", title(draft, &name)));
    for (circuit, cables) in &circuits {
        let ends: Vec<String> = cables
            .iter()
            .flat_map(|ix| {
                let conductor = &draft.system.conductors[*ix];
                [draft.name(conductor.from), draft.name(conductor.to)]
            })
            .collect();
        if draft.system.circuits[*circuit].kind == CircuitKind::Bond {
            for ix in cables {
                let measure = bond(draft, *ix);
                draft.measure(&mut step, measure);
            }
        } else if draft.is_tested(*circuit) && !cables.is_empty() {
            for measure in [draft.polarity(*circuit, ends.clone()), draft.insulation(*circuit, ends)] {
                draft.measure(&mut step, measure);
            }
            for ix in cables {
                let conductor = &draft.system.conductors[*ix];
                if conductor.pole == Pole::Earth {
                    let measure = bond(draft, *ix);
                    draft.measure(&mut step, measure);
                }
            }
        }
    }
    step.line("Fuses out, disconnects and breakers off, loads switched off and unplugged.");
    step.line("Ring out each core from end to end by its label.");
    step.line("Unplug every electronic device, then test between the cores and from each to the chassis.");
    step.line("Write the readings down; go on only when every one is in order.");
    step.why =
        "A fault found dead costs a minute; found live it costs a fuse, a device or a hand.".to_owned();
    step.dead = sources_off(draft);
    step.tools = vec!["multimeter", "insulation tester"];
    draft.add(step);
    draft.need(&id, &wire, "its cables on the board are joined");
    if draft.has(&wire) {
        draft.need(&id, "board:place", "it is tested where it stays");
    }
    for join in joins {
        draft.need(&id, &join, "a circuit is tested when both ends are joined");
    }
}

fn bond(draft: &Draft<'_>, cable: usize) -> super::step::Measure {
    let conductor = &draft.system.conductors[cable];
    let most = draft.reference.continuity_most();
    super::step::Measure {
        high: Some(Value::Ohms(most.value)),
        source: Some(most.cite.source),
        ..reading(
            format!("bond:{}", conductor.id),
            format!("continuity of {} to bare metal of the device and of the chassis", draft.label(cable)),
            vec![draft.name(conductor.from), draft.name(conductor.to)],
            "a steady beep with the meter's tips on bare metal".to_owned(),
        )
    }
}

fn batteries(draft: &mut Draft<'_>) {
    let batteries = draft.at_spot(|spot| spot == Spot::Bank);
    if batteries.is_empty() {
        return;
    }
    let mut step = Step::new(Stage::DeadChecks, "bank:volts".to_owned(), "Measure each battery by itself");
    for ix in &batteries {
        draft.holds(&mut step, *ix);
        let Spec::Battery(battery) = &draft.device(*ix).spec else { continue };
        let Some(at) = draft.terminal(*ix, "positive") else { continue };
        let (low, high) = (battery.part.cutoff, battery.part.absorption);
        let name = draft.name(at);
        let measure = super::step::Measure {
            low: Some(Value::Volts(low)),
            high: Some(Value::Volts(high)),
            ..reading(
                format!("volts:{name}"),
                format!("open-circuit volts of {}", draft.device(*ix).id),
                draft.against_return(at),
                format!("between {low} and {high}, plus at the post marked plus"),
            )
        };
        draft.measure(&mut step, measure);
    }
    step.line("Uncover one battery at a time, measure, cover it again.");
    let parallel = draft.system.bank.as_ref().map_or(1, |bank| bank.parallel);
    let nominal = draft.system.bank.as_ref().map_or(draft.system.voltage, |_| draft.system.voltage);
    if batteries.len() > 1 {
        let most = draft.reference.join_difference(nominal);
        let what =
            if parallel > 1 { "strings that will stand side by side" } else { "batteries of the string" };
        let measure = super::step::Measure {
            low: Some(Value::Volts(Volts::zero())),
            high: Some(Value::Volts(most.value)),
            source: Some(most.cite.source),
            ..reading(
                "difference:bank".to_owned(),
                format!("largest difference between the {what}"),
                batteries.iter().map(|ix| format!("{}.positive", draft.device(*ix).id)).collect(),
                format!(
                    "no more than {} ({}); else charge each alone, to the same end",
                    most.value,
                    document(&most.cite)
                ),
            )
        };
        draft.measure(&mut step, measure);
        step.line("Where they differ by more, charge each alone with a charger made for it, rest an hour, and measure again.");
    }
    step.why = match parallel {
        1 => "A wrong pole or a sick battery shows before it is joined.".to_owned(),
        _ => "Batteries of unequal voltage push a large current into each other when they are joined."
            .to_owned(),
    };
    step.caution("Battery posts are live: one tool, one post, one hand.");
    step.tools = vec!["multimeter"];
    draft.add(step);
    draft.need("bank:volts", "bank:place", "they stand where they stay");
}

fn last_look(draft: &mut Draft<'_>) {
    let mut step = Step::new(Stage::DeadChecks, "dead:all".to_owned(), "Last look with everything dead");
    for ix in draft.with(|spec| matches!(spec, Spec::Busbar(_))) {
        let at = model::TerminalRef { device: ix, terminal: 0 };
        if draft.system.terminal(at).is_some_and(|terminal| terminal.pole == Pole::Positive) {
            let name = draft.name(at);
            let measure = super::step::Measure {
                low: Some(Value::Volts(Volts::zero())),
                high: Some(Value::Volts(Volts::zero())),
                ..reading(
                    format!("dead:{name}"),
                    "volts before any source is joined".to_owned(),
                    draft.against_return(at),
                    "nothing at all".to_owned(),
                )
            };
            draft.measure(&mut step, measure);
        }
    }
    step.line("Every fuse link is out, every disconnect and breaker is off, every load is off.");
    step.line("Every nut has its paint mark; no tool, chip or strand lies on the board.");
    step.line("Covers are on, save where the next steps work; a fire extinguisher stands at the door.");
    step.why =
        "From here on something is live; nothing is drilled, laid or joined after this but the sources."
            .to_owned();
    step.dead = sources_off(draft);
    draft.add(step);
    for kind in ["test", "join", "wire", "roof", "place"] {
        for id in draft.of_kind(kind) {
            let because = match kind {
                "test" => "every reading is in order",
                "roof" => "nobody works on the roof of a live system",
                _ => "it is finished before anything is live",
            };
            draft.need("dead:all", &id, because);
        }
    }
    draft.need("dead:all", "board:place", "it is finished before anything is live");
}
