//! A day's hours before and after the bank is asked: what is asked, what the sun leaves over, and the sums of what came of it.
//! Never: touches the bank; the loop in `lane` does, hour after hour.
//! Start at [`Day::ahead`], then [`Day::write`].
//!
//! What does not wait for the hour before is worked out here for all hours at once, which leaves the loop through the bank short.

use crate::hour::{Fixed, Today};
use crate::outcome::Books;

/// A value for each hour of a day.
pub(crate) type Hourly = [f64; 24];

/// The hours of a day.
pub(crate) struct Day {
    /// Need of direct and of alternating current [W]; blank where the hour is booked elsewhere.
    pub dc: Hourly,
    pub ac: Hourly,
    /// Sun over what the busbars are asked for, below 0 where it is less [W].
    pub over: Hourly,
    /// Sun that nobody could take [W].
    pub curtailed: Hourly,
    /// Energy in store after the hour [Wh]; infinite where it was not run.
    pub after_wh: Hourly,
    /// Of the hours booked here: how many, what their sun could give and what stands by draws [Wh].
    booked: f64,
    sun_wh: f64,
    idle_wh: f64,
}

impl Day {
    /// Nothing yet.
    pub fn blank() -> Self {
        let blank = [0.0; 24];
        Self {
            dc: blank,
            ac: blank,
            over: blank,
            curtailed: blank,
            after_wh: blank,
            booked: 0.0,
            sun_wh: 0.0,
            idle_wh: 0.0,
        }
    }

    /// What is asked, and what of it the sun leaves over.
    #[inline]
    pub fn ahead(&mut self, fixed: &Fixed<'_>, today: &Today<'_>, sun_w: &Hourly, air_c: &Hourly) {
        for (hour, air_c) in air_c.iter().enumerate() {
            (self.dc[hour], self.ac[hour]) = today.needs.at(hour, *air_c);
        }
        for (hour, sun_w) in sun_w.iter().enumerate() {
            let asked = today.idle_w[hour] + today.heater_w + self.dc[hour] + self.ac[hour] * fixed.through;
            self.over[hour] = *sun_w - asked;
        }
        self.curtailed = [0.0; 24];
        self.after_wh = [f64::INFINITY; 24];
        self.booked = 24.0;
        self.sun_wh = sum(sun_w);
        self.idle_wh = sum(today.idle_w);
    }

    /// Leaves an hour out of the sums: it is booked elsewhere.
    #[inline]
    pub fn leave_out(&mut self, hour: usize, sun_w: f64, today: &Today<'_>) {
        self.booked -= 1.0;
        self.sun_wh -= sun_w;
        self.idle_wh -= today.idle_w[hour];
        (self.dc[hour], self.ac[hour]) = (0.0, 0.0);
    }

    /// Every entry that the hours booked here touch, but for what the bank did.
    #[inline]
    pub fn write(&self, fixed: &Fixed<'_>, today: &Today<'_>, books: &mut Books) {
        if self.booked == 0.0 {
            return;
        }
        let ac = sum(&self.ac);
        let curtailed = sum(&self.curtailed);
        books.loads_dc_wh += sum(&self.dc);
        books.loads_ac_wh += ac;
        books.inverter_loss_wh += ac * fixed.plant.inverter_share;
        books.idle_wh += self.idle_wh;
        books.heater_wh += self.booked * today.heater_w;
        let used = self.sun_wh - curtailed;
        let controller_loss = used * fixed.controller_loss;
        books.sun_wh += used + controller_loss;
        books.controller_loss_wh += controller_loss;
        books.curtailed_wh += curtailed;
    }
}

/// Four sums side by side: one alone waits for every addition.
#[inline]
pub(crate) fn sum(values: &Hourly) -> f64 {
    let mut sums = [0.0; 4];
    for four in values.chunks_exact(4) {
        for (sum, value) in sums.iter_mut().zip(four) {
            *sum += value;
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3])
}
