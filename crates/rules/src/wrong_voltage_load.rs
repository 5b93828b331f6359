//! A load hangs on another nominal voltage than it is made for.
//! Never: judges drops.
//! Start at [`RULE`].

use std::collections::BTreeMap;

use model::parts::Supply;
use model::{DeviceIx, Spec};
use quantity::Volts;

use crate::sources::{around, is_same_nominal};
use crate::{Case, Out, Severity, rule};

rule! {
    /// ## What
    /// A load is joined to a bank, converter or AC side of another nominal voltage than its own.
    /// ## Why
    /// On twice its voltage it burns out at once; on half of it it does not work.
    /// ## Limit
    /// The load's nominal voltage. Danger where it gets more, warning where it gets less.
    /// ## Mend
    /// A panel of its voltage, fed by a converter; or a load for the bank's voltage.
    /// ## Silent when
    /// The voltages have the same nominal value.
    /// ## Example
    /// A 12 V fan on a 24 V panel.
    "wrong-voltage-load", Danger, "a load hangs on the wrong voltage",
    reads: "loads, what feeds them",
    na: "NEC 110.4", iec: "IEC 60364-5-51, 512.1.1", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let system = case.system;
    let fed = fed(case);
    for (ix, device) in system.devices.iter().enumerate() {
        let Spec::Load(load) = &device.spec else { continue };
        let there = match load.supply {
            Supply::Ac => system.ac_voltage.map(|voltage| (voltage, "the AC side".to_owned())),
            Supply::Dc => fed.get(&ix).map(|(voltage, from)| (*voltage, case.name(*from).to_owned())),
        };
        let Some((there, from)) = there else { continue };
        let (same, cite) = is_same_nominal(load.voltage, there);
        if same {
            continue;
        }
        let severity = if there > load.voltage { Severity::Danger } else { Severity::Warning };
        let found = out.open(
            severity,
            &device.id,
            case.cause(&[], &device.intent),
            format!("{} is made for {}; {from} gives it {there}", load.title, load.voltage),
        );
        found.why(if there > load.voltage {
            "It burns out at once, and may catch fire."
        } else {
            "It does not work, or works so weakly that it is damaged."
        });
        found.because(format!("{} against {there}", load.voltage)).cite(&cite);
        found.undo();
        found.mend(format!("feed it from a panel of {}, or take one for {there}", load.voltage));
    }
}

/// The nominal voltage that reaches each DC load, and the source that gives it: the highest where several do.
fn fed(case: &Case<'_>) -> BTreeMap<DeviceIx, (Volts, DeviceIx)> {
    let mut found: BTreeMap<DeviceIx, (Volts, DeviceIx)> = BTreeMap::new();
    let mut bank_done = false;
    for (ix, device) in case.system.devices.iter().enumerate() {
        let voltage = match &device.spec {
            Spec::Battery(_) => {
                // The batteries of a bank hang together; from the busbars side one walk is enough.
                if std::mem::replace(&mut bank_done, true) {
                    continue;
                }
                case.system.voltage
            }
            Spec::StartBattery(battery) => battery.part.voltage,
            Spec::Converter(part) => part.output,
            _ => continue,
        };
        let starts = if matches!(device.spec, Spec::Battery(_)) {
            bank_tops(case)
        } else {
            case.terminal(ix, "positive").into_iter().collect()
        };
        for start in starts {
            for at in around(case, start, |_| true) {
                if matches!(case.device(at.device).map(|device| &device.spec), Some(Spec::Load(_))) {
                    let most = found.entry(at.device).or_insert((voltage, ix));
                    if voltage > most.0 {
                        *most = (voltage, ix);
                    }
                }
            }
        }
    }
    found
}

/// The positive end of the first string that has one: the last battery of it.
fn bank_tops(case: &Case<'_>) -> Vec<model::TerminalRef> {
    let Some(bank) = &case.system.bank else { return Vec::new() };
    let top = bank.batteries.iter().filter_map(|ix| match &case.device(*ix)?.spec {
        Spec::Battery(battery) if battery.place + 1 == bank.series => case.terminal(*ix, "positive"),
        _ => None,
    });
    top.take(1).collect()
}
