//! Findings with their place in the file and on the diagram.
//! Never: drops one.
//! Start at [`findings`].

use std::collections::{BTreeMap, BTreeSet};

use model::System;
use rules::Severity;

use crate::{Stand, wire};

/// Where the places of findings lie on the diagram: by id of device, conductor and circuit.
pub struct Spots<'s> {
    system: &'s System,
    /// Ids of devices and conductors.
    things: BTreeSet<&'s str>,
    /// First thing of each circuit.
    circuits: BTreeMap<&'s str, &'s str>,
    /// First device of each table of the file.
    tables: BTreeMap<&'s str, &'s str>,
}

impl<'s> Spots<'s> {
    /// Of a system.
    pub fn of(system: &'s System) -> Self {
        let mut first: Vec<Option<&str>> = vec![None; system.circuits.len()];
        for conductor in &system.conductors {
            if let Some(slot) = first.get_mut(conductor.circuit) {
                slot.get_or_insert(&conductor.id);
            }
        }
        let device = |ix: &usize| system.devices.get(*ix).map(|device| device.id.as_str());
        let circuits = system.circuits.iter().zip(first).filter_map(|(circuit, first)| {
            let spot = circuit.serves.iter().chain(&circuit.protection).find_map(device).or(first)?;
            Some((circuit.id.as_str(), spot))
        });
        let devices = system.devices.iter().map(|device| device.id.as_str());
        let conductors = system.conductors.iter().map(|conductor| conductor.id.as_str());
        Self {
            system,
            things: devices.chain(conductors).collect(),
            circuits: circuits.collect(),
            // The first stands last, so that it is the one that stays.
            tables: system
                .devices
                .iter()
                .rev()
                .map(|device| (device.intent.as_str(), device.id.as_str()))
                .collect(),
        }
    }

    /// The device or conductor to show for a place; `intent` helps where the place is none.
    pub fn find(&self, place: &str, intent: &str) -> Option<&'s str> {
        let own = above(place).find_map(|at| {
            let thing = self.things.get(at).copied();
            thing.or_else(|| self.circuits.get(at).copied()).or_else(|| self.below(at))
        });
        let intent = intent.strip_prefix("pins.").unwrap_or(intent);
        own.or_else(|| above(place).find_map(|at| self.tables.get(at).copied()))
            .or_else(|| above(intent).find_map(|at| self.tables.get(at).copied()))
            .or_else(|| (place == "bank").then(|| self.bank()).flatten())
    }

    /// The first thing whose id goes on where `place` ends: `engine.charge.fuse` for `engine.charge`.
    fn below(&self, place: &str) -> Option<&'s str> {
        let is_below = |id: &&&str| id.strip_prefix(place).is_some_and(|rest| rest.starts_with('.'));
        self.things.iter().find(is_below).copied()
    }

    fn bank(&self) -> Option<&'s str> {
        let first = *self.system.bank.as_ref()?.batteries.first()?;
        self.system.devices.get(first).map(|device| device.id.as_str())
    }
}

/// A path and the paths above it, the longest first.
fn above(path: &str) -> impl Iterator<Item = &str> {
    std::iter::successors((!path.is_empty()).then_some(path), |path| {
        path.rfind('.').map(|dot| &path[..dot]).filter(|path| !path.is_empty())
    })
}

/// A severity as the page has it.
pub fn severity(severity: Severity) -> wire::Severity {
    match severity {
        Severity::Danger => wire::Severity::Danger,
        Severity::Warning => wire::Severity::Warning,
        Severity::Advice => wire::Severity::Advice,
    }
}

/// How many of each.
pub fn counts(stand: &Stand) -> wire::Counts {
    let count = |severity| stand.findings.iter().filter(|finding| finding.severity == severity).count();
    let is_open =
        |finding: &&rules::Finding| finding.severity == Severity::Danger && finding.answered.is_none();
    wire::Counts {
        danger: count(Severity::Danger),
        unanswered: stand.findings.iter().filter(is_open).count(),
        warning: count(Severity::Warning),
        advice: count(Severity::Advice),
    }
}

/// All of them, in the order of the rules: the worst first.
pub fn findings(stand: &Stand, spots: &Spots<'_>) -> Vec<wire::Finding> {
    stand
        .findings
        .iter()
        .map(|finding| wire::Finding {
            rule: finding.rule.to_owned(),
            title: rules::rule(finding.rule)
                .map(|rule| rule.title.to_owned())
                .or_else(|| board::check_page(finding.rule).map(|check| check.title.clone()))
                .unwrap_or_else(|| finding.rule.replace('-', " ")),
            severity: severity(finding.severity),
            message: finding.message.clone(),
            place: finding.place.clone(),
            on_diagram: spots.find(&finding.place, &finding.intent).map(str::to_owned),
            intent: finding.intent.clone(),
            line: stand.line(&finding.intent),
            why: finding.why.clone(),
            because: finding.because.clone(),
            sources: finding.cite.iter().map(ToString::to_string).collect(),
            can_try: finding.fixes.iter().any(|fix| !fix.edits.is_empty()),
            by_hand: by_hand(finding),
            answered: finding.answered.clone(),
        })
        .collect()
}

/// Mends that a person makes by hand.
pub fn by_hand(finding: &rules::Finding) -> Vec<String> {
    finding.fixes.iter().filter(|fix| fix.edits.is_empty()).map(|fix| fix.what.clone()).collect()
}

/// One in a line.
pub fn in_a_line(finding: &rules::Finding) -> wire::FindingLine {
    wire::FindingLine {
        severity: severity(finding.severity),
        rule: finding.rule.to_owned(),
        place: finding.place.clone(),
        message: finding.message.clone(),
    }
}
