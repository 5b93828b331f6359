//! The climate that one year of weather shows.
//! Never: reads files; see `weather`.
//! Start at [`of`].

use super::{Climate, correlation, day, note, shape};
use crate::site::{DAYS_OF_MONTH, MONTHS, Site};
use crate::weather::WeatherYear;

/// See [`Climate::of`]; `above` as from [`day::above`].
pub(super) fn of(year: &WeatherYear, site: &Site, above: &[f64], source: &str) -> Climate {
    let mut notes = Vec::new();
    let clearness = months(&day::clearness(&year.ghi_w_m2, above));
    let air: Vec<Option<f64>> = day::means(&year.air_c).into_iter().map(Some).collect();
    let air = months(&air);
    let air_mean_c = each(&air, |days| mean(days).unwrap_or(0.0));
    let mut course = shape::season(&air_mean_c).into_iter();
    let air: Vec<Vec<Option<f64>>> = air
        .iter()
        .map(|days| days.iter().map(|day| Some(day.unwrap_or(0.0) - course.next().unwrap_or(0.0))).collect())
        .collect();

    let clearness_lag1 = lag1(&clearness, Memory::of_clearness);
    let air_lag1 = lag1(&air, Memory::of_air);
    let (k_memory, air_memory) = (Memory::of_clearness(clearness_lag1), Memory::of_air(air_lag1));
    let (mut k_mean, mut k_spread) = ([0.0; MONTHS], [0.0; MONTHS]);
    let all: Vec<Option<f64>> = clearness.iter().flatten().copied().collect();
    let of_year = (mean(&all).unwrap_or(0.5), spread(&all, k_memory).unwrap_or(0.15));
    let mut dark = Vec::new();
    for (index, days) in clearness.iter().enumerate() {
        // Fewer than a third of the month's days with light say too little about it.
        let lit = days.iter().flatten().count() * 3 >= days.len();
        let (found, width) = (mean(days).filter(|_| lit), spread(days, k_memory).filter(|_| lit));
        if found.is_none() {
            dark.push(crate::site::MONTH_NAMES.get(index).copied().unwrap_or(""));
        }
        if let (Some(k), Some(s)) = (k_mean.get_mut(index), k_spread.get_mut(index)) {
            (*k, *s) = (found.unwrap_or(of_year.0), width.unwrap_or(of_year.1));
        }
    }
    if !dark.is_empty() {
        let months = dark.join(", ");
        notes.push(note(
            "dark-months",
            format!("the sun hardly rises in {months}; the clearness of the year stands in for theirs"),
        ));
    }
    let swings: Vec<Option<f64>> = day::swings(&year.air_c).into_iter().map(Some).collect();
    let winds: Vec<Option<f64>> = day::means(&year.wind_m_s).into_iter().map(Some).collect();
    let mut air_with_clearness = [0.0; MONTHS];
    for (slot, (warm, clear)) in air_with_clearness.iter_mut().zip(air.iter().zip(&clearness)) {
        *slot = together(warm, clear);
    }
    // What the clearest days let through would tell the turbidity; the built-in model of latitude stands in.
    let built_in = super::grid::at(&super::place(site.latitude, site.longitude), Some(site.altitude));
    Climate {
        site: *site,
        clearness: k_mean,
        clearness_spread: k_spread,
        clearness_lag1,
        air_mean_c,
        air_swing_c: each(&months(&swings), |days| mean(days).unwrap_or(0.0)),
        air_spread_c: each(&air, |days| spread(days, air_memory).unwrap_or(0.0)),
        air_lag1,
        air_with_clearness,
        wind_m_s: each(&months(&winds), |days| mean(days).unwrap_or(0.0)),
        linke: built_in.linke,
        source: source.to_owned(),
        notes,
    }
}

fn each(months: &[Vec<Option<f64>>], figure: impl Fn(&[Option<f64>]) -> f64) -> [f64; MONTHS] {
    let mut out = [0.0; MONTHS];
    for (slot, days) in out.iter_mut().zip(months) {
        *slot = figure(days);
    }
    out
}

/// The days of each month.
fn months(days: &[Option<f64>]) -> Vec<Vec<Option<f64>>> {
    let mut first = 0;
    DAYS_OF_MONTH
        .iter()
        .map(|length| {
            let month = days.iter().skip(first).take(*length).copied().collect();
            first += length;
            month
        })
        .collect()
}

fn mean(days: &[Option<f64>]) -> Option<f64> {
    let count = days.iter().flatten().count();
    (count > 0).then(|| days.iter().flatten().sum::<f64>() / count as f64)
}

/// How a series forgets: its correlation with the day before, and the factor from each later day to the next.
#[derive(Clone, Copy)]
struct Memory {
    lag1: f64,
    fade: f64,
}

impl Memory {
    /// Of clearness: of the first order, so that the correlation fades by itself.
    fn of_clearness(lag1: f64) -> Self {
        Self { lag1, fade: lag1 }
    }
    /// Of temperature: of the first order, blended over neighbouring days as the generator does.
    fn of_air(lag1: f64) -> Self {
        Self { lag1, fade: correlation::unblended(lag1) }
    }
    /// Variance of the mean of `n` days over that of a day: `(1 + 2 Σ (1 − k/n) ρₖ) / n`.
    fn share_of_mean(self, n: f64) -> f64 {
        let (mut sum, mut rho, mut k) = (1.0, self.lag1, 1.0);
        while k < n {
            sum += 2.0 * (1.0 - k / n) * rho;
            rho *= self.fade;
            k += 1.0;
        }
        (sum / n).clamp(0.0, 0.5)
    }
}

/// Standard deviation freed of what the sample's own mean takes from a series that follows itself:
/// `s² = Σ(x − x̄)² / n / (1 − f)`, f the share of [`Memory::share_of_mean`].
fn spread(days: &[Option<f64>], memory: Memory) -> Option<f64> {
    let count = days.iter().flatten().count() as f64;
    let centre = mean(days)?;
    let square = days.iter().flatten().map(|x| (x - centre) * (x - centre)).sum::<f64>() / count;
    (count > 3.0).then(|| (square / (1.0 - memory.share_of_mean(count))).sqrt())
}

/// Correlation with the day before about the monthly means, months pooled.
///
/// About its own mean a sample shows `(ρ − f) / (1 − f)`, f as above; solved for ρ by going round.
fn lag1(months: &[Vec<Option<f64>>], memory: fn(f64) -> Memory) -> f64 {
    let (mut product, mut square, mut count, mut pairs, mut sections) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for days in months {
        let Some(centre) = mean(days) else { continue };
        sections += 1.0;
        for pair in days.windows(2) {
            if let [Some(before), Some(after)] = pair {
                product += (before - centre) * (after - centre);
                pairs += 1.0;
            }
        }
        for day in days.iter().flatten() {
            square += (day - centre) * (day - centre);
            count += 1.0;
        }
    }
    if square < 1e-12 || count < 30.0 {
        return 0.0;
    }
    let shown: f64 = (product / pairs) / (square / count);
    let mut rho = shown.clamp(-0.5, 0.9);
    for _ in 0..20 {
        let share = memory(rho).share_of_mean(count / sections);
        rho = (shown * (1.0 - share) + share).clamp(-0.5, 0.9);
    }
    rho
}

fn together(left: &[Option<f64>], right: &[Option<f64>]) -> f64 {
    let both: Vec<(f64, f64)> = left.iter().zip(right).filter_map(|(l, r)| Some(((*l)?, (*r)?))).collect();
    if both.len() < 10 {
        return 0.0;
    }
    let n = both.len() as f64;
    let (l, r) = (both.iter().map(|p| p.0).sum::<f64>() / n, both.iter().map(|p| p.1).sum::<f64>() / n);
    let product: f64 = both.iter().map(|p| (p.0 - l) * (p.1 - r)).sum();
    let squares: f64 = both.iter().map(|p| (p.0 - l).powi(2)).sum::<f64>()
        * both.iter().map(|p| (p.1 - r).powi(2)).sum::<f64>();
    if squares > 0.0 { (product / squares.sqrt()).clamp(-0.95, 0.95) } else { 0.0 }
}
