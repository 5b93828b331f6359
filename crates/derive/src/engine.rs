//! Charging from the engine: what the alternator can spare, the DC-DC charger or relay, the fused lead.
//! Never: changes the vehicle's own wiring, which is taken as it is.
//! Start at [`choose_engine`], then [`build_engine`].

use model::parts::{Chemistry, DcDcCharger, Relay};
use model::{BatteryAt, CircuitKind, EngineCharging, Inputs, Name, Origin, Pole, Spec};
use quantity::{Amps, Celsius, Fraction, HoursPerDay, Metres, Ohms, Volts};

use crate::bank::BankChoice;
use crate::board::Bars;
use crate::builder::{Builder, Given, feeding, terminal};
use crate::charge::{Charging, charge_run, setting};
use crate::choose;
use crate::run::{Guard, Run};
use crate::settings::{Length, Settings, assumed_length, same_nominal};

/// Charging from the engine.
#[derive(Clone, Debug)]
pub enum EngineChoice {
    DcDc(Name, DcDcCharger),
    Relay(Name, Relay),
}

pub fn choose_engine(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    charging: &mut Charging,
) {
    let project = builder.project;
    let Some(engine) = &project.intent.engine else { return };
    let way = engine.charging.unwrap_or(EngineCharging::DcDc);
    if way == EngineCharging::None {
        return;
    }
    charging.driving = builder
        .given(
            "engine.driving",
            engine.driving,
            HoursPerDay::new(1.0),
            Some((HoursPerDay::zero(), HoursPerDay::new(3.0))),
            "driving averaged over the days of use",
            false,
        )
        .value;
    let (alternator, hot, own) = alternator(builder);
    let spare = alternator * hot.get() - own;
    charging.engine_spare = spare;
    let input = engine.voltage.unwrap_or(Volts::new(12.0));
    builder.because(
        "engine.spare",
        Inputs::new()
            .with("alternator", alternator, Origin::Intent("engine".to_owned()))
            .with("share it holds hot", hot, Origin::Practice("alternators lose power when hot".to_owned()))
            .with("engine's own loads", own, Origin::Intent("engine.own_load".to_owned()))
            .because(spare, format!("{alternator} x {hot} - {own}")),
    );
    match way {
        EngineCharging::DcDc => {
            let library = &project.library.dcdc;
            let path = "engine.charger.part";
            let pin =
                builder.pin_part(path, library, "DC-DC charger").map(|(id, part)| (id.clone(), part.clone()));
            let named = pin.clone().or_else(|| {
                let id = engine.charger.as_ref()?;
                Some((id.clone(), library.get(id)?.clone()))
            });
            // Half of what is spare, so that the alternator also survives idling in summer.
            let most = spare * 0.6;
            let room = charging.room(bank);
            let wish = engine.current.unwrap_or(most.min(room));
            let fits = |part: &&DcDcCharger| {
                same_nominal(part.input, input)
                    && settings.is_bank_voltage(part.output)
                    && part.profiles.contains(&bank.battery.chemistry)
            };
            let pick = library
                .iter()
                .filter(|(_, part)| fits(part) && part.current <= room && part.input_current <= most)
                .filter(|(_, part)| part.current <= wish * 1.02)
                .max_by(|a, b| {
                    a.1.current
                        .total_cmp(&b.1.current)
                        .then_with(|| choose::price(b.1).total_cmp(&choose::price(a.1)))
                        .then_with(|| b.0.cmp(a.0))
                })
                .map(|(id, part)| (id.clone(), part.clone()));
            let derived = pick.as_ref().map(|(id, _)| id.to_string());
            let need = format!(
                "a DC-DC charger from {input} to {} for {}, of at most {wish}, taking at most {most}",
                settings.voltage, bank.battery.chemistry
            );
            let Some((id, part)) = named.clone().or(pick) else {
                builder.gap(path, need, "engine");
                return;
            };
            charging.engine_current = part.current;
            builder.because_pinned(
                path,
                id.to_string(),
                derived,
                pin.is_some(),
                if named.is_some() && pin.is_none() {
                    "as said".to_owned()
                } else {
                    format!("the strongest that fits: {need}")
                },
                Inputs::new()
                    .with(
                        "spare current of the alternator",
                        spare,
                        Origin::Derived("engine.spare".to_owned()),
                    )
                    .with(
                        "what the bank takes beside the sun",
                        room,
                        Origin::Derived("bank.part".to_owned()),
                    ),
            );
            charging.engine = Some(EngineChoice::DcDc(id, part));
        }
        EngineCharging::Relay => {
            let library = &project.library.relay;
            let path = "engine.charger.part";
            let pin = builder.pin_part(path, library, "relay").map(|(id, part)| (id.clone(), part.clone()));
            let named = pin.clone().or_else(|| {
                let id = engine.charger.as_ref()?;
                Some((id.clone(), library.get(id)?.clone()))
            });
            // Through a relay the alternator gives what it can: cable and relay must carry all of it.
            let current = engine.current.unwrap_or(alternator);
            let pick = choose::cheapest(library, |part| {
                settings.is_bank_voltage(part.voltage) && part.current >= current
            })
            .map(|pick| (pick.id.clone(), pick.part.clone()));
            let derived = pick.as_ref().map(|(id, _)| id.to_string());
            let need = format!("a charging relay of {current} at {}", settings.voltage);
            let Some((id, part)) = named.or(pick) else {
                builder.gap(path, need, "engine");
                return;
            };
            charging.engine_current = current;
            builder.because_pinned(
                path,
                id.to_string(),
                derived,
                pin.is_some(),
                need,
                Inputs::new().with("alternator", alternator, Origin::Intent("engine".to_owned())),
            );
            charging.engine = Some(EngineChoice::Relay(id, part));
        }
        EngineCharging::None => {}
    }
}

/// Alternator rating, the share it holds hot, and what the engine itself takes.
fn alternator(builder: &mut Builder<'_>) -> (Amps, Fraction, Amps) {
    let project = builder.project;
    let engine = project.intent.engine.as_ref();
    let part =
        engine.and_then(|engine| engine.part.as_ref()).and_then(|id| project.library.alternator.get(id));
    let rating = builder
        .given(
            "engine.alternator",
            part.map(|part| part.current).or(engine.and_then(|engine| engine.alternator)),
            Amps::new(120.0),
            Some((Amps::new(70.0), Amps::new(200.0))),
            "a common size; it stands on the alternator's plate",
            true,
        )
        .value;
    let hot = part.map_or(Fraction::new(0.7), |part| part.hot_share);
    let own = builder
        .given(
            "engine.own_load",
            engine.and_then(|engine| engine.own_load),
            Amps::new(25.0),
            Some((Amps::new(10.0), Amps::new(50.0))),
            "lights, fan and engine electronics; common practice, no source",
            false,
        )
        .value;
    (rating, hot, own)
}

pub fn build_engine(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    bars: Bars,
    charging: &Charging,
    engine: &EngineChoice,
) {
    let project = builder.project;
    let Some(intent) = &project.intent.engine else { return };
    let zone = builder
        .zones
        .iter()
        .position(|zone| zone.kind == model::ZoneKind::EngineSpace)
        .unwrap_or(settings.board_zone);
    let route = intent.route.as_ref().and_then(|route| project.intent.routes.get(route));
    let run_zone = route.and_then(|route| route.zone.clone()).map_or(zone, |zone| builder.zone(&Some(zone)));
    let voltage = intent.voltage.unwrap_or(Volts::new(12.0));
    let start = start_battery(builder, intent, voltage, zone);
    let from = (builder.at(start, "positive"), builder.at(start, "negative"));
    let (usual, low, high) = assumed_length(settings.craft, Length::Engine);
    let length = builder.given_length(
        "engine.length",
        intent.length.or(route.and_then(|route| route.length)),
        usual,
        Some((low, high)),
        "from the engine's battery to the charger; measure the way the cable takes, one way",
        true,
    );
    let (usual, low, high) = assumed_length(settings.craft, Length::Board);
    let charger_length = builder.given_length(
        "engine.charger_length",
        intent.charger_length,
        usual,
        Some((low, high)),
        "beside the busbars on the board",
        false,
    );
    let (device, current, to, title) = match engine {
        EngineChoice::DcDc(id, part) => {
            let (stud, most) = (part.stud, Some(part.max_gauge));
            let mut terminals = vec![terminal("in-positive", Pole::Positive, stud, most)];
            if part.isolated {
                terminals.push(terminal("in-negative", Pole::Negative, stud, most));
            }
            terminals.push(terminal("positive", Pole::Positive, stud, most));
            terminals.push(terminal("negative", Pole::Negative, stud, most));
            let spec = Spec::DcDc(part.clone(), setting(bank, part.current, &part.profiles));
            let device = builder.device(
                "engine.charger",
                "DC-DC charger",
                spec,
                terminals,
                settings.board_zone,
                "engine",
            );
            builder.is_part(device, "dcdc", id, part);
            let negative = if part.isolated { "in-negative" } else { "negative" };
            let to = (builder.at(device, "in-positive"), builder.at(device, negative));
            (device, part.input_current, to, "Engine to DC-DC charger")
        }
        EngineChoice::Relay(id, part) => {
            let device = builder.device(
                "engine.relay",
                "Charging relay",
                Spec::Relay(part.clone()),
                vec![
                    feeding("engine", Pole::Positive, Some(part.stud), None),
                    feeding("house", Pole::Positive, Some(part.stud), None),
                ],
                settings.board_zone,
                "engine",
            );
            builder.is_part(device, "relay", id, part);
            let to = (builder.at(device, "engine"), bars.negative);
            (device, charging.engine_current, to, "Engine to relay")
        }
    };
    // What stands behind the far end: the house bank through a relay, the converter's capacitors through a DC-DC charger.
    let house = builder.source_loop.get(&bars.positive).copied().unwrap_or(settings.bank_loop);
    if matches!(engine, EngineChoice::Relay(..)) {
        builder.source_loop.insert(to.0, house);
    }
    let factor = builder.reference.continuous_factor(settings.rules);
    let limit = builder.reference.drop_limit(settings.rules, true, false);
    builder.because(
        "engine.drop-limit",
        Inputs::new()
            .with("critical circuits", format!("{} %", limit.value.get() * 100.0), Origin::Table(limit.cite))
            .because(
                format!("{:.1} %", limit.value.get() * 100.0),
                "charging suffers from every tenth of a volt",
            ),
    );
    builder.lay(
        settings,
        Run {
            id: "engine".to_owned(),
            title: title.to_owned(),
            kind: CircuitKind::Engine,
            voltage,
            voltage_lowest: voltage,
            steady: current,
            surge: current,
            drop_current: current,
            continuous: true,
            critical: true,
            drop_limit: limit.value,
            factor: (factor.value, Origin::Table(factor.cite)),
            from,
            to,
            length,
            zone: run_zone,
            bundle: route.and_then(|route| route.bundle).unwrap_or(1),
            sheathed: route.and_then(|route| route.sheathed).unwrap_or(false),
            guard: Guard::BothEnds,
            intent: "engine".to_owned(),
            current_step:
                "the charger's largest input current, or all that the alternator may give through a relay"
                    .to_owned(),
            current_inputs: Inputs::new(),
            serves: vec![device],
        },
    );
    match engine {
        EngineChoice::DcDc(_, part) => charge_run(
            builder,
            settings,
            bars,
            "engine.charge",
            "DC-DC charging",
            device,
            part.current,
            charger_length,
            settings.board_zone,
            "engine",
            "the charger's rating".to_owned(),
        ),
        EngineChoice::Relay(..) => {
            relay_to_bar(builder, settings, bars, device, charging.engine_current, charger_length);
        }
    }
}

/// The relay's house side: one positive conductor, fused at the busbar.
fn relay_to_bar(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bars: Bars,
    relay: usize,
    current: Amps,
    length: Given<Metres>,
) {
    let factor = builder.reference.continuous_factor(settings.rules);
    let to = builder.at(relay, "house");
    builder.because("engine.charge.drop-limit", Inputs::new().because("1 %", "a short lead on the board"));
    builder.lay(
        settings,
        Run {
            id: "engine.charge".to_owned(),
            title: "Relay to busbar".to_owned(),
            kind: CircuitKind::Charge,
            voltage: settings.voltage,
            voltage_lowest: settings.voltage_low,
            steady: current,
            surge: current,
            drop_current: current,
            continuous: true,
            critical: true,
            drop_limit: Fraction::new(0.01),
            factor: (factor.value, Origin::Table(factor.cite)),
            from: (bars.positive, bars.negative),
            to: (to, bars.negative),
            length,
            zone: settings.board_zone,
            bundle: 1,
            sheathed: false,
            guard: Guard::AtSource,
            intent: "engine".to_owned(),
            current_step: "all that the alternator may give".to_owned(),
            current_inputs: Inputs::new(),
            serves: vec![relay],
        },
    );
    // A relay has no negative of its own; the run's return is the engine lead's, which ends at the negative busbar.
    builder.conductors.retain(|conductor| conductor.id != "engine.charge.negative");
}

fn start_battery(
    builder: &mut Builder<'_>,
    intent: &model::EngineIntent,
    voltage: Volts,
    zone: usize,
) -> usize {
    let capacity = builder
        .given(
            "engine.start_capacity",
            intent.start_capacity,
            quantity::AmpHours::new(80.0),
            None,
            "a common starting battery",
            false,
        )
        .value;
    // 4 milliohms for 80 Ah at 12 V: a starting battery gives thousands of amps.
    let resistance = Ohms::new(0.004 * 80.0 / capacity.get().max(1.0) * voltage.get() / 12.0);
    let short = voltage * 1.06 / resistance;
    let part = model::parts::Battery {
        title: "The engine's own battery".to_owned(),
        price: Vec::new(),
        mass: quantity::Kilograms::zero(),
        size: Vec::new(),
        note: None,
        footprint: None,
        chemistry: Chemistry::Flooded,
        voltage,
        capacity,
        charge_limit: Amps::new(capacity.get() * 0.3),
        discharge_limit: Amps::new(capacity.get() * 8.0),
        surge_limit: None,
        surge_time: None,
        short_circuit: None,
        internal_resistance: resistance,
        absorption: voltage * 1.2,
        float: voltage * 1.06,
        cutoff: voltage * 0.875,
        charge_coldest: Celsius::new(-20.0),
        discharge_coldest: Celsius::new(-30.0),
        hottest: Celsius::new(70.0),
        usable: Fraction::new(0.2),
        heated: None,
        peukert: 1.2,
        stud: model::parts::Stud::M8,
        most_series: 1,
        most_parallel: 1,
    };
    let stud = Some(part.stud);
    let start = builder.device(
        "engine.battery",
        "Engine battery",
        Spec::StartBattery(BatteryAt {
            part,
            string: 0,
            place: 0,
            short_circuit: short,
            short_circuit_is_stated: false,
        }),
        vec![
            feeding("positive", Pole::Positive, stud, None),
            feeding("negative", Pole::Negative, stud, None),
        ],
        zone,
        "engine",
    );
    let positive = builder.at(start, "positive");
    builder.source_loop.insert(positive, resistance);
    builder.because(
        "engine.short-circuit",
        Inputs::new()
            .with("capacity", capacity, Origin::Assumed("engine.start_capacity".to_owned()))
            .because(
                short,
                format!("{} / {resistance}; resistance typical of its size, from memory", voltage * 1.06),
            ),
    );
    alternator_device(builder, intent, voltage, zone, start);
    start
}

/// The alternator and the vehicle's own wiring to its battery: there before, and not ours to schedule.
fn alternator_device(
    builder: &mut Builder<'_>,
    intent: &model::EngineIntent,
    voltage: Volts,
    zone: usize,
    start: usize,
) {
    let project = builder.project;
    let named = intent.part.as_ref().and_then(|id| Some((id, project.library.alternator.get(id)?)));
    let rating = intent.alternator.unwrap_or(Amps::new(120.0));
    let part = named.map_or_else(
        || model::parts::Alternator {
            title: "Alternator".to_owned(),
            price: Vec::new(),
            mass: quantity::Kilograms::zero(),
            size: Vec::new(),
            note: None,
            footprint: None,
            voltage,
            current: rating,
            hot_share: Fraction::new(0.7),
            set_voltage: voltage * 1.18,
            variable: intent.variable.unwrap_or(false),
            stud: model::parts::Stud::M8,
        },
        |(_, part)| part.clone(),
    );
    let stud = Some(part.stud);
    let device = builder.device(
        "engine.alternator",
        "Alternator",
        Spec::Alternator(part),
        vec![
            terminal("positive", Pole::Positive, stud, None),
            terminal("negative", Pole::Negative, stud, None),
        ],
        zone,
        "engine",
    );
    let circuit = builder.circuit(model::Circuit {
        id: "engine.own".to_owned(),
        title: "The vehicle's own wiring".to_owned(),
        kind: CircuitKind::Engine,
        supply: model::parts::Supply::Dc,
        voltage,
        voltage_lowest: voltage,
        current_steady: Amps::zero(),
        current_surge: Amps::zero(),
        continuous: false,
        critical: false,
        drop_limit: Fraction::new(0.03),
        protection_least: Amps::zero(),
        protection: Vec::new(),
        serves: Vec::new(),
        intent: "engine".to_owned(),
    });
    let gauge = quantity::Gauge::Awg(-1);
    builder.link(
        "engine.own.positive",
        builder.at(device, "positive"),
        builder.at(start, "positive"),
        Pole::Positive,
        gauge,
        circuit,
    );
    builder.link(
        "engine.own.negative",
        builder.at(start, "negative"),
        builder.at(device, "negative"),
        Pole::Negative,
        gauge,
        circuit,
    );
}
