//! The page that `check` writes: the frame as drawn, or the errors of its file.

use coldsquare_tests::command::coldsquare;
use coldsquare_tests::golden;

#[test]
fn the_page_of_a_job_has_every_member_every_weld_and_its_dimensions_and_fetches_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, words) in [
        ("window-guard", ["Dimensions from the centre", "+120.0"]),
        (
            "bench-base",
            ["foot of front left leg", "the front is at the lower edge"],
        ),
        (
            "angle-tray",
            ["legs towards the back and downwards", "lower edge"],
        ),
    ] {
        let job = golden(&format!("../../docs/examples/{name}.toml"))
            .display()
            .to_string();
        let page = folder.path().join("page.html").display().to_string();
        let ran = coldsquare(["check", &job, "--no-picture", "--out", &page, "--force"]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let html = std::fs::read_to_string(&page).expect("a page");
        let json = coldsquare(["check", &job, "--json"]);
        let json: serde_json::Value = serde_json::from_str(&json.out).expect("JSON");
        for one in ["members", "welds"]
            .iter()
            .flat_map(|key| json[key].as_array().expect("a list"))
        {
            let named = one["name"].as_str().expect("a name");
            assert!(html.contains(named), "{name}: {named}");
        }
        for word in words {
            assert!(html.contains(word), "{name}: {word}");
        }
        assert!(html.contains("default-src 'none'"), "nothing is fetched");
    }
}

#[test]
fn every_error_has_its_line_its_advice_and_its_letter_in_the_picture() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("bracket.toml").display().to_string();
    let page = folder.path().join("page.html").display().to_string();
    let text =
        std::fs::read_to_string(golden("../../docs/examples/sign-bracket.toml")).expect("text");
    let text = text.replace("thickness = 4", "thickness = 4\nflush = \"top\"\nflat = 3");
    std::fs::write(&job, text).expect("written");
    let ran = coldsquare(["check", &job, "--out", &page]);
    assert_eq!(ran.code, 1);
    let html = std::fs::read_to_string(&page).expect("a page");
    for words in [
        "cannot be flush with the top",
        "write front or back",
        "unknown",
        "A letter in a square",
    ] {
        assert!(html.contains(words), "{words}");
    }
    // On the upright and on the arm, which the error names, and in the table.
    assert!(
        html.matches(">A</text>").count() >= 3,
        "{}",
        html.matches(">A</text>").count()
    );
    // A file that is there is not written over.
    let again = coldsquare(["check", &job, "--out", &page]);
    assert_ne!(again.code, 0);
}
