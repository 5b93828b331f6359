//! `schema`: the JSON Schema of intent.toml, with which editors complete and check while one types.
//! Never: differs from what is read; both come from the same declarations.
//! Start at [`text`].

use crate::answer::{Answer, Failure};

/// Prints it.
pub fn run() -> Result<Answer, Failure> {
    Ok(Answer::text(text()))
}

/// The schema, as it also stands in `docs/intent.schema.json`.
pub fn text() -> String {
    let schema = schemars::schema_for!(model::Intent);
    // A schema is a tree of texts and numbers, which always has a JSON form.
    serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"
}

#[cfg(test)]
mod tests {
    /// Mend by `cargo run -p wattwain -- schema > docs/intent.schema.json`.
    #[test]
    fn the_schema_in_the_repository_is_current() {
        let kept = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/intent.schema.json");
        let kept = std::fs::read_to_string(kept).unwrap();
        assert!(kept == super::text(), "docs/intent.schema.json is not current");
    }
}
