//! Paper, axes, hatches and texts of a chart.
//! Never: writes a text outside the frame or over another one; such a text is left out and the caller told.
//! Start at [`Pen`].

use crate::text::width;

pub const WIDTH: f64 = 360.0;
pub const LEFT: f64 = 40.0;
pub const RIGHT: f64 = 350.0;
pub const SIZE: f64 = 9.5;
pub const INK: &str = "#221f1b";
pub const PAPER: &str = "#fbf8f1";
pub const ACCENT: &str = "#a63c17";

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
    let (first, last) = ((low / step).floor(), (high / step - 1e-9).ceil());
    (0..=(last - first) as usize).map(|at| (first + at as f64) * step).collect()
}

/// A number with as many decimals as the step asks for.
pub fn shown(value: f64, step: f64) -> String {
    let mut decimals = 0;
    let mut scaled = step.abs();
    while scaled < 0.999 && decimals < 6 {
        scaled *= 10.0;
        decimals += 1;
    }
    format!("{:.decimals$}", value + 0.0)
}

pub fn number(value: f64) -> String {
    format!("{}", (value * 100.0).round() / 100.0 + 0.0)
}

pub fn escape(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() || matches!(c, '\u{FFFE}' | '\u{FFFF}') => out.push('\u{FFFD}'),
            c => out.push(c),
        }
    }
    out
}

/// Where a text stands against its place.
#[derive(Clone, Copy, PartialEq)]
pub enum At {
    Start,
    Middle,
    End,
}

/// A fill that stays apart in black and white.
#[derive(Clone, Copy, PartialEq)]
pub enum Fill {
    Light,
    Dark,
    Rising,
    Falling,
    Dots,
    Lines,
    Cross,
    Outline,
    Accent,
}

const HATCHES: [(&str, &str); 5] = [
    ("rising", "M0 5L5 0M-1 1L1 -1M4 6L6 4"),
    ("falling", "M0 0L5 5M-1 4L1 6M4 -1L6 1"),
    ("dots", "M1.5 2.5h1.4"),
    ("lines", "M0 1h5M0 3.5h5"),
    ("cross", "M0 5L5 0M0 0L5 5"),
];

/// A chart being drawn.
pub struct Pen {
    name: &'static str,
    height: f64,
    title: String,
    about: String,
    body: String,
    taken: Vec<[f64; 4]>,
}

impl Pen {
    pub fn new(name: &'static str, title: &str, about: &str, height: f64) -> Pen {
        let mut pen = Pen {
            name,
            height,
            title: title.to_owned(),
            about: about.to_owned(),
            body: String::new(),
            taken: Vec::new(),
        };
        pen.set(8.0, 14.0, At::Start, title, 11.0, true);
        pen
    }

    fn fill(&self, fill: Fill) -> String {
        match fill {
            Fill::Light => "#e7dcc4".to_owned(),
            Fill::Dark => "#4a443c".to_owned(),
            Fill::Outline => "none".to_owned(),
            Fill::Accent => ACCENT.to_owned(),
            Fill::Rising => format!("url(#{}-rising)", self.name),
            Fill::Falling => format!("url(#{}-falling)", self.name),
            Fill::Dots => format!("url(#{}-dots)", self.name),
            Fill::Lines => format!("url(#{}-lines)", self.name),
            Fill::Cross => format!("url(#{}-cross)", self.name),
        }
    }

    pub fn rect(&mut self, [x, y, w, h]: [f64; 4], fill: Fill, series: &str) {
        let dash = if fill == Fill::Outline { " stroke-dasharray=\"2 1.4\"" } else { "" };
        self.body.push_str(&format!(
            "<rect data-series=\"{}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\" stroke=\"{INK}\" \
             stroke-width=\".6\"{dash}/>\n",
            escape(series), number(x), number(y), number(w.max(0.0)), number(h.max(0.0)), self.fill(fill)
        ));
    }

    /// A line or, with a fill, an area. `look` is further attributes, ours only.
    pub fn path(&mut self, d: &str, look: &str, series: &str) {
        if !d.is_empty() {
            self.body.push_str(&format!("<path data-series=\"{}\" d=\"{d}\" {look}/>\n", escape(series)));
        }
    }

    pub fn line(&mut self, [x, y, x2, y2]: [f64; 4], look: &str) {
        let d = format!("M{} {}L{} {}", number(x), number(y), number(x2), number(y2));
        self.path(&d, look, "rule");
    }

    pub fn text(&mut self, x: f64, y: f64, at: At, text: &str) -> bool {
        self.set(x, y, at, text, SIZE, false)
    }

    /// Sets a text with its baseline at `y`, unless it would leave the frame or meet another.
    pub fn set(&mut self, x: f64, y: f64, at: At, text: &str, size: f64, is_bold: bool) -> bool {
        let w = width(text, size, is_bold);
        let left = match at {
            At::Start => x,
            At::Middle => x - w / 2.0,
            At::End => x - w,
        };
        let own = [left, y - 0.78 * size, left + w, y + 0.24 * size];
        let is_inside = own[0] >= 1.0 && own[1] >= 0.0 && own[2] <= WIDTH - 1.0 && own[3] <= self.height;
        let meets =
            |t: &[f64; 4]| own[0] < t[2] + 1.0 && t[0] < own[2] + 1.0 && own[1] < t[3] && t[1] < own[3];
        if !is_inside || self.taken.iter().any(meets) {
            return false;
        }
        self.taken.push(own);
        let weight = if is_bold { " font-weight=\"bold\"" } else { "" };
        self.body.push_str(&format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{size}\"{weight}>{}</text>\n",
            number(left),
            number(y),
            escape(text)
        ));
        true
    }

    /// Keeps texts away from a place.
    pub fn keep_free(&mut self, [x, y, w, h]: [f64; 4]) {
        self.taken.push([x, y, x + w, y + h]);
    }

    /// Swatches with their names from `y` down; gives the place below.
    pub fn legend(&mut self, keys: &[(&str, Fill)], y: f64) -> f64 {
        let (mut x, mut y) = (8.0, y);
        for (name, fill) in keys {
            let w = 15.0 + width(name, SIZE, false) + 10.0;
            if x + w > WIDTH && x > 8.0 {
                x = 8.0;
                y += 13.0;
            }
            self.rect([x, y - 8.0, 11.0, 8.5], *fill, "key");
            self.text(x + 14.5, y, At::Start, name);
            x += w;
        }
        y + 13.0
    }

    pub fn finish(self) -> String {
        let mut hatches = String::new();
        for (name, d) in HATCHES {
            hatches.push_str(&format!(
                "<pattern id=\"{}-{name}\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\">\
                 <rect width=\"5\" height=\"5\" fill=\"{PAPER}\"/><path d=\"{d}\" stroke=\"{INK}\" \
                 stroke-width=\"{}\" fill=\"none\"/></pattern>\n",
                self.name,
                if name == "dots" { "1.4" } else { ".8" }
            ));
        }
        let h = number(self.height);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {h}\" width=\"100%\" role=\"img\" \
             font-family=\"'DejaVu Sans',Verdana,'Liberation Sans',Arial,sans-serif\" fill=\"{INK}\">\n\
             <title>{}</title>\n<desc>{}</desc>\n<defs>\n{hatches}</defs>\n\
             <rect width=\"{WIDTH}\" height=\"{h}\" fill=\"{PAPER}\"/>\n{}</svg>\n",
            escape(&self.title),
            escape(&self.about),
            self.body
        )
    }
}

/// A plot with values upwards.
#[derive(Clone, Copy)]
pub struct Panel {
    pub top: f64,
    pub bottom: f64,
    pub low: f64,
    pub high: f64,
}

impl Panel {
    pub fn y(&self, value: f64) -> f64 {
        let share = (value - self.low) / (self.high - self.low).max(1e-12);
        self.bottom - share.clamp(0.0, 1.0) * (self.bottom - self.top)
    }

    /// Ticks with rules across, and the unit above them.
    pub fn new(pen: &mut Pen, [top, bottom]: [f64; 2], ticks: &[f64], unit: &str) -> Panel {
        let (low, high) = (ticks.first().copied().unwrap_or(0.0), ticks.last().copied().unwrap_or(1.0));
        let panel = Panel { top, bottom, low, high };
        let step = ticks.get(1).map_or(1.0, |second| second - low);
        for tick in ticks {
            let y = panel.y(*tick);
            pen.line([LEFT, y, RIGHT, y], "stroke=\"#cfc5b0\" stroke-width=\".6\"");
            pen.text(LEFT - 4.0, y + 3.3, At::End, &shown(*tick, step));
        }
        pen.text(8.0, top - 8.0, At::Start, unit);
        pen.line([LEFT, bottom, RIGHT, bottom], "stroke=\"#221f1b\" stroke-width=\".8\"");
        panel
    }
}
