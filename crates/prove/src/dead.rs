//! Readings before anything is connected: continuity of made-up cables and bonds, insulation between the poles.
//! Never: needs a source.
//! Start at [`continuity`] and [`insulation`].

use model::{Conductor, Pole, Spec, System};
use network::Results;

use crate::expected::{Draft, Expected, Kind, Stage};
use crate::limits::limit;
use crate::measure::{OVER_RANGE_OHMS, Unit};

/// Cables, end to end.
pub(crate) fn continuity(system: &System, results: &Results, list: &mut Vec<Expected>) {
    let leads = limit("leads");
    for (ix, conductor) in system.conductors.iter().enumerate() {
        if conductor.is_internal {
            continue;
        }
        let is_earth = conductor.pole == Pole::Earth;
        let metal = results.resistances.get(ix).map_or(0.0, |ohms| ohms.get());
        let (from, to) = (system.terminal_name(conductor.from), system.terminal_name(conductor.to));
        let mut expected = Draft {
            id: format!("{}:{}", if is_earth { "earth" } else { "continuity" }, conductor.id),
            title: format!(
                "{} {} from {from} to {to}",
                if is_earth { "Earth or bond" } else { "Cable" },
                conductor.id
            ),
            how: format!(
                "Meter on ohms, leads touched together first and that value subtracted. One probe on the lug at {from}, \
                 the other at {to}, fuses in between out. Pull at both lugs while reading: the value must stay."
            ),
            stage: Stage::Dead,
            kind: if is_earth { Kind::Earth } else { Kind::Continuity },
            unit: Unit::Ohms,
            range: [0.0, metal, metal + leads.value],
            why_wide: format!(
                "The cable itself has {:.2} mΩ, far below what a hand meter shows; {} Ω is left for its leads and contacts ({}). \
                 A joint that is poor under load does not show here: the drop under load finds it",
                metal * 1e3,
                leads.value,
                leads.cite()
            ),
        }
        .expect();
        expected.because = vec![of_copper(conductor, metal)];
        expected.conductors = vec![conductor.id.clone()];
        list.push(expected);
    }
}

fn of_copper(conductor: &Conductor, ohms: f64) -> String {
    format!(
        "{} of {} copper at its working temperature: {:.3} mΩ (resistance table of the size)",
        conductor.length,
        conductor.gauge,
        ohms * 1e3
    )
}

/// Between the poles, and to the chassis.
pub(crate) fn insulation(system: &System, list: &mut Vec<Expected>) {
    let has = |is: fn(&Spec) -> bool| system.devices.iter().any(|device| is(&device.spec));
    let has_chassis = has(|spec| matches!(spec, Spec::Chassis));
    let has_ac = system.ac_voltage.is_some();
    let mut one = |id: &str, title: &str, how: &str, key: &str| {
        let limit = limit(key);
        let mut expected = Draft {
            id: format!("insulation:{id}"),
            title: title.to_owned(),
            how: how.to_owned(),
            stage: Stage::Dead,
            kind: Kind::Insulation,
            unit: Unit::Ohms,
            range: [limit.value, OVER_RANGE_OHMS, OVER_RANGE_OHMS],
            why_wide: format!("More is always better; the least is {}", limit.cite()),
        }
        .expect();
        expected.caution = Some(
            "An insulation tester gives 250 V or 500 V: everything electronic must be unplugged first. A hand meter on its \
             largest ohms range finds a pinched cable too, though not a weak spot."
                .to_owned(),
        );
        list.push(expected);
    };
    one(
        "positive-to-negative",
        "Insulation from the positive side to the negative side",
        "Bank, array, engine and shore disconnected, every fuse out or every load unplugged. Meter on its largest ohms range: \
         red on the positive bar, black on the negative bar",
        "insulation-extra-low",
    );
    if has_chassis {
        one(
            "positive-to-chassis",
            "Insulation from the positive side to the chassis",
            "As before; red on the positive bar, black on bare metal of the chassis",
            "insulation-extra-low",
        );
    }
    if has_ac {
        one(
            "line-to-earth",
            "Insulation from line and neutral, joined, to earth",
            "Shore and generator unplugged, inverter off and its output unplugged, the neutral bond lifted, AC loads unplugged, \
             breakers closed. Red on line and neutral together, black on earth",
            "insulation-mains",
        );
    }
}
