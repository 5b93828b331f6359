//! A relay charges from an alternator whose voltage the engine computer varies.
//! Never: judges DC-DC chargers.
//! Start at [`RULE`].

use model::Spec;

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The engine computer varies the alternator's voltage, and a relay joins it to the house bank.
    /// ## Why
    /// The voltage falls to that of a resting battery on the motorway and rises only while braking: the bank is hardly charged, and the
    /// relay drops out and lets the bank run back into the engine's battery.
    /// ## Limit
    /// A relay only behind an alternator of steady voltage (common practice, no source).
    /// ## Mend
    /// A DC-DC charger.
    /// ## Silent when
    /// The alternator holds its voltage, or there is no relay.
    /// ## Example
    /// A split-charge relay in a van with an energy-saving alternator.
    "variable-alternator-relay", Warning, "a relay charges from an alternator of varying voltage",
    reads: "alternators, relays",
    na: "none; trade practice", iec: "none; trade practice", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let variable = case
        .system
        .devices
        .iter()
        .find(|device| matches!(&device.spec, Spec::Alternator(part) if part.variable));
    let Some(alternator) = variable else { return };
    for device in case.system.devices.iter().filter(|device| matches!(device.spec, Spec::Relay(_))) {
        let found = out.warning(
            &device.id,
            case.cause(&[&format!("{}.part", device.id), "engine.charger.part"], &device.intent),
            format!("{} charges from {}, whose voltage the engine computer varies", device.id, alternator.id),
        );
        found.why("The bank is hardly charged while you drive, and can even be drawn down by the vehicle.");
        found.because("such an alternator falls to the voltage of a resting battery for most of a drive");
        found.undo();
        found.fix("charge through a DC-DC charger", vec![model::Edit::set("engine.charging", "dc-dc")]);
    }
}
