//! The parts of the booklet, one function each.
//! Never: computes a value; what is worded here holds values that the papers below have shown already.
//! Start at [`brief`], the first part; `content.rs` has their order.

// long: one function for each part of one booklet, which share their small helpers

use std::collections::BTreeSet;

use pack::{Step, Summary, Table, measure_line};
use reference::Reference;
use rules::{Finding, Severity};

use crate::content::{Block, FindingBlock, Pages, Part, StepBlock};
use crate::pictures::{chart, drawing, true_size};
use crate::readings::stretches;
use crate::tables::{Laid, lay, shown};
use crate::views::{self, View};
use crate::{BookletError, Paper, Picture};

fn head(text: &str) -> Block {
    Block::Head { text: text.to_owned(), listed: true }
}

fn text(text: impl Into<String>) -> Block {
    Block::Text { text: text.into() }
}

fn fact(name: &str, value: impl Into<String>) -> [String; 2] {
    [name.to_owned(), value.into()]
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A table of words, for what is no schedule of its own.
fn words(heads: &[&'static str], rows: impl IntoIterator<Item = Vec<String>>, paper: Paper) -> Laid {
    let mut table = Table::new("", "", heads.iter().map(|head| views::words(head, head)).collect());
    rows.into_iter().for_each(|row| table.push(row.into_iter().map(Into::into).collect()));
    lay(&table, paper)
}

/// Below the title.
pub(crate) fn subtitle(summary: &Summary) -> String {
    format!(
        "The electrical system of a {}: {} nominal, rule set {}",
        summary.craft.word(),
        summary.voltage,
        summary.rules
    )
}

/// What the booklet covers and what it does not.
pub(crate) fn scope(summary: &Summary) -> Vec<String> {
    if !summary.refusals.is_empty() {
        return vec!["This system cannot be built sensibly as it is asked for. Here stand the reasons and what would do instead; there is nothing to build from.".to_owned()];
    }
    vec![
        "This booklet holds what a person needs to buy the parts, make up the cables, build the system, prove it and hand it over.".to_owned(),
        "Every value follows from the design as it stood when the booklet was made. When the design changes, make the booklet anew and discard this one.".to_owned(),
        "Figures of the parts come from the parts library of the project; the maker's sheet of the very part that you bought governs.".to_owned(),
        "Where a source is known from memory, the list of sources says so: confirm the value before you rely on it.".to_owned(),
    ]
}

/// On the cover.
pub(crate) fn cover_facts(pages: &Pages<'_>) -> Vec<[String; 2]> {
    let summary = pages.summary;
    let mut facts = vec![fact("Project", &*summary.name)];
    if let Some(bank) = &summary.bank {
        facts.push(fact(
            "Bank",
            format!("{}, {}, of which {} usable", bank.capacity, bank.energy, bank.usable),
        ));
    }
    for inverter in &summary.inverters {
        facts.push(fact("Inverter", format!("{}, {}", inverter.title, inverter.power)));
    }
    facts.push(fact("Findings", summary.finding_counts()));
    let open = summary
        .findings
        .iter()
        .filter(|finding| finding.severity == Severity::Danger && finding.answered.is_none())
        .count();
    if open > 0 {
        facts.push(fact(
            "Open",
            format!("{open} of the dangers are not answered: do not build before they are mended"),
        ));
    }
    if summary.refusals.is_empty() {
        facts.push(fact(
            "To do",
            format!("{} steps to build, {} readings to take", pages.order.steps.len(), pages.expected.len()),
        ));
    }
    for name in ["Built by", "Date", "Serial number of the craft"] {
        facts.push(fact(name, ""));
    }
    facts
}

/// What was asked for, and what it came to.
pub(crate) fn brief(pages: &Pages<'_>) -> Part {
    let summary = pages.summary;
    let mut rows =
        vec![fact("What", summary.craft.word()), fact("Nominal voltage", summary.voltage.to_string())];
    if let Some(volts) = summary.ac_voltage {
        rows.push(fact("Alternating current", volts.to_string()));
    }
    rows.push(fact("Rule set", summary.rules.to_string()));
    if let Some(place) = &summary.place {
        rows.push(fact("Place", format!("{}, {}", place.latitude, place.longitude)));
    }
    if let Some(mass) = summary.mass {
        let of =
            summary.payload.map_or("no limit was given".to_owned(), |payload| format!("{payload} allowed"));
        rows.push(fact("Mass of the parts", format!("{mass}; {of}")));
    }
    if let Some((low, high)) = summary.price {
        let unknown = summary.schedules.as_ref().map_or(0, |schedules| schedules.parts.lines_unknown);
        rows.push(fact(
            "Price of the parts",
            format!("{:.0} to {:.0} in money; lines without a price: {unknown}", low.get(), high.get()),
        ));
    }
    if let Some(bank) = &summary.bank {
        rows.push(fact(
            "Bank",
            format!(
                "{} in series, {} in parallel: {} ({})",
                bank.series, bank.parallel, bank.battery, bank.chemistry
            ),
        ));
        rows.push(fact(
            "Capacity",
            format!("{}, {}, of which {} usable", bank.capacity, bank.energy, bank.usable),
        ));
        rows.push(fact(
            "Currents of the bank",
            format!("at most {} charging and {} discharging", bank.charge_limit, bank.discharge_limit),
        ));
        rows.push(fact("Fault current at its terminals", bank.short_circuit.to_string()));
    }
    for inverter in &summary.inverters {
        let charge = inverter.charge.map_or_else(String::new, |amps| format!("; charges with {amps}"));
        rows.push(fact(
            "Inverter",
            format!(
                "{} ({}): {}, {} in heat, surge {}; asked for at once {}{charge}",
                inverter.title,
                inverter.device,
                inverter.power,
                inverter.power_hot,
                inverter.surge,
                inverter.peak
            ),
        ));
    }
    let mut blocks = vec![Block::Facts { rows }];
    if !summary.pinned.is_empty() {
        blocks.push(head("Pinned values"));
        blocks.push(text("These were fixed by hand and not derived."));
        blocks.push(Block::Facts {
            rows: summary.pinned.iter().map(|(path, value)| fact(path, value)).collect(),
        });
    }
    if !summary.questions.is_empty() {
        blocks.push(head("Open questions"));
        blocks.push(text("Those first on which most hangs."));
        for question in &summary.questions {
            blocks.push(Block::Facts {
                rows: vec![
                    fact("Question", format!("{} (answer at {})", question.text, question.path)),
                    fact("Low end", &*question.low_result),
                    fact("High end", &*question.high_result),
                ],
            });
        }
    }
    if !summary.gaps.is_empty() {
        blocks.push(head("Parts to find"));
        blocks.push(Block::List {
            items: summary.gaps.iter().map(|gap| format!("{}: {}", gap.path, gap.need)).collect(),
        });
    }
    if !summary.unused.is_empty() {
        blocks.push(head("Not used"));
        let line = |unused: &model::Unused| format!("{}: {}. {}", unused.intent, unused.message, unused.mend);
        blocks.push(Block::List { items: summary.unused.iter().map(line).collect() });
    }
    Part { title: "Brief", blocks }
}

/// Why nothing is issued.
pub(crate) fn refusal(summary: &Summary) -> Part {
    let mut blocks = vec![
        text(
            "No schedule, drawing or build order is issued, because this cannot be built sensibly as it is asked for.",
        ),
        Block::List {
            items: summary
                .refusals
                .iter()
                .map(|refusal| format!("{} {} (at {})", refusal.what, refusal.numbers, refusal.intent))
                .collect(),
        },
        head("What would do instead"),
    ];
    if summary.alternatives.is_empty() {
        blocks.push(text(
            "No change that was tried makes it buildable; ask for less power, or for a higher voltage.",
        ));
    } else {
        let line = |alternative: &model::Alternative| {
            let edits: Vec<String> = alternative.edits.iter().map(model::Edit::shown).collect();
            format!("{}: {} ({})", alternative.title, alternative.outcome, edits.join(", "))
        };
        blocks.push(Block::List { items: summary.alternatives.iter().map(line).collect() });
    }
    Part { title: "Refused", blocks }
}

/// Drawings, charts and labels, told apart by name and by whether they have a true size.
pub(crate) fn sorted(pictures: &[Picture]) -> [Vec<&Picture>; 3] {
    const CHARTS: [&str; 3] = ["charge", "months", "worst-week"];
    let mut sorted = [Vec::new(), Vec::new(), Vec::new()];
    for picture in pictures {
        let at = match picture.name.as_str() {
            name if CHARTS.contains(&name) => 1,
            name if name.starts_with("label") => 2,
            _ => 0,
        };
        if let Some(list) = sorted.get_mut(at) {
            list.push(picture);
        }
    }
    sorted
}

/// Tables that have a part of their own, by name.
const ELSEWHERE: [&str; 6] = ["energy", "year", "findings", "assumptions", "because", "build-order"];

/// A schedule as it stands on paper, each of its tables upright or on its side.
fn table_blocks(table: &Table, paper: Paper) -> Vec<Block> {
    let set = |view: View| {
        let laid = lay(&view.table, paper);
        let is_landscape = laid.is_landscape;
        let mut blocks = vec![head(view.table.title), Block::Table(laid)];
        blocks.extend(view.note.map(|text| Block::Note { text }));
        if is_landscape { vec![Block::Landscape { blocks }] } else { blocks }
    };
    views::views(table).into_iter().flat_map(set).collect()
}

/// Joins neighbours that lie on their side, so that they share pages.
fn joined(blocks: Vec<Block>) -> Vec<Block> {
    let mut done: Vec<Block> = Vec::new();
    for block in blocks {
        match (block, done.last_mut()) {
            (Block::Landscape { blocks }, Some(Block::Landscape { blocks: before })) => before.extend(blocks),
            (block, _) => done.push(block),
        }
    }
    done
}

/// Tables of the given names, in this order.
fn named(pages: &Pages<'_>, names: &[&str], paper: Paper) -> Vec<Block> {
    let tables = names.iter().filter_map(|name| pages.tables.iter().find(|table| table.name == *name));
    joined(
        tables.filter(|table| !table.rows.is_empty()).flat_map(|table| table_blocks(table, paper)).collect(),
    )
}

/// Whether it lasts.
pub(crate) fn energy(pages: &Pages<'_>, charts: &[&Picture], paper: Paper) -> Result<Part, BookletError> {
    let summary = pages.summary;
    let plan = &summary.energy;
    let mut rows = vec![fact("Largest power drawn from the bank at once", plan.peak.to_string())];
    if let Some(study) = &summary.study {
        let (share, low, high) = study.running_out;
        let (life, least, most) = study.bank_life;
        let autonomy = study.autonomy.map_or("more than two months".to_owned(), |hours| hours.to_string());
        rows.push(fact("Weather", &*study.weather));
        rows.push(fact(
            "Without any charging",
            format!(
                "a full bank lasts {autonomy} in the hardest month of use; wanted {}",
                plan.autonomy_wanted
            ),
        ));
        rows.push(fact(
            "Running out",
            format!(
                "in {share} of years, 95 % sure between {low} and {high}, by {} years of drawn weather",
                study.years
            ),
        ));
        rows.push(fact(
            "Life of the bank",
            format!("four fifths of its capacity are left after about {life:.0} years, somewhere from {least:.0} to {most:.0}"),
        ));
    } else {
        rows.push(fact(
            "Without charging",
            format!("it lasts {}; wanted {}", plan.autonomy, plan.autonomy_wanted),
        ));
    }
    let mut blocks = vec![Block::Facts { rows }];
    for picture in charts {
        blocks.push(chart(picture, paper)?);
    }
    blocks.extend(named(pages, &["energy", "year"], paper));
    if let Some(study) = &summary.study
        && !study.notes.is_empty()
    {
        blocks.push(head("Taken for granted"));
        blocks.push(Block::List { items: study.notes.clone() });
    }
    Ok(Part { title: "Energy", blocks })
}

/// What the rules found, the dangers first, each with its answer.
pub(crate) fn findings(summary: &Summary) -> Part {
    let mut blocks = vec![text(format!("{}.", capital(&summary.finding_counts())))];
    if summary.findings.is_empty() {
        blocks = vec![text("The rules found nothing.")];
    }
    for (severity, title) in
        [(Severity::Danger, "Dangers"), (Severity::Warning, "Warnings"), (Severity::Advice, "Advice")]
    {
        let mut of = summary.findings.iter().filter(|finding| finding.severity == severity).peekable();
        if of.peek().is_some() {
            blocks.push(head(title));
            blocks.extend(of.map(|finding| Block::Finding(Box::new(worded(finding)))));
        }
    }
    Part { title: "Findings", blocks }
}

fn worded(finding: &Finding) -> FindingBlock {
    let mends: Vec<&str> = finding.fixes.iter().map(|fix| fix.what.as_str()).collect();
    let cites: Vec<String> = finding.cite.iter().map(ToString::to_string).collect();
    let answer = match (&finding.answered, finding.severity) {
        (Some(reason), _) => reason.clone(),
        (None, Severity::Danger) => "not answered: mend it before building".to_owned(),
        (None, _) => String::new(),
    };
    let mut rows = vec![
        fact("Why it matters", &*finding.why),
        fact("Numbers", finding.because.join("; ")),
        fact("Mend", mends.join("; or ")),
        fact("Answer", answer),
        fact("Source", cites.join("; ")),
        fact("From", &*finding.intent),
    ];
    rows.retain(|[_, value]| !value.is_empty());
    FindingBlock {
        severity: finding.severity.word(),
        rule: finding.rule.to_owned(),
        place: finding.place.clone(),
        message: finding.message.clone(),
        rows,
    }
}

/// The drawings.
pub(crate) fn drawings(pictures: &[&Picture], paper: Paper) -> Result<Part, BookletError> {
    let mut blocks = Vec::new();
    for (at, picture) in pictures.iter().enumerate() {
        blocks.extend(drawing(picture, at == 0, paper)?);
    }
    Ok(Part { title: "Drawings", blocks: joined(blocks) })
}

/// Every schedule that has no part of its own.
pub(crate) fn schedules(pages: &Pages<'_>, paper: Paper) -> Part {
    let tables =
        pages.tables.iter().filter(|table| !ELSEWHERE.contains(&table.name) && !table.rows.is_empty());
    let blocks: Vec<Block> =
        views::sorted(tables).into_iter().flat_map(|table| table_blocks(table, paper)).collect();
    // Upright ones first: each change of the way the paper lies costs the rest of a page.
    let (lying, upright): (Vec<_>, Vec<_>) =
        blocks.into_iter().partition(|block| matches!(block, Block::Landscape { .. }));
    let blocks = upright.into_iter().chain(lying).collect();
    Part { title: "Schedules", blocks: joined(blocks) }
}

/// What to do, step by step.
pub(crate) fn order(pages: &Pages<'_>) -> Part {
    let order = pages.order;
    if order.steps.is_empty() {
        return Part { title: "Build order", blocks: Vec::new() };
    }
    let mut blocks = vec![
        text(&*order.safety),
        text(
            "Work from top to bottom. Tick the box of a step when it is done, and that of a reading when it is in order. \
             Go on only when every reading of a step is in order. The name in brackets stays when the numbers change.",
        ),
    ];
    let mut stage = None;
    for step in &order.steps {
        if stage != Some(step.stage) {
            stage = Some(step.stage);
            blocks.push(head(step.stage.title()));
        }
        blocks.push(Block::Step(Box::new(step_block(pages, step))));
    }
    Part { title: "Build order", blocks }
}

/// Needs shown with their reason; where there are more, the rest is counted.
const NEEDS_SHOWN: usize = 4;
/// Letters from which a step may go over a page.
const LONG_STEP: usize = 1500;

fn step_block(pages: &Pages<'_>, step: &Step) -> StepBlock {
    let need = |need: &pack::Need| {
        let number = pages.order.find(&need.step).map_or(0, |step| step.number);
        format!("step {number} ({})", need.because)
    };
    let mut after: Vec<String> = step.needs.iter().take(NEEDS_SHOWN).map(need).collect();
    if step.needs.len() > NEEDS_SHOWN {
        after.push(format!("and {} more", step.needs.len() - NEEDS_SHOWN));
    }
    let mut rows = vec![
        fact("People", if step.people > 1 { step.people.to_string() } else { String::new() }),
        fact("Dead", step.dead.join("; ")),
        fact("Live all the same", step.live.join(", ")),
        fact("Devices", step.parts.devices.join(", ")),
        fact("Conductors", step.parts.conductors.join(", ")),
        fact("Tools", step.tools.join(", ")),
        fact(
            "Wait",
            step.wait.as_ref().map_or_else(String::new, |wait| format!("{}, {}", wait.least, wait.what)),
        ),
        fact("Why", &*step.why),
        fact("After", after.join("; ")),
    ];
    rows.retain(|[_, value]| !value.is_empty());
    let measures: Vec<String> = step.measures.iter().map(measure_line).collect();
    let letters: usize =
        step.lines.iter().chain(&measures).chain(rows.iter().flatten()).map(String::len).sum();
    StepBlock {
        number: step.number,
        title: step.title.clone(),
        id: step.id.clone(),
        cautions: step.cautions.clone(),
        lines: step.lines.clone(),
        is_long: letters > LONG_STEP || measures.len() > 12,
        measures,
        rows,
    }
}

/// Sheets to fill in at first power-up.
pub(crate) fn commissioning(pages: &Pages<'_>) -> Part {
    let mut blocks = Vec::new();
    if pages.expected.is_empty() {
        return Part { title: "Commissioning", blocks };
    }
    blocks.push(text(
        "Write down every reading. Compare it with the range before you take the next; a reading outside its range is \
         looked into before anything else is switched on.",
    ));
    blocks.push(Block::Facts {
        rows: ["Measured by", "Date", "Air temperature", "Meter, and its last calibration"]
            .map(|name| fact(name, ""))
            .to_vec(),
    });
    let mut first = 1;
    for stage in pages.expected.chunk_by(|one, next| one.stage == next.stage) {
        blocks.extend(stage.first().map(|reading| head(reading.stage.title())));
        blocks.push(Block::Readings { stretches: stretches(first, stage) });
        first += stage.len();
    }
    Part { title: "Commissioning", blocks }
}

/// The sheets of labels.
pub(crate) fn labels(pictures: &[&Picture], paper: Paper) -> Result<Part, BookletError> {
    let mut blocks = Vec::new();
    if !pictures.is_empty() {
        blocks.push(text("The label sheets follow, without head and foot. Print them on label paper at 100 %; `labels.pdf` holds the same sheets alone."));
    }
    for picture in pictures {
        blocks.push(true_size(picture, false, paper)?);
    }
    Ok(Part { title: "Labels", blocks })
}

/// What was taken for granted, and why each value is what it is.
pub(crate) fn reasons(pages: &Pages<'_>, paper: Paper) -> Part {
    let mut blocks = named(pages, &["assumptions"], paper);
    if let Some(table) = pages.tables.iter().find(|table| table.name == "because" && !table.rows.is_empty()) {
        blocks.push(head(table.title));
        blocks.extend(table.rows.iter().map(|row| {
            let cell = |key: &str| {
                let at = table.columns.iter().position(|column| column.key == key);
                let found = at.and_then(|at| Some(shown(row.get(at)?, table.columns.get(at)?)));
                found.unwrap_or_default()
            };
            Block::Reason {
                path: cell("path"),
                value: cell("value"),
                step: cell("step"),
                origins: cell("origins"),
                pinned: cell("pinned_over"),
            }
        }));
    }
    Part { title: "Reasons", blocks }
}

/// Every document that a number in the booklet comes from.
pub(crate) fn sources(pages: &Pages<'_>, paper: Paper) -> Part {
    let mut known: BTreeSet<&str> = BTreeSet::new();
    let mut rows: Vec<Vec<String>> = Vec::new();
    for line in &pages.summary.sources {
        known.insert(&line.key);
        rows.push(vec![
            line.key.clone(),
            line.body.clone(),
            line.title.clone(),
            line.edition.clone(),
            line.provenance.to_string(),
        ]);
    }
    // Limits of readings cite documents too.
    let measures =
        pages.order.steps.iter().flat_map(|step| &step.measures).filter_map(|measure| measure.source);
    for key in measures {
        if known.insert(key)
            && let Some(document) = Reference::standard().sources().get(key)
        {
            rows.push(vec![
                key.to_owned(),
                document.body.clone(),
                document.title.clone(),
                format!("{}, {}", document.edition, document.year),
                if document.read == "memory" { "memory" } else { "published" }.to_owned(),
            ]);
        }
    }
    rows.sort();
    if rows.is_empty() {
        return Part { title: "Sources", blocks: Vec::new() };
    }
    let heads = ["Key", "Issued by", "Title", "Edition", "Least known row"];
    let laid = words(&heads, rows, paper);
    let is_landscape = laid.is_landscape;
    let table = Block::Table(laid);
    let blocks = vec![text("What is known from memory is to be confirmed before relying on it."), table];
    Part { title: "Sources", blocks: if is_landscape { vec![Block::Landscape { blocks }] } else { blocks } }
}
