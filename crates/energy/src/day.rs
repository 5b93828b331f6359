//! A day's hours before and after the bank is asked: what is there, what is asked, and the sums of what came of it.
//! Never: touches the bank; the loop in `run` does, hour after hour.
//! Start at [`Day::ahead`], then [`Day::write`].
//!
//! What does not wait for the hour before is worked out here for all hours at once, which leaves the loop through the bank short.

use std::ops::Range;

use crate::hour::{Fixed, Today};
use crate::outcome::Books;
use crate::run::Outside;

/// A value for each hour of a day.
pub(crate) type Hourly = [f64; 24];

/// The hours of a day; those that the run leaves out are blank.
pub(crate) struct Day {
    /// What the controllers could put on the busbars [W], and air temperature [°C].
    pub sun_w: Hourly,
    pub air_c: Hourly,
    /// Shares of the hour with the engine running and with shore power.
    pub there: [[f32; 2]; 24],
    /// Mean temperature of the air over the day's hours [°C].
    pub mean_c: f64,
    /// Need of direct and of alternating current, and idle draw [W]; blank where the hour is booked elsewhere.
    pub dc: Hourly,
    pub ac: Hourly,
    pub idle: Hourly,
    /// Sun used [W]; blank likewise.
    pub used: Hourly,
    /// Sun over what the busbars are asked for, below 0 where it is less [W].
    pub over: Hourly,
    /// Sun that nobody could take [W].
    pub curtailed: Hourly,
    /// Energy in store after the hour [Wh].
    pub after_wh: Hourly,
    /// Hours that are booked here.
    booked: f64,
}

impl Day {
    /// Sun and air of some hours.
    ///
    /// - `hours`: of one day, within the lists of `outside` and of the plant
    #[inline]
    pub fn new(fixed: &Fixed<'_>, outside: &Outside<'_>, hours: Range<usize>) -> Self {
        let blank = [0.0; 24];
        let air = &outside.air_c[hours.clone()];
        let mut day = Self {
            sun_w: blank,
            air_c: blank,
            there: [[0.0; 2]; 24],
            mean_c: 0.0,
            dc: blank,
            ac: blank,
            idle: blank,
            used: blank,
            over: blank,
            curtailed: blank,
            after_wh: [f64::INFINITY; 24],
            booked: 24.0,
        };
        let from = hours.start % 24;
        let there = &fixed.plant.there[hours.clone()];
        if let (Ok(sun_w), Ok(air_c), Ok(there)) =
            (outside.sun_w[hours.clone()].try_into(), air.try_into(), there.try_into())
        {
            (day.sun_w, day.air_c, day.there) = (sun_w, air_c, there);
            day.mean_c = sum(&day.air_c) / 24.0;
        } else {
            day.sun_w[from..from + air.len()].copy_from_slice(&outside.sun_w[hours]);
            day.there[from..from + air.len()].copy_from_slice(there);
            day.air_c[from..from + air.len()].copy_from_slice(air);
            day.mean_c = air.iter().sum::<f64>() / air.len() as f64;
        }
        day
    }

    /// What is asked, and what of it the sun leaves over.
    #[inline]
    pub fn ahead(&mut self, fixed: &Fixed<'_>, today: &Today<'_>) {
        self.idle = *today.idle_w;
        self.used = self.sun_w;
        for hour in 0..24 {
            (self.dc[hour], self.ac[hour]) = today.needs.at(hour, self.air_c[hour]);
        }
        for hour in 0..24 {
            let asked = self.idle[hour] + today.heater_w + self.dc[hour] + self.ac[hour] * fixed.through;
            self.over[hour] = self.sun_w[hour] - asked;
        }
    }

    /// Leaves an hour out of the sums: it is booked elsewhere.
    #[inline]
    pub fn leave_out(&mut self, hour: usize) {
        self.booked -= 1.0;
        (self.dc[hour], self.ac[hour], self.idle[hour], self.used[hour]) = (0.0, 0.0, 0.0, 0.0);
    }

    /// Every entry that the hours booked here touch, but for what the bank did.
    #[inline]
    pub fn write(&self, fixed: &Fixed<'_>, today: &Today<'_>, books: &mut Books) {
        let ac = sum(&self.ac);
        books.loads_dc_wh += sum(&self.dc);
        books.loads_ac_wh += ac;
        books.inverter_loss_wh += ac * fixed.plant.inverter_share;
        books.idle_wh += sum(&self.idle);
        books.heater_wh += self.booked * today.heater_w;
        let used = sum(&self.used);
        let controller_loss = used * fixed.controller_loss;
        books.sun_wh += used + controller_loss;
        books.controller_loss_wh += controller_loss;
        books.curtailed_wh += sum(&self.curtailed);
    }
}

/// Four sums side by side: one alone waits for every addition.
#[inline]
fn sum(values: &Hourly) -> f64 {
    let mut sums = [0.0; 4];
    for four in values.chunks_exact(4) {
        for (sum, value) in sums.iter_mut().zip(four) {
            *sum += value;
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3])
}
