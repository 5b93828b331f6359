//! Conductors that join terminals of different poles.
//! Never: judges bonds between neutral and earth, which have rules of their own.
//! Start at [`RULE`].

use model::{Conductor, DeviceIx, Pole, Spec, TerminalRef};

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// A conductor joins terminals of different poles: positive to negative, direct to alternating current, line to neutral.
    /// ## Why
    /// It is a short circuit, or it destroys what it feeds. Where positive and negative are joined, all currents and voltages of the study
    /// follow from that; what they show is told once this is mended.
    /// ## Limit
    /// Both ends have the same pole. Only batteries in series join positive to negative, and bonds join negative or neutral to earth.
    /// ## Mend
    /// Move one end.
    /// ## Silent when
    /// Both ends have the same pole; for the link from one battery of a string to the next; for bonds.
    /// ## Example
    /// A cable from the positive busbar to a load's negative terminal.
    "poles-crossed", Danger, "a conductor joins terminals of different poles",
    reads: "poles of the terminals at both ends of each conductor",
    na: "common practice", iec: "common practice",
    sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    for (_, conductor) in case.cables() {
        let (Some(from), Some(to)) = (case.pole(conductor.from), case.pole(conductor.to)) else { continue };
        let is_bond =
            |one: Pole, other: Pole| one == Pole::Earth && matches!(other, Pole::Negative | Pole::Neutral);
        if from == to || is_bond(from, to) || is_bond(to, from) || is_series_link(case, conductor) {
            continue;
        }
        let name = |at: TerminalRef| case.system.terminal_name(at);
        let message = format!(
            "{} joins {} ({}) to {} ({})",
            conductor.id,
            name(conductor.from),
            from.word(),
            name(conductor.to),
            to.word()
        );
        let found = out.danger(&conductor.id, &conductor.intent, message);
        found.why("It makes a short circuit or feeds a device the wrong way round; either can burn.");
        if let Some(amps) = case.results.most_fault(conductor.from).or(case.results.most_fault(conductor.to))
        {
            found.because(format!("{amps} can flow into a short circuit there"));
        }
        found.undo().mend(format!("move one end so that both are {} or both are {}", from.word(), to.word()));
    }
}

/// Whether a conductor joins positive to negative, so that nothing else that the study shows means anything.
pub(crate) fn is_shorted(case: &Case<'_>) -> bool {
    case.cables().any(|(_, conductor)| {
        let poles = (case.pole(conductor.from), case.pole(conductor.to));
        matches!(
            poles,
            (Some(Pole::Positive), Some(Pole::Negative)) | (Some(Pole::Negative), Some(Pole::Positive))
        ) && !is_series_link(case, conductor)
    })
}

/// Whether it links one battery of a string to the next.
fn is_series_link(case: &Case<'_>, conductor: &Conductor) -> bool {
    let battery = |device: DeviceIx| match case.device(device).map(|device| &device.spec) {
        Some(Spec::Battery(battery) | Spec::StartBattery(battery)) => Some((battery.string, battery.place)),
        _ => None,
    };
    match (battery(conductor.from.device), battery(conductor.to.device)) {
        (Some((string, place)), Some((other_string, other_place))) => {
            string == other_string && place.abs_diff(other_place) == 1
        }
        _ => false,
    }
}
