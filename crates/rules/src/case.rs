//! The system and its study as the rules read them: look-ups built once, in time that grows with the system.
//! Never: judges, writes.
//! Start at [`Case`]; the look-ups that most rules need are [`Case::at`], [`Case::conductors_of`], [`Case::cause`],
//! [`Case::ampacity`] and [`Case::current`].

use std::cell::OnceCell;
use std::collections::BTreeMap;

use model::parts::Supply;
use model::{
    Circuit, CircuitIx, Conductor, ConductorIx, Device, DeviceIx, Pole, Spec, System, TerminalRef, ZoneKind,
};
use network::Results;
use quantity::{Amps, Gauge, Volts};
use reference::{Cited, OutOfTable, Place, Reference, SystemVoltage};

use crate::exposure::{Exposure, exposures};
use crate::graph::Graph;

/// What the rules read.
pub struct Case<'s> {
    /// The system.
    pub system: &'s System,
    /// Its study.
    pub results: &'s Results,
    /// Its energy study; `None` where it has no bank, or nobody made one.
    pub energy: Option<&'s energy::Study>,
    /// The tables.
    pub reference: &'static Reference,
    /// Terminals as a graph: what can feed what, through which protection.
    pub graph: Graph,
    at: Vec<Vec<Vec<ConductorIx>>>,
    of_circuit: Vec<Vec<ConductorIx>>,
    ampacities: Vec<Result<Cited<Amps>, OutOfTable>>,
    protects: Vec<Option<CircuitIx>>,
    exposures: OnceCell<Vec<Exposure>>,
    voltage_highest: Volts,
}

impl<'s> Case<'s> {
    /// Builds the look-ups.
    pub fn new(system: &'s System, results: &'s Results, energy: Option<&'s energy::Study>) -> Self {
        let reference = Reference::standard();
        let at = system.conductors_at();
        let mut of_circuit = vec![Vec::new(); system.circuits.len()];
        for (ix, conductor) in system.conductors.iter().enumerate() {
            if let Some(list) = of_circuit.get_mut(conductor.circuit) {
                list.push(ix);
            }
        }
        let ampacities = ampacities(system, reference);
        let charging = system.devices.iter().filter_map(|device| match &device.spec {
            Spec::Inverter(_, setting) => setting.as_ref(),
            Spec::Charger(_, setting) | Spec::DcDc(_, setting) | Spec::Controller(_, setting) => {
                Some(setting)
            }
            _ => None,
        });
        let rest = system.bank.as_ref().map_or(system.voltage, |bank| bank.voltage_high.max(system.voltage));
        let voltage_highest = charging.map(|setting| setting.absorption).fold(rest, Volts::max);
        let graph = Graph::new(system, &at);
        let mut protects = vec![None; system.devices.len()];
        for (ix, circuit) in system.circuits.iter().enumerate() {
            for device in &circuit.protection {
                if let Some(slot) = protects.get_mut(*device) {
                    *slot = Some(ix);
                }
            }
        }
        let exposures = OnceCell::new();
        Self {
            system,
            results,
            energy,
            reference,
            graph,
            at,
            of_circuit,
            ampacities,
            protects,
            exposures,
            voltage_highest,
        }
    }

    /// The conductors that end at a terminal.
    pub fn at(&self, terminal: TerminalRef) -> &[ConductorIx] {
        self.at
            .get(terminal.device)
            .and_then(|device| device.get(terminal.terminal))
            .map_or(&[], Vec::as_slice)
    }
    /// The conductors of a circuit.
    pub fn conductors_of(&self, circuit: CircuitIx) -> &[ConductorIx] {
        self.of_circuit.get(circuit).map_or(&[], Vec::as_slice)
    }
    /// A device by its index.
    pub fn device(&self, ix: DeviceIx) -> Option<&'s Device> {
        self.system.devices.get(ix)
    }
    /// A conductor by its index.
    pub fn conductor(&self, ix: ConductorIx) -> Option<&'s Conductor> {
        self.system.conductors.get(ix)
    }
    /// The circuit of a conductor.
    pub fn circuit_of(&self, conductor: &Conductor) -> Option<&'s Circuit> {
        self.system.circuits.get(conductor.circuit)
    }
    /// Conductors that are cable, not links inside an assembly, with their index.
    pub fn cables(&self) -> impl Iterator<Item = (ConductorIx, &'s Conductor)> {
        self.system.conductors.iter().enumerate().filter(|(_, conductor)| !conductor.is_internal)
    }
    /// A terminal of a device by its name.
    pub fn terminal(&self, device: DeviceIx, name: &str) -> Option<TerminalRef> {
        let terminal = self.device(device)?.terminals.iter().position(|terminal| terminal.name == name)?;
        Some(TerminalRef { device, terminal })
    }
    /// The pole of a terminal.
    pub fn pole(&self, at: TerminalRef) -> Option<Pole> {
        self.system.terminal(at).map(|terminal| terminal.pole)
    }

    /// Path in intent.toml of what caused a value: the pin on the first of `paths` that is pinned, else `otherwise`.
    ///
    /// A change under `built` stands before a pin, because it was made on top of what was derived.
    pub fn cause(&self, paths: &[&str], otherwise: &str) -> String {
        if otherwise.starts_with("built") {
            return otherwise.to_owned();
        }
        let pinned = paths.iter().find(|path| self.system.pinned.contains_key(**path));
        pinned.map_or_else(|| otherwise.to_owned(), |path| format!("pins.{path}"))
    }
    /// Cause of a conductor's size: its own pin, or the pin of the conductor whose size it follows.
    pub fn gauge_cause(&self, conductor: &Conductor) -> String {
        let own = format!("{}.gauge", conductor.id);
        let followed = self.system.because.get(&own).and_then(|because| {
            because.inputs.iter().find_map(|input| match &input.origin {
                model::Origin::Derived(path) if path.ends_with(".gauge") => Some(path.clone()),
                _ => None,
            })
        });
        self.cause(&[&own, followed.as_deref().unwrap_or(&own)], &conductor.intent)
    }
    /// Cause of a protective device's rating or family.
    pub fn protection_cause(&self, device: &Device) -> String {
        let paths = ["rating", "family", "part"].map(|field| format!("{}.{field}", device.id));
        self.cause(&[&paths[0], &paths[1], &paths[2]], &device.intent)
    }
    /// Cause of the choice of a device.
    pub fn part_cause(&self, device: &Device) -> String {
        self.cause(&[&format!("{}.part", device.id)], &device.intent)
    }

    /// Where a conductor runs, as the tables ask it.
    pub fn place(&self, conductor: &Conductor) -> Option<Place> {
        place(self.system, conductor)
    }
    /// What a conductor may carry all day where it runs; an error where no table answers.
    pub fn ampacity(&self, ix: ConductorIx) -> Option<&Result<Cited<Amps>, OutOfTable>> {
        self.ampacities.get(ix)
    }
    /// The largest protective device allowed for a conductor where it runs.
    pub fn max_protection(&self, ix: ConductorIx) -> Option<Cited<Amps>> {
        let conductor = self.conductor(ix)?;
        let ampacity = self.ampacities.get(ix)?.as_ref().ok()?;
        let system = self.place(conductor)?.system;
        Some(self.reference.max_protection(self.system.rules, system, ampacity.value))
    }
    /// The largest protective device allowed for a conductor were it of another size.
    pub fn max_protection_of(&self, conductor: &Conductor, gauge: Gauge) -> Option<Amps> {
        let place = self.place(conductor)?;
        let ampacity =
            self.reference.ampacity(self.system.rules, gauge, conductor.insulation, &place).ok()?;
        Some(self.reference.max_protection(self.system.rules, place.system, ampacity.value).value)
    }
    /// The smallest size of the series for which `fits` holds, at least as large as `from`.
    pub fn smallest_gauge(&self, from: Gauge, fits: impl Fn(Gauge) -> bool) -> Option<Gauge> {
        self.reference.gauges(self.system.rules).iter().copied().find(|gauge| *gauge >= from && fits(*gauge))
    }
    /// The steady current that a conductor must carry: the circuit's own, or more where the study finds more.
    pub fn current(&self, ix: ConductorIx) -> Amps {
        crate::steady_current(self.system, self.results, ix)
    }
    /// The highest voltage of the bank in normal work: charging, or charged at rest.
    pub fn voltage_highest(&self) -> Volts {
        self.voltage_highest
    }
    /// The highest voltage of a circuit in normal work, in the share that the bank's rises above nominal.
    pub fn highest_of(&self, circuit: &Circuit) -> Volts {
        let nominal = self.system.voltage.get();
        if circuit.supply == Supply::Ac || nominal <= 0.0 {
            circuit.voltage
        } else {
            circuit.voltage * (self.voltage_highest.get() / nominal)
        }
    }
    /// The circuit that a device protects or, where it protects none, the one of a conductor at it.
    pub fn circuit_at(&self, device: DeviceIx) -> Option<&'s Circuit> {
        let at_it = || {
            let terminals = self.at.get(device)?;
            self.conductor(*terminals.iter().flatten().next()?).map(|conductor| conductor.circuit)
        };
        let circuit = self.protects.get(device).copied().flatten().or_else(at_it)?;
        self.system.circuits.get(circuit)
    }
    /// Conductors that a battery feeds without fitting protection; found once.
    pub(crate) fn exposures(&self) -> &[Exposure] {
        self.exposures.get_or_init(|| exposures(self))
    }
    /// The smallest size that a conductor could have and be right in all other ways: for its current, the protection
    /// before it, both its terminals and the smallest size allowed; and for which `fits` holds.
    pub fn good_gauge(&self, ix: ConductorIx, fits: impl Fn(Gauge) -> bool) -> Option<Gauge> {
        let conductor = self.conductor(ix)?;
        let place = self.place(conductor)?;
        let rules = self.system.rules;
        let most = [conductor.from, conductor.to]
            .into_iter()
            .filter_map(|end| self.system.terminal(end)?.max_gauge)
            .min();
        let current = self.current(ix);
        let feeds = self.graph.feeds(self.system, ix);
        let rating = feeds.iter().map(|feed| feed.rating).filter(|rating| rating.get().is_finite());
        let rating = rating.fold(Amps::zero(), Amps::max);
        let least =
            self.reference.min_gauge(rules, conductor.cores > 1, place.system == SystemVoltage::Ac).value;
        self.smallest_gauge(least, |gauge| {
            let ampacity = self.reference.ampacity(rules, gauge, conductor.insulation, &place);
            let carries = !conductor.pole.carries_current()
                || ampacity.is_ok_and(|ampacity| {
                    ampacity.value >= current
                        && self.reference.max_protection(rules, place.system, ampacity.value).value >= rating
                });
            carries && most.is_none_or(|most| gauge <= most) && fits(gauge)
        })
    }
    /// The conductor and those of its circuit that carry the same current and are thinner than `gauge`, by name.
    pub fn thinner_than(&self, ix: ConductorIx, gauge: Gauge) -> Vec<&'s str> {
        let Some(conductor) = self.conductor(ix) else { return Vec::new() };
        let same = |other: &&Conductor| {
            other.id == conductor.id
                || (other.pole.carries_current()
                    && !other.is_internal
                    && other.gauge < gauge
                    && conductor.pole.carries_current())
        };
        let all = self.conductors_of(conductor.circuit).iter().filter_map(|other| self.conductor(*other));
        all.filter(same).map(|conductor| conductor.id.as_str()).collect()
    }
    /// The device's terminal stands for a whole panel, whose ways have ends of their own.
    pub(crate) fn is_way_of_panel(&self, conductor: &Conductor, end: TerminalRef) -> bool {
        self.system.is_way_of_panel(conductor, end)
    }
    /// Name of a device, or `?`.
    pub fn name(&self, device: DeviceIx) -> &'s str {
        self.device(device).map_or("?", |device| device.id.as_str())
    }
}

/// Rating and family of a protective device: a fuse or a breaker.
#[derive(Clone, Debug, PartialEq)]
pub struct Protective<'d> {
    /// Rated current.
    pub rating: Amps,
    /// Family; `None` for a breaker, whose data are its own.
    pub family: Option<&'d str>,
    /// Interrupt rating.
    pub interrupt: Amps,
    /// Distance from its source along the conductor.
    pub distance: quantity::Metres,
}

/// What a device says as a protective device, where it is one.
///
/// A residual-current device without a rating of its own counts by its rated current like a breaker.
pub fn protective(device: &Device) -> Option<Protective<'_>> {
    match &device.spec {
        Spec::Fuse(fuse) => Some(Protective {
            rating: fuse.rating,
            family: Some(&fuse.family),
            interrupt: fuse.interrupt,
            distance: fuse.distance,
        }),
        Spec::Breaker(breaker) => Some(Protective {
            rating: breaker.part.current,
            family: None,
            interrupt: breaker.part.interrupt,
            distance: breaker.distance,
        }),
        _ => None,
    }
}

fn place(system: &System, conductor: &Conductor) -> Option<Place> {
    let zone = system.zones.get(conductor.zone)?;
    let circuit = system.circuits.get(conductor.circuit);
    let is_ac = conductor.pole.is_ac() || circuit.is_some_and(|circuit| circuit.supply == Supply::Ac);
    let voltage = circuit.map_or(system.voltage, |circuit| circuit.voltage);
    Some(Place {
        ambient: zone.hottest,
        engine_space: zone.kind == ZoneKind::EngineSpace,
        bundled_current_carrying: conductor.bundle,
        system: voltage_class(is_ac, voltage),
    })
}

/// The voltage class of a circuit; 50 V is where both rule sets change tables.
fn voltage_class(is_ac: bool, voltage: Volts) -> SystemVoltage {
    if is_ac {
        SystemVoltage::Ac
    } else if voltage < Volts::new(50.0) {
        SystemVoltage::Under50
    } else {
        SystemVoltage::Over50
    }
}

/// Ampacity of every conductor; the many alike ones are looked up once.
fn ampacities(system: &System, reference: &Reference) -> Vec<Result<Cited<Amps>, OutOfTable>> {
    let mut known = BTreeMap::new();
    let mut look_up = |conductor: &Conductor| {
        let place = place(system, conductor).ok_or_else(|| OutOfTable {
            what: "ampacity".to_owned(),
            asked: conductor.id.clone(),
            range: "conductors in a zone".to_owned(),
            hint: "say in which zone it runs".to_owned(),
        })?;
        let key = (
            matches!(conductor.gauge, Gauge::Awg(_)),
            conductor.gauge.area().get().to_bits(),
            conductor.insulation,
            place.ambient.get().to_bits(),
            place.engine_space,
            place.bundled_current_carrying,
            place.system as u8,
        );
        let find = || reference.ampacity(system.rules, conductor.gauge, conductor.insulation, &place);
        known.entry(key).or_insert_with(find).clone()
    };
    system.conductors.iter().map(&mut look_up).collect()
}
