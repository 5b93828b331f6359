//! Current and voltage of a disconnect against its ratings.
//! Never: judges whether one is there (see `missing_disconnect.rs`).
//! Start at [`RULE`].

use model::{CircuitKind, Spec, TerminalRef};
use quantity::Amps;

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A disconnect carries more current than it is rated for, or stands a higher voltage than it can switch off.
    /// ## Why
    /// Its contacts heat up and weld, and then it cannot be switched off when that matters.
    /// ## Limit
    /// Its continuous current against the steady current of its circuit and of the study; its voltage against the highest there.
    /// ## Mend
    /// A disconnect of a higher rating.
    /// ## Silent when
    /// Both are within its ratings; the voltage of an array's disconnect is judged with the array.
    /// ## Example
    /// A main disconnect of 150 A with 220 A through it.
    "disconnect-overloaded", Danger, "a disconnect carries more than its rating",
    reads: "currents of the conductors at each disconnect, its ratings",
    na: "ABYC E-11", iec: "ISO 10133",
    sources: ["abyc-e11", "iso-10133"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::Disconnect(part) = &device.spec else { continue };
        let ends =
            (0..device.terminals.len()).flat_map(|terminal| case.at(TerminalRef { device: ix, terminal }));
        let current = ends.map(|conductor| case.current(*conductor)).fold(Amps::zero(), Amps::max);
        if current > part.current {
            let message = format!("{} carries {current}; it is rated {}", device.id, part.current);
            out.danger(&device.id, case.part_cause(device), message)
                .why("Its contacts heat up and can weld, so that it no longer switches off.")
                .because(format!("largest steady current of a conductor at it: {current}"))
                .undo()
                .mend(format!("choose a disconnect of at least {current}"));
        }
        let Some(circuit) = case.circuit_at(ix).filter(|circuit| circuit.kind != CircuitKind::Array) else {
            continue;
        };
        let volts = case.highest_of(circuit);
        if volts > part.voltage {
            let message = format!("{} switches {}; {volts} stand there", device.id, part.voltage);
            out.danger(&device.id, case.part_cause(device), message)
                .why("The arc does not go out when it is opened.")
                .because(format!("highest voltage of circuit {}: {volts}", circuit.id))
                .undo()
                .mend(format!("choose a disconnect made for at least {volts} of direct current"));
        }
    }
}
