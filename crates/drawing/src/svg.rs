//! A sheet as SVG text.
//! Never: decides where anything stands; trusts a name. `quick-xml` escapes every text and attribute.
//! Start at [`write`].

use std::collections::BTreeSet;
use std::io;

use model::System;
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};

use crate::scene::{Anchor, Facing, Label, Line, Point, Rect, Scene, Stroke, Symbol, Wire};
use crate::sheet::{SAFETY, Sheet};
use crate::symbols::{Glyph, Prim};
use crate::text;

type Xml = Writer<Vec<u8>>;
type Done = io::Result<()>;

/// Colours and line widths, in one place. Ink carries all meaning; the accent only repeats it.
const STYLE: &str = "\
.paper{fill:#fbf8f1}\
.l,.h,.s,.w,.frame,.case{stroke:#221f1b;stroke-width:.35;stroke-linecap:round;stroke-linejoin:round;fill:none}\
.h{stroke-width:1;stroke-linecap:butt}\
.s{fill:#fbf8f1}\
.f{fill:#221f1b}\
.w{stroke-width:.45;stroke-linecap:butt}\
.alternating{stroke-dasharray:4.5 .9}\
.return{stroke-dasharray:2 .8}\
.bond{stroke-dasharray:3 .7 .5 .7}\
.bar{stroke-width:1.9}\
.return-bar,.bus{stroke-width:1.1}\
.ac-bus{stroke-width:1.1;stroke-dasharray:4.5 .9}\
.frame{stroke-width:.35}\
.case{fill:#f1eadb;stroke:#8a8072;stroke-width:.2;stroke-dasharray:1.2 .8}\
text{font-family:'DejaVu Sans',Verdana,'Liberation Sans',Arial,sans-serif;fill:#221f1b}\
.b{font-weight:bold}\
.a{fill:#a63c17}";

/// A number with two decimals at most, the same on every computer.
pub fn number(value: f64) -> String {
    let rounded = (value * 100.0).round() / 100.0;
    // `-0` and `0` are one place.
    format!("{}", rounded + 0.0)
}

/// Text without the characters that XML forbids.
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() || matches!(c, '\u{FFFE}' | '\u{FFFF}') { '\u{FFFD}' } else { c })
        .collect()
}

/// Writes a sheet. Text comes out as UTF-8; writing to memory cannot fail.
pub fn write(system: &System, sheet: &Sheet) -> String {
    let mut xml = Writer::new_with_indent(Vec::new(), b' ', 1);
    match draw(&mut xml, system, sheet) {
        Ok(()) => String::from_utf8_lossy(&xml.into_inner()).into_owned() + "\n",
        Err(error) => format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\"><!-- {} --></svg>\n",
            clean(&error.to_string()).replace("--", "")
        ),
    }
}

fn draw(xml: &mut Xml, system: &System, sheet: &Sheet) -> Done {
    xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    let (w, h) = (number(sheet.width), number(sheet.height));
    let name = clean(&system.name);
    xml.create_element("svg")
        .with_attributes([
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("width", format!("{w}mm").as_str()),
            ("height", format!("{h}mm").as_str()),
            ("viewBox", format!("0 0 {w} {h}").as_str()),
            ("role", "img"),
            ("aria-label", format!("One-line diagram of {name}").as_str()),
        ])
        .write_inner_content(|xml| {
            text_element(xml, "title", &format!("One-line diagram of {name}"))?;
            text_element(xml, "desc", SAFETY)?;
            text_element(xml, "style", STYLE)?;
            definitions(xml, sheet)?;
            rect(xml, "paper", Rect { x: 0.0, y: 0.0, w: sheet.width, h: sheet.height })?;
            for frame in &sheet.frames {
                rect(xml, "frame", *frame)?;
            }
            scene(xml, system, &sheet.scene)?;
            scene(xml, system, &sheet.furniture)
        })?;
    Ok(())
}

fn text_element(xml: &mut Xml, name: &str, text: &str) -> Done {
    xml.create_element(name).write_text_content(BytesText::new(&clean(text)))?;
    Ok(())
}

fn rect(xml: &mut Xml, class: &str, rect: Rect) -> Done {
    xml.create_element("rect")
        .with_attributes([
            ("class", class),
            ("x", &number(rect.x)),
            ("y", &number(rect.y)),
            ("width", &number(rect.w)),
            ("height", &number(rect.h)),
        ])
        .write_empty()?;
    Ok(())
}

/// Each symbol that is used, once.
fn definitions(xml: &mut Xml, sheet: &Sheet) -> Done {
    let symbols = sheet.scene.symbols.iter().chain(&sheet.furniture.symbols);
    let glyphs: BTreeSet<Glyph> = symbols.map(|symbol| symbol.glyph).collect();
    xml.create_element("defs").write_inner_content(|xml| {
        for glyph in glyphs {
            let id = glyph.id();
            xml.create_element("g")
                .with_attribute(("id", id.as_str()))
                .write_inner_content(|xml| glyph.prims().iter().try_for_each(|prim| primitive(xml, *prim)))?;
        }
        Ok(())
    })?;
    Ok(())
}

fn primitive(xml: &mut Xml, prim: Prim) -> Done {
    let path = |xml: &mut Xml, class: &str, d: &str| -> Done {
        xml.create_element("path").with_attributes([("class", class), ("d", d)]).write_empty()?;
        Ok(())
    };
    match prim {
        Prim::Line(d) => path(xml, "l", d),
        Prim::Heavy(d) => path(xml, "h", d),
        Prim::Solid(d) => path(xml, "f", d),
        Prim::Shape(d) => path(xml, "s", d),
        Prim::Circle(radius) => {
            xml.create_element("circle")
                .with_attributes([("class", "s"), ("r", &number(radius))])
                .write_empty()?;
            Ok(())
        }
        Prim::Letter(x, y, size, letter) => letters(xml, x, y, size, letter),
    }
}

fn letters(xml: &mut Xml, x: f64, y: f64, size: f64, text: &str) -> Done {
    xml.create_element("text")
        .with_attributes([
            ("class", "b"),
            ("x", number(x).as_str()),
            ("y", number(y).as_str()),
            ("font-size", number(size).as_str()),
            ("text-anchor", "middle"),
        ])
        .write_text_content(BytesText::new(&clean(text)))?;
    Ok(())
}

fn scene(xml: &mut Xml, system: &System, scene: &Scene) -> Done {
    scene.enclosures.iter().try_for_each(|case| rect(xml, "case", *case))?;
    scene.wires.iter().try_for_each(|line| wire(xml, system, line))?;
    scene.dots.iter().try_for_each(|place| dot(xml, *place))?;
    scene.symbols.iter().try_for_each(|mark| symbol(xml, system, mark))?;
    scene.labels.iter().try_for_each(|words| label(xml, system, words))
}

fn dot(xml: &mut Xml, place: Point) -> Done {
    xml.create_element("circle")
        .with_attributes([("class", "f"), ("cx", &number(place.x)), ("cy", &number(place.y)), ("r", "0.65")])
        .write_empty()?;
    Ok(())
}

fn wire(xml: &mut Xml, system: &System, wire: &Wire) -> Done {
    let class = match wire.stroke {
        Stroke::Direct => "w",
        Stroke::Alternating => "w alternating",
        Stroke::Return => "w return",
        Stroke::Bond => "w bond",
        Stroke::Bar => "w bar",
        Stroke::ReturnBar => "w return-bar",
        Stroke::Bus => "w bus",
        Stroke::AcBus => "w ac-bus",
    };
    let mut d = String::new();
    for (index, point) in wire.points.iter().enumerate() {
        let step = if index == 0 { "M" } else { "L" };
        d.push_str(&format!("{step}{} {}", number(point.x), number(point.y)));
    }
    let ids: Vec<String> = wire
        .conductors
        .iter()
        .filter_map(|ix| system.conductors.get(*ix))
        .map(|conductor| clean(&conductor.id))
        .collect();
    let device = wire.device.and_then(|ix| system.devices.get(ix));
    let mut element = xml.create_element("path").with_attributes([("class", class), ("d", d.as_str())]);
    if let Some(device) = device {
        element = element.with_attribute(("data-device", clean(&device.id).as_str()));
    }
    if ids.is_empty() {
        element.write_empty()?;
        return Ok(());
    }
    let words: Vec<String> = wire.conductors.iter().map(|ix| facts(system, *ix)).collect();
    let words = words.join("; ");
    element
        .with_attributes([
            ("data-conductor", ids.join(" ").as_str()),
            ("role", "img"),
            ("aria-label", &clean(&words)),
        ])
        .write_inner_content(|xml| text_element(xml, "title", &words))?;
    Ok(())
}

/// A conductor in words, for a pointer or a screen reader.
fn facts(system: &System, ix: usize) -> String {
    let Some(conductor) = system.conductors.get(ix) else { return String::new() };
    let (from, to) = (system.terminal_name(conductor.from), system.terminal_name(conductor.to));
    let run = if conductor.number > 0 { format!("Run {}, ", conductor.number) } else { String::new() };
    let size = if conductor.is_internal {
        "inside an assembly".to_owned()
    } else {
        format!("{}, {}", conductor.gauge.brief(), conductor.length)
    };
    format!("{run}{} from {from} to {to}, {size}", conductor.pole.word())
}

fn symbol(xml: &mut Xml, system: &System, symbol: &Symbol) -> Done {
    let (w, h) = symbol.glyph.size();
    let (x, y) = (symbol.rect.x + symbol.rect.w / 2.0, symbol.rect.y + symbol.rect.h / 2.0);
    let turn = match (symbol.glyph.turns(), symbol.facing, symbol.glyph) {
        (false, ..) | (true, Facing::Down, _) => 0,
        (true, Facing::Up, _) => 180,
        // A battery on its side has its positive pole to the right, where the feed leaves.
        (true, Facing::Right, Glyph::Battery) => 90,
        (true, Facing::Right, _) => -90,
    };
    let own = if turn % 180 == 0 { (w, h) } else { (h, w) };
    let scale = f64::min(symbol.rect.w / own.0, symbol.rect.h / own.1);
    let mut place = format!("translate({} {})", number(x), number(y));
    if turn != 0 {
        place.push_str(&format!(" rotate({turn})"));
    }
    if (scale - 1.0).abs() > 0.001 {
        place.push_str(&format!(" scale({})", number(scale)));
    }
    let href = format!("#{}", symbol.glyph.id());
    let device = symbol.device.and_then(|ix| system.devices.get(ix));
    let words = device.map(|device| {
        let rating = crate::words::rating(device).join(", ");
        if rating.is_empty() { device.title.clone() } else { format!("{}: {rating}", device.title) }
    });
    let mut group = xml.create_element("g");
    if let (Some(device), Some(words)) = (device, &words) {
        group = group.with_attributes([
            ("data-device", clean(&device.id).as_str()),
            ("role", "img"),
            ("aria-label", clean(words).as_str()),
        ]);
    }
    group.write_inner_content(|xml| {
        if let Some(words) = &words {
            text_element(xml, "title", words)?;
        }
        xml.create_element("use")
            .with_attributes([("href", href.as_str()), ("transform", place.as_str())])
            .write_empty()?;
        if !symbol.letter.is_empty() {
            let size = if symbol.letter.len() > 2 { 2.0 } else { 2.8 };
            letters(xml, x + 0.8, y + 1.0, size, &symbol.letter)?;
        }
        Ok(())
    })?;
    Ok(())
}

fn label(xml: &mut Xml, system: &System, label: &Label) -> Done {
    let mut top = label.rect.y;
    for line in &label.lines {
        let x = match label.anchor {
            Anchor::Start => label.rect.x,
            Anchor::Middle => label.rect.x + (label.rect.w - line.width()) / 2.0,
            Anchor::End => label.rect.right() - line.width(),
        };
        // Letters stand from 0.76 above to 0.24 below the baseline; the rest of the line is shared above and below.
        let baseline = top + line.size * ((text::LINE - 1.0) / 2.0 + 0.76);
        let device = label.device.and_then(|ix| system.devices.get(ix)).map(|device| clean(&device.id));
        let conductor =
            label.conductor.and_then(|ix| system.conductors.get(ix)).map(|conductor| clean(&conductor.id));
        let mut at = x;
        if !line.lead.is_empty() {
            piece(xml, at, baseline, line.size, "b a", &line.lead, (&device, &conductor))?;
            at += text::width(&line.lead, line.size, true) + line.gap();
        }
        if !line.text.is_empty() {
            piece(xml, at, baseline, line.size, class(line), &line.text, (&device, &conductor))?;
        }
        top += line.size * text::LINE;
    }
    Ok(())
}

fn class(line: &Line) -> &'static str {
    match (line.is_bold, line.is_accent) {
        (true, true) => "b a",
        (true, false) => "b",
        (false, true) => "a",
        (false, false) => "",
    }
}

fn piece(
    xml: &mut Xml,
    x: f64,
    y: f64,
    size: f64,
    class: &str,
    text: &str,
    (device, conductor): (&Option<String>, &Option<String>),
) -> Done {
    let (x, y, size) = (number(x), number(y), number(size));
    let mut element = xml.create_element("text");
    if !class.is_empty() {
        element = element.with_attribute(("class", class));
    }
    element = element.with_attributes([("x", x.as_str()), ("y", y.as_str()), ("font-size", size.as_str())]);
    if let Some(device) = device {
        element = element.with_attribute(("data-device", device.as_str()));
    }
    if let Some(conductor) = conductor {
        element = element.with_attribute(("data-conductor", conductor.as_str()));
    }
    element.write_text_content(BytesText::new(&clean(text)))?;
    Ok(())
}
