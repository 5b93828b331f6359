//! Whether a ring lug is made for a conductor and a stud.
//! Never: counts lugs (see `lugs_stacked.rs`).
//! Start at [`RULE`].

use model::parts::Stud;
use model::{Conductor, Spec, TerminalRef};

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// No ring lug is made for this conductor size and this stud.
    /// ## Why
    /// A lug with too large a hole touches on its rim only, a drilled one is too thin beside the hole; both heat up.
    /// ## Limit
    /// The lug table: for each size the smallest and largest hole that is made.
    /// ## Mend
    /// A size for which a lug is made, or a part with a fitting stud.
    /// ## Silent when
    /// A lug is made; at screws and clamps; at small screws of a busbar; at the ways of a panel.
    /// ## Example
    /// 1.5 mm² on an M12 stud.
    "lug-does-not-fit", Warning, "no lug is made for a conductor on its stud",
    reads: "conductor size, stud of the terminals",
    na: "common practice", iec: "common practice",
    sources: ["practice"],
    check: check,
}

/// The stud as the reference table names it: inch sizes without their unit.
fn stud_key(stud: Stud) -> String {
    stud.word().trim_end_matches(" in").to_owned()
}

/// Whether the end may go under one of a busbar's small screws.
pub(crate) fn may_take_screw(case: &Case<'_>, conductor: &Conductor, end: TerminalRef) -> bool {
    let Some(Spec::Busbar(bar)) = case.device(end.device).map(|device| &device.spec) else { return false };
    // A branch wire: no lug for the bar's stud is made for it, and there is a screw.
    bar.screws.unwrap_or(0) > 0 && case.reference.lug_for(conductor.gauge, &stud_key(bar.stud)).is_none()
}

/// Whether the end lies in a joint of two cables, whose make is not said.
fn is_joint(case: &Case<'_>, end: TerminalRef) -> bool {
    case.device(end.device).is_some_and(|device| {
        device.part.is_none() && matches!(&device.spec, Spec::Busbar(bar) if bar.studs <= 1)
    })
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, conductor) in case.cables() {
        for end in [conductor.from, conductor.to] {
            let Some(stud) = case.system.terminal(end).and_then(|terminal| terminal.stud) else { continue };
            if case.is_way_of_panel(conductor, end)
                || may_take_screw(case, conductor, end)
                || is_joint(case, end)
            {
                continue;
            }
            let key = stud_key(stud);
            if case.reference.lug_for(conductor.gauge, &key).is_some() {
                continue;
            }
            let name = case.system.terminal_name(end);
            let message =
                format!("no ring lug is made for {} on the {} stud of {name}", conductor.gauge, stud.word());
            let found = out.warning(&conductor.id, case.gauge_cause(conductor), message);
            found.why("A lug that does not fit its stud touches on an edge only; the joint heats up and works loose.");
            let made: Vec<String> = case
                .reference
                .gauges(case.system.rules)
                .iter()
                .filter_map(|gauge| {
                    let lug = case.reference.lug_for(*gauge, &key)?;
                    found.cites(&lug);
                    Some(gauge.to_string())
                })
                .collect();
            // One row of the table is enough to find it.
            found.cite.truncate(1);
            match (made.first(), made.last()) {
                (Some(first), Some(last)) => {
                    found.because(format!("lugs for {} are made from {first} to {last}", stud.word()))
                }
                _ => found.because(format!("the lug table has no size for {}", stud.word())),
            };
            found.undo();
            if let Some(gauge) = case.good_gauge(ix, |gauge| {
                gauge > conductor.gauge && case.reference.lug_for(gauge, &key).is_some()
            }) {
                found.resize(&[&conductor.id], gauge);
            }
            found.mend(format!(
                "choose a size for which a lug is made, or for {} a part whose stud takes {}",
                case.name(end.device),
                conductor.gauge
            ));
        }
    }
}
