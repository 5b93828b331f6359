//! An AC panel has more breakers than places, or is fed with more than it carries.
//! Never: judges breakers one by one.
//! Start at [`RULE`].

use model::Spec;
use quantity::Amps;

use crate::{Case, Out, ac_conductor_undersized_for_breaker::ahead, rule};

rule! {
    /// ## What
    /// The breakers of an AC panel need more places than it has, what feeds it lets through more than its bars carry, or its voltage is wrong.
    /// ## Why
    /// Breakers get doubled up or hung outside, and bars that are fed with too much overheat.
    /// ## Limit
    /// The panel's places, counted in poles; its continuous current; its voltage.
    /// ## Mend
    /// A larger panel.
    /// ## Silent when
    /// Places, current and voltage fit.
    /// ## Example
    /// Seven one-pole breakers in a panel of six.
    "ac-panel-full", Danger, "an AC panel is too small for what it holds",
    reads: "AC panels, their breakers, what feeds them",
    na: "NEC 408.36, 408.54", iec: "IEC 61439-3", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let feeds = ahead(case);
    let mut poles = vec![0_u32; case.system.devices.len()];
    for device in &case.system.devices {
        if let Spec::Breaker(breaker) = &device.spec
            && let Some(panel) = breaker.panel
            && let Some(count) = poles.get_mut(panel)
        {
            *count += breaker.part.poles.max(1);
        }
    }
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::AcPanel(part) = &device.spec else { continue };
        let used = poles.get(ix).copied().unwrap_or(0);
        if used > part.ways {
            let found = out.warning(
                &device.id,
                case.part_cause(device),
                format!("{} needs {used} places for its breakers; it has {}", device.id, part.ways),
            );
            found.why("Breakers end up doubled up or hung outside the panel, without a cover.");
            found.because(format!("{used} poles in {} places", part.ways));
            found.undo();
            found.mend(format!("take a panel of {used} places or more"));
        }
        let feeding = case.terminal(ix, "line").into_iter().flat_map(|at| case.at(at));
        let fed = feeding
            .filter(|conductor| case.conductor(**conductor).is_some_and(|conductor| !conductor.is_internal))
            .filter_map(|conductor| feeds.get(conductor))
            .map(|ahead| ahead.0)
            .fold(Amps::zero(), Amps::max);
        if fed > part.current * (1.0 + 1e-9) {
            let found = out.danger(
                &device.id,
                case.part_cause(device),
                format!("{} stands behind {fed}; it carries {}", device.id, part.current),
            );
            found.why("Its bars and terminals overheat before the breaker ahead of it opens.");
            found.because(format!("what feeds it lets {fed} through all day"));
            found.undo();
            found.mend(format!(
                "take a panel for {fed} or more, or a main breaker of {} or less",
                part.current
            ));
        }
        if let Some(voltage) = case.system.ac_voltage
            && voltage > part.voltage
            && !crate::sources::is_same_nominal(voltage, part.voltage).0
        {
            let found = out.danger(
                &device.id,
                case.part_cause(device),
                format!("{} is made for {}; {voltage} stands there", device.id, part.voltage),
            );
            found.why("Gaps between its bars are too small for this voltage: it can flash over.");
            found.because(format!("{voltage} against {}", part.voltage));
            found.undo();
            found.mend(format!("take a panel for {voltage}"));
        }
    }
}
