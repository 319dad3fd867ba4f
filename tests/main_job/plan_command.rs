//! `coldsquare plan` as a maker meets it: the list in both systems of units, what programs read, and what it says when
//! there is no plan.

use coldsquare_tests::assert_golden;
use coldsquare_tests::command::{Ran, coldsquare};
use serde_json::Value;
use std::path::{Path, PathBuf};

const GATE: &str = coldsquare_engine::example::GARDEN_GATE;
const INCHES: &str = include_str!("../golden/plan/inch-frame.toml");

/// A folder with a job in it.
struct Bench(tempfile::TempDir);

impl Bench {
    fn with(job: &str) -> Self {
        let folder = tempfile::tempdir().expect("temporary folder");
        std::fs::write(folder.path().join("job.toml"), job).expect("the job is written");
        Self(folder)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn plan(&self, arguments: &[&str]) -> Ran {
        let job = self.path("job.toml");
        let job = job.to_str().expect("text");
        coldsquare(["plan", job].into_iter().chain(arguments.iter().copied()))
    }

    /// What is said of a job without a plan, its folder left out.
    fn refusal(&self, arguments: &[&str]) -> String {
        let ran = self.plan(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{}", ran.err);
        let folder = format!("{}/", self.0.path().display());
        ran.err.replace(&folder, "")
    }
}

/// Quick, and the same on every machine.
const QUICK: [&str; 3] = ["--balance", "--effort", "1"];

#[test]
fn the_list_a_maker_pins_to_the_wall_in_both_systems_of_units() {
    for (job, golden) in [(GATE, "garden-gate.txt"), (INCHES, "inch-frame.txt")] {
        let ran = Bench::with(job).plan(&QUICK);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert_golden(&format!("plan/{golden}"), &ran.out);
    }
}

fn json(bench: &Bench, arguments: &[&str]) -> Value {
    let ran = bench.plan(&[&QUICK[..], &["--json"], arguments].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    serde_json::from_str(&ran.out).expect("JSON")
}

fn keys(value: &Value) -> Vec<&str> {
    value
        .as_object()
        .expect("an object")
        .keys()
        .map(String::as_str)
        .collect()
}

#[test]
fn programs_find_the_fields_they_were_promised() {
    let plan = json(&Bench::with(INCHES), &[]);
    let mut expected = [
        "title",
        "gauge",
        "method",
        "seed",
        "stopped_early",
        "steps",
        "score",
        "time",
        "trade_orders",
        "cautions",
    ];
    expected.sort_unstable();
    let mut found = keys(&plan);
    found.sort_unstable();
    for key in expected {
        assert!(found.contains(&key), "{key} is missing: {found:?}");
    }
    let steps = plan["steps"].as_array().expect("steps");
    for step in steps {
        for key in [
            "number",
            "what",
            "reason",
            "why",
            "gauge_after",
            "begins",
            "wait",
        ] {
            assert!(step.get(key).is_some(), "{key} is missing: {step}");
        }
    }
    let waits: Vec<&Value> = steps
        .iter()
        .map(|step| &step["wait"])
        .filter(|wait| !wait.is_null())
        .collect();
    assert!(!waits.is_empty());
    // Seconds and °C, whatever units people read.
    let limits = waits.iter().filter(|wait| wait["what"]["kind"] == "joint");
    for wait in limits {
        let limit = wait["what"]["limit"].as_f64().expect("a temperature");
        assert!((limit - 93.33).abs() < 0.01, "200 °F is {limit} °C");
    }
    let parts = [
        "arc",
        "between_arcs",
        "walking",
        "flipping",
        "joints_cooling",
        "machine_resting",
    ];
    let seconds = |key: &str| plan["time"][key].as_f64().expect("seconds");
    let sum: f64 = parts.iter().map(|part| seconds(part)).sum();
    assert!((sum - seconds("total")).abs() < 1e-6);
}

#[test]
fn a_warmer_shop_waits_longer_and_a_wait_is_told_in_the_units_of_the_job() {
    let bench = Bench::with(INCHES);
    let waited = |plan: &Value| plan["time"]["joints_cooling"].as_f64().expect("seconds");
    let (cool, warm) = (
        json(&bench, &["--work", "50 F"]),
        json(&bench, &["--work", "110 F"]),
    );
    assert!(waited(&warm) > waited(&cool));
    let said = warm["steps"].to_string();
    assert!(said.contains("joint still above its interpass temperature of 200 °F for "));
    assert!(!said.contains("temperature of 93 °C"));
    assert_eq!(bench.plan(&["--work", "400 C"]).code, 2);
}

#[test]
fn a_plan_never_takes_the_place_of_a_file_unasked() {
    let bench = Bench::with(GATE);
    for name in ["plan.txt", "plan.html", "plan.json", "plan.svg"] {
        let path = bench.path(name);
        std::fs::write(&path, "mine").expect("written");
        let path = path.to_str().expect("text");
        let out = [&QUICK[..], &["--out", path]].concat();
        let ran = bench.plan(&out);
        assert_eq!(ran.code, 4, "{}", ran.err);
        assert!(ran.err.contains("exists"), "{}", ran.err);
        assert_eq!(std::fs::read(path).expect("there"), b"mine");
        let ran = bench.plan(&[&out[..], &["--force"]].concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert_ne!(std::fs::read(path).expect("there"), b"mine");
    }
}

#[test]
fn who_has_written_a_plan_is_told_where_it_is_and_what_comes_next() {
    let bench = Bench::with(GATE);
    for (name, json, next) in [
        ("plan.html", false, "print the bench card"),
        ("plan.json", true, "coldsquare send PORT --plan "),
        ("plan.txt", false, "coldsquare predict "),
    ] {
        let path = bench.path(name);
        let path = path.to_str().expect("text");
        let mut arguments = [&QUICK[..], &["--out", path]].concat();
        arguments.extend(json.then_some("--json"));
        let ran = bench.plan(&arguments);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(
            ran.out.starts_with(&format!("Written: {path}\nNext: ")),
            "{}",
            ran.out
        );
        assert!(ran.out.contains(next), "{}", ran.out);
        assert!(Path::new(path).is_file());
    }
}

#[test]
fn a_job_without_a_plan_says_why_where_and_what_to_do() {
    let small = "material = \"steel\"\n[frame]\nwidth = 600\nheight = 400\nsection = \"SHS 30x30x2\"\n\
                 [procedure]\nprocess = 135\ntravel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n";
    let circle = format!(
        "{small}[change.1]\nafter = [4]\n[change.4]\nafter = [2]\n[change.2]\nafter = [1]\n"
    );
    let unknown = format!("{small}[change.1]\nafter = [99]\n");
    let itself = format!("{small}[change.3]\nafter = [3]\n");
    let told = [
        ("a circle of welds", circle, &[][..]),
        ("a weld that is not there", unknown, &[]),
        ("a weld after itself", itself, &[]),
        ("too few turns", small.to_owned(), &["--flips", "0"]),
    ]
    .map(|(name, job, arguments)| {
        let refusal = Bench::with(&job).refusal(arguments);
        format!("# {name}\n{refusal}\n")
    });
    assert_golden("plan/refusals.txt", &told.concat());
}

#[test]
fn a_plan_never_replaces_the_job_it_is_made_from() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("gate.toml");
    std::fs::write(&job, GATE).expect("written");
    let job = job.to_str().expect("a path");
    let plan: Vec<&str> = ["plan", job, "--out", job, "--force"]
        .into_iter()
        .chain(QUICK)
        .collect();
    let ran = coldsquare(plan);
    assert_eq!(ran.code, 4, "{}", ran.err);
    assert_eq!(std::fs::read_to_string(job).expect("kept"), GATE);
}

/// On the structure, with little effort.
const ON_STRUCTURE: [&str; 2] = ["--effort", "1"];

#[test]
fn few_welds_or_none_get_a_clear_answer() {
    let one = include_str!("../golden/plan/one-weld.toml");
    let equal = one.replace("[\"front\"]", "[\"left\", \"right\"]");
    let (frame, procedure) = (
        one.split("[[member]]\nname = \"post\"").next(),
        one.split("[procedure]").nth(1),
    );
    let none = format!(
        "{}[procedure]{}",
        frame.expect("a foot"),
        procedure.expect("a procedure")
    );
    let told = [
        ("one weld", one.to_owned()),
        ("two equal welds", equal.replace("One weld", "Two welds")),
        ("no weld", none.replace("One weld", "No weld")),
    ]
    .map(|(name, job)| {
        let ran = Bench::with(&job).plan(&ON_STRUCTURE);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}");
        format!("# {name}\n{}\n", ran.out)
    });
    assert_golden("plan/few-welds.txt", &told.concat());
}

#[test]
fn a_goal_on_the_command_line_is_the_same_as_in_the_job_and_goes_before_it() {
    let job = include_str!("../golden/plan/one-weld.toml").replace("[\"front\"]", "\"all\"");
    let told = Bench::with(&job).plan(&[&ON_STRUCTURE[..], &["--goal", "square,flat"]].concat());
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    let words = "Goal: flat, square; everything else counts a tenth.";
    assert!(told.out.contains(words), "{}", told.out);
    for goal in ["[\"flat\", \"square\"]", "\"size\""] {
        let written = job.replace("material", &format!("goal = {goal}\nmaterial"));
        let both = Bench::with(&written);
        let again = both.plan(&[&ON_STRUCTURE[..], &["--goal", "square,flat"]].concat());
        assert_eq!(again.out, told.out);
        let alone = both.plan(&ON_STRUCTURE);
        assert_eq!(alone.out == told.out, goal.contains("flat"));
    }
    for wrong in [&["--goal", "pretty"][..], &["--balance", "--goal", "flat"]] {
        let ran = Bench::with(&job).plan(wrong);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{wrong:?}");
        assert!(ran.err.contains("--goal"), "{}", ran.err);
    }
}

#[test]
fn equal_welds_are_taken_as_drawn_where_nothing_else_decides() {
    // Without heat that differs, mirrored welds are equal: the same list comes out every time.
    let bench = Bench::with(GATE);
    assert_eq!(bench.plan(&QUICK).out, bench.plan(&QUICK).out);
}
