//! Conductors without protection at a fed end, and taps to thinner conductors.
//! Never: judges a circuit's own fuse (see `fuse_too_large_for_conductor.rs`) or its distance (see `protection_too_far.rs`).
//! Start at [`RULE`].

use crate::exposure::Kind;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A positive conductor is fed by a battery through no protective device that its size allows: none at all, one only at its other
    /// end, or one that belongs to a thicker conductor from which it is tapped.
    /// ## Why
    /// A short circuit on it is fed by the full battery until the conductor melts.
    /// ## Limit
    /// Between every battery and every conductor that it can feed stands a device rated no more than the conductor allows, within the
    /// distance of `protection-too-far`. A conductor between two batteries needs one at each end.
    /// ## Mend
    /// Put a fuse at the fed end, within the distance allowed, or make the conductor thick enough for the device before it.
    /// ## Silent when
    /// Protection fits; for links between batteries of one bank no longer than protection may stand from a battery; for the vehicle's own
    /// cable between alternator and engine battery; for sources that limit their own current.
    /// ## Example
    /// A relay cable between engine battery and bank with one fuse, at the bank.
    "unprotected-conductor", Danger, "a conductor is fed without protection that fits it",
    reads: "the graph of positive terminals from every battery, protective ratings, conductor ampacities",
    na: "33 CFR 183.455", iec: "ISO 10133 clause 8",
    sources: ["cfr-33-183", "iso-10133"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for exposure in case.exposures() {
        let Some(conductor) = case.conductor(exposure.conductor) else { continue };
        let limit = exposure.limit.value;
        let end = case.system.terminal_name(exposure.feed.end);
        let size = conductor.gauge;
        let message = match exposure.kind {
            Kind::Bare => format!(
                "{} ({size}) is fed at {end} without protection; it allows at most {limit}",
                conductor.id
            ),
            Kind::OneEnd(device) => format!(
                "{} ({size}) is fed at both ends and protected only at the far one, by {}; it needs at most {limit} at {end} too",
                conductor.id,
                case.name(device)
            ),
            Kind::Tap(device) => format!(
                "{} ({size}) is tapped behind {}, {}; it allows at most {limit}",
                conductor.id,
                case.name(device),
                exposure.feed.rating
            ),
            Kind::TooLarge(_) | Kind::TooFar(..) => continue,
        };
        let found = out.danger(&conductor.id, case.gauge_cause(conductor), message);
        found.why("A short circuit on this conductor is fed until it melts: it glows along its whole length and sets fire to what it touches.");
        if let Some(amps) = case.results.most_fault(exposure.feed.end) {
            found.because(format!("{amps} can flow into a short circuit at {end}"));
        }
        if let Some(Ok(ampacity)) = case.ampacity(exposure.conductor) {
            found.because(format!("ampacity: {} = {}", ampacity.cite.row, ampacity.value)).cites(ampacity);
        }
        found.because(format!("largest protection allowed: {limit}")).cites(&exposure.limit).undo();
        if exposure.feed.rating.get().is_finite() {
            let thick = case.good_gauge(exposure.conductor, |gauge| gauge > size);
            if let Some(gauge) = thick {
                found.resize(&case.thinner_than(exposure.conductor, gauge), gauge);
            }
        }
        let distance = case.reference.protection_distance(
            case.system.rules,
            exposure.feed.at_battery,
            conductor.sheathed,
        );
        let need = case.circuit_of(conductor).map_or(limit, |circuit| circuit.protection_least.min(limit));
        found.cites(&distance).mend(if need > quantity::Amps::zero() {
            format!("fit a fuse of {need} to {limit} within {} of {end}", distance.value)
        } else {
            format!("fit a fuse of at most {limit} within {} of {end}", distance.value)
        });
    }
}
