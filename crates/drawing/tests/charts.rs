//! Charts: texts in the frame and apart, bars as high as their values, the same bytes, names escaped.
//! Never: takes the drawing's word for it; `roxmltree` reads the SVG and `ttf-parser` measures the texts.
//! Start at `every_text_stands_in_the_frame_and_apart`.

mod sample;

use drawing::chart::{nice_ticks, worst_week};
use roxmltree::{Document, Node};

fn read(svg: &str) -> Document<'_> {
    Document::parse(svg).expect("well-formed")
}

fn num(node: &Node, name: &str) -> f64 {
    node.attribute(name).and_then(|text| text.parse().ok()).expect("a number")
}

#[test]
fn every_text_stands_in_the_frame_and_apart() {
    let faces = [dejavu::sans::regular(), dejavu::sans::bold()]
        .map(|data| ttf_parser::Face::parse(data, 0).expect("a font"));
    for (name, svg) in sample::all() {
        let doc = read(&svg);
        let height: f64 = doc
            .root_element()
            .attribute("viewBox")
            .expect("a frame")
            .split(' ')
            .nth(3)
            .expect("four")
            .parse()
            .expect("a number");
        let mut boxes: Vec<(String, [f64; 4])> = Vec::new();
        for node in doc.descendants().filter(|node| node.has_tag_name("text")) {
            let face = &faces[usize::from(node.attribute("font-weight").is_some())];
            let text = node.text().unwrap_or_default();
            let (x, y, size) = (num(&node, "x"), num(&node, "y"), num(&node, "font-size"));
            let advance =
                |c| face.glyph_index(c).and_then(|id| face.glyph_hor_advance(id)).map_or(0.0, f64::from);
            let width = text.chars().map(advance).sum::<f64>() * size / f64::from(face.units_per_em());
            let own = [x, y - 0.76 * size, x + width, y + 0.23 * size];
            assert!(
                own[0] >= 0.0 && own[1] >= 0.0 && own[2] <= 360.0 && own[3] <= height,
                "{name}: {text}: {own:?}"
            );
            for (other, b) in &boxes {
                let is_apart = own[0] >= b[2] || b[0] >= own[2] || own[1] >= b[3] || b[1] >= own[3];
                assert!(is_apart, "{name}: {text} meets {other}");
            }
            boxes.push((text.to_owned(), own));
        }
        assert!(!boxes.is_empty() && !svg.contains("NaN") && !svg.contains("inf"), "{name}");
    }
}

#[test]
fn bars_are_as_high_as_their_values() {
    let (year, svg) = (sample::year(), drawing::chart::months(&sample::year()));
    let doc = read(&svg);
    let heights = |series: &str| -> Vec<f64> {
        doc.descendants()
            .filter(|n| n.attribute("data-series") == Some(series))
            .map(|n| num(&n, "height"))
            .collect()
    };
    let sun = heights("Sun");
    let per_unit = sun[6] / year.months[6].books.sun_wh;
    let all = ["Sun", "Engine", "Shore", "Generator"].iter().flat_map(|name| heights(name)).sum::<f64>();
    // Heights are written with two decimals; about 40 rectangles.
    assert!((all - year.total.came_in() * per_unit).abs() < 0.01 * 40.0);
    for (at, height) in sun.iter().enumerate() {
        assert!((height - year.months[at].books.sun_wh * per_unit).abs() < 0.02, "month {at}");
    }
    assert_eq!(heights("Short").len(), year.months.iter().filter(|m| m.books.short_wh > 0.0).count());
}

#[test]
fn every_text_that_carries_meaning_is_there() {
    for (name, words) in [
        ("months", &["Jan", "Dec", "Sun", "Short", "kWh a month"][..]),
        ("charge", &["Jan", "Dec", "typical year", "median year", "lowest that may be used"]),
        ("week", &["9 Jan", "15 Jan", "Engine", "% charge"]),
        ("chance", &["Jan", "Dec"]),
        ("trip", &["12 Jan", "20 Jan", "Taken"]),
        ("trade", &["cost [EUR]", "8"]),
    ] {
        let all = sample::all();
        let svg = &all.iter().find(|chart| chart.0 == name).expect("drawn").1;
        let doc = read(svg);
        for word in words {
            assert!(
                doc.descendants().any(|n| n.has_tag_name("text") && n.text() == Some(*word)),
                "{name}: {word}"
            );
        }
    }
}

#[test]
fn the_same_input_gives_the_same_bytes_and_names_are_escaped() {
    assert_eq!(sample::all(), sample::all());
    for (_, svg) in sample::all() {
        let doc = read(&svg);
        for tag in ["title", "desc"] {
            assert_eq!(doc.root_element().children().filter(|n| n.has_tag_name(tag)).count(), 1);
        }
        assert!(drawing::to_png(&svg, 360).is_ok());
    }
    assert!(sample::all()[1].1.contains("&lt;climate&gt; &amp;"));
}

#[test]
fn a_missing_value_breaks_the_line() {
    let mut week = sample::week();
    week.soc[50] = f64::NAN;
    let svg = worst_week(&week);
    let doc = read(&svg);
    let line = doc.descendants().find(|n| n.attribute("data-series") == Some("charge")).expect("a line");
    assert_eq!(line.attribute("d").expect("a path").matches('M').count(), 2);
}

// Heckbert 1990, "Nice numbers for graph labels", Graphics Gems: steps are 1, 2 or 5 times a power of ten and the
// ticks enclose the data. Its example, from memory: 105 to 543 gives 100, 200, ... 600.
#[test]
fn ticks_are_heckberts() {
    assert_eq!(nice_ticks(105.0, 543.0, 5), [100.0, 200.0, 300.0, 400.0, 500.0, 600.0]);
    for (low, high) in [(0.0, 0.037), (-7.0, 12.0), (1e6, 1.3e6), (0.0, 0.0), (f64::NAN, f64::NAN)] {
        let ticks = nice_ticks(low, high, 5);
        let step = ticks[1] - ticks[0];
        let lead = step / 10f64.powf((step * 1.000_001).log10().floor());
        assert!([1.0, 2.0, 5.0].iter().any(|nice| (lead - nice).abs() < 1e-6), "{low} to {high}: {step}");
        assert!(low.is_nan() || ticks[0] <= low && ticks[ticks.len() - 1] >= high - 1e-9);
    }
}
