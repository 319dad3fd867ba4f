//! Recordings of one signal as instruments write them: each is read right, or refused or told for the right reason.
//!
//! `tests/recordings/matrix.py` writes and judges them, with nothing of ours; it can judge another build of the command
//! too: `matrix.py write F; matrix.py run BINARY F; matrix.py judge F`.

use coldsquare_tests::command::coldsquare;
use serde_json::{Value, json};
use std::path::Path;
use std::process::Command;

/// Runs the program of the matrix; true if it is content.
fn matrix(arguments: &[&str]) -> bool {
    let python = std::env::var_os("COLDSQUARE_PYTHON").unwrap_or_else(|| "python3".into());
    let program = Path::new(env!("CARGO_MANIFEST_DIR")).join("recordings/matrix.py");
    let ran = Command::new(python).arg(program).args(arguments).status();
    ran.expect("Python runs").success()
}

#[test]
fn no_recording_is_read_wrong_without_a_word() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().to_str().expect("text");
    assert!(matrix(&["write", path]));
    let cases = std::fs::read(folder.path().join("cases.json")).expect("written");
    let cases: Vec<Value> = serde_json::from_slice(&cases).expect("JSON");
    assert!(cases.len() >= 150, "{} recordings", cases.len());
    let mut results = serde_json::Map::new();
    for case in &cases {
        let file = folder.path().join(case["file"].as_str().expect("a name"));
        let mut arguments = vec![
            "beads",
            file.to_str().expect("text"),
            "--json",
            "--process",
            "135",
        ];
        let options = case["options"].as_array().expect("a list");
        arguments.extend(options.iter().filter_map(Value::as_str));
        let ran = coldsquare(arguments);
        let name = case["name"].as_str().expect("a name").to_owned();
        results.insert(
            name,
            json!({ "code": ran.code, "out": ran.out, "err": ran.err }),
        );
    }
    let text = Value::Object(results).to_string();
    std::fs::write(folder.path().join("results.json"), text).expect("written");
    assert!(matrix(&["judge", path]), "see above");
}
