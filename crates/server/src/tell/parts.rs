//! Finding a part by a few letters.
//! Never: chooses one.
//! Start at [`parts`].

use model::parts::Library;
use model::{Name, parts::Supply};
use quantity::Volts;

use super::shown;
use crate::wire;

/// Parts of a kind whose title or id has all the words, the likeliest first: where a word begins the title, then where it begins
/// a word of the title, then of the id, then anywhere; of those alike the shortest title. An empty `kind` looks at all kinds.
pub fn parts(library: &Library, kind: &str, words: &str, most: usize) -> Vec<wire::PartHit> {
    let words: Vec<String> = words.split_whitespace().map(str::to_lowercase).collect();
    let mut found: Vec<(u32, usize, String, &'static str, &Name)> = library
        .facts()
        .into_iter()
        .filter(|(of, ..)| kind.is_empty() || *of == kind)
        .filter_map(|(of, id, part)| {
            let title = part.title().to_lowercase();
            let mut rank = 0;
            for word in &words {
                rank += likeness(&title, id.as_str(), word)?;
            }
            // Without words by the alphabet.
            let length = if words.is_empty() { 0 } else { title.chars().count() };
            Some((rank, length, title, of, id))
        })
        .collect();
    found.sort();
    found.truncate(most);
    found.into_iter().filter_map(|(.., kind, id)| hit(library, kind, id)).collect()
}

/// How well a word fits, the less the better; `None` where it is not there.
fn likeness(title: &str, id: &str, word: &str) -> Option<u32> {
    let begins = |text: &str| {
        text.split(|c: char| !c.is_alphanumeric()).any(|own| !own.is_empty() && own.starts_with(word))
    };
    if title.starts_with(word) {
        Some(0)
    } else if begins(title) {
        Some(1)
    } else if begins(id) {
        Some(2)
    } else if title.contains(word) {
        Some(3)
    } else {
        id.contains(word).then_some(4)
    }
}

fn hit(library: &Library, kind: &str, id: &Name) -> Option<wire::PartHit> {
    let (.., part) = library.facts().into_iter().find(|(of, name, _)| *of == kind && *name == id)?;
    let load = (kind == "load").then(|| library.load.get(id)).flatten();
    let (low, high) = part.price();
    let mut about = match load {
        Some(load) => {
            let mut about = vec![shown(load.power)];
            about.extend((!load.voltages.is_empty()).then(|| volts(&load.voltages)));
            about
        }
        None => of_kind(library, kind, id),
    };
    if high > quantity::Money::zero() {
        about.push(if low == high { format!("price {low}") } else { format!("price {low} to {high}") });
    }
    let hours = load.and_then(|load| match (load.runs, load.run_time, load.hours) {
        (Some(runs), Some(time), _) => Some(format!("{runs}, {time} each")),
        (.., Some(hours)) => Some(shown(hours)),
        _ => None,
    });
    Some(wire::PartHit {
        id: id.to_string(),
        title: part.title().to_owned(),
        about: about.join(", "),
        supply: load.map_or_else(String::new, |load| match load.supply {
            Supply::Dc => "dc".to_owned(),
            Supply::Ac => "ac".to_owned(),
        }),
        hours: hours.unwrap_or_default(),
    })
}

fn volts(list: &[Volts]) -> String {
    list.iter().map(ToString::to_string).collect::<Vec<_>>().join(" or ")
}

/// What tells a part of a kind from another.
fn of_kind(library: &Library, kind: &str, id: &Name) -> Vec<String> {
    match kind {
        "battery" => library
            .battery
            .get(id)
            .map(|part| vec![shown(part.chemistry), shown(part.voltage), shown(part.capacity)]),
        "inverter" => library
            .inverter
            .get(id)
            .map(|part| vec![shown(part.power), format!("{} to {}", part.voltage, part.output)]),
        "charger" => library.charger.get(id).map(|part| vec![shown(part.current), shown(part.voltage)]),
        "controller" => {
            library.controller.get(id).map(|part| vec![shown(part.current), volts(&part.voltages)])
        }
        "dcdc" => library
            .dcdc
            .get(id)
            .map(|part| vec![shown(part.current), format!("{} to {}", part.input, part.output)]),
        "converter" => library
            .converter
            .get(id)
            .map(|part| vec![shown(part.current), format!("{} to {}", part.input, part.output)]),
        "module" => library.module.get(id).map(|part| vec![shown(part.power)]),
        "alternator" => library.alternator.get(id).map(|part| vec![shown(part.current)]),
        "relay" => library.relay.get(id).map(|part| vec![shown(part.current)]),
        "breaker" => library.breaker.get(id).map(|part| vec![shown(part.current)]),
        "inlet" => library.inlet.get(id).map(|part| vec![shown(part.voltage), shown(part.current)]),
        "generator" => library.generator.get(id).map(|part| vec![shown(part.power), shown(part.voltage)]),
        "fuse_panel" => {
            library.fuse_panel.get(id).map(|part| vec![format!("{} ways", part.ways), shown(part.current)])
        }
        "ac_panel" => {
            library.ac_panel.get(id).map(|part| vec![format!("{} ways", part.ways), shown(part.current)])
        }
        _ => None,
    }
    .unwrap_or_default()
}
