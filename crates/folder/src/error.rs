//! Why something in a project folder could not be read or written: what, where, how to mend it.

use std::io::ErrorKind;
use std::path::Path;

use model::{Problem, SourceText};

use crate::State;

/// Why a folder could not be used.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// Something wrong in files that were read.
    #[error("{}", first(problems))]
    Located {
        /// Everything wrong.
        problems: Vec<Problem>,
        /// The files, for showing the lines.
        sources: Vec<SourceText>,
    },
    /// Anything else.
    #[error("{what}: {place}. {mend}")]
    Plain {
        /// What is wrong.
        what: String,
        /// The file, folder or name; may be empty.
        place: String,
        /// How to mend it.
        mend: String,
    },
    /// The document is no longer what the change was made to. Nothing was written.
    #[error(
        "state {} (\"{}\") has changed {} since. Look at it, then make the change again or go to another state",
        theirs.number, theirs.label, theirs.document.file()
    )]
    Overtaken {
        /// The state that changed the document.
        theirs: Box<State>,
    },
}

impl Error {
    /// An error that is not in the text of a file.
    pub(crate) fn plain(what: impl Into<String>, place: impl Into<String>, mend: impl Into<String>) -> Self {
        Self::Plain { what: what.into(), place: place.into(), mend: mend.into() }
    }

    /// An error about a path as a whole.
    pub(crate) fn at(what: impl Into<String>, path: &Path, mend: impl Into<String>) -> Self {
        Self::plain(what, path.display().to_string(), mend)
    }

    /// An error about one whole file, at its first line.
    pub(crate) fn whole_file(message: impl Into<String>, path: &Path, mend: impl Into<String>) -> Self {
        let problem = Problem {
            message: message.into(),
            file: path.display().to_string(),
            field: String::new(),
            span: 0..0,
            line: 1,
            column: 1,
            mend: mend.into(),
        };
        Self::Located { problems: vec![problem], sources: Vec::new() }
    }

    /// What the system said when something was to be done to a path.
    pub(crate) fn cannot(what: &str, path: &Path, error: &std::io::Error) -> Self {
        let mend = match error.kind() {
            ErrorKind::NotFound => "Check the path; `wattwain begin FOLDER` makes a new project",
            ErrorKind::PermissionDenied => "Ask for the right to it, or choose another folder",
            ErrorKind::NotADirectory | ErrorKind::AlreadyExists => {
                "A file stands where a folder is wanted; name another"
            }
            _ => "Check the disk and the path",
        };
        Self::at(format!("cannot {what} this: {error}"), path, mend)
    }
}

fn first(problems: &[Problem]) -> String {
    match problems.first() {
        None => "nothing could be read".to_owned(),
        Some(problem) => {
            let more = match problems.len() {
                0 | 1 => String::new(),
                count => format!(" (and {} more)", count - 1),
            };
            format!(
                "{}:{}:{}: {}. {}{more}",
                problem.file, problem.line, problem.column, problem.message, problem.mend
            )
        }
    }
}
