//! The chain of reasons behind a derived value, as data: down to what was written, assumed, practised or read from a table.
//! Never: words a page, follows a circle, tells the same reason twice in full.
//! Start at [`why`].

use std::collections::BTreeSet;

use reference::{Provenance, Reference};
use serde::Serialize;

use crate::{Assumption, Ledger, Origin, Project, System};

/// How deep a chain is followed; what lies deeper is named with its value, and can be asked for by itself.
pub const DEEPEST: usize = 64;

/// Why one value is what it is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Why {
    /// Path of the value: `inverter.positive.gauge`.
    pub path: String,
    /// The value, shown.
    pub value: String,
    /// The step in words, with its numbers; empty where it is told above.
    pub step: String,
    /// What would have been chosen, where a pin stands instead.
    pub pinned_over: Option<String>,
    /// Where that pin is written.
    pub pinned_at: Option<Written>,
    /// What went in; empty where it is told above.
    pub inputs: Vec<WhyInput>,
    /// Whether the same value stands in full above this place of the answer.
    pub told: bool,
    /// Whether this is one of the values that it explains itself: a circle, which is not followed.
    pub leads_back: bool,
}

/// One thing that went in.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WhyInput {
    /// What it is, such as `length, one way`.
    pub what: String,
    /// Its value, shown.
    pub value: String,
    /// Where it comes from.
    pub origin: WhyOrigin,
    /// The path that was written or can be written, or of the derived value; the part; empty for a table and a practice.
    pub path: String,
    /// Why it was assumed, or the practice; empty otherwise.
    pub note: String,
    /// The row, where it was read from a table.
    pub cite: Option<WhyCite>,
    /// Where it stands, or the nearest table around it, where a person wrote it.
    pub written: Option<Written>,
    /// Why it is so itself, where it was derived and lies no deeper than [`DEEPEST`].
    pub why: Option<Box<Why>>,
}

/// Where an input comes from, in one word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum WhyOrigin {
    /// The person wrote it.
    Intent,
    /// Another derived value.
    Derived,
    /// A row of a table.
    Table,
    /// A part of the library.
    Part,
    /// Nobody said, so it was assumed.
    Assumed,
    /// Common practice, without a published source.
    Practice,
}

/// A row of a table, in words.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WhyCite {
    /// Key of the source.
    pub source: &'static str,
    /// Who issues it and its title.
    pub title: String,
    /// Table and row, or clause.
    pub row: String,
    /// How well the value is known.
    pub provenance: Provenance,
    /// What to know before relying on it.
    pub note: Option<String>,
}

/// A place in intent.toml.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Written {
    /// The file's name.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
}

/// Why the value at `path` is what it is; where `path` names a device, conductor or circuit, all values below it.
///
/// Empty where nothing is derived there. A value that several others rest on is told in full where it comes first.
pub fn why(project: &Project, system: &System, path: &str) -> Vec<Why> {
    let (because, assumptions) = (&system.because, system.assumptions.as_slice());
    let mut walk = Walk { project, because, assumptions, above: Vec::new(), told: BTreeSet::new() };
    asked(&system.because, path).iter().filter_map(|path| walk.why(path)).collect()
}

/// The values asked for: the one of that path, else all below it.
fn asked(ledger: &Ledger, path: &str) -> Vec<String> {
    if ledger.get(path).is_some() {
        return vec![path.to_owned()];
    }
    ledger.below(path).map(|(path, _)| path.clone()).collect()
}

struct Walk<'w> {
    project: &'w Project,
    because: &'w Ledger,
    assumptions: &'w [Assumption],
    /// Paths from the one asked for down to the one being told.
    above: Vec<String>,
    /// Paths told in full.
    told: BTreeSet<String>,
}

impl Walk<'_> {
    fn why(&mut self, path: &str) -> Option<Why> {
        let because = self.because.get(path)?;
        let mut why = Why {
            path: path.to_owned(),
            value: because.value.clone(),
            step: String::new(),
            pinned_over: None,
            pinned_at: None,
            inputs: Vec::new(),
            told: true,
            leads_back: self.above.iter().any(|above| above == path),
        };
        if why.leads_back || !self.told.insert(path.to_owned()) {
            return Some(why);
        }
        why.told = false;
        why.step.clone_from(&because.step);
        if because.pinned_over.is_some() {
            why.pinned_over.clone_from(&because.pinned_over);
            why.pinned_at = self.written(&format!("pins.{path}"));
        }
        self.above.push(path.to_owned());
        for input in &because.inputs {
            let mut told = self.input(&input.origin);
            (told.what, told.value) = (input.what.clone(), input.value.clone());
            why.inputs.push(told);
        }
        self.above.pop();
        Some(why)
    }

    fn input(&mut self, origin: &Origin) -> WhyInput {
        let mut input = WhyInput {
            what: String::new(),
            value: String::new(),
            origin: WhyOrigin::Intent,
            path: String::new(),
            note: String::new(),
            cite: None,
            written: None,
            why: None,
        };
        match origin {
            Origin::Intent(path) => {
                input.path.clone_from(path);
                input.written = self.written(path);
            }
            Origin::Derived(path) => {
                input.origin = WhyOrigin::Derived;
                input.path.clone_from(path);
                if self.above.len() < DEEPEST {
                    input.why = self.why(path).map(Box::new);
                }
            }
            Origin::Table(cite) => {
                input.origin = WhyOrigin::Table;
                let source = Reference::standard().sources().get(cite.source);
                let title = source.map(|source| format!("{} {}", source.body, source.title));
                input.cite = Some(WhyCite {
                    source: cite.source,
                    title: title.unwrap_or_else(|| cite.source.to_owned()),
                    row: cite.row.clone(),
                    provenance: cite.provenance,
                    note: cite.note.clone(),
                });
            }
            Origin::Part(part) => {
                input.origin = WhyOrigin::Part;
                input.path.clone_from(part);
            }
            Origin::Assumed(path) => {
                input.origin = WhyOrigin::Assumed;
                input.path.clone_from(path);
                let said = self.assumptions.iter().find(|assumption| &assumption.path == path);
                input.note = said.map_or_else(String::new, |assumption| assumption.why.clone());
            }
            Origin::Practice(practice) => {
                input.origin = WhyOrigin::Practice;
                input.note.clone_from(practice);
            }
        }
        input
    }

    fn written(&self, path: &str) -> Option<Written> {
        let span = self.project.spans.nearest(path)?;
        let (line, column) = self.project.source.line_column(span.start);
        Some(Written { file: self.project.source.name.clone(), line, column })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{BankVolts, Craft, Inputs, SourceText, begin};

    /// A project with a length and a pin written, and a system whose ledger holds what is given.
    fn told(reasons: &[(&str, crate::Because)], path: &str) -> Vec<Why> {
        let mut text = begin(Craft::Van, BankVolts::V12, reference::RuleSet::Na, "Test", true);
        text.push_str("[pins]\n\"fridge.gauge\" = \"8 AWG\"\n");
        let source = SourceText { name: "intent.toml".to_owned(), text };
        let project = Project::read(source, crate::library::builtin().clone()).expect("reads");
        let mut ledger = Ledger::default();
        for (path, because) in reasons {
            ledger.enter(*path, because.clone());
        }
        let mut walk = Walk {
            project: &project,
            because: &ledger,
            assumptions: &[],
            above: Vec::new(),
            told: BTreeSet::new(),
        };
        asked(&ledger, path).iter().filter_map(|path| walk.why(path)).collect()
    }
    fn from(path: &str) -> Origin {
        Origin::Derived(path.to_owned())
    }

    #[test]
    fn a_chain_says_where_each_input_is_written() {
        let mut pinned = Inputs::new()
            .with("length, one way", "3 m", Origin::Intent("loads.fridge.length".to_owned()))
            .with("current", "5 A", from("fridge.current"))
            .because("8 AWG", "the smallest that fits");
        pinned.pinned_over = Some("14 AWG".to_owned());
        let current = Inputs::new().because("5 A", "60 W / 12 V = 5 A");
        let whys = told(&[("fridge.gauge", pinned), ("fridge.current", current)], "fridge.gauge");
        let [why] = whys.as_slice() else { panic!("one value: {whys:?}") };
        assert_eq!((why.value.as_str(), why.pinned_over.as_deref()), ("8 AWG", Some("14 AWG")));
        let start = begin(Craft::Van, BankVolts::V12, reference::RuleSet::Na, "Test", true);
        assert_eq!(why.pinned_at.as_ref().map(|at| at.line), Some(start.lines().count() + 2));
        // The line is found anew, by reading the text as a person does.
        let below = start.lines().position(|line| line == "[loads.fridge]").expect("a fridge");
        let length =
            start.lines().skip(below).position(|line| line.starts_with("length")).expect("its length");
        let written = why.inputs[0].written.as_ref().expect("written");
        assert_eq!((written.line, written.file.as_str()), (below + length + 1, "intent.toml"));
        let deeper = why.inputs[1].why.as_ref().expect("derived");
        assert_eq!((deeper.path.as_str(), deeper.step.as_str()), ("fridge.current", "60 W / 12 V = 5 A"));
    }

    #[test]
    fn a_circle_is_told_and_not_followed() {
        let one = Inputs::new().with("b", "2", from("a.two")).because("1", "half of b");
        let two = Inputs::new().with("a", "1", from("a.one")).because("2", "twice a");
        let whys = told(&[("a.one", one), ("a.two", two)], "a");
        assert_eq!(whys.len(), 2, "all below a name");
        let back = whys[0].inputs[0].why.as_ref().and_then(|why| why.inputs[0].why.as_ref()).expect("named");
        assert!(back.leads_back && back.told && back.inputs.is_empty() && back.value == "1");
        assert!(whys[1].told && !whys[1].leads_back && whys[1].step.is_empty(), "told above in the first");
    }

    #[test]
    fn a_long_chain_ends_at_the_depth_and_names_what_lies_deeper() {
        let name = |n: usize| format!("v{n:05}");
        let names: Vec<String> = (0..50_000).map(name).collect();
        let reasons: Vec<(&str, crate::Because)> = names
            .iter()
            .zip(names.iter().skip(1))
            .map(|(path, next)| {
                (path.as_str(), Inputs::new().with("next", "1", from(next)).because("1", "as the next"))
            })
            .collect();
        let whys = told(&reasons, "v00000");
        let (mut why, mut depth) = (&whys[0], 1);
        while let Some(deeper) = why.inputs.first().and_then(|input| input.why.as_ref()) {
            (why, depth) = (deeper, depth + 1);
        }
        assert_eq!((depth, why.inputs[0].path.as_str()), (DEEPEST, name(DEEPEST).as_str()));
    }
}
