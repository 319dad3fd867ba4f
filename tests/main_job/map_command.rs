//! `coldsquare map`: what it writes, what it refuses, how it ends.

use super::map::{SMALL_FRAME, small_log};
use coldsquare::command::Io;
use coldsquare::run::run;
use std::path::Path;

/// Runs the command in a folder of its own that holds `job.toml` and `build.log`.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("job.toml"), SMALL_FRAME).expect("written");
        std::fs::write(folder.path().join("build.log"), small_log()).expect("written");
        Self { folder }
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }

    /// Exit code, output and complaints of `map job.toml build.log --out FOLDER` with more arguments.
    fn map(&self, more: &[&str]) -> (u8, String, String) {
        let (job, log, out) = (self.path("job.toml"), self.path("build.log"), self.path(""));
        let mut arguments = vec!["coldsquare", "map", &job, &log];
        if !more.contains(&"--out") {
            arguments.extend(["--out", &out]);
        }
        arguments.extend(more);
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut io = Io {
            out: &mut out,
            err: &mut err,
            interactive: false,
        };
        let code = run(arguments, &mut io);
        let text = |bytes| String::from_utf8(bytes).expect("text");
        (code, text(out), text(err))
    }

    fn files(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.folder.path()).expect("a folder");
        let name = |entry: std::io::Result<std::fs::DirEntry>| entry.expect("an entry").file_name();
        let mut names: Vec<String> = entries
            .map(|entry| name(entry).to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }
}

#[test]
fn the_command_writes_what_was_asked_for_and_overwrites_nothing() {
    let bench = Bench::new();
    let (code, out, err) = bench.map(&["--csv", "--json"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(out.starts_with("Weld map: Small frame\n"), "{out}");
    let written = [
        "build-map-beads.csv",
        "build-map.csv",
        "build-map.json",
        "build.log",
        "job.toml",
    ];
    assert_eq!(bench.files(), written);
    // The page is not there yet, but the JSON is: nothing is written.
    let (code, _, err) = bench.map(&["--html", "--json"]);
    assert_eq!(code, 4, "{err}");
    assert_eq!(bench.files(), written);
    assert_eq!(bench.map(&["--html", "--json", "--force"]).0, 0);
    assert!(bench.files().contains(&"build-map.html".to_string()));
    // One file, told by its ending.
    let one = bench.path("only.svg");
    assert_eq!(bench.map(&["--out", &one]).0, 0);
    assert!(Path::new(&one).exists());
    assert_eq!(
        bench.map(&["--out", &one, "--csv"]).0,
        2,
        "one file cannot be two"
    );
}

#[test]
fn strict_ends_with_a_code_of_its_own_and_names_the_welds() {
    let bench = Bench::new();
    let (code, _, err) = bench.map(&["--json", "--strict"]);
    assert_eq!(code, 5);
    assert!(err.contains("weld 5, 8 and 12"), "{err}");
}

#[test]
fn what_the_user_says_is_checked_and_wins() {
    let bench = Bench::new();
    for (said, complaint) in [
        ("99=1", "there is no bead 99: the log has beads 1 to 21"),
        ("1=99", "there is no weld 99: the job has welds 1 to 16"),
    ] {
        let (code, _, err) = bench.map(&["--json", "--assign", said]);
        assert_eq!(code, 1);
        assert!(err.contains(complaint), "{err}");
    }
    assert_eq!(bench.map(&["--json", "--assign", "five=1"]).0, 2);
    std::fs::write(
        bench.path("said.txt"),
        "# by hand\n6=extra # a trial\n\n7 = 1\nx\n",
    )
    .expect("written");
    let (code, _, err) = bench.map(&["--json", "--assign-file", &bench.path("said.txt")]);
    assert_eq!(code, 1);
    assert!(
        err.contains("said.txt:5: cannot read the assignment \"x\""),
        "{err}"
    );
    assert_eq!(
        bench.files(),
        ["build.log", "job.toml", "said.txt"],
        "nothing was written"
    );
    let (code, _, _) = bench.map(&[
        "--json", "--assign", "8=extra", "--assign", "7=4", "--assign", "1=scrap",
    ]);
    assert_eq!(code, 0);
    let json = std::fs::read_to_string(bench.path("build-map.json")).expect("written");
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(json["beads"][7]["role"], "extra");
    assert_eq!(json["welds"][3]["beads"], serde_json::json!([7]));
    assert_eq!(json["beads"][0]["role"], "scrap");
}

#[test]
fn another_planned_order_is_read_from_a_list_or_a_file_and_checked() {
    let bench = Bench::new();
    let order: Vec<String> = (1..=16).rev().map(|weld| weld.to_string()).collect();
    let (code, _, _) = bench.map(&["--json", "--order", &order.join(",")]);
    assert_eq!(code, 0);
    let entries: Vec<String> = order
        .iter()
        .map(|weld| format!("{{\"weld\": {weld}}}"))
        .collect();
    std::fs::write(
        bench.path("plan.json"),
        format!("{{\"order\": [{}]}}", entries.join(",")),
    )
    .expect("written");
    let json =
        |bench: &Bench| std::fs::read_to_string(bench.path("build-map.json")).expect("written");
    let from_list = json(&bench);
    assert_eq!(
        bench
            .map(&["--json", "--force", "--order", &bench.path("plan.json")])
            .0,
        0
    );
    assert_eq!(json(&bench), from_list);
    let (code, _, err) = bench.map(&["--json", "--force", "--order", "1,2"]);
    assert_eq!(code, 1);
    assert!(err.contains("the order leaves out weld 3, 4, "), "{err}");
    assert_eq!(
        bench
            .map(&["--json", "--force", "--order", "nowhere.json"])
            .0,
        3
    );
}
