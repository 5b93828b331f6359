//! The bank's devices: batteries, links, and from three strings on a pair of bars with a fuse for each string.
//! Never: chooses the battery (see `bank.rs`).
//! Start at [`build`].

use model::{
    Bank, BatteryAt, Circuit, CircuitIx, CircuitKind, Inputs, Origin, Pole, Spec, TerminalRef, ZoneIx,
    parts::Supply,
};
use quantity::{Amps, Fraction, Gauge, Metres, Written};

use crate::bank::BankChoice;
use crate::builder::{Builder, Given, feeding};
use crate::conductor_choice::Single;
use crate::run::{Guard, Run};
use crate::settings::{Length, Settings, assumed_length};

/// The bank's devices and the way to the busbars.
pub struct BankBuilt {
    pub bank: Bank,
    pub positive: TerminalRef,
    pub negative: TerminalRef,
}

/// Builds batteries and their links.
pub fn build(
    builder: &mut Builder<'_>,
    settings: &Settings,
    choice: &BankChoice,
    lead: Gauge,
    main: Amps,
) -> BankBuilt {
    let count = choice.series * choice.parallel;
    let stud = Some(choice.battery.stud);
    let mut batteries = Vec::new();
    for string in 0..choice.parallel {
        for place in 0..choice.series {
            let number = string * choice.series + place + 1;
            let id = if count == 1 { "bank".to_owned() } else { format!("bank-{number}") };
            let title = if count == 1 { "Bank".to_owned() } else { format!("Bank, battery {number}") };
            let device = builder.device(
                &id,
                &title,
                Spec::Battery(BatteryAt {
                    part: choice.battery.clone(),
                    string,
                    place,
                    short_circuit: choice.string_short_circuit(),
                    short_circuit_is_stated: choice.short_circuit_is_stated,
                }),
                vec![
                    feeding("positive", Pole::Positive, stud, None),
                    feeding("negative", Pole::Negative, stud, None),
                ],
                choice.zone,
                "bank",
            );
            if let Some(id) = &choice.id {
                builder.is_part(device, "battery", id, &choice.battery);
            }
            batteries.push(device);
        }
    }
    let ends = |builder: &Builder<'_>, string: u32| {
        let first = batteries[(string * choice.series) as usize];
        let last = batteries[(string * choice.series + choice.series - 1) as usize];
        (builder.at(last, "positive"), builder.at(first, "negative"))
    };

    let link_length = (count > 1).then(|| {
        builder.given(
            "bank.link_length",
            builder.project.intent.bank.as_ref().and_then(|bank| bank.link_length),
            Metres::new(0.25),
            Some((Metres::new(0.15), Metres::new(0.6))),
            "batteries stand side by side",
            false,
        )
    });
    if let Some(length) = link_length {
        let circuit = link_circuit(builder, settings, choice, main);
        for string in 0..choice.parallel {
            for place in 1..choice.series {
                let below = batteries[(string * choice.series + place - 1) as usize];
                let above = batteries[(string * choice.series + place) as usize];
                let ends = (builder.at(below, "positive"), builder.at(above, "negative"));
                let id = format!("bank.series-{}", string * choice.series + place);
                link(builder, settings, &id, ends, Pole::Positive, lead, &length, choice.zone, circuit);
            }
        }
        if choice.parallel == 2 {
            let (first, second) = (ends(builder, 0), ends(builder, 1));
            link(
                builder,
                settings,
                "bank.link-positive",
                (first.0, second.0),
                Pole::Positive,
                lead,
                &length,
                choice.zone,
                circuit,
            );
            link(
                builder,
                settings,
                "bank.link-negative",
                (first.1, second.1),
                Pole::Negative,
                lead,
                &length,
                choice.zone,
                circuit,
            );
            builder.because(
                "bank.take-off",
                Inputs::new()
                    .with("strings", choice.parallel, Origin::Derived("bank.parallel".to_owned()))
                    .because("diagonal", "positive from the first string, negative from the last: both see the same link resistance"),
            );
        }
    }

    let (positive, negative) = match choice.parallel {
        1 => ends(builder, 0),
        2 => (ends(builder, 0).0, ends(builder, 1).1),
        _ => string_bars(builder, settings, choice, &ends),
    };
    let bank = Bank {
        chemistry: choice.battery.chemistry,
        series: choice.series,
        parallel: choice.parallel,
        capacity: choice.capacity(),
        energy: choice.energy(),
        usable: choice.energy() * choice.usable.get(),
        charge_limit: choice.charge_limit(),
        discharge_limit: choice.discharge_limit(),
        surge_limit: choice.surge_limit(),
        resistance: choice.resistance(),
        short_circuit: choice.short_circuit(),
        voltage_high: choice.voltage_high(),
        voltage_low: choice.voltage_low(),
        batteries,
        zone: choice.zone,
    };
    BankBuilt { bank, positive, negative }
}

fn link_circuit(
    builder: &mut Builder<'_>,
    settings: &Settings,
    choice: &BankChoice,
    main: Amps,
) -> CircuitIx {
    builder.circuit(Circuit {
        id: "bank".to_owned(),
        title: "Links of the bank".to_owned(),
        kind: CircuitKind::BankLink,
        supply: Supply::Dc,
        voltage: settings.voltage,
        voltage_lowest: choice.voltage_low(),
        current_steady: main.min(choice.discharge_limit().max(choice.charge_limit()))
            / f64::from(choice.parallel),
        current_surge: choice.surge_limit() / f64::from(choice.parallel),
        continuous: true,
        critical: false,
        drop_limit: Fraction::new(0.01),
        protection_least: Amps::zero(),
        protection: Vec::new(),
        serves: Vec::new(),
        intent: "bank".to_owned(),
    })
}

#[allow(clippy::too_many_arguments)] // one conductor has this many facts
fn link(
    builder: &mut Builder<'_>,
    settings: &Settings,
    id: &str,
    ends: (TerminalRef, TerminalRef),
    pole: Pole,
    gauge: Gauge,
    length: &Given<Metres>,
    zone: ZoneIx,
    circuit: CircuitIx,
) {
    builder.lay_single(
        settings,
        Single {
            id,
            ends,
            pole,
            gauge,
            step: "the size of the main conductor, so that the strings share alike",
            inputs: Inputs::new().with(
                "main conductor",
                gauge.show(),
                Origin::Derived("main.positive.gauge".to_owned()),
            ),
            length: length.value,
            voltage: settings.voltage,
            zone,
            sheathed: true,
            circuit,
            intent: "bank",
        },
    );
}

/// Three strings and more: equal leads, each with its own fuse, to a pair of bars at the bank.
fn string_bars(
    builder: &mut Builder<'_>,
    settings: &Settings,
    choice: &BankChoice,
    ends: &dyn Fn(&Builder<'_>, u32) -> (TerminalRef, TerminalRef),
) -> (TerminalRef, TerminalRef) {
    let (positive, negative) = crate::board::bars(
        builder,
        settings,
        "bank.positive-bar",
        "bank.negative-bar",
        "Bank bar",
        choice.discharge_limit().max(choice.charge_limit()),
        choice.parallel as usize + 1,
        choice.zone,
        "bank",
    );
    let (usual, low, high) = assumed_length(settings.craft, Length::Board);
    let length = builder.given(
        "bank.link_length",
        builder.project.intent.bank.as_ref().and_then(|bank| bank.link_length),
        usual,
        Some((low, high)),
        "leads of equal length from every string to the bank's bars",
        false,
    );
    for string in 0..choice.parallel {
        let from = ends(builder, string);
        // A short circuit in one string is fed through its fuse by all the others, one at its far end by itself alone.
        let others = f64::from(choice.parallel.saturating_sub(1).max(1));
        builder
            .source_loop
            .insert(from.0, choice.battery.internal_resistance * (f64::from(choice.series) / others));
        builder.lay(
            settings,
            Run {
                id: format!("bank-string-{}", string + 1),
                title: format!("String {}", string + 1),
                kind: CircuitKind::Main,
                voltage: settings.voltage,
                voltage_lowest: choice.voltage_low(),
                steady: choice.battery.discharge_limit,
                surge: choice.battery.surge_limit.unwrap_or(choice.battery.discharge_limit),
                drop_current: choice.battery.discharge_limit,
                continuous: false,
                critical: false,
                drop_limit: Fraction::new(crate::board::STRING_DROP),
                factor: (
                    1.0,
                    Origin::Practice("the battery's own electronics hold it to its limit".to_owned()),
                ),
                from,
                to: (positive, negative),
                length: length.clone(),
                zone: choice.zone,
                bundle: 1,
                sheathed: true,
                guard: Guard::AtSource,
                intent: "bank".to_owned(),
                current_step: "what one string may give".to_owned(),
                current_inputs: Inputs::new(),
                serves: Vec::new(),
            },
        );
    }
    builder.source_loop.insert(positive, choice.resistance());
    (positive, negative)
}
