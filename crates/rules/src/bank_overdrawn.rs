//! The loads together draw more than the bank may give, steadily or while something starts.
//! Never: finds the currents (see the study).
//! Start at [`RULE`].

use model::{Edit, Spec};
use network::Scene;
use quantity::Amps;

use crate::{Case, Out, rule, sources};

rule! {
    /// ## What
    /// All loads that may run together draw more current than the bank may give, or the largest start does so for seconds.
    /// ## Why
    /// A lithium bank cuts off and everything goes dark at once; a lead-acid bank sags, gets hot and ages.
    /// ## Limit
    /// The data sheet's discharging limit of a battery times the strings; for starts its limit for seconds.
    /// ## Mend
    /// Add strings, take batteries with a higher limit, or let loads take turns.
    /// ## Silent when
    /// The current of the scene with everything on, and of the scene with everything starting, are within the limits.
    /// ## Example
    /// A 2 kW inverter on one 100 Ah battery with a limit of 100 A.
    "bank-overdrawn", Danger, "the bank must give more current than it may",
    reads: "currents of the batteries in the scenes, limits of the bank",
    na: "maker's limit; NEC 110.3(B)", iec: "maker's limit; IEC 60364-1, 134.1.1", sources: [],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(bank) = &case.system.bank else { return };
    let drawn = |scene| {
        case.results.scene(scene)?;
        let first_of_string = bank.batteries.iter().filter(|ix| {
            matches!(case.device(**ix).map(|device| &device.spec), Some(Spec::Battery(battery)) if battery.place == 0)
        });
        Some(first_of_string.filter_map(|ix| sources::device_amps(case, scene, *ix)).sum::<Amps>())
    };
    let strings = |drawn: Amps, limit: Amps| {
        let each = limit / f64::from(bank.parallel.max(1));
        (drawn / each).ceil()
    };
    let steady = drawn(Scene::EverythingOn).unwrap_or(case.system.energy.peak / bank.voltage_low);
    if steady > bank.discharge_limit {
        let found = out.danger(
            "bank",
            case.cause(&["bank.part", "bank.parallel"], "bank"),
            format!("everything on draws {steady} from the bank; it may give {}", bank.discharge_limit),
        );
        found.why("The bank cuts off in the middle of use, or overheats where nothing cuts it off.");
        found.because(format!(
            "{} strings may give {} together; the study draws {steady} at the lowest working voltage of {}",
            bank.parallel, bank.discharge_limit, bank.voltage_low
        ));
        found.undo();
        let count = strings(steady, bank.discharge_limit);
        found.fix(
            format!("have {count} strings of these batteries"),
            vec![Edit::set("bank.parallel", count.to_string())],
        );
        found.mend(format!("let loads take turns until no more than {} is drawn", bank.discharge_limit));
    }
    if let Some(surge) = drawn(Scene::Starting)
        && surge > bank.surge_limit
    {
        let found = out.danger(
            "bank",
            case.cause(&["bank.part", "bank.parallel"], "bank"),
            format!(
                "the largest start draws {surge} from the bank; it may give {} for seconds",
                bank.surge_limit
            ),
        );
        found.why("The bank cuts off just when a motor or a large appliance starts.");
        found.because(format!("everything on draws {steady}; with the largest start {surge}"));
        found.undo();
        let count = strings(surge, bank.surge_limit);
        found.fix(
            format!("have {count} strings of these batteries"),
            vec![Edit::set("bank.parallel", count.to_string())],
        );
        found.mend("take a load with a gentler start");
    }
}
