//! The end: everything isolated once in the right order, lugs tightened again, papers handed over.
//! Never: leaves a step of the order out.
//! Start at [`steps`].

use model::{DeviceIx, Spec};

use super::closing::{circuits_at, fill};
use super::draft::Draft;
use super::expect::document;
use super::gates::Feed;
use super::step::{Deed, Stage, Step, Wait};

/// Writes them.
pub fn steps(draft: &mut Draft<'_>) {
    let leaves = draft.leaves();
    let mut step = Step::new(
        Stage::Handover,
        "handover:tighten".to_owned(),
        "Isolate in the right order, tighten again",
    );
    isolate(draft, &mut step);
    let time = draft.reference.tighten_again();
    step.wait = Some(Wait {
        least: time.value,
        what: format!("use under load before it, so that lugs have settled ({})", document(&time.cite)),
    });
    step.line("Use the system for a day, then isolate it: AC sources, engine, arrays, and the bank last.");
    step.line(
        "Tighten every stud to its torque once more, renew the paint marks, look for discoloured insulation.",
    );
    step.line("Close again the other way round: the bank first, the arrays after their battery.");
    step.why =
        "Fresh copper settles under a lug; and whoever takes over sees once how it is made dead.".to_owned();
    step.tools = vec!["torque wrench", "paint marker"];
    step.caution("The battery posts and the array's leads stay live.");
    draft.add(step);
    for id in leaves {
        draft.need("handover:tighten", &id, "everything runs");
    }
    let mut step = Step::new(Stage::Handover, "handover".to_owned(), "Hand over");
    step.act(Deed::HandOver, "system");
    step.line("Fill in the commissioning sheets with every reading of this order and sign them.");
    step.line(
        "Hand over drawings, schedules, settings, spare fuses, manuals, and the answers to every danger.",
    );
    step.line(
        "Show the owner each disconnect, the test buttons, the fire extinguisher, and what the monitor says.",
    );
    step.why = "Whoever uses it must be able to make it dead without asking anybody.".to_owned();
    draft.add(step);
    draft.need("handover", "handover:tighten", "nothing is left to do");
}

/// Sources off, arrays off, bank off; and back. Without a disconnect for the bank it stays in words.
fn isolate(draft: &Draft<'_>, step: &mut Step) {
    let is_switch = |ix: DeviceIx| matches!(draft.device(ix).spec, Spec::Disconnect(_) | Spec::Breaker(_));
    let circuits = circuits_at(draft);
    let is_main = |ix: DeviceIx| {
        circuits[ix].iter().any(|c| draft.system.circuits[*c].kind == model::CircuitKind::Main)
    };
    let mains: Vec<DeviceIx> = draft
        .gates
        .fed_by(Feed::Bank)
        .map(|(_, gate)| gate.device)
        .filter(|ix| is_switch(*ix) && is_main(*ix))
        .collect();
    let arrays = draft.with(|spec| matches!(spec, Spec::Array(_)));
    if mains.is_empty() {
        return;
    }
    for ix in draft.with(|spec| {
        matches!(spec, Spec::Inlet(_) | Spec::Generator(_) | Spec::Alternator(_) | Spec::Inverter(..))
    }) {
        if draft.has(&format!("start:{}", draft.device(ix).id))
            || matches!(draft.device(ix).spec, Spec::Alternator(_))
        {
            step.act(Deed::Stop, &draft.device(ix).id);
        }
    }
    for ix in &arrays {
        step.act(Deed::Cover, &draft.device(*ix).id);
    }
    for ix in &mains {
        step.act(Deed::Open, &draft.device(*ix).id);
        draft.holds(step, *ix);
    }
    let last = mains.last().map(|ix| draft.device(*ix).id.clone()).unwrap_or_default();
    for ix in draft.with(|spec| matches!(spec, Spec::Inverter(..))) {
        fill(draft, step, ix, &last);
    }
    for ix in &mains {
        step.act(Deed::Close, &draft.device(*ix).id);
    }
    for ix in &arrays {
        step.act(Deed::Uncover, &draft.device(*ix).id);
    }
}
