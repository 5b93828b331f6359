//! A plain battery that a row may ask about: built here from the row's own figures and run by `energy::storage`.
//! Never: computes how long it runs; that is what is being checked.
//! Start at [`call`].

use crate::{Answer, Inputs};
use energy::storage::{BankModel, peukert_exponent};
use model::parts::{Battery, Chemistry, Stud};
use quantity::{AmpHours, Amps, Celsius, Fraction, Kilograms, Ohms, Volts, WattHours};

/// Calls one of them; `None` where there is none of this name.
///
/// Errors: as [`crate::call`].
pub(crate) fn call(name: &str, of: &Inputs) -> Result<Option<Answer>, String> {
    Ok(Some(match name {
        "energy.peukert_exponent" => {
            let exponent =
                peukert_exponent(of.of("capacity")?, of.of("rated")?, of.of("current")?, of.of("time")?);
            exponent.ok_or("both ratings are at one current")?.into()
        }
        // Share of the rated capacity that a steady current gets out of a full battery.
        "energy.share_at_current" => {
            let (current, temp): (Amps, Celsius) = (of.of("current")?, of.of("temp")?);
            let (bank, capacity) = bank(of)?;
            Fraction::new(bank.run_time_h(current.get(), temp.get()) * current.get() / capacity.get()).into()
        }
        _ => return Ok(None),
    }))
}

/// One battery of 12 V; the voltage at which a test ends is 1.75 V a lead-acid cell, 2.5 V a lithium cell.
fn bank(of: &Inputs) -> Result<(BankModel, AmpHours), String> {
    let chemistry = of.text("chemistry")?;
    let chemistry = Chemistry::from_word(chemistry)
        .ok_or_else(|| format!("input `chemistry`: {chemistry:?} is no chemistry"))?;
    let capacity: AmpHours = of.of("capacity")?;
    let is_lithium = chemistry == Chemistry::Lfp;
    let limit = Amps::new(capacity.get() * 2.0);
    let key = chemistry.word();
    let cell = reference::Reference::standard().chemistry(key).ok_or("the chemistry has no figures")?;
    let cells = if is_lithium { 4.0 } else { 6.0 };
    let battery = Battery {
        title: String::new(),
        price: Vec::new(),
        mass: Kilograms::zero(),
        size: Vec::new(),
        note: None,
        footprint: None,
        chemistry,
        voltage: cell.nominal * cells,
        capacity,
        charge_limit: limit,
        discharge_limit: limit,
        surge_limit: None,
        surge_time: None,
        short_circuit: None,
        internal_resistance: Ohms::new(cell.cell_resistance_ohm_ah * cells / capacity.get()),
        absorption: cell.absorption.0 * cells,
        float: cell.float.0 * cells,
        cutoff: cell.empty * cells,
        charge_coldest: cell.charge_temp.0,
        discharge_coldest: Celsius::new(-40.0),
        hottest: cell.discharge_temp.1,
        usable: cell.usable,
        heated: None,
        peukert: of.number("exponent")?,
        stud: Stud::M8,
        most_series: 1,
        most_parallel: 1,
    };
    let bank = model::Bank {
        chemistry,
        series: 1,
        parallel: 1,
        capacity,
        energy: WattHours::zero(),
        usable: WattHours::zero(),
        charge_limit: limit,
        discharge_limit: limit,
        surge_limit: limit,
        resistance: battery.internal_resistance,
        short_circuit: Amps::zero(),
        voltage_high: Volts::zero(),
        voltage_low: Volts::zero(),
        batteries: Vec::new(),
        zone: 0,
    };
    Ok((BankModel::of(&bank, &battery), capacity))
}
