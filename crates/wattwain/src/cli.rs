//! The words of the command line.
//! Never: does anything; `main` hands each command to its file.
//! Start at [`Command`]; the quick answers stand in `ask/words.rs`.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::ask::Question;

/// Designs, checks, draws and documents the electrical system of a camper van, boat, trailer, workshop or hut.
#[derive(Parser)]
#[command(
    name = "wattwain",
    version,
    about,
    arg_required_else_help = true,
    after_help = "Example: wattwain begin my-van && wattwain check my-van\n\n\
                  Exit codes: 0 all is well, 1 a danger or refusal was found, 2 something could not be read.\n\n\
                  Mains voltage and large batteries can kill and burn. Local codes and a licensed electrician decide.\n\
                  Wattwain checks what it is told, not what was built."
)]
pub struct Cli {
    /// Answer in JSON, for other programs
    #[arg(long, global = true)]
    pub json: bool,
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Subcommand)]
pub enum Command {
    /// Write a commented intent.toml to fill in
    #[command(after_help = "Example: wattwain begin my-boat --craft boat --voltage 24 --rules iec")]
    Begin(BeginArgs),
    /// Open a project, or a folder of projects, as a page in the browser
    #[command(
        after_help = "Example: wattwain open my-van\nOn the phone too: wattwain open my-van --share\n\nEnd it with Ctrl-C. Every change is saved when the page shows it."
    )]
    Open(OpenArgs),
    /// Derive, study and judge a project
    #[command(after_help = "Example: wattwain check my-van")]
    Check(CheckArgs),
    /// Follow the energy of a typical year, hour by hour
    #[command(after_help = "Example: wattwain year my-van --out pictures")]
    Year(YearArgs),
    /// Draw many years of weather: how often it runs out, when and for how long
    #[command(after_help = "Example: wattwain years my-van --count 1000")]
    Years(YearsArgs),
    /// Follow an itinerary day by day
    #[command(after_help = "Example: wattwain trip my-van autumn.gpx")]
    Trip(TripArgs),
    /// Find the best sizes of bank, array, engine charger and inverter: cost against mass against chance of running out
    #[command(
        after_help = "Example: wattwain sizes my-van --out pictures\nOn four machines: wattwain sizes my-van --shard 1/4 --out share-1.toml, and so on; then\n                  wattwain sizes my-van --merge share-1.toml share-2.toml share-3.toml share-4.toml"
    )]
    Sizes(SizesArgs),
    /// Explain a derived value, down to the table rows it rests on
    #[command(after_help = "Example: wattwain why my-van inverter.positive")]
    Why(WhyArgs),
    /// Tell what a short circuit does: what opens, how soon, what stands it, what goes dark and what goes on
    #[command(
        after_help = "Example: wattwain faults my-van fridge.positive\nWithout a place, all places are listed with their currents."
    )]
    Faults(FaultsArgs),
    /// Place the devices on the mounting board: places, cables with their lengths, holes, and what is wrong there
    #[command(after_help = "Example: wattwain board my-van")]
    Board(BoardArgs),
    /// Lay the runs through the plan of the vehicle: ways, lengths, holes through walls, loads on the axles
    #[command(after_help = "Example: wattwain plan my-van\n         wattwain plan my-van --out pictures")]
    Plan(PlanArgs),
    /// Put two projects side by side: figures, parts, findings, energy by month, what is written differently
    #[command(after_help = "Example: wattwain compare my-van my-van-with-more-sun")]
    Compare(CompareArgs),
    /// Write the diagram, schedules and summary of a project
    #[command(after_help = "Example: wattwain pack my-van --out papers --replace")]
    Pack(PackArgs),
    /// Tell how to build it, step by step: what to do, what must be dead, what to measure before going on
    #[command(after_help = "Example: wattwain steps my-van --stage first-power")]
    Steps(StepsArgs),
    /// Judge what was measured on what was built, with likely causes where it is off
    #[command(
        after_help = "Example: wattwain prove my-van --sheet > my-van/readings.toml, fill it in, then\n         wattwain prove my-van"
    )]
    Prove(ProveArgs),
    /// Answer one question without a project
    #[command(after_help = "Example: wattwain ask conductor --current 80A --length 3m")]
    Ask(AskArgs),
    /// List the parts to choose from
    #[command(after_help = "Example: wattwain parts --kind battery lfp")]
    Parts(PartsArgs),
    /// List the rules, or show the page of one
    #[command(after_help = "Example: wattwain rules excess-voltage-drop")]
    Rules(RulesArgs),
    /// List every table row with where it comes from and how well it is known
    #[command(after_help = "Example: wattwain sources --memory")]
    Sources(SourcesArgs),
    /// Print the JSON Schema of intent.toml, for editors
    #[command(after_help = "Example: wattwain schema > intent.schema.json")]
    Schema,
}

/// See [`Command::Begin`].
#[derive(Args)]
pub struct BeginArgs {
    /// Folder of the new project; made where it is missing
    pub folder: PathBuf,
    /// What is being fitted out
    #[arg(long, value_enum, default_value_t = CraftWord::Van)]
    pub craft: CraftWord,
    /// Nominal voltage of the bank: 12, 24 or 48
    #[arg(long, default_value = "12", value_parser = begin_voltage)]
    pub voltage: model::BankVolts,
    /// Rule set: na (AWG, 120 V 60 Hz) or iec (mm², 230 V 50 Hz)
    #[arg(long, value_enum, default_value_t = RulesWord::Na)]
    pub rules: RulesWord,
    /// Leave out the loads that such a project usually has
    #[arg(long)]
    pub empty: bool,
}

fn begin_voltage(text: &str) -> Result<model::BankVolts, String> {
    let number = text.trim().trim_end_matches(['V', 'v']).trim().parse();
    number.ok().and_then(model::BankVolts::from_number).ok_or_else(|| "write 12, 24 or 48".to_owned())
}

/// Starting points.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum CraftWord {
    /// A camper van or another motor vehicle
    Van,
    /// A boat
    Boat,
    /// A trailer
    Trailer,
    /// A hut off the grid
    Hut,
    /// A mobile workshop
    Workshop,
}

impl CraftWord {
    /// The kind of project.
    pub fn craft(self) -> model::Craft {
        match self {
            Self::Van => model::Craft::Van,
            Self::Boat => model::Craft::Boat,
            Self::Trailer => model::Craft::Trailer,
            Self::Hut => model::Craft::Hut,
            Self::Workshop => model::Craft::Workshop,
        }
    }
}

/// Rule sets.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum RulesWord {
    /// North America: AWG, 120 V 60 Hz
    Na,
    /// International: mm², 230 V 50 Hz
    Iec,
}

impl RulesWord {
    /// The rule set.
    pub fn rules(self) -> reference::RuleSet {
        match self {
            Self::Na => reference::RuleSet::Na,
            Self::Iec => reference::RuleSet::Iec,
        }
    }
}

/// See [`Command::Open`].
#[derive(Args)]
pub struct OpenArgs {
    /// Folder of a project, or a folder that holds projects
    pub folder: PathBuf,
    /// Port to listen on; without it, the first that is free from 7423 on
    #[arg(long)]
    pub port: Option<u16>,
    /// Leave the browser closed and print the address only
    #[arg(long)]
    pub no_browser: bool,
    /// Let other devices on this network in by a code; with an address, on that one
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, require_equals = true)]
    pub share: Option<Option<std::net::IpAddr>>,
}

/// See [`Command::Check`].
#[derive(Args)]
pub struct CheckArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
    /// Try a mend for every finding, however many there are
    #[arg(long, conflicts_with = "quick")]
    pub mend: bool,
    /// Leave out the questions that matter most and the tried mends
    #[arg(long)]
    pub quick: bool,
    /// List every assumption, not only those that must be answered
    #[arg(long)]
    pub assumptions: bool,
}

/// Where pictures go.
#[derive(Args)]
pub struct Pictures {
    /// Folder to write the pictures to
    #[arg(long)]
    pub out: Option<PathBuf>,
    /// Write over files that are there already
    #[arg(long, requires = "out")]
    pub replace: bool,
}

/// See [`Command::Year`].
#[derive(Args)]
pub struct YearArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
    /// A file of hourly weather (EPW, TMY3, TMY2 or PVGIS CSV), instead of the one in intent.toml or the built-in climate
    #[arg(long)]
    pub weather: Option<PathBuf>,
    /// Where the pictures go.
    #[command(flatten)]
    pub pictures: Pictures,
}

/// See [`Command::Years`].
#[derive(Args)]
pub struct YearsArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
    /// How many years
    #[arg(long, default_value_t = 1000, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub count: u32,
    /// Seed of chance: the same seed gives the same years
    #[arg(long, default_value_t = energy::SEED)]
    pub seed: u64,
    /// A file of hourly weather whose climate the years are drawn from
    #[arg(long)]
    pub weather: Option<PathBuf>,
    /// Where the pictures go.
    #[command(flatten)]
    pub pictures: Pictures,
}

/// See [`Command::Trip`].
#[derive(Args)]
pub struct TripArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
    /// The itinerary: a GPX track with times, or a trip.toml with stops and driving hours
    pub itinerary: PathBuf,
    /// State of charge at its beginning
    #[arg(long, default_value = "100 %", value_parser = crate::trip::share)]
    pub charge: quantity::Fraction,
    /// A file of hourly weather, used at the stays near its place
    #[arg(long)]
    pub weather: Option<PathBuf>,
    /// How many weathers to draw for the chance that it lasts
    #[arg(long, default_value_t = 200, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub count: u32,
    /// Seed of chance
    #[arg(long, default_value_t = energy::SEED)]
    pub seed: u64,
    /// Where the pictures go.
    #[command(flatten)]
    pub pictures: Pictures,
}

/// See [`Command::Sizes`].
#[derive(Args)]
pub struct SizesArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
    /// How many years each combination must stand
    #[arg(long, default_value_t = energy::YEARS, value_parser = clap::value_parser!(u32).range(1..=i64::from(energy::sizes::MOST_YEARS)))]
    pub years: u32,
    /// Seed of chance: the same seed gives the same years
    #[arg(long, default_value_t = energy::SEED)]
    pub seed: u64,
    /// A file of hourly weather whose climate the years are drawn from
    #[arg(long)]
    pub weather: Option<PathBuf>,
    /// Search one of several shares only, such as 2/8, and write what came of it
    #[arg(long, value_name = "I/N", value_parser = energy::sizes::Share::parse)]
    pub shard: Option<energy::sizes::Share>,
    /// Put the files of all shares together instead of searching
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with = "shard")]
    pub merge: Vec<PathBuf>,
    /// Folder to write the picture to; with --shard, the file to write
    #[arg(long)]
    pub out: Option<PathBuf>,
    /// Write over files that are there already
    #[arg(long, requires = "out")]
    pub replace: bool,
}

/// See [`Command::Why`].
#[derive(Args)]
pub struct WhyArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
    /// A derived value, or a device, conductor or circuit; without it, all that can be asked is listed
    pub path: Option<String>,
}

/// See [`Command::Faults`].
#[derive(Args)]
pub struct FaultsArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
    /// A terminal, or a device or conductor (its far end); without it, all places are listed
    pub place: Option<String>,
}

/// See [`Command::Board`].
#[derive(Args)]
pub struct BoardArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
}

/// See [`Command::Plan`].
#[derive(Args)]
pub struct PlanArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
    /// Folder to write the drawing to
    #[arg(long)]
    pub out: Option<PathBuf>,
    /// Write over files that are there already
    #[arg(long)]
    pub replace: bool,
}

/// See [`Command::Compare`].
#[derive(Args)]
pub struct CompareArgs {
    /// Folder of the one project, or its intent.toml
    pub left: PathBuf,
    /// Folder of the other
    pub right: PathBuf,
    /// List parts and findings that do not differ too
    #[arg(long)]
    pub all: bool,
}

/// See [`Command::Pack`].
#[derive(Args)]
pub struct PackArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
    /// Folder to write to; otherwise `out` in the project's folder
    #[arg(long)]
    pub out: Option<PathBuf>,
    /// Write over files that are there already
    #[arg(long)]
    pub replace: bool,
    /// Paper of what is printed: a4 or letter; otherwise the one in use where the rule set is
    #[arg(long, value_parser = paper)]
    pub paper: Option<booklet::Paper>,
    /// Sheets of labels, such as "a4 5 by 13"; otherwise three across the paper
    #[arg(long, value_name = "GRID", value_parser = label_grid)]
    pub labels: Option<pack::LabelGrid>,
    /// Leave the square codes off the labels
    #[arg(long)]
    pub no_codes: bool,
}

fn label_grid(text: &str) -> Result<pack::LabelGrid, String> {
    let grids = pack::label_grids();
    let names: Vec<String> = grids.iter().map(|grid| format!("\"{}\"", grid.name)).collect();
    let wanted = text.to_lowercase();
    let found = grids.into_iter().find(|grid| grid.name == wanted);
    found.ok_or_else(|| format!("write one of {}", names.join(", ")))
}

fn paper(text: &str) -> Result<booklet::Paper, String> {
    let papers = [booklet::Paper::A4, booklet::Paper::Letter];
    let found = papers.into_iter().find(|paper| paper.word() == text.to_lowercase());
    found.ok_or_else(|| "write a4 or letter".to_owned())
}

/// See [`Command::Steps`].
#[derive(Args)]
pub struct StepsArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
    /// Only one stage: bench, vehicle, dead-checks, first-power, charging, ac, handover
    #[arg(long, value_parser = build_stage)]
    pub stage: Option<pack::Stage>,
}

fn build_stage(text: &str) -> Result<pack::Stage, String> {
    let words = || pack::Stage::ALL.map(pack::Stage::word).join(", ");
    let found = pack::Stage::ALL.into_iter().find(|stage| stage.word() == text);
    found.ok_or_else(|| format!("write one of {}", words()))
}

/// See [`Command::Prove`].
#[derive(Args)]
pub struct ProveArgs {
    /// Folder of the project, or its intent.toml
    pub project: PathBuf,
    /// The readings; otherwise readings.toml in the project's folder
    pub readings: Option<PathBuf>,
    /// Print a readings.toml to fill in, with how to take each reading
    #[arg(long, conflicts_with = "readings")]
    pub sheet: bool,
}

/// See [`Command::Ask`].
#[derive(Args)]
pub struct AskArgs {
    /// The question.
    #[command(subcommand)]
    pub question: Question,
}

/// See [`Command::Parts`].
#[derive(Args)]
pub struct PartsArgs {
    /// Only parts of this kind, such as battery, inverter, fuse_holder
    #[arg(long)]
    pub kind: Option<String>,
    /// Only parts with this word in their id or title
    pub word: Option<String>,
    /// A project whose own parts are listed too
    #[arg(long)]
    pub project: Option<PathBuf>,
}

/// See [`Command::Rules`].
#[derive(Args)]
pub struct RulesArgs {
    /// A rule's name; without it, all rules are listed
    pub name: Option<String>,
}

/// See [`Command::Sources`].
#[derive(Args)]
pub struct SourcesArgs {
    /// Only rows known from memory: the list of what is still to be confirmed
    #[arg(long)]
    pub memory: bool,
    /// Only rows with this word in table, row or source
    pub word: Option<String>,
}
