//! Tables of a bank that are worked out once: where the voltage stops it, and how charging tapers off.
//! Never: knows what a step asks; [`BankModel`] keeps the tables.
//! Start at [`BankModel::fill_stops`].

use super::bank::BankModel;
use super::curve::At;

/// Points of the table of low-voltage stops, less one.
pub(super) const STOPS: usize = 64;
/// Parts of an hour in which charging at constant voltage is worked out beforehand.
const TAPER_PARTS: u32 = 40;
/// Points of the table of tapering, less one.
pub(super) const TAPER_POINTS: usize = 100;

impl BankModel {
    /// For each current, the lowest state of charge at which the voltage under load stays at the cut-off.
    pub(super) fn fill_stops(&mut self, cutoff_cell_v: f64) {
        // Cold multiplies the current's effect by up to about 5; beyond the table its last value counts.
        let most = (self.discharge_rate * 5.0).max(1e-3);
        self.stops_per_rate = STOPS as f64 / most;
        let fine = super::curve::CELLS * 4;
        for (index, stop) in self.stops.iter_mut().enumerate() {
            let rate = index as f64 / self.stops_per_rate;
            let holds = |soc: f64| {
                let at = self.curve.at(soc);
                at.volts - rate * self.ohm_ah * at.discharge >= cutoff_cell_v
            };
            let first = (0..=fine).map(|index| index as f64 / fine as f64).find(|soc| holds(*soc));
            *stop = first.unwrap_or(1.0);
        }
        self.stop_most = self.stops.iter().copied().fold(0.0, f64::max);
    }

    /// Charge that an hour at the absorption voltage puts in, from each state of charge, at 25 °C.
    pub(super) fn fill_taper(&mut self) {
        let part = 1.0 / f64::from(TAPER_PARTS);
        let mut taper = self.taper;
        for (index, taken) in taper.iter_mut().enumerate() {
            let from = index as f64 / TAPER_POINTS as f64;
            let mut soc = from;
            for _ in 0..TAPER_PARTS {
                let at = self.curve.at(soc);
                soc = (soc + self.driven(&at) * part).min(1.0);
            }
            // The last point stands for the cell below full, so that the very last charge can flow.
            *taken = soc - from;
        }
        taper[TAPER_POINTS] = taper[TAPER_POINTS - 1];
        self.taper = taper;
    }

    /// Charge that an hour at the absorption voltage puts in at 25 °C.
    #[inline]
    pub(super) fn tapered(&self, soc: f64) -> f64 {
        let place = soc * TAPER_POINTS as f64;
        let index = (place as u32 as usize).min(TAPER_POINTS - 1);
        let (low, high) = (self.taper[index], self.taper[index + 1]);
        low + (place - index as f64) * (high - low)
    }

    /// Charge kept per hour at the absorption voltage and 25 °C, at a point of the grid [1/h].
    pub(super) fn driven(&self, at: &At) -> f64 {
        (self.absorption_cell_v - at.volts).max(0.0) / (self.ohm_ah * at.charge * at.into)
    }
}
