//! The build record: what a customer or inspector gets, and what other programs read.

use super::map::{SMALL_FRAME, small_log};
use coldsquare_engine::digest::sha256;
use coldsquare_tests::command::{Ran, coldsquare};
use serde_json::Value;

struct Shop {
    folder: tempfile::TempDir,
}

impl Shop {
    fn new(job: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("gate.toml"), job).expect("written");
        std::fs::write(folder.path().join("gate.log"), small_log()).expect("written");
        Self { folder }
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }

    fn record(&self, more: &[&str]) -> Ran {
        let paths = [self.path("gate.toml"), self.path("gate.log"), self.path("")];
        let [job, log, out] = paths.each_ref().map(String::as_str);
        coldsquare(
            ["record", job, log, "--out", out]
                .into_iter()
                .chain(more.iter().copied()),
        )
    }

    fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    fn json(&self) -> Value {
        serde_json::from_str(&self.text("gate-record.json")).expect("JSON")
    }
}

/// FIPS 180-4 and RFC 6234: the digests of "abc" and of nothing.
#[test]
fn checksums_are_those_of_the_standard() {
    assert_eq!(
        sha256(b"abc"),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
    assert_eq!(
        sha256(b""),
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    );
}

#[test]
fn the_page_holds_all_that_a_record_is_asked_for() {
    let shop = Shop::new(SMALL_FRAME);
    let job = shop.path("gate.toml");
    let seen = coldsquare([
        "inspect",
        &job,
        "1-3",
        "--result",
        "accepted",
        "--by",
        "AB",
        "--on",
        "2026-05-04",
    ]);
    assert_eq!(seen.code, 0, "{}", seen.err);
    coldsquare([
        "inspect",
        &job,
        "5",
        "--result",
        "repaired",
        "--found",
        "burn-through",
        "--by",
        "AB",
        "--on",
        "2026-05-04",
    ]);
    let ran = shop.record(&["--by", "C. D.", "--welder", "W1", "--order", "1,3,2,4-16"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let page = shop.text("gate-record.html");
    let json = shop.json();
    let checksum = sha256(&small_log());
    for wanted in [
        "Build record: Small frame",
        &checksum,
        &sha256(SMALL_FRAME.as_bytes()),
        "calibrated",
        "W1",
        "by C. D.",
        &format!("coldsquare {}", env!("CARGO_PKG_VERSION")),
        "repaired: burn-through (2026-05-04, AB)",
        "not inspected",
        "weld 5: out of limits: heat input too high",
        "weld 8: not measured",
        "not in their planned places: weld",
        "12 of 16 welds have no inspection result",
        "names no test that qualifies it",
        "MAG, solid wire (135)",
        "replaces no inspection",
    ] {
        assert!(page.contains(wanted), "{wanted}");
    }
    assert_eq!(json["log_sha256"], checksum.as_str());
    assert_eq!(json["welder"], "W1");
    assert_eq!(json["map"]["welds"][4]["inspection"]["result"], "repaired");
    // Every weld with its heat and doubt.
    let rows = page
        .split("<tbody>")
        .nth(1)
        .and_then(|rest| rest.split("</tbody>").next())
        .expect("rows");
    assert_eq!(rows.matches("<tr ").count(), 16);
    assert_eq!(rows.matches("not measured").count(), 1);
    let heat = json["map"]["welds"][0]["heat_input_j_per_mm"]["value"]
        .as_f64()
        .expect("measured");
    assert!(
        rows.contains(&format!("<td class=\"num\">{:.3} ± ", heat / 1000.0)),
        "{rows}"
    );
}

#[test]
fn the_page_runs_nothing_fetches_nothing_and_takes_names_as_text() {
    let shop = Shop::new(&SMALL_FRAME.replace("Small frame", "<script>alert(1)</script> & co"));
    assert_eq!(shop.record(&["--welder", "<img src=x>"]).code, 0);
    let page = shop.text("gate-record.html");
    assert!(
        !page.contains("<script")
            && !page.contains("<img")
            && !page.contains("src=\"")
            && page.matches("href=").count() == page.matches("href=\"#").count(),
        "{page}"
    );
    assert!(page.contains("&lt;img"));
    assert!(page.contains("@media print"));
}

#[test]
fn a_record_is_not_written_over_another() {
    let shop = Shop::new(SMALL_FRAME);
    assert_eq!(shop.record(&[]).code, 0);
    let before = shop.text("gate-record.html");
    assert_eq!(shop.record(&[]).code, 4);
    std::fs::remove_file(shop.path("gate-record.html")).expect("removed");
    assert_eq!(shop.record(&[]).code, 4, "all or nothing");
    assert!(!std::path::Path::new(&shop.path("gate-record.html")).exists());
    assert_eq!(shop.record(&["--force"]).code, 0);
    assert_eq!(shop.text("gate-record.html").len(), before.len());
}

/// pyarrow and DuckDB read the beads and find what the JSON says.
#[cfg(feature = "parquet")]
#[test]
fn beads_are_read_by_engines_that_know_nothing_of_us() {
    let shop = Shop::new(SMALL_FRAME);
    assert_eq!(shop.record(&["--welder", "W1"]).code, 0);
    let answer = crate::reference::ask(
        "read_parquet.py",
        &serde_json::json!({ "path": shop.path("gate-record.parquet") }),
    );
    let json = shop.json();
    let beads = json["map"]["beads"].as_array().expect("beads");
    let energy: f64 = beads
        .iter()
        .filter_map(|bead| bead["energy_j"]["value"].as_f64())
        .sum();
    let tacks = beads.iter().filter(|bead| bead["role"] == "tack").count();
    for engine in ["pyarrow", "duckdb"] {
        let found = &answer[engine];
        assert_eq!(found["rows"], beads.len(), "{engine}");
        assert_eq!(found["without_weld"], tacks, "{engine}");
        coldsquare_tests::assert_close(
            found["energy_j"].as_f64().expect("a sum"),
            energy,
            0.0,
            1e-12,
        );
    }
    assert_eq!(
        answer["pyarrow"]["verdicts"],
        serde_json::json!(["out of limits", "within limits"])
    );
    // Weld 5 was welded slowly.
    assert_eq!(answer["duckdb"]["hottest"][0], 5);
}
