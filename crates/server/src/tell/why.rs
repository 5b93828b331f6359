//! Why a derived value is what it is, down to what was written, assumed or read from a table.
//! Never: follows the chain itself; [`model::chain::why`] does.
//! Start at [`why`].

use model::chain::WhyOrigin;

use super::{choices, place};
use crate::{Stand, wire};

/// The reasons of the value at a path, or of all values at a device, conductor or circuit; empty where nothing was derived.
pub fn why(stand: &Stand, path: &str) -> Vec<wire::Why> {
    let of = |path: &str| model::chain::why(&stand.project, &stand.system, path);
    let mut found = of(path);
    if found.is_empty() {
        // A place may be told by the values of its circuit or table.
        let place = place::place(stand, path);
        found = place.iter().flat_map(|place| &place.derived).flat_map(|derived| of(&derived.path)).collect();
    }
    found.iter().map(|why| told(stand, why)).collect()
}

fn told(stand: &Stand, why: &model::chain::Why) -> wire::Why {
    wire::Why {
        path: why.path.clone(),
        value: why.value.clone(),
        step: why.step.clone(),
        pinned_over: why.pinned_over.clone(),
        pinned_line: why.pinned_at.as_ref().map(|at| at.line),
        inputs: why.inputs.iter().map(|input| one(stand, input)).collect(),
        is_told: why.told,
        leads_back: why.leads_back,
    }
}

fn one(stand: &Stand, input: &model::chain::WhyInput) -> wire::WhyInput {
    let (origin, source) = match input.origin {
        WhyOrigin::Intent => ("written", format!("you said so: {}", input.path)),
        WhyOrigin::Derived => ("derived", input.path.clone()),
        WhyOrigin::Table => {
            let cite = input.cite.as_ref();
            let row = cite.map_or_else(String::new, |cite| {
                let note = cite.note.as_ref().map_or_else(String::new, |note| format!("; {note}"));
                format!("{}: {}{note}", cite.title, cite.row)
            });
            ("table", row)
        }
        WhyOrigin::Part => {
            // `kind.id.field`: the title is of the part.
            let part = input.path.rsplitn(2, '.').last().unwrap_or_default();
            let title = choices::title(stand, part).or_else(|| choices::title(stand, &input.path));
            ("part", title.map_or_else(|| input.path.clone(), |title| format!("{title} ({})", input.path)))
        }
        WhyOrigin::Assumed => ("assumed", format!("{}; say otherwise at {}", input.note, input.path)),
        WhyOrigin::Practice => ("practice", format!("{}; common practice, no source", input.note)),
    };
    wire::WhyInput {
        what: input.what.clone(),
        value: input.value.clone(),
        origin: origin.to_owned(),
        source,
        path: input.path.clone(),
        line: input.written.as_ref().map(|at| at.line),
        provenance: input.cite.as_ref().map(|cite| cite.provenance.to_string()),
        why: input.why.as_ref().map(|why| Box::new(told(stand, why))),
    }
}
