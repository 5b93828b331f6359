//! Writes docs/rules.md from the rules' own comments.
//! Never: is part of the program; a test fails when the page is not current.
//! Start at `main`.

fn main() -> std::io::Result<()> {
    std::fs::write(concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/rules.md"), rules::markdown())
}
