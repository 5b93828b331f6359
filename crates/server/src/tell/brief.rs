//! The questions: what a person can say, in plain words, with what is taken where nothing is said and why.
//! Never: asks what can be derived; such keys are there, in a group whose id ends in `.more`.
//! Start at [`brief`] and [`fields`]; the words are in `data/questions.toml`, the keys in `schema.rs`.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use model::Origin;
use serde::Deserialize;

use super::schema::{self, Key, Kind};
use super::taken;
use crate::Stand;
use crate::wire::{Ask, Choice, Field, FieldGroup};

/// What follows the id of a group that most people leave alone.
const MORE: &str = ".more";

/// Name of an array that is not there yet.
const FIRST_ARRAY: &str = "roof";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Words {
    group: Vec<Group>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Group {
    id: String,
    title: String,
    help: String,
    tables: Vec<String>,
    #[serde(default)]
    ask: Vec<Asked>,
}

/// A question in plain words.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    path: String,
    title: String,
    help: String,
    unit: Option<String>,
    slider: Option<(f64, f64, f64)>,
    example: Option<String>,
    part: Option<String>,
    derived: Option<String>,
    #[serde(default)]
    choices: Vec<(String, String, String)>,
}

/// Questions and keys laid together.
struct Sheet {
    groups: Vec<Group>,
    /// Of each group its keys without a question.
    more: Vec<Vec<&'static Key>>,
    keys: BTreeMap<String, &'static Key>,
}

static SHEET: LazyLock<Sheet> = LazyLock::new(|| {
    // The file is compiled in and a test reads it; without it every key would stand in no group.
    let groups = toml::from_str::<Words>(include_str!("../../data/questions.toml"))
        .map_or_else(|_| Vec::new(), |words| words.group);
    let mut more: Vec<Vec<&Key>> = groups.iter().map(|_| Vec::new()).collect();
    let mut keys = BTreeMap::new();
    for key in schema::keys() {
        let path = key.path.join(".");
        let is_asked = groups.iter().flat_map(|group| &group.ask).any(|ask| ask.path == path);
        let fit =
            |table: &String| path.strip_prefix(table.as_str()).is_some_and(|rest| rest.starts_with('.'));
        let best = groups
            .iter()
            .enumerate()
            .filter_map(|(at, group)| {
                Some((group.tables.iter().filter(|t| fit(t)).map(String::len).max()?, at))
            })
            .max_by_key(|(length, _)| *length);
        if let Some((_, at)) = best.filter(|_| !is_asked)
            && let Some(list) = more.get_mut(at)
        {
            list.push(key);
        }
        keys.insert(path, key);
    }
    Sheet { groups, more, keys }
});

/// All groups but those of loads, of which there may be hundreds: they are asked for one by one, by [`fields`].
pub fn brief(stand: &Stand) -> Vec<FieldGroup> {
    let teller = Teller::of(stand);
    SHEET.groups.iter().enumerate().flat_map(|(at, group)| teller.groups(at, group, None)).collect()
}

/// The group of an id such as `loads.fridge` or `bank`, and the one with `.more` that follows it; empty where there is none.
pub fn fields(stand: &Stand, id: &str) -> Vec<FieldGroup> {
    let teller = Teller::of(stand);
    SHEET.groups.iter().enumerate().flat_map(|(at, group)| teller.groups(at, group, Some(id))).collect()
}

struct Teller<'s> {
    stand: &'s Stand,
    /// The file as a tree, for what is written.
    file: toml::Table,
    assumptions: BTreeMap<&'s str, &'s model::Assumption>,
    /// The first part of each kind.
    examples: BTreeMap<&'static str, &'s str>,
}

impl<'s> Teller<'s> {
    fn of(stand: &'s Stand) -> Self {
        // A stand is of a text that could be read, so this is never empty.
        let file = stand.project.source.text.parse().unwrap_or_default();
        let assumptions = &stand.system.assumptions;
        let assumptions = assumptions.iter().map(|taken| (taken.path.as_str(), taken)).collect();
        let parts = stand.project.library.facts();
        let examples = parts.into_iter().rev().map(|(kind, id, _)| (kind, id.as_str())).collect();
        Self { stand, file, assumptions, examples }
    }

    /// A group once, or for each name that its table has; only that of `wanted` where one is.
    fn groups(&self, at: usize, group: &Group, wanted: Option<&str>) -> Vec<FieldGroup> {
        let starred = group.tables.iter().find_map(|table| table.strip_suffix(".*"));
        let Some(table) = starred else {
            let is_wanted = wanted.is_none_or(|id| id == group.id);
            return if is_wanted { self.pair(at, group, &group.id, &group.title, "") } else { Vec::new() };
        };
        if table == "loads" && wanted.is_none() {
            return Vec::new();
        }
        let mut names = self.names(table);
        if names.is_empty() && table == "solar" {
            names.push(FIRST_ARRAY.to_owned());
        }
        let mut found = Vec::new();
        for (nth, name) in names.iter().enumerate() {
            let id =
                if table == "solar" && nth == 0 { group.id.clone() } else { format!("{}.{name}", group.id) };
            if wanted.is_some_and(|wanted| wanted != id) {
                continue;
            }
            let title = if table == "solar" && names.len() == 1 {
                group.title.clone()
            } else {
                self.title(table, name).unwrap_or_else(|| format!("{}: {name}", group.title))
            };
            found.extend(self.pair(at, group, &id, &title, name));
        }
        found
    }

    /// What a table of that name is called.
    fn title(&self, table: &str, name: &str) -> Option<String> {
        if let Some(title) = self.written(&[table.to_owned(), name.to_owned(), "title".to_owned()]) {
            return Some(title);
        }
        let is_load = table == "loads";
        let system = &self.stand.system;
        let intent = format!("{table}.{name}");
        let device = system.devices.iter().find(|device| is_load && device.intent == intent);
        device.map(|device| device.title.clone())
    }

    /// Names in a table, in the order of the file.
    fn names(&self, table: &str) -> Vec<String> {
        let Some(found) = self.file.get(table).and_then(toml::Value::as_table) else { return Vec::new() };
        let mut names: Vec<String> = found.keys().cloned().collect();
        let spans = &self.stand.project.spans;
        names.sort_by_key(|name| {
            spans.nearest(&format!("{table}.{name}")).map_or(usize::MAX, |span| span.start)
        });
        names
    }

    /// The questions of a group and, where wanted, what stands behind them.
    fn pair(&self, at: usize, group: &Group, id: &str, title: &str, name: &str) -> Vec<FieldGroup> {
        let made = |id: String, fields: Vec<Field>| FieldGroup {
            id,
            title: title.to_owned(),
            help: group.help.clone(),
            fields,
        };
        let asked: Vec<Field> = group
            .ask
            .iter()
            .filter_map(|ask| Some(self.field(SHEET.keys.get(ask.path.as_str())?, Some(ask), name)))
            .collect();
        let more: Vec<Field> =
            SHEET.more.get(at).into_iter().flatten().map(|key| self.field(key, None, name)).collect();
        let mut pair = Vec::new();
        if !asked.is_empty() {
            pair.push(made(id.to_owned(), asked));
        }
        if !more.is_empty() {
            pair.push(made(format!("{id}{MORE}"), more));
        }
        pair
    }

    fn field(&self, key: &Key, asked: Option<&Asked>, name: &str) -> Field {
        let path: Vec<String> =
            key.path.iter().map(|part| if part == "*" { name.to_owned() } else { part.clone() }).collect();
        let dotted = path.join(".");
        let last = key.path.last().map_or("", String::as_str);
        let mut field = Field {
            title: asked.map_or_else(|| sentence(last), |asked| asked.title.clone()),
            help: asked.map_or_else(|| key.help.clone(), |asked| asked.help.clone()),
            ask: Ask::Switch,
            written: self.written(&path),
            taken: None,
            because: None,
            plausible: None,
            must_answer: false,
            is_needed: key.is_needed,
            path,
        };
        self.take(&mut field, &dotted, last, asked.and_then(|asked| asked.derived.as_deref()), name);
        field.ask = self.ask(key, asked, field.taken.as_deref());
        field
    }

    /// What is taken where nothing is written: an assumption, else the derived value, else the part's own.
    fn take(&self, field: &mut Field, dotted: &str, last: &str, derived: Option<&str>, name: &str) {
        if let Some(assumption) = self.assumptions.get(dotted) {
            field.taken = Some(assumption.value.clone());
            field.because = Some(assumption.why.clone());
            field.plausible = assumption.plausible.clone();
            field.must_answer = assumption.must_answer;
            return;
        }
        if field.written.is_some() {
            return;
        }
        if let Some((value, why)) = taken::of_part(self.stand, &field.path, last) {
            field.taken = Some(value);
            field.because = Some(why);
            return;
        }
        let path = derived.map(|path| path.replace('*', name));
        let because = path.and_then(|path| self.stand.system.because.get(&path));
        if let Some(because) = because {
            field.taken = Some(because.value.clone());
            // A length that a route gives is told by where it comes from.
            let from_route = because.inputs.iter().find_map(|input| match &input.origin {
                Origin::Intent(path) if path.starts_with("routes.") => Some(format!("it follows {path}")),
                _ => None,
            });
            field.because = Some(from_route.unwrap_or_else(|| because.step.clone()));
        }
    }

    fn ask(&self, key: &Key, asked: Option<&Asked>, taken: Option<&str>) -> Ask {
        let slider = asked.and_then(|asked| asked.slider);
        let example = asked.and_then(|asked| asked.example.clone());
        if let Some(part) = asked.and_then(|asked| asked.part.clone()) {
            return self.part(&part);
        }
        if let Some(asked) = asked.filter(|asked| !asked.choices.is_empty()) {
            let choice = |(value, title, help): &(String, String, String)| Choice {
                value: value.clone(),
                title: title.clone(),
                help: help.clone(),
                is_usual: taken == Some(value.as_str()),
            };
            return Ask::Choice { choices: asked.choices.iter().map(choice).collect() };
        }
        match &key.kind {
            Kind::Choice(choices) => {
                let mut choices = choices.clone();
                for choice in &mut choices {
                    choice.is_usual = taken == Some(choice.value.as_str());
                }
                Ask::Choice { choices }
            }
            Kind::Switch => Ask::Switch,
            Kind::Count => {
                let (least, most) = slider.map_or((0, 1000), |(least, most, _)| (least as u32, most as u32));
                Ask::Count { least, most }
            }
            Kind::Quantity(usual) => {
                let example = example.unwrap_or_else(|| usual.clone());
                let unit = asked.and_then(|asked| asked.unit.clone());
                Ask::Quantity { unit: unit.unwrap_or_else(|| unit_of(&example)), slider, example }
            }
            Kind::Name => self.named(key),
            Kind::Text => Ask::Text { example: example.unwrap_or_default() },
        }
    }

    /// A name: of a part of the library, or of something that the file declares.
    fn named(&self, key: &Key) -> Ask {
        let last = key.path.last().map_or("", String::as_str);
        let table = match last {
            "zone" => "zones",
            "route" => "routes",
            "panel" => "panels",
            _ => "",
        };
        if !table.is_empty() {
            let choice = |name: String| Choice {
                title: self.title(table, &name).unwrap_or_else(|| sentence(&name)),
                value: name,
                help: String::new(),
                is_usual: false,
            };
            return Ask::Choice { choices: self.names(table).into_iter().map(choice).collect() };
        }
        match taken::kind_of_part(&key.path) {
            Some(of) => self.part(of),
            None => Ask::Text { example: "a-name".to_owned() },
        }
    }

    /// A part of a kind, with the first of them as the example.
    fn part(&self, of: &str) -> Ask {
        let first = self.examples.get(of).copied().unwrap_or_default();
        Ask::Part { of: of.to_owned(), example: first.to_owned() }
    }

    /// What stands in the file, without quotes.
    fn written(&self, path: &[String]) -> Option<String> {
        let (first, rest) = path.split_first()?;
        let found = rest.iter().try_fold(self.file.get(first)?, |at, key| at.get(key))?;
        match found {
            toml::Value::String(text) => Some(text.clone()),
            toml::Value::Table(_) | toml::Value::Array(_) => None,
            other => Some(other.to_string()),
        }
    }
}

/// The unit of an example: what follows its number.
fn unit_of(example: &str) -> String {
    let number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '/' | '-' | ' ' | ':');
    let text = example.trim_start_matches(number);
    let per_day = example.trim_start_matches(|c: char| c.is_ascii_digit() || c == ' ');
    if per_day.starts_with('/') && !per_day.starts_with("/0") { per_day.to_owned() } else { text.to_owned() }
}

/// `start_power` as `Start power`.
fn sentence(key: &str) -> String {
    let text = key.replace(['_', '-'], " ");
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_question_names_a_key_of_the_file() {
        let words: Words = toml::from_str(include_str!("../../data/questions.toml")).expect("is TOML");
        assert!(words.group.len() > 8);
        for ask in words.group.iter().flat_map(|group| &group.ask) {
            let key = SHEET.keys.get(&ask.path).unwrap_or_else(|| panic!("{} is no key", ask.path));
            assert!(ask.title.ends_with('?'), "{}: a question ends in ?", ask.path);
            assert!(ask.help.ends_with('.'), "{}: its help is a sentence", ask.path);
            match &key.kind {
                Kind::Quantity(_) if ask.choices.is_empty() => {
                    assert!(ask.unit.is_some(), "{} has a unit", ask.path)
                }
                _ => assert!(ask.unit.is_none(), "{} has no unit", ask.path),
            }
            let is_known = |kind: &String| model::Library::KEYS.contains(&kind.as_str());
            assert!(ask.part.as_ref().is_none_or(is_known), "{}", ask.path);
            let slider = ask.slider.unwrap_or((0.0, 1.0, 1.0));
            assert!(slider.0 < slider.1 && slider.2 > 0.0, "{}", ask.path);
        }
    }

    // What can be read can be asked: no key of the file is left out but lists and what has a place of its own.
    #[test]
    fn every_key_stands_in_a_group() {
        let asked: usize = SHEET.groups.iter().map(|group| group.ask.len()).sum();
        let more: usize = SHEET.more.iter().map(Vec::len).sum();
        assert_eq!(asked + more, schema::keys().len());
        assert!(asked > 40 && more > 80, "{asked} {more}");
        assert!(schema::keys().iter().all(|key| !key.help.is_empty()));
    }

    #[test]
    fn units_are_read_off_an_example() {
        for (example, unit) in
            [("12.8 V", "V"), ("48.5°", "°"), ("2 /day", "/day"), ("4 h/day", "h/day"), ("25 %", "%")]
        {
            assert_eq!(unit_of(example), unit);
        }
    }
}
