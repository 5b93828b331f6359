//! What a reader sees of a chart: its texts with their places, its bars, its axis.
//! Never: uses the code that drew it; `ttf-parser` measures the texts with the font itself.
//! Start at [`texts`] and [`axis`].
#![allow(dead_code, reason = "the tests use different parts")]

use roxmltree::{Document, Node};

pub fn read(svg: &str) -> Document<'_> {
    Document::parse(svg).expect("well-formed")
}

pub fn num(node: &Node, name: &str) -> f64 {
    node.attribute(name).and_then(|text| text.parse().ok()).expect("a number")
}

pub fn of_series<'a>(doc: &'a Document<'a>, series: &str) -> Vec<Node<'a, 'a>> {
    doc.descendants().filter(|node| node.attribute("data-series") == Some(series)).collect()
}

/// Left, top, width and height of each bar of a series.
pub fn bars(doc: &Document, series: &str) -> Vec<[f64; 4]> {
    let place = |node: &Node| ["x", "y", "width", "height"].map(|name| num(node, name));
    of_series(doc, series).iter().map(place).collect()
}

pub struct Text {
    pub text: String,
    /// Left, top, right, bottom.
    pub place: [f64; 4],
    pub baseline: f64,
    pub has_halo: bool,
}

impl Text {
    pub fn middle(&self) -> f64 {
        self.place[0].midpoint(self.place[2])
    }
}

pub fn texts(doc: &Document) -> Vec<Text> {
    let faces = [dejavu::sans::regular(), dejavu::sans::bold()]
        .map(|data| ttf_parser::Face::parse(data, 0).expect("a font"));
    let text = |node: Node| {
        let face = &faces[usize::from(node.attribute("font-weight").is_some())];
        let text = node.text().unwrap_or_default();
        let (x, y, size) = (num(&node, "x"), num(&node, "y"), num(&node, "font-size"));
        let advance =
            |c| face.glyph_index(c).and_then(|id| face.glyph_hor_advance(id)).map_or(0.0, f64::from);
        let width = text.chars().map(advance).sum::<f64>() * size / f64::from(face.units_per_em());
        Text {
            text: text.to_owned(),
            place: [x, y - 0.76 * size, x + width, y + 0.23 * size],
            baseline: y,
            has_halo: node.attribute("paint-order").is_some(),
        }
    };
    doc.descendants().filter(|node| node.has_tag_name("text")).map(text).collect()
}

/// Whether words are there, also where a line breaks between them.
pub fn has_text(doc: &Document, words: &str) -> bool {
    texts(doc).into_iter().map(|text| text.text).collect::<Vec<_>>().join(" ").contains(words)
}

/// Every text lies in the frame, and no two meet.
pub fn texts_stand_apart(name: &str, svg: &str) {
    let doc = read(svg);
    let frame = doc.root_element().attribute("viewBox").expect("a frame");
    let height: f64 = frame.split(' ').nth(3).and_then(|part| part.parse().ok()).expect("a height");
    let texts = texts(&doc);
    assert!(!texts.is_empty(), "{name}");
    for (at, text) in texts.iter().enumerate() {
        let own = text.place;
        let is_inside = own[0] >= 0.0 && own[1] >= 0.0 && own[2] <= 360.0 && own[3] <= height;
        assert!(is_inside, "{name}: {}: {own:?}", text.text);
        for other in &texts[..at] {
            let b = other.place;
            let is_apart = own[0] >= b[2] || b[0] >= own[2] || own[1] >= b[3] || b[1] >= own[3];
            assert!(is_apart, "{name}: {} meets {}", text.text, other.text);
        }
    }
}

/// Left, top, right and bottom of a rectangle, or of the places that a path names (`M`, `L`, `H`, `h`, `a`, `l`).
pub fn boxes(node: &Node) -> [f64; 4] {
    if node.has_tag_name("rect") {
        let [x, y, w, h] = ["x", "y", "width", "height"].map(|name| num(node, name));
        return [x, y, x + w, y + h];
    }
    let mut at = [0.0, 0.0];
    let mut seen = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    let mut steps: Vec<(char, String)> = Vec::new();
    for c in node.attribute("d").expect("a path").chars() {
        if c.is_ascii_alphabetic() {
            steps.push((c, String::new()));
        } else if let Some(step) = steps.last_mut() {
            if c == '-' {
                step.1.push(' ');
            }
            step.1.push(c);
        }
    }
    for (step, rest) in steps {
        let n: Vec<f64> = rest.split_whitespace().map(|part| part.parse().expect("a number")).collect();
        let reach = if step == 'a' { n[0] } else { 0.0 };
        match step {
            'M' | 'L' => at = [n[0], n[1]],
            'H' => at[0] = n[0],
            'V' => at[1] = n[0],
            'h' => at[0] += n[0],
            'l' => at = [at[0] + n[0], at[1] + n[1]],
            'a' => at = [at[0] + n[5], at[1] + n[6]],
            _ => {}
        }
        let [x, y] = at;
        seen = [seen[0].min(x), seen[1].min(y - reach), seen[2].max(x), seen[3].max(y + reach)];
    }
    seen
}

/// The scale that the printed numbers at the left give.
pub struct Axis {
    pub zero: f64,
    per_unit: f64,
}

impl Axis {
    /// What a height is worth.
    pub fn value(&self, height: f64) -> f64 {
        height / self.per_unit
    }
}

/// From the lowest and the highest number at the left. A number stands level with its rule: 3.3 below it.
pub fn axis(doc: &Document) -> Axis {
    let numbers: Vec<(f64, f64)> = texts(doc)
        .iter()
        .filter(|text| text.place[2] < 37.0)
        .filter_map(|text| text.text.parse().ok().map(|value| (value, text.baseline - 3.3)))
        .collect();
    let rules: Vec<f64> = of_series(doc, "rule").iter().map(|node| boxes(node)[1]).collect();
    for (value, y) in &numbers {
        assert!(rules.iter().any(|rule| (rule - y).abs() < 0.02), "{value} stands at no rule");
    }
    let by = |a: &&(f64, f64), b: &&(f64, f64)| a.0.total_cmp(&b.0);
    let (low, high) =
        (numbers.iter().min_by(by).expect("a number"), numbers.iter().max_by(by).expect("a number"));
    assert_eq!(low.0, 0.0);
    Axis { zero: low.1, per_unit: (low.1 - high.1) / high.0 }
}
