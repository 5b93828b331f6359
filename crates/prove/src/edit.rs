//! Changing `readings.toml` as text: comments and order stay.
//! Never: judges or checks a value; whoever saves reads the text again.
//! Start at [`set`] and [`remove`].

use toml_edit::{DocumentMut, Item, Table, value};

use crate::expected::{Expected, Stage};
use crate::readings::Entry;

/// Why a text could not be changed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// The text is no TOML.
    #[error("the readings file is not valid TOML: {0}; mend it in an editor first")]
    Toml(String),
    /// Something else stands where readings belong.
    #[error("`{0}` is not a table; write `[readings.\"…\"]` with `value = \"…\"` below it")]
    NoTable(String),
}

/// Adds a reading or changes one.
///
/// # Errors
/// A text that is no TOML, or has something else where readings belong.
pub fn set(text: &str, id: &str, entry: &Entry) -> Result<String, EditError> {
    let mut document = parse(text)?;
    let readings = document.entry("readings").or_insert_with(|| {
        let mut table = Table::new();
        table.set_implicit(true);
        Item::Table(table)
    });
    let readings = readings.as_table_like_mut().ok_or_else(|| EditError::NoTable("readings".to_owned()))?;
    if readings.get(id).is_none() {
        readings.insert(id, Item::Table(Table::new()));
    }
    let one = readings
        .get_mut(id)
        .and_then(Item::as_table_like_mut)
        .ok_or_else(|| EditError::NoTable(format!("readings.\"{id}\"")))?;
    let texts = [
        ("value", Some(&entry.value)),
        ("when", entry.when.as_ref()),
        ("by", entry.by.as_ref()),
        ("note", entry.note.as_ref()),
    ];
    for (key, text) in texts {
        let Some(text) = text else {
            one.remove(key);
            continue;
        };
        let new = value(text.as_str());
        match one.get_mut(key) {
            Some(old) => {
                let decor = old.as_value().map(|old| old.decor().clone());
                *old = new;
                if let (Some(decor), Some(new)) = (decor, old.as_value_mut()) {
                    *new.decor_mut() = decor;
                }
            }
            None => {
                one.insert(key, new);
            }
        }
    }
    Ok(document.to_string())
}

/// Takes a reading away; one that is not there is no error.
///
/// # Errors
/// A text that is no TOML.
pub fn remove(text: &str, id: &str) -> Result<String, EditError> {
    let mut document = parse(text)?;
    if let Some(readings) = document.get_mut("readings").and_then(Item::as_table_like_mut) {
        readings.remove(id);
    }
    Ok(document.to_string())
}

fn parse(text: &str) -> Result<DocumentMut, EditError> {
    text.parse().map_err(|error: toml_edit::TomlError| EditError::Toml(error.message().to_owned()))
}

/// A file to fill in: every reading in the order in which it is taken, with how to take it.
pub fn sheet(name: &str, expected: &[Expected]) -> String {
    let mut text = format!(
        "# Readings of {}. Write each value with its unit; an empty value is not yet taken.\n\
         # Mains voltage and large batteries can kill and burn. Local codes and a licensed electrician decide.\n",
        one_line(name)
    );
    let mut stage: Option<Stage> = None;
    for expected in expected {
        if stage != Some(expected.stage) {
            stage = Some(expected.stage);
            text += &format!("\n# ==== {}\n", expected.stage.title());
        }
        text += &format!("\n# {}\n# How: {}\n", one_line(&expected.title), one_line(&expected.how));
        if let Some(caution) = &expected.caution {
            text += &format!("# Caution: {}\n", one_line(caution));
        }
        let key = toml_edit::Key::new(expected.id.as_str());
        text += &format!(
            "# Expected: {}\n[readings.{}]\nvalue = \"\"\n",
            one_line(&expected.shown),
            key.display_repr()
        );
    }
    text
}

fn one_line(text: &str) -> String {
    text.replace(char::is_control, " ")
}
