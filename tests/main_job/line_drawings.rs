//! Frames from drawings and drawings of frames: an independent library (ezdxf, Python package index) writes what we
//! read, and reads what we write.

use crate::reference::ask;
use coldsquare_engine::example::GARDEN_GATE;
use coldsquare_engine::job::{self, model::Job};
use coldsquare_tests::assert_close;
use coldsquare_tests::command::coldsquare;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// A table on four legs with a shelf: centre lines, mm.
const TABLE: [[f64; 3]; 2] = [[0.0, 0.0, 0.0], [1000.0, 600.0, 750.0]];

fn ring(z: f64) -> Value {
    let [[x0, y0, _], [x1, y1, _]] = TABLE;
    json!([[x0, y0, z], [x1, y0, z], [x1, y1, z], [x0, y1, z]])
}

/// The parts of the drawing, in units of so many mm.
fn parts(unit_mm: f64) -> Value {
    let [[x0, y0, z0], [x1, y1, z1]] = TABLE;
    let scaled = |points: Value| -> Value {
        let points: Vec<[f64; 3]> = serde_json::from_value(points).expect("points");
        json!(
            points
                .iter()
                .map(|point| point.map(|axis| axis / unit_mm))
                .collect::<Vec<_>>()
        )
    };
    let mut parts = vec![
        json!({ "as": "polyline in space", "closed": true, "layer": "RAILS", "points": scaled(ring(z1)) }),
        json!({ "as": "polyline in space", "closed": true, "layer": "RAILS", "points": scaled(ring(200.0)) }),
    ];
    for [x, y] in [[x0, y0], [x1, y0], [x1, y1], [x0, y1]] {
        // One leg is split where its rail meets it.
        for [low, high] in [[z0, 200.0], [200.0, z1]] {
            let points = scaled(json!([[x, y, low], [x, y, high]]));
            parts.push(json!({ "as": "line", "layer": "LEGS", "points": points }));
        }
    }
    json!(parts)
}

fn written(version: &str, unit: &str, parts: &Value) -> String {
    let question = json!({ "do": "write", "version": version, "unit": unit, "parts": parts });
    ask("drawings.py", &question)["text"]
        .as_str()
        .expect("a text")
        .to_owned()
}

fn put(folder: &Path, name: &str, text: &str) -> (PathBuf, String) {
    let path = folder.join(name);
    std::fs::write(&path, text).expect("written");
    let shown = path.display().to_string();
    (path, shown)
}

/// Name and cut length of each member, sorted.
fn cut_lengths(job: &Job) -> Vec<(String, f64)> {
    let mut all: Vec<_> = job
        .members
        .iter()
        .map(|one| (one.name.clone(), one.cut_length.0))
        .collect();
    all.sort_by(|a, b| a.0.cmp(&b.0));
    all
}

#[test]
fn a_table_drawn_by_another_program_in_any_version_and_unit_is_the_same_table() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("table.toml").display().to_string();
    let mut all: Vec<Vec<(String, f64)>> = Vec::new();
    let versions = [
        ("R12", "mm"),
        ("R2000", "mm"),
        ("R2004", "in"),
        ("R2007", "m"),
        ("R2010", "in"),
        ("R2013", "mm"),
        ("R2018", "m"),
    ];
    for (version, unit) in versions {
        let unit_mm = match unit {
            "in" => 25.4,
            "m" => 1000.0,
            _ => 1.0,
        };
        let (_, drawing) = put(
            folder.path(),
            "table.dxf",
            &written(version, unit, &parts(unit_mm)),
        );
        let ran = coldsquare([
            "import",
            &drawing,
            "--layer",
            "LEGS=SHS 40x40x2",
            "--layer",
            "RAILS=RHS 40x20x2",
            "--out",
            &out,
            "--force",
        ]);
        assert_eq!(ran.code, 0, "{version}: {}", ran.err);
        for left_out in ["CIRCLE on layer HOLES", "TEXT on layer WORDS"] {
            assert!(ran.out.contains(left_out), "{version}: {}", ran.out);
        }
        // R12 has no unit; the others say theirs.
        assert_eq!(
            ran.err.contains("does not say its unit"),
            version == "R12",
            "{}",
            ran.err
        );
        let text = std::fs::read_to_string(&out).expect("a job file");
        let job =
            job::from_text("table", &text).unwrap_or_else(|errors| panic!("{version}: {errors}"));
        all.push(cut_lengths(&job));
    }
    assert_eq!(all[0].len(), 4 + 8);
    for other in &all[1..] {
        for ((name, length), (known, expected)) in other.iter().zip(&all[0]) {
            assert_eq!(name, known);
            assert_close(*length, *expected, 0.02, 0.0);
        }
    }
    // Legs up to the upper face of the rails, which are 40 high; rails between legs of 40.
    let length = |name: &str| {
        all[0]
            .iter()
            .find(|(known, _)| known == name)
            .expect("a member")
            .1
    };
    assert_close(length("leg 1"), 770.0, 0.01, 0.0);
    assert_close(length("rail 1"), 960.0, 0.01, 0.0);
    assert_close(length("side rail 1"), 560.0, 0.01, 0.0);
}

#[test]
fn a_flat_frame_drawn_in_one_polyline_has_mitred_corners() {
    let folder = tempfile::tempdir().expect("a folder");
    let parts = json!([
        { "as": "polyline", "closed": true, "layer": "SHS_40X40X2", "points": [[0, 0], [1160, 0], [1160, 860], [0, 860]] },
        { "as": "line", "layer": "SHS_20X20X2", "points": [[580, 0], [580, 860]] },
    ]);
    for version in ["R12", "R2000", "R2018"] {
        let (_, drawing) = put(folder.path(), "flat.dxf", &written(version, "mm", &parts));
        let out = folder.path().join("flat.toml").display().to_string();
        let ran = coldsquare(["import", &drawing, "--out", &out, "--force", "--json"]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let text = std::fs::read_to_string(&out).expect("a job file");
        assert!(
            text.contains("width = 1200 ") && text.contains("corners = \"mitred\""),
            "{text}"
        );
        assert!(text.contains("from = \"bottom rail at 600\""), "{text}");
    }
}

/// The job of the garden gate, in a file.
fn gate(folder: &Path) -> (Job, String) {
    let (_, path) = put(folder, "gate.toml", GARDEN_GATE);
    (
        job::from_text("gate", GARDEN_GATE).expect("the example"),
        path,
    )
}

fn exported(folder: &Path, job: &str, options: &[&str]) -> Value {
    let out = folder.join("out.dxf").display().to_string();
    let arguments = ["export", job, "--out", &out, "--force"]
        .into_iter()
        .chain(options.iter().copied());
    let ran = coldsquare(arguments);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = std::fs::read_to_string(&out).expect("a drawing");
    let read = ask("drawings.py", &json!({ "do": "read", "text": text }));
    assert_eq!(
        read["errors"],
        json!([]),
        "another program finds nothing to mend"
    );
    read
}

fn numbers(value: &Value) -> Vec<f64> {
    serde_json::from_value(value.clone()).expect("numbers")
}

#[test]
fn another_program_reads_the_centre_lines_that_we_write() {
    let folder = tempfile::tempdir().expect("a folder");
    let (job, path) = gate(folder.path());
    let read = exported(folder.path(), &path, &[]);
    let on = |layer: &str| -> Vec<&Value> {
        let lines = read["lines"].as_array().expect("lines");
        lines.iter().filter(|line| line["layer"] == layer).collect()
    };
    let drawn: Vec<&Value> = on("SHS_40X40X3")
        .into_iter()
        .chain(on("SHS_20X20X2"))
        .collect();
    assert_eq!(drawn.len(), job.members.len());
    for (line, member) in drawn.iter().zip(&job.members) {
        for (end, at) in [("from", member.from), ("to", member.to)] {
            for (read, ours) in numbers(&line[end]).iter().zip(<[f64; 3]>::from(at)) {
                assert_close(*read, ours, 1e-6, 0.0);
            }
        }
    }
    assert_eq!(on("WELDS").len(), job.welds.len());
    assert!(on("OUTLINES").len() >= 12 * job.members.len());
}

#[test]
fn the_frame_as_predicted_is_drawn_so_many_times_as_large() {
    let folder = tempfile::tempdir().expect("a folder");
    let (_, path) = gate(folder.path());
    let moved = |times: &str| -> Vec<Vec<f64>> {
        let read = exported(folder.path(), &path, &["--show", "moved", "--times", times]);
        let lines = read["polylines"].as_array().expect("polylines").clone();
        let points = lines
            .iter()
            .flat_map(|line| line["points"].as_array().expect("points").clone());
        points.map(|point| numbers(&point)).collect()
    };
    let (once, ten, twenty) = (moved("1"), moved("10"), moved("20"));
    let mut farthest: f64 = 0.0;
    for ((a, b), c) in once.iter().zip(&ten).zip(&twenty) {
        for axis in 0..3 {
            // The true place is where the lines through one and ten times start: at nought times.
            let step = (b[axis] - a[axis]) / 9.0;
            assert_close(c[axis] - b[axis], 10.0 * step, 1e-4, 0.0);
            farthest = farthest.max(step.abs());
        }
    }
    assert!(
        farthest > 0.2 && farthest < 5.0,
        "a gate moves by some tenths to millimetres: {farthest}"
    );
}

#[test]
fn the_flat_pattern_of_each_piece_has_the_area_of_its_face() {
    let folder = tempfile::tempdir().expect("a folder");
    let (_, path) = gate(folder.path());
    let read = exported(folder.path(), &path, &["--show", "pieces"]);
    let mut areas: Vec<f64> = Vec::new();
    for outline in read["polylines"].as_array().expect("outlines") {
        assert_eq!(outline["closed"], true);
        let points: Vec<Vec<f64>> = outline["points"]
            .as_array()
            .expect("points")
            .iter()
            .map(numbers)
            .collect();
        let next = points.iter().cycle().skip(1);
        let twice: f64 = points
            .iter()
            .zip(next)
            .map(|(a, b)| a[0] * b[1] - a[1] * b[0])
            .sum();
        areas.push(twice.abs() / 2.0);
    }
    // Trapezoids of 1200 over 1120 and 900 over 820, 40 high; bars of 820 by 20.
    for (area, expected) in areas
        .iter()
        .zip([1160.0 * 40.0, 860.0 * 40.0, 820.0 * 20.0])
    {
        assert_close(*area, expected, 0.5, 0.0);
    }
    assert_eq!(read["words"].as_array().map(Vec::len), Some(3));
}

#[test]
fn a_broken_drawing_is_refused_by_its_line_and_nothing_is_written_or_replaced() {
    let folder = tempfile::tempdir().expect("a folder");
    let whole = written(
        "R2000",
        "mm",
        &json!([{ "as": "line", "layer": "0", "points": [[0, 0, 0], [900, 0, 0]] }]),
    );
    let (_, broken) = put(
        folder.path(),
        "broken.dxf",
        &whole.replace("900.0", "nine hundred"),
    );
    let out = folder.path().join("frame.toml").display().to_string();
    let ran = coldsquare(["import", &broken, "--section", "SHS 40x40x2", "--out", &out]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err
            .contains("'nine hundred' of a LINE on layer 0 is not a coordinate"),
        "{}",
        ran.err
    );
    assert!(!Path::new(&out).exists());
    let (_, good) = put(folder.path(), "good.dxf", &whole);
    let into_itself = coldsquare([
        "import",
        &good,
        "--section",
        "SHS 40x40x2",
        "--out",
        &good,
        "--force",
    ]);
    assert_eq!(into_itself.code, 4, "{}", into_itself.err);
    assert_eq!(std::fs::read_to_string(&good).expect("kept"), whole);
    assert_eq!(
        coldsquare(["import", &good, "--section", "SHS 40x40x2", "--out", &out]).code,
        0
    );
    assert_eq!(
        coldsquare(["import", &good, "--section", "SHS 40x40x2", "--out", &out]).code,
        4
    );
}

#[test]
fn the_table_of_nodes_and_members_goes_out_and_comes_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let (gate, path) = gate(folder.path());
    let table = folder.path().join("gate.csv").display().to_string();
    assert_eq!(coldsquare(["export", &path, "--out", &table]).code, 0);
    let out = folder.path().join("back.toml").display().to_string();
    let ran = coldsquare(["import", &table, "--out", &out]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = std::fs::read_to_string(&out).expect("a job file");
    let back = job::from_text("back", &text).expect("a whole job");
    assert_eq!(cut_lengths(&back).len(), cut_lengths(&gate).len());
    for ((name, length), (known, expected)) in cut_lengths(&back).iter().zip(cut_lengths(&gate)) {
        assert_eq!(*name, known);
        assert_close(*length, expected, 0.02, 0.0);
    }
    let (_, wrong) = put(
        folder.path(),
        "wrong.csv",
        "units,mm\nnode,A,0,0,0\nmember,rail,A,B,SHS 40x40x2\n",
    );
    let ran = coldsquare(["import", &wrong, "--out", &out, "--force"]);
    assert!(
        ran.code == 1
            && ran.err.contains("there is no node 'B'")
            && ran.err.contains("wrong.csv:3"),
        "{}",
        ran.err
    );
}
