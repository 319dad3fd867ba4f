//! Ctrl-C while a plan is searched for, on the real process: it stops soon and gives the best order so far.
#![cfg(unix)]

use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

/// 16 welds of the corners and four of each bar.
fn welds(bars: u64) -> u64 {
    16 + 4 * bars
}

fn frame(bars: u64) -> String {
    format!(
        "material = \"steel\"\n[frame]\nwidth = 6000\nheight = 900\nsection = \"SHS 40x40x3\"\ncorners = \"mitred\"\n\
         [frame.bars]\ncount = {bars}\nsection = \"SHS 20x20x2\"\nwelded = [\"front\", \"back\"]\n\
         [procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\n\
         heat_input = [0.15, 0.35]\n"
    )
}

/// 200 welds by shrinkage balance.
const LARGE: u64 = 46;
/// On the structure a build without the optimiser takes seconds for each order of 200 welds; 52 are large enough.
const MIDDLE: u64 = 9;

fn start(folder: &std::path::Path, bars: u64, arguments: &[&str]) -> Child {
    std::fs::write(folder.join("long.toml"), frame(bars)).expect("the job is written");
    Command::new(env!("CARGO_BIN_EXE_coldsquare"))
        .args(["plan", "long.toml"])
        .args(arguments)
        .current_dir(folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command starts")
}

fn interrupt(process: &Child) {
    let sent = Command::new("kill")
        .args(["-INT", &process.id().to_string()])
        .status()
        .expect("kill is there");
    assert!(sent.success());
}

fn interrupted(bars: u64, arguments: &[&str]) -> (Output, Duration) {
    let folder = tempfile::tempdir().expect("temporary folder");
    let process = start(folder.path(), bars, arguments);
    std::thread::sleep(Duration::from_secs(2));
    interrupt(&process);
    let sent = Instant::now();
    let output = process.wait_with_output().expect("it ends");
    (output, sent.elapsed())
}

#[test]
fn ctrl_c_gives_the_best_order_so_far_marked_as_stopped_early() {
    for (bars, judge) in [(LARGE, &["--balance"][..]), (MIDDLE, &[])] {
        let arguments = [judge, &["--effort", "1000", "--json"]].concat();
        let (output, took) = interrupted(bars, &arguments);
        let err = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{err}");
        assert!(err.starts_with("interrupted: "), "{err}");
        let plan: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
        assert_eq!(plan["stopped_early"], true);
        let mut planned: Vec<u64> = plan["steps"]
            .as_array()
            .expect("steps")
            .iter()
            .filter_map(|step| step["what"]["weld"].as_u64())
            .collect();
        planned.sort_unstable();
        planned.dedup();
        assert_eq!(planned, (1..=welds(bars)).collect::<Vec<_>>());
        println!("{judge:?}: {took:?} after Ctrl-C");
    }
}

#[test]
fn a_search_that_has_run_out_of_time_says_so_in_the_text() {
    let folder = tempfile::tempdir().expect("temporary folder");
    let process = start(
        folder.path(),
        MIDDLE,
        &["--seconds", "1", "--effort", "1000"],
    );
    let output = process.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(0));
    assert!(String::from_utf8_lossy(&output.stderr).starts_with("time is up: "));
    let text = String::from_utf8_lossy(&output.stdout);
    assert!(text.contains("\nStopped early: "), "{text}");
}
