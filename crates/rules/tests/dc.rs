//! Every DC rule fires on its fault, on the right place, and stays silent beside its limit.
//! Limits are worked out by hand from the table rows named beside each check.

mod hand_built;

use hand_built::{Sound, awg, fuse, terminal};
use model::{CircuitKind, Pole, Spec};
use quantity::{Amps, Gauge, Metres, Volts};
use reference::{Insulation, RuleSet};
use rules::{Finding, Severity};

/// The one finding there should be.
fn one(found: Vec<Finding>, severity: Severity, place: &str) -> Finding {
    assert_eq!(found.len(), 1, "{found:#?}");
    let finding = found.into_iter().next().expect("one");
    assert_eq!((finding.severity, finding.place.as_str()), (severity, place), "{finding:#?}");
    assert!(
        !finding.why.is_empty() && !finding.because.is_empty() && !finding.fixes.is_empty(),
        "{finding:#?}"
    );
    finding
}

fn silent(sound: &Sound, rule: &str) {
    let found = sound.finds(rule);
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn nothing_is_found_in_a_sound_system() {
    let found = Sound::new().all();
    assert!(found.iter().all(|finding| finding.severity == Severity::Advice), "{found:#?}");
}

/// 33 CFR 183.425 Table 5: 14 AWG with 105 °C insulation carries 35 A at 30 °C.
#[test]
fn conductor_overloaded() {
    let mut sound = Sound::new();
    sound.of("fridge").current_steady = Amps::new(35.0);
    silent(&sound, "conductor-overloaded");
    sound.of("fridge").current_steady = Amps::new(35.1);
    let found = sound.finds("conductor-overloaded");
    assert_eq!(found.len(), 2, "both poles: {found:#?}");
    assert!(found[0].message.contains("35 A"), "{}", found[0].message);
    // 12 AWG carries 45 A.
    assert!(found[0].fixes[0].what.contains("12 AWG"), "{:?}", found[0].fixes);
    // The study may find more than the circuit's own figure.
    let mut sound = Sound::new();
    sound.scene(&[("fridge.positive", -36.0)], &[]);
    one(sound.finds("conductor-overloaded"), Severity::Danger, "fridge.positive");
}

#[test]
fn a_pin_is_the_cause_and_its_removal_the_first_mend() {
    let mut sound = Sound::new();
    sound.of("fridge").current_steady = Amps::new(36.0);
    sound.pin("fridge.positive.gauge", "14 AWG");
    let found = sound.finds("conductor-overloaded");
    assert_eq!(found[0].intent, "pins.fridge.positive.gauge");
    assert_eq!(found[0].fixes[0].edits[0].shown(), "take away pins.\"fridge.positive.gauge\"");
    assert_eq!(found[1].intent, "circuits.fridge");
}

#[test]
fn no_ampacity_known() {
    let mut sound = Sound::new();
    sound.conductor("fridge.positive").gauge = awg(22);
    one(sound.finds("no-ampacity-known"), Severity::Danger, "fridge.positive");
    silent(&Sound::new(), "no-ampacity-known");
}

/// ISO 10133 takes 60 °C for engine spaces, so that 60 °C insulation has nothing left; under 33 CFR (50 °C) and in a
/// zone of 40 °C it has.
#[test]
fn insulation_too_cold_rated() {
    let mut sound = Sound::new();
    sound.system.zones[1].hottest = quantity::Celsius::new(40.0);
    let wire = sound.conductor("fridge.positive");
    (wire.insulation, wire.zone) = (Insulation::C60, 1);
    silent(&sound, "insulation-too-cold-rated");
    sound.system.rules = RuleSet::Iec;
    sound.conductor("fridge.positive").gauge = Gauge::Metric(250);
    let found = one(sound.finds("insulation-too-cold-rated"), Severity::Danger, "fridge.positive");
    assert!(found.fixes[0].what.contains("70 °C"), "{:?}", found.fixes);
    silent(&sound, "no-ampacity-known");
}

/// 33 CFR 183.425: 16 AWG is the smallest single conductor, 18 AWG in a sheath.
#[test]
fn conductor_below_minimum() {
    let mut sound = Sound::new();
    sound.conductor("fridge.positive").gauge = awg(16);
    silent(&sound, "conductor-below-minimum");
    sound.conductor("fridge.positive").gauge = awg(18);
    let found = one(sound.finds("conductor-below-minimum"), Severity::Warning, "fridge.positive");
    assert!(found.fixes[0].what.contains("16 AWG"), "{:?}", found.fixes);
    sound.conductor("fridge.positive").cores = 2;
    silent(&sound, "conductor-below-minimum");
}

/// 33 CFR 183.455(c): at most 150 % of 35 A = 52.5 A before 14 AWG; IEC 60364-4-43: In <= Iz.
#[test]
fn fuse_too_large_for_conductor() {
    let mut sound = Sound::new();
    sound.fuse("fridge.fuse").rating = Amps::new(52.0);
    silent(&sound, "fuse-too-large-for-conductor");
    sound.fuse("fridge.fuse").rating = Amps::new(53.0);
    let found = one(sound.finds("fuse-too-large-for-conductor"), Severity::Danger, "fridge.fuse");
    assert!(found.message.contains("52.5 A"), "{}", found.message);
    // Blade fuses are made up to 40 A.
    assert!(found.fixes[0].what.contains("40 A"), "{:?}", found.fixes);
    silent(&sound, "unprotected-conductor");
}

#[test]
fn fuse_too_small_for_load() {
    let mut sound = Sound::new();
    sound.of("fridge").current_steady = Amps::new(10.0);
    silent(&sound, "fuse-too-small-for-load");
    // NEC 210.20: 125 % of a load of three hours or more; 8 A needs 10 A, 8.1 A needs 10.1 A.
    sound.of("fridge").continuous = true;
    sound.of("fridge").current_steady = Amps::new(8.0);
    silent(&sound, "fuse-too-small-for-load");
    sound.of("fridge").current_steady = Amps::new(8.1);
    let found = one(sound.finds("fuse-too-small-for-load"), Severity::Warning, "fridge.fuse");
    assert!(found.fixes[0].what.contains("15 A"), "{:?}", found.fixes);
}

#[test]
fn fuse_cannot_interrupt() {
    let mut sound = Sound::new();
    // Prospective: without the device's own resistance (IEC 60050-441, 441-17-01), so its source side counts.
    sound.fault("fridge.fuse.in", 1000.0, 500.0);
    sound.fault("fridge.fuse.out", 700.0, 500.0);
    silent(&sound, "fuse-cannot-interrupt");
    sound.fault("fridge.fuse.in", 1001.0, 500.0);
    let found = one(sound.finds("fuse-cannot-interrupt"), Severity::Danger, "fridge.fuse");
    assert!(found.fixes[0].what.contains("panel"), "a way's family is the panel's: {:?}", found.fixes);
    // ISO 8820-3: blade fuses are made for 32 V.
    let mut sound = Sound::new();
    sound.system.voltage = Volts::new(48.0);
    sound.system.bank.as_mut().expect("bank").voltage_high = Volts::new(53.6);
    for circuit in &mut sound.system.circuits {
        circuit.voltage = Volts::new(48.0);
    }
    let found = sound.finds("fuse-cannot-interrupt");
    let places: Vec<&str> = found.iter().map(|finding| finding.place.as_str()).collect();
    assert_eq!(places, ["panel.fuse", "fridge.fuse"], "class T is made for 125 V of direct current");
}

/// 33 CFR 183.455(b): 7 in (177.8 mm) bare, 40 in (1.016 m) sheathed; ABYC E-11: 72 in (1.83 m) sheathed from a battery.
#[test]
fn protection_too_far() {
    for (distance, sheathed, is_found) in
        [(0.17, false, false), (0.18, false, true), (1.82, true, false), (1.84, true, true)]
    {
        let mut sound = Sound::new();
        // The link becomes a lead of its own between post and fuse.
        let lead = sound.conductor("main.link");
        (lead.is_internal, lead.length, lead.sheathed) = (false, Metres::new(distance), sheathed);
        sound.fuse("main.fuse").distance = Metres::zero();
        if is_found {
            one(sound.finds("protection-too-far"), Severity::Danger, "main.fuse");
        } else {
            silent(&sound, "protection-too-far");
        }
        silent(&sound, "unprotected-conductor");
    }
    // A distance that the fuse itself states counts too. 8 AWG carries 80 A and so allows 120 A, less than the main fuse.
    let mut sound = Sound::new();
    sound.conductor("panel.link").gauge = awg(8);
    sound.fuse("panel.fuse").distance = Metres::new(0.2);
    one(sound.finds("protection-too-far"), Severity::Danger, "panel.fuse");
    // Behind a main fuse that the lead itself allows, no distance counts: 6 AWG allows 180 A.
    sound.conductor("panel.link").gauge = awg(6);
    silent(&sound, "protection-too-far");
}

#[test]
fn unprotected_conductor() {
    // No main fuse: its two sides are joined.
    let mut sound = Sound::new();
    sound.cut("main.link");
    sound.move_to("main.positive", "bank-1.positive", "main.disconnect.in");
    // Told once, at the first of its two pieces.
    one(sound.finds("unprotected-conductor"), Severity::Danger, "main.positive");
    // The feeder and the branch have fuses of their own.
    silent(&sound, "fuse-too-large-for-conductor");

    // A tap: a thin wire straight on the positive bar, behind the main fuse of 150 A.
    let mut sound = Sound::new();
    sound.cut("fridge.link");
    sound.move_to("fridge.positive", "positive-bar.bar", "fridge.positive");
    let found = one(sound.finds("unprotected-conductor"), Severity::Danger, "fridge.positive");
    assert!(found.message.contains("tapped behind main.fuse"), "{}", found.message);
}

/// A cable between two batteries needs a fuse at each end.
#[test]
fn unprotected_conductor_between_two_batteries() {
    for both in [false, true] {
        let mut sound = Sound::new();
        let engine = model::BatteryAt {
            part: hand_built::battery(),
            string: 0,
            place: 0,
            short_circuit: Amps::new(2000.0),
            short_circuit_is_stated: true,
        };
        let posts = vec![
            terminal("positive", Pole::Positive, None, None),
            terminal("negative", Pole::Negative, None, None),
        ];
        let ways =
            || vec![terminal("in", Pole::Positive, None, None), terminal("out", Pole::Positive, None, None)];
        sound.device("engine-battery", Spec::StartBattery(engine), posts);
        sound.device("relay.fuse", Spec::Fuse(fuse("class-t", 100.0, 20000.0)), ways());
        sound.device("relay.fuse-far", Spec::Fuse(fuse("class-t", 100.0, 20000.0)), ways());
        sound.circuit("relay", CircuitKind::Engine, 60.0, &["relay.fuse"], &["engine-battery"]);
        sound.cable("relay", "link", "positive-bar.bar", "relay.fuse.in", awg(4), 0.0);
        if both {
            sound.cable("relay", "positive", "relay.fuse.out", "relay.fuse-far.in", awg(4), 3.0);
            sound.cable("relay", "link-far", "relay.fuse-far.out", "engine-battery.positive", awg(4), 0.0);
            silent(&sound, "unprotected-conductor");
            silent(&sound, "protection-too-far");
        } else {
            sound.cable("relay", "positive", "relay.fuse.out", "engine-battery.positive", awg(4), 3.0);
            let found = one(sound.finds("unprotected-conductor"), Severity::Danger, "relay.positive");
            assert!(found.message.contains("both ends"), "{}", found.message);
        }
    }
}

/// IEC 60364-4-43 by hand for 14 AWG (2.08 mm²): behind a 300 A class T fuse, last gate 10 x within 0.05 s, 3 kA let 450,000 A²s
/// through; k from the tables is near 100, so 14 AWG stands about 45,000 A²s and 4 AWG (21.2 mm²) ten times the heat.
#[test]
fn short_circuit_withstand() {
    let mut sound = Sound::new();
    for id in ["main.fuse", "panel.fuse", "fridge.fuse"] {
        *sound.fuse(id) = fuse("class-t", 300.0, 20000.0);
    }
    sound.fault("fridge.fuse.out", 5000.0, 4000.0);
    let found = one(sound.finds("short-circuit-withstand"), Severity::Danger, "fridge.positive");
    assert!(found.message.contains("450000 A²s"), "{}", found.message);
    sound.conductor("fridge.positive").gauge = awg(4);
    silent(&sound, "short-circuit-withstand");
    // A 10 A blade fuse, last gate 6 x within 0.1 s, lets 360 A²s through.
    let mut sound = Sound::new();
    sound.fault("fridge.fuse.out", 1000.0, 500.0);
    silent(&sound, "short-circuit-withstand");
    // The piece from the bar to the panel's fuse is behind the main fuse only: 33 CFR 183.455(b) lets it be 7 in (0.178 m) long
    // bare, and 40 in (1.016 m) in sheath or conduit.
    for (length, sheathed, is_found) in [
        (0.17, false, false),
        (0.19, false, true),
        (0.19, true, false),
        (1.01, true, false),
        (1.03, true, true),
    ] {
        let mut sound = Sound::new();
        *sound.fuse("main.fuse") = fuse("class-t", 300.0, 20000.0);
        sound.fault("positive-bar.bar", 5000.0, 4000.0);
        let piece = sound.conductor("panel.link");
        (piece.length, piece.sheathed, piece.gauge) = (Metres::new(length), sheathed, awg(14));
        piece.is_internal = false;
        let found = sound.finds("short-circuit-withstand");
        assert_eq!(
            found.iter().any(|found| found.place == "panel.link"),
            is_found,
            "{length} {sheathed}: {found:#?}"
        );
    }
}

/// ISO 8820-3 gates in the table: a blade fuse opens within 5 s at twice its rating.
#[test]
fn fault_not_cleared() {
    let mut sound = Sound::new();
    sound.fault("fridge.positive", 500.0, 20.1);
    silent(&sound, "fault-not-cleared");
    sound.fault("fridge.positive", 500.0, 19.0);
    one(sound.finds("fault-not-cleared"), Severity::Advice, "fridge.fuse");
}

#[test]
fn terminal_too_small() {
    let mut sound = Sound::new();
    sound.conductor("fridge.positive").gauge = awg(10);
    silent(&sound, "terminal-too-small");
    sound.conductor("fridge.positive").gauge = awg(8);
    let found = sound.finds("terminal-too-small");
    assert_eq!(found.len(), 2, "fuse and load: {found:#?}");
    // 6 mm² has more metal than 10 AWG (5.26 mm²).
    sound.conductor("fridge.positive").gauge = Gauge::Metric(600);
    assert_eq!(sound.finds("terminal-too-small").len(), 2);
    // The thickest that the terminal takes, 10 AWG: a thinner one carries 5 A too, but loses more voltage.
    assert!(found[0].fixes[0].what.contains("10 AWG"), "{:?}", found[0].fixes);
}

#[test]
fn lug_does_not_fit() {
    // Lug table: 6 AWG for holes of 5.0 to 10.5 mm, so M5 (5.3 mm) and not M12 (13 mm).
    let mut sound = Sound::new();
    silent(&sound, "lug-does-not-fit");
    sound.find("panel").terminals[0].stud = Some(model::parts::Stud::M12);
    one(sound.finds("lug-does-not-fit"), Severity::Warning, "panel.positive");
}

/// ABYC E-11: at most four terminals on a stud.
#[test]
fn lugs_stacked() {
    let mut sound = Sound::new();
    for n in 0..3 {
        sound.cable("main", &format!("extra-{n}"), "bank-1.negative", "shunt.bank", awg(-1), 0.5);
    }
    silent(&sound, "lugs-stacked");
    sound.cable("main", "extra-3", "bank-1.negative", "negative-bar.bar", awg(-1), 0.5);
    one(sound.finds("lugs-stacked"), Severity::Warning, "bank-1.negative");
}

#[test]
fn return_undersized() {
    let mut sound = Sound::new();
    sound.conductor("fridge.negative").gauge = awg(16);
    // 16 AWG carries 25 A, so allows 37.5 A: the 10 A fuse protects it.
    let found = one(sound.finds("return-undersized"), Severity::Warning, "fridge.negative");
    assert!(found.fixes[0].what.contains("14 AWG"), "{:?}", found.fixes);
    let mut sound = Sound::new();
    // 6 AWG allows 180 A; 10 AWG (60 A) allows 90 A and is protected by 60 A; 14 AWG allows 52.5 A and is not.
    sound.conductor("panel.negative").gauge = awg(14);
    one(sound.finds("return-undersized"), Severity::Danger, "panel.negative");
    silent(&Sound::new(), "return-undersized");
}

/// NEC 552.10(C)(4): not below 8 AWG and not below the battery lead.
#[test]
fn bonding_undersized() {
    let mut sound = Sound::new();
    silent(&sound, "bonding-undersized");
    sound.conductor("bond.chassis").gauge = awg(0);
    let found = one(sound.finds("bonding-undersized"), Severity::Danger, "bond.chassis");
    assert!(found.fixes[0].what.contains("2/0 AWG"), "{:?}", found.fixes);
    // With a thin lead the 8 AWG of the rule stand.
    sound.conductor("main.link").gauge = awg(10);
    sound.conductor("bond.chassis").gauge = awg(8);
    silent(&sound, "bonding-undersized");
    sound.conductor("bond.chassis").gauge = awg(10);
    one(sound.finds("bonding-undersized"), Severity::Danger, "bond.chassis");
}

#[test]
fn return_through_chassis() {
    let mut sound = Sound::new();
    sound.move_to("fridge.negative", "fridge.negative", "chassis.bond");
    one(sound.finds("return-through-chassis"), Severity::Warning, "fridge");
    sound.system.craft = model::Craft::Boat;
    one(sound.finds("return-through-chassis"), Severity::Danger, "fridge");
    silent(&Sound::new(), "return-through-chassis");
}

#[test]
fn current_past_shunt() {
    let mut sound = Sound::new();
    silent(&sound, "current-past-shunt");
    sound.move_to("fridge.negative", "fridge.negative", "bank-1.negative");
    one(sound.finds("current-past-shunt"), Severity::Warning, "fridge.negative");
    // The bond on the bank's side.
    let mut sound = Sound::new();
    sound.move_to("bond.chassis", "bank-1.negative", "chassis.bond");
    one(sound.finds("current-past-shunt"), Severity::Warning, "bond.chassis");
    // A cable beside the shunt.
    let mut sound = Sound::new();
    sound.cable("main", "beside", "bank-1.negative", "negative-bar.bar", awg(-1), 0.5);
    one(sound.finds("current-past-shunt"), Severity::Warning, "main.beside");
    // Stacked on the shunt's bank stud.
    let mut sound = Sound::new();
    sound.move_to("fridge.negative", "fridge.negative", "shunt.bank");
    one(sound.finds("current-past-shunt"), Severity::Warning, "fridge.negative");
}

#[test]
fn busbar_overloaded() {
    let mut sound = Sound::new();
    // 250 A in, 250 A out.
    sound.scene(&[("main.positive-2", 250.0), ("panel.link", 250.0)], &[]);
    silent(&sound, "busbar-overloaded");
    sound.scene(&[("main.positive-2", 251.0), ("panel.link", 251.0)], &[]);
    one(sound.finds("busbar-overloaded"), Severity::Danger, "positive-bar");
}

#[test]
fn disconnect_overloaded() {
    let mut sound = Sound::new();
    sound.of("main").current_steady = Amps::new(300.0);
    silent(&sound, "disconnect-overloaded");
    sound.of("main").current_steady = Amps::new(301.0);
    one(sound.finds("disconnect-overloaded"), Severity::Danger, "main.disconnect");
}

#[test]
fn shunt_overloaded() {
    let mut sound = Sound::new();
    sound.of("main").current_steady = Amps::new(300.0);
    silent(&sound, "shunt-overloaded");
    sound.of("main").current_steady = Amps::new(301.0);
    one(sound.finds("shunt-overloaded"), Severity::Warning, "shunt");
}

#[test]
fn panel_overloaded() {
    let mut sound = Sound::new();
    sound.of("panel").current_steady = Amps::new(100.0);
    silent(&sound, "panel-overloaded");
    sound.of("panel").current_steady = Amps::new(101.0);
    one(sound.finds("panel-overloaded"), Severity::Warning, "panel");
    let mut sound = Sound::new();
    sound.fuse("panel.fuse").rating = Amps::new(100.0);
    silent(&sound, "panel-overloaded");
    sound.fuse("panel.fuse").rating = Amps::new(120.0);
    let found = one(sound.finds("panel-overloaded"), Severity::Warning, "panel");
    assert!(found.fixes[0].what.contains("100 A"), "{:?}", found.fixes);
    let mut sound = Sound::new();
    sound.fuse("fridge.fuse").rating = Amps::new(35.0);
    one(sound.finds("panel-overloaded"), Severity::Warning, "fridge.fuse");
}

#[test]
fn missing_disconnect() {
    silent(&Sound::new(), "missing-disconnect");
    let mut sound = Sound::new();
    sound.cut("main.positive-2");
    sound.move_to("main.positive", "main.fuse.out", "positive-bar.bar");
    one(sound.finds("missing-disconnect"), Severity::Warning, "bank");
}

#[test]
fn poles_crossed() {
    silent(&Sound::new(), "poles-crossed");
    let mut sound = Sound::new();
    sound.move_to("fridge.positive", "fridge.fuse.out", "fridge.negative");
    sound.fault("fridge.fuse.out", 400.0, 300.0);
    one(sound.finds("poles-crossed"), Severity::Danger, "fridge.positive");
}

/// ABYC E-11: 3 % of 12 V is 0.36 V for critical loads, 10 % is 1.2 V for others.
#[test]
fn excess_voltage_drop() {
    // In the feeder's conductors 2 x 10 A x 5 mΩ = 0.1 V; in the circuit 2 x 2 m of 14 AWG (2.08 mm²) at
    // 17.24 mΩ·mm²/m = 33.1 mΩ.
    let feeder = |sound: &mut Sound| {
        let volts = [
            ("bank-1.positive", 12.8),
            ("bank-1.negative", 0.0),
            ("positive-bar.bar", 12.8),
            ("panel.positive", 12.75),
            ("panel.negative", 0.05),
        ];
        sound.scene(&[("panel.positive", 10.0), ("panel.negative", 10.0)], &volts);
        for (ix, conductor) in sound.system.conductors.iter().enumerate() {
            if conductor.id == "panel.positive" || conductor.id == "panel.negative" {
                sound.results.resistances[ix] = quantity::Ohms::new(0.005);
            }
        }
    };
    let mut sound = Sound::new();
    feeder(&mut sound);
    sound.of("fridge").current_steady = Amps::new(33.0); // 1.09 V + 0.1 V
    silent(&sound, "excess-voltage-drop");
    sound.of("fridge").current_steady = Amps::new(34.0); // 1.13 V + 0.1 V
    let found = one(sound.finds("excess-voltage-drop"), Severity::Warning, "fridge");
    assert!(found.message.starts_with("10.2 % of 12 V"), "{}", found.message);
    assert!(found.fixes[0].what.contains("12 AWG"), "{:?}", found.fixes);
    let mut sound = Sound::new();
    feeder(&mut sound);
    sound.of("fridge").critical = true;
    sound.of("fridge").current_steady = Amps::new(7.8); // 0.258 V + 0.1 V
    silent(&sound, "excess-voltage-drop");
    sound.of("fridge").current_steady = Amps::new(8.0); // 0.265 V + 0.1 V
    one(sound.finds("excess-voltage-drop"), Severity::Warning, "fridge");
}

/// What a bad feeder loses is told once, at the feeder.
#[test]
fn excess_voltage_drop_is_told_at_its_root() {
    let mut sound = Sound::new();
    sound.scene(
        &[],
        &[
            ("bank-1.positive", 12.8),
            ("bank-1.negative", 0.0),
            ("positive-bar.bar", 12.8),
            ("negative-bar.bar", 0.0),
            ("panel.fuse.out", 12.8),
            ("panel.positive", 12.0),
            ("panel.negative", 0.5),
        ],
    );
    // 2 x 25 m of 6 AWG (13.3 mm²) at 40 A lose 2.6 V.
    for (ix, conductor) in sound.system.conductors.iter().enumerate() {
        if conductor.id.starts_with("panel.") {
            sound.results.resistances[ix] = quantity::Ohms::new(0.0325);
        }
    }
    one(sound.finds("excess-voltage-drop"), Severity::Warning, "panel");
}

#[test]
fn derivation_problems_are_findings() {
    let mut sound = Sound::new();
    sound.system.gaps.push(model::Gap {
        path: "inverter.part".into(),
        need: "an inverter of 5 kW".into(),
        intent: "inverter".into(),
    });
    sound.system.refusals.push(model::Refusal {
        what: "a cooker of 3 kW".into(),
        numbers: "3 kW / 12 V = 250 A".into(),
        intent: "loads.cooker".into(),
    });
    sound.system.unused.push(model::Unused {
        intent: "pins.x".into(),
        message: "names nothing".into(),
        mend: "correct it".into(),
    });
    sound.system.assumptions.push(model::Assumption {
        path: "loads.fridge.length".into(),
        value: "4 m".into(),
        plausible: None,
        why: "typical".into(),
        must_answer: true,
    });
    one(sound.finds("no-part-fits"), Severity::Danger, "inverter.part");
    one(sound.finds("refused"), Severity::Danger, "loads.cooker");
    let unanswered = one(sound.finds("unanswered-safety-question"), Severity::Warning, "loads.fridge.length");
    assert_eq!(unanswered.fixes[0].edits[0].shown(), "loads.fridge.length = \"4 m\"");
    let unused = sound.finds("pin-names-nothing");
    assert_eq!(unused[0].fixes.len(), 2);
}

#[test]
fn an_answer_stands_on_the_danger_and_does_not_hide_it() {
    let mut sound = Sound::new();
    sound.conductor("bond.chassis").gauge = awg(10);
    let answer = |rule: &str| model::Answer {
        rule: rule.into(),
        place: "bond.chassis".into(),
        reason: "bonded twice".into(),
    };
    sound.system.answers = vec![answer("some-other-rule"), answer("bonding-undersized")];
    let found = sound.all();
    let bond = found.iter().find(|finding| finding.rule == "bonding-undersized").expect("still shown");
    assert_eq!(bond.answered.as_deref(), Some("bonded twice"));
    assert_eq!(found[0].severity, Severity::Danger, "worst first");
}

#[test]
fn load_not_fed() {
    let mut sound = Sound::new();
    sound.scene(&[], &[]);
    silent(&sound, "load-not-fed");
    sound.results.scenes[0].dead.push(9);
    one(sound.finds("load-not-fed"), Severity::Warning, "fridge");
    sound.results.scenes[0].dead.clear();
    sound.results.scenes[0].collapsed.push(9);
    one(sound.finds("load-not-fed"), Severity::Warning, "fridge");
}

#[test]
fn branch_without_fuse() {
    silent(&Sound::new(), "branch-without-fuse");
    let mut sound = Sound::new();
    sound.of("fridge").protection.clear();
    one(sound.finds("branch-without-fuse"), Severity::Warning, "fridge");
}

/// A cable from bar to bar makes thousands of amperes flow everywhere; only the cable is to blame.
#[test]
fn what_follows_from_a_short_circuit_is_held_back_and_its_mend_is_still_found() {
    let text = include_str!("../../../examples/heron/intent.toml").to_owned()
        + "\n[[built]]\nadd_cable = \"slip\"\nfrom = \"positive-bar.bar\"\nto = \"negative-bar.bar\"\n\
           gauge = \"6 AWG\"\nlength = \"0.3 m\"\n";
    let source = model::SourceText { name: "intent.toml".to_owned(), text };
    let project = model::Project::read(source, model::library::builtin().clone()).expect("reads");
    let trials = rules::Trials::new(&project, network::study, &|_| None);
    let dangers: Vec<_> =
        trials.findings().iter().filter(|found| found.severity == Severity::Danger).collect();
    assert!(dangers.iter().all(|found| found.place == "slip"), "{dangers:#?}");
    let crossed = dangers.iter().find(|found| found.rule == "poles-crossed").expect("it is told");
    let tried = trials.tried(crossed).expect("taking it away mends it");
    assert_eq!(tried.edits[0].shown(), "take away built[0]");
    assert!(
        trials.findings().iter().all(|found| found.severity != Severity::Warning),
        "{:#?}",
        trials.findings()
    );
}
