//! Branch circuits: loads that share a fuse and a run, laid from a panel's way or from the busbars.
//! Never: chooses the panel (see `panels.rs`).
//! Start at [`branches_of`], then [`lay_branch`].

use std::collections::BTreeMap;

use model::{CircuitKind, DeviceIx, Inputs, Origin, Pole, Spec};
use quantity::{Amps, Fraction, Gauge, Metres, Volts};

use crate::board::{Bars, MAIN_DROP};
use crate::builder::{Builder, Given, terminal};
use crate::loads::{LoadPlan, sentence, start_current, starting, steady_current, together};
use crate::panels::{FEEDER_DROP, range};
use crate::run::{Guard, Run};
use crate::settings::Settings;
use crate::sizing::{self};

/// One branch circuit: loads that share a fuse and a run.
pub struct BranchPlan {
    pub id: String,
    pub title: String,
    pub loads: Vec<LoadPlan>,
    pub steady: Amps,
    pub surge: Amps,
    pub continuous: bool,
    pub critical: bool,
    pub length: Given<Metres>,
}

pub fn branches_of(loads: Vec<LoadPlan>, settings: &Settings, voltage: Volts) -> Vec<BranchPlan> {
    let mut groups: BTreeMap<String, Vec<LoadPlan>> = BTreeMap::new();
    for load in loads {
        let id = load.circuit.as_ref().unwrap_or(&load.name).to_string();
        groups.entry(id).or_default().push(load);
    }
    let (lowest, highest) = range(settings, voltage);
    groups
        .into_iter()
        .map(|(id, loads)| {
            let steady = together(loads.iter().map(|plan| &plan.load), |load| {
                steady_current(load, lowest, highest).get()
            });
            let surge = starting(
                loads.iter().map(|plan| &plan.load),
                |load| steady_current(load, lowest, highest).get(),
                |load| start_current(load, lowest, highest).get(),
            );
            let longest = loads
                .iter()
                .max_by(|a, b| a.length.value.total_cmp(&b.length.value))
                .map(|plan| plan.length.clone())
                .unwrap_or(Given { value: Metres::zero(), origin: Origin::Practice(String::new()) });
            let title = match loads.as_slice() {
                [only] => only.load.title.clone(),
                _ => sentence(&id),
            };
            BranchPlan {
                id,
                title,
                steady: Amps::new(steady),
                surge: Amps::new(surge),
                continuous: loads.iter().any(|plan| plan.load.continuous),
                critical: loads.iter().any(|plan| plan.load.critical),
                length: longest,
                loads,
            }
        })
        .collect()
}

/// One branch circuit; it hangs on the busbars where the panel's ways are too small for its fuse or its fault.
#[allow(clippy::too_many_arguments)] // a circuit has this many ends
pub fn lay_branch(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bars: Bars,
    here: Bars,
    panel: Option<(DeviceIx, String, Amps)>,
    branch: BranchPlan,
    panel_length: &Given<Metres>,
    voltage: Volts,
) {
    let continuous = builder.reference.continuous_factor(settings.rules);
    let (factor, factor_origin) = if branch.continuous {
        (continuous.value, Origin::Table(continuous.cite))
    } else {
        (1.0, Origin::Practice("runs for less than three hours at a time".to_owned()))
    };
    let carry = branch.steady * factor;
    let (lowest, _) = range(settings, voltage);
    let limit = builder.reference.drop_limit(settings.rules, branch.critical, false);
    let way = panel.filter(|(_, family, largest)| {
        way_serves(builder, settings, family, *largest, (carry, branch.surge), here, voltage)
    });
    let is_on_panel = way.is_some();
    builder.because(
        format!("{}.fed-from", branch.id),
        Inputs::new().because(
            if is_on_panel { "its panel" } else { "the busbars" },
            if is_on_panel {
                "a way of the panel takes its fuse and breaks its fault"
            } else {
                "no way of the panel takes its fuse and breaks its fault"
            },
        ),
    );
    let before = MAIN_DROP + if is_on_panel { FEEDER_DROP } else { 0.0 };
    let drop_limit = Fraction::new(limit.value.get() - before);
    let critical = critical_origin(builder, &branch);
    builder.because(
        format!("{}.drop-limit", branch.id),
        Inputs::new()
            .with(
                "limit from bank to load",
                format!("{} %", limit.value.get() * 100.0),
                Origin::Table(limit.cite),
            )
            .with("critical", branch.critical, critical)
            .because(
                format!("{:.1} %", drop_limit.get() * 100.0),
                format!("the limit less {:.1} % for main and feeder", before * 100.0),
            ),
    );
    let mut terminals = Vec::new();
    for plan in &branch.loads {
        let device = builder.device(
            plan.name.as_str(),
            &plan.load.title,
            Spec::Load(plan.load.clone()),
            vec![
                terminal("positive", Pole::Positive, None, None),
                terminal("negative", Pole::Negative, None, None),
            ],
            plan.zone,
            &plan.load.intent,
        );
        if let Some((id, part)) =
            plan.part.as_ref().and_then(|part| builder.project.library.load.get_key_value(part))
        {
            builder.is_part(device, "load", id, part);
            builder.times(device, plan.load.count);
        }
        terminals.push((builder.at(device, "positive"), builder.at(device, "negative"), device));
    }
    let (Some(first), Some(plan)) = (terminals.first().copied(), branch.loads.first()) else { return };
    let from = if is_on_panel { here } else { bars };
    let mut length = branch.length.clone();
    if !is_on_panel && from.positive != here.positive {
        length.value += panel_length.value;
    }
    let inputs = branch.loads.iter().fold(Inputs::new(), |inputs, plan| {
        inputs.with(
            format!("{} running", plan.load.title),
            plan.load.power,
            Origin::Derived(format!("{}.power", plan.name)),
        )
    });
    let guard = match way {
        Some((panel, family, largest)) => Guard::Way { panel, family, largest },
        None => Guard::AtSource,
    };
    let circuit = builder.lay(
        settings,
        Run {
            id: branch.id.clone(),
            title: branch.title.clone(),
            kind: CircuitKind::Branch,
            voltage,
            voltage_lowest: lowest,
            steady: branch.steady,
            surge: branch.surge,
            drop_current: branch.steady,
            continuous: branch.continuous,
            critical: branch.critical,
            drop_limit,
            factor: (factor, factor_origin),
            from: (from.positive, from.negative),
            to: (first.0, first.1),
            length,
            zone: plan.zone,
            bundle: plan.bundle,
            sheathed: plan.sheathed,
            guard,
            intent: plan.load.intent.clone(),
            current_step: format!(
                "running power over {lowest}, or over the highest voltage for heaters; turns count once"
            ),
            current_inputs: inputs,
            serves: terminals.iter().map(|(.., device)| *device).collect(),
        },
    );
    // Further loads of the circuit hang on the first one's terminals: the whole run is counted to the farthest.
    let gauge = builder.conductors.last().map_or(Gauge::Awg(16), |conductor| conductor.gauge);
    for (index, (positive, negative, _)) in terminals.iter().enumerate().skip(1) {
        builder.link(
            &format!("{}.next-{index}", branch.id),
            first.0,
            *positive,
            Pole::Positive,
            gauge,
            circuit,
        );
        builder.link(
            &format!("{}.next-negative-{index}", branch.id),
            *negative,
            first.1,
            Pole::Negative,
            gauge,
            circuit,
        );
    }
}

/// Who says whether a circuit is critical: the person, a part, or nobody.
fn critical_origin(builder: &Builder<'_>, branch: &BranchPlan) -> Origin {
    let said = branch.loads.iter().find(|plan| plan.load.critical).or(branch.loads.first());
    let Some(plan) = said else { return Origin::Practice("no load".to_owned()) };
    let path = format!("loads.{}.critical", plan.name);
    match &plan.part {
        _ if builder.project.spans.has(&path) => Origin::Intent(path),
        Some(part) if plan.load.critical => Origin::Part(format!("load.{part}.critical")),
        _ => Origin::Practice("a load that nobody calls critical is not".to_owned()),
    }
}

/// Whether a way of the panel takes the fuse and its family breaks the fault there.
#[allow(clippy::too_many_arguments)] // one question about one way
fn way_serves(
    builder: &Builder<'_>,
    settings: &Settings,
    family: &str,
    largest: Amps,
    (carry, surge): (Amps, Amps),
    here: Bars,
    voltage: Volts,
) -> bool {
    let Some(family) = builder.reference.fuse_family(family) else { return false };
    let Some(rating) = sizing::fuse_rating_for(family, carry, surge) else { return false };
    let source = builder.source_loop.get(&here.positive).copied().unwrap_or(settings.bank_loop);
    let high = voltage * (settings.voltage_high / settings.voltage);
    let highest = voltage * (settings.voltage_charging / settings.voltage);
    // Prospective: as if a link without resistance stood in place of the fuse (IEC 60050-441, 441-17-01).
    let fault = high / source + settings.limited_sources;
    rating <= largest && family.interrupts(highest, false).is_some_and(|interrupt| interrupt >= fault)
}
