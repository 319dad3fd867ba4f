//! `coldsquare fixture` and `coldsquare traveller`, as a person meets them.

use coldsquare_tests::assert_golden;
use coldsquare_tests::command::coldsquare;

const TABLE: &str = "\n[fixture]\ngrid = 100\nhole = 28\ntable = [2000, 1500]\n";
const FINISH: &str = "\n[finish]\ncoating = \"powder\"\nflush = [\"front\"]\n\n[[hole]]\nname = \"hinge top\"\nat = \"left upright at 700\"\n\
    diameter = 10\n\n[[panel]]\nmaterial = \"polycarbonate\"\nthickness = 4\nrebate = 18\n\n[[ripped]]\nfrom = \"RHS 60x40x3\"\nwidth = 20\n\
    length = 820\ncount = 2\n\n[prices]\ncurrency = \"EUR\"\nlabour_per_hour = 40\n";

/// A folder with the garden gate, and the path of its job.
fn gate(more: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("gate.toml");
    let text = format!(
        "shop_factors = \"our-shop.toml\"\n{}{more}",
        coldsquare_engine::example::GARDEN_GATE
    );
    std::fs::write(&path, text).expect("written");
    (folder, path.display().to_string())
}

#[test]
fn the_fixture_of_the_garden_gate() {
    let (folder, job) = gate(TABLE);
    let ran = coldsquare(["fixture", &job]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_golden("fixture/garden-gate.txt", &ran.out);
    let drawing = folder.path().join("fixture.svg").display().to_string();
    let ran = coldsquare(["fixture", &job, "--out", &drawing]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_golden(
        "fixture/garden-gate.svg",
        &std::fs::read_to_string(&drawing).expect("a drawing"),
    );
    let again = coldsquare(["fixture", &job, "--out", &drawing]);
    assert_eq!(again.code, 4, "an existing file is kept");
}

#[test]
fn the_traveller_of_the_garden_gate() {
    let (_folder, job) = gate(&format!("{TABLE}{FINISH}"));
    let ran = coldsquare(["traveller", &job]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_golden("fixture/traveller.txt", &ran.out);
}

#[test]
fn pages_open_without_network_and_have_boxes_to_tick() {
    let (folder, job) = gate(&format!("{TABLE}{FINISH}"));
    for command in ["fixture", "traveller"] {
        let page = folder
            .path()
            .join(format!("{command}.html"))
            .display()
            .to_string();
        let ran = coldsquare([command, &job, "--out", &page]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let text = std::fs::read_to_string(&page).expect("a page");
        assert!(
            text.contains("class=\"box\"") && text.contains("default-src 'none'"),
            "{command}"
        );
        assert!(
            !text.contains("http://")
                || text.matches("http://").count() == text.matches("http://www.w3.org").count()
        );
    }
}

#[test]
fn options_go_before_the_job_and_wrong_ones_are_told() {
    let (_folder, job) = gate(TABLE);
    let json = |arguments: &[&str]| -> serde_json::Value {
        let ran = coldsquare(
            ["fixture", job.as_str(), "--json"]
                .into_iter()
                .chain(arguments.iter().copied()),
        );
        assert_eq!(ran.code, 0, "{}", ran.err);
        serde_json::from_str(&ran.out).expect("JSON")
    };
    assert_eq!(json(&[])["grid"]["pitch_mm"], 100.0);
    let inches = json(&["--grid", "2 in", "--hole", "5/8 in", "--spacers", "wood"]);
    assert_eq!(inches["grid"]["pitch_mm"], 50.8);
    assert_eq!(inches["spacers"][0]["material"], "wood");
    let wood = coldsquare(["fixture", &job, "--spacers", "wood", "--units", "inch"]);
    assert!(
        wood.out.contains("wood burns") && wood.out.contains("All in inches"),
        "{}",
        wood.out
    );
    for wrong in [["--grid", "7"], ["--hole", "wide"], ["--spacers", "jelly"]] {
        let ran = coldsquare(["fixture", job.as_str()].into_iter().chain(wrong));
        assert_eq!(ran.code, 2, "{wrong:?}: {}", ran.out);
    }
}

#[test]
fn hours_are_noted_once_and_the_next_estimate_is_nearer() {
    let (folder, job) = gate("");
    let minutes = || -> f64 {
        let ran = coldsquare(["traveller", &job, "--json"]);
        let made: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
        let times = made["times"].as_array().expect("times");
        let fixture = times
            .iter()
            .find(|time| time["id"] == "fixture")
            .expect("it");
        fixture["minutes"].as_f64().expect("minutes")
    };
    let before = minutes();
    let noted = coldsquare([
        "traveller",
        &job,
        "--spent",
        "fixture = 4 h",
        "--on",
        "2026-11-28",
    ]);
    assert_eq!(noted.code, 0, "{}", noted.err);
    let shop = folder.path().join("our-shop.toml");
    let text = std::fs::read_to_string(&shop).expect("the shop's file");
    assert!(
        text.contains("[[hours]]") && text.contains("spent_min = 240.0"),
        "{text}"
    );
    assert!(minutes() > 1.2 * before && minutes() < 240.0);
    // Nothing is written when one of several notes is wrong.
    let wrong = coldsquare([
        "traveller",
        &job,
        "--spent",
        "cut = 20 min",
        "--spent",
        "fixtre = 3",
    ]);
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.err.contains("the steps are opening, rip, cut"),
        "{}",
        wrong.err
    );
    assert_eq!(std::fs::read_to_string(&shop).expect("kept"), text);
    // The factors of the shop are still read from the same file.
    assert_eq!(coldsquare(["predict", &job]).code, 0);
}

#[test]
fn without_a_shop_factors_file_hours_have_no_place_and_it_is_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("gate.toml");
    std::fs::write(&path, coldsquare_engine::example::GARDEN_GATE).expect("written");
    let ran = coldsquare([
        "traveller",
        path.to_str().expect("a path"),
        "--spent",
        "cut = 20 min",
    ]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("shop_factors = \"our-shop.toml\""),
        "{}",
        ran.err
    );
}

#[test]
fn a_structural_weld_that_is_to_be_flush_is_an_error_with_its_line() {
    let (_folder, job) = gate("\n[finish]\nflush = [\"front\"]\n");
    let text = std::fs::read_to_string(&job).expect("text");
    std::fs::write(&job, format!("structural = [\"top rail\"]\n{text}")).expect("written");
    let ran = coldsquare(["traveller", &job]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err.contains("never ground flush") && ran.err.contains("-->"),
        "{}",
        ran.err
    );
}
