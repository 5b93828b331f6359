//! Faults too small to open the fuse soon.
//! Never: judges large faults (see `short_circuit_withstand.rs`).
//! Start at [`RULE`].

use std::collections::BTreeMap;

use model::{DeviceIx, Pole};
use quantity::Amps;

use crate::short_circuit_withstand::LONGEST_SECONDS;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A short circuit at the far end of a circuit, with the bank cold and low, is too small to open the fuse within 5 s.
    /// ## Why
    /// The fault goes on burning where it is, at the current of a stove plate, although conductor and fuse are sized right.
    /// ## Limit
    /// The latest time of the fuse's band at the smallest fault current is at most 5 s, as for distribution circuits in
    /// IEC 60364-4-41, 411.3.2.3 (from memory).
    /// ## Mend
    /// A thicker conductor, a smaller rating that still carries the load, or a faster family.
    /// ## Silent when
    /// The fuse opens in time; for breakers; for conductors without protection.
    /// ## Example
    /// A 200 A class J fuse where 700 A can flow.
    "fault-not-cleared", Advice, "a far fault opens the fuse late",
    reads: "smallest fault current at the far end, fuse family and rating",
    na: "none of its own; the IEC time is used", iec: "IEC 60364-4-41, 411.3.2.3",
    sources: ["iec-60364-4-43"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    // The smallest fault behind each fuse.
    let mut worst: BTreeMap<DeviceIx, (Amps, Amps, usize)> = BTreeMap::new();
    for (ix, conductor) in case.cables().filter(|(_, conductor)| conductor.pole == Pole::Positive) {
        for feed in case.graph.feeds(case.system, ix) {
            let Some(device) = feed.limiter else { continue };
            let far = if conductor.from == feed.end { conductor.to } else { conductor.from };
            let Some(least) = case.results.least_fault(far) else { continue };
            if worst.get(&device).is_none_or(|known| least < known.0) {
                worst.insert(device, (least, feed.rating, ix));
            }
        }
    }
    for (ix, (least, rating, conductor)) in worst {
        let (Some(device), Some(conductor)) = (case.device(ix), case.conductor(conductor)) else { continue };
        let Some(family) = crate::protective(device)
            .and_then(|fuse| fuse.family)
            .and_then(|family| case.reference.fuse_family(family))
        else {
            continue;
        };
        let latest = family.clearing_time(rating, least).map_or(f64::INFINITY, |(_, latest)| latest);
        if latest <= LONGEST_SECONDS {
            continue;
        }
        let time =
            if latest.is_finite() { format!("up to {latest:.0} s") } else { "any length of time".to_owned() };
        let message = format!(
            "a short circuit at the end of {} may take {time} to open {} ({rating}); {LONGEST_SECONDS} s is wanted",
            conductor.id, device.id
        );
        let found = out.advice(&device.id, case.protection_cause(device), message);
        found
            .why("A fault that does not open the fuse goes on heating the place where it is.")
            .because(format!("smallest fault there, bank cold and low, cable hot: {least}, {:.1} x the rating", least / rating))
            .cite(&family.cite)
            .undo()
            .mend("use a thicker conductor or a faster fuse family, or a smaller rating that still carries the load");
    }
}
