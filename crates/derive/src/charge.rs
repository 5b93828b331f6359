//! Charging: which controllers and chargers, and their runs to the busbars.
//! Never: counts the yearly energy.
//! Start at [`choose`], then [`build`].

use model::parts::{Charger, Chemistry, Controller, DcDcCharger, Module, Relay};
use model::{
    Array, BatteryAt, ChargeSetting, CircuitKind, EngineCharging, Inputs, Mounting, Name, Origin, Pole, Spec,
};
use quantity::{Amps, Celsius, Fraction, HoursPerDay, Kelvins, Metres, Ohms, Volts, Watts, Written};

use crate::bank::BankChoice;
use crate::board::{Bars, MAIN_DROP};
use crate::builder::{Builder, Given, feeding, terminal};
use crate::choose;
use crate::run::{Guard, Run};
use crate::settings::{Length, Settings, assumed_length, same_nominal};
use crate::sizing;

/// A solar array with its controller.
#[derive(Clone, Debug)]
pub struct SolarChoice {
    pub name: Name,
    pub module_id: Name,
    pub module: Module,
    pub series: u32,
    pub parallel: u32,
    pub controller: Option<(Name, Controller)>,
    pub array: Array,
    pub sun_summer: HoursPerDay,
    pub sun_winter: HoursPerDay,
}

impl SolarChoice {
    pub fn power(&self) -> Watts {
        self.module.power * f64::from(self.series * self.parallel)
    }
}

/// Charging from the engine.
#[derive(Clone, Debug)]
pub enum EngineChoice {
    DcDc(Name, DcDcCharger),
    Relay(Name, Relay),
}

/// What charges the bank.
#[derive(Clone, Debug, Default)]
pub struct Charging {
    pub solar: Vec<SolarChoice>,
    pub engine: Option<EngineChoice>,
    pub engine_current: Amps,
    pub driving: HoursPerDay,
    pub charger: Option<(Name, Charger)>,
    pub inverter_charge: Amps,
}

impl Charging {
    /// Everything that may charge at once, at the bank.
    pub fn total(&self) -> Amps {
        let solar: Amps =
            self.solar.iter().filter_map(|solar| solar.controller.as_ref()).map(|(_, controller)| controller.current).sum();
        let charger = self.charger.as_ref().map_or(Amps::zero(), |(_, charger)| charger.current);
        solar + self.engine_current + charger + self.inverter_charge
    }
}

/// Chooses controllers and chargers.
pub fn choose(builder: &mut Builder<'_>, settings: &Settings, bank: &BankChoice, need_winter: Watts) -> Charging {
    let mut charging = Charging::default();
    let project = builder.project;
    for name in project.intent.solar.keys() {
        if let Some(solar) = choose_solar(builder, settings, bank, name, need_winter) {
            charging.solar.push(solar);
        }
    }
    choose_engine(builder, settings, bank, &mut charging);
    choose_charger(builder, settings, bank, &mut charging);
    charging
}

fn choose_solar(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    name: &Name,
    need_winter: Watts,
) -> Option<SolarChoice> {
    let project = builder.project;
    let intent = project.intent.solar.get(name)?;
    let path = format!("solar.{name}");
    let module_pin = builder.pin_part(&format!("{name}.module"), &project.library.module, "module").map(|(id, _)| id.clone());
    let wanted = module_pin.clone().or_else(|| intent.module.clone());
    let (module_id, module) = match &wanted {
        Some(id) => (id.clone(), project.library.module.get(id)?.clone()),
        None => {
            let pick = choose::cheapest(&project.library.module, |module| {
                module.flexible != Some(true) && module.power.get() >= 150.0
            });
            let Some(pick) = pick else {
                builder.gap(&format!("{name}.module"), "a rigid solar module of at least 150 W", &path);
                return None;
            };
            builder.assume(&format!("{path}.module"), pick.id.to_string(), None, "a common rigid module", false);
            (pick.id.clone(), pick.part.clone())
        }
    };
    let hours = sun_hours(builder, settings, &path, intent.sun_hours, intent.mounting.unwrap_or(Mounting::Flush));
    let count = intent.count.filter(|count| *count > 0).unwrap_or_else(|| {
        let each = module.power * hours.1.get() * 0.8 / 24.0;
        let count = (need_winter.get() / each.get().max(1.0)).ceil().clamp(1.0, 12.0) as u32;
        builder.assume(
            &format!("{path}.count"),
            count.to_string(),
            Some((1.to_string(), (count * 2).to_string())),
            "as many as cover a winter day's need, at most twelve",
            false,
        );
        count
    });
    let zone = project.intent.solar.get(name).and_then(|solar| solar.route.as_ref()).and_then(|route| project.intent.routes.get(route)?.zone.clone());
    let outside = builder.zones.iter().find(|zone| zone.kind == model::ZoneKind::Outside).cloned();
    let (coldest, hottest) = match (&outside, zone) {
        (Some(zone), _) => (zone.coldest, zone.hottest),
        _ => {
            let coldest = builder.given(
                "zones.roof.coldest",
                None,
                Celsius::new(-20.0),
                Some((Celsius::new(-40.0), Celsius::new(0.0))),
                "the coldest morning at the array sets its highest voltage; no outside zone is described",
                true,
            );
            (coldest.value, Celsius::new(45.0))
        }
    };
    // A module flat on a roof runs about 35 K above the air in full sun, a raised one about 25 K; common practice.
    let rise = if intent.mounting.unwrap_or(Mounting::Flush) == Mounting::Flush { 35.0 } else { 25.0 };
    let hottest_cell = hottest + Kelvins::new(rise);

    let pick = choose_controller(builder, settings, bank, name, &module, count, (coldest, hottest_cell));
    let (series, controller) = match pick {
        Some((series, id, controller)) => (series, Some((id, controller))),
        None => (intent.series.unwrap_or(1).max(1), None),
    };
    let parallel = count.div_ceil(series.max(1)).max(1);
    let array = Array {
        module: module.clone(),
        series,
        parallel,
        mounting: intent.mounting.unwrap_or(Mounting::Flush),
        coldest,
        hottest,
        hottest_cell,
    };
    Some(SolarChoice {
        name: name.clone(),
        module_id,
        module,
        series,
        parallel,
        controller,
        array,
        sun_summer: hours.0,
        sun_winter: hours.1,
    })
}

/// Series count and controller: the cheapest controller that stands the coldest voltage and starts at the hottest.
fn choose_controller(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    name: &Name,
    module: &Module,
    count: u32,
    (coldest, hottest_cell): (Celsius, Celsius),
) -> Option<(u32, Name, Controller)> {
    let project = builder.project;
    let intent = project.intent.solar.get(name)?;
    let path = format!("{name}.controller.part");
    let library = &project.library.controller;
    let pin = builder.pin_part(&path, library, "controller").map(|(id, part)| (id.clone(), part.clone()));
    let named = pin.clone().or_else(|| {
        let id = intent.controller.as_ref()?;
        Some((id.clone(), library.get(id)?.clone()))
    });
    let series_path = format!("{name}.series");
    let series_pin: Option<u32> = builder.pin_text(&series_path).and_then(|text| text.parse().ok());
    let fixed = series_pin.or(intent.series).filter(|series| *series > 0);
    let power = module.power * f64::from(count);
    let charging = bank.voltage_charging();
    let current = power / bank.nominal();
    let isc_factor = builder.reference.pv_current_factor();
    let mut best: Option<(f64, u32, Name, Controller)> = None;
    let mut why_not = String::new();
    for series in 1..=count {
        if fixed.is_some_and(|fixed| fixed != series) || (fixed.is_none() && !count.is_multiple_of(series)) {
            continue;
        }
        let parallel = count.div_ceil(series);
        let cold = sizing::string_voltage(module.open_voltage, module.voltage_coefficient, series, coldest);
        let hot = sizing::string_voltage(module.power_voltage, module.voltage_coefficient, series, hottest_cell);
        let short = module.short_current * f64::from(parallel) * isc_factor.value;
        for (id, part) in library {
            let is_named = named.as_ref().is_some_and(|(name, _)| name == id);
            if named.is_some() && !is_named {
                continue;
            }
            let enough = if part.tracks {
                hot >= charging + part.start_above
            } else {
                // A coupling controller works at the battery's voltage: the string must match it.
                hot >= charging && cold <= charging * 2.0
            };
            let output = if part.tracks { current } else { short };
            let fits = part.voltages.iter().any(|voltage| same_nominal(*voltage, settings.voltage))
                && part.highest_array >= cold
                && part.highest_current >= short
                && part.current >= output * if part.tracks { 0.95 } else { 1.0 }
                && enough
                && part.profiles.contains(&bank.battery.chemistry);
            if !fits && !is_named {
                why_not = format!("coldest {cold}, hottest {hot}, {short} short-circuit, {output} charging");
                continue;
            }
            // Three strings and more need a fuse each: two parallel strings are cheaper than they look.
            let cost = choose::price(part).get() + if parallel > 2 { 60.0 * f64::from(parallel) } else { 0.0 };
            if best.as_ref().is_none_or(|(least, fewest, ..)| (cost, series) < (*least, *fewest)) {
                best = Some((cost, series, id.clone(), part.clone()));
            }
        }
    }
    let Some((_, series, id, part)) = best else {
        builder.gap(
            &path,
            format!(
                "a controller for {power} into {} {} at {coldest} and {hottest_cell} cells: {why_not}",
                settings.voltage, bank.battery.chemistry
            ),
            &format!("solar.{name}"),
        );
        return None;
    };
    let cold = sizing::string_voltage(module.open_voltage, module.voltage_coefficient, series, coldest);
    let hot = sizing::string_voltage(module.power_voltage, module.voltage_coefficient, series, hottest_cell);
    let module_of = |field: &str| match &intent.module {
        Some(module) => Origin::Part(format!("module.{module}.{field}")),
        None => Origin::Assumed(format!("solar.{name}.module")),
    };
    builder.because_pinned(
        &path,
        id.to_string(),
        None,
        pin.is_some(),
        format!(
            "{series} in series: {cold} at {coldest} under its {} limit, {hot} hot above {} + {}; {current} of its {}",
            part.highest_array, charging, part.start_above, part.current
        ),
        Inputs::new()
            .with("open-circuit voltage of one", module.open_voltage, module_of("open_voltage"))
            .with("temperature coefficient", module.voltage_coefficient.show(), module_of("voltage_coefficient"))
            .with("modules", count, Origin::Intent(format!("solar.{name}")))
            .with("short-circuit factor", isc_factor.value, Origin::Table(isc_factor.cite)),
    );
    builder.because_pinned(
        &series_path,
        series.to_string(),
        None,
        series_pin.is_some(),
        "the number in series that the cheapest fitting controller stands",
        Inputs::new().with("controller", &id, Origin::Derived(path.clone())),
    );
    Some((series, id, part))
}

/// Hours of full sun that a day is worth in summer and winter.
fn sun_hours(
    builder: &mut Builder<'_>,
    settings: &Settings,
    path: &str,
    said: Option<HoursPerDay>,
    mounting: Mounting,
) -> (HoursPerDay, HoursPerDay) {
    let latitude = settings.latitude.get().abs();
    let winter = match latitude {
        l if l < 25.0 => 4.5,
        l if l < 35.0 => 3.0,
        l if l < 45.0 => 1.9,
        l if l < 52.0 => 1.0,
        l if l < 60.0 => 0.5,
        _ => 0.2,
    };
    let summer = if latitude < 60.0 { 5.0 } else { 4.5 };
    let tilt = if mounting == Mounting::Flush { 1.0 } else { 1.25 };
    let (summer, winter) = (HoursPerDay::new(summer), HoursPerDay::new(winter * tilt));
    if let Some(said) = said {
        return (said, HoursPerDay::new(said.get().min(winter.get())));
    }
    builder.assume(
        &format!("{path}.sun_hours"),
        summer.show(),
        Some((HoursPerDay::new(2.0).show(), HoursPerDay::new(6.0).show())),
        "hours of full sun a summer day is worth at this latitude; common practice, no source; a map gives a better figure",
        false,
    );
    (summer, winter)
}

fn choose_engine(builder: &mut Builder<'_>, settings: &Settings, bank: &BankChoice, charging: &mut Charging) {
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
            let pin = builder.pin_part(path, library, "DC-DC charger").map(|(id, part)| (id.clone(), part.clone()));
            let named = pin.clone().or_else(|| {
                let id = engine.charger.as_ref()?;
                Some((id.clone(), library.get(id)?.clone()))
            });
            // Half of what is spare, so that the alternator also survives idling in summer.
            let most = spare * 0.6;
            let wish = engine.current.unwrap_or(most.min(bank.charge_limit()));
            let fits = |part: &&DcDcCharger| {
                same_nominal(part.input, input)
                    && settings.is_bank_voltage(part.output)
                    && part.profiles.contains(&bank.battery.chemistry)
            };
            let pick = library
                .iter()
                .filter(|(_, part)| fits(part) && part.current <= bank.charge_limit() && part.input_current <= most)
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
                if named.is_some() && pin.is_none() { "as said".to_owned() } else { format!("the strongest that fits: {need}") },
                Inputs::new()
                    .with("spare current of the alternator", spare, Origin::Derived("engine.spare".to_owned()))
                    .with("charging limit of the bank", bank.charge_limit(), Origin::Derived("bank.part".to_owned())),
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
            let pick = choose::cheapest(library, |part| settings.is_bank_voltage(part.voltage) && part.current >= current)
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
    let part = engine.and_then(|engine| engine.part.as_ref()).and_then(|id| project.library.alternator.get(id));
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

fn choose_charger(builder: &mut Builder<'_>, settings: &Settings, bank: &BankChoice, charging: &mut Charging) {
    let project = builder.project;
    let Some(charger) = &project.intent.charger else { return };
    let library = &project.library.charger;
    let path = "charger.part";
    let pin = builder.pin_part(path, library, "charger").map(|(id, part)| (id.clone(), part.clone()));
    let named = pin.clone().or_else(|| {
        let id = charger.part.as_ref()?;
        Some((id.clone(), library.get(id)?.clone()))
    });
    let fill = builder
        .given(
            "charger.fill_time",
            charger.fill_time,
            quantity::Hours::new(8.0),
            Some((quantity::Hours::new(4.0), quantity::Hours::new(16.0))),
            "a night on shore power fills the bank",
            false,
        )
        .value;
    let by_time = bank.capacity() * bank.usable.get() / fill;
    let wish = charger.current.unwrap_or(by_time).min(bank.charge_limit());
    let fits = |part: &Charger| {
        settings.is_bank_voltage(part.voltage)
            && (part.input / settings.ac_voltage - 1.0).abs() < 0.1
            && part.current <= bank.charge_limit()
            && part.profiles.contains(&bank.battery.chemistry)
    };
    let enough = choose::cheapest(library, |part| fits(part) && part.current >= wish).map(|pick| (pick.id.clone(), pick.part.clone()));
    let derived = enough.as_ref().map(|(id, _)| id.to_string());
    let need = format!(
        "a charger of at least {wish} and at most {} for {} {} on {}",
        bank.charge_limit(),
        settings.voltage,
        bank.battery.chemistry,
        settings.ac_voltage
    );
    let Some((id, part)) = named.clone().or(enough) else {
        builder.gap(path, need, "charger");
        return;
    };
    builder.because_pinned(
        path,
        id.to_string(),
        derived,
        pin.is_some(),
        if named.is_some() && pin.is_none() { "as said".to_owned() } else { format!("{} x {} / {fill} = {by_time}; {need}", bank.capacity(), bank.usable) },
        Inputs::new()
            .with("capacity", bank.capacity(), Origin::Derived("bank.capacity".to_owned()))
            .with("charging limit of the bank", bank.charge_limit(), Origin::Derived("bank.part".to_owned())),
    );
    charging.charger = Some((id, part));
}

/// Charger settings for a bank.
pub fn setting(bank: &BankChoice, current: Amps, profiles: &[Chemistry]) -> ChargeSetting {
    let chemistry = bank.battery.chemistry;
    ChargeSetting {
        absorption: bank.voltage_charging(),
        float: bank.voltage_high(),
        current,
        profile: if profiles.contains(&chemistry) { chemistry } else { profiles.first().copied().unwrap_or(chemistry) },
        // Nobody has said that the charger feels the battery's cold, so it is not counted on; a heated battery is.
        stops_in_cold: false,
    }
}

/// Builds arrays, engine charging and charger with their runs.
pub fn build(builder: &mut Builder<'_>, settings: &Settings, bank: &BankChoice, bars: Bars, charging: &Charging) {
    for solar in &charging.solar {
        build_solar(builder, settings, bank, bars, solar);
    }
    if let Some(engine) = &charging.engine {
        build_engine(builder, settings, bank, bars, charging, engine);
    }
}

/// A charging run from a device to the busbars, fused at the busbar.
#[allow(clippy::too_many_arguments)] // a run has this many facts
pub fn charge_run(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bars: Bars,
    id: &str,
    title: &str,
    device: usize,
    current: Amps,
    length: Given<Metres>,
    zone: usize,
    intent: &str,
    step: String,
) {
    let factor = builder.reference.continuous_factor(settings.rules);
    let limit = builder.reference.drop_limit(settings.rules, true, false);
    let drop_limit = Fraction::new(limit.value.get() - MAIN_DROP);
    builder.because(
        format!("{id}.drop-limit"),
        Inputs::new()
            .with("critical circuits", format!("{} %", limit.value.get() * 100.0), Origin::Table(limit.cite))
            .because(format!("{:.1} %", drop_limit.get() * 100.0), "a charger must see the bank's voltage"),
    );
    let to = (builder.at(device, "positive"), builder.at(device, "negative"));
    builder.lay(
        settings,
        Run {
            id: id.to_owned(),
            title: title.to_owned(),
            kind: CircuitKind::Charge,
            voltage: settings.voltage,
            voltage_lowest: settings.voltage_low,
            steady: current,
            surge: current,
            drop_current: current,
            continuous: true,
            critical: true,
            drop_limit,
            factor: (factor.value, Origin::Table(factor.cite)),
            from: (bars.positive, bars.negative),
            to,
            length,
            zone,
            bundle: 1,
            sheathed: false,
            guard: Guard::AtSource,
            intent: intent.to_owned(),
            current_step: step,
            current_inputs: Inputs::new(),
            serves: vec![device],
        },
    );
}

fn build_solar(builder: &mut Builder<'_>, settings: &Settings, bank: &BankChoice, bars: Bars, solar: &SolarChoice) {
    let project = builder.project;
    let Some(intent) = project.intent.solar.get(&solar.name) else { return };
    let Some((controller_id, controller)) = &solar.controller else { return };
    let name = solar.name.to_string();
    let path = format!("solar.{name}");
    let outside = builder.zones.iter().position(|zone| zone.kind == model::ZoneKind::Outside).unwrap_or(settings.board_zone);
    let zone = intent.zone.clone().map_or(settings.board_zone, |zone| builder.zone(&Some(zone)));
    let most = Some(controller.max_gauge);
    let device = builder.device(
        &format!("{name}.controller"),
        &format!("{} controller", crate::loads::sentence(&name)),
        Spec::Controller(controller.clone(), setting(bank, controller.current, &controller.profiles)),
        vec![
            terminal("array-positive", Pole::Positive, None, most),
            terminal("array-negative", Pole::Negative, None, most),
            terminal("positive", Pole::Positive, None, most),
            terminal("negative", Pole::Negative, None, most),
        ],
        zone,
        &path,
    );
    builder.is_part(device, "controller", controller_id, controller);
    let (usual, low, high) = assumed_length(settings.craft, Length::Board);
    let length = builder.given(
        &format!("{path}.controller_length"),
        intent.controller_length,
        usual,
        Some((low, high)),
        "beside the busbars on the board",
        false,
    );
    charge_run(
        builder,
        settings,
        bars,
        &format!("{name}.charge"),
        &format!("{} charging", crate::loads::sentence(&name)),
        device,
        controller.current,
        length,
        zone,
        &path,
        "the controller's rating".to_owned(),
    );
    array_run(builder, settings, solar, intent, device, outside, &path);
}

/// Array, string fuses where three strings and more are parallel, disconnect, run to the controller.
fn array_run(
    builder: &mut Builder<'_>,
    settings: &Settings,
    solar: &SolarChoice,
    intent: &model::ArrayIntent,
    controller: usize,
    outside: usize,
    path: &str,
) {
    let project = builder.project;
    let name = solar.name.to_string();
    let title = crate::loads::sentence(&name);
    let current_factor = builder.reference.pv_current_factor();
    let conductor_factor = builder.reference.pv_conductor_factor();
    let factor = current_factor.value * conductor_factor.value;
    let short = solar.module.short_current * f64::from(solar.parallel);
    let cold = sizing::string_voltage(solar.module.open_voltage, solar.module.voltage_coefficient, solar.series, solar.array.coldest);
    let voltage = solar.module.power_voltage * f64::from(solar.series);
    let string_fuses = solar.parallel >= builder.reference.pv_fuse_from_strings().value;
    let count = f64::from(solar.series * solar.parallel);
    let array_device = |builder: &mut Builder<'_>, id: &str, title: &str, parallel: u32, count: f64| {
        let device = builder.device(
            id,
            title,
            Spec::Array(Array { parallel, ..solar.array.clone() }),
            vec![terminal("positive", Pole::Positive, None, None), terminal("negative", Pole::Negative, None, None)],
            outside,
            path,
        );
        builder.is_part(device, "module", &solar.module_id, &solar.module);
        let device_data = &mut builder.devices[device];
        device_data.mass = device_data.mass * count;
        device_data.price = (device_data.price.0 * count, device_data.price.1 * count);
        device
    };

    let source = if string_fuses {
        let (positive, negative) = crate::board::bars(
            builder,
            &Settings { voltage_charging: cold, ..settings.clone() },
            &format!("{name}.combiner-positive"),
            &format!("{name}.combiner-negative"),
            &format!("{title} combiner"),
            short * factor,
            solar.parallel as usize + 1,
            outside,
            path,
        );
        for string in 1..=solar.parallel {
            let device = array_device(builder, &format!("{name}-string-{string}"), &format!("{title} string {string}"), 1, f64::from(solar.series));
            let from = (builder.at(device, "positive"), builder.at(device, "negative"));
            // What feeds a faulty string are the others: their short-circuit current, never more.
            builder.source_loop.insert(from.0, cold / (short * current_factor.value));
            lay_array(builder, settings, solar, LayArray {
                id: format!("{name}-string-{string}"),
                title: format!("{title} string {string}"),
                from,
                to: (positive, negative),
                short: solar.module.short_current,
                voltage,
                length: Given { value: Metres::new(1.0), origin: Origin::Practice("a metre from string to combiner".to_owned()) },
                guard: Guard::AtSource,
                factor,
                path: path.to_owned(),
                outside,
            });
        }
        (positive, negative)
    } else {
        let device = array_device(builder, &name, &title, solar.parallel, count);
        (builder.at(device, "positive"), builder.at(device, "negative"))
    };

    let disconnect = crate::board::disconnect(
        builder,
        settings,
        &format!("{name}.disconnect"),
        &format!("{title} disconnect"),
        short * factor,
        cold,
        2,
        true,
    );
    builder.devices[disconnect].intent = path.to_owned();
    let route = intent.route.as_ref().and_then(|route| project.intent.routes.get(route));
    let (usual, low, high) = assumed_length(settings.craft, Length::Array);
    let length = builder.given(
        &format!("{path}.length"),
        intent.length.or(route.and_then(|route| route.length)),
        usual,
        Some((low, high)),
        "from the array to its controller; measure the way the cable takes, one way",
        true,
    );
    let to = (builder.at(disconnect, "in"), builder.at(disconnect, "in-negative"));
    lay_array(builder, settings, solar, LayArray {
        id: format!("{name}.array"),
        title: format!("{title} array"),
        from: source,
        to,
        short,
        voltage,
        length,
        guard: Guard::Limited,
        factor,
        path: path.to_owned(),
        outside,
    });
    let from = (builder.at(disconnect, "out"), builder.at(disconnect, "out-negative"));
    let to = (builder.at(controller, "array-positive"), builder.at(controller, "array-negative"));
    lay_array(builder, settings, solar, LayArray {
        id: format!("{name}.array-in"),
        title: format!("{title} disconnect to controller"),
        from,
        to,
        short,
        voltage,
        length: Given { value: Metres::new(0.5), origin: Origin::Practice("half a metre on the board".to_owned()) },
        guard: Guard::Limited,
        factor,
        path: path.to_owned(),
        outside: settings.board_zone,
    });
}

struct LayArray {
    id: String,
    title: String,
    from: (model::TerminalRef, model::TerminalRef),
    to: (model::TerminalRef, model::TerminalRef),
    short: Amps,
    voltage: Volts,
    length: Given<Metres>,
    guard: Guard,
    factor: f64,
    path: String,
    outside: usize,
}

fn lay_array(builder: &mut Builder<'_>, settings: &Settings, solar: &SolarChoice, lay: LayArray) {
    let factor_cite = builder.reference.pv_conductor_factor().cite;
    builder.because(
        format!("{}.drop-limit", lay.id),
        Inputs::new().because("3 %", "of the array's working voltage, so that little of the sun is lost; common practice, no source"),
    );
    let working = solar.module.power_current * (lay.short / solar.module.short_current);
    builder.lay(
        settings,
        Run {
            id: lay.id,
            title: lay.title,
            kind: CircuitKind::Array,
            voltage: lay.voltage,
            voltage_lowest: lay.voltage,
            steady: lay.short,
            surge: lay.short,
            drop_current: working,
            continuous: true,
            critical: false,
            drop_limit: Fraction::new(0.03),
            factor: (lay.factor, Origin::Table(factor_cite)),
            from: lay.from,
            to: lay.to,
            length: lay.length,
            zone: lay.outside,
            bundle: 1,
            sheathed: false,
            guard: lay.guard,
            intent: lay.path,
            current_step: format!("short-circuit current of {} strings", solar.parallel),
            current_inputs: Inputs::new().with("short-circuit current of one", solar.module.short_current, Origin::Part(format!("module.{}.short_current", solar.module_id))),
            serves: Vec::new(),
        },
    );
}

fn build_engine(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    bars: Bars,
    charging: &Charging,
    engine: &EngineChoice,
) {
    let project = builder.project;
    let Some(intent) = &project.intent.engine else { return };
    let zone = builder.zones.iter().position(|zone| zone.kind == model::ZoneKind::EngineSpace).unwrap_or(settings.board_zone);
    let route = intent.route.as_ref().and_then(|route| project.intent.routes.get(route));
    let run_zone = route.and_then(|route| route.zone.clone()).map_or(zone, |zone| builder.zone(&Some(zone)));
    let voltage = intent.voltage.unwrap_or(Volts::new(12.0));
    let start = start_battery(builder, intent, voltage, zone);
    let from = (builder.at(start, "positive"), builder.at(start, "negative"));
    let (usual, low, high) = assumed_length(settings.craft, Length::Engine);
    let length = builder.given(
        "engine.length",
        intent.length.or(route.and_then(|route| route.length)),
        usual,
        Some((low, high)),
        "from the engine's battery to the charger; measure the way the cable takes, one way",
        true,
    );
    let (usual, low, high) = assumed_length(settings.craft, Length::Board);
    let charger_length = builder.given(
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
            let device = builder.device("engine.charger", "DC-DC charger", spec, terminals, settings.board_zone, "engine");
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
            .because(format!("{:.1} %", limit.value.get() * 100.0), "charging suffers from every tenth of a volt"),
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
            current_step: "the charger's largest input current, or all that the alternator may give through a relay".to_owned(),
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
        Spec::StartBattery(BatteryAt { part, string: 0, place: 0, short_circuit: short, short_circuit_is_stated: false }),
        vec![feeding("positive", Pole::Positive, stud, None), feeding("negative", Pole::Negative, stud, None)],
        zone,
        "engine",
    );
    let positive = builder.at(start, "positive");
    builder.source_loop.insert(positive, resistance);
    builder.because(
        "engine.short-circuit",
        Inputs::new()
            .with("capacity", capacity, Origin::Assumed("engine.start_capacity".to_owned()))
            .because(short, format!("{} / {resistance}; resistance typical of its size, from memory", voltage * 1.06)),
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
        vec![terminal("positive", Pole::Positive, stud, None), terminal("negative", Pole::Negative, stud, None)],
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
    builder.link("engine.own.positive", builder.at(device, "positive"), builder.at(start, "positive"), Pole::Positive, gauge, circuit);
    builder.link("engine.own.negative", builder.at(start, "negative"), builder.at(device, "negative"), Pole::Negative, gauge, circuit);
}
