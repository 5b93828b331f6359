//! What to do about a refusal: changes that were tried and derive without one.
//! Never: offers what it has not derived.
//! Start at [`alternatives`].

use model::{Alternative, Edit, Project, System};
use quantity::{Volts, Written};

/// Changes that make a refused project derivable, at most four, in the order of the least change.
pub fn alternatives(project: &Project, system: &System) -> Vec<Alternative> {
    if system.refusals.is_empty() {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (title, edits) in candidates(project, system) {
        if found.len() >= 4 {
            break;
        }
        let Ok(changed) = project.with_edits(&edits) else { continue };
        let derived = crate::derive(&changed);
        if derived.refusals.is_empty() {
            let bank = derived.bank.as_ref().map_or("no bank".to_owned(), |bank| {
                format!("a bank of {} that gives {}", bank.capacity, bank.discharge_limit)
            });
            let outcome = format!("{bank}; peak {}", derived.energy.peak);
            found.push(Alternative { title, edits, outcome });
        }
    }
    found
}

fn candidates(project: &Project, system: &System) -> Vec<(String, Vec<Edit>)> {
    let intent = &project.intent;
    let mut list = Vec::new();
    // A larger bank.
    let mut free_bank = Vec::new();
    for field in ["part", "capacity", "parallel", "series"] {
        if project.spans.has(&format!("bank.{field}")) {
            free_bank.push(Edit { path: vec!["bank".to_owned(), field.to_owned()], value: None });
        }
    }
    if !free_bank.is_empty() {
        list.push(("Let the bank be sized by what the loads ask".to_owned(), free_bank.clone()));
    }
    // A higher voltage.
    for volts in [24.0, 48.0] {
        if volts > system.voltage.get() * 1.5 {
            let mut edits = vec![Edit::set("brief.voltage", Volts::new(volts).show())];
            edits.extend(free_bank.iter().cloned());
            // Parts named for the old voltage no longer fit.
            for path in ["inverter.part", "charger.part", "engine.charger"] {
                if project.spans.has(path) {
                    edits.push(Edit { path: path.split('.').map(str::to_owned).collect(), value: None });
                }
            }
            for name in intent.solar.keys() {
                if project.spans.has(&format!("solar.{name}.controller")) {
                    edits.push(Edit {
                        path: vec!["solar".to_owned(), name.to_string(), "controller".to_owned()],
                        value: None,
                    });
                }
            }
            list.push((format!("Build it at {} V", volts), edits));
        }
    }
    // The largest loads, one by one, take turns or go.
    let mut loads: Vec<(&str, f64)> = system
        .because
        .iter()
        .filter_map(|(path, because)| {
            let name = path.strip_suffix(".power")?;
            let watts = quantity::Watts::parse(&because.value).ok()?;
            intent.loads.keys().any(|load| load.as_str() == name).then_some((name, watts.get()))
        })
        .collect();
    loads.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(b.0)));
    if let [first, second, ..] = loads.as_slice() {
        let turns: Vec<Edit> = loads
            .iter()
            .take(3)
            .filter(|(name, _)| !project.spans.has(&format!("loads.{name}.takes_turns")))
            .map(|(name, _)| Edit::set(&format!("loads.{name}.takes_turns"), "one-at-a-time"))
            .collect();
        list.push((format!("Never run `{}` and `{}` together", first.0, second.0), turns));
    }
    for (name, _) in loads.iter().take(2) {
        let without = Edit { path: vec!["loads".to_owned(), (*name).to_owned()], value: None };
        list.push((
            format!("Do `{name}` without this bank: gas, wood, or shore power only"),
            vec![without.clone()],
        ));
    }
    for (name, watts) in loads.iter().take(1) {
        for share in [0.5, 0.33] {
            let smaller = quantity::Watts::new((watts * share / 10.0).round() * 10.0);
            list.push((
                format!("A smaller `{name}` of {smaller}"),
                vec![
                    Edit::set(&format!("loads.{name}.power"), smaller.show()),
                    Edit::set(&format!("loads.{name}.start_power"), smaller.show()),
                ],
            ));
        }
    }
    if let [first, second, ..] = loads.as_slice() {
        let edits = [first.0, second.0]
            .iter()
            .map(|name| Edit { path: vec!["loads".to_owned(), (*name).to_owned()], value: None })
            .collect();
        list.push((format!("Do `{}` and `{}` without this bank", first.0, second.0), edits));
    }
    list
}
