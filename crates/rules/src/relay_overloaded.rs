//! A charging relay carries more than its rating.
//! Never: finds the current (see the study).
//! Start at [`RULE`].

use model::Spec;
use network::Scene;

use crate::sources::device_amps;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// More current flows through a charging relay than it is rated for.
    /// ## Why
    /// Its contacts weld or burn; welded contacts flatten the engine's battery overnight.
    /// ## Limit
    /// The relay's continuous current.
    /// ## Mend
    /// A larger relay, or a DC-DC charger that limits the current.
    /// ## Silent when
    /// The current while everything charges is within the rating.
    /// ## Example
    /// A 100 A relay behind an alternator of 180 A with a large empty bank.
    "relay-overloaded", Danger, "a charging relay carries more than its rating",
    reads: "current of relays in the scene with everything charging",
    na: "maker's limit; NEC 110.3(B)", iec: "maker's limit; IEC 60364-5-51, 512.1.2", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::Relay(relay) = &device.spec else { continue };
        let at_device = || case.circuit_at(ix).map(|circuit| circuit.current_steady);
        let Some(current) = device_amps(case, Scene::Charging, ix).or_else(at_device) else { continue };
        if current <= relay.current {
            continue;
        }
        let found = out.danger(
            &device.id,
            case.cause(&[&format!("{}.part", device.id), "engine.charger.part"], &device.intent),
            format!("{} carries {current} while charging; it is rated {}", device.id, relay.current),
        );
        found.why("Overloaded contacts burn or weld shut, and a welded relay flattens the engine's battery.");
        found.because(format!("the study finds {current} through it while everything charges a low bank"));
        found.undo();
        found.mend(format!("take a relay of {current} or more"));
        found.fix("charge through a DC-DC charger", vec![model::Edit::set("engine.charging", "dc-dc")]);
    }
}
