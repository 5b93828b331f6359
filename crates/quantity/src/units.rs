//! Every quantity as data: what it is called, how it is written, which units are read and which are shown.
//! Never: computes.
//! Start at the `written!` list; [`words`] gives it as a list for the manual.
//!
//! Factors: the international inch (25.4 mm) and pound (0.453 592 37 kg) of 1959 and standard gravity (9.806 65 m/s²)
//! are exact by definition (BIPM, SI Brochure, and NIST SP 811, appendix B); all others follow from them.

use crate::decimal::Decimal;
use crate::error::{Problem, QuantityError};
use crate::kinds::*;
use crate::length;
use crate::written::{Kind, Measured, Scale, Unit, Written, brief, clean, read, show};
use Scale::{Point, Ratio, Ten};
use core::fmt;

/// A unit that is read and shown.
const fn shown(symbol: &'static str, also: &'static [&'static str], scale: Scale, from: f64) -> Unit {
    Unit { symbol, also, scale, from: Some(from) }
}

/// A unit that is read only.
const fn taken(symbol: &'static str, also: &'static [&'static str], scale: Scale) -> Unit {
    Unit { symbol, also, scale, from: None }
}

/// Pound-force inch in newton metres: 0.453 592 37 · 9.806 65 · 0.0254.
const POUND_INCH: f64 = 0.112_984_829_027_616_7;

/// Says of each type what it is, its unit of `new`, an example and its units; `read` and `brief` name the functions.
macro_rules! written {
    ($($name:ident, $what:literal, $meaning:literal, $unit:literal, $example:literal, $read:path, $brief:path, [$($row:expr),* $(,)?];)*) => {
        /// Every kind of quantity, in the order in which a stray unit is looked up.
        pub(crate) const KINDS: &[&Kind] = &[$(<$name as Measured>::KIND,)* &crate::gauge::KIND];
        $(
            impl Measured for $name {
                const KIND: &'static Kind = &Kind {
                    name: stringify!($name), what: $what, meaning: $meaning, unit: $unit, example: $example,
                    units: &[$($row),*],
                };
                fn of(number: f64) -> Self {
                    Self::new(number)
                }
                fn number(self) -> f64 {
                    self.get()
                }
            }
            impl Written for $name {
                const WHAT: &'static str = $what;
                const EXAMPLE: &'static str = $example;
                fn parse(text: &str) -> Result<Self, QuantityError> {
                    $read(text)
                }
                fn show(&self) -> String {
                    show(*self)
                }
            }
            impl $name {
                /// The short form for people: three significant digits in a fitting unit.
                pub fn brief(self) -> String {
                    $brief(self)
                }
            }
            impl fmt::Display for $name {
                fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                    f.pad(&self.brief())
                }
            }
            impl serde::Serialize for $name {
                fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                    crate::serial::write(to, clean(*self), <Self as Measured>::KIND.unit)
                }
            }
            crate::serial::from_text!($name, <$name as Measured>::KIND);
        )*
    };
}

written! {
    Volts, "a voltage", "Electric potential difference", "V", "12.8 V", read, brief, [
        shown("V", &["volt", "volts"], Ten(0), 0.1),
        shown("mV", &[], Ten(-3), 0.0),
        shown("kV", &[], Ten(3), 1e4),
    ];
    Amps, "a current", "Electric current", "A", "12.5 A", read, brief, [
        shown("A", &["amp", "amps", "ampere", "amperes"], Ten(0), 0.1),
        shown("mA", &[], Ten(-3), 0.0),
        shown("kA", &[], Ten(3), 1e4),
    ];
    Ohms, "a resistance", "Electrical resistance", "Ω", "0.33 mΩ", read, brief, [
        shown("Ω", &["ohm", "ohms"], Ten(0), 1.0),
        shown("mΩ", &["mohm", "milliohm", "milliohms"], Ten(-3), 1e-3),
        shown("µΩ", &["uΩ", "µohm", "uohm", "microhm", "microohm"], Ten(-6), 0.0),
        taken("kΩ", &["kohm"], Ten(3)),
    ];
    OhmsPerKm, "a resistance per length", "Resistance of a length of conductor", "Ω/km", "3.08 Ω/km", read, brief, [
        shown("Ω/km", &["ohm/km", "ohms/km"], Ten(0), 0.0),
        taken("mΩ/m", &["mohm/m", "milliohm/m"], Ten(0)),
        taken("Ω/m", &["ohm/m"], Ten(3)),
        taken("ohm/kft", &["Ω/kft", "ohm/1000 ft", "ohm/1000ft", "Ω/1000 ft"], Ratio(10_000.0, 3048.0)),
        taken("mΩ/ft", &["mohm/ft"], Ratio(10_000.0, 3048.0)),
    ];
    Watts, "a power", "Real power", "W", "300 W", read, brief, [
        shown("W", &["watt", "watts"], Ten(0), 0.1),
        shown("kW", &[], Ten(3), 1e4),
        shown("mW", &[], Ten(-3), 0.0),
    ];
    VoltAmps, "an apparent power", "Apparent power: volts times amps, whatever their phase", "VA", "3000 VA", read, brief, [
        shown("VA", &["va", "V·A"], Ten(0), 0.0),
        shown("kVA", &["kva"], Ten(3), 1e4),
    ];
    WattHours, "an energy", "Energy", "Wh", "1200 Wh", read, brief, [
        shown("Wh", &["W·h"], Ten(0), 0.0),
        shown("kWh", &["kW·h"], Ten(3), 1e3),
        taken("J", &["Ws", "W·s"], Ratio(1.0, 3600.0)),
        taken("MJ", &[], Ratio(1000.0, 3.6)),
    ];
    Joules, "an energy", "A small energy, as in a transient", "J", "50 J", read, brief, [
        shown("J", &["Ws", "W·s"], Ten(0), 0.1),
        shown("mJ", &[], Ten(-3), 0.0),
        shown("kJ", &[], Ten(3), 1e4),
    ];
    AmpHours, "a battery capacity", "Electric charge, and so the capacity of a battery", "Ah", "310 Ah", read, brief, [
        shown("Ah", &["A·h"], Ten(0), 0.1),
        shown("mAh", &["mA·h"], Ten(-3), 0.0),
    ];
    Hours, "a duration", "Duration", "h", "36 h", read, brief, [
        shown("h", &["hr", "hrs", "hour", "hours"], Ten(0), 1.0),
        shown("min", &["minute", "minutes"], Ratio(1.0, 60.0), 1.0 / 60.0),
        shown("s", &["sec", "second", "seconds"], Ratio(1.0, 3600.0), 0.0),
        taken("ms", &[], Ratio(1.0, 3_600_000.0)),
        taken("d", &["day", "days"], Ratio(24.0, 1.0)),
    ];
    Seconds, "a duration", "A short duration, as in a transient", "s", "0.2 s", read, brief, [
        shown("s", &["sec", "second", "seconds"], Ten(0), 0.1),
        shown("ms", &[], Ten(-3), 1e-4),
        shown("µs", &["us"], Ten(-6), 0.0),
        taken("min", &["minute", "minutes"], Ratio(60.0, 1.0)),
    ];
    HoursPerDay, "a use per day", "Duration of use on each day", "h/day", "2 h/day", read, brief, [
        shown("h/day", &["h/d", "h per day", "h a day", "hours/day", "hours per day", "hours a day", "hour per day", "hour a day"], Ten(0), 0.0),
        taken("min/day", &["min/d", "min per day", "min a day", "minutes/day", "minutes per day", "minutes a day"], Ratio(1.0, 60.0)),
        taken("s/day", &["s/d", "s per day", "seconds per day"], Ratio(1.0, 3600.0)),
        taken("h/week", &["h per week", "hours per week", "h a week", "hours a week"], Ratio(1.0, 7.0)),
    ];
    PerDay, "a number of runs per day", "How often something runs on each day", "/day", "3 /day", read, brief, [
        shown("/day", &["/d", "per day", "a day", "times a day", "times per day", "times/day", "time a day", "time per day", "runs/day", "runs per day", "runs a day"], Ten(0), 0.0),
        taken("/week", &["per week", "a week", "times a week", "times per week", "times/week", "runs/week", "runs per week"], Ratio(1.0, 7.0)),
    ];
    WattHoursPerDay, "an energy per day", "Energy used or gained on each day", "Wh/day", "1450 Wh/day", read, brief, [
        shown("Wh/day", &["Wh/d", "Wh per day", "Wh a day"], Ten(0), 0.0),
        shown("kWh/day", &["kWh/d", "kWh per day", "kWh a day"], Ten(3), 1e3),
    ];
    Metres, "a length", "Length", "m", "4.5 m", length::read, brief, [
        shown("m", &["metre", "metres", "meter", "meters"], Ten(0), 0.1),
        shown("mm", &["millimetre", "millimetres", "millimeter", "millimeters"], Ten(-3), 0.0),
        taken("cm", &["centimetre", "centimetres", "centimeter", "centimeters"], Ten(-2)),
        taken("ft", &["foot", "feet", "'", "′"], Ratio(3048.0, 10_000.0)),
        taken("in", &["inch", "inches", "\"", "″"], Ratio(254.0, 10_000.0)),
    ];
    SquareMm, "a cross-section", "Area; a conductor's cross-section of metal", "mm²", "16 mm²", read, brief, [
        shown("mm²", &["mm2", "sq mm", "sqmm"], Ten(0), 0.0),
        taken("cm²", &["cm2"], Ten(2)),
        taken("m²", &["m2"], Ten(6)),
    ];
    Kilograms, "a mass", "Mass", "kg", "12 kg", read, brief, [
        shown("kg", &[], Ten(0), 0.1),
        shown("g", &[], Ten(-3), 0.0),
        taken("lb", &["lbs"], Ratio(45_359_237.0, 1e8)),
    ];
    Litres, "a volume", "Volume", "L", "40 L", read, brief, [
        shown("L", &["l", "litre", "litres", "liter", "liters"], Ten(0), 0.1),
        shown("mL", &["ml"], Ten(-3), 0.0),
        taken("m³", &["m3", "m^3"], Ten(3)),
    ];
    Farads, "a capacitance", "Capacitance", "F", "4700 µF", read, brief, [
        shown("F", &["farad", "farads"], Ten(0), 1.0),
        shown("mF", &[], Ten(-3), 1e-2),
        shown("µF", &["uF"], Ten(-6), 0.0),
    ];
    Henries, "an inductance", "Inductance", "H", "15 µH", read, brief, [
        shown("H", &["henry", "henries"], Ten(0), 0.1),
        shown("mH", &[], Ten(-3), 1e-4),
        shown("µH", &["uH"], Ten(-6), 0.0),
    ];
    NewtonMetres, "a torque", "Torque", "N·m", "6 N·m", read, brief, [
        shown("N·m", &["Nm", "N m", "N.m", "N-m"], Ten(0), 0.0),
        taken("lbf-in", &["lb-in", "lbf·in", "lb·in", "in-lb", "in-lbf", "in·lbf", "lb in", "lbf in", "in lb"], Ratio(POUND_INCH, 1.0)),
        taken("lbf-ft", &["lb-ft", "lbf·ft", "lb·ft", "ft-lb", "ft-lbf", "ft·lbf", "lb ft", "lbf ft", "ft lb"], Ratio(12.0 * POUND_INCH, 1.0)),
    ];
    Hertz, "a frequency", "Frequency", "Hz", "60 Hz", read, brief, [
        shown("Hz", &["hz", "hertz"], Ten(0), 0.0),
        shown("kHz", &[], Ten(3), 1e4),
    ];
    Degrees, "an angle", "Plane angle: latitude, longitude, tilt, heading", "°", "48.5°", read_degrees, brief, [
        shown("°", &["deg", "degree", "degrees"], Ten(0), 0.0),
    ];
    Fraction, "a share", "A pure ratio, 1 being 100 %: efficiency, duty, depth of discharge", "1", "25 %", read, brief, [
        shown("%", &["percent", "per cent"], Ten(-2), 0.0),
        taken("", &[], Ten(0)),
    ];
    Celsius, "a temperature", "A temperature on the Celsius scale", "°C", "25 °C", read_celsius, brief, [
        shown("°C", &["C", "degC", "deg C"], Ten(0), 0.0),
        taken("°F", &["F", "degF", "deg F"], Point(32.0, 1.8)),
        taken("K", &["kelvin"], Point(273.15, 1.0)),
    ];
    Kelvins, "a temperature difference", "A difference of temperature", "K", "30 K", read, brief, [
        shown("K", &["kelvin", "kelvins"], Ten(0), 0.0),
    ];
    PercentPerKelvin, "a temperature coefficient", "Relative change with temperature", "%/K", "-0.29 %/K", read, brief, [
        shown("%/K", &["%/°C", "%/C", "%/degC", "% per K", "% per °C", "percent per K"], Ten(0), 0.0),
    ];
    SquareAmpSeconds, "a let-through energy (I²t)", "I²t: what a fault lets through before it is cleared, or a conductor withstands", "A²s", "12000 A²s", read, brief, [
        shown("A²s", &["A2s", "A²·s", "A^2 s", "A^2·s"], Ten(0), 0.0),
        taken("kA²s", &["kA2s", "kA²·s", "kA^2 s"], Ten(6)),
    ];
    Money, "a price", "A price, in one currency unit that is the same throughout and not named", "currency unit", "120", read, brief_money, [
        shown("", &[], Ten(0), 0.0),
    ];
}

/// Reads an angle; a compass letter gives the sign: north and east plus, south and west minus.
fn read_degrees(text: &str) -> Result<Degrees, QuantityError> {
    let trimmed = text.trim();
    let (rest, sign) = match trimmed.chars().next_back() {
        Some('N' | 'E') => (&trimmed[..trimmed.len() - 1], 1.0),
        Some('S' | 'W') => (&trimmed[..trimmed.len() - 1], -1.0),
        _ => return read(text),
    };
    let angle: Degrees = match Decimal::split(rest) {
        Ok((_, unit)) if unit.trim().is_empty() => read(&format!("{rest}°"))?,
        Ok(_) => match read(rest) {
            Ok(angle) => angle,
            // The letter belongs to a unit after all: `12 kW`.
            Err(_) => return read(text),
        },
        Err(_) => return read(text),
    };
    if angle < Degrees::zero() {
        let (message, hint) = (
            format!("`{trimmed}` has both a minus and a compass letter"),
            format!("write `{}` or turn the letter round", trimmed.trim_start_matches(['-', '−', '–'])),
        );
        return Err(QuantityError::new(Degrees::KIND, text, Problem::Own { message, hint }));
    }
    Ok(angle * sign)
}

/// Reads a temperature, which is never below absolute zero.
fn read_celsius(text: &str) -> Result<Celsius, QuantityError> {
    let temperature: Celsius = read(text)?;
    if temperature.get() < -273.15 {
        let message = format!("`{}` is below absolute zero", text.trim());
        let hint = "write a temperature above -273.15 °C, such as `25 °C`".to_string();
        return Err(QuantityError::new(Celsius::KIND, text, Problem::Own { message, hint }));
    }
    Ok(temperature)
}

/// A price for people: whole units from 100 on, cents below.
fn brief_money(price: Money) -> String {
    let number = price.get();
    let whole = number.abs() >= 99.995 || number == number.trunc();
    let text = if whole { format!("{number:.0}") } else { format!("{number:.2}") };
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') { "0".to_string() } else { text }
}

/// A line of the list of words.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Word {
    /// The type's name in the source.
    pub name: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// The unit of its `new` and `get`.
    pub unit: &'static str,
    /// How it is written.
    pub example: &'static str,
}

/// Every quantity type with its meaning, unit and an example.
pub fn words() -> Vec<Word> {
    let word = |kind: &&Kind| Word {
        name: kind.name,
        meaning: kind.meaning,
        unit: kind.unit,
        example: kind.example,
    };
    KINDS.iter().map(word).collect()
}
