//! The board drawing: true to scale, complete, no text over text; measured on its rendered picture too.
//! Never: judges the layout.
//! Start at [`nothing_is_written_over_words`].

mod drawn;

use std::collections::BTreeSet;

use board::Layout;
use drawing::mounting::{self, plate};
use drawing::plate::{Layer, Shape};
use drawing::scene::Rect;
use drawing::{SAFETY, board as draw, to_png};
use drawn::{examples, look, made};
use model::System;

/// A board with a wheel arch, a keep-out and a size of its own.
fn notched() -> (System, Layout) {
    made(
        "notched",
        "[brief]\nname = \"Notched & <odd>\"\ncraft = \"van\"\nrules = \"iec\"\nvoltage = \"12 V\"\n\
         [bank]\nchemistry = \"lfp\"\n[solar.roof]\nmodule = \"module-200w\"\ncount = 2\nlength = \"5 m\"\n\
         [loads.fridge]\npart = \"fridge-90l\"\nlength = \"3 m\"\n\
         [board]\nwidth = \"900 mm\"\nheight = \"700 mm\"\nnotches = [{ x = \"300 mm\", y = \"0 mm\", width = \"250 mm\", height = \"180 mm\" }]\n\
         keep_out = [{ x = \"700 mm\", y = \"500 mm\", width = \"150 mm\", height = \"120 mm\" }]\n"
            .to_owned(),
    )
}

fn all() -> Vec<(&'static str, System, Layout)> {
    let mut all = examples();
    let (system, layout) = notched();
    all.push(("notched", system, layout));
    all
}

#[test]
fn nothing_is_written_over_words() {
    for (name, system, layout) in all() {
        let plate = plate(&layout, &system);
        let over = plate.texts_over_texts();
        assert!(
            over.is_empty(),
            "{name}: {} texts lie over others: {:?}",
            over.len(),
            &over[..over.len().min(8)]
        );
        for (words, rect) in plate.texts() {
            let is_inside = rect.x >= 6.0 && rect.y >= 6.0 && rect.right() <= plate.width - 6.0;
            assert!(
                is_inside && rect.bottom() <= plate.height - 6.0,
                "{name}: {:?} leaves the sheet",
                words.text
            );
        }
        look(&format!("board-{name}"), &plate.svg(SAFETY), 3000);
    }
}

/// Nobody drills where a word hides the middle of a hole, nor wires a terminal that is not seen.
#[test]
fn no_word_hides_a_hole_or_a_terminal() {
    for (name, system, layout) in all() {
        let plate = plate(&layout, &system);
        let spots: Vec<_> = plate
            .marks
            .iter()
            .filter(|mark| matches!(mark.layer, Layer::Holes | Layer::Devices))
            .filter_map(|mark| match mark.shape {
                Shape::Circle(centre, radius) => Some((centre, radius)),
                _ => None,
            })
            .collect();
        assert!(spots.len() > layout.holes.len(), "{name}");
        for (centre, radius) in spots {
            let spot = Rect { x: centre.x - radius, y: centre.y - radius, w: 2.0 * radius, h: 2.0 * radius };
            for (words, rect) in plate.texts() {
                assert!(!rect.overlaps(&spot, 0.1), "{name}: {:?} over {centre:?}", words.text);
            }
        }
    }
}

/// A name stands within its device, or off every device with a line to its own.
#[test]
fn every_device_is_named_in_full() {
    for (name, system, layout) in all() {
        let plate = plate(&layout, &system);
        let (left, foot) = (mounting::origin(&layout).x, mounting::origin(&layout).y);
        let boxes: Vec<Rect> = layout
            .devices
            .iter()
            .map(|placed| Rect {
                x: left + f64::from(placed.rect.x_mm),
                y: foot - f64::from(placed.rect.top()),
                w: f64::from(placed.rect.width_mm),
                h: f64::from(placed.rect.height_mm),
            })
            .collect();
        for (placed, own) in layout.devices.iter().zip(&boxes) {
            let of = Some(("data-device", placed.id.clone()));
            let marks: Vec<_> = plate.marks.iter().filter(|mark| mark.of == of).collect();
            let lines: Vec<_> = marks
                .iter()
                .filter_map(|mark| match &mark.shape {
                    Shape::Text(words)
                        if !["+", "−", "L", "L2", "N", "PE"].contains(&words.text.as_str()) =>
                    {
                        Some(words)
                    }
                    _ => None,
                })
                .collect();
            let said: Vec<&str> = lines.iter().map(|words| words.text.as_str()).collect();
            assert_eq!(said.join(" "), placed.title, "{name}");
            let is_on = lines.iter().all(|words| {
                let rect = words.rect();
                rect.x >= own.x
                    && rect.y >= own.y
                    && rect.right() <= own.right()
                    && rect.bottom() <= own.bottom()
            });
            let is_off =
                lines.iter().all(|words| boxes.iter().all(|other| !words.rect().overlaps(other, 0.0)));
            let has_leader =
                marks.iter().any(|mark| mark.layer == Layer::Text && matches!(mark.shape, Shape::Line(..)));
            assert!(is_on || (is_off && has_leader), "{name}: {}", placed.title);
        }
    }
}

#[test]
fn the_check_of_words_can_fail() {
    let (system, layout) = notched();
    let mut plate = plate(&layout, &system);
    let twin = plate.marks.iter().rfind(|mark| matches!(mark.shape, drawing::plate::Shape::Text(_))).cloned();
    plate.marks.extend(twin);
    assert_eq!(plate.texts_over_texts().len(), 1);
}

#[test]
fn everything_on_the_board_is_in_its_drawing() {
    for (name, system, layout) in all() {
        let svg = draw(&layout, &system);
        let tree = roxmltree::Document::parse(&svg).unwrap_or_else(|error| panic!("{name}: {error}"));
        let of = |key: &str| -> BTreeSet<String> {
            tree.descendants().filter_map(|node| node.attribute(key)).map(str::to_owned).collect()
        };
        let said: BTreeSet<String> = tree
            .descendants()
            .filter(|node| node.has_tag_name("text"))
            .filter_map(|node| node.text())
            .map(str::to_owned)
            .collect();
        let (devices, holes) = (of("data-device"), of("data-hole"));
        for placed in &layout.devices {
            assert!(devices.contains(&placed.id), "{name}: {}", placed.id);
        }
        assert_eq!(holes.len(), layout.holes.len(), "{name}: holes");
        assert_eq!(of("data-row").len(), layout.holes.len(), "{name}: rows of the hole table");
        let conductors: BTreeSet<String> =
            of("data-conductor").iter().flat_map(|ids| ids.split(' ')).map(str::to_owned).collect();
        for route in &layout.routes {
            assert!(route.ids.iter().all(|id| conductors.contains(id)), "{name}: {:?}", route.ids);
            // The run stands at every end on the board.
            let head = format!("{} ", route.number);
            let groups = tree.descendants().filter(|node| node.attribute("data-run") == Some(head.trim()));
            let count: usize = groups
                .flat_map(|group| group.children())
                .filter(|node| node.text().is_some_and(|text| text.starts_with(&head)))
                .count();
            let ends = if route.leaves { 1 } else { 2 };
            let same = layout.routes.iter().filter(|other| other.number == route.number);
            let wanted: usize = same.map(|other| if other.leaves { 1 } else { 2 }).sum();
            assert!(
                count >= ends && count == wanted,
                "{name}: run {} has {count} of {wanted} marks",
                route.number
            );
        }
        let words = said.iter().cloned().collect::<Vec<_>>().join(" ");
        for word in SAFETY.split(' ') {
            assert!(words.contains(word), "{name}: {word}");
        }
    }
}

/// Where the lower left corner of the board lies, and its size, as drawn.
fn edge(svg: &str) -> (f64, f64, f64, f64) {
    let tree = roxmltree::Document::parse(svg).expect("well-formed");
    let group = tree.descendants().find(|node| node.attribute("data-edge") == Some("0")).expect("an edge");
    let d = group.children().find_map(|node| node.attribute("d")).expect("a path");
    let numbers: Vec<f64> = d
        .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter_map(|number| number.parse().ok())
        .collect();
    let of = |from: usize, pick: fn(f64, f64) -> f64| {
        numbers.iter().skip(from).step_by(2).copied().reduce(pick).expect("a number")
    };
    (of(0, f64::min), of(1, f64::max), of(0, f64::max) - of(0, f64::min), of(1, f64::max) - of(1, f64::min))
}

#[test]
fn a_millimetre_is_a_millimetre() {
    for (name, system, layout) in all() {
        let svg = draw(&layout, &system);
        let tree = roxmltree::Document::parse(&svg).expect("well-formed");
        let root = tree.root_element();
        let side = |key: &str| {
            root.attribute(key).and_then(|w| w.strip_suffix("mm")).expect("millimetres").to_owned()
        };
        assert_eq!(
            root.attribute("viewBox"),
            Some(format!("0 0 {} {}", side("width"), side("height")).as_str())
        );
        let (left, foot, width, height) = edge(&svg);
        let (own_width, own_height) = layout.plan.outline.extent();
        assert_eq!((width, height), (f64::from(own_width), f64::from(own_height)), "{name}");
        for (ix, hole) in layout.holes.iter().enumerate() {
            let id = (ix + 1).to_string();
            let circle = tree
                .descendants()
                .filter(|node| node.has_tag_name("circle"))
                .find(|node| {
                    node.parent().and_then(|group| group.attribute("data-hole")) == Some(id.as_str())
                })
                .expect("a circle");
            let number =
                |key: &str| circle.attribute(key).and_then(|n| n.parse::<f64>().ok()).expect("a number");
            assert!((number("cx") - left - f64::from(hole.x_mm)).abs() < 0.005, "{name}: hole {id}");
            assert!((foot - number("cy") - f64::from(hole.y_mm)).abs() < 0.005, "{name}: hole {id}");
            assert!((number("r") - hole.diameter.get() * 500.0).abs() < 0.006, "{name}: hole {id}");
        }
    }
}

/// The picture as the renderer makes it at a known number of dots to the millimetre: the scale bar must measure 100 mm and
/// the board its own width and height.
#[test]
fn the_rendered_picture_is_to_scale() {
    const DOTS_A_MM: u32 = 4;
    let (system, layout) = notched();
    let svg = draw(&layout, &system);
    let plate = plate(&layout, &system);
    let png = to_png(&svg, plate.width as u32 * DOTS_A_MM).expect("a picture");
    let picture = resvg::tiny_skia::Pixmap::decode_png(&png).expect("a picture");
    assert_eq!(
        (picture.width(), picture.height()),
        (plate.width as u32 * DOTS_A_MM, plate.height as u32 * DOTS_A_MM)
    );
    let dots = f64::from(DOTS_A_MM);
    let grey = |x: u32, y: u32| picture.pixel(x, y).map_or(0, |p| u32::from(p.red()) + u32::from(p.green()));
    // The bar: along its upper line of ink, from its first dark dot to its last.
    let tree = roxmltree::Document::parse(&svg).expect("well-formed");
    let bar = tree.descendants().find(|node| node.attribute("data-scale") == Some("100")).expect("a bar");
    let d = bar.children().find_map(|node| node.attribute("d")).expect("a path");
    let start: Vec<f64> = d[1..].split(['L', ' ']).filter_map(|n| n.parse().ok()).take(2).collect();
    let row = ((start[1] - 0.1) * dots) as u32;
    let dark: Vec<u32> =
        ((10.0 * dots) as u32..(115.5 * dots) as u32).filter(|x| grey(*x, row) < 350).collect();
    let (first, last) = (dark[0], *dark.last().expect("ink"));
    assert_eq!(dark.len() as u32, last - first + 1, "the line of the bar is one piece");
    let long = f64::from(last - first + 1) / dots;
    assert!((long - 100.0).abs() <= 0.25, "the scale bar measures {long} mm in the picture");
    // The board: between the middles of its edges, each 0.7 mm of ink.
    let (left, foot, width, height) = edge(&svg);
    let middle = |line: &mut dyn Iterator<Item = (u32, u32)>| -> f64 {
        let dark: Vec<u32> = line.filter(|(_, grey)| *grey < 250).map(|(at, _)| at).collect();
        assert!(!dark.is_empty(), "an edge of ink");
        (f64::from(dark[0]) + f64::from(dark[dark.len() - 1]) + 1.0) / 2.0 / dots
    };
    // Looked for where nothing else stands: within 1 mm of each edge, a little above the foot and right of the left edge.
    let span = |at: f64| ((at - 1.0) * dots) as u32..((at + 1.0) * dots) as u32;
    let (y, x) = (((foot - 3.0) * dots) as u32, ((left + 3.0) * dots) as u32);
    let left_edge = middle(&mut span(left).map(|x| (x, grey(x, y))));
    let right_edge = middle(&mut span(left + width).map(|x| (x, grey(x, y))));
    let lower = middle(&mut span(foot).map(|y| (y, grey(x, y))));
    let upper = middle(&mut span(foot - height).map(|y| (y, grey(x, y))));
    assert!((right_edge - left_edge - 900.0).abs() <= 0.25, "{}", right_edge - left_edge);
    assert!((lower - upper - 700.0).abs() <= 0.25, "{}", lower - upper);
}

#[test]
fn the_same_board_gives_the_same_bytes() {
    for (name, system, layout) in all() {
        assert_eq!(draw(&layout, &system), draw(&layout, &system), "{name}");
    }
}
