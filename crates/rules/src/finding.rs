//! A finding: what is wrong, where, why it matters, the numbers, and how to mend it.
//! Never: decides anything; rules fill it, [`crate::mend`] tries its fixes, the command line and the papers show it.
//! Start at [`Finding`]; a rule opens one with [`Out::danger`], [`Out::warning`] or [`Out::advice`].

use model::Edit;
use quantity::{Gauge, Written};
use reference::{Cite, Cited};
use serde::Serialize;

/// How bad a finding is, worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Someone may be hurt or something may burn. It cannot be hidden, only answered with a written reason.
    Danger,
    /// It will not work as meant, or wears out early.
    Warning,
    /// It works; this would be better.
    Advice,
}

impl Severity {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Danger => "danger",
            Severity::Warning => "warning",
            Severity::Advice => "advice",
        }
    }
}

/// A candidate way to mend a finding. It is offered only once [`crate::tried`] has tried it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fix {
    /// What to do, with the value: `make noon-fridge.positive 6 mm²`.
    pub what: String,
    /// The change to intent.toml; empty where the change is made by hand, so that it cannot be tried.
    pub edits: Vec<Edit>,
}

/// Something that a rule found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// The rule's id.
    pub rule: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, with the found and the allowed value.
    pub message: String,
    /// The device, conductor, circuit or path it is about.
    pub place: String,
    /// Path in intent.toml of the cause: the pin that made it, else the load, bank or other table it comes from.
    pub intent: String,
    /// What it means to a person.
    pub why: String,
    /// The numbers, one step each.
    pub because: Vec<String>,
    /// Table rows used.
    pub cite: Vec<Cite>,
    /// Ways to mend it, the smallest change first, not yet tried.
    pub fixes: Vec<Fix>,
    /// The reason that a person wrote for leaving it so; only for danger. It is still shown.
    pub answered: Option<String>,
}

impl Finding {
    /// Says what it means to a person.
    pub fn why(&mut self, why: impl Into<String>) -> &mut Self {
        self.why = why.into();
        self
    }
    /// Adds a step with its numbers.
    pub fn because(&mut self, step: impl Into<String>) -> &mut Self {
        self.because.push(step.into());
        self
    }
    /// Adds a table row, once.
    pub fn cite(&mut self, cite: &Cite) -> &mut Self {
        if !self.cite.contains(cite) {
            self.cite.push(cite.clone());
        }
        self
    }
    /// Adds the row of a looked-up value.
    pub fn cites<T>(&mut self, cited: &Cited<T>) -> &mut Self {
        self.cite(&cited.cite)
    }
    /// Adds a way to mend it that can be tried.
    pub fn fix(&mut self, what: impl Into<String>, edits: Vec<Edit>) -> &mut Self {
        let fix = Fix { what: what.into(), edits };
        if !self.fixes.contains(&fix) {
            self.fixes.push(fix);
        }
        self
    }
    /// Adds a way to mend it by hand.
    pub fn mend(&mut self, what: impl Into<String>) -> &mut Self {
        self.fix(what, Vec::new())
    }
    /// Adds: take the pin or the built change away, where the cause is one, so that `derive` chooses.
    pub fn undo(&mut self) -> &mut Self {
        if let Some(pin) = self.intent.strip_prefix("pins.").map(str::to_owned) {
            self.fix(
                format!("take the pin `{pin}` away, so that a fitting value is derived"),
                vec![Edit::pin(&pin, None)],
            )
        } else if self.intent.starts_with("built[") {
            let change = self.intent.split('.').next().unwrap_or_default().to_owned();
            self.fix(
                format!("build it as derived: take `{change}` away"),
                vec![Edit { path: vec![change], value: None }],
            )
        } else {
            self
        }
    }
    /// Adds: pin a value at `path`.
    pub fn pin(&mut self, what: impl Into<String>, path: &str, value: impl Into<String>) -> &mut Self {
        self.fix(what, vec![Edit::pin(path, Some(value.into()))])
    }
    /// Adds: make conductors this size.
    pub fn resize(&mut self, conductors: &[&str], gauge: Gauge) -> &mut Self {
        let edits =
            conductors.iter().map(|id| Edit::pin(&format!("{id}.gauge"), Some(gauge.show()))).collect();
        self.fix(format!("make {} {}", conductors.join(" and "), gauge.show()), edits)
    }
}

/// Takes the findings of one rule.
pub struct Out {
    pub(crate) rule: &'static str,
    pub(crate) findings: Vec<Finding>,
}

impl Out {
    pub(crate) fn new(rule: &'static str) -> Self {
        Self { rule, findings: Vec::new() }
    }
    /// Opens a finding at `place`, caused at `intent`.
    pub fn open(
        &mut self,
        severity: Severity,
        place: impl Into<String>,
        intent: impl Into<String>,
        message: impl Into<String>,
    ) -> &mut Finding {
        let at = self.findings.len();
        self.findings.push(Finding {
            rule: self.rule,
            severity,
            message: message.into(),
            place: place.into(),
            intent: intent.into(),
            why: String::new(),
            because: Vec::new(),
            cite: Vec::new(),
            fixes: Vec::new(),
            answered: None,
        });
        &mut self.findings[at]
    }
    /// Opens a finding of severity danger.
    pub fn danger(
        &mut self,
        place: impl Into<String>,
        intent: impl Into<String>,
        message: impl Into<String>,
    ) -> &mut Finding {
        self.open(Severity::Danger, place, intent, message)
    }
    /// Opens a finding of severity warning.
    pub fn warning(
        &mut self,
        place: impl Into<String>,
        intent: impl Into<String>,
        message: impl Into<String>,
    ) -> &mut Finding {
        self.open(Severity::Warning, place, intent, message)
    }
    /// Opens a finding of severity advice.
    pub fn advice(
        &mut self,
        place: impl Into<String>,
        intent: impl Into<String>,
        message: impl Into<String>,
    ) -> &mut Finding {
        self.open(Severity::Advice, place, intent, message)
    }
}
