//! Reading TOML into records: every error of a file at once, each located, each with the way to mend it.
//! Never: stops at the first error, panics on any input, fills in a value that the file does not give.
//! Start at [`read_text`]; [`record!`](crate::record) and [`choice!`](crate::choice) declare what can be read.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::ops::Range;

use serde::Serialize;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Largest file read [bytes]; a project or parts file is a few kilobytes.
pub const LARGEST_FILE: usize = 2_000_000;

/// Problems of one file that are reported at most; whoever has more has the wrong file.
const MOST_PROBLEMS: usize = 200;

/// A text with the name it is shown under.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct SourceText {
    /// The name a person knows it by, such as `examples/heron/intent.toml`.
    pub name: String,
    /// Its whole text.
    pub text: String,
}

impl SourceText {
    /// Line and column, both from 1, of a byte offset.
    pub fn line_column(&self, offset: usize) -> (usize, usize) {
        let before = self.text.get(..offset).unwrap_or(&self.text);
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        (line, column)
    }
}

/// Something wrong in a file that was read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Problem {
    /// What is wrong, with what was found.
    pub message: String,
    /// The file's name.
    pub file: String,
    /// The field, such as `loads.fridge.power`; empty for the whole file.
    pub field: String,
    /// Bytes of the offending text.
    pub span: Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// How to mend it.
    pub mend: String,
}

/// Where every value of a file stands: dotted path to bytes.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Spans(BTreeMap<String, Range<usize>>);

impl Spans {
    /// Bytes of the value at `path`, or of the nearest enclosing table that is there.
    pub fn nearest(&self, path: &str) -> Option<Range<usize>> {
        let mut path = path;
        loop {
            if let Some(span) = self.0.get(path) {
                return Some(span.clone());
            }
            path = &path[..path.rfind(['.', '['])?];
        }
    }

    /// Whether the file gives the value at `path` itself.
    pub fn has(&self, path: &str) -> bool {
        self.0.contains_key(path)
    }
}

/// What came of reading: the value as far as it could be read, and all that is wrong.
#[derive(Debug)]
pub struct Reading<T> {
    /// The value; `None` where a required part is missing or wrong.
    pub value: Option<T>,
    /// Everything wrong, in file order.
    pub problems: Vec<Problem>,
    /// Where each value stands.
    pub spans: Spans,
}

/// State while one file is read.
pub struct Context<'s> {
    source: &'s SourceText,
    path: String,
    problems: Vec<Problem>,
    spans: Spans,
}

impl Context<'_> {
    /// Reports a problem at `span` in the field being read.
    pub fn problem(&mut self, span: Range<usize>, message: impl Into<String>, mend: impl Into<String>) {
        if self.is_full() {
            return;
        }
        let (line, column) = self.source.line_column(span.start);
        self.problems.push(Problem {
            message: message.into(),
            file: self.source.name.clone(),
            field: self.path.clone(),
            span,
            line,
            column,
            mend: mend.into(),
        });
    }

    fn is_full(&self) -> bool {
        self.problems.len() >= MOST_PROBLEMS
    }

    pub(crate) fn at<T>(
        &mut self,
        segment: &str,
        span: Range<usize>,
        read: impl FnOnce(&mut Self) -> T,
    ) -> T {
        let length = self.path.len();
        if length > 0 && !segment.starts_with('[') {
            self.path.push('.');
        }
        self.path.push_str(segment);
        self.spans.0.insert(self.path.clone(), span);
        let value = read(self);
        self.path.truncate(length);
        value
    }
}

/// A value that can be read from TOML.
pub trait ReadValue: Sized {
    /// Reads it, or reports to `context` and gives `None`.
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self>;
    /// The value when the key is absent; `None` means that the key is required.
    fn absent() -> Option<Self> {
        None
    }
    /// An example of what to write, for messages.
    fn example() -> Cow<'static, str>;
}

/// Reads `source` as one record.
pub fn read_text<T: ReadValue>(source: &SourceText) -> Reading<T> {
    let mut context = Context { source, path: String::new(), problems: Vec::new(), spans: Spans::default() };
    if source.text.len() > LARGEST_FILE {
        context.problem(
            0..0,
            format!("the file has {} bytes; the most that is read is {LARGEST_FILE}", source.text.len()),
            "Check that this is the right file: a project file is a few kilobytes",
        );
        return Reading { value: None, problems: context.problems, spans: context.spans };
    }
    let (table, errors) = DeTable::parse_recoverable(&source.text);
    for error in &errors {
        let span = error.span().unwrap_or(0..0);
        context.problem(
            span,
            error.message(),
            "Mend the TOML here: `key = \"value\"` or `[table]`, one a line",
        );
    }
    let span = table.span();
    let root = Spanned::new(span, DeValue::Table(table.into_inner()));
    let value = T::read(&root, &mut context);
    context.problems.sort_by_key(|problem| problem.span.start);
    // A broken line makes the parser say the same place twice and the reader miss its key: say it once.
    context.problems.dedup_by(|a, b| a.span == b.span && a.message == b.message);
    Reading { value, problems: context.problems, spans: context.spans }
}

/// Reads bytes from outside: not UTF-8 is a problem with its place, not a panic.
pub fn text_from_bytes(name: &str, bytes: Vec<u8>) -> Result<SourceText, Box<Problem>> {
    String::from_utf8(bytes).map(|text| SourceText { name: name.to_owned(), text }).map_err(|error| {
        let offset = error.utf8_error().valid_up_to();
        let good = String::from_utf8_lossy(error.as_bytes().get(..offset).unwrap_or_default()).into_owned();
        let (line, column) = SourceText { name: String::new(), text: good }.line_column(offset);
        Box::new(Problem {
            message: format!("byte {offset} is not UTF-8 text"),
            file: name.to_owned(),
            field: String::new(),
            span: offset..offset,
            line,
            column,
            mend: "Save the file as UTF-8 text".to_owned(),
        })
    })
}

/// A table while its fields are taken out of it.
pub struct TableReader<'t, 'd> {
    table: &'t DeTable<'d>,
    span: Range<usize>,
    what: &'static str,
    is_complete: bool,
}

impl<'t, 'd> TableReader<'t, 'd> {
    /// Opens `value` as a table, or reports that it is none.
    pub fn open(
        value: &'t Spanned<DeValue<'d>>,
        what: &'static str,
        context: &mut Context<'_>,
    ) -> Option<Self> {
        match value.get_ref() {
            DeValue::Table(table) => Some(Self { table, span: value.span(), what, is_complete: true }),
            other => {
                context.problem(
                    value.span(),
                    format!("{} is not a table of {what}", describe(other)),
                    format!("Write `[{}]` and its keys below it", context.path),
                );
                None
            }
        }
    }

    /// Takes one field; `None` when it is wrong or required and missing (both reported).
    pub fn field<T: ReadValue>(&mut self, key: &str, context: &mut Context<'_>) -> Option<T> {
        let found = self.table.iter().find(|(name, _)| name.get_ref() == key);
        let value = match found {
            Some((name, value)) => {
                context.at(key, whole(name.span(), value.span()), |context| T::read(value, context))
            }
            None => {
                let absent = T::absent();
                if absent.is_none() {
                    let place = if context.path.is_empty() {
                        self.what.to_owned()
                    } else {
                        format!("[{}]", context.path)
                    };
                    context.problem(
                        self.span.start..self.span.start.min(self.span.end),
                        format!("`{key}` is missing in {place}"),
                        format!("Add `{key} = {}`", T::example()),
                    );
                }
                absent
            }
        };
        self.is_complete &= value.is_some();
        value
    }

    /// Refuses the keys that are none of `known`, each with the nearest known one.
    pub fn close(self, known: &[&str], context: &mut Context<'_>) {
        for (name, _) in self.table.iter() {
            let name_text: &str = name.get_ref();
            if known.contains(&name_text) {
                continue;
            }
            if context.is_full() {
                return;
            }
            let mend = match nearest(name_text, known.iter().copied()) {
                Some(near) => format!("Did you mean `{near}`?"),
                None => format!("Known here: {}", known.join(", ")),
            };
            context.problem(name.span(), format!("`{name_text}` is not a key of {}", self.what), mend);
        }
    }
}

/// The known word nearest to `word`, if one is near.
pub fn nearest<'k>(word: &str, known: impl Iterator<Item = &'k str>) -> Option<&'k str> {
    known
        .map(|candidate| (strsim::damerau_levenshtein(word, candidate), candidate))
        .filter(|(distance, candidate)| {
            *distance <= 1 + candidate.chars().count().max(word.chars().count()) / 3
                || (word.len() >= 3 && (candidate.starts_with(word) || word.starts_with(*candidate)))
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

pub(crate) fn whole(name: Range<usize>, value: Range<usize>) -> Range<usize> {
    // A table's value span is its header; a pair's span runs from key to value when they stand in this order.
    if value.start >= name.end { name.start..value.end } else { value }
}

pub(crate) fn describe(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
