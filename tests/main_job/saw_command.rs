//! What goes to the saw, as the command prints it, as a page and as JSON.

use coldsquare_tests::command::coldsquare;
use coldsquare_tests::{assert_golden, golden};

fn path(name: &str) -> String {
    golden(name).display().to_string()
}

#[test]
fn the_list_of_the_gate_and_of_a_gate_in_inches() {
    let gate = path("../../host-tool/engine/src/garden-gate.toml");
    let ran = coldsquare(["saw", &gate]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_golden("job/garden-gate-saw.txt", &ran.out);
    let stand = path("../../docs/examples/plant-stand.toml");
    let ran = coldsquare([
        "saw",
        &stand,
        "--fraction",
        "16",
        "--offcut",
        "CHS 21.3x2=500",
        "--kerf",
        "2.2",
    ]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_golden("job/plant-stand-saw.txt", &ran.out);
}

#[test]
fn the_page_has_what_the_text_has_and_is_not_written_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("saw.html").display().to_string();
    let gate = path("../../host-tool/engine/src/garden-gate.toml");
    assert_eq!(coldsquare(["saw", &gate, "--out", &out]).code, 0);
    let page = std::fs::read_to_string(&out).expect("a page");
    for words in [
        "1200.0 mm",
        "1120.0 mm",
        "both 45°",
        "turn the bar over after it",
        "ear protection",
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert_eq!(coldsquare(["saw", &gate, "--out", &out]).code, 4);
}

#[test]
fn json_has_every_piece_on_a_bar() {
    let gate = path("../../host-tool/engine/src/garden-gate.toml");
    let ran = coldsquare(["saw", &gate, "--json", "--stock", "3 m"]);
    let list: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
    let bars = list["bars"].as_array().expect("bars");
    let pieces: usize = bars
        .iter()
        .map(|bar| bar["pieces"].as_array().map_or(0, Vec::len))
        .sum();
    assert_eq!(pieces, 13);
    assert!(bars.iter().all(|bar| bar["length_mm"] == 3000.0));
}

#[test]
fn wrong_options_say_what_to_write() {
    let gate = path("../../host-tool/engine/src/garden-gate.toml");
    for (option, value, words) in [
        ("--fraction", "10", "choose one of"),
        ("--kerf", "-3", "is not a length"),
        ("--offcut", "SHS 40x40x3", "write the section"),
        ("--offcut", "SHS 40x4x30=900", "--offcut"),
    ] {
        let ran = coldsquare(["saw", &gate, &format!("{option}={value}")]);
        assert_eq!(ran.code, 2, "{option}");
        assert!(ran.err.contains(words), "{}", ran.err);
    }
}
