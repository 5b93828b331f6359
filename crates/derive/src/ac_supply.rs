//! Shore inlet and generator, each behind its main breaker, and the switches that let one source in at a time.
//! Never: joins two sources.
//! Start at [`supplies`], then [`transfer`].

use model::parts::{Generator, Inlet, NeutralBond, TransferSwitch};
use model::{CircuitKind, DeviceIx, Inputs, Origin, Pole, ShoreInlet, Spec};
use quantity::{Amps, Gauge, Metres};

use crate::ac::Source;
use crate::ac_run::{AcRun, BreakerWish, Ends, breaker, lay};
use crate::builder::{Builder, Given, terminal};
use crate::choose::PartAsk;
use crate::loads::sentence;
use crate::settings::{Length, Settings, assumed_length};

/// Shore inlet and generator, each with its main breaker.
pub fn supplies(builder: &mut Builder<'_>, settings: &Settings) -> Vec<Source> {
    let project = builder.project;
    let mut found = Vec::new();
    if let Some(shore) = &project.intent.shore {
        let voltage = shore.voltage.unwrap_or(settings.ac_voltage);
        let current = builder.given(
            "shore.current",
            shore.current.or(shore
                .part
                .as_ref()
                .and_then(|part| project.library.inlet.get(part))
                .map(|part| part.current)),
            settings.usual_shore(),
            None,
            "the usual supply at a site or jetty",
            false,
        );
        let ask = PartAsk {
            path: "shore.part",
            kind: "inlet",
            need: format!("an inlet of {} at {voltage}", current.value),
            named: shore.part.as_ref(),
            intent: "shore",
            inputs: Inputs::new().with("current", current.value, current.origin.clone()),
        };
        let chosen = builder.choose(&project.library.inlet, ask, |part: &Inlet| {
            (part.voltage / voltage - 1.0).abs() < 0.1 && (part.current / current.value - 1.0).abs() < 0.01
        });
        match chosen {
            None => {}
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
                let route = shore.route.as_ref().and_then(|route| project.intent.routes.get(route));
                let said = shore.length.or(route.and_then(|route| route.length));
                found.extend(supply_main(
                    builder,
                    settings,
                    "shore",
                    "Shore",
                    device,
                    part.current,
                    said,
                    "shore",
                ));
            }
        }
    }
    if let Some(generator) = &project.intent.generator {
        let voltage = generator.voltage.unwrap_or(settings.ac_voltage);
        let ask = PartAsk {
            path: "generator.part",
            kind: "generator",
            need: format!(
                "a generator at {voltage}{}",
                generator.power.map_or(String::new(), |power| format!(" of {power}"))
            ),
            named: generator.part.as_ref(),
            intent: "generator",
            inputs: Inputs::new(),
        };
        let chosen = builder.choose(&project.library.generator, ask, |part: &Generator| {
            (part.voltage / voltage - 1.0).abs() < 0.1
                && generator.power.is_none_or(|power| part.power >= power)
        });
        match chosen {
            None => {}
            Some((id, mut part)) => {
                part.neutral_bond = generator.neutral_bond.unwrap_or_else(|| {
                    builder.assume(
                        "generator.neutral_bond",
                        NeutralBond::Fixed.word().to_owned(),
                        None,
                        "on generator power nothing else joins neutral and earth: a generator with a floating neutral gets a \
                         bonding plug; whether yours is bonded stands on its plate or in its sheet, and a second bond is dangerous",
                        true,
                    );
                    NeutralBond::Fixed
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
                let route = generator.route.as_ref().and_then(|route| project.intent.routes.get(route));
                let said = generator.length.or(route.and_then(|route| route.length));
                let rating = Amps::new(part.power.get() / part.voltage.get()).min(part.breaker);
                found.extend(supply_main(
                    builder,
                    settings,
                    "generator",
                    "Generator",
                    device,
                    rating,
                    said,
                    "generator",
                ));
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
    let length = builder.given_length(
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
    let breaker = breaker(
        builder,
        settings,
        &format!("{id}.breaker"),
        &format!("{title} main breaker"),
        &BreakerWish { least: rating, exact: true, residual: false, panel: None, role: "main" },
        intent,
    )?;
    let actual = builder.breaker_rating(breaker);
    let earth = builder.at(breaker, "earth");
    let feed = Ends {
        line: builder.at(breaker, "in"),
        neutral: builder.neutral_of(breaker, true).unwrap_or(from.neutral),
        earth: Some(earth),
    };
    let circuit = lay(
        builder,
        settings,
        AcRun {
            id: id.to_owned(),
            title: format!("{title} to board"),
            kind: CircuitKind::AcFeeder,
            steady: actual,
            surge: actual,
            continuous: true,
            from,
            to: feed,
            length,
            zone: settings.board_zone,
            drop_limit: 0.02,
            breaker: None,
            upstream: Some(actual),
            intent: intent.to_owned(),
            step: "what its main breaker lets through, at most the rating of inlet or generator".to_owned(),
            serves: vec![breaker],
        },
    );
    builder.circuits[circuit].protection.push(breaker);
    let out = Ends {
        line: builder.at(breaker, "out"),
        neutral: builder.neutral_of(breaker, false).unwrap_or(from.neutral),
        earth: Some(earth),
    };
    Some(Source { ends: out, rating: actual, name: id })
}

pub fn join_supplies(builder: &mut Builder<'_>, settings: &Settings, supplies: &[Source]) -> Option<Source> {
    match supplies {
        [] => None,
        [one] => Some(one.clone()),
        [first, second, ..] => {
            Some(transfer(builder, settings, "ac.selector", "Shore or generator", first, second))
        }
    }
}

/// A transfer switch between two sources.
pub fn transfer(
    builder: &mut Builder<'_>,
    settings: &Settings,
    id: &str,
    title: &str,
    a: &Source,
    b: &Source,
) -> Source {
    let rating = a.rating.max(b.rating);
    let path = format!("{id}.part");
    let ask = PartAsk {
        path: &path,
        kind: "transfer switch",
        need: format!(
            "a transfer switch of {rating} at {} that switches the neutral too",
            settings.ac_voltage
        ),
        named: None,
        intent: "ac",
        inputs: Inputs::new().with(
            "larger of both sources",
            rating,
            Origin::Practice("a switch carries either source".to_owned()),
        ),
    };
    let chosen = builder.choose(&builder.project.library.transfer_switch, ask, |part: &TransferSwitch| {
        settings.is_ac_voltage(part.voltage) && part.current >= rating && part.switches_neutral
    });
    let part = match &chosen {
        Some((_, part)) => part.clone(),
        None => TransferSwitch {
            title: "Transfer switch to be found".to_owned(),
            price: Vec::new(),
            mass: quantity::Kilograms::zero(),
            size: Vec::new(),
            note: None,
            footprint: None,
            voltage: settings.ac_voltage,
            current: rating,
            switches_neutral: true,
            max_gauge: Gauge::Awg(4),
        },
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
        lay(
            builder,
            settings,
            AcRun {
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
            },
        );
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

pub fn board_length(settings: &Settings) -> Given<Metres> {
    let (usual, ..) = assumed_length(settings.craft, Length::Board);
    Given { value: usual, origin: Origin::Practice("neighbours on the board".to_owned()) }
}
