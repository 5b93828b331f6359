//! The schedule of ends: how each end of each conductor is made up, with heat-shrink and the range of its torque.
//! Never: chooses a lug (see `ends.rs`).
//! Start at [`end_rows`].

use model::parts::{Library, Stud};
use quantity::{Gauge, Metres, NewtonMetres};
use reference::{Provenance, Reference};
use rules::LugPlace;
use serde::Serialize;

use crate::cables::{CableEnd, CableRow};
use crate::ends::{FittingKind, stud_name};
use crate::shop::{HeatShrink, heat_shrink};
use crate::table::{Table, numbers, words};

/// One end.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EndRow {
    /// Run number.
    pub run: u32,
    /// The conductor's id.
    pub conductor: String,
    /// Size.
    pub gauge: Gauge,
    /// Colour with its letter: `red R`.
    pub colour: String,
    /// The device at this end.
    pub device: String,
    /// Its terminal.
    pub terminal: String,
    /// Kind of end.
    pub kind: FittingKind,
    /// In words.
    pub what: String,
    /// Part of the library.
    pub part: Option<String>,
    /// Insulation to strip.
    pub strip: Option<Metres>,
    /// Heat-shrink over a lug; `None` on other ends, and where none is large enough.
    pub shrink: Option<HeatShrink>,
    /// Stud.
    pub stud: Option<Stud>,
    /// Where its lug lies, where several share the terminal.
    pub place: Option<LugPlace>,
    /// Least, aimed at, and most torque; the maker's figure governs.
    pub torque: Option<(NewtonMetres, NewtonMetres, NewtonMetres)>,
    /// Document behind the torque.
    pub torque_source: Option<(&'static str, Provenance)>,
    /// Documents behind strip length, torque and heat-shrink.
    pub sources: Vec<(&'static str, Provenance)>,
}

/// Outside diameter of one conductor: of its cable where that is a single core, else the typical one of its size.
pub fn core_diameter(row: &CableRow, library: &Library) -> Option<Metres> {
    let own = cable_diameter(row, library).filter(|_| row.cores == 1);
    own.or_else(|| Reference::standard().outer_diameter(row.gauge).map(|known| known.value))
}

/// Outside diameter of the whole cable; `None` where it has no part and is sheathed.
pub fn cable_diameter(row: &CableRow, library: &Library) -> Option<Metres> {
    let id = row.cable.as_deref().and_then(|id| id.strip_prefix("cable."));
    let part = id.and_then(|id| library.cable.iter().find(|(name, _)| name.as_str() == id));
    part.map(|(_, cable)| cable.diameter).or_else(|| {
        let typical = Reference::standard().outer_diameter(row.gauge);
        typical.filter(|_| row.cores == 1).map(|known| known.value)
    })
}

/// Both ends of every conductor, in the order of the cable schedule.
pub fn end_rows(rows: &[CableRow], library: &Library) -> Vec<EndRow> {
    rows.iter().flat_map(|row| [&row.from, &row.to].map(|end| end_row(row, end, library))).collect()
}

fn end_row(row: &CableRow, end: &CableEnd, library: &Library) -> EndRow {
    let reference = Reference::standard();
    let fitting = &end.fitting;
    let is_lug = matches!(fitting.kind, FittingKind::Lug | FittingKind::BondLug);
    let diameter = core_diameter(row, library).filter(|_| is_lug);
    let barrel = fitting.strip.unwrap_or(Metres::zero());
    let shrink = diameter.and_then(|diameter| heat_shrink(diameter, barrel));
    let range = fitting.stud.and_then(|stud| reference.stud_torque_range(stud_name(stud)));
    let mut sources = fitting.sources.clone();
    sources.extend(shrink.as_ref().map(|(_, source)| *source));
    sources.sort_unstable();
    sources.dedup();
    EndRow {
        run: row.number,
        conductor: row.id.clone(),
        gauge: row.gauge,
        colour: format!("{} {}", row.colour.name, row.colour.letter),
        device: end.device.clone(),
        terminal: end.terminal.clone(),
        kind: fitting.kind,
        what: fitting.what.clone(),
        part: fitting.part.clone(),
        strip: fitting.strip,
        shrink: shrink.map(|(shrink, _)| shrink),
        stud: fitting.stud,
        place: end.place,
        torque_source: range.as_ref().map(|range| (range.cite.source, range.cite.provenance)),
        torque: range.zip(fitting.torque).map(|(range, aim)| (range.value.0, aim, range.value.1)),
        sources,
    }
}

/// The schedule as a table.
pub fn table(rows: &[EndRow]) -> Table {
    let columns = vec![
        numbers("run", "Run", "", 0, 6.0),
        words("conductor", "Conductor", 24.0),
        words("size", "Size", 11.0),
        words("colour", "Colour", 14.0),
        words("device", "Device", 20.0),
        words("terminal", "Terminal", 13.0),
        words("end", "End", 26.0),
        words("part", "Part", 22.0),
        numbers("strip_mm", "Strip", "mm", 0, 7.0),
        words("shrink", "Heat-shrink", 9.0),
        numbers("shrink_mm", "Heat-shrink, length", "mm", 0, 10.0),
        words("stud", "Stud", 8.0),
        words("place_on_stud", "Place on the stud, from the pad", 20.0),
        numbers("torque_least_nm", "Torque, least", "N·m", 1, 8.0),
        numbers("torque_nm", "Torque, aim", "N·m", 1, 8.0),
        numbers("torque_most_nm", "Torque, most", "N·m", 1, 8.0),
        words("source", "Source", 26.0),
    ];
    let mut table = Table::new("ends", "Ends", columns);
    for row in rows {
        let sources: Vec<String> = row.sources.iter().map(|(key, how)| format!("{key} ({how})")).collect();
        let torque = |read: fn((NewtonMetres, NewtonMetres, NewtonMetres)) -> NewtonMetres| {
            row.torque.map(|torque| read(torque).get())
        };
        table.push(vec![
            row.run.into(),
            row.conductor.as_str().into(),
            row.gauge.brief().into(),
            row.colour.as_str().into(),
            row.device.as_str().into(),
            row.terminal.as_str().into(),
            row.what.as_str().into(),
            row.part.clone().unwrap_or_default().into(),
            row.strip.map(|strip| strip.get() * 1000.0).into(),
            row.shrink.as_ref().map(|shrink| shrink.size.clone()).unwrap_or_default().into(),
            row.shrink.as_ref().map(|shrink| shrink.length.get() * 1000.0).into(),
            row.stud.map(|stud| stud.to_string()).unwrap_or_default().into(),
            row.place.map(|place| place.to_string()).unwrap_or_default().into(),
            torque(|torque| torque.0).into(),
            torque(|torque| torque.1).into(),
            torque(|torque| torque.2).into(),
            sources.join(", ").into(),
        ]);
    }
    table
}
