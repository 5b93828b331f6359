//! Stacked bars: what came in beside what went out, by month or by day of a trip.
//! Never: draws a bar for a value that is missing or below zero.
//! Start at [`months`].

use energy::site::MONTH_NAMES;
use energy::{Books, Year};
use quantity::WattHours;

use super::panel::{Panel, nice_ticks};
use super::pen::{At, Fill, INK, LEFT, Pen, RIGHT, SMALL, number};
use super::{energy, every, real};
use crate::text::width;

/// A series of a stack, its look and its value \[Wh\].
type Part = (&'static str, Fill, f64);

/// Two bars side by side, with what stands below them.
struct Group {
    name: String,
    total: String,
    came: Vec<Part>,
    went: Vec<Part>,
}

/// One day of a trip.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TripDay {
    /// What stands below it, such as `12 Jan`.
    pub date: String,
    /// State of charge at the start, at its lowest and at the end, as shares.
    pub soc: [f64; 3],
    /// From sun, engine, shore and generator \[Wh\].
    pub came_in_wh: [f64; 4],
    /// Taken by loads and losses \[Wh\].
    pub taken_wh: f64,
    /// Asked and not served \[Wh\].
    pub short_wh: f64,
}

fn sources([sun, engine, shore, generator]: [f64; 4]) -> Vec<Part> {
    vec![
        ("Sun", Fill::Sun, sun),
        ("Engine", Fill::Rising, engine),
        ("Shore", Fill::Dots, shore),
        ("Generator", Fill::Cross, generator),
    ]
}

fn short(wh: f64) -> Part {
    ("Short", Fill::Stripes, wh)
}

fn sum(stack: &[Part]) -> f64 {
    stack.iter().map(|part| real(part.2)).sum()
}

/// Groups of two bars from `top` down; room for the triangles is above them.
fn stacks(pen: &mut Pen, top: f64, high: f64, groups: &[Group], per: &str) {
    let most = groups.iter().flat_map(|group| [sum(&group.came), sum(&group.went)]).fold(0.0, f64::max);
    let (scale, unit) = match most {
        most if most >= 2e6 => (1e6, "MWh"),
        most if most >= 2e3 => (1e3, "kWh"),
        _ => (1.0, "Wh"),
    };
    let ticks = nice_ticks(0.0, most / scale, 5);
    let panel = Panel::new(pen, [top + 22.0, top + 22.0 + high], &ticks, &format!("{unit} {per}"));
    let slot = (RIGHT - LEFT) / groups.len().max(1) as f64;
    let bar = (slot * 0.42).min(22.0);
    for (index, group) in groups.iter().enumerate() {
        let middle = LEFT + (index as f64 + 0.5) * slot;
        for (stack, x) in [(&group.came, middle - bar), (&group.went, middle)] {
            let mut below = 0.0;
            for (series, fill, value) in stack {
                let value = real(*value) / scale;
                if value > 0.0 {
                    let top = panel.y(below + value);
                    pen.rect([x, top, bar, panel.y(below) - top], *fill, series);
                    below += value;
                }
            }
            let mut tip = panel.y(below) - 1.5;
            let half = (bar * 0.3).clamp(0.8, 3.2);
            for (fill, is_filled) in [(Fill::Sparse, false), (Fill::Stripes, true)] {
                if stack.iter().any(|part| part.1 == fill && real(part.2) > 0.0) {
                    pen.flag(
                        x + bar / 2.0,
                        tip,
                        half,
                        is_filled,
                        if is_filled { "short" } else { "given up" },
                    );
                    tip -= 1.7 * half + 1.5;
                }
            }
        }
    }
    let widest = |text: fn(&Group) -> &str, size: f64| {
        groups.iter().map(|group| width(text(group), size, false)).fold(0.0, f64::max)
    };
    let apart = every(widest(|group| &group.name, SMALL), slot);
    let has_totals = every(widest(|group| &group.total, SMALL), slot) == 1;
    for (index, group) in groups.iter().enumerate() {
        let middle = LEFT + (index as f64 + 0.5) * slot;
        if index % apart == 0 {
            pen.set([middle, panel.bottom + 13.0], At::Middle, &group.name, SMALL, "");
        }
        if has_totals && !group.total.is_empty() {
            pen.set([middle, panel.bottom + 25.0], At::Middle, &group.total, SMALL, "");
        }
    }
    if has_totals && groups.iter().any(|group| !group.total.is_empty()) {
        pen.set([LEFT - 4.0, panel.bottom + 25.0], At::End, "kWh", SMALL, "");
    }
}

/// Keys of all that is drawn in one of the two bars.
fn keys(pen: &mut Pen, y: f64, word: &str, groups: &[Group], stack: fn(&Group) -> &Vec<Part>) -> f64 {
    let mut keys = pen.keys(y, word);
    let mut known: Vec<&str> = Vec::new();
    // In the order of the stack, whichever month has it first.
    let rank = groups.iter().map(|group| stack(group).len()).max().unwrap_or(0);
    for at in 0..rank {
        for (name, fill, value) in groups.iter().filter_map(|group| stack(group).get(at)) {
            if real(*value) > 0.0 && !known.contains(name) {
                known.push(name);
                match fill {
                    Fill::Stripes => pen.flagged(&mut keys, name, *fill, true),
                    Fill::Sparse => pen.flagged(&mut keys, name, *fill, false),
                    _ => pen.swatch(&mut keys, name, *fill),
                }
            }
        }
    }
    if known.is_empty() {
        pen.text(keys.x, keys.y, At::Start, "nothing");
    }
    keys.y + 13.0
}

fn month(name: &str, b: &Books) -> Group {
    let mut came = sources([b.sun_wh, b.engine_wh, b.shore_wh, b.generator_wh]);
    came.push(("Out of the bank", Fill::Level, -b.stored_wh));
    let went = vec![
        ("DC loads", Fill::Dark, b.loads_dc_wh),
        ("AC loads", Fill::Falling, b.loads_ac_wh),
        ("Idle draw", Fill::Upright, b.idle_wh),
        ("Losses", Fill::Taupe, b.lost() - b.idle_wh),
        ("Into the bank", Fill::Level, b.stored_wh),
        ("Given up", Fill::Sparse, b.given_up_wh),
        short(b.short_wh),
    ];
    let kwh = WattHours::new(sum(&came)).get() / 1000.0;
    let total = if kwh >= 99.95 { format!("{kwh:.0}") } else { format!("{kwh:.1}") };
    came.push(("Sun left over", Fill::Outline, b.curtailed_wh));
    Group { name: name.to_owned(), total, came, went }
}

/// Energy month by month. The left bar is what came in, the right one what went out; with the change of the bank both
/// are the same height. On top of them, apart: sun that was left, and what was given up or went short.
pub fn months(year: &Year) -> String {
    let title = "Energy in and out, month by month";
    let groups: Vec<Group> =
        MONTH_NAMES.iter().zip(&year.months).map(|(name, m)| month(name, &m.books)).collect();
    if groups.iter().all(|group| sum(&group.came) + sum(&group.went) <= 0.0) {
        let pen = Pen::new("months", title, "Nothing came in and nothing went out.");
        return pen
            .nothing("In this year nothing came in and nothing went out, so there are no bars to show.");
    }
    let total = &year.total;
    let about = format!(
        "For each month two bars: left what came in, right what went out. In the year {} came in, {} were served, \
         {} went short, {} were given up and {} of sun were left. Weather: {}.",
        energy(total.came_in()),
        energy(total.served()),
        energy(total.short_wh),
        energy(total.given_up_wh),
        energy(total.curtailed_wh),
        year.weather
    );
    let mut pen = Pen::new("months", title, &about);
    let top = keys(&mut pen, 32.0, "Left bar:", &groups, |group| &group.came);
    let top = keys(&mut pen, top, "Right bar:", &groups, |group| &group.went);
    stacks(&mut pen, top, 190.0, &groups, "a month; each pair's total stands below it");
    pen.finish()
}

/// A date as `3 Apr` where it is written `2027-04-03`; another text as it is.
fn brief(date: &str) -> String {
    let mut parts = date.split('-').map(str::parse::<usize>);
    let (Some(Ok(_)), Some(Ok(month)), Some(Ok(day)), None) =
        (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return date.to_owned();
    };
    match month.checked_sub(1).and_then(|month| MONTH_NAMES.get(month)) {
        Some(name) => format!("{day} {name}"),
        None => date.to_owned(),
    }
}

/// A trip day by day: state of charge above, what came in and went out below.
pub fn trip_days(days: &[TripDay]) -> String {
    let title = "The trip, day by day";
    let about = format!("State of charge and energy of {} days.", days.len());
    let mut pen = Pen::new("trip", title, &about);
    if days.is_empty() {
        return pen.nothing("The trip has no days, so there is nothing to show.");
    }
    let groups: Vec<Group> = days
        .iter()
        .map(|day| Group {
            name: brief(&day.date),
            total: String::new(),
            came: sources(day.came_in_wh),
            went: vec![("Loads and losses", Fill::Dark, day.taken_wh), short(day.short_wh)],
        })
        .collect();
    let line = format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.3\"");
    let bar = format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"2.6\"");
    let mut charge = pen.keys(32.0, "Charge:");
    pen.lined(&mut charge, "start to end of the day", &line);
    let [x, y] = pen.key(&mut charge, "lowest of the day", 10.0);
    pen.line([x, y, x + 10.0, y], &bar);
    let top = charge.y + 24.0;
    let panel = Panel::new(&mut pen, [top, top + 90.0], &[0.0, 50.0, 100.0], "% charge");
    let slot = (RIGHT - LEFT) / days.len() as f64;
    for (index, day) in days.iter().enumerate() {
        let x = LEFT + index as f64 * slot;
        let [start, low, end] = day.soc.map(|share| share * 100.0);
        if start.is_finite() && end.is_finite() {
            let [from, to] = [start, end].map(|value| number(panel.y(value)));
            pen.path(&format!("M{} {from}L{} {to}", number(x), number(x + slot)), &line, "charge");
        }
        if low.is_finite() {
            let half = (slot * 0.25).min(5.0);
            let (m, y) = (x + slot / 2.0, panel.y(low));
            pen.path(&format!("M{} {}h{}", number(m - half), number(y), number(2.0 * half)), &bar, "lowest");
        }
    }
    let top = keys(&mut pen, panel.bottom + 22.0, "Left bar:", &groups, |group| &group.came);
    let top = keys(&mut pen, top, "Right bar:", &groups, |group| &group.went);
    stacks(&mut pen, top, 130.0, &groups, "a day");
    pen.finish()
}
