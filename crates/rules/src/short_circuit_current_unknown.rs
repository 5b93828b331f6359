//! The short-circuit current of the bank is worked out, not read off the sheet.
//! Never: judges what follows from it.
//! Start at [`RULE`].

use model::Spec;

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The battery's sheet gives no short-circuit current, so the largest fault current is worked out from its internal resistance.
    /// ## Why
    /// The main fuse must break that current. The true one may be larger, above all for a new lithium battery.
    /// ## Limit
    /// The maker's figure, once known, counts.
    /// ## Mend
    /// Ask the maker, and write the figure down; keep a class T or like fuse of high interrupt rating until then.
    /// ## Silent when
    /// Every battery's short-circuit current is stated.
    /// ## Example
    /// A battery whose sheet gives only its internal resistance.
    "short-circuit-current-unknown", Advice, "the bank's short-circuit current is worked out, not stated",
    reads: "battery sheets",
    na: "ABYC E-11 Table V; NEC 110.9", iec: "IEC 60364-4-43, 434.1", sources: ["abyc-e11-table-v", "iec-60364-4-43"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(bank) = &case.system.bank else { return };
    let unknown = bank.batteries.iter().find_map(|ix| match &case.device(*ix)?.spec {
        Spec::Battery(battery) if !battery.short_circuit_is_stated => Some((case.device(*ix)?, battery)),
        _ => None,
    });
    if let Some((device, battery)) = unknown {
        let found = out.advice(
            &device.id,
            case.part_cause(device),
            format!(
                "the short-circuit current of {} is not stated; {} is worked out",
                device.id, battery.short_circuit
            ),
        );
        found.why(
            "The main fuse is chosen to break this current; if the true one is larger, the fuse may burst.",
        );
        found.because(format!("voltage over internal resistance of {}", battery.part.internal_resistance));
        found.mend("ask the maker, and write the figure down in the battery's part or as `bank.battery_short_circuit`");
    }
}
