//! Conductors that a battery feeds through no protection that fits them: the common ground of three rules.
//! Never: words a finding.
//! Start at [`exposures`].

use std::collections::BTreeSet;

use model::{Circuit, CircuitKind, Conductor, ConductorIx, DeviceIx, Pole, Spec, TerminalRef};
use quantity::{Amps, Metres};
use reference::Cited;

use crate::Case;
use crate::graph::Feed;

/// How the protection of a conductor misses.
#[derive(Clone, Debug)]
pub(crate) enum Kind {
    /// The circuit's own device is rated too high for it.
    TooLarge(DeviceIx),
    /// It is thinner than what the device before it, in another circuit, may protect.
    Tap(DeviceIx),
    /// A fitting device comes only after this length of conductor; so much is allowed.
    TooFar(DeviceIx, Metres, Cited<Metres>),
    /// A fitting device stands at its other end only, and this end is fed too.
    OneEnd(DeviceIx),
    /// No device at all.
    Bare,
}

/// A conductor whose protection misses.
#[derive(Clone, Debug)]
pub(crate) struct Exposure {
    pub conductor: ConductorIx,
    pub kind: Kind,
    pub feed: Feed,
    /// Largest device allowed.
    pub limit: Cited<Amps>,
}

/// Every positive DC conductor whose protection misses, by the first battery for which it does.
///
/// Left out: links between the batteries of a bank within the distance that protection may stand from a battery,
/// and the vehicle's own cable between alternator and engine battery.
pub(crate) fn exposures(case: &Case<'_>) -> Vec<Exposure> {
    let system = case.system;
    let mut found: Vec<Exposure> = Vec::new();
    let strings: BTreeSet<DeviceIx> = system
        .circuits
        .iter()
        .filter(|circuit| is_string_lead(circuit))
        .filter_map(|circuit| circuit.protection.first().copied())
        .collect();
    for (ix, conductor) in system.conductors.iter().enumerate() {
        let is_alternator = |device: DeviceIx| {
            case.device(device).is_some_and(|device| matches!(device.spec, Spec::Alternator(_)))
        };
        if conductor.pole != Pole::Positive
            || is_alternator(conductor.from.device)
            || is_alternator(conductor.to.device)
        {
            continue;
        }
        let is_link = case.circuit_of(conductor).is_some_and(|circuit| circuit.kind == CircuitKind::BankLink);
        if is_link && conductor.length <= case.reference.protection_distance(system.rules, true, true).value {
            continue;
        }
        let Some(limit) = case.max_protection(ix) else { continue };
        let mut feeds = case.graph.feeds(system, ix);
        // Strings in parallel, each behind its own fuse, feed what follows together: their ratings add.
        let is_string = case.circuit_of(conductor).is_some_and(is_string_lead);
        for feed in
            feeds.iter_mut().filter(|feed| !is_string && feed.limiter.is_some_and(|l| strings.contains(&l)))
        {
            feed.rating = feed.rating * strings.len() as f64;
        }
        let misses = feeds.iter().filter(|feed| feed.rating > limit.value);
        let mut kinds = misses.filter_map(|feed| Some((kind(case, ix, feed, &feeds, limit.value)?, *feed)));
        if let Some((kind, feed)) = kinds.next() {
            found.push(Exposure { conductor: ix, kind, feed, limit });
        }
    }
    // A bare way in several pieces is told once, at its first piece.
    let is_bare = |exposure: &Exposure| matches!(exposure.kind, Kind::Bare | Kind::Tap(_));
    let bare: BTreeSet<ConductorIx> =
        found.iter().filter(|exposure| is_bare(exposure)).map(|exposure| exposure.conductor).collect();
    let circuit = |ix: ConductorIx| case.conductor(ix).map(|conductor| conductor.circuit);
    found.retain(|exposure| {
        let before = case.graph.before(&exposure.feed);
        let is_told =
            |before: ConductorIx| bare.contains(&before) && circuit(before) == circuit(exposure.conductor);
        !is_bare(exposure) || !before.is_some_and(is_told)
    });
    found
}

/// Whether a circuit is the lead of one string of the bank to the bars where the strings meet.
fn is_string_lead(circuit: &Circuit) -> bool {
    circuit.kind == CircuitKind::Main && circuit.id.starts_with("bank-string-")
}

/// Whether a conductor is the short piece between a source and the device that protects what follows: no longer than the
/// distance that the rules allow bare, so that little can happen to it.
pub(crate) fn is_short_tap(case: &Case<'_>, conductor: &Conductor) -> bool {
    let ends_at_protection = protects(case, conductor.from) || protects(case, conductor.to);
    ends_at_protection && is_within(case, conductor, false)
}

/// Whether it is such a piece in sheath or conduit up to its protection, no longer than the rules allow so
/// [33 CFR 183.455(b); likewise IEC 60364-4-43, 434.2.1, from memory].
pub(crate) fn is_sheathed_tap(case: &Case<'_>, conductor: &Conductor) -> bool {
    conductor.sheathed && protects(case, conductor.to) && is_within(case, conductor, true)
}

fn protects(case: &Case<'_>, end: TerminalRef) -> bool {
    case.device(end.device).is_some_and(|device| crate::protective(device).is_some())
}

fn is_within(case: &Case<'_>, conductor: &Conductor, sheathed: bool) -> bool {
    conductor.length <= case.reference.protection_distance(case.system.rules, false, sheathed).value
}

fn kind(case: &Case<'_>, ix: ConductorIx, feed: &Feed, feeds: &[Feed], limit: Amps) -> Option<Kind> {
    let system = case.system;
    let conductor = case.conductor(ix)?;
    if let Some((device, ahead)) = case.graph.next_protection(system, ix, feed.end, limit) {
        let length = feed.run + ahead;
        let allowed = case.reference.protection_distance(system.rules, feed.at_battery, conductor.sheathed);
        if length <= allowed.value {
            return None;
        }
        let is_fed_beyond = feeds.iter().any(|other| other.end != feed.end);
        return Some(if is_fed_beyond {
            Kind::OneEnd(device)
        } else {
            Kind::TooFar(device, length, allowed)
        });
    }
    if conductor.is_internal {
        return None;
    }
    match feed.limiter {
        None => Some(Kind::Bare),
        Some(device) => {
            let own = case.circuit_of(conductor).is_some_and(|circuit| circuit.protection.contains(&device));
            Some(if own { Kind::TooLarge(device) } else { Kind::Tap(device) })
        }
    }
}
