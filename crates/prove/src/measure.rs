//! A value as a meter shows it: typed, with the unit that is asked for.
//! Never: knows which reading it belongs to.
//! Start at [`Measure`] and [`Unit::parse`].

use std::fmt;

use quantity::{Amps, Ohms, Seconds, Volts, Written};
use serde::Serialize;

/// What a meter shows beyond its range: more than any resistance here.
pub const OVER_RANGE_OHMS: f64 = 1e12;

/// What a reading is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// Volts, with sign: red probe against black.
    Volts,
    /// Amps, with sign.
    Amps,
    /// Ohms.
    Ohms,
    /// Seconds.
    Seconds,
    /// Yes or no.
    YesNo,
}

/// A measured or expected value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Measure {
    /// Volts.
    Volts(Volts),
    /// Amps.
    Amps(Amps),
    /// Ohms.
    Ohms(Ohms),
    /// Seconds.
    Seconds(Seconds),
    /// Yes is true.
    YesNo(bool),
}

impl Unit {
    /// The value of a number in volts, amps, ohms or seconds; of yes and no, 1 is yes.
    pub fn measure(self, number: f64) -> Measure {
        match self {
            Self::Volts => Measure::Volts(Volts::new(number)),
            Self::Amps => Measure::Amps(Amps::new(number)),
            Self::Ohms => Measure::Ohms(Ohms::new(number)),
            Self::Seconds => Measure::Seconds(Seconds::new(number)),
            Self::YesNo => Measure::YesNo(number >= 0.5),
        }
    }

    /// What to write, as an example.
    pub fn example(self) -> &'static str {
        match self {
            Self::Volts => "12.8 V",
            Self::Amps => "3.4 A",
            Self::Ohms => "0.2 Ω",
            Self::Seconds => "28 ms",
            Self::YesNo => "yes",
        }
    }

    /// Its symbol; empty for yes and no.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Volts => "V",
            Self::Amps => "A",
            Self::Ohms => "Ω",
            Self::Seconds => "s",
            Self::YesNo => "",
        }
    }

    /// Reads what a person wrote; `OL`, `over` and `open` are what a meter shows beyond its range of ohms.
    ///
    /// # Errors
    /// What is wrong, with the unit wanted.
    pub fn parse(self, text: &str) -> Result<Measure, String> {
        let word = text.trim().to_lowercase();
        let read = match self {
            Self::Volts => Volts::parse(text).map(Measure::Volts).map_err(|error| error.to_string()),
            Self::Amps => Amps::parse(text).map(Measure::Amps).map_err(|error| error.to_string()),
            Self::Ohms if ["ol", "o.l", "over", "open", "1 ."].contains(&word.as_str()) => {
                Ok(Measure::Ohms(Ohms::new(OVER_RANGE_OHMS)))
            }
            // The trade writes insulation in megohms, which no other resistance here needs.
            Self::Ohms if megohms(text).is_some() => {
                Ok(Measure::Ohms(Ohms::new(megohms(text).unwrap_or_default())))
            }
            Self::Ohms => Ohms::parse(text).map(Measure::Ohms).map_err(|error| error.to_string()),
            Self::Seconds => Seconds::parse(text).map(Measure::Seconds).map_err(|error| error.to_string()),
            Self::YesNo => match word.as_str() {
                "yes" | "true" | "pass" | "ok" => Ok(Measure::YesNo(true)),
                "no" | "false" | "fail" => Ok(Measure::YesNo(false)),
                _ => Err(format!("`{text}` is neither yes nor no")),
            },
        };
        read.and_then(|measure| match measure.number().is_finite() {
            true => Ok(measure),
            false => Err(format!("`{text}` is not a finite number")),
        })
    }
}

fn megohms(text: &str) -> Option<f64> {
    let number =
        ["MΩ", "MΩ", "Mohm", "megohms", "megohm"].iter().find_map(|end| text.trim().strip_suffix(end))?;
    number.trim().trim_start_matches('>').trim().parse::<f64>().ok().map(|number| number * 1e6)
}

impl Measure {
    /// The number in volts, amps, ohms or seconds; 1 for yes.
    pub fn number(self) -> f64 {
        match self {
            Self::Volts(volts) => volts.get(),
            Self::Amps(amps) => amps.get(),
            Self::Ohms(ohms) => ohms.get(),
            Self::Seconds(seconds) => seconds.get(),
            Self::YesNo(is) => f64::from(u8::from(is)),
        }
    }

    /// Its unit.
    pub fn unit(self) -> Unit {
        match self {
            Self::Volts(_) => Unit::Volts,
            Self::Amps(_) => Unit::Amps,
            Self::Ohms(_) => Unit::Ohms,
            Self::Seconds(_) => Unit::Seconds,
            Self::YesNo(_) => Unit::YesNo,
        }
    }
}

impl fmt::Display for Measure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            // Three digits would hide what tells a full battery from a half-full one.
            Self::Volts(volts) if volts.abs() >= Volts::new(1.0) && volts.abs() < Volts::new(100.0) => {
                write!(f, "{:.2} V", volts.get())
            }
            Self::Volts(volts) => volts.fmt(f),
            Self::Amps(amps) => amps.fmt(f),
            Self::Ohms(ohms) if ohms.get() >= OVER_RANGE_OHMS => f.write_str("over range"),
            Self::Ohms(ohms) if ohms.get() >= 1e5 => write!(f, "{} MΩ", ohms.get() / 1e6),
            Self::Ohms(ohms) => ohms.fmt(f),
            Self::Seconds(seconds) => seconds.fmt(f),
            Self::YesNo(true) => f.write_str("yes"),
            Self::YesNo(false) => f.write_str("no"),
        }
    }
}
