//! The papers of a system: cable, fuse and parts schedules as CSV and one workbook, and a summary in Markdown and JSON.
//! Never: touches a file or a clock, computes a size, judges. The same system gives the same bytes.
//! Start at [`Pack::of`]; [`Schedules`] has the rows, [`Summary`] what the summary says.

mod board_holes;
mod cables;
mod checklist_page;
mod compare;
mod crimps;
mod csv_file;
mod cut;
mod deck;
mod drawn;
mod ends;
mod fuses;
mod goods;
mod holes;
mod labels;
mod made_ends;
mod markdown;
mod markup;
mod order;
mod parts_list;
mod schedules;
mod shop;
mod summary;
mod table;
mod tools;
mod wall_holes;
mod workbook;
mod year;

pub use cables::{CableEnd, CableRow, CableToBuy};
pub use checklist_page::checklist_page;
pub use compare::{Comparison, Figure, FindingLine, MonthPair, PartPair, compare};
pub use csv_file::{csv_of, safe};
pub use cut::cables::{CableCut, cable_cuts};
pub use cut::{CutError, CutPlan, Goal, Piece, Proof, Reel, Stock, cut_plan};
pub use deck::deck;
pub use ends::{Fitting, FittingKind};
pub use fuses::{FuseRow, spares};
pub use goods::{GoodsRow, goods};
pub use holes::{HoleRow, Lining, holes};
pub use labels::{Label, Labelling, label_pages, labels};
pub use made_ends::{EndRow, end_rows};
pub use markdown::{summary_markdown, text_of};
pub use order::{
    Act, BuildOrder, Deed, Measure, Need, Parts, Stage, Step, Value, Wait, build_order, measure_line,
    order_markdown, order_table,
};
pub use parts_list::{Counted, PartRow, PartsList, Worth};
pub use schedules::{BecauseRow, CircuitRow, EnergyRow, LoadRow, Schedules};
pub use shop::{HeatShrink, LabelGrid, label_grids};
pub use summary::{BankSummary, InverterSummary, MainCurrent, Question, SourceLine, Summary, summary_json};
pub use table::{Cell, Column, Table, rounded};
pub use tools::{ToolRow, tools};
pub use workbook::{Cover, workbook_of};
pub use year::{StudySummary, YearRow};

use drawing::chart;
use model::{Alternative, Library, System};
use network::Results;
use quantity::Written;
use rules::Finding;

/// What every paper that a person may act on says first.
pub const SAFETY: &str = "Mains voltage and large batteries can kill and burn. Local codes and a licensed electrician \
                          decide. Wattwain checks what it is told, not what was built.";

/// Everything that the papers are made of.
#[derive(Clone, Copy)]
pub struct Inputs<'i> {
    /// The system.
    pub system: &'i System,
    /// The parts that it was derived from.
    pub library: &'i Library,
    /// Its study.
    pub results: &'i Results,
    /// Its energy; `None` without a bank.
    pub study: Option<&'i energy::Study>,
    /// Its findings, the worst first.
    pub findings: &'i [Finding],
    /// The unanswered questions, the weightiest first.
    pub questions: &'i [Question],
    /// For a refused system: what would do, tried.
    pub alternatives: &'i [Alternative],
    /// The one-line diagram as SVG; empty where there is none.
    pub one_line: &'i str,
    /// The mounting board; `None` for a refused system, or where nobody placed one.
    pub layout: Option<&'i board::Layout>,
    /// The plan of the vehicle; `None` where nobody drew one.
    pub vehicle: Option<&'i board::Vehicle>,
    /// How labels are printed; `None` for the usual way of the rule set.
    pub labelling: Option<&'i Labelling>,
}

/// A file to write.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutFile {
    /// Its name, without a folder.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// What it is, in words for a person.
    pub what: &'static str,
}

/// Why the papers cannot be made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PackError {
    /// A table does not fit its file format, such as one of over a million rows.
    #[error("{file} cannot be written: {reason}; split the project, or leave out what it does not need")]
    Table {
        /// The file.
        file: String,
        /// What is wrong.
        reason: String,
    },
}

/// The papers of a system.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pack {
    /// The files, in the order in which a person reads them.
    pub files: Vec<OutFile>,
}

impl Pack {
    /// Makes the papers. Of a refused system there is a summary with the refusal, and no schedule.
    ///
    /// # Errors
    /// A schedule that does not fit its file format.
    pub fn of(inputs: &Inputs<'_>) -> Result<Self, PackError> {
        let order = build_order(inputs.system, inputs.results, inputs.layout);
        let mut summary = Summary::of(inputs);
        summary.build_steps = u32::try_from(order.steps.len()).unwrap_or(u32::MAX);
        let file = |name: &str, bytes, what| OutFile { name: name.to_owned(), bytes, what };
        let mut files = vec![
            file("summary.md", summary_markdown(&summary).into_bytes(), "summary"),
            file("summary.json", summary_json(&summary).into_bytes(), "summary for programs"),
        ];
        let Some(schedules) = &summary.schedules else { return Ok(Self { files }) };
        if !inputs.one_line.is_empty() {
            files.push(file("one-line.svg", inputs.one_line.as_bytes().to_vec(), "one-line diagram"));
        }
        files.extend(drawn::drawings(inputs));
        if let Some(study) = inputs.study {
            let (year, years) = (&study.year, Some(&study.years));
            let picture = |name: &str, text: String, what| file(name, text.into_bytes(), what);
            files.extend([
                picture(
                    "charge.svg",
                    chart::charge_over_the_year(years, year, Some(study.floor)),
                    "charge of the bank over the year",
                ),
                picture("months.svg", chart::months(year), "energy by month"),
                picture(
                    "worst-week.svg",
                    chart::worst_week(&year.worst_week, Some(study.floor)),
                    "the hardest week by the hour",
                ),
            ]);
        }
        files.push(file(
            "build-order.md",
            order_markdown(&inputs.system.name, &order).into_bytes(),
            "build order, step by step",
        ));
        files.push(file(
            "checklists.html",
            checklist_page(&inputs.system.name, &order).into_bytes(),
            "checklists for a phone: open in a browser, without a network",
        ));
        let tables = tables(schedules, &order);
        for table in &tables {
            let what = match table.name {
                "cables" => "cable schedule",
                "fuses" => "fuse schedule",
                "parts" => "parts list",
                "spare-fuses" => "spare fuses to carry",
                "cable-order" => "cable to buy, by reel",
                "cut-plan" => "cut plan: which piece from which reel",
                "ends" => "ends: lugs, ferrules, heat-shrink, torque",
                "crimps" => "crimps: each kind of end, strip length, heat-shrink",
                "torque" => "torque of each stud",
                "wall-holes" => "holes through walls of the vehicle",
                "board-holes" => "holes of the mounting board, with their places",
                "holes" => "hole schedule: glands and grommets",
                "consumables" => "consumables, with spare",
                "tools" => "tools with the ranges they must cover",
                "year" => "energy of a typical year by month",
                _ => continue,
            };
            files.push(file(&format!("{}.csv", table.name), csv_of(table)?, what));
        }
        let usual = Labelling::usual(inputs.system.rules);
        if let Some(labelling) = inputs.labelling.or(usual.as_ref()) {
            let pages = label_pages(&labels(&schedules.cables), labelling);
            for (number, page) in (1..).zip(pages) {
                files.push(file(
                    &format!("labels-{number}.svg"),
                    page.into_bytes(),
                    "label sheet, to print at 100 %",
                ));
            }
        }
        if let Some(deck) = deck(inputs.system) {
            files.push(file("system.cir", deck.into_bytes(), "network for a circuit simulator (SPICE)"));
        }
        let sheets: Vec<&Table> = tables.iter().collect();
        let title = format!("{}: schedules", inputs.system.name);
        let workbook = workbook_of(&title, inputs.system.rules, &cover(&summary, schedules), &sheets)?;
        files.push(file("schedules.xlsx", workbook, "all schedules in one workbook"));
        Ok(Self { files })
    }
}

/// Every table of the papers, in the order of the workbook's sheets.
pub fn tables(schedules: &Schedules, order: &BuildOrder) -> Vec<Table> {
    let mut tables = schedules.tables();
    tables.push(order_table(order));
    // Before the tables that only explain.
    let needed = tools::tools(schedules, order);
    let after = tables.iter().position(|table| table.name == "consumables").map_or(tables.len(), |ix| ix + 1);
    tables.insert(after, tools::table(&needed));
    tables
}

fn cover(summary: &Summary, schedules: &Schedules) -> Cover {
    let line = |head: &str, text: String| (head.to_owned(), text);
    let parts = &schedules.parts;
    let mut cover = vec![
        line("Safety", SAFETY.to_owned()),
        line(
            "Project",
            format!(
                "{}, {}, {}, rule set {}",
                summary.name,
                summary.craft,
                summary.voltage.show(),
                summary.rules
            ),
        ),
        line("Findings", summary.finding_counts()),
    ];
    for finding in schedules.findings.iter().filter(|finding| finding.severity == rules::Severity::Danger) {
        let answer = finding
            .answered
            .as_ref()
            .map_or_else(|| "not answered".to_owned(), |answer| format!("answered: {answer}"));
        cover.push(line("Danger", format!("{}: {} ({answer})", finding.place, finding.message)));
    }
    cover.push(line(
        "Parts",
        format!(
            "{:.0} to {:.0} in money, {}; {} without a price",
            parts.price.0.get(),
            parts.price.1.get(),
            parts.mass,
            plural(parts.lines_unknown, "line")
        ),
    ));
    cover.push(line(
        "Lengths",
        "Lengths to cut hold the slack for making up the ends; measure on the vehicle before cutting."
            .to_owned(),
    ));
    cover.push(line("Torque", "Torque is for a clean dry stud; the maker's figure governs.".to_owned()));
    cover.push(line(
        "Cable",
        "The sheet Parts counts the cable, lugs, ferrules and glands that are used; Cable to buy and Consumables say how much of \
         them to buy. Reels, steps and spares are common practice, no source."
            .to_owned(),
    ));
    cover.push(line(
        "Spares",
        "One spare of each fuse, two where four or more are in use (common practice, no source).".to_owned(),
    ));
    cover
}

/// A number with its noun.
pub(crate) fn plural(count: u32, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}
