//! The quick answers against printed examples and tables of others.
//! Never: takes a wanted value from the program itself.
//! Start at any test; each names its source.

#![allow(clippy::unwrap_used)] // tests may panic

mod common;

use common::run;

/// The value of a line of the answer.
#[track_caller]
fn value(words: &[&str], what: &str) -> String {
    let json = run(&[&["ask", "--json"], words].concat()).code(0).json();
    let values = json["values"].as_array().unwrap();
    let found = values.iter().find(|value| value["what"] == what);
    found.unwrap_or_else(|| panic!("no {what} in {json}"))["value"].as_str().unwrap().to_owned()
}

/// Its number alone.
#[track_caller]
fn number(words: &[&str], what: &str) -> f64 {
    let text = value(words, what);
    text.split(' ').next().unwrap().parse().unwrap_or_else(|_| panic!("{text}"))
}

#[track_caller]
fn near(found: f64, want: f64, within: f64) {
    assert!((found - want).abs() <= within, "{found} is not {want} within {within}");
}

/// FAA AC 43.13-1B, Table 11-6 and its examples: 20 A over 107 ft of 6 AWG at 0.44 Ω/1000 ft loses 0.942 V; 90 ft of 4 AWG at
/// 0.28 Ω/1000 ft 0.504 V; 100 ft of 14 AWG at 3.06 Ω/1000 ft 6.12 V. The lengths there are of the whole loop, here one way.
#[test]
fn drop_as_in_ac_43_13() {
    for (resistance, length, want) in
        [("0.44 ohm/kft", "53.5 ft", 0.942), ("0.28 ohm/kft", "45 ft", 0.504), ("3.06 ohm/kft", "50ft", 6.12)]
    {
        let words =
            ["drop", "--current", "20A", "--resistance", resistance, "--length", length, "--voltage", "28V"];
        near(number(&words, "lost"), want, 0.0005 * want.max(1.0));
    }
}

/// The same book's Table 11-6 gives 0.44 Ω/1000 ft for 6 AWG and 0.28 for 4 AWG at 20 °C, tinned aircraft wire; boat cable of
/// the tables here has up to 7 % less resistance, since its strands are fewer.
#[test]
fn drop_of_a_named_conductor_is_near_the_aircraft_table() {
    for (gauge, resistance) in [("6 AWG", 0.44), ("4 AWG", 0.28)] {
        let words = [
            "drop",
            "--current",
            "20 A",
            "--conductor",
            gauge,
            "--length",
            "50 ft",
            "--voltage",
            "28V",
            "--tinned",
        ];
        let want = 20.0 * 0.1 * resistance;
        near(number(&words, "lost"), want, 0.07 * want);
    }
}

/// 33 CFR 183.425 Table 5 (as printed in the Code of Federal Regulations), 105 °C insulation: 14 AWG 35 A, 10 AWG 60 A,
/// 6 AWG 120 A, 2/0 AWG 330 A; note 1: times 0.85 in engine spaces for 105 °C.
#[test]
fn ampacity_as_in_33_cfr_183() {
    for (gauge, want) in [("14 AWG", 35.0), ("10AWG", 60.0), ("6 awg", 120.0), ("2/0 AWG", 330.0)] {
        near(number(&["ampacity", "--conductor", gauge], "carries"), want, 0.05);
    }
    near(
        number(&["ampacity", "--conductor", "6 AWG", "--engine-space", "--ambient", "50C"], "carries"),
        102.0,
        0.05,
    );
}

/// NEC Table 310.16, copper: 8 AWG carries 50 A in the 75 °C column, held by 110.14(C)(1)(a) to the 40 A of the 60 °C column for
/// terminals of 100 A and less; NEC 240.4(D): 20 A ahead of 12 AWG.
#[test]
fn ampacity_as_in_the_nec() {
    let words =
        |gauge| ["ampacity", "--conductor", gauge, "--ac", "--insulation", "75C", "--voltage", "120V"];
    near(number(&words("8 AWG"), "carries"), 40.0, 0.05);
    assert_eq!(value(&words("12 AWG"), "largest breaker for a small conductor"), "20 A");
}

/// 80 A over 3 m at 12 V with 3 % allowed: 0.36 V / (80 A x 6 m) = 0.75 mΩ/m at most. IEC 60228 class 5 gives 0.780 Ω/km for
/// 25 mm² and 0.554 Ω/km for 35 mm² at 20 °C, so 35 mm² it is (even at the metal's 40 °C: 0.60).
#[test]
fn conductor_by_its_drop() {
    let words = [
        "conductor",
        "--current",
        "80A",
        "--length",
        "3m",
        "--voltage",
        "12V",
        "--drop",
        "3%",
        "--rules",
        "iec",
    ];
    assert_eq!(value(&words, "conductor"), "35 mm²");
    assert!(number(&words, "lost") <= 0.36);
    assert_eq!(value(&words, "fuse for the load"), "80 A");
}

/// 33 CFR 183.455: at most 150 % of the conductor's current: 330 A of 2/0 AWG gives 495 A; NEC 240.6(A) has 450 A below it.
/// NEC 215.3: a continuous load takes 125 %: 140 A asks for 175 A.
#[test]
fn fuse_for_a_conductor_and_a_load() {
    let words = ["fuse", "--conductor", "2/0 AWG", "--current", "140A", "--continuous"];
    assert_eq!(value(&words, "largest standard fuse"), "450 A");
    assert_eq!(value(&words, "limit for this conductor"), "495 A");
    assert_eq!(value(&words, "fuse for the load"), "175 A");
}

/// Peukert's law in its rated form, worked by hand: 100 Ah at 20 h, 20 A, exponent 1.10: 20 h (100/(20 x 20))^1.1 = 4.353 h.
#[test]
fn run_time_by_peukert() {
    let words = ["runtime", "--capacity", "100Ah", "--current", "20A", "--chemistry", "agm"];
    near(number(&words, "until empty"), 20.0 * 0.25_f64.powf(1.1), 0.005);
    // At the rate at which it is rated, every exponent gives the 20 h.
    near(
        number(
            &["runtime", "--capacity", "100 Ah", "--load", "60 W", "--chemistry", "flooded"],
            "until empty",
        ),
        20.0,
        0.05,
    );
}

/// Ohm's law: 12.8 V / 5 kA is 2.56 mΩ; 2 m of 35 mm² at 0.554 Ω/km (IEC 60228 class 5) adds 1.108 mΩ: 12.8 / 3.668 mΩ = 3490 A.
#[test]
fn fault_behind_a_cable() {
    let words =
        ["fault", "--short-circuit", "5kA", "--voltage", "12.8V", "--conductor", "35mm2", "--length", "1m"];
    near(number(&words, "fault current there"), 3490.0, 5.0);
    assert_eq!(value(&words, "at the bank's terminals"), "5000 A");
}

/// By symmetry and by hand. Two batteries taken off at one end: the far one has its 3 mΩ and two links of 0.5 mΩ, so the first takes
/// 4/7 of the current. Bars and two batteries diagonally share alike.
#[test]
fn share_of_parallel_batteries() {
    let two = |take_off| {
        [
            "share",
            "--batteries",
            "2",
            "--resistance",
            "3mΩ",
            "--link",
            "0.5mohm",
            "--current",
            "70A",
            "--take-off",
            take_off,
        ]
    };
    near(number(&two("one-end"), "battery 1"), 40.0, 0.05);
    near(number(&two("one-end"), "battery 2"), 30.0, 0.05);
    near(number(&two("diagonal"), "battery 1"), 35.0, 0.05);
    near(number(&two("bars"), "battery 2"), 35.0, 0.05);
}

/// By the definition of the coefficient (IEC 60891): 3 x 22 V x (1 + 0.3 %/K x 45 K) = 74.91 V. NEC Table 690.7(A): 1.18 down to −20 °C.
#[test]
fn string_in_the_cold() {
    let words = ["string", "--voc", "22V", "--coefficient", "-0.3%/K", "--series", "3", "--coldest", "-20C"];
    near(number(&words, "string at the coldest"), 74.91, 0.05);
    near(
        number(&["string", "--voc", "22 V", "--series", "3", "--coldest", "-20 C"], "string at the coldest"),
        66.0 * 1.18,
        0.06,
    );
}

/// ASTM B258: 4/0 AWG is 107.2 mm² and 211 600 circular mils, 10 AWG is 5.261 mm².
#[test]
fn gauge_conversions() {
    near(number(&["gauge", "4/0 AWG"], "metal"), 107.2, 0.05);
    near(number(&["gauge", "4/0 AWG"], "circular mils"), 211_600.0, 50.0);
    near(number(&["gauge", "10 AWG"], "metal"), 5.261, 0.005);
    assert!(value(&["gauge", "35mm2"], "AWG with at least as much").starts_with("1 AWG"));
    run(&["ask", "gauge", "2/0 AWG"]).code(0).out_has("SAE");
}

#[test]
fn questions_that_cannot_be() {
    for (words, says) in [
        (&["conductor", "--current", "-5A", "--length", "3m"][..], "outside"),
        (&["conductor", "--current", "1e308A", "--length", "3m"], "outside"),
        (&["conductor", "--current", "NaN A", "--length", "3m"], "does not begin with a number"),
        (&["conductor", "--current", "5", "--length", "3m"], "no unit"),
        (&["conductor", "--current", "5 V", "--length", "3m"], "is a voltage"),
        (&["conductor", "--current", "4000A", "--length", "300m"], "no conductor of the tables does"),
        (&["fuse", "--conductor", "10 gauge"], "SAE"),
        (&["ampacity", "--conductor", "10 AWG", "--ambient", "120C"], "outside the table"),
        (&["ampacity", "--conductor", "37mm2", "--rules", "iec"], "outside the table"),
        (&["runtime", "--capacity", "0Ah", "--current", "5A"], "outside"),
        (&["runtime", "--capacity", "100Ah"], "--load"),
        (&["fault", "--short-circuit", "5kA", "--length", "1m"], "--conductor"),
        (&["share", "--batteries", "0", "--resistance", "3mΩ", "--link", "1mΩ", "--current", "5A"], "0"),
        (&["string", "--module", "module-200x", "--coldest", "-5C"], "Did you mean"),
    ] {
        run(&[&["ask"], words].concat()).code(2).err_has(says);
    }
}
