//! Stacked bars: what came in beside what went out, by month or by day of a trip.
//! Never: draws a bar for a value that is missing or below zero.
//! Start at [`months`].

use energy::Year;

use super::MONTH;
use super::pen::{At, Fill, INK, LEFT, Panel, Pen, RIGHT, nice_ticks, number};

/// A series of a stack, its look and its value \[Wh\].
type Part = (&'static str, Fill, f64);

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
        ("Sun", Fill::Light, sun),
        ("Engine", Fill::Rising, engine),
        ("Shore", Fill::Dots, shore),
        ("Generator", Fill::Cross, generator),
    ]
}

fn real(value: f64) -> f64 {
    if value.is_finite() { value.max(0.0) } else { 0.0 }
}

/// Groups of two bars: what came in, what went out.
fn stacks(pen: &mut Pen, place: [f64; 2], groups: &[(String, [Vec<Part>; 2])], per: &str) {
    let sum = |stack: &Vec<Part>| stack.iter().map(|part| real(part.2)).sum::<f64>();
    let most = groups.iter().flat_map(|(_, pair)| pair.iter().map(sum)).fold(0.0, f64::max);
    let (scale, unit) = if most >= 2000.0 { (1000.0, "kWh") } else { (1.0, "Wh") };
    let ticks = nice_ticks(0.0, most / scale, 5);
    let panel = Panel::new(pen, place, &ticks, &format!("{unit} {per}"));
    let slot = (RIGHT - LEFT) / groups.len().max(1) as f64;
    let bar = (slot * 0.4).min(22.0);
    for (index, (name, pair)) in groups.iter().enumerate() {
        let middle = LEFT + (index as f64 + 0.5) * slot;
        for (stack, x) in pair.iter().zip([middle - bar, middle]) {
            let mut below = 0.0;
            for (series, fill, value) in stack {
                let value = real(*value) / scale;
                if value > 0.0 {
                    let top = panel.y(below + value);
                    pen.rect([x, top, bar, panel.y(below) - top], *fill, series);
                    below += value;
                }
            }
        }
        pen.text(middle, panel.bottom + 12.0, At::Middle, name);
    }
}

fn keys(groups: &[(String, [Vec<Part>; 2])]) -> Vec<(&'static str, Fill)> {
    let mut keys: Vec<(&'static str, Fill)> = Vec::new();
    for part in groups.iter().flat_map(|(_, pair)| pair.iter().flatten()) {
        if real(part.2) > 0.0 && !keys.iter().any(|key| key.0 == part.0) {
            keys.push((part.0, part.1));
        }
    }
    keys
}

/// Energy month by month: left bar what came in with the sun that nobody could take as an outline on top,
/// right bar what went out with the shortfall on top.
pub fn months(year: &Year) -> String {
    let groups: Vec<(String, [Vec<Part>; 2])> = MONTH
        .iter()
        .zip(&year.months)
        .map(|(name, month)| {
            let b = &month.books;
            let mut came = sources([b.sun_wh, b.engine_wh, b.shore_wh, b.generator_wh]);
            came.push(("Sun not taken", Fill::Outline, b.curtailed_wh));
            let went = vec![
                ("DC loads", Fill::Dark, b.loads_dc_wh),
                ("AC loads", Fill::Falling, b.loads_ac_wh),
                ("Idle and losses", Fill::Lines, b.lost()),
                ("Short", Fill::Accent, b.short_wh + b.given_up_wh),
            ];
            ((*name).to_owned(), [came, went])
        })
        .collect();
    let about = format!(
        "For each month two bars: left what came in, right what went out. In the year {:.0} kWh came in, \
         {:.0} kWh were served, {:.1} kWh went short or were given up. Weather: {}.",
        year.total.came_in() / 1000.0,
        year.total.served() / 1000.0,
        (year.total.short_wh + year.total.given_up_wh) / 1000.0,
        year.weather
    );
    let mut pen = Pen::new("months", "Energy in and out, month by month", &about, 270.0);
    let top = pen.legend(&keys(&groups), 30.0);
    stacks(&mut pen, [top + 14.0, 248.0], &groups, "a month");
    pen.finish()
}

/// A trip day by day: state of charge above, what came in and went out below.
pub fn trip_days(days: &[TripDay]) -> String {
    let groups: Vec<(String, [Vec<Part>; 2])> = days
        .iter()
        .map(|day| {
            let went = vec![("Taken", Fill::Dark, day.taken_wh), ("Short", Fill::Accent, day.short_wh)];
            (day.date.clone(), [sources(day.came_in_wh), went])
        })
        .collect();
    let about = format!("State of charge and energy of {} days.", days.len());
    let mut pen = Pen::new("trip", "The trip, day by day", &about, 340.0);
    let panel = Panel::new(
        &mut pen,
        [40.0, 140.0],
        &[0.0, 20.0, 40.0, 60.0, 80.0, 100.0],
        "% charge: line start to end, mark lowest",
    );
    let slot = (RIGHT - LEFT) / days.len().max(1) as f64;
    for (index, day) in days.iter().enumerate() {
        let x = LEFT + index as f64 * slot;
        let [start, low, end] = day.soc.map(|share| share * 100.0);
        if start.is_finite() && end.is_finite() {
            let d = format!(
                "M{} {}L{} {}",
                number(x),
                number(panel.y(start)),
                number(x + slot),
                number(panel.y(end))
            );
            pen.path(&d, &format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.2\""), "charge");
        }
        if low.is_finite() {
            let half = (slot * 0.2).min(5.0);
            let (m, y) = (x + slot / 2.0, panel.y(low));
            let d = format!("M{} {}h{}", number(m - half), number(y), number(2.0 * half));
            pen.path(&d, &format!("stroke=\"{INK}\" stroke-width=\"2.4\""), "lowest");
        }
    }
    let top = pen.legend(&keys(&groups), 160.0);
    stacks(&mut pen, [top + 14.0, 318.0], &groups, "a day");
    pen.finish()
}
