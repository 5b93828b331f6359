//! Fuse panels: which loads share a circuit and a panel, the feeders, the branch circuits.
//! Never: chooses the main path (see `board.rs`).
//! Start at [`plan_panels`], then [`build_panels`].

use std::collections::BTreeMap;

use model::parts::FusePanel;
use model::{CircuitKind, DeviceIx, Inputs, Name, Origin, Pole, Spec, ZoneIx};
use quantity::{Amps, Fraction, Gauge, Metres, Ohms, SquareAmpSeconds, Volts};

use crate::board::Bars;
use crate::branches::{BranchPlan, branches_of, lay_branch};
use crate::builder::{Builder, Given, feeding};
use crate::choose::PartAsk;
use crate::loads::{LoadPlan, sentence, start_current, starting, steady_current, together};
use crate::run::{Guard, Run};
use crate::settings::{Length, Settings, assumed_length, same_nominal};
use crate::sizing::{self, ConductorAsk};

/// A panel with its branch circuits, or the loads that hang straight on the busbars.
pub struct PanelPlan {
    pub id: String,
    pub title: String,
    pub voltage: Volts,
    pub zone: ZoneIx,
    pub length: Given<Metres>,
    pub part: Option<Name>,
    pub family: Option<Name>,
    pub spare: u32,
    pub branches: Vec<BranchPlan>,
    pub intent: String,
    pub bundle: u32,
    pub sheathed: bool,
    pub converter: Option<Name>,
}

impl PanelPlan {
    /// Largest steady current that its loads draw together.
    pub fn steady(&self, lowest: Volts, highest: Volts) -> Amps {
        Amps::new(together(self.loads(), |load| steady_current(load, lowest, highest).get()))
    }
    /// The same with the largest start.
    pub fn surge(&self, lowest: Volts, highest: Volts) -> Amps {
        Amps::new(starting(
            self.loads(),
            |load| steady_current(load, lowest, highest).get(),
            |load| start_current(load, lowest, highest).get(),
        ))
    }
    fn loads(&self) -> impl Iterator<Item = &model::Load> + Clone {
        self.branches.iter().flat_map(|branch| branch.loads.iter().map(|plan| &plan.load))
    }
}

/// Groups the direct-current loads into panels and branch circuits.
pub fn plan_panels(builder: &mut Builder<'_>, settings: &Settings, loads: Vec<LoadPlan>) -> Vec<PanelPlan> {
    let project = builder.project;
    let mut groups: BTreeMap<String, (Option<Name>, Volts, Vec<LoadPlan>)> = BTreeMap::new();
    for load in loads {
        let declared = load.panel.clone().or_else(|| {
            project
                .intent
                .panels
                .iter()
                .find(|(_, panel)| same_nominal(panel.voltage.unwrap_or(settings.voltage), load.load.voltage))
                .map(|(name, _)| name.clone())
        });
        let voltage = declared
            .as_ref()
            .and_then(|name| project.intent.panels.get(name))
            .and_then(|panel| panel.voltage)
            .unwrap_or(if declared.is_some() { settings.voltage } else { load.load.voltage });
        let id = declared.as_ref().map_or_else(
            || {
                if same_nominal(load.load.voltage, settings.voltage) {
                    "panel".to_owned()
                } else {
                    format!("panel-{}v", crate::settings::Settings::nominal(load.load.voltage))
                }
            },
            Name::to_string,
        );
        groups.entry(id).or_insert_with(|| (declared, voltage, Vec::new())).2.push(load);
    }
    // A declared panel without loads is still built.
    for name in project.intent.panels.keys() {
        let voltage =
            project.intent.panels.get(name).and_then(|panel| panel.voltage).unwrap_or(settings.voltage);
        groups.entry(name.to_string()).or_insert_with(|| (Some(name.clone()), voltage, Vec::new()));
    }
    let mut panels = Vec::new();
    for (id, (name, voltage, loads)) in groups {
        let intent = name.as_ref().and_then(|name| project.intent.panels.get(name));
        let path = format!("panels.{id}");
        let route =
            intent.and_then(|panel| panel.route.as_ref()).and_then(|route| project.intent.routes.get(route));
        let (usual, low, high) = assumed_length(settings.craft, Length::Panel);
        let length = builder.given_length(
            &format!("{path}.length"),
            intent.and_then(|panel| panel.length).or(route.and_then(|route| route.length)),
            usual,
            Some((low, high)),
            "from the busbars to the panel, one way",
            intent.is_some(),
        );
        let zone_name = intent.and_then(|panel| panel.zone.clone());
        let zone = zone_name.map_or(settings.board_zone, |zone| builder.zone(&Some(zone)));
        let branches = branches_of(loads, settings, voltage);
        let converter = if same_nominal(voltage, settings.voltage) {
            None
        } else {
            let declared =
                project.intent.converters.iter().find(|(_, converter)| converter.panel.as_str() == id);
            Some(declared.map_or_else(
                || Name::new(&format!("converter-{}v", crate::settings::Settings::nominal(voltage))).ok(),
                |(name, _)| Some(name.clone()),
            ))
            .flatten()
        };
        let title = intent.and_then(|panel| panel.title.clone()).unwrap_or_else(|| {
            let word = sentence(&id);
            if word.to_lowercase().contains("panel") { word } else { format!("{word} panel") }
        });
        // A panel has at most as many ways as the largest part; more circuits make more panels.
        let most = builder
            .project
            .library
            .fuse_panel
            .values()
            .filter(|panel| panel.voltage >= voltage)
            .map(|panel| panel.ways)
            .max()
            .unwrap_or(24) as usize;
        let spare = intent.and_then(|panel| panel.spare).unwrap_or(1);
        let each = most.saturating_sub(spare as usize).max(1);
        let mut number = 1;
        let mut rest = branches;
        loop {
            let later = if rest.len() > each { rest.split_off(each) } else { Vec::new() };
            let suffix = if number == 1 { String::new() } else { format!("-{number}") };
            panels.push(PanelPlan {
                id: format!("{id}{suffix}"),
                title: if number == 1 { title.clone() } else { format!("{title} {number}") },
                voltage,
                zone,
                length: length.clone(),
                part: intent.and_then(|panel| panel.part.clone()),
                family: intent.and_then(|panel| panel.family.clone()),
                spare,
                branches: rest,
                intent: if intent.is_some() { path.clone() } else { "loads".to_owned() },
                bundle: route.and_then(|route| route.bundle).unwrap_or(1),
                sheathed: route.and_then(|route| route.sheathed).unwrap_or(false),
                converter: converter.clone(),
            });
            if later.is_empty() {
                break;
            }
            rest = later;
            number += 1;
        }
    }
    panels
}

/// Lowest and highest voltage at a panel: the bank's range, or the converter's fixed output.
pub fn range(settings: &Settings, voltage: Volts) -> (Volts, Volts) {
    if same_nominal(voltage, settings.voltage) {
        (settings.voltage_low, settings.voltage_charging)
    } else {
        (voltage, voltage)
    }
}

/// Builds every panel with feeder and branch circuits.
pub fn build_panels(builder: &mut Builder<'_>, settings: &Settings, bars: Bars, panels: Vec<PanelPlan>) {
    for panel in panels {
        let lay_from = if panel.converter.is_some() {
            crate::converter::build(builder, settings, bars, &panel)
        } else {
            Some(bars)
        };
        let Some(source) = lay_from else { continue };
        build_panel(builder, settings, source, panel);
    }
}

fn build_panel(builder: &mut Builder<'_>, settings: &Settings, bars: Bars, plan: PanelPlan) {
    if plan.branches.is_empty() && plan.part.is_none() && plan.intent == "loads" {
        return;
    }
    let (lowest, highest) = range(settings, plan.voltage);
    // A winch or thruster has a run of its own from the busbars: no panel has a way for it.
    let largest_way = largest_way(builder, plan.voltage).min(Amps::new(HEAVY));
    let continuous = builder.reference.continuous_factor(settings.rules).value;
    let (plan, heavy) = {
        let mut plan = plan;
        let (heavy, light): (Vec<_>, Vec<_>) =
            std::mem::take(&mut plan.branches).into_iter().partition(|branch| {
                branch.steady * if branch.continuous { continuous } else { 1.0 } > largest_way
            });
        plan.branches = light;
        (plan, heavy)
    };
    for branch in heavy {
        lay_branch(builder, settings, bars, bars, None, branch, &plan.length, plan.voltage);
    }
    if plan.branches.is_empty() && plan.part.is_none() && plan.spare <= 1 {
        return;
    }
    let steady = plan.steady(lowest, highest);
    let Some((panel, family, largest)) = choose_panel(builder, settings, bars, &plan, steady) else {
        for branch in plan.branches {
            lay_branch(builder, settings, bars, bars, None, branch, &plan.length, plan.voltage);
        }
        return;
    };
    let factor = builder.reference.continuous_factor(settings.rules);
    let (positive, negative) = (builder.at(panel, "positive"), builder.at(panel, "negative"));
    let id = plan.id.clone();
    let drop_limit = Fraction::new(FEEDER_DROP);
    builder.because(
        format!("{id}.drop-limit"),
        Inputs::new().because(
            format!("{} %", FEEDER_DROP * 100.0),
            "a share of the branch's allowance, so that branch and feeder together keep it; common practice, no source",
        ),
    );
    builder.lay(
        settings,
        Run {
            id: id.clone(),
            title: format!("{} feeder", plan.title),
            kind: CircuitKind::Feeder,
            voltage: plan.voltage,
            voltage_lowest: lowest,
            steady,
            surge: plan.surge(lowest, highest),
            drop_current: steady,
            continuous: true,
            critical: plan.branches.iter().any(|branch| branch.critical),
            drop_limit,
            factor: (factor.value, Origin::Table(factor.cite)),
            from: (bars.positive, bars.negative),
            to: (positive, negative),
            length: plan.length.clone(),
            zone: plan.zone,
            bundle: plan.bundle,
            sheathed: plan.sheathed,
            guard: Guard::AtSource,
            intent: plan.intent.clone(),
            current_step: format!(
                "its {} circuits together, at {lowest}; loads that take turns count once",
                plan.branches.len()
            ),
            current_inputs: Inputs::new(),
            serves: vec![panel],
        },
    );
    let here = Bars { positive, negative };
    for branch in plan.branches {
        lay_branch(
            builder,
            settings,
            bars,
            here,
            Some((panel, family.clone(), largest)),
            branch,
            &plan.length,
            plan.voltage,
        );
    }
}

fn choose_panel(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bars: Bars,
    plan: &PanelPlan,
    steady: Amps,
) -> Option<(DeviceIx, String, Amps)> {
    let ways = plan.branches.len() as u32 + plan.spare;
    let (_, highest) = range(settings, plan.voltage);
    let fault = fault_at_panel(builder, settings, bars, plan, steady);
    let reference = builder.reference;
    let continuous = reference.continuous_factor(settings.rules).value;
    // A family whose smallest fuse is many times what its circuits draw protects little.
    let is_fine = |family: &str| {
        let Some(family) = reference.fuse_family(family) else { return true };
        plan.branches.iter().all(|branch| {
            let carry = branch.steady * if branch.continuous { continuous } else { 1.0 };
            let rating = sizing::fuse_rating_for(family, carry, branch.surge);
            rating.is_none_or(|rating| !sizing::is_coarse(rating, carry, branch.surge))
        })
    };
    let meets = |part: &FusePanel| {
        is_fine(part.family.as_str())
            && part.ways >= ways
            && part.voltage >= highest
            && part.current >= steady * continuous
            && plan.family.as_ref().is_none_or(|family| *family == part.family)
    };
    let breaks = |part: &FusePanel| {
        let family = reference.fuse_family(part.family.as_str());
        family
            .and_then(|family| family.interrupts(highest, false))
            .is_some_and(|interrupt| interrupt >= fault)
    };
    // Where no panel breaks the fault, its circuits get fuses of their own at the busbars.
    let some_break = builder.project.library.fuse_panel.values().any(|part| meets(part) && breaks(part));
    let path = format!("{}.part", plan.id);
    let ask = PartAsk {
        path: &path,
        kind: "fuse panel",
        need: format!(
            "a fuse panel with {ways} ways ({} spare) for {steady} at {highest} that breaks {fault}{}",
            plan.spare,
            plan.family.as_ref().map_or(String::new(), |family| format!(" with {family} fuses"))
        ),
        named: plan.part.as_ref(),
        intent: &plan.intent,
        inputs: Inputs::new()
            .with("branch circuits", plan.branches.len(), Origin::Intent("loads".to_owned()))
            .with("current of the feeder", steady, Origin::Derived(format!("{}.current", plan.id))),
    };
    let (id, part) = builder.choose(&builder.project.library.fuse_panel, ask, |part: &FusePanel| {
        meets(part) && (!some_break || breaks(part))
    })?;
    let zone = plan.zone;
    let device = builder.device(
        &plan.id,
        &plan.title,
        Spec::FusePanel(part.clone()),
        vec![
            feeding("positive", Pole::Positive, Some(part.stud), Some(part.supply_gauge)),
            feeding("negative", Pole::Negative, Some(part.stud), Some(part.supply_gauge)),
        ],
        zone,
        &plan.intent,
    );
    builder.is_part(device, "fuse_panel", &id, &part);
    Some((device, part.family.to_string(), part.largest))
}

/// From this current on a load has a run of its own from the busbars [A]. Common practice, no source.
const HEAVY: f64 = 45.0;

/// The largest fuse or breaker that a way of any panel takes at a voltage.
fn largest_way(builder: &Builder<'_>, voltage: Volts) -> Amps {
    let panels = builder.project.library.fuse_panel.values();
    panels.filter(|part| part.voltage >= voltage).map(|part| part.largest).fold(Amps::zero(), Amps::max)
}

/// Fault current at a panel's bus, by the feeder that its current and drop ask for.
fn fault_at_panel(
    builder: &Builder<'_>,
    settings: &Settings,
    bars: Bars,
    plan: &PanelPlan,
    steady: Amps,
) -> Amps {
    let factor = builder.reference.continuous_factor(settings.rules).value;
    let ask = ConductorAsk {
        rules: settings.rules,
        current: steady * factor,
        protection: None,
        voltage: plan.voltage,
        drop_current: steady,
        drop_limit: Fraction::new(FEEDER_DROP),
        length: plan.length.value,
        insulation: settings.insulation,
        tinned: settings.tinned,
        place: builder.place(plan.zone, plan.bundle, plan.voltage),
        smallest: builder.least_gauge(bars.negative).unwrap_or(Gauge::Awg(18)),
        largest: None,
        withstand: SquareAmpSeconds::zero(),
    };
    let coldest = builder.zones[plan.zone].coldest;
    let feeder = sizing::conductor_with(&ask, &mut |gauge| builder.ampacity(&ask, gauge))
        .ok()
        .and_then(|choice| {
            sizing::loop_resistance(choice.gauge, settings.tinned, plan.length.value, coldest).ok()
        })
        .unwrap_or(Ohms::zero());
    let source = builder.source_loop.get(&bars.positive).copied().unwrap_or(settings.bank_loop);
    plan.voltage * (settings.voltage_high / settings.voltage) / (source + feeder) + settings.limited_sources
}

/// See [`MAIN_DROP`].
pub const FEEDER_DROP: f64 = 0.01;
