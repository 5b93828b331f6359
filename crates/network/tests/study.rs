//! The study of whole systems: the examples as derived, small systems built by hand, and systems taken apart at random.
//! Expected numbers come from Kirchhoff's and Ohm's laws, from closed formulas, from ngspice (Debian package `ngspice`),
//! and from `data/circuit-checks.toml` (computed by ngspice beforehand). Start at the first test.
#![allow(clippy::unwrap_used)] // A test may stop at what it did not expect.

mod common;

use std::path::Path;

use common::Dice;
use model::parts::LoadNature;
use model::{Conductor, Device, Load, Pole, Project, SourceText, Spec, System, TerminalRef};
use network::{Results, Scene, SceneResult, netlists, study};
use quantity::{Amps, Celsius, Gauge, Metres, Ohms, Volts, Watts};

const EXAMPLES: [&str; 5] = ["heron", "marten", "teal", "wren", "faulty"];
/// Two lugs of 15 µΩ and a link inside an assembly: what the study adds to the metal, as its documentation says.
const LUGS: f64 = 30e-6;
const LINK: f64 = 20e-6;

fn derived(text: &str) -> System {
    let source = SourceText { name: "intent.toml".to_owned(), text: text.to_owned() };
    match Project::read(source, model::library::builtin().clone()) {
        Ok(project) => derive::derive(&project),
        Err(problems) => panic!("{problems:#?}"),
    }
}

fn example(name: &str) -> System {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name).join("intent.toml");
    derived(&std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display())))
}

/// A boat with a 24 V bank and 12 V loads behind a converter.
fn with_converter() -> System {
    derived(
        "[brief]\nname = \"Two voltages\"\ncraft = \"boat\"\nrules = \"iec\"\nvoltage = \"24 V\"\n[bank]\nlength = \"1 m\"\n\
         [loads.lamps]\npower = \"60 W\"\nvoltage = \"12 V\"\nhours = \"5 h/day\"\nlength = \"4 m\"\n\
         [loads.pump]\npower = \"120 W\"\nvoltage = \"24 V\"\nhours = \"1 h/day\"\nlength = \"4 m\"\n",
    )
}

fn index(system: &System, id: &str) -> usize {
    system.find(id).unwrap_or_else(|| panic!("no device {id}"))
}

/// Sum of what the conductors bring to each terminal.
fn inflow(system: &System, scene: &SceneResult) -> Vec<Vec<f64>> {
    let mut sums: Vec<Vec<f64>> = system.devices.iter().map(|d| vec![0.0; d.terminals.len()]).collect();
    for (conductor, amps) in system.conductors.iter().zip(&scene.amps) {
        sums[conductor.from.device][conductor.from.terminal] -= amps.get();
        sums[conductor.to.device][conductor.to.terminal] += amps.get();
    }
    sums
}

fn all_systems() -> Vec<(String, System)> {
    let mut all: Vec<_> = EXAMPLES.iter().map(|name| ((*name).to_owned(), example(name))).collect();
    all.push(("with a converter".to_owned(), with_converter()));
    all
}

#[test]
fn what_flows_into_a_device_flows_out_again() {
    // Kirchhoff's current law, from the results alone: what conductors bring to a terminal is what the device takes.
    for (name, system) in all_systems() {
        for scene in &study(&system).scenes {
            let inflow = inflow(&system, scene);
            for (ix, device) in system.devices.iter().enumerate() {
                // A leak of 14 µA stands for each open contact; the solver's own tolerance is far below.
                let near = |got: f64, want: f64, what: &str| {
                    let within = 5e-4 + 1e-7 * want.abs();
                    assert!(
                        (got - want).abs() < within,
                        "{name}, {:?}: {} {what}: {got} A, expected {want} A",
                        scene.scene,
                        device.id
                    );
                };
                let total: f64 = inflow[ix].iter().sum();
                near(total, 0.0, "in all");
                let at = |terminal: &str| {
                    device
                        .terminals
                        .iter()
                        .position(|t| t.name == terminal)
                        .map(|terminal| inflow[ix][terminal])
                };
                let amps = scene.device_amps[ix].get();
                match &device.spec {
                    Spec::Load(load) if load.supply == model::parts::Supply::Dc => {
                        near(at("positive").unwrap(), amps, "positive");
                        near(at("negative").unwrap(), -amps, "negative");
                    }
                    Spec::Battery(_) | Spec::StartBattery(_) | Spec::Alternator(_) | Spec::Array(_) => {
                        near(at("positive").unwrap(), -amps, "positive");
                    }
                    Spec::Fuse(_) | Spec::Disconnect(_) => {
                        near(at("in").unwrap(), amps, "in");
                        near(at("out").unwrap(), -amps, "out");
                    }
                    Spec::Shunt(_) => near(at("bank").unwrap(), amps, "bank"),
                    Spec::Controller(..) | Spec::DcDc(..) | Spec::Converter(_) => {
                        near(at("positive").unwrap(), -amps, "positive");
                    }
                    _ => {}
                }
            }
        }
    }
}

#[test]
fn ohms_law_holds_along_every_conductor() {
    for (name, system) in all_systems() {
        let results = study(&system);
        for scene in &results.scenes {
            for (ix, conductor) in system.conductors.iter().enumerate() {
                let volts = |at: TerminalRef| scene.volts[at.device][at.terminal];
                let (Some(from), Some(to)) = (volts(conductor.from), volts(conductor.to)) else {
                    assert_eq!(scene.amps[ix], Amps::zero(), "{name}: {}", conductor.id);
                    continue;
                };
                let lugs = if conductor.is_internal { 0.0 } else { LUGS };
                let ohms = results.resistances[ix].get() + lugs;
                let drop = (from - to).get();
                let expected = scene.amps[ix].get() * ohms;
                assert!((drop - expected).abs() < 1e-9, "{name}: {}: {drop} V, {expected} V", conductor.id);
                assert!((scene.losses[ix].get() - expected * scene.amps[ix].get()).abs() < 1e-6);
            }
        }
    }
}

#[test]
fn what_the_batteries_give_is_taken_by_loads_and_cables() {
    // Conservation of energy, at the posts of the batteries, with everything on.
    for (name, system) in all_systems() {
        let results = study(&system);
        let scene = results.scene(Scene::EverythingOn).unwrap();
        let lost: f64 = scene.losses.iter().map(|watts| watts.get()).sum();
        let (mut given, mut taken) = (0.0, 0.0);
        for (ix, device) in system.devices.iter().enumerate() {
            let across = |plus: &str, minus: &str| {
                let at = |name: &str| {
                    device.terminals.iter().position(|t| t.name == name).and_then(|t| scene.volts[ix][t])
                };
                at(plus)
                    .zip(at(minus))
                    .or_else(|| at(plus).zip(at("negative")))
                    .map_or(0.0, |(plus, minus)| (plus - minus).get())
            };
            let amps = scene.device_amps[ix].get();
            match &device.spec {
                Spec::Battery(_) => given += amps * across("positive", "negative"),
                Spec::Load(load) if load.supply == model::parts::Supply::Dc => {
                    taken += amps * across("positive", "negative");
                }
                Spec::Inverter(..) => taken += amps * across("positive", "negative"),
                Spec::Fuse(_) | Spec::Disconnect(_) | Spec::Breaker(_) => taken += amps * across("in", "out"),
                Spec::Shunt(_) => taken += amps * across("bank", "system"),
                // What is lost in a converter: taken at its efficiency and its idle draw, given at its output.
                Spec::Converter(part) => {
                    let output = amps * across("positive", "negative");
                    taken += output / part.efficiency.get() + part.idle.get() - output;
                }
                _ => {}
            }
        }
        assert!(given > 10.0, "{name}: {given} W");
        assert!(
            (given - taken - lost).abs() < 1e-4 * given.max(10.0),
            "{name}: {given} W given, {taken} + {lost} W taken"
        );
    }
}

#[test]
fn a_simulator_agrees_on_every_scene_of_every_example() {
    // Required: 0.1 %. Asserted: 1e-4 of the highest voltage, looser than for the networks of `against_simulator.rs`,
    // because where ngspice needs a starting point it keeps the 1e10 S that hold it and misses its own sources by
    // millivolts; without one it agrees to the last digits. Kirchhoff's and Ohm's laws hold here to 1e-9 V in the tests above.
    let mut compared = 0;
    for (name, system) in all_systems() {
        for (scene, netlist) in netlists(&system) {
            common::agree_on_system(&format!("{name}, {scene:?}"), &netlist, 1e-4);
            compared += 1;
        }
    }
    assert_eq!(compared, 24);
}

#[test]
fn the_largest_fault_is_never_below_the_smallest() {
    for (name, system) in all_systems() {
        let results = study(&system);
        let mut both = 0;
        for (ix, device) in system.devices.iter().enumerate() {
            for (terminal, data) in device.terminals.iter().enumerate() {
                let at = TerminalRef { device: ix, terminal };
                if let (Some(most), Some(least)) = (results.most_fault(at), results.least_fault(at)) {
                    assert!(most >= least, "{name}: {}.{}: {most} and {least}", device.id, data.name);
                    both += 1;
                }
                if data.pole.is_ac() {
                    assert_eq!(results.most_fault(at), None);
                }
            }
        }
        assert!(both > 10, "{name}: only {both} places");
    }
}

#[test]
fn the_same_system_gives_the_same_results() {
    let system = example("heron");
    assert_eq!(study(&system), study(&system));
}

#[test]
fn two_batteries_taken_diagonally_share_alike_and_from_one_end_do_not() {
    let mut system = example("heron");
    let (one, two) = (index(&system, "bank-1"), index(&system, "bank-2"));
    let shares = |system: &System| {
        let results = study(system);
        let scene = results.scene(Scene::EverythingOn).unwrap();
        (scene.device_amps[one].get(), scene.device_amps[two].get())
    };
    let (first, second) = shares(&system);
    assert!((first / second - 1.0).abs() < 1e-9, "{first} A and {second} A"); // by symmetry
    let negative = system.conductors.iter().position(|c| c.id == "main.negative").unwrap();
    system.conductors[negative].to = system.find_terminal("bank-1.negative").unwrap();
    let (first, second) = shares(&system);
    // The far battery's branch has both links more: I1/I2 = (Ri + 2 Rl)/Ri, its voltage being the same.
    let Spec::Battery(battery) = &system.devices[one].spec else { panic!("no battery") };
    let own = battery.part.internal_resistance.get();
    let results = study(&system);
    let link = system.conductors.iter().position(|c| c.id == "bank.link-positive").unwrap();
    let links = 2.0 * (results.resistances[link].get() + LUGS);
    assert!((first / second - (own + links) / own).abs() < 1e-6, "{first} A and {second} A");
}

#[test]
fn a_converter_takes_what_it_gives_and_its_losses() {
    let system = with_converter();
    let results = study(&system);
    let converter = system.devices.iter().position(|d| matches!(d.spec, Spec::Converter(_))).unwrap();
    let Spec::Converter(part) = &system.devices[converter].spec else { panic!("no converter") };
    let scene = results.scene(Scene::EverythingOn).unwrap();
    let inflow = inflow(&system, scene);
    let terminal = |name: &str| system.devices[converter].terminals.iter().position(|t| t.name == name);
    let volts = |name: &str| terminal(name).and_then(|t| scene.volts[converter][t]).map(Volts::get);
    let input = terminal("in-positive").unwrap();
    let back = volts("in-negative").or_else(|| volts("negative")).unwrap();
    let taken = inflow[converter][input] * (volts("in-positive").unwrap() - back);
    let output = volts("positive").unwrap() - volts("negative").unwrap();
    let given = scene.device_amps[converter].get() * output;
    assert!(given > 59.0, "{given} W"); // the 60 W of the lamps and their cable
    assert!((output / part.output.get() - 1.0).abs() < 0.01, "{output} V");
    let expected = given / part.efficiency.get() + part.idle.get();
    assert!((taken / expected - 1.0).abs() < 1e-6, "{taken} W, expected {expected} W");
    // Its electronics limit a fault behind it: twice its rating at most (typical, from memory).
    let at = TerminalRef { device: converter, terminal: terminal("positive").unwrap() };
    assert!((results.most_fault(at).unwrap() / (part.current * 2.0) - 1.0).abs() < 1e-3);
    assert!((results.least_fault(at).unwrap() / part.current - 1.0).abs() < 1e-3);
}

/// A system without devices: everything else as derived for a small one.
fn bare(celsius: f64) -> (System, Device, Device, Conductor) {
    let mut system = derived(
        "[brief]\nname = \"Bare\"\ncraft = \"van\"\nrules = \"iec\"\nvoltage = \"12 V\"\n[cable]\ntinned = false\n\
         [loads.lamp]\npower = \"100 W\"\nhours = \"2 h/day\"\n",
    );
    let find = |is: fn(&Spec) -> bool| system.devices.iter().find(|d| is(&d.spec)).unwrap().clone();
    let battery = find(|spec| matches!(spec, Spec::Battery(_)));
    let load = find(|spec| matches!(spec, Spec::Load(_)));
    let cable =
        system.conductors.iter().find(|c| !c.is_internal && c.pole == Pole::Positive).unwrap().clone();
    system.devices.clear();
    system.conductors.clear();
    for zone in &mut system.zones {
        (zone.coldest, zone.hottest) = (Celsius::new(celsius), Celsius::new(celsius));
    }
    for circuit in &mut system.circuits {
        circuit.current_steady = Amps::zero();
        circuit.protection.clear();
        circuit.serves.clear();
    }
    (system, battery, load, cable)
}

fn at(device: usize, terminal: usize) -> TerminalRef {
    TerminalRef { device, terminal }
}

fn set_battery(device: &mut Device, ohms: f64) {
    let Spec::Battery(battery) = &mut device.spec else { panic!("no battery") };
    battery.part.internal_resistance = Ohms::new(ohms);
    battery.short_circuit_is_stated = false;
}

fn set_load(device: &mut Device, nature: LoadNature, watts: f64) {
    let Spec::Load(load) = &mut device.spec else { panic!("no load") };
    *load = Load { nature, power: Watts::new(watts), power_start: Watts::new(watts), ..load.clone() };
}

/// A battery of 12.8 V and 3 mΩ, and a load of 100 W at the end of 5 m of 6 mm², all at 20 °C.
fn one_load() -> System {
    let (mut system, mut battery, mut load, cable) = bare(20.0);
    set_battery(&mut battery, 0.003);
    set_load(&mut load, LoadNature::Electronic, 100.0);
    system.devices = vec![battery, load];
    for (from, to, pole) in [(at(0, 0), at(1, 0), Pole::Positive), (at(1, 1), at(0, 1), Pole::Negative)] {
        let length = Metres::new(5.0);
        system.conductors.push(Conductor {
            from,
            to,
            pole,
            length,
            gauge: Gauge::Metric(600),
            tinned: false,
            ..cable.clone()
        });
    }
    let bank = system.bank.as_mut().unwrap();
    (bank.series, bank.parallel, bank.batteries) = (1, 1, vec![0]);
    (bank.voltage_low, bank.voltage_high) = (Volts::new(12.8), Volts::new(13.6));
    system
}

#[test]
fn one_load_gets_what_the_formula_says() {
    // 6 mm², class 5, plain: 3.30 Ω/km at 20 °C (IEC 60228, table 3). V = (E + √(E² − 4 P R)) / 2.
    let results = study(&one_load());
    let scene = results.scene(Scene::EverythingOn).unwrap();
    let cable = 3.30e-3 * 5.0;
    assert!((results.resistances[0].get() - cable).abs() < 1e-9);
    let ohms = 0.003 + 2.0 * (cable + LUGS);
    let expected = (12.8 + (12.8f64 * 12.8 - 4.0 * 100.0 * ohms).sqrt()) / 2.0;
    let got = scene.volts[1][0].unwrap() - scene.volts[1][1].unwrap();
    assert!((got.get() - expected).abs() < 1e-7, "{got}, expected {expected} V");
    assert!((scene.device_amps[1].get() - 100.0 / expected).abs() < 1e-6);
    assert_eq!(scene.volts[0][1], Some(Volts::zero()));
}

#[test]
fn faults_are_volts_over_the_loop() {
    let mut system = one_load();
    let results = study(&system);
    let cable = 3.30e-3 * 5.0;
    let near = |got: Option<Amps>, want: f64| {
        assert!((got.unwrap().get() / want - 1.0).abs() < 1e-6, "{got:?}, expected {want}")
    };
    near(results.most_fault(at(0, 0)), 13.6 / 0.003);
    near(results.most_fault(at(1, 0)), 13.6 / (0.003 + 2.0 * cable));
    near(results.least_fault(at(1, 0)), 12.8 / (0.0045 + 2.0 * (cable + LUGS)));
    assert_eq!(results.most_fault(at(1, 1)), None);
    // Cold and hot copper: r(T) = r20 (234.5 + T)/254.5 (IEC 60228, annex; from memory).
    for zone in &mut system.zones {
        (zone.coldest, zone.hottest) = (Celsius::new(-10.0), Celsius::new(50.0));
    }
    let results = study(&system);
    near(results.most_fault(at(1, 0)), 13.6 / (0.003 + 2.0 * cable * 224.5 / 254.5));
    near(results.least_fault(at(1, 0)), 12.8 / (0.0045 + 2.0 * (cable * 284.5 / 254.5 + LUGS)));
}

#[test]
fn four_batteries_with_both_poles_taken_at_the_first() {
    // data/circuit-checks.toml, parallel-4-ladder-one-end and -diagonal (ngspice): 3 mΩ, 12.8 V, links 0.275 mΩ, 200 A.
    for (last, shares, volts) in [
        (0, [75.29073, 52.42737, 39.17569, 33.10621], 12.57413),
        (3, [54.19847, 45.80153, 45.80153, 54.19847], 12.5549),
    ] {
        let (mut system, mut battery, mut load, cable) = bare(20.0);
        set_battery(&mut battery, 0.003);
        // 200 A at the voltage of the table, through two links of an assembly.
        let ohms: f64 = volts / 200.0 - 2.0 * LINK;
        let nominal = match &load.spec {
            Spec::Load(load) => load.voltage.get(),
            _ => panic!("no load"),
        };
        set_load(&mut load, LoadNature::Resistive, nominal * nominal / ohms);
        system.devices = vec![battery; 4];
        for (ix, device) in system.devices.iter_mut().enumerate() {
            let Spec::Battery(battery) = &mut device.spec else { panic!("no battery") };
            (battery.string, battery.place) = (ix as u32, 0);
        }
        system.devices.push(load);
        let length = Metres::new((0.000275 - LUGS) / 3.30e-3);
        let link = Conductor { length, gauge: Gauge::Metric(600), tinned: false, ..cable };
        for ix in 0..3 {
            system.conductors.push(Conductor { from: at(ix, 0), to: at(ix + 1, 0), ..link.clone() });
            system.conductors.push(Conductor {
                from: at(ix, 1),
                to: at(ix + 1, 1),
                pole: Pole::Negative,
                ..link.clone()
            });
        }
        system.conductors.push(Conductor { from: at(0, 0), to: at(4, 0), is_internal: true, ..link.clone() });
        system.conductors.push(Conductor {
            from: at(4, 1),
            to: at(last, 1),
            is_internal: true,
            pole: Pole::Negative,
            ..link
        });
        let bank = system.bank.as_mut().unwrap();
        (bank.series, bank.parallel, bank.batteries) = (1, 4, (0..4).collect());
        (bank.voltage_low, bank.voltage_high) = (Volts::new(12.8), Volts::new(13.6));
        let results = study(&system);
        let scene = results.scene(Scene::EverythingOn).unwrap();
        for (got, want) in scene.device_amps.iter().zip(shares) {
            // The table's voltage has six figures, so its 200 A hold to 5e-6 of 12.57 V over 3 mΩ.
            assert!((got.get() - want).abs() < 2e-3, "{got}, expected {want} A");
        }
    }
}

#[test]
fn a_load_without_its_return_is_dead_and_back_through_the_chassis_is_not() {
    let mut system = example("heron");
    let fridge = index(&system, "fridge");
    let negative = system.conductors.iter().position(|c| c.id == "fridge.negative").unwrap();
    let mut without = system.clone();
    without.conductors.remove(negative);
    let results = study(&without);
    for scene in &results.scenes {
        assert_eq!(scene.dead, [fridge], "{:?}", scene.scene);
        assert_eq!(scene.device_amps[fridge], Amps::zero());
    }
    // The fault against the bank's own negative stays.
    assert!(results.most_fault(at(fridge, 0)).is_some());

    system.conductors[negative].to = system.find_terminal("chassis.bond").unwrap();
    let results = study(&system);
    let scene = results.scene(Scene::EverythingOn).unwrap();
    assert!(scene.dead.is_empty());
    // The engine's negative is on the chassis too, so a part goes back that way; all of it leaves the chassis.
    let chassis = system.find_terminal("chassis.bond").unwrap();
    let ends = |conductor: &Conductor| conductor.from == chassis || conductor.to == chassis;
    let away =
        system.conductors.iter().zip(&scene.amps).filter(|(c, _)| ends(c) && c.id != "fridge.negative");
    let away: f64 = away.map(|(c, amps)| if c.from == chassis { amps.get() } else { -amps.get() }).sum();
    let fridge = scene.device_amps[fridge].get();
    assert!(fridge > 4.0 && (away - fridge).abs() < 1e-3, "{away} A leave the chassis, {fridge} A enter it");
}

#[test]
fn a_bar_joined_to_the_other_is_a_short_and_no_panic() {
    let mut system = example("heron");
    let (plus, minus) = (
        system.find_terminal("positive-bar.bar").unwrap(),
        system.find_terminal("negative-bar.bar").unwrap(),
    );
    let mut cable = system.conductors.iter().find(|c| c.id == "main.positive").unwrap().clone();
    (cable.id, cable.from, cable.to) = ("wrong".to_owned(), plus, minus);
    system.conductors.push(cable);
    let results = study(&system);
    let scene = results.scene(Scene::EverythingOn).unwrap();
    assert!(scene.amps.last().unwrap().get() > 2000.0, "{:?}", scene.amps.last());
    assert!(!scene.collapsed.is_empty());
    assert!(scene.dead.is_empty());
}

#[test]
fn a_network_too_thin_for_a_load_tells_which() {
    let mut system = one_load();
    system.conductors[0].length = Metres::new(400.0);
    // E²/4R = 12.8² / (4 · 1.34 Ω) = 30.6 W is the most that can arrive; 100 W are asked.
    let results = study(&system);
    assert_eq!(results.scene(Scene::EverythingOn).unwrap().collapsed, [1]);
    assert!(results.scenes.iter().all(|scene| scene.dead.is_empty()));
}

#[test]
fn loads_that_take_turns_never_run_together() {
    let mut system = one_load();
    let mut other = system.devices[1].clone();
    for (device, watts) in [(&mut system.devices[1], 100.0), (&mut other, 60.0)] {
        set_load(device, LoadNature::Electronic, watts);
        let Spec::Load(load) = &mut device.spec else { panic!("no load") };
        load.takes_turns = Some("one-at-a-time".to_owned());
    }
    system.devices.push(other);
    for ix in 0..2 {
        let mut conductor = system.conductors[ix].clone();
        for end in [&mut conductor.from, &mut conductor.to] {
            end.device = if end.device == 1 { 2 } else { 0 };
        }
        system.conductors.push(conductor);
    }
    let results = study(&system);
    let scene = results.scene(Scene::EverythingOn).unwrap();
    assert!(scene.device_amps[1].get() > 7.0);
    assert_eq!(scene.device_amps[2], Amps::zero());
}

#[test]
fn systems_taken_apart_at_random_are_still_studied() {
    let finite = |what: &str, results: &Results| {
        assert_eq!(results.scenes.len(), 4);
        for scene in &results.scenes {
            let amps = scene.amps.iter().chain(&scene.device_amps).map(|amps| amps.get());
            let volts = scene.volts.iter().flatten().flatten().map(|volts| volts.get());
            assert!(amps.chain(volts).all(f64::is_finite), "{what}, {:?}", scene.scene);
        }
        for amps in results.faults.most.iter().chain(&results.faults.least).flatten().flatten() {
            assert!(amps.get().is_finite() && amps.get() > 0.0, "{what}");
        }
    };
    let mut dice = Dice(11);
    for (name, system) in all_systems() {
        for ix in 0..system.conductors.len() {
            let mut without = system.clone();
            without.conductors.remove(ix);
            finite(&format!("{name} without {}", system.conductors[ix].id), &study(&without));
        }
        for _ in 0..100 {
            let mut mixed = system.clone();
            for _ in 0..1 + dice.below(4) {
                let conductor = dice.below(mixed.conductors.len());
                let device = dice.below(mixed.devices.len());
                let terminal = dice.below(mixed.devices[device].terminals.len());
                let end = at(device, terminal);
                match dice.below(3) {
                    0 => mixed.conductors[conductor].to = end,
                    1 => mixed.conductors[conductor].from = end,
                    _ => mixed.conductors[conductor].length = Metres::new(dice.between(0.0, 500.0)),
                }
            }
            finite(&format!("{name} mixed up"), &study(&mixed));
        }
    }
    let mut nothing = one_load();
    nothing.devices.clear();
    nothing.conductors.clear();
    let results = study(&nothing);
    assert!(results.faults.most.is_empty() && results.scenes.len() == 4);
}
