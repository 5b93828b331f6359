//! A typical year: for each month the drawn month that lies nearest the climate.
//! Never: mixes hours within a month.
//! Start at [`Generator::typical`].

use super::{Generator, of};
use crate::site::{DAYS_OF_MONTH, MONTH_STARTS, MONTHS};
use crate::weather::WeatherYear;

/// Years that each month is picked from.
const CANDIDATES: u64 = 24;

impl Generator {
    /// A typical year: each month is the one, of 24 drawn, that lies nearest the climate in the mean and spread of
    /// daily clearness and in mean temperature, as typical meteorological years are put together from measured months
    /// (Hall and others 1978; ISO 15927-4). The streams are apart from those of [`Generator::year`].
    pub fn typical(&self, seed: u64, out: &mut WeatherYear) {
        let above = self.above_by_day();
        let mut draft = WeatherYear::blank();
        let mut best = [(f64::INFINITY, 0); MONTHS];
        for candidate in 0..CANDIDATES {
            let index = u64::MAX - candidate;
            self.year(seed, index, &mut draft);
            let shown = of::of(&draft, &self.climate.site, &above, "");
            for (month, slot) in best.iter_mut().enumerate() {
                let far = self.distance(&shown, month);
                if far < slot.0 {
                    *slot = (far, index);
                }
            }
        }
        *out = WeatherYear::blank();
        for candidate in 0..CANDIDATES {
            let index = u64::MAX - candidate;
            if best.iter().all(|(_, chosen)| *chosen != index) {
                continue;
            }
            self.year(seed, index, &mut draft);
            for month in (0..MONTHS).filter(|month| best[*month].1 == index) {
                let hours = MONTH_STARTS[month]..MONTH_STARTS[month + 1];
                for (into, from) in lists(out).into_iter().zip(lists(&mut draft)) {
                    into[hours.clone()].copy_from_slice(&from[hours.clone()]);
                }
            }
        }
    }

    /// How far a drawn month lies from the climate, each figure in its own standard error.
    fn distance(&self, shown: &super::Climate, month: usize) -> f64 {
        let wanted = &self.climate;
        let days = DAYS_OF_MONTH[month] as f64;
        let off = |found: f64, want: f64, error: f64| ((found - want) / error.max(1e-9)).powi(2);
        let spread = wanted.clearness_spread[month];
        off(shown.clearness[month], wanted.clearness[month], spread / days.sqrt())
            + 0.5 * off(shown.clearness_spread[month], spread, spread / (2.0 * days).sqrt())
            + 0.5
                * off(
                    shown.air_mean_c[month],
                    wanted.air_mean_c[month],
                    wanted.air_spread_c[month] / days.sqrt(),
                )
    }
}

fn lists(year: &mut WeatherYear) -> [&mut Vec<f64>; 5] {
    [&mut year.ghi_w_m2, &mut year.dni_w_m2, &mut year.dhi_w_m2, &mut year.air_c, &mut year.wind_m_s]
}
