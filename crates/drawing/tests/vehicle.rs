//! The plan of the vehicle on paper: no text over a text, all within the sheet, to scale, the same bytes twice.
//! Start at [`heron`].
#![allow(clippy::unwrap_used)]

use std::path::Path;

use board::Vehicle;
use drawing::plate::corners;
use drawing::scene::{Point, Rect};
use drawing::{Mark, SAFETY, VehicleSheet, to_png, vehicle_plan};
use model::{Project, SourceText, System};

fn heron() -> (Vehicle, System) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/heron/intent.toml");
    let source = SourceText { name: "intent.toml".to_owned(), text: std::fs::read_to_string(path).unwrap() };
    let project = Project::read(source, model::library::builtin().clone()).unwrap();
    let system = derive::derive(&project);
    (Vehicle::of(&project, &system).unwrap(), system)
}

#[test]
fn no_text_stands_over_another_and_all_stand_on_the_sheet() {
    let (vehicle, system) = heron();
    let sheet = VehicleSheet::of(&vehicle, &system);
    let texts: Vec<_> = sheet.texts().collect();
    assert!(texts.len() > 80, "{}", texts.len());
    for (at, (a, here)) in texts.iter().enumerate() {
        assert!(
            here.x >= 0.0 && here.right() <= sheet.width && here.bottom() <= sheet.height,
            "{a}: {here:?}"
        );
        for (b, there) in &texts[at + 1..] {
            assert!(!here.overlaps(there, 0.01), "{a} over {b}");
        }
    }
    assert_eq!(sheet.unmarked, Vec::<String>::new());
}

/// Whether a straight line comes into a box, by steps of a tenth of a millimetre.
fn comes_into(a: Point, b: Point, rect: &Rect) -> bool {
    let steps = (((a.x - b.x).abs() + (a.y - b.y).abs()) * 10.0).ceil().max(1.0);
    (0..=steps as usize).map(|step| step as f64 / steps).any(|share| {
        let (x, y) = (a.x + (b.x - a.x) * share, a.y + (b.y - a.y) * share);
        x > rect.x + 0.05 && x < rect.right() - 0.05 && y > rect.y + 0.05 && y < rect.bottom() - 0.05
    })
}

#[test]
fn no_text_stands_over_a_wall_a_point_or_the_line_to_another() {
    let (vehicle, system) = heron();
    let sheet = VehicleSheet::of(&vehicle, &system);
    let mut walls: Vec<(Point, Point)> = Vec::new();
    let mut leads: Vec<(Point, Point)> = Vec::new();
    for mark in &sheet.marks {
        match mark {
            Mark::Line("wall" | "wall out", points) => walls.push((points[0], points[1])),
            Mark::Line("lead", points) => leads.push((points[0], points[1])),
            Mark::Box("hull", rect) => {
                let corners = corners(*rect);
                walls.extend((0..4).map(|at| (corners[at], corners[(at + 1) % 4])));
            }
            _ => {}
        }
    }
    assert!(walls.len() > 10 && !leads.is_empty());
    for (text, rect) in sheet.texts() {
        for (a, b) in &walls {
            assert!(!comes_into(*a, *b, &rect), "{text} over a wall");
        }
        for (a, b) in &leads {
            assert!(!comes_into(*a, *b, &rect), "{text} over a line to another name");
        }
        for mark in &sheet.marks {
            if let Mark::Disc(_, at, radius) = mark {
                let disc = Rect { x: at.x - radius, y: at.y - radius, w: 2.0 * radius, h: 2.0 * radius };
                assert!(!rect.overlaps(&disc, 0.05), "{text} over a point");
            }
        }
    }
}

/// A4 (ISO 216) upright leaves 210 − 32 by 297 − 62 mm for a picture, two of which share 8 mm; a point is 1/72 inch.
#[test]
fn two_pages_of_a4_show_it_in_print_of_six_points() {
    let (vehicle, system) = heron();
    let sheet = VehicleSheet::of(&vehicle, &system);
    let sizes = sheet.marks.iter().filter_map(|mark| match mark {
        Mark::Text(_, _, size, _) => Some(*size),
        _ => None,
    });
    let smallest = sizes.fold(f64::INFINITY, f64::min);
    let scale = f64::min((2.0 * 178.0 - 8.0) / sheet.width, 235.0 / sheet.height);
    assert!(smallest * scale * 72.0 / 25.4 >= 6.0, "{}", smallest * scale * 72.0 / 25.4);
}

#[test]
fn it_is_to_scale() {
    let (vehicle, system) = heron();
    let sheet = VehicleSheet::of(&vehicle, &system);
    let hulls: Vec<_> = sheet
        .marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Box("hull", rect) => Some(*rect),
            _ => None,
        })
        .collect();
    // 5.9 m by 1.8 m and 1.95 m, in millimetres of paper.
    assert_eq!(hulls.len(), 2);
    for (hull, tall) in hulls.iter().zip([1800.0, 1950.0]) {
        assert!((hull.w * sheet.scale - 5900.0).abs() < 1e-6 && (hull.h * sheet.scale - tall).abs() < 1e-6);
    }
}

#[test]
fn every_point_hole_and_run_is_named() {
    let (vehicle, system) = heron();
    let sheet = VehicleSheet::of(&vehicle, &system);
    let all: Vec<&str> = sheet.texts().map(|(text, _)| text).collect();
    for point in &vehicle.points {
        let begins = all.iter().filter(|text| text.split(' ').next() == Some(point.name.as_str())).count();
        assert!(begins >= 2, "{} stands in both views", point.name);
    }
    for hole in &vehicle.holes {
        assert!(all.iter().any(|text| text.starts_with(&format!("H{} ", hole.number))), "{}", hole.number);
    }
    assert!(!vehicle.holes.is_empty() && vehicle.axles.is_some());
}

#[test]
fn the_file_says_the_safety_note_is_an_image_and_the_same_twice() {
    let (vehicle, system) = heron();
    let svg = vehicle_plan(&vehicle, &system);
    assert_eq!(svg, vehicle_plan(&vehicle, &system));
    let read = roxmltree::Document::parse(&svg).unwrap();
    let root = read.root_element();
    let view_box: Vec<&str> = root.attribute("viewBox").unwrap().split(' ').collect();
    assert_eq!(root.attribute("width").unwrap(), format!("{}mm", view_box[2]));
    assert_eq!(root.attribute("height").unwrap(), format!("{}mm", view_box[3]));
    let words: String =
        root.descendants().filter(|node| node.is_text()).filter_map(|node| node.text()).collect();
    assert!(words.contains(SAFETY.split(". ").next().unwrap()));
    assert!(to_png(&svg, 1200).is_ok());
}
