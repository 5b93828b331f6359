//! Every function that a check may call, by name.
//! Never: computes what the called function should; a formula here only joins two calls.
//! Start at [`call`]: add a name in its one list.

use crate::Inputs;
use crate::inputs::number;
use derive::sizing;
use quantity::{
    AmpHours, Amps, Celsius, Fraction, Gauge, Hours, Metres, NewtonMetres, OhmsPerKm, SquareAmpSeconds,
    SquareMm, Volts, WattHours, Watts, Written,
};
use reference::{PartValue, Place, Reference};

/// What a call gave, in the unit in which it is compared.
pub enum Answer {
    /// A quantity: its number, how it shows, and how to read another of its kind.
    Quantity(f64, String, fn(&str) -> Result<f64, String>),
    /// A bare number.
    Number(f64),
    /// Words: a size, a colour.
    Words(String),
}

macro_rules! quantity_answer {
    ($($kind:ident),*) => {
        $(impl From<$kind> for Answer {
            fn from(value: $kind) -> Self {
                Answer::Quantity(value.get(), value.to_string(), |text| {
                    $kind::parse(text).map(|value| value.get()).map_err(|error| error.to_string())
                })
            }
        })*
    };
}

quantity_answer!(
    AmpHours,
    Amps,
    Fraction,
    Hours,
    Metres,
    NewtonMetres,
    OhmsPerKm,
    SquareMm,
    Volts,
    WattHours
);

impl From<f64> for Answer {
    fn from(value: f64) -> Self {
        Answer::Number(value)
    }
}

impl From<Gauge> for Answer {
    fn from(value: Gauge) -> Self {
        Answer::Words(value.to_string())
    }
}

impl Answer {
    /// How it shows.
    pub fn shown(&self) -> String {
        match self {
            Answer::Quantity(_, shown, _) => shown.clone(),
            Answer::Number(value) => value.to_string(),
            Answer::Words(words) => format!("{words:?}"),
        }
    }

    /// Whether it is the wanted value, within a tolerance or on the right side of a limit.
    ///
    /// Errors: a wanted value or tolerance that cannot be read as this kind of answer.
    pub fn agrees(
        &self,
        want: &toml::Value,
        within: Option<&toml::Value>,
        bound: Option<&str>,
    ) -> Result<bool, String> {
        let read = |value: &toml::Value| match (self, value) {
            (Answer::Quantity(.., parse), toml::Value::String(text)) => parse(text),
            (Answer::Number(_), value) => number(value).ok_or_else(|| format!("{value} should be a number")),
            _ => Err(format!("{value} should be a quantity with its unit, in quotes")),
        };
        let got = match self {
            Answer::Words(words) => {
                if within.is_some() || bound.is_some() {
                    return Err("words have no tolerance".into());
                }
                let want = want.as_str().ok_or("`want` should be words in quotes")?;
                return Ok(words == want);
            }
            Answer::Quantity(got, ..) | Answer::Number(got) => *got,
        };
        let wanted = read(want)?;
        let slack = match within {
            None if bound.is_some() => 0.0,
            None => return Err("`within` is missing: half the last printed digit of the source".into()),
            // A share of the wanted value, also where the answer itself is a share.
            Some(toml::Value::String(text)) if text.ends_with('%') => {
                let share = text.trim_end_matches('%').trim().parse::<f64>();
                wanted.abs() * share.map_err(|_| format!("`within`: {text:?} is not a share"))? / 100.0
            }
            Some(value) => read(value)?,
        };
        if !(got.is_finite() && wanted.is_finite() && slack >= 0.0) {
            return Err(format!("{got}, {wanted} and {slack} should be finite"));
        }
        // Rounding of the last binary digit is no disagreement.
        let slack = slack + wanted.abs() * 1e-12;
        Ok(match bound {
            None => (got - wanted).abs() <= slack,
            Some("most") => got <= wanted + slack,
            Some("least") => got >= wanted - slack,
            Some(other) => return Err(format!("`bound`: {other:?} is neither most nor least")),
        })
    }
}

fn place(of: &Inputs) -> Result<Place, String> {
    Ok(Place {
        ambient: of.of::<Celsius>("ambient")?,
        engine_space: of.flag("engine_space")?,
        bundled_current_carrying: of.count("together", 1)?,
        system: of.system()?,
    })
}

/// Calls a function by name.
///
/// Errors: an unknown name, an input that is missing or cannot be read, a question outside the tables.
pub fn call(name: &str, of: &Inputs) -> Result<Answer, String> {
    let reference = Reference::standard();
    let out = |error: reference::OutOfTable| error.to_string();
    let none = || "nothing stands in the table for these inputs".to_string();
    let tinned = || of.flag("tinned");
    Ok(match name {
        "quantity.area" => of.gauge()?.area().into(),
        "quantity.diameter" => of.gauge()?.diameter().into(),
        "quantity.circular_mils" => of.gauge()?.circular_mils().into(),
        "quantity.drop" => (of.of::<Amps>("current")?
            * (of.of::<OhmsPerKm>("resistance")? * of.of::<Metres>("length_loop")?))
        .into(),
        "reference.resistance_20c" => {
            reference.resistance_20c(of.gauge()?, tinned()?).map_err(out)?.value.into()
        }
        "reference.resistance" => {
            reference.resistance(of.gauge()?, tinned()?, of.of("temp")?).map_err(out)?.value.into()
        }
        // Resistance at a temperature over that at 20 °C.
        "reference.temperature_factor" => {
            let hot = reference.resistance(of.gauge()?, false, of.of("temp")?).map_err(out)?.value;
            (hot.get() / reference.resistance_20c(of.gauge()?, false).map_err(out)?.value.get()).into()
        }
        // Millivolts lost per ampere and metre of route, out and back.
        "reference.millivolts_per_amp_metre" => (2.0
            * reference.resistance(of.gauge()?, tinned()?, of.of("temp")?).map_err(out)?.value.get())
        .into(),
        "reference.ampacity" => {
            let found = reference.ampacity(of.rules()?, of.gauge()?, of.insulation()?, &place(of)?);
            found.map_err(out)?.value.into()
        }
        // Base times factors, before terminal limits.
        "reference.ampacity_before_terminals" => {
            let parts = reference
                .ampacity_parts(of.rules()?, of.gauge()?, of.insulation()?, &place(of)?)
                .map_err(out)?;
            let product = parts.iter().fold(1.0, |product, part| match part.value {
                PartValue::Base(amps) => product * amps.get(),
                PartValue::Factor(factor) => product * factor,
                PartValue::Cap(_) => product,
            });
            Amps::new(product).into()
        }
        // All factors of a place together.
        "reference.ampacity_factor" => {
            let parts = reference
                .ampacity_parts(of.rules()?, of.gauge()?, of.insulation()?, &place(of)?)
                .map_err(out)?;
            let product = parts.iter().fold(1.0, |product, part| match part.value {
                PartValue::Factor(factor) => product * factor,
                _ => product,
            });
            product.into()
        }
        "reference.small_conductor_cap" => {
            reference.small_conductor_cap(of.gauge()?).ok_or_else(none)?.value.into()
        }
        "reference.min_gauge" => {
            reference.min_gauge(of.rules()?, of.flag("in_sheath")?, of.flag("ac")?).value.into()
        }
        "reference.next_standard_rating" => {
            let found = reference.next_standard_rating(of.rules()?, of.kind()?, of.of("at_least")?);
            found.map_err(out)?.value.into()
        }
        // The rating for a continuous load: the next standard one above load times the factor.
        "reference.rating_for_continuous" => {
            let least = of.of::<Amps>("load")? * reference.continuous_factor(of.rules()?).value;
            reference.next_standard_rating(of.rules()?, of.kind()?, least).map_err(out)?.value.into()
        }
        "reference.continuous_load" => {
            (of.of::<Amps>("load")? * reference.continuous_factor(of.rules()?).value).into()
        }
        "reference.max_protection" => {
            reference.max_protection(of.rules()?, of.system()?, of.of("ampacity")?).value.into()
        }
        "reference.interrupt_required" => {
            let bank = of.of::<AmpHours>("bank")?;
            let lithium = of.flag("lithium")?;
            reference
                .interrupt_required(of.rules()?, lithium, bank, of.of("prospective")?, of.flag("main")?)
                .value
                .into()
        }
        "reference.protection_distance" => reference
            .protection_distance(of.rules()?, of.flag("at_battery")?, of.flag("sheathed")?)
            .value
            .into(),
        "reference.drop_limit" => {
            reference.drop_limit(of.rules()?, of.flag("critical")?, of.flag("ac")?).value.into()
        }
        "reference.grounding_gauge" => {
            reference.grounding_gauge(of.rules()?, of.of("device")?).map_err(out)?.value.into()
        }
        "reference.protective_gauge" => reference.protective_gauge(of.gauge()?).value.into(),
        "reference.bonding_gauge" => reference.bonding_gauge(of.rules()?).value.into(),
        "reference.dc_negative_bond" => reference.dc_negative_bond(of.rules()?, of.gauge()?).value.into(),
        "reference.adiabatic_k" => {
            reference.adiabatic_k(of.insulation()?, of.flag("protective")?).value.into()
        }
        "reference.clearing_soonest" | "reference.clearing_latest" => {
            let found = reference.clearing_time(of.text("family")?, of.of("rating")?, of.of("current")?);
            let (soonest, latest) = found.ok_or_else(none)?;
            if name.ends_with("soonest") { soonest.into() } else { latest.into() }
        }
        "reference.fuse_interrupts" => {
            let family = reference.fuse_family(of.text("family")?).ok_or_else(none)?;
            family.interrupts(of.of("volts")?, of.flag("ac")?).ok_or_else(none)?.into()
        }
        "reference.fuse_voltage" => {
            let family = reference.fuse_family(of.text("family")?).ok_or_else(none)?;
            family.voltage_rating(of.flag("ac")?).ok_or_else(none)?.into()
        }
        "reference.voc_temperature_factor" => {
            reference.voc_temperature_factor(of.of("coldest")?).map_err(out)?.value.into()
        }
        // Largest current that a solar conductor and its fuse must carry, over the short-circuit current.
        "reference.pv_design_current" => {
            let factor = reference.pv_current_factor().value * reference.pv_conductor_factor().value;
            (of.of::<Amps>("short_circuit")? * factor).into()
        }
        "reference.battery_temperature_multiplier" => {
            reference.battery_temperature_multiplier(of.of("temp")?).map_err(out)?.value.into()
        }
        "reference.rest_voltage" => {
            let rest =
                reference.rest_voltage(of.text("chemistry")?, of.of::<Fraction>("soc")?).ok_or_else(none)?;
            (rest.value.typical * f64::from(of.count("cells", 1)?)).into()
        }
        // A charge voltage given for 25 °C, moved to the battery's temperature.
        "reference.charge_voltage_at" => {
            let chemistry = reference.chemistry(of.text("chemistry")?).ok_or_else(none)?;
            let kelvins = (of.of::<Celsius>("temp")? - Celsius::new(25.0)).get();
            (of.of::<Volts>("volts_at_25")? + Volts::new(chemistry.compensation_v_per_k * kelvins)).into()
        }
        "reference.peukert_least" | "reference.peukert_most" => {
            let spread = reference.peukert(of.text("chemistry")?).ok_or_else(none)?.value;
            if name.ends_with("least") { spread.least.into() } else { spread.most.into() }
        }
        "reference.charge_efficiency" => {
            reference.chemistry(of.text("chemistry")?).ok_or_else(none)?.charge_efficiency.into()
        }
        "reference.stud_torque_least" => {
            reference.stud_torque_range(of.text("stud")?).ok_or_else(none)?.value.0.into()
        }
        "reference.stud_torque_most" => {
            reference.stud_torque_range(of.text("stud")?).ok_or_else(none)?.value.1.into()
        }
        "reference.conductor_colour" => {
            Answer::Words(reference.conductor_colour(of.rules()?, of.role()?).value.name)
        }
        "derive.run_time" => {
            sizing::run_time(of.of("capacity")?, of.of("rated")?, of.of("current")?, of.number("exponent")?)
                .into()
        }
        "derive.bank_capacity" => sizing::bank_capacity(
            of.of("need")?,
            of.number("days")?,
            of.of("voltage")?,
            of.of("usable")?,
            of.number("multiplier")?,
        )
        .into(),
        // Share of the rated capacity that comes out at a current, by Peukert's law.
        "derive.share_at_current" => {
            let (capacity, current): (AmpHours, Amps) = (of.of("capacity")?, of.of("current")?);
            let time = sizing::run_time(capacity, of.of("rated")?, current, of.number("exponent")?);
            Fraction::new(current * time / capacity).into()
        }
        // The same bank in watt-hours.
        "derive.bank_energy" => {
            let voltage: Volts = of.of("voltage")?;
            let need = of.of("need")?;
            (sizing::bank_capacity(
                need,
                of.number("days")?,
                voltage,
                of.of("usable")?,
                of.number("multiplier")?,
            ) * voltage)
                .into()
        }
        "derive.inverter_current" => {
            sizing::inverter_current(of.of("power")?, of.of("efficiency")?, of.of("input")?).into()
        }
        "derive.fault_current" => {
            sizing::fault_current(of.of("voltage")?, of.of("source")?, of.of("loop")?).into()
        }
        "derive.withstand_area" => {
            sizing::withstand_area(of.of("fault")?, of.number("seconds")?, of.number("k")?).into()
        }
        "derive.string_voltage" => sizing::string_voltage(
            of.of("open_voltage")?,
            of.of("coefficient")?,
            of.count("series", 1)?,
            of.of("coldest")?,
        )
        .into(),
        "derive.drop" => {
            let found = sizing::drop(
                of.of("current")?,
                of.gauge()?,
                tinned()?,
                of.of("length_one_way")?,
                of.of("temp")?,
            );
            found.map_err(out)?.0.into()
        }
        // The smallest conductor for a current, a length and a drop, without a device ahead of it.
        "derive.conductor" => {
            let rules = of.rules()?;
            let current: Amps = of.of("current")?;
            let ask = sizing::ConductorAsk {
                rules,
                current,
                protection: None,
                voltage: of.of("voltage")?,
                drop_current: current,
                drop_limit: of.of("drop_limit")?,
                length: of.of("length_one_way")?,
                insulation: of.insulation()?,
                tinned: tinned()?,
                place: place(of)?,
                smallest: reference.gauges(rules).first().copied().ok_or_else(none)?,
                largest: None,
                withstand: SquareAmpSeconds::zero(),
            };
            sizing::conductor(&ask).map_err(|none| none.need)?.gauge.into()
        }
        // Energy of a load: power, how many, hours a day.
        "quantity.energy" => {
            let power = of.of::<Watts>("power")? * f64::from(of.count("count", 1)?);
            (power * of.of::<Hours>("hours")?).into()
        }
        // Charge that a load takes: its energy over the voltage.
        "quantity.charge" => {
            let power = of.of::<Watts>("power")? * f64::from(of.count("count", 1)?);
            (power * of.of::<Hours>("hours")? / of.of::<Volts>("voltage")?).into()
        }
        other => {
            if let Some(answer) = crate::networks::call(other, of)? {
                return Ok(answer);
            }
            return crate::batteries::call(other, of)?.ok_or_else(|| {
                format!("there is no call {other:?}; `call.rs`, `networks.rs` and `batteries.rs` list them")
            });
        }
    })
}
