//! A breaker on the AC side is not made for its voltage, or has fewer poles than it must have.
//! Never: judges breakers of DC circuits (see `fuse_cannot_interrupt.rs`).
//! Start at [`RULE`].

use model::parts::Supply;
use model::{Craft, Pole, Spec};
use reference::RuleSet;

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A breaker on the AC side is not made for alternating current of its circuit's voltage, or a main breaker leaves the neutral joined
    /// where it must open it too.
    /// ## Why
    /// A breaker above its voltage does not put out its arc. With line and neutral swapped ashore, a one-pole main breaker leaves the live
    /// side on.
    /// ## Limit
    /// The breaker's AC voltage rating. A main breaker opens line and neutral under `iec`, and on boats under `na`.
    /// ## Mend
    /// A breaker made for it.
    /// ## Silent when
    /// Rating and poles fit.
    /// ## Example
    /// A breaker made for direct current of 48 V in a circuit of 120 V.
    "breaker-wrong-for-supply", Danger, "an AC breaker is not made for its circuit",
    reads: "breakers, circuits",
    na: "NEC 240.60, 240.85; ABYC E-11.10.2.8", iec: "IEC 60947-2; IEC 60364-7-721, 721.43", sources: ["ul-489", "iec-60898"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let system = case.system;
    for (ix, device) in system.devices.iter().enumerate() {
        let Spec::Breaker(breaker) = &device.spec else { continue };
        let Some(circuit) = case.circuit_at(ix) else { continue };
        let is_ac =
            device.terminals.first().map_or(circuit.supply == Supply::Ac, |terminal| terminal.pole.is_ac());
        if !is_ac {
            continue;
        }
        let there = system.ac_voltage.unwrap_or(circuit.voltage);
        let rating = breaker.part.ac_voltage;
        if rating.is_none_or(|rating| rating < there) {
            let made = rating.map_or_else(
                || "is not made for alternating current".to_owned(),
                |rating| format!("is made for alternating current up to {rating}"),
            );
            let found = out.danger(
                &device.id,
                case.protection_cause(device),
                format!("{} {made}; {there} stands there", device.id),
            );
            found.why("It may not put out its own arc: it burns on after it has opened.");
            found.because(format!("circuit {} works at {there}", circuit.id));
            found.undo();
            found.mend(format!("take a breaker for {there} of alternating current"));
        }
        let opens_neutral = device.terminals.iter().any(|terminal| terminal.pole == Pole::Neutral);
        let must = system.rules == RuleSet::Iec || system.craft == Craft::Boat;
        if must && breaker.role == "main" && breaker.part.poles < 2 && !opens_neutral {
            let found = out.danger(
                &device.id,
                case.protection_cause(device),
                format!("main breaker {} opens the line only; it must open line and neutral", device.id),
            );
            found.why("Where line and neutral are swapped ashore, it opens the wrong one and everything stays live.");
            found.because(format!("{} has {} pole", device.id, breaker.part.poles));
            found.undo();
            found.mend("take a breaker of two poles");
        }
    }
}
