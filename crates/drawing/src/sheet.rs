//! The sheet round a drawing: its size, frame, legend, safety note and title block.
//! Never: shrinks text; a drawing that does not fit gets a larger sheet.
//! Start at [`Sheet::of`].

use std::collections::BTreeSet;

use model::{Craft, System};
use reference::RuleSet;

use crate::graph::Net;
use crate::layout::{Wish, layout};
use crate::scene::{Anchor, Facing, Label, Line, Rect, Scene, Stroke, Symbol, at, size};
use crate::symbols::Glyph;
use crate::text::{SMALL, wrap};

/// Standard sheets, landscape, ISO 216: name, width and height \[mm\].
const SHEETS: [(&str, f64, f64); 5] = [
    ("A4", 297.0, 210.0),
    ("A3", 420.0, 297.0),
    ("A2", 594.0, 420.0),
    ("A1", 841.0, 594.0),
    ("A0", 1189.0, 841.0),
];
/// Edge of the paper to the frame \[mm\].
const MARGIN: f64 = 8.0;
/// Frame to the drawing \[mm\].
const AIR: f64 = 4.0;
/// Width of the title block and of the safety note \[mm\].
const TITLE: f64 = 70.0;
/// Width of one column of the legend \[mm\].
const KEY: f64 = 44.0;
/// Height of one row of the legend \[mm\].
const KEY_ROW: f64 = 6.5;

/// What every sheet says: the tool is no judge of what was built.
pub const SAFETY: &str = "Mains voltage and large batteries can kill and burn. Local codes and a licensed \
electrician decide. The tool checks what it is told, not what was built.";

/// A finished sheet.
pub struct Sheet {
    /// Name of its size.
    pub name: String,
    /// Width \[mm\].
    pub width: f64,
    /// Height \[mm\].
    pub height: f64,
    /// The drawing, at its place.
    pub scene: Scene,
    /// Legend, note and title block.
    pub furniture: Scene,
    /// Frames of the sheet and of its strip.
    pub frames: Vec<Rect>,
}

impl Sheet {
    /// Draws a system on the smallest sheet that holds it.
    pub fn of(system: &System) -> Sheet {
        let net = Net::of(system);
        let mut tried: Vec<(f64, Scene)> = Vec::new();
        let sizes = net.names.iter().chain(&net.runs).map(|lines| size(lines));
        let words: f64 = sizes.map(|(w, h)| w * h).sum();
        for (name, width, height) in SHEETS {
            let strip = strip_height(system, width);
            let (room_w, room_h) = (width - 2.0 * (MARGIN + AIR), height - 2.0 * (MARGIN + AIR) - strip);
            // A sheet of which words alone would fill half is not tried.
            if name != "A0" && words * 2.0 > room_w * room_h {
                continue;
            }
            let mut best: Option<(f64, Scene)> = None;
            'columns: for step in 0..8 {
                let column = 36.0 + (room_h - 36.0) * f64::from(step) / 8.0;
                for height in [0.0, 0.6 * room_h, 0.8 * room_h, room_h] {
                    let scene = layout(system, &net, Wish { column, height });
                    let bounds = scene.bounds();
                    if height == 0.0 && bounds.h > room_h {
                        // Taller columns only make it higher.
                        break 'columns;
                    }
                    if bounds.w <= room_w && bounds.h <= room_h {
                        // The drawing whose shape is nearest to that of the sheet is the most even.
                        let odd = (bounds.w / room_w - bounds.h / room_h).abs();
                        if best.as_ref().is_none_or(|(least, _)| odd < *least) {
                            best = Some((odd, scene));
                        }
                    } else if bounds.h <= room_h && name == "A0" {
                        tried.push((bounds.w, scene));
                    }
                }
            }
            if let Some((_, scene)) = best {
                return Sheet::furnish(system, name.to_owned(), width, height, strip, scene);
            }
        }
        // Larger than the largest standard sheet: as long a roll as it takes.
        let scene = tried
            .into_iter()
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map_or_else(|| layout(system, &net, Wish { column: 700.0, height: 0.0 }), |(_, scene)| scene);
        let bounds = scene.bounds();
        let up = |size: f64| (size / 10.0).ceil() * 10.0;
        let width = up(bounds.w + 2.0 * (MARGIN + AIR)).max(1189.0);
        let strip = strip_height(system, width);
        let height = up(bounds.h + 2.0 * (MARGIN + AIR) + strip).max(841.0);
        Sheet::furnish(system, "roll".to_owned(), width, height, strip, scene)
    }

    fn furnish(
        system: &System,
        name: String,
        width: f64,
        height: f64,
        strip: f64,
        mut scene: Scene,
    ) -> Sheet {
        let bounds = scene.bounds();
        let (room_w, room_h) = (width - 2.0 * MARGIN, height - 2.0 * MARGIN - strip);
        scene.shift(
            MARGIN + (room_w - bounds.w) / 2.0 - bounds.x,
            MARGIN + (room_h - bounds.h) / 2.0 - bounds.y,
        );
        let top = height - MARGIN - strip;
        let frame = |x: f64, w: f64| Rect { x, y: top, w, h: strip };
        let frames = vec![
            Rect { x: MARGIN, y: MARGIN, w: width - 2.0 * MARGIN, h: height - 2.0 * MARGIN },
            frame(MARGIN, TITLE),
            frame(MARGIN + TITLE, width - 2.0 * (MARGIN + TITLE)),
            frame(width - MARGIN - TITLE, TITLE),
        ];
        let mut furniture = Scene::default();
        safety(&mut furniture, MARGIN, top, strip);
        legend(&mut furniture, &used(&scene), MARGIN + TITLE, top, columns(width), strip);
        title(&mut furniture, system, &name, (width, height), width - MARGIN - TITLE, top);
        Sheet { name, width, height, scene, furniture, frames }
    }
}

fn columns(width: f64) -> usize {
    (((width - 2.0 * (MARGIN + TITLE) - 4.0) / KEY).floor() as usize).max(1)
}

/// Height of the strip: what legend and text take.
fn strip_height(system: &System, width: f64) -> f64 {
    // Every kind of device, four strokes, and two marks: at most a few more keys than are used.
    let glyphs: BTreeSet<Glyph> =
        system.devices.iter().map(|device| crate::words::glyph(system, device)).collect();
    let keys = glyphs.len() + 6;
    let rows = keys.div_ceil(columns(width));
    (rows as f64 * KEY_ROW + 7.6).max(30.0)
}

/// A row of the legend.
enum Key {
    Glyph(Glyph),
    Stroke(Stroke, &'static str),
}

fn used(scene: &Scene) -> Vec<Key> {
    let glyphs: BTreeSet<Glyph> = scene.symbols.iter().map(|symbol| symbol.glyph).collect();
    let strokes = [
        (Stroke::Direct, "Direct current"),
        (Stroke::Alternating, "Alternating current"),
        (Stroke::Return, "Return, negative"),
        (Stroke::Bond, "Bond"),
    ];
    let is_used = |stroke: Stroke| scene.wires.iter().any(|wire| wire.stroke == stroke);
    let mut keys: Vec<Key> = glyphs.into_iter().map(Key::Glyph).collect();
    keys.extend(
        strokes
            .into_iter()
            .filter(|(stroke, _)| is_used(*stroke))
            .map(|(stroke, word)| Key::Stroke(stroke, word)),
    );
    keys
}

fn legend(furniture: &mut Scene, keys: &[Key], x: f64, y: f64, columns: usize, strip: f64) {
    let rows = (((strip - 7.6) / KEY_ROW + 1e-6).floor() as usize).max(1);
    let head = Line {
        lead: "12/11".to_owned(),
        ..Line::small("8 AWG  0.9 m: run number, that of its return; size; length one way")
    };
    let head = if Label::new(vec![head.clone()]).rect.w > columns as f64 * KEY {
        Line { lead: "12/11".to_owned(), ..Line::small("run/return, size, length") }
    } else {
        head
    };
    furniture.labels.push(Label::new(vec![head]).beside(x + 3.0, y + 4.0, Anchor::Start));
    for (index, key) in keys.iter().enumerate() {
        let (column, row) = (index / rows, index % rows);
        let left = x + 3.0 + column as f64 * KEY;
        let middle = y + 7.0 + (row as f64 + 0.5) * KEY_ROW;
        let word = match key {
            Key::Glyph(glyph) => {
                let (w, h) = glyph.size();
                // In the legend a symbol lies on its side where it can, and a large one is drawn smaller.
                let (w, h) = if glyph.turns() { (h, w) } else { (w, h) };
                let scale = f64::min(1.0, f64::min(9.6 / w, 5.8 / h));
                let (w, h) = (w * scale, h * scale);
                let rect = Rect { x: left + 5.0 - w / 2.0, y: middle - h / 2.0, w, h };
                let letter = if *glyph == Glyph::Tag { "A".to_owned() } else { String::new() };
                furniture.symbols.push(Symbol {
                    glyph: *glyph,
                    rect,
                    facing: Facing::Right,
                    device: None,
                    letter,
                });
                glyph.word()
            }
            Key::Stroke(stroke, word) => {
                furniture.wire(&[at(left, middle), at(left + 10.0, middle)], *stroke, Vec::new());
                word
            }
        };
        let lines = wrap(word, SMALL, false, KEY - 13.0, 2).into_iter().map(Line::small).collect();
        furniture.labels.push(Label::new(lines).beside(left + 11.4, middle, Anchor::Start));
    }
}

fn safety(furniture: &mut Scene, x: f64, y: f64, strip: f64) {
    let mut lines = vec![Line { is_accent: true, ..Line::title("Danger to life and property") }];
    lines.extend(wrap(SAFETY, SMALL, false, TITLE - 8.0, 5).into_iter().map(Line::small));
    furniture.labels.push(Label::new(lines).beside(x + 4.0, y + strip / 2.0, Anchor::Start));
}

fn title(furniture: &mut Scene, system: &System, name: &str, paper: (f64, f64), x: f64, y: f64) {
    let mut lines: Vec<Line> = wrap(&system.name, 4.4, true, TITLE - 8.0, 1)
        .into_iter()
        .map(|text| Line { text, size: 4.4, is_bold: true, ..Line::default() })
        .collect();
    lines.push(Line::title("One-line diagram"));
    let craft = match system.craft {
        Craft::Van => "van",
        Craft::Boat => "boat",
        Craft::Trailer => "trailer",
        Craft::Workshop => "mobile workshop",
        Craft::Hut => "hut",
    };
    let (rules, hertz) = match system.rules {
        RuleSet::Na => ("North America", "60 Hz"),
        RuleSet::Iec => ("IEC", "50 Hz"),
    };
    let ac = system.ac_voltage.map_or_else(String::new, |voltage| format!(", {voltage} {hertz}"));
    lines.push(Line::small(format!("{craft}, {} DC{ac}", system.voltage)));
    lines.push(Line::small(format!("Rule set {}: {rules}", system.rules)));
    lines.push(Line::small(format!("Sheet {name}, {} × {} mm, drawn in full size", paper.0, paper.1)));
    furniture.labels.push(Label::new(lines).below(x + 4.0, y + 3.4));
}
