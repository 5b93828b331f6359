//! Families of fuses and breakers: ratings, what they interrupt at which voltage, how soon they open.
//! Never: picks a device (see `derive`).
//! Start at [`FuseFamily`].

use crate::data::Key;
use crate::{Cite, Provenance, Reference, RuleSet, SourceRow};
use core::fmt;
use quantity::{Amps, Fraction, Ohms, Volts, math};
use serde::{Deserialize, Serialize};

/// Whether a device melts or opens.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FuseOrBreaker {
    /// Melts once.
    Fuse,
    /// Opens and can be reset.
    Breaker,
}

impl fmt::Display for FuseOrBreaker {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            FuseOrBreaker::Fuse => "fuse",
            FuseOrBreaker::Breaker => "breaker",
        })
    }
}

/// One point of a time-current band: at this multiple of rated current it opens within these times.
#[derive(Clone, Copy, PartialEq, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gate {
    /// Current as a multiple of the rating.
    #[serde(rename = "at")]
    pub multiple: f64,
    /// Opens not sooner than this [s]; `None`: may open at once.
    #[serde(rename = "min")]
    pub min_s: Option<f64>,
    /// Opens not later than this [s]; `None`: need not open.
    #[serde(rename = "max")]
    pub max_s: Option<f64>,
}

/// A family of fuses or breakers of one build.
#[derive(Clone, Debug)]
pub struct FuseFamily {
    /// "blade", "class-t", "breaker-ac-na".
    pub id: String,
    /// In words.
    pub name: String,
    /// The product standard it follows.
    pub standard: String,
    /// Fuse or breaker.
    pub kind: FuseOrBreaker,
    /// Rule sets under which it is sold.
    pub rules: Vec<RuleSet>,
    /// Ratings made, ascending.
    pub ratings: Vec<Amps>,
    /// DC: what it interrupts at each voltage, ascending in voltage. Empty: not for DC.
    pub dc: Vec<(Volts, Amps)>,
    /// AC: what it interrupts at each voltage, ascending in voltage. Empty: not for AC.
    pub ac: Vec<(Volts, Amps)>,
    /// Time-current band, ascending in current.
    pub gates: Vec<Gate>,
    /// Share of the rating that it carries all day.
    pub continuous_share: Fraction,
    /// Typical voltage across it at rated current, hot.
    pub drop_at_rating: Volts,
    /// Stud it is made for, if it is bolted: a key of [`Reference::studs`].
    pub stud: Option<String>,
    /// What to do after it has opened.
    pub reuse: String,
    /// Source, provenance and what to know.
    pub cite: Cite,
}

impl FuseFamily {
    /// Most current that it interrupts at a voltage; `None` above its voltage rating.
    /// The pair of the next higher listed voltage counts.
    pub fn interrupts(&self, volts: Volts, ac: bool) -> Option<Amps> {
        let pairs = if ac { &self.ac } else { &self.dc };
        pairs.iter().find(|(limit, _)| *limit >= volts).map(|(_, amps)| *amps)
    }

    /// Highest voltage it may be used at; `None` where it is not made for that kind of current.
    pub fn voltage_rating(&self, ac: bool) -> Option<Volts> {
        let pairs = if ac { &self.ac } else { &self.dc };
        pairs.last().map(|(volts, _)| *volts)
    }

    /// The smallest rating made that is not below a current.
    pub fn rating_at_least(&self, amps: Amps) -> Option<Amps> {
        self.ratings.iter().copied().find(|rating| *rating >= amps)
    }

    /// Estimated cold resistance of one rating: 0.7 of drop over rating. Typical, from memory.
    pub fn cold_resistance(&self, rating: Amps) -> Ohms {
        if rating <= Amps::zero() {
            return Ohms::zero();
        }
        self.drop_at_rating / rating * 0.7
    }

    /// Seconds within which it opens at a current: not sooner, not later; see [`Reference::clearing_time`].
    pub fn clearing_time(&self, rating: Amps, current: Amps) -> Option<(f64, f64)> {
        let multiple = current / rating;
        let first = self.gates.first()?;
        if !multiple.is_finite() || multiple < first.multiple {
            return None;
        }
        let min = band(&self.gates, multiple, |gate| gate.min_s).unwrap_or(0.0);
        let max = band(&self.gates, multiple, |gate| gate.max_s).unwrap_or(f64::INFINITY);
        Some((min, max.max(min)))
    }

    pub(crate) fn source_row(&self) -> SourceRow {
        let ratings: Vec<String> = self.ratings.iter().map(|rating| rating.get().to_string()).collect();
        let pairs = |name: &str, pairs: &[(Volts, Amps)]| {
            let pairs =
                pairs.iter().map(|(volts, amps)| format!(", {name} {} V: {} A", volts.get(), amps.get()));
            pairs.collect::<String>()
        };
        let gates = self.gates.iter().map(|gate| {
            let show = |time: Option<f64>| time.map_or_else(|| "-".into(), |time| time.to_string());
            format!(", {}x: {}..{} s", gate.multiple, show(gate.min_s), show(gate.max_s))
        });
        SourceRow {
            table: "fuses".into(),
            what: self.name.clone(),
            row: self.id.clone(),
            value: format!(
                "ratings {} A{}{}{}",
                ratings.join(" "),
                pairs("DC", &self.dc),
                pairs("AC", &self.ac),
                gates.collect::<String>()
            ),
            source: self.cite.source,
            provenance: self.cite.provenance,
            note: self.cite.note.clone(),
        }
    }
}

/// One edge of the band, log-log between the gates that have it; beyond the last gate the last time falls with the square of current
/// on the early edge and stays on the late edge, so that neither promises more than the gate does.
fn band(gates: &[Gate], multiple: f64, edge: impl Fn(&Gate) -> Option<f64>) -> Option<f64> {
    let points: Vec<(f64, f64)> =
        gates.iter().filter_map(|gate| edge(gate).map(|time| (gate.multiple, time))).collect();
    let (first, last) = (points.first()?, points.last()?);
    if multiple < first.0 {
        return None;
    }
    if multiple >= last.0 {
        // The early edge is told apart by having a time at the very first gate.
        let early = gates.first().is_some_and(|gate| edge(gate).is_some());
        return Some(if early { last.1 * (last.0 / multiple) * (last.0 / multiple) } else { last.1 });
    }
    let after = points.iter().position(|point| point.0 > multiple)?;
    let (low, high) = (points.get(after.checked_sub(1)?)?, points.get(after)?);
    let share = math::ln(multiple / low.0) / math::ln(high.0 / low.0);
    Some(math::exp(math::ln(low.1) + share * math::ln(high.1 / low.1)))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawFamily {
    pub id: String,
    name: String,
    standard: String,
    pub source: Key,
    provenance: Provenance,
    note: Option<String>,
    kind: FuseOrBreaker,
    rules: Vec<RuleSet>,
    ratings: Vec<f64>,
    #[serde(default)]
    dc: Vec<(f64, f64)>,
    #[serde(default)]
    ac: Vec<(f64, f64)>,
    gates: Vec<Gate>,
    continuous_share: f64,
    drop_mv: f64,
    stud: Option<String>,
    reuse: String,
}

impl RawFamily {
    pub fn family(&self) -> Result<FuseFamily, String> {
        let pairs = |pairs: &[(f64, f64)]| {
            pairs.iter().map(|&(volts, amps)| (Volts::new(volts), Amps::new(amps))).collect::<Vec<_>>()
        };
        let ascends =
            |ok: bool, what: &str| if ok { Ok(()) } else { Err(format!("fuse family {}: {what}", self.id)) };
        ascends(self.ratings.windows(2).all(|pair| pair[0] < pair[1]), "ratings should ascend")?;
        ascends(
            self.gates.windows(2).all(|pair| pair[0].multiple < pair[1].multiple),
            "gates should ascend",
        )?;
        ascends(self.dc.windows(2).all(|pair| pair[0].0 < pair[1].0), "DC voltages should ascend")?;
        ascends(!self.ratings.is_empty() && !self.gates.is_empty(), "ratings and gates are needed")?;
        Ok(FuseFamily {
            id: self.id.clone(),
            name: self.name.clone(),
            standard: self.standard.clone(),
            kind: self.kind,
            rules: self.rules.clone(),
            ratings: self.ratings.iter().map(|&rating| Amps::new(rating)).collect(),
            dc: pairs(&self.dc),
            ac: pairs(&self.ac),
            gates: self.gates.clone(),
            continuous_share: Fraction::new(self.continuous_share),
            drop_at_rating: Volts::new(self.drop_mv / 1000.0),
            stud: self.stud.clone(),
            reuse: self.reuse.clone(),
            cite: Cite::new(self.source.0, format!("fuse family {}", self.id), self.provenance)
                .noting(self.note.as_deref().unwrap_or_default()),
        })
    }
}

impl Reference {
    /// Every family of protective devices.
    pub fn fuse_families(&self) -> &[FuseFamily] {
        &self.protection.families
    }

    /// A family by its id.
    pub fn fuse_family(&self, id: &str) -> Option<&FuseFamily> {
        self.protection.families.iter().find(|family| family.id == id)
    }

    /// Seconds within which a device opens: not sooner than the first, not later than the second (infinite where it need not open).
    /// Between gates the band is straight in log-log. Above the last gate the early edge falls with the square of the current and the late
    /// edge stays. `None` below the family's first gate (about 1.1 times the rating), for an unknown family or a rating of nothing.
    pub fn clearing_time(&self, family: &str, rating: Amps, current: Amps) -> Option<(f64, f64)> {
        self.fuse_family(family)?.clearing_time(rating, current)
    }
}
