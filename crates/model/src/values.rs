//! How each kind of value is read from TOML: quantities, numbers, words, lists, maps.
//! Never: knows what a value is for.
//! Start at [`read_written`].

use std::borrow::Cow;
use std::collections::BTreeMap;

use quantity::Written;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::read::{Context, ReadValue, describe, whole};

fn wrong<T: ReadValue>(value: &Spanned<DeValue<'_>>, wanted: &str, context: &mut Context<'_>) -> Option<T> {
    context.problem(
        value.span(),
        format!("{} stands where {wanted} is wanted", describe(value.get_ref())),
        format!("Write it like this: `{}`", T::example()),
    );
    None
}

/// Reads a quantity: a text with a unit.
pub fn read_written<T: Written + ReadValue>(
    value: &Spanned<DeValue<'_>>,
    context: &mut Context<'_>,
) -> Option<T> {
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        // The quantity's own reader says which unit is missing.
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        _ => return wrong(value, T::WHAT, context),
    };
    match T::parse(&text) {
        Ok(quantity) => Some(quantity),
        Err(error) => {
            context.problem(
                value.span(),
                error.to_string(),
                format!("Write it like this: `\"{}\"`", T::EXAMPLE),
            );
            None
        }
    }
}

macro_rules! read_quantities {
    ($($name:ident),* $(,)?) => {
        $(impl ReadValue for quantity::$name {
            fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
                read_written(value, context)
            }
            fn example() -> Cow<'static, str> {
                format!("\"{}\"", <Self as Written>::EXAMPLE).into()
            }
        })*
    };
}

read_quantities!(
    Volts,
    Amps,
    Ohms,
    Watts,
    VoltAmps,
    WattHours,
    AmpHours,
    Hours,
    Metres,
    SquareMm,
    Kilograms,
    Farads,
    NewtonMetres,
    Hertz,
    Degrees,
    Fraction,
    Celsius,
    Kelvins,
    Gauge,
    Money,
    HoursPerDay,
    PerDay,
    WattHoursPerDay,
    PercentPerKelvin,
    Litres,
);

impl ReadValue for reference::Insulation {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        let DeValue::String(text) = value.get_ref() else {
            return wrong(value, "an insulation rating", context);
        };
        match text.parse() {
            Ok(insulation) => Some(insulation),
            Err(_) => {
                context.problem(
                    value.span(),
                    format!("`{text}` is not an insulation rating"),
                    "Write one of \"60 °C\", \"70 °C\", \"75 °C\", \"80 °C\", \"90 °C\", \"105 °C\", \"125 °C\", \"200 °C\"",
                );
                None
            }
        }
    }
    fn example() -> Cow<'static, str> {
        "\"105 °C\"".into()
    }
}

impl ReadValue for reference::RuleSet {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        match value.get_ref().as_str() {
            Some("na") => Some(Self::Na),
            Some("iec") => Some(Self::Iec),
            _ => {
                context.problem(
                    value.span(),
                    "this is not a rule set",
                    "Write \"na\" (North America: AWG, 120 V 60 Hz) or \"iec\" (mm², 230 V 50 Hz)",
                );
                None
            }
        }
    }
    fn example() -> Cow<'static, str> {
        "\"na\"".into()
    }
}

impl ReadValue for f64 {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        let text = match value.get_ref() {
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.to_string(),
            _ => return wrong(value, "a number", context),
        };
        match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Some(number),
            _ => {
                context.problem(
                    value.span(),
                    format!("{text} is not a finite number"),
                    "Write a number such as `1.05`",
                );
                None
            }
        }
    }
    fn example() -> Cow<'static, str> {
        "1.05".into()
    }
}

/// Reads texts by path: a quoted path or nested tables give the same.
pub fn read_texts(
    value: &Spanned<DeValue<'_>>,
    context: &mut Context<'_>,
) -> Option<BTreeMap<String, String>> {
    let DeValue::Table(table) = value.get_ref() else {
        return wrong::<String>(value, "a table of texts", context).map(|_| BTreeMap::new());
    };
    let mut texts = BTreeMap::new();
    read_texts_below(table, "", &mut texts, context);
    Some(texts)
}

fn read_texts_below(
    table: &DeTable<'_>,
    above: &str,
    texts: &mut BTreeMap<String, String>,
    context: &mut Context<'_>,
) {
    for (key, item) in table.iter() {
        let name: &str = key.get_ref();
        let path = if above.is_empty() { name.to_owned() } else { format!("{above}.{name}") };
        context.at(name, whole(key.span(), item.span()), |context| match item.get_ref() {
            DeValue::String(text) => {
                texts.insert(path, text.to_string());
            }
            DeValue::Integer(number) => {
                texts.insert(path, number.to_string());
            }
            DeValue::Table(below) => read_texts_below(below, &path, texts, context),
            other => context.problem(
                item.span(),
                format!("{} stands where a text is wanted", describe(other)),
                "Write it like this: `\"inverter.positive.gauge\" = \"2/0 AWG\"`",
            ),
        });
    }
}

impl ReadValue for bool {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        match value.get_ref() {
            DeValue::Boolean(is) => Some(*is),
            _ => wrong(value, "true or false", context),
        }
    }
    fn example() -> Cow<'static, str> {
        "true".into()
    }
}

impl ReadValue for u32 {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        let DeValue::Integer(integer) = value.get_ref() else {
            return wrong(value, "a whole number", context);
        };
        match i64::from_str_radix(integer.as_str(), integer.radix()) {
            Ok(number @ 0..=100_000) => u32::try_from(number).ok(),
            _ => {
                context.problem(
                    value.span(),
                    format!("{} is not a whole number from 0 to 100000", integer.as_str()),
                    "Write how many there are, such as `4`",
                );
                None
            }
        }
    }
    fn example() -> Cow<'static, str> {
        "2".into()
    }
}

impl ReadValue for String {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        match value.get_ref() {
            DeValue::String(text) => Some(text.to_string()),
            _ => wrong(value, "a text", context),
        }
    }
    fn example() -> Cow<'static, str> {
        "\"…\"".into()
    }
}

impl<T: ReadValue> ReadValue for Option<T> {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        T::read(value, context).map(Some)
    }
    fn absent() -> Option<Self> {
        Some(None)
    }
    fn example() -> Cow<'static, str> {
        T::example()
    }
}

impl<T: ReadValue> ReadValue for Vec<T> {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        let DeValue::Array(items) = value.get_ref() else { return wrong(value, "a list", context) };
        let mut read = Vec::new();
        let mut is_complete = true;
        for (index, item) in items.iter().enumerate() {
            match context.at(&format!("[{index}]"), item.span(), |context| T::read(item, context)) {
                Some(item) => read.push(item),
                None => is_complete = false,
            }
        }
        is_complete.then_some(read)
    }
    fn absent() -> Option<Self> {
        Some(Vec::new())
    }
    fn example() -> Cow<'static, str> {
        format!("[{}]", T::example()).into()
    }
}

impl<T: ReadValue> ReadValue for BTreeMap<crate::Name, T> {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        let DeValue::Table(table) = value.get_ref() else { return wrong(value, "a table", context) };
        let mut read = BTreeMap::new();
        let mut is_complete = true;
        for (key, item) in table.iter() {
            let name = match crate::Name::new(key.get_ref()) {
                Ok(name) => name,
                Err(mend) => {
                    context.problem(key.span(), format!("`{}` cannot be a name", key.get_ref()), mend);
                    is_complete = false;
                    continue;
                }
            };
            let item =
                context.at(name.as_str(), whole(key.span(), item.span()), |context| T::read(item, context));
            match item {
                Some(item) => {
                    read.insert(name, item);
                }
                None => is_complete = false,
            }
        }
        is_complete.then_some(read)
    }
    fn absent() -> Option<Self> {
        Some(BTreeMap::new())
    }
    fn example() -> Cow<'static, str> {
        "{ … }".into()
    }
}
