//! Charge over the year, and the worst week hour by hour.
//! Never: joins a line across a missing value.
//! Start at [`charge_over_the_year`].

use energy::outcome::Trace;
use energy::{Year, Years};

use super::pen::{ACCENT, At, Fill, INK, LEFT, Panel, Pen, RIGHT, nice_ticks, number};
use super::{DAYS, MONTH, date};

const PERCENT: [f64; 6] = [0.0, 20.0, 40.0, 60.0, 80.0, 100.0];

/// A line through values, broken where one is missing.
fn trail(values: impl Iterator<Item = f64>, x: impl Fn(usize) -> f64, panel: Panel) -> String {
    let mut d = String::new();
    let mut is_down = false;
    for (at, value) in values.enumerate() {
        if value.is_finite() {
            d.push_str(&format!(
                "{}{} {}",
                if is_down { "L" } else { "M" },
                number(x(at)),
                number(panel.y(value))
            ));
        }
        is_down = value.is_finite();
    }
    d
}

/// State of charge over 365 days: the band of many years with its median, and the lowest of each day of the typical
/// year. `floor` is the lowest share that may be used, where there is one.
pub fn charge_over_the_year(years: Option<&Years>, year: &Year, floor: Option<f64>) -> String {
    let about = format!(
        "Lowest state of charge of each day. Lowest of the typical year: {:.0} % on {}.{}",
        year.lowest.0 * 100.0,
        date(year.lowest.1 / 24),
        years.map_or_else(String::new, |many| format!(" The band is {} years.", many.count))
    );
    let mut pen = Pen::new("charge", "Lowest charge of each day, over the year", &about, 250.0);
    let x = |day: usize| LEFT + (RIGHT - LEFT) * day as f64 / 364.0;
    let mut top = 30.0;
    if years.is_some_and(|many| !many.band.is_empty()) {
        top = pen.legend(&[("9 of 10 years", Fill::Light), ("half of the years", Fill::Lines)], top);
    }
    let (a, b) = (8.0, top - 3.0);
    pen.line([a, b, a + 16.0, b], &format!("stroke=\"{ACCENT}\" stroke-width=\"1.6\""));
    pen.text(a + 20.0, top, At::Start, "typical year");
    if years.is_some() {
        pen.line(
            [120.0, b, 136.0, b],
            &format!("stroke=\"{INK}\" stroke-width=\"1.2\" stroke-dasharray=\"4 2\""),
        );
        pen.text(140.0, top, At::Start, "median year");
    }
    let panel = Panel::new(&mut pen, [top + 22.0, 230.0], &PERCENT, "% charge");
    if let Some(many) = years {
        for (low, high, look) in [(0, 4, "fill=\"#e7dcc4\""), (1, 3, "fill=\"url(#charge-lines)\"")] {
            let days: Vec<(usize, &[f64; 5])> = many
                .band
                .iter()
                .take(365)
                .enumerate()
                .filter(|(_, day)| day.iter().all(|share| share.is_finite()))
                .collect();
            let upper = days.iter().map(|(at, day)| (*at, day[high]));
            let lower = days.iter().rev().map(|(at, day)| (*at, day[low]));
            let mut d = String::new();
            for (at, share) in upper.chain(lower) {
                let step = if d.is_empty() { "M" } else { "L" };
                d.push_str(&format!("{step}{} {}", number(x(at)), number(panel.y(share * 100.0))));
            }
            if !d.is_empty() {
                pen.path(&(d + "Z"), look, "band");
            }
        }
        let d = trail(many.band.iter().take(365).map(|day| day[2] * 100.0), x, panel);
        pen.path(
            &d,
            &format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.2\" stroke-dasharray=\"4 2\""),
            "median",
        );
    }
    let d = trail(year.days.iter().take(365).map(|day| day.0 * 100.0), x, panel);
    pen.path(&d, &format!("fill=\"none\" stroke=\"{ACCENT}\" stroke-width=\"1.2\""), "typical");
    if let Some(floor) = floor.filter(|share| share.is_finite()) {
        let y = panel.y(floor * 100.0);
        pen.line(
            [LEFT, y, RIGHT, y],
            &format!("stroke=\"{INK}\" stroke-width=\"1.2\" stroke-dasharray=\"1 2\""),
        );
        pen.text(RIGHT - 2.0, y + 10.0, At::End, "lowest that may be used");
    }
    let mut day = 0;
    for (name, days) in MONTH.iter().zip(DAYS) {
        pen.text(x(day + days / 2), 242.0, At::Middle, name);
        day += days;
    }
    pen.finish()
}

/// The worst week hour by hour: what came in above, what was needed below, the state of charge under them.
pub fn worst_week(trace: &Trace) -> String {
    let hours = trace.soc.len();
    let first = trace.first_hour / 24;
    let about = format!("Hour by hour from {}, {hours} hours.", date(first));
    let mut pen = Pen::new("week", &format!("The hardest week, from {}", date(first)), &about, 330.0);
    let keys = [
        ("Sun", Fill::Light),
        ("Engine", Fill::Rising),
        ("Shore, generator", Fill::Dots),
        ("Need", Fill::Dark),
        ("Short", Fill::Accent),
    ];
    let top = pen.legend(&keys, 30.0);
    let get =
        |list: &[f64], at: usize| list.get(at).copied().filter(|w| w.is_finite()).map_or(0.0, |w| w.max(0.0));
    let up = |at: usize| get(&trace.sun_w, at) + get(&trace.engine_w, at) + get(&trace.supply_w, at);
    let down = |at: usize| get(&trace.need_w, at) + get(&trace.short_w, at);
    let (most, least) = ((0..hours).map(up).fold(0.0, f64::max), (0..hours).map(down).fold(0.0, f64::max));
    let panel =
        Panel::new(&mut pen, [top + 14.0, 210.0], &nice_ticks(-least, most, 5), "W, in above and out below");
    let slot = (RIGHT - LEFT) / hours.max(1) as f64;
    let x = |at: usize| LEFT + at as f64 * slot;
    let parts = [
        (&trace.sun_w, keys[0], 1.0),
        (&trace.engine_w, keys[1], 1.0),
        (&trace.supply_w, keys[2], 1.0),
        (&trace.need_w, keys[3], -1.0),
        (&trace.short_w, keys[4], -1.0),
    ];
    for at in 0..hours {
        let mut from = [0.0, 0.0];
        for (list, (name, fill), sign) in parts {
            let value = get(list, at) * sign;
            let base = &mut from[usize::from(sign < 0.0)];
            if value != 0.0 {
                let (a, b) = (panel.y(*base), panel.y(*base + value));
                pen.rect([x(at), a.min(b), slot, (a - b).abs()], fill, name);
                *base += value;
            }
        }
    }
    let zero = panel.y(0.0);
    pen.line([LEFT, zero, RIGHT, zero], &format!("stroke=\"{INK}\" stroke-width=\".8\""));
    let charge = Panel::new(&mut pen, [240.0, 310.0], &[0.0, 50.0, 100.0], "% charge");
    let d = trail(trace.soc.iter().map(|share| share * 100.0), |at| x(at + 1), charge);
    pen.path(&d, &format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.3\""), "charge");
    for at in (0..hours).filter(|at| (trace.first_hour + at).is_multiple_of(24)) {
        for (a, b) in [(panel.top, panel.bottom), (charge.top, charge.bottom)] {
            pen.line([x(at), a, x(at), b], "stroke=\"#cfc5b0\" stroke-width=\".6\"");
        }
        pen.text(x(at) + 12.0 * slot, 322.0, At::Middle, &date((trace.first_hour + at) / 24));
    }
    pen.finish()
}
