//! Alternating and direct current share a terminal, a run or a sheath.
//! Never: sees the cable's way in the craft; it tells only what the system says.
//! Start at [`RULE`].

use std::collections::BTreeMap;

use model::{Conductor, ConductorIx, Pole, TerminalRef};

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A conductor of the AC side and one of the DC side end at the same terminal, or are cores of the same run.
    /// ## Why
    /// If the insulation between them fails, mains voltage stands on every DC wire, where nobody expects it.
    /// ## Limit
    /// AC and DC apart, or separated by sheath or barrier. Earth and bonding conductors belong to both.
    /// ## Mend
    /// A terminal and a cable of its own for each.
    /// ## Silent when
    /// No terminal and no run holds both.
    /// ## Example
    /// A 12 V lamp wired from a spare core of the mains cable.
    "ac-and-dc-together", Danger, "AC and DC share a terminal or a cable",
    reads: "conductors at each terminal, runs by number",
    na: "ABYC E-11.14.4.5; NEC 551.42, 300.3(C)", iec: "IEC 60364-7-721, 721.528; ISO 13297, 6", sources: ["abyc-e11", "iec-60364-7-721"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    // The cores of one sheath share a run number.
    let mut runs: BTreeMap<u32, Vec<ConductorIx>> = BTreeMap::new();
    let mut ends: BTreeMap<TerminalRef, Vec<ConductorIx>> = BTreeMap::new();
    for (ix, conductor) in case.system.conductors.iter().enumerate() {
        if !conductor.pole.carries_current() {
            continue;
        }
        if !conductor.is_internal && conductor.number > 0 {
            runs.entry(conductor.number).or_default().push(ix);
        }
        for end in [conductor.from, conductor.to] {
            ends.entry(end).or_default().push(ix);
        }
    }
    for (number, cores) in &runs {
        if let Some((ac, dc)) = mixed(case, cores) {
            report(case, out, ac, dc, &format!("are cores of run {number}"));
        }
    }
    for (at, there) in &ends {
        if let Some((ac, dc)) = mixed(case, there) {
            report(
                case,
                out,
                ac,
                dc,
                &format!("end at the same terminal {}", case.system.terminal_name(*at)),
            );
        }
    }
}

/// The first conductor of each side, where both are there.
fn mixed<'s>(case: &Case<'s>, conductors: &[ConductorIx]) -> Option<(&'s Conductor, &'s Conductor)> {
    let first = |ac: bool| {
        let all = conductors.iter().filter_map(|ix| case.conductor(*ix));
        all.into_iter().find(|conductor| conductor.pole.is_ac() == ac && conductor.pole != Pole::Earth)
    };
    Some((first(true)?, first(false)?))
}

fn report(case: &Case<'_>, out: &mut Out, ac: &Conductor, dc: &Conductor, how: &str) {
    let cause = [ac, dc]
        .into_iter()
        .map(|one| &one.intent)
        .find(|path| path.starts_with("built"))
        .unwrap_or(&dc.intent);
    let found =
        out.danger(&dc.id, case.cause(&[], cause), format!("{} (AC) and {} (DC) {how}", ac.id, dc.id));
    found.why("If the insulation between them fails, mains voltage stands on every DC wire and metal part.");
    found.because(format!("{} is {}, {} is {}", ac.id, ac.pole.word(), dc.id, dc.pole.word()));
    found.undo();
    found.mend(format!("give {} a terminal and a cable of its own, apart from AC", dc.id));
}
