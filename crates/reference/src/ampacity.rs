//! Current that a conductor may carry in a place: a table current, the factors of the place, the limit of the terminals.
//! Never: picks a size, rounds, goes beyond a table.
//! Start at [`Reference::ampacity_parts`]; [`Reference::ampacity`] multiplies them.

use crate::lookup::{ByRating, BySize, Steps};
use crate::{Cite, Cited, Insulation, OutOfTable, Place, Provenance, Reference, RuleSet, SystemVoltage};
use quantity::{Amps, Gauge};
use serde::Serialize;

/// One step of an ampacity.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Part {
    /// What it stands for: "engine space".
    pub label: String,
    /// The number.
    pub value: PartValue,
    /// Its row.
    pub cite: Cite,
}

/// What a step does to the ampacity.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartValue {
    /// The table current that the factors multiply.
    Base(Amps),
    /// A factor.
    Factor(f64),
    /// A limit on the product.
    Cap(Amps),
}

/// The heat-balance law: what is left of a 30 °C ampacity at another ambient, `sqrt((Ti - Ta)/(Ti - 30))`.
fn heat_balance(rating: f64, ambient: f64) -> Result<f64, OutOfTable> {
    if rating.is_finite() && ambient < rating && rating > 30.0 {
        return Ok(((rating - ambient) / (rating - 30.0)).sqrt());
    }
    Err(too_hot(rating, ambient))
}

fn too_hot(rating: f64, ambient: f64) -> OutOfTable {
    OutOfTable::new(
        "ampacity in a hot place",
        format!("{rating} °C insulation in {ambient} °C air"),
        format!("air from -60 °C to below {rating} °C"),
        "use insulation with a higher rating or route the conductor through a cooler place",
    )
}

/// The part for hotter air outside the printed factors.
fn law_part(rating: f64, ambient: f64) -> Result<Part, OutOfTable> {
    let row = format!("sqrt(({rating} - {ambient})/({rating} - 30))");
    Ok(Part {
        label: format!("air at {ambient} °C"),
        value: PartValue::Factor(heat_balance(rating, ambient)?),
        cite: Cite::new("heat-balance", row, Provenance::Computed),
    })
}

impl Reference {
    /// Current that a conductor may carry all day in a place; the product of [`Reference::ampacity_parts`].
    ///
    /// Errors: a size or insulation that the table lacks, air as hot as the insulation.
    pub fn ampacity(
        &self,
        rules: RuleSet,
        size: Gauge,
        insulation: Insulation,
        place: &Place,
    ) -> Result<Cited<Amps>, OutOfTable> {
        let parts = self.ampacity_parts(rules, size, insulation, place)?;
        let mut amps = Amps::zero();
        let mut cite: Option<Cite> = None;
        for part in parts {
            let binds = match part.value {
                PartValue::Base(base) => {
                    amps = base;
                    true
                }
                PartValue::Factor(factor) => {
                    amps = amps * factor;
                    true
                }
                PartValue::Cap(cap) => {
                    let binds = cap < amps;
                    amps = amps.min(cap);
                    binds
                }
            };
            cite = Some(match cite {
                None => part.cite,
                Some(sum) if binds => {
                    let step = match part.value {
                        PartValue::Factor(factor) => format!("× {factor:.3} ({})", part.label),
                        _ => format!("held to {} A ({})", amps.get(), part.label),
                    };
                    let mut sum =
                        Cite { row: format!("{} {step}", sum.row), provenance: sum.provenance, ..sum };
                    sum.provenance = sum.provenance.max(part.cite.provenance);
                    sum.noting(part.cite.note.unwrap_or_default())
                }
                Some(sum) => sum,
            });
        }
        match cite {
            Some(cite) => Ok(Cited::new(amps, cite)),
            None => Err(too_hot(insulation.celsius().get(), place.ambient.get())),
        }
    }

    /// The table current and every factor and limit on it, each with its row, in the order in which they apply.
    /// - `na` DC: 33 CFR 183.425 Table 5, note 1 in engine spaces, the heat-balance law for other air above 30 °C, note 2 at 50 V and
    ///   over; under 50 V that rule has no bundle factor and the DC factors of the ISO annex are used from 4 conductors up.
    /// - `na` AC: NEC 310.16 with its ambient and bundle tables, held to the terminal column of 110.14(C); see also
    ///   [`Reference::small_conductor_cap`].
    /// - `iec` DC: the ISO 10133 annex; engine spaces by the lower of its factor and the law at 60 °C.
    /// - `iec` AC: conduit in an insulated wall (method A), the least favourable usual method, held to 70 °C terminals.
    pub fn ampacity_parts(
        &self,
        rules: RuleSet,
        size: Gauge,
        insulation: Insulation,
        place: &Place,
    ) -> Result<Vec<Part>, OutOfTable> {
        if !place.ambient.get().is_finite() || place.ambient.get() < -60.0 {
            return Err(too_hot(insulation.celsius().get(), place.ambient.get()));
        }
        match (rules, place.system) {
            (RuleSet::Na, SystemVoltage::Ac) => self.parts_na_ac(size, insulation, place),
            (RuleSet::Iec, SystemVoltage::Ac) => self.parts_iec_ac(size, insulation, place),
            (RuleSet::Na, _) => {
                let (table, engine) = (&self.conductors.na_dc, &self.conductors.engine_na);
                let mut parts = base_and_ambient(table, engine, size, insulation, place)?;
                let over = place.system == SystemVoltage::Over50;
                let bundle = if over { &self.conductors.bundle_50v } else { &self.conductors.bundle_dc };
                if let Some(mut part) = bundle_part(bundle, place.bundled_current_carrying) {
                    if !over {
                        part.cite = part
                            .cite
                            .noting("33 CFR 183 has no bundle factor under 50 V; the ISO factor is used");
                    }
                    parts.push(part);
                }
                Ok(parts)
            }
            (RuleSet::Iec, _) => {
                let (table, engine) = (&self.conductors.iec_dc, &self.conductors.engine_iec);
                let mut parts = base_and_ambient(table, engine, size, insulation, place)?;
                parts.extend(bundle_part(&self.conductors.bundle_dc, place.bundled_current_carrying));
                Ok(parts)
            }
        }
    }

    fn parts_na_ac(
        &self,
        size: Gauge,
        insulation: Insulation,
        place: &Place,
    ) -> Result<Vec<Part>, OutOfTable> {
        let table = &self.conductors.na_ac;
        let (base, rating) = base_part(table, size, insulation)?;
        let ambient = if place.engine_space { place.ambient.get().max(50.0) } else { place.ambient.get() };
        let column = match rating as u32 {
            60 => 1,
            75 => 2,
            _ => 3,
        };
        let steps = &self.conductors.ambient_na_ac;
        let row = steps.up_to(ambient).ok_or_else(|| too_hot(rating, ambient))?;
        let factor = row.number(column).ok_or_else(|| too_hot(rating, ambient))?;
        let mut parts = vec![base];
        if factor != 1.0 {
            parts.push(Part {
                label: format!("air at {ambient} °C"),
                value: PartValue::Factor(factor),
                cite: steps.cite(row),
            });
        }
        parts.extend(bundle_part(&self.conductors.bundle_na_ac, place.bundled_current_carrying));
        // 110.14(C): sizes 14 to 1 AWG belong to equipment of 100 A or less, whose terminals count as 60 °C unless marked.
        let (row, _) = table.row(size)?;
        let large = size.area() > Gauge::Awg(1).area();
        let (column, terminals) = if large { (2, 75) } else { (1, 60) };
        if let Some(cap) = row.number(column) {
            parts.push(Part {
                label: format!("{terminals} °C terminals"),
                value: PartValue::Cap(Amps::new(cap)),
                cite: Cite::new(
                    "nec-110-14",
                    format!("110.14(C)(1), {terminals} °C column of {}", row.key),
                    Provenance::Published,
                ),
            });
        }
        Ok(parts)
    }

    fn parts_iec_ac(
        &self,
        size: Gauge,
        insulation: Insulation,
        place: &Place,
    ) -> Result<Vec<Part>, OutOfTable> {
        let conductors = &self.conductors;
        let hot = insulation >= Insulation::C90;
        let table = if hot { &conductors.iec_ac_90 } else { &conductors.iec_ac_70 };
        let ambient = if place.engine_space { place.ambient.get().max(60.0) } else { place.ambient.get() };
        let mut parts = Vec::new();
        if insulation < Insulation::C70 {
            let (row, swap) = table.row(size)?;
            let amps = row.number(1).ok_or_else(|| table.out(size))?;
            parts.push(Part {
                label: "table current".into(),
                value: PartValue::Base(Amps::new(amps)),
                cite: row.cite(&table.what).noting(swap.unwrap_or_default()),
            });
            let rating = insulation.celsius().get();
            parts.push(Part {
                label: format!("{insulation} insulation in a 70 °C table"),
                value: PartValue::Factor(((rating - 30.0) / 40.0).sqrt()),
                cite: Cite::new("heat-balance", "sqrt((Ti - 30)/(70 - 30))", Provenance::Computed),
            });
            if ambient > 30.0 {
                parts.push(law_part(rating, ambient)?);
            }
        } else {
            let (base, rating) = base_part(table, size, insulation)?;
            parts.push(base);
            let steps = &conductors.ambient_iec_ac;
            let row = steps.up_to(ambient).ok_or_else(|| too_hot(rating, ambient))?;
            let factor = row.number(if hot { 2 } else { 1 }).ok_or_else(|| too_hot(rating, ambient))?;
            if factor != 1.0 {
                parts.push(Part {
                    label: format!("air at {ambient} °C"),
                    value: PartValue::Factor(factor),
                    cite: steps.cite(row),
                });
            }
        }
        let circuits = place.bundled_current_carrying.div_ceil(2);
        if let Some(mut part) = bundle_part(&conductors.grouping_iec_ac, circuits) {
            part.label = format!("{circuits} circuits together");
            parts.push(part);
        }
        if hot
            && let Ok((row, _)) = conductors.iec_ac_70.row(size)
            && let Some(cap) = row.number(1)
        {
            parts.push(Part {
                label: "70 °C terminals".into(),
                value: PartValue::Cap(Amps::new(cap)),
                cite: row
                    .cite(&conductors.iec_ac_70.what)
                    .noting("equipment terminals are made for 70 °C conductors"),
            });
        }
        Ok(parts)
    }
}

/// The table current of a size at the hottest column its insulation allows, and that column's temperature.
fn base_part(table: &BySize, size: Gauge, insulation: Insulation) -> Result<(Part, f64), OutOfTable> {
    let (row, swap) = table.row(size)?;
    let no_column = || {
        OutOfTable::new(
            table.what.clone(),
            format!("{}, {insulation} insulation", row.key),
            "the printed columns",
            "use a larger size or insulation with a higher rating",
        )
    };
    let (column, rating) = table.column(insulation).ok_or_else(no_column)?;
    let amps = row.number(column).ok_or_else(no_column)?;
    let mut cite = row.cite(&table.what).noting(swap.unwrap_or_default());
    cite.row = format!("{}, {rating} °C", cite.row);
    if rating != insulation.celsius().get() {
        cite = cite.noting(format!("{insulation} insulation read in the {rating} °C column"));
    }
    Ok((Part { label: "table current".into(), value: PartValue::Base(Amps::new(amps)), cite }, rating))
}

/// Table current of a DC conductor with the factor for its air.
fn base_and_ambient(
    table: &BySize,
    engine: &ByRating,
    size: Gauge,
    insulation: Insulation,
    place: &Place,
) -> Result<Vec<Part>, OutOfTable> {
    let (base, rating) = base_part(table, size, insulation)?;
    let mut parts = vec![base];
    let ambient = place.ambient.get();
    if !place.engine_space {
        if ambient > 30.0 {
            parts.push(law_part(rating, ambient)?);
        }
        return Ok(parts);
    }
    let hottest = ambient.max(engine.ambient);
    let law = law_part(rating, hottest);
    let printed = engine.rows.iter().find(|(known, ..)| *known == rating);
    match printed {
        // A printed factor above the law by more than its rounding would let the insulation run hot: the law then stands.
        Some((_, factor, row))
            if law.as_ref().is_ok_and(
                |law| matches!(law.value, PartValue::Factor(by_law) if *factor <= by_law + 0.01),
            ) =>
        {
            parts.push(Part {
                label: "engine space".into(),
                value: PartValue::Factor(*factor),
                cite: row.cite(&engine.what),
            });
        }
        Some((_, factor, _)) => {
            let mut part = law?;
            part.label = format!("engine space at {hottest} °C");
            part.cite = part.cite.noting(format!("lower than the printed {factor}"));
            parts.push(part);
        }
        None => {
            let mut part = law?;
            part.label = format!("engine space at {hottest} °C");
            parts.push(part);
        }
    }
    Ok(parts)
}

/// The factor for conductors lying together; `None` where it is 1.
fn bundle_part(steps: &Steps, count: u32) -> Option<Part> {
    let row = steps.from(f64::from(count.max(1)))?;
    let factor = row.number(1)?;
    (factor != 1.0).then(|| Part {
        label: format!("{count} conductors together"),
        value: PartValue::Factor(factor),
        cite: steps.cite(row),
    })
}
