//! Products, shares and helpers, by hand calculation from the definitions of the SI units; files for machines; the word list.

use quantity::*;

#[track_caller]
fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-12 * expected.abs(), "{found} is not {expected}");
}

#[test]
fn products_have_the_right_unit() {
    near((Volts::new(12.0) * Amps::new(10.0)).get(), 120.0);
    near((Watts::new(120.0) / Volts::new(12.0)).get(), 10.0);
    near((Amps::new(8.0) * Ohms::new(0.033)).get(), 0.264);
    near((Watts::new(60.0) * Hours::new(2.0)).get(), 120.0);
    near((Amps::new(5.0) * Hours::new(20.0)).get(), 100.0);
    near((AmpHours::new(100.0) * Volts::new(12.8)).get(), 1280.0);
    near((OhmsPerKm::new(3.08) * Metres::new(10.0)).get(), 0.0308);
    near((Metres::new(10.0) * OhmsPerKm::new(3.08)).get(), 0.0308);
    near((Watts::new(45.0) * HoursPerDay::new(8.0)).get(), 360.0);
    near((HoursPerDay::new(8.0) * Watts::new(45.0)).get(), 360.0);
    near((WattHours::new(50.0) * PerDay::new(3.0)).get(), 150.0);
    near((PerDay::new(3.0) * Hours::new(0.5)).get(), 1.5);
    near((WattHoursPerDay::new(1200.0) * Hours::new(36.0)).get(), 1800.0);
    near(WattHoursPerDay::new(1200.0).average().get(), 50.0);
    near((PercentPerKelvin::new(-0.29) * Kelvins::new(10.0)).get(), -0.029);
    near(Volts::new(120.0).apparent(Amps::new(15.0)).get(), 1800.0);
    near(Amps::new(100.0).loss(Ohms::new(0.001)).get(), 10.0);
    near(Amps::new(100.0).squared_over(Seconds::parse("0.2 s").unwrap()).get(), 2000.0);
}

#[test]
fn two_units_of_one_quantity() {
    near(Hours::from(Seconds::new(5400.0)).get(), 1.5);
    near(Seconds::from(Hours::new(1.5)).get(), 5400.0);
    near(Joules::from(WattHours::new(1.0)).get(), 3600.0);
    near(WattHours::from(Joules::new(7200.0)).get(), 2.0);
}

#[test]
fn resistances_side_by_side() {
    near(Ohms::new(6.0).parallel(Ohms::new(3.0)).get(), 2.0);
    near([1.0, 2.0, 3.0].map(Ohms::new).into_iter().sum::<Ohms>().get(), 6.0);
    assert_eq!(Ohms::zero().parallel(Ohms::zero()), Ohms::zero());
    assert_eq!(Ohms::zero().parallel(Ohms::new(5.0)), Ohms::zero());
    near(Ohms::new(f64::INFINITY).parallel(Ohms::new(5.0)).get(), 5.0);
}

#[test]
fn shares() {
    let half = Fraction::new(0.5);
    near((half * Volts::new(12.0)).get(), 6.0);
    near((Watts::new(90.0) / Fraction::new(0.9)).get(), 100.0);
    near((Money::new(10.0) * half).get(), 5.0);
    near((half * half).get(), 0.25);
    near(Fraction::new(0.2).rest().get(), 0.8);
    near((half * WattHours::new(4.0)).get(), 2.0);
}

#[test]
fn order_and_bounds() {
    let [low, high] = [Amps::new(1.0), Amps::new(2.0)];
    assert_eq!(Amps::new(5.0).clamp(low, high), high);
    assert_eq!(Amps::new(-5.0).clamp(low, high), low);
    assert_eq!(low.max(high), high);
    assert_eq!(low.min(high), low);
    // Bounds that cross never panic.
    assert_eq!(Amps::new(5.0).clamp(high, low), low);
    assert_eq!((-high).abs(), high);
    assert_eq!(Celsius::new(30.0) - Celsius::new(20.0), Kelvins::new(10.0));
    assert_eq!(Celsius::new(30.0) - Kelvins::new(20.0), Celsius::new(10.0));
}

#[test]
fn quantities_in_files() {
    assert_eq!(serde_json::to_string(&Volts::new(12.8)).unwrap(), r#"{"value":12.8,"unit":"V"}"#);
    assert_eq!(serde_json::to_string(&WattHours::new(1200.1)).unwrap(), r#"{"value":1200.1,"unit":"Wh"}"#);
    assert_eq!(serde_json::to_string(&Fraction::new(0.25)).unwrap(), r#"{"value":0.25,"unit":"1"}"#);
    assert_eq!(serde_json::from_str::<Volts>("\"12.8 V\"").unwrap(), Volts::new(12.8));
    for (json, message) in [
        ("12", "`12` has no unit; write `12 V`"),
        ("-12", "`-12` has no unit; write `-12 V`"),
        ("12.8", "`12.8` has no unit; write `12.8 V`"),
        ("\"12 A\"", "`12 A` is a current; here a voltage is wanted, such as `12.8 V`"),
        ("true", "invalid type: boolean `true`, expected a voltage as text, such as \"12.8 V\""),
    ] {
        let error = serde_json::from_str::<Volts>(json).unwrap_err().to_string();
        assert!(error.starts_with(message), "{error}");
    }
}

#[test]
fn schemas_accept_what_the_reader_accepts() {
    macro_rules! check {
        ($($kind:ident: $($good:literal)*, not $bad:literal;)*) => {
            $({
                let schema = serde_json::to_value(schemars::schema_for!($kind)).unwrap();
                assert_eq!(schema["type"], "string");
                assert_eq!(schema["examples"][0], $kind::EXAMPLE);
                assert!(schema["description"].as_str().unwrap().len() > 10);
                let pattern = regex::Regex::new(schema["pattern"].as_str().unwrap()).unwrap();
                for good in [$kind::EXAMPLE, $($good),*] {
                    assert!(pattern.is_match(good), "{good} does not fit {pattern}");
                    assert!($kind::parse(good).is_ok(), "{good}");
                }
                assert!(!pattern.is_match($bad), "{} fits {pattern}", $bad);
                assert!($kind::parse($bad).is_err(), "{}", $bad);
            })*
        };
    }
    check! {
        Volts: "12V" "-1.5e3 mV", not "12";
        Amps: "12 kA", not "12 V";
        Ohms: "2 mohm", not "2";
        OhmsPerKm: "1.6 ohm/1000 ft", not "3 ohm";
        Watts: "2 kW", not "2";
        VoltAmps: "3 kVA", not "3 W";
        WattHours: "2 kWh", not "2 W";
        AmpHours: "500 mAh", not "2";
        Hours: "90 min" "2 days", not "2";
        HoursPerDay: "8 h per day" "30 min/day", not "8 h";
        PerDay: "3 times a day", not "3";
        WattHoursPerDay: "1.2 kWh/day", not "1 kWh";
        Metres: "9 ft 3 in" "9'3\"" "9-1/2 in" "1/2 in" "9½ in" "35 mm", not "9";
        SquareMm: "2.5 sq mm", not "2.5";
        Gauge: "2/0" "AWG 10" "#10 AWG" "35 mm²" "2.5mm2" "00 AWG", not "10";
        Kilograms: "3 lb", not "3";
        Litres: "40 l", not "40";
        Farads: "3 mF", not "3";
        NewtonMetres: "35 lb-in" "6 Nm", not "6";
        Hertz: "60Hz", not "60";
        Degrees: "48.5 N" "123.1 W" "12 deg", not "48.5";
        Fraction: "0.25" "25%", not "25 V";
        Celsius: "77 °F", not "25";
        Kelvins: "30K", not "30";
        PercentPerKelvin: "-0.3 %/°C", not "-0.3 %";
        SquareAmpSeconds: "3 A^2 s", not "3 A";
        Seconds: "200 ms", not "0.2";
        Joules: "2 kJ", not "2";
        Henries: "2 mH", not "2";
        Money: "12.50", not "12 V";
    }
}

#[test]
fn every_quantity_is_in_the_word_list() {
    let words = words();
    assert_eq!(words.len(), 30);
    for word in &words {
        assert!(!word.meaning.is_empty() && !word.unit.is_empty() && !word.example.is_empty(), "{word:?}");
    }
    let mut names: Vec<&str> = words.iter().map(|word| word.name).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), 30);
}

#[test]
fn functions_of_the_math_module() {
    // e squared, ln 3, the square root of 8, sin and cos of 30 and 60 degrees: mathematical constants, from memory.
    near(math::exp(2.0), 7.389_056_098_930_65);
    near(math::ln(3.0), 1.098_612_288_668_109_8);
    near(math::powf(2.0, 1.5), 2.828_427_124_746_19);
    near(math::sin(core::f64::consts::FRAC_PI_6), 0.5);
    near(math::cos(core::f64::consts::FRAC_PI_3), 0.5);
}

#[test]
fn numbers_that_are_none_never_panic() {
    for number in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, f64::MIN_POSITIVE, 5e-324, -0.0] {
        let length = Metres::new(number);
        let _ = (length.show(), length.brief(), show_in_feet(length), serde_json::to_string(&length));
        let _ = (Hours::new(number).show(), Money::new(number).brief(), Celsius::new(number).brief());
    }
}
