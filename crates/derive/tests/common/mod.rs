//! Projects for the tests: the examples, and made-up ones of any size.

use std::path::Path;

use model::{Project, SourceText, System};

/// A project from the text of its intent.toml; the test fails with its problems.
pub fn project(text: &str) -> Project {
    let source = SourceText { name: "intent.toml".to_owned(), text: text.to_owned() };
    match Project::read(source, model::library::builtin().clone()) {
        Ok(project) => project,
        Err(problems) => panic!("{problems:#?}"),
    }
}

/// The text of an example.
pub fn example_text(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name).join("intent.toml");
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// An example, derived.
pub fn example(name: &str) -> System {
    derive::derive(&project(&example_text(name)))
}
