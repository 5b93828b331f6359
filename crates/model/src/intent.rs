//! What a person writes: the brief, loads, sources, choices, routes, pins, and what is already built.
//! Never: holds a default. What is silent here becomes an assumption in `derive`, with its reason.
//! Start at [`Intent`]; [`Project::read`] reads it with every error located.

use std::collections::BTreeMap;

use quantity::{
    AmpHours, Amps, Celsius, Degrees, Fraction, Gauge, Hours, HoursPerDay, Kilograms, Metres, Ohms, PerDay,
    VoltAmps, Volts, WattHoursPerDay, Watts,
};
use reference::{Insulation, RuleSet};

use crate::Name;
use crate::board_intent::BoardIntent;
use crate::calendar::{ClockTime, DaySpan};
use crate::parts::{Chemistry, Library, LoadNature, NeutralBond, Stud, Supply};
use crate::plan_intent::PlanIntent;
use crate::read::{Problem, SourceText, Spans, read_text};
use crate::stack_intent::Stacks;
use crate::{choice, record};

choice! {
    /// What is being fitted out.
    "a kind of project" pub enum Craft {
        /// A camper van or another motor vehicle.
        Van = "van",
        /// A boat.
        Boat = "boat",
        /// A trailer.
        Trailer = "trailer",
        /// A hut or another fixed building off the grid.
        Hut = "hut",
        /// A mobile workshop.
        Workshop = "workshop",
    }
}

choice! {
    /// When a load runs or the project is used.
    "a season" pub enum Season {
        /// All year.
        AllYear = "all-year",
        /// The warm half of the year.
        Summer = "summer",
        /// The cold half of the year.
        Winter = "winter",
    }
}

choice! {
    /// What the running time of a load follows.
    "a thing that a load follows" pub enum Follows {
        /// Warmth: fridges, fans, air conditioners.
        Heat = "heat",
        /// Cold: heaters, heat tapes.
        Cold = "cold",
    }
}

choice! {
    /// What is given up first when the bank runs low.
    "an importance" pub enum Importance {
        /// Kept on to the last: alarms, a fridge with medicine, navigation.
        Vital = "vital",
        /// Given up when the bank is nearly empty.
        Usual = "usual",
        /// Given up first.
        Spare = "spare",
    }
}

choice! {
    /// What a zone is like.
    "a kind of zone" pub enum ZoneKind {
        /// Where people live or work.
        Living = "living",
        /// A closed space with an engine in it.
        EngineSpace = "engine-space",
        /// A box or locker for batteries.
        BatteryBox = "battery-box",
        /// Bilge or another wet place.
        Wet = "wet",
        /// Outside: a roof, a mast, under the floor.
        Outside = "outside",
    }
}

choice! {
    /// How the engine charges the bank.
    "a way of engine charging" pub enum EngineCharging {
        /// Through a DC-DC charger.
        DcDc = "dc-dc",
        /// Through a relay that joins both batteries.
        Relay = "relay",
        /// Not at all.
        None = "none",
    }
}

choice! {
    /// How the array is mounted.
    "a mounting" pub enum Mounting {
        /// Flat on a roof.
        Flush = "flush",
        /// At a fixed tilt.
        Fixed = "fixed",
        /// Tilted by hand when parked.
        Tiltable = "tiltable",
    }
}

choice! {
    /// What makes alternating current from the bank.
    "a kind of inverter" pub enum InverterKind {
        /// A stand-alone inverter.
        Inverter = "inverter",
        /// An inverter with charger and transfer relay.
        InverterCharger = "inverter-charger",
        /// None.
        None = "none",
    }
}

record! {
    /// Where on Earth it is used.
    "a place" pub struct Place {
        /// Latitude, north positive.
        pub latitude: Degrees,
        /// Longitude, east positive.
        pub longitude: Degrees,
        /// Height above the sea.
        pub altitude: Option<Metres>,
    }
}

record! {
    /// The brief: what it is for and under which rules.
    "the brief" pub struct Brief {
        /// Name of the project, as shown in titles.
        pub name: String,
        /// What is being fitted out.
        pub craft: Craft,
        /// Rule set.
        pub rules: RuleSet,
        /// Nominal direct voltage of the bank.
        pub voltage: Volts,
        /// Where it is used most.
        pub place: Option<Place>,
        /// When it is used.
        pub season: Option<Season>,
        /// People who live or work in it.
        pub people: Option<u32>,
        /// How long it must last without any charging.
        pub autonomy: Option<Hours>,
        /// Mass that the electrical system may have.
        pub payload: Option<Kilograms>,
        /// Chance of running out at least once in a year of use that is put up with.
        pub running_out: Option<Fraction>,
        /// Years that the bank is to last.
        pub bank_years: Option<u32>,
        /// Free text for the documents.
        pub note: Option<String>,
    }
}

record! {
    /// When the project is used.
    "a calendar" pub struct CalendarIntent {
        /// Stretches of days; without them, the whole season of the brief.
        pub used: Vec<DaySpan>,
        /// Days of use in a week of those, at its end.
        pub days_per_week: Option<u32>,
    }
}

record! {
    /// Weather and sky.
    "weather" pub struct WeatherIntent {
        /// A file of hourly weather beside intent.toml; without it, the built-in climate of the place is used.
        pub file: Option<String>,
        /// Height of the horizon at equal steps of direction, clockwise from north.
        pub horizon: Vec<Degrees>,
        /// Share of light that the ground throws back.
        pub ground: Option<Fraction>,
    }
}

record! {
    /// Something on the roof that throws a shadow on an array.
    "something that throws a shadow" pub struct ShadeIntent {
        /// Direction of it from the array's middle, clockwise from north, or from ahead where the craft parks any way round.
        pub direction: Degrees,
        /// Distance from the array's middle.
        pub distance: Metres,
        /// Height above the modules.
        pub height: Metres,
        /// Width.
        pub width: Metres,
        /// Share of the array's power that is lost while its shadow falls on the modules.
        pub loss: Option<Fraction>,
    }
}

record! {
    /// A place in the craft with its own climate.
    "a zone" pub struct ZoneIntent {
        /// What it is like.
        pub kind: Option<ZoneKind>,
        /// Coldest temperature there.
        pub coldest: Option<Celsius>,
        /// Hottest temperature there.
        pub hottest: Option<Celsius>,
        /// Whether the zone has vents to the outside.
        pub vented: Option<bool>,
    }
}

record! {
    /// A load. Either `part` names a typical load, or `power` or `current` says what it takes.
    "a load" pub struct LoadIntent {
        /// A typical load of the parts library.
        pub part: Option<Name>,
        /// What it is called.
        pub title: Option<String>,
        /// Direct or alternating current.
        pub supply: Option<Supply>,
        /// Its voltage, where it differs from the bank's.
        pub voltage: Option<Volts>,
        /// How many of them hang on this circuit.
        pub count: Option<u32>,
        /// Power of one while it runs.
        pub power: Option<Watts>,
        /// Current of one while it runs, instead of power.
        pub current: Option<Amps>,
        /// Power factor, for alternating current.
        pub power_factor: Option<Fraction>,
        /// Power of one while it starts.
        pub start_power: Option<Watts>,
        /// Current of one while it starts, instead of power.
        pub start_current: Option<Amps>,
        /// Power of one while it waits, all day.
        pub standby: Option<Watts>,
        /// Share of the time that it really runs while switched on.
        pub duty: Option<Fraction>,
        /// Hours switched on.
        pub hours: Option<HoursPerDay>,
        /// Runs a day, instead of hours.
        pub runs: Option<PerDay>,
        /// How long one run takes.
        pub run_time: Option<Hours>,
        /// Energy of all of them, where it is known from a meter; overrides hours and runs.
        pub energy: Option<WattHoursPerDay>,
        /// When it runs.
        pub season: Option<Season>,
        /// Time of day from which it runs.
        pub from: Option<ClockTime>,
        /// Time of day until which it runs; before `from` is the next day.
        pub until: Option<ClockTime>,
        /// What is given up first when the bank runs low.
        pub importance: Option<Importance>,
        /// Whether it runs more in heat or in cold; its hours are those of that season.
        pub follows: Option<Follows>,
        /// What it is, electrically.
        pub nature: Option<LoadNature>,
        /// Lowest voltage at which it starts.
        pub lowest_start: Option<Volts>,
        /// Whether a low voltage makes it unsafe or useless.
        pub critical: Option<bool>,
        /// Whether it may run for three hours or more.
        pub continuous: Option<bool>,
        /// Loads of the same group never run together.
        pub takes_turns: Option<Name>,
        /// Where it is.
        pub zone: Option<Name>,
        /// The panel that feeds it.
        pub panel: Option<Name>,
        /// Loads with the same circuit name share one fuse and one run.
        pub circuit: Option<Name>,
        /// Length of the run from panel to load, one way.
        pub length: Option<Metres>,
        /// A route that its run follows; gives zone, bundle and sheath.
        pub route: Option<Name>,
    }
}

record! {
    /// The battery bank.
    "the bank" pub struct BankIntent {
        /// A battery of the parts library.
        pub part: Option<Name>,
        /// Cell chemistry, where no part is named.
        pub chemistry: Option<Chemistry>,
        /// Capacity of the whole bank at its voltage.
        pub capacity: Option<AmpHours>,
        /// Batteries in series in one string.
        pub series: Option<u32>,
        /// Strings in parallel.
        pub parallel: Option<u32>,
        /// Share of the capacity to use; overrides the part's.
        pub usable: Option<Fraction>,
        /// Voltage of one battery that is not in the library.
        pub battery_voltage: Option<Volts>,
        /// Capacity of one battery that is not in the library.
        pub battery_capacity: Option<AmpHours>,
        /// Charging limit of one battery that is not in the library, from its sheet.
        pub battery_charge_limit: Option<Amps>,
        /// Discharging limit of one battery that is not in the library, from its sheet.
        pub battery_discharge_limit: Option<Amps>,
        /// Short-circuit current of one battery, from its sheet.
        pub battery_short_circuit: Option<Amps>,
        /// Internal resistance of one battery, from its sheet.
        pub battery_resistance: Option<Ohms>,
        /// Terminal stud of a battery that is not in the library.
        pub battery_stud: Option<Stud>,
        /// Where it is.
        pub zone: Option<Name>,
        /// Length from the bank to the busbars, one way.
        pub length: Option<Metres>,
        /// Length of each link between neighbouring batteries.
        pub link_length: Option<Metres>,
    }
}

record! {
    /// A solar array on one controller.
    "an array" pub struct ArrayIntent {
        /// A module of the parts library.
        pub module: Option<Name>,
        /// Number of modules.
        pub count: Option<u32>,
        /// Modules in series in one string.
        pub series: Option<u32>,
        /// Controller of the parts library.
        pub controller: Option<Name>,
        /// How it is mounted.
        pub mounting: Option<Mounting>,
        /// Tilt from the horizontal.
        pub tilt: Option<Degrees>,
        /// Direction it faces, clockwise from north.
        pub azimuth: Option<Degrees>,
        /// Length from the array to its controller, one way.
        pub length: Option<Metres>,
        /// Length from the controller to the busbars, one way.
        pub controller_length: Option<Metres>,
        /// Where the controller is.
        pub zone: Option<Name>,
        /// Energy that one peak watt gives on an average day, where known from a table or a year of readings.
        pub sun_hours: Option<HoursPerDay>,
        /// The route of the run from the roof.
        pub route: Option<Name>,
        /// Length and width of the area that modules may cover.
        pub space: Vec<Metres>,
        /// Share of light lost to dirt.
        pub dirt: Option<Fraction>,
        /// What throws a shadow on it.
        pub shade: Vec<ShadeIntent>,
    }
}

record! {
    /// Charging from the engine.
    "engine charging" pub struct EngineIntent {
        /// How.
        pub charging: Option<EngineCharging>,
        /// An alternator of the parts library.
        pub part: Option<Name>,
        /// Alternator rating, where no part is named.
        pub alternator: Option<Amps>,
        /// Voltage of the engine's own system.
        pub voltage: Option<Volts>,
        /// Whether the engine computer varies the voltage.
        pub variable: Option<bool>,
        /// Share of the alternator already taken by the engine's own loads.
        pub own_load: Option<Amps>,
        /// Charging current wanted.
        pub current: Option<Amps>,
        /// DC-DC charger or relay of the parts library.
        pub charger: Option<Name>,
        /// Driving, averaged over the days of use.
        pub driving: Option<HoursPerDay>,
        /// Days from one drive to the next; the mean driving time stays.
        pub drive_every: Option<u32>,
        /// Time of day at which a drive begins.
        pub drive_from: Option<ClockTime>,
        /// Capacity of the engine's own battery.
        pub start_capacity: Option<AmpHours>,
        /// Length from the engine's battery to the DC-DC charger or relay, one way.
        pub length: Option<Metres>,
        /// Length from there to the busbars, one way.
        pub charger_length: Option<Metres>,
        /// The route of the run from the engine.
        pub route: Option<Name>,
    }
}

record! {
    /// Shore power.
    "shore power" pub struct ShoreIntent {
        /// An inlet of the parts library.
        pub part: Option<Name>,
        /// Supply voltage.
        pub voltage: Option<Volts>,
        /// Current of the inlet.
        pub current: Option<Amps>,
        /// Hours of shore power, averaged over the days of use.
        pub hours: Option<HoursPerDay>,
        /// Days from one stay with shore power to the next; the mean time stays.
        pub every: Option<u32>,
        /// Time of day at which it is plugged in.
        pub from: Option<ClockTime>,
        /// Length from the inlet to the AC panel, one way.
        pub length: Option<Metres>,
        /// The route of that run.
        pub route: Option<Name>,
    }
}

record! {
    /// A generator.
    "a generator" pub struct GeneratorIntent {
        /// A generator of the parts library.
        pub part: Option<Name>,
        /// Continuous power, where no part is named.
        pub power: Option<VoltAmps>,
        /// Supply voltage.
        pub voltage: Option<Volts>,
        /// Where it bonds neutral to earth, from its plate.
        pub neutral_bond: Option<NeutralBond>,
        /// Hours it may run.
        pub hours: Option<HoursPerDay>,
        /// State of charge below which it is started.
        pub start_below: Option<Fraction>,
        /// State of charge above which it is stopped.
        pub stop_above: Option<Fraction>,
        /// Time of day from which it may run.
        pub from: Option<ClockTime>,
        /// Time of day until which it may run.
        pub until: Option<ClockTime>,
        /// Length from the generator to the AC panel, one way.
        pub length: Option<Metres>,
        /// The route of that run.
        pub route: Option<Name>,
    }
}

record! {
    /// The inverter.
    "the inverter" pub struct InverterIntent {
        /// What kind.
        pub kind: Option<InverterKind>,
        /// An inverter of the parts library.
        pub part: Option<Name>,
        /// Continuous power wanted, where it is more than the loads ask.
        pub power: Option<Watts>,
        /// Hours it is switched on; otherwise as long as its loads run.
        pub hours: Option<HoursPerDay>,
        /// Where it is.
        pub zone: Option<Name>,
        /// Length from the busbars, one way.
        pub length: Option<Metres>,
    }
}

record! {
    /// A stand-alone charger on shore or generator power.
    "a charger" pub struct ChargerIntent {
        /// A charger of the parts library.
        pub part: Option<Name>,
        /// Charging current wanted.
        pub current: Option<Amps>,
        /// Time in which it is to fill the usable part of the bank.
        pub fill_time: Option<Hours>,
        /// Where it is.
        pub zone: Option<Name>,
        /// Length from the busbars, one way.
        pub length: Option<Metres>,
    }
}

record! {
    /// A fuse panel for direct-current branch circuits.
    "a panel" pub struct PanelIntent {
        /// A fuse panel of the parts library.
        pub part: Option<Name>,
        /// What it is called.
        pub title: Option<String>,
        /// Its voltage, where a converter feeds it.
        pub voltage: Option<Volts>,
        /// Where it is.
        pub zone: Option<Name>,
        /// Length of the feeder from the busbars, one way.
        pub length: Option<Metres>,
        /// A route that the feeder follows.
        pub route: Option<Name>,
        /// Fuse family wanted in its ways.
        pub family: Option<Name>,
        /// Ways to keep free.
        pub spare: Option<u32>,
    }
}

record! {
    /// A converter that feeds a panel of another direct voltage.
    "a converter" pub struct ConverterIntent {
        /// A converter of the parts library.
        pub part: Option<Name>,
        /// The panel that it feeds.
        pub panel: Name,
        /// Where it is.
        pub zone: Option<Name>,
        /// Length from the busbars, one way.
        pub length: Option<Metres>,
    }
}

record! {
    /// The AC panel.
    "the AC panel" pub struct AcIntent {
        /// An AC panel of the parts library.
        pub part: Option<Name>,
        /// Where it is.
        pub zone: Option<Name>,
        /// Length from the inverter to the panel, one way.
        pub length: Option<Metres>,
    }
}

record! {
    /// A way that runs take through the craft.
    "a route" pub struct RouteIntent {
        /// Its length, for runs that follow it from end to end.
        pub length: Option<Metres>,
        /// The hottest zone that it passes.
        pub zone: Option<Name>,
        /// Current-carrying conductors that lie together in it.
        pub bundle: Option<u32>,
        /// Whether the conductors are sheathed or in conduit all along.
        pub sheathed: Option<bool>,
    }
}

record! {
    /// Cable preferences.
    "cable preferences" pub struct CableIntent {
        /// Insulation temperature rating of direct-current conductors.
        pub insulation: Option<Insulation>,
        /// Whether the strands are tinned.
        pub tinned: Option<bool>,
        /// Smallest size to use, whatever the rules allow.
        pub smallest: Option<Gauge>,
        /// Extra length for making up ends, as a share.
        pub slack: Option<Fraction>,
    }
}

record! {
    /// One thing that is built otherwise than derived. Exactly one of `leave_out`, `move_end`, `change`, `add_cable`,
    /// `add_fuse`, `add_device` says what.
    "a built change" pub struct BuiltChange {
        /// Leave out a device (its two sides are joined) or a conductor.
        pub leave_out: Option<String>,
        /// Move an end of this conductor…
        pub move_end: Option<String>,
        /// …the one at this terminal now…
        pub from: Option<String>,
        /// …to this terminal. With `add_cable`: the two ends.
        pub to: Option<String>,
        /// Change values of this device or conductor.
        pub change: Option<String>,
        /// Add a conductor with this new name.
        pub add_cable: Option<Name>,
        /// Add a fuse into this conductor, at its `from` end.
        pub add_fuse: Option<String>,
        /// Add a device of the parts library with this new name.
        pub add_device: Option<Name>,
        /// The kind of that device, as in the parts library.
        pub kind: Option<String>,
        /// The part.
        pub part: Option<Name>,
        /// Conductor size.
        pub gauge: Option<Gauge>,
        /// Conductor length, one way.
        pub length: Option<Metres>,
        /// Insulation rating.
        pub insulation: Option<Insulation>,
        /// Zone.
        pub zone: Option<Name>,
        /// Fuse or breaker rating.
        pub rating: Option<Amps>,
        /// Fuse family.
        pub family: Option<Name>,
        /// Whether a conductor is sheathed all along.
        pub sheathed: Option<bool>,
        /// Setting of a charger: absorption voltage.
        pub absorption: Option<Volts>,
        /// Where an AC device bonds neutral to earth.
        pub neutral_bond: Option<NeutralBond>,
        /// Distance of a protective device from its source along the conductor.
        pub distance: Option<Metres>,
        /// Why, for the documents.
        pub note: Option<String>,
    }
}

record! {
    /// A written answer to a finding of severity danger.
    "an answer" pub struct Answer {
        /// The rule's name.
        pub rule: String,
        /// The device or conductor.
        pub place: String,
        /// The reason, which the documents print.
        pub reason: String,
    }
}

record! {
    /// Everything a person says about a project.
    "a project" pub struct Intent {
        /// The brief.
        pub brief: Brief,
        /// Zones by name.
        #[schemars(default)]
        pub zones: BTreeMap<Name, ZoneIntent>,
        /// Loads by name.
        #[schemars(default)]
        pub loads: BTreeMap<Name, LoadIntent>,
        /// When the project is used.
        pub calendar: Option<CalendarIntent>,
        /// Weather and sky.
        pub weather: Option<WeatherIntent>,
        /// The battery bank.
        pub bank: Option<BankIntent>,
        /// Solar arrays by name.
        #[schemars(default)]
        pub solar: BTreeMap<Name, ArrayIntent>,
        /// Engine charging.
        pub engine: Option<EngineIntent>,
        /// Shore power.
        pub shore: Option<ShoreIntent>,
        /// A generator.
        pub generator: Option<GeneratorIntent>,
        /// The inverter.
        pub inverter: Option<InverterIntent>,
        /// A stand-alone charger.
        pub charger: Option<ChargerIntent>,
        /// Fuse panels by name.
        #[schemars(default)]
        pub panels: BTreeMap<Name, PanelIntent>,
        /// Converters by name.
        #[schemars(default)]
        pub converters: BTreeMap<Name, ConverterIntent>,
        /// The AC panel.
        pub ac: Option<AcIntent>,
        /// Routes by name.
        #[schemars(default)]
        pub routes: BTreeMap<Name, RouteIntent>,
        /// Cable preferences.
        pub cable: Option<CableIntent>,
        /// The mounting board.
        pub board: Option<BoardIntent>,
        /// The plan of the vehicle, boat or hut.
        pub plan: Option<PlanIntent>,
        /// Fixed values: path of a derived value to what it is to be.
        #[schemars(default)]
        pub pins: Pins,
        /// What is built otherwise than derived.
        #[schemars(default)]
        pub built: Vec<BuiltChange>,
        /// How lugs are in fact stacked, by stud, from the pad up; without it, in the order that the papers say.
        #[schemars(default)]
        pub stacks: Stacks,
        /// Written answers to findings of danger.
        #[schemars(default)]
        pub answers: Vec<Answer>,
    }
}

/// Pins by path: `"inverter.positive.gauge" = "2/0 AWG"`. The text is read when `derive` knows what it is for.
#[derive(Clone, Debug, PartialEq, Default, serde::Serialize, schemars::JsonSchema)]
#[schemars(transparent)]
pub struct Pins(pub BTreeMap<String, String>);

impl crate::read::ReadValue for Pins {
    fn read(
        value: &toml::Spanned<toml::de::DeValue<'_>>,
        context: &mut crate::read::Context<'_>,
    ) -> Option<Self> {
        crate::values::read_texts(value, context).map(Self)
    }
    fn absent() -> Option<Self> {
        Some(Self::default())
    }
    fn example() -> std::borrow::Cow<'static, str> {
        "{ \"inverter.positive.gauge\" = \"2/0 AWG\" }".into()
    }
}

/// A change to the text of a project: set the value at a path, or take it away.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Edit {
    /// Path in the file, such as `loads.fridge.length`, or `pins."inverter.positive.gauge"` given as two segments.
    pub path: Vec<String>,
    /// New value, as written in the file without quotes; `None` takes the key away. Under `stacks` a list in brackets.
    pub value: Option<String>,
}

impl Edit {
    /// Sets the value at a dotted path (pins have a path of their own: see [`Edit::pin`]).
    pub fn set(path: &str, value: impl Into<String>) -> Self {
        Self { path: path.split('.').map(str::to_owned).collect(), value: Some(value.into()) }
    }
    /// Sets or takes away a pin.
    pub fn pin(path: &str, value: Option<String>) -> Self {
        Self { path: vec!["pins".to_owned(), path.to_owned()], value }
    }
    /// Says how the lugs on a stud are stacked, from the pad up.
    pub fn stack(stud: &str, lugs: &[&str]) -> Self {
        let lugs: Vec<String> = lugs.iter().map(|lug| format!("{lug:?}")).collect();
        Self {
            path: vec!["stacks".to_owned(), stud.to_owned()],
            value: Some(format!("[{}]", lugs.join(", "))),
        }
    }
    /// How a person would write it.
    pub fn shown(&self) -> String {
        let path = match self.path.as_slice() {
            [table, path] if table == "pins" || table == "stacks" => format!("{table}.\"{path}\""),
            path => path.join("."),
        };
        match &self.value {
            Some(list) if crate::edit::list(&self.path, list).is_some() => format!("{path} = {list}"),
            Some(value) => format!("{path} = \"{value}\""),
            None => format!("take away {path}"),
        }
    }
}

/// A project as read: intent, where each value stands, and the parts to choose from.
#[derive(Clone, Debug)]
pub struct Project {
    /// What the person wrote.
    pub intent: Intent,
    /// Where each value stands in `source`.
    pub spans: Spans,
    /// The file.
    pub source: SourceText,
    /// Parts to choose from: the built-in library with the project's own parts over it.
    pub library: Library,
}

impl Project {
    /// Reads a project from the text of its `intent.toml`.
    ///
    /// Gives the project only where the file has no problem at all; otherwise every problem.
    pub fn read(source: SourceText, library: Library) -> Result<Self, Vec<Problem>> {
        let reading = read_text::<Intent>(&source);
        match reading.value {
            Some(intent) if reading.problems.is_empty() => {
                let problems = crate::check::references(&intent, &reading.spans, &source, &library);
                if problems.is_empty() {
                    Ok(Self { intent, spans: reading.spans, source, library })
                } else {
                    Err(problems)
                }
            }
            _ => Err(reading.problems),
        }
    }

    /// The same project with `edits` made to its text; comments and order stay.
    pub fn with_edits(&self, edits: &[Edit]) -> Result<Self, Vec<Problem>> {
        let text = crate::edit::apply(&self.source.text, edits).map_err(|message| {
            vec![Problem {
                message,
                file: self.source.name.clone(),
                field: String::new(),
                span: 0..0,
                line: 1,
                column: 1,
                mend: "Check the path of the change".to_owned(),
            }]
        })?;
        let source = SourceText { name: self.source.name.clone(), text };
        Self::read(source, self.library.clone())
    }
}
