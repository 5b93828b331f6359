//! Energy for the charts of the page.
//! Never: runs an hour; [`energy`] has the year and the drawn years of the study.
//! Start at [`energy`].

use ::energy::outcome::{Books, Trace, Year, Years};
use ::energy::{Chance, Study};

use super::{MONTHS, date, rounded};
use crate::{Stand, wire};

/// Steps of a state of charge: a thousandth.
const CHARGE: i32 = 3;

/// The year; `None` without a bank.
pub fn energy(stand: &Stand) -> Option<wire::Energy> {
    let study = stand.study.as_deref()?;
    let year = &study.year;
    let each = |of: fn(&(f64, f64)) -> f64| year.days.iter().map(|day| rounded(of(day), CHARGE)).collect();
    Some(wire::Energy {
        weather: year.weather.clone(),
        words: words(stand, study),
        months: months(year, &study.years),
        day_low: each(|day| day.0),
        day_high: each(|day| day.1),
        floor: study.floor,
        years: years(&study.years, stand.system.usage.running_out),
        worst_week: week(&year.worst_week),
        books: books(&year.total),
        notes: year.notes.iter().map(|note| note.message.clone()).collect(),
    })
}

/// The year in a few sentences, the gravest first.
fn words(stand: &Stand, study: &Study) -> Vec<String> {
    let (year, years) = (&study.year, &study.years);
    let mut words = Vec::new();
    let short: u32 = year.months.iter().map(|month| month.short_hours).sum();
    if short > 0 {
        let (worst, month) = worst_month(year);
        words.push(format!(
            "In a typical year something goes short for {short} hours, {} of them in {worst}.",
            month.short_hours
        ));
    }
    words.extend(chance_words(years, stand.system.usage.running_out));
    let (lowest, hour) = year.lowest;
    words.push(format!(
        "The bank stands lowest on {}, at {:.0} %; most loads stop at {:.0} %.",
        date(hour / 24),
        100.0 * lowest,
        100.0 * study.floor
    ));
    match study.autonomy {
        Some(hours) => words.push(format!(
            "A full bank lasts {hours} without any charging in {}; {} is wanted.",
            MONTHS.get(study.autonomy_month).copied().unwrap_or_default(),
            stand.system.energy.autonomy_wanted
        )),
        None => words.push("A full bank lasts more than 60 days without any charging.".to_owned()),
    }
    let unused = year.total.curtailed_wh / (year.total.curtailed_wh + year.total.sun_wh).max(1.0);
    if unused > 0.2 {
        words.push(format!(
            "{:.0} % of the sun comes when the bank is full and nobody can take it.",
            100.0 * unused
        ));
    }
    let life = &year.bank_life;
    if life.years.is_finite() {
        words.push(format!(
            "The bank wears to four fifths in about {:.0} years, somewhere from {:.0} to {:.0}.",
            life.years, life.low, life.high
        ));
    }
    words
}

fn worst_month(year: &Year) -> (&'static str, &::energy::outcome::Month) {
    let mut worst = (MONTHS[0], &year.months[0]);
    for (name, month) in MONTHS.into_iter().zip(&year.months) {
        if month.short_hours > worst.1.short_hours {
            worst = (name, month);
        }
    }
    worst
}

/// What drawn years say about running out.
fn chance_words(years: &Years, wish: quantity::Fraction) -> Vec<String> {
    let chance = &years.running_out;
    let mut words = vec![format!(
        "{} of {} drawn years run out at least once: {}, 95 % sure between {} and {}; {wish} is put up with.",
        chance.happened, chance.of, chance.share, chance.low, chance.high
    )];
    if chance.happened > 0 {
        words.push(format!(
            "A year that runs out goes short for {:.0} hours, {:.0} in the worst; the longest stretch is {}.",
            years.short_hours.0, years.short_hours.1, years.longest_short
        ));
    }
    words
}

/// Drawn years as the page has them.
pub fn years(years: &Years, wish: quantity::Fraction) -> wire::YearsOutcome {
    let band = |at: usize| years.band.iter().map(|day| rounded(day[at], CHARGE)).collect();
    wire::YearsOutcome {
        count: years.count,
        runs_out: chance(&years.running_out),
        words: chance_words(years, wish),
        months: years.months.iter().map(|month| chance(&month.running_out)).collect(),
        band_5: band(0),
        band_25: band(1),
        band_50: band(2),
        band_75: band(3),
        band_95: band(4),
        longest_short_h: years.longest_short.get(),
    }
}

/// A chance with the ends of its interval.
pub fn chance(chance: &Chance) -> (f64, f64, f64) {
    let number = |share: quantity::Fraction| rounded(share.get(), 5);
    (number(chance.share), number(chance.low), number(chance.high))
}

fn kwh(wh: f64) -> f64 {
    rounded(wh / 1000.0, 3)
}

fn months(year: &Year, years: &Years) -> Vec<wire::EnergyMonth> {
    MONTHS
        .into_iter()
        .zip(year.months.iter().zip(&years.months))
        .map(|(name, (month, drawn))| {
            let books = &month.books;
            wire::EnergyMonth {
                month: name.to_owned(),
                sun_kwh: kwh(books.sun_wh),
                engine_kwh: kwh(books.engine_wh),
                shore_kwh: kwh(books.shore_wh),
                generator_kwh: kwh(books.generator_wh),
                loads_kwh: kwh(books.served()),
                lost_kwh: kwh(books.lost()),
                unused_sun_kwh: kwh(books.curtailed_wh),
                short_kwh: kwh(books.short_wh),
                lowest: rounded(month.lowest, CHARGE),
                used_days: month.used_days,
                runs_out: rounded(drawn.running_out.share.get(), 5),
            }
        })
        .collect()
}

fn books(books: &Books) -> Vec<wire::BookLine> {
    let came = [
        ("Sun", books.sun_wh),
        ("Engine", books.engine_wh),
        ("Shore power", books.shore_wh),
        ("Generator", books.generator_wh),
        ("Taken out of the bank", (-books.stored_wh).max(0.0)),
    ];
    let went = [
        ("Direct-current loads", books.loads_dc_wh),
        ("Alternating-current loads", books.loads_ac_wh),
        ("Lost in solar controllers", books.controller_loss_wh),
        ("Lost in charging from the engine", books.engine_loss_wh),
        ("Lost in chargers", books.charger_loss_wh),
        ("Lost in the inverter", books.inverter_loss_wh),
        ("Idle draw", books.idle_wh),
        ("Lost in the bank", books.bank_loss_wh),
        ("Heater of the bank", books.heater_wh),
        ("Left in the bank", books.stored_wh.max(0.0)),
    ];
    let line = |came_in: bool, (what, wh): (&str, f64)| wire::BookLine {
        what: what.to_owned(),
        kwh: kwh(wh),
        came_in,
    };
    let came = came.into_iter().map(|entry| line(true, entry));
    let went = went.into_iter().map(|entry| line(false, entry));
    came.chain(went).filter(|line| line.kwh > 0.0).collect()
}

fn week(trace: &Trace) -> wire::Week {
    let watts = |list: &[f64]| list.iter().map(|watts| rounded(*watts, 1)).collect();
    wire::Week {
        from: date(trace.first_hour / 24),
        first_hour: trace.first_hour,
        charge: trace.soc.iter().map(|soc| rounded(*soc, CHARGE)).collect(),
        sun_w: watts(&trace.sun_w),
        unused_sun_w: watts(&trace.curtailed_w),
        engine_w: watts(&trace.engine_w),
        supply_w: watts(&trace.supply_w),
        need_w: watts(&trace.need_w),
        short_w: watts(&trace.short_w),
    }
}
