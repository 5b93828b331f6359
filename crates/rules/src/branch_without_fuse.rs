//! Branch circuits without protection of their own.
//! Never: judges whether the conductor would burn (see `unprotected_conductor.rs`).
//! Start at [`RULE`].

use model::parts::Supply;
use model::{CircuitKind, Spec};

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A branch circuit to a load has no fuse or breaker of its own, although what feeds it may protect its conductor.
    /// ## Why
    /// A fault in this one load puts out everything behind the same fuse, and the load's own wires are not protected.
    /// ## Limit
    /// One protective device for each branch circuit.
    /// ## Mend
    /// A fuse at the start of the branch, just large enough for its load.
    /// ## Silent when
    /// The branch has its own device; for circuits that serve no load.
    /// ## Example
    /// A gas alarm joined straight to the panel's bus.
    "branch-without-fuse", Warning, "a branch circuit has no protection of its own",
    reads: "protective devices of each branch circuit",
    na: "33 CFR 183.455", iec: "ISO 10133 clause 8",
    sources: ["cfr-33-183", "iso-10133"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, circuit) in case.system.circuits.iter().enumerate() {
        let serves_load = circuit
            .serves
            .iter()
            .any(|device| case.device(*device).is_some_and(|d| matches!(d.spec, Spec::Load(_))));
        if circuit.kind != CircuitKind::Branch
            || circuit.supply != Supply::Dc
            || !serves_load
            || !circuit.protection.is_empty()
        {
            continue;
        }
        let conductors = case.conductors_of(ix).iter().filter_map(|ix| case.conductor(*ix));
        let built = conductors.map(|conductor| &conductor.intent).find(|intent| intent.starts_with("built"));
        let found = out.warning(
            &circuit.id,
            built.unwrap_or(&circuit.intent),
            format!(
                "circuit {} has no fuse of its own; it needs one of at least {}",
                circuit.id, circuit.protection_least
            ),
        );
        found
            .why("A fault in this one load puts out everything behind the same fuse, and the load's own thin wires can burn.")
            .because(format!("it draws {}, and no protective device belongs to it", circuit.current_steady))
            .undo()
            .mend(format!("fit a fuse of at least {} where the branch begins", circuit.protection_least));
    }
}
