//! The AC loads together ask more than the inverter gives, where and as hot as it stands.
//! Never: judges its DC side (see `inverter_input_current.rs`).
//! Start at [`RULE`].

use std::collections::BTreeSet;

use model::parts::Inverter;
use model::{Load, Spec, TerminalRef};
use quantity::{Celsius, Watts};

use crate::sources::{loads_at, together};
use crate::{Case, Out, Severity, ac, rule};

rule! {
    /// ## What
    /// The loads that the inverter feeds and that may run together ask more than it gives at the hottest temperature of its zone; or the
    /// largest start asks more than its surge power.
    /// ## Why
    /// It switches off, usually when the kettle is on and the compressor starts.
    /// ## Limit
    /// Continuous power straight between its figures for 25 °C and 40 °C, and on beyond; surge power for the largest start on top of all the
    /// rest. Apparent power counts, since it is the current that heats it.
    /// ## Mend
    /// A larger inverter, a cooler place, or loads that take turns.
    /// ## Silent when
    /// Both are within what it gives there.
    /// ## Example
    /// A kettle of 1,500 W and an induction plate of 1,800 W on 2,000 W.
    "inverter-overloaded", Warning, "the loads ask more than the inverter gives",
    reads: "AC loads that the inverter reaches, its power figures, heat of its zone",
    na: "NEC 110.3(B), 551.20", iec: "IEC 60364-5-51, 512.1.2", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for source in ac::sources(case) {
        let Some(device) = case.device(source.device) else { continue };
        let Spec::Inverter(part, _) = &device.spec else { continue };
        let mut reached: BTreeSet<TerminalRef> = BTreeSet::new();
        for mode in ac::modes(case, std::slice::from_ref(&source)) {
            reached.extend(mode.lines(case, source.line));
        }
        let reached: Vec<TerminalRef> = reached.into_iter().collect();
        let loads = loads_at(case, &reached);
        let apparent = |load: &Load| load.power.get() / load.power_factor.get().max(0.1);
        let steady = Watts::new(together(&loads, apparent));
        let start = loads.iter().map(|load| (load.power_start - load.power).get()).fold(0.0, f64::max);
        let surge = Watts::new(together(&loads, |load| load.power.get())) + Watts::new(start);
        let hottest = case.system.zones.get(device.zone).map_or(Celsius::new(40.0), |zone| zone.hottest);
        let gives = power_at(part, hottest);
        if steady > gives * (1.0 + 1e-9) {
            let found = out.open(
                Severity::Warning,
                &device.id,
                case.part_cause(device),
                format!(
                    "the AC loads take {:.0} VA together; {} gives {gives} at {hottest}",
                    steady.get(),
                    device.id
                ),
            );
            found.why("It switches everything off when the loads run together on a hot day.");
            found.because(format!(
                "{} at 25 °C, {} at 40 °C; {gives} at {hottest}",
                part.power, part.power_hot
            ));
            let mut sorted = loads.clone();
            sorted.sort_by(|a, b| b.power.total_cmp(&a.power).then_with(|| a.intent.cmp(&b.intent)));
            if let Some(study) = case.energy {
                found.because(format!(
                    "minute by minute, they pass {} on {} of days",
                    part.power, study.peaks.over_inverter
                ));
            }
            for load in sorted.iter().take(4) {
                let turns = load
                    .takes_turns
                    .as_ref()
                    .map_or(String::new(), |group| format!(", takes turns in {group}"));
                found.because(format!("{}: {}{turns}", load.title, load.power));
            }
            found.undo();
            found.mend(format!(
                "take an inverter that gives {:.0} VA at {hottest}, or let loads take turns",
                steady.get()
            ));
        }
        if surge > part.surge * (1.0 + 1e-9) {
            let found = out.open(
                Severity::Warning,
                &device.id,
                case.part_cause(device),
                format!("the largest start takes {surge}; {} gives {} for seconds", device.id, part.surge),
            );
            found.why("It switches everything off when a motor or compressor starts.");
            found.because(format!(
                "all loads together, and {} more while the largest starts",
                Watts::new(start)
            ));
            found.undo();
            if let Some(study) = case.energy {
                found.because(format!(
                    "minute by minute, a start passes {} on {} of days",
                    part.surge, study.peaks.over_surge
                ));
            }
            found.mend(format!("take an inverter with a surge power of {surge}, or a softer start"));
        }
    }
}

/// Continuous power at an ambient: straight between the figures for 25 and 40 °C, and on beyond.
pub(crate) fn power_at(part: &Inverter, ambient: Celsius) -> Watts {
    let (cool, hot) = (Celsius::new(25.0), Celsius::new(40.0));
    let share = ((ambient - cool).get() / (hot - cool).get()).max(0.0);
    (part.power + (part.power_hot - part.power) * share).max(Watts::zero())
}
