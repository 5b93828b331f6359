//! A trip hour by hour: sun and weather of each place, the engine while it drives, shore where there is some.
//! Never: reads an itinerary (see `written.rs`, `track.rs`); does the hour's sums (see [`crate::run`]).
//! Start at [`run`].

use std::sync::atomic::Ordering;

use model::{Place, System};
use quantity::{Celsius, Fraction, Hours, Metres};
use rayon::prelude::*;
use serde::Serialize;

use super::timetable::{TableDay, Timetable, TripHour};
use super::{Itinerary, note, zone_hours};
use crate::outcome::{Books, Chance, Trace};
use crate::plant::Plant;
use crate::run::{Blind, Flow, Going, Outside, Watch, stretch};
use crate::site::{DAYS, HOURS};
use crate::sky::{Scratch, Sky};
use crate::weather::{Note, Series, matches_place};
use crate::years::Progress;

/// How a trip is run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TripOptions {
    /// State of charge at its beginning.
    pub charge: Fraction,
    /// Seed of the weather.
    pub seed: u64,
    /// In how many drawn weathers it is tried besides the typical one; 0 for none.
    pub count: u32,
}

impl Default for TripOptions {
    fn default() -> Self {
        Self { charge: Fraction::new(1.0), seed: crate::SEED, count: 200 }
    }
}

/// A trip that has been run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trip {
    /// What it is called.
    pub title: Option<String>,
    /// What the weather is.
    pub weather: String,
    /// Day by day, in typical weather.
    pub days: Vec<TripDay>,
    /// All of it.
    pub total: Books,
    /// Lowest state of charge, and the day of it, from 0.
    pub lowest: (f64, usize),
    /// Driving.
    pub driving: Hours,
    /// Distance.
    pub distance: Metres,
    /// Hour by hour, in typical weather; its first hour is that of the year.
    pub trace: Trace,
    /// In drawn weathers; `None` where none was asked for.
    pub chance: Option<TripChance>,
    /// What was assumed.
    pub notes: Vec<Note>,
}

/// A day of a trip, by the clock of its place; the first and the last may be short.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TripDay {
    /// Its date, as in `2027-04-03`.
    pub date: String,
    /// What the place is called where it stands longest.
    pub title: Option<String>,
    /// That place; where it drives to, if it never stands.
    pub place: Place,
    /// Hours that the day has on this trip.
    pub hours: u32,
    /// Driving.
    pub driving: Hours,
    /// Distance.
    pub distance: Metres,
    /// Its energy.
    pub books: Books,
    /// State of charge at its beginning.
    pub soc_start: f64,
    /// Lowest.
    pub soc_low: f64,
    /// At its end.
    pub soc_end: f64,
    /// Hours in which something that is not spare went short.
    pub short_hours: u32,
    /// Coldest and warmest hour of the air outside.
    pub air: (Celsius, Celsius),
}

/// A trip in many drawn weathers.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TripChance {
    /// How many.
    pub count: u32,
    /// Seed of them.
    pub seed: u64,
    /// Chance that nothing that is not spare goes short.
    pub lasts: Chance,
    /// The day, from 0, on which it most often runs out first, and in how many weathers; the earliest of equals.
    pub breaks: Option<(usize, u32)>,
    /// Day by day.
    pub days: Vec<DayChance>,
    /// Largest gap of the books over all weathers.
    pub books_gap: f64,
}

/// A day in many drawn weathers.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DayChance {
    /// Chance that something goes short on this day.
    pub running_out: Chance,
    /// Lowest state of charge: 5 %, 50 % and 95 % of weathers lie below.
    pub low: [f64; 3],
}

/// Runs an itinerary; `None` where the system has no bank, or where `progress` told it to stop.
///
/// Weather is that of `series` at places near its site, and of the built-in climate elsewhere; places nearer than 30 km
/// share one. All places of one drawn weather come from one stream of chance, so a dull week is dull on the whole way.
/// The horizon of the system's own place is left at home. While it drives, an array keeps its parked heading and tilt.
pub fn run(
    system: &System,
    itinerary: &Itinerary,
    series: Option<&Series>,
    options: TripOptions,
    progress: &Progress,
) -> Option<Trip> {
    let mut plant = Plant::of(system)?;
    let shore_from = f64::from(system.usage.supply.shore_from.minutes()) / 60.0;
    let table = Timetable::of(itinerary, shore_from);
    let mut notes = assumed(&plant, &table);
    let spots = spots(system, &plant, &table, series, &mut notes);
    let mut names: Vec<&str> = Vec::new();
    for spot in &spots {
        // Built-in climates differ by their place alone, which the days tell.
        let name = if spot.is_from_file { &spot.sky.weather } else { &spot.sky.climate.source };
        if !names.contains(&name.as_str()) {
            names.push(name);
        }
    }
    let weather = names.join("; ");

    let mut around = Around::new(&table);
    around.fill(&table, &spots, |sky, scratch| sky.typical(&plant, options.seed, scratch));
    let mut trace =
        Tracing(Trace { first_hour: table.hours.first().map_or(0, |hour| hour.of_year), ..Trace::default() });
    let charge = options.charge.get().clamp(0.0, 1.0);
    let days = days(&mut plant, &table, &mut around, charge, &mut trace);
    let mut total = Books::default();
    for day in &days {
        total.add(&day.books);
    }
    let lowest = days.iter().enumerate().map(|(at, day)| (day.soc_low, at));
    let lowest = lowest.fold((charge, 0), |low, day| if day.0 < low.0 { day } else { low });
    let chance = match options.count {
        0 => None,
        _ => Some(chance(&plant, &table, &spots, options, charge, progress)?),
    };
    Some(Trip {
        title: itinerary.title.clone(),
        weather,
        driving: itinerary.driving(),
        distance: itinerary.distance(),
        days,
        total,
        lowest,
        trace: trace.0,
        chance,
        notes,
    })
}

fn assumed(plant: &Plant, table: &Timetable) -> Vec<Note> {
    let mut notes = Vec::new();
    if plant.engine.is_none() && table.hours.iter().any(|hour| hour.driving > 0.0) {
        notes.push(note(
            "engine-does-not-charge",
            0,
            "driving charges nothing: the system has no engine charging".to_owned(),
        ));
    }
    if plant.supply.shore_w <= 0.0 && table.hours.iter().any(|hour| hour.plugged > 0.0) {
        notes.push(note(
            "no-inlet",
            0,
            "the itinerary has shore power, but the system has no inlet for it".to_owned(),
        ));
    }
    notes
}

/// The sky over a place of the trip.
struct Spot {
    sky: Sky,
    /// How far the clock of its weather is ahead of the trip's [h].
    ahead: i64,
    is_from_file: bool,
}

impl Spot {
    /// The hour of its weather's year for an hour of the trip.
    fn hour(&self, of_year: usize) -> usize {
        (of_year as i64 + self.ahead).rem_euclid(HOURS as i64) as usize
    }
}

/// The sky over each place; what they all assume is said once.
fn spots(
    system: &System,
    plant: &Plant,
    table: &Timetable,
    series: Option<&Series>,
    notes: &mut Vec<Note>,
) -> Vec<Spot> {
    let mut at = system.clone();
    at.usage.horizon.clear();
    let mut said: Vec<(Note, usize, usize)> = Vec::new();
    let mut from_file = 0;
    let mut spots = Vec::new();
    for (index, place) in table.spots.iter().enumerate() {
        at.usage.place = place.clone();
        let near = series.filter(|series| matches_place(series, place).is_none());
        from_file += usize::from(near.is_some());
        // A file keeps a clock of its own; half an hour of difference is left.
        let ahead = near.map_or(0, |series| series.site.zone.get().round() as i64 - zone_hours(place));
        let sky = Sky::of(&at, plant, near);
        for note in &sky.notes {
            let known = said.iter_mut().find(|(known, first, _)| known.id == note.id && *first != index);
            match known {
                Some((known, _, _)) if known.message == note.message => {}
                Some((_, _, more)) => *more += 1,
                None => said.push((note.clone(), index, 0)),
            }
        }
        spots.push(Spot { sky, ahead, is_from_file: near.is_some() });
    }
    if let Some(series) = series {
        let message = match from_file {
            0 => format!("the weather file {} is near no place of the trip and is not used", series.title),
            near => {
                format!("the weather file {} is used at {near} of {} places", series.title, table.spots.len())
            }
        };
        notes.push(note("weather-file", 0, message));
    }
    notes.extend(said.into_iter().map(|(mut note, _, more)| {
        if more > 0 {
            note.message += &format!(" (likewise at {more} more of the places)");
        }
        note
    }));
    spots
}

/// What comes from outside, for each hour of a trip, and the lists of a year through which the hour loop reads it.
struct Around {
    scratch: Scratch,
    sun_w: Vec<f64>,
    air_c: Vec<f64>,
    year_sun_w: Vec<f64>,
    year_air_c: Vec<f64>,
    vary: Vec<f64>,
}

impl Around {
    fn new(table: &Timetable) -> Self {
        let trip = || vec![0.0; table.hours.len()];
        let year = || vec![0.0; HOURS];
        Self {
            scratch: Scratch::new(),
            sun_w: trip(),
            air_c: trip(),
            year_sun_w: year(),
            year_air_c: year(),
            vary: vec![1.0; DAYS],
        }
    }

    /// Takes the trip's hours out of each place's year, as `draw` fills it in.
    fn fill(&mut self, table: &Timetable, spots: &[Spot], draw: impl Fn(&Sky, &mut Scratch)) {
        for (at, spot) in spots.iter().enumerate() {
            draw(&spot.sky, &mut self.scratch);
            let out = self.sun_w.iter_mut().zip(&mut self.air_c);
            for (hour, (sun_w, air_c)) in table.hours.iter().zip(out).filter(|(hour, _)| hour.spot == at) {
                let hour = spot.hour(hour.of_year);
                *sun_w = self.scratch.sun_w.get(hour).copied().unwrap_or(0.0);
                *air_c = self.scratch.weather.air_c.get(hour).copied().unwrap_or(0.0);
            }
        }
        self.vary.clone_from(&self.scratch.vary);
    }
}

/// Runs every day on end.
fn days(
    plant: &mut Plant,
    table: &Timetable,
    around: &mut Around,
    charge: f64,
    watch: &mut impl Watch,
) -> Vec<TripDay> {
    let mut going = Going::at(plant, charge, around.air_c.first().copied().unwrap_or(15.0));
    table.days.iter().map(|day| one_day(plant, table, around, day, &mut going, watch)).collect()
}

fn one_day(
    plant: &mut Plant,
    table: &Timetable,
    around: &mut Around,
    day: &TableDay,
    going: &mut Going,
    watch: &mut impl Watch,
) -> TripDay {
    let hours = table.hours.get(day.hours.clone()).unwrap_or_default();
    let air = around.air_c.get(day.hours.clone()).unwrap_or_default();
    let coldest = air.iter().copied().fold(f64::INFINITY, f64::min);
    let warmest = air.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let soc_start = going.bank.soc;
    let mut told = TripDay {
        date: day.date.to_string(),
        title: day.title.clone(),
        place: day.place.clone(),
        hours: u32::try_from(hours.len()).unwrap_or(0),
        driving: Hours::new(hours.iter().map(|hour| hour.driving).sum()),
        distance: day.distance,
        books: Books::default(),
        soc_start,
        soc_low: soc_start,
        soc_end: soc_start,
        short_hours: 0,
        air: (Celsius::new(coldest), Celsius::new(warmest)),
    };
    let mut at = day.hours.start;
    // Hours on end by the clock: where it jumps on the way, the day falls into pieces.
    for piece in hours.chunk_by(|a, b| b.of_year == a.of_year + 1 && a.of_year / 24 == b.of_year / 24) {
        set(plant, around, piece, at, day.is_in_use);
        at += piece.len();
        let Some(first) = piece.first() else { continue };
        let range = first.of_year..first.of_year + piece.len();
        let outside = Outside { sun_w: &around.year_sun_w, air_c: &around.year_air_c, vary: &around.vary };
        let tally = stretch(plant, outside, range, going, watch);
        told.books.add(&tally.total());
        told.soc_low = told.soc_low.min(tally.lowest.0);
        told.short_hours += tally.short_hours();
    }
    told.soc_end = going.bank.soc;
    told
}

/// Puts hours of the trip where the hour loop looks for them.
fn set(plant: &mut Plant, around: &mut Around, piece: &[TripHour], at: usize, is_in_use: bool) {
    for (offset, hour) in piece.iter().enumerate() {
        let of_year = hour.of_year;
        if let (Some(sun), Some(air)) =
            (around.year_sun_w.get_mut(of_year), around.year_air_c.get_mut(of_year))
        {
            *sun = around.sun_w.get(at + offset).copied().unwrap_or(0.0);
            *air = around.air_c.get(at + offset).copied().unwrap_or(0.0);
        }
        if let Some(there) = plant.there.get_mut(of_year) {
            *there = [hour.driving as f32, hour.plugged as f32];
        }
        let day = of_year / 24;
        if let (Some(used), Some(is_warm)) = (plant.needs.used.get_mut(day), plant.needs.is_warm.get_mut(day))
        {
            (*used, *is_warm) = (is_in_use, hour.is_warm);
        }
    }
}

struct Tracing(Trace);

impl Watch for Tracing {
    fn hour(&mut self, _: usize, flow: &Flow) {
        let trace = &mut self.0;
        trace.soc.push(flow.soc);
        trace.sun_w.push(flow.sun_w);
        trace.curtailed_w.push(flow.curtailed_w);
        trace.engine_w.push(flow.engine_w);
        trace.supply_w.push(flow.supply_w);
        trace.need_w.push(flow.need_w);
        trace.short_w.push(flow.short_w);
    }
    fn day(&mut self, _: usize, _: f64, _: f64, _: f64) {}
}

/// What one weather made of the days: lowest state of charge and whether it ran out; and the gap of the books.
type Drawn = (Vec<(f64, bool)>, f64);

/// The trip in many weathers; the same whatever the number of threads.
fn chance(
    plant: &Plant,
    table: &Timetable,
    spots: &[Spot],
    options: TripOptions,
    charge: f64,
    progress: &Progress,
) -> Option<TripChance> {
    let fresh = || (plant.clone(), Around::new(table));
    let drawn: Option<Vec<Drawn>> = (0..options.count)
        .into_par_iter()
        .map_init(fresh, |(plant, around), index| {
            if progress.stop.load(Ordering::Relaxed) {
                return None;
            }
            around
                .fill(table, spots, |sky, scratch| sky.year(plant, options.seed, u64::from(index), scratch));
            let days = days(plant, table, around, charge, &mut Blind);
            let mut total = Books::default();
            for day in &days {
                total.add(&day.books);
            }
            progress.done.fetch_add(1, Ordering::Relaxed);
            Some((days.iter().map(|day| (day.soc_low, day.short_hours > 0)).collect(), total.gap()))
        })
        .collect();
    let drawn = drawn?;
    let mut first_short = vec![0_u32; table.days.len()];
    for (days, _) in &drawn {
        if let Some(first) =
            days.iter().position(|(_, is_short)| *is_short).and_then(|day| first_short.get_mut(day))
        {
            *first += 1;
        }
    }
    let ran_out: u32 = first_short.iter().sum();
    let breaks = first_short.iter().copied().enumerate().filter(|(_, times)| *times > 0);
    let days = (0..table.days.len()).map(|day| {
        let of_day = || drawn.iter().filter_map(move |(days, _)| days.get(day));
        let mut low: Vec<f64> = of_day().map(|(low, _)| *low).collect();
        low.sort_by(f64::total_cmp);
        let short = of_day().filter(|(_, is_short)| *is_short).count();
        DayChance {
            running_out: Chance::of(u32::try_from(short).unwrap_or(u32::MAX), options.count),
            low: [0.05, 0.5, 0.95].map(|share| ranked(&low, share)),
        }
    });
    Some(TripChance {
        count: options.count,
        seed: options.seed,
        lasts: Chance::of(options.count - ran_out, options.count),
        breaks: breaks.rev().max_by_key(|(_, times)| *times),
        days: days.collect(),
        books_gap: drawn.iter().fold(0.0, |gap: f64, (_, of)| gap.max(*of)),
    })
}

/// The value of sorted values below which a share of them lies, the nearest rank.
fn ranked(sorted: &[f64], share: f64) -> f64 {
    let rank = (share * sorted.len() as f64).ceil() as usize;
    sorted.get(rank.saturating_sub(1)).copied().unwrap_or(0.0)
}
