//! What the bank's own strings and links are sized for.

use model::{Project, SourceText, Spec};
use quantity::Gauge;

fn bank(voltage: &str, bank: &str, rest: &str) -> model::System {
    let brief = format!(
        "[brief]\nname = \"Case\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"{voltage}\"\n\n\
         [bank]\nlength = \"0.8 m\"\n{bank}\n"
    );
    let source = SourceText { name: "intent.toml".to_owned(), text: format!("{brief}\n{rest}") };
    let project = match Project::read(source, model::library::builtin().clone()) {
        Ok(project) => project,
        Err(problems) => panic!("{problems:#?}"),
    };
    derive::derive(&project)
}

/// A short circuit in one string is fed by all the others through that string's fuse: Kirchhoff's current law gives the
/// sum of three strings of 3400 A each.
#[test]
fn a_strings_fuse_breaks_what_the_other_strings_feed() {
    let system = bank("12 V", "part = \"lfp-12v-100ah\"\nparallel = 4", "");
    let others = 3.0 * 3400.0;
    let mut seen = 0;
    for device in &system.devices {
        if let Spec::Fuse(fuse) = &device.spec
            && device.id.starts_with("bank-string")
        {
            seen += 1;
            assert!(fuse.interrupt.get() >= others, "{}: {}", device.id, fuse.interrupt);
        }
    }
    assert_eq!(seen, 4);
}

/// 33 CFR 183.425: single conductors are 16 AWG or thicker; 18 AWG is for cores of a common sheath.
#[test]
fn single_conductors_of_a_tiny_system_keep_the_smallest_size() {
    let load = "[routes.wall]\nsheathed = true\nlength = \"3 m\"\n\n\
                [loads.lamp]\npower = \"6 W\"\nhours = \"1 h/day\"\nlength = \"3 m\"\nroute = \"wall\"\n";
    let system = bank("24 V", "part = \"lfp-12v-50ah\"\nseries = 2", load);
    let thin: Vec<_> = system
        .conductors
        .iter()
        .filter(|conductor| !conductor.is_internal && conductor.cores == 1)
        .filter(|conductor| conductor.gauge < Gauge::Awg(16))
        .map(|conductor| &conductor.id)
        .collect();
    assert!(thin.is_empty(), "{thin:?}");
}
