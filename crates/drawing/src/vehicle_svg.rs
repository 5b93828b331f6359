//! The sheet of the vehicle's plan as SVG text.
//! Never: decides where anything stands; trusts a name: every text is escaped.
//! Start at [`write`].

use std::fmt::Write as _;

use model::System;
use quick_xml::escape::escape;

use crate::scene::Point;
use crate::sheet::SAFETY;
use crate::vehicle::{Mark, VehicleSheet};

/// Ink carries all meaning; the accent only repeats it.
const STYLE: &str = "\
.paper{fill:#fbf8f1}\
.hull{fill:none;stroke:#221f1b;stroke-width:.5}\
.zone{fill:none;stroke:#8a8072;stroke-width:.2;stroke-dasharray:1.2 .8}\
.channel{fill:none;stroke:#ddd2bb;stroke-width:2.2;stroke-linecap:round;stroke-linejoin:round}\
.wall{fill:none;stroke:#221f1b;stroke-width:1.1}\
.out{stroke-dasharray:4 .5}\
.run{fill:none;stroke:#221f1b;stroke-width:.3;stroke-linejoin:round}\
.mains{stroke-dasharray:2 .8}\
.lead{fill:none;stroke:#5e564b;stroke-width:.2}\
.rule,.axle{fill:none;stroke:#221f1b;stroke-width:.35}\
.point{fill:#221f1b}\
.hole{fill:#fbf8f1;stroke:#a63c17;stroke-width:.4}\
text{font-family:'DejaVu Sans',Verdana,'Liberation Sans',Arial,sans-serif;fill:#221f1b;paint-order:stroke;stroke:#fbf8f1;stroke-width:.8}\
.b{font-weight:bold}";

fn number(value: f64) -> String {
    let rounded = (value * 100.0).round() / 100.0;
    // `-0` and `0` are one place.
    format!("{}", rounded + 0.0)
}

/// Text without the characters that XML forbids, escaped.
fn clean(text: &str) -> String {
    let text: String = text
        .chars()
        .map(|c| if c.is_control() || matches!(c, '\u{FFFE}' | '\u{FFFF}') { '\u{FFFD}' } else { c })
        .collect();
    escape(text.as_str()).into_owned()
}

/// Writes the sheet. Writing to a string cannot fail, so its results are let go.
pub fn write(sheet: &VehicleSheet, system: &System) -> String {
    let (w, h) = (number(sheet.width), number(sheet.height));
    let title = clean(&format!("Plan of the vehicle of {}, 1 to {}", system.name, sheet.scale));
    let mut svg = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" \
         viewBox=\"0 0 {w} {h}\" role=\"img\" aria-label=\"{title}\">\n <title>{title}</title>\n <desc>{}</desc>\n \
         <style>{STYLE}</style>\n <rect class=\"paper\" x=\"0\" y=\"0\" width=\"{w}\" height=\"{h}\"/>\n",
        clean(SAFETY)
    );
    for mark in &sheet.marks {
        let _ = match mark {
            Mark::Line(class, points) => {
                writeln!(svg, " <polyline class=\"{class}\" points=\"{}\"/>", places(points))
            }
            Mark::Box(class, rect) => writeln!(
                svg,
                " <rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
                number(rect.x),
                number(rect.y),
                number(rect.w),
                number(rect.h)
            ),
            Mark::Disc(class, at, radius) => writeln!(
                svg,
                " <circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
                number(at.x),
                number(at.y),
                number(*radius)
            ),
            // Letters stand from 0.76 above to 0.24 below the baseline; the rest of the line is shared above and below.
            Mark::Text(words, rect, size, is_bold) => writeln!(
                svg,
                " <text{} x=\"{}\" y=\"{}\" font-size=\"{}\">{}</text>",
                if *is_bold { " class=\"b\"" } else { "" },
                number(rect.x),
                number(rect.y + (rect.h - size) / 2.0 + size * 0.76),
                number(*size),
                clean(words)
            ),
        };
    }
    svg.push_str("</svg>\n");
    svg
}

fn places(points: &[Point]) -> String {
    points.iter().map(|at| format!("{},{}", number(at.x), number(at.y))).collect::<Vec<_>>().join(" ")
}
