//! Heat of a short circuit in a conductor until its fuse clears it.
//! Never: judges overload (see `fuse_too_large_for_conductor.rs`).
//! Start at [`RULE`].

use model::{Pole, TerminalRef};
use quantity::{Amps, Gauge};
use reference::FuseFamily;

use crate::exposure::{is_sheathed_tap, is_short_tap};
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// Until its fuse clears a short circuit, a conductor gets hotter than its insulation stands even for a moment.
    /// ## Why
    /// The fuse works, but the conductor behind it is ruined or on fire.
    /// ## Limit
    /// `I²t <= k²S²` [IEC 60364-4-43, 434.5.2], for the largest fault at the fed end and the smallest at the far end; `t` is the latest time
    /// of the fuse's band, held to faults that clear within 5 s; beyond the last gate of the band `I²t` stays what it is there, as the fuse
    /// melts before heat leaves it (common practice, no source).
    /// ## Mend
    /// A thicker conductor, a smaller fuse or a faster family.
    /// ## Silent when
    /// The conductor stands it; for the short piece from a source to its fuse, within the distance allowed bare, or in sheath or conduit within the distance allowed so; for breakers, whose band is not known; for conductors without protection, which `unprotected-conductor` reports.
    /// ## Example
    /// 1 mm² behind a 300 A strip fuse.
    "short-circuit-withstand", Danger, "a conductor does not stand a short circuit until its fuse clears",
    reads: "fault currents at both ends, fuse family and rating, conductor size and insulation",
    na: "none of its own; the IEC rule is used", iec: "IEC 60364-4-43, 434.5.2",
    sources: ["iec-60364-4-43", "adiabatic-law"],
    check: check,
}

/// The adiabatic rule holds for faults no longer than this [IEC 60364-4-43, 434.5.2, from memory].
pub(crate) const LONGEST_SECONDS: f64 = 5.0;

/// I²t [A²s] that a fuse lets through at a current; `None` where it need not clear within [`LONGEST_SECONDS`].
pub(crate) fn let_through(family: &FuseFamily, rating: Amps, current: Amps) -> Option<(f64, f64)> {
    let last = family.gates.iter().rfind(|gate| gate.max_s.is_some())?;
    let counted = current.min(rating * last.multiple);
    let (_, latest) = family.clearing_time(rating, counted)?;
    (latest <= LONGEST_SECONDS).then(|| (counted.get() * counted.get() * latest, latest))
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, conductor) in case.cables().filter(|(_, conductor)| conductor.pole == Pole::Positive) {
        if is_short_tap(case, conductor) || is_sheathed_tap(case, conductor) {
            continue;
        }
        let mut worst: Option<(f64, f64, Amps, &FuseFamily, Amps, &str)> = None;
        for feed in case.graph.feeds(case.system, ix) {
            let Some(device) = feed.limiter.and_then(|device| case.device(device)) else { continue };
            let Some(family) = crate::protective(device)
                .and_then(|fuse| fuse.family)
                .and_then(|family| case.reference.fuse_family(family))
            else {
                continue;
            };
            let far = if conductor.from == feed.end { conductor.to } else { conductor.from };
            let currents: [(Option<Amps>, TerminalRef); 2] =
                [(case.results.most_fault(feed.end), feed.end), (case.results.least_fault(far), far)];
            for current in currents.into_iter().filter_map(|(current, _)| current) {
                if let Some((heat, seconds)) = let_through(family, feed.rating, current)
                    && worst.is_none_or(|known| heat > known.0)
                {
                    worst = Some((heat, seconds, current, family, feed.rating, &device.id));
                }
            }
        }
        let Some((heat, seconds, current, family, rating, fuse)) = worst else { continue };
        let k = case.reference.adiabatic_k(conductor.insulation, false);
        let stands = |gauge: Gauge| (k.value * gauge.area().get()).powi(2);
        if heat <= stands(conductor.gauge) {
            continue;
        }
        let message = format!(
            "{} ({}) stands {:.0} A²s; {fuse} lets {heat:.0} A²s through",
            conductor.id,
            conductor.gauge,
            stands(conductor.gauge)
        );
        let found = out.danger(&conductor.id, case.gauge_cause(conductor), message);
        found
            .why("On a short circuit the fuse opens, but by then the insulation has melted.")
            .because(format!(
                "{} of {rating}: at {current} within {seconds:.3} s, so {heat:.0} A²s",
                family.name
            ))
            .because(format!(
                "k²S² = ({:.0} x {:.2})² = {:.0} A²s",
                k.value,
                conductor.gauge.area().get(),
                stands(conductor.gauge)
            ))
            .cites(&k)
            .cite(&family.cite)
            .undo();
        match case.good_gauge(ix, |gauge| heat <= stands(gauge)) {
            Some(gauge) => found.resize(&case.thinner_than(ix, gauge), gauge),
            None => found.mend("fit a smaller or faster fuse before it"),
        };
    }
}
