//! The system while it is being derived: what is said, assumed and pinned; devices, conductors and their reasons.
//! Never: decides a size. It only keeps the books, so that nothing is entered without its reason.
//! Start at [`Builder`].

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use crate::BoardLengths;
use crate::ways::{Way, Ways};
use model::parts::Stud;
use model::{
    Assumption, Because, Circuit, CircuitIx, Conductor, Device, DeviceIx, Gap, Input, Inputs, Ledger, Name,
    Origin, Pole, Project, Refusal, Spec, Terminal, TerminalRef, Unused, Zone, ZoneIx, parts::PartFacts,
};
use quantity::{Amps, Gauge, Kilograms, Metres, Money, Ohms, Written};
use reference::{Cited, Insulation, OutOfTable, Place, Reference, RuleSet, SystemVoltage};

/// A value with where it comes from: the person, a part, or an assumption.
#[derive(Clone, Debug)]
pub struct Given<T> {
    pub value: T,
    pub origin: Origin,
}

/// The system under construction.
pub struct Builder<'p> {
    /// Lengths known from the mounting board, by conductor.
    pub measured: &'p BoardLengths,
    /// Lengths along the plan of which one end is the board, by their path in the ledger.
    pub from_board: BTreeSet<String>,
    pub project: &'p Project,
    /// Ways along the plan of the vehicle; `None` without a plan.
    ways: Option<Ways>,
    pub reference: &'static Reference,
    pub zones: Vec<Zone>,
    pub devices: Vec<Device>,
    pub conductors: Vec<Conductor>,
    pub circuits: Vec<Circuit>,
    pub ledger: Ledger,
    pub assumptions: Vec<Assumption>,
    pub gaps: Vec<Gap>,
    pub refusals: Vec<Refusal>,
    pub unused: Vec<Unused>,
    pub pinned: BTreeMap<String, String>,
    /// Loop resistance from the bank's cells to a terminal, cold: for the largest fault there.
    pub source_loop: BTreeMap<TerminalRef, Ohms>,
    /// Ampacities already looked up: places repeat.
    pub ampacities: Ampacities,
    /// Smallest conductor for which the library has a lug on a stud.
    least_on_stud: BTreeMap<Stud, Gauge>,
    devices_by_id: BTreeMap<String, DeviceIx>,
    pins_used: BTreeSet<String>,
    assumed: BTreeSet<String>,
}

impl<'p> Builder<'p> {
    pub fn new(project: &'p Project, measured: &'p BoardLengths) -> Self {
        Self {
            project,
            ways: Ways::of(&project.intent),
            reference: Reference::standard(),
            zones: Vec::new(),
            devices: Vec::new(),
            conductors: Vec::new(),
            circuits: Vec::new(),
            ledger: Ledger::default(),
            assumptions: Vec::new(),
            gaps: Vec::new(),
            refusals: Vec::new(),
            unused: Vec::new(),
            pinned: BTreeMap::new(),
            source_loop: BTreeMap::new(),
            ampacities: Ampacities::default(),
            least_on_stud: least_on_stud(project),
            devices_by_id: BTreeMap::new(),
            pins_used: BTreeSet::new(),
            measured,
            from_board: BTreeSet::new(),
            assumed: BTreeSet::new(),
        }
    }

    /// The value that the person gave, or an assumption, listed once per path.
    pub fn given<T: Written + Copy>(
        &mut self,
        path: &str,
        said: Option<T>,
        assumed: T,
        plausible: Option<(T, T)>,
        why: &str,
        must_answer: bool,
    ) -> Given<T> {
        match said {
            Some(value) => Given { value, origin: Origin::Intent(path.to_owned()) },
            None => {
                self.assume(
                    path,
                    assumed.show(),
                    plausible.map(|(low, high)| (low.show(), high.show())),
                    why,
                    must_answer,
                );
                Given { value: assumed, origin: Origin::Assumed(path.to_owned()) }
            }
        }
    }

    /// The length of a run that stands at `path`: as the person said; else along the plan, where it knows both ends; else assumed.
    pub fn given_length(
        &mut self,
        path: &str,
        said: Option<Metres>,
        assumed: Metres,
        plausible: Option<(Metres, Metres)>,
        why: &str,
        must_answer: bool,
    ) -> Given<Metres> {
        let way = if said.is_none() { self.way_of(path, false) } else { None };
        match way {
            Some(way) => self.along(path, &way),
            None => self.given(path, said, assumed, plausible, why, must_answer),
        }
    }

    /// The way along the plan of the run whose length stands at `path`, and the points at its ends.
    pub fn way_of(&self, path: &str, is_ac: bool) -> Option<(Way, String, String)> {
        let ways = self.ways.as_ref()?;
        let (from, to) = ways.ends_of(&self.project.intent, path, is_ac)?;
        let way = ways.between(from, to)?;
        Some((way, ways.name(from)?.to_owned(), ways.name(to)?.to_owned()))
    }

    /// Enters a length along the plan with its reason.
    pub fn along(&mut self, path: &str, (way, from, to): &(Way, String, String)) -> Given<Metres> {
        let mut inputs = Inputs::new();
        for (what, point) in [("from", from), ("to", to)] {
            inputs = inputs.with(what, point, Origin::Intent(format!("plan.points.{point}")));
        }
        for channel in way.channels() {
            let length: i32 = way
                .stretches
                .iter()
                .filter(|stretch| stretch.channel.as_deref() == Some(channel))
                .map(crate::ways::Stretch::length_mm)
                .sum();
            let origin = Origin::Intent(format!("plan.channels.{channel}"));
            inputs = inputs.with(format!("along {channel}"), Metres::new(f64::from(length) / 1000.0), origin);
        }
        let value = way.length();
        let known = format!("plan.{path}");
        let board = self.ways.as_ref().and_then(|ways| ways.name("board"));
        if [from, to].into_iter().any(|point| Some(point.as_str()) == board) {
            self.from_board.insert(known.clone());
        }
        self.because(
            known.clone(),
            inputs.because(value, format!("the plan: {}, and square to it at both ends", way.words())),
        );
        Given { value, origin: Origin::Derived(known) }
    }

    /// Lists an assumption, once per path.
    pub fn assume(
        &mut self,
        path: &str,
        value: String,
        plausible: Option<(String, String)>,
        why: &str,
        must_answer: bool,
    ) {
        if self.assumed.insert(path.to_owned()) {
            self.assumptions.push(Assumption {
                path: path.to_owned(),
                value,
                plausible,
                why: why.to_owned(),
                must_answer,
            });
        }
    }

    /// The pin at `path`, where there is one that can be read.
    pub fn pin<T: Written>(&mut self, path: &str) -> Option<T> {
        let text = self.pin_text(path)?;
        match T::parse(&text) {
            Ok(value) => Some(value),
            Err(error) => {
                self.unused.push(Unused {
                    intent: format!("pins.{path}"),
                    message: error.to_string(),
                    mend: format!("Write it like this: \"{}\"", T::EXAMPLE),
                });
                self.pinned.remove(path);
                None
            }
        }
    }

    /// The text of the pin at `path`.
    pub fn pin_text(&mut self, path: &str) -> Option<String> {
        let text = self.project.intent.pins.0.get(path)?.clone();
        self.pins_used.insert(path.to_owned());
        self.pinned.insert(path.to_owned(), text.clone());
        Some(text)
    }

    /// A part pinned at `path` out of `parts`.
    pub fn pin_part<'l, T>(
        &mut self,
        path: &str,
        parts: &'l BTreeMap<Name, T>,
        what: &str,
    ) -> Option<(&'l Name, &'l T)> {
        let text = self.pin_text(path)?;
        let found = Name::new(&text).ok().and_then(|name| parts.get_key_value(&name));
        if found.is_none() {
            let near = model::read::nearest(&text, parts.keys().map(Name::as_str));
            self.unused.push(Unused {
                intent: format!("pins.{path}"),
                message: format!("there is no {what} part `{text}`"),
                mend: near.map_or_else(
                    || "List the parts with `wattwain parts`".to_owned(),
                    |near| format!("Did you mean `{near}`?"),
                ),
            });
            self.pinned.remove(path);
        }
        found
    }

    /// Pins that no derived value took.
    pub fn report_unused_pins(&mut self) {
        let known: BTreeSet<&String> = self.ledger.iter().map(|(path, _)| path).collect();
        let mut unused = Vec::new();
        for path in self.project.intent.pins.0.keys().filter(|path| !self.pins_used.contains(*path)) {
            let near = model::read::nearest(path, known.iter().map(|path| path.as_str()));
            unused.push(Unused {
                intent: format!("pins.{path}"),
                message: format!("the pin `{path}` names no derived value"),
                mend: near.map_or_else(
                    || "`wattwain why` without a path lists what can be pinned".to_owned(),
                    |near| format!("Did you mean `{near}`?"),
                ),
            });
        }
        self.unused.extend(unused);
    }

    /// Enters the reason of a derived value.
    pub fn because(&mut self, path: impl Into<String>, because: Because) {
        self.ledger.enter(path, because);
    }

    /// Enters a reason for a value that a pin may have replaced.
    pub fn because_pinned(
        &mut self,
        path: &str,
        shown: String,
        derived: Option<String>,
        is_pinned: bool,
        step: impl Into<String>,
        inputs: Inputs,
    ) {
        let mut because = inputs.because(&shown, step);
        if is_pinned {
            because.pinned_over = Some(derived.unwrap_or_else(|| "nothing that fits".to_owned()));
            because.step = format!("pinned; without the pin: {}", because.step);
            because.inputs.push(Input {
                what: "pin".to_owned(),
                value: shown,
                origin: Origin::Intent(format!("pins.{path}")),
            });
        }
        self.ledger.enter(path, because);
    }

    /// A need that no part meets.
    pub fn gap(&mut self, path: &str, need: impl Into<String>, intent: &str) {
        self.gaps.push(Gap { path: path.to_owned(), need: need.into(), intent: intent.to_owned() });
    }

    /// Adds a device without a part.
    pub fn device(
        &mut self,
        id: &str,
        title: &str,
        spec: Spec,
        terminals: Vec<Terminal>,
        zone: ZoneIx,
        intent: &str,
    ) -> DeviceIx {
        let ix = self.devices.len();
        self.devices.push(Device {
            id: id.to_owned(),
            title: title.to_owned(),
            spec,
            part: None,
            mass: Kilograms::zero(),
            price: (Money::zero(), Money::zero()),
            size: Vec::new(),
            zone,
            terminals,
            intent: intent.to_owned(),
        });
        self.devices_by_id.insert(id.to_owned(), ix);
        ix
    }

    /// Says which part a device is.
    pub fn is_part(&mut self, device: DeviceIx, kind: &str, id: &Name, part: &dyn PartFacts) {
        if let Some(device) = self.devices.get_mut(device) {
            device.part = Some(format!("{kind}.{id}"));
            device.mass = part.mass();
            device.price = part.price();
            device.size = part.size().to_vec();
        }
    }

    /// Says that a device stands for several of its part: mass and price count as often.
    pub fn times(&mut self, device: DeviceIx, count: u32) {
        if let Some(device) = self.devices.get_mut(device) {
            let many = f64::from(count);
            device.mass = device.mass * many;
            device.price = (device.price.0 * many, device.price.1 * many);
        }
    }

    /// A device by name.
    pub fn find(&self, id: &str) -> Option<DeviceIx> {
        self.devices_by_id.get(id).copied()
    }

    /// Takes a device away; the caller shifts the indices that refer to later ones.
    pub fn remove(&mut self, device: DeviceIx) {
        self.devices.remove(device);
        self.devices_by_id =
            self.devices.iter().enumerate().map(|(ix, device)| (device.id.clone(), ix)).collect();
    }

    /// A terminal of a device by name. The names are this crate's own, so a missing one is a defect: it falls back to
    /// the first terminal, which the rules on poles then report.
    pub fn at(&self, device: DeviceIx, name: &str) -> TerminalRef {
        let terminal = self
            .devices
            .get(device)
            .and_then(|device| device.terminals.iter().position(|terminal| terminal.name == name))
            .unwrap_or(0);
        debug_assert!(self.devices[device].terminals.iter().any(|t| t.name == name), "{name}");
        TerminalRef { device, terminal }
    }

    /// Largest conductor that a terminal takes.
    pub fn max_gauge(&self, at: TerminalRef) -> Option<Gauge> {
        self.devices.get(at.device)?.terminals.get(at.terminal)?.max_gauge
    }

    /// Smallest conductor for which there is a lug on a terminal's stud.
    pub fn least_gauge(&self, at: TerminalRef) -> Option<Gauge> {
        let stud = self.devices.get(at.device)?.terminals.get(at.terminal)?.stud?;
        self.least_on_stud(stud)
    }

    /// Smallest conductor for which there is a lug on a stud.
    pub fn least_on_stud(&self, stud: Stud) -> Option<Gauge> {
        self.least_on_stud.get(&stud).copied()
    }

    /// Adds a circuit.
    pub fn circuit(&mut self, circuit: Circuit) -> CircuitIx {
        self.circuits.push(circuit);
        self.circuits.len() - 1
    }

    /// Adds a link inside an assembly.
    pub fn link(
        &mut self,
        id: &str,
        from: TerminalRef,
        to: TerminalRef,
        pole: Pole,
        gauge: Gauge,
        circuit: CircuitIx,
    ) {
        let (zone, intent) = self
            .devices
            .get(from.device)
            .map_or((0, String::new()), |device| (device.zone, device.intent.clone()));
        self.conductors.push(Conductor {
            id: id.to_owned(),
            number: 0,
            from,
            to,
            pole,
            gauge,
            insulation: reference::Insulation::C105,
            tinned: true,
            length: Metres::zero(),
            zone,
            bundle: 1,
            sheathed: true,
            cores: 1,
            circuit,
            is_internal: true,
            cable: None,
            intent,
        });
    }

    /// The zone by its name in intent.toml, or the first.
    pub fn zone(&self, name: &Option<Name>) -> ZoneIx {
        name.as_ref()
            .and_then(|name| self.zones.iter().position(|zone| zone.id == name.as_str()))
            .unwrap_or(0)
    }
}

fn least_on_stud(project: &Project) -> BTreeMap<Stud, Gauge> {
    let series = Reference::standard().gauges(project.intent.brief.rules);
    let mut least: BTreeMap<Stud, Gauge> = BTreeMap::new();
    for lug in project.library.lug.values().filter(|lug| series.contains(&lug.gauge)) {
        let known = least.entry(lug.stud).or_insert(lug.gauge);
        *known = lug.gauge.min(*known);
    }
    least
}

/// A terminal.
pub fn terminal(
    name: &str,
    pole: Pole,
    stud: Option<model::parts::Stud>,
    max_gauge: Option<Gauge>,
) -> Terminal {
    Terminal { name: name.to_owned(), pole, stud, max_gauge, feeds: false }
}

/// A terminal that feeds fault current: a battery post, a busbar.
pub fn feeding(
    name: &str,
    pole: Pole,
    stud: Option<model::parts::Stud>,
    max_gauge: Option<Gauge>,
) -> Terminal {
    Terminal { feeds: true, ..terminal(name, pole, stud, max_gauge) }
}

type AmpacityKey = (Gauge, Insulation, SystemVoltage, bool, u32, u64);

/// Ampacities of one rule set, each looked up once.
#[derive(Default)]
pub struct Ampacities(RefCell<BTreeMap<AmpacityKey, Result<Cited<Amps>, OutOfTable>>>);

impl Ampacities {
    /// Ampacity of a conductor in a place.
    pub fn look_up(
        &self,
        rules: RuleSet,
        gauge: Gauge,
        insulation: Insulation,
        place: &Place,
    ) -> Result<Cited<Amps>, OutOfTable> {
        let key = (
            gauge,
            insulation,
            place.system,
            place.engine_space,
            place.bundled_current_carrying,
            place.ambient.get().to_bits(),
        );
        self.0
            .borrow_mut()
            .entry(key)
            .or_insert_with(|| Reference::standard().ampacity(rules, gauge, insulation, place))
            .clone()
    }
}
