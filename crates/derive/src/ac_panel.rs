//! The AC panel behind its residual-current breaker, and its branch circuits.
//! Never: chooses the source.
//! Start at [`build_panel`], then [`branches`].

use std::collections::BTreeMap;

use model::parts::{AcPanel, Supply};
use model::{CircuitKind, DeviceIx, Inputs, Origin, Pole, Spec};
use quantity::{Amps, Gauge, Metres};
use reference::RuleSet;

use crate::ac::Source;
use crate::ac_run::{AcRun, BreakerWish, Ends, lay};
use crate::builder::{Builder, terminal};
use crate::choose::PartAsk;
use crate::loads::{LoadPlan, sentence, starting, together};
use crate::settings::{Length, Settings, assumed_length};

/// The AC panel behind a residual-current device.
pub fn build_panel(
    builder: &mut Builder<'_>,
    settings: &Settings,
    source: &Source,
    loads: &[&LoadPlan],
) -> Option<DeviceIx> {
    let project = builder.project;
    let intent = project.intent.ac.as_ref();
    let circuits = group(loads).len() as u32;
    let poles = poles(settings.rules);
    let ways = circuits * poles + poles;
    let ask = PartAsk {
        path: "ac.part",
        kind: "AC panel",
        need: format!("an AC panel with {ways} places for {} at {}", source.rating, settings.ac_voltage),
        named: intent.and_then(|ac| ac.part.as_ref()),
        intent: "ac",
        inputs: Inputs::new().with("branch circuits", circuits, Origin::Intent("loads".to_owned())),
    };
    let (id, part) = builder.choose(&project.library.ac_panel, ask, |part: &AcPanel| {
        settings.is_ac_voltage(part.voltage) && part.current >= source.rating && part.ways >= ways
    })?;
    let zone_name = intent.and_then(|ac| ac.zone.clone());
    let zone = zone_name.map_or(settings.board_zone, |zone| builder.zone(&Some(zone)));
    let most = Some(part.max_gauge);
    let device = builder.device(
        "ac",
        "AC panel",
        Spec::AcPanel(part.clone()),
        vec![
            terminal("line", Pole::Line, None, most),
            terminal("neutral", Pole::Neutral, None, most),
            terminal("earth", Pole::Earth, None, most),
        ],
        zone,
        "ac",
    );
    builder.is_part(device, "ac_panel", &id, &part);
    let length = builder.given_length(
        "ac.length",
        intent.and_then(|ac| ac.length),
        assumed_length(settings.craft, Length::Board).0,
        Some((Metres::new(0.3), Metres::new(3.0))),
        "from inverter or transfer switch to the AC panel",
        false,
    );
    let to = Ends {
        line: builder.at(device, "line"),
        neutral: builder.at(device, "neutral"),
        earth: Some(builder.at(device, "earth")),
    };
    lay(
        builder,
        settings,
        AcRun {
            id: "ac.feed".to_owned(),
            title: "AC panel feeder".to_owned(),
            kind: CircuitKind::AcFeeder,
            steady: source.rating,
            surge: source.rating,
            continuous: false,
            from: source.ends,
            to,
            length,
            zone,
            drop_limit: 0.01,
            breaker: Some(BreakerWish {
                least: source.rating,
                exact: false,
                residual: true,
                panel: None,
                role: "main",
            }),
            upstream: None,
            intent: "ac".to_owned(),
            step: "the rating of the source".to_owned(),
            serves: vec![device],
        },
    );
    Some(device)
}

/// Poles of a branch breaker: line only in North America, line and neutral elsewhere.
pub fn poles(rules: RuleSet) -> u32 {
    match rules {
        RuleSet::Na => 1,
        RuleSet::Iec => 2,
    }
}

/// AC loads by circuit: a load of over 1 kW has one of its own, smaller ones share outlets of one zone and length class.
fn group<'l>(loads: &[&'l LoadPlan]) -> BTreeMap<String, Vec<&'l LoadPlan>> {
    let mut groups: BTreeMap<String, Vec<&LoadPlan>> = BTreeMap::new();
    for plan in loads {
        let id = match &plan.circuit {
            Some(circuit) => circuit.to_string(),
            None if plan.load.power.get() > 1000.0 || plan.load.continuous => plan.name.to_string(),
            None => "outlets".to_owned(),
        };
        groups.entry(id).or_default().push(plan);
    }
    groups
}

pub fn branches(builder: &mut Builder<'_>, settings: &Settings, panel: DeviceIx, loads: &[LoadPlan]) {
    let ac: Vec<&LoadPlan> = loads.iter().filter(|plan| plan.load.supply == Supply::Ac).collect();
    for (id, plans) in group(&ac) {
        let current = |watts: f64, factor: f64| watts / settings.ac_voltage.get() / factor.max(0.1);
        let loads = || plans.iter().map(|plan| &plan.load);
        let steady = Amps::new(together(loads(), |load| current(load.power.get(), load.power_factor.get())));
        let surge = Amps::new(starting(
            loads(),
            |load| current(load.power.get(), load.power_factor.get()),
            |load| current(load.power_start.get(), load.power_factor.get()),
        ));
        let continuous = plans.iter().any(|plan| plan.load.continuous);
        let Some(longest) = plans.iter().max_by(|a, b| a.length.value.total_cmp(&b.length.value)) else {
            continue;
        };
        let mut terminals = Vec::new();
        for plan in &plans {
            let device = builder.device(
                plan.name.as_str(),
                &plan.load.title,
                Spec::Load(plan.load.clone()),
                vec![
                    terminal("line", Pole::Line, None, None),
                    terminal("neutral", Pole::Neutral, None, None),
                    terminal("earth", Pole::Earth, None, None),
                ],
                plan.zone,
                &plan.load.intent,
            );
            if let Some((part_id, part)) =
                plan.part.as_ref().and_then(|part| builder.project.library.load.get_key_value(part))
            {
                builder.is_part(device, "load", part_id, part);
                builder.times(device, plan.load.count);
            }
            terminals.push((
                builder.at(device, "line"),
                builder.at(device, "neutral"),
                builder.at(device, "earth"),
                device,
            ));
        }
        let Some(first) = terminals.first().copied() else { continue };
        let from = Ends {
            line: builder.at(panel, "line"),
            neutral: builder.at(panel, "neutral"),
            earth: Some(builder.at(panel, "earth")),
        };
        let title = match plans.as_slice() {
            [only] => only.load.title.clone(),
            _ => sentence(&id),
        };
        let factor = if continuous { builder.reference.continuous_factor(settings.rules).value } else { 1.0 };
        let intent = plans.first().map_or("loads".to_owned(), |plan| plan.load.intent.clone());
        let circuit = lay(
            builder,
            settings,
            AcRun {
                id: if plans.len() == 1 && id == plans[0].name.as_str() {
                    id.clone()
                } else {
                    format!("{id}-circuit")
                },
                title,
                kind: CircuitKind::AcBranch,
                steady,
                surge,
                continuous,
                from,
                to: Ends { line: first.0, neutral: first.1, earth: Some(first.2) },
                length: longest.length.clone(),
                zone: longest.zone,
                drop_limit: builder.reference.drop_limit(settings.rules, true, true).value.get(),
                breaker: Some(BreakerWish {
                    least: steady * factor,
                    exact: false,
                    residual: false,
                    panel: Some(panel),
                    role: "branch",
                }),
                upstream: None,
                intent,
                step: format!("running power over {}; loads that take turns count once", settings.ac_voltage),
                serves: terminals.iter().map(|(.., device)| *device).collect(),
            },
        );
        let gauge = builder.conductors.last().map_or(Gauge::Awg(14), |conductor| conductor.gauge);
        for (index, (line, neutral, earth, _)) in terminals.iter().enumerate().skip(1) {
            builder.link(&format!("{id}.next-{index}"), first.0, *line, Pole::Line, gauge, circuit);
            builder.link(
                &format!("{id}.next-neutral-{index}"),
                first.1,
                *neutral,
                Pole::Neutral,
                gauge,
                circuit,
            );
            builder.link(&format!("{id}.next-earth-{index}"), first.2, *earth, Pole::Earth, gauge, circuit);
        }
    }
}
