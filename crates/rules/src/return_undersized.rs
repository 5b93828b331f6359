//! The return conductor against the positive of its circuit.
//! Never: judges bonds (see `bonding_undersized.rs`).
//! Start at [`RULE`].

use model::parts::Supply;
use model::{ConductorIx, Pole};
use quantity::Amps;

use crate::{Case, Out, protective, rule};

rule! {
    /// ## What
    /// The negative (or neutral) conductor of a circuit is thinner than its positive (or line) conductor.
    /// ## Why
    /// It carries the same current; the fuse is chosen for the positive and lets the return burn.
    /// ## Limit
    /// The return has at least the cross-section of the thinnest live conductor of its circuit.
    /// It is a danger where the circuit's fuse is larger than the return allows, else a warning.
    /// ## Mend
    /// The size of the positive.
    /// ## Silent when
    /// It is as thick; or the circuit has no return of its own.
    /// ## Example
    /// 35 mm² out and 16 mm² back.
    "return-undersized", Danger, "a return conductor is thinner than its positive",
    reads: "conductor sizes of each pole, protective ratings",
    na: "33 CFR 183.425 and 183.455", iec: "ISO 10133",
    sources: ["cfr-33-183", "iso-10133"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (at, circuit) in case.system.circuits.iter().enumerate() {
        let (live, back) = match circuit.supply {
            Supply::Dc => (Pole::Positive, Pole::Negative),
            Supply::Ac => (Pole::Line, Pole::Neutral),
        };
        let thinnest = |pole: Pole| -> Option<ConductorIx> {
            let of_pole = case.conductors_of(at).iter().copied().filter(|ix| {
                case.conductor(*ix).is_some_and(|conductor| conductor.pole == pole && !conductor.is_internal)
            });
            // Of equally thin ones the longest: not the jumper to the fuse.
            of_pole.min_by(|a, b| {
                let of = |ix: &ConductorIx| {
                    case.conductor(*ix).map(|conductor| (conductor.gauge, conductor.length))
                };
                match (of(a), of(b)) {
                    (Some(a), Some(b)) => a.0.cmp(&b.0).then_with(|| b.1.total_cmp(&a.1)),
                    _ => std::cmp::Ordering::Equal,
                }
            })
        };
        let (Some(out_ix), Some(back_ix)) = (thinnest(live), thinnest(back)) else { continue };
        let (Some(way_out), Some(way_back)) = (case.conductor(out_ix), case.conductor(back_ix)) else {
            continue;
        };
        if way_back.gauge >= way_out.gauge {
            continue;
        }
        let rating = circuit.protection.iter().filter_map(|ix| Some(protective(case.device(*ix)?)?.rating));
        let rating = rating.min_by(Amps::total_cmp);
        let limit = case.max_protection(back_ix);
        let burns = match (rating, &limit) {
            (Some(rating), Some(limit)) => rating > limit.value,
            _ => true,
        };
        let message = format!(
            "{} is {}, thinner than {} with {}",
            way_back.id, way_back.gauge, way_out.id, way_out.gauge
        );
        let cause = case.gauge_cause(way_back);
        let found = if burns {
            out.danger(&way_back.id, cause, message)
        } else {
            out.warning(&way_back.id, cause, message)
        };
        found.why("The return carries the same current as the positive, so it runs hotter, and the fuse does not watch over it.");
        found.because(format!("{} against {}", way_back.gauge.area(), way_out.gauge.area()));
        if let (Some(rating), Some(limit)) = (rating, &limit) {
            found
                .because(format!("protection of the circuit: {rating}; the return allows {}", limit.value))
                .cites(limit);
        }
        found.undo().resize(&[&way_back.id], way_out.gauge);
    }
}
