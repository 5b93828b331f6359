//! The sound examples derive whole: no gap, no refusal, every safety question answered.

mod common;

use common::{example, example_text, project};
use model::{CircuitKind, Pole, Spec};
use quantity::{Amps, Gauge, Metres, Written};

const SOUND: [&str; 4] = ["heron", "teal", "wren", "marten"];

#[test]
fn sound_examples_have_no_gap_and_no_open_question() {
    for name in SOUND {
        let system = example(name);
        assert!(system.gaps.is_empty(), "{name}: {:#?}", system.gaps);
        assert!(system.refusals.is_empty(), "{name}: {:#?}", system.refusals);
        assert!(system.unused.is_empty(), "{name}: {:#?}", system.unused);
        let open: Vec<_> = system.assumptions.iter().filter(|assumption| assumption.must_answer).collect();
        assert!(open.is_empty(), "{name}: {open:#?}");
    }
}

#[test]
fn deriving_twice_gives_the_same_bytes() {
    for name in SOUND {
        let bytes = |system| serde_json::to_string(&system).unwrap();
        assert_eq!(bytes(example(name)), bytes(example(name)), "{name}");
    }
}

#[test]
fn the_order_of_the_file_changes_nothing() {
    for name in SOUND {
        let text = example_text(name);
        // Tables start at a line with `[`; comments before a table go with the table before it, which changes nothing.
        let mut tables: Vec<String> = Vec::new();
        for line in text.lines() {
            if line.starts_with('[') || tables.is_empty() {
                tables.push(String::new());
            }
            if let Some(table) = tables.last_mut() {
                table.push_str(line);
                table.push('\n');
            }
        }
        let head = tables.remove(0);
        tables.reverse();
        let reordered = format!("{head}{}", tables.concat());
        let system = derive::derive(&project(&reordered));
        assert_eq!(
            serde_json::to_string(&system).unwrap(),
            serde_json::to_string(&example(name)).unwrap(),
            "{name}"
        );
    }
}

#[test]
fn every_conductor_and_fuse_has_a_reason() {
    for name in SOUND {
        let system = example(name);
        for conductor in system.conductors.iter().filter(|conductor| !conductor.is_internal) {
            let path = match conductor.cores {
                1 => format!("{}.gauge", conductor.id),
                _ => {
                    format!("{}.line.gauge", conductor.id.rsplit_once('.').map_or("", |(circuit, _)| circuit))
                }
            };
            assert!(system.because.get(&path).is_some(), "{name}: {path}");
        }
        for device in &system.devices {
            let path = match &device.spec {
                // Both fuses of a run that can be fed from both ends have one reason.
                Spec::Fuse(_) => format!("{}.rating", device.id.replace("fuse-far", "fuse")),
                Spec::Breaker(_) => format!("{}.part", device.id),
                _ => continue,
            };
            assert!(system.because.get(&path).is_some(), "{name}: {path}");
        }
    }
}

#[test]
fn the_shunt_is_the_only_way_to_the_banks_negative() {
    for name in SOUND {
        let system = example(name);
        let bank = system.bank.clone().unwrap();
        let shunt = system.find_terminal("main.shunt.bank").unwrap();
        for conductor in &system.conductors {
            for (end, other) in [(conductor.from, conductor.to), (conductor.to, conductor.from)] {
                let is_post = bank.batteries.contains(&end.device)
                    && system.terminal(end).is_some_and(|terminal| terminal.pole == Pole::Negative);
                let inside = bank.batteries.contains(&other.device)
                    || system.circuits[conductor.circuit].id.starts_with("bank");
                assert!(!is_post || other == shunt || inside, "{name}: {}", conductor.id);
            }
        }
    }
}

#[test]
fn a_pin_is_kept_and_says_what_it_replaces() {
    let text = format!(
        "{}\n[pins]\n\"fridge.positive.gauge\" = \"10 AWG\"\n\"fridge.fuse.rating\" = \"7.5 A\"\n",
        example_text("heron")
    );
    let system = derive::derive(&project(&text));
    let conductor = system.conductors.iter().find(|conductor| conductor.id == "fridge.positive").unwrap();
    assert_eq!(conductor.gauge, Gauge::Awg(10));
    let because = system.because.get("fridge.positive.gauge").unwrap();
    assert_eq!(because.pinned_over.as_deref(), Some("16 AWG"));
    let fuse = &system.devices[system.find("fridge.fuse").unwrap()];
    assert!(matches!(&fuse.spec, Spec::Fuse(fuse) if fuse.rating == Amps::new(7.5)));
}

#[test]
fn a_pin_that_names_nothing_is_reported_with_the_nearest() {
    let text = format!("{}\n[pins]\n\"fridge.positve.gauge\" = \"10 AWG\"\n", example_text("heron"));
    let system = derive::derive(&project(&text));
    assert_eq!(system.unused.len(), 1);
    assert!(system.unused[0].mend.contains("fridge.positive.gauge"), "{}", system.unused[0].mend);
}

#[test]
fn a_longer_run_never_gets_a_thinner_conductor() {
    let base = example_text("heron");
    let mut last = None;
    for metres in [0.5, 2.0, 4.0, 8.0, 16.0, 32.0] {
        let text = base.replacen(
            "[loads.fridge]\npart = \"fridge-90l\"\nlength = \"3.2 m\"",
            &format!("[loads.fridge]\npart = \"fridge-90l\"\nlength = \"{}\"", Metres::new(metres).show()),
            1,
        );
        let system = derive::derive(&project(&text));
        let gauge =
            system.conductors.iter().find(|conductor| conductor.id == "fridge.positive").unwrap().gauge;
        assert!(last.is_none_or(|last| gauge >= last), "{metres} m: {gauge:?} after {last:?}");
        last = Some(gauge);
    }
    assert!(last > Some(Gauge::Awg(16)));
}

#[test]
fn a_cooker_on_a_small_bank_is_refused_with_alternatives_that_derive() {
    let text = "[brief]\nname = \"Small\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"12 V\"\n\
        [bank]\nchemistry = \"agm\"\npart = \"agm-12v-100ah\"\nparallel = 1\nlength = \"1 m\"\n\
        [inverter]\nlength = \"1 m\"\n\
        [loads.cooker]\nsupply = \"ac\"\npower = \"3 kW\"\nhours = \"0.5 h/day\"\nlength = \"3 m\"\n\
        [loads.lamp]\npower = \"10 W\"\nhours = \"3 h/day\"\nlength = \"3 m\"\n";
    let project = project(text);
    let system = derive::derive(&project);
    assert!(!system.refusals.is_empty());
    let alternatives = derive::alternatives(&project, &system);
    assert!(alternatives.len() >= 2, "{alternatives:#?}");
    for alternative in &alternatives {
        let changed = project.with_edits(&alternative.edits).unwrap();
        assert!(derive::derive(&changed).refusals.is_empty(), "{}", alternative.title);
    }
}

#[test]
fn what_was_not_said_is_asked_and_ranked() {
    let text = "[brief]\nname = \"Bare\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"12 V\"\n\
        [loads.fridge]\npart = \"fridge-65l\"\n[loads.fan]\npart = \"roof-fan\"\n[solar.roof]\n";
    let project = project(text);
    let system = derive::derive(&project);
    let paths: Vec<&str> = system.assumptions.iter().map(|assumption| assumption.path.as_str()).collect();
    for expected in
        ["bank.chemistry", "bank.length", "loads.fridge.length", "solar.roof.length", "zones.roof.coldest"]
    {
        assert!(paths.contains(&expected), "{expected} in {paths:?}");
    }
    let questions = derive::questions(&project, &system, 3);
    assert_eq!(questions.len(), 3);
    assert!(questions.windows(2).all(|pair| pair[0].weight >= pair[1].weight));
}

#[test]
fn four_batteries_get_equal_leads_and_a_fuse_each() {
    let text = "[brief]\nname = \"Four\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"12 V\"\n\
        [bank]\npart = \"lfp-12v-100ah\"\nparallel = 4\nlength = \"1 m\"\n\
        [loads.fridge]\npart = \"fridge-65l\"\nlength = \"2 m\"\n";
    let system = derive::derive(&project(text));
    let strings: Vec<_> = system
        .circuits
        .iter()
        .filter(|circuit| circuit.kind == CircuitKind::Main && circuit.id.starts_with("bank-string"))
        .collect();
    assert_eq!(strings.len(), 4);
    assert!(strings.iter().all(|circuit| circuit.protection.len() == 1));
}

#[test]
fn a_load_that_follows_heat_runs_less_in_winter() {
    let text = |follows: &str| {
        format!(
            "[brief]\nname = \"One\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"12 V\"\n\
             [loads.fridge]\npower = \"40 W\"\nhours = \"10 h/day\"\nlength = \"2 m\"\n{follows}"
        )
    };
    let need = |follows: &str| {
        let energy = derive::derive(&project(&text(follows))).energy;
        (energy.need_summer.get(), energy.need_winter.get())
    };
    assert_eq!(need(""), (400.0, 400.0));
    assert_eq!(need("follows = \"heat\"\n"), (400.0, 200.0));
    assert_eq!(need("follows = \"cold\"\n"), (80.0, 400.0));
}
