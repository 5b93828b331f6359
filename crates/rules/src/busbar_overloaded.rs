//! Current through a busbar against its rating.
//! Never: judges its studs (see `lugs_stacked.rs`).
//! Start at [`RULE`].

use model::{Device, Spec, TerminalRef};
use network::Scene;
use quantity::Amps;

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A busbar carries more current than it is rated for, or stands a higher voltage.
    /// ## Why
    /// Bar and studs heat up and soften what they are mounted on.
    /// ## Limit
    /// Its continuous rating, against the sum of the currents that flow in, in every scene but starting.
    /// ## Mend
    /// A busbar of a higher rating, or a second one that shares the current.
    /// ## Silent when
    /// Current and voltage are within its ratings.
    /// ## Example
    /// 250 A through a busbar of 150 A.
    "busbar-overloaded", Danger, "a busbar carries more than its rating",
    reads: "currents of the conductors at each busbar in every scene but starting, its ratings",
    na: "the data sheet; ABYC E-11", iec: "the data sheet",
    sources: ["abyc-e11"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::Busbar(bar) = &device.spec else { continue };
        let ends: Vec<_> = (0..device.terminals.len())
            .flat_map(|terminal| case.at(TerminalRef { device: ix, terminal }).iter().copied())
            .collect();
        let mut most = Amps::zero();
        for scene in case.results.scenes.iter().filter(|scene| scene.scene != Scene::Starting) {
            // What flows in flows out, so half of all that moves passes through.
            let through =
                ends.iter().filter_map(|ix| scene.amps.get(*ix)).map(|amps| amps.abs()).sum::<Amps>() / 2.0;
            most = most.max(through);
        }
        if most > bar.current {
            let message = format!("{} carries {most}; it is rated {}", device.id, bar.current);
            out.danger(&device.id, bar_cause(case, device), message)
                .why("The bar and its studs get hot and soften what they are screwed to.")
                .because(format!("sum of the currents that flow in, of {} conductors: {most}", ends.len()))
                .undo()
                .mend(format!("choose a busbar of at least {most}"));
        }
        let volts = case
            .voltage_highest()
            .min(case.circuit_at(ix).map_or(case.voltage_highest(), |c| case.highest_of(c)));
        if volts > bar.voltage {
            let message = format!("{} is made for {}; {volts} stand there", device.id, bar.voltage);
            out.danger(&device.id, bar_cause(case, device), message)
                .why("Its clearances are too small for this voltage.")
                .because(format!("highest voltage there: {volts}"))
                .undo()
                .mend(format!("choose a busbar made for at least {volts}"));
        }
    }
}

/// Cause of the choice of a busbar: both poles take the part that is pinned for the positive one.
fn bar_cause(case: &Case<'_>, device: &Device) -> String {
    let twin = device.id.replace("negative", "positive");
    case.cause(&[&format!("{}.part", device.id), &format!("{twin}.part")], &device.intent)
}
