//! Changing the text of a project while its comments and order stay.

use toml_edit::{DocumentMut, Item, Table, value};

use crate::Edit;

/// Makes the edits to `text`. An error says which path cannot be reached.
pub fn apply(text: &str, edits: &[Edit]) -> Result<String, String> {
    let mut document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| error.to_string())?;
    for edit in edits {
        let (last, tables) =
            edit.path.split_last().ok_or_else(|| "the path of the change is empty".to_owned())?;
        let mut item: &mut Item = document.as_item_mut();
        for key in tables {
            let (key, index) = split_index(key);
            let table = item
                .as_table_like_mut()
                .ok_or_else(|| format!("`{}` goes through a value that is no table", edit.shown()))?;
            item = table.entry(key).or_insert_with(|| {
                let mut table = Table::new();
                table.set_implicit(true);
                Item::Table(table)
            });
            if let Some(index) = index {
                item = item
                    .get_mut(index)
                    .ok_or_else(|| format!("`{}`: there is no item {index}", edit.shown()))?;
            }
        }
        let table =
            item.as_table_like_mut().ok_or_else(|| format!("`{}` is not inside a table", edit.shown()))?;
        match &edit.value {
            Some(text) => {
                let new = match text.as_str() {
                    "true" => value(true),
                    "false" => value(false),
                    number if number.chars().all(|c| c.is_ascii_digit()) && !number.is_empty() => {
                        number.parse::<i64>().map_or_else(|_| value(number), value)
                    }
                    other => value(other),
                };
                match table.get_mut(last) {
                    Some(old) => {
                        let decor = old.as_value().map(|old| old.decor().clone());
                        *old = new;
                        if let (Some(decor), Some(new)) = (decor, old.as_value_mut()) {
                            *new.decor_mut() = decor;
                        }
                    }
                    None => {
                        table.insert(last, new);
                    }
                }
            }
            None => {
                let (key, index) = split_index(last);
                match index {
                    Some(index) => match table.get_mut(key) {
                        Some(Item::ArrayOfTables(tables)) if index < tables.len() => {
                            tables.remove(index);
                        }
                        _ => return Err(format!("`{}`: there is no item {index}", edit.shown())),
                    },
                    None => {
                        table.remove(key);
                    }
                }
            }
        }
    }
    Ok(document.to_string())
}

fn split_index(key: &str) -> (&str, Option<usize>) {
    match key.strip_suffix(']').and_then(|key| key.split_once('[')) {
        Some((name, index)) => (name, index.parse().ok()),
        None => (key, None),
    }
}
