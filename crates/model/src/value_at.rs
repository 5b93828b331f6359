//! What stands at a path of a project's text, so that two changes can be told apart from a clash.
//! Never: changes the text; `edit` does, with the same paths.
//! Start at [`value_at`].

use toml_edit::{DocumentMut, Item, Value};

use crate::edit::{entry_at, split_segment};

/// What stands at a path, in a form that is the same where the value is: a text without quotes, a table or list with its keys in
/// order and without comments. `None` where nothing stands there.
///
/// Two people's changes can be joined where what each of them changes has not changed since they saw it.
/// Errors: a text that is no TOML.
pub fn value_at(text: &str, path: &[String]) -> Result<Option<String>, String> {
    let document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| error.to_string())?;
    Ok(item_at(document.as_item(), path).map(plain))
}

/// Whether anything stands at a path: a change inside a table that was taken away meanwhile would bring half of it back.
pub fn stands(text: &str, path: &[String]) -> bool {
    text.parse::<DocumentMut>().is_ok_and(|document| item_at(document.as_item(), path).is_some())
}

fn item_at<'a>(root: &'a Item, path: &[String]) -> Option<&'a Item> {
    let mut item = root;
    for segment in path {
        let (key, which) = split_segment(segment);
        item = item.get(key)?;
        item = match which {
            None => item,
            Some(which) => entry_at(item, &which)?,
        };
    }
    (!item.is_none()).then_some(item)
}

fn plain(item: &Item) -> String {
    match item {
        Item::None => String::new(),
        Item::Value(value) => plain_value(value, false),
        Item::Table(table) => plain_table(table.iter().map(|(key, item)| (key, plain_inside(item)))),
        Item::ArrayOfTables(tables) => {
            let each: Vec<String> = tables
                .iter()
                .map(|table| plain_table(table.iter().map(|(key, item)| (key, plain_inside(item)))))
                .collect();
            format!("[{}]", each.join(", "))
        }
    }
}

/// Inside a table a text keeps its quotes, so that `1` and `"1"` differ.
fn plain_inside(item: &Item) -> String {
    match item {
        Item::Value(value) => plain_value(value, true),
        other => plain(other),
    }
}

fn plain_value(value: &Value, is_quoted: bool) -> String {
    match value {
        Value::String(text) if is_quoted => format!("{:?}", text.value()),
        Value::String(text) => text.value().clone(),
        Value::Integer(number) => number.value().to_string(),
        Value::Float(number) => number.value().to_string(),
        Value::Boolean(truth) => truth.value().to_string(),
        Value::Datetime(time) => time.value().to_string(),
        Value::Array(values) => {
            let each: Vec<String> = values.iter().map(|value| plain_value(value, true)).collect();
            format!("[{}]", each.join(", "))
        }
        Value::InlineTable(table) => {
            plain_table(table.iter().map(|(key, value)| (key, plain_value(value, true))))
        }
    }
}

fn plain_table<'a>(pairs: impl Iterator<Item = (&'a str, String)>) -> String {
    let mut pairs: Vec<(&str, String)> = pairs.collect();
    pairs.sort();
    let each: Vec<String> = pairs.into_iter().map(|(key, value)| format!("{key} = {value}")).collect();
    format!("{{ {} }}", each.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Edit;
    use crate::edit::apply;

    const TEXT: &str = "name = \"Heron\" # ours\n\n[loads.fridge]\nhours = \"6 h\"\ncount = 2\n\n[pins]\n\
                        \"inverter.positive.gauge\" = \"70 mm²\"\n\n[[built]]\nkind = \"moved\"\n";

    fn at(text: &str, path: &[&str]) -> Option<String> {
        let path: Vec<String> = path.iter().map(|segment| (*segment).to_owned()).collect();
        value_at(text, &path).unwrap()
    }

    #[test]
    fn a_value_is_found_as_it_would_be_written() {
        assert_eq!(at(TEXT, &["name"]).as_deref(), Some("Heron"));
        assert_eq!(at(TEXT, &["loads", "fridge", "count"]).as_deref(), Some("2"));
        assert_eq!(at(TEXT, &["pins", "inverter.positive.gauge"]).as_deref(), Some("70 mm²"));
        assert_eq!(at(TEXT, &["built[0]", "kind"]).as_deref(), Some("moved"));
        assert_eq!(at(TEXT, &["built[kind = \"moved\"]", "kind"]).as_deref(), Some("moved"));
        assert_eq!(at(TEXT, &["built[kind = \"added\"]"]), None);
        assert_eq!(at("built = [{ kind = 'moved' }]", &["built[0]"]), at(TEXT, &["built[0]"]));
        assert_eq!(at(TEXT, &["built[1]"]), None);
        assert_eq!(at(TEXT, &["name", "further"]), None);
        assert_eq!(at(TEXT, &["loads", "pump"]), None);
        assert!(value_at("name = ", &["name".to_owned()]).is_err());
    }

    #[test]
    fn comments_order_and_shape_do_not_count_but_values_do() {
        let fridge = |text: &str| at(text, &["loads", "fridge"]);
        let other = "[loads]\nfridge = { count = 2, hours = '6 h' } # the old one\n";
        assert_eq!(fridge(TEXT), fridge(other));
        assert_ne!(fridge(TEXT), fridge("[loads.fridge]\nhours = \"6 h\"\ncount = \"2\"\n"));
        assert_ne!(fridge(TEXT), fridge("[loads.fridge]\nhours = \"6 h\"\n"));
    }

    #[test]
    fn what_apply_sets_is_what_stands_there() {
        for (path, value) in [
            (vec!["loads", "fridge", "hours"], Some("8 h")),
            (vec!["loads", "pump", "power"], Some("40 W")),
            (vec!["loads", "fridge", "count"], Some("3")),
            (vec!["loads", "fridge"], None),
            (vec!["pins", "inverter.positive.gauge"], None),
            (vec!["built[0]"], None),
        ] {
            let edit = Edit {
                path: path.iter().map(|segment| (*segment).to_owned()).collect(),
                value: value.map(str::to_owned),
            };
            let text = apply(TEXT, std::slice::from_ref(&edit)).unwrap();
            assert_eq!(value_at(&text, &edit.path).unwrap().as_deref(), value, "{path:?}");
            assert!(text.contains("# ours"), "the comment stays");
        }
    }
}
