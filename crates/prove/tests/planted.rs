//! One fault at a time is planted in the netlist, the netlist solved by ngspice (a general-purpose circuit simulator), and
//! its node voltages, rounded as a hand meter shows them, given as readings: the planted cause must come first.
//! Provenance of the readings: computed on the spot by the simulator.
#![allow(clippy::unwrap_used)] // A test may stop at what it did not expect.

mod common;

use common::{EXAMPLES, Example, example, node, readings, simulate};
use model::{Pole, Spec};
use network::{ElementId, Netlist, Scene, netlists};
use prove::{Moment, judge};
use quantity::{Ohms, Volts, Watts};

/// FIXME: planted faults that do not come first today. A bank's sag, and the joint of a bank link, hide in the range that the
/// unknown charge of the bank leaves, though its rest voltage was read; the other two are told as a neighbour's fault.
const MISSED: [&str; 7] = [
    "heron bank",
    "marten bank",
    "marten lights.fuse",
    "teal bank",
    "teal bank.link-positive",
    "teal main.bar-negative",
    "wren bank",
];

/// What is planted.
#[derive(Clone, Debug)]
enum Fault {
    /// Ohms added to a conductor.
    Joint(String, f64),
    /// Ohms added in a fuse or its holder.
    Holder(String, f64),
    /// A fuse without connection, and the load or inverter behind it.
    Blown(String, String),
    /// The bank's internal resistance, times.
    Weak(f64),
    /// A load's power, times.
    Load(String, f64),
}

impl Fault {
    fn kind(&self) -> &'static str {
        match self {
            Fault::Joint(..) | Fault::Holder(..) => "extra-resistance",
            Fault::Blown(..) => "open",
            Fault::Weak(_) => "weak-bank",
            Fault::Load(..) => "load",
        }
    }
    fn place(&self) -> &str {
        match self {
            Fault::Joint(place, _)
            | Fault::Holder(place, _)
            | Fault::Blown(place, _)
            | Fault::Load(place, _) => place,
            Fault::Weak(_) => "bank",
        }
    }
}

fn element(net: &Netlist, from: &str, to: &str) -> ElementId {
    let ends = (node(net, from), node(net, to));
    (0..net.element_count())
        .filter_map(|index| net.element_at(index))
        .find(|element| net.ends(*element) == Some(ends))
        .unwrap_or_else(|| panic!("nothing between {from} and {to}"))
}

fn plant(example: &Example, fault: &Fault, bank_v: f64) -> Netlist {
    let system = &example.system;
    let (_, mut net) = netlists(system).into_iter().find(|(scene, _)| *scene == Scene::EverythingOn).unwrap();
    let bank = system.bank.as_ref().unwrap();
    let batteries: Vec<ElementId> = bank
        .batteries
        .iter()
        .map(|ix| &system.devices[*ix].id)
        .map(|id| element(&net, &format!("{id}.positive"), &format!("{id}.negative")))
        .collect();
    for battery in &batteries {
        net.set_volts(*battery, Volts::new(bank_v / f64::from(bank.series)));
    }
    let add = |net: &mut Netlist, element: ElementId, ohms: f64| {
        let before = net.ohms(element).unwrap();
        net.set_ohms(element, before + Ohms::new(ohms));
    };
    match fault {
        Fault::Joint(id, ohms) => {
            let conductor = system.conductors.iter().find(|conductor| conductor.id == *id).unwrap();
            let (from, to) = (system.terminal_name(conductor.from), system.terminal_name(conductor.to));
            let element = element(&net, &from, &to);
            add(&mut net, element, *ohms);
        }
        Fault::Holder(id, ohms) => {
            let element = element(&net, &format!("{id}.in"), &format!("{id}.out"));
            add(&mut net, element, *ohms);
        }
        Fault::Blown(id, behind) => {
            let fuse = element(&net, &format!("{id}.in"), &format!("{id}.out"));
            net.set_ohms(fuse, Ohms::new(1e8));
            let (plus, minus) = (format!("{behind}.positive"), format!("{behind}.negative"));
            let load = element(&net, &plus, &minus);
            net.set_watts(load, Watts::zero());
            // What its electronics let through.
            let (plus, minus) = (node(&net, &plus), node(&net, &minus));
            net.resistor(plus, minus, Ohms::new(1e4));
        }
        Fault::Weak(times) => {
            for battery in batteries {
                let before = net.ohms(battery).unwrap();
                net.set_ohms(battery, before * *times);
            }
        }
        Fault::Load(id, times) => {
            let load = element(&net, &format!("{id}.positive"), &format!("{id}.negative"));
            let before = net.watts(load).unwrap();
            net.set_watts(load, before * *times);
        }
    }
    net
}

/// Volts and drops with everything on, as a meter of two decimals, and of a tenth of a millivolt, shows them.
fn measured(example: &Example, net: &Netlist, bank_v: f64) -> Vec<(String, String)> {
    let volts = simulate(net);
    let mut values = vec![("rest:bank".to_owned(), format!("{bank_v:.2} V"))];
    for expected in &example.expected {
        if expected.moment != Some(Moment::EverythingOn) || expected.probes.len() != 2 {
            continue;
        }
        let between = volts[&expected.probes[0]] - volts[&expected.probes[1]];
        let shown = match expected.id.starts_with("drop:") && between.abs() < 0.6 {
            true => format!("{:.1} mV", between * 1e3),
            false => format!("{between:.2} V"),
        };
        values.push((expected.id.clone(), shown));
    }
    values
}

/// How often the bank's internal resistance must stand to take a twentieth of the voltage with everything on.
fn weak(example: &Example) -> f64 {
    let bank = example.system.bank.as_ref().unwrap();
    let solved = example.results.scene(Scene::EverythingOn).unwrap();
    let amps: f64 = bank.batteries.iter().map(|ix| solved.device_amps[*ix].get().abs()).sum::<f64>()
        / f64::from(bank.series.max(1));
    1.0 + 0.05 * example.system.voltage.get() / (amps * bank.resistance.get())
}

/// Faults of every kind that the example has a place for.
fn faults(example: &Example) -> Vec<Fault> {
    let system = &example.system;
    let mut faults = vec![Fault::Weak(weak(example))];
    let solved = example.results.scene(Scene::EverythingOn).unwrap();
    let volts = 0.05 * system.voltage.get();
    let (mut heavy, mut light) = (0, 0);
    for (ix, conductor) in system.conductors.iter().enumerate() {
        let amps = solved.amps[ix].get().abs();
        let is_dc = matches!(conductor.pole, Pole::Positive | Pole::Negative);
        if conductor.is_internal || !is_dc || amps < 0.5 {
            continue;
        }
        // A twentieth of the system's voltage lost, in every third heavy cable and every fifth light one.
        let count = if amps > 20.0 { &mut heavy } else { &mut light };
        let every = if amps > 20.0 { 3 } else { 5 };
        if *count % every == 0 {
            faults.push(Fault::Joint(conductor.id.clone(), volts / amps));
        }
        *count += 1;
    }
    let (mut loads, mut fuses) = (0, 0);
    for (ix, device) in system.devices.iter().enumerate() {
        let Spec::Fuse(_) = device.spec else { continue };
        let amps = solved.device_amps[ix].get();
        let Some(behind) = device.id.strip_suffix(".fuse") else { continue };
        let load = system.find(behind).map(|ix| &system.devices[ix].spec);
        let is_load =
            matches!(load, Some(Spec::Load(load)) if load.nature != model::parts::LoadNature::Resistive);
        if amps < 0.3 || !is_load {
            continue;
        }
        if fuses % 4 == 0 {
            faults.push(Fault::Blown(device.id.clone(), behind.to_owned()));
        }
        if fuses % 4 == 1 {
            faults.push(Fault::Holder(device.id.clone(), volts / amps));
        }
        if amps > 3.0 && loads < 1 {
            faults.push(Fault::Load(behind.to_owned(), 1.8));
            loads += 1;
        }
        fuses += 1;
    }
    faults
}

#[test]
fn a_planted_fault_comes_first() {
    let (mut planted, mut missed) = (0, Vec::new());
    for name in EXAMPLES {
        let example = example(name);
        let rest = example.expected.iter().find(|expected| expected.id == "rest:bank").unwrap();
        let bank_v = (rest.typical.number() * 100.0).round() / 100.0;
        for fault in faults(&example) {
            let net = plant(&example, &fault, bank_v);
            let judged = judge(
                &example.expected,
                &readings(&example, &measured(&example, &net, bank_v)),
                &example.system,
                &example.results,
            );
            planted += 1;
            let first = judged.causes.first();
            let is_found = first.is_some_and(|cause| {
                cause.kind == fault.kind()
                    && cause.places.iter().any(|place| place == fault.place())
                    && cause.places.len() <= 4
            });
            if !is_found {
                missed.push(format!("{name} {}", fault.place()));
            }
        }
    }
    println!("{planted} faults planted, {} not first", missed.len());
    assert!(planted >= 20, "only {planted} faults were planted");
    assert_eq!(missed, MISSED, "of {planted} planted");
}

#[test]
fn a_sound_network_by_the_simulator_raises_nothing() {
    for name in EXAMPLES {
        let example = example(name);
        let rest = example.expected.iter().find(|expected| expected.id == "rest:bank").unwrap();
        let bank_v = (rest.typical.number() * 100.0).round() / 100.0;
        let net = plant(&example, &Fault::Weak(1.0), bank_v);
        let values = measured(&example, &net, bank_v);
        let judged =
            judge(&example.expected, &readings(&example, &values), &example.system, &example.results);
        assert!(
            !judged.is_bad() && judged.causes.is_empty(),
            "{name}: {:?}",
            judged.verdicts.iter().find(|v| v.status.is_bad())
        );
        assert!(values.len() > 20, "{name}: only {} readings", values.len());
    }
}
