//! Interrupt and voltage rating of DC protection against the fault and voltage where it stands.
//! Never: judges AC devices, whose fault current is not studied.
//! Start at [`RULE`].

use model::parts::{Chemistry, Supply};
use model::{CircuitKind, Spec};
use quantity::{AmpHours, Amps};

use crate::{Case, Out, protective, rule};

rule! {
    /// ## What
    /// A fuse or breaker cannot break the fault current that can flow where it stands, or is not made for the voltage there.
    /// ## Why
    /// It opens, the arc goes on burning inside it, and it bursts or burns.
    /// ## Limit
    /// Its interrupt rating at this voltage is at least the prospective fault current; `na` for lead-acid banks up to 500 Ah by Table V.
    /// Its voltage rating is at least the highest charging voltage.
    /// ## Mend
    /// A family that breaks the current at this voltage, or a current-limiting main fuse and a longer cable before the panel.
    /// ## Silent when
    /// It can break the fault; for AC devices.
    /// ## Example
    /// A strip fuse that breaks 2 kA as main fuse of a lithium bank that can give 6 kA.
    "fuse-cannot-interrupt", Danger, "a fuse cannot break the fault current or voltage where it stands",
    reads: "largest fault current at the device, interrupt and voltage ratings, highest voltage",
    na: "ABYC E-11 Table V and the rule for large banks", iec: "IEC 60364-4-43, 434.5.1",
    sources: ["abyc-e11-table-v", "iec-60364-4-43"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let system = case.system;
    let is_lithium = system.bank.as_ref().is_some_and(|bank| bank.chemistry == Chemistry::Lfp);
    let capacity = system.bank.as_ref().map_or(AmpHours::zero(), |bank| bank.capacity);
    for (ix, device) in system.devices.iter().enumerate() {
        let Some(fuse) = protective(device) else { continue };
        let Some(circuit) = case.circuit_at(ix).filter(|circuit| circuit.supply == Supply::Dc) else {
            continue;
        };
        // Voltage: an array's own rises with cold and is judged with the array.
        let volts =
            if circuit.kind == CircuitKind::Array { circuit.voltage } else { case.highest_of(circuit) };
        let rated = match &device.spec {
            Spec::Breaker(breaker) => breaker.part.dc_voltage,
            _ => fuse
                .family
                .and_then(|id| case.reference.fuse_family(id))
                .and_then(|family| family.voltage_rating(false)),
        };
        if rated.is_none_or(|rated| rated < volts) {
            let found = out.danger(
                &device.id,
                case.protection_cause(device),
                match rated {
                    Some(rated) => {
                        format!("{} is made for {rated} of direct current; {volts} stand there", device.id)
                    }
                    None => {
                        format!("{} is not known to break direct current; {volts} stand there", device.id)
                    }
                },
            );
            found.why("When it opens, the arc does not go out and it burns.");
            found.because(format!("highest voltage of circuit {}: {volts}", circuit.id)).undo();
            offer(case, &device.id, fuse.rating, volts, Amps::zero(), found);
            continue;
        }
        // Prospective current counts as if a link without resistance stood in place of the device: its own does not help.
        let faults = (0..device.terminals.len())
            .filter_map(|terminal| case.results.most_fault(model::TerminalRef { device: ix, terminal }));
        let Some(fault) = faults.max_by(Amps::total_cmp) else { continue };
        let is_main = circuit.kind == CircuitKind::Main;
        let need = case.reference.interrupt_required(system.rules, is_lithium, capacity, fault, is_main);
        if fuse.interrupt >= need.value {
            continue;
        }
        let message =
            format!("{} can break {}; {} can be needed there", device.id, fuse.interrupt, need.value);
        let found = out.danger(&device.id, case.protection_cause(device), message);
        found.why("On a short circuit it opens but the arc burns on inside it; it can burst and set fire to the panel.");
        found.because(format!("prospective fault current at {}: {fault}", device.id)).cites(&need).undo();
        let panel = match &device.spec {
            Spec::Fuse(fuse) => fuse.panel,
            Spec::Breaker(breaker) => breaker.panel,
            _ => None,
        };
        match panel {
            Some(panel) => {
                let feeder = format!(
                    "choose for {} a panel whose fuses break {}, or feed it by a longer or thinner cable behind a high-interrupt fuse",
                    case.name(panel),
                    need.value
                );
                found.mend(feeder);
            }
            None => offer(case, &device.id, fuse.rating, volts, need.value, found),
        }
    }
}

/// Offers the families that break `need` at `volts` and are made in this rating.
fn offer(
    case: &Case<'_>,
    device: &str,
    rating: Amps,
    volts: quantity::Volts,
    need: Amps,
    found: &mut crate::Finding,
) {
    let fits = case.reference.fuse_families().iter().filter(|family| {
        family.rules.contains(&case.system.rules)
            && family.interrupts(volts, false).is_some_and(|breaks| breaks >= need)
            && family.ratings.contains(&rating)
    });
    for family in fits {
        found.pin(format!("fit a {} of {rating}", family.name), &format!("{device}.family"), &family.id);
    }
    if found.fixes.is_empty() {
        found.mend(format!("fit a fuse that breaks {need} at {volts}"));
    }
}
