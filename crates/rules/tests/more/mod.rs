//! Parts of the sun, engine, inverter and AC sides, laid onto the hand-built sound system.
//! Never: is derived or solved; a test sets the scenes that its rule reads.
//! Start at [`with_sun`], [`with_engine`], [`with_ac`]; [`scene`] sets currents of devices and volts of terminals.
#![allow(dead_code)] // each test file uses its own part

use model::parts::{Chemistry, LoadNature, NeutralBond, Supply};
use model::read::read_text;
use model::{
    Array, BatteryAt, BreakerAt, ChargeSetting, CircuitKind, Library, Load, Mounting, Name, Pole, ShoreInlet,
    SourceText, Spec, Terminal,
};
use network::{Scene, SceneResult};
use quantity::*;
use rules::{Finding, Severity};

use crate::hand_built::{Sound, awg, battery, fuse, load, terminal};

const PARTS: &str = r##"
[inverter.i]
title = "inverter"
price = ["1"]
mass = "8 kg"
size = []
voltage = "12 V"
output = "120 V"
frequency = 60
power = "2000 W"
power_hot = "1400 W"
surge = "4000 W"
lowest_input = "10.5 V"
highest_input = "16 V"
idle = "10 W"
efficiency_quarter = "90 %"
efficiency_full = "90 %"
capacitance = "5 mF"
neutral_bond = "switched"
max_gauge = "4/0 AWG"
stud = "M8"

[charger.c]
title = "charger"
price = ["1"]
mass = "3 kg"
size = []
voltage = "12 V"
current = "40 A"
input = "120 V"
efficiency = "90 %"
profiles = ["lfp", "agm"]
max_gauge = "4 AWG"

[controller.c]
title = "controller"
price = ["1"]
mass = "2 kg"
size = []
voltages = ["12 V", "24 V"]
current = "40 A"
highest_array = "75 V"
highest_current = "30 A"
start_above = "2 V"
tracks = true
efficiency = "97 %"
idle = "1 W"
profiles = ["lfp", "agm"]
max_gauge = "6 AWG"

[dcdc.d]
title = "DC-DC charger"
price = ["1"]
mass = "2 kg"
size = []
input = "12 V"
output = "12 V"
current = "30 A"
input_current = "40 A"
efficiency = "90 %"
lowest_input = "11 V"
profiles = ["lfp"]
isolated = false
max_gauge = "4 AWG"

[converter.c]
title = "converter"
price = ["1"]
mass = "1 kg"
size = []
input = "12 V"
output = "24 V"
current = "10 A"
efficiency = "90 %"
idle = "1 W"
isolated = false
max_gauge = "6 AWG"

[module.m]
title = "module"
price = ["1"]
mass = "12 kg"
size = []
power = "200 W"
open_voltage = "24 V"
power_voltage = "20 V"
short_current = "10 A"
power_current = "10 A"
voltage_coefficient = "-0.28 %/K"
power_coefficient = "-0.35 %/K"
series_fuse = "20 A"
system_voltage = "600 V"

[alternator.a]
title = "alternator"
price = ["1"]
mass = "6 kg"
size = []
voltage = "12 V"
current = "120 A"
hot_share = "70 %"
set_voltage = "14.2 V"
variable = false
stud = "M8"

[relay.r]
title = "relay"
price = ["1"]
mass = "1 kg"
size = []
voltage = "12 V"
current = "100 A"
stud = "M8"

[disconnect.d]
title = "array disconnect"
price = ["1"]
mass = "1 kg"
size = []
current = "40 A"
voltage = "100 V"
poles = 2
max_gauge = "6 AWG"
for_array = true

[inlet.i]
title = "inlet"
price = ["1"]
mass = "1 kg"
size = []
voltage = "120 V"
current = "30 A"
max_gauge = "8 AWG"

[generator.g]
title = "generator"
price = ["1"]
mass = "30 kg"
size = []
voltage = "120 V"
power = "3000 VA"
neutral_bond = "fixed"
breaker = "25 A"

[transfer_switch.t]
title = "transfer switch"
price = ["1"]
mass = "1 kg"
size = []
voltage = "120 V"
current = "30 A"
switches_neutral = true
max_gauge = "8 AWG"

[ac_panel.p]
title = "AC panel"
price = ["1"]
mass = "2 kg"
size = []
voltage = "120 V"
current = "30 A"
ways = 4
max_gauge = "6 AWG"

[breaker.main]
title = "breaker"
price = ["1"]
mass = "0.2 kg"
size = []
current = "30 A"
poles = 2
ac_voltage = "120 V"
interrupt = "5 kA"
max_gauge = "6 AWG"

[breaker.residual]
title = "residual-current breaker"
price = ["1"]
mass = "0.2 kg"
size = []
current = "30 A"
poles = 2
ac_voltage = "120 V"
interrupt = "5 kA"
residual = "30 mA"
max_gauge = "6 AWG"

[breaker.branch]
title = "breaker"
price = ["1"]
mass = "0.2 kg"
size = []
current = "15 A"
poles = 1
ac_voltage = "120 V"
interrupt = "5 kA"
max_gauge = "10 AWG"
"##;

/// The parts.
pub fn more() -> Library {
    let reading = read_text::<Library>(&SourceText { name: "parts.toml".to_owned(), text: PARTS.to_owned() });
    assert!(reading.problems.is_empty(), "{:?}", reading.problems);
    reading.value.expect("the parts read")
}

fn first<T: Clone>(parts: &std::collections::BTreeMap<Name, T>) -> T {
    parts.values().next().expect("one of each kind").clone()
}

fn breaker(id: &str, panel: Option<usize>, role: &str) -> Spec {
    let part = more().breaker.get(&Name::new(id).expect("a name")).expect("a breaker").clone();
    Spec::Breaker(BreakerAt { part, distance: Metres::zero(), panel, role: role.to_owned() })
}

/// Settings that fit the sound system's battery.
pub fn setting(current: f64) -> ChargeSetting {
    ChargeSetting {
        absorption: Volts::new(14.2),
        float: Volts::new(13.5),
        current: Amps::new(current),
        profile: Chemistry::Lfp,
        stops_in_cold: true,
    }
}

fn plain(names: &[(&str, Pole)]) -> Vec<Terminal> {
    names.iter().map(|(name, pole)| terminal(name, *pole, None, None)).collect()
}

const DC: [(&str, Pole); 2] = [("positive", Pole::Positive), ("negative", Pole::Negative)];
const AC: [(&str, Pole); 3] = [("line", Pole::Line), ("neutral", Pole::Neutral), ("earth", Pole::Earth)];

/// Adds an array of two modules in series, disconnect and controller on the busbars.
pub fn with_sun(mut sound: Sound) -> Sound {
    let parts = more();
    let array = Array {
        module: first(&parts.module),
        series: 2,
        parallel: 1,
        mounting: Mounting::Flush,
        coldest: Celsius::new(-15.0),
        hottest: Celsius::new(40.0),
        hottest_cell: Celsius::new(75.0),
        name: "roof".to_owned(),
        tilt: quantity::Degrees::zero(),
        azimuth: None,
        dirt: quantity::Fraction::new(0.03),
        shade: Vec::new(),
        space: Vec::new(),
    };
    sound.device("roof", Spec::Array(array), plain(&DC));
    let switch = [
        ("in", Pole::Positive),
        ("out", Pole::Positive),
        ("in-negative", Pole::Negative),
        ("out-negative", Pole::Negative),
    ];
    sound.device("roof.disconnect", Spec::Disconnect(first(&parts.disconnect)), plain(&switch));
    let terminals = plain(&[
        ("array-positive", Pole::Positive),
        ("array-negative", Pole::Negative),
        ("positive", Pole::Positive),
        ("negative", Pole::Negative),
    ]);
    sound.device("roof.controller", Spec::Controller(first(&parts.controller), setting(30.0)), terminals);
    sound.device(
        "roof.fuse",
        Spec::Fuse(fuse("bolt-down-m5", 40.0, 5000.0)),
        plain(&[("in", Pole::Positive), ("out", Pole::Positive)]),
    );
    sound.circuit("roof.array", CircuitKind::Array, 10.0, &[], &["roof.controller"]);
    sound.of("roof.array").voltage = Volts::new(40.0);
    sound.circuit("roof.charge", CircuitKind::Charge, 30.0, &["roof.fuse"], &["roof.controller"]);
    let thin = awg(10);
    sound.cable("roof.array", "positive", "roof.positive", "roof.disconnect.in", thin, 5.0);
    sound.cable("roof.array", "negative", "roof.disconnect.in-negative", "roof.negative", thin, 5.0);
    sound.cable(
        "roof.array",
        "in-positive",
        "roof.disconnect.out",
        "roof.controller.array-positive",
        thin,
        0.5,
    );
    sound.cable(
        "roof.array",
        "in-negative",
        "roof.controller.array-negative",
        "roof.disconnect.out-negative",
        thin,
        0.5,
    );
    sound.cable("roof.charge", "link", "positive-bar.bar", "roof.fuse.in", awg(6), 0.0);
    sound.cable("roof.charge", "positive", "roof.fuse.out", "roof.controller.positive", awg(6), 1.0);
    sound.cable("roof.charge", "negative", "roof.controller.negative", "negative-bar.bar", awg(6), 1.0);
    sound
}

/// Adds alternator, engine battery, a run fused at both ends and a DC-DC charger on the busbars.
pub fn with_engine(mut sound: Sound) -> Sound {
    let parts = more();
    let start = battery_of_engine();
    sound.device("engine.battery", Spec::StartBattery(start), plain(&DC));
    sound.device("engine.alternator", Spec::Alternator(first(&parts.alternator)), plain(&DC));
    let pass = [("in", Pole::Positive), ("out", Pole::Positive)];
    sound.device("engine.fuse", Spec::Fuse(fuse("bolt-down-m5", 60.0, 5000.0)), plain(&pass));
    sound.device("engine.fuse-far", Spec::Fuse(fuse("bolt-down-m5", 60.0, 5000.0)), plain(&pass));
    sound.device("engine.charge.fuse", Spec::Fuse(fuse("bolt-down-m5", 40.0, 5000.0)), plain(&pass));
    let terminals =
        plain(&[("in-positive", Pole::Positive), ("positive", Pole::Positive), ("negative", Pole::Negative)]);
    sound.device("engine.charger", Spec::DcDc(first(&parts.dcdc), setting(30.0)), terminals);
    sound.circuit(
        "engine",
        CircuitKind::Engine,
        40.0,
        &["engine.fuse", "engine.fuse-far"],
        &["engine.charger"],
    );
    sound.circuit("engine.charge", CircuitKind::Charge, 30.0, &["engine.charge.fuse"], &["engine.charger"]);
    let six = awg(6);
    sound.cable("engine", "own", "engine.alternator.positive", "engine.battery.positive", six, 1.0);
    sound.cable("engine", "link", "engine.battery.positive", "engine.fuse.in", six, 0.0);
    sound.cable("engine", "positive", "engine.fuse.out", "engine.fuse-far.in", six, 5.0);
    sound.cable("engine", "link-far", "engine.fuse-far.out", "engine.charger.in-positive", six, 0.0);
    sound.cable("engine", "negative", "engine.charger.negative", "engine.battery.negative", six, 5.0);
    sound.cable("engine.charge", "link", "positive-bar.bar", "engine.charge.fuse.in", six, 0.0);
    sound.cable("engine.charge", "positive", "engine.charge.fuse.out", "engine.charger.positive", six, 0.5);
    sound.cable("engine.charge", "negative", "engine.charger.negative", "negative-bar.bar", six, 0.5);
    sound
}

fn battery_of_engine() -> BatteryAt {
    let mut part = battery();
    part.chemistry = Chemistry::Flooded;
    part.voltage = Volts::new(12.0);
    BatteryAt { part, string: 0, place: 0, short_circuit: Amps::new(2000.0), short_circuit_is_stated: false }
}

/// The engine side of [`with_engine`] with a relay in place of the DC-DC charger.
pub fn with_relay(sound: Sound) -> Sound {
    let mut sound = with_engine(sound);
    sound.find("engine.charger").spec = Spec::Relay(first(&more().relay));
    sound.find("engine.charger").terminals = plain(&[("engine", Pole::Positive), ("house", Pole::Positive)]);
    sound.cut("engine.negative");
    sound.cut("engine.charge.negative");
    sound
}

/// Shore, inverter and a transfer switch on one panel behind a residual-current breaker, with a kettle.
///
/// Shore comes in at `a`, the inverter at `b`.
pub fn with_ac(mut sound: Sound) -> Sound {
    let parts = more();
    sound.system.ac_voltage = Some(Volts::new(120.0));
    let poles = [
        ("in", Pole::Line),
        ("out", Pole::Line),
        ("in-neutral", Pole::Neutral),
        ("out-neutral", Pole::Neutral),
    ];
    sound.device("shore", Spec::Inlet(ShoreInlet { part: first(&parts.inlet) }), plain(&AC));
    sound.device("shore.breaker", breaker("main", None, "main"), plain(&poles));
    let mut terminals = plain(&DC);
    terminals.extend(plain(&AC));
    sound.device("inverter", Spec::Inverter(first(&parts.inverter), None), terminals);
    sound.device(
        "inverter.fuse",
        Spec::Fuse(fuse("class-t", 250.0, 20000.0)),
        plain(&[("in", Pole::Positive), ("out", Pole::Positive)]),
    );
    let terminals = plain(&[
        ("a-line", Pole::Line),
        ("a-neutral", Pole::Neutral),
        ("b-line", Pole::Line),
        ("b-neutral", Pole::Neutral),
        ("line", Pole::Line),
        ("neutral", Pole::Neutral),
        ("earth", Pole::Earth),
    ]);
    sound.device("transfer", Spec::TransferSwitch(first(&parts.transfer_switch)), terminals);
    sound.device("ac.residual", breaker("residual", None, "main"), plain(&poles));
    let panel = sound.device("ac", Spec::AcPanel(first(&parts.ac_panel)), plain(&AC));
    sound.device(
        "kettle.breaker",
        breaker("branch", Some(panel), "branch"),
        plain(&[("in", Pole::Line), ("out", Pole::Line)]),
    );
    sound.device("kettle", Spec::Load(ac_load("kettle", 1500.0)), plain(&AC));

    sound.circuit("inverter", CircuitKind::Inverter, 190.0, &["inverter.fuse"], &["inverter"]);
    let big = awg(-2);
    sound.cable("inverter", "link", "positive-bar.bar", "inverter.fuse.in", big, 0.0);
    sound.cable("inverter", "positive", "inverter.fuse.out", "inverter.positive", big, 1.0);
    sound.cable("inverter", "negative", "inverter.negative", "negative-bar.bar", big, 1.0);
    ac_circuit(&mut sound, "shore", CircuitKind::AcFeeder, 30.0, &["shore.breaker"], &["shore.breaker"]);
    run(
        &mut sound,
        "shore",
        ["shore.line", "shore.neutral"],
        ["shore.breaker.in", "shore.breaker.in-neutral"],
        awg(10),
    );
    ac_circuit(&mut sound, "a", CircuitKind::AcFeeder, 30.0, &[], &["transfer"]);
    run(
        &mut sound,
        "a",
        ["shore.breaker.out", "shore.breaker.out-neutral"],
        ["transfer.a-line", "transfer.a-neutral"],
        awg(10),
    );
    sound.cable("a", "earth", "shore.earth", "transfer.earth", awg(10), 1.0);
    ac_circuit(&mut sound, "b", CircuitKind::AcFeeder, 17.0, &[], &["transfer"]);
    run(
        &mut sound,
        "b",
        ["inverter.line", "inverter.neutral"],
        ["transfer.b-line", "transfer.b-neutral"],
        awg(10),
    );
    sound.cable("b", "earth", "inverter.earth", "transfer.earth", awg(10), 1.0);
    ac_circuit(&mut sound, "ac", CircuitKind::AcFeeder, 30.0, &["ac.residual"], &["ac"]);
    run(
        &mut sound,
        "ac",
        ["transfer.line", "transfer.neutral"],
        ["ac.residual.in", "ac.residual.in-neutral"],
        awg(10),
    );
    sound.cable("ac", "line-2", "ac.residual.out", "ac.line", awg(10), 0.5);
    sound.cable("ac", "neutral-2", "ac.residual.out-neutral", "ac.neutral", awg(10), 0.5);
    sound.cable("ac", "earth", "transfer.earth", "ac.earth", awg(10), 1.0);
    ac_circuit(&mut sound, "kettle", CircuitKind::AcBranch, 12.5, &["kettle.breaker"], &["kettle"]);
    sound.cable("kettle", "link", "ac.line", "kettle.breaker.in", awg(14), 0.0);
    run(
        &mut sound,
        "kettle",
        ["kettle.breaker.out", "ac.neutral"],
        ["kettle.line", "kettle.neutral"],
        awg(14),
    );
    sound.cable("kettle", "earth", "ac.earth", "kettle.earth", awg(14), 3.0);
    sound.cable("bond", "ac", "ac.earth", "chassis.bond", awg(8), 1.0);
    number(&mut sound);
    sound
}

/// An AC circuit.
pub fn ac_circuit(
    sound: &mut Sound,
    id: &str,
    kind: CircuitKind,
    amps: f64,
    protection: &[&str],
    serves: &[&str],
) {
    sound.circuit(id, kind, amps, protection, serves);
    let circuit = sound.of(id);
    circuit.supply = Supply::Ac;
    circuit.voltage = Volts::new(120.0);
}

/// Line and neutral of a run.
pub fn run(sound: &mut Sound, circuit: &str, from: [&str; 2], to: [&str; 2], gauge: Gauge) {
    sound.cable(circuit, "line", from[0], to[0], gauge, 2.0);
    sound.cable(circuit, "neutral", from[1], to[1], gauge, 2.0);
}

/// Gives every conductor a number of its own, and the cores of an AC circuit one together.
pub fn number(sound: &mut Sound) {
    let circuits = sound.system.circuits.clone();
    for (ix, conductor) in sound.system.conductors.iter_mut().enumerate() {
        let is_ac = circuits[conductor.circuit].supply == Supply::Ac;
        conductor.number = match (conductor.is_internal, is_ac) {
            (true, _) => 0,
            (false, true) => 1000 + conductor.circuit as u32,
            (false, false) => ix as u32 + 1,
        };
    }
}

/// Adds a generator on the shore side's place `a` of the transfer switch, in place of shore.
pub fn generator_for_shore(sound: &mut Sound, bond: NeutralBond) {
    let mut part = first(&more().generator);
    part.neutral_bond = bond;
    sound.find("shore").spec = Spec::Generator(part);
}

/// An AC load.
pub fn ac_load(title: &str, watts: f64) -> Load {
    Load {
        title: title.to_owned(),
        supply: Supply::Ac,
        voltage: Volts::new(120.0),
        power: Watts::new(watts),
        power_start: Watts::new(watts),
        current_running: Amps::new(watts / 120.0),
        current_start: Amps::new(watts / 120.0),
        nature: LoadNature::Resistive,
        intent: format!("loads.{title}"),
        ..load()
    }
}

/// Adds an AC load on a breaker of its own.
pub fn plug_in(sound: &mut Sound, id: &str, watts: f64) {
    let panel = sound.system.find("ac");
    let name = format!("{id}.breaker");
    sound.device(
        &name,
        breaker("branch", panel, "branch"),
        plain(&[("in", Pole::Line), ("out", Pole::Line)]),
    );
    sound.device(id, Spec::Load(ac_load(id, watts)), plain(&AC));
    ac_circuit(sound, id, CircuitKind::AcBranch, watts / 120.0, &[&name], &[id]);
    sound.cable(id, "link", "ac.line", &format!("{name}.in"), awg(14), 0.0);
    run(
        sound,
        id,
        [&format!("{name}.out"), "ac.neutral"],
        [&format!("{id}.line"), &format!("{id}.neutral")],
        awg(14),
    );
    sound.cable(id, "earth", "ac.earth", &format!("{id}.earth"), awg(14), 3.0);
    number(sound);
}

/// Makes the inverter an inverter-charger between the shore breaker and the panel, without the transfer switch.
pub fn inverter_charger(sound: &mut Sound) {
    let device = sound.find("inverter");
    let Spec::Inverter(part, setting_of) = &mut device.spec else { panic!("no inverter") };
    (part.charge, part.transfer) = (Some(Amps::new(60.0)), Some(Amps::new(30.0)));
    *setting_of = Some(setting(60.0));
    device.terminals.extend(plain(&[("in-line", Pole::Line), ("in-neutral", Pole::Neutral)]));
    sound.results.faults.most.iter_mut().for_each(|terminals| terminals.resize(terminals.len() + 2, None));
    sound.results.faults.least.iter_mut().for_each(|terminals| terminals.resize(terminals.len() + 2, None));
    sound.move_to("a.line", "shore.breaker.out", "inverter.in-line");
    sound.move_to("a.neutral", "shore.breaker.out-neutral", "inverter.in-neutral");
    sound.cut("b.line");
    sound.cut("b.neutral");
    sound.move_to("ac.line", "inverter.line", "ac.residual.in");
    sound.move_to("ac.neutral", "inverter.neutral", "ac.residual.in-neutral");
    number(sound);
}

/// Adds a second battery in parallel, a copy of the first on the same terminals.
pub fn second_string(sound: &mut Sound) {
    let Spec::Battery(first) = sound.find("bank-1").spec.clone() else { panic!("no battery") };
    let two = sound.device("bank-2", Spec::Battery(BatteryAt { string: 1, ..first }), plain(&DC));
    sound.cable("main", "link-2", "bank-2.positive", "bank-1.positive", awg(-1), 0.3);
    sound.cable("main", "link-3", "bank-1.negative", "bank-2.negative", awg(-1), 0.3);
    let bank = sound.system.bank.as_mut().expect("a bank");
    bank.parallel = 2;
    bank.batteries.push(two);
    (bank.charge_limit, bank.discharge_limit, bank.surge_limit) =
        (bank.charge_limit * 2.0, bank.discharge_limit * 2.0, bank.surge_limit * 2.0);
    bank.capacity = bank.capacity * 2.0;
}

/// Sets a scene: amps of devices, volts of terminals.
pub fn scene(sound: &mut Sound, which: Scene, amps: &[(&str, f64)], volts: &[(&str, f64)]) {
    let mut result = SceneResult {
        scene: which,
        volts: sound.system.devices.iter().map(|device| vec![None; device.terminals.len()]).collect(),
        amps: vec![Amps::zero(); sound.system.conductors.len()],
        losses: vec![Watts::zero(); sound.system.conductors.len()],
        device_amps: vec![Amps::zero(); sound.system.devices.len()],
        collapsed: vec![],
        dead: vec![],
    };
    for (id, value) in amps {
        result.device_amps[sound.system.find(id).expect(id)] = Amps::new(*value);
    }
    for (name, value) in volts {
        let at = sound.system.find_terminal(name).expect(name);
        result.volts[at.device][at.terminal] = Some(Volts::new(*value));
    }
    sound.results.scenes.retain(|known| known.scene != which);
    sound.results.scenes.push(result);
}

/// The one finding there should be, with all that a finding must tell.
pub fn one(found: Vec<Finding>, severity: Severity, place: &str) -> Finding {
    assert_eq!(found.len(), 1, "{found:#?}");
    let finding = found.into_iter().next().expect("one");
    assert_eq!((finding.severity, finding.place.as_str()), (severity, place), "{finding:#?}");
    assert!(
        !finding.why.is_empty() && !finding.because.is_empty() && !finding.fixes.is_empty(),
        "{finding:#?}"
    );
    finding
}

/// Asserts that a rule finds nothing.
pub fn silent(sound: &Sound, rule: &str) {
    let found = sound.finds(rule);
    assert!(found.is_empty(), "{found:#?}");
}

/// The array's data.
pub fn array(sound: &mut Sound) -> &mut Array {
    match &mut sound.find("roof").spec {
        Spec::Array(array) => array,
        _ => panic!("no array"),
    }
}

/// The data of a device of one kind.
#[macro_export]
macro_rules! spec {
    ($sound:expr, $id:literal, $kind:ident) => {
        match &mut $sound.find($id).spec {
            Spec::$kind(part, ..) => part,
            _ => panic!("{} is of another kind", $id),
        }
    };
}
