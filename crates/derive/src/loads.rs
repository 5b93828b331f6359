//! Loads: what each takes, how it is grouped into circuits, and the mean energy of a day.
//! Never: sizes a conductor or fuse.
//! Start at [`plan`].

use std::collections::BTreeMap;

use model::parts::{LoadNature, Supply};
use model::{ClockTime, Follows, Habit, Importance, Inputs, Load, LoadIntent, Name, Origin, Season, ZoneIx};
use quantity::{Amps, Fraction, HoursPerDay, Metres, Volts, WattHoursPerDay, Watts};

use crate::builder::{Builder, Given};
use crate::settings::{Length, Settings, assumed_length, same_nominal};

/// A load with where and how it is joined.
#[derive(Clone, Debug)]
pub struct LoadPlan {
    pub name: Name,
    pub load: Load,
    pub panel: Option<Name>,
    pub circuit: Option<Name>,
    pub zone: ZoneIx,
    pub bundle: u32,
    pub sheathed: bool,
    pub length: Given<Metres>,
    pub part: Option<Name>,
}

/// All loads, by name.
pub fn plan(builder: &mut Builder<'_>, settings: &Settings) -> Vec<LoadPlan> {
    let project = builder.project;
    project.intent.loads.iter().map(|(name, intent)| plan_one(builder, settings, name, intent)).collect()
}

fn plan_one(builder: &mut Builder<'_>, settings: &Settings, name: &Name, intent: &LoadIntent) -> LoadPlan {
    let project = builder.project;
    let part = intent.part.as_ref().and_then(|part| project.library.load.get(part));
    let path = format!("loads.{name}");
    let at = |field: &str| format!("{path}.{field}");
    let from_part = |field: &str| match &intent.part {
        Some(part) => Origin::Part(format!("load.{part}.{field}")),
        None => Origin::Intent(path.clone()),
    };

    let supply = intent.supply.or(part.map(|part| part.supply)).unwrap_or_else(|| {
        builder.assume(
            &at("supply"),
            "dc".to_owned(),
            Some(("dc".to_owned(), "ac".to_owned())),
            "a load without a part is taken to run straight from the bank",
            false,
        );
        Supply::Dc
    });
    let voltage = match (supply, intent.voltage, part) {
        (_, Some(voltage), _) => voltage,
        (Supply::Ac, None, _) => settings.ac_voltage,
        (Supply::Dc, None, Some(part))
            if !part.voltages.is_empty()
                && !part.voltages.iter().any(|voltage| same_nominal(*voltage, settings.voltage)) =>
        {
            part.voltages.first().copied().unwrap_or(settings.voltage)
        }
        _ => settings.voltage,
    };
    let count = intent.count.unwrap_or(1).max(1);
    let many = f64::from(count);
    let nature = intent.nature.or(part.map(|part| part.nature)).unwrap_or(LoadNature::Electronic);
    let power_factor = match supply {
        Supply::Dc => Fraction::new(1.0),
        Supply::Ac => {
            intent.power_factor.or(part.and_then(|part| part.power_factor)).unwrap_or(Fraction::new(1.0))
        }
    };

    // Running power of one.
    let (power, power_origin, power_step) = match (intent.power, intent.current, part) {
        (Some(power), _, _) => (power, Origin::Intent(at("power")), "as said".to_owned()),
        (None, Some(current), _) => {
            let power = current * voltage * power_factor.get();
            (power, Origin::Intent(at("current")), format!("{current} at {voltage}"))
        }
        (None, None, Some(part)) => (part.power, from_part("power"), "typical of such a load".to_owned()),
        (None, None, None) => (Watts::zero(), Origin::Intent(path.clone()), "not said".to_owned()),
    };
    builder.because(
        format!("{name}.power"),
        Inputs::new()
            .with("power of one", power, power_origin)
            .because(power * many, format!("{power_step}, {count} of them")),
    );

    let start_power = intent
        .start_power
        .or_else(|| intent.start_current.map(|current| current * voltage))
        .or(part.and_then(|part| if intent.power.is_some() { None } else { part.start_power }))
        .unwrap_or_else(|| {
            if nature == LoadNature::Motor {
                let start = power * 3.0;
                builder.assume(
                    &at("start_power"),
                    quantity::Written::show(&start),
                    Some((quantity::Written::show(&power), quantity::Written::show(&(power * 6.0)))),
                    "a motor draws about three times its running power while it starts; common practice, no source",
                    false,
                );
                start
            } else {
                power
            }
        })
        .max(power);
    let standby = intent.standby.or(part.and_then(|part| part.standby)).unwrap_or(Watts::zero());

    let (mean, energy_step, energy_inputs, hours) = energy(builder, intent, part, &path, power, many, name);
    let standby_energy = standby * many * HoursPerDay::new(24.0);
    let season = intent.season.unwrap_or(Season::AllYear);
    let follows = intent.follows.or(part.and_then(|part| part.follows));
    let share = |is_summer: bool| -> f64 {
        match (season, follows) {
            (Season::Winter, _) if is_summer => 0.0,
            (Season::Summer, _) if !is_summer => 0.0,
            // In the mild half of the year a compressor or fan runs about half as long, a heater a fifth; common practice.
            (_, Some(Follows::Heat)) if !is_summer => 0.5,
            (_, Some(Follows::Cold)) if is_summer => 0.2,
            _ => 1.0,
        }
    };
    let waiting = |share: f64| if share > 0.0 { standby_energy } else { WattHoursPerDay::zero() };
    let energy_summer = mean * share(true) + waiting(share(true));
    let energy_winter = mean * share(false) + waiting(share(false));
    let mut inputs = energy_inputs;
    if standby > Watts::zero() {
        let origin =
            if intent.standby.is_some() { Origin::Intent(at("standby")) } else { from_part("standby") };
        inputs = inputs.with("standby of one", standby, origin);
    }
    if let Some(follows) = follows {
        let origin =
            if intent.follows.is_some() { Origin::Intent(at("follows")) } else { from_part("follows") };
        inputs = inputs.with("follows", follows, origin);
    }
    builder.because(
        format!("{name}.energy"),
        inputs.because(
            mean * share(true).max(share(false)) + standby_energy,
            format!("{energy_step}: {energy_summer} in summer, {energy_winter} in winter"),
        ),
    );

    let continuous = intent
        .continuous
        .or(part.and_then(|part| part.continuous))
        .unwrap_or(hours.is_none_or(|hours| hours.get() >= 3.0));
    let critical = intent.critical.or(part.and_then(|part| part.critical)).unwrap_or(false);
    let current_of = |watts: Watts| watts / voltage / power_factor.get();
    let load = Load {
        title: intent
            .title
            .clone()
            .or(part.map(|part| part.title.clone()))
            .unwrap_or_else(|| sentence(name.as_str())),
        supply,
        count,
        voltage,
        power: power * many,
        current_running: current_of(power * many),
        current_start: current_of(start_power + power * (many - 1.0)),
        power_start: start_power + power * (many - 1.0),
        standby: standby * many,
        power_factor,
        nature,
        lowest_start: intent.lowest_start.or(part.and_then(|part| part.lowest_start)),
        critical,
        continuous,
        takes_turns: intent.takes_turns.as_ref().map(Name::to_string),
        energy_summer,
        energy_winter,
        habit: habit(intent, part, mean, hours, follows, critical),
        intent: path.clone(),
    };

    let route = intent.route.as_ref().and_then(|route| project.intent.routes.get(route));
    let said = intent
        .length
        .map(|length| Given { value: length, origin: Origin::Intent(at("length")) })
        .or_else(|| {
            let (route, name) = (route?, intent.route.as_ref()?);
            route.length.map(|length| Given {
                value: length,
                origin: Origin::Intent(format!("routes.{name}.length")),
            })
        });
    let length = said.unwrap_or_else(|| {
        if let Some(way) = builder.way_of(&at("length"), supply == Supply::Ac) {
            return builder.along(&at("length"), &way);
        }
        let (usual, low, high) = assumed_length(settings.craft, Length::Load);
        builder.given(
            &at("length"),
            None,
            usual,
            Some((low, high)),
            "a usual run in such a craft; measure the way the cable takes, one way",
            true,
        )
    });
    let zone_name = route.and_then(|route| route.zone.clone()).or_else(|| intent.zone.clone());
    LoadPlan {
        name: name.clone(),
        load,
        panel: intent.panel.clone(),
        circuit: intent.circuit.clone(),
        zone: zone_name.map_or(settings.board_zone, |zone| builder.zone(&Some(zone))),
        bundle: route.and_then(|route| route.bundle).unwrap_or(1),
        sheathed: route.and_then(|route| route.sheathed).unwrap_or(false),
        length,
        part: intent.part.clone(),
    }
}

/// When it runs: as said, as such loads usually do, else all day if it runs for most of it, else while people are up.
fn habit(
    intent: &LoadIntent,
    part: Option<&model::parts::TypicalLoad>,
    energy: WattHoursPerDay,
    hours: Option<HoursPerDay>,
    follows: Option<Follows>,
    critical: bool,
) -> Habit {
    // Waking hours; common practice, no source.
    let usual = if hours.is_some_and(|hours| hours.get() > 15.0) { (0, 1440) } else { (7 * 60, 22 * 60) };
    let part_window = part.and_then(|part| Some((part.from?, part.until?)));
    let (from, until) = match (intent.from, intent.until, part_window) {
        (Some(from), Some(until), _) => (from, until),
        // One end said: as long as it runs.
        (Some(from), None, _) => (from, later(from, hours, 1.0)),
        (None, Some(until), _) => (later(until, hours, -1.0), until),
        (None, None, Some(window)) => window,
        (None, None, None) => (ClockTime::from_minutes(usual.0), ClockTime::from_minutes(usual.1)),
    };
    let importance = if critical { Importance::Vital } else { Importance::Usual };
    Habit {
        energy,
        season: intent.season.unwrap_or(Season::AllYear),
        follows,
        from,
        until,
        importance: intent.importance.unwrap_or(importance),
    }
}

/// A time of day so many hours later or earlier, round the clock.
fn later(time: ClockTime, hours: Option<HoursPerDay>, sign: f64) -> ClockTime {
    let minutes = hours.map_or(60.0, |hours| (hours.get() * 60.0).clamp(1.0, 1440.0)) * sign;
    ClockTime::from_minutes((f64::from(time.minutes()) + minutes).rem_euclid(1440.0) as u16)
}

type EnergyFound = (WattHoursPerDay, String, Inputs, Option<HoursPerDay>);

/// Mean energy of a day without standby, how it came about, and the hours switched on.
fn energy(
    builder: &mut Builder<'_>,
    intent: &LoadIntent,
    part: Option<&model::parts::TypicalLoad>,
    path: &str,
    power: Watts,
    many: f64,
    name: &Name,
) -> EnergyFound {
    let at = |field: &str| format!("{path}.{field}");
    let part_origin = |field: &str| match &intent.part {
        Some(part) => Origin::Part(format!("load.{part}.{field}")),
        None => Origin::Intent(path.to_owned()),
    };
    if let Some(energy) = intent.energy {
        let inputs = Inputs::new().with("energy", energy, Origin::Intent(at("energy")));
        return (energy, "as measured".to_owned(), inputs, intent.hours);
    }
    let inputs = Inputs::new().with("power of all", power * many, Origin::Derived(format!("{name}.power")));
    let duty = intent.duty.or(part.and_then(|part| part.duty)).unwrap_or(Fraction::new(1.0));
    let duty_origin = if intent.duty.is_some() { Origin::Intent(at("duty")) } else { part_origin("duty") };
    let by_hours = |hours: HoursPerDay, origin: Origin, inputs: Inputs| {
        let energy = power * many * hours * duty.get();
        (
            energy,
            format!("{} x {hours} x {duty} duty, and standby all day", power * many),
            inputs.with("hours switched on", hours, origin).with("duty", duty, duty_origin.clone()),
            Some(hours),
        )
    };
    if let Some(hours) = intent.hours {
        return by_hours(hours, Origin::Intent(at("hours")), inputs);
    }
    let runs = intent.runs.or(part.and_then(|part| part.runs));
    let run_time = intent.run_time.or(part.and_then(|part| part.run_time));
    if let (Some(runs), Some(run_time)) = (runs, run_time) {
        let hours = HoursPerDay::new(runs.get() * run_time.get());
        let origin =
            |is_said: bool, field: &str| if is_said { Origin::Intent(at(field)) } else { part_origin(field) };
        let inputs = inputs.with("runs", runs, origin(intent.runs.is_some(), "runs")).with(
            "one run takes",
            run_time,
            origin(intent.run_time.is_some(), "run_time"),
        );
        return (
            power * many * hours,
            format!("{} x {runs} x {run_time}, and standby all day", power * many),
            inputs,
            Some(HoursPerDay::new(run_time.get())),
        );
    }
    if let Some(hours) = part.and_then(|part| part.hours) {
        builder.assume(
            &at("hours"),
            quantity::Written::show(&hours),
            Some((
                quantity::Written::show(&(hours / 2.0)),
                quantity::Written::show(&HoursPerDay::new((hours.get() * 2.0).min(24.0))),
            )),
            "usual hours of such a load",
            false,
        );
        return by_hours(hours, part_origin("hours"), inputs);
    }
    let hours = builder.given(
        &at("hours"),
        None,
        HoursPerDay::new(1.0),
        Some((HoursPerDay::new(0.25), HoursPerDay::new(4.0))),
        "how long it runs is not said",
        false,
    );
    by_hours(hours.value, hours.origin, inputs)
}

/// `galley-light` as `Galley light`.
pub fn sentence(name: &str) -> String {
    let text = name.replace('-', " ");
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// Sum over loads that may run together: of those that take turns only the largest counts.
pub fn together<'l>(loads: impl Iterator<Item = &'l Load>, of: impl Fn(&Load) -> f64) -> f64 {
    let mut sum = 0.0;
    let mut turns: BTreeMap<&str, f64> = BTreeMap::new();
    for load in loads {
        match &load.takes_turns {
            Some(group) => {
                let most = turns.entry(group.as_str()).or_insert(0.0);
                *most = most.max(of(load));
            }
            None => sum += of(load),
        }
    }
    sum + turns.values().sum::<f64>()
}

/// The largest sum while one load starts: the others run, but not those that take turns with it.
pub fn starting<'l>(
    loads: impl Iterator<Item = &'l Load> + Clone,
    running: impl Fn(&Load) -> f64,
    start: impl Fn(&Load) -> f64,
) -> f64 {
    let all = together(loads.clone(), &running);
    let mut turns: BTreeMap<&str, f64> = BTreeMap::new();
    for load in loads.clone() {
        if let Some(group) = &load.takes_turns {
            let most = turns.entry(group.as_str()).or_insert(0.0);
            *most = most.max(running(load));
        }
    }
    loads
        .map(|load| {
            let own = match &load.takes_turns {
                Some(group) => turns.get(group.as_str()).copied().unwrap_or(0.0),
                None => running(load),
            };
            all - own + start(load)
        })
        .fold(all, f64::max)
}

/// Largest steady current of a direct-current load over its range of voltage.
///
/// A load of constant power draws most at the lowest voltage, a resistive one at the highest.
pub fn steady_current(load: &Load, lowest: Volts, highest: Volts) -> Amps {
    scaled_current(load, load.power, lowest, highest)
}

/// The same while it starts.
pub fn start_current(load: &Load, lowest: Volts, highest: Volts) -> Amps {
    scaled_current(load, load.power_start, lowest, highest)
}

fn scaled_current(load: &Load, power: Watts, lowest: Volts, highest: Volts) -> Amps {
    match load.nature {
        LoadNature::Resistive => power / load.voltage * (highest / load.voltage),
        LoadNature::Electronic | LoadNature::Motor => power / lowest,
    }
}
