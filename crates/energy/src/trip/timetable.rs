//! The hours of an itinerary: for each, where it is, what the clock there says, how much of it is driven and plugged in.
//! Never: knows weather or the system.
//! Start at [`Timetable::of`].
//!
//! Zones are whole hours, so an hour of UTC is an hour of the clock anywhere; where the zone changes on the way, the
//! clock leaves out an hour or says it twice, and the day is shorter or longer.

use jiff::{Timestamp, civil};
use model::Place;
use quantity::{Degrees, Metres};

use super::{Itinerary, Leg, Shore, distance, local};
use crate::site::HOURS;

/// Places nearer than this have one weather [m]; the built-in climate's grid is 2° and 3° wide.
const ONE_WEATHER_M: f64 = 30_000.0;
/// Unless they differ so much in height [m].
const ONE_WEATHER_UP_M: f64 = 300.0;
const HOUR_S: i64 = 3600;

/// An hour of a trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TripHour {
    /// Hour of a year without 29 February, by the clock of its place.
    pub of_year: usize,
    /// Which of the places.
    pub spot: usize,
    /// Share of it with the engine running.
    pub driving: f64,
    /// Share of it with shore power.
    pub plugged: f64,
    /// Whether the place lies in the warm half of its year.
    pub is_warm: bool,
}

/// A day of a trip, by the clock of its place.
#[derive(Clone, Debug, PartialEq)]
pub struct TableDay {
    /// Its date.
    pub date: civil::Date,
    /// Where it stands longest on this day; where it drives to, if it never stands.
    pub place: Place,
    /// What that is called.
    pub title: Option<String>,
    /// Distance on this day.
    pub distance: Metres,
    /// Whether somebody lives in it.
    pub is_in_use: bool,
    /// Its hours, in the list of all hours.
    pub hours: std::ops::Range<usize>,
}

/// Hours, days and places of a trip.
#[derive(Clone, Debug, PartialEq)]
pub struct Timetable {
    /// Every hour, the first and the last whole.
    pub hours: Vec<TripHour>,
    /// Every day.
    pub days: Vec<TableDay>,
    /// Places whose weather is needed.
    pub spots: Vec<Place>,
}

impl Timetable {
    /// Lays an itinerary out in hours.
    ///
    /// `shore_from` is the hour of the day, with fraction, at which a stop of so many hours a day is plugged in. Where
    /// the trip begins or ends within an hour, that hour counts as a whole one.
    pub fn of(itinerary: &Itinerary, shore_from: f64) -> Self {
        let mut table = Self { hours: Vec::new(), days: Vec::new(), spots: Vec::new() };
        let legs = &itinerary.legs;
        let first = itinerary.begins().as_second().div_euclid(HOUR_S);
        let last = -(-ceiled(itinerary.ends())).div_euclid(HOUR_S);
        let mut leg = 0;
        let mut stood: Vec<(usize, u32)> = Vec::new();
        for hour in first..last {
            let (from, to) = (hour * HOUR_S, (hour + 1) * HOUR_S);
            while legs.get(leg + 1).is_some_and(|next| next.from().as_second() <= from) {
                leg += 1;
            }
            // The legs that this hour touches, and the one in its middle.
            let touched =
                || legs.iter().enumerate().skip(leg).take_while(|(_, leg)| leg.from().as_second() < to);
            let middle = touched()
                .take_while(|(at, leg)| *at == 0 || leg.from().as_second() <= from + HOUR_S / 2)
                .last();
            let Some((middle, now)) = middle.or_else(|| touched().next()) else { break };
            let place = where_at(now, from + HOUR_S / 2);
            let Ok(moment) = Timestamp::from_second(from) else { break };
            let clock = local(moment, place);
            let of_day = usize::try_from(clock.hour()).unwrap_or(0);
            if table.begins_day(&clock, hour_of_days(&table)) {
                table.close_day(legs, &mut stood);
                let start = table.hours.len();
                table.days.push(TableDay {
                    date: clock.date(),
                    place: place.clone(),
                    title: None,
                    distance: Metres::zero(),
                    is_in_use: false,
                    hours: start..start,
                });
            }
            let (mut driving, mut plugged, mut way) = (0.0, 0.0, Metres::zero());
            for (_, leg) in touched() {
                let share = overlap(leg, from, to);
                match leg {
                    Leg::Drive(drive) => {
                        driving += share;
                        let hours = drive.to.duration_since(drive.from).as_secs_f64() / HOUR_S as f64;
                        way += drive.distance * (share / hours);
                    }
                    Leg::Stay(stay) => plugged += share * plugged_share(stay.shore, shore_from, of_day),
                }
            }
            if let Leg::Stay(_) = now {
                match stood.iter_mut().find(|(at, _)| *at == middle) {
                    Some((_, hours)) => *hours += 1,
                    None => stood.push((middle, 1)),
                }
            }
            let spot = table.spot(place);
            let is_warm = (4..=9).contains(&clock.month()) != (place.latitude < Degrees::zero());
            table.hours.push(TripHour {
                of_year: day_of_year(clock.date()) * 24 + of_day,
                spot,
                driving,
                plugged,
                is_warm,
            });
            let end = table.hours.len();
            if let Some(day) = table.days.last_mut() {
                day.hours.end = end;
                day.distance += way;
                day.is_in_use |= match now {
                    Leg::Stay(stay) => stay.is_in_use,
                    Leg::Drive(_) => true,
                };
                if let Leg::Drive(drive) = now {
                    day.place = drive.end.clone();
                }
            }
        }
        table.close_day(legs, &mut stood);
        table
    }

    /// Whether an hour begins a day, when the day under way has so many hours.
    fn begins_day(&self, clock: &civil::DateTime, hours: usize) -> bool {
        let Some(day) = self.days.last() else { return true };
        match clock.date().cmp(&day.date) {
            std::cmp::Ordering::Equal => false,
            std::cmp::Ordering::Greater => true,
            // Back by an hour over midnight it is still this day; back by a day at the date line it is that day again.
            std::cmp::Ordering::Less => clock.hour() < 12 || hours >= 12,
        }
    }

    /// Names a day that is over by where it stood longest.
    fn close_day(&mut self, legs: &[Leg], stood: &mut Vec<(usize, u32)>) {
        // The first of the longest.
        let longest = stood.iter().rev().max_by_key(|(_, hours)| *hours).map(|(at, _)| *at);
        if let (Some(day), Some(Leg::Stay(stay))) =
            (self.days.last_mut(), longest.and_then(|at| legs.get(at)))
        {
            day.place = stay.place.clone();
            day.title.clone_from(&stay.title);
        }
        stood.clear();
    }

    fn spot(&mut self, place: &Place) -> usize {
        let up = |place: &Place| place.altitude.map(Metres::get);
        let is_near = |known: &Place| {
            let level = match (up(known), up(place)) {
                (Some(a), Some(b)) => (a - b).abs() <= ONE_WEATHER_UP_M,
                (None, None) => true,
                _ => false,
            };
            level
                && super::zone_hours(known) == super::zone_hours(place)
                && distance(known, place).get() <= ONE_WEATHER_M
        };
        // An hour is most often where the hour before it was.
        let before = self.hours.last().map(|hour| hour.spot);
        if let Some(before) = before
            && self.spots.get(before).is_some_and(is_near)
        {
            return before;
        }
        self.spots.iter().position(is_near).unwrap_or_else(|| {
            self.spots.push(place.clone());
            self.spots.len() - 1
        })
    }
}

fn hour_of_days(table: &Timetable) -> usize {
    table.days.last().map_or(0, |day| day.hours.len())
}

/// Seconds of a moment, a started one counted whole.
fn ceiled(moment: Timestamp) -> i64 {
    moment.as_second() + i64::from(moment.subsec_nanosecond() > 0)
}

/// Where a leg is at a time: a drive belongs to the nearer of its ends.
fn where_at(leg: &Leg, second: i64) -> &Place {
    match leg {
        Leg::Stay(stay) => &stay.place,
        Leg::Drive(drive) if second * 2 < drive.from.as_second() + drive.to.as_second() => &drive.start,
        Leg::Drive(drive) => &drive.end,
    }
}

/// Share of an hour that a leg covers.
fn overlap(leg: &Leg, from: i64, to: i64) -> f64 {
    let second = |moment: Timestamp| moment.as_second() as f64 + f64::from(moment.subsec_nanosecond()) * 1e-9;
    ((second(leg.to()).min(to as f64) - second(leg.from()).max(from as f64)) / HOUR_S as f64).max(0.0)
}

/// Share of an hour of the day that is plugged in; hours that would run into the next day begin earlier.
fn plugged_share(shore: Shore, shore_from: f64, of_day: usize) -> f64 {
    let hours = match shore {
        Shore::Plugged(is) => return f64::from(u8::from(is)),
        Shore::Hours(hours) => hours.get().clamp(0.0, 24.0),
    };
    let start = shore_from.min(24.0 - hours);
    ((start + hours).min(of_day as f64 + 1.0) - start.max(of_day as f64)).max(0.0)
}

/// Day of a year without 29 February, from 0; 29 February is 28 February.
fn day_of_year(date: civil::Date) -> usize {
    let day = date.day_of_year_no_leap().unwrap_or(59);
    usize::try_from(day - 1).unwrap_or(0).min(HOURS / 24 - 1)
}
