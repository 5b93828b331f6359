//! What the summary says, gathered once for Markdown and JSON.
//! Never: words a page (see `markdown.rs`), derives or studies anything.
//! Start at [`Summary::of`].

use std::collections::{BTreeMap, BTreeSet};

use model::parts::Chemistry;
use model::{
    Alternative, Assumption, CircuitKind, Craft, EnergyPlan, Gap, Origin, Place, Refusal, Spec, System,
    Unused,
};
use network::{Results, Scene};
use quantity::{AmpHours, Amps, Kilograms, Money, VoltAmps, Volts, WattHours, Watts};
use reference::{Cite, Provenance, Reference, RuleSet};
use rules::{Finding, Severity};
use serde::Serialize;

use crate::schedules::Schedules;
use crate::year::StudySummary;
use crate::{Inputs, SAFETY, plural};

/// A question that the person left open, with what each answer would come to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Question {
    /// Path in intent.toml where to answer.
    pub path: String,
    /// The question, with the value taken.
    pub text: String,
    /// What comes of the low end of the plausible range.
    pub low_result: String,
    /// What comes of its high end.
    pub high_result: String,
    /// How much hangs on it: larger is more.
    pub weight: f64,
}

/// The bank in short.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BankSummary {
    /// What one battery is.
    pub battery: String,
    /// Cell chemistry.
    pub chemistry: Chemistry,
    /// In series.
    pub series: u32,
    /// In parallel.
    pub parallel: u32,
    /// Capacity.
    pub capacity: AmpHours,
    /// Energy at nominal voltage.
    pub energy: WattHours,
    /// Usable energy.
    pub usable: WattHours,
    /// Largest continuous charging current.
    pub charge_limit: Amps,
    /// Largest continuous discharging current.
    pub discharge_limit: Amps,
    /// Prospective short-circuit current at its terminals.
    pub short_circuit: Amps,
}

/// An inverter in short.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct InverterSummary {
    /// The device's id.
    pub device: String,
    /// What it is.
    pub title: String,
    /// Continuous power.
    pub power: Watts,
    /// Continuous power in heat.
    pub power_hot: Watts,
    /// Surge power.
    pub surge: Watts,
    /// Alternating apparent power that runs at once, in normal use.
    pub peak: VoltAmps,
    /// Charging current of a combined unit.
    pub charge: Option<Amps>,
}

/// Currents of a circuit of the main side.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MainCurrent {
    /// The circuit's id.
    pub circuit: String,
    /// What it is called.
    pub title: String,
    /// Largest steady current that it is sized for.
    pub steady: Amps,
    /// Largest current for seconds.
    pub surge: Amps,
    /// Largest steady current of its conductors in the study; `None` on the AC side, which is not studied.
    pub studied: Option<Amps>,
}

/// A document that numbers come from.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SourceLine {
    /// Its key.
    pub key: String,
    /// Who issues it.
    pub body: String,
    /// Its title.
    pub title: String,
    /// Edition and year.
    pub edition: String,
    /// How well the least known of its rows in use is known.
    pub provenance: Provenance,
}

/// What the summary says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Summary {
    /// The safety note.
    pub safety: String,
    /// Name of the project.
    pub name: String,
    /// What is fitted out.
    pub craft: Craft,
    /// Rule set.
    pub rules: RuleSet,
    /// Nominal voltage.
    pub voltage: Volts,
    /// Alternating voltage.
    pub ac_voltage: Option<Volts>,
    /// Where it is used.
    pub place: Option<Place>,
    /// Mass that the system may have.
    pub payload: Option<Kilograms>,
    /// Mass of the parts list; `None` for a refused system.
    pub mass: Option<Kilograms>,
    /// Lowest and highest price of the parts list; `None` for a refused system.
    pub price: Option<(Money, Money)>,
    /// Why no schedule is issued; empty where there is one.
    pub refusals: Vec<Refusal>,
    /// What would do instead, tried.
    pub alternatives: Vec<Alternative>,
    /// The bank.
    pub bank: Option<BankSummary>,
    /// Mean energy, in and out.
    pub energy: EnergyPlan,
    /// The hourly year; `None` without a bank.
    pub study: Option<StudySummary>,
    /// The inverters.
    pub inverters: Vec<InverterSummary>,
    /// Currents of the main side.
    pub main_currents: Vec<MainCurrent>,
    /// The findings, the worst first.
    pub findings: Vec<Finding>,
    /// What the person did not say.
    pub assumptions: Vec<Assumption>,
    /// The open questions, the weightiest first.
    pub questions: Vec<Question>,
    /// Needs without a part.
    pub gaps: Vec<Gap>,
    /// Pins and built changes that could not be used.
    pub unused: Vec<Unused>,
    /// Values that are pinned.
    pub pinned: BTreeMap<String, String>,
    /// Documents that the numbers come from.
    pub sources: Vec<SourceLine>,
    /// The schedules; `None` for a refused system.
    pub schedules: Option<Schedules>,
    /// How many steps the build order has; 0 for a refused system.
    pub build_steps: u32,
}

impl Summary {
    /// Gathers it. Of a refused system it holds the refusal and what leads to it, and nothing that could be built from.
    pub fn of(inputs: &Inputs<'_>) -> Self {
        let Inputs { system, library, results, findings, .. } = *inputs;
        let is_refused = !system.refusals.is_empty();
        let schedules = (!is_refused).then(|| {
            let schedules = Schedules::of(system, library, results, inputs.study, findings);
            let schedules = inputs.labelling.into_iter().fold(schedules, Schedules::with_labelling);
            let schedules = inputs.layout.into_iter().fold(schedules, Schedules::with_board);
            inputs.vehicle.into_iter().fold(schedules, Schedules::with_vehicle)
        });
        let mut questions = inputs.questions.to_vec();
        questions.sort_by(|a, b| b.weight.total_cmp(&a.weight).then_with(|| a.path.cmp(&b.path)));
        let mut findings = findings.to_vec();
        // Stable, so that findings of one severity keep the order of the rules.
        findings.sort_by_key(|finding| finding.severity);
        Self {
            safety: SAFETY.to_owned(),
            name: system.name.clone(),
            craft: system.craft,
            rules: system.rules,
            voltage: system.voltage,
            ac_voltage: system.ac_voltage,
            place: system.place.clone(),
            payload: system.payload,
            mass: schedules.as_ref().map(|schedules| schedules.parts.mass),
            price: schedules.as_ref().map(|schedules| schedules.parts.price),
            refusals: system.refusals.clone(),
            alternatives: inputs.alternatives.to_vec(),
            bank: if is_refused { None } else { bank(system) },
            energy: system.energy.clone(),
            study: inputs.study.filter(|_| !is_refused).map(StudySummary::of),
            inverters: if is_refused { Vec::new() } else { inverters(system) },
            main_currents: if is_refused { Vec::new() } else { main_currents(system, results) },
            sources: sources(system, &findings, schedules.as_ref()),
            findings,
            assumptions: system.assumptions.clone(),
            questions,
            gaps: system.gaps.clone(),
            unused: system.unused.clone(),
            pinned: system.pinned.clone(),
            schedules,
            build_steps: 0,
        }
    }

    /// How many findings of each severity there are, in words.
    pub fn finding_counts(&self) -> String {
        let count = |severity: Severity| {
            let count = self.findings.iter().filter(|finding| finding.severity == severity).count();
            u32::try_from(count).unwrap_or(u32::MAX)
        };
        let answered = self.findings.iter().filter(|finding| finding.answered.is_some()).count();
        format!(
            "{} ({answered} answered), {}, {} of advice",
            plural(count(Severity::Danger), "danger"),
            plural(count(Severity::Warning), "warning"),
            count(Severity::Advice)
        )
    }
}

/// The summary for programs: JSON, ending in a line break. Quantities are `{"value": …, "unit": …}`.
pub fn summary_json(summary: &Summary) -> String {
    // Every map in it has text for keys, the only thing that this could fail on.
    let mut text = serde_json::to_string_pretty(summary).unwrap_or_else(|error| {
        serde_json::json!({ "safety": summary.safety, "error": error.to_string() }).to_string()
    });
    text.push('\n');
    text
}

fn bank(system: &System) -> Option<BankSummary> {
    let bank = system.bank.as_ref()?;
    let battery = bank.batteries.first().and_then(|ix| system.devices.get(*ix));
    let title = battery.map(|device| match &device.spec {
        Spec::Battery(battery) => battery.part.title.clone(),
        _ => device.title.clone(),
    });
    Some(BankSummary {
        battery: title.unwrap_or_default(),
        chemistry: bank.chemistry,
        series: bank.series,
        parallel: bank.parallel,
        capacity: bank.capacity,
        energy: bank.energy,
        usable: bank.usable,
        charge_limit: bank.charge_limit,
        discharge_limit: bank.discharge_limit,
        short_circuit: bank.short_circuit,
    })
}

fn inverters(system: &System) -> Vec<InverterSummary> {
    let inverter = |device: &model::Device| match &device.spec {
        Spec::Inverter(part, _) => Some(InverterSummary {
            device: device.id.clone(),
            title: part.title.clone(),
            power: part.power,
            power_hot: part.power_hot,
            surge: part.surge,
            peak: system.ac_peak,
            charge: part.charge,
        }),
        _ => None,
    };
    system.devices.iter().filter_map(inverter).collect()
}

fn main_currents(system: &System, results: &Results) -> Vec<MainCurrent> {
    let mut studied: Vec<Option<Amps>> = vec![None; system.circuits.len()];
    for (ix, conductor) in system.conductors.iter().enumerate() {
        if conductor.pole.is_ac()
            || !conductor.pole.carries_current()
            || results.scene(Scene::EverythingOn).is_none()
        {
            continue;
        }
        if let Some(slot) = studied.get_mut(conductor.circuit) {
            let amps = results.largest_steady(ix);
            *slot = Some(slot.map_or(amps, |known| known.max(amps)));
        }
    }
    system
        .circuits
        .iter()
        .zip(studied)
        .filter(|(circuit, _)| {
            !matches!(circuit.kind, CircuitKind::Branch | CircuitKind::AcBranch | CircuitKind::Bond)
        })
        .map(|(circuit, studied)| MainCurrent {
            circuit: circuit.id.clone(),
            title: circuit.title.clone(),
            steady: circuit.current_steady,
            surge: circuit.current_surge,
            studied,
        })
        .collect()
}

/// The documents behind every number: of the reasons, the findings, and the ends and colours of the cables.
fn sources(system: &System, findings: &[Finding], schedules: Option<&Schedules>) -> Vec<SourceLine> {
    let mut used: BTreeMap<&str, Provenance> = BTreeMap::new();
    let mut uses = |key: &'static str, provenance: Provenance| {
        let known = used.entry(key).or_insert(provenance);
        *known = (*known).max(provenance);
    };
    let mut cite = |cite: &Cite| uses(cite.source, cite.provenance);
    for (_, because) in system.because.iter() {
        for input in &because.inputs {
            if let Origin::Table(row) = &input.origin {
                cite(row);
            }
        }
    }
    findings.iter().flat_map(|finding| &finding.cite).for_each(&mut cite);
    let mut ends: BTreeSet<(&'static str, Provenance)> = BTreeSet::new();
    for row in schedules.map_or(&[][..], |schedules| &schedules.cables) {
        ends.extend(
            row.from.fitting.sources.iter().chain(&row.to.fitting.sources).chain([&row.colour_source]),
        );
    }
    for (key, provenance) in ends {
        uses(key, provenance);
    }
    let documents = Reference::standard().sources();
    let line = |(key, provenance): (&str, Provenance)| {
        let document = documents.get(key);
        SourceLine {
            key: key.to_owned(),
            body: document.map_or_else(String::new, |document| document.body.clone()),
            title: document.map_or_else(String::new, |document| document.title.clone()),
            edition: document.map_or_else(String::new, |document| {
                let year = document.year.to_string();
                match document.edition.contains(&year) {
                    true => document.edition.clone(),
                    false => format!("{}, {year}", document.edition),
                }
            }),
            provenance,
        }
    };
    used.into_iter().map(line).collect()
}
