//! Negative current that the shunt does not see: a cut of the return graph at the shunt.
//! Never: judges the shunt's rating (see `shunt_overloaded.rs`).
//! Start at [`RULE`].

use std::collections::{BTreeMap, BTreeSet};

use model::{DeviceIx, Pole, Spec, TerminalRef};

use crate::graph::Via;
use crate::returns::{bank_negatives, is_chassis, is_return, uses_return};
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A conductor joins the bank's negative to a consumer, a source or the chassis without going through the shunt.
    /// ## Why
    /// The monitor does not count that current; its state of charge drifts until the bank is empty, or full, unannounced.
    /// ## Limit
    /// With the shunt taken out, nothing but batteries and their links hangs on the bank's negative posts.
    /// ## Mend
    /// Move the conductor to the system side of the shunt.
    /// ## Silent when
    /// All negative current passes the shunt; or there is no shunt.
    /// ## Example
    /// A charger's negative on the battery post.
    "current-past-shunt", Warning, "negative current goes past the shunt",
    reads: "the graph of negative and bonded terminals without the shunt",
    na: "common practice", iec: "common practice",
    sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let graph = &case.graph;
    let is_shunt = |device: DeviceIx| case.device(device).is_some_and(|d| matches!(d.spec, Spec::Shunt(_)));
    let shunts: Vec<DeviceIx> = (0..case.system.devices.len()).filter(|ix| is_shunt(*ix)).collect();
    if shunts.is_empty() {
        return;
    }
    // The bank's side: its negative posts, the shunts' bank terminals, and busbars between the two.
    let mut bank_side = vec![false; case.graph.len()];
    let mut posts = bank_negatives(case);
    posts.extend(shunts.iter().filter_map(|shunt| case.terminal(*shunt, "bank")));
    let bars: Vec<TerminalRef> = shunts
        .iter()
        .filter_map(|shunt| case.terminal(*shunt, "bank"))
        .flat_map(|at| case.at(at))
        .filter_map(|ix| case.conductor(*ix))
        .flat_map(|conductor| [conductor.from, conductor.to])
        .filter(|end| {
            case.device(end.device).is_some_and(|d| matches!(d.spec, Spec::Busbar(_) | Spec::Disconnect(_)))
        })
        .collect();
    posts.extend(bars);
    for node in posts.iter().filter_map(|at| graph.node(*at)) {
        bank_side[node] = true;
    }
    let parts = graph.parts(
        |node| is_return(case, graph.terminal(node)) && !bank_side[node],
        |via| !matches!(via, Via::Device(device) if is_shunt(device)),
    );
    // Who uses the return in each part.
    let mut users: BTreeMap<usize, BTreeSet<DeviceIx>> = BTreeMap::new();
    for (node, part) in parts.iter().enumerate() {
        let device = graph.terminal(node).device;
        let uses = case.device(device).is_some_and(|device| uses_return(&device.spec));
        if let Some(part) = part
            && (uses || is_chassis(case, device))
        {
            users.entry(*part).or_default().insert(device);
        }
    }
    for conductor in &case.system.conductors {
        let (Some(from), Some(to)) = (graph.node(conductor.from), graph.node(conductor.to)) else { continue };
        let outer = match (bank_side[from], bank_side[to]) {
            (true, false) => conductor.to,
            (false, true) => conductor.from,
            _ => continue,
        };
        if !is_return(case, outer)
            || case.pole(conductor.from) == Some(Pole::Positive)
            || case.pole(conductor.to) == Some(Pole::Positive)
        {
            continue;
        }
        let hangs = graph.node(outer).and_then(|node| users.get(&parts[node]?));
        let Some(users) = hangs else { continue };
        let users: Vec<&str> = users.iter().map(|device| case.name(*device)).collect();
        let shown: Vec<&str> = users.iter().copied().take(3).collect();
        let more = if users.len() > shown.len() {
            format!(" and {} more", users.len() - shown.len())
        } else {
            String::new()
        };
        let message = format!(
            "{} joins the bank's negative to {}{more} past the shunt",
            conductor.id,
            shown.join(", ")
        );
        let found = out.warning(&conductor.id, &conductor.intent, message);
        found.why("The monitor does not count this current, so the state of charge it shows drifts away from the truth.");
        found.because(format!(
            "its ends: {} and {}",
            case.system.terminal_name(conductor.from),
            case.system.terminal_name(conductor.to)
        ));
        let system_side = shunts
            .first()
            .and_then(|shunt| case.terminal(*shunt, "system"))
            .map(|at| case.system.terminal_name(at));
        found.undo().mend(format!(
            "move its bank end to {}, or to the negative busbar behind it",
            system_side.unwrap_or_else(|| "the system side of the shunt".to_owned())
        ));
    }
}
