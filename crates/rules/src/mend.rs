//! Trying the mends of a finding: change the project, derive, study and judge it again.
//! Never: changes the project itself, offers a mend that it has not tried.
//! Start at [`Trials::tried`] for the mend of a finding, [`Trials::effect_of`] for any change; [`tried`] is for one finding alone.

use std::collections::{BTreeMap, BTreeSet};

use energy::Study;
use model::{Edit, Project, Spec, System};
use network::Results;
use quantity::{Kilograms, Money};
use serde::Serialize;

use crate::{Finding, Severity, check, judge};

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
    /// The same and more in numbers; the mended finding itself is among those that go.
    pub change: Effect,
}

/// What a change to intent.toml does to the project.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Effect {
    /// Lowest and highest price of the devices before; cable and fittings are not in it.
    pub price_before: (Money, Money),
    /// The same after.
    pub price_after: (Money, Money),
    /// Mass of the devices before.
    pub mass_before: Kilograms,
    /// The same after.
    pub mass_after: Kilograms,
    /// Difference in price and mass, in words.
    pub shown: String,
    /// Findings that go.
    pub gone: Vec<Changed>,
    /// Findings that come or get worse, advice too.
    pub comes: Vec<Changed>,
    /// Whether the system after the change is refused, so that nothing could be built from it.
    pub refused: bool,
}

/// A finding that goes or comes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Changed {
    /// How bad it is.
    pub severity: Severity,
    /// The rule.
    pub rule: &'static str,
    /// The place.
    pub place: String,
    /// What is wrong.
    pub message: String,
}

impl Changed {
    fn of(finding: &Finding) -> Self {
        Self {
            severity: finding.severity,
            rule: finding.rule,
            place: finding.place.clone(),
            message: finding.message.clone(),
        }
    }
}

/// A project whose mends are to be tried.
pub struct Trials<'p> {
    project: &'p Project,
    system: System,
    before: Vec<Finding>,
    /// The same with nothing held back, so that what a short circuit hides is not taken for new once it is mended.
    known: Vec<Finding>,
    derive: &'p dyn Fn(&Project) -> System,
    study: fn(&System) -> Results,
    energy: &'p dyn Fn(&System) -> Option<Study>,
    lasts: Option<Study>,
}

impl<'p> Trials<'p> {
    /// Derives, studies and judges the project as it is; `study` is [`network::study`], `energy` calls [`energy::study`] with
    /// the weather of the project.
    pub fn new(
        project: &'p Project,
        study: fn(&System) -> Results,
        energy: &'p dyn Fn(&System) -> Option<Study>,
    ) -> Self {
        Self::derived_by(project, &derive::derive, study, energy)
    }
    /// The same where `derive` says how a project is derived: with the lengths of a board that somebody designed.
    pub fn derived_by(
        project: &'p Project,
        derive: &'p dyn Fn(&Project) -> System,
        study: fn(&System) -> Results,
        energy: &'p dyn Fn(&System) -> Option<Study>,
    ) -> Self {
        let system = derive(project);
        let lasts = energy(&system);
        let results = study(&system);
        let before = check(&system, &results, lasts.as_ref());
        let known = judge(&system, &results, lasts.as_ref(), &[], false);
        Self { project, system, before, known, derive, study, energy, lasts }
    }
    /// What is found in the project as it is.
    pub fn findings(&self) -> &[Finding] {
        &self.before
    }
    /// The first fix of a finding that works: the finding is gone, and nothing is a danger or warning that was not one before.
    pub fn tried(&self, finding: &Finding) -> Option<Tried> {
        finding.fixes.iter().filter(|fix| !fix.edits.is_empty()).find_map(|fix| {
            let (system, after) = self.after(&fix.edits)?;
            if !self.is_better(finding, &after, &[]) {
                return None;
            }
            let change = self.change(&system, &after, &[]);
            Some(told(fix, finding, change))
        })
    }
    /// The same for a finding that was made beside the rules, such as of the mounting board: `beside` is all that is found there now,
    /// and `anew` derives a changed project and tells what is found there then. Both, and the rules, must find nothing worse.
    pub fn tried_beside(
        &self,
        finding: &Finding,
        beside: &[Finding],
        anew: &dyn Fn(&Project) -> (System, Vec<Finding>),
    ) -> Option<Tried> {
        finding.fixes.iter().filter(|fix| !fix.edits.is_empty()).find_map(|fix| {
            let changed = self.project.with_edits(&fix.edits).ok()?;
            let (system, then) = anew(&changed);
            let after = self.judged(&system, &then, true);
            (system.refusals.is_empty() && self.is_better(finding, &after, beside)).then(|| {
                let change = self.change(&system, &after, beside);
                told(fix, finding, change)
            })
        })
    }
    /// What any change does; `None` where the project with it could not be read.
    pub fn effect_of(&self, edits: &[Edit]) -> Option<Effect> {
        let (system, after) = self.after(edits)?;
        Some(self.change(&system, &after, &[]))
    }

    /// The system with the edits made, and what is found in it, with nothing held back.
    fn after(&self, edits: &[Edit]) -> Option<(System, Vec<Finding>)> {
        let changed = self.project.with_edits(edits).ok()?;
        let system = (self.derive)(&changed);
        let after = self.judged(&system, &[], false);
        Some((system, after))
    }

    /// What is found in a system and beside it, with nothing held back.
    fn judged(&self, system: &System, beside: &[Finding], is_board_seen: bool) -> Vec<Finding> {
        let fresh;
        let lasts = if same_energy(&self.system, system) {
            self.lasts.as_ref()
        } else {
            fresh = (self.energy)(system);
            fresh.as_ref()
        };
        judge(system, &(self.study)(system), lasts, beside, is_board_seen)
    }

    fn change(&self, system: &System, after: &[Finding], beside: &[Finding]) -> Effect {
        let known = self.worst_known(beside);
        let left: BTreeSet<(&str, &str)> =
            after.iter().map(|found| (found.rule, found.place.as_str())).collect();
        let is_gone = |found: &&Finding| !left.contains(&(found.rule, found.place.as_str()));
        let is_new = |found: &&Finding| {
            known.get(&(found.rule, found.place.as_str())).is_none_or(|was| found.severity < *was)
        };
        Effect {
            price_before: price(&self.system),
            price_after: price(system),
            mass_before: self.system.device_mass(),
            mass_after: system.device_mass(),
            shown: effect(&self.system, system),
            gone: self.before.iter().chain(beside).filter(is_gone).map(Changed::of).collect(),
            comes: after.iter().filter(is_new).map(Changed::of).collect(),
            refused: !system.refusals.is_empty(),
        }
    }

    /// Each finding that the project has, held back or not, with its worst severity.
    fn worst_known<'f>(&'f self, beside: &'f [Finding]) -> BTreeMap<(&'f str, &'f str), Severity> {
        let mut known: BTreeMap<(&str, &str), Severity> = BTreeMap::new();
        for found in self.before.iter().chain(&self.known).chain(beside) {
            let worst = known.entry((found.rule, &found.place)).or_insert(found.severity);
            *worst = (*worst).min(found.severity);
        }
        known
    }

    fn is_better(&self, finding: &Finding, after: &[Finding], beside: &[Finding]) -> bool {
        let known = self.worst_known(beside);
        after.iter().all(|found| {
            let is_same = found.rule == finding.rule && found.place == finding.place;
            let is_new =
                known.get(&(found.rule, found.place.as_str())).is_none_or(|was| found.severity < *was);
            !(is_same || is_new && found.severity != Severity::Advice)
        })
    }
}

/// A fix that works, with what it changes besides.
fn told(fix: &crate::Fix, finding: &Finding, change: Effect) -> Tried {
    let is_other = |gone: &&Changed| (gone.rule, &gone.place) != (finding.rule, &finding.place);
    let also = change.gone.iter().filter(is_other).map(|gone| format!("{} at {}", gone.rule, gone.place));
    Tried {
        what: fix.what.clone(),
        edits: fix.edits.clone(),
        effect: change.shown.clone(),
        also: also.collect(),
        change,
    }
}

/// The first fix of a finding of this project that works; see [`Trials::tried`].
pub fn tried(project: &Project, finding: &Finding) -> Option<Tried> {
    Trials::new(project, network::study, &|system| energy::study(system, None)).tried(finding)
}

/// Whether the energy study of two systems is the same, because nothing that it reads differs: use, zones, bank and every
/// device but those that only switch and protect; and, where a relay charges by cable, the conductors.
pub fn same_energy(before: &System, after: &System) -> bool {
    fn devices(system: &System) -> impl Iterator<Item = (&str, &Spec)> {
        let is_read = |spec: &Spec| {
            !matches!(
                spec,
                Spec::Fuse(_)
                    | Spec::Breaker(_)
                    | Spec::Disconnect(_)
                    | Spec::Busbar(_)
                    | Spec::FusePanel(_)
                    | Spec::AcPanel(_)
                    | Spec::TransferSwitch(_)
                    | Spec::Chassis
            )
        };
        system
            .devices
            .iter()
            .filter(move |device| is_read(&device.spec))
            .map(|device| (device.id.as_str(), &device.spec))
    }
    let by_cable = |system: &System| devices(system).any(|(_, spec)| matches!(spec, Spec::Relay(_)));
    before.usage == after.usage
        && before.zones == after.zones
        // A bank counts its batteries by their place among all devices, which a fuse more or less moves.
        && before.bank.as_ref().map(electrical) == after.bank.as_ref().map(electrical)
        && devices(before).eq(devices(after))
        && (!by_cable(before)
            || before.conductors == after.conductors && before.circuits == after.circuits)
}

/// A bank without the places of its batteries.
fn electrical(bank: &model::Bank) -> model::Bank {
    model::Bank { batteries: Vec::new(), ..bank.clone() }
}

/// Lowest and highest price of all devices.
fn price(system: &System) -> (Money, Money) {
    let sum = |end: fn(&(Money, Money)) -> Money| {
        system.devices.iter().map(|device| end(&device.price)).sum::<Money>()
    };
    (sum(|price| price.0), sum(|price| price.1))
}

/// The difference in price and mass of the devices.
fn effect(before: &System, after: &System) -> String {
    let mean = |system: &System| {
        let (low, high) = price(system);
        (low + high) / 2.0
    };
    let (money, mass) = (mean(after) - mean(before), after.device_mass() - before.device_mass());
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

#[cfg(test)]
mod tests {
    use model::SourceText;

    use super::*;

    // What is taken for the same must be the same: the study of the changed system equals the one that is used for it.
    #[test]
    fn a_study_is_used_again_only_where_it_would_come_out_the_same() {
        let text = include_str!("../../../examples/heron/intent.toml").to_owned();
        let source = SourceText { name: "intent.toml".to_owned(), text };
        let project = Project::read(source, model::library::builtin().clone()).expect("reads");
        let before = derive::derive(&project);
        let known = energy::study(&before, None);
        let after = |edit: Edit| derive::derive(&project.with_edits(&[edit]).expect("the edit applies"));
        for edit in [
            Edit::pin("fridge.positive.gauge", Some("8 AWG".to_owned())),
            Edit::pin("main.fuse.rating", Some("250 A".to_owned())),
            Edit::set("loads.fridge.length", "6 m"),
            Edit::set("brief.payload", "400 kg"),
        ] {
            let system = after(edit.clone());
            assert!(same_energy(&before, &system), "{}", edit.shown());
            assert_eq!(energy::study(&system, None), known, "{}", edit.shown());
        }
        for edit in [
            Edit::set("shore.hours", "2 h/day"),
            Edit::set("solar.roof.count", "6"),
            Edit::set("bank.capacity", "700 Ah"),
            Edit::set("loads.fridge.part", "fridge-65l"),
            Edit::set("zones.bench.coldest", "-5 °C"),
            Edit::set("inverter.hours", "9 h/day"),
        ] {
            assert!(!same_energy(&before, &after(edit.clone())), "{}", edit.shown());
        }
    }
}
