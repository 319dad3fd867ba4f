//! `coldsquare predict`: what a maker reads before the build, and what is said of jobs that cannot be worked out.

use coldsquare::command::Io;
use coldsquare::run::run;
use coldsquare_core::units::{JoulesPerMillimetre, Newtons};
use coldsquare_engine::job::{self, model::Job, model::Point};
use coldsquare_engine::movement::error::MovementError;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{Prediction, planned_net_heat, predict};
use coldsquare_engine::movement::shapes::Shapes;
use coldsquare_engine::movement::text::{Basis, text};
use coldsquare_engine::shop::factor::Factors;
use coldsquare_tests::assert_golden;
use std::path::Path;

const CLAMPED: &str = include_str!("../golden/predict/clamped-gate.toml");

fn clamped_gate() -> Job {
    job::from_text("clamped-gate.toml", CLAMPED).expect("a good job")
}

/// Runs the command line: exit code, standard output, standard error.
fn command(arguments: &[&str]) -> (u8, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = run(
        std::iter::once("coldsquare").chain(arguments.iter().copied()),
        &mut Io {
            out: &mut out,
            err: &mut err,
            interactive: false,
        },
    );
    let text = |bytes| String::from_utf8(bytes).expect("text");
    (code, text(out), text(err))
}

fn golden(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("golden/predict")
        .join(name);
    path.display().to_string()
}

fn predicted(job: &Job) -> Prediction {
    let engine = MovementModel::new(job).expect("it stands");
    let order: Vec<usize> = (0..job.welds.len()).collect();
    predict(
        job,
        &engine,
        &order,
        &planned_net_heat(job),
        &Factors::starting(),
    )
    .expect("in range")
}

fn refusal(job: &Job) -> String {
    MovementModel::new(job)
        .map(|_| ())
        .expect_err("this cannot be worked out")
        .to_string()
}

#[test]
fn the_sheet_a_maker_reads_in_both_systems_of_units() {
    for name in ["clamped-gate", "inch-frame"] {
        let (code, out, err) = command(&["predict", &golden(&format!("{name}.toml"))]);
        assert_eq!((code, err.as_str()), (0, ""), "{name}");
        assert_golden(&format!("predict/{name}.txt"), &out);
    }
}

#[test]
fn another_order_is_another_answer_and_a_wrong_order_is_refused() {
    let path = golden("inch-frame.toml");
    let (_, drawn, _) = command(&["predict", &path]);
    let (code, fronts_first, _) = command(&["predict", &path, "--order", "16-9 1-8"]);
    assert_eq!(code, 0);
    assert_ne!(drawn, fronts_first);
    for (order, says) in [
        ("1-15", "the order leaves out weld 16"),
        ("1-16 3", "the order names weld 3 twice"),
        (
            "1-17",
            "the order names weld 17, but the job has welds 1 to 16",
        ),
        ("0-15", "'0-15' is not a weld number"),
    ] {
        let (code, out, err) = command(&["predict", &path, "--order", order]);
        assert_eq!((code, out.as_str()), (1, ""), "{order}");
        assert!(err.contains(says), "{order}: {err}");
    }
    let (code, _, err) = command(&["predict", &path, "--order", "no-such-file.txt"]);
    assert_eq!(code, 3);
    assert!(err.contains("no-such-file.txt"), "{err}");
}

#[test]
fn json_says_the_same_as_the_sheet_and_draws_every_step() {
    let (code, out, _) = command(&["predict", &golden("clamped-gate.toml"), "--json"]);
    assert_eq!(code, 0);
    let json: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    let prediction = predicted(&clamped_gate());
    let measures = json["measures"].as_array().expect("measures");
    assert_eq!(measures.len(), prediction.measures.len());
    for (said, measure) in measures.iter().zip(&prediction.measures) {
        let value = said["change_mm"]["value"].as_f64().expect("a number");
        assert!((value - measure.released_mm.value).abs() < 1e-4, "{said}");
    }
    let job = clamped_gate();
    let shapes = &json["shapes"];
    let list = |value: &serde_json::Value| value.as_array().expect("a list").len();
    assert_eq!(list(&shapes["before"]), job.members.len());
    assert_eq!(list(&shapes["steps"]), job.welds.len());
    for (line, moved) in shapes["before"]
        .as_array()
        .expect("lines")
        .iter()
        .zip(shapes["released_mm"].as_array().expect("movements"))
    {
        assert_eq!(list(&line["points_mm"]), list(moved));
    }
    assert!(json["clamps"][3]["slips"].as_bool().expect("said"));
    assert!(!json["clamps"][0]["slips"].as_bool().expect("said"));
}

#[test]
fn a_frame_cut_with_its_allowance_comes_out_to_size() {
    // Longer members shrink as the shorter ones do, to second order: the sizes come out right.
    let job = clamped_gate();
    let prediction = predicted(&job);
    let add = |name: &str| {
        let member = job
            .members
            .iter()
            .position(|m| m.name == name)
            .expect("there");
        let allowance = prediction.allowances.iter().find(|a| a.member == member);
        allowance.expect("it spans").add_mm.value
    };
    for (size, member) in [
        ("width at the top", "top rail"),
        ("height at the left", "left upright"),
    ] {
        let change = prediction
            .measures
            .iter()
            .find(|m| m.name == size)
            .expect("measured");
        assert!(change.released_mm.value < -0.05, "{change:?}");
        assert!(
            (change.released_mm.value + add(member)).abs() < 0.05,
            "{size}"
        );
    }
}

#[test]
fn uncertainty_grows_with_that_of_the_measured_heat() {
    let job = clamped_gate();
    let engine = MovementModel::new(&job).expect("it stands");
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let mut heat = planned_net_heat(&job);
    let sure = predicted(&job);
    heat.iter_mut()
        .for_each(|heat| heat.standard = 0.3 * heat.value);
    let unsure =
        predict(&job, &engine, &order, &heat, &Factors::starting()).expect("still in range");
    for (sure, unsure) in sure.measures.iter().zip(&unsure.measures) {
        assert!(
            unsure.released_mm.standard > sure.released_mm.standard,
            "{}",
            sure.name
        );
    }
}

#[test]
fn the_clamp_that_would_slip_is_named() {
    let mut job = clamped_gate();
    let basis = Basis {
        order: "file order".into(),
        heat: "planned heat".into(),
    };
    let slips = |job: &Job| text(job, &predicted(job), &basis).contains("at most; it slips");
    assert!(slips(&job));
    job.clamps[3].force = Some(Newtons(1e6));
    assert!(!slips(&job));
}

#[test]
fn shapes_start_where_the_members_lie_and_move_by_little() {
    let job = clamped_gate();
    let engine = MovementModel::new(&job).expect("it stands");
    let shrinkage = engine
        .shrinkage(&vec![172.0; job.welds.len()], &Factors::starting())
        .expect("in range");
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let shapes = Shapes::new(&job, &engine, &order, &shrinkage).expect("it stands");
    for line in &shapes.lines {
        let member = &job.members[line.member];
        let (first, last) = (line.points[0], *line.points.last().expect("points"));
        assert!((first - member.from).length() < 1e-9 && (last - member.to).length() < 1e-9);
    }
    let far = shapes
        .released
        .iter()
        .flatten()
        .map(|moved| moved.length())
        .fold(0.0, f64::max);
    assert!((0.1..10.0).contains(&far), "{far}");
    assert!((1.0..=500.0).contains(&shapes.magnification));
}

#[test]
fn a_member_that_nothing_holds_is_named_with_how_it_can_move() {
    let mut job = clamped_gate();
    let bar = job
        .members
        .iter()
        .position(|m| m.name == "bar 2")
        .expect("there");
    for joint in &mut job.joints {
        if joint.members.iter().any(|&(member, _)| member == bar) {
            joint.tacks.clear();
        }
    }
    let error = MovementModel::new(&job)
        .map(|_| ())
        .expect_err("the bar is loose");
    let MovementError::Mechanism(loose) = &error else {
        panic!("{error}");
    };
    assert!(loose.iter().all(|one| one.member == "bar 2"), "{loose:?}");
    let text = error.to_string();
    assert!(
        text.starts_with("bar 2 can move ") && text.contains("tack or clamp it"),
        "{text}"
    );
}

#[test]
fn what_cannot_be_predicted_is_refused_in_the_names_of_the_drawing() {
    let good = clamped_gate();
    type Harm = fn(&mut Job);
    let cases: [(Harm, &str); 8] = [
        (
            |job| job.members[4].to = job.members[4].from,
            "bar 1 has no length",
        ),
        (|job| job.members[4].to.x = f64::NAN, "bar 1 has no length"),
        (
            |job| {
                let twin = job.members[4].clone();
                job.members[5] = coldsquare_engine::job::model::Member {
                    name: "twin".into(),
                    ..twin
                };
            },
            "bar 1 and twin are in the same place",
        ),
        (
            |job| job.welds[20].to = job.welds[20].from,
            "weld 21 has no length",
        ),
        (
            |job| job.welds[20].members = [4, 4],
            "weld 21 joins bar 1 to itself",
        ),
        (
            |job| {
                let away = Point::new(0.0, 0.0, 300.0);
                job.welds[20].from = job.welds[20].from + away;
                job.welds[20].to = job.welds[20].to + away;
            },
            "weld 21 is ",
        ),
        (
            |job| {
                let member = job.members[4].clone();
                job.members = vec![member; 10_000];
            },
            "the job has 10000 members; the limit is 4000",
        ),
        (
            |job| {
                for weld in &mut job.welds {
                    weld.to = weld.from + Point::new(400_000.0, 0.0, 0.0);
                }
                job.members[4].to.x = 1e6;
            },
            "weld ",
        ),
    ];
    for (harm, says) in cases {
        let mut job = good.clone();
        harm(&mut job);
        let text = refusal(&job);
        assert!(text.starts_with(says), "{text} does not begin with {says}");
    }
}

#[test]
fn heat_outside_the_rules_names_the_weld_and_the_range() {
    let mut job = clamped_gate();
    let hot = job.procedures[0].clone();
    job.procedures.push(hot);
    job.procedures[1].planned_heat_input = JoulesPerMillimetre(20_000.0);
    job.welds[6].procedure = 1;
    let engine = MovementModel::new(&job).expect("it stands");
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let error = predict(
        &job,
        &engine,
        &order,
        &planned_net_heat(&job),
        &Factors::starting(),
    )
    .map(|_| ())
    .expect_err("too hot");
    let text = error.to_string();
    assert!(
        text.starts_with("weld 7: ") && text.contains("give 0 to 10000 J/mm"),
        "{text}"
    );
}

#[test]
fn a_wall_too_thin_for_its_weld_is_refused_when_the_job_is_read() {
    let text = CLAMPED.replace("SHS 20x20x2", "SHS 20x20x0.4");
    let errors = job::from_text("thin.toml", &text).expect_err("it would burn through");
    assert!(errors.to_string().contains("thinner"), "{errors}");
}

#[test]
fn a_log_replaces_the_planned_heat_and_what_was_not_measured_is_said() {
    // The small frame as it was built: weld 5 was made slowly, weld 8 passed over, the others as planned.
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).display().to_string();
    std::fs::write(path("job.toml"), super::map::SMALL_FRAME).expect("written");
    std::fs::write(path("build.log"), super::map::small_log()).expect("written");
    let (_, planned, _) = command(&["predict", &path("job.toml"), "--json"]);
    let (code, logged, err) = command(&[
        "predict",
        &path("job.toml"),
        "--log",
        &path("build.log"),
        "--json",
    ]);
    assert_eq!(code, 0, "{err}");
    assert_eq!(err, "note: no measured heat, taken as planned: weld 8\n");
    let read = |text: &str| -> serde_json::Value { serde_json::from_str(text).expect("JSON") };
    let (planned, logged) = (read(&planned), read(&logged));
    assert_eq!(logged["order_from"], "the order welded");
    assert_eq!(logged["heat_from"], "heat of build.log");
    let order: Vec<u64> = logged["order"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|n| n.as_u64().expect("a number"))
        .collect();
    let done = [1, 2, 3, 4, 5, 6, 7, 9, 10, 11, 12, 13, 14, 15, 16, 8];
    assert_eq!(order, done, "what was passed over comes last");
    let heat = |json: &serde_json::Value, weld: usize| {
        json["net_heat_j_per_mm"][weld - 1]["value"]
            .as_f64()
            .expect("a number")
    };
    let ratio = heat(&logged, 5) / heat(&logged, 6);
    assert!(
        (1.6..1.9).contains(&ratio),
        "made at 1/1.75 of the speed: {ratio}"
    );
    assert!((heat(&logged, 8) - heat(&planned, 8)).abs() < 1e-9);
    assert_ne!(logged["measures"], planned["measures"]);
}

#[test]
fn a_size_in_inches_is_refused_as_it_was_given() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("thick.toml");
    let text = "units = \"inch\"\nmaterial = \"steel\"\n[frame]\nwidth = 40\nheight = 30\nsection = \"SQ 1.5\"\n\
                [procedure]\nprocess = 135\nvolts = [17, 28]\namps = [95, 235]\nplanned_travel_speed = 14\n";
    std::fs::write(&job, text).expect("written");
    let ran = coldsquare_tests::command::coldsquare(["predict", &job.display().to_string()]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    assert!(ran.err.contains("thickness is 38.1 mm"), "{}", ran.err);
}
