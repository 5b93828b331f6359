//! What is printed at its true size, measured on the rendered page.
//! Never: trusts a size that the file states.
//! Start at `a_drawing_over_sheets_is_true`.
// A panic is the failure here.
#![allow(clippy::unwrap_used)]

mod common;

use booklet::{BookletError, Paper, sheets, tiled};
use common::{Grey, Pdf};

/// 254 dots to the inch: a pixel is 0.1 mm.
const DPI: u32 = 254;

/// A plate of 400 mm by 310 mm with black fields at known places.
const PLATE: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='400mm' height='310mm' viewBox='0 0 400 310'>\
    <rect x='20' y='30' width='120' height='70' fill='black'/>\
    <rect x='170' y='30' width='30' height='70' fill='black'/>\
    <rect x='390' y='300' width='10' height='10' fill='black'/></svg>";

/// Spans of dark along a row of pixels, longer than `least` pixels.
fn across(page: &Grey, y: usize, least: usize) -> Vec<(usize, usize)> {
    spans((0..page.width).map(|x| page.is_dark(x, y)), least)
}

fn down(page: &Grey, x: usize, least: usize) -> Vec<(usize, usize)> {
    spans((0..page.height).map(|y| page.is_dark(x, y)), least)
}

fn spans(dark: impl Iterator<Item = bool>, least: usize) -> Vec<(usize, usize)> {
    let mut spans = Vec::new();
    let mut start = None;
    for (at, is_dark) in dark.chain([false]).enumerate() {
        match (is_dark, start) {
            (true, None) => start = Some(at),
            (false, Some(from)) => {
                if at - from >= least {
                    spans.push((from, at));
                }
                start = None;
            }
            _ => {}
        }
    }
    spans
}

fn mm((from, to): (usize, usize)) -> f64 {
    (to - from) as f64 / 10.0
}

#[test]
fn a_drawing_over_sheets_is_true() {
    for paper in [Paper::A4, Paper::Letter] {
        let pdf = Pdf::of(&tiled(PLATE, "Plate", paper).unwrap());
        let pages = pdf.grey(DPI, 1, pdf.pages());
        assert_eq!(pages.len(), pdf.pages());
        assert!(pages.len() >= 4, "{paper:?}: {} sheets", pages.len());
        let first = &pages[0];
        // The field of 120 mm by 70 mm. The window begins 10 mm from the edge, the drawing 5 mm into it.
        let field = across(first, 10 * (15 + 60), 600)[0];
        assert!(
            (mm(field) - 120.0).abs() < 0.2 || paper == Paper::A4 && mm(field) > 119.8,
            "{paper:?}: {}",
            mm(field)
        );
        assert!((field.0 as f64 / 10.0 - 35.0).abs() < 0.2, "{paper:?}: begins at {}", field.0);
        let tall = down(first, 10 * 90, 500)[0];
        assert!((mm(tall) - 70.0).abs() < 0.2, "{paper:?}: {}", mm(tall));
        // The bar on every sheet.
        for (at, page) in pages.iter().enumerate() {
            let bars: Vec<f64> =
                (page.height - 340..page.height).flat_map(|y| across(page, y, 900)).map(mm).collect();
            assert!(
                !bars.is_empty() && bars.iter().all(|bar| (bar - 100.0).abs() < 0.2),
                "{paper:?} {at}: {bars:?}"
            );
        }
        let text = pdf.raw();
        assert_eq!(text.matches("Print at 100 %, measure the bar").count(), pages.len());
        for name in ["A1", "A2", "B1"] {
            assert!(text.contains(name), "{name} in {text}");
        }
    }
}

/// What stands at a cross on one sheet stands at the matching cross on the next.
#[test]
fn neighbouring_sheets_share_a_strip() {
    // Lines every 10 mm: in the strip both sheets show the same ones, as far from the cross.
    let lines: String = (1..40)
        .map(|at| format!("<rect x='{}' y='5' width='1' height='20' fill='black'/>", at * 10))
        .collect();
    let svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='400mm' height='30mm' viewBox='0 0 400 30'>{lines}</svg>"
    );
    let pdf = Pdf::of(&tiled(&svg, "Comb", Paper::A4).unwrap());
    let pages = pdf.grey(DPI, 1, 2);
    let teeth = |page: &Grey| -> Vec<f64> {
        across(page, 10 * 25, 8)
            .into_iter()
            .filter(|span| span.1 - span.0 < 13)
            .map(|span| span.0 as f64 / 10.0)
            .collect()
    };
    // Upright: 190 mm of window, 10 mm shared; on its side 277 mm. The step is what is left.
    let step = if pages[0].width > pages[0].height { 267.0 } else { 180.0 };
    let (left, right) = (teeth(&pages[0]), teeth(&pages[1]));
    let edge = 15.0 + step - 5.0;
    let shared = left.iter().filter(|at| **at > edge).count();
    assert!(shared >= 1, "{left:?}");
    for at in left.iter().filter(|at| **at > edge) {
        assert!(right.iter().any(|other| (other + step - at).abs() < 0.2), "{at} of {left:?} in {right:?}");
    }
}

#[test]
fn a_picture_on_its_sheet_is_true() {
    let svg = |width: u32, height: u32| {
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='{width}mm' height='{height}mm' viewBox='0 0 {width} {height}'>\
                 <rect x='10' y='10' width='100' height='50' fill='black'/></svg>"
        )
    };
    let pdf = Pdf::of(&sheets(&[svg(210, 297), svg(150, 80), svg(280, 100)], "Labels", Paper::A4).unwrap());
    let sizes = pdf.sizes();
    assert!((sizes[0].0 - 210.0).abs() < 0.02 && (sizes[2].0 - 297.0).abs() < 0.02, "{sizes:?}");
    let pages = pdf.grey(DPI, 1, 3);
    let (left, top) = (10.0, 10.0);
    let field = across(&pages[0], 350, 100)[0];
    assert!((mm(field) - 100.0).abs() < 0.2 && (field.0 as f64 / 10.0 - left).abs() < 0.2, "{field:?}");
    let tall = down(&pages[0], 500, 100)[0];
    assert!((mm(tall) - 50.0).abs() < 0.2 && (tall.0 as f64 / 10.0 - top).abs() < 0.2, "{tall:?}");
    // The small one stands in the middle.
    let field = across(&pages[1], 10 * (297 - 80) / 2 + 350, 100)[0];
    assert!((mm(field) - 100.0).abs() < 0.2 && (field.0 as f64 / 10.0 - 40.0).abs() < 0.2, "{field:?}");
}

#[test]
fn what_cannot_be_printed_is_refused() {
    let plate = [PLATE.to_owned()];
    assert!(matches!(sheets(&plate, "Plate", Paper::A4), Err(BookletError::TooLarge { .. })));
    let vast = PLATE.replace("'400mm'", "'90000mm'");
    assert!(matches!(tiled(&vast, "Plate", Paper::A4), Err(BookletError::TooMany { .. })));
    let pixels = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 10 10'/>";
    assert!(matches!(tiled(pixels, "Plate", Paper::Letter), Err(BookletError::Picture { .. })));
    assert!(tiled("", "", Paper::A4).is_err() && sheets(&[String::new()], "", Paper::A4).is_err());
}

#[test]
fn the_same_picture_gives_the_same_bytes() {
    let make = || tiled(PLATE, "Plate", Paper::A4).unwrap();
    assert_eq!(make(), make());
}
