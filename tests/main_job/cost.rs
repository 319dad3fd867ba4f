//! Machine and money, against sums worked out by hand from geometry and density.

use super::map::{SMALL_FRAME, small_log};
use coldsquare_tests::assert_close;
use coldsquare_tests::command::{Ran, coldsquare};

const SHOP: &str = "wire = 0.8\nwire_speed = [4, 6]\ngas_flow = [10, 15]\n\n[machine]\nrated_current = 200\nrated_duty_cycle = 35\n\
    efficiency = 0.8\n\n[prices]\ncurrency = \"EUR\"\nwire_per_kg = 4\ngas_per_m3 = 10\nenergy_per_kwh = 0.5\nlabour_per_hour = 36\n";

fn run(job: &str, more: &[&str]) -> Ran {
    let folder = tempfile::tempdir().expect("a folder");
    let (path, log) = (
        folder.path().join("job.toml"),
        folder.path().join("build.log"),
    );
    std::fs::write(&path, job).expect("written");
    std::fs::write(&log, small_log()).expect("written");
    coldsquare(
        [
            "cost",
            path.to_str().expect("path"),
            log.to_str().expect("path"),
        ]
        .into_iter()
        .chain(more.iter().copied()),
    )
}

/// Planned and logged figure of a row.
fn row(ran: &Ran, name: &str) -> [f64; 2] {
    assert_eq!(ran.code, 0, "{}", ran.err);
    let line = ran
        .out
        .lines()
        .find(|line| line.trim_start().starts_with(name))
        .unwrap_or_else(|| panic!("{name}: {}", ran.out));
    let numbers: Vec<f64> = line
        .replacen(name, "", 1)
        .split_whitespace()
        .filter_map(|word| word.parse().ok())
        .collect();
    numbers.try_into().unwrap_or_else(|_| panic!("{line}"))
}

#[test]
fn what_is_used_up_follows_from_length_speed_and_density() {
    let job = coldsquare_engine::job::from_text("job.toml", SMALL_FRAME).expect("a good job");
    let length: f64 = job.welds.iter().map(|weld| weld.length().0).sum();
    let ran = run(&format!("{SMALL_FRAME}{SHOP}"), &["--pause", "10"]);
    let arc_s = length / 7.5;
    assert_close(row(&ran, "arc time")[0], arc_s, 0.051, 0.0);
    // 5 m/min of 0.8 mm steel wire.
    let wire_kg = |arc_s: f64| 5000.0 / 60.0 * arc_s * std::f64::consts::PI / 4.0 * 0.64 * 7.85e-6;
    let arc_logged = row(&ran, "arc time")[1];
    for (found, arc_s) in row(&ran, "wire").into_iter().zip([arc_s, arc_logged]) {
        assert_close(found, wire_kg(arc_s), 6e-4, 0.0);
    }
    for (found, arc_s) in row(&ran, "gas during arc time")
        .into_iter()
        .zip([arc_s, arc_logged])
    {
        assert_close(found, 12.5 / 60.0 * arc_s, 0.06, 0.0);
    }
    // 0.25 kJ/mm of heat at an efficiency of 0.8.
    let arc_kwh = 0.25 / 0.8 * length / 3600.0;
    assert_close(row(&ran, "arc energy")[0], arc_kwh, 6e-4, 0.0);
    assert_close(
        row(&ran, "energy from the mains")[0],
        arc_kwh / 0.8,
        6e-4,
        0.0,
    );
    let minutes = (arc_s + 15.0 * 10.0) / 60.0;
    assert_close(row(&ran, "first arc to last")[0], minutes, 0.051, 0.0);
    assert_close(
        row(&ran, "operating factor")[0],
        100.0 * arc_s / (60.0 * minutes),
        0.51,
        0.0,
    );
    let money = wire_kg(arc_s) * 4.0
        + 12.5 / 60.0 * arc_s / 1000.0 * 10.0
        + arc_kwh / 0.8 * 0.5
        + minutes / 60.0 * 36.0;
    assert_close(row(&ran, "total of known costs")[0], money, 0.006, 0.0);
}

/// 115 A for the arc time of ten minutes against 200 A at 35 %: Σ I²t over the allowance. EN IEC 60974-1.
#[test]
fn the_worst_ten_minutes_are_those_of_the_whole_short_build() {
    let ran = run(&format!("{SMALL_FRAME}{SHOP}"), &["--pause", "10"]);
    let arc_s = row(&ran, "arc time")[0];
    let by_hand = 115.0f64.powi(2) * arc_s / (200.0f64.powi(2) * 0.35 * 600.0);
    let share = row(&ran, "worst 10 min: % of rated duty cycle");
    assert_close(share[0], 100.0 * by_hand, 0.6, 0.01);
    assert_close(
        row(&ran, "worst 10 min: arc on")[0],
        100.0 * arc_s / 600.0,
        0.6,
        0.0,
    );
    assert!(
        share[1] > 0.5 * share[0] && share[1] < 2.0 * share[0],
        "{share:?}"
    );
    assert!(!ran.out.contains("more than the rated duty cycle"));
    let weak = SHOP.replace("rated_duty_cycle = 35", "rated_duty_cycle = 2");
    assert!(
        run(&format!("{SMALL_FRAME}{weak}"), &[])
            .out
            .contains("more than the rated duty cycle")
    );
}

#[test]
fn what_is_not_given_is_not_guessed() {
    let ran = run(SMALL_FRAME, &["--welds"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for name in [
        "gas during arc time",
        "energy from the mains",
        "worst 10 min: % of rated",
    ] {
        let line = ran
            .out
            .lines()
            .find(|line| line.contains(name))
            .expect("a row");
        assert_eq!(
            line.split_whitespace().rev().take(2).collect::<Vec<_>>(),
            ["-", "-"],
            "{line}"
        );
    }
    assert!(!ran.out.contains("cost of"));
    let wrong = SHOP
        .replace("efficiency = 0.8", "efficiency = 80")
        .replace("rated_duty_cycle = 35", "rated_duty_cycle = 350");
    let ran = run(&format!("{SMALL_FRAME}{wrong}"), &[]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err.contains("2 errors") && ran.err.contains("cannot give out more energy"),
        "{}",
        ran.err
    );
}

#[test]
fn programs_read_the_same_sums_and_what_is_not_known_is_null() {
    let with_prices = format!("{SMALL_FRAME}{SHOP}");
    let said = run(&with_prices, &[]);
    let ran = run(&with_prices, &["--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let json: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
    assert_eq!(json["format"], "coldsquare cost 1");
    for (side, printed) in ["planned", "logged"].iter().zip(row(&said, "arc time")) {
        let whole = &json[side];
        let arc_time = whole["used"]["arc_time_s"].as_f64().expect("s");
        assert_close(arc_time, printed, 0.051, 0.0);
        let welds = json["welds"].as_array().expect("welds");
        let sum: f64 = welds
            .iter()
            .filter_map(|weld| weld[side]["arc_time_s"].as_f64())
            .sum();
        // Tacks and repairs are logged too and belong to no weld's plan.
        assert!(sum <= arc_time + 1e-9 && (*side == "logged" || sum >= arc_time - 1e-9));
        let money = &whole["money"];
        let parts = ["wire", "gas", "energy", "labour"].map(|of| money[of].as_f64().expect(of));
        let total = money["known_total"].as_f64().expect("a sum");
        assert_close(total, parts.iter().sum(), 1e-9, 1e-9);
    }
    let bare: serde_json::Value =
        serde_json::from_str(&run(SMALL_FRAME, &["--json"]).out).expect("JSON");
    assert!(bare["planned"]["money"].is_null() && bare["planned"]["used"]["gas_l"].is_null());
}
