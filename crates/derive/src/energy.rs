//! Mean energy of a summer and a winter day: what the bank must give, what the sources bring.
//! Never: follows the hours of a year.
//! Start at [`need`], then [`plan`].

use model::parts::Supply;
use model::{EnergyPlan, Inputs, Load, Origin};
use quantity::{Hours, HoursPerDay, WattHoursPerDay, Watts};

use crate::bank::{BankChoice, Need};
use crate::builder::Builder;
use crate::charge::Charging;
use crate::inverter::{self, AcDemand, InverterChoice};
use crate::loads::{LoadPlan, starting, together};
use crate::settings::Settings;

/// What a day asks of the bank.
#[derive(Clone, Debug)]
pub struct DayNeed {
    pub summer: WattHoursPerDay,
    pub winter: WattHoursPerDay,
    pub idle: WattHoursPerDay,
    pub inverter_hours: HoursPerDay,
    pub peak: Watts,
}

/// Adds up the loads as the bank sees them: AC through the inverter, with its idle draw.
pub fn need(
    builder: &mut Builder<'_>,
    loads: &[LoadPlan],
    inverter: Option<&InverterChoice>,
    demand: &AcDemand,
) -> (DayNeed, Need) {
    let efficiency = inverter.map_or(1.0, |inverter| inverter::efficiency(&inverter.part).get());
    let through = |load: &Load| if load.supply == Supply::Ac { 1.0 / efficiency } else { 1.0 };
    let sum = |of: &dyn Fn(&Load) -> WattHoursPerDay| -> WattHoursPerDay {
        loads.iter().map(|plan| of(&plan.load) * through(&plan.load)).sum()
    };
    let (idle, inverter_hours) = idle(builder, loads, inverter);
    let summer = sum(&|load| load.energy_summer) + idle;
    let winter = sum(&|load| load.energy_winter) + idle;
    let dc = || loads.iter().map(|plan| &plan.load).filter(|load| load.supply == Supply::Dc);
    let dc_peak = together(dc(), |load| load.power.get());
    let dc_start = starting(dc(), |load| load.power.get(), |load| load.power_start.get()) - dc_peak;
    let ac_peak = demand.power / efficiency;
    let peak = Watts::new(dc_peak) + ac_peak;
    let ac_start = demand.surge / efficiency;
    let peak_start = peak + (ac_start - ac_peak).max(Watts::new(dc_start));
    let per_day = summer.max(winter);
    let inputs = loads.iter().fold(Inputs::new(), |inputs, plan| {
        inputs.with(
            &plan.load.title,
            plan.load.energy_summer.max(plan.load.energy_winter),
            Origin::Derived(format!("{}.energy", plan.name)),
        )
    });
    builder.because(
        "energy.need",
        inputs
            .with("idle of inverter and monitor", idle, Origin::Derived("energy.idle".to_owned()))
            .because(per_day, format!("sum of the loads, AC ones over {efficiency:.2} efficiency, and idle: {summer} in summer, {winter} in winter")),
    );
    builder.because(
        "energy.peak",
        Inputs::new()
            .with("DC loads together", Watts::new(dc_peak), Origin::Intent("loads".to_owned()))
            .with("AC loads together, from the bank", ac_peak, Origin::Derived("ac.peak".to_owned()))
            .because(peak, format!("what may run together; {peak_start} while the largest starts")),
    );
    if demand.power > Watts::zero() {
        builder.because(
            "ac.peak",
            inverter::loads_together(loads).because(
                demand.power,
                format!("what may run together; {} while the largest starts", demand.surge),
            ),
        );
    }
    let largest = loads
        .iter()
        .map(|plan| (plan.name.to_string(), plan.load.power * through(&plan.load)))
        .max_by(|a, b| a.1.total_cmp(&b.1).then_with(|| b.0.cmp(&a.0)));
    (
        DayNeed { summer, winter, idle, inverter_hours, peak },
        Need {
            per_day,
            peak,
            peak_start,
            lowest: inverter.map(|inverter| inverter.part.lowest_input),
            sun: stated_sun(builder),
            largest,
        },
    )
}

/// Idle energy of the inverter, and the hours a day for which it is on.
fn idle(
    builder: &mut Builder<'_>,
    loads: &[LoadPlan],
    inverter: Option<&InverterChoice>,
) -> (WattHoursPerDay, HoursPerDay) {
    let Some(choice) = inverter else { return (WattHoursPerDay::zero(), HoursPerDay::zero()) };
    let said = builder.project.intent.inverter.as_ref().and_then(|inverter| inverter.hours);
    // As long as any AC load runs: their hours added, at most a whole day.
    let hours: f64 = loads
        .iter()
        .filter(|plan| plan.load.supply == Supply::Ac && plan.load.power > Watts::zero())
        .map(|plan| {
            (plan.load.energy_summer.max(plan.load.energy_winter).get() / plan.load.power.get()).min(24.0)
        })
        .sum();
    let hours = builder.given(
        "inverter.hours",
        said,
        HoursPerDay::new((hours.clamp(0.0, 24.0) * 100.0).round() / 100.0),
        Some((HoursPerDay::zero(), HoursPerDay::new(24.0))),
        "switched on only while AC loads run",
        false,
    );
    let idle = choice.part.idle * hours.value;
    builder.because(
        "energy.idle",
        Inputs::new()
            .with("idle draw", choice.part.idle, Origin::Part(format!("inverter.{}.idle", choice.id)))
            .with("hours on", hours.value, hours.origin)
            .because(idle, format!("{} x {}", choice.part.idle, hours.value)),
    );
    (idle, hours.value)
}

/// Power of the arrays whose module and number the person gives.
fn stated_sun(builder: &Builder<'_>) -> Watts {
    let project = builder.project;
    project
        .intent
        .solar
        .values()
        .filter_map(|array| {
            let module = project.library.module.get(array.module.as_ref()?)?;
            Some(module.power * f64::from(array.count?))
        })
        .sum()
}

/// Need against sources.
pub fn plan(
    builder: &mut Builder<'_>,
    settings: &Settings,
    need: &DayNeed,
    bank: Option<&BankChoice>,
    charging: &Charging,
) -> EnergyPlan {
    let project = builder.project;
    let voltage = bank.map_or(settings.voltage, BankChoice::nominal);
    // Controller, wiring, dust and heat together leave about four fifths; common practice, no source.
    let system = 0.8;
    let sun = |winter: bool| -> WattHoursPerDay {
        charging
            .solar
            .iter()
            .map(|solar| solar.power() * if winter { solar.sun_winter } else { solar.sun_summer } * system)
            .sum()
    };
    let (sun_summer, sun_winter) = (sun(false), sun(true));
    let engine = voltage * charging.engine_current * charging.driving;
    let supply_current =
        charging.charger.as_ref().map_or(charging.inverter_charge, |(_, charger)| charger.current);
    let shore_hours = project.intent.shore.as_ref().map(|shore| {
        builder
            .given(
                "shore.hours",
                shore.hours,
                HoursPerDay::zero(),
                Some((HoursPerDay::zero(), HoursPerDay::new(8.0))),
                "no shore power is counted on",
                false,
            )
            .value
    });
    let generator_hours = project.intent.generator.as_ref().map(|generator| {
        builder
            .given(
                "generator.hours",
                generator.hours,
                HoursPerDay::zero(),
                Some((HoursPerDay::zero(), HoursPerDay::new(3.0))),
                "the generator is kept for bad weather",
                false,
            )
            .value
    });
    let shore = voltage * supply_current * shore_hours.unwrap_or(HoursPerDay::zero());
    let generator = voltage * supply_current * generator_hours.unwrap_or(HoursPerDay::zero());
    let per_day = need.summer.max(need.winter);
    let usable = bank.map_or(quantity::WattHours::zero(), |bank| bank.energy() * bank.usable.get());
    let autonomy =
        if per_day.get() > 0.0 { Hours::new(usable.get() / per_day.get() * 24.0) } else { Hours::zero() };
    builder.because(
        "energy.autonomy",
        Inputs::new()
            .with("usable energy", usable, Origin::Derived("bank.capacity".to_owned()))
            .with("need of a day", per_day, Origin::Derived("energy.need".to_owned()))
            .because(autonomy, format!("{usable} / {per_day}")),
    );
    for solar in &charging.solar {
        let sum = solar.power() * solar.sun_summer * system;
        builder.because(
            format!("{}.energy", solar.name),
            Inputs::new()
                .with("array", solar.power(), Origin::Part(format!("module.{}.power", solar.module_id)))
                .with(
                    "hours of full sun, summer",
                    solar.sun_summer,
                    Origin::Assumed(format!("solar.{}.sun_hours", solar.name)),
                )
                .with(
                    "hours of full sun, winter",
                    solar.sun_winter,
                    Origin::Practice("by latitude".to_owned()),
                )
                .because(
                    sum,
                    format!(
                        "{} x {} x {system}; {} in winter",
                        solar.power(),
                        solar.sun_summer,
                        solar.power() * solar.sun_winter * system
                    ),
                ),
        );
    }
    EnergyPlan {
        need_summer: need.summer,
        need_winter: need.winter,
        idle: need.idle,
        sun_summer,
        sun_winter,
        engine,
        shore,
        generator,
        autonomy_wanted: settings.autonomy,
        autonomy,
        peak: need.peak,
    }
}
