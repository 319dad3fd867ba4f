//! The examples of the documentation: short, drawn as their pictures show, and good for the whole job.

use coldsquare_tests::command::coldsquare;
use coldsquare_tests::{assert_golden, golden};
use std::path::PathBuf;

/// The files of the examples, sorted.
fn examples() -> Vec<PathBuf> {
    let folder = golden("../../docs/examples");
    let files = std::fs::read_dir(&folder).expect("docs/examples");
    let mut files: Vec<PathBuf> = files
        .map(|file| file.expect("a file").path())
        .filter(|path| {
            let name = path.display().to_string();
            name.ends_with(".toml") && !name.ends_with(".opening.toml")
        })
        .collect();
    files.sort();
    files
}

#[test]
fn there_are_thirteen_examples_of_thirty_lines_at_most() {
    let files = examples();
    assert_eq!(files.len(), 13);
    for path in files {
        let text = std::fs::read_to_string(&path).expect("text");
        let lines = text.lines().filter(|line| !line.trim().is_empty());
        assert!(lines.count() <= 30, "{}", path.display());
    }
}

#[test]
fn every_example_is_drawn_as_its_picture_shows() {
    let folder = tempfile::tempdir().expect("a folder");
    for path in examples() {
        let name = path
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let picture = folder
            .path()
            .join(format!("{name}.svg"))
            .display()
            .to_string();
        let job = path.display().to_string();
        let ran = coldsquare(["check", &job, "--out", &picture]);
        assert_eq!(ran.code, 0, "{name}: {}", ran.err);
        let drawn = std::fs::read_to_string(&picture).expect("a picture");
        assert_golden(&format!("../../docs/examples/{name}.svg"), &drawn);
    }
}

#[test]
fn every_example_is_predicted_and_planned() {
    for path in examples() {
        let job = path.display().to_string();
        let predicted = coldsquare(["predict", &job]);
        assert_eq!(predicted.code, 0, "{job}: {}", predicted.err);
        let planned = coldsquare(["plan", &job, "--effort", "1", "--seconds", "2"]);
        assert_eq!(planned.code, 0, "{job}: {}", planned.err);
        assert!(planned.out.contains("order of welding"), "{job}");
    }
}

#[test]
fn a_trolley_comes_from_nothing_to_its_plan_in_three_commands() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("trolley.toml").display().to_string();
    let new = coldsquare(["new", "Tool trolley", "--shape", "trolley", "--out", &job]);
    assert_eq!(new.code, 0, "{}", new.err);
    let check = coldsquare(["check", &job]);
    assert_eq!(check.code, 0, "{}", check.err);
    let plan = coldsquare(["plan", &job, "--effort", "1", "--seconds", "2"]);
    assert_eq!(plan.code, 0, "{}", plan.err);
}

#[test]
fn every_starting_point_makes_a_frame_that_stands_in_both_units() {
    let folder = tempfile::tempdir().expect("a folder");
    for shape in [
        "frame", "shelf", "ladder", "box", "trolley", "table", "stand", "tee", "bracket",
    ] {
        for units in ["mm", "inch"] {
            let job = folder
                .path()
                .join(format!("{shape}-{units}.toml"))
                .display()
                .to_string();
            let new = coldsquare([
                "new", shape, "--shape", shape, "--units", units, "--out", &job,
            ]);
            assert_eq!(new.code, 0, "{shape} in {units}: {}", new.err);
            let text = std::fs::read_to_string(&job).expect("text");
            let lines = text.lines().filter(|line| !line.trim().is_empty()).count();
            assert!(
                (15..=26).contains(&lines),
                "{shape} in {units}: {lines} lines"
            );
            let predicted = coldsquare(["predict", &job]);
            assert_eq!(predicted.code, 0, "{shape} in {units}: {}", predicted.err);
        }
    }
}
