//! The wiring diagram: every conductor and every terminal that is used once, or once at each sheet with a tag; nothing over words.
//! Never: judges the wiring.
//! Start at [`every_conductor_is_drawn`].

mod drawn;

use std::collections::BTreeMap;

use drawing::scene::{Point, Rect};
use drawing::wiring::lay::{BOX, Item, Wish, lay};
use drawing::wiring::sheets;
use drawing::{SAFETY, wiring};
use drawn::{examples, look, made};
use model::System;

/// A panel of so many circuits, more than a sheet holds.
fn many(circuits: usize) -> System {
    let mut text =
        "[brief]\nname = \"Many\"\ncraft = \"hut\"\nrules = \"iec\"\nvoltage = \"24 V\"\n[bank]\n".to_owned();
    for index in 0..circuits {
        text += &format!(
            "[loads.load-{index}]\npower = \"20 W\"\nhours = \"1 h/day\"\nlength = \"{} m\"\n",
            2 + index % 9
        );
    }
    made("many", text).0
}

fn all() -> Vec<(String, System)> {
    let mut all: Vec<(String, System)> =
        examples().into_iter().map(|(name, system, _)| (name.to_owned(), system)).collect();
    all.push(("many".to_owned(), many(40)));
    all
}

#[test]
fn nothing_is_written_over_words() {
    for (name, system) in all() {
        for (page, sheet) in sheets(&system).iter().enumerate() {
            let over = sheet.texts_over_texts();
            assert!(over.is_empty(), "{name}, sheet {}: {:?}", page + 1, &over[..over.len().min(8)]);
            for (words, rect) in sheet.texts() {
                let is_inside = rect.x >= 1.5 && rect.y >= 1.5 && rect.right() <= sheet.width - 1.5;
                assert!(
                    is_inside && rect.bottom() <= sheet.height - 1.5,
                    "{name}: {:?} leaves the sheet",
                    words.text
                );
            }
            look(&format!("wiring-{name}-{}", page + 1), &sheet.svg(SAFETY), 2400);
        }
    }
}

#[test]
fn every_conductor_is_drawn() {
    for (name, system) in all() {
        let svgs = wiring(&system);
        let trees: Vec<_> =
            svgs.iter().map(|svg| roxmltree::Document::parse(svg).expect("well-formed")).collect();
        let mut devices: BTreeMap<&str, usize> = BTreeMap::new();
        let mut conductors: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        let mut tags: BTreeMap<(usize, &str), usize> = BTreeMap::new();
        for (page, tree) in trees.iter().enumerate() {
            for node in tree.descendants() {
                if let Some(id) = node.attribute("data-device") {
                    *devices.entry(id).or_default() += 1;
                    assert_ne!(page, trees.len());
                }
                if let Some(id) = node.attribute("data-conductor") {
                    conductors.entry(id).or_default().push(page);
                }
                if let Some(terminal) = node.attribute("data-tag") {
                    *tags.entry((page, terminal)).or_default() += 1;
                }
            }
        }
        let page_of = |device: usize| -> usize {
            let id = system.devices[device].id.as_str();
            let has = |tree: &roxmltree::Document<'_>| {
                tree.descendants().any(|node| node.attribute("data-device") == Some(id))
            };
            trees.iter().position(has).unwrap_or_else(|| panic!("{name}: {id} is on no sheet"))
        };
        for device in &system.devices {
            assert_eq!(devices.get(device.id.as_str()), Some(&1), "{name}: {} is drawn once", device.id);
        }
        for conductor in &system.conductors {
            let mut wanted = vec![page_of(conductor.from.device), page_of(conductor.to.device)];
            wanted.sort_unstable();
            wanted.dedup();
            assert_eq!(conductors.get(conductor.id.as_str()), Some(&wanted), "{name}: {}", conductor.id);
            if let [_, _] = wanted[..] {
                for (own, other) in [(conductor.from, conductor.to), (conductor.to, conductor.from)] {
                    let terminal = system.terminal_name(other);
                    let found = tags.get(&(page_of(own.device), terminal.as_str())).copied().unwrap_or(0);
                    assert!(found > 0, "{name}: {} has no tag to {terminal}", conductor.id);
                }
            }
        }
    }
}

/// By the boxes of the layout: each end of each conductor sits on a row of its own of its terminal, at the edge of its box, and
/// no line runs through a box or along another line.
#[test]
fn lines_end_at_their_terminals_and_touch_nothing_else() {
    for (name, system) in all() {
        let devices: Vec<usize> = (0..system.devices.len()).collect();
        let laid = lay(
            &system,
            &devices,
            Wish { columns: 6, is_aligned: true, is_paired: true, is_balanced: false },
        );
        let mut ends: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        for stand in &laid.stands {
            let Item::Device(device) = stand.item else { continue };
            let rows: Vec<_> = stand.left.iter().chain(&stand.right).collect();
            for port in &rows {
                *ends.entry((device, port.terminal.expect("a terminal"))).or_default() += 1;
                assert!(port.down > stand.head && port.down < stand.h, "{name}: a row outside its box");
            }
        }
        for (device, terminals) in system.conductors_at().iter().enumerate() {
            for (terminal, conductors) in terminals.iter().enumerate() {
                let found = ends.get(&(device, terminal)).copied().unwrap_or(0);
                assert_eq!(found, conductors.len(), "{name}: {}", system.devices[device].id);
            }
        }
        let boxes: Vec<Rect> = laid
            .stands
            .iter()
            .filter(|stand| matches!(stand.item, Item::Device(_)))
            .map(|stand| Rect { x: stand.x, y: stand.y, w: BOX, h: stand.h })
            .collect();
        for (at, one) in boxes.iter().enumerate() {
            assert!(boxes[at + 1..].iter().all(|other| !one.overlaps(other, 0.0)), "{name}: boxes overlap");
        }
        let pieces: Vec<(usize, Point, Point)> = laid
            .lines
            .iter()
            .flat_map(|line| line.points.windows(2).map(|pair| (line.wire, pair[0], pair[1])))
            .collect();
        for (at, (wire, a, b)) in pieces.iter().enumerate() {
            assert!((a.x - b.x).abs() < 1e-6 || (a.y - b.y).abs() < 1e-6, "{name}: a slanting line");
            let rect = Rect { x: a.x.min(b.x), y: a.y.min(b.y), w: (a.x - b.x).abs(), h: (a.y - b.y).abs() };
            for other in &boxes {
                let is_through = rect.x < other.right() - 0.05
                    && rect.right() > other.x + 0.05
                    && rect.y < other.bottom() - 0.05
                    && rect.bottom() > other.y + 0.05;
                assert!(!is_through, "{name}: {} runs through a box", system.conductors[*wire].id);
            }
            for (twin, c, d) in &pieces[at + 1..] {
                let along_x = (a.y - b.y).abs() < 1e-6 && (c.y - d.y).abs() < 1e-6 && (a.y - c.y).abs() < 0.5;
                let along_y = (a.x - b.x).abs() < 1e-6 && (c.x - d.x).abs() < 1e-6 && (a.x - c.x).abs() < 0.5;
                let shares =
                    |a: f64, b: f64, c: f64, d: f64| a.max(b).min(c.max(d)) - a.min(b).max(c.min(d)) > 0.05;
                let is_shared =
                    (along_x && shares(a.x, b.x, c.x, d.x)) || (along_y && shares(a.y, b.y, c.y, d.y));
                assert!(
                    wire == twin || !is_shared,
                    "{name}: {} lies on {}",
                    system.conductors[*wire].id,
                    system.conductors[*twin].id
                );
            }
        }
    }
}

#[test]
fn labels_are_those_of_the_system() {
    for (name, system) in all() {
        let svgs = wiring(&system);
        for svg in &svgs {
            let tree = roxmltree::Document::parse(svg).expect("well-formed");
            for node in tree.descendants().filter(|node| node.has_attribute("data-conductor")) {
                let id = node.attribute("data-conductor").expect("an id");
                let conductor =
                    system.conductors.iter().find(|conductor| conductor.id == id).expect("a conductor");
                let said: Vec<&str> = node
                    .children()
                    .filter(|node| node.has_tag_name("text"))
                    .filter_map(|node| node.text())
                    .collect();
                if conductor.is_internal {
                    assert!(said.is_empty(), "{name}: {id} {said:?}");
                    continue;
                }
                assert_eq!(said.len(), 2, "{name}: {id} {said:?}");
                assert!(said[0].starts_with(&format!("{} ", conductor.number)), "{name}: {id} {said:?}");
                assert_eq!(
                    said[1],
                    format!("{} {}", conductor.gauge.brief(), conductor.length),
                    "{name}: {id}"
                );
            }
        }
        assert_eq!(svgs, wiring(&system), "{name}: the same bytes");
    }
}

/// Room for a picture on its side in the booklet \[mm\]: A4 (ISO 216) 297 − 32 by 210 − 62, Letter 279.4 − 32 by 215.9 − 62.
const ROOMS: [(f64, f64); 2] = [(265.0, 148.0), (247.4, 153.9)];

/// A point is 1/72 inch. What a box of one device needs may make its own sheet higher.
#[test]
fn a_sheet_fits_a_page_with_print_of_six_points() {
    for (name, system) in all() {
        let sheets = sheets(&system);
        println!("{name}: {} sheets", sheets.len());
        for (page, sheet) in sheets.iter().enumerate() {
            let svg = sheet.svg(SAFETY);
            let smallest = svg
                .split("font-size=\"")
                .skip(1)
                .filter_map(|rest| rest.split('"').next()?.parse::<f64>().ok())
                .fold(f64::INFINITY, f64::min);
            let boxes = svg.matches("data-device").count();
            for (width, height) in ROOMS {
                let scale = f64::min(1.0, f64::min(width / sheet.width, height / sheet.height));
                let points = smallest * scale * 72.0 / 25.4;
                assert!(points >= 6.0 || boxes == 1, "{name}, sheet {}: {points:.2} pt", page + 1);
                assert!(points >= 6.0 || name == "many", "{name}, sheet {}: {points:.2} pt", page + 1);
            }
        }
    }
}

#[test]
fn every_name_in_a_box_is_whole() {
    for (name, system) in all() {
        for sheet in sheets(&system) {
            for (words, _) in sheet.texts() {
                assert!(!words.text.contains('…'), "{name}: {}", words.text);
            }
        }
    }
}

/// ABYC E-11 (as in the table of the reference crate) and the letter codes of IEC 60757: RD red, YE yellow, GN green, WH white,
/// BK black, BU blue, BN brown, GNYE green-and-yellow. Codes from memory.
#[test]
fn colours_follow_the_rule_set() {
    let letters = |system: &System| -> Vec<String> {
        let svgs = wiring(system);
        let mut found: Vec<String> = Vec::new();
        for svg in &svgs {
            let tree = roxmltree::Document::parse(svg).expect("well-formed");
            for node in tree.descendants().filter(|node| node.has_attribute("data-conductor")) {
                let id = node.attribute("data-conductor").expect("an id");
                let conductor =
                    system.conductors.iter().find(|conductor| conductor.id == id).expect("a conductor");
                let first =
                    node.children().find(|node| node.has_tag_name("text")).and_then(|node| node.text());
                if let Some((_, code)) = first.and_then(|text| text.rsplit_once(' ')) {
                    found.push(format!("{} {code}", conductor.pole.word()));
                }
            }
        }
        found.sort();
        found.dedup();
        found
    };
    let (na, _) = drawn::example("heron");
    assert_eq!(letters(&na), ["earth GN", "line BK", "negative YE", "neutral WH", "positive RD"]);
    let (iec, _) = drawn::example("teal");
    assert_eq!(letters(&iec), ["earth GNYE", "line BN", "negative BK", "neutral BU", "positive RD"]);
}
