//! Bonds and equipment grounding conductors against the smallest allowed.
//! Never: judges whether a bond is there at all.
//! Start at [`RULE`].

use model::parts::Supply;
use model::{Conductor, Pole, Spec, TerminalRef};
use quantity::{Amps, Gauge};
use reference::{Cited, RuleSet};

use crate::returns::uses_return;
use crate::{Case, Out, protective, rule};

rule! {
    /// ## What
    /// A bond to chassis or hull, or the protective conductor of an AC circuit, is thinner than allowed.
    /// ## Why
    /// On a fault it must carry the current that opens the fuse or breaker; if it burns first, the metal stays live.
    /// ## Limit
    /// Battery negative to chassis: the bond of the rule set, and never below the battery's positive lead (NEC 552.10(C)(4)).
    /// Chassis to AC earth: NEC 551.56(C) or IEC 60364-7-721. AC circuits: NEC Table 250.122 by the breaker, or IEC 60364-5-54 Table 54.2 by
    /// the line conductor.
    /// ## Mend
    /// The size that the table asks for.
    /// ## Silent when
    /// The conductor is as thick; for the vehicle's own strap and for the return of a consumer.
    /// ## Example
    /// A 10 AWG bond from battery negative to chassis beside a 2/0 AWG battery lead.
    "bonding-undersized", Danger, "a bond or grounding conductor is too thin",
    reads: "sizes of bonds and earth conductors, battery leads, breaker ratings, line conductors",
    na: "NEC 250.122, 551.56(C), 552.10(C)(4)", iec: "IEC 60364-5-54 Table 54.2; IEC 60364-7-721",
    sources: ["nec-250-122", "nec-551", "nec-552", "iec-60364-5-54", "iec-60364-7-721"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let lead = largest_lead(case);
    for (ix, conductor) in case.cables() {
        let poles = [case.pole(conductor.from), case.pole(conductor.to)];
        if conductor.pole != Pole::Earth && !poles.contains(&Some(Pole::Earth)) {
            continue;
        }
        let Some((need, reason)) = need(case, conductor, poles, lead) else { continue };
        if conductor.gauge >= need.value {
            continue;
        }
        let message = format!("{} is {}; at least {} is needed", conductor.id, conductor.gauge, need.value);
        let found = out.danger(&conductor.id, case.gauge_cause(conductor), message);
        found
            .why("On a fault this conductor must carry the current that opens the fuse; if it burns through first, metal parts stay live.")
            .because(reason)
            .because(format!("{} against {}", conductor.gauge.area(), need.value.area()))
            .cites(&need)
            .undo();
        match case.good_gauge(ix, |gauge| gauge >= need.value) {
            Some(gauge) => found.resize(&[&conductor.id], gauge),
            None => found.mend(format!("use {} and ends that take it", need.value)),
        };
    }
}

/// The size needed, and why.
fn need(
    case: &Case<'_>,
    conductor: &Conductor,
    poles: [Option<Pole>; 2],
    lead: Option<Gauge>,
) -> Option<(Cited<Gauge>, String)> {
    let rules = case.system.rules;
    let circuit = case.circuit_of(conductor)?;
    if circuit.supply == Supply::Ac && poles == [Some(Pole::Earth); 2] && !joins_chassis(case, conductor) {
        if rules == RuleSet::Iec {
            let line = case.conductors_of(conductor.circuit).iter().filter_map(|ix| case.conductor(*ix));
            let line = line.filter(|line| line.pole == Pole::Line).map(|line| line.gauge).max()?;
            return Some((
                case.reference.protective_gauge(line),
                format!("line conductor of {}: {line}", circuit.id),
            ));
        }
        let ratings = circuit.protection.iter().filter_map(|ix| Some(protective(case.device(*ix)?)?.rating));
        let rating = ratings.min_by(Amps::total_cmp)?;
        let need = case.reference.grounding_gauge(rules, rating).ok()?;
        return Some((need, format!("protection of {}: {rating}", circuit.id)));
    }
    // A consumer that is screwed to the chassis is no bond; `return-through-chassis` reports it.
    let uses = |end: &TerminalRef| case.device(end.device).is_some_and(|device| uses_return(&device.spec));
    if circuit.supply == Supply::Dc && [conductor.from, conductor.to].iter().any(uses) {
        return None;
    }
    if poles.contains(&Some(Pole::Negative)) {
        let need = case.reference.dc_negative_bond(rules, lead.unwrap_or(conductor.gauge));
        let lead = lead.map_or_else(
            || "no positive lead at the bank".to_owned(),
            |lead| format!("largest positive lead at the bank: {lead}"),
        );
        return Some((need, lead));
    }
    Some((case.reference.bonding_gauge(rules), "bond between AC earth and chassis or hull".to_owned()))
}

fn joins_chassis(case: &Case<'_>, conductor: &Conductor) -> bool {
    [conductor.from, conductor.to]
        .iter()
        .any(|end| case.device(end.device).is_some_and(|device| matches!(device.spec, Spec::Chassis)))
}

/// The thickest positive conductor at a battery of the bank, the lead to a fuse beside it too.
fn largest_lead(case: &Case<'_>) -> Option<Gauge> {
    let batteries =
        case.system.devices.iter().enumerate().filter(|(_, d)| matches!(d.spec, Spec::Battery(_)));
    let posts = batteries.filter_map(|(ix, _)| case.terminal(ix, "positive"));
    let leads = posts.flat_map(|post| case.at(post).to_vec());
    leads
        .filter_map(|ix| case.conductor(ix))
        .filter(|conductor| conductor.pole == Pole::Positive)
        .map(|conductor| conductor.gauge)
        .max()
}
