//! What differs between two intents: the paths whose written values are not the same.
//! Never: compares comments, order or how a value is spelled within TOML.
//! Start at [`differences`].

use std::collections::BTreeMap;

use serde::Serialize;
use toml::Value;

/// A path that the two intents write differently.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// Path in intent.toml: `loads.fridge.length`.
    pub path: String,
    /// What the left says; `None` where it says nothing.
    pub left: Option<String>,
    /// What the right says.
    pub right: Option<String>,
}

/// The paths whose values differ between two texts of intent.toml, in order of path; a text that is no TOML says nothing.
pub fn differences(left: &str, right: &str) -> Vec<Difference> {
    let (left, right) = (written(left), written(right));
    let mut paths: Vec<&String> = left.keys().chain(right.keys()).collect();
    paths.sort();
    paths.dedup();
    paths
        .into_iter()
        .filter(|path| left.get(*path) != right.get(*path))
        .map(|path| Difference {
            path: path.clone(),
            left: left.get(path).cloned(),
            right: right.get(path).cloned(),
        })
        .collect()
}

fn written(text: &str) -> BTreeMap<String, String> {
    let mut values = BTreeMap::new();
    if let Ok(table) = text.parse::<toml::Table>() {
        for (key, value) in &table {
            enter(key, value, &mut values);
        }
    }
    values
}

fn enter(path: &str, value: &Value, values: &mut BTreeMap<String, String>) {
    match value {
        Value::Table(table) => {
            for (key, value) in table {
                enter(&format!("{path}.{}", quoted(key)), value, values);
            }
        }
        Value::Array(items) if items.iter().any(Value::is_table) => {
            for (index, value) in items.iter().enumerate() {
                enter(&format!("{path}[{index}]"), value, values);
            }
        }
        Value::String(text) => {
            values.insert(path.to_owned(), text.clone());
        }
        other => {
            values.insert(path.to_owned(), other.to_string());
        }
    }
}

/// A key with dots in it, such as the path of a pin, in quotes.
fn quoted(key: &str) -> String {
    if key.contains('.') { format!("\"{key}\"") } else { key.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_written_differently_is_told() {
        let left = "[brief]\nname = \"A\" # a note\nvoltage = \"12 V\"\n[pins]\n\"a.gauge\" = \"8 AWG\"\n[loads.x]\ncount = 2\n";
        let right =
            "[loads.x]\ncount = 3\n[brief]\nvoltage = '12 V'\nname = \"A\"\n[[built]]\nchange = \"y\"\n";
        let told = |path: &str, left: Option<&str>, right: Option<&str>| Difference {
            path: path.to_owned(),
            left: left.map(str::to_owned),
            right: right.map(str::to_owned),
        };
        assert_eq!(
            differences(left, right),
            [
                told("built[0].change", None, Some("y")),
                told("loads.x.count", Some("2"), Some("3")),
                told("pins.\"a.gauge\"", Some("8 AWG"), None),
            ]
        );
        assert!(differences(left, left).is_empty());
        assert_eq!(differences("not = [toml", right).len(), differences("", right).len());
    }
}
