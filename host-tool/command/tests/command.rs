//! The command as a process: exit codes, what goes to which stream, and that nothing of the user's is ever lost.

use std::path::PathBuf;
use std::process::{Command, Output};

/// A folder of one test, with the files it needs.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().expect("temporary folder"),
        }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn file(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, bytes).expect("temporary file");
        path
    }

    fn run(&self, arguments: &[&str]) -> Ran {
        let output = Command::new(env!("CARGO_BIN_EXE_coldsquare"))
            .args(arguments)
            .current_dir(self.folder.path())
            .output()
            .expect("the command starts");
        Ran(output)
    }

    /// Every file in the folder with its content.
    fn contents(&self) -> Vec<(PathBuf, Vec<u8>)> {
        let mut found = Vec::new();
        let mut folders = vec![self.folder.path().to_owned()];
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).expect("folder") {
                let path = entry.expect("entry").path();
                if path.is_dir() {
                    folders.push(path)
                } else {
                    found.push((path.clone(), std::fs::read(path).expect("file")))
                }
            }
        }
        found.sort();
        found
    }
}

struct Ran(Output);

impl Ran {
    fn out(&self) -> String {
        String::from_utf8(self.0.stdout.clone()).expect("text")
    }

    fn err(&self) -> String {
        String::from_utf8(self.0.stderr.clone()).expect("text")
    }

    /// Failed with this code, said all of this on the error stream, and nothing on the other.
    fn fails(&self, code: i32, says: &[&str]) {
        let err = self.err();
        assert_eq!(self.0.status.code(), Some(code), "{err}");
        for part in says {
            assert!(err.contains(part), "expected '{part}' in:\n{err}");
        }
        assert!(!err.contains("panicked"), "{err}");
        assert_eq!(self.out(), "", "results are not for failures");
    }

    fn succeeds(&self) {
        assert_eq!(self.0.status.code(), Some(0), "{}", self.err());
    }
}

const GATE: &str = coldsquare_engine::example::GARDEN_GATE;

/// The job and the log of the demo, made once for all tests of this file.
fn demo() -> &'static [Vec<u8>; 3] {
    static DEMO: std::sync::OnceLock<[Vec<u8>; 3]> = std::sync::OnceLock::new();
    DEMO.get_or_init(|| {
        let bench = Bench::new();
        bench.run(&["demo", "--out", "demo"]).succeeds();
        let read =
            |name: &str| std::fs::read(bench.path("demo").join(name)).expect("the demo writes it");
        ["garden-gate.toml", "weld.log", "two-gates.txt"].map(read)
    })
}

/// What the first gate taught must bring the prediction of the second nearer: here by more than half.
#[test]
fn the_second_gate_of_the_demo_is_predicted_closer_than_the_first() {
    let text = String::from_utf8_lossy(&demo()[2]);
    assert!(text.contains("Simulated, not measured."), "{text}");
    let last = text
        .lines()
        .rfind(|line| line.starts_with("Mean difference: "));
    let words = last.expect("the means stand at the end").split_whitespace();
    let means: Vec<f64> = words.filter_map(|word| word.parse().ok()).collect();
    assert_eq!(means.len(), 2, "{text}");
    assert!(means[0] > 0.1 && means[1] < 0.5 * means[0], "{text}");
}

#[test]
fn help_and_version_are_answers() {
    let bench = Bench::new();
    let help = bench.run(&["--help"]);
    help.succeeds();
    for command in ["demo", "new", "check", "beads", "map", "plan", "predict"] {
        assert!(help.out().contains(command), "{command} is in the help");
        bench.run(&[command, "--help"]).succeeds();
    }
    bench.run(&["--version"]).succeeds();
}

#[test]
fn wrong_arguments_are_told_apart_from_wrong_files() {
    let bench = Bench::new();
    assert_eq!(bench.run(&["wled"]).0.status.code(), Some(2));
    assert_eq!(bench.run(&["beads"]).0.status.code(), Some(2));
    bench
        .run(&["beads", "not-there.log"])
        .fails(3, &["cannot read", "not-there.log"]);
    bench
        .run(&["check", "not-there.toml"])
        .fails(3, &["cannot read", "not-there.toml"]);
}

#[test]
fn what_is_not_a_log_is_said_to_be_none() {
    let bench = Bench::new();
    bench.file("empty.log", "");
    bench
        .run(&["beads", "empty.log"])
        .fails(1, &["empty.log", "is empty"]);
    bench.file(
        "noise.log",
        (0..5000u32)
            .map(|k| (k.wrapping_mul(2_654_435_761) >> 13) as u8)
            .collect::<Vec<_>>(),
    );
    bench.run(&["beads", "noise.log"]).fails(1, &["noise.log"]);
    bench.file("photo.log", [0u8; 4096]);
    bench.run(&["beads", "photo.log"]).fails(1, &["photo.log"]);
    bench.file("gate.toml", GATE);
    bench
        .run(&["map", "gate.toml", "empty.log"])
        .fails(1, &["empty.log", "is empty"]);
    bench.run(&["beads", "gate.toml"]).fails(1, &["gate.toml"]);
}

#[test]
fn text_in_a_number_column_is_found_by_line_and_column() {
    let bench = Bench::new();
    bench.file(
        "shop.csv",
        "time,volts,amps\n0.0,20.1,110\n0.1,twenty,111\n0.2,20.2,112\n",
    );
    bench
        .run(&["beads", "shop.csv"])
        .fails(1, &["shop.csv:3:5"]);
}

#[test]
fn a_huge_file_that_is_no_log_is_refused_without_being_read_whole() {
    let bench = Bench::new();
    // 2 GB of nothing: a hole in the disk, not two billion bytes.
    let file = std::fs::File::create(bench.path("huge.log")).expect("file");
    file.set_len(2_000_000_000).expect("sparse file");
    bench.run(&["beads", "huge.log"]).fails(1, &["huge.log"]);
    bench
        .run(&["check", "huge.log"])
        .fails(1, &["huge.log", "larger"]);
}

#[test]
fn a_job_with_errors_tells_every_one_with_its_place() {
    let bench = Bench::new();
    let wrong = GATE
        .replace("width = 1200 ", "width = -1200 ")
        .replace("amps = [95, 135]", "amps = [135, 95]")
        .replace("travel_speed = [6, 9]", "travel_speed = [nan, 9]");
    bench.file("gate.toml", &wrong);
    let ran = bench.run(&["check", "gate.toml"]);
    let line = |text: &str| {
        wrong
            .lines()
            .position(|line| line.starts_with(text))
            .expect("in the file")
            + 1
    };
    let places = ["width", "amps", "travel_speed"].map(|key| format!("gate.toml:{}", line(key)));
    ran.fails(1, &places.each_ref().map(String::as_str));
}

#[test]
fn a_weld_that_is_not_there_is_named() {
    let bench = Bench::new();
    bench.file("gate.toml", format!("{GATE}\n[weld.999]\nleg = 3\n"));
    bench
        .run(&["check", "gate.toml"])
        .fails(1, &["gate.toml:", "999"]);
}

#[test]
fn files_of_the_user_are_never_overwritten_unasked() {
    let bench = Bench::new();
    let mine = bench.file("gate.toml", "mine");
    let ran = bench.run(&["new", "gate", "--out", "gate.toml"]);
    ran.fails(4, &["gate.toml", "exists"]);
    assert_eq!(std::fs::read(&mine).expect("still there"), b"mine");

    bench.run(&["demo", "--out", "demo"]).succeeds();
    let before = bench.contents();
    bench
        .run(&["demo", "--out", "demo", "--seed", "2"])
        .fails(4, &["exists"]);
    assert_eq!(
        bench.contents(),
        before,
        "nothing changed, and no file left behind"
    );
    bench
        .run(&["demo", "--out", "demo", "--seed", "2", "--force"])
        .succeeds();
    assert_ne!(bench.contents(), before);
}

#[test]
fn a_new_job_goes_into_the_file_that_was_named_and_is_a_good_one() {
    let bench = Bench::new();
    for (name, file) in [
        ("my-frame.toml", "my-frame.toml"),
        ("Garden gate", "garden-gate.toml"),
    ] {
        bench.run(&["new", name]).succeeds();
        assert!(bench.path(file).is_file(), "{file}");
        bench.run(&["check", file]).succeeds();
    }
}

#[test]
fn a_reader_that_has_enough_is_no_error() {
    let bench = Bench::new();
    bench.file("gate.log", &demo()[1]);
    let mut child = Command::new(env!("CARGO_BIN_EXE_coldsquare"))
        .args(["beads", "gate.log", "--json"])
        .current_dir(bench.folder.path())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .expect("the command starts");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}

#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_is_told_and_leaves_nothing_behind() {
    let bench = Bench::new();
    bench.file("gate.log", &demo()[1]);
    let full = std::fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .expect("Linux has it");
    let output = Command::new(env!("CARGO_BIN_EXE_coldsquare"))
        .args(["beads", "gate.log"])
        .current_dir(bench.folder.path())
        .stdout(full)
        .output()
        .expect("the command starts");
    assert_eq!(
        output.status.code(),
        Some(3),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}

/// The file for a logger's card: made whole, never over another, and empty until something is logged.
#[test]
fn a_card_s_file_is_made_and_what_is_there_is_kept() {
    let bench = Bench::new();
    let made = bench.run(&["card", "new", "--size", "2"]);
    assert_eq!(made.0.status.code(), Some(0), "{}", made.err());
    let before = bench.contents();
    assert_eq!((before.len(), before[0].1.len()), (1, 2 << 20));
    assert_eq!(bench.run(&["card", "new"]).0.status.code(), Some(4));
    let empty = bench.run(&["pull", "COLDSQ.JNL", "gate.log"]);
    assert_eq!(empty.0.status.code(), Some(1));
    assert!(
        empty.err().contains("nothing was logged"),
        "{}",
        empty.err()
    );
    let none = bench.run(&["card", "new", "other", "--size", "0"]);
    assert_eq!(none.0.status.code(), Some(2));
    assert_eq!(bench.contents(), before);
}

/// A notebook is read, extended and replaced; whenever the command is killed, the old or the new one is there, whole.
#[test]
#[cfg(unix)]
fn a_killed_writer_leaves_the_old_notebook_or_the_new_one_and_the_next_sweeps_up() {
    let bench = Bench::new();
    bench.file("gate.toml", GATE);
    let inspect = ["inspect", "gate.toml", "3", "--result", "accepted"];
    bench.run(&inspect).succeeds();
    let notebook = bench.path("gate-inspection.toml");
    let entries = |text: &str| text.matches("[[inspection]]").count();
    let mut before = std::fs::read_to_string(&notebook).expect("a notebook");
    for step in 0..60_u32 {
        let mut child = Command::new(env!("CARGO_BIN_EXE_coldsquare"))
            .args(inspect)
            .current_dir(bench.folder.path())
            .stdout(std::process::Stdio::null())
            .stderr(std::process::Stdio::null())
            .spawn()
            .expect("the command starts");
        std::thread::sleep(std::time::Duration::from_micros(400 * u64::from(step)));
        let _ = child.kill();
        let _ = child.wait();
        let now = std::fs::read_to_string(&notebook).expect("a notebook, whatever happened");
        assert!(
            now.starts_with(&before),
            "step {step}: what was there stays"
        );
        let more = entries(&now) - entries(&before);
        assert!(
            more <= 1 && now.ends_with('\n'),
            "step {step}: {more} entries more"
        );
        assert_eq!(more == 0, now == before, "step {step}: no half entry");
        before = now;
    }
    // What the killed ones left is swept up once it is old enough not to belong to another writer.
    std::thread::sleep(std::time::Duration::from_millis(2100));
    bench.run(&inspect).succeeds();
    let hidden = |name: &std::ffi::OsStr| name.to_string_lossy().starts_with(".coldsquare-");
    let left = std::fs::read_dir(bench.folder.path()).expect("folder");
    let left = left
        .filter(|entry| hidden(&entry.as_ref().expect("entry").file_name()))
        .count();
    assert_eq!(left, 0, "hidden files left");
}
