//! How many conductors share a stud.
//! Never: judges whether each fits (see `lug_does_not_fit.rs`).
//! Start at [`RULE`].

use model::{Spec, TerminalRef};

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// More conductors end on a stud than it may hold.
    /// ## Why
    /// The stack settles, the nut loosens, the upper lugs carry their current through the thread.
    /// ## Limit
    /// Four terminals on one stud (ABYC E-11). A busbar has as many times that as it has studs, and one wire for each small screw.
    /// ## Mend
    /// A busbar with more studs.
    /// ## Silent when
    /// The count is within the limit; at the ways of a panel.
    /// ## Example
    /// Six cables on one battery post.
    "lugs-stacked", Warning, "too many lugs share a stud",
    reads: "conductors at each terminal with a stud, studs and screws of busbars",
    na: "ABYC E-11", iec: "none of its own; the ABYC rule is used",
    sources: ["abyc-e11"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let each = case.reference.terminals_per_stud();
    for (ix, device) in case.system.devices.iter().enumerate() {
        for (terminal, data) in device.terminals.iter().enumerate() {
            let end = TerminalRef { device: ix, terminal };
            let Some(stud) = data.stud else { continue };
            let lugs = case.at(end).iter().filter_map(|ix| case.conductor(*ix));
            let lugs: Vec<_> = lugs.filter(|c| !c.is_internal && !case.is_way_of_panel(c, end)).collect();
            let (studs, screws) = match &device.spec {
                Spec::Busbar(bar) => (bar.studs, bar.screws.unwrap_or(0)),
                _ => (1, 0),
            };
            let most = studs.saturating_mul(each.value).saturating_add(screws);
            let count = u32::try_from(lugs.len()).unwrap_or(u32::MAX);
            if count <= most {
                continue;
            }
            let name = case.system.terminal_name(end);
            let message = format!("{count} conductors end at {name} ({}); it may hold {most}", stud.word());
            let built =
                lugs.iter().map(|conductor| &conductor.intent).find(|intent| intent.starts_with("built"));
            let cause = built.cloned().unwrap_or_else(|| case.part_cause(device));
            let found = out.warning(&name, cause, message);
            found
                .why("A high stack of lugs settles and loosens; the joint heats up, and on a battery post it can burn.")
                .because(format!("{studs} x {} on studs, {screws} on screws", each.value))
                .because(lugs.iter().map(|conductor| conductor.id.as_str()).collect::<Vec<_>>().join(", "))
                .cites(&each)
                .undo()
                .mend("take some of them to a busbar with free studs");
        }
    }
}
