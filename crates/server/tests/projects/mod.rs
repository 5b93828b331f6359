//! Projects for the tests: the examples, and made-up ones of many circuits.

use model::{Project, SourceText};
use server::Stand;
use server::wire::Part;

/// All that a view can hold.
#[allow(dead_code)] // not every test file asks for it
pub const ALL: &[Part] = &[Part::Diagram, Part::Energy, Part::Brief, Part::Circuits];

/// The examples with their text.
pub const EXAMPLES: &[(&str, &str)] = &[
    ("heron", include_str!("../../../../examples/heron/intent.toml")),
    ("teal", include_str!("../../../../examples/teal/intent.toml")),
    ("marten", include_str!("../../../../examples/marten/intent.toml")),
    ("wren", include_str!("../../../../examples/wren/intent.toml")),
    ("faulty", include_str!("../../../../examples/faulty/intent.toml")),
];

pub fn project(text: &str) -> Project {
    let source = SourceText { name: "intent.toml".to_owned(), text: text.to_owned() };
    Project::read(source, model::library::builtin().clone())
        .unwrap_or_else(|problems| panic!("{problems:#?}"))
}

#[allow(dead_code)]
pub fn stand(text: &str) -> Stand {
    Stand::of(project(text), None)
}

/// A boat of many branch circuits.
#[allow(dead_code)]
pub fn many(count: usize) -> String {
    let mut text = "[brief]\nname = \"Many\"\ncraft = \"boat\"\nrules = \"na\"\nvoltage = \"48 V\"\n[bank]\nlength = \"1 m\"\n".to_owned();
    for number in 0..count {
        let length = 1 + number % 17;
        text += &format!(
            "[loads.load-{number}]\npower = \"20 W\"\nhours = \"1 h/day\"\nlength = \"{length} m\"\n"
        );
    }
    text
}
