//! Pictures of a system: the one-line diagram, the mounting board and charts, as SVG and DXF.
//! Never: computes a value, judges, reads or writes a file. The same system gives the same bytes.
//! Start at [`one_line`] and [`board`](fn@board); of the one-line diagram the tree is in `graph.rs`, the places in `layout.rs`, the symbols in `symbols.rs`.

pub mod chart;
mod comb;
mod door;
mod dxf;
mod free;
mod graph;
mod layout;
pub mod mounting;
pub mod plate;
#[cfg(feature = "png")]
mod png;
pub mod scene;
mod sheet;
mod storage;
mod strings;
mod svg;
pub mod symbols;
mod text;
mod tree;
mod vehicle;
mod vehicle_svg;
pub mod wiring;
mod words;

use model::System;

#[cfg(feature = "png")]
pub use png::{PictureError, to_png};
pub use sheet::{SAFETY, Sheet};
pub use vehicle::{Mark, VehicleSheet};
pub use words::rating;

/// The one-line diagram of a system as SVG text: sources above the busbar, the bank and its way back at the left,
/// what is fed below. Every device and every conductor of the system is in it; what fits no pattern is listed.
/// Lengths are in millimetres of the printed sheet.
pub fn one_line(system: &System) -> String {
    svg::write(system, &Sheet::of(system))
}

/// The mounting board in full size as SVG text: one unit is one millimetre. Edge, holes with their places, devices, terminals
/// with their poles, and cables with their run numbers; each device is a group `data-device`, each hole `data-hole`.
pub fn board(layout: &::board::Layout, system: &System) -> String {
    mounting::plate(layout, system).svg(SAFETY)
}

/// The same as DXF in millimetres from the lower left corner of the board, on the layers `OUTLINE`, `HOLES`, `KEEP-OUT`,
/// `DEVICES`, `CABLES`, `DIMENSIONS`, `TEXT` and, for what belongs to the sheet, `SHEET`.
pub fn board_dxf(layout: &::board::Layout, system: &System) -> Vec<u8> {
    board_dxf_of(&mounting::plate(layout, system), layout)
}

/// The same of a drawing that is made already.
pub fn board_dxf_of(drawn: &plate::Plate, layout: &::board::Layout) -> Vec<u8> {
    dxf::write(drawn, mounting::origin(layout))
}

/// The wiring diagram, one SVG a sheet: every conductor with both poles, run number, colour by standard with its letters, size
/// and length, from terminal to terminal. What goes on on another sheet ends in a tag with run, sheet and terminal.
pub fn wiring(system: &System) -> Vec<String> {
    wiring::sheets(system).iter().map(|sheet| sheet.svg(SAFETY)).collect()
}

/// The same as one DXF in millimetres, the sheets side by side.
pub fn wiring_dxf(system: &System) -> Vec<u8> {
    dxf_of(&wiring::sheets(system))
}

/// Sheets side by side as one DXF in millimetres from the lower left corner of the first.
pub fn dxf_of(sheets: &[plate::Plate]) -> Vec<u8> {
    let height = sheets.iter().map(|sheet| sheet.height).fold(0.0, f64::max);
    let title = sheets.first().map_or("", |sheet| sheet.title.as_str());
    let mut all = plate::Plate::new(title, 0.0, height);
    for sheet in sheets {
        let across = all.width;
        all.marks.extend(sheet.marks.iter().map(|mark| mark.clone().moved(across)));
        all.width = across + sheet.width + 20.0;
    }
    dxf::write(&all, scene::at(0.0, height))
}

/// Cards for the inside of the door of each panel, in full size (A5 or A6): slot, circuit, fuse, wire, what goes dark, and what to
/// open in an emergency.
pub fn door_cards(system: &System) -> Vec<String> {
    door_plates(system).iter().map(|card| card.svg(SAFETY)).collect()
}

/// The same as marks.
pub fn door_plates(system: &System) -> Vec<plate::Plate> {
    door::cards(system)
}

/// The plan of the vehicle as SVG text, to scale, in millimetres of the printed sheet: from above and from the right-hand side,
/// with zones, channels, runs and holes by number, loads on the axles, and lists of runs and holes beside them.
pub fn vehicle_plan(vehicle: &::board::Vehicle, system: &System) -> String {
    vehicle_svg::write(&VehicleSheet::of(vehicle, system), system)
}
