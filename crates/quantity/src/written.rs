//! Reading a quantity from text and showing it again.
//! Never: holds the units of a particular quantity (see `units.rs`).
//! Start at [`Written`]; [`read`] and [`show`] do the work for every quantity but the conductor sizes.

use crate::decimal::Decimal;
use crate::error::{Problem, QuantityError};
use crate::units::KINDS;
use core::fmt;

/// A quantity that people write as text.
///
/// `Display` gives the short form for people (three significant digits); [`Written::show`] gives the exact one.
pub trait Written: Sized + fmt::Display {
    /// What it is, with its article: "a current".
    const WHAT: &'static str;
    /// How it is written: "12.5 A".
    const EXAMPLE: &'static str;
    /// Reads the quantity.
    ///
    /// # Errors
    /// When the text is not such a quantity; the error says what to write.
    fn parse(text: &str) -> Result<Self, QuantityError>;
    /// Writes the quantity in full, so that [`Written::parse`] gives the same quantity back.
    ///
    /// Exact for every quantity that was read or made by `new` from a number of at most 12 significant digits;
    /// a computed one may come back changed in the last bit.
    fn show(&self) -> String;
}

/// A quantity type as data: what errors, schemas and the word list say of it.
#[derive(PartialEq, Debug)]
pub(crate) struct Kind {
    pub(crate) name: &'static str,
    pub(crate) what: &'static str,
    pub(crate) meaning: &'static str,
    /// The unit of `new` and `get`.
    pub(crate) unit: &'static str,
    pub(crate) example: &'static str,
    /// Units accepted; the first is a decimal multiple of `unit` and the one in which zero is shown.
    pub(crate) units: &'static [Unit],
}

/// A unit as it is written.
#[derive(PartialEq, Debug)]
pub(crate) struct Unit {
    pub(crate) symbol: &'static str,
    /// Other accepted spellings.
    pub(crate) also: &'static [&'static str],
    pub(crate) scale: Scale,
    /// The smallest magnitude, in the unit of `new`, that is shown in this unit; `None`: read, never shown.
    pub(crate) from: Option<f64>,
}

/// How a number in a unit becomes a number in the unit of `new`.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Scale {
    /// Times a power of ten; exact.
    Ten(i32),
    /// Times the first, divided by the second.
    Ratio(f64, f64),
    /// Minus the first, divided by the second: temperature scales.
    Point(f64, f64),
}

impl Scale {
    fn apply(self, number: &Decimal) -> Result<f64, Problem> {
        let number = match self {
            Scale::Ten(shift) => number.clone().shifted(shift).number()?,
            Scale::Ratio(times, per) => number.number()? * times / per,
            // Rounded to a billionth of a degree, so that 298.15 K is 25 °C and not 24.999 999 999 999 97 °C.
            Scale::Point(minus, per) => ((number.number()? - minus) / per * 1e9).round() / 1e9,
        };
        if number.is_finite() { Ok(number) } else { Err(Problem::TooLarge) }
    }

    /// The number in this unit, rounded to some significant digits.
    fn undo(self, number: f64, digits: usize) -> Option<Decimal> {
        match self {
            Scale::Ten(shift) => Decimal::round(number, digits).map(|decimal| decimal.shifted(-shift)),
            Scale::Ratio(times, per) => Decimal::round(number * per / times, digits),
            Scale::Point(minus, per) => Decimal::round(number * per + minus, digits),
        }
    }
}

/// A quantity that is one number in one unit.
pub(crate) trait Measured: Copy + PartialEq {
    const KIND: &'static Kind;
    fn of(number: f64) -> Self;
    fn number(self) -> f64;
}

/// Reads any quantity of the form number, unit.
pub(crate) fn read<T: Measured>(text: &str) -> Result<T, QuantityError> {
    let refuse = |problem| QuantityError::new(T::KIND, text, problem);
    let (number, unit) = Decimal::split(text).map_err(refuse)?;
    let written = normal(unit);
    let Some(found) = T::KIND.units.iter().find(|candidate| candidate.is(&written)) else {
        return Err(refuse(unit_problem(T::KIND, &number, unit.trim())));
    };
    let quantity = T::of(found.scale.apply(&number).map_err(refuse)?);
    if quantity.number().is_finite() { Ok(quantity) } else { Err(refuse(Problem::TooLarge)) }
}

/// Writes a quantity so that [`read`] gives it back.
pub(crate) fn show<T: Measured>(quantity: T) -> String {
    let number = quantity.number();
    let unit = shown_unit(T::KIND, number);
    // A unit that is no power of ten away, such as the minute, is used only while it gives a short number.
    let longest = if matches!(unit.scale, Scale::Ten(_)) { 17 } else { 12 };
    match exact(quantity, unit, longest) {
        Some(decimal) => unit.with(&decimal.text()),
        None => {
            let unit = &T::KIND.units[0];
            let decimal = exact(quantity, unit, 17).or_else(|| unit.scale.undo(number, 17));
            unit.with(&decimal.map_or_else(|| number.to_string(), |decimal| decimal.text()))
        }
    }
}

/// Writes a quantity with three significant digits.
pub(crate) fn brief<T: Measured>(quantity: T) -> String {
    // Rounded before the unit is chosen: 999.6 Wh is 1 kWh.
    let Some(rounded) = Decimal::round(quantity.number(), 3).and_then(|decimal| decimal.number().ok()) else {
        return T::KIND.units[0].with(&quantity.number().to_string());
    };
    let unit = shown_unit(T::KIND, rounded);
    let number = if matches!(unit.scale, Scale::Ten(_)) { rounded } else { quantity.number() };
    unit.with(&unit.scale.undo(number, 3).map_or_else(String::new, |decimal| decimal.text()))
}

/// The number of a quantity in the unit of `new`, free of the noise of conversion to SI base units and back.
pub(crate) fn clean<T: Measured>(quantity: T) -> f64 {
    let number = quantity.number();
    (1..=17)
        .filter_map(|digits| Decimal::round(number, digits)?.number().ok())
        .find(|candidate| T::of(*candidate) == quantity)
        .unwrap_or(number)
}

/// The shortest number in `unit` that reads back as the quantity itself.
fn exact<T: Measured>(quantity: T, unit: &Unit, longest: usize) -> Option<Decimal> {
    (1..=longest)
        .filter_map(|digits| unit.scale.undo(quantity.number(), digits))
        .find(|decimal| unit.scale.apply(decimal).is_ok_and(|number| T::of(number) == quantity))
}

fn shown_unit(kind: &'static Kind, number: f64) -> &'static Unit {
    let mut best = &kind.units[0];
    let mut best_from = -1.0;
    if number == 0.0 {
        return best;
    }
    // A hair of room, so that the last bit of a conversion does not decide the unit.
    let magnitude = number.abs() * (1.0 + 1e-12);
    for unit in kind.units {
        if let Some(from) = unit.from
            && from <= magnitude
            && from > best_from
        {
            (best, best_from) = (unit, from);
        }
    }
    best
}

impl Unit {
    fn is(&self, written: &str) -> bool {
        self.spellings().any(|spelling| normal(spelling) == written)
    }

    pub(crate) fn spellings(&self) -> impl Iterator<Item = &'static str> {
        core::iter::once(self.symbol).chain(self.also.iter().copied())
    }

    /// The number with the unit: `12 V`, `48.5°`, `120`.
    fn with(&self, number: &str) -> String {
        match self.symbol {
            "" | "°" => format!("{number}{}", self.symbol),
            symbol => format!("{number} {symbol}"),
        }
    }
}

/// Says why a text after a number is not one of the units of `kind`.
pub(crate) fn unit_problem(kind: &'static Kind, number: &Decimal, unit: &str) -> Problem {
    let written = normal(unit);
    let first = &kind.units[0];
    if written.is_empty() {
        return Problem::NoUnit { mend: first.with(&number.text()) };
    }
    if let Some(other) = KINDS.iter().find(|other| other.units.iter().any(|candidate| candidate.is(&written)))
    {
        return Problem::OtherKind { what: other.what };
    }
    let spelling =
        |mend: &Unit| Problem::Spelling { unit: unit.to_string(), mend: mend.with(&number.text()) };
    let lower = written.to_lowercase();
    // Milli for mega would be a guess, and a bad one: no mend for those.
    let is_mega = |candidate: &Unit| written.starts_with('M') && candidate.symbol.starts_with('m');
    let mut same: Vec<&Unit> = Vec::new();
    for candidate in kind.units {
        if !is_mega(candidate)
            && candidate.spellings().any(|spelling| normal(spelling).to_lowercase() == lower)
        {
            same.push(candidate);
        }
    }
    if let [only] = same[..] {
        return spelling(only);
    }
    for addition in ["dc", "ac", "rms", "p", "peak"] {
        if let Some(rest) = lower.strip_suffix(addition)
            && let Some(found) =
                kind.units.iter().find(|unit| !rest.is_empty() && normal(unit.symbol).to_lowercase() == rest)
        {
            return spelling(found);
        }
    }
    Problem::UnknownUnit { unit: unit.chars().take(20).collect() }
}

/// One spelling for characters that look alike, without spaces.
pub(crate) fn normal(unit: &str) -> String {
    let mut normal = String::with_capacity(unit.len());
    for c in unit.chars().filter(|c| !c.is_whitespace() && !matches!(c, '\u{200b}' | '\u{2060}' | '\u{feff}'))
    {
        match c {
            'μ' => normal.push('µ'),
            '\u{2126}' => normal.push('Ω'),
            '⋅' | '∙' | '•' | '*' => normal.push('·'),
            '−' | '–' | '‑' => normal.push('-'),
            'º' | '˚' => normal.push('°'),
            '℃' => normal.push_str("°C"),
            '℉' => normal.push_str("°F"),
            c => normal.push(c),
        }
    }
    normal.replace("^2", "²")
}
