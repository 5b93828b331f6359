//! Hour by hour: what came in above the line, what was asked below, the state of charge under them.
//! Never: says that it was night; it shades the hours in which no sun reached the arrays.
//! Start at [`worst_week`].

use energy::outcome::Trace;

use super::panel::{Panel, nice_ticks};
use super::pen::{ACCENT, At, Fill, INK, LEFT, Pen, RIGHT, RULE, SMALL, number};
use super::{MOST, charged, date, every, real};
use crate::text::width;

/// Less sun than this is none \[W\].
const FAINT: f64 = 0.5;
const SHADE: &str = "#e9e3d6";

/// The hours of a trace with their place across.
struct Hours<'a> {
    trace: &'a Trace,
    count: usize,
    slot: f64,
}

impl Hours<'_> {
    fn x(&self, at: usize) -> f64 {
        LEFT + at as f64 * self.slot
    }

    fn of(&self, list: &[f64]) -> Vec<f64> {
        (0..self.count).map(|at| list.get(at).copied().map_or(0.0, real)).collect()
    }

    /// Stretches of hours for which `holds`, as first hour and the hour after the last.
    fn runs(&self, holds: impl Fn(usize) -> bool) -> Vec<[usize; 2]> {
        let mut runs: Vec<[usize; 2]> = Vec::new();
        for at in (0..self.count).filter(|at| holds(*at)) {
            match runs.last_mut() {
                Some(run) if run[1] == at => run[1] = at + 1,
                _ => runs.push([at, at + 1]),
            }
        }
        runs
    }

    /// Steps along `level` over a stretch, forwards, each point after a letter.
    fn steps(&self, [from, to]: [usize; 2], level: &[f64], panel: Panel) -> Vec<String> {
        let mut points = Vec::new();
        for at in from..to {
            let y = number(panel.y(level.get(at).copied().unwrap_or(0.0)));
            points.push(format!("{} {y}", number(self.x(at))));
            points.push(format!("{} {y}", number(self.x(at + 1))));
        }
        points
    }

    /// The area between two levels, merged over the hours in which it is there.
    fn area(&self, low: &[f64], high: &[f64], panel: Panel) -> String {
        let differs = |at: usize| low.get(at) != high.get(at);
        let mut d = String::new();
        for run in self.runs(differs) {
            let (over, mut under) = (self.steps(run, high, panel), self.steps(run, low, panel));
            under.reverse();
            d.push_str(&format!("M{}L{}Z", over.join("L"), under.join("L")));
        }
        d
    }

    /// The edge of a level where it is there, from `base` up and back to it.
    fn outline(&self, base: &[f64], level: &[f64], panel: Panel) -> String {
        let foot = |at: usize| number(panel.y(base.get(at).copied().unwrap_or(0.0)));
        let line = |[from, to]: [usize; 2]| {
            let steps = self.steps([from, to], level, panel).join("L");
            let (a, b) = (number(self.x(from)), number(self.x(to)));
            format!("M{a} {}L{steps}L{b} {}", foot(from), foot(to - 1))
        };
        self.runs(|at| (level.get(at).zip(base.get(at))).is_some_and(|(a, b)| (a - b).abs() > 0.0))
            .into_iter()
            .map(line)
            .collect()
    }
}

/// The worst week hour by hour: what came in above, what was asked below, the state of charge under them.
/// `floor` is the share that all but vital loads leave in the bank, where there is one.
pub fn worst_week(trace: &Trace, floor: Option<f64>) -> String {
    hour_by_hour(trace, floor, &format!("The hardest week, from {}", date(trace.first_hour / 24)))
}

/// Any stretch of hours under a title of its own, drawn as [`worst_week`].
pub fn hour_by_hour(trace: &Trace, floor: Option<f64>, title: &str) -> String {
    let count = trace.soc.len();
    let hours = Hours { trace, count, slot: (RIGHT - LEFT) / count.max(1) as f64 };
    let [sun, engine, supply] = [&trace.sun_w, &trace.engine_w, &trace.supply_w].map(|list| hours.of(list));
    let [left, need, short] = [&trace.curtailed_w, &trace.need_w, &trace.short_w].map(|list| hours.of(list));
    let short_hours = short.iter().filter(|w| **w > 0.0).count();
    let about = format!("{count} hours from {}; {short_hours} of them short.", date(trace.first_hour / 24));
    let pen = Pen::new("week", title, &about);
    let has_power =
        [&sun, &engine, &supply, &left, &need, &short].iter().any(|list| list.iter().any(|w| *w > 0.0));
    if !has_power && !trace.soc.iter().any(|share| share.is_finite()) {
        return pen.nothing("No hour of this stretch is known, so there is nothing to show.");
    }
    draw(pen, &hours, [sun, engine, supply, left, need, short], floor)
}

fn draw(mut pen: Pen, hours: &Hours, lists: [Vec<f64>; 6], floor: Option<f64>) -> String {
    let [sun, engine, supply, left, need, short] = lists;
    let plus = |a: &[f64], b: &[f64], sign: f64| -> Vec<f64> {
        a.iter().zip(b).map(|(a, b)| (a + sign * b).clamp(-MOST, MOST)).collect()
    };
    let zero = vec![0.0; hours.count];
    let to_engine = plus(&sun, &engine, 1.0);
    let to_supply = plus(&to_engine, &supply, 1.0);
    let to_need = plus(&zero, &need, -1.0);
    let to_short = plus(&to_need, &short, -1.0);
    let any = |list: &[f64]| list.iter().any(|w| *w > 0.0);
    let shines = |at: usize| sun.get(at).zip(left.get(at)).is_some_and(|(a, b)| a + b > FAINT);
    let has_sun = (0..hours.count).any(shines);
    let dark = if has_sun { hours.runs(|at| !shines(at)) } else { Vec::new() };
    // A trace of sun left is no more to be seen than to be had.
    let left: Vec<f64> = left.into_iter().map(|w| if w > FAINT { w } else { 0.0 }).collect();
    let to_left = plus(&to_supply, &left, 1.0);

    let mut keys = pen.keys(32.0, "");
    for (name, fill, list) in [
        ("Sun", Fill::Sun, &sun),
        ("Engine", Fill::Rising, &engine),
        ("Shore, generator", Fill::Dots, &supply),
    ] {
        if any(list) {
            pen.swatch(&mut keys, name, fill);
        }
    }
    if any(&left) {
        pen.lined(&mut keys, "Sun left over", LEFT_OVER);
    }
    pen.swatch(&mut keys, "Need", Fill::Dark);
    if any(&short) {
        pen.flagged(&mut keys, "Short", Fill::Stripes, true);
    }
    if has_sun {
        let [x, y] = pen.key(&mut keys, "no sun", 11.0);
        pen.path(
            &format!("M{} {}h11v8.8h-11Z", number(x), number(y - 4.4)),
            &format!("fill=\"{SHADE}\""),
            "key",
        );
    }

    let most = to_left.iter().copied().fold(0.0, f64::max);
    let least = to_short.iter().copied().fold(0.0, f64::min);
    let (scale, unit) = if most.max(-least) >= 5000.0 { (1000.0, "kW") } else { (1.0, "W") };
    let ticks = nice_ticks(least / scale, most / scale, 5);
    let top = keys.y + 28.0;
    // The shading lies under the rules, so it is drawn before the panels that give its place.
    let [bottom, low_top] = [top + 150.0, top + 150.0 + 36.0];
    let low_bottom = low_top + 74.0;
    for [from, to] in dark {
        for (a, b) in [(top, bottom), (low_top, low_bottom)] {
            let (l, r) = (number(hours.x(from)), number(hours.x(to)));
            let d = format!("M{l} {0}H{r}V{1}H{l}Z", number(a), number(b));
            pen.path(&d, &format!("fill=\"{SHADE}\""), "no sun");
        }
    }
    let panel = Panel::new(&mut pen, [top, bottom], &ticks, &format!("{unit}, came in above, asked below"));
    let floor = floor.filter(|share| share.is_finite());
    let words = |share| format!("; dotted: floor {}, below it vital loads only", charged(share));
    let below = format!("% charge{}", floor.map_or_else(String::new, words));
    let charge = Panel::new(&mut pen, [low_top, low_bottom], &[0.0, 50.0, 100.0], &below);
    let scaled = |list: Vec<f64>| -> Vec<f64> { list.into_iter().map(|w| w / scale).collect() };
    let [sun, to_engine, to_supply, to_left, to_need, to_short] =
        [sun, to_engine, to_supply, to_left, to_need, to_short].map(scaled);
    let areas = [
        (&zero, &sun, Fill::Sun, "Sun"),
        (&sun, &to_engine, Fill::Rising, "Engine"),
        (&to_engine, &to_supply, Fill::Dots, "Shore, generator"),
        (&zero, &to_need, Fill::Dark, "Need"),
        (&to_need, &to_short, Fill::Stripes, "Short"),
    ];
    for (low, high, fill, series) in areas {
        let look = format!("fill=\"{}\"", pen.fill(fill));
        pen.path(&hours.area(low, high, panel), &look, series);
    }
    let edge = format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\".7\" stroke-linejoin=\"round\"");
    for level in [&to_supply, &to_short] {
        pen.path(&hours.outline(&zero, level, panel), &edge, "outline");
    }
    pen.path(&hours.outline(&to_supply, &to_left, panel), LEFT_OVER, "Sun left over");
    let y = panel.y(0.0);
    pen.line([LEFT, y, RIGHT, y], &format!("stroke=\"{INK}\" stroke-width=\".9\""));

    // A bar over the hours that went short, with a triangle where there is room for one.
    let mut last = f64::NEG_INFINITY;
    for [from, to] in hours.runs(|at| short.get(at).is_some_and(|w| *w > 0.0)) {
        let (a, b, y) = (hours.x(from), hours.x(to), panel.bottom + 9.5);
        let d = format!("M{} {}H{}", number(a), number(y), number(b));
        pen.path(&d, &format!("stroke=\"{ACCENT}\" stroke-width=\"3\" fill=\"none\""), "short hours");
        let middle = (a + b) / 2.0;
        if middle - last > 7.0 {
            pen.flag(middle, y - 1.0, 3.2, true, "short");
            last = middle;
        }
    }
    if any(&short) {
        pen.set([LEFT - 4.0, panel.bottom + 12.5], At::End, "short", SMALL, "");
    }

    let d = charge.trail(hours.trace.soc.iter().map(|share| share * 100.0), |at| hours.x(at + 1));
    pen.path(&d, &format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.4\""), "charge");
    if let Some(floor) = floor {
        super::time::floor_line(&mut pen, charge, floor);
    }
    dates(&mut pen, hours, [panel, charge]);
    pen.finish()
}

const LEFT_OVER: &str = "fill=\"none\" stroke=\"#221f1b\" stroke-width=\".8\" stroke-dasharray=\"2 1.4\"";

/// A rule at each midnight, the date between two of them; fewer dates where they would meet.
fn dates(pen: &mut Pen, hours: &Hours, panels: [Panel; 2]) {
    let first = hours.trace.first_hour;
    let day = 24.0 * hours.slot;
    let apart = every(width("30 Mar", SMALL, false), day);
    let midnights = (0..hours.count).filter(|at| (first + at).is_multiple_of(24));
    for (index, at) in midnights.enumerate() {
        let x = hours.x(at);
        if index % apart == 0 {
            for panel in panels {
                pen.line([x, panel.top, x, panel.bottom], &format!("stroke=\"{RULE}\" stroke-width=\".5\""));
            }
            let y = panels[1].bottom + 13.0;
            pen.set([x + day / 2.0, y], At::Middle, &date((first + at) / 24), SMALL, "");
        }
    }
}
