//! What is written along a conductor: run number, colour by standard with its letter, size, length.
//! Never: places text.
//! Start at [`label`] and [`colour`].

use model::{CircuitKind, Conductor, ConductorIx, Pole, System};
use reference::{Colour, ColourRole, Reference};

use crate::plate::Words;

/// Size of a label \[mm\].
pub const SIZE: f64 = 2.2;

/// What a conductor is for, as far as its colour goes.
pub fn role(system: &System, conductor: &Conductor) -> ColourRole {
    let is_bond =
        system.circuits.get(conductor.circuit).is_some_and(|circuit| circuit.kind == CircuitKind::Bond);
    match conductor.pole {
        Pole::Positive => ColourRole::DcPositive,
        Pole::Negative => ColourRole::DcNegative,
        Pole::Line => ColourRole::Line1,
        Pole::Line2 => ColourRole::Line2,
        Pole::Neutral => ColourRole::Neutral,
        Pole::Earth if is_bond => ColourRole::Bonding,
        Pole::Earth => ColourRole::ProtectiveEarth,
    }
}

/// Its colour by the rule set.
pub fn colour(system: &System, conductor: &Conductor) -> Colour {
    Reference::standard().conductor_colour(system.rules, role(system, conductor)).value
}

/// The letter code of IEC 60757 (from memory) for a colour of the table.
pub fn code(name: &str) -> &'static str {
    match name {
        "black" => "BK",
        "brown" => "BN",
        "red" => "RD",
        "yellow" => "YE",
        "green" => "GN",
        "blue" => "BU",
        "white" => "WH",
        "grey" => "GY",
        "green-and-yellow" => "GNYE",
        _ => "?",
    }
}

/// Above the line: run number and colour; below: size and length. Empty for a link inside an assembly.
pub fn label(system: &System, ix: ConductorIx) -> Option<(Words, Words)> {
    let conductor = system.conductors.get(ix)?;
    if conductor.is_internal {
        return None;
    }
    let colour = colour(system, conductor);
    let above = Words::new(format!("{} {}", conductor.number, code(&colour.name)), SIZE).bold();
    let below = Words::new(format!("{} {}", conductor.gauge.brief(), conductor.length), SIZE - 0.1);
    Some((above, below))
}

/// Width that a label takes \[mm\].
pub fn label_width(system: &System, ix: ConductorIx) -> f64 {
    label(system, ix).map_or(3.0, |(above, below)| above.extent().0.max(below.extent().0) + 1.4)
}

/// The colour to draw a name of the table in.
pub fn paint(name: &str) -> &'static str {
    match name {
        "black" => "#221f1b",
        "brown" => "#7a4a1f",
        "red" => "#c62820",
        "yellow" => "#f2c81e",
        "green" => "#2f8f46",
        "blue" => "#2f6fb8",
        "white" => "#ffffff",
        "green-and-yellow" => "#2f8f46",
        _ => "#8a8072",
    }
}
