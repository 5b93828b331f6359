//! Insulation rating against the hottest air on the way.
//! Never: derates (see `conductor_overloaded.rs`).
//! Start at [`RULE`].

use model::{Conductor, Edit};
use quantity::Celsius;
use reference::{Insulation, Place};

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The air where a conductor runs gets as hot as its insulation may, so that nothing is left for its own heat.
    /// ## Why
    /// The insulation softens and ages with no current at all; with current it fails.
    /// ## Limit
    /// The rating must be above the hottest air of every zone on the way; an engine space counts as at least 50 °C (`na`) or 60 °C (`iec`).
    /// ## Mend
    /// Insulation of a higher rating, or a route that keeps clear of the hot zone.
    /// ## Silent when
    /// The rating is above the hottest air.
    /// ## Example
    /// 60 °C cable through an engine space under `iec`.
    "insulation-too-cold-rated", Danger, "insulation is not rated for the heat of its zone",
    reads: "conductor insulation, hottest temperature and kind of its zone",
    na: "33 CFR 183.425 Table 5 note 1", iec: "ISO 10133 annex, engine space",
    sources: ["cfr-33-183", "iso-10133"],
    check: check,
}

/// Whether the table answers for a cool place but not for the conductor's own.
pub(crate) fn is_too_hot(case: &Case<'_>, conductor: &Conductor) -> bool {
    let Some(place) = case.place(conductor) else { return false };
    is_too_hot_with(case, conductor, conductor.insulation, &place)
}

fn is_too_hot_with(case: &Case<'_>, conductor: &Conductor, insulation: Insulation, place: &Place) -> bool {
    let ask = |place: &Place| case.reference.ampacity(case.system.rules, conductor.gauge, insulation, place);
    // 30 °C is the temperature of the tables themselves.
    let cool = Place { ambient: Celsius::new(30.0), engine_space: false, ..*place };
    ask(place).is_err() && ask(&cool).is_ok()
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (_, conductor) in case.cables() {
        let Some(place) = case.place(conductor) else { continue };
        if !is_too_hot(case, conductor) {
            continue;
        }
        let zone = case.system.zones.get(conductor.zone).map_or("?", |zone| zone.id.as_str());
        let message = format!(
            "{} has {} insulation and runs through {zone}, {} at the hottest{}",
            conductor.id,
            conductor.insulation,
            place.ambient,
            if place.engine_space { ", an engine space" } else { "" }
        );
        let cause = case.cause(&[&format!("{}.insulation", conductor.id)], &conductor.intent);
        let found = out.danger(&conductor.id, cause, message);
        found.why("The insulation softens from the heat of the place alone and fails once current flows.");
        if let Err(error) =
            case.reference.ampacity(case.system.rules, conductor.gauge, conductor.insulation, &place)
        {
            found.because(error.to_string());
        }
        found.undo();
        let better = Insulation::ALL.into_iter().find(|rating| {
            *rating > conductor.insulation
                && case.reference.ampacity(case.system.rules, conductor.gauge, *rating, &place).is_ok()
        });
        if let Some(better) = better {
            found.fix(
                format!("use insulation of {better}"),
                vec![Edit {
                    path: vec!["cable".to_owned(), "insulation".to_owned()],
                    value: Some(better.to_string()),
                }],
            );
        }
        found.mend(format!("route it clear of {zone}"));
    }
}
