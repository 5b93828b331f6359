//! What a derived value can be pinned to.
//! Never: says which of them is good; a pin is judged like anything else.
//! Start at [`choices`].

use std::collections::BTreeSet;

use model::parts::Supply;
use model::{Library, Name, Spec, System};
use quantity::Volts;
use reference::Reference;

use super::written;
use crate::Stand;

/// Most batteries in parallel that are offered.
const MOST_PARALLEL: u32 = 8;

/// Whether a pin can fix the value of a path.
pub fn can_pin(path: &str) -> bool {
    let last = path.rsplit('.').next().unwrap_or_default();
    matches!(last, "gauge" | "rating" | "family" | "part" | "module" | "series") || path == "bank.parallel"
}

/// Title of a part, `kind.id`.
pub fn title<'s>(stand: &'s Stand, part: &str) -> Option<&'s str> {
    let (kind, id) = part.split_once('.')?;
    let facts = stand.project.library.facts();
    facts.into_iter().find(|(of, name, _)| *of == kind && name.as_str() == id).map(|(.., part)| part.title())
}

/// The values that a pin may have.
pub fn choices(stand: &Stand, path: &str, value: &str) -> Vec<String> {
    let system = &stand.system;
    let reference = Reference::standard();
    let (above, last) = path.rsplit_once('.').unwrap_or(("", path));
    let device = system.find(above).and_then(|ix| system.devices.get(ix));
    match last {
        "gauge" => reference.gauges(system.rules).iter().map(written).collect(),
        "rating" => {
            let family = match device.map(|device| &device.spec) {
                Some(Spec::Fuse(fuse)) => reference.fuse_family(&fuse.family),
                _ => None,
            };
            let standard = || reference.standard_ratings(system.rules, reference::FuseOrBreaker::Fuse);
            family.map_or_else(standard, |family| family.ratings.as_slice()).iter().map(written).collect()
        }
        "family" => families(stand),
        "series" => (1..=modules(stand, above).clamp(1, 20)).map(|count| count.to_string()).collect(),
        "parallel" => (1..=MOST_PARALLEL).map(|count| count.to_string()).collect(),
        "part" | "module" => {
            let of_device =
                device.and_then(|device| device.part.as_deref()).and_then(|part| part.split_once('.'));
            let kind = match (last, path) {
                ("module", _) => Some("module"),
                (_, "bank.part") => Some("battery"),
                _ => of_device.map(|(kind, _)| kind),
            };
            let library = &stand.project.library;
            let kind = kind.or_else(|| {
                library.facts().into_iter().find(|(_, id, _)| id.as_str() == value).map(|(kind, ..)| kind)
            });
            kind.map_or_else(Vec::new, |kind| fitting(library, kind, system, value))
        }
        _ => Vec::new(),
    }
}

/// Families of fuse for which there is a holder or panel in the library.
fn families(stand: &Stand) -> Vec<String> {
    let library = &stand.project.library;
    let reference = Reference::standard();
    let holders = library.fuse_holder.values().map(|holder| &holder.family);
    let panels = library.fuse_panel.values().map(|panel| &panel.family);
    let known: BTreeSet<&Name> = holders.chain(panels).collect();
    known
        .into_iter()
        .filter(|family| {
            reference.fuse_family(family.as_str()).is_some_and(|family| {
                family.rules.contains(&stand.system.rules)
                    && family.interrupts(stand.system.voltage, false).is_some()
            })
        })
        .map(Name::to_string)
        .collect()
}

fn modules(stand: &Stand, array: &str) -> u32 {
    stand
        .system
        .devices
        .iter()
        .find_map(|device| match &device.spec {
            Spec::Array(found) if found.name == array => Some(found.series * found.parallel),
            _ => None,
        })
        .unwrap_or(1)
}

/// Parts of a kind for this system's voltages, and always the one that stands.
fn fitting(library: &Library, kind: &str, system: &System, value: &str) -> Vec<String> {
    let same = |a: Volts, b: Volts| (a.get() - b.get()).abs() < 0.05 * b.get();
    let dc = system.voltage;
    let ac = system.ac_voltage;
    let is_ac = |volts: Volts| ac.is_none_or(|ac| same(volts, ac) || volts >= ac);
    let fits = |id: &Name| -> bool {
        match kind {
            "battery" => library.battery.get(id).is_some_and(|part| {
                let share = dc.get() / part.voltage.get();
                share > 0.9 && (share - share.round()).abs() < 0.05
            }),
            "inverter" => library
                .inverter
                .get(id)
                .is_some_and(|part| same(part.voltage, dc) && ac.is_none_or(|ac| same(part.output, ac))),
            "charger" => library.charger.get(id).is_some_and(|part| same(part.voltage, dc)),
            "controller" => library
                .controller
                .get(id)
                .is_some_and(|part| part.voltages.iter().any(|volts| same(*volts, dc))),
            "dcdc" => library.dcdc.get(id).is_some_and(|part| same(part.output, dc)),
            "converter" => library.converter.get(id).is_some_and(|part| same(part.input, dc)),
            "breaker" => library.breaker.get(id).is_some_and(|part| {
                part.rules.is_none_or(|rules| rules == system.rules)
                    && (part.ac_voltage.is_some_and(is_ac) || part.dc_voltage.is_some_and(|most| most >= dc))
            }),
            "load" => library.load.get(id).is_some_and(|part| {
                part.supply == Supply::Ac
                    || part.voltages.is_empty()
                    || part.voltages.iter().any(|volts| same(*volts, dc))
            }),
            _ => true,
        }
    };
    library
        .facts()
        .into_iter()
        .filter(|(of, id, _)| *of == kind && (id.as_str() == value || fits(id)))
        .map(|(_, id, _)| id.to_string())
        .collect()
}
