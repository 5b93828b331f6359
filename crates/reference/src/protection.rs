//! The rules that size protection: ratings, interrupting capacity, distance, earthing, bonding, drop limits, short-circuit factor.
//! Never: judges a design (see `rules`).
//! Start at [`Reference::max_protection`].

use crate::data::{Row, Tables, gauge, gauge_name};
use crate::fuses::{FuseFamily, RawFamily};
use crate::lookup::Steps;
use crate::{
    Cite, Cited, FuseOrBreaker, Insulation, OutOfTable, Provenance, Reference, RuleSet, SystemVoltage,
};
use quantity::{AmpHours, Amps, Celsius, Fraction, Gauge, Metres, math};

pub(crate) struct Protection {
    pub families: Vec<FuseFamily>,
    na_fuse: Vec<Amps>,
    na_breaker: Vec<Amps>,
    iec_fuse: Vec<Amps>,
    iec_breaker: Vec<Amps>,
    rules: Vec<(String, f64, Cite)>,
    interrupt_bank: Steps,
    grounding_na: Steps,
    grounding_iec: Cite,
    bonds: Vec<(String, Gauge, Cite)>,
    adiabatic: Vec<(Insulation, Row, f64)>,
    adiabatic_what: String,
    voc: Vec<(f64, f64, Cite)>,
}

impl Protection {
    pub fn load(tables: &Tables) -> Result<Self, String> {
        let ratings = |id: &str, fuse: bool| -> Result<Vec<Amps>, String> {
            let table = tables.get(id)?;
            let rows = table.rows.iter().filter(|row| fuse || row.text(1).is_none());
            rows.map(|row| {
                row.number(0).map(Amps::new).ok_or_else(|| format!("table {id}: a rating is not a number"))
            })
            .collect()
        };
        // Tables of one number a row, all reached by "table/row".
        let mut rules = Vec::new();
        for id in ["protection-rule", "continuous", "distance", "drop", "interrupt-limit", "pv"] {
            let table = tables.get(id)?;
            for row in &table.rows {
                rules.push((format!("{id}/{}", row.key), table.need(&row.key, 1)?, row.cite(&table.what)));
            }
        }
        let mut bonds = Vec::new();
        let bonding = tables.get("bonding")?;
        for row in &bonding.rows {
            let size = row.text(1).and_then(gauge).ok_or("table bonding: a row has no size")?;
            bonds.push((row.key.clone(), size, row.cite(&bonding.what)));
        }
        let grounding = tables.get("grounding-na")?;
        if !grounding.rows.iter().all(|row| row.text(1).and_then(gauge).is_some()) {
            return Err("table grounding-na: a row has no size".into());
        }
        let grounding_iec = tables.get("grounding-iec")?;
        let grounding_iec_row = grounding_iec.rows.first().ok_or("table grounding-iec: no rows")?;
        let mut adiabatic = Vec::new();
        let k = tables.get("adiabatic-k")?;
        for row in &k.rows {
            let rating =
                row.key.parse::<Insulation>().map_err(|error| format!("table adiabatic-k: {error}"))?;
            adiabatic.push((rating, row.clone(), k.need(&row.key, 3)?));
        }
        let mut voc = Vec::new();
        let voc_table = tables.get("voc-temperature")?;
        for row in &voc_table.rows {
            let coldest = row.number(0).ok_or("table voc-temperature: a row has no temperature")?;
            voc.push((coldest, voc_table.need(&row.key, 1)?, row.cite(&voc_table.what)));
        }
        let families: Result<Vec<FuseFamily>, String> = tables.fuses.iter().map(RawFamily::family).collect();
        Ok(Self {
            families: families?,
            na_fuse: ratings("ratings-na", true)?,
            na_breaker: ratings("ratings-na", false)?,
            iec_fuse: ratings("ratings-iec-fuse", true)?,
            iec_breaker: ratings("ratings-iec-breaker", true)?,
            rules,
            interrupt_bank: Steps::load(tables, "interrupt-bank")?,
            grounding_na: Steps::load(tables, "grounding-na")?,
            grounding_iec: grounding_iec_row.cite(&grounding_iec.what),
            bonds,
            adiabatic,
            adiabatic_what: k.what.clone(),
            voc,
        })
    }

    /// A number of a one-number table. Every key used in this file is looked up by a test.
    pub fn rule(&self, key: &str) -> Cited<f64> {
        let found = self.rules.iter().find(|(known, ..)| known == key);
        found.map_or_else(
            || Cited::new(f64::NAN, Cite::new("practice", format!("{key} is missing"), Provenance::Memory)),
            |(_, value, cite)| Cited::new(*value, cite.clone()),
        )
    }
}

impl Reference {
    /// Standard ratings of a rule set, ascending: NEC 240.6(A); IEC 60898 and IEC 60269.
    pub fn standard_ratings(&self, rules: RuleSet, kind: FuseOrBreaker) -> &[Amps] {
        match (rules, kind) {
            (RuleSet::Na, FuseOrBreaker::Fuse) => &self.protection.na_fuse,
            (RuleSet::Na, FuseOrBreaker::Breaker) => &self.protection.na_breaker,
            (RuleSet::Iec, FuseOrBreaker::Fuse) => &self.protection.iec_fuse,
            (RuleSet::Iec, FuseOrBreaker::Breaker) => &self.protection.iec_breaker,
        }
    }

    /// The smallest standard rating not below a current.
    ///
    /// Errors: a current above the largest standard rating.
    pub fn next_standard_rating(
        &self,
        rules: RuleSet,
        kind: FuseOrBreaker,
        at_least: Amps,
    ) -> Result<Cited<Amps>, OutOfTable> {
        let ratings = self.standard_ratings(rules, kind);
        let cite = match (rules, kind) {
            (RuleSet::Na, _) => Cite::new("nec-240", "240.6(A) standard ratings", Provenance::Published),
            (RuleSet::Iec, FuseOrBreaker::Fuse) => {
                Cite::new("iec-60269", "preferred ratings", Provenance::Memory)
            }
            (RuleSet::Iec, FuseOrBreaker::Breaker) => {
                Cite::new("iec-60898", "preferred ratings", Provenance::Memory)
            }
        };
        let found = ratings.iter().copied().find(|rating| *rating >= at_least);
        found.map(|rating| Cited::new(rating, cite)).ok_or_else(|| {
            OutOfTable::new(
                format!("standard {kind} rating"),
                format!("{} A", at_least.get()),
                format!("up to {} A", ratings.last().map_or(0.0, |last| last.get())),
                "split the current over more circuits",
            )
        })
    }

    /// The largest protective device for a conductor of this ampacity.
    /// `na` under 50 V DC: 150 % of it (33 CFR 183.455(c)(1)). `na` of 50 V and over: the ampacity, or the next standard size where that
    /// is not above 150 %. `na` AC: likewise (NEC 240.4(B)), up to 800 A; 240.4(D) may hold small conductors lower
    /// ([`Reference::small_conductor_cap`]). `iec`: the ampacity itself (In <= Iz).
    pub fn max_protection(&self, rules: RuleSet, system: SystemVoltage, ampacity: Amps) -> Cited<Amps> {
        let case = match (rules, system) {
            (RuleSet::Na, SystemVoltage::Under50) => "na under 50 V",
            (RuleSet::Na, SystemVoltage::Over50) => "na 50 V and over",
            (RuleSet::Na, SystemVoltage::Ac) => "na ac",
            (RuleSet::Iec, SystemVoltage::Ac) => "iec ac",
            (RuleSet::Iec, _) => "iec dc",
        };
        let share = self.protection.rule(&format!("protection-rule/{case}"));
        let limit = ampacity * share.value;
        if rules == RuleSet::Iec || system == SystemVoltage::Under50 {
            return Cited::new(limit, share.cite);
        }
        let next = self.next_standard_rating(rules, FuseOrBreaker::Fuse, ampacity);
        let next = next.map(|next| next.value).unwrap_or(ampacity);
        let most = ampacity * self.protection.rule("protection-rule/next size not above").value;
        let highest = Amps::new(self.protection.rule("protection-rule/next size up to [A]").value);
        let allowed = next <= most && (system != SystemVoltage::Ac || next <= highest);
        Cited::new(if allowed { next } else { limit }, share.cite)
    }

    /// What a device's rating must be over a continuous load (3 h or more), as a multiple of the load.
    pub fn continuous_factor(&self, rules: RuleSet) -> Cited<f64> {
        self.protection.rule(&format!("continuous/{rules}"))
    }

    /// Interrupting capacity that a device needs.
    /// `na`, lead-acid up to 500 Ah: ABYC E-11 Table V by cranking current (taken as 8 A per Ah); a main device also never less than the
    /// `prospective` current at its place, a branch device never more than it. Lithium, or above 500 Ah: the prospective current, and 20 kA
    /// for the main device where that is above 10 kA. `iec`: the prospective current (IEC 60364-4-43, 434.5.1).
    /// - `prospective`: bolted fault at the device; zero or not finite: not known, then the table alone counts.
    pub fn interrupt_required(
        &self,
        rules: RuleSet,
        chemistry_is_lithium: bool,
        bank: AmpHours,
        prospective: Amps,
        main: bool,
    ) -> Cited<Amps> {
        let limit = |key: &str| self.protection.rule(&format!("interrupt-limit/{key}"));
        let known = prospective.get().is_finite() && prospective > Amps::zero();
        let from_fault = |amps: Amps, source, row: &str| {
            Cited::new(
                amps,
                Cite::new(
                    source,
                    format!("{row}, {:.0} A prospective", prospective.get()),
                    Provenance::Published,
                ),
            )
        };
        if rules == RuleSet::Iec && known {
            return from_fault(prospective, "iec-60364-4-43", "434.5.1 breaking capacity");
        }
        let within = !chemistry_is_lithium && bank.get() <= limit("table up to [Ah]").value;
        if !within && known {
            let high = limit("prospective above [A]").value;
            let floor = limit("then at least [A]").value;
            let amps = if main && prospective.get() > high {
                prospective.max(Amps::new(floor))
            } else {
                prospective
            };
            return from_fault(amps, "abyc-e11-table-v", "bank beyond Table V");
        }
        let per_ah = limit("cranking current per Ah [A]");
        let table = &self.protection.interrupt_bank;
        let cranking = bank.get() * per_ah.value;
        let row = table.up_to(cranking).or(table.last());
        let amps = row.and_then(|row| row.number(if main { 1 } else { 2 })).unwrap_or(f64::INFINITY);
        let mut cite = row.map_or_else(|| per_ah.cite.clone(), |row| table.cite(row));
        cite.provenance = cite.provenance.max(per_ah.cite.provenance);
        cite = cite.noting(format!("{:.0} Ah taken as {cranking:.0} A cranking current", bank.get()));
        let amps = Amps::new(amps);
        if main && known && prospective > amps {
            return Cited::new(prospective, cite.noting("raised to the prospective current at the device"));
        }
        // The table is a floor where nothing better is known; a computed fault at the device governs, above it and below.
        if !main && known {
            return Cited::new(prospective, cite.noting("the prospective current at the device governs"));
        }
        Cited::new(amps, cite)
    }

    /// Longest conductor between a source and its protective device, measured along the conductor.
    /// - `at_battery`: connected straight to a battery terminal.
    /// - `sheathed`: in sheath, conduit or enclosure all the way.
    pub fn protection_distance(&self, rules: RuleSet, at_battery: bool, sheathed: bool) -> Cited<Metres> {
        let case = match (rules, at_battery, sheathed) {
            (RuleSet::Na, true, true) => "na battery sheathed",
            (RuleSet::Na, false, true) => "na sheathed",
            (RuleSet::Na, _, false) => "na bare",
            (RuleSet::Iec, _, true) => "iec sheathed",
            (RuleSet::Iec, _, false) => "iec bare",
        };
        self.protection.rule(&format!("distance/{case}")).map(Metres::new)
    }

    /// Largest voltage drop from source to load over both conductors, as a share of the nominal voltage.
    pub fn drop_limit(&self, rules: RuleSet, critical: bool, ac: bool) -> Cited<Fraction> {
        let (current, class) = (if ac { "ac" } else { "dc" }, if critical { "critical" } else { "other" });
        self.protection.rule(&format!("drop/{rules} {current} {class}")).map(Fraction::new)
    }

    /// Equipment grounding (protective) conductor for a circuit behind this protective device.
    /// `na`: NEC Table 250.122. `iec`: by the smallest line conductor that such a device may protect ([`Reference::protective_gauge`]).
    ///
    /// Errors: a device above the table.
    pub fn grounding_gauge(&self, rules: RuleSet, protective: Amps) -> Result<Cited<Gauge>, OutOfTable> {
        if rules == RuleSet::Iec {
            let place = crate::Place {
                ambient: Celsius::new(30.0),
                engine_space: false,
                bundled_current_carrying: 2,
                system: SystemVoltage::Ac,
            };
            let fits = |size: &&Gauge| {
                let carried = self.ampacity(rules, **size, Insulation::C70, &place);
                carried.is_ok_and(|carried| carried.value >= protective)
            };
            let line = self.gauges(rules).iter().find(fits);
            let line = line.ok_or_else(|| {
                OutOfTable::new(
                    "protective conductor",
                    format!("a {} A device", protective.get()),
                    "devices up to the ampacity of 95 mm²",
                    "size it from the line conductor",
                )
            })?;
            return Ok(self.protective_gauge(*line));
        }
        let table = &self.protection.grounding_na;
        let row = table.up_to(protective.get());
        let found =
            row.and_then(|row| row.text(1).and_then(gauge).map(|size| Cited::new(size, table.cite(row))));
        found.ok_or_else(|| {
            OutOfTable::new(
                "equipment grounding conductor",
                format!("a {} A device", protective.get()),
                "devices up to 1600 A",
                "split the circuit over smaller devices",
            )
        })
    }

    /// Protective conductor by the line conductor, IEC 60364-5-54 Table 54.2: the same up to 16 mm², 16 mm² up to 35 mm², then half,
    /// rounded up to a size of the series.
    pub fn protective_gauge(&self, line: Gauge) -> Cited<Gauge> {
        let area = line.area().get();
        let least = if area <= 16.0 {
            area
        } else if area <= 35.0 {
            16.0
        } else {
            area / 2.0
        };
        let series = self.gauges(RuleSet::Iec);
        let size = series.iter().copied().find(|size| size.area().get() >= least - 1e-9);
        let mut cite = self.protection.grounding_iec.clone();
        cite.row = format!("Table 54.2, line conductor {}", gauge_name(line));
        Cited::new(size.unwrap_or(line), cite)
    }

    fn bond(&self, case: &str) -> Cited<Gauge> {
        let found = self.protection.bonds.iter().find(|(known, ..)| known == case);
        found.map_or_else(
            || Cited::new(Gauge::Awg(8), Cite::new("practice", case, Provenance::Memory)),
            |(_, size, cite)| Cited::new(*size, cite.clone()),
        )
    }

    /// Smallest bond between AC protective earth, or any metal that may become live, and chassis or hull.
    pub fn bonding_gauge(&self, rules: RuleSet) -> Cited<Gauge> {
        self.bond(&format!("{rules} chassis"))
    }

    /// Smallest bond between battery negative and chassis: NEC 552.10(C)(4), not below 8 AWG and not below the unbonded battery lead.
    /// - `largest_lead`: the largest ungrounded conductor at the battery.
    pub fn dc_negative_bond(&self, rules: RuleSet, largest_lead: Gauge) -> Cited<Gauge> {
        let least = self.bond(&format!("{rules} battery to chassis"));
        let wants = largest_lead > least.value;
        least.map(|least| if wants { largest_lead } else { least })
    }

    /// Short-circuit factor k of copper [A·√s/mm²]: a conductor of area S withstands `I²t <= k²S²`.
    /// - `protective`: a separate protective conductor, starting at 30 °C; otherwise a live one starting at its rating.
    ///
    /// Printed values where the tables have them, else the adiabatic law with the final temperature of the data file.
    pub fn adiabatic_k(&self, insulation: Insulation, protective: bool) -> Cited<f64> {
        let found = self.protection.adiabatic.iter().find(|(rating, ..)| *rating == insulation);
        let (row, last) = match found {
            Some((_, row, last)) => (row, *last),
            None => return Cited::new(f64::NAN, Cite::new("adiabatic-law", "missing", Provenance::Memory)),
        };
        if let Some(printed) = row.number(if protective { 2 } else { 1 }) {
            let mut cite = row.cite(&self.protection.adiabatic_what);
            if protective {
                cite.source = "iec-60364-5-54";
                cite.provenance = Provenance::Published;
            }
            return Cited::new(printed, cite);
        }
        let first = if protective { 30.0 } else { insulation.celsius().get() };
        let cite =
            Cite::new("adiabatic-law", format!("copper from {first} °C to {last} °C"), Provenance::Computed);
        let cite = cite.noting(row.note.as_deref().unwrap_or_default());
        Cited::new(adiabatic_law(first, last), cite)
    }

    /// Factor on the open-circuit voltage of crystalline silicon for the coldest expected air (NEC 690.7); 1 at 25 °C and warmer.
    ///
    /// Errors: colder than −40 °C.
    pub fn voc_temperature_factor(&self, coldest: Celsius) -> Result<Cited<f64>, OutOfTable> {
        let found = self.protection.voc.iter().find(|(down_to, ..)| coldest.get() >= *down_to);
        found.map(|(_, factor, cite)| Cited::new(*factor, cite.clone())).ok_or_else(|| {
            OutOfTable::new(
                "open-circuit voltage factor",
                format!("{} °C", coldest.get()),
                "-40 °C and warmer",
                "use the module's own temperature coefficient",
            )
        })
    }

    /// Solar circuits: maximum current over the modules' short-circuit current (NEC 690.8(A)).
    pub fn pv_current_factor(&self) -> Cited<f64> {
        self.protection.rule("pv/current factor")
    }

    /// Solar circuits: conductor and device over the maximum current (NEC 690.8(B)).
    pub fn pv_conductor_factor(&self) -> Cited<f64> {
        self.protection.rule("pv/conductor factor")
    }

    /// From how many parallel strings on each string needs a fuse (NEC 690.9).
    pub fn pv_fuse_from_strings(&self) -> Cited<u32> {
        self.protection.rule("pv/fuses from parallel strings").map(|count| count as u32)
    }
}

/// `k = sqrt(Qc (β + 20)/ρ20 · ln((β + Tf)/(β + Ti)))` for copper: Qc = 3.45e-3 J/(K·mm³), β = 234.5 °C, ρ20 = 17.241e-6 Ω·mm.
fn adiabatic_law(initial: f64, last: f64) -> f64 {
    (3.45e-3 * 254.5 / 17.241e-6 * math::ln((234.5 + last) / (234.5 + initial))).sqrt()
}
