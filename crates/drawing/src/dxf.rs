//! A drawing as DXF for a drawing program or a router, in millimetres, y upwards, each kind of mark on its layer.
//! Never: writes a date, a user or a number of chance; the same drawing gives the same bytes.
//! Start at [`write`]. Format: DXF as of AC1009 (R12), the one that every program reads; written by hand, because a library
//! for it stamps each file with the clock and a random identifier.

use crate::plate::{Layer, Mark, Plate, Shape, Words};
use crate::scene::{Point, at};
use crate::symbols::Prim;

/// Height of a capital letter as a share of the size of its text, in DejaVu Sans.
const CAPITAL: f64 = 0.729;

/// Writes the marks, measured from `origin` on the sheet.
pub fn write(plate: &Plate, origin: Point) -> Vec<u8> {
    let mut out = Dxf { text: String::new(), origin };
    out.header(plate);
    out.tables();
    out.pair(0, "SECTION");
    out.pair(2, "ENTITIES");
    for mark in plate.marks.iter().filter(|mark| !mark.is_extra) {
        out.mark(mark);
    }
    out.pair(0, "ENDSEC");
    out.pair(0, "EOF");
    out.text.into_bytes()
}

struct Dxf {
    text: String,
    origin: Point,
}

/// Six decimals at most, without `-0`.
fn number(value: f64) -> String {
    format!("{:?}", (value * 1e6).round() / 1e6 + 0.0)
}

/// ASCII, with the code of every other character.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            ' '..='~' => out.push(c),
            c if c.is_control() => out.push(' '),
            c => {
                let mut units = [0; 2];
                for unit in c.encode_utf16(&mut units) {
                    out.push_str(&format!("\\U+{unit:04X}"));
                }
            }
        }
    }
    out
}

impl Dxf {
    fn pair(&mut self, code: u16, value: &str) {
        self.text.push_str(&format!("{code:>3}\n{value}\n"));
    }

    fn point(&mut self, code: u16, point: Point) {
        let (x, y) = (point.x - self.origin.x, self.origin.y - point.y);
        self.pair(code, &number(x));
        self.pair(code + 10, &number(y));
        self.pair(code + 20, "0.0");
    }

    fn header(&mut self, plate: &Plate) {
        self.pair(0, "SECTION");
        self.pair(2, "HEADER");
        self.pair(9, "$ACADVER");
        self.pair(1, "AC1009");
        self.pair(9, "$DWGCODEPAGE");
        self.pair(3, "ANSI_1252");
        self.pair(9, "$INSUNITS");
        self.pair(70, "4");
        self.pair(9, "$EXTMIN");
        self.point(10, at(0.0, plate.height));
        self.pair(9, "$EXTMAX");
        self.point(10, at(plate.width, 0.0));
        self.pair(0, "ENDSEC");
    }

    fn tables(&mut self) {
        self.pair(0, "SECTION");
        self.pair(2, "TABLES");
        self.table("LTYPE", 1);
        self.pair(0, "LTYPE");
        self.pair(2, "CONTINUOUS");
        self.pair(70, "0");
        self.pair(3, "Solid line");
        self.pair(72, "65");
        self.pair(73, "0");
        self.pair(40, "0.0");
        self.pair(0, "ENDTAB");
        self.table("LAYER", Layer::ALL.len() + 1);
        for (name, colour) in
            std::iter::once(("0", 7)).chain(Layer::ALL.map(|layer| (layer.name(), colour(layer))))
        {
            self.pair(0, "LAYER");
            self.pair(2, name);
            self.pair(70, "0");
            self.pair(62, &colour.to_string());
            self.pair(6, "CONTINUOUS");
        }
        self.pair(0, "ENDTAB");
        self.table("STYLE", 1);
        self.pair(0, "STYLE");
        self.pair(2, "STANDARD");
        self.pair(70, "0");
        self.pair(40, "0.0");
        self.pair(41, "1.0");
        self.pair(50, "0.0");
        self.pair(71, "0");
        self.pair(42, "2.5");
        self.pair(3, "txt");
        self.pair(4, "");
        self.pair(0, "ENDTAB");
        self.pair(0, "ENDSEC");
    }

    fn table(&mut self, name: &str, count: usize) {
        self.pair(0, "TABLE");
        self.pair(2, name);
        self.pair(70, &count.to_string());
    }

    fn entity(&mut self, kind: &str, layer: Layer) {
        self.pair(0, kind);
        self.pair(8, layer.name());
    }

    fn polyline(&mut self, layer: Layer, points: &[Point], is_closed: bool) {
        if points.len() < 2 {
            return;
        }
        if let ([a, b], false) = (points, is_closed) {
            self.entity("LINE", layer);
            self.point(10, *a);
            self.point(11, *b);
            return;
        }
        self.entity("POLYLINE", layer);
        self.pair(66, "1");
        self.point(10, self.origin);
        self.pair(70, if is_closed { "1" } else { "0" });
        for point in points {
            self.entity("VERTEX", layer);
            self.point(10, *point);
        }
        self.entity("SEQEND", layer);
    }

    fn circle(&mut self, layer: Layer, centre: Point, radius: f64) {
        if radius > 0.0 {
            self.entity("CIRCLE", layer);
            self.point(10, centre);
            self.pair(40, &number(radius));
        }
    }

    fn words(&mut self, layer: Layer, words: &Words) {
        self.entity("TEXT", layer);
        self.point(10, words.at);
        self.pair(40, &number(words.size * CAPITAL));
        self.pair(1, &plain(&words.text));
        if words.is_turned {
            self.pair(50, "90.0");
        }
    }

    fn mark(&mut self, mark: &Mark) {
        match &mark.shape {
            Shape::Line(points, _) => self.polyline(mark.layer, points, false),
            Shape::Area(points) => self.polyline(mark.layer, points, true),
            Shape::Circle(centre, radius) => self.circle(mark.layer, *centre, *radius),
            Shape::Text(words) => self.words(mark.layer, words),
            Shape::Symbol(glyph, centre, turns, scale) => {
                let place = |x: f64, y: f64| {
                    let (x, y) = (x * scale, y * scale);
                    let (x, y) = match turns.rem_euclid(4) {
                        0 => (x, y),
                        1 => (y, -x),
                        2 => (-x, -y),
                        _ => (-y, x),
                    };
                    at(centre.x + x, centre.y + y)
                };
                for prim in glyph.prims() {
                    match prim {
                        Prim::Line(d) | Prim::Heavy(d) | Prim::Solid(d) | Prim::Shape(d) => {
                            for stroke in strokes(d) {
                                let points: Vec<Point> =
                                    stroke.into_iter().map(|(x, y)| place(x, y)).collect();
                                self.polyline(mark.layer, &points, false);
                            }
                        }
                        Prim::Circle(radius) => self.circle(mark.layer, *centre, radius * scale),
                        Prim::Letter(x, y, size, letter) => {
                            let words = Words::new(*letter, size * scale);
                            let wide = words.extent().0;
                            let middle = place(*x, *y);
                            self.words(
                                mark.layer,
                                &Words { at: at(middle.x - wide / 2.0, middle.y), ..words },
                            );
                        }
                    }
                }
            }
        }
    }
}

/// The colour of a layer, by the index that DXF gives: 7 is ink on paper.
fn colour(layer: Layer) -> u8 {
    match layer {
        Layer::Outline => 7,
        Layer::Holes => 1,
        Layer::KeepOut => 6,
        Layer::Devices => 5,
        Layer::Cables => 3,
        Layer::Dimensions => 8,
        Layer::Text => 4,
        Layer::Sheet => 9,
    }
}

/// Pieces into which a curve is cut.
const PIECES: u32 = 8;

/// The strokes of a path of our symbols: `M L H V Q T A Z` and their small letters, arcs upright and a half turn long.
fn strokes(d: &str) -> Vec<Vec<(f64, f64)>> {
    let mut all: Vec<Vec<(f64, f64)>> = Vec::new();
    let (mut now, mut first, mut bend) = ((0.0, 0.0), (0.0, 0.0), (0.0, 0.0));
    for (command, values) in commands(d) {
        let by = if command.is_ascii_lowercase() { now } else { (0.0, 0.0) };
        let mut own: Vec<(f64, f64)> = Vec::new();
        let mut next_bend = None;
        match (command.to_ascii_uppercase(), &values[..]) {
            ('M', [x, y]) => {
                first = (x + by.0, y + by.1);
                now = first;
                all.push(vec![now]);
            }
            ('L', [x, y]) => own.push((x + by.0, y + by.1)),
            ('H', [x]) => own.push((x + by.0, now.1)),
            ('V', [y]) => own.push((now.0, y + by.1)),
            ('Z', []) => own.push(first),
            ('Q', [a, b, x, y]) => {
                let handle = (a + by.0, b + by.1);
                own.extend(curve(now, handle, (x + by.0, y + by.1)));
                next_bend = Some(handle);
            }
            ('T', [x, y]) => {
                let handle = (2.0 * now.0 - bend.0, 2.0 * now.1 - bend.1);
                own.extend(curve(now, handle, (x + by.0, y + by.1)));
                next_bend = Some(handle);
            }
            ('A', [rx, ry, _, _, sweep, x, y]) => {
                own.extend(half_turn(now, (*rx, *ry), *sweep > 0.5, (x + by.0, y + by.1)))
            }
            _ => {}
        }
        if let Some(last) = own.last() {
            now = *last;
        }
        bend = next_bend.unwrap_or(now);
        if let Some(stroke) = all.last_mut() {
            stroke.extend(own);
        }
    }
    all
}

fn curve(a: (f64, f64), handle: (f64, f64), b: (f64, f64)) -> impl Iterator<Item = (f64, f64)> {
    (1..=PIECES).map(move |piece| {
        let t = f64::from(piece) / f64::from(PIECES);
        let mix = |a: f64, h: f64, b: f64| (1.0 - t) * (1.0 - t) * a + 2.0 * t * (1.0 - t) * h + t * t * b;
        (mix(a.0, handle.0, b.0), mix(a.1, handle.1, b.1))
    })
}

/// Half an ellipse between two points on a level line.
fn half_turn(a: (f64, f64), (rx, ry): (f64, f64), is_clockwise: bool, b: (f64, f64)) -> Vec<(f64, f64)> {
    let (cx, cy) = ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0);
    let start = if a.0 < b.0 { std::f64::consts::PI } else { 0.0 };
    let way = if is_clockwise { 1.0 } else { -1.0 };
    (1..=2 * PIECES)
        .map(|piece| {
            let angle = start + way * std::f64::consts::PI * f64::from(piece) / f64::from(2 * PIECES);
            (cx + rx * quantity::math::cos(angle), cy + ry * quantity::math::sin(angle))
        })
        .collect()
}

/// Commands with their values; a command with more values than it takes is repeated.
fn commands(d: &str) -> Vec<(char, Vec<f64>)> {
    let mut all: Vec<(char, Vec<f64>)> = Vec::new();
    let mut words: Vec<(char, Vec<f64>)> = Vec::new();
    let mut number = String::new();
    let end = |number: &mut String, words: &mut Vec<(char, Vec<f64>)>| {
        if let (Ok(value), Some((_, values))) = (number.parse::<f64>(), words.last_mut()) {
            values.push(value);
        }
        number.clear();
    };
    for c in d.chars() {
        match c {
            '0'..='9' => number.push(c),
            '.' if !number.contains('.') => number.push(c),
            '-' | '.' => {
                end(&mut number, &mut words);
                number.push(c);
            }
            c if c.is_ascii_alphabetic() => {
                end(&mut number, &mut words);
                words.push((c, Vec::new()));
            }
            _ => end(&mut number, &mut words),
        }
    }
    end(&mut number, &mut words);
    for (command, values) in words {
        let takes = match command.to_ascii_uppercase() {
            'H' | 'V' => 1,
            'M' | 'L' | 'T' => 2,
            'Q' => 4,
            'A' => 7,
            _ => 0,
        };
        if takes == 0 {
            all.push((command, Vec::new()));
        } else {
            all.extend(values.chunks(takes).map(|chunk| (command, chunk.to_vec())));
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::symbols::Glyph;

    #[test]
    fn a_path_becomes_its_strokes() {
        assert_eq!(strokes("M0 -4V4M-1 2H1"), [vec![(0.0, -4.0), (0.0, 4.0)], vec![(-1.0, 2.0), (1.0, 2.0)]]);
        assert_eq!(strokes("M-1.5 -3H1.5V3Z")[0], [(-1.5, -3.0), (1.5, -3.0), (1.5, 3.0), (-1.5, -3.0)]);
        // A quadratic curve halfway is a quarter of each end and half of its handle.
        let bow = &strokes("M0 0q1 -2 2 0")[0];
        assert_eq!((bow[0], bow[4], bow[8]), ((0.0, 0.0), (1.0, -1.0), (2.0, 0.0)));
        let top = strokes("M-2 0a2 1 0 0 1 4 0")[0][8];
        assert!(top.0.abs() < 1e-9 && (top.1 + 1.0).abs() < 1e-9, "{top:?}");
    }

    #[test]
    fn no_symbol_leaves_its_box() {
        use Glyph::*;
        for glyph in [
            Battery, Fuse, Breaker, Residual, Disconnect, Shunt, Relay, Inverter, Controller, Inlet, Transfer,
        ] {
            let (w, h) = glyph.size();
            for prim in glyph.prims() {
                let (Prim::Line(d) | Prim::Heavy(d) | Prim::Solid(d) | Prim::Shape(d)) = prim else {
                    continue;
                };
                for (x, y) in strokes(d).into_iter().flatten() {
                    assert!(
                        x.abs() <= w / 2.0 + 0.6 && y.abs() <= h / 2.0 + 0.6,
                        "{glyph:?}: {x} {y} of {d}"
                    );
                }
            }
        }
    }

    #[test]
    fn letters_beyond_ascii_are_coded() {
        assert_eq!(plain("ø 5 − x\n"), "\\U+00F8 5 \\U+2212 x ");
    }
}
