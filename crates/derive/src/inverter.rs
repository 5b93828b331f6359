//! Choosing the inverter: by what runs together, by the largest start, by the heat where it stands.
//! Never: builds its circuits (see `ac.rs`).
//! Start at [`choose`].

use model::parts::Inverter;
use model::{Inputs, InverterKind, Load, Name, Origin, Refusal};
use quantity::{Celsius, Fraction, Kelvins, VoltAmps, Volts, Watts};

use crate::builder::Builder;
use crate::choose::PartAsk;
use crate::loads::{LoadPlan, starting, together};
use crate::settings::Settings;

/// An inverter that was chosen, and what it must do.
#[derive(Clone, Debug)]
pub struct InverterChoice {
    pub id: Name,
    pub part: Inverter,
    pub is_charger: bool,
}

/// What the AC loads ask together.
#[derive(Clone, Debug, Default)]
pub struct AcDemand {
    pub power: Watts,
    pub apparent: VoltAmps,
    pub surge: Watts,
    pub largest: Option<(String, Watts)>,
}

/// What the AC loads ask together.
pub fn demand(loads: &[LoadPlan]) -> AcDemand {
    let ac = || loads.iter().map(|plan| &plan.load).filter(|load| load.supply == model::parts::Supply::Ac);
    let power = together(ac(), |load| load.power.get());
    let apparent = together(ac(), |load| load.power.get() / load.power_factor.get().max(0.1));
    let surge = starting(ac(), |load| load.power.get(), |load| load.power_start.get());
    let largest = loads
        .iter()
        .filter(|plan| plan.load.supply == model::parts::Supply::Ac)
        .max_by(|a, b| a.load.power.total_cmp(&b.load.power).then_with(|| b.name.cmp(&a.name)))
        .map(|plan| (plan.name.to_string(), plan.load.power));
    AcDemand {
        power: Watts::new(power),
        apparent: VoltAmps::new(apparent),
        surge: Watts::new(surge),
        largest,
    }
}

/// Continuous power of an inverter at an ambient: straight between its figures for 25 and 40 °C, and on beyond.
pub fn power_at(part: &Inverter, ambient: Celsius) -> Watts {
    let slope = (part.power_hot - part.power) / 15.0;
    let above: Kelvins = ambient - Celsius::new(25.0);
    (part.power + slope * above.get().max(0.0)).max(Watts::zero())
}

/// Mean efficiency, between its figures for a quarter and full power.
pub fn efficiency(part: &Inverter) -> Fraction {
    Fraction::new((part.efficiency_quarter.get() + part.efficiency_full.get()) / 2.0)
}

/// Chooses the inverter, or none where nothing asks for one.
pub fn choose(builder: &mut Builder<'_>, settings: &Settings, demand: &AcDemand) -> Option<InverterChoice> {
    let project = builder.project;
    let intent = project.intent.inverter.clone();
    let said = intent.as_ref();
    let kind = match said.and_then(|inverter| inverter.kind) {
        Some(InverterKind::None) => return None,
        Some(kind) => kind,
        None => {
            if said.is_none() && demand.power <= Watts::zero() {
                return None;
            }
            let has_supply = project.intent.shore.is_some() || project.intent.generator.is_some();
            let wants_charger = has_supply && project.intent.charger.is_none();
            let kind = if wants_charger { InverterKind::InverterCharger } else { InverterKind::Inverter };
            builder.assume(
                "inverter.kind",
                kind.word().to_owned(),
                Some(("inverter".to_owned(), "inverter-charger".to_owned())),
                "with shore or generator and no charger of its own, one unit that does both is simplest",
                false,
            );
            kind
        }
    };
    let zone_name = said.and_then(|inverter| inverter.zone.clone());
    let zone = zone_name.map_or(settings.board_zone, |zone| builder.zone(&Some(zone)));
    let hottest = builder.zones[zone].hottest;
    let wanted = said.and_then(|inverter| inverter.power).unwrap_or(Watts::zero()).max(demand.power);
    // Its relay passes the whole shore supply on.
    let shore = project.intent.shore.as_ref().map(|shore| {
        let part =
            shore.part.as_ref().and_then(|part| project.library.inlet.get(part)).map(|part| part.current);
        shore.current.or(part).unwrap_or(settings.usual_shore())
    });
    let fits = |part: &Inverter| {
        settings.is_bank_voltage(part.voltage)
            && (part.output / settings.ac_voltage - 1.0).abs() < 0.06
            && part.frequency == settings.frequency
            && part.charge.is_some() == (kind == InverterKind::InverterCharger)
            && power_at(part, hottest) >= wanted
            && power_at(part, hottest).get() >= demand.apparent.get()
            && part.surge >= demand.surge
            && (kind == InverterKind::Inverter || part.transfer >= shore)
    };
    let need = format!(
        "an {} from {} to {} {} Hz of {wanted} ({} apparent) at {hottest}, {} while starting",
        if kind == InverterKind::InverterCharger { "inverter-charger" } else { "inverter" },
        settings.voltage,
        settings.ac_voltage,
        settings.frequency,
        demand.apparent,
        demand.surge
    );
    let ask = PartAsk {
        path: "inverter.part",
        kind: "inverter",
        need: need.clone(),
        named: said.and_then(|inverter| inverter.part.as_ref()),
        intent: "inverter",
        inputs: Inputs::new()
            .with("AC power together", demand.power, Origin::Derived("ac.peak".to_owned()))
            .with("while starting", demand.surge, Origin::Derived("ac.peak".to_owned()))
            .with(
                "hottest where it stands",
                hottest,
                Origin::Derived(format!("zones.{}", builder.zones[zone].id)),
            ),
    };
    let Some((id, part)) = builder.choose(&project.library.inverter, ask, fits) else {
        let current = wanted / 0.88 / settings.voltage;
        builder.refusals.push(Refusal {
            what: format!("no inverter on {} gives what the AC loads ask together", settings.voltage),
            numbers: format!("{need}; that is about {current} from a bank of {}", settings.voltage),
            intent: demand
                .largest
                .as_ref()
                .map_or("inverter".to_owned(), |(name, _)| format!("loads.{name}")),
        });
        return None;
    };
    let is_charger = part.charge.is_some();
    Some(InverterChoice { id, part, is_charger })
}

/// Lowest input voltage at which it works on this bank.
pub fn lowest_input(part: &Inverter, settings: &Settings) -> Volts {
    part.lowest_input.min(settings.voltage_low)
}

/// The load's share in words, for reasons.
pub fn loads_together(loads: &[LoadPlan]) -> Inputs {
    loads.iter().filter(|plan| plan.load.supply == model::parts::Supply::Ac).fold(
        Inputs::new(),
        |inputs, plan: &LoadPlan| {
            let load: &Load = &plan.load;
            let turns = load.takes_turns.as_ref().map_or(String::new(), |group| format!(" (turns: {group})"));
            inputs.with(
                format!("{}{turns}", load.title),
                load.power,
                Origin::Derived(format!("{}.power", plan.name)),
            )
        },
    )
}
