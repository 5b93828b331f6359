//! Conductors: resistance, ampacity in a place, series of sizes, smallest sizes.

use crate::data::{Row, Table, Tables, gauge, gauge_name};
use crate::{Cite, Cited, OutOfTable, Provenance, Reference, RuleSet};
use core::fmt;
use core::str::FromStr;
use quantity::{Amps, Celsius, Gauge, Metres, OhmsPerKm};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Temperature rating of a conductor's insulation.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, JsonSchema)]
pub enum Insulation {
    /// 60 °C.
    #[serde(rename = "60 °C")]
    C60,
    /// 70 °C.
    #[serde(rename = "70 °C")]
    C70,
    /// 75 °C.
    #[serde(rename = "75 °C")]
    C75,
    /// 80 °C.
    #[serde(rename = "80 °C")]
    C80,
    /// 90 °C.
    #[serde(rename = "90 °C")]
    C90,
    /// 105 °C.
    #[serde(rename = "105 °C")]
    C105,
    /// 125 °C.
    #[serde(rename = "125 °C")]
    C125,
    /// 200 °C.
    #[serde(rename = "200 °C")]
    C200,
}

impl Insulation {
    /// Every rating, coolest first.
    pub const ALL: [Insulation; 8] = [
        Insulation::C60,
        Insulation::C70,
        Insulation::C75,
        Insulation::C80,
        Insulation::C90,
        Insulation::C105,
        Insulation::C125,
        Insulation::C200,
    ];

    /// The rating itself.
    pub fn celsius(self) -> Celsius {
        Celsius::new(match self {
            Insulation::C60 => 60.0,
            Insulation::C70 => 70.0,
            Insulation::C75 => 75.0,
            Insulation::C80 => 80.0,
            Insulation::C90 => 90.0,
            Insulation::C105 => 105.0,
            Insulation::C125 => 125.0,
            Insulation::C200 => 200.0,
        })
    }
}

impl fmt::Display for Insulation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} °C", self.celsius().get())
    }
}

impl FromStr for Insulation {
    type Err = OutOfTable;

    /// Reads "105 °C", "105 C" or "105".
    fn from_str(text: &str) -> Result<Self, OutOfTable> {
        let number = text.trim().trim_end_matches(['C', 'c']).trim_end_matches('°').trim();
        let found = number
            .parse::<f64>()
            .ok()
            .and_then(|value| Insulation::ALL.into_iter().find(|rating| rating.celsius().get() == value));
        found.ok_or_else(|| {
            OutOfTable::new(
                "temperature rating of insulation",
                format!("{text:?}"),
                "60, 70, 75, 80, 90, 105, 125 and 200 °C",
                "write the rating printed on the cable, or the next lower of these",
            )
        })
    }
}

/// The voltage class that decides which table of a rule set applies.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SystemVoltage {
    /// Direct current under 50 V.
    Under50,
    /// Direct current of 50 V and over.
    Over50,
    /// Mains-voltage alternating current.
    Ac,
}

/// Where a conductor runs.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Place {
    /// Hottest air around it.
    pub ambient: Celsius,
    /// In an engine space: at least 50 °C (`na`) or 60 °C (`iec`) is assumed.
    pub engine_space: bool,
    /// Current-carrying conductors lying together, this one included; 0 and 1 mean alone.
    pub bundled_current_carrying: u32,
    /// Voltage class of its circuit.
    pub system: SystemVoltage,
}

/// One step of an ampacity.
#[derive(Clone, PartialEq, Debug)]
pub struct Part {
    /// What it stands for: "engine space".
    pub label: String,
    /// The number.
    pub value: PartValue,
    /// Its row.
    pub cite: Cite,
}

/// What a step does to the ampacity.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum PartValue {
    /// The table current that the factors multiply.
    Base(Amps),
    /// A factor.
    Factor(f64),
    /// A limit on the product.
    Cap(Amps),
}

/// A table whose rows are conductor sizes.
pub(crate) struct BySize {
    what: String,
    gauges: Vec<Gauge>,
    rows: Vec<Row>,
    columns: Vec<f64>,
}

impl BySize {
    pub fn load(tables: &Tables, id: &str) -> Result<Self, String> {
        let table = tables.get(id)?;
        let gauges: Result<Vec<Gauge>, String> = table
            .rows
            .iter()
            .map(|row| gauge(&row.key).ok_or_else(|| format!("table {id}: {:?} is not a size", row.key)))
            .collect();
        // Temperature columns read "105 °C [A]"; other columns have no number at their head.
        let columns = table.columns.iter().skip(1);
        let columns = columns
            .map(|head| head.split(' ').next().and_then(|number| number.parse().ok()).unwrap_or(f64::NAN));
        Ok(Self {
            what: table.what.clone(),
            gauges: gauges?,
            rows: table.rows.clone(),
            columns: columns.collect(),
        })
    }

    /// The row of exactly this size.
    pub fn exact(&self, size: Gauge) -> Result<&Row, OutOfTable> {
        let at = self.gauges.iter().position(|&known| known == size);
        at.map(|at| &self.rows[at]).ok_or_else(|| self.out(size))
    }

    /// The row of this size, or, for a size of the other series, of the largest size that has not more metal.
    fn row(&self, size: Gauge) -> Result<(&Row, Option<String>), OutOfTable> {
        if let Ok(row) = self.exact(size) {
            return Ok((row, None));
        }
        let other_series = self.gauges.iter().any(|known| {
            matches!((known, size), (Gauge::Awg(_), Gauge::Metric(_)) | (Gauge::Metric(_), Gauge::Awg(_)))
        });
        let area = size.area().get() * (1.0 + 1e-9);
        let below = (0..self.gauges.len())
            .filter(|&at| other_series && self.gauges[at].area().get() <= area)
            .max_by(|&a, &b| self.gauges[a].cmp(&self.gauges[b]));
        // Far above the table's end the largest row would be safe but misleading: the size is not in the table.
        let below = below.filter(|&at| area < 1.6 * self.gauges[at].area().get());
        let at = below.ok_or_else(|| self.out(size))?;
        let row = &self.rows[at];
        Ok((
            row,
            Some(format!("{} taken as {}, the table's size with not more metal", gauge_name(size), row.key)),
        ))
    }

    /// The smallest row that has at least this size's metal.
    pub fn not_smaller(&self, size: Gauge) -> Option<(Gauge, &Row)> {
        let area = size.area().get() * (1.0 - 1e-9);
        let fits = (0..self.gauges.len()).filter(|&at| self.gauges[at].area().get() >= area);
        let at = fits.min_by(|&a, &b| self.gauges[a].cmp(&self.gauges[b]))?;
        Some((self.gauges[at], &self.rows[at]))
    }

    /// The hottest column not above a rating: its position in a row and its temperature.
    fn column(&self, insulation: Insulation) -> Option<(usize, f64)> {
        let limit = insulation.celsius().get();
        let columns = self.columns.iter().enumerate().filter(|(_, rating)| **rating <= limit);
        columns.max_by(|a, b| a.1.total_cmp(b.1)).map(|(at, rating)| (at + 1, *rating))
    }

    pub fn out(&self, size: Gauge) -> OutOfTable {
        let mut nearest: Vec<Gauge> = self.gauges.clone();
        nearest.sort_by(|a, b| {
            let off = |gauge: &Gauge| (gauge.area() / size.area()).max(size.area() / gauge.area());
            off(a).total_cmp(&off(b))
        });
        let nearest: Vec<String> = nearest.iter().take(2).map(|&near| gauge_name(near)).collect();
        let ends = |gauge: Option<&Gauge>| gauge.map_or_else(String::new, |&gauge| gauge_name(gauge));
        OutOfTable::new(
            self.what.clone(),
            gauge_name(size),
            format!("{} to {}", ends(self.gauges.first()), ends(self.gauges.last())),
            format!("use {}", nearest.join(" or ")),
        )
    }
}

/// A table of steps: rows keyed by a number, in ascending order.
pub(crate) struct Steps {
    what: String,
    starts: Vec<f64>,
    rows: Vec<Row>,
}

impl Steps {
    pub fn load(tables: &Tables, id: &str) -> Result<Self, String> {
        let table: &Table = tables.get(id)?;
        let starts: Option<Vec<f64>> = table.rows.iter().map(|row| row.number(0)).collect();
        let starts = starts.ok_or_else(|| format!("table {id}: every row should start with a number"))?;
        if !starts.windows(2).all(|pair| pair[0] < pair[1]) {
            return Err(format!("table {id}: rows should ascend"));
        }
        Ok(Self { what: table.what.clone(), starts, rows: table.rows.clone() })
    }

    /// The last row that starts at or below a number.
    pub fn from(&self, value: f64) -> Option<&Row> {
        let at = self.starts.iter().rposition(|start| *start <= value)?;
        self.rows.get(at)
    }

    /// The first row that reaches up to a number.
    pub fn up_to(&self, value: f64) -> Option<&Row> {
        let at = self.starts.iter().position(|end| *end >= value)?;
        self.rows.get(at)
    }

    pub fn cite(&self, row: &Row) -> Cite {
        row.cite(&self.what)
    }
}

pub(crate) struct Conductors {
    resistance_awg: BySize,
    resistance_metric: BySize,
    na_dc: BySize,
    na_ac: BySize,
    iec_dc: BySize,
    iec_ac_70: BySize,
    iec_ac_90: BySize,
    outer_diameter: BySize,
    small_cap: BySize,
    engine_na: Table2,
    engine_iec: Table2,
    bundle_50v: Steps,
    bundle_dc: Steps,
    bundle_na_ac: Steps,
    grouping_iec_ac: Steps,
    ambient_na_ac: Steps,
    ambient_iec_ac: Steps,
    series_na: Vec<Gauge>,
    series_iec: Vec<Gauge>,
    min_gauge: Vec<(String, Gauge, Cite)>,
    bend: Cited<f64>,
}

/// Rows keyed by insulation rating, with one factor each, for an assumed ambient.
struct Table2 {
    what: String,
    ambient: f64,
    rows: Vec<(f64, f64, Row)>,
}

impl Table2 {
    fn load(tables: &Tables, id: &str, ambient: f64) -> Result<Self, String> {
        let table = tables.get(id)?;
        let mut rows = Vec::new();
        for row in &table.rows {
            let rating = row.key.trim_end_matches(" °C").parse::<f64>();
            let rating = rating.map_err(|_| format!("table {id}: {:?} is not a rating", row.key))?;
            rows.push((rating, table.need(&row.key, 1)?, row.clone()));
        }
        Ok(Self { what: table.what.clone(), ambient, rows })
    }
}

impl Conductors {
    pub fn load(tables: &Tables) -> Result<Self, String> {
        let series = |id: &str| BySize::load(tables, id).map(|table| table.gauges);
        let min = tables.get("min-gauge")?;
        let mut min_gauge = Vec::new();
        for row in &min.rows {
            let size = row.text(1).and_then(gauge);
            let size = size.ok_or_else(|| format!("table min-gauge: row {:?} has no size", row.key))?;
            min_gauge.push((row.key.clone(), size, row.cite(&min.what)));
        }
        let bend = tables.get("bend")?;
        let bend_row = bend.row("fixed").ok_or("table bend: row \"fixed\" is missing")?;
        Ok(Self {
            resistance_awg: BySize::load(tables, "resistance-awg")?,
            resistance_metric: BySize::load(tables, "resistance-metric")?,
            na_dc: BySize::load(tables, "ampacity-na-dc")?,
            na_ac: BySize::load(tables, "ampacity-na-ac")?,
            iec_dc: BySize::load(tables, "ampacity-iec-dc")?,
            iec_ac_70: BySize::load(tables, "ampacity-iec-ac-70")?,
            iec_ac_90: BySize::load(tables, "ampacity-iec-ac-90")?,
            outer_diameter: BySize::load(tables, "outer-diameter")?,
            small_cap: BySize::load(tables, "small-conductor-cap")?,
            engine_na: Table2::load(tables, "engine-space-na", 50.0)?,
            engine_iec: Table2::load(tables, "engine-space-iec", 60.0)?,
            bundle_50v: Steps::load(tables, "bundle-na-50v")?,
            bundle_dc: Steps::load(tables, "bundle-dc")?,
            bundle_na_ac: Steps::load(tables, "bundle-na-ac")?,
            grouping_iec_ac: Steps::load(tables, "grouping-iec-ac")?,
            ambient_na_ac: Steps::load(tables, "ambient-na-ac")?,
            ambient_iec_ac: Steps::load(tables, "ambient-iec-ac")?,
            series_na: series("series-na")?,
            series_iec: series("series-iec")?,
            min_gauge,
            bend: Cited::new(bend.need("fixed", 1)?, bend_row.cite(&bend.what)),
        })
    }
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
        format!("air below {rating} °C"),
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
    /// Resistance of a stranded copper conductor at 20 °C.
    /// AWG: NEC chapter 9 Table 8, stranded, brought from 75 °C by the copper law; it is about 2 % above solid wire and so on the safe
    /// side for voltage drop. Metric: IEC 60228 class 5, the flexible conductor of vehicles, which is the largest allowed value.
    /// - `tinned`: the column of coated strands, 1 to 6 % higher.
    ///
    /// Errors: a size that is not in the table.
    pub fn resistance_20c(&self, size: Gauge, tinned: bool) -> Result<Cited<OhmsPerKm>, OutOfTable> {
        let column = if tinned { 2 } else { 1 };
        let kind = if tinned { "tinned" } else { "plain" };
        let conductors = &self.conductors;
        let (table, to_20) = match size {
            // Ω/1000 ft at 75 °C to Ω/km at 20 °C: 1000 ft is 0.3048 km.
            Gauge::Awg(_) => (&conductors.resistance_awg, 254.5 / (234.5 + 75.0) / 0.3048),
            Gauge::Metric(_) => (&conductors.resistance_metric, 1.0),
        };
        let row = table.exact(size)?;
        let printed = row.number(column).ok_or_else(|| table.out(size))?;
        let mut cite = row.cite(&format!("{}, {kind}", table.what));
        if matches!(size, Gauge::Awg(_)) {
            cite = cite.noting(format!("{printed} Ω/1000 ft at 75 °C brought to 20 °C"));
            cite.provenance = cite.provenance.max(Provenance::Computed);
        }
        Ok(Cited::new(OhmsPerKm::new(printed * to_20), cite))
    }

    /// Resistance of a stranded copper conductor at a temperature of its metal: `r20 · (234.5 + T)/254.5`.
    /// - `conductor_temp`: −40 to 200 °C.
    ///
    /// Errors: a size or temperature outside the tables.
    pub fn resistance(
        &self,
        size: Gauge,
        tinned: bool,
        conductor_temp: Celsius,
    ) -> Result<Cited<OhmsPerKm>, OutOfTable> {
        let temp = conductor_temp.get();
        if !(-40.0..=200.0).contains(&temp) {
            return Err(OutOfTable::new(
                "resistance of a conductor",
                format!("{temp} °C"),
                "-40 to 200 °C",
                "give the temperature of the metal within these limits",
            ));
        }
        let cold = self.resistance_20c(size, tinned)?;
        let mut cite = cold.cite;
        cite.provenance = cite.provenance.max(Provenance::Computed);
        Ok(Cited::new(
            cold.value * ((234.5 + temp) / 254.5),
            cite.noting(format!("at {temp} °C by (234.5 + T)/254.5")),
        ))
    }

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

    /// Largest protective device that NEC 240.4(D) allows on a small copper conductor; `None` above 10 AWG.
    pub fn small_conductor_cap(&self, size: Gauge) -> Option<Cited<Amps>> {
        let table = &self.conductors.small_cap;
        let row = table.exact(size).ok()?;
        Some(Cited::new(Amps::new(row.number(1)?), row.cite(&table.what)))
    }

    /// The sizes one can buy as single cable, ascending.
    pub fn gauges(&self, rules: RuleSet) -> &[Gauge] {
        match rules {
            RuleSet::Na => &self.conductors.series_na,
            RuleSet::Iec => &self.conductors.series_iec,
        }
    }

    /// The smallest conductor a rule set allows.
    /// - `in_sheath`: one of several conductors in a common sheath.
    pub fn min_gauge(&self, rules: RuleSet, in_sheath: bool, ac: bool) -> Cited<Gauge> {
        let (current, laid) = (if ac { "ac" } else { "dc" }, if in_sheath { "sheath" } else { "single" });
        let case = format!("{rules} {current} {laid}");
        let found = self.conductors.min_gauge.iter().find(|(key, ..)| *key == case);
        match found.or(self.conductors.min_gauge.first()) {
            Some((_, size, cite)) => Cited::new(*size, cite.clone()),
            // The table is never empty; a test looks up every case.
            None => Cited::new(Gauge::Awg(14), Cite::new("practice", case, Provenance::Memory)),
        }
    }

    /// Typical outside diameter of single-core cable, for glands, clips and bend radii; `None` for an unlisted size.
    pub fn outer_diameter(&self, size: Gauge) -> Option<Cited<Metres>> {
        let table = &self.conductors.outer_diameter;
        let row = table.exact(size).ok()?;
        Some(Cited::new(Metres::new(row.number(1)? / 1000.0), row.cite(&table.what)))
    }

    /// Smallest bend radius of fixed flexible cable, as a multiple of its outside diameter.
    pub fn min_bend_radius_factor(&self) -> Cited<f64> {
        self.conductors.bend.clone()
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
    engine: &Table2,
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
