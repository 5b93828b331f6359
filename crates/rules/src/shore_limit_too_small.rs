//! The shore inlet cannot carry the charger and the AC loads at once.
//! Never: judges its breaker and conductors (see `inlet_breaker_conductor_disagree.rs`).
//! Start at [`RULE`].

use model::{Edit, Spec};
use quantity::{Amps, Watts, Written};

use crate::running::chargers;
use crate::{Case, Out, Severity, rule};

rule! {
    /// ## What
    /// On shore power the AC loads of a busy day, or those with the charger at full current, ask more than the inlet gives.
    /// ## Why
    /// The breaker of the pitch trips, often at night and behind a locked door; or the charger must be held back and the bank stays low.
    /// ## Limit
    /// Inlet voltage times current. Warning where the AC loads alone pass it on more than one of a hundred days, by the minutes of the
    /// energy study; advice where they do with the charger.
    /// ## Mend
    /// A larger inlet where pitches offer it, a lower charging current, or loads that take turns.
    /// ## Silent when
    /// The inlet carries both; without an inlet or hours of shore power; without a bank.
    /// ## Example
    /// A kettle, a heater and a charger of 60 A on an inlet of 120 V and 15 A.
    "shore-limit-too-small", Warning, "the shore inlet cannot carry charger and loads at once",
    reads: "peaks of the energy study, inlet, settings of the chargers",
    na: "none; the pitch's breaker", iec: "none; the pitch's breaker", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(study) = case.energy else { return };
    if case.system.usage.supply.shore.get() <= 0.0 {
        return;
    }
    let loads = study.peaks.ac.rare;
    let (_, charger_input, names) = chargers(case);
    for device in &case.system.devices {
        let Spec::Inlet(inlet) = &device.spec else { continue };
        let (volts, amps) = (inlet.part.voltage, inlet.part.current);
        let gives = volts * amps;
        let both = loads + Watts::new(charger_input);
        let (severity, asks, what) = if loads > gives {
            (Severity::Warning, loads, "the AC loads".to_owned())
        } else if both > gives {
            (Severity::Advice, both, format!("the AC loads and {}", names.join(", ")))
        } else {
            continue;
        };
        let found = out.open(
            severity,
            &device.id,
            case.part_cause(device),
            format!("{what} take {asks} on a busy day; shore power gives {gives}"),
        );
        found.why("The pitch's breaker trips, often at night; or the charger is held back and the bank stays low.");
        found.because(format!("{volts} and {amps} give {gives}"));
        found.because(format!(
            "AC loads stay below {loads} on 99 of 100 days; the charger takes {} at full current",
            Watts::new(charger_input.round())
        ));
        for larger in larger_inlets(volts.get(), asks.get() / volts.get().max(1.0)) {
            let larger = Amps::new(larger);
            found.fix(format!("take an inlet of {larger}"), vec![
                Edit { path: vec!["shore".to_owned(), "part".to_owned()], value: None },
                Edit::set("shore.current", larger.show()),
            ]);
        }
        found.mend(format!(
            "set the charger so that it takes {} less, or let loads take turns",
            Watts::new((asks - gives).get().ceil())
        ));
    }
}

/// Ratings of inlets in the built-in library at a voltage that carry a current [A], smallest first.
fn larger_inlets(volts: f64, amps: f64) -> Vec<f64> {
    let inlets = model::library::builtin().inlet.values();
    let mut found: Vec<f64> = inlets
        .filter(|inlet| (inlet.voltage.get() - volts).abs() < 1.0 && inlet.current.get() >= amps)
        .map(|inlet| inlet.current.get())
        .collect();
    found.sort_by(f64::total_cmp);
    found.dedup();
    found
}
