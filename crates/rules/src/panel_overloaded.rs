//! Current through a fuse panel, its ways and the protection of its feeder.
//! Never: judges AC panels.
//! Start at [`RULE`].

use model::{DeviceIx, Spec};
use quantity::{Amps, Written};

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A fuse panel is fed more current than it is rated for, or a way holds a larger fuse than it takes.
    /// ## Why
    /// Its bus bar and clips heat up; plastic melts long before a fuse opens.
    /// ## Limit
    /// The panel's continuous rating, against the current of its feeder and the rating of the protection before it;
    /// the largest fuse of a way.
    /// ## Mend
    /// A smaller feeder fuse that still carries the panel, or a larger panel.
    /// ## Silent when
    /// Feeder current, feeder fuse and all ways are within the ratings.
    /// ## Example
    /// A panel of 100 A behind a 150 A fuse.
    "panel-overloaded", Warning, "a fuse panel is loaded or protected beyond its rating",
    reads: "feeder current, protection before the panel, fuses of its ways, its ratings",
    na: "ABYC E-11; NEC 551", iec: "the data sheet",
    sources: ["abyc-e11", "nec-551"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, device) in case.system.devices.iter().enumerate() {
        match &device.spec {
            Spec::FusePanel(panel) => feeder(case, out, ix, &device.id, panel),
            Spec::Fuse(fuse) => {
                let Some(panel_ix) = fuse.panel else { continue };
                let Some(Spec::FusePanel(panel)) = case.device(panel_ix).map(|panel| &panel.spec) else {
                    continue;
                };
                if fuse.rating <= panel.largest {
                    continue;
                }
                let message = format!(
                    "{} is {}; a way of {} takes at most {}",
                    device.id,
                    fuse.rating,
                    case.name(panel_ix),
                    panel.largest
                );
                out.warning(&device.id, case.protection_cause(device), message)
                    .why("The clips of the way heat up and melt the panel.")
                    .because(format!("largest fuse in one way: {}", panel.largest))
                    .undo()
                    .mend("feed this load from a panel with larger ways, or from the busbars through a fuse of its own");
            }
            _ => {}
        }
    }
}

fn feeder(case: &Case<'_>, out: &mut Out, ix: DeviceIx, id: &str, panel: &model::parts::FusePanel) {
    let Some(device) = case.device(ix) else { return };
    let Some(supply) = case.terminal(ix, "positive") else { return };
    let feeding = case.at(supply).iter().filter(|conductor| {
        let conductor = case.conductor(**conductor);
        conductor
            .and_then(|conductor| case.circuit_of(conductor))
            .is_some_and(|circuit| circuit.serves.contains(&ix))
    });
    let current = feeding.map(|conductor| case.current(*conductor)).fold(Amps::zero(), Amps::max);
    if current > panel.current {
        let message = format!("{id} is fed {current}; it is rated {}", panel.current);
        out.warning(id, case.part_cause(device), message)
            .why("The bus bar of the panel heats up and melts its plastic.")
            .because(format!("largest steady current of its feeder: {current}"))
            .undo()
            .mend(format!("choose a panel of at least {current}, or move loads to a second one"));
    }
    if let Some((rating, limiter)) = case.graph.protection_of(supply)
        && rating.get().is_finite()
        && rating > panel.current
        && let Some(fuse) = limiter.and_then(|limiter| case.device(limiter))
    {
        let message =
            format!("{id} is rated {}; the fuse before it, {}, is {rating}", panel.current, fuse.id);
        let found = out.warning(id, case.protection_cause(fuse), message);
        found
            .why("Its ways together can draw more than the panel stands, and the fuse before it does not open.")
            .because(format!("{rating} against {}", panel.current))
            .undo();
        let least =
            limiter.and_then(|limiter| case.circuit_at(limiter)).map_or(Amps::zero(), |c| c.protection_least);
        let family = crate::protective(fuse).and_then(|fuse| case.reference.fuse_family(fuse.family?));
        let smaller = family.and_then(|family| {
            family.ratings.iter().copied().rfind(|rating| *rating <= panel.current && *rating >= least)
        });
        match smaller {
            Some(smaller) => {
                found.pin(format!("fit a {smaller} fuse"), &format!("{}.rating", fuse.id), smaller.show())
            }
            None => found.mend(format!("choose a panel of at least {rating}")),
        };
    }
}
