//! How each schedule stands on paper: in which order, what shares a column, and what is said once below the table.
//! Never: changes a value, or leaves a column out that stands in no other table of the booklet.
//! Start at [`views`]; [`PLANS`] has the schedules that are too wide for a page as they are.

use std::collections::BTreeSet;

use pack::{Cell, Column, Table};

use crate::tables::shown;

/// A schedule, or a part of one, as it stands on paper.
#[derive(Debug)]
pub(crate) struct View {
    pub(crate) table: Table,
    /// Said once below it.
    pub(crate) note: Option<String>,
}

/// How one schedule is shown.
struct Plan {
    /// Its name.
    table: &'static str,
    /// The tables that it becomes: a title, and their columns.
    sheets: &'static [(&'static str, &'static [Shared])],
    /// Columns whose values stand in another table: which one a reader looks into.
    elsewhere: &'static [&'static str],
}

/// Columns that share one: its head, their keys, and what stands between the values. One key alone keeps its own head.
struct Shared(&'static str, &'static [&'static str], &'static str);

const fn own(key: &'static [&'static str]) -> Shared {
    Shared("", key, "")
}

/// From what is bought to where it is screwed. What is not named here follows in its own order.
const ORDER: [&str; 17] = [
    "parts",
    "cable-order",
    "consumables",
    "tools",
    "board-holes",
    "holes",
    "wall-holes",
    "cables",
    "cut-plan",
    "ends",
    "crimps",
    "torque",
    "fuses",
    "spare-fuses",
    "circuits",
    "loads",
    "energy",
];

const PLANS: &[Plan] = &[
    Plan {
        table: "parts",
        sheets: &[(
            "Parts",
            &[
                own(&["kind"]),
                Shared("Part", &["title", "id"], ": "),
                Shared("Quantity, spares in it", &["quantity", "counted_in"], " "),
                own(&["spares"]),
                own(&["used"]),
                Shared("Price of one", &["unit_price_low", "unit_price_high"], " to "),
                own(&["price_low"]),
                own(&["price_high"]),
                own(&["unit_mass_kg"]),
                own(&["mass_kg"]),
            ],
        )],
        elsewhere: &[],
    },
    Plan {
        table: "cable-order",
        sheets: &[(
            "Cable to buy",
            &[
                Shared("Cable", &["cable", "colour", "part"], "; "),
                own(&["buy"]),
                own(&["bought_m"]),
                own(&["used_m"]),
                own(&["left_m"]),
                own(&["bound_m"]),
                own(&["proof"]),
                own(&["price_low"]),
                own(&["price_high"]),
            ],
        )],
        elsewhere: &[],
    },
    Plan {
        table: "consumables",
        sheets: &[(
            "Consumables",
            &[
                own(&["what"]),
                own(&["part"]),
                own(&["needed"]),
                Shared("To buy, spare in it", &["buy", "counted_in"], " "),
                own(&["how"]),
            ],
        )],
        elsewhere: &[],
    },
    Plan {
        table: "cables",
        sheets: &[
            (
                "Cables",
                &[
                    own(&["run"]),
                    own(&["id"]),
                    Shared("From", &["from", "from_terminal"], ", "),
                    Shared("To", &["to", "to_terminal"], ", "),
                    own(&["conductor"]),
                    Shared("Colour", &["colour", "colour_letter"], " "),
                    own(&["sheath"]),
                    own(&["length_cut_m"]),
                    own(&["length_cut_ft"]),
                ],
            ),
            (
                "Cables: figures",
                &[
                    own(&["run"]),
                    own(&["circuit"]),
                    own(&["pole"]),
                    own(&["cores"]),
                    Shared("Cable", &["cable_part", "insulation"], ", "),
                    own(&["tinned"]),
                    own(&["length_m"]),
                    own(&["length_ft"]),
                    own(&["current_a"]),
                    own(&["drop_v"]),
                    own(&["drop_percent"]),
                    own(&["protected_by"]),
                    own(&["zone"]),
                ],
            ),
        ],
        // In the table of ends.
        elsewhere: &["from_end", "from_strip_mm", "from_torque_nm", "to_end", "to_strip_mm", "to_torque_nm"],
    },
    Plan {
        table: "ends",
        sheets: &[(
            "Ends",
            &[
                own(&["run"]),
                own(&["conductor"]),
                Shared("At", &["device", "terminal"], ", "),
                own(&["end"]),
                own(&["strip_mm"]),
                Shared("Heat-shrink, length [mm]", &["shrink", "shrink_mm"], ", "),
                Shared("Stud, lug from the pad", &["stud", "place_on_stud"], ", "),
                own(&["torque_nm"]),
                Shared("Least to most [N·m]", &["torque_least_nm", "torque_most_nm"], " to "),
            ],
        )],
        // Size and colour in the table of cables, the part in that of crimps.
        elsewhere: &["size", "colour", "part"],
    },
];

/// Most sources that are said below a table in place of a column.
const SOURCES: usize = 8;

/// Schedules in the order in which they are used.
pub(crate) fn sorted<'t>(tables: impl Iterator<Item = &'t Table>) -> Vec<&'t Table> {
    let mut tables: Vec<&Table> = tables.collect();
    tables.sort_by_key(|table| ORDER.iter().position(|name| *name == table.name).unwrap_or(ORDER.len()));
    tables
}

/// What a schedule becomes on paper. A column in which nothing stands is left out.
pub(crate) fn views(table: &Table) -> Vec<View> {
    const AS_IT_IS: Plan = Plan { table: "", sheets: &[("", &[])], elsewhere: &[] };
    let plan = PLANS.iter().find(|plan| plan.table == table.name).unwrap_or(&AS_IT_IS);
    let named: BTreeSet<&str> =
        plan.sheets.iter().flat_map(|(_, columns)| *columns).flat_map(|shared| shared.1).copied().collect();
    // What a plan does not know of is never lost: it follows in the first table.
    let is_left = |key: &&str| !named.contains(key) && !plan.elsewhere.contains(key);
    let mut rest: Vec<&str> = table.columns.iter().map(|column| column.key).filter(is_left).collect();
    let sheets = plan.sheets.iter().map(|(title, columns)| {
        let title = if title.is_empty() { table.title } else { title };
        view(table, title, columns, std::mem::take(&mut rest))
    });
    sheets.filter(|view| !view.table.columns.is_empty()).collect()
}

fn view(table: &Table, title: &'static str, shared: &[Shared], rest: Vec<&str>) -> View {
    let find = |key: &str| table.columns.iter().position(|column| column.key == key);
    let mut columns: Vec<(Column, Vec<usize>, &str)> = Vec::new();
    for Shared(head, keys, between) in shared {
        let at: Vec<usize> = keys.iter().filter_map(|key| find(key)).collect();
        let Some(first) = at.first().and_then(|first| table.columns.get(*first)) else { continue };
        let column = if at.len() == 1 { first.clone() } else { words(first.key, head) };
        columns.push((column, at, between));
    }
    for at in rest.iter().filter_map(|key| find(key)) {
        columns.extend(table.columns.get(at).map(|column| (column.clone(), vec![at], "")));
    }
    let is_filled =
        |at: &usize| table.rows.iter().any(|row| row.get(*at).is_some_and(|cell| *cell != Cell::Empty));
    columns.retain(|(_, at, _)| at.iter().any(is_filled));
    let sources = columns.iter().position(|(column, ..)| column.key == "source");
    let mut note = None;
    if let Some(at) = sources {
        let values: BTreeSet<String> = table
            .rows
            .iter()
            .filter_map(|row| row.get(*columns.get(at)?.1.first()?))
            .filter_map(|cell| if let Cell::Text(text) = cell { Some(text.clone()) } else { None })
            .collect();
        if values.len() <= SOURCES {
            columns.remove(at);
            note = Some(format!("Sources: {}.", values.into_iter().collect::<Vec<_>>().join("; ")));
        }
    }
    let mut made = Table::new(table.name, title, columns.iter().map(|(column, ..)| column.clone()).collect());
    for row in &table.rows {
        made.push(columns.iter().map(|(_, at, between)| cell(table, row, at, between)).collect());
    }
    View { table: made, note }
}

/// A column of words.
pub(crate) fn words(key: &'static str, head: &'static str) -> Column {
    Column { key, head, unit: "", decimals: 0, width: 10.0, has_total: false }
}

/// A cell, or several as words.
fn cell(table: &Table, row: &[Cell], at: &[usize], between: &str) -> Cell {
    if let [only] = at {
        return row.get(*only).cloned().unwrap_or(Cell::Empty);
    }
    let words: Vec<String> = at
        .iter()
        .filter_map(|at| match row.get(*at)? {
            // Among words, decimals that say nothing only take room.
            Cell::Number(number) => Some(number.to_string()),
            other => Some(shown(other, table.columns.get(*at)?)),
        })
        .filter(|words| !words.is_empty())
        .collect();
    Cell::from(words.join(between))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ends() -> Table {
        let columns = ["run", "device", "terminal", "size", "stack", "source"].map(|key| words(key, key));
        let mut table = Table::new("ends", "Ends", columns.to_vec());
        table.push(["1", "bank", "positive", "6 AWG", "1 of 2", "din-1 (memory)"].map(Cell::from).to_vec());
        table.push(["2", "bank", "", "6 AWG", "", "din-1 (memory)"].map(Cell::from).to_vec());
        table
    }

    #[test]
    fn columns_share_and_nothing_unknown_is_lost() {
        let [view] = &views(&ends())[..] else { panic!("one table") };
        let heads: Vec<&str> = view.table.columns.iter().map(|column| column.head).collect();
        assert_eq!(heads, ["run", "At", "stack"]);
        assert_eq!(view.table.rows[0], ["1", "bank, positive", "1 of 2"].map(Cell::from));
        assert_eq!(view.table.rows[1], ["2", "bank", ""].map(Cell::from));
        assert_eq!(view.note.as_deref(), Some("Sources: din-1 (memory)."));
    }

    #[test]
    fn a_table_without_a_plan_keeps_all_that_is_filled() {
        let mut table =
            Table::new("tools", "Tools", ["tool", "range", "why"].map(|key| words(key, key)).to_vec());
        table.push(["saw", "", "holes"].map(Cell::from).to_vec());
        let [view] = &views(&table)[..] else { panic!("one table") };
        assert_eq!(view.table.rows, [["saw", "holes"].map(Cell::from).to_vec()]);
        assert_eq!(view.note, None);
    }

    #[test]
    fn schedules_stand_in_the_order_of_their_use() {
        let tables = ["loads", "unknown", "parts", "ends"].map(|name| Table::new(name, "", Vec::new()));
        let names: Vec<&str> = sorted(tables.iter()).iter().map(|table| table.name).collect();
        assert_eq!(names, ["parts", "ends", "loads", "unknown"]);
    }
}
