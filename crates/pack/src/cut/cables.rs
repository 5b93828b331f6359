//! The cut plan of the cable schedule: per cable and colour, from what it is sold in.
//! Never: sizes a cable; what cannot be cut from anything sold is listed with the reason.
//! Start at [`cable_cuts`]; [`plan_table`] is for the bench, [`order_table`] for the shop.

use std::collections::BTreeMap;

use model::Pole;
use model::parts::{Library, PartFacts};
use quantity::{Gauge, Metres, Money};
use reference::{Provenance, RuleSet};
use serde::Serialize;

use super::{CutPlan, Piece, Proof, Stock, cut_plan};
use crate::cables::{CableRow, FOOT};
use crate::shop::cable_stock;
use crate::table::{Cell, Table, numbers, words};

/// One cable of one colour, with its plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CableCut {
    /// What it is: `2/0 AWG, 105 °C, tinned`.
    pub what: String,
    /// Cable of the library; `None` where none fits.
    pub cable: Option<String>,
    /// Size.
    pub gauge: Gauge,
    /// Cores in its sheath.
    pub cores: u32,
    /// Colour; empty for a sheath, whose cores have theirs.
    pub colour: String,
    /// The pieces.
    pub pieces: Vec<Piece>,
    /// The plan; `None` where a piece is longer than anything sold.
    pub plan: Option<CutPlan>,
    /// Why there is no plan.
    pub reason: Option<String>,
    /// Lowest and highest price of what is bought, by the metre of the library.
    pub price: Option<(Money, Money)>,
    /// Document behind the lengths sold.
    pub source: (&'static str, Provenance),
}

/// Cable without a part is told apart by what it is.
type Key = (Gauge, u32, String, Option<String>, String);

/// The plans, by size, cable and colour. Single cores are cut colour by colour; the cores of one sheath are one piece.
pub fn cable_cuts(rows: &[CableRow], library: &Library, rules: RuleSet) -> Vec<CableCut> {
    let mut kinds: BTreeMap<Key, Vec<&CableRow>> = BTreeMap::new();
    for row in rows {
        let tinned = if row.tinned { ", tinned" } else { "" };
        let cores = if row.cores > 1 { format!("{} cores of ", row.cores) } else { String::new() };
        let what = format!("{cores}{}, {}{tinned}", row.gauge, row.insulation);
        let colour = if row.cores > 1 { String::new() } else { row.colour.name.clone() };
        kinds.entry((row.gauge, row.cores, what, row.cable.clone(), colour)).or_default().push(row);
    }
    kinds.into_iter().rev().map(|(key, rows)| cut(key, &rows, library, rules)).collect()
}

fn cut(
    (gauge, cores, what, cable, colour): Key,
    rows: &[&CableRow],
    library: &Library,
    rules: RuleSet,
) -> CableCut {
    let pieces: Vec<Piece> =
        if cores > 1 { sheaths(rows) } else { rows.iter().map(|row| piece(row)).collect() };
    let (sold, source) = cable_stock(rules, gauge, cores);
    let stock: Vec<Stock> = sold.iter().map(|length| Stock { length: *length, price: None }).collect();
    let (plan, reason) = match cut_plan(&pieces, &stock, Metres::zero()) {
        Ok(plan) => (Some(plan), None),
        Err(error) => (None, Some(error.to_string())),
    };
    let part = cable.as_deref().and_then(|id| id.strip_prefix("cable."));
    let part = part.and_then(|id| library.cable.iter().find(|(name, _)| name.as_str() == id));
    let price = part.zip(plan.as_ref()).map(|((_, part), plan)| {
        let (low, high) = part.price();
        let of = |each: Money| Money::new(each.get() * plan.bought.get());
        (of(low), of(high))
    });
    CableCut { what, cable, gauge, cores, colour, pieces, plan, reason, price, source }
}

fn piece(row: &CableRow) -> Piece {
    Piece { name: format!("run {}, {}", row.number, row.id), length: row.length_cut }
}

/// One piece a sheath: of each run the pole that is longest in all, as in the parts list.
fn sheaths(rows: &[&CableRow]) -> Vec<Piece> {
    let mut runs: BTreeMap<u32, BTreeMap<Pole, Vec<&CableRow>>> = BTreeMap::new();
    for row in rows {
        runs.entry(row.number).or_default().entry(row.pole).or_default().push(row);
    }
    let mut pieces = Vec::new();
    for poles in runs.values() {
        let length = |rows: &[&CableRow]| rows.iter().map(|row| row.length_cut.get()).sum::<f64>();
        let longest =
            poles.values().reduce(|best, next| if length(next) > length(best) { next } else { best });
        pieces.extend(longest.into_iter().flatten().map(|row| Piece {
            name: format!("run {}, sheath of {}", row.number, row.circuit),
            length: row.length_cut,
        }));
    }
    pieces
}

/// Which piece from which reel, in the order of cutting, with what is left on the reel after each cut.
pub fn plan_table(cuts: &[CableCut], rules: RuleSet) -> Table {
    let is_na = rules == RuleSet::Na;
    let mut columns = vec![
        words("cable", "Cable", 28.0),
        words("colour", "Colour", 16.0),
        numbers("reel", "Reel", "", 0, 7.0),
        numbers("reel_m", "Length of reel", "m", 2, 10.0),
        numbers("cut", "Cut", "", 0, 7.0),
        words("piece", "Piece", 40.0),
        numbers("length_m", "Length to cut", "m", 2, 10.0).summed(),
    ];
    if is_na {
        columns.push(numbers("length_ft", "Length to cut", "ft", 2, 10.0).summed());
    }
    columns.push(numbers("rest_m", "Left after the cut", "m", 2, 10.0));
    let mut table = Table::new("cut-plan", "Cut plan", columns);
    for cut in cuts {
        let mut push = |reel: Cell, length: Cell, order: Cell, piece: &Piece, rest: Cell| {
            let metres = piece.length.get();
            let mut cells: Vec<Cell> = vec![
                cut.what.as_str().into(),
                cut.colour.as_str().into(),
                reel,
                length,
                order,
                piece.name.as_str().into(),
                metres.into(),
            ];
            if is_na {
                cells.push((metres / FOOT).into());
            }
            cells.push(rest);
            table.push(cells);
        };
        let Some(plan) = &cut.plan else {
            cut.pieces
                .iter()
                .for_each(|piece| push(Cell::Empty, Cell::Empty, Cell::Empty, piece, Cell::Empty));
            continue;
        };
        for (number, reel) in (1u32..).zip(&plan.reels) {
            let mut left = reel.length.get();
            for (order, piece) in (1u32..).zip(reel.pieces.iter().filter_map(|ix| cut.pieces.get(*ix))) {
                left = (left - piece.length.get()).max(0.0);
                push(number.into(), reel.length.get().into(), order.into(), piece, left.into());
            }
        }
    }
    table
}

/// What to buy of each cable, what is left of it, and how far the plan is proven.
pub fn order_table(cuts: &[CableCut], rules: RuleSet) -> Table {
    let is_na = rules == RuleSet::Na;
    let columns = vec![
        words("cable", "Cable", 28.0),
        words("part", "Part", 24.0),
        words("colour", "Colour", 16.0),
        words("buy", "To buy", 26.0),
        numbers("bought_m", "Bought", "m", 2, 10.0).summed(),
        numbers("used_m", "Used", "m", 2, 10.0).summed(),
        numbers("left_m", "Left over", "m", 2, 10.0).summed(),
        numbers("bound_m", "No plan buys less than", "m", 2, 11.0),
        words("proof", "Proof", 28.0),
        numbers("price_low", "Price, low", "", 2, 10.0).summed(),
        numbers("price_high", "Price, high", "", 2, 10.0).summed(),
        words("source", "Source of the lengths sold", 20.0),
    ];
    let mut table = Table::new("cable-order", "Cable to buy", columns);
    for cut in cuts {
        let plan = cut.plan.as_ref();
        let metres = |read: fn(&CutPlan) -> f64| plan.map(read);
        // The rest is the difference of what is shown, so that the three columns agree.
        let shown = |number: f64| crate::table::rounded(number, 2);
        table.push(vec![
            cut.what.as_str().into(),
            cut.cable.clone().unwrap_or_default().into(),
            cut.colour.as_str().into(),
            plan.map_or_else(|| "nothing sold is long enough".to_owned(), |plan| to_buy(plan, is_na)).into(),
            metres(|plan| plan.bought.get()).into(),
            metres(|plan| plan.used.get()).into(),
            plan.map(|plan| shown(plan.bought.get()) - shown(plan.used.get())).into(),
            metres(|plan| plan.bound).into(),
            plan.map_or_else(|| cut.reason.clone().unwrap_or_default(), proof).into(),
            cut.price.map(|(low, _)| low.get()).into(),
            cut.price.map(|(_, high)| high.get()).into(),
            format!("{} ({})", cut.source.0, cut.source.1).into(),
        ]);
    }
    table
}

/// `2 x 25 m, 1 x 10 m`, in feet for `na`.
fn to_buy(plan: &CutPlan, is_na: bool) -> String {
    let mut kinds: Vec<(Metres, u32)> = Vec::new();
    for reel in &plan.reels {
        match kinds.last_mut() {
            Some((length, count)) if *length == reel.length => *count += 1,
            _ => kinds.push((reel.length, 1)),
        }
    }
    let shown = |length: Metres| match is_na {
        true => format!("{} ft", crate::table::rounded(length.get() / FOOT, 2)),
        false => format!("{} m", crate::table::rounded(length.get(), 2)),
    };
    let words: Vec<String> =
        kinds.into_iter().map(|(length, count)| format!("{count} x {}", shown(length))).collect();
    words.join(", ")
}

fn proof(plan: &CutPlan) -> String {
    match plan.proof {
        Proof::ReachesBound => "best: nothing less can do".to_owned(),
        Proof::Searched => "best: every other plan was tried".to_owned(),
        Proof::Within(gap) => format!("within {:.2} % of the best", gap.get() * 100.0),
    }
}
