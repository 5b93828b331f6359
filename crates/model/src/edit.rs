//! Changing the text of a project while its comments and order stay.
//! Never: reads what a value means.
//! Start at [`apply`].

use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, Value, value};

use crate::Edit;

/// Makes the edits to `text`. An entry of a list of tables is named by number or by what it says: see [`Which`].
/// An error says which path cannot be reached.
pub fn apply(text: &str, edits: &[Edit]) -> Result<String, String> {
    let mut document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| error.to_string())?;
    for edit in edits {
        let (last, tables) =
            edit.path.split_last().ok_or_else(|| "the path of the change is empty".to_owned())?;
        let mut item: &mut Item = document.as_item_mut();
        for key in tables {
            let (key, which) = split_segment(key);
            let table = item
                .as_table_like_mut()
                .ok_or_else(|| format!("`{}` goes through a value that is no table", edit.shown()))?;
            item = match which {
                None => table.entry(key).or_insert_with(|| {
                    let mut table = Table::new();
                    table.set_implicit(true);
                    Item::Table(table)
                }),
                Some(which) => {
                    let list = table.entry(key).or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()));
                    entry(list, &which)
                        .ok_or_else(|| format!("`{}`: there is no item {which}", edit.shown()))?
                }
            };
        }
        let table =
            item.as_table_like_mut().ok_or_else(|| format!("`{}` is not inside a table", edit.shown()))?;
        match &edit.value {
            Some(text) => {
                let new = match (list(&edit.path, text), text.as_str()) {
                    (Some(list), _) => value(list),
                    (None, "true") => value(true),
                    (None, "false") => value(false),
                    (None, number) if number.chars().all(|c| c.is_ascii_digit()) && !number.is_empty() => {
                        number.parse::<i64>().map_or_else(|_| value(number), value)
                    }
                    (None, other) => value(other),
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
                let (key, which) = split_segment(last);
                match which {
                    None => {
                        table.remove(key);
                        drop_pins(&mut document, edit);
                    }
                    Some(which) => {
                        let gone = table.get_mut(key).and_then(as_tables).and_then(|tables| {
                            let at = position(tables, &which).filter(|at| *at < tables.len())?;
                            tables.remove(at);
                            Some(tables.is_empty())
                        });
                        match gone {
                            Some(true) => {
                                table.remove(key);
                            }
                            Some(false) => {}
                            None => return Err(format!("`{}`: there is no item {which}", edit.shown())),
                        }
                    }
                }
            }
        }
    }
    Ok(document.to_string())
}

/// The list that a value under `stacks` is; everywhere else a text in brackets stays a text.
pub(crate) fn list(path: &[String], text: &str) -> Option<Array> {
    if path.first().is_none_or(|first| first != "stacks") {
        return None;
    }
    text.parse::<Value>().ok()?.as_array().cloned()
}

/// Takes the table of pins away with its last pin, unless a comment stands above it: pinned and unpinned, a file is what it was.
/// Other tables stay, since an empty one says that the thing is there.
fn drop_pins(document: &mut DocumentMut, edit: &Edit) {
    let is_bare = |table: &Table| {
        let above = table.decor().prefix().and_then(|prefix| prefix.as_str());
        table.is_empty() && above.is_none_or(|text| text.trim().is_empty())
    };
    if edit.path.first().is_some_and(|first| first == "pins")
        && document.get("pins").and_then(Item::as_table).is_some_and(is_bare)
    {
        document.remove("pins");
    }
}

/// Which entry of a list of tables a segment names.
pub(crate) enum Which {
    /// `answers[2]`: by number from 0; the number after the last one appends.
    Index(usize),
    /// `answers[rule = "too-small", place = "pump"]`: the first entry with these texts; where there is none, one is appended with
    /// them. Two people who add an entry each thus never mean the same one by chance.
    With(Vec<(String, String)>),
}

impl std::fmt::Display for Which {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Index(index) => write!(f, "{index}"),
            Self::With(pairs) => {
                let pairs: Vec<String> =
                    pairs.iter().map(|(key, text)| format!("{key} = {text:?}")).collect();
                f.write_str(&pairs.join(", "))
            }
        }
    }
}

pub(crate) fn split_segment(segment: &str) -> (&str, Option<Which>) {
    let Some((key, inner)) = segment.strip_suffix(']').and_then(|rest| rest.split_once('[')) else {
        return (segment, None);
    };
    if let Ok(index) = inner.parse() {
        return (key, Some(Which::Index(index)));
    }
    match pairs(inner) {
        Some(pairs) => (key, Some(Which::With(pairs))),
        // A key that was written in quotes may end in brackets of its own.
        None => (segment, None),
    }
}

/// `rule = "too-small", place = "pump"`, as inside an inline table.
fn pairs(inner: &str) -> Option<Vec<(String, String)>> {
    let table: Value = format!("{{ {inner} }}").parse().ok()?;
    let table = table.as_inline_table().filter(|table| !table.is_empty())?;
    table.iter().map(|(key, value)| Some((key.to_owned(), value.as_str()?.to_owned()))).collect()
}

/// The list as tables; one that was written in brackets becomes one, since an entry that is a line cannot grow comments.
fn as_tables(list: &mut Item) -> Option<&mut ArrayOfTables> {
    if let Some(array) = list.as_array() {
        let tables = if array.is_empty() {
            ArrayOfTables::new()
        } else {
            Item::Value(Value::Array(array.clone())).into_array_of_tables().ok()?
        };
        *list = Item::ArrayOfTables(tables);
    }
    list.as_array_of_tables_mut()
}

/// Where the entry stands; for an index that is one past the end, there.
fn position(tables: &ArrayOfTables, which: &Which) -> Option<usize> {
    match which {
        Which::Index(index) => Some(*index).filter(|index| *index <= tables.len()),
        Which::With(pairs) => tables.iter().position(|table| {
            pairs.iter().all(|(key, text)| table.get(key).and_then(Item::as_str) == Some(text.as_str()))
        }),
    }
}

/// The entry, where it is there; the list may be written in brackets.
pub(crate) fn entry_at<'a>(list: &'a Item, which: &Which) -> Option<&'a Item> {
    let at = match which {
        Which::Index(index) => *index,
        Which::With(pairs) => {
            let says = |item: &Item| {
                pairs.iter().all(|(key, text)| item.get(key).and_then(Item::as_str) == Some(text.as_str()))
            };
            (0..).map_while(|at| Some((at, list.get(at)?))).find(|(_, item)| says(item))?.0
        }
    };
    list.get(at)
}

/// The entry, appended where it is not there yet.
fn entry<'a>(list: &'a mut Item, which: &Which) -> Option<&'a mut Item> {
    let tables = as_tables(list)?;
    let at = match (position(tables, which), which) {
        (Some(at), _) => at,
        (None, Which::With(_)) => tables.len(),
        (None, Which::Index(_)) => return None,
    };
    if at == tables.len() {
        let mut table = Table::new();
        if let Which::With(pairs) = which {
            for (key, text) in pairs {
                table.insert(key, value(text));
            }
        }
        tables.push(table);
    }
    list.get_mut(at)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# Ours.\n[brief]\nname = \"Heron\"\n\n# Seen at the bench.\n[[answers]] # old\nrule = \"a\"\nplace = \"pump\"\n\
                        reason = \"It is short.\"\n";

    fn edited(text: &str, edits: &[(&[&str], Option<&str>)]) -> Result<String, String> {
        let edits: Vec<Edit> = edits
            .iter()
            .map(|(path, value)| Edit {
                path: path.iter().map(|segment| (*segment).to_owned()).collect(),
                value: value.map(str::to_owned),
            })
            .collect();
        apply(text, &edits)
    }

    const NEW: &str = "answers[rule = \"b\", place = \"bank [1]\"]";

    #[test]
    fn an_index_one_past_the_end_appends() {
        let text =
            edited(TEXT, &[(&["answers[1]", "rule"], Some("b")), (&["answers[1]", "place"], Some("fan"))])
                .unwrap();
        assert_eq!(text, format!("{TEXT}\n[[answers]]\nrule = \"b\"\nplace = \"fan\"\n"));
        assert_eq!(
            edited("[brief]\nname = \"x\"\n", &[(&["answers[0]", "rule"], Some("b"))]).unwrap(),
            "[brief]\nname = \"x\"\n\n[[answers]]\nrule = \"b\"\n"
        );
        assert!(edited(TEXT, &[(&["answers[2]", "rule"], Some("b"))]).unwrap_err().contains("no item 2"));
    }

    #[test]
    fn an_entry_is_found_by_what_it_says_and_appended_where_it_is_not_there() {
        let text = edited(TEXT, &[(&[NEW, "reason"], Some("Seen."))]).unwrap();
        assert_eq!(
            text,
            format!("{TEXT}\n[[answers]]\nrule = \"b\"\nplace = \"bank [1]\"\nreason = \"Seen.\"\n")
        );
        let again = edited(&text, &[(&[NEW, "reason"], Some("Seen twice."))]).unwrap();
        assert_eq!(again, text.replace("Seen.", "Seen twice."));
        let old = "answers[rule = \"a\", place = \"pump\"]";
        assert_eq!(
            edited(TEXT, &[(&[old, "reason"], Some("New."))]).unwrap(),
            TEXT.replace("It is short.", "New.")
        );
    }

    #[test]
    fn an_entry_is_taken_away_by_what_it_says() {
        let text = edited(TEXT, &[(&[NEW, "reason"], Some("Seen."))]).unwrap();
        assert_eq!(edited(&text, &[(&[NEW], None)]).unwrap(), TEXT);
        assert!(edited(TEXT, &[(&[NEW], None)]).unwrap_err().contains("bank [1]"));
        // The last one takes the list with it.
        let none = edited(TEXT, &[(&["answers[0]"], None)]).unwrap();
        assert!(!none.contains("answers"), "{none}");
    }

    #[test]
    fn a_list_in_brackets_becomes_tables_when_it_grows() {
        let text = "[brief]\nname = \"x\"\n";
        let with = format!("answers = [{{ rule = \"a\", place = \"pump\", reason = \"Old.\" }}]\n{text}");
        let grown = edited(&with, &[(&[NEW, "reason"], Some("Seen."))]).unwrap();
        let parsed: DocumentMut = grown.parse().unwrap();
        let answers = parsed["answers"].as_array_of_tables().unwrap();
        assert_eq!(answers.len(), 2);
        assert_eq!(answers.get(0).and_then(|table| table["reason"].as_str()), Some("Old."));
        assert!(edited(&format!("answers = []\n{text}"), &[(&[NEW, "reason"], Some("Seen."))]).is_ok());
        assert!(edited(&format!("answers = 3\n{text}"), &[(&[NEW, "reason"], Some("Seen."))]).is_err());
    }

    #[test]
    fn a_stack_is_a_list_and_a_text_in_brackets_stays_a_text() {
        let stack = Edit::stack("bank.positive", &["main.positive", "alarm.positive"]);
        assert_eq!(stack.shown(), "stacks.\"bank.positive\" = [\"main.positive\", \"alarm.positive\"]");
        let text = apply(TEXT, std::slice::from_ref(&stack)).unwrap();
        assert!(
            text.ends_with("[stacks]\n\"bank.positive\" = [\"main.positive\", \"alarm.positive\"]\n"),
            "{text}"
        );
        assert_eq!(crate::value_at(&text, &stack.path).unwrap(), stack.value);
        let turned = Edit::stack("bank.positive", &["alarm.positive", "main.positive"]);
        let text = apply(&text, &[turned]).unwrap();
        assert!(text.ends_with("\"bank.positive\" = [\"alarm.positive\", \"main.positive\"]\n"), "{text}");
        let text = edited(TEXT, &[(&["brief", "name"], Some("[x]"))]).unwrap();
        assert!(text.contains("name = \"[x]\""), "{text}");
    }

    #[test]
    fn a_key_in_quotes_keeps_its_brackets() {
        let text = edited(TEXT, &[(&["pins", "bank.size[x]"], Some("3"))]).unwrap();
        assert!(text.contains("\"bank.size[x]\" = 3"), "{text}");
    }
}
