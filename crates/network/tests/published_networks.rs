//! The networks of `tests/data`, whose results were computed with ngspice beforehand, and the closed forms of
//! inrush against its transient runs. Provenance of every value: computed, ngspice-39, six or seven
//! significant digits.
#![allow(clippy::unwrap_used)] // A test may stop at what it did not expect.

mod common;

use common::Deck;
use network::{inrush, precharge};
use quantity::{Farads, Henries, Ohms, Seconds, Volts};
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Deserialize)]
struct File {
    case: Vec<Case>,
}
#[derive(Deserialize)]
struct Case {
    id: String,
    netlist: String,
    expected: BTreeMap<String, f64>,
    ipk_closed_form: Option<f64>,
}

fn cases() -> Vec<Case> {
    [include_str!("data/circuit-checks.toml"), include_str!("data/circuit-checks-extended.toml")]
        .iter()
        .flat_map(|text| toml::from_str::<File>(text).unwrap().case)
        .collect()
}

/// Half a digit in the sixth place.
fn close(what: &str, got: f64, expected: f64, within: f64) {
    assert!((got - expected).abs() <= within * expected.abs(), "{what}: got {got}, expected {expected}");
}

#[test]
fn operating_points() {
    let mut checked = 0;
    for case in cases().iter().filter(|c| !c.netlist.lines().any(|l| l.starts_with('C'))) {
        let deck = Deck::read(&case.netlist);
        let solution = network::solve(&deck.netlist).unwrap();
        assert!(solution.converged(), "{}", case.id);
        for (expression, &expected) in &case.expected {
            let got = if expression == "fault_current" {
                let line = case.netlist.lines().find(|l| l.starts_with("Rfault")).unwrap();
                let words: Vec<&str> = line.split_whitespace().collect();
                let at = |name: &str| solution.volts(deck.named(name)).get();
                (at(words[1]) - at(words[2])) / 1e-6
            } else {
                deck.value(&solution, expression)
            };
            close(&format!("{} {expression}", case.id), got, expected, 6e-6);
            checked += 1;
        }
    }
    assert!(checked >= 60, "only {checked} values were compared");
}

/// The series loop of a transient case: volts, volts before, ohms, pre-charge ohms, henries, farads.
fn inrush_loop(netlist: &str) -> (f64, f64, f64, f64, f64, f64) {
    let mut found = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for line in netlist.lines().filter(|l| !l.starts_with('*')) {
        let words: Vec<&str> = line.split_whitespace().collect();
        let number = |text: &str| {
            let scale = if text.ends_with('m') {
                1e-3
            } else if text.ends_with('u') {
                1e-6
            } else {
                1.0
            };
            text.trim_end_matches(['m', 'u']).parse::<f64>().unwrap() * scale
        };
        match words.first().and_then(|w| w.chars().next()) {
            Some('V') => found.0 = number(words[3]),
            Some('R') if number(words[3]) > 1.0 => found.3 += number(words[3]),
            Some('R') => found.2 += number(words[3]),
            Some('L') => found.4 = number(words[3]),
            Some('C') => {
                found.5 = number(words[3]);
                found.1 = number(&words[4].to_lowercase().replace("ic=", ""));
            }
            _ => {}
        }
    }
    found
}

#[test]
fn inrush_closed_forms() {
    let mut checked = 0;
    for case in cases().iter().filter(|c| c.netlist.lines().any(|l| l.starts_with('C'))) {
        let (v, before, ohms, pre, henries, farads) = inrush_loop(&case.netlist);
        let result = inrush(
            Volts::new(v),
            Volts::new(before),
            Ohms::new(ohms + pre),
            Henries::new(henries),
            Farads::new(farads),
        )
        .unwrap();
        let charge = precharge(
            Volts::new(v),
            Volts::new(before),
            Ohms::new(pre.max(1e-12)),
            Ohms::new(ohms),
            Farads::new(farads),
        )
        .unwrap();
        let volts_at = |t: f64| result.volts_at(Seconds::new(t)).get();
        let tau = (ohms + pre) * farads;
        for (name, &expected) in &case.expected {
            // The simulator steps in time: its values hold to about 1e-4, times of a flat peak to about 1e-2.
            let (got, within) = match name.as_str() {
                // Read at the first step where there is no inductance (see the head of the data file): 1e-4
                // below V/R.
                "ipk" => (result.amps_peak.get(), 2e-4),
                "tpk" | "t_pk" => (result.time_of_peak.get(), 1e-2),
                "v1ms" => (volts_at(1e-3), 1e-4),
                "v044" => (volts_at(0.44), 1e-4),
                "v22" => (volts_at(2.2), 1e-4),
                "vc_1s" => (volts_at(1.0), 1e-4),
                "vc_2s" => (volts_at(2.0), 1e-4),
                "vc_200us" => (volts_at(200e-6), 1e-4),
                "vc_1tau" => (volts_at(tau), 1e-4),
                "vc_5tau" => (volts_at(5.0 * tau), 1e-4),
                "i_1tau" => (-result.amps_at(Seconds::new(tau)).get(), 2e-4),
                "vc_peak" => (result.volts_furthest.get(), 1e-4),
                "t95" => (charge.time_to_95_percent.get(), 1e-4),
                "t99" => (charge.time_to_99_percent.get(), 1e-4),
                other => panic!("{}: {other} is not compared", case.id),
            };
            close(&format!("{} {name}", case.id), got, expected, within);
            checked += 1;
        }
        if let Some(expected) = case.ipk_closed_form {
            close(&case.id, result.amps_peak.get(), expected, 5e-6);
        }
    }
    assert!(checked >= 16, "only {checked} values were compared");
}
