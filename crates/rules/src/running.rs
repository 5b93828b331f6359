//! What the rules on energy share: months and amounts in words, who must not go without, what could bring more.
//! Never: judges.
//! Start at [`is_short`] and [`Short`].

use energy::Study;
use energy::outcome::Month;
use energy::site::{DAYS_OF_MONTH, MONTH_NAMES};
use model::{Edit, Importance, Season, Spec};
use quantity::{HoursPerDay, WattHours, Written};

use crate::{Case, Finding};

/// Less than this in a year is rounding, not a shortage [Wh].
const SHORT_WH: f64 = 0.5;

/// Whether something goes short in the typical year.
pub(crate) fn is_short(study: &Study) -> bool {
    study.year.total.short_wh > SHORT_WH
}

/// Whether energy is a worry: it goes short in the typical year, or more often than the brief puts up with.
pub(crate) fn is_scarce(case: &Case<'_>, study: &Study) -> bool {
    is_short(study) || study.years.running_out.share > case.system.usage.running_out
}

/// A month's short name.
pub(crate) fn month_name(month: usize) -> &'static str {
    MONTH_NAMES.get(month).copied().unwrap_or("?")
}

/// Watt-hours as a quantity.
pub(crate) fn wh(watt_hours: f64) -> WattHours {
    WattHours::new(watt_hours)
}

/// Titles of the loads that are vital.
pub(crate) fn vital(case: &Case<'_>) -> Vec<String> {
    let vital = |spec: &Spec| match spec {
        Spec::Load(load) if load.habit.importance == Importance::Vital => Some(load.title.clone()),
        _ => None,
    };
    case.system.devices.iter().filter_map(|device| vital(&device.spec)).collect()
}

/// A month in which energy is short, or shortest.
pub(crate) struct Short {
    /// From 0.
    pub(crate) month: usize,
    /// Its sums in the typical year.
    pub(crate) sums: Month,
    /// What is missing on a mean day of use in it, with a fifth to spare [Wh].
    pub(crate) missing_a_day_wh: f64,
}

impl Short {
    /// The month of the typical year with most energy short; where none is, the one whose bank stands lowest.
    pub(crate) fn of(study: &Study) -> Self {
        let months = &study.year.months;
        let key = |month: &Month| (month.books.short_wh, -month.lowest);
        let mut worst = 0;
        for (at, month) in months.iter().enumerate().filter(|(_, month)| month.used_days > 0) {
            let best = key(&months[worst]);
            let is_worse = key(month).0 > best.0 || (key(month).0 == best.0 && key(month).1 > best.1);
            if is_worse || months[worst].used_days == 0 {
                worst = at;
            }
        }
        let sums = months[worst];
        // Where a mean year just lasts, the worse years ask for about a tenth more. Common practice, no source.
        let missing =
            if sums.books.short_wh > SHORT_WH { sums.books.short_wh * 1.2 } else { sums.books.asked() * 0.1 };
        Self { month: worst, sums, missing_a_day_wh: missing / f64::from(sums.used_days.max(1)) }
    }

    /// Adds where the energy of the month came from.
    pub(crate) fn explain(&self, found: &mut Finding) {
        let books = &self.sums.books;
        let name = month_name(self.month);
        found.because(format!(
            "{name}: asked {}, served {}, lost on the way and idle {}",
            wh(books.asked()),
            wh(books.served()),
            wh(books.lost())
        ));
        let came = [
            ("sun", books.sun_wh),
            ("engine", books.engine_wh),
            ("shore", books.shore_wh),
            ("generator", books.generator_wh),
        ];
        let came: Vec<String> = came
            .into_iter()
            .filter(|(_, energy)| *energy > SHORT_WH)
            .map(|(from, energy)| format!("{from} {}", wh(energy)))
            .collect();
        found.because(if came.is_empty() {
            format!("{name}: nothing came in")
        } else {
            format!("{name}: {} came in", came.join(", "))
        });
    }

    /// Adds what could bring it, the smallest change first.
    pub(crate) fn mends(&self, case: &Case<'_>, study: &Study, found: &mut Finding) {
        let system = case.system;
        let usage = &system.usage;
        let missing = self.missing_a_day_wh;
        if let Some(watts) = shore_watts(case) {
            for factor in [1.0, 1.6] {
                let hours = round_up(usage.supply.shore.get() + factor * missing / watts, 0.25);
                if hours <= 24.0 {
                    let hours = HoursPerDay::new(hours).show();
                    found.fix(format!("plug in for {hours}"), vec![Edit::set("shore.hours", hours)]);
                }
            }
        }
        if let (Some(watts), Some(engine)) = (engine_watts(case), &usage.engine) {
            for factor in [1.0, 1.6] {
                let hours = round_up(engine.driving.get() + factor * missing / watts, 0.1);
                if hours <= 6.0 {
                    let hours = HoursPerDay::new(hours).show();
                    found.fix(format!("drive {hours}"), vec![Edit::set("engine.driving", hours)]);
                }
            }
        }
        if let Some(watts) = generator_watts(case) {
            for factor in [1.0, 2.0] {
                let hours = round_up(usage.supply.generator.get() + factor * missing / watts, 0.25);
                if hours <= 12.0 {
                    let hours = HoursPerDay::new(hours).show();
                    found.fix(
                        format!("let the generator run up to {hours}"),
                        vec![Edit::set("generator.hours", hours)],
                    );
                }
            }
        }
        let sun_a_day = (self.sums.books.sun_wh + self.sums.books.curtailed_wh)
            / DAYS_OF_MONTH.get(self.month).copied().unwrap_or(30) as f64;
        if let Some((name, count)) = largest_array(case)
            && sun_a_day > 0.0
        {
            for factor in [1.0, 1.6] {
                let wanted = (f64::from(count) * (1.0 + factor * missing / sun_a_day)).ceil();
                if wanted <= f64::from(count) * 3.0 {
                    found.fix(
                        format!("have {wanted} modules in {name}"),
                        vec![Edit::set(&format!("solar.{name}.count"), wanted.to_string())],
                    );
                }
            }
        }
        if let Some(bank) = &system.bank {
            for factor in [1.5, 2.0] {
                let capacity = bank.capacity * factor;
                found.fix(
                    format!("have {capacity} of the same kind"),
                    vec![Edit::set("bank.capacity", capacity.show())],
                );
            }
        }
        let is_short = |is_warm: bool| {
            let warm = |month: usize| (3..9).contains(&month) != (usage.place.latitude.get() < 0.0);
            study
                .year
                .months
                .iter()
                .enumerate()
                .any(|(at, month)| warm(at) == is_warm && month.books.short_wh > SHORT_WH)
        };
        if usage.used.is_empty() && usage.season == Season::AllYear && !is_short(true) {
            found.fix("use it in the warm half of the year only", vec![Edit::set("brief.season", "summer")]);
        }
        found.mend(format!(
            "bring {} more on a day of {}, or use so much less",
            wh(missing),
            month_name(self.month)
        ));
    }
}

/// Power that the engine puts on the busbars while it runs [W]; `None` where it brings none.
pub(crate) fn engine_watts(case: &Case<'_>) -> Option<f64> {
    case.system.usage.engine.as_ref()?;
    case.system.devices.iter().find_map(|device| match &device.spec {
        Spec::DcDc(_, setting) => Some(setting.current.get() * case.system.voltage.get()),
        _ => None,
    })
}

/// Power of the chargers on alternating current [W], their efficiency, and their names.
pub(crate) fn chargers(case: &Case<'_>) -> (f64, f64, Vec<String>) {
    let (mut watts, mut input, mut names) = (0.0, 0.0, Vec::new());
    for device in &case.system.devices {
        let (setting, efficiency) = match &device.spec {
            Spec::Charger(part, setting) => (setting, part.efficiency),
            Spec::Inverter(part, Some(setting)) => (setting, part.efficiency_full),
            _ => continue,
        };
        let out = setting.current.get() * setting.absorption.get();
        watts += out;
        input += out / efficiency.get().clamp(0.05, 1.0);
        names.push(device.id.clone());
    }
    (watts, input, names)
}

/// Power that shore brings through the charger [W].
fn shore_watts(case: &Case<'_>) -> Option<f64> {
    let has = case.system.devices.iter().any(|device| matches!(device.spec, Spec::Inlet(_)));
    let (watts, _, _) = chargers(case);
    (has && watts > 0.0).then_some(watts)
}

/// Power that the generator brings through the charger [W].
fn generator_watts(case: &Case<'_>) -> Option<f64> {
    let power = case.system.devices.iter().find_map(|device| match &device.spec {
        Spec::Generator(part) => Some(part.power.get()),
        _ => None,
    })?;
    let (watts, _, _) = chargers(case);
    (watts > 0.0).then_some(watts.min(power))
}

/// The array with most modules, and how many it has.
pub(crate) fn largest_array(case: &Case<'_>) -> Option<(String, u32)> {
    let mut arrays: std::collections::BTreeMap<&str, u32> = std::collections::BTreeMap::new();
    for device in &case.system.devices {
        if let Spec::Array(array) = &device.spec {
            *arrays.entry(&array.name).or_default() += array.series * array.parallel;
        }
    }
    let most = arrays.values().copied().max()?;
    arrays.into_iter().find(|(_, count)| *count == most).map(|(name, count)| (name.to_owned(), count))
}

fn round_up(value: f64, step: f64) -> f64 {
    ((value / step).ceil() * step * 100.0).round() / 100.0
}
