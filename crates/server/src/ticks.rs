//! What is done in the workshop: `ticks.toml` beside intent.toml, ids of steps and cables under `[done]`.
//! Never: drops an id that it does not know, nor a comment; a step may come back with an undo.
//! Start at [`read`] and [`set`].
//!
//! ```toml
//! [done]
//! "cable:fridge.positive:cut" = true
//! ```

use std::collections::BTreeSet;
use std::ops::Range;

use model::{Problem, SourceText};
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use toml_edit::{DocumentMut, Item, Table, value};

/// Name of the file.
pub const FILE: &str = "ticks.toml";

/// Longest id [bytes].
pub const LONGEST: usize = 200;

/// The ids that are ticked, and everything wrong in the file. An empty text is no tick.
pub fn read(source: &SourceText) -> (BTreeSet<String>, Vec<Problem>) {
    let mut problems = Vec::new();
    let mut done = BTreeSet::new();
    let mut tell = |span: Range<usize>, field: &str, message: String, mend: &str| {
        let (line, column) = source.line_column(span.start);
        problems.push(Problem {
            message,
            file: source.name.clone(),
            field: field.to_owned(),
            span,
            line,
            column,
            mend: mend.to_owned(),
        });
    };
    if source.text.len() > model::read::LARGEST_FILE {
        let most = model::read::LARGEST_FILE;
        tell(0..0, "", format!("the file has more than {most} bytes"), "Check that this is the right file");
        return (done, problems);
    }
    let (table, errors) = DeTable::parse_recoverable(&source.text);
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        tell(span, "", error.message().to_owned(), "Mend the TOML here: `\"ID\" = true` below `[done]`");
    }
    for (key, item) in table.get_ref().iter() {
        let name: &str = key.get_ref();
        match (name, item.get_ref()) {
            ("done", DeValue::Table(ticks)) => {
                for (id, is) in ticks.iter() {
                    tick(id, is, &mut done, &mut tell);
                }
            }
            ("done", _) => tell(
                item.span(),
                "done",
                "`done` is not a table".to_owned(),
                "Write `[done]` and below it `\"ID\" = true`, one a line",
            ),
            _ => tell(key.span(), name, format!("`{name}` is not a key of the ticks"), "Known here: done"),
        }
    }
    problems.sort_by_key(|problem| problem.span.start);
    (done, problems)
}

/// Takes a problem: where, the field, what, and how to mend it.
type Teller<'t> = dyn FnMut(Range<usize>, &str, String, &str) + 't;

fn tick(
    id: &Spanned<std::borrow::Cow<'_, str>>,
    is: &Spanned<DeValue<'_>>,
    done: &mut BTreeSet<String>,
    tell: &mut Teller<'_>,
) {
    let name: &str = id.get_ref();
    let field = format!("done.{name}");
    match is.get_ref() {
        _ if name.is_empty() || name.len() > LONGEST => tell(
            id.span(),
            &field,
            format!("an id has 1 to {LONGEST} bytes; this one has {}", name.len()),
            "Take the line away",
        ),
        DeValue::Boolean(true) => {
            done.insert(name.to_owned());
        }
        DeValue::Boolean(false) => {}
        _ => tell(
            is.span(),
            &field,
            format!("`{name}` is neither true nor false"),
            "Write `true` where it is done; take the line away where it is not",
        ),
    }
}

/// The text with an id ticked or not; comments and order stay.
///
/// # Errors
/// What stands in the way of changing the text, for a person.
pub fn set(text: &str, id: &str, is_done: bool) -> Result<String, String> {
    if id.is_empty() || id.len() > LONGEST || id.contains(char::is_control) {
        return Err(format!("an id has 1 to {LONGEST} bytes and no line break"));
    }
    let mut document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| error.to_string())?;
    let table = document
        .as_table_mut()
        .entry("done")
        .or_insert_with(|| Item::Table(Table::new()))
        .as_table_like_mut()
        .ok_or_else(|| "`done` is not a table; write `[done]` and below it `\"ID\" = true`".to_owned())?;
    if !is_done {
        table.remove(id);
    } else if table.get(id).and_then(Item::as_bool) != Some(true) {
        table.insert(id, value(true));
    }
    Ok(document.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(text: &str) -> SourceText {
        SourceText { name: FILE.to_owned(), text: text.to_owned() }
    }

    #[test]
    fn ticks_come_and_go_and_comments_stay() {
        let text = "# Workshop, by hand.\n[done]\n\"a\" = true # Saturday\n";
        let with = set(text, "cable:main.positive:cut", true).expect("ticks");
        assert_eq!(with, format!("{text}\"cable:main.positive:cut\" = true\n"));
        let (done, problems) = read(&source(&with));
        assert!(problems.is_empty());
        assert_eq!(done.into_iter().collect::<Vec<_>>(), ["a", "cable:main.positive:cut"]);
        assert_eq!(set(&with, "cable:main.positive:cut", false).expect("unticks"), text);
        assert_eq!(set("", "step", true).expect("begins"), "[done]\nstep = true\n");
        assert_eq!(set(&with, "a", true).expect("stays"), with);
    }

    #[test]
    fn mistakes_are_located_and_the_rest_is_read() {
        let (done, problems) = read(&source("[done]\n\"a\" = true\n\"b\" = \"yes\"\n[dome]\n"));
        assert_eq!(done.into_iter().collect::<Vec<_>>(), ["a"]);
        let told: Vec<(usize, &str)> =
            problems.iter().map(|problem| (problem.line, problem.field.as_str())).collect();
        assert_eq!(told, [(3, "done.b"), (4, "dome")]);
        assert!(problems.iter().all(|problem| !problem.mend.is_empty()));
        assert!(!read(&source("done = 3")).1.is_empty());
        assert!(!read(&source("[done\n")).1.is_empty());
    }

    #[test]
    fn what_cannot_be_changed_says_why() {
        assert!(set("done = 3", "a", true).is_err());
        assert!(set("[done", "a", true).is_err());
        assert!(set("", "", true).is_err());
        assert!(set("", "a\nb", true).is_err());
    }
}
