//! The metal of the vehicle or hull is not joined to AC earth and to DC negative as it should be.
//! Never: judges the size of a bond (see `bonding_undersized.rs`).
//! Start at [`RULE`].

use model::{Craft, Pole, Spec, TerminalRef};

use crate::sources::around;
use crate::{Case, Out, Via, rule};

rule! {
    /// ## What
    /// An AC source or panel has its earth not joined to the chassis, hull bond or earth electrode; or DC negative is not joined to it, or at
    /// more than one place.
    /// ## Why
    /// A chassis that is not bonded can become live in a fault and stay so: whoever steps from the ground onto it is in the circuit. A second
    /// bond of DC negative sends working current through the metal.
    /// ## Limit
    /// AC earth joined to the chassis; DC negative joined to it once. The engine's own strap does not count.
    /// ## Mend
    /// A bonding conductor from the panel's earth, and one from the negative busbar, to the chassis.
    /// ## Silent when
    /// Every AC earth reaches the chassis and DC negative does so once, or there is no AC.
    /// ## Example
    /// A van whose AC panel has its earth joined to the inlet only.
    "chassis-not-bonded", Danger, "the chassis is not bonded as it should be",
    reads: "earth and bonding conductors, chassis",
    na: "NEC 551.54, 551.55, 551.56; ABYC E-11.5.3", iec: "IEC 60364-7-721, 721.411.3.1.2; ISO 13297, 4",
    sources: ["nec-551", "iec-60364-7-721"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let system = case.system;
    let chassis: Vec<TerminalRef> = (0..system.devices.len())
        .filter(|ix| matches!(system.devices[*ix].spec, Spec::Chassis))
        .map(|device| TerminalRef { device, terminal: 0 })
        .collect();
    let earths: Vec<TerminalRef> = (0..system.devices.len())
        .filter(|ix| {
            matches!(
                system.devices[*ix].spec,
                Spec::Inlet(_) | Spec::Generator(_) | Spec::Inverter(..) | Spec::AcPanel(_)
            )
        })
        .filter_map(|ix| case.terminal(ix, "earth"))
        .collect();
    if earths.is_empty() {
        return;
    }
    // Everything that hangs on the chassis by earth and bonding conductors.
    let is_earth = |edge: &crate::Edge| match edge.via {
        Via::Conductor(ix) => case.conductor(ix).is_some_and(|conductor| conductor.pole == Pole::Earth),
        Via::Device(_) => false,
    };
    let mut bonded = std::collections::BTreeSet::new();
    for start in &chassis {
        // A bond that ends at DC negative ends there: earth is not sought through the return.
        bonded.extend(around(case, *start, |edge| {
            is_earth(edge) && case.pole(case.graph.terminal(edge.to)) == Some(Pole::Earth)
        }));
    }
    let loose: Vec<&TerminalRef> = earths.iter().filter(|at| !bonded.contains(at)).collect();
    if let Some(first) = loose.first() {
        let names: Vec<&str> = loose.iter().map(|at| case.name(at.device)).collect();
        let intent = case.device(first.device).map_or("ac".to_owned(), |device| device.intent.clone());
        let found = out.danger(
            case.name(first.device),
            case.cause(&[], &intent),
            format!("the earth of {} is not joined to the chassis", names.join(", ")),
        );
        found.why("In a fault the chassis becomes live and stays so; whoever steps onto it from the ground is in the circuit.");
        found.because(format!(
            "of {} AC devices with an earth, {} do not reach the chassis by earth conductors",
            earths.len(),
            loose.len()
        ));
        let size = case.reference.bonding_gauge(system.rules);
        found.cites(&size);
        found.undo();
        found.mend(format!(
            "join the earth of {} to the chassis with {} or more",
            case.name(first.device),
            size.value
        ));
    }
    dc_bonds(case, out, &chassis);
}

/// Bonds of the house side's DC negative to the chassis: there is one.
fn dc_bonds(case: &Case<'_>, out: &mut Out, chassis: &[TerminalRef]) {
    let Some(bank) = &case.system.bank else { return };
    let mut bonds = Vec::new();
    for at in chassis {
        for &ix in case.at(*at) {
            let Some(conductor) = case.conductor(ix) else { continue };
            let far = if conductor.from == *at { conductor.to } else { conductor.from };
            // The engine has its own strap, and a load that returns through the chassis is another rule's to tell.
            let is_engines = matches!(
                case.device(far.device).map(|device| &device.spec),
                Some(Spec::StartBattery(_) | Spec::Alternator(_) | Spec::Load(_))
            );
            if case.pole(far) == Some(Pole::Negative) && !is_engines {
                bonds.push(conductor);
            }
        }
    }
    let size = case.reference.bonding_gauge(case.system.rules);
    match bonds.as_slice() {
        // A hut may leave its DC side floating.
        [] if case.system.craft != Craft::Hut => {
            let found = out.warning(
                "bank",
                case.cause(&[], "bank"),
                "DC negative is not joined to the chassis, while there is AC on board",
            );
            found.why(
                "A fault between AC and DC can put mains voltage on every DC wire, and no breaker trips.",
            );
            found.because(format!(
                "no conductor joins a negative terminal of the bank of {} and the chassis",
                bank.voltage_high
            ));
            found.cites(&size);
            found.mend(format!("join the negative busbar to the chassis once, with {} or more", size.value));
        }
        [_, second, ..] => {
            let intent = bonds
                .iter()
                .map(|bond| &bond.intent)
                .find(|path| path.starts_with("built"))
                .unwrap_or(&second.intent);
            let found = out.warning(
                &second.id,
                case.cause(&[], intent),
                format!(
                    "DC negative is joined to the chassis at {} places; it should be at one",
                    bonds.len()
                ),
            );
            found.why(
                "Working current flows through the metal: it corrodes, and the monitor no longer counts it.",
            );
            for bond in &bonds {
                found.because(format!("{} joins them", bond.id));
            }
            found.undo();
            found.mend("keep the bond at the negative busbar and take the others away");
        }
        _ => {}
    }
}
