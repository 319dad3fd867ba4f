//! One bead has one measure: `beads` and `map` give the same numbers, with a header lost, and while the log grows.

use super::map::{SMALL_FRAME, small_log};
use coldsquare_tests::command::coldsquare;
use serde_json::Value;
use std::path::Path;
use std::time::Duration;

fn json(words: &[&str]) -> Value {
    let ran = coldsquare(words.iter().copied());
    assert_eq!(ran.code, 0, "{}", ran.err);
    serde_json::from_str(&ran.out).expect("JSON")
}

fn shop() -> (tempfile::TempDir, impl Fn(&str) -> String) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().to_owned();
    std::fs::write(path.join("job.toml"), SMALL_FRAME).expect("written");
    std::fs::write(path.join("build.log"), small_log()).expect("written");
    (folder, move |name: &str| {
        path.join(name).display().to_string()
    })
}

/// Welds with short circuits, a re-strike in a bead, alternating current, and rows that are missing.
fn recording() -> String {
    let mut rows = String::from("t [s],U [V],I [A]\n");
    for k in 0..40_000 {
        let t = f64::from(k) / 1000.0;
        let burns = (2.0..8.0).contains(&t) && !(5.0..5.2).contains(&t)
            || (12.0..20.0).contains(&t)
            || (24.0..36.0).contains(&t);
        let (mut volts, mut amps) = match (burns, k % 12) {
            (false, _) => (0.0, 0.0),
            (true, 0 | 1) => (4.0, 190.0),
            (true, _) => (21.0, 130.0),
        };
        if t >= 24.0 && k % 20 < 10 {
            (volts, amps) = (-volts, -amps);
        }
        if !(15_000..15_040).contains(&k) {
            rows += &format!("{t:.3},{volts},{amps}\n");
        }
    }
    rows
}

#[test]
fn beads_and_map_give_the_same_numbers() {
    let (_folder, path) = shop();
    std::fs::write(path("bench.csv"), recording()).expect("written");
    for log in ["build.log", "bench.csv"] {
        let map_file = path(&format!("{log}.json"));
        let mapped = coldsquare(["map", &path("job.toml"), &path(log), "--out", &map_file]);
        assert_eq!(mapped.code, 0, "{}", mapped.err);
        let map: Value = serde_json::from_str(&std::fs::read_to_string(&map_file).expect("there"))
            .expect("JSON");
        let beads = json(&["beads", &path(log), "--json"]);
        let (beads, mapped) = (&beads["beads"], &map["beads"]);
        let (beads, mapped) = (
            beads.as_array().expect("a list"),
            mapped.as_array().expect("a list"),
        );
        assert_eq!(beads.len(), mapped.len());
        assert!(beads.len() >= 3);
        for (bead, mapped) in beads.iter().zip(mapped) {
            let is_ac = bead["polarity"] == "AC";
            let meter =
                |mean: &str, rms: &str| bead[if is_ac { rms } else { mean }].as_f64().map(f64::abs);
            let same = [
                (
                    meter("mean_voltage_v", "rms_voltage_v"),
                    &mapped["voltage_v"]["value"],
                ),
                (
                    meter("mean_current_a", "rms_current_a"),
                    &mapped["current_a"]["value"],
                ),
                (bead["energy_j"].as_f64(), &mapped["energy_j"]["value"]),
                (
                    bead["energy_uncertainty_j"].as_f64(),
                    &mapped["energy_j"]["expanded"],
                ),
                (bead["true_power_w"].as_f64(), &mapped["power_w"]["value"]),
                (bead["arc_time_s"].as_f64(), &mapped["arc_time_s"]),
                (bead["start_s"].as_f64(), &mapped["start_s"]),
                (bead["restarts"].as_f64(), &mapped["restarts"]),
            ];
            for (own, of_map) in same {
                let (own, of_map) = (own.expect("a number"), of_map.as_f64().expect("a number"));
                assert!(
                    (own - of_map).abs() <= 1e-9 * own.abs(),
                    "{log}: {bead} {mapped}"
                );
            }
        }
    }
}

#[test]
fn a_log_without_its_header_is_read_by_the_calibration_of_another() {
    let (_folder, path) = shop();
    let mut damaged = small_log();
    damaged[20] ^= 1;
    std::fs::write(path("damaged.log"), damaged).expect("written");
    let refused = coldsquare(["beads", &path("damaged.log")]);
    assert_eq!(refused.code, 1, "{}", refused.out);
    assert!(
        refused.err.contains("--calibration-of LOG"),
        "{}",
        refused.err
    );
    assert!(
        refused.err.contains("mean counts"),
        "raw counts are shown: {}",
        refused.err
    );
    let given = ["--calibration-of", &path("build.log")];
    let read = json(&[&["beads", &path("damaged.log"), "--json"], &given[..]].concat());
    let whole = json(&["beads", &path("build.log"), "--json"]);
    assert_eq!(read["beads"], whole["beads"]);
    let note = read["notes"][0].as_str().expect("a note");
    assert!(
        note.contains("calibration of the log that was named"),
        "{note}"
    );
    let (job, log, out) = (path("job.toml"), path("damaged.log"), path("map.html"));
    let mapped = coldsquare([&["map", &job, &log, "--out", &out], &given[..]].concat());
    assert_eq!(mapped.code, 0, "{}", mapped.err);
}

/// A file that another program writes, piece by piece.
fn grow(path: &Path, rows: &str) {
    use std::io::Write;
    std::fs::write(path, "").expect("written");
    for piece in rows.as_bytes().chunks(rows.len() / 4 + 1) {
        std::thread::sleep(Duration::from_millis(700));
        let file = std::fs::OpenOptions::new().append(true).open(path);
        file.expect("there").write_all(piece).expect("written");
    }
}

#[test]
fn a_log_that_grows_is_mapped_again_and_again() {
    let (folder, path) = shop();
    let (log, rows) = (folder.path().join("bench.csv"), recording());
    std::fs::write(&log, "").expect("written");
    let (job, out) = (path("job.toml"), path("map.json"));
    let ran = std::thread::scope(|scope| {
        scope.spawn(|| grow(&log, &rows));
        let log = log.display().to_string();
        coldsquare(["map", &job, &log, "--out", &out, "--follow", "2"])
    });
    assert_eq!(ran.code, 0, "{}", ran.err);
    let seen: Vec<&str> = ran
        .out
        .lines()
        .filter(|line| line.contains(" welds, "))
        .collect();
    assert!(seen.len() >= 2, "{}", ran.out);
    assert!(
        seen.last()
            .is_some_and(|last| last.starts_with("3 beads, ")),
        "{}",
        ran.out
    );
    let map = std::fs::read_to_string(&out).expect("written");
    let map: Value = serde_json::from_str(&map).expect("JSON");
    assert_eq!(map["beads"].as_array().map(Vec::len), Some(3));
}
