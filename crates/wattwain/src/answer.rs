//! What a command gives back: text and an exit code, or a failure that says what, where and how to mend it.
//! Never: panics on a closed pipe, prints an error to the standard output unless JSON was asked for.
//! Start at [`Answer`] and [`Failure`].

use std::io::Write;
use std::process::ExitCode;

use model::{Problem, SourceText};
use serde::Serialize;
use serde_json::json;

use crate::show::{self, Screen};

/// Exit code: all is well.
pub const OK: u8 = 0;
/// Exit code: something dangerous or refused was found.
pub const FOUND: u8 = 1;
/// Exit code: the question could not be read or a file could not be used.
pub const UNREADABLE: u8 = 2;

/// Problems shown at most; the rest are counted.
const MOST_SHOWN: usize = 40;

/// What a command says.
pub struct Answer {
    text: String,
    code: u8,
}

impl Answer {
    /// A text with exit code 0.
    pub fn text(text: impl Into<String>) -> Self {
        Self { text: text.into(), code: OK }
    }

    /// A value as JSON with exit code 0.
    pub fn json<T: Serialize>(value: &T) -> Result<Self, Failure> {
        let text = serde_json::to_string_pretty(value).map_err(|error| Failure::Plain {
            what: format!("the answer cannot be written as JSON: {error}"),
            place: String::new(),
            mend: "Leave `--json` out".to_owned(),
        })?;
        Ok(Self::text(text))
    }

    /// The same with another exit code.
    pub fn with_code(mut self, code: u8) -> Self {
        self.code = code;
        self
    }

    /// Prints it; a reader that closes its end early is no error.
    pub fn print(&self) -> ExitCode {
        print(&self.text);
        ExitCode::from(self.code)
    }
}

/// Why a command could not do its work; exit code 2.
#[derive(Debug)]
pub enum Failure {
    /// Something wrong in files that were read.
    Located {
        /// Everything wrong.
        problems: Vec<Problem>,
        /// The files, for showing the lines.
        sources: Vec<SourceText>,
    },
    /// Anything else.
    Plain {
        /// What is wrong.
        what: String,
        /// The file, folder or option; may be empty.
        place: String,
        /// How to mend it.
        mend: String,
    },
}

impl From<folder::Error> for Failure {
    fn from(error: folder::Error) -> Self {
        match error {
            folder::Error::Located { problems, sources } => Self::Located { problems, sources },
            folder::Error::Plain { what, place, mend } => Self::Plain { what, place, mend },
            error @ folder::Error::Overtaken { .. } => Self::plain(
                "the file was changed by someone else meanwhile, and nothing was written",
                error.to_string(),
                "Look at the file, then give the command again",
            ),
        }
    }
}

impl Failure {
    /// A failure that is not in the text of a file.
    pub fn plain(what: impl Into<String>, place: impl Into<String>, mend: impl Into<String>) -> Self {
        Self::Plain { what: what.into(), place: place.into(), mend: mend.into() }
    }

    /// Prints it: to the standard error for people, to the standard output as JSON for programs.
    pub fn print(&self, json: bool) -> ExitCode {
        if json {
            let value = match self {
                Self::Located { problems, .. } => json!({ "problems": problems }),
                Self::Plain { what, place, mend } => {
                    json!({ "problems": [{ "message": what, "file": place, "mend": mend }] })
                }
            };
            print(&serde_json::to_string_pretty(&value).unwrap_or_default());
        } else {
            // Nothing is left to do where even the error cannot be written.
            let _ = writeln!(std::io::stderr().lock(), "{}", self.shown(&Screen::stderr()));
        }
        ExitCode::from(UNREADABLE)
    }

    fn shown(&self, screen: &Screen) -> String {
        match self {
            Self::Plain { what, place, mend } => {
                let place = if place.is_empty() { String::new() } else { format!("\n  --> {place}") };
                format!("{}: {what}{place}\n  mend: {mend}", screen.danger("error"))
            }
            Self::Located { problems, sources } => {
                let mut shown: Vec<String> = problems
                    .iter()
                    .take(MOST_SHOWN)
                    .map(|problem| show::problem(screen, problem, sources))
                    .collect();
                if problems.len() > MOST_SHOWN {
                    shown.push(format!("… and {} more.", problems.len() - MOST_SHOWN));
                }
                let count = problems.len();
                shown.push(format!(
                    "{count} {} to mend; nothing was done.",
                    show::plural(count, "error", "errors")
                ));
                shown.join("\n\n")
            }
        }
    }
}

fn print(text: &str) {
    let mut out = std::io::stdout().lock();
    // Writing fails when the reader has closed its end (`| head`): all that it wanted has been written.
    let _ = writeln!(out, "{}", text.trim_end_matches('\n')).and_then(|()| out.flush());
}
