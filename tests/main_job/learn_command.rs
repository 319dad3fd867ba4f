//! What a shop learned is kept only when asked, used by jobs that name it, listed, and can be gone back from.

use super::map::{SMALL_FRAME, small_log, small_log_of};
use coldsquare_tests::assert_golden;
use coldsquare_tests::command::{Ran, coldsquare};
use serde_json::Value;

pub struct Shop(tempfile::TempDir);

impl Shop {
    pub fn new() -> Self {
        Self::with(SMALL_FRAME)
    }

    fn with(frame: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let job = format!("shop_factors = \"our-shop.toml\"\n{frame}");
        std::fs::write(folder.path().join("gate.toml"), job).expect("written");
        std::fs::write(folder.path().join("weld.log"), small_log()).expect("written");
        Self(folder)
    }

    pub fn path(&self, name: &str) -> String {
        self.0.path().join(name).display().to_string()
    }

    /// Words with a dot are files of the shop.
    pub fn run(&self, words: &str) -> Ran {
        let words = words.split(' ').map(|word| {
            if word.contains('.') {
                self.path(word)
            } else {
                word.to_owned()
            }
        });
        coldsquare(words.collect::<Vec<_>>().iter().map(String::as_str))
    }

    fn measured(&self) -> &Self {
        let (job, log) = (self.path("gate.toml"), self.path("weld.log"));
        let more = [
            "--width",
            "top=599.7",
            "--width",
            "bottom=599.7",
            "--height",
            "left=399.7",
            "--log",
            &log,
        ];
        let on = ["--on", "2026-05-05"];
        let ran = coldsquare(["measure", &job].into_iter().chain(more).chain(on));
        assert_eq!(ran.code, 0, "{}", ran.err);
        self
    }

    /// Notes readings, as they are typed.
    pub fn measure(&self, readings: &[&str]) -> Ran {
        let job = self.path("gate.toml");
        let words = ["measure", &job, "--on", "2026-05-05"].into_iter();
        coldsquare(words.chain(readings.iter().copied()))
    }

    /// Three builds of an invented shop, each with its log, that move `times` as much as the published factors say.
    pub fn three_builds(&self, times: f64) {
        for (build, seed) in [("A", 1), ("B", 2), ("C", 3)] {
            let name = format!("weld-{build}.log");
            std::fs::write(self.path(&name), small_log_of(seed)).expect("written");
            let expected = self.json(&format!("predict gate.toml --json --log {name}"));
            let moved = |of: &str| {
                let measures = expected["measures"].as_array().expect("a list");
                let one = measures.iter().find(|m| m["name"] == of).expect(of);
                let number = |key: &str| one[key].as_f64().expect("a number");
                let change = one["change_mm"]["value"].as_f64().expect("a number");
                number("before_mm") + times * change
            };
            let log = self.path(&name);
            let ran = self.measure(&[
                "--width",
                &format!("top={:.3} mm", moved("width at the top")),
                "--width",
                &format!("bottom={:.3} mm", moved("width at the bottom")),
                "--height",
                &format!("left={:.3} mm", moved("height at the left")),
                "--height",
                &format!("right={:.3} mm", moved("height at the right")),
                "--plus-minus",
                "0.05 mm",
                "--build",
                build,
                "--log",
                &log,
            ]);
            assert_eq!(ran.code, 0, "{}", ran.err);
        }
    }

    pub fn json(&self, words: &str) -> Value {
        let ran = self.run(words);
        assert_eq!(ran.code, 0, "{words}: {}", ran.err);
        serde_json::from_str(&ran.out).expect("JSON")
    }

    pub fn file(&self) -> Option<String> {
        std::fs::read_to_string(self.path("our-shop.toml")).ok()
    }
}

#[test]
fn nothing_is_learned_without_measurement_or_log_and_it_is_said() {
    let shop = Shop::new();
    let ran = shop.run("learn gate.toml");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("no measurements"), "{}", ran.out);
    assert!(ran.out.contains("do not support a change"), "{}", ran.out);
    assert_eq!(shop.run("learn gate.toml --keep").code, 1);
    let (job, width) = (shop.path("gate.toml"), "top=599.7");
    assert_eq!(coldsquare(["measure", &job, "--width", width]).code, 0);
    let ran = shop.run("learn gate.toml");
    assert!(ran.out.contains("no log"), "{}", ran.out);
    assert_eq!(shop.file(), None);
}

#[test]
fn a_log_that_is_not_the_one_measured_with_teaches_nothing() {
    let shop = Shop::new();
    shop.measured();
    std::fs::write(shop.path("weld.log"), b"another").expect("written");
    let ran = shop.run("learn gate.toml");
    assert!(
        ran.out.contains("has changed since it was measured"),
        "{}",
        ran.out
    );
}

#[test]
fn what_was_learned_is_kept_used_listed_and_taken_back() {
    let shop = Shop::new();
    let published = shop.run("predict gate.toml").out;
    shop.measured();
    let shown = shop.run("learn gate.toml");
    assert_eq!((shown.code, shown.err.as_str()), (0, ""), "{}", shown.out);
    assert!(shown.out.contains("Nothing written"), "{}", shown.out);
    assert!(shown.out.contains("Next build of"), "{}", shown.out);
    assert_eq!(shop.file(), None, "nothing is learned silently");

    assert_eq!(shop.run("learn gate.toml --keep --on 2026-05-06").code, 0);
    let first = shop.file().expect("kept");
    assert!(first.contains("sha256"), "{first}");
    let predicted = shop.run("predict gate.toml").out;
    let source = "our-shop.toml, revision 1 of 2026-05-06, from 1 build";
    assert!(predicted.contains(source), "{predicted}");
    let plan = shop.run("plan gate.toml --effort 1").out;
    assert!(plan.contains(source), "{plan}");
    let check = shop.run("check gate.toml").out;
    assert!(check.contains(source), "{check}");
    let json = shop.json("plan gate.toml --effort 1 --json");
    assert!(json.to_string().contains(source), "{json}");
    let json = shop.json("predict gate.toml --json");
    assert_eq!(json["factors"], format!("the factors of {source}"));

    // Without a job the recorded builds are read again, and none counts twice.
    assert_eq!(
        shop.run("learn --shop our-shop.toml --keep --on 2026-05-06")
            .code,
        0
    );
    let second = shop.file().expect("kept");
    assert!(second.starts_with(&first), "what was written stays");
    assert_eq!(
        second[first.len()..].trim(),
        first[first.find("[[revision]]").expect("one")..].trim()
    );

    assert_eq!(
        shop.run("learn --shop our-shop.toml --back 0 --on 2026-05-07")
            .code,
        0
    );
    assert!(shop.file().expect("kept").starts_with(&second));
    let numbers = |text: &str| {
        let before = text
            .lines()
            .take_while(|line| !line.contains("our-shop.toml"));
        before.map(String::from).collect::<Vec<_>>()
    };
    let back = shop.run("predict gate.toml").out;
    assert!(
        back.contains("our-shop.toml holds no factors yet: published factors"),
        "{back}"
    );
    assert_eq!(
        numbers(&back),
        numbers(&published),
        "as before anything was learned"
    );
    let history = shop.run("learn --shop our-shop.toml --history").out;
    assert!(
        history.contains("3  2026-05-07  return to the published factors"),
        "{history}"
    );

    let job = format!("shop_factors_revision = 1\nshop_factors = \"our-shop.toml\"\n{SMALL_FRAME}");
    std::fs::write(shop.path("gate.toml"), job).expect("written");
    assert_eq!(shop.run("predict gate.toml").out, predicted);
    let job = format!("shop_factors_revision = 9\nshop_factors = \"our-shop.toml\"\n{SMALL_FRAME}");
    std::fs::write(shop.path("gate.toml"), job).expect("written");
    let ran = shop.run("predict gate.toml");
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("shop_factors_revision = 9"), "{}", ran.err);
}

#[test]
fn a_file_changed_by_hand_is_refused_with_its_place() {
    let shop = Shop::new();
    shop.measured();
    assert_eq!(shop.run("learn gate.toml --keep").code, 0);
    let text = shop
        .file()
        .expect("kept")
        .replace("shrinkage = \"transverse\"", "shrinkage = \"shutting\"");
    std::fs::write(shop.path("our-shop.toml"), text).expect("written");
    let ran = shop.run("predict gate.toml");
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("our-shop.toml:"), "{}", ran.err);
    assert_eq!(shop.run("learn gate.toml --keep").code, 1);
}

/// Nothing is learned silently from what is doubtful: each case is said in words, and nothing can be kept.
#[test]
fn readings_that_contradict_look_like_another_unit_or_were_corrected_teach_nothing_and_it_is_said()
{
    for (readings, says) in [
        (
            vec!["--width", "top=599.7", "--width", "top=595", "--anyway"],
            "contradict each other; left out",
        ),
        (
            vec!["--bow", "top rail up=0.125", "--anyway"],
            "write 0.125 in if it is inches; left out",
        ),
        (
            vec!["--width", "top=599.7", "--after-correction", "1"],
            "readings after straightening",
        ),
    ] {
        let shop = Shop::new();
        let log = shop.path("weld.log");
        let ran = shop.measure(&[&readings[..], &["--log", &log]].concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
        let learned = shop.run("learn gate.toml");
        assert!(learned.out.contains(says), "{says}: {}", learned.out);
        assert!(
            learned
                .out
                .contains("Learned from 0 of 0 builds, 0 readings"),
            "{}",
            learned.out
        );
        assert!(
            learned.out.contains("do not support a change"),
            "{}",
            learned.out
        );
        let kept = shop.run("learn gate.toml --keep");
        assert_eq!(kept.code, 1, "{}", kept.out);
        assert_eq!(shop.file(), None);
    }
}

#[test]
fn a_size_that_cannot_be_is_left_out_however_it_came_into_the_file() {
    let shop = Shop::new();
    shop.measured();
    let path = shop.path("gate-measured.toml");
    let text = std::fs::read_to_string(&path).expect("there");
    // 23.6 is the width in inches.
    std::fs::write(&path, text.replacen("599.7", "23.6", 1)).expect("written");
    let learned = shop.run("learn gate.toml").out;
    assert!(
        learned.contains(
            "width at the top: 23.6 mm is not near the 600.0 mm drawn; in inches it would fit"
        ),
        "{learned}"
    );
    assert!(
        learned.contains("Learned from 1 of 1 build, 2 readings"),
        "{learned}"
    );
}

#[test]
fn a_reading_noted_twice_with_another_value_is_said_when_it_is_noted_and_when_it_is_learned() {
    let shop = Shop::new();
    let log = shop.path("weld.log");
    let first = shop.measure(&["--width", "top=599.7", "--log", &log]);
    assert_eq!((first.code, first.err.as_str()), (0, ""));
    let second = shop.measure(&["--width", "top=596", "--log", &log]);
    assert_eq!(second.code, 0);
    assert!(
        second
            .err
            .contains("width at the top: 596 mm contradicts 599.7 mm of 2026-05-05"),
        "{}",
        second.err
    );
    let learned = shop.run("learn gate.toml").out;
    assert!(
        learned.contains("was noted as -0.30 ± 1.00 mm and as -4.00 ± 1.00 mm"),
        "{learned}"
    );
    assert!(learned.contains("only one reading"), "{learned}");
}

#[test]
fn a_log_that_is_gone_is_said_and_a_frame_measured_with_it_is_compared_with_the_plan() {
    let shop = Shop::new();
    shop.measured();
    let listed = shop.run("measure gate.toml");
    assert!(
        listed.out.contains("predicted from weld.log, mm"),
        "{}",
        listed.out
    );
    assert_eq!(listed.err, "");
    std::fs::remove_file(shop.path("weld.log")).expect("there");
    let learned = shop.run("learn gate.toml").out;
    assert!(
        learned.contains("weld.log is not beside the job; nothing is learned from it"),
        "{learned}"
    );
    let listed = shop.run("measure gate.toml");
    assert!(
        listed.out.contains("predicted as planned, mm"),
        "{}",
        listed.out
    );
    assert!(
        listed
            .err
            .contains("is not beside the job, or has changed; compared with the plan"),
        "{}",
        listed.err
    );
}

#[test]
fn what_was_measured_is_compared_with_the_heat_of_its_own_log() {
    let shop = Shop::new();
    shop.measured();
    let listed = shop.json("measure gate.toml --json");
    let from_log = shop.json("predict gate.toml --json --log weld.log");
    let planned = shop.json("predict gate.toml --json");
    let of = |prediction: &Value| {
        let measures = prediction["measures"].as_array().expect("list").iter();
        let mut width = measures.filter(|m| m["name"] == "width at the top");
        width.next().expect("one")["change_mm"]["value"]
            .as_f64()
            .expect("number")
    };
    let said = listed[0]["reading"][0]["predicted_mm"]
        .as_f64()
        .expect("number");
    assert_eq!(listed[0]["predicted_from"], "from weld.log");
    assert!((said - of(&from_log)).abs() < 1e-4, "{said}");
    assert!(
        (said - of(&planned)).abs() > 1e-3,
        "the log's heat is not the plan's"
    );
}

#[test]
fn a_shop_file_that_is_mistyped_is_said_by_every_command() {
    let shop = Shop::new();
    let job = format!("shop_factors = \"ourshop.toml\"\n{SMALL_FRAME}");
    std::fs::write(shop.path("gate.toml"), job).expect("written");
    for command in [
        "predict gate.toml",
        "plan gate.toml --effort 1",
        "check gate.toml",
    ] {
        let out = shop.run(command).out;
        assert!(
            out.contains(
                "names the shop factors file ourshop.toml, which does not exist: published factors"
            ),
            "{command}: {out}"
        );
    }
    shop.measured();
    let learned = shop.run("learn gate.toml").out;
    assert!(
        learned.contains("ourshop.toml, which does not exist yet"),
        "{learned}"
    );
    for command in [
        "learn --shop ourshop.toml",
        "learn --shop ourshop.toml --history",
        "learn --shop ourshop.toml --back 0",
    ] {
        let ran = shop.run(command);
        assert_eq!(ran.code, 1, "{command}");
        assert!(
            ran.err.contains("does not exist; check the name"),
            "{command}: {}",
            ran.err
        );
    }
    let kept = shop.run("learn gate.toml --shop our-shop.toml --keep");
    assert!(
        kept.out
            .contains("does not name this file, so its plan will not use it"),
        "{}",
        kept.out
    );
}

/// All that it prints but the last line, which names files of this computer.
fn printed(ran: &Ran) -> String {
    assert_eq!(ran.code, 0, "{}", ran.err);
    let end = ran.out.find("\nNothing written").expect("it says so");
    ran.out[..end].to_owned()
}

#[test]
fn three_builds_narrow_the_next_prediction_and_the_text_says_how_much() {
    let shop = Shop::new();
    shop.three_builds(1.3);
    assert_golden(
        "predict/learned.txt",
        &printed(&shop.run("learn gate.toml")),
    );
    let json = shop.json("learn gate.toml --json");
    let next = &json["next"][0];
    let doubt = |key: &str| next[key]["expanded"].as_f64().expect("a number");
    assert!(doubt("after_mm") < 0.9 * doubt("before_mm"), "{next}");
    // The shop moves three tenths more than published.
    let value = |key: &str| next[key]["value"].as_f64().expect("a number");
    let times = value("after_mm") / value("before_mm");
    assert!((1.1..1.4).contains(&times), "{times}");
}

#[test]
fn the_build_that_does_not_fit_is_named() {
    let shop = Shop::new();
    shop.three_builds(1.0);
    let path = shop.path("gate-measured.toml");
    let text = std::fs::read_to_string(&path).expect("there");
    let (others, last) = text.split_at(text.rfind("[[measurement]]").expect("three"));
    // Everything that was read of the last build is a centimetre off.
    let spoiled: String = last
        .lines()
        .map(|line| match line.strip_prefix("values = [") {
            Some(value) => {
                let value: f64 = value.trim_end_matches(']').parse().expect("a number");
                format!("values = [{}]\n", value - 10.0)
            }
            None => format!("{line}\n"),
        })
        .collect();
    std::fs::write(&path, format!("{others}{spoiled}")).expect("written");
    let learned = shop.run("learn gate.toml").out;
    assert!(learned.contains("Learned from 2 of 3 builds"), "{learned}");
    assert!(
        learned.contains(
            "Left out: gate.toml, measured 2026-05-05, build C does not fit the other 2 builds"
        ),
        "{learned}"
    );
}

#[test]
fn a_job_in_inches_is_measured_and_learned_in_inches() {
    let frame = SMALL_FRAME
        .replace("units = \"mm\"", "units = \"inch\"")
        .replace("40x40x3", "40x40x3 mm")
        .replace("width = 600", "width = \"600 mm\"")
        .replace("height = 400", "height = \"400 mm\"")
        .replace("travel_speed = [6, 9]", "travel_speed = [14.2, 21.3]")
        .replace("heat_input = [0.15, 0.35]", "heat_input = [3.8, 8.9]");
    let shop = Shop::with(&frame);
    shop.three_builds(1.3);
    let learned = printed(&shop.run("learn gate.toml"));
    assert_golden("predict/learned-inch.txt", &learned);
    let listed = shop.run("measure gate.toml").out;
    assert!(
        listed.contains("change, in") && listed.contains("predicted from weld-A.log, in"),
        "{listed}"
    );
    assert!(!listed.contains(", mm"), "{listed}");
    let wrong = shop.measure(&["--width", "top=599"]);
    assert_eq!(wrong.code, 1);
    assert!(
        wrong
            .err
            .contains("is not near the 23.622 in drawn; in millimetres it would fit"),
        "{}",
        wrong.err
    );
}
