//! The bank: its batteries, how they are joined, and the way from them to the busbars.
//! Never: counts the energy (see `energy.rs`); it is told the need and the peak.
//! Start at [`choose`], then [`build`].

use model::parts::{Battery, Chemistry, Stud};
use model::{Inputs, Name, Origin, Refusal, ZoneIx};
use quantity::{AmpHours, Amps, Fraction, Ohms, Volts, WattHours, WattHoursPerDay, Watts, Written};

use crate::builder::Builder;
use crate::choose;
use crate::settings::Settings;
use crate::sizing;

/// What the bank must do.
#[derive(Clone, Debug)]
pub struct Need {
    pub per_day: WattHoursPerDay,
    pub peak: Watts,
    pub peak_start: Watts,
    /// Lowest voltage at which the inverter starts its loads.
    pub lowest: Option<Volts>,
    /// Power of the arrays that the person describes: the bank must take what they give.
    pub sun: Watts,
    /// Largest single load and its power from the bank.
    pub largest: Option<(String, Watts)>,
}

/// A bank that was chosen.
#[derive(Clone, Debug)]
pub struct BankChoice {
    pub id: Option<Name>,
    pub battery: Battery,
    pub series: u32,
    pub parallel: u32,
    pub zone: ZoneIx,
    pub usable: Fraction,
    pub short_circuit_is_stated: bool,
}

impl BankChoice {
    pub fn capacity(&self) -> AmpHours {
        self.battery.capacity * f64::from(self.parallel)
    }
    pub fn nominal(&self) -> Volts {
        self.battery.voltage * f64::from(self.series)
    }
    pub fn resistance(&self) -> Ohms {
        self.battery.internal_resistance * (f64::from(self.series) / f64::from(self.parallel))
    }
    pub fn voltage_high(&self) -> Volts {
        self.battery.float * f64::from(self.series)
    }
    pub fn voltage_low(&self) -> Volts {
        Self::lowest_working(&self.battery) * f64::from(self.series)
    }
    /// Voltage of one battery at the end of its working range, under load.
    fn lowest_working(battery: &Battery) -> Volts {
        match battery.chemistry {
            // 3.0 V a cell under load; below that a lithium iron phosphate cell is empty.
            Chemistry::Lfp => battery.cutoff.max(battery.voltage * (3.0 / 3.2)),
            _ => battery.cutoff,
        }
    }
    pub fn voltage_charging(&self) -> Volts {
        self.battery.absorption * f64::from(self.series)
    }
    pub fn discharge_limit(&self) -> Amps {
        self.battery.discharge_limit * f64::from(self.parallel)
    }
    pub fn surge_limit(&self) -> Amps {
        self.battery.surge_limit.unwrap_or(self.battery.discharge_limit) * f64::from(self.parallel)
    }
    pub fn charge_limit(&self) -> Amps {
        self.battery.charge_limit * f64::from(self.parallel)
    }
    /// Short-circuit current of one string.
    pub fn string_short_circuit(&self) -> Amps {
        self.battery.short_circuit.unwrap_or(self.battery.float / self.battery.internal_resistance)
    }
    pub fn short_circuit(&self) -> Amps {
        self.string_short_circuit() * f64::from(self.parallel)
    }
    pub fn energy(&self) -> WattHours {
        self.nominal() * self.capacity()
    }
}

/// Chooses the bank; enters its reasons, assumptions, gaps and refusals.
pub fn choose(builder: &mut Builder<'_>, settings: &Settings, need: &Need) -> Option<BankChoice> {
    let project = builder.project;
    let intent = project.intent.bank.clone();
    let said = intent.as_ref();
    let zone = said.and_then(|bank| bank.zone.clone());
    let zone = zone.map_or_else(
        || {
            builder
                .zones
                .iter()
                .position(|zone| zone.kind == model::ZoneKind::BatteryBox)
                .unwrap_or(settings.board_zone)
        },
        |zone| builder.zone(&Some(zone)),
    );
    let chemistry = match said.and_then(|bank| bank.chemistry) {
        Some(chemistry) => chemistry,
        None => {
            if said.is_none_or(|bank| bank.part.is_none()) {
                builder.assume(
                    "bank.chemistry",
                    "lfp".to_owned(),
                    Some(("agm".to_owned(), "lfp".to_owned())),
                    "lithium iron phosphate gives the most usable energy for its mass",
                    false,
                );
            }
            Chemistry::Lfp
        }
    };

    // How much capacity.
    let is_lead = chemistry != Chemistry::Lfp;
    let coldest = builder.zones[zone].coldest;
    let multiplier =
        if is_lead { builder.reference.battery_temperature_multiplier(coldest).ok() } else { None };
    let usable_guess =
        said.and_then(|bank| bank.usable).unwrap_or(Fraction::new(if is_lead { 0.5 } else { 0.8 }));
    let days = settings.autonomy.get() / 24.0;
    let needed = sizing::bank_capacity(
        need.per_day * settings.autonomy / days.max(1e-9),
        days,
        settings.voltage,
        usable_guess,
        multiplier.as_ref().map_or(1.0, |m| m.value),
    );
    let wanted = said.and_then(|bank| bank.capacity);
    let target = wanted.unwrap_or(needed);
    // The bank's voltage sags under its peak: by a tenth with lead-acid, by some hundredths with lithium.
    let low_guess = settings.voltage * if is_lead { 0.85 } else { 0.95 };
    let (peak, start) = (need.peak / low_guess, need.peak_start / low_guess);

    let mut inputs = Inputs::new()
        .with("need of a day", need.per_day, Origin::Derived("energy.need".to_owned()))
        .with("autonomy", settings.autonomy, settings.autonomy_origin.clone())
        .with(
            "usable share",
            usable_guess,
            Origin::Practice("depth of discharge for a long life".to_owned()),
        );
    if let Some(multiplier) = &multiplier {
        inputs = inputs.with("multiplier for cold", multiplier.value, Origin::Table(multiplier.cite.clone()));
    }
    let step = match wanted {
        Some(wanted) => format!("{wanted} as said; the need asks {needed}"),
        None => {
            format!("{} x {:.1} d / ({} x {usable_guess}) = {needed}", need.per_day, days, settings.voltage)
        }
    };
    builder.because("bank.capacity-needed", inputs.because(target, step));

    let choice = match said {
        Some(bank) if bank.battery_voltage.is_some() || bank.battery_capacity.is_some() => {
            described(builder, settings, chemistry, target, zone)
        }
        _ => from_library(builder, settings, chemistry, target, (peak, start), need, zone),
    };
    if let Some(choice) = &choice {
        explain(builder, choice, target, peak);
        refuse_overload(builder, choice, need);
    }
    choice
}

fn explain(builder: &mut Builder<'_>, choice: &BankChoice, target: AmpHours, peak: Amps) {
    let part = choice.id.as_ref().map_or_else(
        || Origin::Intent("bank".to_owned()),
        |id| Origin::Part(format!("battery.{id}.capacity")),
    );
    builder.because(
        "bank.capacity",
        Inputs::new()
            .with("capacity of one battery", choice.battery.capacity, part)
            .with("capacity wanted", target, Origin::Derived("bank.capacity-needed".to_owned()))
            .with("peak current", peak, Origin::Derived("energy.peak".to_owned()))
            .because(
                choice.capacity(),
                format!("{} in series, {} strings in parallel", choice.series, choice.parallel),
            ),
    );
    let resistance_origin = match (&choice.id, choice.short_circuit_is_stated) {
        (Some(id), true) => Origin::Part(format!("battery.{id}.short_circuit")),
        (Some(id), false) => Origin::Part(format!("battery.{id}.internal_resistance")),
        (None, true) => Origin::Intent("bank.battery_short_circuit".to_owned()),
        (None, false) => Origin::Assumed("bank.battery_short_circuit".to_owned()),
    };
    builder.because(
        "bank.short-circuit",
        Inputs::new().with("one string", choice.string_short_circuit(), resistance_origin).because(
            choice.short_circuit(),
            if choice.short_circuit_is_stated {
                format!("the sheet's figure x {} strings; strings in parallel add", choice.parallel)
            } else {
                format!(
                    "{} / {} a battery x {} strings; strings in parallel add",
                    choice.battery.float, choice.battery.internal_resistance, choice.parallel
                )
            },
        ),
    );
}

fn series_for(settings: &Settings, battery: &Battery) -> Option<u32> {
    let ratio = settings.voltage.get() / Settings::nominal(battery.voltage);
    let series = ratio.round();
    ((ratio - series).abs() < 0.05 && series >= 1.0 && series <= f64::from(battery.most_series))
        .then_some(series as u32)
}

fn from_library(
    builder: &mut Builder<'_>,
    settings: &Settings,
    chemistry: Chemistry,
    target: AmpHours,
    (peak, start): (Amps, Amps),
    need: &Need,
    zone: ZoneIx,
) -> Option<BankChoice> {
    let sun = need.sun / settings.voltage;
    let project = builder.project;
    let said = project.intent.bank.as_ref();
    let wanted = said.and_then(|bank| bank.capacity);
    let pin = builder.pin_part("bank.part", &project.library.battery, "battery").map(|(id, _)| id.clone());
    let part = pin.clone().or_else(|| said.and_then(|bank| bank.part.clone()));
    let parallel_pin: Option<u32> = builder.pin_text("bank.parallel").and_then(|text| text.parse().ok());
    let mut best: Option<(f64, u32, BankChoice)> = None;
    let mut fitting = 0;
    for (id, battery) in &project.library.battery {
        let is_named = part.as_ref().is_some_and(|part| part == id);
        if part.is_some() && !is_named || part.is_none() && battery.chemistry != chemistry {
            continue;
        }
        // A bank that may freeze needs a battery that warms itself, or one that charges in the cold; a warm one needs neither.
        let freezes =
            battery.chemistry == Chemistry::Lfp && builder.zones[zone].coldest < battery.charge_coldest;
        if !is_named && freezes != (battery.heated == Some(true)) {
            continue;
        }
        let Some(series) = said.and_then(|bank| bank.series).or_else(|| series_for(settings, battery)) else {
            continue;
        };
        // A wish of 300 Ah is met by 3 x 100 Ah, and by 295 Ah.
        let by_capacity = (target / battery.capacity * if wanted.is_some() { 0.97 } else { 1.0 }).ceil();
        let by_current = if wanted.is_some() { 1.0 } else { (peak / battery.discharge_limit).ceil() };
        let by_surge = if wanted.is_some() {
            1.0
        } else {
            (start / battery.surge_limit.unwrap_or(battery.discharge_limit)).ceil()
        };
        let by_charge = if wanted.is_some() { 1.0 } else { (sun / battery.charge_limit).ceil() };
        let by_sag =
            if wanted.is_some() { 1.0 } else { strings_for_start(battery, series, start, need.lowest) };
        let derived = by_capacity.max(by_current).max(by_surge).max(by_charge).max(by_sag).max(1.0) as u32;
        let parallel = parallel_pin.or(said.and_then(|bank| bank.parallel)).unwrap_or(derived).max(1);
        if parallel > battery.most_parallel && part.is_none() {
            continue;
        }
        fitting += 1;
        let choice = BankChoice {
            id: Some(id.clone()),
            battery: battery.clone(),
            series,
            parallel,
            zone,
            usable: said.and_then(|bank| bank.usable).unwrap_or(battery.usable),
            short_circuit_is_stated: battery.short_circuit.is_some(),
        };
        let count = series * parallel;
        let cost = choose::price(battery).get() * f64::from(count);
        if best.as_ref().is_none_or(|(least, fewest, _)| (cost, count) < (*least, *fewest)) {
            best = Some((cost, count, choice));
        }
    }
    let Some((_, _, choice)) = best else {
        let need = format!(
            "a {chemistry} battery that makes {} in series and, in as many strings as it allows, {target}, {peak} ({start} while starting) and {sun} from the sun",
            settings.voltage
        );
        builder.gap("bank.part", need.clone(), "bank");
        builder.refusals.push(Refusal {
            what: format!("no bank of {} can be put together", settings.voltage),
            numbers: format!("needed: {need}"),
            intent: "bank".to_owned(),
        });
        return None;
    };
    if let Some(id) = &choice.id {
        let is_pinned = pin.is_some();
        let is_said = !is_pinned && part.is_some();
        let inputs = Inputs::new()
            .with("capacity wanted", target, Origin::Derived("bank.capacity-needed".to_owned()))
            .with("peak current", peak, Origin::Derived("energy.peak".to_owned()));
        let inputs =
            if is_said { inputs.with("part", id, Origin::Intent("bank.part".to_owned())) } else { inputs };
        let step = if is_said {
            "as said".to_owned()
        } else {
            format!(
                "the cheapest bank of {fitting} that reach capacity and current: {} x {}",
                choice.series, choice.parallel
            )
        };
        builder.because_pinned("bank.part", id.to_string(), None, is_pinned, step, inputs);
        builder.because_pinned(
            "bank.parallel",
            choice.parallel.to_string(),
            None,
            parallel_pin.is_some(),
            "strings needed for capacity, current and surge, or as said",
            Inputs::new().with("capacity wanted", target, Origin::Derived("bank.capacity-needed".to_owned())),
        );
    }
    Some(choice)
}

/// Strings that hold the voltage up while the largest load starts through the inverter.
///
/// Half of what lies between the bank's low voltage and the inverter's lowest is left to cables and fuses; the resistance counts
/// half as much again for a bank that is cold and nearly empty (from memory).
fn strings_for_start(battery: &Battery, series: u32, start: Amps, lowest: Option<Volts>) -> f64 {
    let Some(lowest) = lowest else { return 1.0 };
    let room = (BankChoice::lowest_working(battery) * f64::from(series) - lowest) * 0.5;
    if room <= Volts::zero() {
        return 1.0;
    }
    let sag = start * (battery.internal_resistance * (1.5 * f64::from(series)));
    (sag / room).ceil()
}

/// A bank of batteries that the person describes by their sheet.
fn described(
    builder: &mut Builder<'_>,
    settings: &Settings,
    chemistry: Chemistry,
    target: AmpHours,
    zone: ZoneIx,
) -> Option<BankChoice> {
    let project = builder.project;
    let said = project.intent.bank.as_ref()?;
    let voltage = builder
        .given(
            "bank.battery_voltage",
            said.battery_voltage,
            settings.voltage,
            None,
            "taken as one battery in series",
            true,
        )
        .value;
    let capacity = builder
        .given(
            "bank.battery_capacity",
            said.battery_capacity,
            target,
            None,
            "taken as one battery of the whole capacity",
            true,
        )
        .value;
    let per_ah = |share: f64| Amps::new(capacity.get() * share);
    let (charge_share, discharge_share) = if chemistry == Chemistry::Lfp { (0.5, 1.0) } else { (0.15, 0.5) };
    let sheet =
        "not on the sheet given; a careful figure for the chemistry stands in until the sheet's is known";
    let charge = builder
        .given(
            "bank.battery_charge_limit",
            said.battery_charge_limit,
            per_ah(charge_share),
            None,
            sheet,
            true,
        )
        .value;
    let discharge = builder
        .given(
            "bank.battery_discharge_limit",
            said.battery_discharge_limit,
            per_ah(discharge_share),
            None,
            sheet,
            true,
        )
        .value;
    let scale = 100.0 / capacity.get().max(1.0) * (voltage.get() / 12.0);
    let resistance = builder
        .given(
            "bank.battery_resistance",
            said.battery_resistance,
            Ohms::new(0.002 * scale),
            None,
            "a low figure for the chemistry, so that fault currents come out high",
            said.battery_short_circuit.is_none(),
        )
        .value;
    let float = voltage * if chemistry == Chemistry::Lfp { 13.5 / 12.8 } else { 13.6 / 12.0 };
    if said.battery_short_circuit.is_none() {
        builder.assume(
            "bank.battery_short_circuit",
            (float / resistance).show(),
            None,
            "the sheet's short-circuit current is needed to choose fuses that can break it; float voltage over resistance stands in",
            true,
        );
    }
    let cells = Settings::nominal(voltage) / 12.0;
    let volts =
        |lead: f64, lfp: f64| Volts::new(if chemistry == Chemistry::Lfp { lfp } else { lead } * cells);
    let battery = Battery {
        title: format!("Battery as described, {} {}", voltage.show(), capacity.show()),
        price: Vec::new(),
        mass: quantity::Kilograms::zero(),
        size: Vec::new(),
        note: None,
        footprint: None,
        chemistry,
        voltage,
        capacity,
        charge_limit: charge,
        discharge_limit: discharge,
        surge_limit: None,
        surge_time: None,
        short_circuit: said.battery_short_circuit,
        internal_resistance: resistance,
        absorption: volts(14.4, 14.2),
        float,
        cutoff: volts(10.8, 11.0),
        charge_coldest: quantity::Celsius::new(if chemistry == Chemistry::Lfp { 0.0 } else { -20.0 }),
        discharge_coldest: quantity::Celsius::new(-20.0),
        hottest: quantity::Celsius::new(50.0),
        usable: said.usable.unwrap_or(Fraction::new(if chemistry == Chemistry::Lfp { 0.8 } else { 0.5 })),
        heated: None,
        peukert: if chemistry == Chemistry::Lfp { 1.03 } else { 1.15 },
        stud: said.battery_stud.unwrap_or(Stud::M8),
        most_series: 4,
        most_parallel: 4,
    };
    let series = said.series.or_else(|| series_for(settings, &battery)).unwrap_or(1);
    let parallel = said.parallel.unwrap_or_else(|| (target / capacity * 0.97).ceil().max(1.0) as u32);
    builder.because_pinned(
        "bank.part",
        battery.title.clone(),
        None,
        false,
        "as described",
        Inputs::new().with("sheet", &battery.title, Origin::Intent("bank".to_owned())),
    );
    let usable = battery.usable;
    Some(BankChoice {
        id: None,
        series,
        parallel: parallel.max(1),
        zone,
        usable,
        short_circuit_is_stated: battery.short_circuit.is_some(),
        battery,
    })
}

/// A load that the bank can never carry: no schedule is issued.
fn refuse_overload(builder: &mut Builder<'_>, choice: &BankChoice, need: &Need) {
    let Some((name, power)) = &need.largest else { return };
    let current = *power / choice.voltage_low();
    let limit = choice.discharge_limit();
    if current > limit * 1.05 {
        builder.refusals.push(Refusal {
            what: format!("`{name}` alone asks more than the bank can give"),
            numbers: format!(
                "{power} from the bank is {current} at {}; {} of {} can give {limit}, {:.1} times less",
                choice.voltage_low(),
                if choice.parallel == 1 {
                    "one string".to_owned()
                } else {
                    format!("{} strings", choice.parallel)
                },
                choice.battery.title,
                current / limit
            ),
            intent: format!("loads.{name}"),
        });
    }
}
