//! What the workspace is made of, from `cargo metadata`, and the order that imports must keep.
//! Never: builds anything.
//! Start at [`read`]; [`ORDER`] is the order.

use serde_json::Value;

/// Every crate of the program, the lowest first. A crate may import those before it.
pub const ORDER: [&str; 15] = [
    "quantity",
    "reference",
    "model",
    "derive",
    "network",
    "energy",
    "rules",
    "board",
    "drawing",
    "pack",
    "prove",
    "booklet",
    "folder",
    "server",
    "wattwain",
];

/// Crates beside the program, on which nothing may depend.
pub const BESIDE: [&str; 2] = ["checks", "xtask"];

/// One crate of the workspace.
pub struct Member {
    /// Its name.
    pub name: String,
    /// Crates of the workspace that it imports, in building and in tests, sorted.
    pub imports: Vec<Import>,
}

/// One import inside the workspace.
pub struct Import {
    /// The crate imported.
    pub name: String,
    /// Only its tests and benches need it.
    pub only_tests: bool,
}

/// The crates of the workspace by name.
///
/// Errors: `cargo metadata` that cannot be run or read.
pub fn read() -> Result<Vec<Member>, String> {
    let output = crate::cargo()
        .args(["metadata", "--format-version", "1", "--no-deps", "--offline"])
        .output()
        .map_err(|error| format!("cargo metadata cannot be run: {error}"))?;
    if !output.status.success() {
        return Err(format!("cargo metadata failed: {}", String::from_utf8_lossy(&output.stderr)));
    }
    let metadata: Value = serde_json::from_slice(&output.stdout).map_err(|error| error.to_string())?;
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let mut members: Vec<Member> = list(&metadata["packages"])
        .iter()
        .map(|package| {
            // A dependency by path is one of ours.
            let ours = list(&package["dependencies"]).into_iter().filter(|import| import["path"].is_string());
            let mut imports: Vec<Import> = ours
                .map(|import| Import { name: text(&import["name"]), only_tests: import["kind"] == "dev" })
                .collect();
            imports.sort_by(|a, b| (&a.name, a.only_tests).cmp(&(&b.name, b.only_tests)));
            Member { name: text(&package["name"]), imports }
        })
        .collect();
    members.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(members)
}

/// A crate's place in the order.
pub fn place(name: &str) -> Option<usize> {
    ORDER.iter().position(|other| *other == name)
}
