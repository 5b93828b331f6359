//! Reading and showing: good and bad texts for every quantity, and the round trip.
//! Factors are checked against NIST Special Publication 811 (2008), appendix B.8, from memory: 1 in = 25.4 mm,
//! 1 ft = 0.3048 m, 1 lb = 0.45359237 kg, 1 lbf·in = 0.1129848 N·m, 1 lbf·ft = 1.355818 N·m, 1 Wh = 3600 J.

use proptest::prelude::*;
use quantity::*;

/// Reads a text, checks the number in the unit of `new`, and the exact and short forms.
macro_rules! good {
    ($kind:ident: $($text:literal => $number:expr, $shown:literal, $brief:literal;)*) => {
        $(
            let read = $kind::parse($text).unwrap_or_else(|error| panic!("{}: {error}", $text));
            assert_eq!(read, $kind::new($number), "{}", $text);
            assert_eq!(read.show(), $shown, "{} shown", $text);
            assert_eq!(read.to_string(), $brief, "{} in brief", $text);
            assert_eq!($kind::parse(&read.show()), Ok(read), "{} round trip", $text);
        )*
    };
}

/// Reads a text that is wrong, and checks the whole message.
macro_rules! bad {
    ($kind:ident: $($text:literal => $message:literal;)*) => {
        $(assert_eq!($kind::parse($text).unwrap_err().to_string(), $message, "{:?}", $text);)*
    };
}

#[test]
fn voltages() {
    good!(Volts:
        "12.8 V" => 12.8, "12.8 V", "12.8 V";
        "12V" => 12.0, "12 V", "12 V";
        "12\u{a0}V" => 12.0, "12 V", "12 V";
        "12\u{2009}V" => 12.0, "12 V", "12 V";
        " -0.5 V " => -0.5, "-0.5 V", "-0.5 V";
        "−0.5 V" => -0.5, "-0.5 V", "-0.5 V";
        "+3 V" => 3.0, "3 V", "3 V";
        "264.4 mV" => 0.2644, "0.2644 V", "0.264 V";
        "48 mV" => 0.048, "48 mV", "48 mV";
        "11 kV" => 11_000.0, "11 kV", "11 kV";
        "1.2e3 V" => 1200.0, "1200 V", "1200 V";
        ".5 V" => 0.5, "0.5 V", "0.5 V";
        "0 V" => 0.0, "0 V", "0 V";
        "-0 V" => 0.0, "0 V", "0 V";
    );
    bad!(Volts:
        "" => "nothing is written; here a voltage is wanted, such as `12.8 V`";
        "   " => "nothing is written; here a voltage is wanted, such as `12.8 V`";
        "12" => "`12` has no unit; write `12 V`";
        "12 A" => "`12 A` is a current; here a voltage is wanted, such as `12.8 V`";
        "12 AWG" => "`12 AWG` is a conductor size; here a voltage is wanted, such as `12.8 V`";
        "V" => "`V` does not begin with a number; here a voltage is wanted, such as `12.8 V`";
        "NaN V" => "`NaN V` does not begin with a number; here a voltage is wanted, such as `12.8 V`";
        "inf V" => "`inf V` does not begin with a number; here a voltage is wanted, such as `12.8 V`";
        "1.2.3 V" => "`1.2.3 V` does not begin with a number; here a voltage is wanted, such as `12.8 V`";
        "1e999 V" => "`1e999 V` is too large a number; here a voltage is wanted, such as `12.8 V`";
        "1e99999999999 V" => "`1e99999999999 V` is too large a number; here a voltage is wanted, such as `12.8 V`";
        "1e308 kV" => "`1e308 kV` is too large a number; here a voltage is wanted, such as `12.8 V`";
        "1e-999 V" => "`1e-999 V` is too small a number to tell from zero; here a voltage is wanted, such as `12.8 V`";
        "1,5 V" => "`1,5 V` has a comma in its number; write 1.5, not 1,5";
        "1,000 V" => "`1,000 V` has a comma in its number; write 1000, not 1,000";
        "1,234,567.8 V" => "`1,234,567.8 V` has a comma in its number; write 1234567.8, not 1,234,567.8";
        "0,125 V" => "`0,125 V` has a comma in its number; write 0.125, not 0,125";
        "1 000 V" => "`1 000 V` has a space inside its number; write `1000 V`";
        "1 234 567.5 V" => "`1 234 567.5 V` has a space inside its number; write `1234567.5 V`";
        "--5 V" => "`--5 V` does not begin with a number; here a voltage is wanted, such as `12.8 V`";
        "+-5 V" => "`+-5 V` does not begin with a number; here a voltage is wanted, such as `12.8 V`";
        "1e V" => "`1e V` ends in `e V`, which is not a unit known here; write a voltage in one of the units V, mV, kV, such as `12.8 V`";
        "12 v" => "`12 v` ends in `v`, which is not how the unit is written; write `12 V`";
        "12 V DC" => "`12 V DC` ends in `V DC`, which is not how the unit is written; write `12 V`";
        "230 VAC" => "`230 VAC` ends in `VAC`, which is not how the unit is written; write `230 V`";
        "12 furlong" => "`12 furlong` ends in `furlong`, which is not a unit known here; write a voltage in one of the units V, mV, kV, such as `12.8 V`";
    );
    let error = Volts::parse("12 A").unwrap_err();
    assert_eq!((error.found(), error.wanted(), error.units().as_str()), ("12 A", "a voltage", "V, mV, kV"));
}

#[test]
fn currents_and_resistances() {
    good!(Amps:
        "12.5 A" => 12.5, "12.5 A", "12.5 A";
        "250 mA" => 0.25, "0.25 A", "0.25 A";
        "20 mA" => 0.02, "20 mA", "20 mA";
        "5 kA" => 5000.0, "5000 A", "5000 A";
        "12000 A" => 12_000.0, "12 kA", "12 kA";
        "9999 A" => 9999.0, "9999 A", "10 kA";
    );
    bad!(Amps:
        "310 Ah" => "`310 Ah` is a battery capacity; here a current is wanted, such as `12.5 A`";
        "5 MA" => "`5 MA` ends in `MA`, which is not a unit known here; write a current in one of the units A, mA, kA, such as `12.5 A`";
    );
    good!(Ohms:
        "0.33 mΩ" => 0.00033, "330 µΩ", "330 µΩ";
        "2 mohm" => 0.002, "2 mΩ", "2 mΩ";
        "2 milliohm" => 0.002, "2 mΩ", "2 mΩ";
        "500 uohm" => 0.0005, "500 µΩ", "500 µΩ";
        "500 \u{3bc}\u{2126}" => 0.0005, "500 µΩ", "500 µΩ";
        "4.7 ohm" => 4.7, "4.7 Ω", "4.7 Ω";
    );
    bad!(Ohms: "3.08 Ω/km" => "`3.08 Ω/km` is a resistance per length; here a resistance is wanted, such as `0.33 mΩ`";);
    good!(OhmsPerKm:
        "3.08 Ω/km" => 3.08, "3.08 Ω/km", "3.08 Ω/km";
        "3.08 ohm/km" => 3.08, "3.08 Ω/km", "3.08 Ω/km";
        "3.08 mΩ/m" => 3.08, "3.08 Ω/km", "3.08 Ω/km";
    );
    // 12 AWG: 1.588 ohm/kft is 5.21 Ω/km (copper wire tables, NBS Handbook 100, from memory).
    for text in ["1.588 ohm/kft", "1.588 ohm/1000ft", "1.588 ohm/1000 ft"] {
        assert!((OhmsPerKm::parse(text).unwrap().get() - 5.210).abs() < 0.001, "{text}");
    }
    bad!(OhmsPerKm: "3.08 Ω" => "`3.08 Ω` is a resistance; here a resistance per length is wanted, such as `3.08 Ω/km`";);
}

#[test]
fn powers_energies_and_charges() {
    good!(Watts:
        "300 W" => 300.0, "300 W", "300 W";
        "1.2 kW" => 1200.0, "1200 W", "1200 W";
        "12.5 kW" => 12_500.0, "12.5 kW", "12.5 kW";
        "40 mW" => 0.04, "40 mW", "40 mW";
    );
    bad!(Watts:
        "200 Wp" => "`200 Wp` ends in `Wp`, which is not how the unit is written; write `200 W`";
        "3000 VA" => "`3000 VA` is an apparent power; here a power is wanted, such as `300 W`";
        "5 MW" => "`5 MW` ends in `MW`, which is not a unit known here; write a power in one of the units W, kW, mW, such as `300 W`";
    );
    good!(VoltAmps: "3000 VA" => 3000.0, "3000 VA", "3000 VA"; "3 kVA" => 3000.0, "3000 VA", "3000 VA"; "500 va" => 500.0, "500 VA", "500 VA";);
    bad!(VoltAmps: "3 kW" => "`3 kW` is a power; here an apparent power is wanted, such as `3000 VA`";);
    good!(WattHours:
        "1200 Wh" => 1200.0, "1.2 kWh", "1.2 kWh";
        "1.2 kWh" => 1200.0, "1.2 kWh", "1.2 kWh";
        "999.6 Wh" => 999.6, "999.6 Wh", "1 kWh";
        "3600 J" => 1.0, "1 Wh", "1 Wh";
        "3.6 MJ" => 1000.0, "1 kWh", "1 kWh";
    );
    bad!(WattHours: "5 W" => "`5 W` is a power; here an energy is wanted, such as `1200 Wh`";);
    good!(AmpHours: "310 Ah" => 310.0, "310 Ah", "310 Ah"; "2500 mAh" => 2.5, "2.5 Ah", "2.5 Ah";);
    bad!(AmpHours: "310 ah" => "`310 ah` ends in `ah`, which is not how the unit is written; write `310 Ah`"; "310" => "`310` has no unit; write `310 Ah`";);
    good!(SquareAmpSeconds: "12000 A²s" => 12_000.0, "12000 A²s", "12000 A²s"; "5 kA²s" => 5e6, "5000000 A²s", "5000000 A²s"; "7 A^2 s" => 7.0, "7 A²s", "7 A²s";);
    bad!(SquareAmpSeconds: "7 A" => "`7 A` is a current; here a let-through energy (I²t) is wanted, such as `12000 A²s`";);
}

#[test]
fn times_and_uses_per_day() {
    good!(Hours:
        "36 h" => 36.0, "36 h", "36 h";
        "2 d" => 48.0, "48 h", "48 h";
        "90 min" => 1.5, "1.5 h", "1.5 h";
        "45 min" => 0.75, "45 min", "45 min";
        "10 s" => 10.0 / 3600.0, "10 s", "10 s";
        "1 min" => 1.0 / 60.0, "1 min", "1 min";
    );
    bad!(Hours: "2 h/day" => "`2 h/day` is a use per day; here a duration is wanted, such as `36 h`"; "2 m" => "`2 m` is a length; here a duration is wanted, such as `36 h`";);
    good!(HoursPerDay:
        "2 h/day" => 2.0, "2 h/day", "2 h/day";
        "30 min/day" => 0.5, "0.5 h/day", "0.5 h/day";
        "4.5 h/d" => 4.5, "4.5 h/day", "4.5 h/day";
        "8 h per day" => 8.0, "8 h/day", "8 h/day";
        "3.5 hours a week" => 0.5, "0.5 h/day", "0.5 h/day";
    );
    bad!(HoursPerDay: "2 h" => "`2 h` is a duration; here a use per day is wanted, such as `2 h/day`"; "2" => "`2` has no unit; write `2 h/day`";);
    good!(PerDay:
        "3 /day" => 3.0, "3 /day", "3 /day";
        "3/day" => 3.0, "3 /day", "3 /day";
        "3 per day" => 3.0, "3 /day", "3 /day";
        "3 times a day" => 3.0, "3 /day", "3 /day";
        "14 per week" => 2.0, "2 /day", "2 /day";
    );
    bad!(PerDay: "3" => "`3` has no unit; write `3 /day`";);
    good!(WattHoursPerDay: "1450 Wh/day" => 1450.0, "1.45 kWh/day", "1.45 kWh/day"; "2 kWh per day" => 2000.0, "2 kWh/day", "2 kWh/day"; "960 Wh/d" => 960.0, "960 Wh/day", "960 Wh/day";);
    bad!(WattHoursPerDay: "960 Wh" => "`960 Wh` is an energy; here an energy per day is wanted, such as `1450 Wh/day`";);
    good!(Hertz: "60 Hz" => 60.0, "60 Hz", "60 Hz"; "20 kHz" => 20_000.0, "20 kHz", "20 kHz";);
    bad!(Hertz: "60" => "`60` has no unit; write `60 Hz`"; "60 V" => "`60 V` is a voltage; here a frequency is wanted, such as `60 Hz`";);
}

#[test]
fn lengths_areas_masses_volumes() {
    good!(Metres:
        "4.5 m" => 4.5, "4.5 m", "4.5 m";
        "35 cm" => 0.35, "0.35 m", "0.35 m";
        "35 mm" => 0.035, "35 mm", "35 mm";
        "9 ft" => 2.7432, "2.7432 m", "2.74 m";
        "9 ft 3 in" => 2.8194, "2.8194 m", "2.82 m";
        "9 feet 3 inches" => 2.8194, "2.8194 m", "2.82 m";
        "9'3\"" => 2.8194, "2.8194 m", "2.82 m";
        "9 feet, 3 inches" => 2.8194, "2.8194 m", "2.82 m";
        "9′ 3″" => 2.8194, "2.8194 m", "2.82 m";
        "9' 3-1/2\"" => 2.8321, "2.8321 m", "2.83 m";
        "1/2 in" => 0.0127, "12.7 mm", "12.7 mm";
        "9-1/2 in" => 0.2413, "0.2413 m", "0.241 m";
        "9 1/2 in" => 0.2413, "0.2413 m", "0.241 m";
        "9½ in" => 0.2413, "0.2413 m", "0.241 m";
        "½\"" => 0.0127, "12.7 mm", "12.7 mm";
        "0.5 in" => 0.0127, "12.7 mm", "12.7 mm";
        "6 1/2 ft" => 1.9812, "1.9812 m", "1.98 m";
        "-1 ft 6 in" => -0.4572, "-0.4572 m", "-0.457 m";
    );
    bad!(Metres:
        "9" => "`9` has no unit; write `9 m`";
        "1 200 ft" => "`1 200 ft` has a space inside its number; write `1200 ft`";
        "1,200 ft" => "`1,200 ft` has a comma in its number; write 1200, not 1,200";
        "9 in 3 ft" => "`9 in 3 ft` has a number that cannot be read; write `9 ft 3 in`, `9'3\"`, `9-1/2 in` or `2.8 m`";
        "9 ft 13 in" => "`9 ft 13 in` has 12 inches or more beside its feet; write `9 ft 3 in`, `9'3\"`, `9-1/2 in` or `2.8 m`";
        "9.5 ft 3 in" => "`9.5 ft 3 in` has both a part of a foot and inches; write `9 ft 3 in`, `9'3\"`, `9-1/2 in` or `2.8 m`";
        "9 ft 3" => "`9 ft 3` does not end in inches; write `9 ft 3 in`, `9'3\"`, `9-1/2 in` or `2.8 m`";
        "1/0 in" => "`1/0 in` has a fraction over zero; write `9 ft 3 in`, `9'3\"`, `9-1/2 in` or `2.8 m`";
        "1/2/3 in" => "`1/2/3 in` has a number that cannot be read; write `9 ft 3 in`, `9'3\"`, `9-1/2 in` or `2.8 m`";
        "9 ft - in" => "`9 ft - in` has a number that cannot be read; write `9 ft 3 in`, `9'3\"`, `9-1/2 in` or `2.8 m`";
        "9 M" => "`9 M` ends in `M`, which is not a unit known here; write a length in one of the units m, mm, cm, ft, in, such as `4.5 m`";
        "9 mi" => "`9 mi` ends in `mi`, which is not a unit known here; write a length in one of the units m, mm, cm, ft, in, such as `4.5 m`";
        "16 mm²" => "`16 mm²` is a cross-section; here a length is wanted, such as `4.5 m`";
    );
    for (text, feet) in [
        ("9 ft 3 in", "9 ft 3 in"),
        ("9 ft", "9 ft"),
        ("9-1/2 in", "9-1/2 in"),
        ("1/8 in", "1/8 in"),
        ("9 ft 0.7499 in", "9 ft 3/4 in"),
        ("0.9999 ft", "1 ft"),
        ("-9 ft 3-3/8 in", "-9 ft 3-3/8 in"),
        ("0 m", "0 in"),
        ("5 m", "16 ft 4-7/8 in"),
    ] {
        assert_eq!(show_in_feet(Metres::parse(text).unwrap()), feet, "{text}");
    }
    good!(SquareMm: "16 mm²" => 16.0, "16 mm²", "16 mm²"; "2.5mm2" => 2.5, "2.5 mm²", "2.5 mm²"; "2.5 sq mm" => 2.5, "2.5 mm²", "2.5 mm²"; "1.5 mm^2" => 1.5, "1.5 mm²", "1.5 mm²"; "2 cm²" => 200.0, "200 mm²", "200 mm²";);
    bad!(SquareMm: "16 mm" => "`16 mm` is a length; here a cross-section is wanted, such as `16 mm²`";);
    good!(Kilograms: "12 kg" => 12.0, "12 kg", "12 kg"; "850 g" => 0.85, "0.85 kg", "0.85 kg"; "45 g" => 0.045, "45 g", "45 g"; "100 lb" => 45.359_237, "45.359237 kg", "45.4 kg";);
    bad!(Kilograms: "12" => "`12` has no unit; write `12 kg`"; "12 KG" => "`12 KG` ends in `KG`, which is not how the unit is written; write `12 kg`";);
    good!(Litres: "40 L" => 40.0, "40 L", "40 L"; "40 l" => 40.0, "40 L", "40 L"; "0.2 m3" => 200.0, "200 L", "200 L"; "50 ml" => 0.05, "50 mL", "50 mL";);
    bad!(Litres: "40 kg" => "`40 kg` is a mass; here a volume is wanted, such as `40 L`";);
}

#[test]
fn capacitance_torque_angle() {
    good!(Farads: "4700 µF" => 0.0047, "4700 µF", "4700 µF"; "4700 uF" => 0.0047, "4700 µF", "4700 µF"; "22 mF" => 0.022, "22 mF", "22 mF"; "3 F" => 3.0, "3 F", "3 F";);
    bad!(Farads: "3 °F" => "`3 °F` is a temperature; here a capacitance is wanted, such as `4700 µF`";);
    good!(Henries: "15 µH" => 15e-6, "15 µH", "15 µH"; "2 mH" => 0.002, "2 mH", "2 mH"; "2 uH" => 2e-6, "2 µH", "2 µH";);
    bad!(Henries: "60 Hz" => "`60 Hz` is a frequency; here an inductance is wanted, such as `15 µH`";);
    good!(Seconds: "0.2 s" => 0.2, "0.2 s", "0.2 s"; "5 ms" => 0.005, "5 ms", "5 ms"; "2 min" => 120.0, "120 s", "120 s"; "20 us" => 2e-5, "20 µs", "20 µs";);
    bad!(Seconds: "2" => "`2` has no unit; write `2 s`";);
    good!(Joules: "50 J" => 50.0, "50 J", "50 J"; "20 kJ" => 20_000.0, "20 kJ", "20 kJ"; "5 mJ" => 0.005, "5 mJ", "5 mJ";);
    bad!(Joules: "5 W" => "`5 W` is a power; here an energy is wanted, such as `50 J`";);
    good!(NewtonMetres: "6 N·m" => 6.0, "6 N·m", "6 N·m"; "6 Nm" => 6.0, "6 N·m", "6 N·m"; "6 N⋅m" => 6.0, "6 N·m", "6 N·m";);
    for (text, expected) in [
        ("35 lb-in", 35.0 * 0.112_984_8),
        ("35 lbf-in", 35.0 * 0.112_984_8),
        ("11 lb-ft", 11.0 * 1.355_818),
        ("11 ft-lb", 11.0 * 1.355_818),
    ] {
        assert!((NewtonMetres::parse(text).unwrap().get() / expected - 1.0).abs() < 1e-6, "{text}");
    }
    bad!(NewtonMetres: "6 lb" => "`6 lb` is a mass; here a torque is wanted, such as `6 N·m`"; "6 mN" => "`6 mN` ends in `mN`, which is not a unit known here; write a torque in one of the units N·m, lbf-in, lbf-ft, such as `6 N·m`";);
    good!(Degrees:
        "48.5°" => 48.5, "48.5°", "48.5°";
        "48.5 deg" => 48.5, "48.5°", "48.5°";
        "48.5 N" => 48.5, "48.5°", "48.5°";
        "123.1 W" => -123.1, "-123.1°", "-123°";
        "33° S" => -33.0, "-33°", "-33°";
        "12 deg E" => 12.0, "12°", "12°";
    );
    bad!(Degrees:
        "48.5" => "`48.5` has no unit; write `48.5°`";
        "-48.5 N" => "`-48.5 N` has both a minus and a compass letter; write `48.5 N` or turn the letter round";
        "12 kW" => "`12 kW` is a power; here an angle is wanted, such as `48.5°`";
        "N" => "`N` does not begin with a number; here an angle is wanted, such as `48.5°`";
    );
}

#[test]
fn shares_temperatures_prices() {
    good!(Fraction: "25 %" => 0.25, "25 %", "25 %"; "25%" => 0.25, "25 %", "25 %"; "0.25" => 0.25, "25 %", "25 %"; "92.5 percent" => 0.925, "92.5 %", "92.5 %"; "0" => 0.0, "0 %", "0 %"; "1" => 1.0, "100 %", "100 %";);
    bad!(Fraction: "25 V" => "`25 V` is a voltage; here a share is wanted, such as `25 %`"; "0,25" => "`0,25` has a comma in its number; write 0.25, not 0,25";);
    good!(Celsius: "25 °C" => 25.0, "25 °C", "25 °C"; "25C" => 25.0, "25 °C", "25 °C"; "25 degC" => 25.0, "25 °C", "25 °C"; "-20 °C" => -20.0, "-20 °C", "-20 °C"; "77 °F" => 25.0, "25 °C", "25 °C"; "-40 F" => -40.0, "-40 °C", "-40 °C"; "298.15 K" => 25.0, "25 °C", "25 °C"; "25 ℃" => 25.0, "25 °C", "25 °C";);
    bad!(Celsius:
        "25" => "`25` has no unit; write `25 °C`";
        "-300 °C" => "`-300 °C` is below absolute zero; write a temperature above -273.15 °C, such as `25 °C`";
        "25 °" => "`25 °` is an angle; here a temperature is wanted, such as `25 °C`";
    );
    good!(Kelvins: "30 K" => 30.0, "30 K", "30 K";);
    bad!(Kelvins: "30 °C" => "`30 °C` is a temperature; here a temperature difference is wanted, such as `30 K`";);
    good!(PercentPerKelvin: "-0.29 %/K" => -0.29, "-0.29 %/K", "-0.29 %/K"; "-0.29 %/°C" => -0.29, "-0.29 %/K", "-0.29 %/K";);
    bad!(PercentPerKelvin: "-0.29 %" => "`-0.29 %` is a share; here a temperature coefficient is wanted, such as `-0.29 %/K`";);
    good!(Money: "120" => 120.0, "120", "120"; "1234.56" => 1234.56, "1234.56", "1235"; "12.5" => 12.5, "12.5", "12.50"; "0.001" => 0.001, "0.001", "0";);
    bad!(Money: "120 V" => "`120 V` is a voltage; here a price is wanted, such as `120`"; "1,200" => "`1,200` has a comma in its number; write 1200, not 1,200"; "120 crowns" => "`120 crowns` ends in `crowns`, which is not a unit known here; write a price as a number alone, such as `120`";);
}

#[test]
fn long_rubbish_gives_a_short_error() {
    let error = Volts::parse(&"é".repeat(10_000)).unwrap_err().to_string();
    assert!(error.chars().count() < 150, "{error}");
    let error = Volts::parse(&format!("1{}", "ß".repeat(10_000))).unwrap_err().to_string();
    assert!(error.chars().count() < 250, "{error}");
    assert!(Volts::parse(&"9".repeat(10_000)).is_err());
}

/// Runs a check for every quantity type but the conductor sizes.
macro_rules! every {
    ($check:ident!($($argument:expr),*)) => {
        $check!(Volts $(, $argument)*); $check!(Amps $(, $argument)*); $check!(Ohms $(, $argument)*);
        $check!(OhmsPerKm $(, $argument)*); $check!(Watts $(, $argument)*); $check!(VoltAmps $(, $argument)*);
        $check!(WattHours $(, $argument)*); $check!(AmpHours $(, $argument)*); $check!(Hours $(, $argument)*);
        $check!(HoursPerDay $(, $argument)*); $check!(PerDay $(, $argument)*); $check!(WattHoursPerDay $(, $argument)*);
        $check!(Metres $(, $argument)*); $check!(SquareMm $(, $argument)*); $check!(Kilograms $(, $argument)*);
        $check!(Litres $(, $argument)*); $check!(Farads $(, $argument)*); $check!(NewtonMetres $(, $argument)*);
        $check!(Hertz $(, $argument)*); $check!(Degrees $(, $argument)*); $check!(Fraction $(, $argument)*);
        $check!(Henries $(, $argument)*); $check!(Seconds $(, $argument)*); $check!(Joules $(, $argument)*);
        $check!(Kelvins $(, $argument)*); $check!(PercentPerKelvin $(, $argument)*);
        $check!(SquareAmpSeconds $(, $argument)*); $check!(Money $(, $argument)*);
    };
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    /// A number of at most twelve digits comes back bit for bit, from text and from the file for machines.
    #[test]
    fn what_is_shown_reads_back(digits in -999_999_999_999i64..=999_999_999_999, places in 0u32..12, exponent in -18i32..9) {
        // Short numbers as often as long ones.
        let number: f64 = format!("{}e{exponent}", digits / 10i64.pow(places)).parse().unwrap();
        macro_rules! check {
            ($kind:ident, $number:expr) => {{
                let quantity = $kind::new($number);
                prop_assert_eq!($kind::parse(&quantity.show()), Ok(quantity), "{}", quantity.show());
                let json = serde_json::to_value(quantity).unwrap();
                let value = json["value"].as_f64().unwrap();
                prop_assert_eq!($kind::new(value), quantity, "{}", json);
                prop_assert_eq!(value, $number, "{}", json);
            }};
        }
        every!(check!(number));
        if number >= -273.15 {
            let quantity = Celsius::new(number);
            prop_assert_eq!(Celsius::parse(&quantity.show()), Ok(quantity));
        }
    }

    /// The short form is itself readable and within half a unit of the third digit.
    #[test]
    fn what_is_brief_reads_nearly_back(digits in 1i64..=999_999_999, exponent in -15i32..3) {
        let number: f64 = format!("{digits}e{exponent}").parse().unwrap();
        macro_rules! check {
            ($kind:ident, $number:expr) => {{
                let brief = $kind::new($number).to_string();
                if stringify!($kind) != "Money" {
                    let back = $kind::parse(&brief).unwrap().get();
                    prop_assert!((back / $number - 1.0).abs() <= 0.005_000_1, "{} is {}", $number, brief);
                }
            }};
        }
        every!(check!(number));
    }

    /// No text panics.
    #[test]
    fn any_text_is_answered(text in "[-0-9.,eE '\"/½#°²µΩA-Za-z]{0,12}|\\PC{0,20}") {
        macro_rules! check {
            ($kind:ident, $text:expr) => {
                if let Err(error) = $kind::parse($text) {
                    prop_assert!(!error.to_string().is_empty());
                }
            };
        }
        every!(check!(&text));
        let _ = (Celsius::parse(&text), Gauge::parse(&text));
    }
}
