//! The inverter's own draw takes a large share of the energy.
//! Never: judges its size (see `inverter_overloaded.rs`).
//! Start at [`RULE`].

use model::{Edit, Spec};
use quantity::{Fraction, HoursPerDay, Written};

use crate::running::wh;
use crate::{Case, Out, Severity, rule};

/// Share of all that is taken from which idle draw is told. Common practice, no source.
const ADVICE: f64 = 0.2;
/// Share from which it is a warning. Common practice, no source.
const WARNING: f64 = 0.4;

rule! {
    /// ## What
    /// The draw of the inverter while it is on and carries nothing is a large share of all the energy that the system takes in a year.
    /// ## Why
    /// Sun, engine and bank work for a warm box: the same bank without it lasts longer, or a smaller one would do.
    /// ## Limit
    /// Advice from a fifth, warning from two fifths of all that is taken in the typical year. Common practice, no source.
    /// ## Mend
    /// Switch it on only while its loads run, set it to search for loads, or take a smaller one.
    /// ## Silent when
    /// It takes less than a fifth; without an inverter or a bank.
    /// ## Example
    /// An inverter of 3,000 W left on day and night for a phone.
    "inverter-idle-eats-bank", Warning, "the inverter's own draw takes a large share of the energy",
    reads: "typical year of the energy study, idle draw and hours of the inverter",
    na: "common practice", iec: "common practice", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(study) = case.energy else { return };
    let total = &study.year.total;
    let taken = total.served() + total.inverter_loss_wh + total.idle_wh;
    let days: u32 = study.year.months.iter().map(|month| month.used_days).sum();
    for device in &case.system.devices {
        let Spec::Inverter(part, _) = &device.spec else { continue };
        let hours = case.system.usage.inverter_hours.get().min(24.0);
        // Some of it may be carried by shore, which the sums of the year know: all idle draw is the most it can be.
        let own = (part.idle.get() * hours * f64::from(days)).min(total.idle_wh);
        let share = if taken > 0.0 { own / taken } else { 0.0 };
        if share <= ADVICE {
            continue;
        }
        let severity = if share > WARNING { Severity::Warning } else { Severity::Advice };
        let at = case.part_cause(device);
        let found = out.open(
            severity,
            &device.id,
            at,
            format!(
                "{} of the energy goes into {} while it carries nothing",
                Fraction::new((share * 100.0).round() / 100.0),
                device.id
            ),
        );
        found.why("Sun, engine and bank work for a warm box; without it they would last longer.");
        found.because(format!(
            "{} for {} h a day on {days} days is {}, of {} taken in the year",
            part.idle,
            hours,
            wh(own),
            wh(taken)
        ));
        found.undo();
        for factor in [0.5, 0.25] {
            let fewer = (hours * factor * 4.0).round() / 4.0;
            if fewer > 0.0 {
                let fewer = HoursPerDay::new(fewer).show();
                found.fix(format!("switch it on for {fewer} only"), vec![Edit::set("inverter.hours", fewer)]);
            }
        }
        found.mend("set it to search for loads, or take one with less idle draw");
    }
}
