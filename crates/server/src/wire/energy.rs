//! Energy as the page draws it: lists of numbers in the units that their names say.
//! Never: draws; the charts are the page's, the pictures for paper those of `drawing`.
//! Start at [`Energy`].

use serde::Serialize;
use utoipa::ToSchema;

/// A typical year and what forty drawn years add to it.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Energy {
    /// What the weather is.
    pub weather: String,
    /// The year in a few sentences, the gravest first.
    pub words: Vec<String>,
    /// By month, twelve.
    pub months: Vec<EnergyMonth>,
    /// Lowest state of charge of each day, 0 to 1, 365.
    pub day_low: Vec<f64>,
    /// Highest state of charge of each day, 0 to 1, 365.
    pub day_high: Vec<f64>,
    /// State of charge that all but vital loads leave in the bank.
    pub floor: f64,
    /// The drawn years behind the band.
    pub years: YearsOutcome,
    /// The week in which the bank came closest to empty.
    pub worst_week: Week,
    /// Where the year's energy came from and went, one line each.
    pub books: Vec<BookLine>,
    /// What was assumed.
    pub notes: Vec<String>,
}

/// A month [kWh].
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct EnergyMonth {
    /// Its name.
    pub month: String,
    /// From the sun.
    pub sun_kwh: f64,
    /// From the engine.
    pub engine_kwh: f64,
    /// From shore power.
    pub shore_kwh: f64,
    /// From the generator.
    pub generator_kwh: f64,
    /// Taken by loads.
    pub loads_kwh: f64,
    /// Lost and idle.
    pub lost_kwh: f64,
    /// Sun that nobody could take.
    pub unused_sun_kwh: f64,
    /// Asked and not served.
    pub short_kwh: f64,
    /// Lowest state of charge, 0 to 1.
    pub lowest: f64,
    /// Days in use.
    pub used_days: u32,
    /// Share of drawn years that run out in it, 0 to 1.
    pub runs_out: f64,
}

/// A line of the year's books.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct BookLine {
    /// What.
    pub what: String,
    /// Energy of the year [kWh].
    pub kwh: f64,
    /// Whether it came in; else it went out.
    pub came_in: bool,
}

/// A week hour by hour, 168 numbers each.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Week {
    /// Its first day in words.
    pub from: String,
    /// First hour of the year.
    pub first_hour: usize,
    /// State of charge, 0 to 1.
    pub charge: Vec<f64>,
    /// Sun used [W].
    pub sun_w: Vec<f64>,
    /// Sun that nobody could take [W].
    pub unused_sun_w: Vec<f64>,
    /// Engine [W].
    pub engine_w: Vec<f64>,
    /// Shore and generator [W].
    pub supply_w: Vec<f64>,
    /// Need [W].
    pub need_w: Vec<f64>,
    /// Asked and not served [W].
    pub short_w: Vec<f64>,
}

/// Many years of weather.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct YearsOutcome {
    /// How many.
    pub count: u32,
    /// Share of them that run out at least once, and its 95 % interval, 0 to 1.
    pub runs_out: (f64, f64, f64),
    /// In words.
    pub words: Vec<String>,
    /// Share that runs out in each month, with the ends of its interval.
    pub months: Vec<(f64, f64, f64)>,
    /// Lowest state of charge of each day that 5 % of years fall below, 365; likewise the others.
    pub band_5: Vec<f64>,
    /// 25 %.
    pub band_25: Vec<f64>,
    /// Half.
    pub band_50: Vec<f64>,
    /// 75 %.
    pub band_75: Vec<f64>,
    /// 95 %.
    pub band_95: Vec<f64>,
    /// Longest time without, over all years [h].
    pub longest_short_h: f64,
}

/// What the search for sizes found.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct SizesOutcome {
    /// In words: how many combinations, why the chosen one wins, what a step smaller or larger changes.
    pub words: Vec<String>,
    /// Currency of the prices, or `money` where none is said.
    pub currency: String,
    /// The designs that no other beats, the cheapest first; the current system is among them or stands beside them.
    pub designs: Vec<Design>,
}

/// A combination of sizes.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Design {
    /// Bank, array, engine charger, inverter in words.
    pub what: Vec<String>,
    /// Price, middle of its band.
    pub price: f64,
    /// Mass [kg].
    pub mass_kg: f64,
    /// Share of years that run out, 0 to 1, with the ends of its interval.
    pub runs_out: (f64, f64, f64),
    /// Whether it is the system as it stands.
    pub is_current: bool,
    /// Whether it is the one that the search would take.
    pub is_chosen: bool,
    /// What it changes in the file.
    pub edits: Vec<super::Edit>,
}
