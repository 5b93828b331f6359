//! Every key of intent.toml with its help, as the file's own schema has them.
//! Never: holds a key of its own; what can be read is what can be asked.
//! Start at [`keys`].

use std::sync::LazyLock;

use serde_json::{Map, Value};

use crate::wire;

/// A key that can be asked for.
pub struct Key {
    /// Its path; `*` stands for a name that the person gave.
    pub path: Vec<String>,
    /// What it means, without a full stop.
    pub help: String,
    /// What stands there.
    pub kind: Kind,
    /// Whether the file cannot be read without it.
    pub is_needed: bool,
}

/// What stands at a key.
#[derive(Clone, Debug)]
pub enum Kind {
    /// One of a few words.
    Choice(Vec<wire::Choice>),
    /// True or false.
    Switch,
    /// A whole number.
    Count,
    /// A text with a unit; an example.
    Quantity(String),
    /// A name that stands elsewhere in the file or in the library.
    Name,
    /// Any other text.
    Text,
}

static KEYS: LazyLock<Vec<Key>> = LazyLock::new(|| {
    let schema = serde_json::to_value(schemars::schema_for!(model::Intent)).unwrap_or_default();
    let mut keys = Vec::new();
    if let Some(root) = schema.as_object() {
        let none = Map::new();
        let defs = root.get("$defs").and_then(Value::as_object).unwrap_or(&none);
        walk(root, defs, &mut Vec::new(), &mut keys);
    }
    keys
});

/// All keys in the order of the schema. Pins, what is built otherwise, written answers and lists have places of their own.
pub fn keys() -> &'static [Key] {
    &KEYS
}

fn walk(of: &Map<String, Value>, defs: &Map<String, Value>, path: &mut Vec<String>, keys: &mut Vec<Key>) {
    let Some(properties) = of.get("properties").and_then(Value::as_object) else { return };
    for (name, property) in properties {
        if path.is_empty() && matches!(name.as_str(), "pins" | "built" | "stacks" | "answers") {
            continue;
        }
        path.push(name.clone());
        let before = keys.len();
        one(property, defs, path, keys);
        let required = of.get("required").and_then(Value::as_array);
        let is_needed = required.is_some_and(|required| required.iter().any(|needed| needed == name));
        // Only the key itself: what a needed table holds is needed by its own list.
        for key in keys.iter_mut().skip(before).filter(|key| key.path == *path) {
            key.is_needed = is_needed;
        }
        path.pop();
    }
}

fn one(property: &Value, defs: &Map<String, Value>, path: &mut Vec<String>, keys: &mut Vec<Key>) {
    let help = property.get("description").and_then(Value::as_str).unwrap_or_default();
    let help = help.trim_end_matches('.').to_owned();
    let (found, def) = resolved(property, defs);
    let Some(found) = found.as_object() else { return };
    if found.contains_key("properties") {
        return walk(found, defs, path, keys);
    }
    if let Some(each) = found.get("additionalProperties").filter(|each| each.is_object()) {
        path.push("*".to_owned());
        if let Some(each) = resolved(each, defs).0.as_object() {
            walk(each, defs, path, keys);
        }
        path.pop();
        return;
    }
    if let Some(kind) = kind(found, def) {
        keys.push(Key { path: path.clone(), help, kind, is_needed: false });
    }
}

/// What a property refers to, past `$ref` and past "or nothing", with the name of its definition.
fn resolved<'v>(property: &'v Value, defs: &'v Map<String, Value>) -> (&'v Value, Option<&'v str>) {
    if let Some(name) = property.get("$ref").and_then(Value::as_str) {
        let name = name.rsplit('/').next().unwrap_or(name);
        return (defs.get(name).unwrap_or(property), Some(name));
    }
    let options = property.get("anyOf").and_then(Value::as_array);
    match options.and_then(|options| options.iter().find(|option| option.get("$ref").is_some())) {
        Some(option) => resolved(option, defs),
        None => (property, None),
    }
}

fn kind(found: &Map<String, Value>, def: Option<&str>) -> Option<Kind> {
    if let Some(options) = found.get("oneOf").and_then(Value::as_array) {
        let choice = |option: &Value| {
            let value = option.get("const")?.as_str()?;
            let words = option.get("description").and_then(Value::as_str).unwrap_or(value);
            Some(wire::Choice {
                value: value.to_owned(),
                title: words.trim_end_matches('.').to_owned(),
                help: String::new(),
                is_usual: false,
            })
        };
        return Some(Kind::Choice(options.iter().filter_map(choice).collect()));
    }
    let is = |word: &str| match found.get("type") {
        Some(Value::String(is)) => is == word,
        Some(Value::Array(list)) => list.iter().any(|is| is == word),
        _ => false,
    };
    if is("boolean") {
        return Some(Kind::Switch);
    }
    if is("integer") {
        return Some(Kind::Count);
    }
    if !is("string") {
        return None;
    }
    if def == Some("Name") {
        return Some(Kind::Name);
    }
    let example = found.get("examples").and_then(|list| list.get(0)).and_then(Value::as_str);
    Some(match example {
        Some(example) => Kind::Quantity(example.to_owned()),
        None => Kind::Text,
    })
}
