//! How a recording is read is chosen once: it is kept in the job file, and every command takes it from there.

use super::map::SMALL_FRAME;
use coldsquare_tests::command::{Ran, coldsquare};
use std::fmt::Write;

/// A folder with a job and a recording of two clamps: two pairs of columns that can be volts and amps.
struct Shop(tempfile::TempDir);

/// Seconds at which the arcs of the recording begin and end.
const ARCS: [(f64, f64); 3] = [(2.0, 14.0), (20.0, 33.0), (40.0, 52.0)];

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let job = format!("# our small frame\n{SMALL_FRAME}");
        std::fs::write(folder.path().join("gate.toml"), job).expect("written");
        let mut rows = String::from("t,front V,front A,rear V,rear A\n");
        for k in 0..6000 {
            let t = f64::from(k) / 100.0;
            let burns = ARCS.iter().any(|arc| (arc.0..arc.1).contains(&t));
            let wobble = f64::from(k % 7) / 10.0;
            let level = if burns { 1.0 } else { 0.0 };
            let (front, rear) = (level * (18.5 + wobble), level * (19.5 + wobble));
            let (front_a, rear_a) = (level * (115.0 + wobble), level * (125.0 + wobble));
            writeln!(rows, "{t:.2},{front:.1},{front_a:.1},{rear:.1},{rear_a:.1}")
                .expect("written");
        }
        std::fs::write(folder.path().join("bench.csv"), rows).expect("written");
        Self(folder)
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).display().to_string()
    }

    /// Words with a dot are files of the shop.
    fn run(&self, words: &str) -> Ran {
        let words = words.split(' ').map(|word| {
            let is_file = [".toml", ".csv", ".html"]
                .iter()
                .any(|end| word.ends_with(end));
            if is_file {
                self.path(word)
            } else {
                word.to_owned()
            }
        });
        coldsquare(words.collect::<Vec<_>>().iter().map(String::as_str))
    }

    fn job(&self) -> String {
        std::fs::read_to_string(self.path("gate.toml")).expect("there")
    }
}

const CHOSEN: &str = "--volts 2 --amps 3";

#[test]
fn the_command_offers_the_table_and_writes_it_only_when_asked() {
    let shop = Shop::new();
    let before = shop.job();
    let refused = shop.run("map gate.toml bench.csv --out map.html");
    assert_eq!(refused.code, 1, "{}", refused.err);
    assert!(refused.err.contains("--volts"), "{}", refused.err);

    let offered = shop.run(&format!("map gate.toml bench.csv --out map.html {CHOSEN}"));
    assert_eq!(offered.code, 0, "{}", offered.err);
    assert!(offered.err.contains("  [recording]\n"), "{}", offered.err);
    assert!(offered.err.contains("  volts = 2\n"), "{}", offered.err);
    assert_eq!(shop.job(), before, "nothing is written unasked");

    let keep = format!("map gate.toml bench.csv --out map.html --force {CHOSEN} --keep-columns");
    let kept = shop.run(&keep);
    assert_eq!(kept.code, 0, "{}", kept.err);
    let after = shop.job();
    assert!(after.starts_with(&before), "comments and all: {after}");
    assert!(after.contains("\n[recording]\n"), "{after}");

    let again = shop.run("map gate.toml bench.csv --out map.html --force");
    assert_eq!(again.code, 0, "{}", again.err);
    assert!(
        !again.err.contains("[recording]"),
        "nothing new: {}",
        again.err
    );
    assert!(
        again
            .out
            .contains("read as [recording] in the job file says"),
        "{}",
        again.out
    );
}

#[test]
fn every_command_that_takes_a_log_reads_it_as_the_job_says() {
    let shop = Shop::new();
    let kept = format!("beads bench.csv --job gate.toml {CHOSEN} --keep-columns");
    assert_eq!(shop.run(&kept).code, 0);
    let log = shop.path("bench.csv");
    for words in [
        "map gate.toml bench.csv --out map.html",
        "record gate.toml bench.csv --out .",
        "cost gate.toml bench.csv",
        "predict gate.toml --log bench.csv",
        "beads bench.csv --job gate.toml",
    ] {
        let words = words.replace("--out .", &format!("--out {}", shop.0.path().display()));
        let ran = shop.run(&words);
        assert_eq!(ran.code, 0, "{words}: {}", ran.err);
    }
    let job = shop.path("gate.toml");
    let readings = [
        "--width",
        "top=599.7",
        "--width",
        "bottom=599.7",
        "--height",
        "left=399.7",
    ];
    let measured = ["measure", &job, "--log", &log].into_iter().chain(readings);
    let measured = coldsquare(measured);
    assert_eq!(measured.code, 0, "{}", measured.err);
    assert!(
        !measured.err.contains("compared with the plan"),
        "{}",
        measured.err
    );
    let listed = shop.run("measure gate.toml --json");
    assert!(
        listed
            .out
            .contains("\"predicted_from\": \"from bench.csv\""),
        "{}",
        listed.out
    );
    let learned = shop.run("learn gate.toml");
    assert_eq!(learned.code, 0, "{}", learned.err);
    assert!(
        !learned.out.contains("nothing is learned"),
        "{}",
        learned.out
    );
}

#[test]
fn what_is_typed_wins_over_the_job_file() {
    let shop = Shop::new();
    let kept = format!("beads bench.csv --job gate.toml {CHOSEN} --volts-scale 2 --keep-columns");
    assert_eq!(shop.run(&kept).code, 0);
    let volts = |more: &str| {
        let ran = shop.run(&format!("beads bench.csv --job gate.toml --json{more}"));
        assert_eq!(ran.code, 0, "{}", ran.err);
        let json: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
        json["beads"][0]["mean_voltage_v"]
            .as_f64()
            .expect("a number")
    };
    assert!((volts("") - 2.0 * 18.8).abs() < 0.1);
    assert!((volts(" --volts-scale 1") - 18.8).abs() < 0.1);
    // Another column has another scale.
    assert!((volts(" --volts 4 --amps 5") - 19.8).abs() < 0.1);
}

#[test]
fn a_heading_that_is_not_there_names_the_job_file() {
    let shop = Shop::new();
    let job = shop.job() + "\n[recording]\nvolts = \"middle V\"\namps = 3\n";
    std::fs::write(shop.path("gate.toml"), job).expect("written");
    let refused = shop.run("cost gate.toml bench.csv");
    assert_eq!(refused.code, 1);
    assert!(
        refused.err.contains("there is no column 'middle V'"),
        "{}",
        refused.err
    );
    assert!(
        refused.err.contains("[recording] in the job file"),
        "{}",
        refused.err
    );
    let without = shop.run("beads bench.csv --keep-columns");
    assert_eq!(without.code, 2, "{}", without.err);
    assert!(without.err.contains("--job JOB"), "{}", without.err);
}

#[test]
fn line_ends_of_another_system_stay() {
    let shop = Shop::new();
    let before = shop.job().replace('\n', "\r\n");
    std::fs::write(shop.path("gate.toml"), &before).expect("written");
    let kept = shop.run(&format!("cost gate.toml bench.csv {CHOSEN} --keep-columns"));
    assert_eq!(kept.code, 0, "{}", kept.err);
    let after = shop.job();
    assert!(after.starts_with(&before), "{after}");
    assert_eq!(after.matches('\n').count(), after.matches("\r\n").count());
}
