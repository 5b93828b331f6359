//! The alternating-current side: inlet, generator, inverter, transfer, residual-current protection, panel, branches.
//! Never: joins two sources; a transfer switch or relay gives the panel one of them.
//! Start at [`build`].

use std::collections::BTreeMap;

use model::parts::{AcPanel, Breaker, Generator, Inlet, Supply, TransferSwitch};
use model::{BreakerAt, Circuit, CircuitKind, DeviceIx, Inputs, Name, Origin, Pole, ShoreInlet, Spec, TerminalRef};
use quantity::{Amps, Fraction, Gauge, Metres, Written};
use reference::{Insulation, Place, RuleSet, SystemVoltage};

use crate::bank::BankChoice;
use crate::board::{Bars, MAIN_DROP};
use crate::builder::{Builder, Given, terminal};
use crate::charge::{Charging, setting};
use crate::choose;
use crate::inverter::{InverterChoice, lowest_input};
use crate::loads::{LoadPlan, sentence, starting, together};
use crate::run::{Guard, Run};
use crate::settings::{Length, Settings, assumed_length};
use crate::sizing::{self, ConductorAsk};

/// Line, neutral and earth of one place.
#[derive(Clone, Copy, Debug)]
struct Ends {
    line: TerminalRef,
    neutral: TerminalRef,
    earth: Option<TerminalRef>,
}

/// An AC run to lay.
struct AcRun {
    id: String,
    title: String,
    kind: CircuitKind,
    steady: Amps,
    surge: Amps,
    continuous: bool,
    from: Ends,
    to: Ends,
    length: Given<Metres>,
    zone: usize,
    drop_limit: f64,
    /// Rating of the device ahead, and whether a breaker is placed here at the source end.
    breaker: Option<BreakerWish>,
    /// Rating of what protects it upstream, where no breaker is placed.
    upstream: Option<Amps>,
    intent: String,
    step: String,
    serves: Vec<DeviceIx>,
}

struct BreakerWish {
    least: Amps,
    /// The rating that a supply dictates (an inlet), rather than the next above the load.
    exact: bool,
    residual: bool,
    panel: Option<DeviceIx>,
    role: &'static str,
}

/// Builds the AC side; gives the terminals to bond: panel earth, cases.
pub fn build(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: Option<&BankChoice>,
    bars: Option<Bars>,
    inverter: Option<&InverterChoice>,
    charging: &Charging,
    loads: &[LoadPlan],
) -> Vec<(String, TerminalRef)> {
    let mut bonds = Vec::new();
    let supplies = supplies(builder, settings);
    let inverter_device = match (inverter, bank, bars) {
        (Some(inverter), Some(bank), Some(bars)) => Some((inverter, build_inverter(builder, settings, bank, bars, inverter))),
        _ => None,
    };
    if let Some((_, device)) = &inverter_device {
        bonds.push(("inverter".to_owned(), builder.at(*device, "earth")));
    }
    let ac_loads: Vec<&LoadPlan> = loads.iter().filter(|plan| plan.load.supply == Supply::Ac).collect();
    if supplies.is_empty() && inverter_device.is_none() {
        if !ac_loads.is_empty() {
            builder.gap(
                "ac.source",
                "an inverter, a shore inlet or a generator for the AC loads",
                &ac_loads.first().map_or("loads".to_owned(), |plan| plan.load.intent.clone()),
            );
        }
        return bonds;
    }

    // One supply out of shore and generator.
    let supply = join_supplies(builder, settings, &supplies);
    // The charger hangs on the supply, ahead of the transfer: an inverter must not charge its own bank.
    if let (Some((_, charger)), Some(supply), Some(bank), Some(bars)) = (&charging.charger, &supply, bank, bars) {
        build_charger(builder, settings, bank, bars, charger.clone(), charging, supply);
    }
    // One source out of supply and inverter.
    let source = match (&inverter_device, &supply) {
        (Some((choice, device)), Some(supply)) if choice.is_charger => {
            let ends = Ends {
                line: builder.at(*device, "in-line"),
                neutral: builder.at(*device, "in-neutral"),
                earth: Some(builder.at(*device, "earth")),
            };
            let length = board_length(settings);
            lay(builder, settings, AcRun {
                id: "inverter.in".to_owned(),
                title: "Supply to inverter-charger".to_owned(),
                kind: CircuitKind::AcFeeder,
                steady: supply.rating,
                surge: supply.rating,
                continuous: true,
                from: supply.ends,
                to: ends,
                length,
                zone: settings.board_zone,
                drop_limit: 0.01,
                breaker: None,
                upstream: Some(supply.rating),
                intent: "inverter".to_owned(),
                step: "what the supply's breaker lets through".to_owned(),
                serves: vec![*device],
            });
            let own = choice.part.power / choice.part.output;
            let rating = own.max(choice.part.transfer.map_or(supply.rating, |transfer| transfer.min(supply.rating).max(own)));
            Source { ends: inverter_out(builder, *device), rating, name: "inverter" }
        }
        (Some((choice, device)), Some(supply)) => {
            let own = choice.part.power / choice.part.output;
            transfer(builder, settings, "ac.transfer", "Supply or inverter", supply, &Source {
                ends: inverter_out(builder, *device),
                rating: own,
                name: "inverter",
            })
        }
        (Some((choice, device)), None) => {
            let own = choice.part.power / choice.part.output;
            Source { ends: inverter_out(builder, *device), rating: own, name: "inverter" }
        }
        (None, Some(supply)) => supply.clone(),
        (None, None) => return bonds,
    };
    let panel = build_panel(builder, settings, &source, &ac_loads);
    if let Some(panel) = panel {
        bonds.push(("ac".to_owned(), builder.at(panel, "earth")));
        branches(builder, settings, panel, loads);
    }
    bonds
}

/// A source of alternating current with its rating.
#[derive(Clone, Debug)]
struct Source {
    ends: Ends,
    rating: Amps,
    name: &'static str,
}

fn inverter_out(builder: &Builder<'_>, device: DeviceIx) -> Ends {
    Ends {
        line: builder.at(device, "line"),
        neutral: builder.at(device, "neutral"),
        earth: Some(builder.at(device, "earth")),
    }
}

/// Shore inlet and generator, each with its main breaker.
fn supplies(builder: &mut Builder<'_>, settings: &Settings) -> Vec<Source> {
    let project = builder.project;
    let mut found = Vec::new();
    if let Some(shore) = &project.intent.shore {
        let voltage = shore.voltage.unwrap_or(settings.ac_voltage);
        let current = builder.given(
            "shore.current",
            shore.current.or(shore.part.as_ref().and_then(|part| project.library.inlet.get(part)).map(|part| part.current)),
            if settings.rules == RuleSet::Na { Amps::new(30.0) } else { Amps::new(16.0) },
            None,
            "the usual supply at a site or jetty",
            false,
        );
        let library = &project.library.inlet;
        let pin = builder.pin_part("shore.part", library, "inlet").map(|(id, part)| (id.clone(), part.clone()));
        let named = pin.clone().or_else(|| {
            let id = shore.part.clone()?;
            let part = library.get(&id)?.clone();
            Some((id, part))
        });
        let fits = |part: &Inlet| (part.voltage / voltage - 1.0).abs() < 0.1 && (part.current / current.value - 1.0).abs() < 0.01;
        let pick = choose::cheapest(library, fits).map(|pick| (pick.id.clone(), pick.part.clone()));
        match named.or(pick) {
            None => builder.gap("shore.part", format!("an inlet of {} at {voltage}", current.value), "shore"),
            Some((id, part)) => {
                let most = Some(part.max_gauge);
                let device = builder.device(
                    "shore",
                    "Shore inlet",
                    Spec::Inlet(ShoreInlet { part: part.clone() }),
                    vec![
                        terminal("line", Pole::Line, None, most),
                        terminal("neutral", Pole::Neutral, None, most),
                        terminal("earth", Pole::Earth, None, most),
                    ],
                    settings.board_zone,
                    "shore",
                );
                builder.is_part(device, "inlet", &id, &part);
                builder.because_pinned(
                    "shore.part",
                    id.to_string(),
                    None,
                    pin.is_some(),
                    format!("{} at {voltage}", current.value),
                    Inputs::new().with("current", current.value, current.origin.clone()),
                );
                let route = shore.route.as_ref().and_then(|route| project.intent.routes.get(route));
                let said = shore.length.or(route.and_then(|route| route.length));
                found.extend(supply_main(builder, settings, "shore", "Shore", device, part.current, said, "shore"));
            }
        }
    }
    if let Some(generator) = &project.intent.generator {
        let voltage = generator.voltage.unwrap_or(settings.ac_voltage);
        let library = &project.library.generator;
        let named = generator.part.as_ref().and_then(|id| Some((id.clone(), library.get(id)?.clone())));
        let pick = choose::cheapest(library, |part: &Generator| {
            (part.voltage / voltage - 1.0).abs() < 0.1 && generator.power.is_none_or(|power| part.power >= power)
        })
        .map(|pick| (pick.id.clone(), pick.part.clone()));
        match named.or(pick) {
            None => builder.gap("generator.part", format!("a generator at {voltage}"), "generator"),
            Some((id, mut part)) => {
                part.neutral_bond = generator.neutral_bond.unwrap_or_else(|| {
                    builder.assume(
                        "generator.neutral_bond",
                        part.neutral_bond.word().to_owned(),
                        None,
                        "as usual for its kind; it stands on its plate or in its sheet, and a second bond is dangerous",
                        true,
                    );
                    part.neutral_bond
                });
                let device = builder.device(
                    "generator",
                    "Generator",
                    Spec::Generator(part.clone()),
                    vec![
                        terminal("line", Pole::Line, None, None),
                        terminal("neutral", Pole::Neutral, None, None),
                        terminal("earth", Pole::Earth, None, None),
                    ],
                    settings.board_zone,
                    "generator",
                );
                builder.is_part(device, "generator", &id, &part);
                builder.because(
                    "generator.part",
                    Inputs::new()
                        .with("power", part.power, Origin::Part(format!("generator.{id}.power")))
                        .because(&id, "as said, or the cheapest that gives the power"),
                );
                let route = generator.route.as_ref().and_then(|route| project.intent.routes.get(route));
                let said = generator.length.or(route.and_then(|route| route.length));
                let rating = Amps::new(part.power.get() / part.voltage.get()).min(part.breaker);
                found.extend(supply_main(builder, settings, "generator", "Generator", device, rating, said, "generator"));
            }
        }
    }
    found
}

/// Main breaker of a supply beside its inlet, and the run to the board.
#[allow(clippy::too_many_arguments)] // a supply has this many facts
fn supply_main(
    builder: &mut Builder<'_>,
    settings: &Settings,
    id: &'static str,
    title: &str,
    device: DeviceIx,
    rating: Amps,
    said: Option<Metres>,
    intent: &str,
) -> Option<Source> {
    let (usual, low, high) = assumed_length(settings.craft, Length::Inlet);
    let length = builder.given(
        &format!("{intent}.length"),
        said,
        usual,
        Some((low, high)),
        "from the inlet to the board; measure the way the cable takes, one way",
        true,
    );
    let from = Ends {
        line: builder.at(device, "line"),
        neutral: builder.at(device, "neutral"),
        earth: Some(builder.at(device, "earth")),
    };
    // Inlet and main breaker: the lead between them is protected by the supply's own breaker at the site or jetty.
    let breaker = breaker(builder, settings, &format!("{id}.breaker"), &format!("{title} main breaker"), &BreakerWish {
        least: rating,
        exact: true,
        residual: false,
        panel: None,
        role: "main",
    }, intent)?;
    let actual = builder.breaker_rating(breaker);
    let earth = builder.at(breaker, "earth");
    let feed = Ends {
        line: builder.at(breaker, "in"),
        neutral: builder.neutral_of(breaker, true).unwrap_or(from.neutral),
        earth: Some(earth),
    };
    let circuit = lay(builder, settings, AcRun {
        id: id.to_owned(),
        title: format!("{title} to board"),
        kind: CircuitKind::AcFeeder,
        steady: rating,
        surge: rating,
        continuous: true,
        from,
        to: feed,
        length,
        zone: settings.board_zone,
        drop_limit: 0.01,
        breaker: None,
        upstream: Some(actual),
        intent: intent.to_owned(),
        step: "the rating of the inlet or generator".to_owned(),
        serves: vec![breaker],
    });
    builder.circuits[circuit].protection.push(breaker);
    let out = Ends {
        line: builder.at(breaker, "out"),
        neutral: builder.neutral_of(breaker, false).unwrap_or(from.neutral),
        earth: Some(earth),
    };
    Some(Source { ends: out, rating: actual, name: id })
}

fn join_supplies(builder: &mut Builder<'_>, settings: &Settings, supplies: &[Source]) -> Option<Source> {
    match supplies {
        [] => None,
        [one] => Some(one.clone()),
        [first, second, ..] => Some(transfer(builder, settings, "ac.selector", "Shore or generator", first, second)),
    }
}

/// A transfer switch between two sources.
fn transfer(
    builder: &mut Builder<'_>,
    settings: &Settings,
    id: &str,
    title: &str,
    a: &Source,
    b: &Source,
) -> Source {
    let rating = a.rating.max(b.rating);
    let library = &builder.project.library.transfer_switch;
    let path = format!("{id}.part");
    let pin = builder.pin_part(&path, library, "transfer switch").map(|(id, part)| (id.clone(), part.clone()));
    let pick = choose::cheapest(library, |part| {
        (part.voltage / settings.ac_voltage - 1.0).abs() < 0.1 && part.current >= rating && part.switches_neutral
    })
    .map(|pick| (pick.id.clone(), pick.part.clone(), pick.step()));
    let need = format!("a transfer switch of {rating} at {} that switches the neutral too", settings.ac_voltage);
    let derived = pick.as_ref().map(|(id, ..)| id.to_string());
    let chosen = pin.clone().or_else(|| pick.as_ref().map(|(id, part, _)| (id.clone(), part.clone())));
    let part = match &chosen {
        Some((_, part)) => part.clone(),
        None => {
            builder.gap(&path, need.clone(), "ac");
            TransferSwitch {
                title: "Transfer switch to be found".to_owned(),
                price: Vec::new(),
                mass: quantity::Kilograms::zero(),
                size: Vec::new(),
                note: None,
                voltage: settings.ac_voltage,
                current: rating,
                switches_neutral: true,
                max_gauge: Gauge::Awg(4),
            }
        }
    };
    let most = Some(part.max_gauge);
    let device = builder.device(
        id,
        title,
        Spec::TransferSwitch(part),
        vec![
            terminal("a-line", Pole::Line, None, most),
            terminal("a-neutral", Pole::Neutral, None, most),
            terminal("b-line", Pole::Line, None, most),
            terminal("b-neutral", Pole::Neutral, None, most),
            terminal("line", Pole::Line, None, most),
            terminal("neutral", Pole::Neutral, None, most),
            terminal("earth", Pole::Earth, None, most),
        ],
        settings.board_zone,
        "ac",
    );
    if let Some((id, part)) = &chosen {
        builder.is_part(device, "transfer_switch", id, part);
    }
    builder.because_pinned(
        &path,
        chosen.as_ref().map_or("none".to_owned(), |(id, _)| id.to_string()),
        derived,
        pin.is_some(),
        pick.map_or(need.clone(), |(.., step)| format!("{step}: {need}")),
        Inputs::new().with("larger of both sources", rating, Origin::Practice("a switch carries either source".to_owned())),
    );
    for (source, side) in [(a, "a"), (b, "b")] {
        let to = Ends {
            line: builder.at(device, &format!("{side}-line")),
            neutral: builder.at(device, &format!("{side}-neutral")),
            earth: Some(builder.at(device, "earth")),
        };
        let length = board_length(settings);
        let breaker = (source.name == "inverter").then_some(BreakerWish {
            least: source.rating,
            exact: false,
            residual: false,
            panel: None,
            role: "main",
        });
        lay(builder, settings, AcRun {
            id: format!("{id}.{side}"),
            title: format!("{} to {title}", sentence(source.name)),
            kind: CircuitKind::AcFeeder,
            steady: source.rating,
            surge: source.rating,
            continuous: true,
            from: source.ends,
            to,
            length,
            zone: settings.board_zone,
            drop_limit: 0.01,
            upstream: breaker.is_none().then_some(source.rating),
            breaker,
            intent: "ac".to_owned(),
            step: "the rating of the source".to_owned(),
            serves: vec![device],
        });
    }
    Source {
        ends: Ends {
            line: builder.at(device, "line"),
            neutral: builder.at(device, "neutral"),
            earth: Some(builder.at(device, "earth")),
        },
        rating,
        name: if a.name == "inverter" || b.name == "inverter" { "transfer" } else { "supply" },
    }
}

fn board_length(settings: &Settings) -> Given<Metres> {
    let (usual, ..) = assumed_length(settings.craft, Length::Board);
    Given { value: usual, origin: Origin::Practice("neighbours on the board".to_owned()) }
}

fn build_inverter(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    bars: Bars,
    choice: &InverterChoice,
) -> DeviceIx {
    let project = builder.project;
    let intent = project.intent.inverter.as_ref();
    let part = &choice.part;
    let (stud, most) = (Some(part.stud), Some(part.max_gauge));
    let mut terminals = vec![
        terminal("positive", Pole::Positive, stud, most),
        terminal("negative", Pole::Negative, stud, most),
        terminal("line", Pole::Line, None, None),
        terminal("neutral", Pole::Neutral, None, None),
        terminal("earth", Pole::Earth, None, None),
    ];
    if choice.is_charger {
        terminals.push(terminal("in-line", Pole::Line, None, None));
        terminals.push(terminal("in-neutral", Pole::Neutral, None, None));
    }
    let zone_name = intent.and_then(|inverter| inverter.zone.clone());
    let zone = zone_name.map_or(settings.board_zone, |zone| builder.zone(&Some(zone)));
    let charge = part.charge.map(|current| setting(bank, current, model::parts::Chemistry::ALL));
    let title = if choice.is_charger { "Inverter-charger" } else { "Inverter" };
    let device = builder.device("inverter", title, Spec::Inverter(part.clone(), charge), terminals, zone, "inverter");
    builder.is_part(device, "inverter", &choice.id, part);

    let input = lowest_input(part, settings);
    let discharge = sizing::inverter_current(part.power, part.efficiency_full, input);
    let surge = sizing::inverter_current(part.surge, part.efficiency_full, settings.voltage_low);
    let steady = discharge.max(part.charge.unwrap_or(Amps::zero()));
    let (usual, low, high) = assumed_length(settings.craft, Length::Board);
    let length = builder.given(
        "inverter.length",
        intent.and_then(|inverter| inverter.length),
        usual * 2.0,
        Some((low, high * 2.0)),
        "as near to the busbars as its air allows; measure the way the cable takes, one way",
        true,
    );
    let limit = builder.reference.drop_limit(settings.rules, true, false);
    let drop_limit = Fraction::new(limit.value.get() - MAIN_DROP);
    builder.because(
        "inverter.drop-limit",
        Inputs::new()
            .with("critical circuits", format!("{} %", limit.value.get() * 100.0), Origin::Table(limit.cite))
            .because(format!("{:.1} %", drop_limit.get() * 100.0), "an inverter stops at low voltage, so it is held as critical"),
    );
    let to = (builder.at(device, "positive"), builder.at(device, "negative"));
    builder.lay(
        settings,
        Run {
            id: "inverter".to_owned(),
            title: title.to_owned(),
            kind: CircuitKind::Inverter,
            voltage: settings.voltage,
            voltage_lowest: input,
            steady,
            surge,
            drop_current: sizing::inverter_current(part.power, part.efficiency_full, settings.voltage_low),
            continuous: false,
            critical: true,
            drop_limit,
            factor: (1.0, Origin::Practice("counted at the lowest input voltage, which is the worst already".to_owned())),
            from: (bars.positive, bars.negative),
            to,
            length,
            zone,
            bundle: 1,
            sheathed: false,
            guard: Guard::AtSource,
            intent: "inverter".to_owned(),
            current_step: format!("{} / ({} x {input}), its lowest input voltage", part.power, part.efficiency_full),
            current_inputs: Inputs::new()
                .with("power", part.power, Origin::Part(format!("inverter.{}.power", choice.id)))
                .with("efficiency at full power", part.efficiency_full, Origin::Part(format!("inverter.{}.efficiency_full", choice.id)))
                .with("lowest input", input, Origin::Part(format!("inverter.{}.lowest_input", choice.id))),
            serves: vec![device],
        },
    );
    device
}

#[allow(clippy::too_many_arguments)] // both sides of a charger
fn build_charger(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    bars: Bars,
    part: model::parts::Charger,
    charging: &Charging,
    supply: &Source,
) {
    let project = builder.project;
    let intent = project.intent.charger.as_ref();
    let (stud, most) = (part.stud, Some(part.max_gauge));
    let zone_name = intent.and_then(|charger| charger.zone.clone());
    let zone = zone_name.map_or(settings.board_zone, |zone| builder.zone(&Some(zone)));
    let device = builder.device(
        "charger",
        "Charger",
        Spec::Charger(part.clone(), setting(bank, part.current, &part.profiles)),
        vec![
            terminal("positive", Pole::Positive, stud, most),
            terminal("negative", Pole::Negative, stud, most),
            terminal("line", Pole::Line, None, None),
            terminal("neutral", Pole::Neutral, None, None),
            terminal("earth", Pole::Earth, None, None),
        ],
        zone,
        "charger",
    );
    if let Some((id, _)) = &charging.charger {
        builder.is_part(device, "charger", id, &part);
    }
    let (usual, low, high) = assumed_length(settings.craft, Length::Board);
    let length = builder.given(
        "charger.length",
        intent.and_then(|charger| charger.length),
        usual,
        Some((low, high)),
        "beside the busbars on the board",
        false,
    );
    crate::charge::charge_run(
        builder,
        settings,
        bars,
        "charger.charge",
        "Charger to busbar",
        device,
        part.current,
        length.clone(),
        zone,
        "charger",
        "the charger's rating".to_owned(),
    );
    let input = part.current * bank.voltage_charging() / part.efficiency.get() / part.input;
    let to = Ends {
        line: builder.at(device, "line"),
        neutral: builder.at(device, "neutral"),
        earth: Some(builder.at(device, "earth")),
    };
    lay(builder, settings, AcRun {
        id: "charger.supply".to_owned(),
        title: "Supply to charger".to_owned(),
        kind: CircuitKind::AcBranch,
        steady: input,
        surge: input,
        continuous: true,
        from: supply.ends,
        to,
        length,
        zone,
        drop_limit: 0.03,
        breaker: Some(BreakerWish { least: input * 1.25, exact: false, residual: true, panel: None, role: "branch" }),
        upstream: None,
        intent: "charger".to_owned(),
        step: format!("{} at {} over {} at {}", part.current, bank.voltage_charging(), part.efficiency, part.input),
        serves: vec![device],
    });
}

/// The AC panel behind a residual-current device.
fn build_panel(builder: &mut Builder<'_>, settings: &Settings, source: &Source, loads: &[&LoadPlan]) -> Option<DeviceIx> {
    let project = builder.project;
    let intent = project.intent.ac.as_ref();
    let library = &project.library.ac_panel;
    let circuits = group(loads).len() as u32;
    let poles = poles(settings.rules);
    let ways = circuits * poles + poles;
    let pin = builder.pin_part("ac.part", library, "AC panel").map(|(id, part)| (id.clone(), part.clone()));
    let named = pin.clone().or_else(|| {
        let id = intent.and_then(|ac| ac.part.clone())?;
        let part = library.get(&id)?.clone();
        Some((id, part))
    });
    let pick = choose::cheapest(library, |part: &AcPanel| {
        (part.voltage / settings.ac_voltage - 1.0).abs() < 0.1 && part.current >= source.rating && part.ways >= ways
    })
    .map(|pick| (pick.id.clone(), pick.part.clone()));
    let derived = pick.as_ref().map(|(id, _)| id.to_string());
    let need = format!("an AC panel with {ways} places for {} at {}", source.rating, settings.ac_voltage);
    let Some((id, part)) = named.or(pick) else {
        builder.gap("ac.part", need, "ac");
        return None;
    };
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
    builder.because_pinned(
        "ac.part",
        id.to_string(),
        derived,
        pin.is_some(),
        format!("the cheapest that fits: {need}"),
        Inputs::new().with("branch circuits", circuits, Origin::Intent("loads".to_owned())),
    );
    let length = builder.given(
        "ac.length",
        intent.and_then(|ac| ac.length),
        assumed_length(settings.craft, Length::Board).0,
        Some((Metres::new(0.3), Metres::new(3.0))),
        "from inverter or transfer switch to the AC panel",
        false,
    );
    let to = Ends { line: builder.at(device, "line"), neutral: builder.at(device, "neutral"), earth: Some(builder.at(device, "earth")) };
    lay(builder, settings, AcRun {
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
        breaker: Some(BreakerWish { least: source.rating, exact: false, residual: true, panel: None, role: "main" }),
        upstream: None,
        intent: "ac".to_owned(),
        step: "the rating of the source".to_owned(),
        serves: vec![device],
    });
    Some(device)
}

/// Poles of a branch breaker: line only in North America, line and neutral elsewhere.
fn poles(rules: RuleSet) -> u32 {
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

fn branches(builder: &mut Builder<'_>, settings: &Settings, panel: DeviceIx, loads: &[LoadPlan]) {
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
        let Some(longest) = plans.iter().max_by(|a, b| a.length.value.total_cmp(&b.length.value)) else { continue };
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
            if let Some((part_id, part)) = plan.part.as_ref().and_then(|part| builder.project.library.load.get_key_value(part)) {
                builder.is_part(device, "load", part_id, part);
            }
            terminals.push((
                builder.at(device, "line"),
                builder.at(device, "neutral"),
                builder.at(device, "earth"),
                device,
            ));
        }
        let Some(first) = terminals.first().copied() else { continue };
        let from = Ends { line: builder.at(panel, "line"), neutral: builder.at(panel, "neutral"), earth: Some(builder.at(panel, "earth")) };
        let title = match plans.as_slice() {
            [only] => only.load.title.clone(),
            _ => sentence(&id),
        };
        let factor = if continuous { builder.reference.continuous_factor(settings.rules).value } else { 1.0 };
        let intent = plans.first().map_or("loads".to_owned(), |plan| plan.load.intent.clone());
        let circuit = lay(builder, settings, AcRun {
            id: if plans.len() == 1 && id == plans[0].name.as_str() { id.clone() } else { format!("{id}-circuit") },
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
            breaker: Some(BreakerWish { least: steady * factor, exact: false, residual: false, panel: Some(panel), role: "branch" }),
            upstream: None,
            intent,
            step: format!("running power over {}; loads that take turns count once", settings.ac_voltage),
            serves: terminals.iter().map(|(.., device)| *device).collect(),
        });
        let gauge = builder.conductors.last().map_or(Gauge::Awg(14), |conductor| conductor.gauge);
        for (index, (line, neutral, earth, _)) in terminals.iter().enumerate().skip(1) {
            builder.link(&format!("{id}.next-{index}"), first.0, *line, Pole::Line, gauge, circuit);
            builder.link(&format!("{id}.next-neutral-{index}"), first.1, *neutral, Pole::Neutral, gauge, circuit);
            builder.link(&format!("{id}.next-earth-{index}"), first.2, *earth, Pole::Earth, gauge, circuit);
        }
    }
}

/// Chooses and places a breaker.
fn breaker(
    builder: &mut Builder<'_>,
    settings: &Settings,
    id: &str,
    title: &str,
    wish: &BreakerWish,
    intent: &str,
) -> Option<DeviceIx> {
    let library = &builder.project.library.breaker;
    let path = format!("{id}.part");
    let pin = builder.pin_part(&path, library, "breaker").map(|(id, part)| (id.clone(), part.clone()));
    let least_poles = if wish.role == "main" { 2 } else { poles(settings.rules) };
    let smallest = match settings.rules {
        RuleSet::Na => Amps::new(15.0),
        RuleSet::Iec => Amps::new(6.0),
    };
    let wanted = wish.least.max(if wish.exact { Amps::zero() } else { smallest });
    let fits = |part: &Breaker| {
        part.rules.is_none_or(|rules| rules == settings.rules)
            && part.ac_voltage.is_some_and(|voltage| voltage >= settings.ac_voltage)
            && (part.poles == least_poles || (wish.residual && part.poles >= poles(settings.rules)))
            && part.residual.is_some() == wish.residual
    };
    // The smallest rating that carries the load, or for an inlet the largest that does not exceed it.
    let mut candidates: Vec<(&Name, &Breaker)> = library.iter().filter(|(_, part)| fits(part)).collect();
    candidates.sort_by(|a, b| {
        a.1.current.total_cmp(&b.1.current).then_with(|| choose::price(a.1).total_cmp(&choose::price(b.1))).then_with(|| a.0.cmp(b.0))
    });
    let pick = if wish.exact {
        let best = candidates.iter().rev().find(|(_, part)| part.current <= wanted * 1.001).map(|(_, part)| part.current);
        candidates.iter().find(|(_, part)| Some(part.current) == best).copied()
    } else {
        candidates.iter().find(|(_, part)| part.current >= wanted * 0.999).copied()
    };
    let derived = pick.map(|(id, _)| id.to_string());
    let need = format!(
        "a {}-pole {}breaker of {wanted} at {}",
        if wish.residual { poles(settings.rules) } else { least_poles },
        if wish.residual { "residual-current " } else { "" },
        settings.ac_voltage
    );
    let chosen = pin.clone().or_else(|| pick.map(|(id, part)| (id.clone(), part.clone())));
    let Some((part_id, part)) = chosen else {
        builder.gap(&path, need, intent);
        return None;
    };
    let (stud, most) = (part.stud, Some(part.max_gauge));
    let mut terminals = vec![terminal("in", Pole::Line, stud, most), terminal("out", Pole::Line, stud, most)];
    if part.poles >= 2 || part.residual.is_some() {
        terminals.push(terminal("in-neutral", Pole::Neutral, stud, most));
        terminals.push(terminal("out-neutral", Pole::Neutral, stud, most));
    }
    if wish.exact {
        // A supply's main breaker has an enclosure of its own, with an earth bar for the sheath's third core.
        terminals.push(terminal("earth", Pole::Earth, None, most));
    }
    let zone = wish.panel.map_or(settings.board_zone, |panel| builder.devices[panel].zone);
    let at = BreakerAt { part: part.clone(), distance: Metres::zero(), panel: wish.panel, role: wish.role.to_owned() };
    let device = builder.device(id, title, Spec::Breaker(at), terminals, zone, intent);
    builder.is_part(device, "breaker", &part_id, &part);
    builder.because_pinned(
        &path,
        part_id.to_string(),
        derived,
        pin.is_some(),
        if wish.exact { format!("the largest that does not exceed the supply: {need}") } else { format!("the smallest that carries the load: {need}") },
        Inputs::new().with("current", wish.least, Origin::Derived(format!("{}.current", id.trim_end_matches(".breaker").trim_end_matches(".residual")))),
    );
    Some(device)
}

impl Builder<'_> {
    fn breaker_rating(&self, device: DeviceIx) -> Amps {
        match &self.devices[device].spec {
            Spec::Breaker(breaker) => breaker.part.current,
            _ => Amps::zero(),
        }
    }

    fn neutral_of(&self, device: DeviceIx, is_in: bool) -> Option<TerminalRef> {
        let name = if is_in { "in-neutral" } else { "out-neutral" };
        let terminal = self.devices[device].terminals.iter().position(|terminal| terminal.name == name)?;
        Some(TerminalRef { device, terminal })
    }
}

/// Lays an AC run: three cores of one sheath, with its breaker at the source end.
fn lay(builder: &mut Builder<'_>, settings: &Settings, run: AcRun) -> usize {
    let id = run.id.clone();
    builder.because(format!("{id}.current"), Inputs::new().because(run.steady, run.step.clone()));
    let circuit = builder.circuit(Circuit {
        id: id.clone(),
        title: run.title.clone(),
        kind: run.kind,
        supply: Supply::Ac,
        voltage: settings.ac_voltage,
        voltage_lowest: settings.ac_voltage,
        current_steady: run.steady,
        current_surge: run.surge,
        continuous: run.continuous,
        critical: true,
        drop_limit: Fraction::new(run.drop_limit),
        protection_least: run.breaker.as_ref().map_or(run.steady, |wish| wish.least),
        protection: Vec::new(),
        serves: run.serves.clone(),
        intent: run.intent.clone(),
    });
    let mut from = run.from;
    let mut links = Vec::new();
    let mut rating = run.upstream.unwrap_or(run.steady);
    if let Some(wish) = &run.breaker {
        let suffix = if wish.residual { "residual" } else { "breaker" };
        let title = format!("{} {}", run.title, if wish.residual { "residual-current breaker" } else { "breaker" });
        if let Some(device) = breaker(builder, settings, &format!("{id}.{suffix}"), &title, wish, &run.intent) {
            rating = builder.breaker_rating(device);
            builder.circuits[circuit].protection.push(device);
            let line_in = builder.at(device, "in");
            links.push((format!("{id}.link"), from.line, line_in, Pole::Line));
            if let (Some(neutral_in), Some(neutral_out)) = (builder.neutral_of(device, true), builder.neutral_of(device, false)) {
                links.push((format!("{id}.link-neutral"), from.neutral, neutral_in, Pole::Neutral));
                from.neutral = neutral_out;
            }
            from.line = builder.at(device, "out");
        }
    }
    // AC cable: three cores in one sheath, with the insulation that such cable has.
    let insulation = match settings.rules {
        RuleSet::Na => Insulation::C105,
        RuleSet::Iec => Insulation::C70,
    };
    let zone = &builder.zones[run.zone];
    let place = Place {
        ambient: zone.hottest,
        engine_space: zone.kind == model::ZoneKind::EngineSpace,
        bundled_current_carrying: 2,
        system: SystemVoltage::Ac,
    };
    let reference = builder.reference;
    let least = reference.min_gauge(settings.rules, true, true).value;
    // NEC 240.4(D): a small conductor may not stand behind a larger breaker, whatever its ampacity.
    let capped = match settings.rules {
        RuleSet::Na => reference
            .gauges(settings.rules)
            .iter()
            .copied()
            .find(|gauge| reference.small_conductor_cap(*gauge).is_none_or(|cap| cap.value >= rating))
            .unwrap_or(least),
        RuleSet::Iec => least,
    };
    let ends = [builder.max_gauge(from.line), builder.max_gauge(run.to.line)];
    let ask = ConductorAsk {
        rules: settings.rules,
        current: run.steady,
        protection: Some(rating),
        voltage: settings.ac_voltage,
        drop_current: run.steady,
        drop_limit: Fraction::new(run.drop_limit),
        length: run.length.value,
        insulation,
        tinned: false,
        place,
        smallest: least.max(capped),
        largest: ends.into_iter().flatten().min(),
    };
    let path = format!("{id}.line.gauge");
    let pin: Option<Gauge> = builder.pin(&path);
    let derived = sizing::conductor_with(&ask, &mut |gauge| builder.ampacity(&ask, gauge));
    let (derived_gauge, step, cite) = match derived {
        Ok(choice) => (
            choice.gauge,
            format!(
                "carries {} of {}; behind {rating}; loses {} ({:.1} %)",
                run.steady,
                choice.ampacity.value,
                choice.drop,
                100.0 * (choice.drop / settings.ac_voltage)
            ),
            Some((choice.ampacity.value, choice.ampacity.cite)),
        ),
        Err(none) => {
            builder.gap(&path, none.need.clone(), &run.intent);
            (least.max(capped), none.need, None)
        }
    };
    let gauge = pin.unwrap_or(derived_gauge);
    let mut inputs = Inputs::new()
        .with("current", run.steady, Origin::Derived(format!("{id}.current")))
        .with("length, one way", run.length.value, run.length.origin.clone());
    if let Some((ampacity, cite)) = cite {
        inputs = inputs.with("ampacity there", ampacity, Origin::Table(cite));
    }
    builder.because_pinned(&path, gauge.show(), Some(derived_gauge.show()), pin.is_some(), step, inputs);
    for (id, a, b, pole) in links {
        builder.link(&id, a, b, pole, gauge, circuit);
    }
    let cable = choose::cable(&builder.project.library, gauge, 3, insulation, false, settings.ac_voltage);
    let mut poles = vec![("line", Pole::Line, from.line, run.to.line), ("neutral", Pole::Neutral, from.neutral, run.to.neutral)];
    if let (Some(a), Some(b)) = (run.from.earth, run.to.earth) {
        poles.push(("earth", Pole::Earth, a, b));
    }
    for (name, pole, a, b) in poles {
        builder.push_conductor(
            format!("{id}.{name}"),
            (a, b),
            pole,
            (gauge, insulation, false),
            (run.length.value, run.zone, 2, true, 3),
            circuit,
            cable.clone(),
            &run.intent,
        );
    }
    circuit
}
