//! The view: one project as it stands.
//! Never: fills in a part that was not asked for.
//! Start at [`view`].

use model::SourceText;

use super::{brief, circuits, diagram, energy, figures, findings, loads};
use crate::{Stand, wire};

/// What the view says about the file and its states, which the stand does not know.
#[derive(Clone, Debug, Default)]
pub struct Head {
    /// The project's name in addresses.
    pub key: String,
    /// Number of the state.
    pub number: u64,
    /// Whether nothing was saved.
    pub is_trial: bool,
    /// What `Back` would take back.
    pub back: Option<String>,
    /// What `Forward` would bring again.
    pub forward: Option<String>,
    /// What stands in the way of reading the file as it is now.
    pub problems: Vec<wire::Problem>,
}

/// The project as it stands, with the parts asked for. `took_ms` is 0: whoever has a clock fills it in.
pub fn view(stand: &Stand, head: &Head, with: &[wire::Part]) -> wire::View {
    let has = |part| with.contains(&part);
    let system = &stand.system;
    let spots = findings::Spots::of(system);
    let findings = findings::findings(stand, &spots);
    wire::View {
        key: head.key.clone(),
        number: head.number,
        is_trial: head.is_trial,
        name: system.name.clone(),
        about: about(stand),
        back: head.back.clone(),
        forward: head.forward.clone(),
        problems: head.problems.clone(),
        figures: figures::figures(stand),
        counts: findings::counts(stand),
        refusals: system
            .refusals
            .iter()
            .map(|refusal| wire::Refusal {
                what: refusal.what.clone(),
                numbers: refusal.numbers.clone(),
                intent: refusal.intent.clone(),
            })
            .collect(),
        ways_out: stand
            .alternatives
            .iter()
            .map(|way| wire::WayOut {
                title: way.title.clone(),
                outcome: way.outcome.clone(),
                edits: way.edits.iter().map(edit).collect(),
            })
            .collect(),
        pins: pins(stand),
        loads: loads::loads(stand),
        brief: has(wire::Part::Brief).then(|| brief::brief(stand)),
        circuits: has(wire::Part::Circuits).then(|| circuits::circuits(stand)),
        diagram: has(wire::Part::Diagram).then(|| diagram::diagram(stand, &findings)),
        energy: if has(wire::Part::Energy) { energy::energy(stand) } else { None },
        findings,
        took_ms: 0.0,
    }
}

/// Craft, voltage and rule set in one line.
pub(super) fn about(stand: &Stand) -> String {
    let system = &stand.system;
    format!("{}, {}, rule set {}", system.craft, system.voltage, system.rules)
}

/// A change as the page has it.
pub(super) fn edit(edit: &model::Edit) -> wire::Edit {
    wire::Edit { path: edit.path.clone(), value: edit.value.clone() }
}

/// A problem of a file with the line that it stands on.
pub fn problem(problem: &model::Problem, source: &SourceText) -> wire::Problem {
    let text = problem.line.checked_sub(1).and_then(|line| source.text.lines().nth(line));
    wire::Problem {
        message: problem.message.clone(),
        file: problem.file.clone(),
        field: problem.field.clone(),
        line: problem.line,
        column: problem.column,
        text: text.unwrap_or_default().to_owned(),
        mend: problem.mend.clone(),
    }
}

/// The pins of the file, by path.
fn pins(stand: &Stand) -> Vec<wire::Pin> {
    let system = &stand.system;
    let pins = &stand.project.intent.pins.0;
    pins.iter()
        .map(|(path, said)| {
            let because = system.because.get(path).filter(|_| system.pinned.contains_key(path));
            wire::Pin {
                path: path.clone(),
                value: because.map_or_else(|| said.clone(), |because| because.value.clone()),
                derived: because.and_then(|because| because.pinned_over.clone()),
            }
        })
        .collect()
}
