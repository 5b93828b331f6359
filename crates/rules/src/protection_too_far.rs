//! Distance of protection from its source.
//! Never: judges its rating.
//! Start at [`RULE`].

use std::collections::BTreeSet;

use crate::exposure::Kind;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A fuse or breaker stands further along the conductor from its source than allowed.
    /// ## Why
    /// The piece before it is unprotected: every centimetre of it can chafe through to the chassis.
    /// ## Limit
    /// `na`: 7 in along the conductor, 40 in in sheath or conduit, 72 in in sheath straight from a battery.
    /// `iec`: 0.2 m, 1.8 m in sheath or conduit.
    /// ## Mend
    /// Move the device to its source, or sheathe the conductor all the way to it.
    /// ## Silent when
    /// The device is within the distance, or the piece before it is protected by another that it allows.
    /// ## Example
    /// A main fuse at 0.6 m of bare cable from the battery.
    "protection-too-far", Danger, "a fuse stands too far from its source",
    reads: "conductor lengths and sheaths between battery or busbar and each protective device",
    na: "33 CFR 183.455(b)", iec: "ISO 10133 clause 8.1",
    sources: ["cfr-33-183", "abyc-e11", "iso-10133"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let mut told = BTreeSet::new();
    for exposure in case.exposures() {
        let Kind::TooFar(device, length, allowed) = &exposure.kind else { continue };
        let (Some(device), Some(conductor)) = (case.device(*device), case.conductor(exposure.conductor))
        else {
            continue;
        };
        if !told.insert(&device.id) {
            continue;
        }
        let end = case.system.terminal_name(exposure.feed.end);
        let message = format!(
            "{} stands {length} along the conductor from its source; {} is allowed",
            device.id, allowed.value
        );
        let cause = case.cause(
            &[&format!("{}.distance", device.id), &format!("{}.length", conductor.id)],
            &device.intent,
        );
        let found = out.danger(&device.id, cause, message);
        found.why(
            "The piece before the fuse is fed by the full battery; if it chafes through, nothing opens.",
        );
        found.because(format!(
            "{} is fed at {end}; it is {} and {}",
            conductor.id,
            conductor.gauge,
            if conductor.sheathed { "sheathed all along" } else { "not sheathed" }
        ));
        if let Some(amps) = case.results.most_fault(exposure.feed.end) {
            found.because(format!("{amps} can flow into a short circuit there"));
        }
        found.cites(allowed).undo();
        let sheathed = case.reference.protection_distance(case.system.rules, exposure.feed.at_battery, true);
        if !conductor.sheathed && *length <= sheathed.value {
            found
                .cites(&sheathed)
                .mend(format!("sheathe it all the way: {} is then allowed", sheathed.value));
        }
        found.mend(format!("move {} to within {} of its source", device.id, allowed.value));
    }
}
