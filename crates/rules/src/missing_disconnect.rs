//! Whether the bank can be cut off by hand.
//! Never: judges the disconnect's rating (see `disconnect_overloaded.rs`).
//! Start at [`RULE`].

use model::{Pole, Spec};

use crate::graph::Via;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// Consumers are fed by the bank through no disconnect or breaker that can be switched off by hand.
    /// ## Why
    /// In a fire or before work on the wiring the bank cannot be cut off.
    /// ## Limit
    /// Between the bank's positive posts and every panel, inverter, converter and load stands a disconnect or a breaker.
    /// Critical loads may bypass it, as a bilge pump must.
    /// ## Mend
    /// A main disconnect between main fuse and positive busbar, within reach.
    /// ## Silent when
    /// A disconnect or breaker stands in every such way.
    /// ## Example
    /// A main fuse bolted straight to the positive busbar.
    "missing-disconnect", Warning, "the bank cannot be cut off by hand",
    reads: "the graph of positive terminals from the bank, without disconnects and breakers",
    na: "ABYC E-11; NEC 551", iec: "ISO 10133 clause 6",
    sources: ["abyc-e11", "nec-551", "iso-10133"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let batteries =
        case.system.devices.iter().enumerate().filter(|(_, device)| matches!(device.spec, Spec::Battery(_)));
    let posts: Vec<_> = batteries.filter_map(|(ix, _)| case.terminal(ix, "positive")).collect();
    let graph = &case.graph;
    let is_positive = |node: usize| case.pole(graph.terminal(node)) == Some(Pole::Positive);
    let opens = |via: Via| match via {
        Via::Device(device) => case
            .device(device)
            .is_some_and(|device| matches!(device.spec, Spec::Disconnect(_) | Spec::Breaker(_))),
        Via::Conductor(_) => false,
    };
    let reached = graph.reach(&posts, |_, edge| is_positive(edge.to) && !opens(edge.via));
    let mut fed: Vec<&str> = Vec::new();
    for (node, _) in reached.iter().enumerate().filter(|(_, reached)| **reached) {
        let Some(device) = case.device(graph.terminal(node).device) else { continue };
        let counts = match &device.spec {
            Spec::Load(load) => !load.critical,
            Spec::Inverter(..) | Spec::FusePanel(_) | Spec::Converter(_) => true,
            _ => false,
        };
        if counts && !fed.contains(&device.id.as_str()) && fed.len() < 4 {
            fed.push(&device.id);
        }
    }
    let Some(first) = fed.first() else { return };
    let shown = fed[..fed.len().min(3)].join(", ");
    let more = if fed.len() > 3 { " and more" } else { "" };
    let built = case
        .system
        .conductors
        .iter()
        .map(|conductor| &conductor.intent)
        .find(|intent| intent.starts_with("built"));
    let cause = built.cloned().unwrap_or_else(|| "bank".to_owned());
    out.warning("bank", cause, format!("nothing cuts {shown}{more} off from the bank by hand"))
        .why("In a fire, or before work on the wiring, the bank cannot be switched off.")
        .because(format!("a way leads from the bank's positive to {first} without a disconnect or breaker"))
        .undo()
        .mend("fit a disconnect between the main fuse and the positive busbar, within reach");
}
