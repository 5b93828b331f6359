//! The build order on paper: Markdown with boxes to tick, and a table for the workbook.
//! Never: says anything that is not in the steps.
//! Start at [`order_markdown`] and [`order_table`].

use std::collections::BTreeMap;

use super::step::{BuildOrder, Measure, Need, Stage, Step};
use crate::markdown::text_of;
use crate::table::{Cell, Table, words};

/// The build order as Markdown, one stage a chapter, with a box before each step and each reading.
pub fn order_markdown(name: &str, order: &BuildOrder) -> String {
    let mut text = format!("# Build order of {}\n\n{}\n", text_of(name), order.safety);
    text.push_str(
        "\nWork from top to bottom.\nGo on only when every reading of a step is in order.\n\
         Numbers follow the design as it is now; the name in brackets stays when it changes.\n",
    );
    let numbers = numbers_of(order);
    for stage in Stage::ALL {
        let steps: Vec<&Step> = order.steps.iter().filter(|step| step.stage == stage).collect();
        if steps.is_empty() {
            continue;
        }
        text.push_str(&format!("\n## {}\n", stage.title()));
        steps.iter().for_each(|step| one(&mut text, &numbers, step));
    }
    text
}

/// The number of each step by its id.
type Numbers<'o> = BTreeMap<&'o str, u32>;

fn numbers_of(order: &BuildOrder) -> Numbers<'_> {
    order.steps.iter().map(|step| (step.id.as_str(), step.number)).collect()
}

fn one(text: &mut String, numbers: &Numbers<'_>, step: &Step) {
    text.push_str(&format!(
        "\n### {}. {}\n\n- [ ] done ({})\n\n",
        step.number,
        text_of(&step.title),
        text_of(&step.id)
    ));
    let mut line = |line: String| {
        text.push_str(&line);
        text.push('\n');
    };
    for caution in &step.cautions {
        line(format!("> **Caution:** {}\n", text_of(caution)));
    }
    if step.people > 1 {
        line(format!("**{} people.**\n", step.people));
    }
    if !step.dead.is_empty() {
        line(format!("**Dead:** {}.\n", text_of(&step.dead.join("; "))));
    }
    if !step.live.is_empty() {
        line(format!("**Live all the same:** {}.\n", text_of(&step.live.join(", "))));
    }
    for told in &step.lines {
        line(text_of(told));
    }
    line(String::new());
    line(format!("Why: {}\n", text_of(&step.why)));
    if !step.parts.devices.is_empty() {
        line(format!("Devices: {}.\n", text_of(&step.parts.devices.join(", "))));
    }
    if !step.parts.conductors.is_empty() {
        line(format!("Conductors: {}.\n", text_of(&step.parts.conductors.join(", "))));
    }
    if !step.tools.is_empty() {
        line(format!("Tools: {}.\n", step.tools.join(", ")));
    }
    if !step.measures.is_empty() {
        line("Measure before you go on:\n".to_owned());
        for measure in &step.measures {
            line(format!("- [ ] {}", text_of(&measure_line(measure))));
        }
        line(String::new());
    }
    if let Some(wait) = &step.wait {
        line(format!("Wait: {}, {}.\n", wait.least, text_of(&wait.what)));
    }
    let needs = needs_line(numbers, step);
    if !needs.is_empty() {
        line(format!("After: {}.", text_of(&needs)));
    }
}

/// Terminals of a reading that are named; where there are more, they are counted.
const ENDS_SHOWN: usize = 2;

/// A reading in one line.
pub fn measure_line(measure: &Measure) -> String {
    let at = if measure.at.len() <= ENDS_SHOWN {
        measure.at.join(" to ")
    } else {
        format!("{} ends", measure.at.len())
    };
    let band = bounds(measure);
    let band = if band.is_empty() { band } else { format!(" ({band})") };
    format!("{} [{at}]: {}{band}", measure.what, measure.expect)
}

/// What is in order: `12 V to 13.5 V`, `at most 2 V`; empty where there is no number.
pub(crate) fn bounds(measure: &Measure) -> String {
    match (measure.low, measure.high) {
        (Some(low), Some(high)) => format!("{low} to {high}"),
        (Some(low), None) => format!("at least {low}"),
        (None, Some(high)) => format!("at most {high}"),
        (None, None) => String::new(),
    }
}

/// Needs shown with their reason; where there are more, the rest is counted.
const NEEDS_SHOWN: usize = 4;

fn needs_line(numbers: &Numbers<'_>, step: &Step) -> String {
    let one = |need: &Need| {
        let number = numbers.get(need.step.as_str()).copied().unwrap_or(0);
        format!("step {number} ({})", need.because)
    };
    let shown: Vec<String> = step.needs.iter().take(NEEDS_SHOWN).map(one).collect();
    match step.needs.len().saturating_sub(NEEDS_SHOWN) {
        0 => shown.join("; "),
        more => format!("{}; and {more} more", shown.join("; ")),
    }
}

/// The build order as a table, with an empty column to tick.
pub fn order_table(order: &BuildOrder) -> Table {
    let columns = vec![
        crate::table::numbers("step", "Step", "", 0, 6.0),
        words("done", "Done", 7.0),
        words("stage", "Stage", 12.0),
        words("title", "What", 34.0),
        words("do", "How", 70.0),
        words("measure", "Measure before going on", 70.0),
        words("reading", "Reading", 12.0),
        words("dead", "Dead", 26.0),
        words("cautions", "Cautions", 40.0),
        crate::table::numbers("people", "People", "", 0, 7.0),
        words("wait", "Wait", 16.0),
        words("after", "After steps", 20.0),
        words("id", "Name", 20.0),
    ];
    let numbers = numbers_of(order);
    let mut table = Table::new("build-order", "Build order", columns);
    for step in &order.steps {
        let measures: Vec<String> = step.measures.iter().map(measure_line).collect();
        let mut after: Vec<u32> =
            step.needs.iter().filter_map(|need| numbers.get(need.step.as_str()).copied()).collect();
        after.sort_unstable();
        table.push(vec![
            step.number.into(),
            Cell::Empty,
            step.stage.word().into(),
            step.title.as_str().into(),
            step.lines.join("\n").into(),
            short(measures.join("\n")).into(),
            Cell::Empty,
            step.dead.join("; ").into(),
            step.cautions.join("\n").into(),
            step.people.into(),
            step.wait.as_ref().map(|wait| format!("{}: {}", wait.least, wait.what)).into(),
            short(after.iter().map(u32::to_string).collect::<Vec<_>>().join(", ")).into(),
            step.id.as_str().into(),
        ]);
    }
    table
}

/// Most letters in a cell of a workbook, with room for the note of what was left out.
const CELL: usize = 32_000;

fn short(text: String) -> String {
    if text.len() <= CELL {
        return text;
    }
    let mut end = CELL;
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    format!("{}\n… the rest stands in build-order.md", &text[..end])
}
