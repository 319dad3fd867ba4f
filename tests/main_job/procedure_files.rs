//! Procedure files: all errors at once, a file to begin with, and the same verdict in millimetres and in inches.

use super::map::{SMALL_FRAME, small_log};
use coldsquare_core::process::Process;
use coldsquare_core::units::{Amperes, Millimetres};
use coldsquare_engine::file_error::Source;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::limits::Limits;
use coldsquare_engine::map::{self, Settings, model::WeldMap};
use coldsquare_engine::procedure::from_source;
use coldsquare_engine::procedure::model::Procedure;
use coldsquare_engine::recording::RecordingOptions;
use coldsquare_engine::units::Units;
use coldsquare_engine::verdict::Verdict;
use coldsquare_firmware::panel::Input;
use coldsquare_firmware::sim::{Build, SimulatedBead, Transfer, log_build};
use coldsquare_tests::command::coldsquare;
use coldsquare_tests::{assert_close, assert_golden, golden};
use std::path::Path;

const WRONG: [&str; 10] = [
    "01-process",
    "02-ranges",
    "03-shielding",
    "04-heat",
    "05-thickness",
    "06-covered-heat",
    "07-temperatures",
    "08-runs",
    "09-material",
    "10-units",
];

fn procedure(text: &str) -> (Procedure, Units) {
    from_source(&Source::new("mag-thin.toml", text)).unwrap_or_else(|errors| panic!("{errors}"))
}

#[test]
fn ten_files_wrong_in_ten_ways_show_every_error_with_line_and_hint() {
    let mut all = String::new();
    for name in WRONG {
        let path = golden(&format!("procedure/wrong-{name}.toml"));
        let text = std::fs::read_to_string(&path).expect("a golden input");
        let errors =
            from_source(&Source::new(format!("{name}.toml"), text)).expect_err("it is wrong");
        assert!(errors.count() >= 2, "{name}: {errors}");
        for error in errors.iter() {
            assert!(
                error.advice().is_some_and(|hint| !hint.is_empty()),
                "{error}"
            );
        }
        all += &format!("{errors}\n");
        let ran = coldsquare(["procedure", "check", path.to_str().expect("path")]);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""));
    }
    assert_golden("procedure/wrong.txt", &all);
}

#[test]
fn a_file_to_begin_with_is_read_back_and_says_what_it_is() {
    for (name, arguments) in [
        (
            "new-mag",
            &[
                "--process",
                "135",
                "--material",
                "steel",
                "--thickness",
                "3",
            ][..],
        ),
        (
            "new-tig-inch",
            &[
                "--process",
                "141",
                "--material",
                "stainless",
                "--thickness",
                "1/16 in",
                "--units",
                "inch",
            ],
        ),
        (
            "new-tig-aluminium",
            &[
                "--process",
                "141",
                "--material",
                "aluminium",
                "--thickness",
                "3",
            ],
        ),
    ] {
        let ran = coldsquare(
            ["procedure", "new"]
                .into_iter()
                .chain(arguments.iter().copied()),
        );
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert!(
            ran.out.contains("try them on scrap") && ran.out.contains("NOT a qualified procedure"),
            "{}",
            ran.out
        );
        assert_golden(&format!("procedure/{name}.toml"), &ran.out);
        let (read, _) = procedure(&ran.out);
        assert!(read.planned_heat_input.0 > 0.0);
        let path = golden(&format!("procedure/{name}.toml"));
        let ran = coldsquare(["procedure", "check", path.to_str().expect("path")]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert_golden(&format!("procedure/{name}.txt"), &ran.out);
    }
    let ran = coldsquare(["procedure", "new", "--process", "135", "--thickness", "20"]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err
            .contains("no published setting for MAG, solid wire (135) on 20.0 mm"),
        "{}",
        ran.err
    );
}

#[test]
fn a_file_is_written_once_and_not_over_another() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mag.toml");
    let path = path.to_str().expect("path");
    let again = [
        "procedure",
        "new",
        "--process",
        "135",
        "--thickness",
        "3",
        "--out",
        path,
    ];
    assert_eq!(coldsquare(again).code, 0);
    assert_eq!(coldsquare(again).code, 4);
}

const METRIC: &str = "process = 135\nvolts = [17, 20]\namps = [95, 135]\nthickness = [2, 4]\n\
     travel_speed = [6, 9]\nheat_input = [0.15, 0.35]\nwire_speed = [4, 6]\ngas_flow = [10, 15]\ninterpass = 150\n";
/// The same in the units of the other system, to the last digit.
const CUSTOMARY: &str = "units = \"inch\"\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\nthickness = [\"2 mm\", \"4 mm\"]\n\
     travel_speed = [14.173228346456693, 21.25984251968504]\nheat_input = [3.81, 8.89]\n\
     wire_speed = [157.48031496062993, 236.2204724409449]\ngas_flow = [\"10 l/min\", \"15 l/min\"]\ninterpass = 302\n";

fn same(a: Option<f64>, b: Option<f64>) {
    assert_close(a.expect("an end"), b.expect("an end"), 1e-9, 1e-12);
}

#[test]
fn inches_and_millimetres_are_the_same_procedure() {
    let ((metric, _), (customary, units)) = (procedure(METRIC), procedure(CUSTOMARY));
    assert_eq!(units, Units::UsCustomary);
    let ends = |procedure: &Procedure| {
        let run = procedure.for_run(1);
        [
            run.travel_speed.map(|v| v.0),
            run.heat_input.map(|v| v.0),
            run.wire_speed.map(|v| v.0),
            procedure.sheet.thickness.map(|v| v.0),
        ]
    };
    for (a, b) in ends(&metric).into_iter().zip(ends(&customary)) {
        same(a.low, b.low);
        same(a.high, b.high);
    }
    assert_close(
        metric.interpass.expect("given").0,
        customary.interpass.expect("given").0,
        1e-9,
        0.0,
    );
}

/// The small frame with a procedure file beside it, in one system of units or the other.
fn job(folder: &Path, units: &str, procedure: &str) -> Job {
    std::fs::write(folder.join("mag-thin.toml"), procedure).expect("written");
    let (frame, _) = SMALL_FRAME.split_once("[procedure]").expect("a procedure");
    let mut frame = frame.replacen("material", "procedure = \"mag-thin.toml\"\nmaterial", 1);
    if units == "inch" {
        frame = frame
            .replace("units = \"mm\"", "units = \"inch\"")
            .replace("width = 600", "width = \"600 mm\"")
            .replace("height = 400", "height = \"400 mm\"")
            .replace("SHS 40x40x3", "SHS 40x40x3 mm");
    }
    let path = folder.join("job.toml");
    std::fs::write(&path, frame).expect("written");
    coldsquare_engine::job::load(&coldsquare::disk::Disk, &path)
        .unwrap_or_else(|failure| panic!("{failure}"))
}

fn mapped(job: &Job) -> WeldMap {
    let log = coldsquare_engine::log::read_from(
        Path::new("build.log"),
        &small_log()[..],
        std::io::Cursor::new([]),
        &RecordingOptions::default(),
    )
    .expect("a log");
    map::build(job, &log, &Settings::default()).expect("a map")
}

#[test]
fn the_same_job_in_inches_and_millimetres_gets_the_same_verdicts() {
    let folder = tempfile::tempdir().expect("a folder");
    let metric = mapped(&job(folder.path(), "mm", METRIC));
    let customary = mapped(&job(folder.path(), "inch", CUSTOMARY));
    let verdicts = |map: &WeldMap| {
        map.welds
            .iter()
            .map(|weld| (weld.verdict, weld.decided_by))
            .collect::<Vec<_>>()
    };
    assert_eq!(verdicts(&metric), verdicts(&customary));
    assert!(
        metric
            .welds
            .iter()
            .any(|weld| weld.verdict == Verdict::OutOfLimits)
    );
    assert!(
        metric
            .welds
            .iter()
            .any(|weld| weld.verdict == Verdict::WithinLimits)
    );
}

#[test]
fn a_later_run_is_judged_by_its_own_ranges() {
    let (procedure, _) = procedure(&format!(
        "{METRIC}\n[[run]]\nfrom = 2\namps = [110, 140]\n[[run]]\nfrom = 4\nheat_input = {{ max = 0.3 }}\n"
    ));
    let amps = |run| procedure.for_run(run).current;
    assert_eq!(amps(1).low, Some(Amperes(95.0)));
    assert_eq!(amps(2).high, Some(Amperes(140.0)));
    assert_eq!(
        (amps(3), amps(9)),
        (amps(2), amps(2)),
        "what a run does not say is as before"
    );
    assert_eq!(procedure.for_run(4).heat_input.low, None);
    assert_eq!(procedure.for_run(3).heat_input, procedure.heat_input);
}

/// Two runs alike, at about 115 A; only the second is to have more.
#[test]
fn the_map_judges_each_run_by_its_own_ranges() {
    let folder = tempfile::tempdir().expect("a folder");
    let two = format!("{METRIC}\n[[run]]\nfrom = 2\namps = [140, 170]\n");
    let mut job = job(folder.path(), "mm", &two);
    job.welds[0].runs = 2;
    let arc_s = (job.welds[0].length() / job.procedures[0].planned_travel_speed).0;
    let bead = |pause_s, press| SimulatedBead {
        pause_s,
        press,
        ..SimulatedBead::new(
            Transfer::ShortCircuit { shorts_hz: 80.0 },
            21.7,
            85.0,
            arc_s,
        )
    };
    let build = Build {
        order: (1..=16).collect(),
        ..Build::new(
            "",
            Process::MagSolid,
            2_000.0,
            vec![
                bead(8.0, Some(Input::Next)),
                bead(5.0, None),
                bead(8.0, Some(Input::Next)),
            ],
        )
    };
    let (log, _) = log_build(&build, 1).expect("suits");
    let log = coldsquare_engine::log::read_from(
        Path::new("build.log"),
        &log[..],
        std::io::Cursor::new([]),
        &RecordingOptions::default(),
    )
    .expect("a log");
    let map = map::build(&job, &log, &Settings::default()).expect("fits");
    let runs: Vec<Verdict> = map.welds[0].runs.iter().map(|run| run.verdict).collect();
    assert_eq!(runs, [Verdict::WithinLimits, Verdict::OutOfLimits]);
    assert_eq!(
        map.welds[0].describe_verdict(),
        "out of limits: current too low (run 2)"
    );
}

#[test]
fn a_job_says_what_is_wrong_with_the_file_it_names() {
    let folder = tempfile::tempdir().expect("a folder");
    let complaint = |file: Option<&str>, thickness: &str| {
        let path = folder.path().join("mag-thin.toml");
        match file {
            Some(text) => std::fs::write(&path, text).expect("written"),
            None => drop(std::fs::remove_file(&path)),
        }
        let (frame, _) = SMALL_FRAME.split_once("[procedure]").expect("a procedure");
        let frame = frame.replacen("material", "procedure = \"mag-thin.toml\"\nmaterial", 1);
        let job = folder.path().join("job.toml");
        std::fs::write(&job, frame.replace("40x40x3", thickness)).expect("written");
        let ran = coldsquare(["check", job.to_str().expect("path")]);
        assert_eq!(ran.code, 1);
        ran.err
    };
    let missing = complaint(None, "40x40x3");
    assert!(
        missing.contains("cannot read the procedure file mag-thin.toml")
            && missing.contains("job.toml:3:13"),
        "{missing}"
    );
    let wrong = complaint(Some("process = 135\nvolts = [20, 17]\n"), "40x40x3");
    assert!(
        wrong.contains("line 2: the lowest value of 'volts' is above the highest"),
        "{wrong}"
    );
    let thick = complaint(Some(METRIC), "40x40x5");
    assert!(
        thick.contains("a wall of 5.00 mm is outside the thickness of procedure 'mag-thin'"),
        "{thick}"
    );
}

#[test]
fn limits_hold_their_ends() {
    let limits = Limits {
        low: Some(Millimetres(2.0)),
        high: None,
    };
    assert!(limits.contains(Millimetres(2.0)) && limits.contains(Millimetres(1e9)));
    assert!(!limits.contains(Millimetres(1.999)) && !limits.contains(Millimetres(f64::NAN)));
}

#[test]
fn the_guide_shows_a_procedure_that_works() {
    let guide = include_str!("../../docs/guide/procedure.md");
    let example = guide
        .split("```toml\n")
        .filter_map(|rest| rest.split("```").next())
        .find(|text| text.starts_with("name = "))
        .expect("an example");
    let (read, _) = procedure(example);
    assert_eq!(read.for_run(2).current.high, Some(Amperes(140.0)));
    assert_eq!(read.sheet.qualification.expect("a test").record, "PQ 12");
}
