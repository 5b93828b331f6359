//! Measured against expected: within, low, high, not believable or not yet taken, with the likely causes.
//! Never: considers several faults at once, and says so.
//! Start at [`judge`].

use model::{Spec, System};
use network::Results;
use quantity::Watts;
use serde::Serialize;

use crate::alone;
use crate::expected::{Expected, Kind};
use crate::fault::{Fit, Search, Solved};
use crate::measure::{Measure, Unit};
use crate::next::next;
use crate::readings::Readings;
use crate::twin::{Change, Path, Twin};

/// Said with every list of causes.
pub const ONE_FAULT: &str = "Each cause is tried alone; several faults at once are not considered.";

/// Difference of scores under which two faults cannot be told apart by what was read.
const ALIKE: f64 = 0.8;
/// What a fault must explain better than none: about one reading two sigmas off.
const GAIN: f64 = 4.0;
/// Share of the likelihood from which a cause is told.
const SHARE: f64 = 0.03;
/// Causes told at most.
const MOST: usize = 6;
/// Heat in one joint from which it is a danger [W]. Common practice, no source.
const HOT_W: f64 = 5.0;

/// How a reading stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// As expected.
    Within,
    /// Below.
    Low,
    /// Above.
    High,
    /// Swapped leads or a wrong unit: take it again first.
    NotBelievable,
    /// No value yet.
    NotTaken,
}

impl Status {
    /// Its words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::Low => "low",
            Self::High => "high",
            Self::NotBelievable => "not believable",
            Self::NotTaken => "not yet taken",
        }
    }
    /// Whether something is to be done about it.
    pub fn is_bad(self) -> bool {
        matches!(self, Self::Low | Self::High | Self::NotBelievable)
    }
}

/// Something that may be wrong.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cause {
    /// What, in plain words.
    pub title: String,
    /// `extra-resistance`, `open`, `weak-bank`, `load`, `unplanned-draw`, `source`, or `by-kind` where no network was tried.
    pub kind: &'static str,
    /// Devices or conductors where it would be; several that the readings cannot tell apart.
    pub places: Vec<String>,
    /// Likelihood among the single faults tried; `None` where none were tried.
    pub share: Option<f64>,
    /// Readings that it explains.
    pub explains: Vec<String>,
    /// How to tell it from the others.
    pub tell: String,
    /// The reading to take next, by name.
    pub next: Option<String>,
    /// Heat that a joint would make there.
    pub heat: Option<Watts>,
}

/// A reading judged.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// Name of the reading.
    pub id: String,
    /// What it is.
    pub title: String,
    /// How it stands.
    pub status: Status,
    /// What was measured.
    pub value: Option<Measure>,
    /// What was expected, as shown.
    pub expected: String,
    /// What to know about the value itself, such as swapped leads.
    pub remark: Option<String>,
    /// Line in the file, from 1.
    pub line: Option<usize>,
    /// What may be wrong, the likeliest first.
    pub causes: Vec<Cause>,
}

/// Everything judged.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judgement {
    /// One for each expected reading, in its order.
    pub verdicts: Vec<Verdict>,
    /// What the network says of all its readings together, the likeliest first; empty where all are within.
    pub causes: Vec<Cause>,
    /// How sure the causes are.
    pub sureness: String,
}

impl Judgement {
    /// How many readings stand so.
    pub fn count(&self, status: Status) -> usize {
        self.verdicts.iter().filter(|verdict| verdict.status == status).count()
    }
    /// Whether any reading is bad.
    pub fn is_bad(&self) -> bool {
        self.verdicts.iter().any(|verdict| verdict.status.is_bad())
    }
}

/// Judges readings; `expected` are those of the same system.
pub fn judge(expected: &[Expected], readings: &Readings, system: &System, _results: &Results) -> Judgement {
    let mut verdicts: Vec<Verdict> = expected.iter().map(|one| verdict(one, readings, system)).collect();
    let is_off = |one: &Verdict| matches!(one.status, Status::Low | Status::High);
    let network_off: Vec<usize> =
        (0..verdicts.len()).filter(|ix| is_off(&verdicts[*ix]) && expected[*ix].probe.is_some()).collect();
    let mut causes = Vec::new();
    let mut sureness = String::new();
    if !network_off.is_empty() {
        let twins = Twin::all(system);
        let believable = |one: &Expected| {
            verdicts
                .iter()
                .find(|verdict| verdict.id == one.id)
                .is_some_and(|verdict| !matches!(verdict.status, Status::NotBelievable | Status::NotTaken))
        };
        let search = Search::of(system, &twins, expected, readings, believable);
        if !search.is_empty() {
            (causes, sureness) = network_causes(&search, expected, readings, system, &network_off);
        }
        for ix in network_off {
            let explain: Vec<Cause> =
                causes.iter().filter(|cause| cause.explains.contains(&expected[ix].id)).cloned().collect();
            verdicts[ix].causes = if explain.is_empty() { causes.clone() } else { explain };
        }
    }
    Judgement { verdicts, causes, sureness }
}

fn verdict(one: &Expected, readings: &Readings, system: &System) -> Verdict {
    let taken = readings.taken.get(&one.id);
    let mut verdict = Verdict {
        id: one.id.clone(),
        title: one.title.clone(),
        status: Status::NotTaken,
        value: taken.map(|taken| taken.value),
        expected: one.shown.clone(),
        remark: None,
        line: taken.map(|taken| taken.line),
        causes: Vec::new(),
    };
    let Some(taken) = taken else { return verdict };
    let value = taken.value.number();
    let (low, high) = (one.low.number(), one.high.number());
    verdict.status = match (value < low, value > high) {
        _ if one.holds(taken.value) => Status::Within,
        (true, _) => Status::Low,
        _ => Status::High,
    };
    if verdict.status == Status::Within {
        return verdict;
    }
    if let Some(remark) = unbelievable(one, value) {
        verdict.status = Status::NotBelievable;
        verdict.remark = Some(remark.0);
        verdict.causes = vec![Cause {
            title: remark.1,
            kind: "by-kind",
            places: one.devices.clone(),
            share: None,
            explains: vec![one.id.clone()],
            tell: "Take the reading again with the red lead where it is said; if it stays, the wiring is wrong: do not connect \
                   anything electronic"
                .to_owned(),
            next: Some(one.id.clone()),
            heat: None,
        }];
        return verdict;
    }
    verdict.causes = alone::causes(one, value, verdict.status, system, readings);
    verdict
}

/// Why a value cannot be what it says, and what that would mean.
fn unbelievable(one: &Expected, value: f64) -> Option<(String, String)> {
    let (low, high) = (one.low.number(), one.high.number());
    let is_electric = matches!(one.unit, Unit::Volts | Unit::Amps);
    if is_electric && (low..=high).contains(&-value) && value.abs() > 0.02 {
        return Some((
            "the sign is turned round".to_owned(),
            match one.unit {
                Unit::Amps => "the clamp faces the other way".to_owned(),
                _ => "the meter leads are swapped, or positive and negative are on the wrong terminals"
                    .to_owned(),
            },
        ));
    }
    // A unit a thousand times off: only where the honest value lies well apart from it.
    for (factor, which) in [(1e-3, "a thousand times too large"), (1e3, "a thousand times too small")] {
        if is_electric && low > 0.0 && (low..=high).contains(&(value * factor)) && value.abs() > 1e-9 {
            return Some((
                format!("it is {which}"),
                "the unit is wrong: milli- was written for the whole unit, or the other way round".to_owned(),
            ));
        }
    }
    let most = high.abs().max(low.abs());
    let is_far = match one.kind {
        Kind::Volts | Kind::Rest | Kind::Array | Kind::AcVolts => value.abs() > 3.0 * most,
        Kind::Drop | Kind::Amps => value.abs() > 1e5,
        _ => value < 0.0,
    };
    is_far.then(|| {
        (
            "no such value can stand here".to_owned(),
            "the meter is on another range or kind of current, or the figure was miswritten".to_owned(),
        )
    })
}

fn network_causes(
    search: &Search<'_>,
    expected: &[Expected],
    readings: &Readings,
    system: &System,
    off: &[usize],
) -> (Vec<Cause>, String) {
    let nothing = search.score(Change::Nothing);
    let fits: Vec<Fit> = search.rank().into_iter().filter(|fit| nothing - fit.score > GAIN).collect();
    let Some(first) = fits.first() else {
        return (
            Vec::new(),
            "No single fault of the network explains these readings better than none: read them again, and take those nearer the \
             bank first."
                .to_owned(),
        );
    };
    let weight = |fit: &Fit| quantity::math::exp(-(fit.score - first.score) / 2.0);
    let total: f64 = fits.iter().map(weight).sum();
    // Faults of one kind that the readings cannot tell apart are one cause with several places.
    let mut groups: Vec<(Vec<Fit>, f64)> = Vec::new();
    for fit in &fits {
        let alike = groups.iter_mut().find(|(group, _)| {
            group.first().is_some_and(|one| {
                word(one.change) == word(fit.change) && (one.score - fit.score).abs() < ALIKE
            })
        });
        match alike {
            Some((group, share)) => {
                group.push(*fit);
                *share += weight(fit) / total;
            }
            None => groups.push((vec![*fit], weight(fit) / total)),
        }
    }
    groups.retain(|(_, share)| *share >= SHARE);
    groups.truncate(MOST);
    let rivals: Vec<Change> =
        groups.iter().flat_map(|(group, _)| group.iter().take(4).map(|fit| fit.change)).collect();
    let solved: Vec<Solved<'_>> = rivals.iter().map(|change| search.solved(*change)).collect();
    let plain = search.solved(Change::Nothing);
    let next = next(expected, readings, &solved);
    let left = (nothing - first.score) / nothing.max(1e-9);
    let sureness = format!(
        "The likeliest takes away {:.0} % of what stands against the plan (over {} readings). {ONE_FAULT}",
        left * 100.0,
        off.len()
    );
    let causes = groups
        .into_iter()
        .filter_map(|(group, share)| {
            let fit = *group.first()?;
            let own = solved.get(rivals.iter().position(|rival| *rival == fit.change)?)?;
            let mut told = tell(search, own, system, fit.change);
            told.places = group.iter().map(|fit| place(system, fit.change)).collect();
            told.share = Some(share);
            told.explains = off
                .iter()
                .filter_map(|ix| expected.get(*ix))
                .filter(|one| explains(&plain, own, one, readings))
                .map(|one| one.id.clone())
                .collect();
            if group.len() > 1 {
                told.tell =
                    format!("These readings cannot say which of {} places it is. {}", group.len(), told.tell);
            }
            if let Some((index, read)) = &next
                && let Some(one) = expected.get(*index)
            {
                let own = rivals.iter().position(|rival| *rival == fit.change).and_then(|at| read.get(at));
                if let Some(own) = own {
                    told.tell = format!(
                        "{} Next take {}: it reads about {} if this is it.",
                        told.tell,
                        one.id,
                        one.unit.measure(round(*own))
                    );
                    told.next = Some(one.id.clone());
                }
            }
            Some(told)
        })
        .collect();
    (causes, sureness)
}

/// Three digits that matter.
fn round(value: f64) -> f64 {
    if value.abs() < 1e-4 { 0.0 } else { (value * 1e4).round() / 1e4 }
}

/// Whether a change brings a reading that is off to at least half of the way.
fn explains(plain: &Solved<'_>, changed: &Solved<'_>, one: &Expected, readings: &Readings) -> bool {
    let read = || {
        let (moment, probe) = (one.moment?, one.probe?);
        let value = readings.value(&one.id)?.number();
        let (plain, changed) = (plain.read(moment, probe)?, changed.read(moment, probe)?);
        Some((value - changed).abs() < 0.5 * (value - plain).abs())
    };
    read().unwrap_or(false)
}

fn word(change: Change) -> &'static str {
    match change {
        Change::Nothing => "none",
        Change::Extra(..) => "extra-resistance",
        Change::Open(_) => "open",
        Change::Bank(_) => "weak-bank",
        Change::Load(..) => "load",
        Change::Draw(_) => "unplanned-draw",
        Change::Source(..) => "source",
    }
}

fn place(system: &System, change: Change) -> String {
    let device = |ix: usize| system.devices.get(ix).map_or(String::new(), |device| device.id.clone());
    match change {
        Change::Extra(Path::Conductor(ix), _) | Change::Open(Path::Conductor(ix)) => {
            system.conductors.get(ix).map_or(String::new(), |conductor| conductor.id.clone())
        }
        Change::Extra(Path::Device(ix), _)
        | Change::Open(Path::Device(ix))
        | Change::Load(ix, _)
        | Change::Source(ix, _) => device(ix),
        Change::Bank(_) => "bank".to_owned(),
        Change::Draw(_) | Change::Nothing => "somewhere behind the bars".to_owned(),
    }
}

/// A network fault in words.
fn tell(search: &Search<'_>, solved: &Solved<'_>, system: &System, change: Change) -> Cause {
    let at = place(system, change);
    let mut heat = None;
    let (title, tell) = match change {
        Change::Nothing => (String::new(), String::new()),
        Change::Extra(path, ohms) => {
            let amps = solved.most_amps(path);
            let watts = amps * amps * ohms;
            heat = Some(Watts::new(watts));
            let times = 1.0 + ohms / search.ohms(path).max(1e-9);
            let title = format!("{:.2} mΩ too much in {at} or the joints at its ends", ohms * 1e3);
            let hot = if watts >= HOT_W {
                format!("At {amps:.0} A it makes {watts:.0} W of heat in one place: switch off until it is mended. ")
            } else {
                String::new()
            };
            let cable = match path {
                Path::Conductor(ix) if times < 4.0 => {
                    let conductor = system.conductors.get(ix);
                    let length = conductor.map_or(0.0, |conductor| conductor.length.get());
                    format!(
                        "A cable of {:.1} m instead of {length:.1} m, or of 1/{times:.1} of the copper, would do the same: read the \
                         print on the insulation and measure its length. ",
                        length * times
                    )
                }
                _ => String::new(),
            };
            (
                title,
                format!(
                    "{hot}{cable}A loose or oxidised joint is warm and loses its voltage from stud to lug; the cable loses it evenly."
                ),
            )
        }
        Change::Open(Path::Device(ix)) => {
            let what = match system.devices.get(ix).map(|device| &device.spec) {
                Some(Spec::Fuse(_)) => "blown or missing fuse",
                Some(Spec::Breaker(_)) => "breaker off or tripped",
                Some(Spec::Disconnect(_)) => "disconnect open",
                Some(Spec::Relay(_)) => "relay not pulled in",
                _ => "open",
            };
            (
                format!("{what}: {at}"),
                "Full voltage across it, and none behind it. Find out why before a new fuse goes in.".to_owned(),
            )
        }
        Change::Open(_) => (
            format!("{at} is not connected, or on the wrong terminal"),
            "Full voltage between its two ends. Look at both ends against the label sheet.".to_owned(),
        ),
        Change::Bank(times) => (
            format!("the bank is weak: {times:.1} times its internal resistance"),
            "It is cold, worn, or one battery of it does not take part. Read the volts at its own posts while the largest load starts."
                .to_owned(),
        ),
        Change::Load(_, times) => (
            if times < 0.05 {
                format!("{at} does not run")
            } else {
                format!("{at} takes {:.0} % of what was planned", times * 100.0)
            },
            "Clamp its positive conductor; read its plate.".to_owned(),
        ),
        Change::Draw(amps) => (
            format!("{amps:.1} A that nobody planned"),
            "Take out the fuses one at a time and watch the shunt: the circuit with which it falls is the one.".to_owned(),
        ),
        Change::Source(_, times) => (
            if times < 0.02 {
                format!("{at} gives nothing")
            } else {
                format!("{at} gives {:.0} % of its current", times * 100.0)
            },
            "Read its own display for a limit, a fault or another state of charge; of an array, look for shade or a string that is \
             open."
                .to_owned(),
        ),
    };
    Cause {
        title,
        kind: word(change),
        places: Vec::new(),
        share: None,
        explains: Vec::new(),
        tell,
        next: None,
        heat,
    }
}
