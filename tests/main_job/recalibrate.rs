//! A clamp calibrated anew changes everything that its old logs said: map, prediction, and the shop's factors.

use super::learn_command::Shop;
use serde_json::Value;

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn heats(shop: &Shop) -> Vec<Option<f64>> {
    let ran = shop.run("map gate.toml weld-A.log --out map.json --force");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = std::fs::read_to_string(shop.path("map.json")).expect("written");
    let map: Value = serde_json::from_str(&text).expect("JSON");
    let welds = map["welds"].as_array().expect("a list").iter();
    welds
        .map(|weld| weld["heat_input_j_per_mm"]["value"].as_f64())
        .collect()
}

/// The changes predicted for build A from its log.
fn predicted(shop: &Shop) -> Vec<f64> {
    let json = shop.json("predict gate.toml --json --log weld-A.log");
    let sizes = json["measures"].as_array().expect("a list").iter();
    let sizes =
        sizes.filter(|m| m["kind"] == "size" && !m["name"].as_str().expect("text").contains("mid"));
    sizes.map(|m| number(&m["change_mm"]["value"])).collect()
}

/// Every factor of every class, as the recorded builds teach it now.
fn factors(shop: &Shop) -> Vec<f64> {
    let json = shop.json("learn --shop our-shop.toml --json");
    let rows = json["factors"].as_array().expect("a list").iter();
    rows.map(|row| number(&row["value"])).collect()
}

const LOGS: &str = "weld-A.log weld-B.log weld-C.log";

#[test]
fn five_percent_more_current_is_five_percent_more_heat_and_smaller_factors() {
    let shop = Shop::new();
    shop.three_builds(1.3);
    assert_eq!(shop.run("learn gate.toml --keep --on 2026-05-06").code, 0);
    let logs: Vec<_> = LOGS
        .split(' ')
        .map(|name| std::fs::read(shop.path(name)).expect("there"))
        .collect();
    let (heat, moved, taught) = (heats(&shop), predicted(&shop), factors(&shop));

    let words = format!("recalibrate {LOGS} --on 2026-05-20 --amps-times");
    let mut words: Vec<String> = words.split(' ').map(String::from).collect();
    for word in &mut words {
        if word.contains('.') {
            *word = shop.path(word);
        }
    }
    words.push("1.05".into());
    let ran = coldsquare_tests::command::coldsquare(words.iter().map(String::as_str));
    assert_eq!(ran.code, 0, "{}", ran.err);
    for (name, before) in LOGS.split(' ').zip(&logs) {
        assert_eq!(
            &std::fs::read(shop.path(name)).expect("there"),
            before,
            "a log is never written"
        );
    }

    // Every heat is five percent more, and the factors kept so far now say five percent too much.
    for (now, before) in heats(&shop).iter().zip(&heat) {
        match (now, before) {
            (Some(now), Some(before)) => {
                assert!((now / before - 1.05).abs() < 2e-3, "{now} {before}")
            }
            (now, before) => assert_eq!(now, before),
        }
    }
    let too_much = predicted(&shop);
    for (now, before) in too_much.iter().zip(&moved) {
        assert!((1.02..1.08).contains(&(now / before)), "{now} {before}");
    }

    // Read again, the builds are known by their logs as before, and teach less.
    let learned = shop.run("learn --shop our-shop.toml --keep --on 2026-05-21");
    assert_eq!(learned.code, 0, "{}", learned.err);
    assert!(
        learned.out.contains("Learned from 3 of 3 builds"),
        "{}",
        learned.out
    );
    assert!(
        shop.file()
            .expect("kept")
            .contains("weld-A-calibration.toml")
    );
    let times: Vec<f64> = factors(&shop)
        .iter()
        .zip(&taught)
        .map(|(now, before)| now / before)
        .collect();
    // The more heat, the smaller the factors that explain the same movement: of those that the builds teach at all.
    assert!(times.iter().all(|&factor| factor < 1.0 + 1e-6), "{times:?}");
    assert!(times.iter().any(|&factor| factor < 0.98), "{times:?}");
    // What was measured has not changed: with more heat and smaller factors less is expected than with the old ones.
    for (now, wrong) in predicted(&shop).iter().zip(&too_much) {
        assert!(
            now.abs() < 0.97 * wrong.abs(),
            "{wrong} with the old factors, {now} learned anew"
        );
    }

    // And back: the same heat, and the revision before.
    let back = format!("recalibrate {LOGS} --as-logged --on 2026-05-22");
    assert_eq!(shop.run(&back).code, 0);
    assert_eq!(heats(&shop), heat);
    assert_eq!(
        shop.run("learn --shop our-shop.toml --back 1 --on 2026-05-22")
            .code,
        0
    );
    assert_eq!(predicted(&shop), moved);
    let listed = shop.run("recalibrate weld-A.log").out;
    assert!(
        listed.contains("amps × 1.05, from the calibration of 2026-05-20"),
        "{listed}"
    );
    assert!(
        listed.contains("as logged, from the calibration of 2026-05-22"),
        "{listed}"
    );
}

#[test]
fn an_offset_is_added_and_the_map_says_which_calibration_was_read_with() {
    let shop = Shop::new();
    shop.three_builds(1.0);
    let before = shop.json("beads weld-A.log --json");
    let log = shop.path("weld-A.log");
    let words = [
        "recalibrate",
        &log,
        "--volts-times",
        "1",
        "--volts-plus",
        "-0.5",
        "--volts-accuracy",
        "0.4",
        "--on",
        "2026-05-20",
    ];
    let ran = coldsquare_tests::command::coldsquare(words);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let after = shop.json("beads weld-A.log --json");
    let volts = |beads: &Value| {
        let text = beads.to_string();
        let at = text.find("volt").expect("volts");
        text[at..].chars().take(200).collect::<String>()
    };
    assert_ne!(volts(&before), volts(&after));
    let map = shop
        .run("map gate.toml weld-A.log --out map.json --force")
        .out;
    assert!(map.contains("calibrated 2026-05-20"), "{map}");
    assert!(
        map.contains("read with volts × 1 - 0.5, from the calibration of 2026-05-20"),
        "{map}"
    );
}

#[test]
fn what_cannot_be_a_calibration_is_refused_and_a_spoiled_file_is_said() {
    let shop = Shop::new();
    let log = shop.path("weld.log");
    for (more, code, says) in [
        (vec!["--amps-times", "100"], 1, "did not work"),
        (
            vec!["--amps-times", "1", "--amps-plus", "nan"],
            1,
            "offset must be",
        ),
        (vec!["--amps-plus", "1"], 2, "--amps-times"),
        (
            vec!["--amps-times", "1.05", "--as-logged"],
            2,
            "cannot be used",
        ),
    ] {
        let ran = coldsquare_tests::command::coldsquare(
            ["recalibrate", &log].into_iter().chain(more.clone()),
        );
        assert_eq!(ran.code, code, "{more:?}: {}", ran.err);
        assert!(ran.err.contains(says), "{more:?}: {}", ran.err);
    }
    let beside = shop.path("weld-calibration.toml");
    assert!(
        !std::path::Path::new(&beside).exists(),
        "nothing was written"
    );
    std::fs::write(&beside, "[[calibration]]\non = \"soon\"\n").expect("written");
    let ran = shop.run("beads weld.log");
    assert_eq!(ran.code, 1);
    assert!(
        ran.err
            .contains("weld-calibration.toml: calibration 1: `on` must be a date"),
        "{}",
        ran.err
    );
}
