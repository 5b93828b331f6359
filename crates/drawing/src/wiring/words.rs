//! What is written along a conductor: run number, colour by standard with its letter, size, length; and in boxes and tags.
//! Never: places text; cuts a name.
//! Start at [`label`] and [`colour`].

use model::{CircuitKind, Conductor, ConductorIx, Device, Pole, System};
use reference::{Colour, ColourRole, Reference};

use super::lay::{BOX, ROW};
use crate::plate::Words;
use crate::text::{LINE, whole};

/// Size of a label, of names of terminals and of ratings \[mm\]. Nothing on a sheet is smaller.
pub const SIZE: f64 = 2.2;
/// Size of the title of a device \[mm\].
const TITLE: f64 = 2.4;
/// Least height of the head of a box, for its symbol \[mm\].
const HEAD: f64 = 8.6;

/// Title and rating in the head of a box.
pub fn head(device: &Device) -> Vec<Words> {
    let title = whole(&device.title, TITLE, true, BOX - 10.4);
    let rating = crate::words::rating(device).into_iter().next().unwrap_or_default();
    let rating = whole(&rating, SIZE, false, BOX - 10.4);
    let title = title.into_iter().map(|line| Words::new(line, TITLE).bold());
    title.chain(rating.into_iter().map(|line| Words::new(line, SIZE))).collect()
}

/// Height of the head of a box \[mm\].
pub fn head_height(device: &Device) -> f64 {
    let lines: f64 = head(device).iter().map(|line| line.size * LINE).sum();
    (lines + 1.4).max(HEAD)
}

/// The name of a terminal where a conductor goes on, in as many lines as it takes.
pub fn tag(terminal: &str) -> Vec<Words> {
    whole(terminal, SIZE, false, BOX - 3.6).into_iter().map(|line| Words::new(line, SIZE)).collect()
}

/// Height of a tag \[mm\]: one line with run and sheet, then the terminal.
pub fn tag_height(terminal: &str) -> f64 {
    ROW + tag(terminal).len().saturating_sub(1) as f64 * SIZE * LINE
}

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
    let below = Words::new(format!("{} {}", conductor.gauge.brief(), conductor.length), SIZE);
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
