//! Asks the reference library, through `checks/pvlib/answers.py`.
//! Never: goes on without it; a check that did not run is a failure.
//! Start at [`ask`].

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;

/// The folder of the workspace.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The answer to a request. Panics with how to set the library up where it is missing.
pub fn ask(what: &str, request: &Value) -> Value {
    let root = root();
    let python = root.join("target/pvlib/bin/python");
    assert!(
        python.exists(),
        "pvlib is missing, which the sun is held against: run `checks/pvlib/setup` once (scripts/test does it); \
         it makes target/pvlib with the versions of checks/pvlib/requirements.txt"
    );
    let mut child = Command::new(python)
        .args([root.join("checks/pvlib/answers.py").as_os_str(), what.as_ref()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("target/pvlib/bin/python starts; if not, delete target/pvlib and run checks/pvlib/setup");
    let mut stdin = child.stdin.take().expect("piped above");
    stdin.write_all(request.to_string().as_bytes()).expect("the script reads its request");
    drop(stdin);
    let done = child.wait_with_output().expect("the script ends");
    assert!(done.status.success(), "checks/pvlib/answers.py {what} failed; what it said stands above");
    serde_json::from_slice(&done.stdout).expect("the script writes JSON")
}

/// A list of numbers of an answer.
#[allow(dead_code)] // The bench reads single numbers only.
pub fn list(answer: &Value, key: &str) -> Vec<f64> {
    let values = answer[key].as_array().unwrap_or_else(|| panic!("no list `{key}` in the answer"));
    values.iter().map(|value| value.as_f64().expect("a number")).collect()
}
