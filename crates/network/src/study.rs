//! The study of a system: each scene solved, fault currents everywhere, the resistance of each conductor.
//! Never: fails. What cannot be solved is told as loads that collapse or that nothing feeds.
//! Start at [`study`]; the netlist is built in `build.rs`, scenes set it in `scenes.rs`, faults are in `places.rs`.

use std::collections::BTreeSet;

use model::{DeviceIx, Spec, System};
use quantity::{Amps, Volts, Watts};

use crate::build::{Built, For, Stand};
use crate::netlist::{ElementId, Netlist};
use crate::ohms::Conductors;
use crate::places::faults;
use crate::results::{Results, Scene, SceneResult};
use crate::scenes::{Facts, Fed};
use crate::solve::{Plan, Solution, SolveError};

/// The scenes, in the order in which they are reported.
const SCENES: [Scene; 4] = [Scene::EverythingOn, Scene::Night, Scene::Charging, Scene::Starting];
/// Rounds in which the load that collapsed is taken away; after them all that stand under half their voltage go.
const SINGLE_ROUNDS: usize = 3;
/// Rounds in which what a converter takes follows what it gives; two are usual.
const INPUT_ROUNDS: usize = 8;
/// Relative change of a converter's input at which it counts as settled.
const SETTLED: f64 = 1e-9;

/// Studies a system. The same system gives the same results, bit for bit.
///
/// Voltages are against the bank's negative. A circuit that touches the bank nowhere (an isolated converter's
/// output, the engine's side of an isolated charger, an array) has its own negative at zero.
///
/// - Conductors are at the temperature of their circuit's steady current in the hottest zone that they cross, with
///   15 µΩ for each lug; an inverter below its lowest input draws the current it drew there.
/// - `device_amps`: a battery's discharge (negative: charge); what a load or an inverter takes (an inverter that
///   charges: what it gives); what a source, controller, DC-DC charger or converter gives; what passes a fuse,
///   breaker, disconnect, shunt or relay (the first pole). Zero for busbars, panels and the AC side.
/// - `losses` count a conductor with its two lugs.
/// - `collapsed` loads are taken away before the rest is solved, and so carry nothing; inputs of converters count as
///   loads. An inverter that would get less than its lowest input is listed too, though its current stays in.
/// - `dead` lists DC loads and inverters.
pub fn study(system: &System) -> Results {
    let conductors = Conductors::of(system);
    let (scenes, _) = scenes(system, &conductors, false);
    Results { scenes, faults: faults(system, &conductors), resistances: conductors.metal }
}

/// The netlist of each scene as it was solved last, for export and for checks against a circuit simulator.
pub fn netlists(system: &System) -> Vec<(Scene, Netlist)> {
    scenes(system, &Conductors::of(system), true).1
}

fn scenes(system: &System, conductors: &Conductors, keep: bool) -> (Vec<SceneResult>, Vec<(Scene, Netlist)>) {
    let mut built = Built::of(system, &conductors.hot, For::Scenes);
    let facts = Facts::of(system, &built);
    let (mut results, mut kept) = (Vec::new(), Vec::new());
    let plan = Plan::new(&built.net);
    for scene in SCENES {
        facts.apply(system, &mut built, scene);
        let mut collapsed = BTreeSet::new();
        let solution = match &plan {
            Ok(plan) => carry(system, &mut built, plan, &mut collapsed),
            Err(error) => Err(error.clone()),
        };
        results.push(report(system, &mut built, scene, solution.ok().as_ref(), collapsed));
        if keep {
            kept.push((scene, built.net.clone()));
        }
    }
    (results, kept)
}

/// Solves, taking away what cannot be carried, and lets each converter take what it gives.
fn carry(
    system: &System,
    built: &mut Built,
    plan: &Plan,
    collapsed: &mut BTreeSet<DeviceIx>,
) -> Result<Solution, SolveError> {
    let mut solution = plan.solve(&built.net)?;
    for _ in 0..INPUT_ROUNDS {
        let mut round = 0;
        while let Some(collapse) = solution.collapse() {
            let mut gone: Vec<ElementId> = vec![collapse.load];
            // Far too much at once is a short or a bank that holds nothing: one by one would take for ever.
            if round >= SINGLE_ROUNDS || collapse.share_of_all.get() < 0.5 {
                gone.extend(low(system, built, &solution, round > SINGLE_ROUNDS));
            }
            for element in gone {
                built.net.set_watts(element, Watts::zero());
                collapsed.extend(built.device_of.get(element.index()).copied().flatten());
            }
            round += 1;
            solution = plan.solve(&built.net)?;
        }
        if !inputs(system, built, &solution, collapsed) {
            break;
        }
        solution = plan.solve(&built.net)?;
    }
    Ok(solution)
}

/// The constant-power loads that stand under half their nominal voltage, or `all` of them.
fn low(system: &System, built: &Built, solution: &Solution, all: bool) -> Vec<ElementId> {
    let mut found = Vec::new();
    for (device, stand) in system.devices.iter().zip(&built.stands) {
        let (element, nominal) = match (stand, &device.spec) {
            (Stand::Load(element), Spec::Load(load)) => (*element, load.voltage),
            (Stand::Inverter(element, _), Spec::Inverter(part, _)) => (*element, part.voltage),
            (Stand::Dc(Some(element), _), _) => (*element, system.voltage),
            _ => continue,
        };
        let is_low = across(built, solution, element) < nominal * 0.5;
        if (is_low || all) && built.net.watts(element).is_some_and(|watts| watts > Watts::zero()) {
            found.push(element);
        }
    }
    found
}

/// Sets what DC-DC chargers and converters take by what they give; whether anything changed.
fn inputs(system: &System, built: &mut Built, solution: &Solution, collapsed: &BTreeSet<DeviceIx>) -> bool {
    let mut is_changed = false;
    for ix in 0..system.devices.len() {
        let Stand::Dc(Some(input), output) = built.stands[ix] else { continue };
        let (efficiency, idle, is_on) = match &system.devices[ix].spec {
            Spec::Converter(part) => {
                (part.efficiency, part.idle, across(built, solution, output) > part.output * 0.5)
            }
            Spec::DcDc(part, _) => (part.efficiency, Watts::zero(), true),
            _ => continue,
        };
        if collapsed.contains(&ix) || efficiency.get() <= 0.0 {
            continue;
        }
        let given =
            solution.amps(output).max(Amps::zero()) * across(built, solution, output).max(Volts::zero());
        let taken = given / efficiency.get() + if is_on { idle } else { Watts::zero() };
        let before = built.net.watts(input).unwrap_or_default();
        if (taken - before).abs() > taken.max(Watts::new(1.0)) * SETTLED {
            built.net.set_watts(input, taken);
            is_changed = true;
        }
    }
    is_changed
}

fn across(built: &Built, solution: &Solution, element: ElementId) -> Volts {
    built.net.ends(element).map_or(Volts::zero(), |(plus, minus)| solution.volts_between(plus, minus))
}

fn report(
    system: &System,
    built: &mut Built,
    scene: Scene,
    solution: Option<&Solution>,
    mut collapsed: BTreeSet<DeviceIx>,
) -> SceneResult {
    let mut fed = Fed::of(built);
    let mut dead = Vec::new();
    let mut device_amps = vec![Amps::zero(); system.devices.len()];
    for (ix, device) in system.devices.iter().enumerate() {
        let stand = built.stands[ix];
        if let Stand::Load(element) | Stand::Heater(element) | Stand::Inverter(element, _) = stand
            && let Some((plus, minus)) = built.net.ends(element)
        {
            if !fed.closes(plus.0, minus.0) {
                dead.push(ix);
                collapsed.remove(&ix);
            } else if let (Some(solution), Spec::Inverter(part, _)) = (solution, &device.spec) {
                // A bank that ends below the inverter's lowest input is no fault of the network.
                let reaches = system.bank.as_ref().is_some_and(|bank| bank.voltage_low >= part.lowest_input);
                if reaches && across(built, solution, element) < part.lowest_input {
                    collapsed.insert(ix);
                }
            } else if solution.is_none() {
                collapsed.insert(ix);
            }
        }
        if let Some(solution) = solution {
            device_amps[ix] = amps_of(stand, solution);
        }
    }
    let amps = |element: &Option<ElementId>| match (solution, element) {
        (Some(solution), Some(element)) => solution.amps(*element),
        _ => Amps::zero(),
    };
    let loss = |element: &Option<ElementId>| match (solution, element) {
        (Some(solution), Some(element)) => solution.loss(*element),
        _ => Watts::zero(),
    };
    let volts =
        |node: &Option<crate::NodeId>| node.map(|node| solution.map_or(Volts::zero(), |s| s.volts(node)));
    SceneResult {
        scene,
        volts: built.nodes.iter().map(|terminals| terminals.iter().map(volts).collect()).collect(),
        amps: built.conductors.iter().map(amps).collect(),
        losses: built.conductors.iter().map(loss).collect(),
        device_amps,
        collapsed: collapsed.into_iter().collect(),
        dead,
    }
}

/// Amps of a device by the place that it takes in the network.
pub(crate) fn amps_of(stand: Stand, solution: &Solution) -> Amps {
    match stand {
        Stand::Nothing => Amps::zero(),
        Stand::Passes(element)
        | Stand::Battery(element)
        | Stand::StartBattery(element)
        | Stand::Source(element)
        | Stand::Load(element)
        | Stand::Heater(element)
        | Stand::Dc(_, element)
        | Stand::Controller(_, element) => solution.amps(element),
        Stand::Array(element) => -solution.amps(element),
        Stand::Inverter(draw, charge) => {
            let (draw, charge) =
                (solution.amps(draw), charge.map_or(Amps::zero(), |charge| solution.amps(charge)));
            if charge > draw { charge } else { draw }
        }
    }
}
