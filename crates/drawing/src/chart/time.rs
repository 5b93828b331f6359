//! Charge over the year: the typical one, and the band of many.
//! Never: joins a line or a band across a missing value.
//! Start at [`charge_over_the_year`].

use energy::site::{DAYS_OF_MONTH, MONTH_NAMES};
use energy::{Year, Years};

use super::panel::Panel;
use super::pen::{ACCENT, At, Fill, INK, LEFT, PAPER, Pen, SMALL, number};
use super::{charged, date};
use crate::text::width;

/// Right end of the plot: what its lines are called stands beside them.
const END: f64 = 300.0;
const DAYS: usize = 365;
const PERCENT: [f64; 6] = [0.0, 20.0, 40.0, 60.0, 80.0, 100.0];

fn x(day: usize) -> f64 {
    LEFT + (END - LEFT) * (day as f64 + 0.5) / DAYS as f64
}

/// The area between two lists \[%\], one piece for each stretch in which both are known. A day alone is as wide as a day.
fn band(panel: Panel, days: &[Option<[f64; 2]>]) -> String {
    let mut d = String::new();
    let mut at = 0;
    while at < days.len() {
        let run: Vec<[f64; 2]> = days.iter().skip(at).map_while(|day| *day).collect();
        if let ([first, ..], [.., last]) = (run.as_slice(), run.as_slice()) {
            let (left, right) = (x(at) - 0.35, x(at + run.len() - 1) + 0.35);
            let point =
                |step: &str, x: f64, share: f64| format!("{step}{} {}", number(x), number(panel.y(share)));
            d.push_str(&point("M", left, first[1]));
            run.iter().enumerate().for_each(|(i, day)| d.push_str(&point("L", x(at + i), day[1])));
            d.push_str(&point("L", right, last[1]));
            d.push_str(&point("L", right, last[0]));
            run.iter().enumerate().rev().for_each(|(i, day)| d.push_str(&point("L", x(at + i), day[0])));
            d.push_str(&point("L", left, first[0]));
            d.push('Z');
        }
        at += run.len() + 1;
    }
    d
}

/// Names beside the right end, each as near to its height as the others allow, with a thread to its line.
fn names(pen: &mut Pen, panel: Panel, mut list: Vec<(f64, &str, Sample)>) {
    list.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut places: Vec<f64> = Vec::new();
    for (y, ..) in &list {
        let above = places.last().map_or(panel.top, |last| last + 12.0);
        places.push(y.max(above));
    }
    let mut floor = panel.bottom - 2.0;
    for place in places.iter_mut().rev() {
        *place = place.min(floor);
        floor = *place - 12.0;
    }
    for ((y, name, sample), place) in list.into_iter().zip(places) {
        pen.line([END + 1.0, y, END + 7.0, place], &format!("stroke=\"{INK}\" stroke-width=\".4\""));
        match sample {
            Sample::Line(look) => pen.line([END + 8.0, place, END + 19.0, place], look),
            Sample::Area(fill) => pen.rect([END + 8.0, place - 4.0, 11.0, 8.0], fill, "key"),
        }
        pen.set([END + 21.5, place + 3.1], At::Start, name, SMALL, "");
    }
}

enum Sample {
    Line(&'static str),
    Area(Fill),
}

const TYPICAL: &str = "fill=\"none\" stroke=\"#a63c17\" stroke-width=\"1.4\" stroke-dasharray=\"3.5 1.2\"";
const MEDIAN: &str = "fill=\"none\" stroke=\"#221f1b\" stroke-width=\".9\"";

/// Says that a line crosses these places, so that words go elsewhere.
fn crossed(pen: &mut Pen, panel: Panel, days: &[f64]) {
    for (at, pair) in days.windows(2).enumerate() {
        if let [a, b] = pair
            && a.is_finite()
            && b.is_finite()
        {
            pen.crosses([x(at), panel.y(*a), x(at + 1), panel.y(*b)]);
        }
    }
}

/// State of charge over 365 days: the band of many years with its median, and the lowest of each day of the typical
/// year. `floor` is the share that all but vital loads leave in the bank, where there is one.
pub fn charge_over_the_year(years: Option<&Years>, year: &Year, floor: Option<f64>) -> String {
    let title = "Lowest charge of each day, over the year";
    let share = |value: f64| if value.is_finite() { value * 100.0 } else { f64::NAN };
    let days: Vec<[f64; 2]> = year.days.iter().take(DAYS).map(|day| [day.0, day.1].map(share)).collect();
    let lowest: Vec<f64> = days.iter().map(|day| day[0]).collect();
    let many = years.filter(|many| many.band.iter().any(|day| day.iter().all(|share| share.is_finite())));
    let has_typical = lowest.iter().any(|share| share.is_finite());
    if many.is_none() && !has_typical {
        let pen = Pen::new("charge", title, "The charge of no day is known.");
        return pen.nothing("The charge of the bank is known for no day, so there is no line to show.");
    }
    let typical = if has_typical {
        format!("Typical year: lowest {} on {}.", charged(year.lowest.0), date(year.lowest.1 / 24))
    } else {
        "No typical year.".to_owned()
    };
    let about = match many {
        Some(many) => format!("{typical} Bands: where half, and 9 in 10, of {} years lie.", many.count),
        None => format!("{typical} Shaded: from the lowest to the highest charge of each day."),
    };
    let mut pen = Pen::new("charge", title, &about);
    let top = pen.note(31.0, &about) + 16.0;
    let panel = Panel::within(&mut pen, [LEFT, top, END, top + 180.0], &PERCENT, "% charge");
    let mut list: Vec<(f64, &str, Sample)> = Vec::new();
    let mut over = String::new();
    if let Some(many) = many {
        let band_of = |low: usize, high: usize| -> Vec<Option<[f64; 2]>> {
            let pair = |day: &[f64; 5]| {
                let pair = [day.get(low), day.get(high)].map(|part| share(part.copied().unwrap_or(f64::NAN)));
                pair.iter().all(|part| part.is_finite()).then_some(pair)
            };
            many.band.iter().take(DAYS).map(pair).collect()
        };
        for (low, high, fill, name) in [(0, 4, Fill::Light, "9 in 10"), (1, 3, Fill::Middle, "half")] {
            let days = band_of(low, high);
            let look = format!("fill=\"{}\"", pen.fill(fill));
            pen.path(&band(panel, &days), &look, "band");
            if let Some(last) = days.iter().rev().flatten().next() {
                list.push((panel.y(if low == 0 { last[0] } else { last[1] }), name, Sample::Area(fill)));
            }
            let edge =
                |at: usize| -> Vec<f64> { days.iter().map(|day| day.map_or(f64::NAN, |d| d[at])).collect() };
            crossed(&mut pen, panel, &edge(0));
        }
        let median: Vec<f64> = many.band.iter().take(DAYS).map(|day| share(day[2])).collect();
        over = panel.trail(median.iter().copied(), x);
        crossed(&mut pen, panel, &median);
        if let Some(last) = median.iter().rev().find(|share| share.is_finite()) {
            list.push((panel.y(*last), "median", Sample::Line(MEDIAN)));
        }
    } else {
        let known: Vec<Option<[f64; 2]>> =
            days.iter().map(|day| day.iter().all(|share| share.is_finite()).then_some(*day)).collect();
        let look = format!("fill=\"{}\"", pen.fill(Fill::Light));
        pen.path(&band(panel, &known), &look, "range");
    }
    pen.path(&panel.trail(lowest.iter().copied(), x), TYPICAL, "typical");
    // The median lies on top with paper around it, so that no other line hides it.
    pen.path(&over, &MEDIAN.replace(INK, PAPER).replace("\".9\"", "\"2.4\""), "halo");
    pen.path(&over, MEDIAN, "median");
    crossed(&mut pen, panel, &lowest);
    if let Some(last) = lowest.iter().rev().find(|share| share.is_finite()) {
        list.push((panel.y(*last), "typical", Sample::Line(TYPICAL)));
    }
    if let Some(floor) = floor.filter(|share| share.is_finite()) {
        floor_line(&mut pen, panel, floor);
        floor_words(&mut pen, panel, floor);
    }
    names(&mut pen, panel, list);
    let mut day = 0;
    for (name, days) in MONTH_NAMES.iter().zip(DAYS_OF_MONTH) {
        pen.set([x(day + days / 2), panel.bottom + 13.0], At::Middle, name, SMALL, "");
        day += days;
        if day < DAYS {
            let at = x(day) - 0.35;
            pen.line(
                [at, panel.bottom, at, panel.bottom + 3.0],
                &format!("stroke=\"{INK}\" stroke-width=\".6\""),
            );
        }
    }
    pen.finish()
}

/// The floor of the bank.
pub fn floor_line(pen: &mut Pen, panel: Panel, floor: f64) {
    let y = panel.y(floor * 100.0);
    let look = format!("fill=\"none\" stroke=\"{ACCENT}\" stroke-width=\"1.3\" stroke-dasharray=\"1.2 1.8\"");
    pen.path(&format!("M{} {}H{}", number(panel.left), number(y), number(panel.right)), &look, "floor");
}

/// What the floor is, in words where nothing crosses them.
fn floor_words(pen: &mut Pen, panel: Panel, floor: f64) {
    let y = panel.y(floor * 100.0);
    let text = format!("floor {}: below it, vital loads only", charged(floor));
    let free = ((panel.right - panel.left - width(&text, SMALL, false)) / 8.0).max(1.0) as usize;
    let mut places = Vec::new();
    for y in [y + 9.5, y - 3.0, y + 20.0, y - 14.0] {
        places.extend((0..free).rev().map(|at| (panel.left + 2.0 + 8.0 * at as f64, y, At::Start)));
    }
    places.retain(|place| place.1 < panel.bottom - 1.0 && place.1 > panel.top + 6.0);
    pen.beside(&places, &text, SMALL);
}
