//! What straightedge and tape show is kept beside the job, is never overwritten, and nonsense is not taken.

use super::map::SMALL_FRAME;
use coldsquare_tests::command::{Ran, coldsquare};

struct Shop(tempfile::TempDir);

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("gate.toml"), SMALL_FRAME).expect("written");
        std::fs::write(folder.path().join("weld.log"), b"a log").expect("written");
        Self(folder)
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).display().to_string()
    }

    fn measure(&self, more: &[&str]) -> Ran {
        let job = self.path("gate.toml");
        coldsquare(["measure", &job].into_iter().chain(more.iter().copied()))
    }

    fn file(&self) -> Option<String> {
        std::fs::read_to_string(self.path("gate-measured.toml")).ok()
    }
}

#[test]
fn readings_are_added_with_their_unit_doubt_date_and_log() {
    let shop = Shop::new();
    assert!(
        shop.measure(&[])
            .out
            .contains("No measurements for this job yet")
    );
    let log = shop.path("weld.log");
    let first = shop.measure(&[
        "--bow",
        "top rail up = 3/32\"",
        "--log",
        &log,
        "--on",
        "2026-05-04",
        "--by",
        "AB",
    ]);
    assert_eq!(first.code, 0, "{}", first.err);
    // Five bytes are no log.
    assert!(
        first.err.contains("compared with the plan"),
        "{}",
        first.err
    );
    assert!(first.out.contains("+2.38 ± 0.50"), "{}", first.out);
    let before = shop.file().expect("a file");
    let second = shop.measure(&[
        "--racking",
        "-1",
        "--plus-minus",
        "1/64 in",
        "--after-correction",
        "1",
        "--on",
        "2026-05-05",
    ]);
    assert_eq!(second.code, 0, "{}", second.err);
    let after = shop.file().expect("a file");
    assert!(
        after.starts_with(&before),
        "what was written stays: {after}"
    );
    let json = shop.measure(&["--json"]);
    let json: serde_json::Value = serde_json::from_str(&json.out).expect("JSON");
    assert_eq!(json[0]["state"], "unclamped");
    // SHA-256 of the five bytes, by sha256sum.
    assert_eq!(
        json[0]["log_sha256"],
        "5775e775a009a883570f8738b2efba72ebd889bebd792398088abf4b78a55133"
    );
    assert_eq!(json[0]["reading"][0]["unit"], "in");
    assert_eq!(json[0]["reading"][0]["values"][0], 0.09375);
    assert_eq!(json[1]["state"], "corrected");
    assert_eq!(json[1]["step"], 1);
    let doubt = json[1]["reading"][0]["change_plus_minus_mm"]
        .as_f64()
        .expect("a number");
    assert!((doubt - 25.4 / 64.0).abs() < 1e-5, "{doubt}");
}

#[test]
fn nonsense_is_refused_and_nothing_is_written() {
    let shop = Shop::new();
    for (given, code, says) in [
        (vec!["--width", "19"], 1, "is not near"),
        (
            vec!["--bow", "top rail up = 900"],
            1,
            "more than a twentieth",
        ),
        (
            vec!["--bow", "top rail up = 0.125"],
            1,
            "write 0.125 in if it is inches",
        ),
        (
            vec!["--bow", "top rail up = 3, 4, -3"],
            1,
            "do not belong to one bow",
        ),
        (vec!["--bow", "top rail = 3"], 1, "say to which side"),
        (vec!["--twist", "middle = 3"], 1, "is not a corner"),
        (vec!["--gap", "nowhere = 3"], 1, "there is no joint"),
        (vec!["--width", "three"], 1, "47 1/4 in"),
        (
            vec!["--bow", "top rail up = 3", "--on", "yesterday"],
            2,
            "2026-11-25",
        ),
        (
            vec![
                "--bow",
                "top rail up = 3",
                "--clamped",
                "--after-correction",
                "1",
            ],
            2,
            "cannot be used",
        ),
        (
            vec!["--bow", "top rail up = 3", "--log", "/nowhere.log"],
            3,
            "cannot read",
        ),
        (
            vec!["--bow", "top rail up = 3", "--plus-minus", "0"],
            1,
            "greater than 0",
        ),
    ] {
        let ran = shop.measure(&given);
        assert_eq!(ran.code, code, "{given:?}: {}", ran.err);
        assert!(ran.err.contains(says), "{given:?}: {}", ran.err);
    }
    assert_eq!(shop.file(), None);
    let kept = shop.measure(&["--bow", "top rail up = 0.125", "--anyway"]);
    assert_eq!(kept.code, 0);
    assert!(kept.err.contains("kept despite a warning"));
    assert!(
        shop.file()
            .expect("written")
            .contains("warnings = [\"bow of top rail")
    );
}

#[test]
fn a_file_that_does_not_fit_the_job_is_said_with_its_place() {
    let shop = Shop::new();
    assert_eq!(shop.measure(&["--bow", "top rail up = 3"]).code, 0);
    let spoiled = shop
        .file()
        .expect("a file")
        .replace("top rail", "lost rail");
    std::fs::write(shop.path("gate-measured.toml"), &spoiled).expect("written");
    let ran = shop.measure(&["--bow", "top rail up = 3"]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err.contains("the job has no bow of lost rail, upwards")
            && ran.err.contains("gate-measured.toml:9:6"),
        "{}",
        ran.err
    );
    assert_eq!(shop.file().expect("a file"), spoiled);
}
