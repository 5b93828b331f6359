//! Load current that returns through the chassis or hull.
//! Never: judges the bond itself.
//! Start at [`RULE`].

use model::{Craft, Spec};

use crate::returns::{bank_negatives, is_chassis, is_return, negatives};
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The return of a load, panel, inverter or charger reaches the bank only through the chassis or hull.
    /// ## Why
    /// Joints of the body heat up and corrode, voltage there wanders, and on a boat stray current eats the hull and its fittings.
    /// ## Limit
    /// Every consumer and charger has a return conductor of its own back to the bank.
    /// It is a danger on a boat, else a warning.
    /// ## Mend
    /// A negative conductor of the positive's size from the device to the negative busbar.
    /// ## Silent when
    /// A return conductor leads to the bank; for the vehicle's own engine battery and alternator.
    /// ## Example
    /// A water pump whose negative is screwed to the body.
    "return-through-chassis", Danger, "load current returns through the chassis or hull",
    reads: "the graph of negative and bonded terminals, with and without the chassis",
    na: "33 CFR 183.415, ABYC E-11", iec: "ISO 10133 clause 4",
    sources: ["cfr-33-183", "abyc-e11", "iso-10133"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let starts = bank_negatives(case);
    let graph = &case.graph;
    let with = graph.reach(&starts, |_, edge| is_return(case, graph.terminal(edge.to)));
    let without = graph.reach(&starts, |_, edge| {
        let to = graph.terminal(edge.to);
        is_return(case, to) && !is_chassis(case, to.device)
    });
    for (ix, device) in case.system.devices.iter().enumerate() {
        let counts = matches!(
            device.spec,
            Spec::Load(_)
                | Spec::Inverter(..)
                | Spec::Charger(..)
                | Spec::Controller(..)
                | Spec::Converter(_)
                | Spec::FusePanel(_)
        );
        let nodes: Vec<_> = negatives(case, ix).into_iter().filter_map(|at| graph.node(at)).collect();
        let reached = |by: &[bool]| nodes.iter().any(|node| by[*node]);
        if !counts || !reached(&with) || reached(&without) {
            continue;
        }
        let conductors = negatives(case, ix)
            .into_iter()
            .flat_map(|at| case.at(at).to_vec())
            .filter_map(|ix| case.conductor(ix));
        let cause =
            conductors.map(|conductor| conductor.intent.clone()).find(|intent| intent.starts_with("built"));
        let message = format!("the return of {} reaches the bank through the chassis only", device.id);
        let cause = cause.unwrap_or_else(|| device.intent.clone());
        let found = match case.system.craft {
            Craft::Boat => out.danger(&device.id, cause, message),
            _ => out.warning(&device.id, cause, message),
        };
        let mut size = String::new();
        for at in 0..device.terminals.len() {
            let ends = case.at(model::TerminalRef { device: ix, terminal: at });
            if let Some(live) =
                ends.iter().filter_map(|ix| case.conductor(*ix)).find(|c| c.pole.is_ungrounded())
            {
                size = format!(" of {}", live.gauge);
            }
        }
        found
            .why("Joints of body or hull carry load current: they heat up and corrode, and voltages there wander.")
            .because("without the chassis no conductor leads from its negative terminal to the bank's negative")
            .undo()
            .mend(format!("run a negative conductor{size} from {} to the negative busbar", device.id));
    }
}
