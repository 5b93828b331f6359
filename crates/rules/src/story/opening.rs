//! What feeds a fault, on which way, what opens there and when, and which conductors stand it until then.
//! Never: guesses the time of a breaker: its curve is its maker's.
//! Start at [`tell`].

use std::collections::{BTreeMap, BTreeSet};

use model::{ConductorIx, DeviceIx, Pole, Spec, TerminalRef};
use network::FaultCurrents;
use quantity::Amps;
use reference::{FuseFamily, Reference};
use serde::Serialize;

use super::{Currents, FaultStory, outwards};
use crate::short_circuit_withstand::{LONGEST_SECONDS, let_through};
use crate::{Case, Via, protective};

/// A current below this is a leak of the model [A].
const NOTHING: f64 = 0.1;
/// Share of the fault current from which a conductor is told to carry the fault.
const CARRIES: f64 = 0.01;

/// One source, its way to the fault and what opens on it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SourceStory {
    /// The source's id.
    pub device: String,
    /// What it is called.
    pub title: String,
    /// Its part of the largest current: what all sources give beyond it goes into a battery, and is taken from each in
    /// proportion. `None` where it gives nothing.
    pub most: Option<Amps>,
    /// Its part of the smallest current.
    pub least: Option<Amps>,
    /// Whether its own electronics or make limit what it gives; a battery does not.
    pub is_limited: bool,
    /// Devices and conductors from the source to the fault.
    pub way: Vec<Step>,
    /// What opens first on the way at the largest current; `None`: nothing does.
    pub opens: Option<Opening>,
    /// What opens first at the smallest current, where that is another device; `None` too where nothing does.
    pub opens_at_least: Option<Opening>,
    /// Other devices on the way that may open as soon, so that more goes dark than need.
    pub may_open_too: Vec<Opening>,
}

/// One thing on a way.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Step {
    /// Its id.
    pub id: String,
    /// Whether it is a conductor; otherwise a device.
    pub is_conductor: bool,
}

/// Seconds within which a fuse opens.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Times {
    /// Not sooner [s].
    pub earliest_s: f64,
    /// Not later [s]; `None`: it need not open.
    pub latest_s: Option<f64>,
}

impl Times {
    fn words(self) -> String {
        let show = |seconds: f64| {
            if seconds < 0.01 {
                format!("{:.1} ms", seconds * 1e3)
            } else if seconds < 1.0 {
                format!("{seconds:.2} s")
            } else {
                format!("{seconds:.0} s")
            }
        };
        match self.latest_s {
            Some(latest) => format!("within {} to {}", show(self.earliest_s), show(latest)),
            None => format!("after {} at the soonest, if at all", show(self.earliest_s)),
        }
    }
}

/// A protective device that opens, or may.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Opening {
    /// Its id.
    pub device: String,
    /// What it is called.
    pub title: String,
    /// Its rating.
    pub rating: Amps,
    /// Whether it is a breaker: it opens by its maker's curve, and no time is computed.
    pub is_breaker: bool,
    /// Largest current through it, of all sources together.
    pub most: Option<Amps>,
    /// Smallest current through it.
    pub least: Option<Amps>,
    /// When it opens at the largest current; `None` for a breaker, or where it does not open.
    pub at_most: Option<Times>,
    /// When it opens at the smallest current.
    pub at_least: Option<Times>,
    /// Whether it can break the largest current.
    pub interrupts: bool,
    /// When it opens, in words.
    pub words: String,
}

/// A conductor that carries the fault.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaultConductor {
    /// Its id.
    pub id: String,
    /// What it carries.
    pub pole: Pole,
    /// Its current at the largest fault.
    pub most: Amps,
    /// Its current at the smallest fault.
    pub least: Option<Amps>,
    /// Heat until the fault is cleared [A²s]; `None` where the time is not known or is over five seconds.
    pub heat_a2s: Option<f64>,
    /// Heat that it stands [A²s].
    pub stands_a2s: f64,
    /// Whether it stands it; `None` where the heat is not known.
    pub stands: Option<bool>,
}

/// A protective device on a way, with what is known of it.
#[derive(Clone)]
struct Candidate<'c> {
    device: DeviceIx,
    opening: Opening,
    family: Option<&'c FuseFamily>,
}

impl Candidate<'_> {
    fn current(&self, is_most: bool) -> Option<Amps> {
        if is_most { self.opening.most } else { self.opening.least }
    }
    fn times(&self, is_most: bool) -> Option<Times> {
        if is_most { self.opening.at_most } else { self.opening.at_least }
    }
    fn latest(&self, is_most: bool) -> f64 {
        self.times(is_most).and_then(|times| times.latest_s).unwrap_or(f64::INFINITY)
    }
    /// The latest time [s], and beyond the last gate of the band what the same heat takes there: the order in which fuses melt,
    /// where their bands promise the same.
    fn expected_s(&self, is_most: bool) -> f64 {
        let heat = self.family.zip(self.current(is_most)).and_then(|(family, amps)| {
            let (heat, _) = let_through(family, self.opening.rating, amps)?;
            Some(heat / amps.get().powi(2))
        });
        heat.unwrap_or_else(|| self.latest(is_most))
    }
    fn multiple(&self, is_most: bool) -> f64 {
        self.current(is_most).map_or(0.0, |amps| amps / self.opening.rating)
    }
    /// Whether it opens, sooner or later, for sure.
    fn opens(&self, is_most: bool) -> bool {
        if self.opening.is_breaker { self.multiple(is_most) > 1.0 } else { self.latest(is_most).is_finite() }
    }
}

/// Fills in the sources, what opens and the conductors.
pub(super) fn tell(case: &Case<'_>, at: TerminalRef, currents: &Currents, story: &mut FaultStory) {
    let (order, before) = outwards(case, &[at]);
    let mut known: BTreeMap<DeviceIx, Candidate<'static>> = BTreeMap::new();
    // What opens first for each conductor on a way; `None` where a source's way has nothing that opens.
    let mut guards: BTreeMap<ConductorIx, BTreeSet<Option<DeviceIx>>> = BTreeMap::new();
    let mut all: BTreeSet<Option<DeviceIx>> = BTreeSet::new();
    let sources: Vec<DeviceIx> = order
        .iter()
        .map(|node| case.graph.terminal(*node))
        .filter(|at| limited(case, *at).is_some())
        .map(|at| at.device)
        .collect();
    let parts = (
        Parts::new(&sources, currents.most.as_ref(), currents.most_of_all),
        Parts::new(&sources, currents.least.as_ref(), currents.least_of_all),
    );
    for node in order {
        let source = case.graph.terminal(node);
        let Some(is_limited) = limited(case, source) else { continue };
        let Some(device) = case.device(source.device) else { continue };
        let (most, least) = (parts.0.of(source.device), parts.1.of(source.device));
        if most.is_none() && least.is_none() {
            continue;
        }
        let mut told = SourceStory {
            device: device.id.clone(),
            title: device.title.clone(),
            most,
            least,
            is_limited,
            way: Vec::new(),
            opens: None,
            opens_at_least: None,
            may_open_too: Vec::new(),
        };
        let (mut on_way, mut conductors) = (Vec::new(), Vec::new());
        let mut here = node;
        while let Some(next) = before[here] {
            // From the source to the fault, each step by the first edge that leads there.
            if let Some(edge) = case.graph.edges(here).iter().find(|edge| edge.to == next) {
                let (id, is_conductor) = match edge.via {
                    Via::Conductor(ix) => {
                        conductors.push(ix);
                        (case.conductor(ix).map(|conductor| conductor.id.as_str()), true)
                    }
                    Via::Device(ix) => {
                        on_way.push(ix);
                        (case.device(ix).map(|device| device.id.as_str()), false)
                    }
                };
                told.way.push(Step { id: id.unwrap_or("?").to_owned(), is_conductor });
            }
            here = next;
        }
        for ix in &on_way {
            if !known.contains_key(ix)
                && let Some(candidate) = candidate(case, *ix, currents)
            {
                known.insert(*ix, candidate);
            }
        }
        let candidates: Vec<&Candidate<'_>> = on_way.iter().filter_map(|ix| known.get(ix)).collect();
        let first = first(&candidates, told.most.is_some());
        all.insert(first.map(|first| first.device));
        for conductor in conductors {
            guards.entry(conductor).or_default().insert(first.map(|first| first.device));
        }
        if let Some(opens) = first {
            told.may_open_too = candidates
                .iter()
                .filter(|other| other.device != opens.device && is_as_soon(other, opens))
                .map(|other| other.opening.clone())
                .collect();
            if told.least.is_some() {
                told.opens_at_least = self::first(&candidates, false)
                    .filter(|least| least.device != opens.device)
                    .map(|least| least.opening.clone());
            }
            told.opens = Some(opens.opening.clone());
        }
        story.sources.push(told);
    }
    story.sources.sort_by(|a, b| {
        let amps = |source: &SourceStory| source.most.or(source.least).map_or(0.0, Amps::get);
        amps(b).total_cmp(&amps(a)).then_with(|| a.device.cmp(&b.device))
    });
    let opened: Vec<&Candidate<'_>> = all.iter().flatten().filter_map(|ix| known.get(ix)).collect();
    story.opens = opened.iter().map(|candidate| candidate.opening.clone()).collect();
    conductors(case, currents, &known, (&guards, &all), story);
    words(&opened, story);
}

/// What each source has a part of.
struct Parts<'f> {
    known: Option<&'f FaultCurrents>,
    all: Option<Amps>,
    /// Share of what a source gives that goes into the fault.
    share: f64,
}

impl<'f> Parts<'f> {
    fn new(sources: &[DeviceIx], known: Option<&'f FaultCurrents>, all: Option<Amps>) -> Self {
        let given: f64 = known.map_or(0.0, |known| {
            sources.iter().filter_map(|ix| known.devices.get(*ix)).map(|amps| amps.get().max(0.0)).sum()
        });
        let share = known.map_or(1.0, |known| (known.total.get() / given.max(NOTHING)).min(1.0));
        Self { known, all, share }
    }
    /// The part of a source; the whole where the network was not solved.
    fn of(&self, source: DeviceIx) -> Option<Amps> {
        let given = match self.known {
            Some(known) => *known.devices.get(source)? * self.share,
            None => self.all?,
        };
        (given.get() > NOTHING).then_some(given)
    }
}

/// What opens first: of the fuses the one with the smallest latest time, beyond the last gate by the same heat (common practice,
/// no source); a breaker where it is the most overloaded.
fn first<'k, 'c>(candidates: &[&'k Candidate<'c>], is_most: bool) -> Option<&'k Candidate<'c>> {
    let opening = || candidates.iter().copied().filter(|candidate| candidate.opens(is_most));
    let fuse = opening()
        .filter(|candidate| !candidate.opening.is_breaker)
        .min_by(|a, b| a.expected_s(is_most).total_cmp(&b.expected_s(is_most)));
    let worst = opening().max_by(|a, b| a.multiple(is_most).total_cmp(&b.multiple(is_most)))?;
    if worst.opening.is_breaker { Some(worst) } else { fuse }
}

/// Whether another device may open before the first has: its band begins before the first's ends.
fn is_as_soon(other: &Candidate<'_>, first: &Candidate<'_>) -> bool {
    [true, false].into_iter().any(|is_most| {
        if other.opening.is_breaker {
            return other.opens(is_most);
        }
        let Some(times) = other.times(is_most) else { return false };
        first.opening.is_breaker || first.opens(is_most) && times.earliest_s <= first.latest(is_most)
    })
}

fn candidate(case: &Case<'_>, ix: DeviceIx, currents: &Currents) -> Option<Candidate<'static>> {
    let device = case.device(ix)?;
    let data = protective(device)?;
    let family = data.family.and_then(|family| Reference::standard().fuse_family(family));
    let (most, least) = currents.device(ix);
    let times = |amps: Option<Amps>| {
        let (earliest_s, latest) = family?.clearing_time(data.rating, amps?)?;
        Some(Times { earliest_s, latest_s: latest.is_finite().then_some(latest) })
    };
    let (at_most, at_least) = (times(most), times(least));
    let is_breaker = data.family.is_none();
    let words = match (is_breaker, at_most) {
        (true, _) => "opens by its maker's curve; not computed".to_owned(),
        (false, Some(times)) => format!("opens {}", times.words()),
        (false, None) => "does not open".to_owned(),
    };
    let opening = Opening {
        device: device.id.clone(),
        title: device.title.clone(),
        rating: data.rating,
        is_breaker,
        most,
        least,
        at_most,
        at_least,
        interrupts: most.is_none_or(|most| data.interrupt >= most),
        words,
    };
    Some(Candidate { device: ix, opening, family })
}

/// Whether a terminal is a source's output, and whether the source is one that limits its current.
fn limited(case: &Case<'_>, at: TerminalRef) -> Option<bool> {
    let name = &case.system.terminal(at)?.name;
    match (&case.device(at.device)?.spec, name.as_str()) {
        (Spec::Battery(_) | Spec::StartBattery(_), "positive") => Some(false),
        (
            Spec::Charger(..)
            | Spec::Inverter(_, Some(_))
            | Spec::Controller(..)
            | Spec::DcDc(..)
            | Spec::Converter(_)
            | Spec::Alternator(_)
            | Spec::Array(_),
            "positive",
        ) => Some(true),
        _ => None,
    }
}

/// What opens for each conductor on a way, and what opens at all.
type Guards<'g> = (&'g BTreeMap<ConductorIx, BTreeSet<Option<DeviceIx>>>, &'g BTreeSet<Option<DeviceIx>>);

fn conductors(
    case: &Case<'_>,
    currents: &Currents,
    known: &BTreeMap<DeviceIx, Candidate<'static>>,
    (guards, all): Guards<'_>,
    story: &mut FaultStory,
) {
    let Some(total) = currents.most.as_ref().or(currents.least.as_ref()).map(|known| known.total) else {
        return;
    };
    for (ix, conductor) in case.cables() {
        let (most, least) = currents.conductor(ix);
        let Some(amps) = most.or(least).filter(|amps| *amps >= total * CARRIES) else { continue };
        let k = case.reference.adiabatic_k(conductor.insulation, false);
        let stands_a2s = (k.value * conductor.gauge.area().get()).powi(2);
        // A return is not on a way of its own: everything that opens counts for it.
        let mut heat = Some(0.0_f64);
        for guard in guards.get(&ix).unwrap_or(all) {
            let guard = guard.and_then(|device| known.get(&device));
            heat = heat.zip(guard.and_then(|guard| self::heat(guard, most, least))).map(|(a, b)| a.max(b));
        }
        let heat = heat.filter(|heat| *heat > 0.0);
        story.conductors.push(FaultConductor {
            id: conductor.id.clone(),
            pole: conductor.pole,
            most: amps,
            least,
            heat_a2s: heat,
            stands_a2s,
            stands: heat.map(|heat| heat <= stands_a2s),
        });
        if !story.cite.contains(&k.cite) {
            story.cite.push(k.cite);
        }
    }
    story.conductors.sort_by(|a, b| b.most.get().total_cmp(&a.most.get()).then_with(|| a.id.cmp(&b.id)));
}

/// Heat in a conductor until the device opens, at the worse of both currents [A²s].
fn heat(guard: &Candidate<'_>, most: Option<Amps>, least: Option<Amps>) -> Option<f64> {
    let family = guard.family?;
    let at = |conductor: Option<Amps>, device: Option<Amps>| {
        let (conductor, device) = (conductor?, device.filter(|amps| amps.get() > NOTHING)?);
        let (heat, _) = let_through(family, guard.opening.rating, device)?;
        Some(heat * (conductor / device).powi(2))
    };
    let (most, least) = (at(most, guard.opening.most), at(least, guard.opening.least));
    match (most, least) {
        (Some(most), Some(least)) => Some(most.max(least)),
        (one, other) => one.or(other),
    }
}

fn words(opened: &[&Candidate<'_>], story: &mut FaultStory) {
    for source in &story.sources {
        let most = source.most.or(source.least).unwrap_or_default();
        story.because.push(format!("{} gives {most}", source.device));
        if source.opens.is_none() {
            story.dangers.push(if source.is_limited {
                format!(
                    "{} goes on feeding up to {most}, which opens nothing on its way; it must be switched off",
                    source.device
                )
            } else {
                format!("nothing interrupts {}: it feeds {most} until it is empty or something melts", source.device)
            });
        }
        if source.may_open_too.is_empty() {
            continue;
        }
        let names: Vec<&str> = source.may_open_too.iter().map(|other| other.device.as_str()).collect();
        story.notes.push(format!("on the way from {}, {} may open too", source.device, names.join(", ")));
    }
    for candidate in opened {
        let opening = &candidate.opening;
        let Some(most) = opening.most else { continue };
        if !opening.interrupts {
            story.dangers.push(format!("{} cannot break {most}: it may burst and burn", opening.device));
        }
        story.because.push(format!(
            "{} ({}): {most} is {:.1} x its rating, so it {}",
            opening.device,
            opening.rating,
            most / opening.rating,
            opening.words
        ));
        let Some(family) = candidate.family else { continue };
        if !story.cite.contains(&family.cite) {
            story.cite.push(family.cite.clone());
        }
        if let Some(least) = opening.least.filter(|amps| amps.get() > NOTHING)
            && candidate.latest(false) > LONGEST_SECONDS
        {
            let when = opening
                .at_least
                .map_or("it does not open".to_owned(), |times| format!("it opens {}", times.words()));
            story
                .notes
                .push(format!("with the bank cold and low only {least} pass {}, and {when}", opening.device));
        }
    }
    for conductor in story.conductors.iter().filter(|conductor| conductor.stands == Some(false)) {
        story.dangers.push(format!(
            "{} stands {:.0} A²s and gets {:.0} A²s before the fault is cleared",
            conductor.id,
            conductor.stands_a2s,
            conductor.heat_a2s.unwrap_or_default()
        ));
    }
}
