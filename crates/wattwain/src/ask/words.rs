//! The words of the quick answers and what each accepts.
//! Never: computes.
//! Start at [`Question`].

use clap::{ArgGroup, Args, Subcommand, ValueEnum};
use quantity::{
    AmpHours, Amps, Celsius, Fraction, Gauge, Metres, Ohms, OhmsPerKm, PercentPerKelvin, Volts, Watts,
    Written,
};
use reference::Insulation;

use crate::cli::RulesWord;

/// The quick answers. Quantities are written with any unit: 80A, "80 A", "9 ft 3 in", 35mm2, "2/0 AWG".
#[derive(Subcommand)]
pub enum Question {
    /// The conductor for a current, length and voltage drop
    #[command(
        after_help = "Example: wattwain ask conductor --current 80A --length 3m --voltage 12V --drop 3%"
    )]
    Conductor(ConductorArgs),
    /// The largest fuse for a conductor, and the one for a load
    #[command(after_help = "Example: wattwain ask fuse --conductor \"2/0 AWG\" --current 140A")]
    Fuse(FuseArgs),
    /// Voltage drop and loss of a run
    #[command(
        after_help = "Example: wattwain ask drop --current 20A --conductor \"6 AWG\" --length \"16 ft\""
    )]
    Drop(DropArgs),
    /// What a conductor may carry in a place
    #[command(after_help = "Example: wattwain ask ampacity --conductor 35mm2 --rules iec --engine-space")]
    Ampacity(AmpacityArgs),
    /// How long a bank lasts at a load
    #[command(after_help = "Example: wattwain ask runtime --capacity 100Ah --current 20A --chemistry agm")]
    Runtime(RuntimeArgs),
    /// Fault current behind a bank and a cable
    #[command(
        after_help = "Example: wattwain ask fault --short-circuit 5kA --voltage 12.8V --conductor \"2/0 AWG\" --length 1m"
    )]
    Fault(FaultArgs),
    /// How parallel batteries share a current
    #[command(
        after_help = "Example: wattwain ask share --batteries 4 --resistance 3mΩ --link 0.275mΩ --current 200A --take-off one-end"
    )]
    Share(ShareArgs),
    /// Voltage of a string of solar modules at the coldest
    #[command(
        name = "string",
        after_help = "Example: wattwain ask string --voc 22V --coefficient -0.3%/K --series 3 --coldest -20C"
    )]
    SolarString(StringArgs),
    /// A conductor size in AWG, mm², circular mils, and how SAE gauge differs
    #[command(after_help = "Example: wattwain ask gauge \"2/0 AWG\"")]
    Gauge(GaugeArgs),
}

/// Reads a quantity between two bounds, both included.
fn within<T: Written + PartialOrd + Clone + Send + Sync + 'static>(
    least: &'static str,
    most: &'static str,
) -> impl Fn(&str) -> Result<T, String> + Clone + Send + Sync + 'static {
    move |text| {
        let value = T::parse(text).map_err(|error| error.to_string())?;
        let fits = match (T::parse(least), T::parse(most)) {
            (Ok(least), Ok(most)) => least <= value && value <= most,
            _ => true,
        };
        if fits { Ok(value) } else { Err(format!("{} is outside {least} to {most}", value.show())) }
    }
}

fn gauge(text: &str) -> Result<Gauge, String> {
    Gauge::parse(text).map_err(|error| error.to_string())
}

fn insulation(text: &str) -> Result<Insulation, String> {
    text.parse::<Insulation>().map_err(|error| error.to_string())
}

/// Where a conductor runs and under which rules.
#[derive(Args, Clone)]
pub struct PlaceArgs {
    /// Rule set
    #[arg(long, value_enum, default_value_t = RulesWord::Na)]
    pub rules: RulesWord,
    /// Temperature rating of the insulation; otherwise 105 °C for na and 90 °C for iec
    #[arg(long, value_parser = insulation)]
    pub insulation: Option<Insulation>,
    /// Hottest air around it
    #[arg(long, default_value = "30 °C", allow_hyphen_values = true, value_parser = within::<Celsius>("-60 °C", "150 °C"))]
    pub ambient: Celsius,
    /// Runs through an engine space
    #[arg(long)]
    pub engine_space: bool,
    /// Current-carrying conductors lying together, this one included
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=100))]
    pub bundle: u32,
    /// Carries alternating current at mains voltage
    #[arg(long)]
    pub ac: bool,
}

/// See [`Question::Conductor`].
#[derive(Args)]
pub struct ConductorArgs {
    /// Current that it must carry all day
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Amps>("1 mA", "5000 A"))]
    pub current: Amps,
    /// Length, one way; the return is counted
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Metres>("1 mm", "2000 m"))]
    pub length: Metres,
    /// Nominal voltage
    #[arg(long, default_value = "12 V", allow_hyphen_values = true, value_parser = within::<Volts>("1 V", "1000 V"))]
    pub voltage: Volts,
    /// Voltage drop allowed, of the nominal voltage; otherwise that of the rule set
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Fraction>("0.1 %", "50 %"))]
    pub drop: Option<Fraction>,
    /// Protective device ahead of it, where one is chosen already
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Amps>("10 mA", "5000 A"))]
    pub fuse: Option<Amps>,
    /// The current may last three hours or more
    #[arg(long)]
    pub continuous: bool,
    /// The strands are tinned
    #[arg(long)]
    pub tinned: bool,
    /// A low voltage makes the load unsafe or useless, so the smaller drop limit holds
    #[arg(long)]
    pub critical: bool,
    /// The place.
    #[command(flatten)]
    pub place: PlaceArgs,
}

/// See [`Question::Fuse`].
#[derive(Args)]
pub struct FuseArgs {
    /// The conductor to protect
    #[arg(long, value_parser = gauge)]
    pub conductor: Gauge,
    /// Current of the load, so that its fuse is named too
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Amps>("1 mA", "5000 A"))]
    pub current: Option<Amps>,
    /// The current may last three hours or more
    #[arg(long)]
    pub continuous: bool,
    /// Nominal voltage
    #[arg(long, default_value = "12 V", allow_hyphen_values = true, value_parser = within::<Volts>("1 V", "1000 V"))]
    pub voltage: Volts,
    /// The place.
    #[command(flatten)]
    pub place: PlaceArgs,
}

/// See [`Question::Drop`].
#[derive(Args)]
#[command(group(ArgGroup::new("size").required(true).args(["conductor", "per_length"])))]
pub struct DropArgs {
    /// Steady current
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Amps>("1 mA", "5000 A"))]
    pub current: Amps,
    /// Conductor size
    #[arg(long, value_parser = gauge)]
    pub conductor: Option<Gauge>,
    /// Its resistance per length instead, such as "0.44 ohm/kft" or "3.3 ohm/km"
    #[arg(long = "resistance", allow_hyphen_values = true, value_parser = within::<OhmsPerKm>("0.001 Ω/km", "10000 Ω/km"))]
    pub per_length: Option<OhmsPerKm>,
    /// Length, one way; the return is counted
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Metres>("1 mm", "2000 m"))]
    pub length: Metres,
    /// Nominal voltage
    #[arg(long, default_value = "12 V", allow_hyphen_values = true, value_parser = within::<Volts>("1 V", "1000 V"))]
    pub voltage: Volts,
    /// Temperature of the metal
    #[arg(long, default_value = "20 °C", allow_hyphen_values = true, value_parser = within::<Celsius>("-40 °C", "200 °C"))]
    pub metal: Celsius,
    /// The strands are tinned
    #[arg(long)]
    pub tinned: bool,
}

/// See [`Question::Ampacity`].
#[derive(Args)]
pub struct AmpacityArgs {
    /// Conductor size
    #[arg(long, value_parser = gauge)]
    pub conductor: Gauge,
    /// Nominal voltage
    #[arg(long, default_value = "12 V", allow_hyphen_values = true, value_parser = within::<Volts>("1 V", "1000 V"))]
    pub voltage: Volts,
    /// The place.
    #[command(flatten)]
    pub place: PlaceArgs,
}

/// Cell chemistries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ChemistryWord {
    /// Lithium iron phosphate
    Lfp,
    /// Lead-acid, absorbent glass mat
    Agm,
    /// Lead-acid, gel
    Gel,
    /// Lead-acid, flooded
    Flooded,
}

impl ChemistryWord {
    /// Its key in the reference tables.
    pub fn key(self) -> &'static str {
        match self {
            Self::Lfp => "lfp",
            Self::Agm => "agm",
            Self::Gel => "gel",
            Self::Flooded => "flooded",
        }
    }
}

/// See [`Question::Runtime`].
#[derive(Args)]
#[command(group(ArgGroup::new("what").required(true).args(["load", "current"])))]
pub struct RuntimeArgs {
    /// Capacity of the bank; for lead-acid at the 20 h rate
    #[arg(long, allow_hyphen_values = true, value_parser = within::<AmpHours>("0.1 Ah", "100000 Ah"))]
    pub capacity: AmpHours,
    /// Power of the load
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Watts>("1 mW", "100000 W"))]
    pub load: Option<Watts>,
    /// Current of the load instead
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Amps>("1 mA", "5000 A"))]
    pub current: Option<Amps>,
    /// Cell chemistry
    #[arg(long, value_enum, default_value_t = ChemistryWord::Lfp)]
    pub chemistry: ChemistryWord,
    /// Voltage of the bank under load
    #[arg(long, default_value = "12 V", allow_hyphen_values = true, value_parser = within::<Volts>("1 V", "1000 V"))]
    pub voltage: Volts,
    /// Share of the capacity to use; otherwise what is usual for the chemistry
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Fraction>("1 %", "100 %"))]
    pub usable: Option<Fraction>,
}

/// See [`Question::Fault`].
#[derive(Args)]
#[command(group(ArgGroup::new("bank").required(true).args(["capacity", "resistance", "short_circuit"])))]
pub struct FaultArgs {
    /// Capacity of the bank, where nothing better is known
    #[arg(long, allow_hyphen_values = true, value_parser = within::<AmpHours>("0.1 Ah", "100000 Ah"))]
    pub capacity: Option<AmpHours>,
    /// Internal resistance of the bank
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Ohms>("1 µΩ", "100 Ω"))]
    pub resistance: Option<Ohms>,
    /// Short-circuit current of the bank, from its sheet
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Amps>("1 A", "1000000 A"))]
    pub short_circuit: Option<Amps>,
    /// Cell chemistry
    #[arg(long, value_enum, default_value_t = ChemistryWord::Lfp)]
    pub chemistry: ChemistryWord,
    /// Voltage of the bank, charged
    #[arg(long, default_value = "12.8 V", allow_hyphen_values = true, value_parser = within::<Volts>("1 V", "1000 V"))]
    pub voltage: Volts,
    /// Cable between the bank and the fault
    #[arg(long, value_parser = gauge, requires = "length")]
    pub conductor: Option<Gauge>,
    /// Its length, one way; the return is counted
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Metres>("1 mm", "2000 m"), requires = "conductor")]
    pub length: Option<Metres>,
    /// Temperature of the cable: cold for the largest current
    #[arg(long, default_value = "20 °C", allow_hyphen_values = true, value_parser = within::<Celsius>("-40 °C", "200 °C"))]
    pub metal: Celsius,
}

/// Where the two poles leave a row of parallel batteries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TakeOff {
    /// Both at the first battery
    OneEnd,
    /// Positive at the first, negative at the last
    Diagonal,
    /// Each battery has leads of its own to a pair of busbars
    Bars,
}

/// See [`Question::Share`].
#[derive(Args)]
pub struct ShareArgs {
    /// Number of batteries in parallel
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..=100))]
    pub batteries: u32,
    /// Internal resistance of each
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Ohms>("1 µΩ", "100 Ω"))]
    pub resistance: Ohms,
    /// Resistance of each link between neighbours, one pole, with its contacts; for bars, of each lead
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Ohms>("0.01 µΩ", "100 Ω"))]
    pub link: Ohms,
    /// Where the current is taken off
    #[arg(long, value_enum, default_value_t = TakeOff::Diagonal)]
    pub take_off: TakeOff,
    /// Current of the whole bank
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Amps>("1 mA", "100000 A"))]
    pub current: Amps,
}

/// See [`Question::SolarString`].
#[derive(Args)]
#[command(group(ArgGroup::new("of").required(true).args(["module", "voc"])))]
pub struct StringArgs {
    /// A module of the parts library
    #[arg(long)]
    pub module: Option<String>,
    /// Open-circuit voltage of one module at 25 °C
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Volts>("0.1 V", "1000 V"))]
    pub voc: Option<Volts>,
    /// Temperature coefficient of the open-circuit voltage; otherwise the factor of the code's table
    #[arg(long, allow_hyphen_values = true, value_parser = within::<PercentPerKelvin>("-2 %/K", "0 %/K"))]
    pub coefficient: Option<PercentPerKelvin>,
    /// Modules in series
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=100))]
    pub series: u32,
    /// Coldest temperature of the modules
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Celsius>("-60 °C", "60 °C"))]
    pub coldest: Celsius,
    /// Highest array voltage that the controller takes
    #[arg(long, allow_hyphen_values = true, value_parser = within::<Volts>("1 V", "2000 V"))]
    pub limit: Option<Volts>,
}

/// See [`Question::Gauge`].
#[derive(Args)]
pub struct GaugeArgs {
    /// A size: "2/0 AWG", 35mm2
    #[arg(value_parser = gauge)]
    pub size: Gauge,
}
