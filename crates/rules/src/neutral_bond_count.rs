//! Neutral and earth are not joined exactly once in a mode of the AC side.
//! Never: judges the size of a bond (see `bonding_undersized.rs`).
//! Start at [`RULE`].

use model::Spec;

use crate::ac::{self, Bond, Source};
use crate::{Case, Finding, Out, rule};

rule! {
    /// ## What
    /// On shore power, on the inverter or on the generator, neutral and earth are joined nowhere, or at more than one place.
    /// ## Why
    /// Without a bond a fault to a case trips nothing and leaves it live. With two, working current flows back through the earth conductor,
    /// the hull and everything you touch, and residual-current devices trip without a fault.
    /// ## Limit
    /// Exactly one bond in each mode, at the source. Shore power brings its own, ashore.
    /// ## Mend
    /// An inverter or generator that bonds only while it is the source; a transfer switch that switches the neutral too.
    /// ## Silent when
    /// Every mode has one bond, whichever cords are plugged in.
    /// ## Example
    /// An inverter with a fixed bond on a panel that shore power feeds too.
    "neutral-bond-count", Danger, "neutral and earth are not joined exactly once",
    reads: "AC sources, transfer switches, relays, neutral and earth conductors",
    na: "NEC 250.24, 250.30, 551.54; ABYC E-11.5.5", iec: "IEC 60364-5-55, 551.4; IEC 60364-7-721", sources: ["nec-551", "iec-60364-7-721"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let all = ac::sources(case);
    for source in &all {
        let mut missing = false;
        let mut many: Option<Vec<Bond>> = None;
        for mode in ac::modes(case, std::slice::from_ref(source)) {
            let feeds_something = mode.lines(case, source.line).iter().any(|at| {
                matches!(
                    case.device(at.device).map(|device| &device.spec),
                    Some(Spec::Load(_) | Spec::AcPanel(_) | Spec::Charger(..))
                )
            });
            if !feeds_something || source.neutral.is_none() {
                continue;
            }
            let (sure, possible) = ac::bonds(case, &mode, source, &all);
            missing |= sure.is_empty();
            let most: Vec<Bond> = sure.into_iter().chain(possible).collect();
            if most.len() > 1 && many.as_ref().is_none_or(|known| known.len() < most.len()) {
                many = Some(most);
            }
        }
        if missing {
            none(case, out, source);
        }
        if let Some(bonds) = many {
            several(case, out, source, &bonds);
        }
    }
}

fn none(case: &Case<'_>, out: &mut Out, source: &Source) {
    let Some(device) = case.device(source.device) else { return };
    let found = out.danger(
        &device.id,
        case.cause(&[&format!("{}.neutral-bond", device.id), &format!("{}.part", device.id)], &device.intent),
        format!("on {} neutral and earth are joined nowhere; they must be once", source.kind.word()),
    );
    found.why("A fault to a metal case trips nothing: the case stays live until someone touches it.");
    found.because(format!("{} does not bond neutral to earth, and no conductor does", device.id));
    found.undo();
    found.mend(format!("take for {} a part that bonds neutral to earth while it is the source", device.id));
    found.mend(
        "or join neutral and earth once on the side of the transfer switch that only this source feeds",
    );
}

fn several(case: &Case<'_>, out: &mut Out, source: &Source, bonds: &[Bond]) {
    let intent = bonds.iter().filter_map(|bond| cause(case, bond)).max_by_key(|path| rank(path));
    let Some(device) = case.device(source.device) else { return };
    let found = out.danger(
        &device.id,
        intent.unwrap_or_else(|| device.intent.clone()),
        format!(
            "on {} neutral and earth are joined at {} places; they must be at one",
            source.kind.word(),
            bonds.len()
        ),
    );
    found
        .why("Working current flows back through the earth conductor, the chassis and everything you touch.");
    for bond in bonds {
        words(case, found, bond);
    }
    found.undo();
    found.mend("keep the bond of the source and take every other away: let inverter and generator bond only while they are the source");
    found.mend("where a switch leaves the neutral joined, take one that switches the neutral too");
}

fn words(case: &Case<'_>, found: &mut Finding, bond: &Bond) {
    match bond {
        Bond::Ashore(device) => {
            found.because(format!("the supply of {} is bonded ashore", case.name(*device)))
        }
        Bond::Device(device) => found.because(format!("{} bonds neutral to earth", case.name(*device))),
        Bond::Cable(ix) => found.because(format!(
            "{} joins neutral and earth",
            case.conductor(*ix).map_or("a conductor", |conductor| conductor.id.as_str())
        )),
    };
}

/// Path of a bond that can be taken away.
fn cause(case: &Case<'_>, bond: &Bond) -> Option<String> {
    match bond {
        Bond::Ashore(_) => None,
        Bond::Device(device) => {
            let device = case.device(*device)?;
            Some(case.cause(
                &[&format!("{}.neutral-bond", device.id), &format!("{}.part", device.id)],
                &device.intent,
            ))
        }
        Bond::Cable(ix) => Some(case.conductor(*ix)?.intent.clone()),
    }
}

/// What a person changed by hand is the likelier cause.
fn rank(path: &str) -> u8 {
    match path {
        path if path.starts_with("built") => 2,
        path if path.starts_with("pins.") => 1,
        _ => 0,
    }
}
