//! What stands in the booklet, part by part, as plain data for the template.
//! Never: sets type (see `booklet.typ`), computes or words a value that a paper below holds already.
//! Start at [`booklet`]; each part is one function in `chapters.rs`.

use pack::{BuildOrder, Summary, Table};
use prove::Expected;
use serde::Serialize;

use crate::press::{Template, press};
use crate::readings::Stretch;
use crate::tables::Laid;
use crate::{BookletError, Paper, Picture, chapters};

/// What the booklet is made of.
#[derive(Clone, Copy, Debug)]
pub struct Pages<'p> {
    /// The summary.
    pub summary: &'p Summary,
    /// Every schedule.
    pub tables: &'p [Table],
    /// The build order.
    pub order: &'p BuildOrder,
    /// Readings of commissioning; empty without a bank.
    pub expected: &'p [Expected],
    /// The pictures, in the order in which they are shown.
    pub pictures: &'p [Picture],
}

const TEMPLATE: Template = Template { name: "/booklet.typ", text: include_str!("booklet.typ") };

/// The booklet of a project as PDF, ready to be printed and bound.
///
/// Of a refused system it holds the refusal, what leads to it, and nothing that could be built from.
///
/// # Errors
/// A picture that is no SVG or has no size.
pub fn booklet(pages: &Pages<'_>, paper: Paper) -> Result<Vec<u8>, BookletError> {
    press(&TEMPLATE, &Book::of(pages, paper)?)
}

/// The whole booklet as the template reads it.
#[derive(Debug, Serialize)]
pub(crate) struct Book {
    paper: &'static str,
    /// The name, as it stands in the properties of the file.
    plain: String,
    title: String,
    subtitle: String,
    safety: String,
    scope: Vec<String>,
    facts: Vec<[String; 2]>,
    parts: Vec<Part>,
}

/// A part: begins on a new page.
#[derive(Debug, Serialize)]
pub(crate) struct Part {
    pub(crate) title: &'static str,
    pub(crate) blocks: Vec<Block>,
}

/// A block of a part.
#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub(crate) enum Block {
    /// A heading within the part; `listed` puts it into the contents.
    Head { text: String, listed: bool },
    /// A paragraph.
    Text { text: String },
    /// A list.
    List { items: Vec<String> },
    /// Names with their values.
    Facts { rows: Vec<[String; 2]> },
    /// A table.
    Table(Laid),
    /// A value with its reason.
    Reason { path: String, value: String, step: String, origins: String, pinned: String },
    /// What is said once below a table.
    Note { text: String },
    /// A finding.
    Finding(Box<FindingBlock>),
    /// A step of the build order.
    Step(Box<StepBlock>),
    /// Readings to take, with a blank to fill.
    Readings { stretches: Vec<Stretch> },
    /// A picture.
    Picture(PictureBlock),
    /// Enlarged parts of a picture whose print would be too small as a whole.
    Parts(PartsBlock),
    /// A picture that fills a sheet of its own, without head and foot.
    Sheet { title: String, svg: String, width: f64, height: f64 },
    /// Blocks on pages that lie on their side.
    Landscape { blocks: Vec<Block> },
}

/// A finding, worded.
#[derive(Debug, Serialize)]
pub(crate) struct FindingBlock {
    pub(crate) severity: &'static str,
    pub(crate) rule: String,
    pub(crate) place: String,
    pub(crate) message: String,
    /// What stands below, each with its word.
    pub(crate) rows: Vec<[String; 2]>,
}

/// A step, worded.
#[derive(Debug, Serialize)]
pub(crate) struct StepBlock {
    pub(crate) number: u32,
    pub(crate) title: String,
    pub(crate) id: String,
    pub(crate) cautions: Vec<String>,
    pub(crate) lines: Vec<String>,
    pub(crate) measures: Vec<String>,
    pub(crate) rows: Vec<[String; 2]>,
    /// Whether it is so long that it may go over a page.
    pub(crate) is_long: bool,
}

/// A picture, placed.
#[derive(Debug, Serialize)]
pub(crate) struct PictureBlock {
    pub(crate) title: String,
    pub(crate) caption: String,
    pub(crate) svg: String,
    pub(crate) width: f64,
    pub(crate) height: f64,
    /// Whether it shares a page with text.
    pub(crate) inline: bool,
    /// Whether it is the first of its part, so that it stands below the heading.
    pub(crate) is_first: bool,
}

/// Enlarged parts of a picture.
#[derive(Debug, Serialize)]
pub(crate) struct PartsBlock {
    pub(crate) title: String,
    pub(crate) is_landscape: bool,
    /// Size of each on the page \[mm\].
    pub(crate) window: [f64; 2],
    pub(crate) list: Vec<PartBlock>,
}

/// One of the enlarged parts.
#[derive(Debug, Serialize)]
pub(crate) struct PartBlock {
    pub(crate) name: String,
    /// The picture cut to it.
    pub(crate) svg: String,
}

impl Book {
    fn of(pages: &Pages<'_>, paper: Paper) -> Result<Self, BookletError> {
        let summary = pages.summary;
        let mut parts = vec![chapters::brief(pages)];
        if summary.refusals.is_empty() {
            let [drawings, charts, labels] = chapters::sorted(pages.pictures);
            parts.push(chapters::energy(pages, &charts, paper)?);
            parts.push(chapters::findings(summary));
            parts.push(chapters::drawings(&drawings, paper)?);
            parts.push(chapters::schedules(pages, paper));
            parts.push(chapters::order(pages));
            parts.push(chapters::commissioning(pages));
            parts.push(chapters::labels(&labels, paper)?);
            parts.push(chapters::reasons(pages, paper));
        } else {
            parts.push(chapters::refusal(summary));
            parts.push(chapters::findings(summary));
        }
        parts.push(chapters::sources(pages, paper));
        parts.retain(|part| !part.blocks.is_empty());
        Ok(Self {
            paper: match paper {
                Paper::A4 => "a4",
                Paper::Letter => "us-letter",
            },
            plain: summary.name.clone(),
            title: summary.name.clone(),
            subtitle: chapters::subtitle(summary),
            safety: summary.safety.clone(),
            scope: chapters::scope(summary),
            facts: chapters::cover_facts(pages),
            parts,
        })
    }
}
