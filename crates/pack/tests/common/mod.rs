//! A small system built by hand, whose schedules can be worked out on paper, and the examples, derived.
//! Never: is judged; a test sets the findings that it wants to see on paper.
//! Start at [`Small::new`] and [`Derived::example`].
// Each test file uses its own part; these helpers run in tests only, where a panic is the failure.
#![allow(dead_code, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::path::Path;

use model::parts::{LoadNature, PartFacts, Stud, Supply};
use model::{
    Assumption, Circuit, CircuitKind, Conductor, Craft, Device, EnergyPlan, Fuse, Gap, Inputs as Reasons,
    Ledger, Library, Load, Name, Origin, Pole, Project, SourceText, Spec, System, Terminal, TerminalRef,
    Zone, ZoneKind,
};
use network::{Faults, Results};
use pack::{Inputs, OutFile, Pack, Question};
use quantity::*;
use reference::{Insulation, Reference, RuleSet};
use rules::{Finding, Severity};

/// Resistances at 20 °C, no scene, and one fault current everywhere on the DC side.
pub fn study(system: &System, fault: Option<Amps>) -> Results {
    let resistance = |conductor: &Conductor| {
        Reference::standard()
            .resistance_20c(conductor.gauge, conductor.tinned)
            .map_or(Ohms::zero(), |per_km| per_km.value * conductor.length)
    };
    let faults: Vec<Vec<Option<Amps>>> = system
        .devices
        .iter()
        .map(|device| device.terminals.iter().map(|t| fault.filter(|_| !t.pole.is_ac())).collect())
        .collect();
    Results {
        scenes: Vec::new(),
        faults: Faults { most: faults.clone(), least: faults },
        resistances: system.conductors.iter().map(resistance).collect(),
    }
}

/// A system with everything that the papers of it need.
pub struct Derived {
    pub system: System,
    pub library: Library,
    pub results: Results,
    pub study: Option<energy::Study>,
    pub findings: Vec<Finding>,
    pub questions: Vec<Question>,
    pub alternatives: Vec<model::Alternative>,
}

impl Derived {
    /// An example of the repository, derived.
    pub fn example(name: &str) -> Self {
        let path =
            Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name).join("intent.toml");
        let text =
            std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        Self::text(text)
    }

    /// The text of an intent.toml, derived.
    pub fn text(text: String) -> Self {
        let source = SourceText { name: "intent.toml".to_owned(), text };
        let project = Project::read(source, model::library::builtin().clone());
        let project = project.unwrap_or_else(|problems| panic!("{problems:#?}"));
        let system = derive::derive(&project);
        Self {
            results: study(&system, Some(Amps::new(3000.0))),
            study: energy::study(&system, None),
            alternatives: derive::alternatives(&project, &system),
            library: project.library,
            system,
            findings: Vec::new(),
            questions: Vec::new(),
        }
    }

    pub fn inputs(&self) -> Inputs<'_> {
        Inputs {
            system: &self.system,
            library: &self.library,
            results: &self.results,
            study: self.study.as_ref(),
            findings: &self.findings,
            questions: &self.questions,
            alternatives: &self.alternatives,
            one_line: "<svg/>",
            layout: None,
            vehicle: None,
            labelling: None,
        }
    }

    pub fn pack(&self) -> Vec<OutFile> {
        Pack::of(&self.inputs()).unwrap().files
    }

    pub fn schedules(&self) -> pack::Schedules {
        pack::Schedules::of(&self.system, &self.library, &self.results, self.study.as_ref(), &self.findings)
    }
}

/// The text of one of the files.
pub fn text(files: &[OutFile], name: &str) -> String {
    String::from_utf8(bytes(files, name).to_vec()).unwrap()
}

/// The bytes of one of the files.
pub fn bytes<'f>(files: &'f [OutFile], name: &str) -> &'f [u8] {
    &files.iter().find(|file| file.name == name).unwrap_or_else(|| panic!("no {name}")).bytes
}

/// Head and records of a CSV file.
pub fn csv_rows(files: &[OutFile], name: &str) -> (Vec<String>, Vec<Vec<String>>) {
    let mut reader = csv::Reader::from_reader(bytes(files, name));
    let own = |record: &csv::StringRecord| record.iter().map(str::to_owned).collect::<Vec<_>>();
    let head = own(reader.headers().unwrap());
    (head, reader.records().map(|record| own(&record.unwrap())).collect())
}

fn terminal(name: &str, pole: Pole, stud: Option<Stud>) -> Terminal {
    Terminal { name: name.to_owned(), pole, stud, max_gauge: None, feeds: false }
}

fn fuse(family: &str, rating: f64, panel: Option<usize>) -> Spec {
    Spec::Fuse(Fuse {
        family: family.to_owned(),
        rating: Amps::new(rating),
        voltage: Volts::new(32.0),
        interrupt: Amps::new(1000.0),
        holder_largest: Amps::new(200.0),
        distance: Metres::new(0.1),
        panel,
    })
}

/// A 12 V system of rule set `na`: battery, main fuse, two busbars, a panel with a fridge in a two-core sheath, a bond.
pub fn small() -> Derived {
    let library = model::library::builtin().clone();
    let mut system = empty();
    let id = |id: &str| Name::new(id).unwrap();
    let battery = library.battery[&id("lfp-12v-100ah")].clone();
    let bar = library.busbar[&id("busbar-100a-4x-m6")].clone();
    let panel = library.fuse_panel[&id("blade-panel-6-negative")].clone();
    let dc =
        |stud| vec![terminal("positive", Pole::Positive, stud), terminal("negative", Pole::Negative, stud)];
    let two = |stud| vec![terminal("in", Pole::Positive, stud), terminal("out", Pole::Positive, stud)];
    let place = model::BatteryAt {
        part: battery,
        string: 0,
        place: 0,
        short_circuit: Amps::new(3000.0),
        short_circuit_is_stated: true,
    };
    let add = |system: &mut System, id: &str, spec, terminals, part: Option<&str>| {
        let facts = part.and_then(|part| {
            let (kind, id) = part.split_once('.')?;
            library
                .facts()
                .into_iter()
                .find(|(k, i, _)| *k == kind && i.as_str() == id)
                .map(|(.., facts)| facts)
        });
        system.devices.push(Device {
            id: id.to_owned(),
            title: format!("the {id}"),
            spec,
            part: part.map(str::to_owned),
            mass: facts.map_or(Kilograms::zero(), PartFacts::mass),
            price: facts.map_or((Money::zero(), Money::zero()), PartFacts::price),
            size: Vec::new(),
            zone: 0,
            terminals,
            intent: id.to_owned(),
        });
    };
    let s = &mut system;
    add(s, "bank-1", Spec::Battery(place), dc(Some(Stud::M8)), Some("battery.lfp-12v-100ah"));
    let holder = Some("fuse_holder.class-t-holder-200");
    add(s, "main.fuse", fuse("class-t", 150.0, None), two(Some(Stud::In5_16)), holder);
    let plus = vec![terminal("bar", Pole::Positive, Some(Stud::M6))];
    add(s, "positive-bar", Spec::Busbar(bar.clone()), plus, Some("busbar.busbar-100a-4x-m6"));
    let minus = vec![terminal("bar", Pole::Negative, Some(Stud::M6))];
    add(s, "negative-bar", Spec::Busbar(bar), minus, Some("busbar.busbar-100a-4x-m6"));
    add(s, "panel", Spec::FusePanel(panel), dc(Some(Stud::M5)), Some("fuse_panel.blade-panel-6-negative"));
    for number in 1..=4 {
        add(s, &format!("fridge-{number}.fuse"), fuse("blade", 7.5, Some(4)), two(None), None);
    }
    add(s, "fridge", Spec::Load(load()), dc(None), Some("load.fridge-65l"));
    add(s, "chassis", Spec::Chassis, vec![terminal("bond", Pole::Earth, None)], None);
    s.devices[9].title = "Fridge | *cold*\n<b>".to_owned();

    circuit(s, "main", CircuitKind::Main, 80.0, vec![1], vec![2]);
    circuit(s, "fridge", CircuitKind::Branch, 5.0, vec![5, 6, 7, 8], vec![9]);
    circuit(s, "bond", CircuitKind::Bond, 0.0, vec![], vec![]);
    let (big, thin) = (Gauge::Awg(-1), Gauge::Awg(14));
    let single = |gauge: &str| Some(format!("cable.cable-{gauge}-awg"));
    let two_core = Some("cable.cable-14-awg-2-core".to_owned());
    cable(s, 0, 0, "main.link", "bank-1.positive", "main.fuse.in", big, 0.0, 1, None);
    cable(s, 0, 1, "main.positive", "main.fuse.out", "positive-bar.bar", big, 1.5, 1, single("2-0"));
    cable(s, 0, 2, "main.negative", "negative-bar.bar", "bank-1.negative", big, 1.5, 1, single("2-0"));
    cable(s, 1, 3, "fridge.positive", "fridge-1.fuse.out", "fridge.positive", thin, 3.0, 2, two_core.clone());
    cable(s, 1, 3, "fridge.negative", "fridge.negative", "panel.negative", thin, 3.0, 2, two_core);
    cable(s, 2, 4, "bond.dc", "negative-bar.bar", "chassis.bond", Gauge::Awg(6), 1.0, 1, single("6"));
    Derived {
        study: None,
        results: study(&system, Some(Amps::new(3000.0))),
        library,
        system,
        findings: vec![finding()],
        questions: vec![question("cable.slack", 0.5), question("bank.length", 2.0)],
        alternatives: Vec::new(),
    }
}

fn question(path: &str, weight: f64) -> Question {
    Question {
        path: path.to_owned(),
        text: format!("How much is {path}?"),
        low_result: "a smaller bank".to_owned(),
        high_result: "a larger bank | more".to_owned(),
        weight,
    }
}

fn finding() -> Finding {
    Finding {
        rule: "fuse-cannot-interrupt",
        severity: Severity::Danger,
        message: "breaks 1000 A | 3000 A can flow".to_owned(),
        place: "fridge-1.fuse".to_owned(),
        intent: "pins.\"fridge.fuse.family\"".to_owned(),
        why: "It may burst.".to_owned(),
        because: vec!["1000 A < 3000 A".to_owned()],
        cite: Vec::new(),
        fixes: vec![rules::Fix { what: "take another family".to_owned(), edits: Vec::new() }],
        answered: Some("the owner knows".to_owned()),
    }
}

fn empty() -> System {
    let day = WattHoursPerDay::new;
    let mut because = Ledger::default();
    let origin = Origin::Practice("none".to_owned());
    let reason =
        Reasons::new().with("length", "1.5 m", origin).because("2/0 AWG", "=SUM(A1) says the person");
    because.enter("main.positive.gauge", reason);
    System {
        name: "@heath | heather".to_owned(),
        craft: Craft::Van,
        rules: RuleSet::Na,
        voltage: Volts::new(12.0),
        place: None,
        payload: Some(Kilograms::new(120.0)),
        ac_voltage: None,
        zones: vec![Zone {
            id: "living".to_owned(),
            kind: ZoneKind::Living,
            coldest: Celsius::new(0.0),
            hottest: Celsius::new(35.0),
            vented: true,
        }],
        devices: Vec::new(),
        conductors: Vec::new(),
        circuits: Vec::new(),
        bank: None,
        energy: EnergyPlan {
            need_summer: day(600.0),
            need_winter: day(400.0),
            idle: day(20.0),
            sun_summer: day(900.0),
            sun_winter: day(150.0),
            engine: day(200.0),
            shore: day(0.0),
            generator: day(0.0),
            autonomy_wanted: Hours::new(48.0),
            autonomy: Hours::new(46.0),
            peak: Watts::new(1000.0),
        },
        usage: model::Usage::all_year(model::Place {
            latitude: quantity::Degrees::new(45.0),
            longitude: quantity::Degrees::zero(),
            altitude: None,
        }),
        because,
        assumptions: vec![Assumption {
            path: "cable.slack".to_owned(),
            value: "10 %".to_owned(),
            plausible: Some(("5 %".to_owned(), "15 %".to_owned())),
            why: "+10 % is usual | from memory".to_owned(),
            must_answer: false,
        }],
        gaps: vec![Gap {
            path: "shunt.part".to_owned(),
            need: "=a shunt of 900 A".to_owned(),
            intent: "bank".to_owned(),
        }],
        refusals: Vec::new(),
        unused: Vec::new(),
        pinned: BTreeMap::new(),
        answers: Vec::new(),
        ac_peak: VoltAmps::zero(),
        slack: Fraction::new(0.1),
        stacks: Vec::new(),
    }
}

fn load() -> Load {
    Load {
        title: "fridge".to_owned(),
        supply: Supply::Dc,
        count: 2,
        voltage: Volts::new(12.0),
        power: Watts::new(60.0),
        current_running: Amps::new(5.0),
        current_start: Amps::new(9.0),
        power_start: Watts::new(108.0),
        standby: Watts::zero(),
        power_factor: Fraction::one(),
        nature: LoadNature::Motor,
        lowest_start: None,
        critical: false,
        continuous: true,
        takes_turns: None,
        energy_summer: WattHoursPerDay::new(600.0),
        energy_winter: WattHoursPerDay::new(400.0),
        habit: model::Habit::steady(quantity::WattHoursPerDay::zero()),
        intent: "fridge".to_owned(),
    }
}

fn circuit(
    system: &mut System,
    id: &str,
    kind: CircuitKind,
    amps: f64,
    protection: Vec<usize>,
    serves: Vec<usize>,
) {
    system.circuits.push(Circuit {
        id: id.to_owned(),
        title: format!("{id} circuit"),
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
        protection,
        serves,
        intent: id.to_owned(),
    });
}

#[allow(clippy::too_many_arguments)] // one conductor has this many facts
fn cable(
    system: &mut System,
    circuit: usize,
    number: u32,
    id: &str,
    from: &str,
    to: &str,
    gauge: Gauge,
    length: f64,
    cores: u32,
    cable: Option<String>,
) {
    let at =
        |name: &str| -> TerminalRef { system.find_terminal(name).unwrap_or_else(|| panic!("no {name}")) };
    let (from, to) = (at(from), at(to));
    let pole = system.terminal(to).unwrap().pole;
    system.conductors.push(Conductor {
        id: id.to_owned(),
        number,
        from,
        to,
        pole,
        gauge,
        insulation: Insulation::C105,
        tinned: true,
        length: Metres::new(length),
        zone: 0,
        bundle: 1,
        sheathed: cores > 1,
        cores,
        circuit,
        is_internal: length == 0.0,
        cable,
        intent: id.to_owned(),
    });
}
