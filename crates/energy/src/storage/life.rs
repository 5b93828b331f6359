//! Laws of wear by chemistry, from `data/life.toml`: what time, heat, charge and depth cost.
//! Never: counts anything; see `ageing.rs`.
//! Start at [`Life::of`].

use super::ageing::DEPTHS;
use model::parts::Chemistry;
use quantity::math;
use serde::Deserialize;
use std::sync::LazyLock;

/// Share of the capacity whose loss ends a battery's life.
const END: f64 = 0.2;
const GAS_CONSTANT: f64 = 8.314_462_618;
const SECONDS_A_YEAR: f64 = 31_536_000.0;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Data {
    lfp: RootLaw,
    agm: LineLaw,
    gel: LineLaw,
    flooded: LineLaw,
}

/// Loss with the root of time and of charge: Naumann and others 2018 (time) and 2020 (cycles).
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
struct RootLaw {
    time_per_root_s: f64,
    activation_j_mol: f64,
    soc_cubic: f64,
    soc_base: f64,
    rate_slope: f64,
    rate_base: f64,
    depth_cubic: f64,
    depth_base: f64,
    rate_per_h: f64,
    range: [f64; 2],
}

/// Loss in proportion to time, twice as fast each 10 K warmer, and to the share of the cycles of each depth that are used up (Miner).
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
struct LineLaw {
    years_at_25c: f64,
    depth: Vec<f64>,
    cycles: Vec<f64>,
    range: [f64; 2],
}

#[derive(Debug)]
enum Law {
    Root(RootLaw),
    Line(LineLaw),
}

/// How a chemistry wears. Rates are per year; for a root law they are squares of the loss after one year.
#[derive(Debug)]
pub(super) struct Life {
    law: Law,
    /// Years if all goes badly and if all goes well, over the estimate.
    pub range: (f64, f64),
}

impl Life {
    pub fn of(chemistry: Chemistry) -> &'static Life {
        static ALL: LazyLock<[Life; 4]> = LazyLock::new(|| {
            match toml::from_str::<Data>(include_str!("../../data/life.toml")) {
                Ok(data) => [
                    Life { range: pair(data.lfp.range), law: Law::Root(data.lfp) },
                    Life { range: pair(data.agm.range), law: Law::Line(data.agm) },
                    Life { range: pair(data.gel.range), law: Law::Line(data.gel) },
                    Life { range: pair(data.flooded.range), law: Law::Line(data.flooded) },
                ],
                // Compiled in and read by the tests of this crate, so it cannot be reached in a build whose tests pass.
                Err(error) => panic!("the compiled-in data of battery life are broken: {error}"),
            }
        });
        let [lfp, agm, gel, flooded] = &*ALL;
        match chemistry {
            Chemistry::Lfp => lfp,
            Chemistry::Agm => agm,
            Chemistry::Gel => gel,
            Chemistry::Flooded => flooded,
        }
    }

    /// Rate of the loss by time at a temperature [°C] and state of charge.
    pub fn calendar(&self, temp_c: f64, soc: f64) -> f64 {
        match &self.law {
            Law::Root(law) => {
                let heat =
                    math::exp(law.activation_j_mol / GAS_CONSTANT * (1.0 / 298.15 - 1.0 / (temp_c + 273.15)));
                let charge = law.soc_cubic * (soc - 0.5) * (soc - 0.5) * (soc - 0.5) + law.soc_base;
                let per_root_s = law.time_per_root_s * heat * charge;
                per_root_s * per_root_s * SECONDS_A_YEAR
            }
            Law::Line(law) => END / law.years_at_25c * math::powf(2.0, (temp_c - 25.0) / 10.0),
        }
    }

    /// Rate of the loss by cycles: counted cycles by depth class, the sums of their depths, and what makes a year of the count.
    pub fn cycling(&self, cycles: &[f64; DEPTHS], depths: &[f64; DEPTHS], per_year: f64) -> f64 {
        let mut rate = 0.0;
        for (count, sum) in cycles.iter().zip(depths) {
            if *count > 0.0 {
                rate += self.cycle(sum / count) * count * per_year;
            }
        }
        rate
    }

    /// Rate of the loss for one cycle a year of a depth, 0 to 1.
    pub fn cycle(&self, depth: f64) -> f64 {
        match &self.law {
            Law::Root(law) => {
                let deep = depth - 0.6;
                let depth_factor = law.depth_cubic * deep * deep * deep + law.depth_base;
                let percent = (law.rate_slope * law.rate_per_h + law.rate_base) * depth_factor.max(0.0);
                let per_root_cycle = percent / 100.0;
                per_root_cycle * per_root_cycle * depth
            }
            Law::Line(law) => END / cycles_at(law, depth),
        }
    }

    /// Share of the capacity lost after some years at a rate.
    pub fn loss(&self, rate: f64, years: f64) -> f64 {
        match self.law {
            Law::Root(_) => (rate * years).sqrt(),
            Law::Line(_) => rate * years,
        }
    }

    /// Years until 80 % is left; infinite without any loss.
    pub fn years(&self, calendar: f64, cycle: f64) -> f64 {
        match self.law {
            Law::Root(_) => {
                let a_year = calendar.sqrt() + cycle.sqrt();
                (END / a_year) * (END / a_year)
            }
            Law::Line(_) => END / (calendar + cycle),
        }
    }
}

fn pair([low, high]: [f64; 2]) -> (f64, f64) {
    (low, high)
}

/// Cycles that a depth allows: straight between the printed points in logarithms; below the shallowest the charge moved stays the same.
fn cycles_at(law: &LineLaw, depth: f64) -> f64 {
    let points: Vec<(f64, f64)> = law.depth.iter().copied().zip(law.cycles.iter().copied()).collect();
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return f64::INFINITY };
    let depth = depth.max(1e-6);
    if depth <= first.0 {
        return first.1 * first.0 / depth;
    }
    for pair in points.windows(2) {
        if let [low, high] = pair
            && depth <= high.0
        {
            let share = math::ln(depth / low.0) / math::ln(high.0 / low.0);
            return low.1 * math::powf(high.1 / low.1, share);
        }
    }
    last.1
}

#[cfg(test)]
mod tests {
    use super::*;

    // Printed points: a boat electrician's manual as quoted in a sailing forum (AGM), a battery seller's page on golf-cart batteries.
    #[test]
    fn printed_cycle_lives_come_back() {
        for (chemistry, depth, cycles) in [
            (Chemistry::Agm, 0.10, 3100.0),
            (Chemistry::Agm, 0.50, 370.0),
            (Chemistry::Agm, 1.00, 150.0),
            (Chemistry::Flooded, 0.50, 750.0),
            (Chemistry::Flooded, 0.80, 225.0),
        ] {
            let life = Life::of(chemistry);
            let lasts = END / life.cycle(depth);
            assert!((lasts / cycles - 1.0).abs() < 1e-9, "{chemistry} {depth}: {lasts}");
        }
    }

    // By hand from the constants of Naumann and others (2018, 2020): 25 °C, half charged, one year: 1.2571e-5 · 0.60225 · √31 536 000
    // = 4.25 %; 1000 full cycles at 1 C rate of the paper 0.2/h: (0.0630 · 0.2 + 0.0971) · (4.0253 · 0.4³ + 1.0923) · √1000 = 4.686 %.
    #[test]
    fn the_lithium_law_is_that_of_the_papers() {
        let life = Life::of(Chemistry::Lfp);
        let year = life.loss(life.calendar(25.0, 0.5), 1.0);
        assert!((year - 0.042516).abs() < 1e-5, "{year}");
        let cycles = life.loss(life.cycle(1.0) * 1000.0, 1.0);
        let by_hand = 0.01 * (0.0630 * 0.2 + 0.0971) * (4.0253 * 0.4_f64.powi(3) + 1.0923) * 1000_f64.sqrt();
        assert!((cycles - by_hand).abs() < 1e-12, "{cycles} {by_hand}");
    }

    #[test]
    fn heat_depth_and_time_only_shorten() {
        for chemistry in Chemistry::ALL {
            let life = Life::of(*chemistry);
            let mut before = f64::INFINITY;
            for step in 1..=20 {
                let years = life.years(life.calendar(25.0, 0.5), life.cycle(f64::from(step) / 20.0) * 200.0);
                assert!(years < before, "{chemistry}: {years} after {before}");
                before = years;
            }
            let hot = life.calendar(35.0, 0.5) / life.calendar(25.0, 0.5);
            if *chemistry == Chemistry::Lfp {
                assert!(hot > 1.0);
            } else {
                // Published: life halves per 10 °C.
                assert!((hot - 2.0).abs() < 1e-12);
            }
        }
    }
}
