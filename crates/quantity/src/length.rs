//! Lengths in feet and inches with fractions: `9 ft 3 in`, `9'3"`, `9-1/2 in`.
//! Never: reads metric lengths (see `written.rs`).
//! Start at [`read`]; [`show_in_feet`] writes.

use crate::decimal::Decimal;
use crate::error::{Problem, QuantityError};
use crate::kinds::Metres;
use crate::written::{self, Measured};

/// Reads a length in any form.
pub(crate) fn read(text: &str) -> Result<Metres, QuantityError> {
    written::read(text).or_else(|plain| {
        let refuse = |message: String| {
            let hint = "write `9 ft 3 in`, `9'3\"`, `9-1/2 in` or `2.8 m`".to_string();
            QuantityError::new(Metres::KIND, text, Problem::Own { message, hint })
        };
        match inches(text) {
            _ if plain.is_of_number() => Err(plain),
            // Multiplied before the division, so that whole inches give the nearest number to their exact length.
            Some(Ok(inches)) if (inches * 254.0).is_finite() => Ok(Metres::new(inches * 254.0 / 10_000.0)),
            Some(Ok(_)) => Err(QuantityError::new(Metres::KIND, text, Problem::TooLarge)),
            Some(Err(why)) => Err(refuse(format!("`{}` {why}", text.trim()))),
            None => Err(plain),
        }
    })
}

/// Writes a length in feet and inches, rounded to an eighth of an inch: `9 ft 3-1/2 in`.
pub fn show_in_feet(length: Metres) -> String {
    let eighths = (length.get().abs() * 10_000.0 / 254.0 * 8.0).round();
    // Beyond this, eighths of an inch mean nothing; it also keeps the whole numbers below exact.
    if !eighths.is_finite() || eighths >= 1e12 {
        return length.to_string();
    }
    let eighths = eighths as u64;
    let sign = if length < Metres::zero() && eighths > 0 { "-" } else { "" };
    let (feet, inches, part) = (eighths / 96, eighths / 8 % 12, eighths % 8);
    let part = match part {
        0 => String::new(),
        2 => "1/4".to_string(),
        4 => "1/2".to_string(),
        6 => "3/4".to_string(),
        odd => format!("{odd}/8"),
    };
    let inches = match (inches, part.is_empty()) {
        (inches, true) => inches.to_string(),
        (0, false) => part,
        (inches, false) => format!("{inches}-{part}"),
    };
    match (feet, inches.as_str()) {
        (0, inches) => format!("{sign}{inches} in"),
        (feet, "0") => format!("{sign}{feet} ft"),
        (feet, inches) => format!("{sign}{feet} ft {inches} in"),
    }
}

/// Inches of a text with foot and inch marks; `None` when the text is not of this form at all.
fn inches(text: &str) -> Option<Result<f64, &'static str>> {
    let marked = marked(text);
    if !marked.contains(['f', 'i']) || !marked.chars().all(|c| c.is_ascii_digit() || "fi./- ".contains(c)) {
        return None;
    }
    let (sign, marked) = match marked.trim().strip_prefix('-') {
        Some(rest) => (-1.0, rest.to_string()),
        None => (1.0, marked),
    };
    let (feet, rest) = match marked.split_once('f') {
        Some((feet, rest)) => (Some(feet), rest),
        None => (None, marked.as_str()),
    };
    let rest = rest.trim().trim_start_matches('-');
    let inches = match (rest.trim().strip_suffix('i'), rest.trim().is_empty()) {
        (Some(inches), _) => Some(inches),
        (None, true) => None,
        (None, false) => return Some(Err("does not end in inches")),
    };
    let whole_feet = |feet: &str| feet.trim().bytes().all(|c| c.is_ascii_digit());
    let total = match (feet, inches) {
        (Some(feet), Some(_)) if !whole_feet(feet) => Err("has both a part of a foot and inches"),
        (Some(feet), Some(inches)) => mixed(feet).and_then(|feet| {
            let inches = mixed(inches)?;
            if inches < 12.0 {
                Ok(feet * 12.0 + inches)
            } else {
                Err("has 12 inches or more beside its feet")
            }
        }),
        (Some(feet), None) => mixed(feet).map(|feet| feet * 12.0),
        (None, Some(inches)) => mixed(inches),
        (None, None) => return None,
    };
    Some(total.map(|total| sign * total))
}

/// One letter for each mark of feet and inches; fractions written out.
fn marked(text: &str) -> String {
    let mut marked = String::new();
    for c in text.chars() {
        match c {
            '½' => marked.push_str(" 1/2"),
            '¼' => marked.push_str(" 1/4"),
            '¾' => marked.push_str(" 3/4"),
            '⅛' => marked.push_str(" 1/8"),
            '⅜' => marked.push_str(" 3/8"),
            '⅝' => marked.push_str(" 5/8"),
            '⅞' => marked.push_str(" 7/8"),
            '⁄' => marked.push('/'),
            '−' | '–' | '‑' => marked.push('-'),
            '\'' | '′' | '’' => marked.push('f'),
            '"' | '″' | '”' => marked.push('i'),
            c if c.is_whitespace() => marked.push(' '),
            c => marked.extend(c.to_lowercase()),
        }
    }
    for (word, mark) in
        [("feet", "f"), ("foot", "f"), ("ft", "f"), ("inches", "i"), ("inch", "i"), ("in", "i")]
    {
        marked = marked.replace(word, mark);
    }
    // `9 feet, 3 inches`.
    marked.replace("f,", "f")
}

/// A number with an optional fraction: `9`, `9.5`, `1/2`, `9-1/2`, `9 1/2`.
fn mixed(text: &str) -> Result<f64, &'static str> {
    const UNREADABLE: &str = "has a number that cannot be read";
    let decimal = |part: &str| match Decimal::split(part) {
        Ok((number, "")) if !part.starts_with(['-', '+']) => number.number().map_err(|_| UNREADABLE),
        _ => Err(UNREADABLE),
    };
    let parts: Vec<&str> = text.split([' ', '-']).filter(|part| !part.is_empty()).collect();
    let fraction = |part: &str| match part.split_once('/') {
        Some((above, below)) => match (decimal(above)?, decimal(below)?) {
            (_, 0.0) => Err("has a fraction over zero"),
            (above, below) => Ok(above / below),
        },
        None => Err(UNREADABLE),
    };
    match parts[..] {
        [one] if one.contains('/') => fraction(one),
        [one] => decimal(one),
        [whole, part] if !whole.contains('/') => Ok(decimal(whole)? + fraction(part)?),
        _ => Err(UNREADABLE),
    }
}
