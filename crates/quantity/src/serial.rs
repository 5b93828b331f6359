//! Quantities in files for machines: read from text, written as number and unit, described as JSON Schema.
//! Never: decides what a quantity is; all of it comes from its [`Kind`].
//! Start at `from_text!`.

use crate::written::{Kind, Written};
use core::fmt;
use core::marker::PhantomData;
use serde::de::{Error, Visitor};
use serde::ser::SerializeStruct;
use serde::{Deserializer, Serializer};

/// Writes `{"value": 12.8, "unit": "V"}`.
pub(crate) fn write<S: Serializer>(to: S, value: f64, unit: &'static str) -> Result<S::Ok, S::Error> {
    let mut fields = to.serialize_struct("Quantity", 2)?;
    fields.serialize_field("value", &value)?;
    fields.serialize_field("unit", unit)?;
    fields.end()
}

/// Reads a quantity from its text; a bare number gets the error that names the missing unit.
pub(crate) fn read<'de, T: Written, D: Deserializer<'de>>(from: D) -> Result<T, D::Error> {
    from.deserialize_any(TextVisitor(PhantomData))
}

struct TextVisitor<T>(PhantomData<T>);

impl<T: Written> Visitor<'_> for TextVisitor<T> {
    type Value = T;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} as text, such as \"{}\"", T::WHAT, T::EXAMPLE)
    }
    fn visit_str<E: Error>(self, text: &str) -> Result<T, E> {
        T::parse(text).map_err(E::custom)
    }
    fn visit_i64<E: Error>(self, number: i64) -> Result<T, E> {
        T::parse(&number.to_string()).map_err(E::custom)
    }
    fn visit_u64<E: Error>(self, number: u64) -> Result<T, E> {
        T::parse(&number.to_string()).map_err(E::custom)
    }
    fn visit_f64<E: Error>(self, number: f64) -> Result<T, E> {
        T::parse(&number.to_string()).map_err(E::custom)
    }
}

/// Implements `Deserialize` and `JsonSchema` for a quantity that is written as text.
macro_rules! from_text {
    ($name:ident, $kind:expr) => {
        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                $crate::serial::read(from)
            }
        }
        impl schemars::JsonSchema for $name {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                $crate::serial::schema($kind)
            }
        }
    };
}
pub(crate) use from_text;

/// The schema of a written quantity: a text with pattern and example.
pub(crate) fn schema(kind: &Kind) -> schemars::Schema {
    let symbols: Vec<&str> =
        kind.units.iter().map(|unit| unit.symbol).filter(|symbol| !symbol.is_empty()).collect();
    let how = match symbols[..] {
        [] => "a number alone".to_string(),
        _ => format!("a number with one of the units {}", symbols.join(", ")),
    };
    schemars::json_schema!({
        "type": "string",
        "description": format!("{}. Written as {how}.", kind.meaning),
        "examples": [kind.example],
        "pattern": pattern(kind),
    })
}

/// A pattern that every text accepted in ordinary spelling fits.
fn pattern(kind: &Kind) -> String {
    const NUMBER: &str = r"[-+−]?\s*(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?";
    let mut spellings: Vec<String> =
        kind.units.iter().flat_map(|unit| unit.spellings()).map(escaped).collect();
    // Longest first, for readers of patterns that take the first that fits.
    spellings.sort_by_key(|spelling| core::cmp::Reverse(spelling.len()));
    let usual = format!(r"{NUMBER}\s*(?:{})", spellings.join("|"));
    match kind.name {
        "Gauge" => r"^\s*(?:#?\s*[0-9]+\s*(?:AWG|awg)|(?:AWG|awg)\s*#?\s*[0-9]+(?:/0)?|[1-4]/0(?:\s*(?:AWG|awg))?|[0-9]+\.?[0-9]*\s*(?:mm²|mm2|sq\s*mm))\s*$".to_string(),
        "Metres" => format!(r#"^\s*(?:{usual}|[-−]?[-0-9./ ½¼¾⅛⅜⅝⅞]+\s*(?:ft|feet|foot|'|′)(?:[-0-9./ ½¼¾⅛⅜⅝⅞]+\s*(?:in|inch|inches|"|″))?|[-−]?[-0-9./ ½¼¾⅛⅜⅝⅞]+\s*(?:in|inch|inches|"|″))\s*$"#),
        "Degrees" => format!(r"^\s*(?:{usual}|{NUMBER}\s*(?:°|deg)?\s*[NSEW])\s*$"),
        _ => format!(r"^\s*{usual}\s*$"),
    }
}

fn escaped(spelling: &str) -> String {
    let mut escaped = String::new();
    for c in spelling.chars() {
        match c {
            ' ' => escaped.push_str(r"\s*"),
            '/' | '.' | '^' | '*' | '-' | '+' | '(' | ')' => {
                if !matches!(c, '/' | '-') {
                    escaped.push('\\');
                }
                escaped.push(c);
            }
            c => escaped.push(c),
        }
    }
    escaped
}
