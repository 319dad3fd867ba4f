//! Runs the Python programs of this folder: other people's solvers, asked the same question as ours.

use serde_json::Value;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

/// Names the Python that has the libraries of `requirements.txt`.
const PYTHON: &str = "COLDSQUARE_PYTHON";

/// What the program `script` of this folder answers to `question`.
///
/// # Panics
/// When there is no such Python, or the program fails: a comparison that cannot be made has not been passed.
#[must_use]
pub fn ask(script: &str, question: &Value) -> Value {
    let python = std::env::var_os(PYTHON).unwrap_or_else(|| {
        panic!(
            "{PYTHON} is not set. Make the environment once:\n  python3 -m venv target/reference-venv\n  \
             target/reference-venv/bin/pip install -r tests/reference/requirements.txt\nand set {PYTHON} to its \
             bin/python (tests/check does all of this)"
        )
    });
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference");
    let mut child = Command::new(&python)
        .arg(folder.join(script))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("{PYTHON} = {} cannot be run: {error}", python.display()));
    let mut input = child.stdin.take().expect("standard input is piped");
    input
        .write_all(question.to_string().as_bytes())
        .expect("the program reads its question");
    drop(input);
    let output = child.wait_with_output().expect("the program ends");
    assert!(
        output.status.success(),
        "{script} failed:\n{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|error| panic!("{script} answers no JSON: {error}"))
}
