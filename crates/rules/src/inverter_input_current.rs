//! At its full power and the lowest voltage an inverter draws more than its DC circuit carries.
//! Never: judges the bank (see `bank_overdrawn.rs`).
//! Start at [`RULE`].

use model::{CircuitIx, Pole, Spec};
use network::inrush;
use quantity::{Henries, Ohms, Volts};

use crate::{Case, Out, protective, rule};

rule! {
    /// ## What
    /// The inverter's current at full power and the lowest working voltage is more than its DC conductors carry or its fuse is rated for; or
    /// its input capacitors are so large that they want precharging.
    /// ## Why
    /// The lower the bank, the more current the same kettle draws. The fuse opens on a cold evening, or the cable overheats. Large capacitors
    /// weld a switch that closes onto them.
    /// ## Limit
    /// Power over efficiency and lowest voltage; danger for a conductor, warning for a fuse, advice to precharge from 10 mF (common practice).
    /// ## Mend
    /// Thicker conductors and a larger fuse; a resistor across the disconnect while switching on.
    /// ## Silent when
    /// Conductors and fuse carry it, and the capacitors are small.
    /// ## Example
    /// 3,000 W at 10.5 V on a 250 A fuse.
    "inverter-input-current", Danger, "an inverter draws more than its DC circuit carries",
    reads: "inverters, their circuits, lowest working voltage",
    na: "NEC 551.20, 215.2; ABYC E-11", iec: "IEC 60364-4-43, 433.1", sources: ["practice", "nec-310"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::Inverter(part, _) = &device.spec else { continue };
        let Some(circuit_ix) =
            case.system.circuits.iter().position(|circuit| {
                circuit.kind == model::CircuitKind::Inverter && circuit.serves.contains(&ix)
            })
        else {
            continue;
        };
        let circuit = &case.system.circuits[circuit_ix];
        // The bank stops before the inverter does where its lowest working voltage is the higher of the two.
        let bank_low = case.system.bank.as_ref().map_or(circuit.voltage_lowest, |bank| bank.voltage_low);
        let lowest = part.lowest_input.max(bank_low);
        let current = part.power / part.efficiency_full.get() / lowest;
        let step = format!("{} / ({} x {lowest}) = {current}", part.power, part.efficiency_full);
        for conductor_ix in case.conductors_of(circuit_ix) {
            let (Some(conductor), Some(Ok(ampacity))) =
                (case.conductor(*conductor_ix), case.ampacity(*conductor_ix))
            else {
                continue;
            };
            if conductor.is_internal || !conductor.pole.carries_current() || ampacity.value >= current {
                continue;
            }
            let found = out.danger(
                &conductor.id,
                case.gauge_cause(conductor),
                format!(
                    "{} draws {current} at {lowest}; {} carries {}",
                    device.id, conductor.id, ampacity.value
                ),
            );
            found.why("The cable overheats while the bank is low and the inverter works hard.");
            found.because(&step).cites(ampacity);
            found.undo();
            let fits = |gauge| {
                case.place(conductor).is_some_and(|place| {
                    let found =
                        case.reference.ampacity(case.system.rules, gauge, conductor.insulation, &place);
                    found.is_ok_and(|found| found.value >= current)
                })
            };
            match case.good_gauge(*conductor_ix, fits) {
                Some(gauge) => found.resize(&case.thinner_than(*conductor_ix, gauge), gauge),
                None => found.mend("take two conductors in parallel, or a bank of a higher voltage"),
            };
        }
        let fuses = circuit
            .protection
            .iter()
            .filter_map(|fuse| Some((case.device(*fuse)?, protective(case.device(*fuse)?)?.rating)));
        for (fuse, rating) in fuses {
            if rating >= current {
                continue;
            }
            let found = out.warning(
                &fuse.id,
                case.protection_cause(fuse),
                format!("{} draws {current} at {lowest}; {} is {rating}", device.id, fuse.id),
            );
            found.why("The fuse opens in the evening, when the bank is low and you cook.");
            found.because(&step);
            found.undo();
            found.mend(format!("fit a fuse of {current} or more, with a conductor for it"));
        }
        precharge(case, out, device, circuit_ix, part.capacitance);
    }
}

/// Advice to precharge large input capacitors.
fn precharge(
    case: &Case<'_>,
    out: &mut Out,
    device: &model::Device,
    circuit: CircuitIx,
    capacitance: quantity::Farads,
) {
    let from = case.reference.precharge_from();
    let Some(bank) = &case.system.bank else { return };
    if capacitance < from.value {
        return;
    }
    let cables: Ohms = case
        .conductors_of(circuit)
        .iter()
        .filter(|ix| {
            case.conductor(**ix)
                .is_some_and(|conductor| matches!(conductor.pole, Pole::Positive | Pole::Negative))
        })
        .filter_map(|ix| case.results.resistances.get(*ix))
        .copied()
        .sum();
    let found = out.advice(
        &device.id,
        case.part_cause(device),
        format!("{} has {capacitance} of input capacitors; precharge them from {} on", device.id, from.value),
    );
    found.why("Closing a switch onto empty capacitors draws an arc that pits or welds its contacts.");
    if let Some(rush) =
        inrush(bank.voltage_high, Volts::zero(), bank.resistance + cables, Henries::zero(), capacitance)
    {
        found.because(format!(
            "up to {} flows for an instant, as far as resistance alone limits it",
            rush.amps_peak
        ));
    }
    found.cites(&from);
    // A resistor that starts with one ampere is slow but cannot hurt.
    let resistor = bank.voltage_high / quantity::Amps::new(1.0);
    found.mend(format!(
        "bridge the open disconnect with a resistor of about {resistor} for some seconds before closing it"
    ));
}
