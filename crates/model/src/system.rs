//! The whole system as a graph: devices with terminals, joined by conductors, with the reason of each value.
//! Never: is written by anything but `derive`. Study, rules, drawings and documents read it and nothing else.
//! Start at [`System`]; [`System::terminal_name`] and [`System::device`] turn references into names and data.

use std::collections::BTreeMap;

use quantity::{
    AmpHours, Amps, Celsius, Degrees, Fraction, Gauge, Hours, Kilograms, Metres, Money, Ohms, VoltAmps,
    Volts, WattHours, WattHoursPerDay, Watts,
};
use reference::{Insulation, RuleSet};
use serde::Serialize;

use crate::because::Ledger;
use crate::intent::{Answer, Craft, Edit, Mounting, Place, ShadeIntent, ZoneKind};
use crate::parts::{self, Chemistry, LoadNature, Stud, Supply};
use crate::usage::{Habit, Usage};

/// Index of a device in [`System::devices`].
pub type DeviceIx = usize;
/// Index of a conductor in [`System::conductors`].
pub type ConductorIx = usize;
/// Index of a circuit in [`System::circuits`].
pub type CircuitIx = usize;
/// Index of a zone in [`System::zones`].
pub type ZoneIx = usize;

/// A terminal of a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct TerminalRef {
    /// The device.
    pub device: DeviceIx,
    /// The terminal's index in [`Device::terminals`].
    pub terminal: usize,
}

/// What a terminal or conductor carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Pole {
    /// Direct current, positive.
    Positive,
    /// Direct current, negative (return).
    Negative,
    /// Alternating current, first line.
    Line,
    /// Alternating current, second line.
    Line2,
    /// Alternating current, neutral.
    Neutral,
    /// Protective earth, bond or chassis ground.
    Earth,
}

impl Pole {
    /// Whether it carries load current in normal use.
    pub fn carries_current(self) -> bool {
        self != Pole::Earth
    }
    /// Whether it belongs to the alternating-current side.
    pub fn is_ac(self) -> bool {
        matches!(self, Pole::Line | Pole::Line2 | Pole::Neutral)
    }
    /// Whether it is ungrounded, so that protection belongs in it.
    pub fn is_ungrounded(self) -> bool {
        matches!(self, Pole::Positive | Pole::Line | Pole::Line2)
    }
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Pole::Positive => "positive",
            Pole::Negative => "negative",
            Pole::Line => "line",
            Pole::Line2 => "line 2",
            Pole::Neutral => "neutral",
            Pole::Earth => "earth",
        }
    }
}

/// A terminal: where a conductor ends.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Terminal {
    /// Its name on the device, such as `positive`, `in`, `out`, `array-positive`.
    pub name: String,
    /// What it carries.
    pub pole: Pole,
    /// Stud for ring lugs; `None` for a screw or clamp (ferrule).
    pub stud: Option<Stud>,
    /// Largest conductor that it takes; `None` where no limit is known (a bare chassis).
    pub max_gauge: Option<Gauge>,
    /// Whether it is a source of fault current in its own right or joined straight to one (battery post, busbar).
    pub feeds: bool,
}

/// A fuse.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fuse {
    /// Family, a key of the reference table.
    pub family: String,
    /// Rating.
    pub rating: Amps,
    /// Highest voltage.
    pub voltage: Volts,
    /// Interrupt rating at this system's voltage.
    pub interrupt: Amps,
    /// Largest fuse that the holder takes.
    pub holder_largest: Amps,
    /// Distance from its source along the conductor; zero on the source's own stud.
    pub distance: Metres,
    /// The panel whose way it is, where it is one.
    pub panel: Option<DeviceIx>,
}

/// A breaker or residual-current device in the system.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BreakerAt {
    /// Its part.
    pub part: parts::Breaker,
    /// Distance from its source along the conductor.
    pub distance: Metres,
    /// The panel whose way it is, where it is one.
    pub panel: Option<DeviceIx>,
    /// Role in words: `main`, `branch`, `array`.
    pub role: String,
}

/// A solar array.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Array {
    /// Its module.
    pub module: parts::Module,
    /// Modules in series.
    pub series: u32,
    /// Strings in parallel.
    pub parallel: u32,
    /// How it is mounted.
    pub mounting: Mounting,
    /// Coldest and hottest air at the array.
    pub coldest: Celsius,
    /// Hottest air at the array.
    pub hottest: Celsius,
    /// Hottest cell, mounted so.
    pub hottest_cell: Celsius,
    /// The array's name in intent.toml.
    pub name: String,
    /// Tilt from the horizontal; of a tiltable array, when it is tilted.
    pub tilt: Degrees,
    /// Direction it faces, clockwise from north; `None` where the craft parks any way round.
    pub azimuth: Option<Degrees>,
    /// Share of light lost to dirt.
    pub dirt: Fraction,
    /// What throws a shadow on it.
    pub shade: Vec<ShadeIntent>,
    /// Length and width of the area that modules may cover; empty where nobody said.
    pub space: Vec<Metres>,
}

/// One battery at its place in the bank.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BatteryAt {
    /// Its part.
    pub part: parts::Battery,
    /// String, from 0.
    pub string: u32,
    /// Place in the string, from 0 at the negative end.
    pub place: u32,
    /// Short-circuit current used: from the sheet, or `V / R`.
    pub short_circuit: Amps,
    /// Whether that figure is the maker's.
    pub short_circuit_is_stated: bool,
}

/// A charging device's settings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChargeSetting {
    /// Absorption voltage.
    pub absorption: Volts,
    /// Float voltage.
    pub float: Volts,
    /// Current.
    pub current: Amps,
    /// Profile it is set to.
    pub profile: Chemistry,
    /// Whether it stops charging at the bank's lower temperature limit (own sensor, or the bank's own electronics).
    pub stops_in_cold: bool,
}

/// A load on its circuit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Load {
    /// What it is called.
    pub title: String,
    /// Kind of supply.
    pub supply: Supply,
    /// How many.
    pub count: u32,
    /// Voltage at its terminals, nominal.
    pub voltage: Volts,
    /// Power of all of them while running.
    pub power: Watts,
    /// Running current of all of them at nominal voltage.
    pub current_running: Amps,
    /// Start current of all of them (one starting, the others running).
    pub current_start: Amps,
    /// Power while starting, likewise.
    pub power_start: Watts,
    /// Standby power of all of them.
    pub standby: Watts,
    /// Power factor.
    pub power_factor: Fraction,
    /// What it is, electrically.
    pub nature: LoadNature,
    /// Lowest voltage at which it starts.
    pub lowest_start: Option<Volts>,
    /// Whether a low voltage makes it unsafe or useless.
    pub critical: bool,
    /// Whether it may run for three hours or more.
    pub continuous: bool,
    /// Loads of one group never run together.
    pub takes_turns: Option<String>,
    /// Mean energy in summer.
    pub energy_summer: WattHoursPerDay,
    /// Mean energy in winter.
    pub energy_winter: WattHoursPerDay,
    /// When it runs.
    pub habit: Habit,
    /// The load's name in intent.toml.
    pub intent: String,
}

/// An alternating-current source or sink with its bond.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ShoreInlet {
    /// Its part.
    pub part: parts::Inlet,
}

/// What a device is, with all that its kind must tell.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", content = "data", rename_all = "kebab-case")]
#[allow(clippy::large_enum_variant)] // the enum lives in one Vec and is read far more than moved
pub enum Spec {
    /// A battery of the bank. Terminals: `positive`, `negative`.
    Battery(BatteryAt),
    /// The engine's own battery. Terminals: `positive`, `negative`.
    StartBattery(BatteryAt),
    /// A busbar. One terminal, `bar`; its pole says which.
    Busbar(parts::Busbar),
    /// A fuse. Terminals: `in` (source side), `out`.
    Fuse(Fuse),
    /// A breaker or residual-current device. Terminals: `in`, `out`; `in-neutral`, `out-neutral` where it has the pole.
    Breaker(BreakerAt),
    /// A disconnect. Terminals: `in`, `out`; a two-pole one also `in-negative`, `out-negative`.
    Disconnect(parts::Disconnect),
    /// The shunt. Terminals: `bank`, `system`.
    Shunt(parts::Shunt),
    /// A fuse panel. Terminals: `positive`, `negative`; its fuses are devices of their own.
    FusePanel(parts::FusePanel),
    /// A load. Terminals: `positive`, `negative`; for AC `line`, `neutral`, `earth`.
    Load(Load),
    /// An inverter. Terminals: `positive`, `negative`, `line`, `neutral`, `earth`; with a charger also `in-line`, `in-neutral`.
    Inverter(parts::Inverter, Option<ChargeSetting>),
    /// A charger on AC. Terminals: `positive`, `negative`, `line`, `neutral`, `earth`.
    Charger(parts::Charger, ChargeSetting),
    /// A DC-DC charger. Terminals: `in-positive`, `in-negative`, `positive`, `negative` (one `negative` where not isolated).
    DcDc(parts::DcDcCharger, ChargeSetting),
    /// A solar charge controller. Terminals: `array-positive`, `array-negative`, `positive`, `negative`.
    Controller(parts::Controller, ChargeSetting),
    /// A solar array. Terminals: `positive`, `negative`.
    Array(Array),
    /// The engine's alternator. Terminals: `positive`, `negative`.
    Alternator(parts::Alternator),
    /// A charging relay. Terminals: `engine`, `house`.
    Relay(parts::Relay),
    /// A converter. Terminals: `in-positive`, `in-negative`, `positive`, `negative` (one `negative` where not isolated).
    Converter(parts::Converter),
    /// A shore inlet. Terminals: `line`, `neutral`, `earth`.
    Inlet(ShoreInlet),
    /// A generator. Terminals: `line`, `neutral`, `earth`.
    Generator(parts::Generator),
    /// A transfer switch. Terminals: `a-line`, `a-neutral`, `b-line`, `b-neutral`, `line`, `neutral`.
    TransferSwitch(parts::TransferSwitch),
    /// An AC panel. Terminals: `line`, `neutral`, `earth`; its breakers are devices of their own.
    AcPanel(parts::AcPanel),
    /// The chassis, hull bond or earth electrode. One terminal, `bond`.
    Chassis,
}

/// One device.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Device {
    /// Its name: `inverter`, `bank-1`, `galley.fuse`.
    pub id: String,
    /// What it is called in drawings and lists.
    pub title: String,
    /// What it is.
    pub spec: Spec,
    /// The part of the library, `kind.id`; `None` for a load or a part that the person described.
    pub part: Option<String>,
    /// Mass, price band and size of the part; zero and empty where none is bought.
    pub mass: Kilograms,
    /// Lowest and highest price.
    pub price: (Money, Money),
    /// Width, height, depth.
    pub size: Vec<Metres>,
    /// Where it is.
    pub zone: ZoneIx,
    /// Its terminals.
    pub terminals: Vec<Terminal>,
    /// Path in intent.toml that it comes from, nearest first: `loads.fridge`.
    pub intent: String,
}

/// A conductor, one pole of a run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Conductor {
    /// Its name: `inverter.positive`.
    pub id: String,
    /// Run number on the drawing and the label; 0 for internal links.
    pub number: u32,
    /// The end nearer the source.
    pub from: TerminalRef,
    /// The other end.
    pub to: TerminalRef,
    /// What it carries.
    pub pole: Pole,
    /// Size.
    pub gauge: Gauge,
    /// Insulation rating.
    pub insulation: Insulation,
    /// Whether the strands are tinned.
    pub tinned: bool,
    /// Length, one way.
    pub length: Metres,
    /// The hottest zone on its way.
    pub zone: ZoneIx,
    /// Current-carrying conductors bundled together.
    pub bundle: u32,
    /// Whether it is sheathed or in conduit all along.
    pub sheathed: bool,
    /// Cores in its sheath; 1 for a single conductor.
    pub cores: u32,
    /// The circuit it belongs to.
    pub circuit: CircuitIx,
    /// A link inside an assembly (panel bus to its fuse): no length, no cable to buy.
    pub is_internal: bool,
    /// Cable of the library.
    pub cable: Option<String>,
    /// Path in intent.toml that it comes from.
    pub intent: String,
}

/// What a circuit is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CircuitKind {
    /// Links between the batteries of the bank.
    BankLink,
    /// Bank to busbars.
    Main,
    /// Busbars to a panel.
    Feeder,
    /// Panel or busbar to a load.
    Branch,
    /// Busbars to the inverter.
    Inverter,
    /// A charging source to the busbars (controller, charger, DC-DC output, relay).
    Charge,
    /// Engine battery to DC-DC charger or relay.
    Engine,
    /// Array to controller.
    Array,
    /// Busbars to a converter, and converter to its panel.
    Converter,
    /// Shore, generator or inverter to the AC panel.
    AcFeeder,
    /// AC panel to a load or charger.
    AcBranch,
    /// Chassis, hull or equipment bond.
    Bond,
}

/// A circuit: one conductor of each pole from a source to what it serves, and its protection.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Circuit {
    /// Its name: `galley`, `inverter`.
    pub id: String,
    /// What it is called.
    pub title: String,
    /// What it is for.
    pub kind: CircuitKind,
    /// Kind of current.
    pub supply: Supply,
    /// Nominal voltage.
    pub voltage: Volts,
    /// Lowest voltage at its source in normal work, for drops and constant-power currents.
    pub voltage_lowest: Volts,
    /// Largest steady current at the lowest working voltage.
    pub current_steady: Amps,
    /// Largest current for seconds.
    pub current_surge: Amps,
    /// Whether the steady current may last three hours or more.
    pub continuous: bool,
    /// Whether the smaller voltage-drop limit holds.
    pub critical: bool,
    /// Voltage drop allowed in this circuit.
    pub drop_limit: Fraction,
    /// Smallest protective rating that does not trip in normal use.
    pub protection_least: Amps,
    /// Its protective devices, source end first.
    pub protection: Vec<DeviceIx>,
    /// What it serves.
    pub serves: Vec<DeviceIx>,
    /// Path in intent.toml.
    pub intent: String,
}

/// A zone with its climate.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Zone {
    /// Its name.
    pub id: String,
    /// What it is like.
    pub kind: ZoneKind,
    /// Coldest.
    pub coldest: Celsius,
    /// Hottest.
    pub hottest: Celsius,
    /// Whether it has vents to the outside.
    pub vented: bool,
}

/// The bank as a whole.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bank {
    /// Cell chemistry.
    pub chemistry: Chemistry,
    /// Batteries in series.
    pub series: u32,
    /// Strings in parallel.
    pub parallel: u32,
    /// Capacity.
    pub capacity: AmpHours,
    /// Energy at nominal voltage.
    pub energy: WattHours,
    /// Usable energy.
    pub usable: WattHours,
    /// Largest continuous charging current.
    pub charge_limit: Amps,
    /// Largest continuous discharging current.
    pub discharge_limit: Amps,
    /// Largest discharging current for seconds.
    pub surge_limit: Amps,
    /// Resistance of the whole bank, warm.
    pub resistance: Ohms,
    /// Prospective short-circuit current at its terminals.
    pub short_circuit: Amps,
    /// Voltage charged at rest, for faults.
    pub voltage_high: Volts,
    /// Lowest working voltage.
    pub voltage_low: Volts,
    /// Devices, string by string.
    pub batteries: Vec<DeviceIx>,
    /// Where it is.
    pub zone: ZoneIx,
}

/// Mean energy, in and out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EnergyPlan {
    /// Need on a summer day, from the bank, inverter losses and idle draw in it.
    pub need_summer: WattHoursPerDay,
    /// Need on a winter day.
    pub need_winter: WattHoursPerDay,
    /// Idle draw of inverter, monitor and controllers in it.
    pub idle: WattHoursPerDay,
    /// Sun on a summer day.
    pub sun_summer: WattHoursPerDay,
    /// Sun on a winter day.
    pub sun_winter: WattHoursPerDay,
    /// Engine.
    pub engine: WattHoursPerDay,
    /// Shore.
    pub shore: WattHoursPerDay,
    /// Generator.
    pub generator: WattHoursPerDay,
    /// Time wanted without charging.
    pub autonomy_wanted: Hours,
    /// Time without charging in the season of the larger need.
    pub autonomy: Hours,
    /// Largest power drawn from the bank at once, in normal use.
    pub peak: Watts,
}

/// Something that the person did not say.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Assumption {
    /// Path of intent.toml where to say otherwise.
    pub path: String,
    /// The value taken.
    pub value: String,
    /// The ends of the plausible range.
    pub plausible: Option<(String, String)>,
    /// Why this value.
    pub why: String,
    /// Whether safety hangs on it, so that it must be answered before building.
    pub must_answer: bool,
}

/// A need that no part of the library meets.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gap {
    /// The derived value without a part: `inverter.part`.
    pub path: String,
    /// What part would meet the need.
    pub need: String,
    /// Path in intent.toml.
    pub intent: String,
}

/// Why no schedule can be issued.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Refusal {
    /// What cannot be built.
    pub what: String,
    /// The numbers.
    pub numbers: String,
    /// Path in intent.toml.
    pub intent: String,
}

/// A change that makes a refused project derivable, tried.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Alternative {
    /// What to do.
    pub title: String,
    /// The change to intent.toml.
    pub edits: Vec<Edit>,
    /// What comes of it.
    pub outcome: String,
}

/// A pin, built change or stack that could not be used.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Unused {
    /// Path in intent.toml.
    pub intent: String,
    /// What is wrong.
    pub message: String,
    /// How to mend it.
    pub mend: String,
}

/// How a person says that the lugs on a stud are stacked.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SaidStack {
    /// The terminal.
    pub at: TerminalRef,
    /// The stud of a busbar, from 1 nearest the feed; 1 elsewhere.
    pub stud: u32,
    /// The conductors whose lugs lie there, from the pad up.
    pub lugs: Vec<ConductorIx>,
    /// Path in intent.toml.
    pub intent: String,
}

/// The whole system.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct System {
    /// Name of the project.
    pub name: String,
    /// What is fitted out.
    pub craft: Craft,
    /// Rule set.
    pub rules: RuleSet,
    /// Nominal voltage of the bank.
    pub voltage: Volts,
    /// Where on Earth.
    pub place: Option<Place>,
    /// Mass that the system may have.
    pub payload: Option<Kilograms>,
    /// Alternating voltage; `None` without an AC side.
    pub ac_voltage: Option<Volts>,
    /// Zones.
    pub zones: Vec<Zone>,
    /// Devices.
    pub devices: Vec<Device>,
    /// Conductors.
    pub conductors: Vec<Conductor>,
    /// Circuits.
    pub circuits: Vec<Circuit>,
    /// The bank; `None` where the project has none.
    pub bank: Option<Bank>,
    /// Mean energy.
    pub energy: EnergyPlan,
    /// How it is used over the year.
    pub usage: Usage,
    /// Why each derived value is what it is.
    pub because: Ledger,
    /// What the person did not say.
    pub assumptions: Vec<Assumption>,
    /// Needs without a part.
    pub gaps: Vec<Gap>,
    /// Why no schedule can be issued; empty where one can.
    pub refusals: Vec<Refusal>,
    /// Pins, built changes and stacks that name nothing.
    pub unused: Vec<Unused>,
    /// Values that are pinned.
    pub pinned: BTreeMap<String, String>,
    /// Written answers to findings of danger.
    pub answers: Vec<Answer>,
    /// Alternating apparent power that runs at once, in normal use.
    pub ac_peak: VoltAmps,
    /// Share of extra length for making up cable ends.
    pub slack: Fraction,
    /// Stacks of lugs as a person says that they are; where nobody says, they are as the papers say.
    pub stacks: Vec<SaidStack>,
}

impl System {
    /// The device of a terminal or index by name.
    pub fn find(&self, id: &str) -> Option<DeviceIx> {
        self.devices.iter().position(|device| device.id == id)
    }
    /// A terminal's data.
    pub fn terminal(&self, at: TerminalRef) -> Option<&Terminal> {
        self.devices.get(at.device)?.terminals.get(at.terminal)
    }
    /// A terminal by the name of device and terminal: `inverter.positive`.
    pub fn find_terminal(&self, name: &str) -> Option<TerminalRef> {
        let (device, terminal) = name.rsplit_once('.')?;
        let device = self.find(device)?;
        let terminal = self.devices.get(device)?.terminals.iter().position(|t| t.name == terminal)?;
        Some(TerminalRef { device, terminal })
    }
    /// Name of a terminal: `inverter.positive`.
    pub fn terminal_name(&self, at: TerminalRef) -> String {
        match (self.devices.get(at.device), self.terminal(at)) {
            (Some(device), Some(terminal)) => format!("{}.{}", device.id, terminal.name),
            _ => "?".to_owned(),
        }
    }
    /// The conductors that end at a terminal, for every terminal: look-up table, `[device][terminal]`.
    pub fn conductors_at(&self) -> Vec<Vec<Vec<ConductorIx>>> {
        let mut at: Vec<Vec<Vec<ConductorIx>>> =
            self.devices.iter().map(|device| vec![Vec::new(); device.terminals.len()]).collect();
        for (ix, conductor) in self.conductors.iter().enumerate() {
            for end in [conductor.from, conductor.to] {
                if let Some(list) = at.get_mut(end.device).and_then(|device| device.get_mut(end.terminal)) {
                    list.push(ix);
                }
            }
        }
        at
    }
    /// Whether an end of a conductor is at a way of a panel: the panel's terminal stands for all its ways, which have ends of
    /// their own.
    pub fn is_way_of_panel(&self, conductor: &Conductor, end: TerminalRef) -> bool {
        let is_panel = self
            .devices
            .get(end.device)
            .is_some_and(|device| matches!(device.spec, Spec::FusePanel(_) | Spec::AcPanel(_)));
        let feeds_it = || {
            self.circuits.get(conductor.circuit).is_some_and(|circuit| circuit.serves.contains(&end.device))
        };
        is_panel && !feeds_it()
    }
    /// Whether an end of a conductor is a lug on the stud of a terminal: a cable, at no way of a panel.
    pub fn is_lug(&self, conductor: &Conductor, end: TerminalRef) -> bool {
        !conductor.is_internal
            && self.terminal(end).is_some_and(|terminal| terminal.stud.is_some())
            && !self.is_way_of_panel(conductor, end)
    }
    /// Studs of a terminal: of a busbar as many as it has, else one where it has any.
    pub fn studs(&self, at: TerminalRef) -> u32 {
        match (self.terminal(at).and_then(|terminal| terminal.stud), self.devices.get(at.device)) {
            (None, _) | (_, None) => 0,
            (Some(_), Some(Device { spec: Spec::Busbar(bar), .. })) => bar.studs,
            (Some(_), Some(_)) => 1,
        }
    }
    /// Mass of devices and cable is the pack's to add; this is of the devices.
    pub fn device_mass(&self) -> Kilograms {
        self.devices.iter().map(|device| device.mass).sum()
    }
}
