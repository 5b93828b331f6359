//! Loads that no source reaches, or that the network cannot carry.
//! Never: judges how well a load is fed (see `excess_voltage_drop.rs`).
//! Start at [`RULE`].

use std::collections::BTreeSet;

use model::{Device, Spec};
use quantity::Volts;

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A load hangs on no source: a conductor to or from it is missing. Or the network cannot carry its power at any voltage.
    /// ## Why
    /// It does not work.
    /// ## Limit
    /// Both its poles lead to a source, and in every scene the network finds a voltage at which the load gets its power.
    /// ## Mend
    /// Add the missing conductor; for a collapse, thicker conductors or a shorter way.
    /// ## Silent when
    /// Every load is fed in every scene.
    /// ## Example
    /// A pump whose negative conductor was left out.
    "load-not-fed", Warning, "a load is joined to no source or cannot get its power",
    reads: "loads without a source and loads that collapse, in every scene of the study",
    na: "none", iec: "none", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let dead: BTreeSet<_> = case.results.scenes.iter().flat_map(|scene| scene.dead.iter().copied()).collect();
    let collapsed: BTreeSet<_> =
        case.results.scenes.iter().flat_map(|scene| scene.collapsed.iter().copied()).collect();
    for device in dead.iter().filter_map(|ix| case.device(*ix)) {
        // What was left out or moved is the likeliest cause.
        let built = case
            .system
            .conductors
            .iter()
            .map(|conductor| &conductor.intent)
            .find(|intent| intent.starts_with("built"));
        out.warning(
            &device.id,
            built.unwrap_or(&device.intent),
            format!("{} is joined to no source", device.id),
        )
        .why("It does not work, because its circuit is not closed.")
        .because("no way leads from a source to it and back through the conductors of the system")
        .undo()
        .mend("add the conductor that is missing in its positive or its return");
    }
    for device in collapsed.difference(&dead).filter_map(|ix| case.device(*ix)) {
        if let Some((volts, lowest)) = stops_low(case, device) {
            let message = format!("{} gets {volts} with the bank low; it stops below {lowest}", device.id);
            out.warning(&device.id, &device.intent, message)
                .why("It switches off under load while the bank still holds some of its energy.")
                .because(format!("the study finds {volts} at its input while it carries its loads"))
                .mend("use thicker conductors or a shorter way from the bank to it, or a bank of lower resistance");
            continue;
        }
        out.warning(
            &device.id,
            &device.intent,
            format!("the network cannot carry the power of {}", device.id),
        )
        .why("Its voltage breaks down when it is switched on, and what else runs goes down with it.")
        .because("at no voltage do the conductors and the bank pass the power that it takes")
        .mend("use thicker conductors or a shorter way, or a bank of lower resistance");
    }
}

/// The lowest voltage at an inverter that stops for it, and its lowest input; `None` where its power is not carried.
fn stops_low(case: &Case<'_>, device: &Device) -> Option<(Volts, Volts)> {
    let Spec::Inverter(part, _) = &device.spec else { return None };
    let ix = case.system.devices.iter().position(|other| other.id == device.id)?;
    let at = |name: &str| device.terminals.iter().position(|terminal| terminal.name == name);
    let (positive, negative) = (at("positive")?, at("negative")?);
    let scenes = case.results.scenes.iter().filter(|scene| scene.collapsed.contains(&ix));
    let across = scenes.filter_map(|scene| {
        let volts = scene.volts.get(ix)?;
        Some((*volts.get(positive)?)? - (*volts.get(negative)?)?)
    });
    // A load that is taken away stands at the bank's voltage, one that stops is below its own limit.
    let lowest = across.fold(Volts::new(f64::INFINITY), Volts::min);
    (lowest < part.lowest_input && lowest > part.lowest_input * 0.5).then_some((lowest, part.lowest_input))
}
