//! Charging takes more from the alternator than it can spare when it is hot.
//! Never: judges the relay itself (see `relay_overloaded.rs`).
//! Start at [`RULE`].

use model::{Because, Spec};
use network::Scene;
use quantity::{Amps, Written};

use crate::sources::{around, device_amps};
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// DC-DC chargers or relays draw more from the alternator than its hot rating leaves beside the engine's own loads.
    /// ## Why
    /// An alternator held at full output at idle overheats; its diodes fail, usually far from help.
    /// ## Limit
    /// The alternator's rating times the share that it holds hot, less the engine's own loads (30 % of the rating where they are not said).
    /// ## Mend
    /// A smaller or adjustable DC-DC charger, or a larger alternator.
    /// ## Silent when
    /// What charging draws is within what the alternator can spare.
    /// ## Example
    /// A 60 A DC-DC charger on an alternator of 90 A.
    "alternator-overloaded", Warning, "charging takes more than the alternator can spare",
    reads: "alternator, DC-DC chargers, relays, engine's own load",
    na: "ABYC E-11; maker's limit", iec: "ISO 13297; maker's limit", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::Alternator(part) = &device.spec else { continue };
        let Some(start) = case.terminal(ix, "positive") else { continue };
        let mut parts: Vec<(String, Amps)> = Vec::new();
        let mut seen = std::collections::BTreeSet::new();
        // Past a relay lies the house side, whose chargers do not load the alternator.
        let reached = around(case, start, |edge| match edge.via {
            crate::Via::Device(through) => {
                !matches!(case.device(through).map(|d| &d.spec), Some(Spec::Relay(_)))
            }
            crate::Via::Conductor(_) => true,
        });
        for at in reached {
            let Some(taker) = case.device(at.device) else { continue };
            let input = case.system.terminal(at).is_some_and(|terminal| terminal.name != "positive");
            let drawn = match &taker.spec {
                Spec::DcDc(dcdc, setting) if input => {
                    let needed =
                        setting.current * setting.absorption / dcdc.efficiency.get() / part.set_voltage;
                    dcdc.input_current.min(needed)
                }
                Spec::Relay(relay) => device_amps(case, Scene::Charging, at.device).unwrap_or(relay.current),
                _ => continue,
            };
            if seen.insert(at.device) {
                parts.push((taker.id.clone(), drawn));
            }
        }
        let drawn: Amps = parts.iter().map(|part| part.1).sum();
        let hot = part.current * part.hot_share;
        let own_share = case.reference.engine_own_share();
        let said = own_load(case);
        let own = said.unwrap_or(part.current * own_share.value);
        let spare = hot - own;
        if drawn <= spare || parts.is_empty() {
            continue;
        }
        let cause = parts.first().and_then(|(id, _)| case.system.devices.get(case.system.find(id)?));
        let found = out.warning(
            &device.id,
            cause.map_or_else(|| device.intent.clone(), |cause| case.part_cause(cause)),
            format!("charging takes {drawn} from {}; hot it can spare {spare}", device.id),
        );
        found.why("An alternator at full output and low speed overheats and fails, usually far from help.");
        found.because(format!(
            "{} x {} hot = {hot}; less {own} for the engine's own loads = {spare}",
            part.current, part.hot_share
        ));
        for (id, amps) in &parts {
            found.because(format!("{id} draws {amps}"));
        }
        if said.is_none() {
            found.cites(&own_share);
        }
        found.undo();
        found.mend(format!("take or set chargers that draw {} or less", spare.max(Amps::zero())));
    }
}

/// The engine's own load, where the derivation was told it.
fn own_load(case: &Case<'_>) -> Option<Amps> {
    let because: &Because = case.system.because.get("engine.spare")?;
    let input = because.inputs.iter().find(|input| input.what.contains("own loads"))?;
    Amps::parse(&input.value).ok()
}
