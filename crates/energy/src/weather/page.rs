//! A file's text with its places: bytes to text, offsets to lines, and the list of all that is wrong or was assumed.
//! Never: knows a format.
//! Start at [`Page`]; [`Faults`] collects.

use std::borrow::Cow;
use std::ops::Range;

use model::Problem;

use super::Note;

/// Problems of one file that are told at most; the last one counts the rest.
const MOST_PROBLEMS: usize = 40;

/// The text of a weather file as its [`Problem`] spans count it: UTF-8, or else Latin-1, where each byte is a letter.
/// Old stations write names such as "Orléans" in Latin-1; the numbers are the same in both.
pub fn text(bytes: &[u8]) -> Cow<'_, str> {
    match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        Err(_) => Cow::Owned(bytes.iter().map(|byte| char::from(*byte)).collect()),
    }
}

/// One file being read.
#[derive(Clone, Copy)]
pub(super) struct Page<'p> {
    pub name: &'p str,
    pub text: &'p str,
}

impl<'p> Page<'p> {
    /// Line from 1 of a byte offset.
    pub fn line(&self, offset: usize) -> usize {
        let before = self.text.as_bytes().get(..offset).unwrap_or(self.text.as_bytes());
        before.iter().filter(|byte| **byte == b'\n').count() + 1
    }

    /// The line that starts at `start`, without its end.
    pub fn line_at(&self, start: usize) -> &'p str {
        let rest = self.text.get(start..).unwrap_or("");
        rest.split('\n').next().unwrap_or("").trim_end_matches('\r')
    }

    /// Offset of the line after the one that holds `start`; the file's end after the last.
    pub fn next_line(&self, start: usize) -> usize {
        self.text.get(start..).and_then(|rest| rest.find('\n')).map_or(self.text.len(), |at| start + at + 1)
    }

    /// Bytes of the `index`th field of the line at `start`, counted by commas; the whole line if it has fewer.
    pub fn field(&self, start: usize, index: usize) -> Range<usize> {
        let line = self.line_at(start);
        let mut from = 0;
        for (place, field) in line.split(',').enumerate() {
            if place == index {
                return start + from..start + from + field.len();
            }
            from += field.len() + 1;
        }
        start..start + line.len()
    }

    /// A problem at `span`.
    pub fn problem(&self, span: Range<usize>, field: &str, message: String, mend: &str) -> Problem {
        let before = self.text.get(..span.start).unwrap_or(self.text);
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        Problem {
            message,
            file: self.name.to_owned(),
            field: field.to_owned(),
            line: self.line(span.start),
            column,
            span,
            mend: mend.to_owned(),
        }
    }
}

/// All that is wrong and all that was assumed, in the order found.
pub(super) struct Faults<'p> {
    pub page: Page<'p>,
    problems: Vec<Problem>,
    untold: usize,
    pub notes: Vec<Note>,
}

impl<'p> Faults<'p> {
    pub fn new(page: Page<'p>) -> Self {
        Self { page, problems: Vec::new(), untold: 0, notes: Vec::new() }
    }

    /// Adds a problem at `span`; `message` is only made while there is room to tell it.
    pub fn problem(&mut self, span: Range<usize>, field: &str, message: impl Into<String>, mend: &str) {
        if self.problems.len() < MOST_PROBLEMS {
            let problem = self.page.problem(span, field, message.into(), mend);
            self.problems.push(problem);
        } else {
            self.untold += 1;
        }
    }

    /// Adds a note; `at` is the byte offset of the line it speaks of, if of one.
    pub fn note(&mut self, id: &str, at: Option<usize>, message: String) {
        let line = at.map_or(0, |offset| self.page.line(offset));
        self.notes.push(Note { id: id.to_owned(), message, line });
    }

    /// Whether nothing is wrong so far.
    pub fn is_clean(&self) -> bool {
        self.problems.is_empty()
    }

    /// The problems, the last one counting those that were not told.
    pub fn into_problems(mut self) -> Vec<Problem> {
        self.problems.sort_by_key(|problem| problem.span.start);
        if self.untold > 0
            && let Some(last) = self.problems.last_mut()
        {
            last.message.push_str(&format!("; and {} more places like these", self.untold));
        }
        self.problems
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_from_one() {
        let page = Page { name: "x", text: "ab\r\ncd,ef,g\n" };
        assert_eq!((page.line(0), page.line(4), page.line(99)), (1, 2, 3));
        assert_eq!(page.line_at(0), "ab");
        assert_eq!(&page.text[page.field(4, 1)], "ef");
        assert_eq!(&page.text[page.field(4, 7)], "cd,ef,g");
        let problem = page.problem(page.field(4, 1), "f", "m".into(), "n");
        assert_eq!((problem.line, problem.column), (2, 4));
    }

    // ISO 8859-1: 0xE9 is é.
    #[test]
    fn latin_letters_are_read() {
        assert_eq!(text(b"Orl\xe9ans"), "Orléans");
        assert_eq!(text("Orléans".as_bytes()), "Orléans");
    }
}
