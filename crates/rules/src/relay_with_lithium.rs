//! A charging relay joins a lithium bank straight to the alternator.
//! Never: judges the relay's rating (see `relay_overloaded.rs`).
//! Start at [`RULE`].

use model::Spec;
use model::parts::Chemistry;

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A lithium iron phosphate bank is charged through a relay, without a DC-DC charger.
    /// ## Why
    /// A lithium bank has so little resistance that it takes all the alternator can give until it is full; the alternator overheats. When
    /// the battery then cuts off, the voltage jumps and can destroy the diodes. The vehicle's voltage does not fit the bank either.
    /// ## Limit
    /// A charger of limited current between alternator and lithium bank (common practice, no source).
    /// ## Mend
    /// A DC-DC charger in place of the relay.
    /// ## Silent when
    /// There is no relay, or the bank is lead-acid.
    /// ## Example
    /// A split-charge relay on a 200 Ah lithium bank.
    "relay-with-lithium", Warning, "a relay joins a lithium bank straight to the alternator",
    reads: "relays, chemistry of the bank",
    na: "ABYC E-13", iec: "ISO/TS 23625", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(bank) = &case.system.bank else { return };
    if bank.chemistry != Chemistry::Lfp {
        return;
    }
    for device in case.system.devices.iter().filter(|device| matches!(device.spec, Spec::Relay(_))) {
        let found = out.warning(
            &device.id,
            case.cause(&[&format!("{}.part", device.id), "engine.charger.part"], &device.intent),
            format!("{} joins the lithium bank of {} straight to the alternator", device.id, bank.capacity),
        );
        found.why("The alternator gives all it has until it overheats, and the battery's cut-off can destroy its diodes.");
        found.because(format!(
            "the bank's resistance is {}: each tenth of a volt above it drives {} more",
            bank.resistance,
            quantity::Volts::new(0.1) / bank.resistance
        ));
        found.undo();
        found.fix("charge through a DC-DC charger", vec![model::Edit::set("engine.charging", "dc-dc")]);
    }
}
