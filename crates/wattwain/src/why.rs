//! `why`: the reasons behind a derived value, down to what was written, assumed or read from a table.
//! Never: follows a circle, says the same reason twice in full.
//! Start at [`run`].

use std::collections::BTreeSet;

use model::{Ledger, Origin, Project, System, read};
use reference::Reference;
use serde_json::{Value, json};

use crate::answer::{Answer, Failure};
use crate::cli::WhyArgs;
use crate::files;
use crate::show::Screen;

/// Explains.
pub fn run(args: &WhyArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = files::project(&args.project)?;
    let system = derive::derive(&project);
    let Some(path) = &args.path else { return list(&system, json, screen) };
    let asked = asked(&system.because, path);
    if asked.is_empty() {
        return Err(unknown(&system, path));
    }
    let mut chain =
        Chain { project: &project, system: &system, screen, above: Vec::new(), told: BTreeSet::new() };
    if json {
        let values: Vec<Value> = asked.iter().map(|path| chain.json(path)).collect();
        return Answer::json(&json!({ "asked": path, "values": values }));
    }
    let trees: Vec<String> = asked
        .iter()
        .map(|path| {
            let mut lines = Vec::new();
            chain.tree(path, "", &mut lines);
            lines.join("\n")
        })
        .collect();
    Ok(Answer::text(trees.join("\n\n")))
}

/// The values asked for: the one of that path, else all below it.
fn asked(ledger: &Ledger, path: &str) -> Vec<String> {
    if ledger.get(path).is_some() {
        return vec![path.to_owned()];
    }
    ledger.below(path).map(|(path, _)| path.clone()).collect()
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

struct Chain<'c> {
    project: &'c Project,
    system: &'c System,
    screen: &'c Screen,
    /// Paths from the one asked for down to the one being told.
    above: Vec<String>,
    /// Paths told in full.
    told: BTreeSet<String>,
}

impl Chain<'_> {
    fn tree(&mut self, path: &str, indent: &str, lines: &mut Vec<String>) {
        let Some(because) = self.system.because.get(path) else { return };
        let head = format!("{path} = {}", because.value);
        if indent.is_empty() {
            lines.push(self.screen.heading(&head));
        }
        if self.above.iter().any(|above| above == path) {
            lines.push(format!("{indent}(this leads back to {path}, told above)"));
            return;
        }
        if !self.told.insert(path.to_owned()) {
            lines.push(format!("{indent}(told above)"));
            return;
        }
        if let Some(derived) = &because.pinned_over {
            let place = self.place(&format!("pins.{path}"));
            lines.push(format!("{indent}pinned{place}; derived it would be {derived}"));
        }
        lines.push(self.screen.wrapped(&because.step, indent));
        self.above.push(path.to_owned());
        for input in &because.inputs {
            let origin = self.origin(&input.origin);
            lines.push(self.screen.item(&format!("{}: {} {origin}", input.what, input.value), indent));
            if let Origin::Derived(from) = &input.origin {
                self.tree(from, &format!("{indent}    "), lines);
            }
        }
        self.above.pop();
    }

    fn place(&self, path: &str) -> String {
        let Some(span) = self.project.spans.nearest(path) else { return String::new() };
        let (line, _) = self.project.source.line_column(span.start);
        format!(" in {}:{line}", self.project.source.name)
    }

    fn origin(&self, origin: &Origin) -> String {
        match origin {
            Origin::Intent(path) => format!("(you said so{}, {path})", self.place(path)),
            Origin::Derived(path) => format!("<- {path}"),
            Origin::Table(cite) => {
                let title = Reference::standard()
                    .sources()
                    .get(cite.source)
                    .map(|source| format!("{} {}", source.body, source.title));
                let note = cite.note.as_ref().map_or(String::new(), |note| format!("; {note}"));
                format!(
                    "[{}: {}, {}{note}]",
                    title.as_deref().unwrap_or(cite.source),
                    cite.row,
                    cite.provenance
                )
            }
            Origin::Part(part) => format!("(part {part})"),
            Origin::Assumed(path) => {
                let why = self.system.assumptions.iter().find(|assumption| &assumption.path == path);
                let why = why.map_or(String::new(), |assumption| format!(": {}", assumption.why));
                format!("(assumed{why}; say otherwise at {path})")
            }
            Origin::Practice(practice) => format!("({practice}; common practice, no source)"),
        }
    }

    fn json(&mut self, path: &str) -> Value {
        let Some(because) = self.system.because.get(path) else { return json!({ "path": path }) };
        if self.above.iter().any(|above| above == path) {
            return json!({ "path": path, "value": because.value, "leads_back": true });
        }
        if !self.told.insert(path.to_owned()) {
            return json!({ "path": path, "value": because.value, "told_above": true });
        }
        self.above.push(path.to_owned());
        let inputs: Vec<Value> = because
            .inputs
            .iter()
            .map(|input| {
                let mut value = json!({ "what": input.what, "value": input.value, "origin": input.origin });
                if let (Origin::Derived(from), Some(value)) = (&input.origin, value.as_object_mut()) {
                    value.insert("because".to_owned(), self.json(from));
                }
                value
            })
            .collect();
        self.above.pop();
        json!({
            "path": path,
            "value": because.value,
            "step": because.step,
            "pinned_over": because.pinned_over,
            "inputs": inputs,
        })
    }
}
