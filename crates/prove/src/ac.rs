//! Readings on the AC side: voltage, residual-current devices, earth, and where neutral and earth are joined.
//! Never: solves the AC side; limits come from standards.
//! Start at [`readings`].

use model::parts::{NeutralBond, Supply};
use model::{Spec, System};
use network::Results;
use reference::RuleSet;

use crate::expected::{Draft, Expected, Kind, Stage};
use crate::limits::limit;
use crate::measure::Unit;

const MAINS: &str =
    "Mains voltage can kill. A licensed electrician takes this reading, with insulated probes and one hand.";

/// All of them.
pub(crate) fn readings(system: &System, _results: &Results, list: &mut Vec<Expected>) {
    let Some(nominal) = system.ac_voltage else { return };
    let (low, high) = match system.rules {
        RuleSet::Na => (limit("mains-low-na"), limit("mains-high-na")),
        RuleSet::Iec => (limit("mains-low-iec"), limit("mains-high-iec")),
    };
    for device in &system.devices {
        match &device.spec {
            Spec::Load(load) if load.supply == Supply::Ac => {
                let volts = load.voltage.max(nominal.min(load.voltage)).get();
                let mut expected = Draft {
                    id: format!("ac-volts:{}", device.id),
                    title: format!("AC volts at {}", device.title),
                    how: "Meter on AC volts, line to neutral at the outlet, inverter on, then again on shore"
                        .to_owned(),
                    stage: Stage::Ac,
                    kind: Kind::AcVolts,
                    unit: Unit::Volts,
                    range: [volts * low.value, volts, volts * high.value],
                    why_wide: format!("What a supply may be: {}; {}", low.cite(), high.cite()),
                }
                .expect();
                expected.caution = Some(MAINS.to_owned());
                expected.devices = vec![device.id.clone()];
                list.push(expected);
            }
            Spec::Breaker(breaker) => {
                if let Some(residual) = breaker.part.residual {
                    residual_device(system, &device.id, &device.title, residual.get(), list);
                }
            }
            _ => {}
        }
    }
    bonds(system, list);
}

fn residual_device(system: &System, id: &str, title: &str, residual_a: f64, list: &mut Vec<Expected>) {
    let longest = match system.rules {
        RuleSet::Iec => limit("residual-trip-iec"),
        RuleSet::Na if residual_a <= 0.006 => limit("residual-trip-na-6"),
        RuleSet::Na => limit("residual-trip-na-30"),
    };
    let mut push = |draft: Draft| {
        let mut expected = draft.expect();
        expected.devices = vec![id.to_owned()];
        expected.caution = Some(MAINS.to_owned());
        list.push(expected);
    };
    push(Draft {
        id: format!("residual-button:{id}"),
        title: format!("{title} trips when its test button is pressed"),
        how:
            "AC live, a lamp plugged in behind it; press the test button: the lamp goes out. Write yes or no"
                .to_owned(),
        stage: Stage::Ac,
        kind: Kind::ResidualButton,
        unit: Unit::YesNo,
        range: [1.0, 1.0, 1.0],
        why_wide: "It trips or it does not".to_owned(),
    });
    push(Draft {
        id: format!("residual-time:{id}"),
        title: format!("Trip time of {title} at {:.0} mA", residual_a * 1e3),
        how: format!(
            "Residual-current tester at an outlet behind it, set to {:.0} mA; try both half-waves and write the longer time",
            residual_a * 1e3
        ),
        stage: Stage::Ac,
        kind: Kind::ResidualTime,
        unit: Unit::Seconds,
        range: [0.0, longest.value / 4.0, longest.value],
        why_wide: format!("Any time up to the limit is good: {}", longest.cite()),
    });
}

/// Where neutral and earth are joined: once while the inverter is the source, nowhere on board while shore is.
fn bonds(system: &System, list: &mut Vec<Expected>) {
    let bonds = system.devices.iter().filter_map(|device| match &device.spec {
        Spec::Inverter(part, _) => Some((device, part.neutral_bond)),
        _ => None,
    });
    for (device, bond) in bonds {
        let is_joined = bond != NeutralBond::None;
        list.push(bond_reading(
            &format!("neutral-bond:{}:on", device.id),
            &format!("Neutral and earth joined while {} is the source", device.title),
            "Shore unplugged, inverter on, no load. Meter on AC volts between neutral and earth at an outlet: joined reads below \
             2 V. Write yes for joined, no for not joined",
            is_joined,
            &device.id,
        ));
        let has_shore = system.devices.iter().any(|device| matches!(device.spec, Spec::Inlet(_)));
        if has_shore {
            list.push(bond_reading(
                &format!("neutral-bond:{}:shore", device.id),
                "Neutral and earth joined on board while shore is the source",
                "Shore cord unplugged at the post, transfer held to shore (or inverter off). Meter on ohms from neutral to earth \
                 at the inlet: joined reads below 1 Ω. Write yes for joined, no for not joined",
                bond == NeutralBond::Fixed,
                &device.id,
            ));
        }
    }
}

fn bond_reading(id: &str, title: &str, how: &str, is_joined: bool, device: &str) -> Expected {
    let number = f64::from(u8::from(is_joined));
    let mut expected = Draft {
        id: id.to_owned(),
        title: title.to_owned(),
        how: how.to_owned(),
        stage: Stage::Ac,
        kind: Kind::NeutralBond,
        unit: Unit::YesNo,
        range: [number, number, number],
        why_wide: "It is joined or it is not; the part's sheet says which".to_owned(),
    }
    .expect();
    expected.caution = Some(MAINS.to_owned());
    expected.devices = vec![device.to_owned()];
    expected
}
