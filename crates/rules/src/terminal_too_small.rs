//! Conductor size against the largest that a terminal takes.
//! Never: judges lugs (see `lug_does_not_fit.rs`).
//! Start at [`RULE`].

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A conductor is thicker than the terminal it ends at takes.
    /// ## Why
    /// Strands are cut off or the clamp does not close; the joint heats and burns.
    /// ## Limit
    /// The largest conductor of the terminal, from its data sheet. Sizes of the two series compare by cross-section.
    /// ## Mend
    /// A thinner conductor that still carries the current, else a device with larger terminals.
    /// ## Silent when
    /// The conductor is at or below the terminal's largest, or the largest is not known.
    /// ## Example
    /// 2/0 AWG at a fuse holder made for up to 2 AWG.
    "terminal-too-small", Warning, "a conductor is thicker than its terminal takes",
    reads: "conductor size, largest conductor of the terminals",
    na: "NEC 110.14", iec: "the data sheet of the device",
    sources: ["nec-110-14"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, conductor) in case.cables() {
        for end in [conductor.from, conductor.to] {
            let Some(terminal) = case.system.terminal(end) else { continue };
            let Some(most) = terminal.max_gauge.filter(|most| conductor.gauge > *most) else { continue };
            let name = case.system.terminal_name(end);
            let message = format!("{} is {}; {name} takes at most {most}", conductor.id, conductor.gauge);
            let found = out.warning(&conductor.id, case.gauge_cause(conductor), message);
            found
                .why("To get it in, strands are cut off or the clamp stays open; the joint heats up and can burn.")
                .because(format!("{} against {}", conductor.gauge.area(), most.area()))
                .undo();
            // The thickest that fits loses least voltage: it was chosen thick for a reason.
            let sizes = case.reference.gauges(case.system.rules);
            let largest = sizes.iter().copied().filter(|gauge| *gauge <= most).max();
            if let Some(gauge) = largest.and_then(|largest| case.good_gauge(ix, |gauge| gauge >= largest)) {
                found.resize(&[&conductor.id], gauge);
            }
            found.mend(format!("choose for {} a part that takes {}", case.name(end.device), conductor.gauge));
        }
    }
}
