//! Holes through the walls of the vehicle as a schedule, and the small goods that they take.
//! Never: places one or chooses what goes in it (see `board`).
//! Start at [`table`].

use std::collections::BTreeMap;

use board::vehicle::EdgeTreatment;
use board::{Vehicle, WallHole};
use reference::Provenance;

use crate::goods::{GoodsRow, with_spare};
use crate::table::{Table, numbers, words};

/// Grommets, glands and sleeves, with spare, and what seals them.
pub fn goods(holes: &[WallHole]) -> Vec<GoodsRow> {
    let mut kinds: BTreeMap<(String, String), u32> = BTreeMap::new();
    for hole in holes {
        let part = match &hole.edge {
            EdgeTreatment::Gland { part, .. } => part.clone().unwrap_or_default(),
            EdgeTreatment::Grommet { .. } | EdgeTreatment::None => String::new(),
        };
        *kinds.entry((hole.fitting(), part)).or_default() += 1;
    }
    let row = |((what, part), count): ((String, String), u32)| GoodsRow {
        what,
        part,
        needed: f64::from(count),
        buy: with_spare(f64::from(count)),
        counted: "piece",
        how: "holes through walls of the vehicle; one in ten spare".to_owned(),
        source: ("practice", Provenance::Memory),
    };
    let mut rows: Vec<GoodsRow> = kinds.into_iter().map(row).collect();
    let sealed = holes.iter().filter(|hole| hole.is_sealed).count();
    if sealed > 0 {
        rows.push(GoodsRow {
            what: "sealant for outside walls".to_owned(),
            part: String::new(),
            needed: 1.0,
            buy: 1.0,
            counted: "tube",
            how: format!("{sealed} holes through outside walls"),
            source: ("practice", Provenance::Memory),
        });
    }
    rows
}

/// The schedule as a table, by the numbers on the plan.
pub fn table(vehicle: Option<&Vehicle>) -> Table {
    let columns = vec![
        numbers("hole", "Hole on the plan", "", 0, 8.0),
        words("wall", "Wall", 22.0),
        words("runs", "Runs", 16.0),
        numbers("x_mm", "From the rear end", "mm", 0, 10.0),
        numbers("y_mm", "From the right-hand side", "mm", 0, 10.0),
        numbers("z_mm", "Above the floor", "mm", 0, 10.0),
        numbers("cable_mm", "Cable or bundle", "mm", 1, 9.0),
        numbers("diameter_mm", "Drill", "mm", 1, 8.0),
        words("fitting", "Gland or grommet", 20.0),
        words("treatment", "Edge and seal", 48.0),
    ];
    let mut table = Table::new("wall-holes", "Wall holes", columns);
    for hole in vehicle.map(|vehicle| vehicle.holes.as_slice()).unwrap_or_default() {
        let runs: Vec<String> = hole.numbers.iter().map(u32::to_string).collect();
        let [x, y, z] = hole.at_mm;
        table.push(vec![
            hole.number.into(),
            hole.wall.as_str().into(),
            runs.join(", ").into(),
            f64::from(x).into(),
            f64::from(y).into(),
            f64::from(z).into(),
            (hole.cables.get() * 1000.0).into(),
            (hole.diameter.get() * 1000.0).into(),
            hole.fitting().into(),
            hole.treatment.as_str().into(),
        ]);
    }
    table
}
