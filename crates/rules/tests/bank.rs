//! The rules on the bank and what charges it, each firing and silent, on both sides of its limit.
//! Limits are worked out by hand beside each check.

mod hand_built;
mod more;

use hand_built::Sound;
use model::Spec;
use model::parts::Chemistry;
use more::{one, scene, second_string, silent, with_ac, with_engine, with_relay, with_sun};
use network::Scene;
use quantity::*;
use rules::Severity;

#[test]
fn a_sound_bank_with_sun_and_engine_raises_nothing() {
    let sound = with_engine(with_sun(Sound::new()));
    for rule in [
        "bank-overcharged",
        "bank-overdrawn",
        "uneven-parallel-batteries",
        "charger-profile-mismatch",
        "charging-below-freezing",
        "discharging-too-cold",
        "bank-too-hot",
        "unvented-lead-acid",
        "too-many-in-series-or-parallel",
        "bank-below-autonomy",
        "short-circuit-current-unknown",
    ] {
        silent(&sound, rule);
    }
}

/// The battery may give 200 A, and 400 A for seconds.
#[test]
fn bank_overdrawn() {
    let mut sound = Sound::new();
    scene(&mut sound, Scene::EverythingOn, &[("bank-1", 200.0)], &[]);
    scene(&mut sound, Scene::Starting, &[("bank-1", 400.0)], &[]);
    silent(&sound, "bank-overdrawn");
    scene(&mut sound, Scene::EverythingOn, &[("bank-1", 200.1)], &[]);
    let found = one(sound.finds("bank-overdrawn"), Severity::Danger, "bank");
    assert!(found.fixes.iter().any(|fix| fix.what.contains("2 strings")), "{found:#?}");
    scene(&mut sound, Scene::EverythingOn, &[("bank-1", 100.0)], &[]);
    scene(&mut sound, Scene::Starting, &[("bank-1", 401.0)], &[]);
    let found = one(sound.finds("bank-overdrawn"), Severity::Danger, "bank");
    assert!(found.message.contains("401 A") && found.message.contains("400 A"), "{}", found.message);
}

#[test]
fn without_a_study_the_energy_plan_tells_the_peak() {
    let mut sound = Sound::new();
    // 2,400 W at 12 V is the limit of 200 A.
    sound.system.energy.peak = Watts::new(2400.0);
    silent(&sound, "bank-overdrawn");
    sound.system.energy.peak = Watts::new(2412.0);
    one(sound.finds("bank-overdrawn"), Severity::Danger, "bank");
}

/// The battery may take 100 A. Sun 30 A (400 W at 12 V would be 33.3 A), engine 30 A.
#[test]
fn bank_overcharged() {
    let mut sound = with_engine(with_sun(Sound::new()));
    let limit = |sound: &mut Sound, amps: f64| {
        sound.system.bank.as_mut().expect("a bank").charge_limit = Amps::new(amps);
    };
    limit(&mut sound, 60.0);
    silent(&sound, "bank-overcharged");
    limit(&mut sound, 59.0);
    let found = one(sound.finds("bank-overcharged"), Severity::Warning, "bank");
    assert!(found.message.contains("60 A") && found.message.contains("engine"), "{}", found.message);
    // One charger alone is worse, and the sum is then not said again.
    limit(&mut sound, 29.0);
    let found = sound.finds("bank-overcharged");
    assert_eq!(found.len(), 2, "both chargers: {found:#?}");
    assert!(found.iter().all(|found| found.severity == Severity::Danger));
    limit(&mut sound, 30.0);
    one(sound.finds("bank-overcharged"), Severity::Warning, "bank");
}

#[test]
fn engine_and_shore_at_once_are_only_advice() {
    let mut sound = with_ac(with_engine(with_sun(Sound::new())));
    more::inverter_charger(&mut sound);
    // Sun 30 + shore 60 = 90 A of 100 A; with the engine's 30 A 120 A.
    let found = one(sound.finds("bank-overcharged"), Severity::Advice, "bank");
    assert!(found.message.contains("120 A"), "{}", found.message);
}

#[test]
fn a_small_array_limits_its_controller() {
    let mut sound = with_sun(Sound::new());
    spec!(sound, "roof", Array).series = 1;
    sound.system.bank.as_mut().expect("a bank").charge_limit = Amps::new(17.0);
    // 200 W / 12 V = 16.7 A, below the setting of 30 A.
    silent(&sound, "bank-overcharged");
    sound.system.bank.as_mut().expect("a bank").charge_limit = Amps::new(16.0);
    one(sound.finds("bank-overcharged"), Severity::Danger, "roof.controller");
}

/// 110 A and 90 A are 10 % off their mean of 100 A; each battery may give 200 A.
#[test]
fn uneven_parallel_batteries() {
    let mut sound = Sound::new();
    second_string(&mut sound);
    scene(&mut sound, Scene::EverythingOn, &[("bank-1", 110.0), ("bank-2", 90.0)], &[]);
    silent(&sound, "uneven-parallel-batteries");
    scene(&mut sound, Scene::EverythingOn, &[("bank-1", 111.0), ("bank-2", 89.0)], &[]);
    let found = one(sound.finds("uneven-parallel-batteries"), Severity::Warning, "bank-1");
    assert!(found.message.contains("11 %"), "{}", found.message);
    // Past its own limit while the bank of 400 A is not: danger.
    scene(&mut sound, Scene::EverythingOn, &[("bank-1", 201.0), ("bank-2", 189.0)], &[]);
    one(sound.finds("uneven-parallel-batteries"), Severity::Danger, "bank-1");
    // A current too small to matter: under a tenth of 400 A.
    scene(&mut sound, Scene::EverythingOn, &[("bank-1", 30.0), ("bank-2", 5.0)], &[]);
    silent(&sound, "uneven-parallel-batteries");
    // Charging counts against the charging limit of 100 A a battery.
    scene(&mut sound, Scene::Charging, &[("bank-1", -101.0), ("bank-2", -93.0)], &[]);
    one(sound.finds("uneven-parallel-batteries"), Severity::Danger, "bank-1");
}

/// A circuit simulator's result for four batteries with both poles taken at the first: 75.3, 52.4, 39.2 and 33.1 A of 200 A
/// (`parallel-4-ladder-one-end` of the published circuit checks): 50.6 % above the mean of 50 A.
#[test]
fn both_poles_at_the_first_of_four() {
    let mut sound = Sound::new();
    second_string(&mut sound);
    for id in ["bank-3", "bank-4"] {
        let Spec::Battery(battery) = sound.find("bank-1").spec.clone() else { panic!("no battery") };
        let terminals = sound.find("bank-2").terminals.clone();
        let ix = sound.device(id, Spec::Battery(battery), terminals);
        sound.system.bank.as_mut().expect("a bank").batteries.push(ix);
    }
    sound.system.bank.as_mut().expect("a bank").parallel = 4;
    let shares = [("bank-1", 75.29073), ("bank-2", 52.42737), ("bank-3", 39.17569), ("bank-4", 33.10621)];
    scene(&mut sound, Scene::EverythingOn, &shares, &[]);
    let found = one(sound.finds("uneven-parallel-batteries"), Severity::Warning, "bank-1");
    assert!(found.message.contains("51 %"), "{}", found.message);
}

/// The sheet says 14.2 V and 13.5 V; 0.2 V to spare.
#[test]
fn charger_profile_mismatch() {
    let set = |absorption: f64, float: f64| {
        let mut sound = with_sun(Sound::new());
        if let Spec::Controller(_, setting) = &mut sound.find("roof.controller").spec {
            (setting.absorption, setting.float) = (Volts::new(absorption), Volts::new(float));
        }
        sound
    };
    silent(&set(14.4, 13.7), "charger-profile-mismatch");
    one(set(14.41, 13.5).finds("charger-profile-mismatch"), Severity::Danger, "roof.controller");
    silent(&set(14.0, 13.5), "charger-profile-mismatch");
    one(set(13.98, 13.5).finds("charger-profile-mismatch"), Severity::Warning, "roof.controller");
    one(set(14.2, 13.71).finds("charger-profile-mismatch"), Severity::Warning, "roof.controller");
    let mut sound = set(14.2, 13.5);
    if let Spec::Controller(_, setting) = &mut sound.find("roof.controller").spec {
        setting.profile = Chemistry::Flooded;
    }
    let found = one(sound.finds("charger-profile-mismatch"), Severity::Danger, "roof.controller");
    assert!(found.message.contains("flooded"), "{}", found.message);
    let mut sound = set(14.2, 13.5);
    spec!(sound, "roof.controller", Controller).profiles = vec![Chemistry::Agm];
    one(sound.finds("charger-profile-mismatch"), Severity::Danger, "roof.controller");
}

/// Lithium may be charged from 0 °C up (cell specification pages).
#[test]
fn charging_below_freezing() {
    let mut sound = with_sun(Sound::new());
    let stops = |sound: &mut Sound, stops: bool| {
        if let Spec::Controller(_, setting) = &mut sound.find("roof.controller").spec {
            setting.stops_in_cold = stops;
        }
    };
    stops(&mut sound, false);
    sound.system.zones[0].coldest = Celsius::new(0.0);
    silent(&sound, "charging-below-freezing");
    sound.system.zones[0].coldest = Celsius::new(-1.0);
    one(sound.finds("charging-below-freezing"), Severity::Danger, "roof.controller");
    stops(&mut sound, true);
    silent(&sound, "charging-below-freezing");
    stops(&mut sound, false);
    spec!(sound, "bank-1", Battery).part.heated = Some(true);
    silent(&sound, "charging-below-freezing");
    // A relay never stops; a lead-acid bank only suffers.
    let mut sound = with_relay(Sound::new());
    sound.system.zones[0].coldest = Celsius::new(-5.0);
    one(sound.finds("charging-below-freezing"), Severity::Danger, "engine.charger");
    sound.system.bank.as_mut().expect("a bank").chemistry = Chemistry::Agm;
    one(sound.finds("charging-below-freezing"), Severity::Warning, "engine.charger");
}

#[test]
fn too_cold_and_too_hot() {
    let mut sound = Sound::new();
    sound.system.zones[0].coldest = Celsius::new(-20.0);
    silent(&sound, "discharging-too-cold");
    sound.system.zones[0].coldest = Celsius::new(-20.5);
    one(sound.finds("discharging-too-cold"), Severity::Warning, "bank");
    sound.system.zones[0].hottest = Celsius::new(55.0);
    silent(&sound, "bank-too-hot");
    sound.system.zones[0].hottest = Celsius::new(55.5);
    one(sound.finds("bank-too-hot"), Severity::Warning, "bank");
}

/// IEC 62485-2: 6 cells of 200 Ah flooded ask 0.05 x 6 x 0.020 x 200 = 1.2 m³/h and 28 x 1.2 = 33.6 cm²; sealed ones 0.48 m³/h.
#[test]
fn unvented_lead_acid() {
    let mut sound = Sound::new();
    spec!(sound, "bank-1", Battery).part.voltage = Volts::new(12.0);
    sound.system.zones[0].vented = false;
    silent(&sound, "unvented-lead-acid");
    sound.system.bank.as_mut().expect("a bank").chemistry = Chemistry::Flooded;
    let found = one(sound.finds("unvented-lead-acid"), Severity::Danger, "bank");
    assert!(found.message.contains("1.20 m³"), "{}", found.message);
    assert!(found.fixes[0].what.contains("34 cm²"), "{:?}", found.fixes);
    assert_eq!(found.fixes[0].edits[0].shown(), "zones.cabin.vented = \"true\"");
    sound.system.bank.as_mut().expect("a bank").chemistry = Chemistry::Agm;
    let found = one(sound.finds("unvented-lead-acid"), Severity::Warning, "bank");
    assert!(found.message.contains("0.48 m³"), "{}", found.message);
    sound.system.zones[0].vented = true;
    silent(&sound, "unvented-lead-acid");
}

/// The sheet allows four in series and four in parallel.
#[test]
fn too_many_in_series_or_parallel() {
    let mut sound = Sound::new();
    let set = |sound: &mut Sound, series: u32, parallel: u32| {
        let bank = sound.system.bank.as_mut().expect("a bank");
        (bank.series, bank.parallel) = (series, parallel);
    };
    set(&mut sound, 4, 4);
    silent(&sound, "too-many-in-series-or-parallel");
    set(&mut sound, 5, 4);
    one(sound.finds("too-many-in-series-or-parallel"), Severity::Danger, "bank");
    set(&mut sound, 4, 5);
    one(sound.finds("too-many-in-series-or-parallel"), Severity::Warning, "bank");
}

#[test]
fn bank_below_autonomy() {
    let mut sound = Sound::new();
    sound.system.energy.need_winter = WattHoursPerDay::new(1380.0);
    sound.system.energy.autonomy_wanted = Hours::new(40.0);
    silent(&sound, "bank-below-autonomy");
    sound.system.energy.autonomy_wanted = Hours::new(48.0);
    let found = one(sound.finds("bank-below-autonomy"), Severity::Advice, "bank");
    // 1,380 Wh a day for two days are 2,760 Wh of the 2,300 Wh that 200 Ah can give: 240 Ah.
    assert!(found.fixes.iter().any(|fix| fix.what.contains("240 Ah")), "{:?}", found.fixes);
}

#[test]
fn short_circuit_current_unknown() {
    let mut sound = Sound::new();
    silent(&sound, "short-circuit-current-unknown");
    spec!(sound, "bank-1", Battery).short_circuit_is_stated = false;
    one(sound.finds("short-circuit-current-unknown"), Severity::Advice, "bank-1");
}
