//! Two AC sources can feed the same conductor at once.
//! Never: judges neutral bonds (see `neutral_bond_count.rs`).
//! Start at [`RULE`].

use crate::{Case, Out, ac, rule};

rule! {
    /// ## What
    /// In some position of the switches two sources of alternating current feed the same line.
    /// ## Why
    /// They are never in step: the inverter is destroyed at once, or the prongs of an unplugged shore cord are live in someone's hand.
    /// ## Limit
    /// One source at a time, held apart by a transfer switch or relay.
    /// ## Mend
    /// A transfer switch between the sources.
    /// ## Silent when
    /// No position joins two sources.
    /// ## Example
    /// An inverter wired to the panel that shore power feeds.
    "ac-sources-in-parallel", Danger, "two AC sources can feed the same line at once",
    reads: "AC sources, transfer switches, relays, line conductors",
    na: "NEC 702.5, 551.30(B); ABYC E-11.5.6", iec: "IEC 60364-5-55, 551.6", sources: ["nec-551"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let all = ac::sources(case);
    let mut reported: Vec<(usize, usize)> = Vec::new();
    for mode in ac::modes(case, &all) {
        for (index, one) in all.iter().enumerate() {
            if mode.passes(one.device) {
                continue;
            }
            let lines = mode.lines(case, one.line);
            for other in &all[index + 1..] {
                let pair = (one.device, other.device);
                if mode.passes(other.device) || !lines.contains(&other.line) || reported.contains(&pair) {
                    continue;
                }
                reported.push(pair);
                let built = lines.iter().flat_map(|at| case.at(*at)).filter_map(|ix| case.conductor(*ix));
                let built = built.map(|conductor| &conductor.intent).find(|path| path.starts_with("built"));
                let Some(device) = case.device(other.device) else { continue };
                let found = out.danger(
                    &device.id,
                    built.cloned().unwrap_or_else(|| case.part_cause(device)),
                    format!("{} and {} can feed the same line at once", case.name(one.device), device.id),
                );
                found.why("Out of step they destroy one another, and the prongs of an unplugged shore cord can be live.");
                found.because(format!(
                    "{} and {} hang together through conductors and closed breakers, with no transfer switch between them",
                    case.system.terminal_name(one.line),
                    case.system.terminal_name(other.line)
                ));
                found.undo();
                found.mend("put a transfer switch between them that gives the panel one source or the other");
            }
        }
    }
}
