//! Commands that talk to a logger: pull, live, send.

use coldsquare_tests::command::coldsquare;

#[test]
fn the_commands_work_without_a_logger_and_never_overwrite() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("weld.log");
    let name = out.to_str().expect("text");
    let ran = coldsquare(["pull", "sim:", name]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("Nothing is missing."), "{}", ran.out);
    let again = coldsquare(["pull", "sim:", name]);
    assert_eq!(again.code, 4, "{}", again.err);
    assert!(
        again.err.contains("exists and was not changed"),
        "{}",
        again.err
    );
    let copy = folder.path().join("copy.log");
    let ran = coldsquare(["pull", name, copy.to_str().expect("text"), "--json"]);
    let told: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
    assert_eq!(told["whole"], true);
    assert!(std::fs::read(&out).expect("there") == std::fs::read(&copy).expect("there"));

    let ran = coldsquare(["live", "sim:", "--lines", "60", "--every", "1", "--json"]);
    let lines: Vec<serde_json::Value> = ran
        .out
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    assert_eq!(lines.len(), 60);
    let burning = lines
        .iter()
        .find(|line| line["arc"] == true && line["kilowatts"].as_f64() > Some(1.0));
    let (volts, amps) = burning
        .map(|line| (line["volts"].as_f64(), line["amps"].as_f64()))
        .expect("an arc is seen");
    assert!((10.0..30.0).contains(&volts.expect("V")) && (50.0..300.0).contains(&amps.expect("A")));
    assert_eq!(coldsquare(["live", "no-such-port"]).code, 3);
    assert_eq!(coldsquare(["send", "sim:", "--clock"]).code, 0);
}

/// A logger in front of the gate of the demo, with the plan that a computer sent it, and the job.
struct OnTheBench {
    folder: tempfile::TempDir,
}

impl OnTheBench {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let job = folder.path().join("gate.toml");
        std::fs::write(&job, coldsquare_engine::example::GARDEN_GATE).expect("written");
        let bench = Self { folder };
        let plan = coldsquare([
            "plan",
            &bench.file("gate.toml"),
            "--balance",
            "--effort",
            "1",
            "--json",
        ]);
        assert_eq!(plan.code, 0, "{}", plan.err);
        std::fs::write(bench.file("plan.json"), plan.out).expect("written");
        bench
    }

    fn file(&self, name: &str) -> String {
        self.folder
            .path()
            .join(name)
            .to_str()
            .expect("text")
            .to_owned()
    }
}

#[test]
fn plan_calibration_and_clock_are_sent_and_errors_are_told_before_anything_is_sent() {
    let bench = OnTheBench::new();
    let (job, plan) = (bench.file("gate.toml"), bench.file("plan.json"));
    let ran = coldsquare(["send", "sim:", "--clock", "--plan", &plan, "--job", &job]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(
        ran.out.contains("Clock set: ") && ran.out.contains("Plan sent: "),
        "{}",
        ran.out
    );
    let ran = coldsquare(["send", "sim:", "--plan", "3,2,1", "--job", &job]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("leaves out weld"), "{}", ran.err);
    let ran = coldsquare([
        "send",
        "sim:",
        "--plan",
        &plan,
        "--job",
        &job,
        "--portion",
        "7",
    ]);
    assert!(
        ran.code == 1 && ran.err.contains("there is no portion 7"),
        "{}",
        ran.err
    );
    assert_eq!(coldsquare(["send", "sim:"]).code, 2);
    // The example's rate is not the simulated logger's, and the logger says so.
    let example = coldsquare(["send", "sim:", "--calibration", "example"]).out;
    std::fs::write(bench.file("clamp.toml"), &example).expect("written");
    let ran = coldsquare(["send", "sim:", "--calibration", &bench.file("clamp.toml")]);
    assert!(
        ran.code == 1 && ran.err.contains("different sampling rate"),
        "{}",
        ran.err
    );
    std::fs::write(
        bench.file("clamp.toml"),
        example.replace("10000.0", "4000.0"),
    )
    .expect("written");
    let ran = coldsquare([
        "send",
        "sim:",
        "--calibration",
        &bench.file("clamp.toml"),
        "--json",
    ]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("calibrated_unix_s"), "{}", ran.out);
}

#[test]
fn the_logger_says_which_weld_is_next_and_plans_again_when_one_was_hot() {
    let ran = coldsquare(["live", "sim:", "--lines", "500", "--every", "1", "--json"]);
    let lines: Vec<serde_json::Value> = ran
        .out
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    let saw = |advice: &str| lines.iter().filter(|line| line["advice"] == advice).count();
    assert!(
        saw("go") > 50 && saw("turn_over") > 0,
        "{} {}",
        saw("go"),
        saw("turn_over")
    );
    assert_eq!(saw("no_plan"), 0);
    // The maker of the demo makes hot and cold ones; welds left only ever go down.
    let left: Vec<u64> = lines
        .iter()
        .filter_map(|line| line["left"].as_u64())
        .collect();
    assert!(
        left.is_sorted_by(|a, b| a >= b) && left[0] > left[left.len() - 1],
        "{left:?}"
    );
    let planned = lines
        .iter()
        .filter_map(|line| line["planned_joules"].as_f64());
    assert!(planned.fold(0.0, f64::max) > 5000.0);
}
