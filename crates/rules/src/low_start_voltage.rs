//! A load gets too little voltage to start.
//! Never: computes the voltage (see the study) or judges drops in per cent (see `excess_voltage_drop.rs`).
//! Start at [`RULE`].

use model::{Pole, Spec, TerminalRef};
use network::Scene;
use quantity::Volts;

use crate::{Case, Out, Severity, rule, sources};

rule! {
    /// ## What
    /// With a low bank and everything on or starting, the voltage at a motor or heater is below the least at which it starts.
    /// ## Why
    /// A compressor stalls and hums, a diesel heater gives up with a fault, a pump does not clear the bilge.
    /// ## Limit
    /// The load's lowest start voltage. Danger where the load is critical, else warning.
    /// ## Mend
    /// A thicker or shorter run, or a feeder of its own.
    /// ## Silent when
    /// The load starts at the voltage it gets, runs on AC, or its sheet gives no limit.
    /// ## Example
    /// A heater that needs 11.0 V at its plug, behind 8 m of 2.5 mm².
    "low-start-voltage", Danger, "a load gets too little voltage to start",
    reads: "voltages at the loads in the scenes with everything on and starting, sheets of the loads",
    na: "ABYC E-11.14.2; maker's limit", iec: "ISO 13297, annex A; maker's limit", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::Load(load) = &device.spec else { continue };
        let Some(least) = load.lowest_start else { continue };
        let lowest = [Scene::Starting, Scene::EverythingOn]
            .into_iter()
            .filter_map(|scene| Some((at_load(case, scene, ix)?, scene)))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((volts, scene)) = lowest else { continue };
        if volts >= least {
            continue;
        }
        let severity = if load.critical { Severity::Danger } else { Severity::Warning };
        let when = if scene == Scene::Starting { "while it starts" } else { "with everything on" };
        let conductors = feeding(case, ix);
        let cause =
            conductors.first().map_or_else(|| device.intent.clone(), |conductor| case.gauge_cause(conductor));
        let found = out.open(
            severity,
            &device.id,
            cause,
            format!("{} gets {volts} {when}; it needs {least} to start", load.title),
        );
        found.why("It hums, stalls or switches off with a fault, most likely when the bank is low.");
        found.because(format!(
            "the study finds {volts} at its terminals {when}, with the bank at its lowest working voltage"
        ));
        for conductor in &conductors {
            found.because(format!("{}: {}, {}", conductor.id, conductor.gauge, conductor.length));
        }
        found.undo();
        let ids: Vec<&str> = conductors.iter().map(|conductor| conductor.id.as_str()).collect();
        if let Some(gauge) = thicker(case, ix, volts, least) {
            found.resize(&ids, gauge);
        } else {
            found.mend(format!("give {} a run of its own from the busbars, shorter and thicker", device.id));
        }
    }
}

/// Volts across a load in a scene; `None` on the AC side, or where it is joined to nothing.
fn at_load(case: &Case<'_>, scene: Scene, device: usize) -> Option<Volts> {
    let result = case.results.scene(scene)?;
    if result.dead.contains(&device) {
        return None;
    }
    let positive = case.terminal(device, "positive")?;
    let negative = case.terminal(device, "negative")?;
    Some(sources::volts(case, scene, positive)? - sources::volts(case, scene, negative)?)
}

/// The cables of the circuits that end at the load.
fn feeding<'s>(case: &Case<'s>, device: usize) -> Vec<&'s model::Conductor> {
    let terminals = case.device(device).map_or(0, |device| device.terminals.len());
    let ends = (0..terminals).flat_map(|terminal| case.at(TerminalRef { device, terminal }));
    ends.filter_map(|ix| case.conductor(*ix))
        .filter(|conductor| {
            !conductor.is_internal && matches!(conductor.pole, Pole::Positive | Pole::Negative)
        })
        .collect()
}

/// The size of the load's own cables with which it gets enough, if its current stays as it is.
fn thicker(case: &Case<'_>, device: usize, volts: Volts, least: Volts) -> Option<quantity::Gauge> {
    let conductors = feeding(case, device);
    let at = |conductor: &&model::Conductor| {
        case.system.conductors.iter().position(|other| other.id == conductor.id)
    };
    let lost: Volts = conductors
        .iter()
        .filter_map(|conductor| {
            let ix = at(conductor)?;
            let scene =
                case.results.scene(Scene::Starting).or_else(|| case.results.scene(Scene::EverythingOn))?;
            Some(scene.amps.get(ix)?.abs() * *case.results.resistances.get(ix)?)
        })
        .sum();
    let short = least - volts;
    let first = conductors.first()?;
    let now = case.reference.resistance_20c(first.gauge, first.tinned).ok()?.value;
    let largest = conductors
        .iter()
        .flat_map(|conductor| [conductor.from, conductor.to])
        .filter_map(|end| case.system.terminal(end)?.max_gauge)
        .min();
    case.smallest_gauge(first.gauge, |gauge| {
        let per_length = case.reference.resistance_20c(gauge, first.tinned);
        // A tenth more than needed, because the load itself draws more once it gets more.
        let saved = per_length.map(|per_length| lost * (1.0 - per_length.value / now));
        saved.is_ok_and(|saved| saved >= short * 1.1) && largest.is_none_or(|largest| gauge <= largest)
    })
}
