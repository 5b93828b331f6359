//! Current through the shunt against its rating.
//! Never: judges what goes past it (see `current_past_shunt.rs`).
//! Start at [`RULE`].

use model::{Spec, TerminalRef};
use network::Scene;
use quantity::Amps;

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The shunt carries more current than it is rated for.
    /// ## Why
    /// It heats up, measures wrongly and can come unsoldered.
    /// ## Limit
    /// Its rated current, against the steady current through it in every scene but starting and that of its circuit.
    /// ## Mend
    /// A shunt of a higher rating.
    /// ## Silent when
    /// The current is within its rating.
    /// ## Example
    /// 280 A through a 200 A shunt.
    "shunt-overloaded", Warning, "the shunt carries more than its rating",
    reads: "currents through the shunt, its rating",
    na: "the data sheet", iec: "the data sheet",
    sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::Shunt(shunt) = &device.spec else { continue };
        let scenes = case.results.scenes.iter().filter(|scene| scene.scene != Scene::Starting);
        let studied = scenes
            .filter_map(|scene| scene.device_amps.get(ix))
            .map(|amps| amps.abs())
            .fold(Amps::zero(), Amps::max);
        let ends =
            (0..device.terminals.len()).flat_map(|terminal| case.at(TerminalRef { device: ix, terminal }));
        // The main circuit's own figure; branch returns on the system stud are parts of it.
        let planned = ends
            .filter_map(|conductor| case.circuit_of(case.conductor(*conductor)?))
            .map(|circuit| circuit.current_steady)
            .fold(Amps::zero(), Amps::max);
        let current = studied.max(planned);
        if current <= shunt.current {
            continue;
        }
        let message = format!("{} carries {current}; it is rated {}", device.id, shunt.current);
        out.warning(&device.id, case.part_cause(device), message)
            .why("It gets hot, the state of charge it shows is wrong, and its joints can come loose.")
            .because(format!("{studied} in the study, {planned} planned for its circuit"))
            .undo()
            .mend(format!("choose a shunt of at least {current}"));
    }
}
