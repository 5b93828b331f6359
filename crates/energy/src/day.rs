//! A day's hours before and after the bank is asked: what is there, what is asked, and the sums of what came of it.
//! Never: touches the bank; the loop in `run` does, hour after hour.
//! Start at [`Day::ahead`], then [`Day::write`].
//!
//! What does not wait for the hour before is worked out here for many hours at once, which leaves the loop through the bank short.

use crate::hour::{Fixed, Today};
use crate::outcome::Books;

/// Some hours of a day on end; hours are counted from the first.
pub(crate) struct Day {
    /// Need of direct and of alternating current [W]; less what is given up.
    pub dc: [f64; 24],
    pub ac: [f64; 24],
    /// Sun over what the busbars are asked for, below 0 where it is less [W].
    pub over: [f64; 24],
    /// Sun that nobody could take [W].
    pub curtailed: [f64; 24],
    /// A bit for each hour that has no source but the sun and in which nothing goes short.
    pub quiet: u32,
    /// Sums over the quiet hours [Wh]: lost in the bank, given by it, given up.
    pub lost: f64,
    pub given: f64,
    pub given_up: f64,
}

impl Day {
    /// What is known ahead of some hours.
    ///
    /// - `from`: hour of the day of the first   - `sun_w`, `air_c`, `there`: equally long, at most 24
    #[inline]
    pub fn ahead(
        fixed: &Fixed<'_>,
        today: &Today<'_>,
        from: usize,
        sun_w: &[f64],
        air_c: &[f64],
        there: &[[f32; 2]],
    ) -> Self {
        let mut day = Self {
            dc: [0.0; 24],
            ac: [0.0; 24],
            over: [0.0; 24],
            curtailed: [0.0; 24],
            quiet: if fixed.has_generator { 0 } else { quiet(there) },
            lost: 0.0,
            given: 0.0,
            given_up: 0.0,
        };
        let standing_w = fixed.plant.standing_w + today.heater_w;
        let inverter_w = &today.inverter_w[from..];
        let outs = day.dc.iter_mut().zip(&mut day.ac).zip(&mut day.over);
        for (at, (((sun_w, air_c), inverter_w), ((dc, ac), over))) in
            sun_w.iter().zip(air_c).zip(inverter_w).zip(outs).enumerate()
        {
            (*dc, *ac) = today.needs.at(from + at, *air_c);
            *over = sun_w - (standing_w + inverter_w + *dc + *ac * fixed.through);
        }
        day
    }

    /// Whether an hour is quiet.
    #[inline]
    pub fn is_quiet(&self, at: usize) -> bool {
        self.quiet >> at & 1 != 0
    }

    /// Every entry that the quiet hours touch; the change in store is counted by the day.
    #[inline]
    pub fn write(&self, fixed: &Fixed<'_>, today: &Today<'_>, from: usize, sun_w: &[f64], books: &mut Books) {
        let (mut hours, mut dc, mut ac, mut sun, mut curtailed, mut inverter) =
            (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        let each = sun_w
            .iter()
            .zip(&self.curtailed)
            .zip(self.dc.iter().zip(&self.ac))
            .zip(&today.inverter_w[from..]);
        for (at, (((sun_w, curtailed_w), (dc_w, ac_w)), inverter_w)) in each.enumerate() {
            if self.is_quiet(at) {
                hours += 1.0;
                dc += dc_w;
                ac += ac_w;
                sun += sun_w - curtailed_w;
                curtailed += curtailed_w;
                inverter += inverter_w;
            }
        }
        let plant = fixed.plant;
        books.loads_dc_wh += dc;
        books.loads_ac_wh += ac;
        books.inverter_loss_wh += ac * plant.inverter_share;
        books.idle_wh += inverter + hours * plant.standing_w;
        books.heater_wh += hours * today.heater_w;
        let controller_loss = sun * (1.0 / plant.controllers - 1.0);
        books.sun_wh += sun + controller_loss;
        books.controller_loss_wh += controller_loss;
        books.curtailed_wh += curtailed;
        books.bank_loss_wh += self.lost;
        books.given_up_wh += self.given_up;
    }
}

/// A bit for each hour without engine and shore power.
#[inline]
fn quiet(there: &[[f32; 2]]) -> u32 {
    let all = there.iter().flatten().fold(0, |all, share| all | share.to_bits());
    if all == 0 {
        return u32::MAX;
    }
    let bits = there.iter().enumerate().map(|(at, share)| u32::from(*share == [0.0, 0.0]) << at);
    bits.fold(0, |all, bit| all | bit)
}
