//! A plot with values upwards: nice steps, rules across, numbers at the left.
//! Never: gives a place outside itself.
//! Start at [`Panel`]; [`nice_ticks`] finds the steps.

use super::pen::{At, INK, LEFT, Pen, RIGHT, RULE, number};

/// Steps of 1, 2 or 5 times a power of ten from `low` to `high`, about `want` of them
/// (Heckbert 1990, "Nice numbers for graph labels", Graphics Gems). Not a number, or no span: a span of one.
pub fn nice_ticks(low: f64, high: f64, want: usize) -> Vec<f64> {
    let low = if low.is_finite() { low } else { 0.0 };
    let high = if high.is_finite() && high > low { high } else { low + 1.0 };
    let rough = (high - low) / want.max(1) as f64;
    if !rough.is_finite() || rough <= low.abs() * 1e-12 {
        return vec![low];
    }
    let mut power = 1.0;
    while power * 10.0 <= rough {
        power *= 10.0;
    }
    while power > rough {
        power /= 10.0;
    }
    let part = rough / power;
    let nice = if part < 1.5 {
        1.0
    } else if part < 3.0 {
        2.0
    } else if part < 7.0 {
        5.0
    } else {
        10.0
    };
    let step = nice * power;
    if step <= 0.0 {
        return vec![low];
    }
    let (first, last) = ((low / step).floor(), (high / step - 1e-9).ceil());
    (0..=(last - first) as usize).map(|at| (first + at as f64) * step).collect()
}

/// A number with as many decimals as the step asks for; very large and very small ones by their power of ten.
pub fn shown(value: f64, step: f64) -> String {
    let value = value + 0.0;
    if value != 0.0 && (value.abs() >= 1e6 || step.abs() < 1e-4) {
        return format!("{value:.2e}").replace(".00e", "e");
    }
    let mut decimals = 0;
    let mut scaled = step.abs();
    while scaled < 0.999 && decimals < 4 {
        scaled *= 10.0;
        decimals += 1;
    }
    format!("{value:.decimals$}")
}

/// Distance of ticks.
pub fn step_of(ticks: &[f64]) -> f64 {
    match ticks {
        [first, second, ..] => second - first,
        _ => 1.0,
    }
}

/// A place on the paper with its scale.
#[derive(Clone, Copy)]
pub struct Panel {
    pub top: f64,
    pub bottom: f64,
    pub left: f64,
    pub right: f64,
    low: f64,
    high: f64,
}

impl Panel {
    /// A panel from the left margin to the right one.
    pub fn new(pen: &mut Pen, [top, bottom]: [f64; 2], ticks: &[f64], unit: &str) -> Panel {
        Panel::within(pen, [LEFT, top, RIGHT, bottom], ticks, unit)
    }

    /// Rules across at the ticks with their numbers, and the unit above them. Numbers below the zero line
    /// stand without a sign: the unit says what goes down.
    pub fn within(pen: &mut Pen, [left, top, right, bottom]: [f64; 4], ticks: &[f64], unit: &str) -> Panel {
        let (low, high) = (ticks.first().copied().unwrap_or(0.0), ticks.last().copied().unwrap_or(1.0));
        let panel = Panel { top, bottom, left, right, low, high };
        for tick in ticks {
            let y = panel.y(*tick);
            pen.line([left, y, right, y], &format!("stroke=\"{RULE}\" stroke-width=\".6\""));
            pen.text(left - 4.0, y + 3.3, At::End, &shown(tick.abs(), step_of(ticks)));
        }
        if !unit.is_empty() {
            pen.text(8.0, top - 8.0, At::Start, unit);
        }
        pen.line([left, bottom, right, bottom], &format!("stroke=\"{INK}\" stroke-width=\".8\""));
        panel
    }

    /// Height of a value on the paper, within the panel.
    pub fn y(&self, value: f64) -> f64 {
        let span = (self.high - self.low).max(1e-300);
        let share = (value / span - self.low / span).clamp(0.0, 1.0);
        self.bottom - if share.is_finite() { share } else { 0.0 } * (self.bottom - self.top)
    }

    /// A line through values, broken where one is missing; a value alone is a dash.
    pub fn trail(&self, values: impl Iterator<Item = f64>, x: impl Fn(usize) -> f64) -> String {
        let mut d = String::new();
        let (mut is_down, mut is_alone) = (false, false);
        for (at, value) in values.chain([f64::NAN]).enumerate() {
            if is_alone && !value.is_finite() {
                d.push_str("h.8");
            }
            is_alone = value.is_finite() && !is_down;
            if value.is_finite() {
                let step = if is_down { "L" } else { "M" };
                d.push_str(&format!("{step}{} {}", number(x(at)), number(self.y(value))));
            }
            is_down = value.is_finite();
        }
        d
    }
}
