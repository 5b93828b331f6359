//! The papers as pages: the booklet of a project, pictures at 1:1 on sheets, and large drawings at 1:1 over many sheets.
//! Never: computes, judges or draws; reads a file, a clock or the network. The same input gives the same bytes.
//! Start at [`booklet`], [`sheets`] and [`tiled`]; [`papers`] makes all that a pack calls for. `press.rs` sets a template.

mod chapters;
mod content;
mod fonts;
mod papers;
mod pictures;
mod press;
mod readings;
mod svg;
mod tables;
mod tiles;
mod views;
mod window;

pub use content::{Pages, booklet};
pub use papers::{Listed, all, list, paper};
pub use svg::Picture;
pub use tiles::{sheets, tiled};

use reference::RuleSet;

/// Size of the sheets.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Paper {
    /// 210 mm by 297 mm, ISO 216.
    A4,
    /// 8.5 in by 11 in, ANSI/ASME Y14.1 size A.
    Letter,
}

impl Paper {
    /// The paper that is in the printer where the rule set is in use.
    pub fn of(rules: RuleSet) -> Self {
        match rules {
            RuleSet::Na => Self::Letter,
            RuleSet::Iec => Self::A4,
        }
    }

    /// Its word, as in file names: `a4`.
    pub fn word(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "letter",
        }
    }

    /// Width and height upright \[mm\].
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

/// Why pages cannot be set.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BookletError {
    /// A picture is no SVG, or has no size.
    #[error(
        "the picture {name} cannot be set: {reason}; give an SVG whose root carries a width, a height and a viewBox"
    )]
    Picture {
        /// Its name.
        name: String,
        /// What is wrong.
        reason: String,
    },
    /// A picture does not go on one sheet at its true size.
    #[error(
        "the picture {name} of {width_mm} mm by {height_mm} mm does not go on one {paper} sheet at 1:1; set it over several with `tiled`"
    )]
    TooLarge {
        /// Its name.
        name: String,
        /// Its width, rounded up.
        width_mm: u64,
        /// Its height, rounded up.
        height_mm: u64,
        /// The paper.
        paper: &'static str,
    },
    /// A picture would need more sheets than anyone glues together.
    #[error(
        "the picture {name} would need {count} sheets at 1:1; the most is {most}. Check its width and height, which are in mm"
    )]
    TooMany {
        /// Its name.
        name: String,
        /// Sheets that it would need.
        count: u64,
        /// The most.
        most: u64,
    },
    /// The pages could not be set.
    #[error(
        "the pages cannot be set: {0}; this is a defect of the program, so please report it with the project"
    )]
    Set(String),
    /// A template cannot be read.
    #[error("a template of the booklet is broken: {0}; this is a defect of the program, so please report it")]
    Template(String),
}
