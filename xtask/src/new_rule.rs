//! Starts a rule in its three places: its file, its line in the list, its case page.
//! Never: writes over a file; what it writes fails the tests of the list until the page is filled in.
//! Start at [`start`].

use std::path::Path;

/// Starts a rule of a name such as `excess-voltage-drop`.
///
/// Errors: a name that is not legal or taken, a list that does not look as it should.
pub fn start(name: &str) -> Result<(), String> {
    let is_legal = name.starts_with(|c: char| c.is_ascii_lowercase())
        && name.chars().all(|c| c.is_ascii_lowercase() || c == '-')
        && !name.ends_with('-')
        && name.len() <= 40;
    if !is_legal {
        return Err(format!("{name:?}: a rule's name is the fault in small letters and hyphens, at most 40"));
    }
    let module = name.replace('-', "_");
    let rules = crate::root().join("crates/rules");
    let list_path = rules.join("src/list.rs");
    let list =
        std::fs::read_to_string(&list_path).map_err(|error| format!("{}: {error}", list_path.display()))?;
    let list = with_line(&list, &module)?;
    write_new(&rules.join(format!("src/{module}.rs")), &source(name))?;
    write_new(&rules.join(format!("cases/{name}.md")), &case_page(name))?;
    std::fs::write(&list_path, list).map_err(|error| format!("{}: {error}", list_path.display()))?;
    println!(
        "crates/rules/src/{module}.rs, its line in src/list.rs and crates/rules/cases/{name}.md are there."
    );
    println!("Fill them in; then `cargo test -p rules` and `cargo xtask gen`.");
    Ok(())
}

/// The list with one more module, still sorted.
fn with_line(list: &str, module: &str) -> Result<String, String> {
    const INDENT: &str = "            ";
    let line = format!("{INDENT}{module},");
    let is_module =
        |line: &str| line.starts_with(INDENT) && line.ends_with(',') && !line.trim().contains(' ');
    let mut lines: Vec<&str> = list.lines().collect();
    if lines.contains(&line.as_str()) {
        return Err(format!("{module} stands in the list already"));
    }
    let last = lines.iter().rposition(|line| is_module(line)).ok_or("list.rs holds no modules")?;
    let at = lines.iter().position(|other| is_module(other) && *other > line.as_str()).unwrap_or(last + 1);
    lines.insert(at, &line);
    Ok(lines.join("\n") + "\n")
}

fn write_new(path: &Path, text: &str) -> Result<(), String> {
    if path.exists() {
        return Err(format!("{} is there already", path.display()));
    }
    std::fs::write(path, text).map_err(|error| format!("{}: {error}", path.display()))
}

fn source(name: &str) -> String {
    // Empty headings: the test of the list fails until each has its text.
    format!(
        "//! {name}: say what it judges.\n//! Never: say what it leaves to another rule.\n//! Start at [`RULE`].\n\n\
         use crate::{{Case, Out, rule}};\n\n\
         rule! {{\n    /// ## What\n    /// ## Why\n    /// ## Limit\n    /// ## Mend\n    /// ## Silent when\n    /// ## Example\n    \
         \"{name}\", Warning, \"\",\n    reads: \"\",\n    na: \"\", iec: \"\",\n    sources: [],\n    check: check,\n}}\n\n\
         fn check(_case: &Case<'_>, _out: &mut Out) {{}}\n"
    )
}

fn case_page(name: &str) -> String {
    let brief = "[brief]\nname = \"Case\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"12 V\"\n";
    format!(
        "# {name}\n\nSay what the limit is and where it stands.\n\nIt is found:\n\n```toml\n{brief}# finds: {name}\n```\n\n\
         It is not found:\n\n```toml\n{brief}```\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_goes_to_its_place_in_the_list() {
        let path = crate::root().join("crates/rules/src/list.rs");
        let list = std::fs::read_to_string(path).unwrap();
        for module in ["aa_first", "fuse_forgotten", "zz_last"] {
            let longer = with_line(&list, module).unwrap();
            let names: Vec<&str> =
                longer.lines().filter(|line| line.starts_with("            ")).map(str::trim).collect();
            let mut sorted = names.clone();
            sorted.sort_unstable();
            assert_eq!(names, sorted);
            assert!(names.contains(&format!("{module},").as_str()));
            assert!(with_line(&longer, module).is_err(), "not twice");
        }
    }

    #[test]
    fn names_that_are_not_legal_are_refused() {
        for name in ["", "Fuse", "fuse_big", "-fuse", "fuse-", "../fuse", "fuse 2"] {
            assert!(start(name).is_err(), "{name:?}");
        }
    }
}
