//! Single marks: the chance of running out by month, and designs against one another.
//! Never: lets names of marks meet; where there is no room a number stands for it, and a table below tells its name.
//! Start at [`trade_off`].

use energy::Years;

use super::MONTH;
use super::pen::{ACCENT, At, Fill, INK, LEFT, PAPER, Panel, Pen, RIGHT, SIZE, nice_ticks, number, shown};

/// One design among others.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mark {
    /// What it costs, in the currency of the chart.
    pub cost: f64,
    /// Mass \[kg\].
    pub mass_kg: f64,
    /// Chance of running out in a year, a share.
    pub chance: f64,
    /// Its name.
    pub label: String,
    /// Nothing else is better in all three.
    pub is_front: bool,
    /// The design as it stands.
    pub is_current: bool,
    /// The one that was chosen.
    pub is_chosen: bool,
}

/// Chance of running out in each month, with the 95 % interval as whiskers.
pub fn running_out(years: &Years) -> String {
    let about = format!(
        "Of {} years {} ran out at least once. Bars: chance in each month; whiskers: 95 % interval.",
        years.count, years.running_out.happened
    );
    let mut pen = Pen::new("chance", "Chance of running out, by month", &about, 230.0);
    let high = years.months.iter().map(|month| month.running_out.high.get() * 100.0);
    let ticks = nice_ticks(0.0, high.filter(|share| share.is_finite()).fold(0.0, f64::max), 5);
    let panel = Panel::new(&mut pen, [40.0, 208.0], &ticks, "% of years, with 95 % interval");
    let slot = (RIGHT - LEFT) / 12.0;
    for (at, (name, month)) in MONTH.iter().zip(&years.months).enumerate() {
        let x = LEFT + (at as f64 + 0.5) * slot;
        let chance = &month.running_out;
        let [share, low, high] = [chance.share, chance.low, chance.high].map(|part| part.get() * 100.0);
        if share.is_finite() && low.is_finite() && high.is_finite() {
            let y = panel.y(share);
            pen.rect([x - 7.0, y, 14.0, panel.bottom - y], Fill::Light, "chance");
            let (a, b) = (number(panel.y(high)), number(panel.y(low)));
            let (l, m) = (number(x - 3.0), number(x));
            let d = format!("M{l} {a}h6M{m} {a}V{b}M{l} {b}h6");
            pen.path(&d, &format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.1\""), "interval");
        }
        pen.text(x, 220.0, At::Middle, name);
    }
    pen.finish()
}

/// Designs by cost (across) and mass (up); the larger the mark, the likelier it runs out.
/// `currency` stands at the axis. Marks with a missing number are left out.
pub fn trade_off(marks: &[Mark], currency: &str) -> String {
    let marks: Vec<&Mark> = marks
        .iter()
        .filter(|m| m.cost.is_finite() && m.mass_kg.is_finite() && m.chance.is_finite())
        .collect();
    let named: Vec<&&Mark> = marks.iter().filter(|m| m.is_current || m.is_chosen || m.is_front).collect();
    let height = 270.0 + 12.0 * named.len() as f64;
    let about = format!("{} designs by cost and mass. Larger marks run out more often.", marks.len());
    let mut pen = Pen::new("trade", "Designs: cost against mass", &about, height);
    let span = |value: fn(&Mark) -> f64, want| {
        let low = marks.iter().map(|m| value(m)).fold(f64::INFINITY, f64::min);
        let high = marks.iter().map(|m| value(m)).fold(f64::NEG_INFINITY, f64::max);
        nice_ticks(low, high, want)
    };
    let across = span(|m| m.cost, 4);
    let panel =
        Panel::new(&mut pen, [52.0, 220.0], &span(|m| m.mass_kg, 5), "kg, larger mark: runs out more often");
    let (low, high) = (across.first().copied().unwrap_or(0.0), across.last().copied().unwrap_or(1.0));
    let step = across.get(1).map_or(1.0, |second| second - low);
    let x = |cost: f64| LEFT + 8.0 + (RIGHT - LEFT - 24.0) * (cost - low) / (high - low).max(1e-12);
    for tick in &across {
        pen.line([x(*tick), 220.0, x(*tick), 223.0], &format!("stroke=\"{INK}\" stroke-width=\".8\""));
        pen.text(x(*tick), 233.0, At::Middle, &shown(*tick, step));
    }
    pen.text(RIGHT, 246.0, At::End, &format!("cost [{currency}]"));
    let radius = |m: &Mark| 2.5 + 5.0 * m.chance.clamp(0.0, 1.0).sqrt();
    for mark in &marks {
        let r = radius(mark);
        let (cx, cy) = (x(mark.cost), panel.y(mark.mass_kg));
        let ring = |r: f64| {
            let (left, top, r, d) = (number(cx - r), number(cy), number(r), number(2.0 * r));
            format!("M{left} {top}a{r} {r} 0 1 0 {d} 0a{r} {r} 0 1 0 -{d} 0Z")
        };
        let fill = if mark.is_chosen {
            ACCENT
        } else if mark.is_front {
            INK
        } else {
            PAPER
        };
        pen.path(&ring(r), &format!("fill=\"{fill}\" stroke=\"{INK}\" stroke-width=\".8\""), "mark");
        if mark.is_current || mark.is_chosen {
            let dash = if mark.is_current { " stroke-dasharray=\"2 1.5\"" } else { "" };
            let look = format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"1\"{dash}");
            pen.path(&ring(r + 2.5), &look, "ring");
        }
        pen.keep_free([cx - r, cy - r, 2.0 * r, 2.0 * r]);
    }
    for (index, mark) in named.iter().enumerate() {
        let key = format!("{}", index + 1);
        let (cx, cy, r) = (x(mark.cost), panel.y(mark.mass_kg), radius(mark) + 4.0);
        let places = [
            (cx + r, cy + 3.0, At::Start),
            (cx - r, cy + 3.0, At::End),
            (cx, cy - r, At::Middle),
            (cx, cy + r + 7.0, At::Middle),
        ];
        let _ = places.iter().any(|(x, y, at)| pen.text(*x, *y, *at, &key));
        let kind = match (mark.is_chosen, mark.is_current) {
            (true, _) => ", chosen",
            (_, true) => ", as it is",
            _ => "",
        };
        let facts = format!(
            "{}{kind}: {:.0} {currency}, {:.0} kg, {:.1} %",
            mark.label,
            mark.cost,
            mark.mass_kg,
            mark.chance * 100.0
        );
        let line = crate::text::wrap(&facts, SIZE, false, 320.0, 1).concat();
        let y = 260.0 + 12.0 * index as f64;
        pen.text(24.0, y, At::End, &key);
        pen.text(30.0, y, At::Start, &line);
    }
    pen.finish()
}
