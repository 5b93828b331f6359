//! The rules on the inverter and the AC side, each firing and silent, on both sides of its limit.
//! Limits are worked out by hand beside each check.

mod hand_built;
mod more;

use hand_built::{Sound, awg};
use model::parts::NeutralBond;
use model::{Craft, Pole, Spec};
use more::{generator_for_shore, inverter_charger, one, plug_in, silent, with_ac};
use quantity::*;
use reference::RuleSet;
use rules::Severity;

const AC: [&str; 13] = [
    "inverter-overloaded",
    "inverter-input-current",
    "inverter-voltage-mismatch",
    "inlet-breaker-conductor-disagree",
    "missing-residual-current-device",
    "neutral-bond-count",
    "ac-sources-in-parallel",
    "chassis-not-bonded",
    "ac-and-dc-together",
    "breaker-wrong-for-supply",
    "ac-conductor-undersized-for-breaker",
    "ac-panel-full",
    "wrong-voltage-load",
];

fn camp() -> Sound {
    with_ac(Sound::new())
}

#[test]
fn a_sound_ac_side_raises_nothing() {
    let sound = camp();
    for rule in AC {
        silent(&sound, rule);
    }
    let mut sound = camp();
    inverter_charger(&mut sound);
    for rule in AC {
        silent(&sound, rule);
    }
    let mut sound = camp();
    generator_for_shore(&mut sound, NeutralBond::Fixed);
    for rule in AC {
        silent(&sound, rule);
    }
}

/// 2,000 W at 25 °C and 1,400 W at 40 °C: 1,800 W at the zone's 30 °C.
#[test]
fn inverter_overloaded() {
    let mut sound = camp();
    plug_in(&mut sound, "lamp", 300.0);
    silent(&sound, "inverter-overloaded");
    plug_in(&mut sound, "radio", 1.0);
    let found = one(sound.finds("inverter-overloaded"), Severity::Warning, "inverter");
    assert!(found.message.contains("1801 VA") && found.message.contains("1800 W"), "{}", found.message);
    // Taking turns, only the larger counts.
    for id in ["kettle", "lamp"] {
        spec_load(&mut sound, id).takes_turns = Some("table".to_owned());
    }
    silent(&sound, "inverter-overloaded");
    // In a cooler place it gives more: 2,000 W.
    let mut sound = camp();
    plug_in(&mut sound, "lamp", 500.0);
    sound.system.zones[0].hottest = Celsius::new(25.0);
    silent(&sound, "inverter-overloaded");
    // Apparent power: 1,500 W at 0.8 are 1,875 VA.
    let mut sound = camp();
    spec_load(&mut sound, "kettle").power_factor = Fraction::new(0.8);
    one(sound.finds("inverter-overloaded"), Severity::Warning, "inverter");
}

#[test]
fn inverter_surge() {
    let mut sound = camp();
    spec_load(&mut sound, "kettle").power_start = Watts::new(4000.0);
    silent(&sound, "inverter-overloaded");
    spec_load(&mut sound, "kettle").power_start = Watts::new(4001.0);
    let found = one(sound.finds("inverter-overloaded"), Severity::Warning, "inverter");
    assert!(found.message.contains("start"), "{}", found.message);
}

/// 2,000 W / (0.9 x 12 V) = 185.2 A, since the bank's lowest 12 V is above the inverter's own 10.5 V.
#[test]
fn inverter_input_current() {
    let mut sound = camp();
    sound.fuse("inverter.fuse").rating = Amps::new(186.0);
    silent(&sound, "inverter-input-current");
    sound.fuse("inverter.fuse").rating = Amps::new(185.0);
    let found = one(sound.finds("inverter-input-current"), Severity::Warning, "inverter.fuse");
    assert!(found.message.contains("185 A"), "{}", found.message);
    // With a bank that goes down to 10 V the inverter's own 10.5 V counts: 211.6 A.
    let mut sound = camp();
    sound.system.bank.as_mut().expect("a bank").voltage_low = Volts::new(10.0);
    sound.fuse("inverter.fuse").rating = Amps::new(211.0);
    one(sound.finds("inverter-input-current"), Severity::Warning, "inverter.fuse");
    sound.fuse("inverter.fuse").rating = Amps::new(212.0);
    silent(&sound, "inverter-input-current");
}

/// 33 CFR Table 5, 105 °C: 4 AWG carries 160 A, 2 AWG 210 A, 3 AWG 180 A.
#[test]
fn inverter_conductors() {
    let mut sound = camp();
    sound.conductor("inverter.positive").gauge = awg(4);
    let found = one(sound.finds("inverter-input-current"), Severity::Danger, "inverter.positive");
    assert!(found.message.contains("160 A"), "{}", found.message);
    sound.conductor("inverter.positive").gauge = awg(2);
    silent(&sound, "inverter-input-current");
}

#[test]
fn large_capacitors_ask_for_precharge() {
    let mut sound = camp();
    spec!(sound, "inverter", Inverter).capacitance = Farads::new(0.0099);
    silent(&sound, "inverter-input-current");
    spec!(sound, "inverter", Inverter).capacitance = Farads::new(0.01);
    let found = one(sound.finds("inverter-input-current"), Severity::Advice, "inverter");
    // 13.4 V through 3 mΩ and two cables: thousands of amps.
    assert!(found.because[0].contains("kA") || found.because[0].contains("A flows"), "{found:#?}");
}

#[test]
fn inverter_voltage_mismatch() {
    let mut sound = camp();
    spec!(sound, "inverter", Inverter).voltage = Volts::new(24.0);
    one(sound.finds("inverter-voltage-mismatch"), Severity::Danger, "inverter");
    // The bank rests at 13.4 V at most here.
    let mut sound = camp();
    spec!(sound, "inverter", Inverter).highest_input = Volts::new(13.4);
    silent(&sound, "inverter-voltage-mismatch");
    spec!(sound, "inverter", Inverter).highest_input = Volts::new(13.3);
    one(sound.finds("inverter-voltage-mismatch"), Severity::Danger, "inverter");
    let mut sound = camp();
    spec!(sound, "inverter", Inverter).output = Volts::new(230.0);
    one(sound.finds("inverter-voltage-mismatch"), Severity::Danger, "inverter");
    let mut sound = camp();
    spec!(sound, "inverter", Inverter).frequency = 50;
    one(sound.finds("inverter-voltage-mismatch"), Severity::Warning, "inverter");
}

#[test]
fn main_breaker_and_inlet() {
    let mut sound = camp();
    spec!(sound, "shore.breaker", Breaker).part.current = Amps::new(31.0);
    let found = sound.finds("inlet-breaker-conductor-disagree");
    let found = one(found, Severity::Danger, "shore.breaker");
    assert!(found.message.contains("30 A"), "{}", found.message);
    let mut sound = camp();
    spec!(sound, "shore", Inlet).part.voltage = Volts::new(230.0);
    one(sound.finds("inlet-breaker-conductor-disagree"), Severity::Danger, "shore");
    spec!(sound, "shore", Inlet).part.voltage = Volts::new(125.0);
    silent(&sound, "inlet-breaker-conductor-disagree");
}

/// NEC 310.16, 60 °C terminals: 12 AWG carries 20 A, 10 AWG 30 A.
#[test]
fn the_lead_of_an_inlet_carries_what_the_supply_gives() {
    let mut sound = camp();
    for pole in ["shore.line", "shore.neutral"] {
        sound.conductor(pole).gauge = awg(12);
    }
    let found = sound.finds("inlet-breaker-conductor-disagree");
    assert_eq!(found.len(), 2, "line and neutral: {found:#?}");
    assert!(found[0].message.contains("20 A") && found[0].fixes[0].what.contains("10 AWG"), "{found:#?}");
    spec!(sound, "shore", Inlet).part.current = Amps::new(20.0);
    spec!(sound, "shore.breaker", Breaker).part.current = Amps::new(20.0);
    silent(&sound, "inlet-breaker-conductor-disagree");
}

#[test]
fn switch_and_main_breaker_of_an_inlet() {
    let mut sound = camp();
    spec!(sound, "transfer", TransferSwitch).current = Amps::new(29.0);
    one(sound.finds("inlet-breaker-conductor-disagree"), Severity::Danger, "transfer");
    let mut sound = camp();
    inverter_charger(&mut sound);
    spec!(sound, "inverter", Inverter).transfer = Some(Amps::new(16.0));
    one(sound.finds("inlet-breaker-conductor-disagree"), Severity::Danger, "inverter");
    // No main breaker at all: straight to the panel.
    let mut sound = camp();
    sound.move_to("ac.line", "shore.line", "ac.line");
    let found = sound.finds("inlet-breaker-conductor-disagree");
    assert!(found.iter().any(|found| found.message.contains("no main breaker")), "{found:#?}");
}

/// 30 mA (IEC 60364-4-41 415.1; ABYC E-11 for the whole supply).
#[test]
fn missing_residual_current_device() {
    let mut sound = camp();
    spec!(sound, "ac.residual", Breaker).part.residual = Some(Amps::new(0.031));
    let found = one(sound.finds("missing-residual-current-device"), Severity::Warning, "kettle");
    assert!(found.because.iter().any(|step| step.contains("ac.residual")), "{found:#?}");
    sound.system.rules = RuleSet::Iec;
    one(sound.finds("missing-residual-current-device"), Severity::Danger, "kettle");
    spec!(sound, "ac.residual", Breaker).part.residual = None;
    one(sound.finds("missing-residual-current-device"), Severity::Danger, "kettle");
    // Only shore is behind it: the inverter still reaches the load bare.
    let mut sound = camp();
    spec!(sound, "shore.breaker", Breaker).part.residual = Some(Amps::new(0.03));
    spec!(sound, "ac.residual", Breaker).part.residual = None;
    let found = one(sound.finds("missing-residual-current-device"), Severity::Warning, "kettle");
    assert!(found.message.contains("inverter reaches"), "{}", found.message);
}

#[test]
fn neutral_bond_missing_on_the_inverter() {
    let mut sound = camp();
    spec!(sound, "inverter", Inverter).neutral_bond = NeutralBond::None;
    let found = one(sound.finds("neutral-bond-count"), Severity::Danger, "inverter");
    assert!(found.message.contains("nowhere"), "{}", found.message);
    // A bond by cable on the inverter's own side of the switch mends it.
    sound.cable("b", "bond", "inverter.neutral", "inverter.earth", awg(10), 0.2);
    silent(&sound, "neutral-bond-count");
}

#[test]
fn a_fixed_bond_behind_a_switch_that_opens_the_neutral_is_one() {
    let mut sound = camp();
    spec!(sound, "inverter", Inverter).neutral_bond = NeutralBond::Fixed;
    silent(&sound, "neutral-bond-count");
    // A switch that leaves the neutral joined makes two of them, on shore and on the inverter.
    spec!(sound, "transfer", TransferSwitch).switches_neutral = false;
    let found = sound.finds("neutral-bond-count");
    assert_eq!(found.len(), 2, "{found:#?}");
    assert!(
        found.iter().all(|found| found.message.contains("2 places") && found.severity == Severity::Danger)
    );
}

#[test]
fn a_bond_in_the_panel_is_a_second_one() {
    let mut sound = camp();
    sound.cable("ac", "bond", "ac.neutral", "ac.earth", awg(10), 0.1);
    sound.conductor("ac.bond").intent = "built.0".to_owned();
    let found = sound.finds("neutral-bond-count");
    assert_eq!(found.len(), 2, "on shore and on the inverter: {found:#?}");
    assert!(found.iter().all(|found| found.intent == "built.0"), "the cause is the cable: {found:#?}");
    assert!(found[0].because.iter().any(|step| step.contains("ac.bond")));
}

#[test]
fn an_inverter_charger_opens_its_bond_on_shore() {
    let mut sound = camp();
    inverter_charger(&mut sound);
    silent(&sound, "neutral-bond-count");
    spec!(sound, "inverter", Inverter).neutral_bond = NeutralBond::Fixed;
    let found = one(sound.finds("neutral-bond-count"), Severity::Danger, "shore");
    assert!(found.intent.contains("inverter"), "{}", found.intent);
}

#[test]
fn generators_bond_once_too() {
    let mut sound = camp();
    generator_for_shore(&mut sound, NeutralBond::Switched);
    silent(&sound, "neutral-bond-count");
    generator_for_shore(&mut sound, NeutralBond::None);
    one(sound.finds("neutral-bond-count"), Severity::Danger, "shore");
}

#[test]
fn ac_sources_in_parallel() {
    let mut sound = camp();
    // The inverter wired to the panel's side of the switch.
    sound.move_to("b.line", "inverter.line", "transfer.line");
    let found = one(sound.finds("ac-sources-in-parallel"), Severity::Danger, "inverter");
    assert!(found.message.contains("shore"), "{}", found.message);
    // Both on the same side of the switch.
    sound.move_to("b.line", "inverter.line", "transfer.a-line");
    one(sound.finds("ac-sources-in-parallel"), Severity::Danger, "inverter");
}

#[test]
fn chassis_not_bonded() {
    let mut sound = camp();
    sound.cut("bond.ac");
    let found = one(sound.finds("chassis-not-bonded"), Severity::Danger, "shore");
    assert!(found.message.contains("inverter"), "all of them hang loose: {}", found.message);
    let mut sound = camp();
    sound.cut("b.earth");
    one(sound.finds("chassis-not-bonded"), Severity::Danger, "inverter");
    let mut sound = camp();
    sound.cut("bond.chassis");
    one(sound.finds("chassis-not-bonded"), Severity::Warning, "bank");
    sound.system.craft = Craft::Hut;
    silent(&sound, "chassis-not-bonded");
    let mut sound = camp();
    sound.cable("bond", "second", "bank-1.negative", "chassis.bond", awg(8), 1.0);
    one(sound.finds("chassis-not-bonded"), Severity::Warning, "bond.second");
    // Without AC it has nothing to say.
    let mut sound = Sound::new();
    sound.cut("bond.chassis");
    silent(&sound, "chassis-not-bonded");
}

#[test]
fn ac_and_dc_together() {
    let mut sound = camp();
    let number = sound.conductor("kettle.line").number;
    sound.conductor("fridge.positive").number = number;
    let found = one(sound.finds("ac-and-dc-together"), Severity::Danger, "fridge.positive");
    assert!(found.message.contains("cores of run"), "{}", found.message);
    // Earth belongs to both.
    let mut sound = camp();
    let number = sound.conductor("kettle.line").number;
    sound.conductor("bond.chassis").number = number;
    silent(&sound, "ac-and-dc-together");
    let mut sound = camp();
    sound.move_to("fridge.positive", "fridge.fuse.out", "kettle.line");
    let found = sound.finds("ac-and-dc-together");
    assert!(found.iter().any(|found| found.message.contains("terminal kettle.line")), "{found:#?}");
}

#[test]
fn breaker_wrong_for_supply() {
    let mut sound = camp();
    spec!(sound, "kettle.breaker", Breaker).part.ac_voltage = None;
    one(sound.finds("breaker-wrong-for-supply"), Severity::Danger, "kettle.breaker");
    spec!(sound, "kettle.breaker", Breaker).part.ac_voltage = Some(Volts::new(119.0));
    one(sound.finds("breaker-wrong-for-supply"), Severity::Danger, "kettle.breaker");
    spec!(sound, "kettle.breaker", Breaker).part.ac_voltage = Some(Volts::new(120.0));
    silent(&sound, "breaker-wrong-for-supply");
    // A main breaker of one pole: right in a van under `na`, wrong on a boat and under `iec`.
    let main = sound.find("shore.breaker");
    main.terminals.retain(|terminal| terminal.pole != Pole::Neutral);
    spec!(sound, "shore.breaker", Breaker).part.poles = 1;
    sound.cut("shore.neutral");
    sound.cut("a.neutral");
    silent(&sound, "breaker-wrong-for-supply");
    sound.system.craft = Craft::Boat;
    one(sound.finds("breaker-wrong-for-supply"), Severity::Danger, "shore.breaker");
    sound.system.craft = Craft::Van;
    sound.system.rules = RuleSet::Iec;
    one(sound.finds("breaker-wrong-for-supply"), Severity::Danger, "shore.breaker");
}

/// NEC 240.4(D): 10 AWG at most behind 30 A, 12 AWG behind 20 A, 14 AWG behind 15 A.
#[test]
fn ac_conductor_undersized_for_breaker() {
    let mut sound = camp();
    // From the main breaker of 30 A to the transfer switch.
    sound.conductor("a.line").gauge = awg(12);
    let found = one(sound.finds("ac-conductor-undersized-for-breaker"), Severity::Danger, "a.line");
    assert!(found.message.contains("30 A") && found.message.contains("20 A"), "{}", found.message);
    assert!(found.fixes.iter().any(|fix| fix.what.contains("10 AWG")), "{:?}", found.fixes);
    spec!(sound, "shore.breaker", Breaker).part.current = Amps::new(20.0);
    silent(&sound, "ac-conductor-undersized-for-breaker");
    // From the inverter, which gives 2,000 W / 120 V = 16.7 A all day.
    let mut sound = camp();
    sound.conductor("b.line").gauge = awg(14);
    one(sound.finds("ac-conductor-undersized-for-breaker"), Severity::Danger, "b.line");
    sound.conductor("b.line").gauge = awg(12);
    silent(&sound, "ac-conductor-undersized-for-breaker");
}

/// Four places; the breakers of branches have one pole each.
#[test]
fn ac_panel_full() {
    let mut sound = camp();
    for id in ["one", "two", "three"] {
        plug_in(&mut sound, id, 10.0);
    }
    silent(&sound, "ac-panel-full");
    plug_in(&mut sound, "four", 10.0);
    one(sound.finds("ac-panel-full"), Severity::Warning, "ac");
    let mut sound = camp();
    spec!(sound, "ac", AcPanel).current = Amps::new(29.0);
    one(sound.finds("ac-panel-full"), Severity::Danger, "ac");
    let mut sound = camp();
    spec!(sound, "ac", AcPanel).voltage = Volts::new(50.0);
    one(sound.finds("ac-panel-full"), Severity::Danger, "ac");
}

fn spec_load<'s>(sound: &'s mut Sound, id: &str) -> &'s mut model::Load {
    match &mut sound.find(id).spec {
        Spec::Load(load) => load,
        _ => panic!("{id} is no load"),
    }
}
