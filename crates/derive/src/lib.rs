//! From what a person wrote to the whole system: every device, conductor and protective device, each with its reason.
//! Never: reads a file or a clock, judges (see `rules`), hides what it assumed. Deriving twice gives the same bytes.
//! Start at [`derive`]; [`sizing`] has the formulas, [`questions`] ranks what was not said, [`alternatives`] answers a refusal.

mod ac;
mod ac_panel;
mod ac_run;
mod ac_supply;
mod alternatives;
mod bank;
mod bank_build;
mod board;
mod branches;
mod builder;
mod built;
mod charge;
mod choose;
mod conductor_choice;
mod converter;
mod energy;
mod engine;
mod fuse_choice;
mod inverter;
mod loads;
mod panels;
mod questions;
mod run;
mod run_length;
mod said_stacks;
mod settings;
pub mod sizing;
mod solar;
mod usage;
pub mod ways;

use std::collections::BTreeMap;

use model::parts::{Chemistry, Supply};
use model::{Circuit, CircuitKind, Inputs, Origin, Pole, Project, Spec, System, TerminalRef};
use quantity::{Amps, Fraction, Gauge, Metres, SquareAmpSeconds, WattHoursPerDay, Watts, Written};

pub use alternatives::alternatives;
pub use questions::{Question, questions};

use crate::bank::BankChoice;
use crate::board::{Bars, MainDuty};
use crate::builder::{Builder, terminal};
use crate::charge::Charging;
use crate::conductor_choice::Single;
use crate::inverter::InverterChoice;
use crate::loads::{LoadPlan, start_current, steady_current, together};
use crate::settings::Settings;

/// Lengths that are known from the mounting board, by the name of the conductor.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BoardLengths {
    /// Of what begins and ends on the board: its whole length.
    pub whole: BTreeMap<String, Metres>,
    /// Of what leaves the board: from the hole near its edge to the terminal on it.
    pub to_edge: BTreeMap<String, Metres>,
}

impl BoardLengths {
    /// Whether no length is known.
    pub fn is_empty(&self) -> bool {
        self.whole.is_empty() && self.to_edge.is_empty()
    }
}

/// Derives the system of a project. What cannot be derived stands in its gaps and refusals.
pub fn derive(project: &Project) -> System {
    derive_with_lengths(project, &BoardLengths::default())
}

/// Derives it with lengths that are known from the mounting board. A whole length counts before what was said or assumed; a length
/// from the edge is added to one that the plan of the vehicle gives up to the board. A name that is no conductor has no effect.
pub fn derive_with_lengths(project: &Project, lengths: &BoardLengths) -> System {
    let mut builder = Builder::new(project, lengths);
    let mut settings = Settings::of(&mut builder);
    let loads = loads::plan(&mut builder, &settings);
    let demand = inverter::demand(&loads);
    let inverter = inverter::choose(&mut builder, &settings, &demand);
    let (day, need) = energy::need(&mut builder, &loads, inverter.as_ref(), &demand);
    let bank = bank::choose(&mut builder, &settings, &need);
    let mut charging = Charging::default();
    let mut bank_facts = None;
    if let Some(bank) = &bank {
        settings.voltage_high = bank.voltage_high();
        settings.voltage_low = bank.voltage_low();
        settings.voltage_charging = bank.voltage_charging();
        settings.bank_loop = bank.resistance();
        settings.is_lithium = bank.battery.chemistry == Chemistry::Lfp;
        settings.capacity = bank.capacity();
        charging =
            charge::choose(&mut builder, &settings, bank, day.winter.max(WattHoursPerDay::zero()).average());
        charging.inverter_charge = inverter
            .as_ref()
            .and_then(|inverter| inverter.part.charge)
            .unwrap_or(Amps::zero())
            .min(charging.room(bank));
        settings.limited_sources = charging.total();
        bank_facts =
            Some(build_dc(&mut builder, &settings, bank, &loads, inverter.as_ref(), &charging, day.peak));
    }
    let bars = bank_facts.as_ref().map(|(_, bars)| *bars);
    let bonds = ac::build(&mut builder, &settings, bank.as_ref(), bars, inverter.as_ref(), &charging, &loads);
    bond(&mut builder, &settings, bars, &bonds);
    let energy = energy::plan(&mut builder, &settings, &day, bank.as_ref(), &charging);
    let usage = usage::usage(&mut builder, &settings, day.inverter_hours, &charging);
    built::apply(&mut builder, &settings);
    number(&mut builder);
    builder.report_unused_pins();

    let has_ac = builder.circuits.iter().any(|circuit| circuit.supply == Supply::Ac);
    let brief = &project.intent.brief;
    builder.assumptions.sort_by(|a, b| a.path.cmp(&b.path));
    let mut system = System {
        name: brief.name.clone(),
        craft: brief.craft,
        rules: brief.rules,
        voltage: brief.voltage,
        place: brief.place.clone(),
        payload: brief.payload,
        ac_voltage: has_ac.then_some(settings.ac_voltage),
        zones: builder.zones,
        devices: builder.devices,
        conductors: builder.conductors,
        circuits: builder.circuits,
        bank: bank_facts.map(|(bank, _)| bank),
        energy,
        usage,
        because: builder.ledger,
        assumptions: builder.assumptions,
        gaps: builder.gaps,
        refusals: builder.refusals,
        unused: builder.unused,
        pinned: builder.pinned,
        answers: project.intent.answers.clone(),
        ac_peak: demand.apparent,
        slack: settings.slack,
        stacks: Vec::new(),
    };
    said_stacks::enter(&mut system, &project.intent.stacks);
    system
}

/// Bank, board, panels, charging.
fn build_dc(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    loads: &[LoadPlan],
    inverter: Option<&InverterChoice>,
    charging: &Charging,
    peak: Watts,
) -> (model::Bank, Bars) {
    let dc: Vec<LoadPlan> = loads.iter().filter(|plan| plan.load.supply == Supply::Dc).cloned().collect();
    let mut duty = main_duty(
        builder.reference.continuous_factor(settings.rules).value,
        settings,
        &dc,
        inverter,
        charging,
    );
    duty.peak = peak / settings.voltage_low;
    let lead = main_gauge_guess(builder, settings, &duty, bank.battery.stud);
    let built = bank_build::build(builder, settings, bank, lead, duty.carry());
    let bars = board::build_main(builder, settings, &built, &duty);
    let panels = panels::plan_panels(builder, settings, dc);
    panels::build_panels(builder, settings, bars, panels);
    charge::build(builder, settings, bank, bars, charging);
    (built.bank, bars)
}

/// Currents of the main path: everything that may run together with the inverter at its rating, or all charging.
fn main_duty(
    factor: f64,
    settings: &Settings,
    dc: &[LoadPlan],
    inverter: Option<&InverterChoice>,
    charging: &Charging,
) -> MainDuty {
    let (low, high) = (settings.voltage_low, settings.voltage_charging);
    let own = |load: &model::Load| -> f64 {
        if settings::same_nominal(load.voltage, settings.voltage) {
            steady_current(load, low, high).get()
        } else {
            // Through a converter of nine tenths.
            (load.power / 0.9 / low).get()
        }
    };
    let loads = Amps::new(together(dc.iter().map(|plan| &plan.load), own)) * factor;
    let start = loads::starting(dc.iter().map(|plan| &plan.load), own, |load| {
        own(load).max(start_current(load, low, high).get())
    });
    let through_inverter = inverter.map_or(Amps::zero(), |inverter| {
        let part = &inverter.part;
        sizing::inverter_current(part.power, part.efficiency_full, inverter::lowest_input(part, settings))
    });
    let inverter_surge = inverter.map_or(Amps::zero(), |inverter| {
        sizing::inverter_current(inverter.part.surge, inverter.part.efficiency_full, low)
    });
    let discharge = loads + through_inverter;
    let charge = charging.total() * factor;
    MainDuty {
        discharge,
        charge,
        surge: (loads + inverter_surge).max(through_inverter + Amps::new(start)),
        peak: discharge,
        connections: 3
            + charging.solar.len()
            + usize::from(charging.engine.is_some())
            + usize::from(charging.charger.is_some())
            + usize::from(inverter.is_some()),
        step: format!(
            "discharging {discharge} = DC loads together {loads} (x {factor} as continuous) + inverter {through_inverter} at its lowest input; charging {charge} (x {factor}); the larger counts"
        ),
    }
}

/// Size of the battery links before the main conductor is laid: the one that carries the main current.
fn main_gauge_guess(
    builder: &mut Builder<'_>,
    settings: &Settings,
    duty: &MainDuty,
    stud: model::parts::Stud,
) -> Gauge {
    let current = duty.carry();
    let said =
        builder.project.intent.pins.0.get("main.positive.gauge").and_then(|text| Gauge::parse(text).ok());
    if let Some(gauge) = said {
        return gauge;
    }
    let said = builder.project.intent.bank.as_ref().and_then(|bank| bank.length);
    let length = said.or_else(|| builder.way_of("bank.length", false).map(|(way, ..)| way.length()));
    let ask = sizing::ConductorAsk {
        rules: settings.rules,
        current,
        protection: None,
        voltage: settings.voltage,
        drop_current: duty.peak.max(duty.charge).min(current),
        drop_limit: Fraction::new(board::MAIN_DROP),
        length: length.unwrap_or(settings::assumed_length(settings.craft, settings::Length::Bank).0),
        insulation: settings.insulation,
        tinned: settings.tinned,
        place: builder.place(settings.board_zone, 1, settings.voltage),
        // Links are single conductors that end on the batteries' studs.
        smallest: builder
            .least_on_stud(stud)
            .into_iter()
            .chain(settings.smallest)
            .fold(builder.reference.min_gauge(settings.rules, false, false).value, Gauge::max),
        largest: None,
        withstand: SquareAmpSeconds::zero(),
    };
    sizing::conductor_with(&ask, &mut |gauge| builder.ampacity(&ask, gauge)).map_or_else(
        |_| builder.reference.gauges(settings.rules).last().copied().unwrap_or(Gauge::Awg(-3)),
        |choice| choice.gauge,
    )
}

/// Chassis or earth, and the bonds to it: one from the negative busbar, one from each AC earth.
fn bond(builder: &mut Builder<'_>, settings: &Settings, bars: Option<Bars>, ac: &[(String, TerminalRef)]) {
    if bars.is_none() && ac.is_empty() {
        return;
    }
    let word = match settings.craft {
        model::Craft::Boat => "Hull bond",
        model::Craft::Hut => "Earth electrode",
        _ => "Chassis",
    };
    let chassis = builder.device(
        "chassis",
        word,
        Spec::Chassis,
        vec![terminal("bond", Pole::Earth, None, None)],
        settings.board_zone,
        "brief",
    );
    let at = builder.at(chassis, "bond");
    let circuit = builder.circuit(Circuit {
        id: "bond".to_owned(),
        title: "Bonds".to_owned(),
        kind: CircuitKind::Bond,
        supply: Supply::Dc,
        voltage: settings.voltage,
        voltage_lowest: settings.voltage,
        current_steady: Amps::zero(),
        current_surge: Amps::zero(),
        continuous: false,
        critical: false,
        drop_limit: Fraction::new(1.0),
        protection_least: Amps::zero(),
        protection: Vec::new(),
        serves: Vec::new(),
        intent: "brief".to_owned(),
    });
    let length = Metres::new(1.0);
    if let Some(bars) = bars {
        let largest = builder
            .conductors
            .iter()
            .filter(|conductor| conductor.pole == Pole::Positive && !conductor.is_internal)
            .map(|conductor| conductor.gauge)
            .max()
            .unwrap_or(Gauge::Awg(8));
        let derived = builder.reference.dc_negative_bond(settings.rules, largest);
        place_bond(
            builder,
            settings,
            "bond.dc",
            (bars.negative, at),
            derived,
            length,
            circuit,
            "one bond, at the busbar, on the system side of the shunt",
        );
    }
    for (name, from) in ac {
        let derived = builder.reference.bonding_gauge(settings.rules);
        place_bond(
            builder,
            settings,
            &format!("bond.{name}"),
            (*from, at),
            derived,
            length,
            circuit,
            "cases and AC earth join the chassis",
        );
    }
    // The vehicle's own strap from its battery to the chassis is there before us.
    if let Some(start) = builder.find("engine.battery") {
        let own = builder.circuits.iter().position(|circuit| circuit.id == "engine.own").unwrap_or(circuit);
        let negative = builder.at(start, "negative");
        builder.link("engine.own.strap", negative, at, Pole::Negative, Gauge::Awg(-1), own);
    }
}

#[allow(clippy::too_many_arguments)] // one bond has this many facts
fn place_bond(
    builder: &mut Builder<'_>,
    settings: &Settings,
    id: &str,
    ends: (TerminalRef, TerminalRef),
    derived: reference::Cited<Gauge>,
    length: Metres,
    circuit: usize,
    step: &str,
) {
    builder.lay_single(
        settings,
        Single {
            id,
            ends,
            pole: Pole::Earth,
            gauge: derived.value,
            step,
            inputs: Inputs::new().with("smallest bond", derived.value.show(), Origin::Table(derived.cite)),
            length,
            voltage: settings.voltage,
            zone: settings.board_zone,
            sheathed: false,
            circuit,
            intent: "brief",
        },
    );
}

/// Numbers the runs: main first, then sources, feeders, branches, AC, bonds; within a kind by name.
fn number(builder: &mut Builder<'_>) {
    let mut order: Vec<(CircuitKind, String, usize)> = builder
        .conductors
        .iter()
        .enumerate()
        .filter(|(_, conductor)| !conductor.is_internal)
        .map(|(ix, conductor)| {
            let kind =
                builder.circuits.get(conductor.circuit).map_or(CircuitKind::Branch, |circuit| circuit.kind);
            (kind, conductor.id.clone(), ix)
        })
        .collect();
    order.sort();
    // The cores of one sheath share a number: it is one run to lay and label.
    let mut sheaths: BTreeMap<usize, u32> = BTreeMap::new();
    let mut next = 1;
    for (_, _, ix) in order {
        let conductor = &mut builder.conductors[ix];
        let number = if conductor.cores > 1 {
            *sheaths.entry(conductor.circuit).or_insert_with(|| {
                next += 1;
                next - 1
            })
        } else {
            next += 1;
            next - 1
        };
        conductor.number = number;
    }
}
