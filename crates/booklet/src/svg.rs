//! What must be known of a picture to place it: its size and its smallest print.
//! Never: reads more of an SVG than its root and its sizes of type, or changes it.
//! Start at [`Picture`] and [`Size::of`].

use crate::BookletError;

/// A picture for the booklet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Its name, that of its file without ending: `one-line`.
    pub name: String,
    /// What it shows, for the contents: `One-line diagram`.
    pub title: String,
    /// What to know about it; may be empty.
    pub caption: String,
    /// The SVG.
    pub svg: String,
}

/// Size of a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Size {
    pub(crate) width_mm: f64,
    pub(crate) height_mm: f64,
    /// Whether the root says so in millimetres, so that 1:1 means something.
    pub(crate) is_true: bool,
    /// Smallest size of type in it \[mm\], 0 where there is no text.
    pub(crate) smallest_mm: f64,
}

/// A picture without a size in millimetres is drawn in CSS pixels, of which 96 make an inch.
const PIXEL_MM: f64 = 25.4 / 96.0;
/// Points in a millimetre, for sizes of type.
pub(crate) const POINTS_PER_MM: f64 = 72.0 / 25.4;

impl Size {
    /// Of an SVG.
    pub(crate) fn of(name: &str, svg: &str) -> Result<Self, BookletError> {
        let wrong = |reason: &str| BookletError::Picture { name: name.to_owned(), reason: reason.to_owned() };
        let start = svg.find("<svg").ok_or_else(|| wrong("it has no <svg> element"))?;
        let rest = svg.get(start..).unwrap_or_default();
        let root = rest.split('>').next().unwrap_or_default();
        let view: Vec<f64> = attribute(root, "viewBox")
            .map(|text| text.split([' ', ',']).filter_map(|number| number.trim().parse().ok()).collect())
            .unwrap_or_default();
        let view = match view[..] {
            [_, _, width, height] => Some((width, height)),
            _ => None,
        };
        let in_mm = |name| {
            let text = attribute(root, name)?;
            text.strip_suffix("mm")?.trim().parse::<f64>().ok()
        };
        let (width_mm, height_mm, is_true) = match (in_mm("width"), in_mm("height"), view) {
            (Some(width), Some(height), _) => (width, height, true),
            (_, _, Some((width, height))) => (width * PIXEL_MM, height * PIXEL_MM, false),
            _ => return Err(wrong("its root has neither width and height in mm nor a viewBox")),
        };
        let is_size = |mm: f64| mm.is_finite() && mm > 0.0 && mm < 1e6;
        if !is_size(width_mm) || !is_size(height_mm) {
            return Err(wrong("its width or height is not a number above 0"));
        }
        let unit_mm = view.map_or(1.0, |(width, _)| width_mm / width);
        let smallest = type_sizes(svg).fold(f64::INFINITY, f64::min);
        let smallest_mm = if smallest.is_finite() { smallest * unit_mm } else { 0.0 };
        Ok(Self { width_mm, height_mm, is_true, smallest_mm })
    }

    /// Largest scale at which it goes into a box \[mm\].
    pub(crate) fn scale_into(&self, width_mm: f64, height_mm: f64) -> f64 {
        (width_mm / self.width_mm).min(height_mm / self.height_mm)
    }
}

/// The value of an attribute of a start tag.
fn attribute<'t>(tag: &'t str, name: &str) -> Option<&'t str> {
    let mut rest = tag;
    loop {
        let at = rest.find(name)?;
        let is_start = rest.get(..at).is_some_and(|before| before.ends_with([' ', '\n', '\t', '\r']));
        rest = rest.get(at + name.len()..)?;
        let Some(value) = rest.trim_start().strip_prefix('=').filter(|_| is_start) else { continue };
        let value = value.trim_start();
        let quote = value.chars().next().filter(|letter| matches!(letter, '"' | '\''))?;
        return value.get(1..)?.split(quote).next();
    }
}

/// Every size of type that the text names, as attribute or style.
fn type_sizes(svg: &str) -> impl Iterator<Item = f64> + '_ {
    svg.split("font-size").skip(1).filter_map(|after| {
        let digits = after.trim_start_matches([' ', '=', ':', '"', '\'']);
        let end =
            digits.find(|letter: char| !letter.is_ascii_digit() && letter != '.').unwrap_or(digits.len());
        digits.get(..end)?.parse().ok().filter(|size: &f64| *size > 0.0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_root_tells_the_size() {
        let svg = "<?xml?><svg xmlns='x' width=\"420mm\" height='297mm' viewBox=\"0 0 420 297\">\
                   <text font-size=\"2.5\">a</text><style>text{font-size:3px}</style></svg>";
        let size = Size::of("a", svg).expect("a sound picture");
        assert_eq!((size.width_mm, size.height_mm, size.is_true), (420.0, 297.0, true));
        assert!((size.smallest_mm - 2.5).abs() < 1e-9);
        let size = Size::of("a", "<svg viewBox='0 0 96 48' width='100%'>").expect("pixels");
        assert!((size.width_mm - 25.4).abs() < 1e-9 && !size.is_true && size.smallest_mm == 0.0);
    }

    #[test]
    fn what_has_no_size_is_refused() {
        for svg in [
            "",
            "<svg>",
            "<svg width='0mm' height='3mm'>",
            "<svg viewBox='0 0 NaN 1'>",
            "<svg viewBox='1 2'>",
        ] {
            assert!(matches!(Size::of("a", svg), Err(BookletError::Picture { .. })), "{svg}");
        }
    }
}
