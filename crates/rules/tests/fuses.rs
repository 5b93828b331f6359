//! Leaving out any fuse that a conductor needs is found, in every example.
//! Needed: a battery reaches it, and a conductor of its circuit allows less than the protection before the fuse.

use model::{Project, SourceText, Spec, System, library};
use network::{Faults, Results};
use quantity::{Amps, Ohms};
use rules::{Case, Severity, check};

fn no_study(system: &System) -> Results {
    let none: Vec<Vec<_>> = system.devices.iter().map(|device| vec![None; device.terminals.len()]).collect();
    Results {
        scenes: vec![],
        faults: Faults { most: none.clone(), least: none },
        resistances: vec![Ohms::zero(); system.conductors.len()],
    }
}

fn derived(text: String) -> System {
    let source = SourceText { name: "intent.toml".to_owned(), text };
    derive::derive(&Project::read(source, library::builtin().clone()).expect("reads"))
}

#[test]
fn leaving_a_needed_fuse_out_is_found() {
    let mut needed = 0;
    for example in ["heron", "marten", "teal", "wren"] {
        let path = format!("{}/../../examples/{example}/intent.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(&path).expect(&path);
        let system = derived(text.clone());
        let results = no_study(&system);
        let before = check(&system, &results, None);
        let case = Case::new(&system, &results, None);
        for (ix, device) in system.devices.iter().enumerate() {
            let Spec::Fuse(_) = &device.spec else { continue };
            let Some((ahead, _)) = case.terminal(ix, "in").and_then(|at| case.graph.protection_of(at)) else {
                continue;
            };
            let limits = (0..system.conductors.len())
                .filter(|conductor| !system.conductors[*conductor].is_internal)
                .filter(|conductor| {
                    system.circuits[system.conductors[*conductor].circuit].protection.contains(&ix)
                })
                .filter_map(|conductor| Some(case.max_protection(conductor)?.value));
            let limit = limits.fold(Amps::new(f64::INFINITY), Amps::min);
            if limit >= ahead {
                continue;
            }
            needed += 1;
            let without = derived(format!("{text}\n[[built]]\nleave_out = \"{}\"\n", device.id));
            let after = check(&without, &no_study(&without), None);
            let is_new = after.iter().any(|found| {
                found.severity != Severity::Advice
                    && !before.iter().any(|known| known.rule == found.rule && known.place == found.place)
            });
            assert!(is_new, "{example}: nothing says that {} is missing", device.id);
        }
    }
    assert!(needed > 20, "only {needed} needed fuses were tried");
}
