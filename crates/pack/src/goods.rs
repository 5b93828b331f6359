//! Small goods to buy with some to spare: lugs, ferrules, heat-shrink, supports, glands, label sheets.
//! Never: counts devices, cable and fuses (see `parts_list.rs` and `cut/cables.rs`).
//! Start at [`goods`].

use std::collections::BTreeMap;

use quantity::{Gauge, Metres, Written};
use reference::{Provenance, Reference, RuleSet};
use serde::Serialize;

use crate::cables::CableRow;
use crate::ends::FittingKind;
use crate::holes::{HoleRow, Lining};
use crate::made_ends::EndRow;
use crate::table::{Table, numbers, words};

/// One kind of small goods.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GoodsRow {
    /// What it is.
    pub what: String,
    /// Part of the library; empty where there is none.
    pub part: String,
    /// How much is needed.
    pub needed: f64,
    /// How much to buy.
    pub buy: f64,
    /// `piece`, `m`, `sheet`, `roll`, `tube`.
    pub counted: &'static str,
    /// How it was counted.
    pub how: String,
    /// Documents behind it.
    pub source: (&'static str, Provenance),
}

/// Words for what only practice says.
const PRACTICE: (&str, Provenance) = ("practice", Provenance::Memory);
/// One in ten is spare, and at least one: crimps fail. Common practice, no source.
const ONE_SPARE_IN: f64 = 10.0;

pub(crate) fn with_spare(needed: f64) -> f64 {
    needed + (needed / ONE_SPARE_IN).ceil().max(1.0)
}

fn piece(what: String, part: String, needed: f64, how: &str) -> GoodsRow {
    let buy = with_spare(needed);
    GoodsRow { what, part, needed, buy, counted: "piece", how: how.to_owned(), source: PRACTICE }
}

/// The small goods. `label_sheets`: pages of labels.
pub fn goods(
    cables: &[CableRow],
    ends: &[EndRow],
    holes: &[HoleRow],
    rules: RuleSet,
    label_sheets: usize,
) -> Vec<GoodsRow> {
    let mut rows = fittings(ends);
    rows.extend(shrink(ends));
    rows.extend(sheaths(cables));
    rows.extend(supports(cables, rules));
    rows.extend(linings(holes));
    if label_sheets > 0 {
        let sheets = label_sheets as f64;
        rows.push(GoodsRow {
            what: "label sheet, vinyl, with clear film to wrap over it".to_owned(),
            part: String::new(),
            needed: sheets,
            buy: sheets + 1.0,
            counted: "sheet",
            how: "one label at each end of each conductor; one sheet for trying the margins".to_owned(),
            source: PRACTICE,
        });
    }
    if !cables.is_empty() {
        rows.push(GoodsRow {
            what: "insulating tape".to_owned(),
            part: String::new(),
            needed: 1.0,
            buy: 1.0,
            counted: "roll",
            how: "for bare ends while cables are laid; no joint is made with it".to_owned(),
            source: PRACTICE,
        });
    }
    rows
}

fn fittings(ends: &[EndRow]) -> Vec<GoodsRow> {
    let mut kinds: BTreeMap<(FittingKind, String, String), u32> = BTreeMap::new();
    for end in ends.iter().filter(|end| end.kind != FittingKind::Bare) {
        *kinds.entry((end.kind, end.what.clone(), end.part.clone().unwrap_or_default())).or_default() += 1;
    }
    let row = |((_, what, part), count): ((FittingKind, String, String), u32)| {
        piece(what, part, f64::from(count), "ends of conductors; one in ten spare")
    };
    kinds.into_iter().map(row).collect()
}

fn shrink(ends: &[EndRow]) -> Vec<GoodsRow> {
    // By the diameter as sold, so that the smallest comes first.
    let mut sizes: Vec<(f64, String, f64, u32)> = Vec::new();
    for shrink in ends.iter().filter_map(|end| end.shrink.as_ref()) {
        match sizes.iter_mut().find(|(_, size, ..)| *size == shrink.size) {
            Some((.., metres, count)) => {
                *metres += shrink.length.get();
                *count += 1;
            }
            None => sizes.push((shrink.sold.get(), shrink.size.clone(), shrink.length.get(), 1)),
        }
    }
    sizes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let row = |(_, size, metres, count): (f64, String, f64, u32)| GoodsRow {
        what: format!("heat-shrink {size}, adhesive-lined"),
        part: String::new(),
        needed: metres,
        // In tenths of a metre, one in ten spare.
        buy: ((metres * (1.0 + 1.0 / ONE_SPARE_IN)) * 10.0 - 1e-9).ceil() / 10.0,
        counted: "m",
        how: format!("{count} lugs; one in ten spare"),
        source: PRACTICE,
    };
    sizes.into_iter().map(row).collect()
}

/// Sheath or conduit over what is not a core of a cable, by the size that it must go over.
fn sheaths(cables: &[CableRow]) -> Vec<GoodsRow> {
    let mut sizes: BTreeMap<Gauge, (f64, u32)> = BTreeMap::new();
    for cable in cables.iter().filter(|cable| cable.is_sheathed) {
        let (metres, count) = sizes.entry(cable.gauge).or_default();
        *metres += cable.length_cut.get();
        *count += 1;
    }
    let row = |(gauge, (metres, count)): (Gauge, (f64, u32))| GoodsRow {
        what: format!("sheath or conduit over one cable of {}", gauge.brief()),
        part: String::new(),
        needed: metres,
        buy: ((metres * (1.0 + 1.0 / ONE_SPARE_IN)) * 10.0 - 1e-9).ceil() / 10.0,
        counted: "m",
        how: format!("{count} conductors, each from end to end; one in ten spare"),
        source: PRACTICE,
    };
    sizes.into_iter().map(row).collect()
}

/// Supports: of each circuit the longest conductor over the distance allowed; one support holds the conductors of a circuit.
fn supports(cables: &[CableRow], rules: RuleSet) -> Option<GoodsRow> {
    let limit = Reference::standard().cable_support(rules);
    let mut longest: BTreeMap<&str, Metres> = BTreeMap::new();
    for cable in cables {
        let length = longest.entry(&cable.circuit).or_insert(Metres::zero());
        *length = length.max(cable.length);
    }
    let count: f64 = longest.values().map(|length| (*length / limit.value - 1e-9).ceil().max(0.0)).sum();
    (count > 0.0).then(|| GoodsRow {
        what: "cable clip or tie with mount".to_owned(),
        part: String::new(),
        needed: count,
        buy: with_spare(count),
        counted: "piece",
        how: format!(
            "every {} along each circuit, its conductors held together; one in ten spare",
            limit.value.show()
        ),
        source: (limit.cite.source, limit.cite.provenance),
    })
}

fn linings(holes: &[HoleRow]) -> Vec<GoodsRow> {
    let mut kinds: BTreeMap<(Lining, String), u32> = BTreeMap::new();
    let mut sealed = 0u32;
    for hole in holes {
        sealed += u32::from(hole.seal.contains("sealant"));
        if let (Lining::Gland | Lining::Grommet, Some(fit)) = (hole.lining, &hole.fit) {
            *kinds.entry((hole.lining, fit.clone())).or_default() += 1;
        }
    }
    let mut rows: Vec<GoodsRow> = kinds
        .into_iter()
        .map(|((lining, fit), count)| match lining {
            Lining::Gland => {
                piece("cable gland".to_owned(), fit, f64::from(count), "holes; one in ten spare")
            }
            _ => piece(format!("grommet, {fit}"), String::new(), f64::from(count), "holes; one in ten spare"),
        })
        .collect();
    if sealed > 0 {
        rows.push(GoodsRow {
            what: "sealant for outside".to_owned(),
            part: String::new(),
            needed: 1.0,
            buy: 1.0,
            counted: "tube",
            how: format!("{sealed} holes to the outside or the wet"),
            source: PRACTICE,
        });
    }
    rows
}

/// The goods as a table.
pub fn table(rows: &[GoodsRow]) -> Table {
    let columns = vec![
        words("what", "What", 40.0),
        words("part", "Part", 24.0),
        numbers("needed", "Needed", "", 2, 9.0),
        numbers("buy", "To buy, spare in it", "", 1, 9.0),
        words("counted_in", "Counted in", 9.0),
        words("how", "How it is counted", 52.0),
        words("source", "Source", 18.0),
    ];
    let mut table = Table::new("consumables", "Consumables", columns);
    for row in rows {
        table.push(vec![
            row.what.as_str().into(),
            row.part.as_str().into(),
            row.needed.into(),
            row.buy.into(),
            row.counted.into(),
            row.how.as_str().into(),
            format!("{} ({})", row.source.0, row.source.1).into(),
        ]);
    }
    table
}
