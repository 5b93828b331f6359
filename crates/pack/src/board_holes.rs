//! Holes of the mounting board as a schedule, and the small goods that they take.
//! Never: places one (see `board`).
//! Start at [`table`].

use std::collections::BTreeMap;

use board::{Hole, HoleUse};
use reference::Provenance;

use crate::goods::{GoodsRow, with_spare};
use crate::table::{Table, numbers, words};

/// Millimetres to a tenth, as drills are marked.
fn tenths(hole: &Hole) -> i64 {
    (hole.diameter.get() * 10_000.0).round() as i64
}

/// Grommets for the cables and screws for devices and board, with spare.
pub fn goods(holes: &[Hole]) -> Vec<GoodsRow> {
    let mut kinds: BTreeMap<(HoleUse, i64), u32> = BTreeMap::new();
    for hole in holes {
        *kinds.entry((hole.is_for, tenths(hole))).or_default() += 1;
    }
    let row = |((is_for, tenths), count): ((HoleUse, i64), u32)| {
        let diameter = tenths as f64 / 10.0;
        let (what, how) = match is_for {
            HoleUse::Cables => {
                (format!("grommet for a hole of {diameter} mm"), "cables that leave the board")
            }
            HoleUse::Device => {
                (format!("screw with washer, for a hole of {diameter} mm"), "devices on the board")
            }
            HoleUse::Board => (format!("screw with washer, for a hole of {diameter} mm"), "the board itself"),
        };
        GoodsRow {
            what,
            part: String::new(),
            needed: f64::from(count),
            buy: with_spare(f64::from(count)),
            counted: "piece",
            how: format!("{how}; one in ten spare"),
            source: ("practice", Provenance::Memory),
        }
    };
    kinds.into_iter().map(row).collect()
}

/// The schedule as a table, in the order in which the board lists its holes.
pub fn table(holes: &[Hole]) -> Table {
    let columns = vec![
        numbers("hole", "Hole", "", 0, 7.0),
        words("use", "For", 26.0),
        words("device", "Device", 24.0),
        numbers("x_mm", "From the left edge", "mm", 0, 11.0),
        numbers("y_mm", "From the lower edge", "mm", 0, 11.0),
        numbers("diameter_mm", "Diameter", "mm", 1, 10.0),
        words("edge", "Edge", 40.0),
    ];
    let mut table = Table::new("board-holes", "Board holes", columns);
    for (number, hole) in (1u32..).zip(holes) {
        let (is_for, edge) = match hole.is_for {
            HoleUse::Device => ("screw of the device", ""),
            HoleUse::Cables => ("cables, through a grommet", "take off the burr before the grommet goes in"),
            HoleUse::Board => ("screw of the board", ""),
        };
        table.push(vec![
            number.into(),
            is_for.into(),
            hole.device.as_str().into(),
            f64::from(hole.x_mm).into(),
            f64::from(hole.y_mm).into(),
            (hole.diameter.get() * 1000.0).into(),
            edge.into(),
        ]);
    }
    table
}
