//! The run from the engine's battery is not protected at both its ends.
//! Never: judges ratings or distances (see the rules on conductors and their protection).
//! Start at [`RULE`].

use model::{CircuitKind, DeviceIx, Pole, Spec, TerminalRef};

use crate::exposure::is_short_tap;
use crate::{Case, Out, Severity, protective, rule, sources};

rule! {
    /// ## What
    /// The positive run between the engine's battery and the DC-DC charger, the relay or the house bank has protection at one end only, or
    /// at none.
    /// ## Why
    /// A battery stands behind each end. A chafed cable is fed from both, and the fuse at one end cannot stop the other.
    /// ## Limit
    /// A fuse or breaker at the engine's battery and another at the far end, before any battery or busbar. Danger where a battery or busbar
    /// stands behind the bare end; warning where only a DC-DC charger does.
    /// ## Mend
    /// A fuse beside the source at the bare end.
    /// ## Silent when
    /// Both ends are protected; for the short piece from a source to its fuse. The vehicle's own cable between alternator and battery is left out.
    /// ## Example
    /// A 50 A fuse at the engine's battery, and none at the DC-DC charger.
    "engine-lead-fused-at-one-end", Danger, "the run from the engine's battery is not protected at both ends",
    reads: "conductors and protective devices between engine battery and house bank",
    na: "ABYC E-11.10.1; 33 CFR 183.455", iec: "ISO 13297, protection at each source", sources: ["cfr-33-183", "abyc-e11"],
    check: check,
}

/// What stands behind an end of a run.
enum Behind {
    Protected,
    Source(DeviceIx),
    Nothing,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (_, conductor) in case.cables() {
        let is_engine = case.circuit_of(conductor).is_some_and(|circuit| circuit.kind == CircuitKind::Engine);
        if conductor.pole != Pole::Positive || !is_engine || is_short_tap(case, conductor) {
            continue;
        }
        let ends = [conductor.from, conductor.to].map(|end| (end, behind(case, end, &conductor.id)));
        let is_own = |device: DeviceIx| {
            matches!(
                case.device(device).map(|device| &device.spec),
                Some(Spec::Alternator(_) | Spec::StartBattery(_))
            )
        };
        if is_own(conductor.from.device) && is_own(conductor.to.device) {
            continue;
        }
        for (end, found) in &ends {
            let (severity, what) = match found {
                Behind::Protected => continue,
                Behind::Source(device) => {
                    (Severity::Danger, format!("{} feeds it there", case.name(*device)))
                }
                Behind::Nothing => (Severity::Warning, format!("{} stands there", case.name(end.device))),
            };
            let circuit = case.circuit_of(conductor).map_or("engine", |circuit| circuit.id.as_str());
            let at = case.name(end.device);
            let finding = out.open(
                severity,
                &conductor.id,
                case.cause(&[], &conductor.intent),
                format!("{} has no protection at its end at {at}; {what}", conductor.id),
            );
            finding.why(
                "A cable that chafes through on its way past the engine is fed from both ends and burns.",
            );
            finding.because(format!(
                "it runs {} from {} to {}",
                conductor.length,
                case.system.terminal_name(conductor.from),
                case.system.terminal_name(conductor.to)
            ));
            finding.cites(&case.reference.protection_distance(case.system.rules, true, conductor.sheathed));
            finding.undo();
            finding.mend(format!("put a fuse like that of the circuit {circuit} beside {at}"));
        }
    }
}

/// Goes on from an end of a run, away from it, through relays and disconnects, to protection or a source.
fn behind(case: &Case<'_>, end: TerminalRef, run: &str) -> Behind {
    let is_protective =
        |device: DeviceIx| case.device(device).is_some_and(|device| protective(device).is_some());
    if is_protective(end.device) {
        return Behind::Protected;
    }
    let reached = sources::around(case, end, |edge| match edge.via {
        crate::Via::Conductor(ix) => case.conductor(ix).is_some_and(|conductor| conductor.id != run),
        crate::Via::Device(device) => !is_protective(device),
    });
    let mut protected = false;
    for at in &reached {
        match case.device(at.device).map(|device| &device.spec) {
            Some(Spec::Battery(_) | Spec::StartBattery(_) | Spec::Busbar(_) | Spec::Alternator(_)) => {
                return Behind::Source(at.device);
            }
            _ => protected |= is_protective(at.device),
        }
    }
    if protected { Behind::Protected } else { Behind::Nothing }
}
