//! The build order of every example and starting point, followed deed by deed.
//! Never: compares an order with one that we wrote ourselves; it is held against rules of safe work.
//! Start at [`every_order_is_safe`]; the rules stand in `walk/`.

#![allow(clippy::unwrap_used)] // tests may panic

mod walk;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use model::{BankVolts, Craft, Project, SourceText, Spec, System};
use network::Results;
use pack::{BuildOrder, Deed, Stage, Step, Value, build_order};
use reference::RuleSet;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn derived(text: String) -> (System, Results) {
    let source = SourceText { name: "intent.toml".to_owned(), text };
    let project = match Project::read(source, model::library::builtin().clone()) {
        Ok(project) => project,
        Err(problems) => panic!("{problems:#?}"),
    };
    let system = derive::derive(&project);
    let results = network::study(&system);
    (system, results)
}

fn example(name: &str) -> (System, Results) {
    derived(std::fs::read_to_string(root().join("examples").join(name).join("intent.toml")).unwrap())
}

/// A starting point, as `wattwain begin` writes it.
fn start(craft: Craft, volts: BankVolts, rules: RuleSet, has_loads: bool) -> (System, Results) {
    derived(model::begin(craft, volts, rules, "Start", has_loads))
}

/// Banks and engines that no example has: strings with fuses of their own, a relay, a shore charger, no inverter.
fn odd() -> Vec<(String, System, Results)> {
    let head = |voltage: &str| {
        format!("[brief]\nname = \"Odd\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"{voltage}\"\n")
    };
    let lamp = "[loads.lamp]\npower = \"60 W\"\nhours = \"2 h/day\"\nlength = \"3 m\"\n";
    let bank = |rest: &str| format!("[bank]\nlength = \"0.8 m\"\n{rest}\n");
    let cases = [
        ("strings", head("12 V") + &bank("part = \"lfp-12v-100ah\"\nparallel = 4") + lamp),
        (
            "series-parallel",
            head("24 V") + &bank("part = \"lfp-12v-100ah\"\nseries = 2\nparallel = 3") + lamp,
        ),
        ("relay", head("12 V") + &bank("") + "[engine]\ncharging = \"relay\"\nlength = \"4 m\"\n" + lamp),
        ("shore only", head("12 V") + &bank("") + "[shore]\ncurrent = \"30 A\"\nlength = \"2 m\"\n" + lamp),
        ("no disconnect", head("12 V") + &bank("") + lamp + "[[built]]\nleave_out = \"main.disconnect\"\n"),
        ("bare", head("12 V") + &bank("") + lamp),
    ];
    cases
        .into_iter()
        .map(|(name, text)| {
            let (system, results) = derived(text);
            (name.to_owned(), system, results)
        })
        .collect()
}

fn all() -> Vec<(String, System, Results)> {
    let mut all = odd();
    for name in ["heron", "teal", "wren", "marten"] {
        let (system, results) = example(name);
        all.push((name.to_owned(), system, results));
    }
    for craft in [Craft::Van, Craft::Boat, Craft::Trailer, Craft::Hut, Craft::Workshop] {
        let (system, results) = start(craft, BankVolts::V24, RuleSet::Na, false);
        all.push((format!("{} without loads", craft.word()), system, results));
        for volts in BankVolts::ALL {
            for rules in [RuleSet::Na, RuleSet::Iec] {
                let (system, results) = start(craft, volts, rules, true);
                all.push((format!("{} {} {rules}", craft.word(), volts.number()), system, results));
            }
        }
    }
    all
}

fn walked(system: &System, steps: &[&Step]) -> Vec<String> {
    walk::faults(system, steps)
}

#[test]
fn every_order_is_safe() {
    let mut wrong = Vec::new();
    for (name, system, results) in all() {
        assert!(system.refusals.is_empty(), "{name}");
        let order = build_order(&system, &results, None);
        let faults = walked(&system, &order.steps.iter().collect::<Vec<_>>());
        wrong.extend(faults.into_iter().map(|fault| format!("{name}: {fault}")));
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// A number that looks random and is the same every time: the 64-bit mixer of Steele, Lea and Flood (2014).
fn mixed(mut x: u64) -> u64 {
    x = x.wrapping_add(0x9e37_79b9_7f4a_7c15);
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

/// The steps in an order that keeps the needs, save `without`; of those that are free the one with the least `rank`.
fn sorted<'o>(
    order: &'o BuildOrder,
    without: Option<(&str, &str)>,
    rank: impl Fn(&str) -> u64,
) -> Vec<&'o Step> {
    let mut left: Vec<&Step> = order.steps.iter().collect();
    let mut done: BTreeSet<&str> = BTreeSet::new();
    let mut found = Vec::new();
    while !left.is_empty() {
        let is_free = |step: &&Step| {
            step.needs.iter().all(|need| {
                done.contains(need.step.as_str()) || without == Some((step.id.as_str(), need.step.as_str()))
            })
        };
        let next =
            left.iter().enumerate().filter(|(_, step)| is_free(step)).min_by_key(|(_, step)| rank(&step.id));
        let (at, _) = next.expect("needs in a circle");
        let step = left.remove(at);
        done.insert(step.id.as_str());
        found.push(step);
    }
    found
}

#[test]
fn any_order_that_keeps_the_needs_is_safe() {
    for (name, system, results) in all() {
        let order = build_order(&system, &results, None);
        for seed in 0..4_u64 {
            let rank = |id: &str| id.bytes().fold(seed, |sum, byte| mixed(sum ^ u64::from(byte)));
            let faults = walked(&system, &sorted(&order, None, rank));
            assert!(faults.is_empty(), "{name}, seed {seed}: {faults:#?}");
        }
    }
}

/// Steps that `step` leads back to, `without` one of its needs.
fn before<'o>(steps: &BTreeMap<&'o str, &'o Step>, step: &'o str, without: &str) -> BTreeSet<&'o str> {
    let mut found = BTreeSet::new();
    let mut queue: Vec<&str> =
        steps[step].needs.iter().map(|need| need.step.as_str()).filter(|need| *need != without).collect();
    while let Some(id) = queue.pop() {
        if found.insert(id) {
            queue.extend(steps[id].needs.iter().map(|need| need.step.as_str()));
        }
    }
    found
}

#[test]
fn every_need_is_needed() {
    let mut tried = 0;
    let mut idle = Vec::new();
    for (name, system, results) in all() {
        if !["heron", "teal", "wren", "strings", "series-parallel", "relay", "shore only", "hut 48 iec"]
            .contains(&name.as_str())
        {
            continue;
        }
        let order = build_order(&system, &results, None);
        assert!(walked(&system, &order.steps.iter().collect::<Vec<_>>()).is_empty(), "{name}");
        let steps: BTreeMap<&str, &Step> = order.steps.iter().map(|step| (step.id.as_str(), step)).collect();
        for step in &order.steps {
            for need in &step.needs {
                let first = before(&steps, &step.id, &need.step);
                if first.contains(need.step.as_str()) {
                    continue; // another need says the same
                }
                tried += 1;
                let rank = |id: &str| match id {
                    id if first.contains(id) => 0,
                    id if id == step.id => 1,
                    id if id == need.step => 3,
                    _ => 2,
                };
                let hurried = sorted(&order, Some((&step.id, &need.step)), rank);
                if walked(&system, &hurried).is_empty() {
                    idle.push(format!("{name}: {} needs {} ({})", step.id, need.step, need.because));
                }
            }
        }
    }
    assert!(tried > 300, "{tried}");
    assert!(idle.is_empty(), "of {tried} needs these change nothing: {idle:#?}");
}

#[test]
fn numbers_follow_needs_and_stages() {
    for (name, system, results) in all() {
        let order = build_order(&system, &results, None);
        assert_eq!(order, build_order(&system, &results, None), "{name}");
        let mut done: BTreeSet<&str> = BTreeSet::new();
        let mut stage = Stage::Bench;
        for (at, step) in order.steps.iter().enumerate() {
            assert_eq!(step.number as usize, at + 1, "{name}: {}", step.id);
            assert!(step.stage >= stage, "{name}: {} goes back to {:?}", step.id, step.stage);
            stage = step.stage;
            for need in &step.needs {
                assert!(done.contains(need.step.as_str()), "{name}: {} needs {}", step.id, need.step);
                assert!(!need.because.is_empty());
            }
            assert!(
                !step.why.is_empty() && !step.lines.is_empty() && !step.title.is_empty(),
                "{name}: {}",
                step.id
            );
            assert!(done.insert(&step.id), "{name}: {} twice", step.id);
        }
    }
}

#[test]
fn every_device_and_conductor_is_in_a_step() {
    for (name, system, results) in all() {
        let order = build_order(&system, &results, None);
        let devices: BTreeSet<&str> =
            order.steps.iter().flat_map(|s| &s.parts.devices).map(String::as_str).collect();
        let cables: BTreeSet<&str> =
            order.steps.iter().flat_map(|s| &s.parts.conductors).map(String::as_str).collect();
        for device in &system.devices {
            assert!(devices.contains(device.id.as_str()), "{name}: {}", device.id);
        }
        for conductor in &system.conductors {
            let is_built = !conductor.is_internal;
            assert!(!is_built || cables.contains(conductor.id.as_str()), "{name}: {}", conductor.id);
        }
    }
}

#[test]
fn readings_have_limits_in_order_and_names_of_their_own() {
    for (name, system, results) in all() {
        let order = build_order(&system, &results, None);
        let mut ids = BTreeSet::new();
        for measure in order.steps.iter().flat_map(|step| &step.measures) {
            assert!(ids.insert(&measure.id), "{name}: {} twice", measure.id);
            assert!(!measure.expect.is_empty() && !measure.what.is_empty(), "{name}: {}", measure.id);
            let number = |value: Value| match value {
                Value::Volts(value) => value.get(),
                Value::Amps(value) => value.get(),
                Value::Ohms(value) => value.get(),
            };
            if let (Some(low), Some(high)) = (measure.low, measure.high) {
                assert!(number(low) <= number(high), "{name}: {measure:?}");
            }
        }
        assert!(ids.iter().any(|id| id.starts_with("volts:")), "{name}");
    }
}

/// DHHS (NIOSH) 94-110: 23 kg is the load constant of one person; heron's batteries have 27.5 kg, teal's 41 kg.
#[test]
fn heavy_things_want_two_people() {
    for (name, is_heavy) in [("heron", true), ("teal", true), ("wren", false)] {
        let (system, results) = example(name);
        let order = build_order(&system, &results, None);
        let battery = system.devices.iter().filter(|device| matches!(device.spec, Spec::Battery(_)));
        assert_eq!(battery.map(|device| device.mass.get()).fold(0.0, f64::max) > 25.0, is_heavy, "{name}");
        assert_eq!(order.find("bank:place").unwrap().people, if is_heavy { 2 } else { 1 }, "{name}");
    }
}

/// A resistor for 1 A at the bank's highest volts; `t = R C ln 100` to 99 % (textbook RC circuit).
#[test]
fn an_inverters_capacitors_are_filled_first() {
    let (system, results) = example("heron");
    let order = build_order(&system, &results, None);
    let step = order.find("close:inverter.fuse").unwrap();
    assert!(step.acts.iter().any(|act| act.deed == Deed::Precharge && act.on == "inverter"));
    let Spec::Inverter(part, _) = &system.devices[system.find("inverter").unwrap()].spec else { panic!() };
    let ohms = system.bank.as_ref().unwrap().voltage_high.get();
    let seconds = (ohms * part.capacitance.get() * 100f64.ln()).ceil();
    assert!(step.lines.iter().any(|line| line.contains(&format!("for {seconds:.0} s"))), "{:#?}", step.lines);
}

#[test]
fn a_refused_system_has_no_steps() {
    let (mut system, results) = example("wren");
    system.refusals.push(model::Refusal {
        what: "it".to_owned(),
        numbers: "1".to_owned(),
        intent: String::new(),
    });
    assert!(build_order(&system, &results, None).steps.is_empty());
}

/// Names of steps and readings stay when a load is added elsewhere.
#[test]
fn names_survive_an_edit_elsewhere() {
    let text = std::fs::read_to_string(root().join("examples/wren/intent.toml")).unwrap();
    let (system, results) = derived(text.clone());
    let more = "\n[loads.added-lamp]\npower = \"5 W\"\nhours = \"1 h/day\"\nlength = \"2 m\"\n";
    let (added, added_results) = derived(text + more);
    let ids = |order: &BuildOrder| -> BTreeSet<String> {
        let of = |step: &Step| {
            let readings = step.measures.iter().map(|measure| measure.id.clone());
            readings.chain([step.id.clone()]).collect::<Vec<_>>()
        };
        order.steps.iter().flat_map(of).collect()
    };
    let (before, after) =
        (ids(&build_order(&system, &results, None)), ids(&build_order(&added, &added_results, None)));
    let lost: Vec<_> = before.difference(&after).collect();
    assert!(lost.is_empty(), "{lost:?}");
    assert!(after.contains("join:added-lamp") && after.contains("drop:added-lamp"));
}

#[test]
fn what_stands_on_the_board_is_built_in_at_the_bench() {
    let text = std::fs::read_to_string(root().join("examples/wren/intent.toml")).unwrap();
    let (system, results) = derived(text);
    let library = model::library::builtin();
    let all = board::place(&system, library, &model::BoardIntent::default());
    let off = all
        .devices
        .iter()
        .find(|placed| matches!(system.devices[placed.device].spec, model::Spec::FusePanel(_)));
    let off = off.unwrap().id.clone();
    let wanted = model::BoardIntent { without: vec![off.clone()], ..model::BoardIntent::default() };
    let fewer = board::place(&system, library, &wanted);
    let at_bench = |layout: &board::Layout, id: &str| {
        let order = build_order(&system, &results, Some(layout));
        let faults = walked(&system, &order.steps.iter().collect::<Vec<_>>());
        assert!(faults.is_empty(), "{faults:#?}");
        let mounts = |step: &&Step| step.acts.iter().any(|act| act.deed == pack::Deed::Mount && act.on == id);
        order.steps.iter().find(mounts).map(|step| step.stage)
    };
    assert_eq!(at_bench(&all, &off), Some(pack::Stage::Bench));
    assert_ne!(at_bench(&fewer, &off), Some(pack::Stage::Bench));
}
