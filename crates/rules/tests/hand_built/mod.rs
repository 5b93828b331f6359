//! A small sound 12 V system, built by hand so that a rule can be tested without derivation and study.
//! Never: is derived or solved; a test sets the fault currents and scenes that its rule reads.
//! Start at [`Sound::new`]; a test changes one thing and looks at [`Sound::finds`].
#![allow(dead_code)] // each test file uses its own part

use std::collections::BTreeMap;

use model::parts::{Battery, Chemistry, LoadNature, Stud, Supply};
use model::read::read_text;
use model::{
    Bank, BatteryAt, Circuit, CircuitKind, Conductor, Craft, Device, EnergyPlan, Fuse, Ledger, Library, Load,
    Pole, SourceText, Spec, System, Terminal, TerminalRef, Zone, ZoneKind,
};
use network::{Faults, Results, Scene, SceneResult};
use quantity::*;
use reference::{Insulation, RuleSet};
use rules::{Case, Finding, check, check_one, rule};

const PARTS: &str = r##"
[battery.b]
title = "battery"
price = ["1"]
mass = "20 kg"
size = ["1 m", "1 m", "1 m"]
chemistry = "lfp"
voltage = "12.8 V"
capacity = "200 Ah"
charge_limit = "100 A"
discharge_limit = "200 A"
internal_resistance = "3 mΩ"
absorption = "14.2 V"
float = "13.5 V"
cutoff = "11 V"
charge_coldest = "0 °C"
discharge_coldest = "-20 °C"
hottest = "55 °C"
usable = "90 %"
peukert = 1.05
stud = "M8"
most_series = 4
most_parallel = 4

[disconnect.d]
title = "disconnect"
price = ["1"]
mass = "1 kg"
size = []
current = "300 A"
voltage = "48 V"
poles = 1
max_gauge = "4/0 AWG"
stud = "M10"

[busbar.bar]
title = "busbar"
price = ["1"]
mass = "1 kg"
size = []
current = "250 A"
voltage = "48 V"
studs = 4
stud = "M8"
screws = 6

[shunt.s]
title = "shunt"
price = ["1"]
mass = "1 kg"
size = []
current = "300 A"
drop = "50 mV"
voltage = "60 V"
idle = "0.1 W"
stud = "M10"

[fuse_panel.p]
title = "panel"
price = ["1"]
mass = "1 kg"
size = []
family = "blade"
ways = 12
largest = "30 A"
current = "100 A"
voltage = "32 V"
has_negative = true
max_gauge = "10 AWG"
supply_gauge = "6 AWG"
stud = "M5"
"##;

/// The parts of the sound system.
pub fn parts() -> Library {
    let reading = read_text::<Library>(&SourceText { name: "parts.toml".to_owned(), text: PARTS.to_owned() });
    assert!(reading.problems.is_empty(), "{:?}", reading.problems);
    reading.value.expect("the parts read")
}

fn part<T: Clone>(parts: &BTreeMap<model::Name, T>) -> T {
    parts.values().next().expect("one of each kind").clone()
}

/// The battery part.
pub fn battery() -> Battery {
    part(&parts().battery)
}

/// A system that no DC rule has anything against, and its study.
pub struct Sound {
    pub system: System,
    pub results: Results,
    pub study: Option<energy::Study>,
}

pub fn awg(n: i8) -> Gauge {
    Gauge::Awg(n)
}

pub fn terminal(name: &str, pole: Pole, stud: Option<Stud>, most: Option<Gauge>) -> Terminal {
    Terminal { name: name.to_owned(), pole, stud, max_gauge: most, feeds: false }
}

pub fn fuse(family: &str, rating: f64, interrupt: f64) -> Fuse {
    Fuse {
        family: family.to_owned(),
        rating: Amps::new(rating),
        voltage: Volts::new(32.0),
        interrupt: Amps::new(interrupt),
        holder_largest: Amps::new(300.0),
        distance: Metres::new(0.1),
        panel: None,
    }
}

impl Sound {
    /// Bank, main fuse, disconnect, busbars, shunt, one panel with a fridge, chassis bond.
    pub fn new() -> Self {
        let parts = parts();
        let mut sound = Self {
            system: empty(),
            results: Results {
                scenes: vec![],
                faults: Faults { most: vec![], least: vec![] },
                resistances: vec![],
            },
            study: None,
        };
        let heavy = (Some(Stud::M8), Some(awg(-3)));
        let bank = BatteryAt {
            part: part(&parts.battery),
            string: 0,
            place: 0,
            short_circuit: Amps::new(3000.0),
            short_circuit_is_stated: true,
        };
        let two = |a: &str, b: &str, pole, (stud, most)| {
            vec![terminal(a, pole, stud, most), terminal(b, pole, stud, most)]
        };
        let posts = vec![
            terminal("positive", Pole::Positive, heavy.0, None),
            terminal("negative", Pole::Negative, heavy.0, None),
        ];
        sound.device("bank-1", Spec::Battery(bank), posts);
        sound.device(
            "main.fuse",
            Spec::Fuse(fuse("class-t", 150.0, 20000.0)),
            two("in", "out", Pole::Positive, heavy),
        );
        sound.device(
            "main.disconnect",
            Spec::Disconnect(part(&parts.disconnect)),
            two("in", "out", Pole::Positive, heavy),
        );
        sound.device(
            "positive-bar",
            Spec::Busbar(part(&parts.busbar)),
            vec![terminal("bar", Pole::Positive, heavy.0, heavy.1)],
        );
        sound.device(
            "negative-bar",
            Spec::Busbar(part(&parts.busbar)),
            vec![terminal("bar", Pole::Negative, heavy.0, heavy.1)],
        );
        sound.device("shunt", Spec::Shunt(part(&parts.shunt)), two("bank", "system", Pole::Negative, heavy));
        let supply = (Some(Stud::M5), Some(awg(6)));
        sound.device(
            "panel",
            Spec::FusePanel(part(&parts.fuse_panel)),
            vec![
                terminal("positive", Pole::Positive, supply.0, supply.1),
                terminal("negative", Pole::Negative, supply.0, supply.1),
            ],
        );
        sound.device(
            "panel.fuse",
            Spec::Fuse(fuse("bolt-down-m5", 60.0, 5000.0)),
            two("in", "out", Pole::Positive, (Some(Stud::M5), Some(awg(4)))),
        );
        let mut way = fuse("blade", 10.0, 1000.0);
        way.distance = Metres::zero();
        way.panel = Some(6);
        sound.device("fridge.fuse", Spec::Fuse(way), two("in", "out", Pole::Positive, (None, Some(awg(10)))));
        sound.device(
            "fridge",
            Spec::Load(load()),
            vec![
                terminal("positive", Pole::Positive, None, Some(awg(10))),
                terminal("negative", Pole::Negative, None, Some(awg(10))),
            ],
        );
        sound.device("chassis", Spec::Chassis, vec![terminal("bond", Pole::Earth, Some(Stud::M8), None)]);

        sound.circuit("main", CircuitKind::Main, 100.0, &["main.fuse"], &["positive-bar"]);
        sound.circuit("panel", CircuitKind::Feeder, 40.0, &["panel.fuse"], &["panel"]);
        sound.circuit("fridge", CircuitKind::Branch, 5.0, &["fridge.fuse"], &["fridge"]);
        sound.circuit("bond", CircuitKind::Bond, 0.0, &[], &[]);

        let big = awg(-1);
        sound.cable("main", "link", "bank-1.positive", "main.fuse.in", big, 0.0);
        sound.cable("main", "positive", "main.fuse.out", "main.disconnect.in", big, 0.5);
        sound.cable("main", "positive-2", "main.disconnect.out", "positive-bar.bar", big, 0.5);
        sound.cable("main", "negative", "shunt.bank", "bank-1.negative", big, 0.5);
        sound.cable("main", "negative-2", "negative-bar.bar", "shunt.system", big, 0.3);
        sound.cable("panel", "link", "positive-bar.bar", "panel.fuse.in", awg(6), 0.0);
        sound.cable("panel", "positive", "panel.fuse.out", "panel.positive", awg(6), 1.0);
        sound.cable("panel", "negative", "panel.negative", "negative-bar.bar", awg(6), 1.0);
        sound.cable("fridge", "link", "panel.positive", "fridge.fuse.in", awg(14), 0.0);
        sound.cable("fridge", "positive", "fridge.fuse.out", "fridge.positive", awg(14), 2.0);
        sound.cable("fridge", "negative", "fridge.negative", "panel.negative", awg(14), 2.0);
        sound.cable("bond", "chassis", "negative-bar.bar", "chassis.bond", big, 1.0);
        sound
    }

    /// Adds a device.
    pub fn device(&mut self, id: &str, spec: Spec, terminals: Vec<Terminal>) -> usize {
        self.results.faults.most.push(vec![None; terminals.len()]);
        self.results.faults.least.push(vec![None; terminals.len()]);
        self.system.devices.push(Device {
            id: id.to_owned(),
            title: id.to_owned(),
            spec,
            part: None,
            mass: Kilograms::zero(),
            price: (Money::zero(), Money::zero()),
            size: vec![],
            zone: 0,
            terminals,
            intent: format!("devices.{id}"),
        });
        self.system.devices.len() - 1
    }

    /// Adds a circuit.
    pub fn circuit(
        &mut self,
        id: &str,
        kind: CircuitKind,
        amps: f64,
        protection: &[&str],
        serves: &[&str],
    ) -> usize {
        let find = |names: &[&str]| names.iter().map(|name| self.system.find(name).expect(name)).collect();
        let circuit = Circuit {
            id: id.to_owned(),
            title: id.to_owned(),
            kind,
            supply: Supply::Dc,
            voltage: Volts::new(12.0),
            voltage_lowest: Volts::new(11.5),
            current_steady: Amps::new(amps),
            current_surge: Amps::new(amps),
            continuous: false,
            critical: false,
            drop_limit: Fraction::new(0.1),
            protection_least: Amps::new(amps),
            protection: find(protection),
            serves: find(serves),
            intent: format!("circuits.{id}"),
        };
        self.system.circuits.push(circuit);
        self.system.circuits.len() - 1
    }

    /// Adds a cable `circuit.name` between two terminals; of no length: a link inside an assembly.
    pub fn cable(
        &mut self,
        circuit: &str,
        name: &str,
        from: &str,
        to: &str,
        gauge: Gauge,
        length: f64,
    ) -> usize {
        let at = |name: &str| self.system.find_terminal(name).unwrap_or_else(|| panic!("no terminal {name}"));
        let (from, to) = (at(from), at(to));
        let poles = [from, to].map(|at| self.system.terminal(at).expect("found above").pole);
        let pole = if poles.contains(&Pole::Earth) { Pole::Earth } else { poles[0] };
        let circuit_ix = self.system.circuits.iter().position(|known| known.id == circuit).expect(circuit);
        // r = 17.24 mΩ·mm²/m at 20 °C, enough for tests that set no scene.
        self.results.resistances.push(Ohms::new(0.01724 * length / gauge.area().get()));
        self.system.conductors.push(Conductor {
            id: format!("{circuit}.{name}"),
            number: u32::from(length > 0.0),
            from,
            to,
            pole,
            gauge,
            insulation: Insulation::C105,
            tinned: true,
            length: Metres::new(length),
            zone: 0,
            bundle: 1,
            sheathed: false,
            cores: 1,
            circuit: circuit_ix,
            is_internal: length == 0.0,
            cable: None,
            intent: format!("circuits.{circuit}"),
        });
        self.system.conductors.len() - 1
    }

    /// A conductor by name.
    pub fn conductor(&mut self, id: &str) -> &mut Conductor {
        self.system.conductors.iter_mut().find(|conductor| conductor.id == id).expect(id)
    }
    /// A device by name.
    pub fn find(&mut self, id: &str) -> &mut Device {
        self.system.devices.iter_mut().find(|device| device.id == id).expect(id)
    }
    /// A circuit by name.
    pub fn of(&mut self, id: &str) -> &mut Circuit {
        self.system.circuits.iter_mut().find(|circuit| circuit.id == id).expect(id)
    }
    /// A fuse by name.
    pub fn fuse(&mut self, id: &str) -> &mut Fuse {
        match &mut self.find(id).spec {
            Spec::Fuse(fuse) => fuse,
            _ => panic!("{id} is no fuse"),
        }
    }
    /// Takes a conductor away.
    pub fn cut(&mut self, id: &str) {
        let ix = self.system.conductors.iter().position(|conductor| conductor.id == id).expect(id);
        self.system.conductors.remove(ix);
        self.results.resistances.remove(ix);
    }
    /// Moves the ends of a conductor.
    pub fn move_to(&mut self, id: &str, from: &str, to: &str) {
        let at = [from, to].map(|name| self.system.find_terminal(name).expect(name));
        let conductor = self.conductor(id);
        (conductor.from, conductor.to) = (at[0], at[1]);
    }
    /// Sets the largest and smallest fault at a terminal.
    pub fn fault(&mut self, at: &str, most: f64, least: f64) {
        let TerminalRef { device, terminal } = self.system.find_terminal(at).expect(at);
        self.results.faults.most[device][terminal] = Some(Amps::new(most));
        self.results.faults.least[device][terminal] = Some(Amps::new(least));
    }
    /// Sets the scene of everything on: amps of named conductors, volts of named terminals.
    pub fn scene(&mut self, amps: &[(&str, f64)], volts: &[(&str, f64)]) {
        let mut scene = SceneResult {
            scene: Scene::EverythingOn,
            volts: self.system.devices.iter().map(|device| vec![None; device.terminals.len()]).collect(),
            amps: vec![Amps::zero(); self.system.conductors.len()],
            losses: vec![Watts::zero(); self.system.conductors.len()],
            device_amps: vec![Amps::zero(); self.system.devices.len()],
            collapsed: vec![],
            dead: vec![],
        };
        for (id, value) in amps {
            let ix = self.system.conductors.iter().position(|conductor| conductor.id == *id).expect(id);
            scene.amps[ix] = Amps::new(*value);
        }
        for (name, value) in volts {
            let at = self.system.find_terminal(name).expect(name);
            scene.volts[at.device][at.terminal] = Some(Volts::new(*value));
        }
        self.results.scenes.push(scene);
    }
    /// Pins a value.
    pub fn pin(&mut self, path: &str, value: &str) {
        self.system.pinned.insert(path.to_owned(), value.to_owned());
    }

    /// What one rule finds.
    pub fn finds(&self, id: &str) -> Vec<Finding> {
        check_one(
            &Case::new(&self.system, &self.results, self.study.as_ref()),
            rule(id).unwrap_or_else(|| panic!("no rule {id}")),
        )
    }
    /// Everything found.
    pub fn all(&self) -> Vec<Finding> {
        check(&self.system, &self.results, self.study.as_ref())
    }
}

/// A fridge of 5 A.
pub fn load() -> Load {
    Load {
        title: "fridge".to_owned(),
        supply: Supply::Dc,
        count: 1,
        voltage: Volts::new(12.0),
        power: Watts::new(60.0),
        current_running: Amps::new(5.0),
        current_start: Amps::new(5.0),
        power_start: Watts::new(60.0),
        standby: Watts::zero(),
        power_factor: Fraction::one(),
        nature: LoadNature::Electronic,
        lowest_start: None,
        critical: false,
        continuous: false,
        takes_turns: None,
        energy_summer: WattHoursPerDay::zero(),
        energy_winter: WattHoursPerDay::zero(),
        habit: model::Habit::steady(quantity::WattHoursPerDay::zero()),
        intent: "fridge".to_owned(),
    }
}

fn zone(id: &str, kind: ZoneKind, hottest: f64) -> Zone {
    Zone { id: id.to_owned(), kind, coldest: Celsius::new(5.0), hottest: Celsius::new(hottest), vented: true }
}

fn empty() -> System {
    let nothing = WattHoursPerDay::zero();
    System {
        name: "sound".to_owned(),
        craft: Craft::Van,
        rules: RuleSet::Na,
        voltage: Volts::new(12.0),
        place: None,
        payload: None,
        ac_voltage: None,
        zones: vec![zone("cabin", ZoneKind::Living, 30.0), zone("engine", ZoneKind::EngineSpace, 60.0)],
        devices: vec![],
        conductors: vec![],
        circuits: vec![],
        bank: Some(Bank {
            chemistry: Chemistry::Lfp,
            series: 1,
            parallel: 1,
            capacity: AmpHours::new(200.0),
            energy: WattHours::new(2560.0),
            usable: WattHours::new(2300.0),
            charge_limit: Amps::new(100.0),
            discharge_limit: Amps::new(200.0),
            surge_limit: Amps::new(400.0),
            resistance: Ohms::new(0.003),
            short_circuit: Amps::new(3000.0),
            voltage_high: Volts::new(13.4),
            voltage_low: Volts::new(12.0),
            batteries: vec![0],
            zone: 0,
        }),
        energy: EnergyPlan {
            need_summer: nothing,
            need_winter: nothing,
            idle: nothing,
            sun_summer: nothing,
            sun_winter: nothing,
            engine: nothing,
            shore: nothing,
            generator: nothing,
            autonomy_wanted: Hours::zero(),
            autonomy: Hours::new(40.0),
            peak: Watts::new(60.0),
        },
        usage: model::Usage::all_year(model::Place {
            latitude: quantity::Degrees::new(45.0),
            longitude: quantity::Degrees::zero(),
            altitude: None,
        }),
        because: Ledger::default(),
        assumptions: vec![],
        gaps: vec![],
        refusals: vec![],
        unused: vec![],
        pinned: BTreeMap::new(),
        answers: vec![],
        ac_peak: VoltAmps::zero(),
        slack: Fraction::new(0.1),
        stacks: Vec::new(),
    }
}
