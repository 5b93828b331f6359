//! Standing or moving: a track in steps of ten minutes.
//! Never: checks times; they rise already.
//! Start at [`legs`].
//!
//! A craft moves in a step where it comes farther than a walker would, 5 km/h (common practice, no source). A whole step
//! is looked at instead of neighbouring points because a receiver scatters by some metres a second while it stands, as
//! stay points are found in Li et al. 2008, "Mining user similarity based on location history". A single step of
//! standing between two of moving is a red light, not a stop.

use jiff::{SignedDuration, Timestamp};

use super::sphere::{between, metres, place};
use super::{Drive, Leg, Shore, Stay};
use quantity::Metres;

/// Length of a step [s].
const STEP_S: i64 = 600;
/// Farther in a step is moving [m]: 5 km/h.
const MOVING_M: f64 = 5000.0 / 3600.0 * STEP_S as f64;

/// Where the craft was at some time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// When.
    pub time: Timestamp,
    /// Latitude and longitude [°].
    pub at: (f64, f64),
    /// Height above the sea [m].
    pub altitude: Option<f64>,
}

/// A border between two steps.
#[derive(Clone, Copy)]
struct Border {
    time: Timestamp,
    at: (f64, f64),
    altitude: Option<f64>,
    /// Way from the beginning, from point to point [m].
    way: f64,
}

/// Stays and drives of moments whose times do not fall; `name_of` names a place.
pub fn legs(moments: &[Moment], name_of: impl Fn((f64, f64)) -> Option<String>) -> Vec<Leg> {
    let borders = borders(moments);
    let mut moving: Vec<bool> = borders
        .windows(2)
        .map(|pair| match pair {
            [a, b] => {
                // The last step may be short; scatter alone is no way there.
                let share = (b.time.duration_since(a.time).as_secs_f64() / STEP_S as f64).max(0.1);
                metres(a.at, b.at) > MOVING_M * share
            }
            _ => false,
        })
        .collect();
    for step in 1..moving.len().saturating_sub(1) {
        if let Some([true, light @ false, true]) = moving.get_mut(step - 1..=step + 1) {
            *light = true;
        }
    }
    let mut legs = Vec::new();
    let mut from = 0;
    while let Some(is_moving) = moving.get(from) {
        let long = moving.iter().skip(from).take_while(|other| *other == is_moving).count();
        let to = from + long;
        let (Some(a), Some(b), Some(middle)) =
            (borders.get(from), borders.get(to), borders.get(from + long / 2))
        else {
            break;
        };
        legs.push(if *is_moving {
            Leg::Drive(Drive {
                start: place(a.at, a.altitude),
                end: place(b.at, b.altitude),
                from: a.time,
                to: b.time,
                distance: Metres::new(b.way - a.way),
            })
        } else {
            Leg::Stay(Stay {
                title: name_of(middle.at),
                place: place(middle.at, middle.altitude),
                from: a.time,
                to: b.time,
                shore: Shore::Plugged(false),
                is_in_use: true,
            })
        });
        from = to;
    }
    legs
}

/// Where the craft was every ten minutes, and at the end.
fn borders(moments: &[Moment]) -> Vec<Border> {
    let (Some(first), Some(last)) = (moments.first(), moments.last()) else { return Vec::new() };
    let step = SignedDuration::from_secs(STEP_S);
    let mut borders = vec![Border { time: first.time, at: first.at, altitude: first.altitude, way: 0.0 }];
    let mut next = first.time.checked_add(step).unwrap_or(last.time);
    let mut way = 0.0;
    for pair in moments.windows(2) {
        let [a, b] = pair else { continue };
        let (long, metres) = (b.time.duration_since(a.time).as_secs_f64(), metres(a.at, b.at));
        while next <= b.time && next < last.time {
            let share = if long > 0.0 { next.duration_since(a.time).as_secs_f64() / long } else { 1.0 };
            let altitude = if share < 0.5 { a.altitude.or(b.altitude) } else { b.altitude.or(a.altitude) };
            borders.push(Border {
                time: next,
                at: between(a.at, b.at, share),
                altitude,
                way: way + share * metres,
            });
            let Ok(later) = next.checked_add(step) else { break };
            next = later;
        }
        way += metres;
    }
    borders.push(Border { time: last.time, at: last.at, altitude: last.altitude, way });
    borders
}
