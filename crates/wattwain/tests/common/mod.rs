//! Runs the built program and keeps what it said.
//! Never: judges.
//! Start at [`run`].

#![allow(dead_code, clippy::unwrap_used)] // each test file uses its part; tests may panic

use std::path::{Path, PathBuf};
use std::process::Command;

/// What a run of the program gave.
pub struct Said {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Said {
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {}", self.out))
    }
    #[track_caller]
    pub fn code(&self, code: i32) -> &Self {
        assert_eq!(self.code, code, "out: {}\nerr: {}", self.out, self.err);
        self
    }
    #[track_caller]
    pub fn out_has(&self, text: &str) -> &Self {
        assert!(self.out.contains(text), "no `{text}` in: {}\nerr: {}", self.out, self.err);
        self
    }
    #[track_caller]
    pub fn err_has(&self, text: &str) -> &Self {
        assert!(self.err.contains(text), "no `{text}` in: {}\nout: {}", self.err, self.out);
        self
    }
}

/// Runs it.
pub fn run<S: AsRef<std::ffi::OsStr>>(words: &[S]) -> Said {
    let output = Command::new(env!("CARGO_BIN_EXE_wattwain")).args(words).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let said =
        Said { code: output.status.code().unwrap_or(-1), out: text(output.stdout), err: text(output.stderr) };
    assert!(!said.err.contains("panicked"), "it panicked: {}", said.err);
    said
}

/// The folder of the examples.
pub fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name)
}

/// A folder of its own for a test, with an intent.toml in it.
pub fn project(intent: &[u8]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("intent.toml"), intent).unwrap();
    folder
}

/// Text of a path.
pub fn path(of: &Path) -> String {
    of.to_str().unwrap().to_owned()
}
