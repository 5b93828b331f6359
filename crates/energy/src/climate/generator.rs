//! Years of weather that could be: hours drawn so that they keep to a climate.
//! Never: allocates while drawing, reads a clock, or shares a stream between years.
//! Start at [`Generator::new`] and [`Generator::year`].
//!
//! A year is drawn in four steps. Daily clearness: a Gaussian of the first order through the month's distribution
//! (`clearness`). Hours of light: the mean course and noise of TAG (`shape`), held under the clear sky and scaled to the
//! day's sum; diffuse by Erbs. Daily mean temperature: a second Gaussian of the first order, tied to the first; hours
//! by a fixed shape, wider on clear days. Wind: a daily Weibull factor, more by day than by night.

use quantity::math;
use rand_distr::{Distribution, StandardNormal};

use super::clearness::{Days, REACH, Table};
use super::correlation::{self, BLEND};
use super::shape::{self, Hourly};
use super::{Climate, streams};
use crate::site::{DAYS, HOURS, MONTHS, month_of_day};
use crate::sun::{SunYear, clear_sky_at, decompose};
use crate::weather::WeatherYear;

/// Turbidity of the cleanest air that an hour may have; it sets the ceiling of the hour's irradiance.
const CLEANEST_LINKE: f64 = 2.0;
/// Share of the light above the air that an hour keeps under the thickest cloud.
const DARKEST_HOUR: f64 = 0.01;
/// No hour passes more than this share of the light above the air, low sun and high mountains included.
const CLEAREST_HOUR: f64 = 0.90;
/// Weibull shape of daily mean wind about the monthly mean, and its day-to-day correlation: common practice, no source.
const WIND_SHAPE: f64 = 2.3;
const WIND_LAG1: f64 = 0.45;
/// How much more it blows in the warmest hour than in the coldest, of the mean: common practice, no source.
const WIND_BY_DAY: f64 = 0.35;
/// Share of a day's temperature swing that follows its clearness.
const SWING_WITH_CLEARNESS: f64 = 0.6;

/// A climate made ready to draw years from; see [`Generator::year`].
#[derive(Clone, Debug)]
pub struct Generator {
    pub(super) climate: Climate,
    lit: Vec<Lit>,
    /// First lit hour of each day, and one past the last.
    starts: Vec<usize>,
    days: Vec<Day>,
    months: Vec<Month>,
    hourly: Hourly,
    air_shape: [f64; 24],
    wind: Table,
    air_lag1: f64,
}

/// An hour with the sun up.
#[derive(Clone, Copy, Debug)]
struct Lit {
    hour: usize,
    column: usize,
    above_w_m2: f64,
    ceiling_w_m2: f64,
    cosine: f64,
    extra_w_m2: f64,
}

#[derive(Clone, Copy, Debug)]
struct Day {
    month: usize,
    above_w_m2: f64,
    clearest: f64,
    air_c: f64,
}

#[derive(Clone, Debug)]
struct Month {
    clearness: Days,
    /// How much of the clearness Gaussian's news the temperature Gaussian shares.
    shared: f64,
    air_spread_c: f64,
    air_swing_c: f64,
    wind_m_s: f64,
    per_mean: f64,
}

impl Generator {
    /// Makes a climate ready: tables of distributions, hours of light, ceilings.
    ///
    /// - `sun`: of the climate's own site, for the middle of the hours.
    pub fn new(climate: &Climate, sun: &SunYear) -> Self {
        let (mut lit, mut starts) = lit_hours(climate, sun);
        // A sun of fewer hours leaves the rest of the year dark.
        starts.resize(DAYS + 1, lit.len());
        let air_lag1 = correlation::unblended(climate.air_lag1);
        let course = shape::season(&climate.air_mean_c);
        let mut months = Vec::with_capacity(MONTHS);
        let mut lifts = Vec::with_capacity(MONTHS);
        for month in 0..MONTHS {
            let hours = days_of(month).flat_map(|day| {
                starts.get(day).copied().unwrap_or(0)..starts.get(day + 1).copied().unwrap_or(0)
            });
            let (mut above, mut ceiling) = (0.0, 0.0);
            for hour in hours.filter_map(|index| lit.get(index)) {
                above += hour.above_w_m2;
                ceiling += hour.ceiling_w_m2;
            }
            let mean = pick(&climate.clearness, month);
            let spread = pick(&climate.clearness_spread, month);
            let natural = if above > 0.0 { 0.98 * ceiling / above } else { 0.75 };
            // A climate clearer than the clear sky of clean air lifts the ceiling to hold its days.
            let clearest = natural.max(mean + spread).min(0.88);
            lifts.push(clearest / natural);
            months.push(month_of(climate, month, clearest, air_lag1));
        }
        for hour in &mut lit {
            let lift = lifts.get(month_of_day(hour.hour / 24)).copied().unwrap_or(1.0);
            hour.ceiling_w_m2 = (hour.ceiling_w_m2 * lift).min(CLEAREST_HOUR * hour.above_w_m2);
        }
        let days = (0..DAYS)
            .map(|day| {
                let hours = lit.get(starts[day]..starts[day + 1]).unwrap_or(&[]);
                let above: f64 = hours.iter().map(|hour| hour.above_w_m2).sum();
                let ceiling: f64 = hours.iter().map(|hour| hour.ceiling_w_m2).sum();
                Day {
                    month: month_of_day(day),
                    above_w_m2: above,
                    clearest: if above > 0.0 { 0.999 * ceiling / above } else { 0.0 },
                    air_c: course.get(day).copied().unwrap_or(0.0),
                }
            })
            .collect();
        let ahead = climate.site.longitude.get() / 15.0 - climate.site.zone.get();
        Self {
            climate: climate.clone(),
            lit,
            starts,
            days,
            months,
            hourly: Hourly::new(),
            air_shape: shape::air_of_day(ahead),
            wind: wind_table(),
            air_lag1,
        }
    }

    /// Draws year `index` of `seed` into `out`: the same pair gives the same bytes, on whichever thread.
    ///
    /// `out` holds five lists of [`HOURS`], as [`WeatherYear::blank`] makes them; nothing is allocated.
    /// No hour's global irradiance passes that of the clear sky of very clean air (turbidity 2), save where the climate
    /// itself is clearer, nor 0.9 of that above the air.
    pub fn year(&self, seed: u64, index: u64, out: &mut WeatherYear) {
        if [&out.ghi_w_m2, &out.dni_w_m2, &out.dhi_w_m2, &out.air_c, &out.wind_m_s]
            .iter()
            .any(|x| x.len() != HOURS)
        {
            *out = WeatherYear::blank();
        }
        for light in [&mut out.ghi_w_m2, &mut out.dni_w_m2, &mut out.dhi_w_m2] {
            light.fill(0.0);
        }
        let mut random = streams::stream(seed, index);
        let mut normal = || -> f64 { StandardNormal.sample(&mut random) };
        // One day before the year and one after it, for the blend at its ends.
        let mut air = [0.0; DAYS + 2];
        let mut swing = [0.0; DAYS];
        let mut wind = [0.0; DAYS];
        let scale = 1.0 / correlation::blended(self.air_lag1).0.sqrt();
        let news = (1.0 - self.air_lag1 * self.air_lag1).sqrt();
        let wind_news = (1.0 - WIND_LAG1 * WIND_LAG1).sqrt();
        let (mut sky, mut warmth, mut blow) = (normal(), normal(), normal());
        for (slot, warm) in air.iter_mut().enumerate() {
            let Some(day) = self.days.get(slot.saturating_sub(1).min(DAYS - 1)) else { continue };
            let Some(month) = self.months.get(day.month) else { continue };
            let lag = month.clearness.normal_lag1;
            let fresh = normal();
            sky = lag * sky + (1.0 - lag * lag).sqrt() * fresh;
            let own = (1.0 - month.shared * month.shared).sqrt();
            warmth = self.air_lag1 * warmth + news * (month.shared * fresh + own * normal());
            *warm = day.air_c + scale * month.air_spread_c * warmth;
            if slot == 0 || slot > DAYS {
                continue;
            }
            let clearness = month.clearness.clearness.at(sky).min(day.clearest);
            blow = WIND_LAG1 * blow + wind_news * normal();
            let relative = (clearness * month.per_mean).min(2.0);
            swing[slot - 1] =
                month.air_swing_c * (1.0 - SWING_WITH_CLEARNESS + SWING_WITH_CLEARNESS * relative);
            wind[slot - 1] = month.wind_m_s * self.wind.at(blow);
            let hours = &self.lit[self.starts[slot - 1]..self.starts[slot]];
            if day.above_w_m2 > 0.0 {
                self.light(hours, clearness, clearness * day.above_w_m2, &mut normal, out);
            }
        }
        self.air_and_wind(&air, &swing, &wind, out);
    }

    /// Hours of one day's light: TAG's course and noise, held under the ceiling, scaled to the day's sum.
    #[inline]
    fn light(
        &self,
        hours: &[Lit],
        clearness: f64,
        sum: f64,
        normal: &mut impl FnMut() -> f64,
        out: &mut WeatherYear,
    ) {
        let (row, lag) = self.hourly.row(clearness);
        let news = (1.0 - lag * lag).sqrt();
        let mut day = [0.0; 24];
        let mut noise = normal();
        let mut total = 0.0;
        for (ghi, hour) in day.iter_mut().zip(hours) {
            let [mean, spread] = row[hour.column];
            *ghi = ((mean + spread * noise).max(DARKEST_HOUR) * hour.above_w_m2).min(hour.ceiling_w_m2);
            total += *ghi;
            noise = lag * noise + news * normal();
        }
        // Hours at the ceiling leave the rest to the others; a few rounds close the sum to a thousandth.
        for _ in 0..6 {
            let factor = sum / total;
            if (factor - 1.0).abs() < 5e-4 {
                break;
            }
            total = 0.0;
            for (ghi, hour) in day.iter_mut().zip(hours) {
                *ghi = (*ghi * factor).min(hour.ceiling_w_m2);
                total += *ghi;
            }
        }
        for (ghi, hour) in day.iter().zip(hours) {
            let (dni, dhi) = decompose(*ghi, hour.cosine, hour.extra_w_m2);
            out.ghi_w_m2[hour.hour] = *ghi;
            out.dni_w_m2[hour.hour] = dni;
            out.dhi_w_m2[hour.hour] = dhi;
        }
    }

    /// Irradiance above the air, summed over each day's hours [W/m²].
    pub(super) fn above_by_day(&self) -> Vec<f64> {
        self.days.iter().map(|day| day.above_w_m2).collect()
    }

    fn air_and_wind(
        &self,
        air: &[f64; DAYS + 2],
        swing: &[f64; DAYS],
        wind: &[f64; DAYS],
        out: &mut WeatherYear,
    ) {
        let hours = out.air_c.chunks_exact_mut(24).zip(out.wind_m_s.chunks_exact_mut(24));
        for (day, (air_c, wind_m_s)) in hours.enumerate() {
            let (before, now, after) = (air[day], air[day + 1], air[day + 2]);
            for (hour, ((air_c, wind_m_s), shape)) in
                air_c.iter_mut().zip(wind_m_s).zip(self.air_shape).enumerate()
            {
                // From noon to noon the daily means run into each other, so that midnight has no step.
                let t = (hour as f64 + 0.5) / 24.0 - 0.5;
                let base = if t < 0.0 { now + (before - now) * -t } else { now + (after - now) * t };
                *air_c = base + swing[day] * shape;
                *wind_m_s = wind[day] * (1.0 + WIND_BY_DAY * shape);
            }
        }
    }
}

fn pick(monthly: &[f64; MONTHS], month: usize) -> f64 {
    monthly.get(month).copied().unwrap_or(0.0)
}

fn days_of(month: usize) -> impl Iterator<Item = usize> {
    (0..DAYS).filter(move |day| month_of_day(*day) == month)
}

fn month_of(climate: &Climate, month: usize, clearest: f64, air_lag1: f64) -> Month {
    let mean = pick(&climate.clearness, month).clamp(0.05, 0.85);
    let clearness = Days::new(mean, pick(&climate.clearness_spread, month), clearest, climate.clearness_lag1);
    // Two first-order Gaussians whose news correlate as r correlate as r √(1 − φ²) √(1 − ψ²) / (1 − φψ); blending
    // the temperature over neighbouring days and mapping the sky through its distribution take their part as well.
    let (phi, psi) = (air_lag1, clearness.normal_lag1);
    let blend = (BLEND[1] + BLEND[0] * phi + BLEND[2] * psi) / correlation::blended(phi).0.sqrt();
    let wanted = pick(&climate.air_with_clearness, month) / (blend * clearness.with_normal);
    let shared = wanted * (1.0 - phi * psi) / ((1.0 - phi * phi) * (1.0 - psi * psi)).sqrt();
    Month {
        clearness,
        shared: shared.clamp(-0.95, 0.95),
        air_spread_c: pick(&climate.air_spread_c, month),
        air_swing_c: pick(&climate.air_swing_c, month),
        wind_m_s: pick(&climate.wind_m_s, month),
        per_mean: 1.0 / mean,
    }
}

/// The hours with the sun up, each with its ceiling, and the first of each day.
fn lit_hours(climate: &Climate, sun: &SunYear) -> (Vec<Lit>, Vec<usize>) {
    let (mut lit, mut starts) = (Vec::with_capacity(HOURS / 2 + 100), Vec::with_capacity(DAYS + 1));
    let hours = sun.cos_zenith.iter().zip(&sun.extra_w_m2).zip(&sun.airmass_absolute);
    for (hour, ((&cosine, &extra_w_m2), &airmass)) in hours.enumerate().take(HOURS) {
        if hour % 24 == 0 {
            starts.push(lit.len());
        }
        if cosine > 0.0 {
            let above_w_m2 = cosine * extra_w_m2;
            let (clear, ..) =
                clear_sky_at(cosine, airmass, CLEANEST_LINKE, climate.site.altitude, extra_w_m2);
            let ceiling_w_m2 = clear.min(CLEAREST_HOUR * above_w_m2);
            lit.push(Lit {
                hour,
                column: Hourly::column(cosine),
                above_w_m2,
                ceiling_w_m2,
                cosine,
                extra_w_m2,
            });
        }
    }
    (lit, starts)
}

/// Daily wind over its mean as a function of a standard normal: a Weibull distribution.
fn wind_table() -> Table {
    let shares = correlation::normal_shares(super::clearness::POINTS, REACH);
    let step = 2.0 * REACH / (super::clearness::POINTS - 1) as f64;
    let value = |z: f64| {
        let index = (((z + REACH) / step).round().max(0.0) as usize).min(super::clearness::POINTS - 1);
        let share = shares.get(index).copied().unwrap_or(0.5).min(1.0 - 1e-9);
        math::powf(-math::ln(1.0 - share), 1.0 / WIND_SHAPE)
    };
    let (mut weight, mut sum) = (0.0, 0.0);
    for index in 0..super::clearness::POINTS {
        let z = -REACH + index as f64 * step;
        let density = math::exp(-z * z / 2.0);
        weight += density;
        sum += density * value(z);
    }
    let mean = sum / weight;
    Table::new(|z| value(z) / mean)
}
