//! Times of day and days of the year, as a person writes them: `"18:30"`, `"1 May to 30 Sep"`.
//! Never: reads a clock, knows a year; 29 February is not a day here.
//! Start at [`ClockTime`] and [`DaySpan`].

use std::borrow::Cow;
use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};
use toml::Spanned;
use toml::de::DeValue;

use crate::read::{Context, ReadValue};

const MONTHS: [(&str, u16); 12] = [
    ("Jan", 31),
    ("Feb", 28),
    ("Mar", 31),
    ("Apr", 30),
    ("May", 31),
    ("Jun", 30),
    ("Jul", 31),
    ("Aug", 31),
    ("Sep", 30),
    ("Oct", 31),
    ("Nov", 30),
    ("Dec", 31),
];

/// A time of day, to the minute; `24:00` is the end of the day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct ClockTime(u16);

impl ClockTime {
    /// From minutes after midnight, at most 1440.
    pub fn from_minutes(minutes: u16) -> Self {
        Self(minutes.min(1440))
    }
    /// Minutes after midnight.
    pub fn minutes(self) -> u16 {
        self.0
    }
    /// Reads `18:30`.
    pub fn parse(text: &str) -> Option<Self> {
        let (hours, minutes) = text.trim().split_once(':')?;
        let digits = |part: &str| part.len() <= 2 && part.chars().all(|c| c.is_ascii_digit());
        if !digits(hours) || minutes.len() != 2 || !digits(minutes) {
            return None;
        }
        let (hours, minutes) = (hours.parse::<u16>().ok()?, minutes.parse::<u16>().ok()?);
        let total = hours * 60 + minutes;
        (minutes < 60 && total <= 1440).then_some(Self(total))
    }
}

impl fmt::Display for ClockTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}:{:02}", self.0 / 60, self.0 % 60)
    }
}

/// A stretch of days of any year, both ends in it; it may run over the new year.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct DaySpan {
    from: u16,
    to: u16,
}

impl DaySpan {
    /// The whole year.
    pub const YEAR: Self = Self { from: 0, to: 364 };
    /// From one day to another, counted from 0 for 1 January.
    pub fn new(from: u16, to: u16) -> Self {
        Self { from: from.min(364), to: to.min(364) }
    }
    /// First day, from 0.
    pub fn from(self) -> u16 {
        self.from
    }
    /// Last day, from 0.
    pub fn to(self) -> u16 {
        self.to
    }
    /// Whether a day, from 0, lies in it.
    pub fn has(self, day: u16) -> bool {
        if self.from <= self.to {
            (self.from..=self.to).contains(&day)
        } else {
            day >= self.from || day <= self.to
        }
    }
    /// Reads `1 May to 30 Sep`; month names may be written out.
    pub fn parse(text: &str) -> Option<Self> {
        let (from, to) = text.split_once(" to ")?;
        Some(Self { from: day(from)?, to: day(to)? })
    }
}

fn day(text: &str) -> Option<u16> {
    let mut words = text.split_whitespace();
    let (number, month) = (words.next()?, words.next()?);
    if words.next().is_some() || month.len() < 3 || !month.is_ascii() {
        return None;
    }
    let number = number.parse::<u16>().ok()?;
    let at = MONTHS.iter().position(|(name, _)| name.eq_ignore_ascii_case(&month[..3]))?;
    let before: u16 = MONTHS[..at].iter().map(|(_, days)| days).sum();
    (1..=MONTHS[at].1).contains(&number).then_some(before + number - 1)
}

fn shown(f: &mut fmt::Formatter<'_>, mut day: u16) -> fmt::Result {
    for (name, days) in MONTHS {
        if day < days {
            return write!(f, "{} {name}", day + 1);
        }
        day -= days;
    }
    Ok(())
}

impl fmt::Display for DaySpan {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        shown(f, self.from)?;
        f.write_str(" to ")?;
        shown(f, self.to)
    }
}

macro_rules! text_value {
    ($name:ident, $what:literal, $example:literal, $pattern:literal, $mend:literal) => {
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }
        impl JsonSchema for $name {
            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({ "type": "string", "pattern": $pattern, "description": $what, "examples": [$example] })
            }
        }
        impl ReadValue for $name {
            fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
                let text = String::read(value, context)?;
                let read = Self::parse(&text);
                if read.is_none() {
                    context.problem(value.span(), concat!("this is not ", $what), $mend);
                }
                read
            }
            fn example() -> Cow<'static, str> {
                concat!("\"", $example, "\"").into()
            }
        }
    };
}

text_value!(
    ClockTime,
    "a time of day",
    "18:30",
    r"^\s*([01]?[0-9]|2[0-3]):[0-5][0-9]\s*$|^\s*24:00\s*$",
    "Write hours and minutes of the 24-hour clock: \"18:30\""
);
text_value!(
    DaySpan,
    "a stretch of days",
    "1 May to 30 Sep",
    r"^\s*[0-9]{1,2}\s+[A-Za-z]{3,9}\s+to\s+[0-9]{1,2}\s+[A-Za-z]{3,9}\s*$",
    "Write first and last day: \"1 May to 30 Sep\"; 29 Feb is not counted"
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_and_days_read_back() {
        for text in ["00:00", "07:05", "18:30", "24:00"] {
            assert_eq!(ClockTime::parse(text).map(|time| time.to_string()).as_deref(), Some(text));
        }
        for text in ["1 Jan to 31 Dec", "1 May to 30 Sep", "20 Dec to 6 Jan"] {
            assert_eq!(DaySpan::parse(text).map(|span| span.to_string()).as_deref(), Some(text));
        }
        for text in ["24:01", "7", "7:5", "-1:00", "7:60", "1 2:00", "99:00"] {
            assert_eq!(ClockTime::parse(text), None, "{text}");
        }
        for text in ["29 Feb to 1 Mar", "1 May", "0 May to 2 May", "31 Jun to 1 Jul", "1 Mäi to 2 May"] {
            assert_eq!(DaySpan::parse(text), None, "{text}");
        }
    }

    #[test]
    fn a_span_may_run_over_the_new_year() {
        let winter = DaySpan::parse("20 December to 6 January").expect("a span");
        assert!(winter.has(0) && winter.has(5) && winter.has(364) && winter.has(353));
        assert!(!winter.has(6) && !winter.has(352));
    }
}
