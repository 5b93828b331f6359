//! The rules on loads, converters and mass, each firing and silent, on both sides of its limit.

mod hand_built;
mod more;

use hand_built::{Sound, awg};
use model::{CircuitKind, Pole, Spec};
use more::{more as parts, one, scene, silent, with_ac};
use network::Scene;
use quantity::*;
use rules::Severity;

fn fridge(sound: &mut Sound) -> &mut model::Load {
    match &mut sound.find("fridge").spec {
        Spec::Load(load) => load,
        _ => panic!("no load"),
    }
}

/// The fridge needs 10.8 V to start.
#[test]
fn low_start_voltage() {
    let mut sound = Sound::new();
    let at = |high: f64| [("fridge.positive", high), ("fridge.negative", 0.3)];
    scene(&mut sound, Scene::Starting, &[], &at(11.0));
    silent(&sound, "low-start-voltage");
    fridge(&mut sound).lowest_start = Some(Volts::new(10.7));
    silent(&sound, "low-start-voltage");
    fridge(&mut sound).lowest_start = Some(Volts::new(10.8));
    let found = one(sound.finds("low-start-voltage"), Severity::Warning, "fridge");
    assert!(found.message.contains("10.7 V") && found.message.contains("10.8 V"), "{}", found.message);
    fridge(&mut sound).critical = true;
    one(sound.finds("low-start-voltage"), Severity::Danger, "fridge");
    // The worse of the two scenes counts.
    let mut sound = Sound::new();
    fridge(&mut sound).lowest_start = Some(Volts::new(10.5));
    scene(&mut sound, Scene::Starting, &[], &at(11.0));
    scene(&mut sound, Scene::EverythingOn, &[], &at(10.7));
    let found = one(sound.finds("low-start-voltage"), Severity::Warning, "fridge");
    assert!(found.message.contains("everything on"), "{}", found.message);
}

/// 4 V are lost in 14 AWG at 30 A: with 12 AWG, of 5/8 of its resistance, 1.5 V come back.
#[test]
fn the_mend_for_a_low_voltage_is_a_size_that_gives_it_back() {
    let mut sound = Sound::new();
    fridge(&mut sound).lowest_start = Some(Volts::new(10.0));
    scene(&mut sound, Scene::Starting, &[], &[("fridge.positive", 9.5), ("fridge.negative", 0.5)]);
    let loss = Ohms::new(2.0 / 30.0);
    for id in ["fridge.positive", "fridge.negative"] {
        let ix = sound.system.conductors.iter().position(|conductor| conductor.id == id).expect(id);
        sound.results.resistances[ix] = loss;
        sound.results.scenes[0].amps[ix] = Amps::new(30.0);
    }
    let found = one(sound.finds("low-start-voltage"), Severity::Warning, "fridge");
    // 1 V is short; 12 AWG gives back about 1.5 V.
    assert!(found.fixes[0].what.contains("12 AWG"), "{:?}", found.fixes);
    assert_eq!(found.fixes[0].edits.len(), 2, "both poles: {:?}", found.fixes);
}

/// A converter of 10 A from 12 V to 24 V, with a fan of 5 A behind it.
fn with_converter() -> Sound {
    let mut sound = Sound::new();
    let part = parts().converter.values().next().expect("one").clone();
    let terminals =
        [("in-positive", Pole::Positive), ("positive", Pole::Positive), ("negative", Pole::Negative)];
    let plain = |names: &[(&str, Pole)]| -> Vec<model::Terminal> {
        names.iter().map(|(name, pole)| hand_built::terminal(name, *pole, None, None)).collect()
    };
    sound.device("lift", Spec::Converter(part), plain(&terminals));
    let mut fan = hand_built::load();
    (fan.title, fan.voltage, fan.current_running) = ("fan".to_owned(), Volts::new(24.0), Amps::new(5.0));
    fan.current_start = Amps::new(5.0);
    sound.device(
        "fan",
        Spec::Load(fan),
        plain(&[("positive", Pole::Positive), ("negative", Pole::Negative)]),
    );
    sound.circuit("lift", CircuitKind::Converter, 22.0, &[], &["lift"]);
    sound.circuit("fan", CircuitKind::Branch, 5.0, &[], &["fan"]);
    sound.cable("lift", "positive", "positive-bar.bar", "lift.in-positive", awg(6), 1.0);
    sound.cable("lift", "negative", "lift.negative", "negative-bar.bar", awg(6), 1.0);
    sound.cable("fan", "positive", "lift.positive", "fan.positive", awg(14), 2.0);
    sound.cable("fan", "negative", "fan.negative", "lift.negative", awg(14), 2.0);
    sound
}

fn fan(sound: &mut Sound) -> &mut model::Load {
    match &mut sound.find("fan").spec {
        Spec::Load(load) => load,
        _ => panic!("no load"),
    }
}

#[test]
fn converter_overloaded() {
    let mut sound = with_converter();
    fan(&mut sound).current_running = Amps::new(10.0);
    fan(&mut sound).current_start = Amps::new(10.0);
    silent(&sound, "converter-overloaded");
    fan(&mut sound).current_running = Amps::new(10.1);
    one(sound.finds("converter-overloaded"), Severity::Warning, "lift");
    fan(&mut sound).current_running = Amps::new(5.0);
    fan(&mut sound).current_start = Amps::new(10.1);
    one(sound.finds("converter-overloaded"), Severity::Advice, "lift");
    let mut sound = with_converter();
    sound.system.voltage = Volts::new(48.0);
    one(sound.finds("converter-overloaded"), Severity::Danger, "lift");
}

#[test]
fn wrong_voltage_load() {
    let mut sound = with_converter();
    silent(&sound, "wrong-voltage-load");
    // 12.8 V and 12 V are one nominal voltage.
    fridge(&mut sound).voltage = Volts::new(12.8);
    silent(&sound, "wrong-voltage-load");
    fridge(&mut sound).voltage = Volts::new(24.0);
    let found = one(sound.finds("wrong-voltage-load"), Severity::Warning, "fridge");
    assert!(found.message.contains("bank-1 gives it 12 V"), "{}", found.message);
    let mut sound = with_converter();
    fan(&mut sound).voltage = Volts::new(12.0);
    let found = one(sound.finds("wrong-voltage-load"), Severity::Danger, "fan");
    assert!(found.message.contains("lift gives it 24 V"), "{}", found.message);
    // On the AC side.
    let mut sound = with_ac(Sound::new());
    if let Spec::Load(load) = &mut sound.find("kettle").spec {
        load.voltage = Volts::new(230.0);
    }
    one(sound.finds("wrong-voltage-load"), Severity::Warning, "kettle");
    sound.system.ac_voltage = Some(Volts::new(240.0));
    silent(&sound, "wrong-voltage-load");
}

/// The cables of the sound system weigh: area x length x 1.1 slack x 8.96 g/cm³ x 1.25.
#[test]
fn over_payload() {
    let mut sound = Sound::new();
    sound.find("bank-1").mass = Kilograms::new(20.0);
    silent(&sound, "over-payload");
    let copper: f64 = sound
        .system
        .conductors
        .iter()
        .map(|conductor| conductor.gauge.area().get() * conductor.length.get() * 1.1 * 8.96e-3 * 1.25)
        .sum();
    sound.system.payload = Some(Kilograms::new(20.0 + copper + 0.01));
    silent(&sound, "over-payload");
    sound.system.payload = Some(Kilograms::new(20.0 + copper - 0.01));
    let found = one(sound.finds("over-payload"), Severity::Warning, "brief.payload");
    assert!(found.because.iter().any(|step| step.contains("bank-1")), "{found:#?}");
}
