//! Tools needed, with the ranges that they must cover, from what stands in the schedules and the build order.
//! Never: names a tool that nothing in this system asks for.
//! Start at [`tools`].

use std::collections::{BTreeMap, BTreeSet};

use quantity::{Gauge, Metres, Written};
use serde::Serialize;

use crate::ends::FittingKind;
use crate::holes::{HoleRow, Lining};
use crate::made_ends::EndRow;
use crate::order::BuildOrder;
use crate::schedules::Schedules;
use crate::table::{Table, words};

/// One tool.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ToolRow {
    /// The tool.
    pub tool: String,
    /// What it must cover; empty where any will do.
    pub range: String,
    /// What it is for.
    pub used: String,
}

/// The tools, by name.
pub fn tools(schedules: &Schedules, order: &BuildOrder) -> Vec<ToolRow> {
    let (cables, ends) = (&schedules.cables, &schedules.ends);
    let mut steps: BTreeMap<&str, Vec<u32>> = BTreeMap::new();
    for step in &order.steps {
        for tool in &step.tools {
            steps.entry(tool).or_default().push(step.number);
        }
    }
    let row = |(tool, numbers): (&str, Vec<u32>)| {
        let noun = if numbers.len() == 1 { "step" } else { "steps" };
        let used = format!("{noun} {}", spans(&numbers));
        (tool.to_owned(), ToolRow { tool: tool.to_owned(), range: String::new(), used })
    };
    let mut tools: BTreeMap<String, ToolRow> = steps.into_iter().map(row).collect();
    let mut add = |tool: &str, range: String, used: &str| {
        let row = tools.entry(tool.to_owned()).or_insert_with(|| ToolRow {
            tool: tool.to_owned(),
            range: String::new(),
            used: used.to_owned(),
        });
        row.range = range;
    };
    for (kind, tool, used) in [
        (FittingKind::Lug, "crimping tool with a die for each lug", "lugs"),
        (FittingKind::Ferrule, "ferrule tool", "ferrules"),
        (FittingKind::ArrayConnector, "crimper for array connectors", "array leads"),
    ] {
        let is_own = |end: &&EndRow| {
            end.kind == kind || (kind == FittingKind::Lug && end.kind == FittingKind::BondLug)
        };
        if let Some(range) = sizes(ends.iter().filter(is_own).map(|end| end.gauge)) {
            add(tool, range, used);
        }
    }
    if let Some(range) = sizes(cables.iter().map(|row| row.gauge)) {
        add("cable cutter", range.clone(), "every cable");
        add("stripper", range, "every end");
    }
    if ends.iter().any(|end| end.shrink.is_some()) {
        add("hot-air gun", String::new(), "heat-shrink");
    }
    torque(ends, &mut add);
    let walls = schedules.vehicle.as_ref().map(|vehicle| vehicle.holes.as_slice()).unwrap_or_default();
    drills(&schedules.holes, &schedules.board_holes, walls, &mut add);
    if cables.iter().any(|row| row.pole.is_ac()) {
        add("insulation tester", "250 V and 500 V".to_owned(), "insulation of the alternating side");
    } else if let Some(row) = tools.get_mut("insulation tester") {
        row.range = "250 V".to_owned();
    }
    tools.into_values().collect()
}

/// `1, 4 to 12`, of numbers in order.
fn spans(numbers: &[u32]) -> String {
    let mut spans: Vec<(u32, u32)> = Vec::new();
    for number in numbers {
        match spans.last_mut() {
            Some((_, last)) if last.checked_add(1) == Some(*number) => *last = *number,
            _ => spans.push((*number, *number)),
        }
    }
    let shown = |(first, last): &(u32, u32)| match first == last {
        true => first.to_string(),
        false => format!("{first} to {last}"),
    };
    spans.iter().map(shown).collect::<Vec<_>>().join(", ")
}

/// `16 AWG to 2/0 AWG`; `None` of nothing.
fn sizes(gauges: impl Iterator<Item = Gauge>) -> Option<String> {
    let gauges: Vec<Gauge> = gauges.collect();
    let (least, most) = (gauges.iter().min()?, gauges.iter().max()?);
    Some(if least == most { least.brief() } else { format!("{} to {}", least.brief(), most.brief()) })
}

fn torque(ends: &[EndRow], add: &mut impl FnMut(&str, String, &str)) {
    let torques = || ends.iter().filter_map(|end| end.torque);
    let least = torques().map(|(least, ..)| least).reduce(|a, b| if b < a { b } else { a });
    let most = torques().map(|(.., most)| most).reduce(|a, b| if b > a { b } else { a });
    if let Some((least, most)) = least.zip(most) {
        add("torque wrench", format!("{} to {}", least.show(), most.show()), "nuts of studs");
    }
    let mut studs: Vec<_> = ends.iter().filter_map(|end| end.stud).collect();
    studs.sort();
    studs.dedup();
    if !studs.is_empty() {
        let names: Vec<String> = studs.iter().map(ToString::to_string).collect();
        add("sockets, insulated", format!("for studs {}", names.join(", ")), "nuts of studs");
    }
}

/// Holes up to this are drilled in sheet metal, larger ones sawn. Common practice, no source.
const SAWN_FROM_MM: f64 = 32.0;
/// Holes up to this are drilled in the board with a twist drill, larger ones sawn. Common practice, no source.
const SAWN_IN_BOARD_FROM_MM: f64 = 13.5;

/// Sizes in tenths of a millimetre, so that equal ones are told once.
type Sizes = BTreeSet<i64>;

fn drills(
    holes: &[HoleRow],
    board: &[board::Hole],
    walls: &[board::WallHole],
    add: &mut impl FnMut(&str, String, &str),
) {
    let tenths = |hole: Metres| (hole.get() * 10_000.0).round() as i64;
    let from = |limit: f64| (limit * 10.0) as i64;
    let bored = holes.iter().filter(|hole| hole.lining != Lining::Flange).filter_map(|hole| hole.hole);
    let bored = bored.chain(walls.iter().map(|hole| hole.diameter));
    let (mut sawn, stepped): (Sizes, Sizes) = bored.map(tenths).partition(|size| *size >= from(SAWN_FROM_MM));
    let (wide, twisted): (Sizes, Sizes) =
        board.iter().map(|hole| tenths(hole.diameter)).partition(|size| *size >= from(SAWN_IN_BOARD_FROM_MM));
    sawn.extend(wide);
    for (tool, sizes, used) in [
        ("step drill", stepped, "holes in the body"),
        ("twist drills", twisted, "holes of the board"),
        ("hole saw", sawn, "large holes"),
    ] {
        if !sizes.is_empty() {
            let shown: Vec<String> = sizes.iter().map(|size| format!("{} mm", *size as f64 / 10.0)).collect();
            add(tool, shown.join(", "), used);
        }
    }
}

/// The tools as a table.
pub fn table(rows: &[ToolRow]) -> Table {
    let columns = vec![
        words("tool", "Tool", 30.0),
        words("range", "Range it must cover", 50.0),
        words("used", "Used for", 60.0),
    ];
    let mut table = Table::new("tools", "Tools", columns);
    for row in rows {
        table.push(vec![row.tool.as_str().into(), row.range.as_str().into(), row.used.as_str().into()]);
    }
    table
}
