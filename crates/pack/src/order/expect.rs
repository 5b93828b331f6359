//! What a reading should be, in words and numbers: from the study where it knows, else from the parts.
//! Never: judges a reading; it says between what limits it is in order.
//! Start at [`Draft::bank_volts`] and its neighbours.

use model::{CircuitIx, ConductorIx, Device, DeviceIx, Spec, TerminalRef};
use network::Scene;
use quantity::{Amps, Celsius, Kilograms, Ohms, Volts};
use reference::{Cite, Reference};

use super::draft::Draft;
use super::step::{Measure, Value};

/// Air temperature of the standard test conditions of modules (IEC 60904-3).
const STANDARD_TEST_C: f64 = 25.0;

/// Mass of one piece, of a device that stands for several.
pub fn mass_of_one(device: &Device) -> Kilograms {
    let pieces = match &device.spec {
        Spec::Load(load) => load.count.max(1),
        Spec::Array(array) => (array.series * array.parallel).max(1),
        _ => 1,
    };
    device.mass / f64::from(pieces)
}

/// A document in a few words, with how well it is known.
pub fn document(cite: &Cite) -> String {
    match Reference::standard().sources().get(cite.source) {
        _ if cite.source == "practice" => "common practice, no source".to_owned(),
        Some(source) => {
            let title: Vec<&str> = source.title.split(' ').take(2).collect();
            format!("{}, provenance: {}", title.join(" "), cite.provenance)
        }
        None => cite.source.to_owned(),
    }
}

/// A reading with limits.
pub fn reading(id: String, what: String, at: Vec<String>, expect: String) -> Measure {
    Measure { id, what, at, expect, low: None, high: None, source: None }
}

impl Draft<'_> {
    /// Each made-up cable, end to end.
    pub fn continuity(&self, cable: ConductorIx) -> Measure {
        let conductor = &self.system.conductors[cable];
        let most = self.reference.continuity_most();
        let own = self.results.resistances.get(cable).copied().unwrap_or(Ohms::zero());
        Measure {
            high: Some(Value::Ohms(most.value)),
            source: Some(most.cite.source),
            ..reading(
                format!("continuity:{}", conductor.id),
                format!("continuity of {}", self.label(cable)),
                vec![self.name(conductor.from), self.name(conductor.to)],
                format!("a steady beep; the cable itself has {own}"),
            )
        }
    }

    /// Run number and id, as on the label.
    pub fn label(&self, cable: ConductorIx) -> String {
        let conductor = &self.system.conductors[cable];
        format!("run {}, {}, {}", conductor.number, conductor.id, conductor.gauge.brief())
    }

    /// Between the poles of a circuit and to the chassis.
    pub fn insulation(&self, circuit: CircuitIx, at: Vec<String>) -> Measure {
        let circuit = &self.system.circuits[circuit];
        let least = self.reference.insulation_least(circuit.voltage);
        let test = if circuit.voltage <= Volts::new(50.0) { "250 V" } else { "500 V" };
        Measure {
            low: Some(Value::Ohms(least.value)),
            source: Some(least.cite.source),
            ..reading(
                format!("insulation:{}", circuit.id),
                format!("insulation of {}, pole to pole and to the chassis", circuit.title),
                at,
                format!("tested at {test}; with an ordinary meter: open, or rising as capacitors fill"),
            )
        }
    }

    /// That plus leads to plus.
    pub fn polarity(&self, circuit: CircuitIx, at: Vec<String>) -> Measure {
        let circuit = &self.system.circuits[circuit];
        let expect = "a beep between ends of one name, none between others";
        reading(
            format!("polarity:{}", circuit.id),
            format!("polarity of {}, each core at its label", circuit.title),
            at,
            expect.to_owned(),
        )
    }

    /// The bank at rest.
    pub fn bank_volts(&self, at: TerminalRef, what: &str) -> Measure {
        let (low, high) = match &self.system.bank {
            Some(bank) => (Some(Value::Volts(bank.voltage_low)), Some(Value::Volts(bank.voltage_high))),
            None => (None, None),
        };
        let expect = match &self.system.bank {
            Some(bank) => {
                format!("the bank at rest, {} to {}, plus at plus", bank.voltage_low, bank.voltage_high)
            }
            None => "the bank at rest, plus at plus".to_owned(),
        };
        let name = self.name(at);
        Measure {
            low,
            high,
            ..reading(format!("volts:{name}"), what.to_owned(), self.against_return(at), expect)
        }
    }

    /// A terminal and the return that it is measured against: the negative or neutral of its device, else the bar.
    pub fn against_return(&self, at: TerminalRef) -> Vec<String> {
        let device = self.device(at.device);
        let is_ac = self.system.terminal(at).is_some_and(|terminal| terminal.pole.is_ac());
        // Of a two-pole device the return stands beside the terminal; else the device has one, or a bar does.
        let of = self.system.terminal(at).map_or("", |terminal| terminal.name.as_str());
        let names: &[&str] = match (is_ac, of) {
            (true, "in" | "in-line") => &["in-neutral", "neutral"],
            (true, "out") => &["out-neutral", "neutral"],
            (true, _) => &["neutral"],
            (false, "in") => &["in-negative", "negative"],
            (false, "out") => &["out-negative", "negative"],
            (false, _) => &["negative"],
        };
        let own =
            names.iter().find_map(|name| device.terminals.iter().position(|terminal| terminal.name == *name));
        let back = match own {
            Some(terminal) => Some(TerminalRef { device: at.device, terminal }),
            None => self.common_return(is_ac),
        };
        [Some(at), back].into_iter().flatten().map(|at| self.name(at)).collect()
    }

    fn common_return(&self, is_ac: bool) -> Option<TerminalRef> {
        let wanted = if is_ac { model::Pole::Neutral } else { model::Pole::Negative };
        let is = |spec: &Spec| matches!(spec, Spec::Busbar(_) | Spec::AcPanel(_) | Spec::FusePanel(_));
        self.system.devices.iter().enumerate().filter(|(_, device)| is(&device.spec)).find_map(
            |(ix, device)| {
                let terminal = device.terminals.iter().position(|terminal| terminal.pole == wanted)?;
                Some(TerminalRef { device: ix, terminal })
            },
        )
    }

    /// Volts that a device gets in a scene, plus against minus.
    pub fn volts_in(&self, scene: Scene, device: DeviceIx, plus: &str, minus: &str) -> Option<Volts> {
        let volts = self.results.scene(scene)?.volts.get(device)?;
        let of = |name: &str| *volts.get(self.terminal(device, name)?.terminal)?;
        Some(of(plus)? - of(minus)?)
    }

    /// Volts lost in the conductors of a circuit when everything runs.
    pub fn drop_of(&self, circuit: CircuitIx) -> Option<Volts> {
        let scene = self.results.scene(Scene::EverythingOn)?;
        let mut lost = Volts::zero();
        for ix in self.spots.conductors_of.get(circuit)? {
            if !self.system.conductors[*ix].pole.carries_current() {
                continue;
            }
            lost += scene.amps.get(*ix)?.abs() * *self.results.resistances.get(*ix)?;
        }
        Some(lost)
    }

    /// The drop of a circuit under load.
    pub fn drop(&self, circuit: CircuitIx, at: Vec<String>) -> Measure {
        let found = &self.system.circuits[circuit];
        let most = found.voltage * found.drop_limit.get();
        let limit =
            format!("no more than {most} ({:.0} % of {})", found.drop_limit.get() * 100.0, found.voltage);
        let expect = match self.drop_of(circuit).filter(|drop| *drop > Volts::zero()) {
            Some(drop) => format!("about {drop} with all of it on; {limit}"),
            None => limit,
        };
        Measure {
            high: Some(Value::Volts(most)),
            ..reading(
                format!("drop:{}", found.id),
                format!("drop of {} under load: volts at its fuse less volts at the load", found.title),
                at,
                expect,
            )
        }
    }

    /// Amps that a device gives or takes in a scene.
    pub fn amps_in(&self, scene: Scene, device: DeviceIx) -> Option<Amps> {
        let amps = self.results.scene(scene)?.device_amps.get(device)?.abs();
        (amps > Amps::zero()).then_some(amps)
    }

    /// Open voltage of an array: hot and cold.
    pub fn open_volts(&self, device: DeviceIx) -> Option<(Volts, Volts)> {
        let Spec::Array(array) = &self.device(device).spec else { return None };
        let at = |cell: Celsius| {
            let rise = cell.get() - STANDARD_TEST_C;
            let share = 1.0 + array.module.voltage_coefficient.get() / 100.0 * rise;
            array.module.open_voltage * f64::from(array.series) * share
        };
        Some((at(array.hottest_cell), at(array.coldest)))
    }

    /// The rated output of an inverter or converter, with what it may stand off.
    pub fn output(&self, at: TerminalRef, rated: Volts, what: String) -> Measure {
        let off = self.reference.output_tolerance();
        let share = off.value.get();
        let name = self.name(at);
        Measure {
            low: Some(Value::Volts(rated * (1.0 - share))),
            high: Some(Value::Volts(rated * (1.0 + share))),
            source: Some(off.cite.source),
            ..reading(
                format!("volts:{name}"),
                what,
                self.against_return(at),
                format!("{rated}, within {:.0} %; the maker's figure governs", share * 100.0),
            )
        }
    }
}
