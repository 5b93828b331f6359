//! Quick answers without a project: one question, one answer, with its reason and source.
//! Never: has a formula of its own; each answer calls what the derivation of a system calls.
//! Start at [`run`]; the words stand in `words.rs`.

mod battery;
mod cable;
mod words;

use reference::{Cite, Reference};
use serde::Serialize;

use crate::answer::{Answer, Failure};
use crate::show::{SAFETY, Screen};

pub use words::Question;

/// Answers.
pub fn run(question: &Question, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let reply = match question {
        Question::Conductor(args) => cable::conductor(args),
        Question::Fuse(args) => cable::fuse(args),
        Question::Drop(args) => cable::drop(args),
        Question::Ampacity(args) => cable::ampacity(args),
        Question::Gauge(args) => cable::gauge(args),
        Question::Runtime(args) => battery::runtime(args),
        Question::Fault(args) => battery::fault(args),
        Question::Share(args) => battery::share(args),
        Question::SolarString(args) => battery::solar_string(args),
    }?;
    if json { Answer::json(&reply) } else { Ok(Answer::text(reply.shown(screen))) }
}

/// One value of an answer.
#[derive(Serialize)]
struct Value {
    what: String,
    value: String,
}

/// An answer.
#[derive(Serialize, Default)]
struct Reply {
    /// The answer, most important first.
    values: Vec<Value>,
    /// The steps, with their numbers.
    because: Vec<String>,
    /// Table rows used.
    sources: Vec<Cite>,
    /// What to know before relying on it.
    notes: Vec<String>,
}

impl Reply {
    fn value(&mut self, what: impl Into<String>, value: impl ToString) -> &mut Self {
        self.values.push(Value { what: what.into(), value: value.to_string() });
        self
    }
    fn because(&mut self, step: impl Into<String>) -> &mut Self {
        self.because.push(step.into());
        self
    }
    fn cite(&mut self, cite: &Cite) -> &mut Self {
        if !self.sources.contains(cite) {
            self.sources.push(cite.clone());
        }
        self
    }
    fn note(&mut self, note: impl Into<String>) -> &mut Self {
        self.notes.push(note.into());
        self
    }

    fn shown(&self, screen: &Screen) -> String {
        let rows = self.values.iter().map(|value| vec![value.what.clone(), value.value.clone()]);
        let mut text = screen.table(&["!", ""], rows);
        let mut block = |word: &str, lines: Vec<String>| {
            for line in lines {
                let indent = " ".repeat(10);
                text.push_str(&format!(
                    "\n{:<10}{}",
                    format!("{word}:"),
                    screen.wrapped(&line, &indent).trim_start()
                ));
            }
        };
        block("because", self.because.clone());
        block("source", self.sources.iter().map(source).collect());
        block("note", self.notes.clone());
        text.push_str(&format!("\n\n{}", screen.quiet(&screen.wrapped(SAFETY, ""))));
        text
    }
}

fn source(cite: &Cite) -> String {
    let title = Reference::standard().sources().get(cite.source);
    let title =
        title.map_or_else(|| cite.source.to_owned(), |source| format!("{} {}", source.body, source.title));
    let note = cite.note.as_ref().map_or(String::new(), |note| format!("; {note}"));
    format!("{title}: {}, {}{note}", cite.row, cite.provenance)
}

/// A question outside a table: what the table covers and how to ask within it.
fn outside(error: reference::OutOfTable) -> Failure {
    let hint = error.hint.clone();
    Failure::plain(
        format!("{}: {} is outside the table, which covers {}", error.what, error.asked, error.range),
        "",
        hint,
    )
}
