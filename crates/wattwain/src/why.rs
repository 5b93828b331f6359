//! `why`: the reasons behind a derived value, down to what was written, assumed or read from a table.
//! Never: walks the chain itself (see `model::chain`).
//! Start at [`run`].

use std::collections::BTreeSet;

use model::chain::{self, Why, WhyInput, WhyOrigin, Written};
use model::{System, read};
use serde_json::{Value, json};

use crate::answer::{Answer, Failure};
use crate::cli::WhyArgs;
use crate::show::Screen;

/// Explains.
pub fn run(args: &WhyArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let system = ::board::derived(&project).system;
    let Some(path) = &args.path else { return list(&system, json, screen) };
    let values = chain::why(&project, &system, path);
    if values.is_empty() {
        return Err(unknown(&system, path));
    }
    if json {
        return Answer::json(&json!({ "asked": path, "values": values }));
    }
    let trees: Vec<String> = values
        .iter()
        .map(|why| {
            let mut lines = vec![screen.heading(&format!("{} = {}", why.path, why.value))];
            tree(screen, why, "", &mut lines);
            lines.join("\n")
        })
        .collect();
    Ok(Answer::text(trees.join("\n\n")))
}

fn list(system: &System, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    if json {
        let values: Vec<Value> = system
            .because
            .iter()
            .map(|(path, because)| json!({ "path": path, "value": because.value }))
            .collect();
        return Answer::json(&json!({ "values": values }));
    }
    let rows = system.because.iter().map(|(path, because)| vec![path.clone(), because.value.clone()]);
    let table = screen.table(&["!path", "value"], rows);
    Ok(Answer::text(format!("{table}\n\nAsk for any of these, or for all below a name, such as `fridge`.")))
}

fn unknown(system: &System, path: &str) -> Failure {
    let mut known: BTreeSet<&str> = BTreeSet::new();
    for (known_path, _) in system.because.iter() {
        let mut at = known_path.as_str();
        known.insert(at);
        while let Some(dot) = at.rfind('.') {
            at = &at[..dot];
            known.insert(at);
        }
    }
    let ids: Vec<&str> = system
        .devices
        .iter()
        .map(|device| device.id.as_str())
        .chain(system.conductors.iter().map(|conductor| conductor.id.as_str()))
        .chain(system.circuits.iter().map(|circuit| circuit.id.as_str()))
        .collect();
    let what = if ids.contains(&path) {
        format!("`{path}` is there, but nothing about it was derived: it follows from its neighbours")
    } else {
        format!("nothing is derived at `{path}`")
    };
    let mend = match read::nearest(path, known.into_iter()) {
        Some(near) => format!("Did you mean `{near}`? Without a path, all are listed"),
        None => "Leave the path out to list all that can be asked".to_owned(),
    };
    Failure::plain(what, "", mend)
}

fn tree(screen: &Screen, why: &Why, indent: &str, lines: &mut Vec<String>) {
    if why.leads_back {
        lines.push(format!("{indent}(this leads back to {}, told above)", why.path));
        return;
    }
    if why.told {
        lines.push(format!("{indent}(told above)"));
        return;
    }
    if let Some(derived) = &why.pinned_over {
        let place = place(why.pinned_at.as_ref());
        lines.push(format!("{indent}pinned{place}; derived it would be {derived}"));
    }
    lines.push(screen.wrapped(&why.step, indent));
    for input in &why.inputs {
        lines.push(screen.item(&format!("{}: {} {}", input.what, input.value, origin(input)), indent));
        if let Some(deeper) = &input.why {
            tree(screen, deeper, &format!("{indent}    "), lines);
        }
    }
}

fn place(written: Option<&Written>) -> String {
    written.map_or_else(String::new, |at| format!(" in {}:{}", at.file, at.line))
}

fn origin(input: &WhyInput) -> String {
    let path = &input.path;
    match input.origin {
        WhyOrigin::Intent => format!("(you said so{}, {path})", place(input.written.as_ref())),
        WhyOrigin::Derived => format!("<- {path}"),
        WhyOrigin::Table => input.cite.as_ref().map_or_else(String::new, |cite| {
            let note = cite.note.as_ref().map_or(String::new(), |note| format!("; {note}"));
            format!("[{}: {}, {}{note}]", cite.title, cite.row, cite.provenance)
        }),
        WhyOrigin::Part => format!("(part {path})"),
        WhyOrigin::Assumed => {
            let why = if input.note.is_empty() { String::new() } else { format!(": {}", input.note) };
            format!("(assumed{why}; say otherwise at {path})")
        }
        WhyOrigin::Practice => format!("({}; common practice, no source)", input.note),
    }
}
