//! Conductors: resistance, series of sizes, smallest sizes, and the words of a place. Ampacity stands in `ampacity.rs`.
//! Never: extrapolates; a size that no table has is refused.
//! Start at [`Reference::resistance`] and [`Place`].

use crate::data::{Tables, gauge};
use crate::lookup::{ByRating, BySize, Steps};
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

pub(crate) struct Conductors {
    pub resistance_awg: BySize,
    pub resistance_metric: BySize,
    pub na_dc: BySize,
    pub na_ac: BySize,
    pub iec_dc: BySize,
    pub iec_ac_70: BySize,
    pub iec_ac_90: BySize,
    pub outer_diameter: BySize,
    pub small_cap: BySize,
    pub engine_na: ByRating,
    pub engine_iec: ByRating,
    pub bundle_50v: Steps,
    pub bundle_dc: Steps,
    pub bundle_na_ac: Steps,
    pub grouping_iec_ac: Steps,
    pub ambient_na_ac: Steps,
    pub ambient_iec_ac: Steps,
    pub series_na: Vec<Gauge>,
    pub series_iec: Vec<Gauge>,
    pub min_gauge: Vec<(String, Gauge, Cite)>,
    pub bend: Cited<f64>,
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
            engine_na: ByRating::load(tables, "engine-space-na", 50.0)?,
            engine_iec: ByRating::load(tables, "engine-space-iec", 60.0)?,
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
            cite.noting(format!("at {:.1} °C by (234.5 + T)/254.5", temp)),
        ))
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
