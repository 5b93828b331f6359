//! Paper, hatches, keys and texts of a chart.
//! Never: writes a text outside the frame or over another one; such a text is left out and the caller told.
//! Start at [`Pen`].

use crate::text::{width, wrap};

pub const WIDTH: f64 = 360.0;
pub const LEFT: f64 = 40.0;
pub const RIGHT: f64 = 350.0;
pub const SIZE: f64 = 9.5;
pub const SMALL: f64 = 8.5;
pub const INK: &str = "#221f1b";
pub const PAPER: &str = "#fbf8f1";
pub const ACCENT: &str = "#a63c17";
pub const RULE: &str = "#cfc5b0";

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

/// A fill that stays apart in black and white: by tone, or by the kind of its hatch.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Fill {
    /// Yellow, light.
    Sun,
    Rising,
    Falling,
    Dots,
    /// Level lines on pale blue: the bank.
    Level,
    Upright,
    Cross,
    Dark,
    Middle,
    /// Darker than the sun and lighter than the loads, in grey too.
    Taupe,
    Light,
    /// Thick red stripes: what was not served.
    Stripes,
    /// Thin red stripes, far apart: what was given up.
    Sparse,
    Outline,
}

/// Name, ground, stroke and width of each hatch, on a square of 5.
const HATCHES: [(Fill, &str, &str, &str, &str, &str); 8] = [
    (Fill::Rising, "rising", "#f5dfd2", INK, ".8", "M0 5L5 0M-1 1L1 -1M4 6L6 4"),
    (Fill::Falling, "falling", "#e7dcc4", INK, ".9", "M0 0L5 5M-1 4L1 6M4 -1L6 1"),
    (Fill::Dots, "dots", "#dbe7d6", INK, "1.5", "M.5 1.2h1.5M3 3.7h1.5"),
    (Fill::Level, "level", "#dbe8f0", "#2f5f80", ".8", "M0 1.2h5M0 3.7h5"),
    (Fill::Upright, "upright", PAPER, INK, ".7", "M1.2 0v5M3.7 0v5"),
    (Fill::Cross, "cross", PAPER, INK, ".7", "M0 5L5 0M0 0L5 5"),
    (Fill::Stripes, "stripes", PAPER, ACCENT, "2.1", "M0 5L5 0M-1 1L1 -1M4 6L6 4"),
    (Fill::Sparse, "sparse", PAPER, ACCENT, ".8", "M0 0L5 5"),
];

/// The paper's colour around a text.
const HALO: &str =
    " stroke=\"#fbf8f1\" stroke-width=\"2.4\" stroke-linejoin=\"round\" paint-order=\"stroke\"";

/// Where the next key goes.
pub struct Keys {
    pub x: f64,
    pub y: f64,
    left: f64,
}

/// A chart being drawn.
pub struct Pen {
    name: &'static str,
    title: String,
    about: String,
    body: String,
    taken: Vec<[f64; 4]>,
    crossed: Vec<[f64; 4]>,
    used: Vec<Fill>,
    bottom: f64,
}

impl Pen {
    pub fn new(name: &'static str, title: &str, about: &str) -> Pen {
        let mut pen = Pen {
            name,
            title: title.to_owned(),
            about: about.to_owned(),
            body: String::new(),
            taken: Vec::new(),
            crossed: Vec::new(),
            used: Vec::new(),
            bottom: 0.0,
        };
        for (at, line) in wrap(title, 11.0, true, WIDTH - 16.0, 2).iter().enumerate() {
            pen.set([8.0, 15.0 + 13.0 * at as f64], At::Start, line, 11.0, " font-weight=\"bold\"");
        }
        pen
    }

    /// Lines of text from `y` down; gives the place below.
    pub fn note(&mut self, y: f64, text: &str) -> f64 {
        let lines = wrap(text, SIZE, false, WIDTH - 20.0, 6);
        for (at, line) in lines.iter().enumerate() {
            self.text(8.0, y + 12.0 * at as f64, At::Start, line);
        }
        y + 12.0 * lines.len() as f64
    }

    /// A sentence in a frame, in place of a chart that has nothing to show.
    pub fn nothing(mut self, sentence: &str) -> String {
        self.rect([8.0, 28.0, WIDTH - 16.0, 70.0], Fill::Outline, "empty");
        let lines = wrap(sentence, SIZE, false, WIDTH - 40.0, 4);
        let first = 63.0 + 3.3 - 6.5 * (lines.len() as f64 - 1.0);
        for (at, line) in lines.iter().enumerate() {
            self.text(WIDTH / 2.0, first + 13.0 * at as f64, At::Middle, line);
        }
        self.bottom = self.bottom.max(98.0);
        self.finish()
    }

    /// What to write for a fill.
    pub fn fill(&mut self, fill: Fill) -> String {
        let solid = match fill {
            Fill::Sun => "#f0c24f",
            Fill::Dark => "#4a443c",
            Fill::Middle => "#cdbb95",
            Fill::Taupe => "#8d8171",
            Fill::Light => "#ebe2cf",
            Fill::Outline => "none",
            _ => {
                if !self.used.contains(&fill) {
                    self.used.push(fill);
                }
                let name = HATCHES.iter().find(|hatch| hatch.0 == fill).map_or("", |hatch| hatch.1);
                return format!("url(#{}-{name})", self.name);
            }
        };
        solid.to_owned()
    }

    pub fn rect(&mut self, place: [f64; 4], fill: Fill, series: &str) {
        // A hair of ink between bars that are themselves only hairs would be all that is seen.
        let stroke = (0.12 * place[2]).min(0.6);
        let dash = if fill == Fill::Outline { " stroke-dasharray=\"2 1.4\"" } else { "" };
        let look = format!("stroke=\"{INK}\" stroke-width=\"{}\"{dash}", number(stroke));
        self.plain(place, fill, series, &look);
    }

    pub fn plain(&mut self, [x, y, w, h]: [f64; 4], fill: Fill, series: &str, look: &str) {
        let fill = self.fill(fill);
        self.body.push_str(&format!(
            "<rect data-series=\"{}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{fill}\" {look}/>\n",
            escape(series),
            number(x),
            number(y),
            number(w.max(0.0)),
            number(h.max(0.0)),
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

    /// A triangle that points down at `(x, y)`: filled for short, hollow for given up.
    pub fn flag(&mut self, x: f64, y: f64, half: f64, is_filled: bool, series: &str) {
        let (fill, w) = if is_filled { (ACCENT, ".5") } else { (PAPER, ".9") };
        let (wide, high) = (number(half), number(1.7 * half));
        let d = format!("M{} {}l-{wide} -{high}h{}Z", number(x), number(y), number(2.0 * half));
        self.path(&d, &format!("fill=\"{fill}\" stroke=\"{INK}\" stroke-width=\"{w}\""), series);
    }

    /// Sets a text, unless it would leave the frame or meet another.
    pub fn text(&mut self, x: f64, y: f64, at: At, text: &str) -> bool {
        self.set([x, y], at, text, SIZE, "")
    }

    /// A text with the paper's colour around it, for places that lines may cross. Takes the first place that is free
    /// of texts and lines, then the first that is free of texts.
    pub fn beside(&mut self, places: &[(f64, f64, At)], text: &str, size: f64) -> bool {
        self.only_free(places, text, size)
            || places.iter().any(|(x, y, at)| self.set([*x, *y], *at, text, size, HALO))
    }

    /// The same, only where no line crosses.
    pub fn only_free(&mut self, places: &[(f64, f64, At)], text: &str, size: f64) -> bool {
        places.iter().any(|(x, y, at)| {
            let own = Pen::place([*x, *y], *at, text, size, false);
            !self.crossed.iter().any(|line| meets(&own, line, 0.0))
                && self.set([*x, *y], *at, text, size, HALO)
        })
    }

    fn place([x, y]: [f64; 2], at: At, text: &str, size: f64, is_bold: bool) -> [f64; 4] {
        let w = width(text, size, is_bold);
        let left = match at {
            At::Start => x,
            At::Middle => x - w / 2.0,
            At::End => x - w,
        };
        [left, y - 0.78 * size, left + w, y + 0.24 * size]
    }

    /// Sets a text with its baseline at a place; `look` is further attributes, ours only.
    pub fn set(&mut self, place: [f64; 2], at: At, text: &str, size: f64, look: &str) -> bool {
        let own = Pen::place(place, at, text, size, look.contains("bold"));
        let is_inside = own[0] >= 1.0 && own[1] >= 0.0 && own[2] <= WIDTH - 1.0;
        if !is_inside || self.taken.iter().any(|other| meets(&own, other, 1.0)) {
            return false;
        }
        self.taken.push(own);
        self.bottom = self.bottom.max(own[3]);
        self.body.push_str(&format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{size}\"{look}>{}</text>\n",
            number(own[0]),
            number(place[1]),
            escape(text)
        ));
        true
    }

    /// Keeps texts away from a place.
    pub fn keep_free(&mut self, [x, y, w, h]: [f64; 4]) {
        self.taken.push([x, y, x + w, y + h]);
    }

    /// Says that a line crosses a place: texts go there only where nothing else is free.
    pub fn crosses(&mut self, [x, y, x2, y2]: [f64; 4]) {
        self.crossed.push([x.min(x2) - 0.6, y.min(y2) - 0.6, x.max(x2) + 0.6, y.max(y2) + 0.6]);
    }

    /// Begins a row of keys, with a word in front where it is not empty.
    pub fn keys(&mut self, y: f64, word: &str) -> Keys {
        self.text(8.0, y, At::Start, word);
        let left = if word.is_empty() { 8.0 } else { 14.0 + width(word, SIZE, false) };
        Keys { x: left, y, left }
    }

    /// Writes the name of a key after a sample `wide`; gives the left end and the middle of the sample.
    pub fn key(&mut self, keys: &mut Keys, name: &str, wide: f64) -> [f64; 2] {
        let w = wide + 3.5 + width(name, SIZE, false);
        if keys.x + w > WIDTH - 4.0 && keys.x > keys.left {
            keys.x = keys.left;
            keys.y += 13.0;
        }
        let place = [keys.x, keys.y - 3.6];
        self.text(keys.x + wide + 3.5, keys.y, At::Start, name);
        keys.x += w + 9.0;
        place
    }

    /// A key with a filled sample.
    pub fn swatch(&mut self, keys: &mut Keys, name: &str, fill: Fill) {
        let [x, y] = self.key(keys, name, 11.0);
        self.rect([x, y - 4.4, 11.0, 8.8], fill, "key");
    }

    /// A key with a triangle and a filled sample.
    pub fn flagged(&mut self, keys: &mut Keys, name: &str, fill: Fill, is_filled: bool) {
        let [x, y] = self.key(keys, name, 20.0);
        self.flag(x + 3.5, y + 3.0, 3.2, is_filled, "key");
        self.rect([x + 9.0, y - 4.4, 11.0, 8.8], fill, "key");
    }

    /// A key with a line.
    pub fn lined(&mut self, keys: &mut Keys, name: &str, look: &str) {
        let [x, y] = self.key(keys, name, 16.0);
        self.line([x, y, x + 16.0, y], look);
    }

    pub fn finish(self) -> String {
        let mut hatches = String::new();
        for (_, name, ground, ink, wide, d) in HATCHES.iter().filter(|hatch| self.used.contains(&hatch.0)) {
            hatches.push_str(&format!(
                "<pattern id=\"{}-{name}\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\">\
                 <rect width=\"5\" height=\"5\" fill=\"{ground}\"/><path d=\"{d}\" stroke=\"{ink}\" \
                 stroke-width=\"{wide}\" fill=\"none\"/></pattern>\n",
                self.name
            ));
        }
        let h = number((self.bottom + 7.0).ceil());
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

fn meets(a: &[f64; 4], b: &[f64; 4], apart: f64) -> bool {
    a[0] < b[2] + apart && b[0] < a[2] + apart && a[1] < b[3] && b[1] < a[3]
}
