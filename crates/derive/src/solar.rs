//! Solar arrays: modules in series and parallel, the controller that stands their voltage, the run from the roof.
//! Never: follows the sun; the mean hours of it are enough here.
//! Start at [`choose_solar`], then [`build_solar`].

use model::parts::{Controller, Module};
use model::{Array, CircuitKind, Inputs, Mounting, Name, Origin, Pole, Spec};
use quantity::{Amps, Celsius, Degrees, Fraction, HoursPerDay, Kelvins, Metres, Volts, Watts, Written};

use crate::bank::BankChoice;
use crate::board::Bars;
use crate::builder::{Builder, Given, terminal};
use crate::charge::{charge_run, setting};
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

pub fn choose_solar(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    name: &Name,
    need_winter: Watts,
) -> Option<SolarChoice> {
    let project = builder.project;
    let intent = project.intent.solar.get(name)?;
    let path = format!("solar.{name}");
    let module_pin = builder
        .pin_part(&format!("{name}.module"), &project.library.module, "module")
        .map(|(id, _)| id.clone());
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
            builder.assume(
                &format!("{path}.module"),
                pick.id.to_string(),
                None,
                "a common rigid module",
                false,
            );
            (pick.id.clone(), pick.part.clone())
        }
    };
    let hours =
        sun_hours(builder, settings, &path, intent.sun_hours, intent.mounting.unwrap_or(Mounting::Flush));
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
    let zone = project
        .intent
        .solar
        .get(name)
        .and_then(|solar| solar.route.as_ref())
        .and_then(|route| project.intent.routes.get(route)?.zone.clone());
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
    let mounting = intent.mounting.unwrap_or(Mounting::Flush);
    let (tilt, azimuth) = facing(builder, settings, &path, intent, mounting);
    let dirt = builder
        .given(
            &format!("{path}.dirt"),
            intent.dirt,
            // Mean of the annual soiling losses that PV texts give for rainy climates; common practice, no source.
            Fraction::new(0.03),
            Some((Fraction::zero(), Fraction::new(0.15))),
            "dust and droppings on modules that rain washes",
            false,
        )
        .value;
    let array = Array {
        module: module.clone(),
        series,
        parallel,
        mounting,
        coldest,
        hottest,
        hottest_cell,
        name: name.to_string(),
        tilt,
        azimuth,
        dirt,
        shade: intent.shade.clone(),
        space: intent.space.clone(),
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
        let hot =
            sizing::string_voltage(module.power_voltage, module.voltage_coefficient, series, hottest_cell);
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
            let cost =
                choose::price(part).get() + if parallel > 2 { 60.0 * f64::from(parallel) } else { 0.0 };
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

/// Tilt and direction. A craft that moves parks any way round; a hut's array faces the equator.
fn facing(
    builder: &mut Builder<'_>,
    settings: &Settings,
    path: &str,
    intent: &model::ArrayIntent,
    mounting: Mounting,
) -> (Degrees, Option<Degrees>) {
    if mounting == Mounting::Flush && intent.tilt.is_none() {
        return (Degrees::zero(), intent.azimuth);
    }
    let usual = if mounting == Mounting::Flush { Degrees::zero() } else { Degrees::new(30.0) };
    let tilt = builder
        .given(
            &format!("{path}.tilt"),
            intent.tilt,
            usual,
            Some((Degrees::zero(), Degrees::new(60.0))),
            "a usual tilt; common practice, no source",
            false,
        )
        .value;
    let is_fixed = settings.craft == model::Craft::Hut || mounting == Mounting::Tiltable;
    let azimuth = intent.azimuth.or(is_fixed.then(|| {
        let equator = Degrees::new(if settings.latitude < Degrees::zero() { 0.0 } else { 180.0 });
        builder.assume(&format!("{path}.azimuth"), equator.show(), None, "turned towards the equator", false);
        equator
    }));
    (tilt, azimuth)
}

pub fn build_solar(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    bars: Bars,
    solar: &SolarChoice,
) {
    let project = builder.project;
    let Some(intent) = project.intent.solar.get(&solar.name) else { return };
    let Some((controller_id, controller)) = &solar.controller else { return };
    let name = solar.name.to_string();
    let path = format!("solar.{name}");
    let outside = builder
        .zones
        .iter()
        .position(|zone| zone.kind == model::ZoneKind::Outside)
        .unwrap_or(settings.board_zone);
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
    let length = builder.given_length(
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
    let cold = sizing::string_voltage(
        solar.module.open_voltage,
        solar.module.voltage_coefficient,
        solar.series,
        solar.array.coldest,
    );
    let voltage = solar.module.power_voltage * f64::from(solar.series);
    let string_fuses = solar.parallel >= builder.reference.pv_fuse_from_strings().value;
    let count = solar.series * solar.parallel;
    let array_device = |builder: &mut Builder<'_>, id: &str, title: &str, parallel: u32, count: u32| {
        let device = builder.device(
            id,
            title,
            Spec::Array(Array { parallel, ..solar.array.clone() }),
            vec![
                terminal("positive", Pole::Positive, None, None),
                terminal("negative", Pole::Negative, None, None),
            ],
            outside,
            path,
        );
        builder.is_part(device, "module", &solar.module_id, &solar.module);
        builder.times(device, count);
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
            let device = array_device(
                builder,
                &format!("{name}-string-{string}"),
                &format!("{title} string {string}"),
                1,
                solar.series,
            );
            let from = (builder.at(device, "positive"), builder.at(device, "negative"));
            // What feeds a faulty string are the others: their short-circuit current, never more.
            builder.source_loop.insert(from.0, cold / (short * current_factor.value));
            lay_array(
                builder,
                settings,
                solar,
                LayArray {
                    id: format!("{name}-string-{string}"),
                    title: format!("{title} string {string}"),
                    from,
                    to: (positive, negative),
                    short: solar.module.short_current,
                    voltage,
                    length: Given {
                        value: Metres::new(1.0),
                        origin: Origin::Practice("a metre from string to combiner".to_owned()),
                    },
                    guard: Guard::AtSource,
                    factor,
                    path: path.to_owned(),
                    outside,
                },
            );
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
    let length = builder.given_length(
        &format!("{path}.length"),
        intent.length.or(route.and_then(|route| route.length)),
        usual,
        Some((low, high)),
        "from the array to its controller; measure the way the cable takes, one way",
        true,
    );
    let to = (builder.at(disconnect, "in"), builder.at(disconnect, "in-negative"));
    lay_array(
        builder,
        settings,
        solar,
        LayArray {
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
        },
    );
    let from = (builder.at(disconnect, "out"), builder.at(disconnect, "out-negative"));
    let to = (builder.at(controller, "array-positive"), builder.at(controller, "array-negative"));
    lay_array(
        builder,
        settings,
        solar,
        LayArray {
            id: format!("{name}.array-in"),
            title: format!("{title} disconnect to controller"),
            from,
            to,
            short,
            voltage,
            length: Given {
                value: Metres::new(0.5),
                origin: Origin::Practice("half a metre on the board".to_owned()),
            },
            guard: Guard::Limited,
            factor,
            path: path.to_owned(),
            outside: settings.board_zone,
        },
    );
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
        Inputs::new().because(
            "3 %",
            "of the array's working voltage, so that little of the sun is lost; common practice, no source",
        ),
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
            current_inputs: Inputs::new().with(
                "short-circuit current of one",
                solar.module.short_current,
                Origin::Part(format!("module.{}.short_current", solar.module_id)),
            ),
            serves: Vec::new(),
        },
    );
}
