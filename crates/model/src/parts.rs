//! The parts library: what each kind of part must tell so that it can be chosen, judged, drawn and bought.
//! Never: names a maker. Figures are honest typical ones of generic parts; a project may add its own.
//! Start at [`Library`]; [`Library::merge`] lays a project's own parts over the built-in ones.

use std::collections::BTreeMap;

use quantity::{
    AmpHours, Amps, Celsius, Farads, Fraction, Gauge, Hours, HoursPerDay, Kilograms, Metres, Money, Ohms,
    PerDay, PercentPerKelvin, VoltAmps, Volts, Watts,
};
use reference::Insulation;

use crate::Name;
use crate::board_intent::Footprint;
use crate::calendar::ClockTime;
use crate::intent::Follows;
use crate::{choice, record};

/// Declares a kind of part: its own fields and those that every part has.
macro_rules! part {
    ($(#[$meta:meta])* $what:literal pub struct $name:ident { $($body:tt)* }) => {
        record! {
            $(#[$meta])*
            $what pub struct $name {
                /// What it is, as a shop would list it, without a maker.
                pub title: String,
                /// Lowest and highest usual price, in the project's currency.
                pub price: Vec<Money>,
                /// Mass.
                pub mass: Kilograms,
                /// Width, height, depth as mounted.
                pub size: Vec<Metres>,
                /// What to know about it.
                pub note: Option<String>,
                /// How it is mounted, where that differs from its kind.
                pub footprint: Option<Footprint>,
                $($body)*
            }
        }
        impl PartFacts for $name {
            fn title(&self) -> &str { &self.title }
            fn price(&self) -> (Money, Money) {
                let low = self.price.first().copied().unwrap_or(Money::zero());
                (low, self.price.last().copied().unwrap_or(low))
            }
            fn mass(&self) -> Kilograms { self.mass }
            fn size(&self) -> &[Metres] { &self.size }
            fn footprint(&self) -> Option<&Footprint> { self.footprint.as_ref() }
        }
    };
}

/// What every part tells.
pub trait PartFacts {
    /// What it is.
    fn title(&self) -> &str;
    /// Lowest and highest usual price.
    fn price(&self) -> (Money, Money);
    /// Mass.
    fn mass(&self) -> Kilograms;
    /// Width, height, depth; empty where it does not matter.
    fn size(&self) -> &[Metres];
    /// How it is mounted, where that differs from its kind.
    fn footprint(&self) -> Option<&Footprint>;
}

choice! {
    /// Cell chemistry of a battery.
    "a battery chemistry" pub enum Chemistry {
        /// Lithium iron phosphate.
        Lfp = "lfp",
        /// Lead-acid, absorbent glass mat.
        Agm = "agm",
        /// Lead-acid, gel.
        Gel = "gel",
        /// Lead-acid, flooded.
        Flooded = "flooded",
    }
}

choice! {
    /// A threaded stud or bolt for ring terminals.
    "a stud size" pub enum Stud {
        /// Metric 4 mm.
        M4 = "M4",
        /// Metric 5 mm.
        M5 = "M5",
        /// Metric 6 mm.
        M6 = "M6",
        /// Metric 8 mm.
        M8 = "M8",
        /// Metric 10 mm.
        M10 = "M10",
        /// Metric 12 mm.
        M12 = "M12",
        /// Number 8 screw.
        No8 = "#8",
        /// Number 10 screw.
        No10 = "#10",
        /// Quarter inch.
        In1_4 = "1/4 in",
        /// Five sixteenths of an inch.
        In5_16 = "5/16 in",
        /// Three eighths of an inch.
        In3_8 = "3/8 in",
        /// Half an inch.
        In1_2 = "1/2 in",
    }
}

choice! {
    /// Where an alternating-current device joins neutral to earth.
    "a neutral bond" pub enum NeutralBond {
        /// Never.
        None = "none",
        /// Always, while the device is connected.
        Fixed = "fixed",
        /// Only while the device is the source (a relay opens it otherwise).
        Switched = "switched",
    }
}

part! {
    /// A battery, or one battery of a bank.
    "a battery" pub struct Battery {
        /// Cell chemistry.
        pub chemistry: Chemistry,
        /// Nominal voltage.
        pub voltage: Volts,
        /// Rated capacity (20 h rate for lead-acid).
        pub capacity: AmpHours,
        /// Largest continuous charging current.
        pub charge_limit: Amps,
        /// Largest continuous discharging current.
        pub discharge_limit: Amps,
        /// Largest discharging current for `surge_time`.
        pub surge_limit: Option<Amps>,
        /// How long the surge limit holds.
        pub surge_time: Option<Hours>,
        /// Current into a bolted short circuit, from the maker's sheet.
        pub short_circuit: Option<Amps>,
        /// Internal resistance, warm and charged.
        pub internal_resistance: Ohms,
        /// Absorption voltage to set the chargers to.
        pub absorption: Volts,
        /// Float voltage.
        pub float: Volts,
        /// Voltage at which discharging stops.
        pub cutoff: Volts,
        /// Coldest temperature for charging.
        pub charge_coldest: Celsius,
        /// Coldest temperature for discharging.
        pub discharge_coldest: Celsius,
        /// Hottest temperature for use.
        pub hottest: Celsius,
        /// Share of the capacity that may be used.
        pub usable: Fraction,
        /// Whether it warms itself before charging.
        pub heated: Option<bool>,
        /// Peukert exponent.
        pub peukert: f64,
        /// Terminal stud.
        pub stud: Stud,
        /// Largest number of batteries in series.
        pub most_series: u32,
        /// Largest number of strings in parallel.
        pub most_parallel: u32,
    }
}

part! {
    /// An inverter, or an inverter with a charger and a transfer relay.
    "an inverter" pub struct Inverter {
        /// Direct-current voltage.
        pub voltage: Volts,
        /// Output voltage.
        pub output: Volts,
        /// Output frequency in hertz.
        pub frequency: u32,
        /// Continuous real power at 25 °C.
        pub power: Watts,
        /// Continuous real power at 40 °C.
        pub power_hot: Watts,
        /// Surge power for some seconds.
        pub surge: Watts,
        /// Lowest input voltage at which it runs.
        pub lowest_input: Volts,
        /// Highest input voltage.
        pub highest_input: Volts,
        /// Draw with no load.
        pub idle: Watts,
        /// Draw while it waits for a load, where it can.
        pub search: Option<Watts>,
        /// Efficiency at a quarter of the power.
        pub efficiency_quarter: Fraction,
        /// Efficiency at full power.
        pub efficiency_full: Fraction,
        /// Input capacitance, which sets the inrush.
        pub capacitance: Farads,
        /// Charging current, for a combined unit.
        pub charge: Option<Amps>,
        /// Transfer relay rating, for a combined unit.
        pub transfer: Option<Amps>,
        /// Where it bonds neutral to earth.
        pub neutral_bond: NeutralBond,
        /// Largest input conductor.
        pub max_gauge: Gauge,
        /// Input stud.
        pub stud: Stud,
    }
}

part! {
    /// A charger fed by alternating current.
    "a charger" pub struct Charger {
        /// Battery voltage.
        pub voltage: Volts,
        /// Charging current.
        pub current: Amps,
        /// Input voltage.
        pub input: Volts,
        /// Efficiency.
        pub efficiency: Fraction,
        /// Chemistries it has a profile for.
        pub profiles: Vec<Chemistry>,
        /// Largest conductor.
        pub max_gauge: Gauge,
        /// Terminal stud, where it has one.
        pub stud: Option<Stud>,
    }
}

part! {
    /// A charge controller for solar modules.
    "a charge controller" pub struct Controller {
        /// Battery voltages it can charge.
        pub voltages: Vec<Volts>,
        /// Charging current.
        pub current: Amps,
        /// Highest array voltage, at the coldest.
        pub highest_array: Volts,
        /// Largest array short-circuit current.
        pub highest_current: Amps,
        /// How far the array must stand above the battery to start.
        pub start_above: Volts,
        /// Whether it tracks the power maximum; otherwise it couples the array straight.
        pub tracks: bool,
        /// Efficiency.
        pub efficiency: Fraction,
        /// Own draw.
        pub idle: Watts,
        /// Chemistries it has a profile for.
        pub profiles: Vec<Chemistry>,
        /// Largest conductor.
        pub max_gauge: Gauge,
    }
}

part! {
    /// A charger fed by the vehicle's own direct current.
    "a DC-DC charger" pub struct DcDcCharger {
        /// Input voltage.
        pub input: Volts,
        /// Output (battery) voltage.
        pub output: Volts,
        /// Charging current.
        pub current: Amps,
        /// Largest input current.
        pub input_current: Amps,
        /// Efficiency.
        pub efficiency: Fraction,
        /// Lowest input voltage at which it runs.
        pub lowest_input: Volts,
        /// Chemistries it has a profile for.
        pub profiles: Vec<Chemistry>,
        /// Whether input and output negatives are separate.
        pub isolated: bool,
        /// Largest conductor.
        pub max_gauge: Gauge,
        /// Terminal stud, where it has one.
        pub stud: Option<Stud>,
    }
}

part! {
    /// A converter between two direct voltages for loads.
    "a converter" pub struct Converter {
        /// Input voltage.
        pub input: Volts,
        /// Output voltage.
        pub output: Volts,
        /// Output current.
        pub current: Amps,
        /// Efficiency.
        pub efficiency: Fraction,
        /// Draw with no load.
        pub idle: Watts,
        /// Whether input and output negatives are separate.
        pub isolated: bool,
        /// Largest conductor.
        pub max_gauge: Gauge,
    }
}

part! {
    /// A solar module.
    "a solar module" pub struct Module {
        /// Rated power at standard test conditions.
        pub power: Watts,
        /// Open-circuit voltage.
        pub open_voltage: Volts,
        /// Voltage at the power maximum.
        pub power_voltage: Volts,
        /// Short-circuit current.
        pub short_current: Amps,
        /// Current at the power maximum.
        pub power_current: Amps,
        /// Temperature coefficient of the open-circuit voltage.
        pub voltage_coefficient: PercentPerKelvin,
        /// Temperature coefficient of the power.
        pub power_coefficient: PercentPerKelvin,
        /// Largest series fuse.
        pub series_fuse: Amps,
        /// Highest system voltage.
        pub system_voltage: Volts,
        /// Whether it bends.
        pub flexible: Option<bool>,
    }
}

part! {
    /// An engine's alternator.
    "an alternator" pub struct Alternator {
        /// System voltage.
        pub voltage: Volts,
        /// Rated current, cold, at full speed.
        pub current: Amps,
        /// Share of the rating that it can hold hot.
        pub hot_share: Fraction,
        /// Set voltage.
        pub set_voltage: Volts,
        /// Whether the engine computer varies the voltage.
        pub variable: bool,
        /// Output stud.
        pub stud: Stud,
    }
}

part! {
    /// A relay that joins the engine battery to the house bank while the engine charges.
    "a charging relay" pub struct Relay {
        /// Voltage.
        pub voltage: Volts,
        /// Continuous current.
        pub current: Amps,
        /// Stud.
        pub stud: Stud,
    }
}

part! {
    /// A holder or block for one fuse of a family.
    "a fuse holder" pub struct FuseHolder {
        /// Fuse family, a key of the reference table.
        pub family: Name,
        /// Largest fuse.
        pub largest: Amps,
        /// Highest voltage.
        pub voltage: Volts,
        /// Largest conductor.
        pub max_gauge: Gauge,
        /// Stud, where it has one.
        pub stud: Option<Stud>,
        /// Whether it mounts straight on a battery post or a busbar stud.
        pub on_post: Option<bool>,
    }
}

part! {
    /// A fuse of a family, in all the ratings that are sold.
    "a fuse" pub struct FuseLink {
        /// Fuse family, a key of the reference table.
        pub family: Name,
        /// Ratings sold.
        pub ratings: Vec<Amps>,
    }
}

part! {
    /// A busbar or a set of power studs.
    "a busbar" pub struct Busbar {
        /// Continuous current.
        pub current: Amps,
        /// Highest voltage.
        pub voltage: Volts,
        /// Studs for heavy lugs.
        pub studs: u32,
        /// Stud size.
        pub stud: Stud,
        /// Small screws for branch wires.
        pub screws: Option<u32>,
    }
}

part! {
    /// A switch that cuts a conductor off by hand.
    "a disconnect" pub struct Disconnect {
        /// Continuous current.
        pub current: Amps,
        /// Highest direct voltage.
        pub voltage: Volts,
        /// Poles.
        pub poles: u32,
        /// Largest conductor.
        pub max_gauge: Gauge,
        /// Stud, where it has one.
        pub stud: Option<Stud>,
        /// Whether it is made for solar strings (direct-current arc).
        pub for_array: Option<bool>,
    }
}

part! {
    /// A measuring shunt with its battery monitor.
    "a shunt" pub struct Shunt {
        /// Rated current.
        pub current: Amps,
        /// Voltage across it at the rated current.
        pub drop: Volts,
        /// Highest voltage.
        pub voltage: Volts,
        /// Draw of the monitor.
        pub idle: Watts,
        /// Stud.
        pub stud: Stud,
    }
}

part! {
    /// A panel of fuses or breakers for direct-current branch circuits.
    "a fuse panel" pub struct FusePanel {
        /// Fuse family of its ways; `dc-breaker` for breakers.
        pub family: Name,
        /// Number of ways.
        pub ways: u32,
        /// Largest fuse in one way.
        pub largest: Amps,
        /// Continuous current of the whole panel.
        pub current: Amps,
        /// Highest voltage.
        pub voltage: Volts,
        /// Whether it carries a negative busbar too.
        pub has_negative: bool,
        /// Largest branch conductor.
        pub max_gauge: Gauge,
        /// Largest supply conductor.
        pub supply_gauge: Gauge,
        /// Supply stud.
        pub stud: Stud,
    }
}

part! {
    /// A panel for alternating-current breakers.
    "an AC panel" pub struct AcPanel {
        /// Supply voltage.
        pub voltage: Volts,
        /// Continuous current.
        pub current: Amps,
        /// Breaker places, in single poles.
        pub ways: u32,
        /// Largest conductor.
        pub max_gauge: Gauge,
    }
}

part! {
    /// A breaker.
    "a breaker" pub struct Breaker {
        /// Rated current.
        pub current: Amps,
        /// Poles.
        pub poles: u32,
        /// Rule set under which it is sold; absent where both.
        pub rules: Option<reference::RuleSet>,
        /// Highest alternating voltage; absent when it is not made for it.
        pub ac_voltage: Option<Volts>,
        /// Highest direct voltage; absent when it is not made for it.
        pub dc_voltage: Option<Volts>,
        /// Interrupt rating.
        pub interrupt: Amps,
        /// Residual current at which it trips, for a residual-current device.
        pub residual: Option<Amps>,
        /// Largest conductor.
        pub max_gauge: Gauge,
        /// Stud, for surface-mounted breakers.
        pub stud: Option<Stud>,
    }
}

part! {
    /// An inlet for shore power.
    "a shore inlet" pub struct Inlet {
        /// Voltage.
        pub voltage: Volts,
        /// Current.
        pub current: Amps,
        /// Largest conductor.
        pub max_gauge: Gauge,
    }
}

part! {
    /// A generator.
    "a generator" pub struct Generator {
        /// Output voltage.
        pub voltage: Volts,
        /// Continuous apparent power.
        pub power: VoltAmps,
        /// Where it bonds neutral to earth.
        pub neutral_bond: NeutralBond,
        /// Output breaker.
        pub breaker: Amps,
    }
}

part! {
    /// A switch that gives the AC panel one of two sources, never both.
    "a transfer switch" pub struct TransferSwitch {
        /// Voltage.
        pub voltage: Volts,
        /// Current.
        pub current: Amps,
        /// Whether it switches the neutral too.
        pub switches_neutral: bool,
        /// Largest conductor.
        pub max_gauge: Gauge,
    }
}

choice! {
    /// What a load is, electrically.
    "a kind of load" pub enum LoadNature {
        /// Takes the same power at any voltage: electronics, converters.
        Electronic = "electronic",
        /// Follows the voltage: heaters, filament lamps.
        Resistive = "resistive",
        /// A motor, with a start current.
        Motor = "motor",
    }
}

choice! {
    /// Kind of supply a load takes.
    "a kind of supply" pub enum Supply {
        /// Direct current.
        Dc = "dc",
        /// Alternating current.
        Ac = "ac",
    }
}

part! {
    /// A typical load.
    "a load" pub struct TypicalLoad {
        /// Direct or alternating current.
        pub supply: Supply,
        /// Voltages it can take; empty: any of the project's.
        pub voltages: Vec<Volts>,
        /// Power while it runs.
        pub power: Watts,
        /// Power factor, for alternating current.
        pub power_factor: Option<Fraction>,
        /// Power while it starts.
        pub start_power: Option<Watts>,
        /// Power while it waits.
        pub standby: Option<Watts>,
        /// Share of the time that it really runs while switched on.
        pub duty: Option<Fraction>,
        /// Usual hours switched on.
        pub hours: Option<HoursPerDay>,
        /// Usual runs a day.
        pub runs: Option<PerDay>,
        /// How long one run takes.
        pub run_time: Option<Hours>,
        /// Usual time of day from which it runs.
        pub from: Option<ClockTime>,
        /// Usual time of day until which it runs.
        pub until: Option<ClockTime>,
        /// What its running time follows.
        pub follows: Option<Follows>,
        /// What it is, electrically.
        pub nature: LoadNature,
        /// Lowest voltage at which it starts.
        pub lowest_start: Option<Volts>,
        /// Whether a low voltage makes it unsafe or useless.
        pub critical: Option<bool>,
        /// Whether it may run for three hours or more.
        pub continuous: Option<bool>,
    }
}

part! {
    /// Cable by the metre.
    "a cable" pub struct Cable {
        /// Conductor size.
        pub gauge: Gauge,
        /// Cores in one sheath; 1 for a single conductor.
        pub cores: u32,
        /// Insulation temperature rating.
        pub insulation: Insulation,
        /// Whether the strands are tinned.
        pub tinned: bool,
        /// Highest voltage.
        pub voltage: Volts,
        /// Outer diameter.
        pub diameter: Metres,
    }
}

part! {
    /// A ring lug for one conductor size and one stud.
    "a lug" pub struct Lug {
        /// Conductor size.
        pub gauge: Gauge,
        /// Stud.
        pub stud: Stud,
    }
}

part! {
    /// A ferrule for fine strands under a screw or clamp.
    "a ferrule" pub struct Ferrule {
        /// Conductor size.
        pub gauge: Gauge,
        /// Length of the sleeve, and so of the bare end.
        pub sleeve: Metres,
    }
}

part! {
    /// A cable gland.
    "a gland" pub struct Gland {
        /// Smallest cable.
        pub smallest: Metres,
        /// Largest cable.
        pub largest: Metres,
        /// Hole to drill.
        pub hole: Metres,
    }
}

macro_rules! library {
    ($($(#[$doc:meta])* $field:ident : $type:ty),* $(,)?) => {
        record! {
            /// Everything that can be chosen, by kind and then by id. One parts file may hold any of the kinds.
            "the parts library" pub struct Library {
                $( $(#[$doc])* #[schemars(default)] pub $field: BTreeMap<Name, $type>, )*
            }
        }
        impl Library {
            /// A library without parts.
            pub fn empty() -> Self {
                Self { $($field: BTreeMap::new(),)* }
            }
            /// Lays `other` over this library: its parts are added, and replace those of the same id.
            pub fn merge(&mut self, other: Library) {
                $( self.$field.extend(other.$field); )*
            }
            /// How many parts there are.
            pub fn count(&self) -> usize {
                0 $( + self.$field.len() )*
            }
            /// The facts that all parts have, with kind and id, in order.
            pub fn facts(&self) -> Vec<(&'static str, &Name, &dyn PartFacts)> {
                let mut facts: Vec<(&'static str, &Name, &dyn PartFacts)> = Vec::new();
                $( facts.extend(self.$field.iter().map(|(id, part)| (stringify!($field), id, part as &dyn PartFacts))); )*
                facts
            }
        }
    };
}

library! {
    /// Batteries.
    battery: Battery,
    /// Inverters and inverter-chargers.
    inverter: Inverter,
    /// Chargers fed by alternating current.
    charger: Charger,
    /// Solar charge controllers.
    controller: Controller,
    /// DC-DC chargers.
    dcdc: DcDcCharger,
    /// Converters.
    converter: Converter,
    /// Solar modules.
    module: Module,
    /// Alternators.
    alternator: Alternator,
    /// Charging relays.
    relay: Relay,
    /// Fuse holders.
    fuse_holder: FuseHolder,
    /// Fuses.
    fuse: FuseLink,
    /// Busbars.
    busbar: Busbar,
    /// Disconnects.
    disconnect: Disconnect,
    /// Shunts.
    shunt: Shunt,
    /// Fuse panels.
    fuse_panel: FusePanel,
    /// AC panels.
    ac_panel: AcPanel,
    /// Breakers.
    breaker: Breaker,
    /// Shore inlets.
    inlet: Inlet,
    /// Generators.
    generator: Generator,
    /// Transfer switches.
    transfer_switch: TransferSwitch,
    /// Typical loads.
    load: TypicalLoad,
    /// Cable.
    cable: Cable,
    /// Lugs.
    lug: Lug,
    /// Ferrules.
    ferrule: Ferrule,
    /// Glands.
    gland: Gland,
}
