//! An AC load is not behind a residual-current device.
//! Never: judges overcurrent.
//! Start at [`RULE`].

use std::collections::BTreeSet;

use model::{DeviceIx, Spec};
use reference::RuleSet;

use crate::{Case, Out, Severity, ac, rule};

rule! {
    /// ## What
    /// A source of alternating current reaches a load without passing a residual-current device (ground-fault interrupter).
    /// ## Why
    /// Damp, metal all round and bare feet: a fault current through a body is far too small for any breaker, and kills within a second.
    /// ## Limit
    /// A device that trips at 30 mA or less between every source and every load. Danger under `iec`; warning under `na`, where receptacles
    /// can have their own interrupter of 6 mA that this tool does not see.
    /// ## Mend
    /// A residual-current main breaker ahead of the panel, behind the transfer switch so that it works on every source.
    /// ## Silent when
    /// Every load is behind such a device on every source.
    /// ## Example
    /// An inverter straight to an outlet.
    "missing-residual-current-device", Danger, "an AC load has no residual-current protection",
    reads: "AC sources, breakers, loads",
    na: "NEC 551.40(C), 551.41(C); ABYC E-11.11", iec: "IEC 60364-7-721, 721.415.1; IEC 60364-4-41, 411.3.3",
    sources: ["abyc-e11", "iec-60364-4-41", "nec-551"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let limit = case.reference.residual_limit(case.system.rules);
    let protects = |device: DeviceIx| match case.device(device).map(|device| &device.spec) {
        Some(Spec::Breaker(breaker)) => breaker.part.residual.is_some_and(|trips| trips <= limit.value),
        _ => false,
    };
    let mode = ac::all_joined(case);
    let mut bare: BTreeSet<DeviceIx> = BTreeSet::new();
    let mut by: Option<DeviceIx> = None;
    for source in ac::sources(case) {
        let before = bare.len();
        for at in mode.lines_up_to(case, source.line, protects) {
            let is_taker = matches!(case.device(at.device).map(|device| &device.spec), Some(Spec::Load(_)));
            if is_taker {
                bare.insert(at.device);
            }
        }
        if bare.len() > before && by.is_none() {
            by = Some(source.device);
        }
    }
    let Some(&first) = bare.first() else { return };
    let names: Vec<&str> = bare.iter().take(5).map(|ix| case.name(*ix)).collect();
    let more = if bare.len() > 5 { format!(" and {} more", bare.len() - 5) } else { String::new() };
    let severity = if case.system.rules == RuleSet::Iec { Severity::Danger } else { Severity::Warning };
    let weak = case.system.devices.iter().find(|device| {
        matches!(&device.spec, Spec::Breaker(breaker) if breaker.part.residual.is_some_and(|trips| trips > limit.value))
    });
    // A conductor on the way that somebody changed is the likely cause: the device was left out there.
    let sources = ac::sources(case);
    let ends = sources.iter().flat_map(|source| mode.lines_up_to(case, source.line, protects));
    let built = ends.flat_map(|at| case.at(at)).filter_map(|ix| case.conductor(*ix));
    let built = built.map(|conductor| conductor.intent.clone()).find(|path| path.starts_with("built"));
    let intent = match (weak, case.device(first)) {
        (Some(weak), _) => case.protection_cause(weak),
        (None, Some(load)) => built.unwrap_or_else(|| case.cause(&["ac.feed.residual.part"], &load.intent)),
        (None, None) => "ac".to_owned(),
    };
    let found = out.open(
        severity,
        case.name(first),
        intent,
        format!(
            "{} reaches {}{more} without a device that trips at {} or less",
            by.map_or("a source", |by| case.name(by)),
            names.join(", "),
            limit.value
        ),
    );
    found.why("A fault through your body is too small for any breaker and kills within a second.");
    if let Some(weak) = weak {
        found.because(format!("{} trips only at a larger residual current", weak.id));
    }
    found.because(format!("{} loads are reached without passing a residual-current device", bare.len()));
    found.cites(&limit);
    found.undo();
    found.mend(format!(
        "fit a residual-current breaker of {} or less ahead of the AC panel, behind any transfer switch",
        limit.value
    ));
}
