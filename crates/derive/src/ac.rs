//! The alternating-current side: inlet, generator, inverter, transfer, residual-current protection, panel, branches.
//! Never: joins two sources; a transfer switch or relay gives the panel one of them.
//! Start at [`build`].

use model::parts::Supply;
use model::{CircuitKind, DeviceIx, Inputs, Origin, Pole, Spec, TerminalRef};
use quantity::{Amps, Fraction};

use crate::ac_panel::{branches, build_panel};
use crate::ac_run::{AcRun, BreakerWish, Ends, lay};
use crate::ac_supply::{board_length, join_supplies, supplies, transfer};
use crate::bank::BankChoice;
use crate::board::{Bars, MAIN_DROP};
use crate::builder::{Builder, terminal};
use crate::charge::{Charging, setting};
use crate::inverter::{InverterChoice, lowest_input};
use crate::loads::LoadPlan;
use crate::run::{Guard, Run};
use crate::settings::{Length, Settings, assumed_length};
use crate::sizing::{self};

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
        (Some(inverter), Some(bank), Some(bars)) => Some((
            inverter,
            build_inverter(builder, settings, bank, bars, inverter, charging.inverter_charge),
        )),
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
    if let (Some((_, charger)), Some(supply), Some(bank), Some(bars)) =
        (&charging.charger, &supply, bank, bars)
    {
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
            lay(
                builder,
                settings,
                AcRun {
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
                },
            );
            let own = choice.part.power / choice.part.output;
            let rating = own.max(
                choice.part.transfer.map_or(supply.rating, |transfer| transfer.min(supply.rating).max(own)),
            );
            Source { ends: inverter_out(builder, *device), rating, name: "inverter" }
        }
        (Some((choice, device)), Some(supply)) => {
            let own = choice.part.power / choice.part.output;
            transfer(
                builder,
                settings,
                "ac.transfer",
                "Supply or inverter",
                supply,
                &Source { ends: inverter_out(builder, *device), rating: own, name: "inverter" },
            )
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
pub struct Source {
    pub ends: Ends,
    pub rating: Amps,
    pub name: &'static str,
}

fn inverter_out(builder: &Builder<'_>, device: DeviceIx) -> Ends {
    Ends {
        line: builder.at(device, "line"),
        neutral: builder.at(device, "neutral"),
        earth: Some(builder.at(device, "earth")),
    }
}

fn build_inverter(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    bars: Bars,
    choice: &InverterChoice,
    inverter_charge: Amps,
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
    let charge =
        part.charge.map(|current| setting(bank, current.min(inverter_charge), model::parts::Chemistry::ALL));
    let title = if choice.is_charger { "Inverter-charger" } else { "Inverter" };
    let device =
        builder.device("inverter", title, Spec::Inverter(part.clone(), charge), terminals, zone, "inverter");
    builder.is_part(device, "inverter", &choice.id, part);

    let input = lowest_input(part, settings);
    let discharge = sizing::inverter_current(part.power, part.efficiency_full, input);
    let surge = sizing::inverter_current(part.surge, part.efficiency_full, settings.voltage_low);
    let steady = discharge.max(part.charge.unwrap_or(Amps::zero()));
    let (usual, low, high) = assumed_length(settings.craft, Length::Board);
    let length = builder.given_length(
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
            .because(
                format!("{:.1} %", drop_limit.get() * 100.0),
                "an inverter stops at low voltage, so it is held as critical",
            ),
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
            drop_current: discharge,
            continuous: false,
            critical: true,
            drop_limit,
            factor: (
                1.0,
                Origin::Practice(
                    "counted at the lowest input voltage, which is the worst already".to_owned(),
                ),
            ),
            from: (bars.positive, bars.negative),
            to,
            length,
            zone,
            bundle: 1,
            sheathed: false,
            guard: Guard::AtSource,
            intent: "inverter".to_owned(),
            current_step: format!(
                "{} / ({} x {input}), its lowest input voltage",
                part.power, part.efficiency_full
            ),
            current_inputs: Inputs::new()
                .with("power", part.power, Origin::Part(format!("inverter.{}.power", choice.id)))
                .with(
                    "efficiency at full power",
                    part.efficiency_full,
                    Origin::Part(format!("inverter.{}.efficiency_full", choice.id)),
                )
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
    let length = builder.given_length(
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
    lay(
        builder,
        settings,
        AcRun {
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
            breaker: Some(BreakerWish {
                least: input * 1.25,
                exact: false,
                residual: true,
                panel: None,
                role: "branch",
            }),
            upstream: None,
            intent: "charger".to_owned(),
            step: format!(
                "{} at {} over {} at {}",
                part.current,
                bank.voltage_charging(),
                part.efficiency,
                part.input
            ),
            serves: vec![device],
        },
    );
}
