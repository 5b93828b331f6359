//! Batteries by chemistry: voltage at rest, charge limits, Peukert exponent, capacity in the cold.
//! Never: simulates a battery; these are typical figures, and a maker's limit governs.
//! Start at [`Reference::chemistry`].

use crate::data::{Row, Table, Tables};
use crate::{Cite, Cited, OutOfTable, Reference};
use quantity::{Celsius, Fraction, Volts};
use std::collections::BTreeMap;

/// A typical figure with the range it is taken from.
#[derive(Clone, Copy, PartialEq, Debug, serde::Serialize)]
pub struct Spread<T> {
    /// Least.
    pub least: T,
    /// Typical.
    pub typical: T,
    /// Most.
    pub most: T,
}

/// Typical figures of a chemistry, per cell. A maker's limit governs.
#[derive(Clone, PartialEq, Debug)]
pub struct Chemistry {
    /// "lfp", "agm", "gel", "flooded".
    pub key: String,
    /// Nominal voltage of a cell.
    pub nominal: Volts,
    /// End-of-discharge voltage of a cell.
    pub empty: Volts,
    /// Absorption (constant-voltage) range of a cell.
    pub absorption: (Volts, Volts),
    /// Float range of a cell.
    pub float: (Volts, Volts),
    /// Highest equalising voltage of a cell; `None`: never equalise.
    pub equalise: Option<Volts>,
    /// Change of charge voltage per cell and kelvin from 25 °C [V/K].
    pub compensation_v_per_k: f64,
    /// Coldest and hottest battery that may be charged.
    pub charge_temp: (Celsius, Celsius),
    /// Coldest and hottest battery that may be discharged.
    pub discharge_temp: (Celsius, Celsius),
    /// Largest charge current over rated capacity [1/h].
    pub charge_c_rate: f64,
    /// Largest continuous discharge current over rated capacity [1/h].
    pub discharge_c_rate: f64,
    /// Internal resistance times rated capacity of one cell [Ω·Ah].
    pub cell_resistance_ohm_ah: f64,
    /// Ah out over Ah in.
    pub charge_efficiency: Fraction,
    /// Wh out over Wh in.
    pub energy_efficiency: Fraction,
    /// Share of the rated capacity to plan with.
    pub usable: Fraction,
    /// Gives off hydrogen in normal use, so that it needs ventilation.
    pub is_vented: bool,
    /// May give off hydrogen when overcharged.
    pub may_gas: bool,
    /// Share lost a month.
    pub self_discharge_per_month: Fraction,
    /// Row and how well it is known.
    pub cite: Cite,
}

type Curve = Vec<(f64, Spread<f64>)>;

pub(crate) struct Storage {
    chemistries: Vec<Chemistry>,
    peukert: BTreeMap<String, Cited<Spread<f64>>>,
    rest: BTreeMap<String, (Curve, Cite)>,
    cold: Vec<(f64, f64)>,
    cold_cite: Cite,
}

/// The four chemistries that have rest tables.
const REST: [(&str, &str); 4] =
    [("lfp", "rest-lfp"), ("flooded", "rest-flooded"), ("agm", "rest-agm"), ("gel", "rest-gel")];

fn spread(table: &Table, row: &Row) -> Result<Spread<f64>, String> {
    let found = [table.need(&row.key, 1)?, table.need(&row.key, 2)?, table.need(&row.key, 3)?];
    if found[0] <= found[1] && found[1] <= found[2] {
        return Ok(Spread { least: found[0], typical: found[1], most: found[2] });
    }
    Err(format!("table {}: row {:?} should ascend", table.id, row.key))
}

impl Storage {
    pub fn load(tables: &Tables) -> Result<Self, String> {
        let table = tables.get("chemistry")?;
        let mut chemistries = Vec::new();
        for row in &table.rows {
            let number = |column: usize| table.need(&row.key, column);
            let volts = |column: usize| number(column).map(Volts::new);
            let share = |column: usize| number(column).map(Fraction::new);
            chemistries.push(Chemistry {
                key: row.key.clone(),
                nominal: volts(1)?,
                empty: volts(2)?,
                absorption: (volts(3)?, volts(4)?),
                float: (volts(5)?, volts(6)?),
                equalise: row.number(7).map(Volts::new),
                compensation_v_per_k: number(8)?,
                charge_temp: (Celsius::new(number(9)?), Celsius::new(number(10)?)),
                discharge_temp: (Celsius::new(number(11)?), Celsius::new(number(12)?)),
                charge_c_rate: number(13)?,
                discharge_c_rate: number(14)?,
                cell_resistance_ohm_ah: number(15)?,
                charge_efficiency: share(16)?,
                energy_efficiency: share(17)?,
                usable: share(18)?,
                is_vented: row.text(19) == Some("yes"),
                may_gas: row.text(19) != Some("no"),
                self_discharge_per_month: share(20)?,
                cite: row.cite(&table.what),
            });
        }
        let table = tables.get("peukert")?;
        let mut peukert = BTreeMap::new();
        for row in &table.rows {
            peukert.insert(row.key.clone(), Cited::new(spread(table, row)?, row.cite(&table.what)));
        }
        let mut rest = BTreeMap::new();
        for (key, id) in REST {
            let table = tables.get(id)?;
            let mut curve = Vec::new();
            for row in &table.rows {
                let soc = row.number(0).ok_or_else(|| format!("table {id}: a row has no state of charge"))?;
                curve.push((soc, spread(table, row)?));
            }
            let first = table.rows.first().ok_or_else(|| format!("table {id} is empty"))?;
            let cite = Cite { row: format!("{}, {key}", table.what), ..first.cite(&table.what) };
            rest.insert(key.to_owned(), (curve, cite));
        }
        let table = tables.get("cold-capacity")?;
        let mut cold = Vec::new();
        for row in &table.rows {
            let temp = row.number(0).ok_or("table cold-capacity: a row has no temperature")?;
            cold.push((temp, table.need(&row.key, 1)?));
        }
        let first = table.rows.first().ok_or("table cold-capacity is empty")?;
        Ok(Self {
            chemistries,
            peukert,
            rest,
            cold,
            cold_cite: Cite { row: table.what.clone(), ..first.cite(&table.what) },
        })
    }
}

impl Reference {
    /// Typical figures of a chemistry: "lfp", "agm", "gel" or "flooded".
    pub fn chemistry(&self, key: &str) -> Option<&Chemistry> {
        self.storage.chemistries.iter().find(|chemistry| chemistry.key == key)
    }

    /// Every chemistry.
    pub fn chemistries(&self) -> &[Chemistry] {
        &self.storage.chemistries
    }

    /// Peukert exponent of a chemistry, for `t = H · (C/(I·H))^k` with C rated over H hours.
    pub fn peukert(&self, chemistry: &str) -> Option<Cited<Spread<f64>>> {
        self.storage.peukert.get(chemistry).cloned()
    }

    /// Voltage of one cell at rest, straight between the table's points.
    /// - `soc`: state of charge, 0 to 1; outside, or an unknown chemistry: `None`.
    pub fn rest_voltage(&self, chemistry: &str, soc: Fraction) -> Option<Cited<Spread<Volts>>> {
        let (curve, cite) = self.storage.rest.get(chemistry)?;
        let at = soc.get();
        let after = curve.iter().position(|(point, _)| *point >= at)?;
        let (high_soc, high) = curve.get(after)?;
        let (low_soc, low) = if *high_soc == at {
            (high_soc, high)
        } else {
            curve.get(after.checked_sub(1)?).map(|(soc, low)| (soc, low))?
        };
        let share = if high_soc > low_soc { (at - low_soc) / (high_soc - low_soc) } else { 0.0 };
        let between = |low: f64, high: f64| Volts::new(low + share * (high - low));
        let spread = Spread {
            least: between(low.least, high.least),
            typical: between(low.typical, high.typical),
            most: between(low.most, high.most),
        };
        Some(Cited::new(spread, cite.clone()))
    }

    /// How much larger a lead-acid bank must be for its coldest temperature; 1 at 26.7 °C and warmer, straight between the table's points.
    ///
    /// Errors: colder than −6.7 °C.
    pub fn battery_temperature_multiplier(&self, battery: Celsius) -> Result<Cited<f64>, OutOfTable> {
        let cold = &self.storage.cold;
        let at = battery.get();
        let out = || {
            OutOfTable::new(
                "lead-acid capacity in the cold",
                format!("{at} °C"),
                "-6.7 °C and warmer",
                "keep the battery warmer or use the maker's curve",
            )
        };
        if cold.first().is_some_and(|(warmest, _)| at >= *warmest) {
            return Ok(Cited::new(1.0, self.storage.cold_cite.clone()));
        }
        let pair = cold.windows(2).find(|pair| at <= pair[0].0 && at >= pair[1].0).ok_or_else(out)?;
        let share = (pair[0].0 - at) / (pair[0].0 - pair[1].0);
        Ok(Cited::new(pair[0].1 + share * (pair[1].1 - pair[0].1), self.storage.cold_cite.clone()))
    }
}
