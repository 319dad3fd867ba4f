//! Members that people or a code depend on are not corrected by advice: refused one by one, or the frame as a whole.

use super::correct_command::{Shop, says};

#[test]
fn one_structural_member_is_refused_and_the_others_still_advised() {
    let shop = Shop::new("structural = [\"top rail\"]");
    shop.measure(&[
        "--bow",
        "top rail up = 4 mm",
        "--bow",
        "left upright left = 3 mm",
        "--racking",
        "6",
    ]);
    let correction = shop.json(&["--tolerance", "1 mm", "--press-force", "30 kN"]);
    let note = correction["notes"][0].as_str().expect("a note");
    assert!(note.contains("top rail carries people or a code"), "{note}");
    assert!(
        note.contains("licensed engineer") && note.contains("keep off the joints"),
        "{note}"
    );
    let fault = |name: &str| {
        let faults = correction["faults"].as_array().expect("faults");
        let found = faults
            .iter()
            .find(|f| f["name"].as_str().is_some_and(|n| n.contains(name)));
        found.unwrap_or_else(|| panic!("no {name} in {faults:?}"))["options"].clone()
    };
    for way in fault("top rail").as_array().expect("ways") {
        assert_eq!(way["possible"], false, "{way}");
        if way["kind"] != "leave" {
            assert!(says(way).contains("licensed engineer"), "{way}");
        }
    }
    let beside = fault("left upright");
    let beside = beside.as_array().expect("ways");
    for kind in ["press", "heat"] {
        assert!(
            beside
                .iter()
                .any(|way| way["kind"] == kind && way["possible"] == true),
            "{kind}"
        );
    }
    // Pulling the frame square bends its corners, that of the rail too.
    let square = fault("racking");
    let pulled = square.as_array().expect("ways");
    let pull = pulled
        .iter()
        .find(|way| way["kind"] == "clamps")
        .expect("pulling");
    assert!(
        pull["possible"] == false && says(pull).contains("licensed engineer"),
        "{pull}"
    );
}

/// Line and column of what the maker wrote.
#[test]
fn a_structural_member_that_is_none_is_an_error_with_its_place() {
    let shop = Shop::new("structural = [\"top rail\", \"top rial\"]");
    let ran = shop.run("check", &[]);
    assert_eq!(ran.code, 1);
    for wanted in [
        "gate.toml:2:27",
        "there is no member 'top rial'",
        "top rail",
    ] {
        assert!(ran.err.contains(wanted), "{wanted} in {}", ran.err);
    }
    for (wrong, said) in [
        ("structural = 3", "true, false or a list of members"),
        ("structural = [3]", "not the name of a member"),
    ] {
        let ran = Shop::new(wrong).run("check", &[]);
        assert!(
            ran.code == 1 && ran.err.contains(said) && ran.err.contains("gate.toml:2:"),
            "{}",
            ran.err
        );
    }
}
