//! The commands of the workshop: check everything, write what is generated, start a new rule.
//! Never: is part of the program; nothing depends on it.
//! Start at [`main`]; `generated.rs` has the files that are written, `tidy.rs` the tests of order.
#![allow(clippy::print_stdout, clippy::print_stderr)] // It talks to a person at a terminal.

mod crates;
mod generated;
mod new_rule;
mod picture;
#[cfg(test)]
mod tidy;

use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};
use std::time::Instant;

const HELP: &str = "\
cargo xtask check          format, lints, generated files, order and every test
cargo xtask gen            write the generated files of docs/
cargo xtask gen --check    say which of them are not current
cargo xtask new-rule NAME  start a rule: its file, its line in the list, its case page";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let done = match words.as_slice() {
        ["check"] => check(),
        ["gen"] => generated::write(),
        ["gen", "--check"] => generated::check(),
        ["new-rule", name] => new_rule::start(name),
        _ => Err(HELP.to_owned()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("{fault}");
            ExitCode::FAILURE
        }
    }
}

/// The folder of the workspace.
pub(crate) fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_owned()
}

/// The `cargo` that runs this, in the workspace's folder.
pub(crate) fn cargo() -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.current_dir(root());
    command
}

/// Runs every step, also after one has failed, so that one run shows all that is to mend.
fn check() -> Result<(), String> {
    let steps: [(&str, &[&str]); 3] = [
        ("format", &["fmt", "--all", "--check"]),
        ("lints", &["clippy", "--workspace", "--all-targets", "--quiet", "--", "-D", "warnings"]),
        ("tests", &["test", "--workspace", "--no-fail-fast"]),
    ];
    let mut failed = Vec::new();
    println!("== generated files");
    if let Err(fault) = generated::check() {
        eprintln!("{fault}");
        failed.push("generated files");
    }
    for (name, words) in steps {
        println!("== {name}: cargo {}", words.join(" "));
        let start = Instant::now();
        let status =
            cargo().args(words).status().map_err(|error| format!("cargo cannot be started: {error}"))?;
        println!(
            "== {name}: {} after {} s",
            if status.success() { "well" } else { "failed" },
            start.elapsed().as_secs()
        );
        if !status.success() {
            failed.push(name);
        }
    }
    if failed.is_empty() { Ok(()) } else { Err(format!("failed: {}", failed.join(", "))) }
}
