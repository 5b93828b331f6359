//! The press: a template and its data go in, a PDF comes out.
//! Never: reads a file, a clock or the network; the template sees its own text and `data.json`, and nothing else.
//! Start at [`press`].

use std::fmt::Write as _;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World, WorldExt};
use typst_layout::PagedDocument;
use typst_pdf::PdfOptions;

use crate::BookletError;
use crate::fonts::faces;

/// A template.
pub(crate) struct Template {
    pub(crate) name: &'static str,
    pub(crate) text: &'static str,
}

/// What all templates share: colours, type, and how text from outside is shown.
const COMMON: Template = Template { name: "/common.typ", text: include_str!("common.typ") };

/// What the template may see.
struct Desk {
    main: FileId,
    common: FileId,
    data: FileId,
    template: Source,
    shared: Source,
    json: Bytes,
}

/// The path in the room of the template; names are ours and few.
fn path(name: &str) -> Result<FileId, BookletError> {
    let path =
        VirtualPath::new(name).map_err(|error| BookletError::Template(format!("{name}: {error:?}")))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        static LIBRARY: OnceLock<LazyHash<Library>> = OnceLock::new();
        LIBRARY.get_or_init(|| LazyHash::new(Library::default()))
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &faces().book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        match id {
            id if id == self.main => Ok(self.template.clone()),
            id if id == self.common => Ok(self.shared.clone()),
            _ => Err(FileError::AccessDenied),
        }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == self.data { Ok(self.json.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn font(&self, index: usize) -> Option<Font> {
        faces().fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// Sets `data` by a template. The same data gives the same bytes: no date stands in the file, and its identifier
/// follows from the data.
///
/// # Errors
/// A picture that is no SVG, or a slip in a template.
pub(crate) fn press<D: serde::Serialize>(template: &Template, data: &D) -> Result<Vec<u8>, BookletError> {
    let mut value = serde_json::to_value(data).map_err(|error| BookletError::Template(error.to_string()))?;
    soften(&mut value);
    let json = value.to_string();
    let (main, common, data) = (path(template.name)?, path(COMMON.name)?, path("/data.json")?);
    let desk = Desk {
        main,
        common,
        data,
        template: Source::new(main, template.text.to_owned()),
        shared: Source::new(common, COMMON.text.to_owned()),
        json: Bytes::from_string(json.clone()),
    };
    let _setting = Setting::begin();
    let set = typst::compile::<PagedDocument>(&desk);
    let document = set.output.map_err(|errors| BookletError::Set(said(&desk, &errors)))?;
    if !set.warnings.is_empty() {
        return Err(BookletError::Set(said(&desk, &set.warnings)));
    }
    let options = PdfOptions {
        ident: Smart::Custom(json),
        creator: Smart::Custom(Some("Wattwain".to_owned())),
        ..PdfOptions::default()
    };
    typst_pdf::pdf(&document, &options).map_err(|errors| BookletError::Set(said(&desk, &errors)))
}

/// How many are being set at this moment.
static AT_WORK: AtomicUsize = AtomicUsize::new(0);

/// One that is being set. The setter remembers what it has laid out, for all of them together: of little use for other data, so
/// that a service that runs for weeks would grow by it, but not to be taken from one that is still at work.
struct Setting;

impl Setting {
    fn begin() -> Self {
        AT_WORK.fetch_add(1, Ordering::SeqCst);
        Self
    }
}

impl Drop for Setting {
    fn drop(&mut self) {
        if AT_WORK.fetch_sub(1, Ordering::SeqCst) == 1 {
            comemo::evict(1);
        }
    }
}

/// Texts that are no words on a page.
const EXACT: [&str; 3] = ["svg", "plain", "paper"];

/// Lets every long word break, so that none runs over an edge.
fn soften(value: &mut serde_json::Value) {
    match value {
        serde_json::Value::String(text) => *text = soft(text),
        serde_json::Value::Array(list) => list.iter_mut().for_each(soften),
        serde_json::Value::Object(fields) => fields
            .iter_mut()
            .filter(|(name, _)| !EXACT.contains(&name.as_str()))
            .for_each(|(_, value)| soften(value)),
        _ => {}
    }
}

/// Letters of a word up to which it stays whole.
const WHOLE: usize = 13;
/// A place where a line may break, without width.
const BREAK: char = '\u{200B}';

/// A text whose long words may break: behind a mark within, or after so many letters.
/// Marks that change the direction of writing, and control characters, go.
fn soft(text: &str) -> String {
    let mut done = String::with_capacity(text.len());
    for (at, word) in text.split(' ').enumerate() {
        if at > 0 {
            done.push(' ');
        }
        let is_long = word.chars().count() > WHOLE;
        let mut since = 0;
        let mut letters = word.chars().peekable();
        while let Some(letter) = letters.next() {
            if letter == '\n' || letter == '\t' || letter == '\r' {
                done.push(' ');
                since = 0;
                continue;
            }
            if letter.is_control() || matches!(letter, '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}') {
                continue;
            }
            done.push(letter);
            since += 1;
            let is_mark = matches!(letter, '.' | '_' | '/' | ':' | '=' | '-' | ',' | ';' | '@' | '+');
            if is_long && letters.peek().is_some() && ((is_mark && since > 2) || since >= WHOLE) {
                done.push(BREAK);
                since = 0;
            }
        }
    }
    done
}

fn said(desk: &Desk, slips: &[SourceDiagnostic]) -> String {
    let mut text = String::new();
    for slip in slips {
        let line = slip.span.id().and_then(|id| {
            let source = desk.source(id).ok()?;
            let range = desk.range(slip.span)?;
            Some((
                id.get().vpath().get_without_slash().to_owned(),
                source.lines().byte_to_line(range.start)? + 1,
            ))
        });
        let place = line.map_or_else(String::new, |(file, line)| format!("{file}:{line}: "));
        let gap = if text.is_empty() { "" } else { "; " };
        // Writing to a String cannot fail.
        let _ = write!(text, "{gap}{place}{}", slip.message);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_words_may_break_and_keep_their_letters() {
        for text in [
            "",
            "short words stay",
            "bank.link-negative.conductor",
            &"x".repeat(200),
            "a b  c",
            "https://x.y/z_",
        ] {
            let broken = soft(text);
            assert_eq!(broken.replace(BREAK, ""), text);
            assert!(broken.split([' ', BREAK]).all(|part| part.chars().count() <= WHOLE), "{broken}");
        }
        assert_eq!(soft("a\nb\u{202E}c\u{7}"), "a bc");
    }
}
