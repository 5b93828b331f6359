//! Trying the mends of a finding: change the project, derive, study and judge it again.
//! Never: changes the project itself, offers a mend that it has not tried.
//! Start at [`tried`]; [`Trials`] tries many findings of one project without judging it anew each time.

use std::collections::BTreeMap;

use model::{Edit, Project, System};
use network::Results;
use quantity::{Kilograms, Money};
use serde::Serialize;

use crate::{Finding, Severity, check};

/// A mend that works: with these edits the finding is gone and nothing new is wrong.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tried {
    /// What to do.
    pub what: String,
    /// The change to intent.toml.
    pub edits: Vec<Edit>,
    /// What it changes besides: price and mass.
    pub effect: String,
    /// Other findings that it mends too, as `rule at place`.
    pub also: Vec<String>,
}

/// A project whose mends are to be tried.
pub struct Trials<'p> {
    project: &'p Project,
    system: System,
    before: Vec<Finding>,
    study: fn(&System) -> Results,
}

impl<'p> Trials<'p> {
    /// Derives, studies and judges the project as it is; `study` is [`network::study`].
    pub fn new(project: &'p Project, study: fn(&System) -> Results) -> Self {
        let system = derive::derive(project);
        let before = check(&system, &study(&system));
        Self { project, system, before, study }
    }
    /// What is found in the project as it is.
    pub fn findings(&self) -> &[Finding] {
        &self.before
    }
    /// The first fix of a finding that works: the finding is gone, and nothing is a danger or warning that was not one before.
    pub fn tried(&self, finding: &Finding) -> Option<Tried> {
        finding.fixes.iter().filter(|fix| !fix.edits.is_empty()).find_map(|fix| {
            let changed = self.project.with_edits(&fix.edits).ok()?;
            let system = derive::derive(&changed);
            let after = check(&system, &(self.study)(&system));
            if !self.is_better(finding, &after) {
                return None;
            }
            let is_gone = |known: &&Finding| {
                (known.rule, &known.place) != (finding.rule, &finding.place)
                    && !after.iter().any(|found| found.rule == known.rule && found.place == known.place)
            };
            Some(Tried {
                what: fix.what.clone(),
                edits: fix.edits.clone(),
                effect: effect(&self.system, &system),
                also: self
                    .before
                    .iter()
                    .filter(is_gone)
                    .map(|found| format!("{} at {}", found.rule, found.place))
                    .collect(),
            })
        })
    }

    fn is_better(&self, finding: &Finding, after: &[Finding]) -> bool {
        let mut known: BTreeMap<(&str, &str), Severity> = BTreeMap::new();
        for found in &self.before {
            let worst = known.entry((found.rule, &found.place)).or_insert(found.severity);
            *worst = (*worst).min(found.severity);
        }
        after.iter().all(|found| {
            let is_same = found.rule == finding.rule && found.place == finding.place;
            let is_new =
                known.get(&(found.rule, found.place.as_str())).is_none_or(|was| found.severity < *was);
            !(is_same || is_new && found.severity != Severity::Advice)
        })
    }
}

/// The first fix of a finding of this project that works; see [`Trials::tried`].
pub fn tried(project: &Project, finding: &Finding) -> Option<Tried> {
    Trials::new(project, network::study).tried(finding)
}

/// The difference in price and mass of the devices.
fn effect(before: &System, after: &System) -> String {
    let price = |system: &System| {
        let sum = |end: fn(&(Money, Money)) -> Money| {
            system.devices.iter().map(|device| end(&device.price)).sum::<Money>()
        };
        (sum(|price| price.0) + sum(|price| price.1)) / 2.0
    };
    let (money, mass) = (price(after) - price(before), after.device_mass() - before.device_mass());
    let sign = |value: f64| if value > 0.0 { "+" } else { "" };
    let mut parts = Vec::new();
    if money.abs() >= Money::new(0.5) {
        parts.push(format!("price of devices {}{}", sign(money.get()), money.get().round()));
    }
    if mass.abs() >= Kilograms::new(0.05) {
        parts.push(format!("mass of devices {}{mass}", sign(mass.get())));
    }
    if parts.is_empty() { "the devices stay as they are".to_owned() } else { parts.join(", ") }
}
